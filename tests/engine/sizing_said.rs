//! What the sizing of all runs says of the whole: by what it chose, whom the truck does not serve, what it brings.

use super::mistakes::{sound, with, word};
use super::{evaluate, texts};
use coachwire::engine::sizing::brings;
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Known, Value};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::stock::{Spool, Stock, Truck};
use coachwire::units::{Celsius, Metres, Number};

/// Every AWG size at a price by its copper times a factor; none for those left out.
fn priced(each: impl Fn(Gauge) -> Option<f64>) -> Stock {
    let mut stock = Stock::default();
    for gauge in Gauge::Awg(0).ladder() {
        stock.truck.spools.push(Spool {
            gauge: Known::Is(gauge),
            insulation_c: Known::Is(Celsius(105.0)),
            left_m: Known::Is(Metres(100.0)),
            price_per_metre: each(gauge).map(|price| Known::Is(Number(price))),
            ..Spool::default()
        });
    }
    stock
}

fn is(gauge: Gauge, size: &str) -> bool {
    gauge.to_string() == format!("{size} AWG")
}

/// A price that is missing between two others: what is chosen is what is chosen with the price on the line between them, and it is said.
/// Source: linear interpolation gives back a price that lies on the line between its neighbours.
#[test]
fn a_missing_price_is_taken_between_its_neighbours() {
    // The thicker the cheaper, so that weight would choose otherwise.
    let price = |g: Gauge| 200.0 - area_mm2(g);
    let (whole, holed) = (priced(|g| Some(price(g))), priced(|g| (!is(g, "6")).then(|| price(g))));
    let bare = Stock::default();
    let mut engine = Engine::default();
    let of = |stock: &Stock, engine: &mut Engine| {
        let all = engine.propose_sizes(&sound(), stock, false);
        (all.rows.iter().map(|r| r.gauge.1).collect::<Vec<_>>(), all.notes)
    };
    let (by_price, said) = of(&whole, &mut engine);
    assert_eq!(said, Vec::<String>::new());
    let (by_line, said) = of(&holed, &mut engine);
    assert_eq!(by_line, by_price);
    assert!(said.len() == 1 && said[0].starts_with("no price for 6 AWG ") && said[0].contains("between"), "{said:?}");
    let (by_weight, said) = of(&bare, &mut engine);
    assert_ne!(by_weight, by_price, "weight would choose the same");
    assert_eq!(said, Vec::<String>::new(), "no price at all");
}

/// The thickest has no thicker neighbour: weight decides, and the gauge is named.
#[test]
fn a_price_missing_at_the_end_is_said() {
    let holed = priced(|g| (!is(g, "4/0")).then(|| 200.0 - area_mm2(g)));
    let mut engine = Engine::default();
    let all = engine.propose_sizes(&sound(), &holed, false);
    assert!(all.notes.len() == 1 && all.notes[0].starts_with("no price for 4/0 AWG "), "{:?}", all.notes);
    assert!(all.notes[0].contains("weight of copper"), "{:?}", all.notes);
    let by_weight = engine.propose_sizes(&sound(), &Stock::default(), false);
    let gauges = |p: &coachwire::engine::sizing::Proposal| p.rows.iter().map(|r| r.gauge.1).collect::<Vec<_>>();
    assert_eq!(gauges(&all), gauges(&by_weight));
}

/// The usual gauges are listed before anybody has read their jackets: from the truck alone nothing is sized then, and why is said once,
/// with the key of the truck stock; with the jackets read it is not.
#[test]
fn spools_of_unknown_insulation_are_named() {
    let mut stock = Stock { truck: Truck::starter(), ..Stock::default() };
    assert!(stock.truck.spools.iter().any(|s| s.insulation_c.known().is_none()));
    let mut engine = Engine::default();
    let notes = engine.propose_sizes(&sound(), &stock, true).notes;
    assert!(notes.len() == 1 && notes[0].starts_with("insulation not entered of the truck's "), "{notes:?}");
    assert!(notes[0].contains("no run is sized from them; Esc, then 8"), "{notes:?}");
    assert_eq!(engine.propose_sizes(&sound(), &stock, false).notes, Vec::<String>::new());
    stock.truck.spools.iter_mut().for_each(|s| s.insulation_c = Known::Is(Celsius(105.0)));
    assert_eq!(engine.propose_sizes(&sound(), &stock, true).notes, Vec::<String>::new());
}

/// Without any wire on the truck, by a file that is not there or does not read, no run is judged by it without a word of that.
#[test]
fn a_truck_without_wire_is_said_to_be_so() {
    let mut engine = Engine::default();
    let notes = engine.propose_sizes(&sound(), &Stock::default(), true).notes;
    assert!(notes.len() == 1 && notes[0].starts_with("no wire in the truck stock, "), "{notes:?}");
    assert_eq!(engine.propose_sizes(&sound(), &Stock::default(), false).notes, Vec::<String>::new());
}

/// A fuse of unknown rating keeps the drop of its way unknown: sized, it may be over its target, which is said by name. What stood there
/// before is none that it brings.
#[test]
fn what_sizing_brings_is_said() {
    let p = with(
        &sound(),
        &[("runs.W5.protection.F1.amps_a", Value::Unknown), ("inverters.INV.watts_w", Value::Number(3000.0))],
    );
    let p = with(&p, &[("runs.W5.legs.L1.length_m", Value::Number(30.0)), ("loads.L1.supply", word("inverter"))]);
    let before = evaluate(&p);
    let step = Engine::default().propose_sizes(&p, &Stock::default(), false).step;
    let after = evaluate(&p.with(&step).expect("applies"));
    let said = brings(&before, &after);
    let new: Vec<_> = after.findings.iter().filter(|f| f.level != Level::Note && !before.says(f)).collect();
    assert!(!new.is_empty(), "nothing new:\n{}", texts(&after));
    for f in new {
        assert!(said.contains(f.check.id), "{said}: {}", f.text());
    }
    assert_eq!(brings(&after, &after), "");
}

/// Spools of every gauge have a price, but none is insulated for 125 C, as one run's wire is: that is what is said to be missing.
#[test]
fn wire_that_is_not_insulated_for_it_has_no_price() {
    let stock = priced(|g| Some(200.0 - area_mm2(g)));
    let p = with(&sound(), &[("runs.W6.legs.L1.insulation_c", Value::Number(125.0))]);
    let notes = Engine::default().propose_sizes(&p, &stock, false).notes;
    assert!(notes.len() == 1 && notes[0].contains(" AWG insulated for 125 C in the truck stock (8): "), "{notes:?}");
}
