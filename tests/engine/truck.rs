//! What the truck stock changes: prices, weights, the fuse that is proposed. And nothing else.

use super::samples::SOUND;
use super::{evaluate, near, plan};
use coachwire::engine::{Engine, Report};
use coachwire::plan::{Known, Plan};
use coachwire::standards::kinds::{FuseFamily, Metal};
use coachwire::stock::{Fuse, Spool, Stock};
use coachwire::units::{Amps, Celsius, Metres, Number};

fn spool(insulation_c: f64, cost: Option<f64>) -> Spool {
    Spool {
        gauge: Known::Is("8 AWG".parse().unwrap()),
        metal: Metal::Plain,
        insulation_c: Known::Is(Celsius(insulation_c)),
        price_per_metre: cost.map(|c| Known::Is(Number(c))),
        kg_per_metre: Some(Known::Is(Number(0.1))),
        ..Spool::default()
    }
}

fn fuse(family: FuseFamily, amps: f64, count: f64) -> Fuse {
    Fuse {
        family: Known::Is(family),
        amps_a: Known::Is(Amps(amps)),
        count: Known::Is(Number(count)),
        price: Some(Known::Is(Number(20.0))),
        ..Fuse::default()
    }
}

fn with(spools: Vec<Spool>, fuses: Vec<Fuse>) -> Stock {
    let mut stock = Stock::default();
    (stock.truck.spools, stock.truck.fuses) = (spools, fuses);
    stock
}

fn at(plan: &Plan, stock: &Stock) -> Report {
    Engine::default().evaluate(plan, stock)
}

/// W1 is 7 m of 8 AWG, both poles, insulated for 90 C: 14 m at 3.00 and 25 % markup are 52.50.
#[test]
fn wire_is_priced_from_a_spool_that_it_can_be_made_of() {
    let mut p = plan(SOUND);
    let none = at(&p, &Stock::default()).price;
    p.money.markup_pct = Some(Known::Is(Number(25.0)));
    let one = at(&p, &with(vec![spool(105.0, Some(3.5)), spool(90.0, Some(3.0))], vec![])).price;
    assert_eq!(one.unpriced, none.unpriced - 1);
    assert!((one.known_parts.0 - none.known_parts.0 - 52.5).abs() < 1e-9, "{one:?}");
    // Insulation below what the leg asks, another metal, no price: each leaves it unpriced.
    let tinned = Spool { metal: Metal::Tinned, ..spool(105.0, Some(3.0)) };
    for other in [spool(75.0, Some(3.0)), tinned, spool(105.0, None)] {
        assert_eq!(at(&p, &with(vec![other], vec![])).price.unpriced, none.unpriced);
    }
}

/// 70 A class T stands once in the plan, on W2.
#[test]
fn a_fuse_is_priced_by_family_and_amps() {
    let p = plan(SOUND);
    let none = at(&p, &Stock::default()).price;
    let one = at(&p, &with(vec![], vec![fuse(FuseFamily::ClassT, 70.0, 0.0)])).price;
    assert_eq!((one.unpriced, one.known_parts.0), (none.unpriced - 1, none.known_parts.0 + 20.0));
    let other = at(&p, &with(vec![], vec![fuse(FuseFamily::Sf30, 70.0, 5.0)])).price;
    assert_eq!(other.unpriced, none.unpriced);
}

#[test]
fn an_unknown_markup_is_waited_for_only_where_stock_is_sold() {
    let mut p = plan(SOUND);
    p.money.markup_pct = Some(Known::Unknown);
    let waits = |stock: &Stock| at(&p, stock).unknown.iter().any(|f| f.as_str() == "money.markup_pct");
    assert!(waits(&with(vec![spool(90.0, Some(3.0))], vec![])));
    assert!(!waits(&Stock::default()));
}

#[test]
fn a_ladder_prices_and_weighs_the_rung_its_spool_is_for() {
    let mut p = plan(SOUND);
    p.money.markup_pct = Some(Known::Is(Number(25.0)));
    let stock = with(vec![spool(90.0, Some(3.0))], vec![]);
    let rungs = Engine::default().ladder(&p, &stock, &coachwire::engine::LadderOf::Gauge(p.runs[0].id.clone()));
    for rung in &rungs {
        if rung.name() == "8 AWG" {
            near("price", rung.price.clone().map(|p| p.0), 52.5, 1e-12);
            near("kg", rung.weight_kg.clone(), 1.4, 1e-12);
        } else {
            assert!(rung.price.is_err() && rung.weight_kg.is_ok());
        }
    }
}

/// W2 may have 65.7 A (1.25 x its design current) and more; a 90 A class T on the truck goes before 70 A bought new.
#[test]
fn a_fuse_on_the_truck_is_proposed_first_where_it_fits() {
    let p = plan(SOUND);
    let proposed = |fuses: Vec<Fuse>| {
        let report = at(&p, &with(vec![], fuses));
        let run = &report.runs[1];
        let found = run.proposed.clone().expect("a fuse fits");
        assert!(found.amps.0 >= run.fuse_min_a.clone().unwrap().0 && found.amps.0 <= run.fuse_max_a.clone().unwrap().0);
        (found.family, found.amps.0)
    };
    let new = proposed(vec![]);
    let there = fuse(FuseFamily::ClassT, 90.0, 2.0);
    assert_eq!(new, (FuseFamily::ClassT, 70.0));
    assert_eq!(proposed(vec![there.clone()]), (FuseFamily::ClassT, 90.0));
    // None left, too small, too large, or of a family that cannot open the fault.
    let left = Fuse { count: Known::Is(Number(0.0)), ..there };
    for other in [left, fuse(FuseFamily::ClassT, 50.0, 2.0), fuse(FuseFamily::ClassT, 400.0, 2.0)] {
        assert_eq!(proposed(vec![other]), new);
    }
    assert_eq!(proposed(vec![fuse(FuseFamily::Sf30, 80.0, 2.0)]), new);
}

/// One engine, two stocks: all but the prices is the same.
#[test]
fn prices_touch_nothing_else() {
    let p = plan(SOUND);
    let mut engine = Engine::default();
    let mut dear = engine.evaluate(&p, &with(vec![spool(90.0, Some(9.0))], vec![]));
    let cheap = engine.evaluate(&p, &with(vec![spool(90.0, Some(3.0))], vec![]));
    assert!(dear.price.known_parts.0 > cheap.price.known_parts.0);
    dear.price = cheap.price.clone();
    assert_eq!(dear, cheap);
    assert!(super::only_more_panel_than_output(&evaluate(&p)));
}

/// W2 of the sound plan sized from the truck alone: each reason by its own name, the feet of both poles.
#[test]
fn sizing_from_the_truck_says_what_its_spools_lack() {
    let mut p = plan(SOUND);
    let run = p.runs.iter_mut().find(|r| r.id.as_str() == "W2").expect("there");
    let wanted_m: f64 = run.legs.iter().map(|l| 2.0 * l.length_m.known().expect("entered").0).sum();
    run.gauge = Known::Is("4 AWG".parse().unwrap());
    run.legs.iter_mut().for_each(|l| l.insulation_c = Known::Is(Celsius(105.0)));
    let why = |spool: Spool| {
        let proposal = Engine::default().propose_sizes(&p, &with(vec![spool], vec![]), true);
        let row = proposal.rows.into_iter().find(|r| r.run.as_str() == "W2").expect("a row");
        assert!(!row.changes(), "{}", row.why);
        row.why
    };
    let four = |insulation_c: Known<Celsius>, left_m: f64| Spool {
        gauge: Known::Is("4 AWG".parse().unwrap()),
        insulation_c,
        left_m: Known::Is(Metres(left_m)),
        ..spool(105.0, None)
    };
    assert_eq!(why(four(Known::Unknown, 30.0)), "held: the insulation of the truck's 4 AWG is not entered");
    assert_eq!(why(four(Known::Is(Celsius(75.0)), 30.0)), "held: the truck's 4 AWG is not for insulation of 105 C");
    let thin = Spool { gauge: Known::Is("18 AWG".parse().unwrap()), ..four(Known::Is(Celsius(105.0)), 30.0) };
    assert!(why(thin).starts_with("held: no gauge on the truck carries "));
    let short = why(four(Known::Is(Celsius(105.0)), 0.5));
    // An inch is 25.4 mm.
    let inches = |m: f64| format!("{:.1}\"", m / 0.0254);
    assert_eq!(short, format!("held: 4 AWG: {} needed in all, {} left on the truck", inches(wanted_m), inches(0.5)));
    let enough = why(four(Known::Is(Celsius(105.0)), 30.0));
    assert!(!enough.contains("needed in all"), "{enough}");
}
