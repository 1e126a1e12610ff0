//! What the truck stock changes: prices, weights, the fuse that is proposed. And nothing else.

use super::samples::SOUND;
use super::{evaluate, near, plan};
use coachwire::engine::ladder::Columns;
use coachwire::engine::{Engine, LadderOf, Report};
use coachwire::plan::{Known, Plan, State};
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
    assert_eq!(short, format!("held: 4 AWG: {} needed, {} left on the truck", inches(wanted_m), inches(0.5)));
    let enough = why(four(Known::Is(Celsius(105.0)), 30.0));
    assert!(!enough.contains("left on the truck"), "{enough}");
}

/// Five branches of 300 W each draw 25 A at 12 V and want 31.25 A of fuse (1.25 x, NEC 210.20(A) for continuous load): the truck has two of
/// 40 A, so that two get one, and the other three say who has them.
#[test]
fn no_fuse_of_the_truck_is_put_twice() {
    let mut p = plan(SOUND);
    for n in 1..=5 {
        let load = format!(r#"(id: "X{n}", watts_w: 300.0, hours_day: 1.0)"#);
        let run = format!(
            r#"(id: "Y{n}", from: "BUS", to: "X{n}", gauge: "8 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: "?", distance_m: 0.1)])"#
        );
        p = super::mistakes::insert(&p, "loads", &load);
        p = super::mistakes::insert(&p, "runs", &run);
    }
    let eight = Spool { left_m: Known::Is(Metres(50.0)), ..spool(105.0, None) };
    let stock = with(vec![eight], vec![fuse(FuseFamily::ClassT, 40.0, 2.0)]);
    let sized = |p: &Plan| {
        let proposal = Engine::default().propose_sizes(p, &stock, true);
        (p.with(&proposal.step).expect("applies"), proposal)
    };
    // W6 of the plan has one of its own already: it is new, and comes off the truck as well.
    let (first, proposal) = sized(&p);
    let of = |p: &Plan, run: &str| p.runs.iter().find(|r| r.id.as_str() == run).expect("there").protection[0].amps_a;
    let has: Vec<String> = (1..=5).map(|n| format!("Y{n}")).filter(|run| of(&first, run).known().is_some()).collect();
    assert_eq!(has, ["Y1"], "W6 has the other");
    for row in proposal.rows.iter().filter(|r| r.run.as_str().starts_with('Y') && r.run.as_str() != "Y1") {
        assert!(row.why.starts_with("all 2 fuses of 40 A UL 248-15 T on the truck taken by W6, Y1; "), "{}", row.why);
    }
    assert_eq!(sized(&first).1.step.edits, []);
    // Of wire that existed before only the fuses that are put now count.
    let mut old = p.clone();
    old.runs.iter_mut().find(|r| r.id.as_str() == "W6").expect("there").protection[0].state = State::Existing;
    let (second, _) = sized(&old);
    assert_eq!((1..=5).filter(|n| of(&second, &format!("Y{n}")).known().is_some()).count(), 2);
    // Without the truck each gets its own.
    let all = Engine::default().propose_sizes(&p, &stock, false);
    let all = p.with(&all.step).expect("applies");
    assert!((1..=5).all(|n| of(&all, &format!("Y{n}")).known().is_some()));
}

/// A spool serves the runs that are held as well as those that are sized: 4 m of 8 AWG are spoken for by a sense lead and a
/// measured run of new wire, so that 5 m leave none for W6's 4 m.
#[test]
fn a_spool_is_counted_down_by_what_is_held() {
    let mut p = plan(SOUND);
    for run in &mut p.runs {
        run.gauge = Known::Is("2 AWG".parse().unwrap());
    }
    let w2 = p.runs.iter_mut().find(|r| r.id.as_str() == "W2").expect("there");
    w2.gauge = Known::Is("8 AWG".parse().unwrap());
    w2.legs[0].length_m = Known::Is(Metres(2.0));
    w2.measured_ohm = Some(Known::Is(coachwire::units::Ohms(0.001)));
    let gauge = |left_m: f64| {
        let eight = Spool { left_m: Known::Is(Metres(left_m)), ..spool(105.0, None) };
        let step = Engine::default().size_all(&p, &with(vec![eight], vec![]), true);
        let after = p.with(&step).expect("applies");
        after.runs.iter().find(|r| r.id.as_str() == "W6").expect("there").gauge.known().expect("known").to_string()
    };
    // Both poles: W2 takes 4 m, W6 another 4 m; no other run can be of 8 AWG but W1, which takes 14 m.
    assert_eq!(gauge(5.0), "2 AWG");
    assert_eq!(gauge(8.0), "8 AWG");
}

/// Two strings of two with their fuses from the truck: each row's price and weight are those of its wire and string fuses.
#[test]
fn a_wiring_is_priced_and_weighed_with_its_wire() {
    let p = plan(SOUND);
    let gpv = |weight_kg: Option<f64>| Fuse {
        weight_kg: weight_kg.map(|kg| Known::Is(coachwire::units::Kilograms(kg))),
        ..fuse(FuseFamily::Gpv, 20.0, 9.0)
    };
    let rows = |fuse: Fuse| {
        let stock = with(vec![spool(105.0, Some(3.0))], vec![fuse]);
        Engine::default().ladder(&p, &stock, &LadderOf::Strings("A1".parse().expect("id")))
    };
    for (weighed, rungs) in [(true, rows(gpv(Some(0.05)))), (false, rows(gpv(None)))] {
        for rung in &rungs {
            let Columns::Strings(c) = &rung.columns else { panic!("{rung:?}") };
            // W1: 14 m of 8 AWG at 3.00 and 0.1 kg; four in parallel want a fuse of 20 A at 20.00 in each string.
            let fuses = if c.string_fuse_a == Ok(Some(Amps(20.0))) { 4.0 } else { 0.0 };
            near("price", rung.price.clone().map(|n| n.0), 42.0 + 20.0 * fuses, 1e-9);
            near("kg", rung.weight_kg.clone(), 1.4 + if weighed { 0.05 * fuses } else { 0.0 }, 1e-9);
            assert_eq!(c.fuses_unweighed, !weighed && fuses > 0.0);
            let home = c.home.as_ref().expect("W1");
            assert_eq!((home.run.as_str(), home.drawn.map(|m| m.to_string()).as_deref()), ("W1", Some("8 AWG")));
        }
    }
    let fuse_row = |kg: Option<f64>| {
        let weight_kg = kg.map(|kg| Known::Is(coachwire::units::Kilograms(kg)));
        let stock = with(vec![], vec![Fuse { weight_kg, ..fuse(FuseFamily::ClassT, 70.0, 1.0) }]);
        let rungs = Engine::default().ladder(&p, &stock, &LadderOf::Fuse("W2".parse().expect("id"), None));
        rungs.into_iter().find(|r| r.current).expect("70 A").weight_kg.ok()
    };
    assert_eq!((fuse_row(Some(0.12)), fuse_row(None)), (Some(0.12), None));
}

/// Of three branches in 8 AWG, 1 m, 1 m and 4 m long, 5 m on the spool serve the two that take 2 m each, both poles; the one
/// of 8 m is held and says so. Nothing is given wire that is not there: 0.1 m and 2 m of 2/0 serve no run of 7 m.
#[test]
fn a_spool_serves_as_many_runs_as_it_can_and_no_more() {
    let mut p = plan(SOUND);
    for run in &mut p.runs {
        run.measured_ohm = Some(Known::Is(coachwire::units::Ohms(0.001)));
        run.gauge = Known::Is("2 AWG".parse().unwrap());
    }
    for (n, long) in [(1, 1.0), (2, 4.0), (3, 1.0)] {
        let load = format!(r#"(id: "X{n}", watts_w: 300.0, hours_day: 1.0)"#);
        let run = format!(
            r#"(id: "Y{n}", from: "BUS", to: "X{n}", gauge: "8 AWG", legs: [(id: "L1", length_m: {long:.1},
            insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#
        );
        p = super::mistakes::insert(&p, "loads", &load);
        p = super::mistakes::insert(&p, "runs", &run);
    }
    let eight = |left_m: f64| Spool { left_m: Known::Is(Metres(left_m)), ..spool(105.0, None) };
    let thick = |left_m: f64| Spool { gauge: Known::Is("2/0 AWG".parse().unwrap()), ..eight(left_m) };
    let why = |p: &Plan, spools: Vec<Spool>| -> Vec<(String, bool, String)> {
        let rows = Engine::default().propose_sizes(p, &with(spools, vec![]), true).rows;
        rows.into_iter().map(|r| (r.run.to_string(), r.changes(), r.why)).collect()
    };
    // A foot is 0.3048 m: 8 m, 5 m, and 4 m taken.
    for others in [vec![], vec![thick(0.1)], vec![thick(7.9)]] {
        let rows = why(&p, [vec![eight(5.0)], others].concat());
        assert!(rows.iter().all(|r| !r.1), "{rows:?}");
        let of = |run: &str| rows.iter().find(|r| r.0 == run).map(|r| r.2.clone()).expect("a row");
        assert_eq!(of("Y2"), "held: 8 AWG: 26.2' needed, 16.4' left on the truck");
        assert!(["Y1", "Y3"].iter().all(|run| !of(run).contains("left on the truck")), "{rows:?}");
    }
    // 9 m would serve the long one alone, and do not beside the two that are served.
    let rows = why(&p, vec![eight(9.0)]);
    let of = |run: &str| rows.iter().find(|r| r.0 == run).map(|r| r.2.clone()).expect("a row");
    assert_eq!(of("Y2"), "held: 8 AWG: 26.2' needed, 29.5' left on the truck, 13.1' of it taken by Y1, Y3");
    // 8 m of 2/0 are there for it.
    let rows = why(&p, vec![eight(5.0), thick(8.0)]);
    assert_eq!(rows.iter().filter(|r| r.1).map(|r| r.0.as_str()).collect::<Vec<_>>(), ["Y2"], "{rows:?}");
}
