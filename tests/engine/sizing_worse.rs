//! What sizing all leaves no worse than it was: lines without a target, leads of parallel batteries, spools that do not help.

use super::battery_links::linked;
use super::mistakes::{insert, sound, with, word};
use super::{found, near, texts};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::{Known, Plan, State, Value};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::stock::{Spool, Stock};
use coachwire::units::{Celsius, Metres, Number};

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn read(text: &str) -> Plan {
    Plan::from_text(text).unwrap_or_else(|e| panic!("{e}"))
}

/// A trailer's DC-DC charger at the end of an old tow line of 22 ft, enclosed with five other conductors, and 14 ft of new wire.
fn tow_line() -> Plan {
    read(include_str!("plans/tow-line.ron"))
}

fn wires(p: &Plan, stock: &Stock) -> Report {
    Engine::default().evaluate_wires(p, stock)
}

fn sized(p: &Plan, stock: &Stock, only: bool) -> Plan {
    p.with(&Engine::default().size_all(p, stock, only)).expect("applies")
}

fn mm2(p: &Plan, run: &str) -> f64 {
    let run = p.runs.iter().find(|r| r.id.as_str() == run).expect("the run");
    area_mm2(*run.gauge.known().expect("a gauge"))
}

/// Stops and cautions that another report has not.
fn brought<'a>(before: &Report, after: &'a Report) -> Vec<&'a Finding> {
    let is_new = |f: &&Finding| f.level != Level::Note && !before.findings.iter().any(|b| b.identity() == f.identity());
    after.findings.iter().filter(is_new).collect()
}

/// 18 A at 14.2 V and 90 % behind 72 ft of 10 AWG: what flows there warms it past the 60 C that the rule takes, and each
/// ohm more draws more. By hand: V = 13.2 V less the amps times the ohms of the copper at the temperature that the run's own
/// line shows (1.24 ohm/1000 ft at 75 C, x (1 + 0.00323 (T - 75)), NEC Chapter 9 Table 8), and 14 mohm measured ahead of it.
#[test]
fn the_drop_out_is_judged_at_the_wires_own_temperature() {
    let p = with(&tow_line(), &[("runs.W3.gauge", gauge("10 AWG"))]);
    let r = wires(&p, &Stock::default());
    let f = found(&r, "dc-dc-drops-out");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    let wire_c = |id: &str| r.runs.iter().find(|x| x.id.as_str() == id).expect("run").wire_c.clone().expect("known").0;
    let ohm = |id: &str, feet: f64| 1.24 / 1000.0 * feet * 2.0 * (1.0 + 0.00323 * (wire_c(id) - 75.0));
    assert!(wire_c("W2") > 80.0, "{}", wire_c("W2"));
    let (volts, amps) = (f[0].n(0), f[0].n(1));
    // Eight lugs of 0.05 mohm (from memory) beside it.
    let whole = ohm("W2", 22.0) + ohm("W3", 14.0) + 0.014 + 0.0004;
    near("volts", Ok(volts), 13.2 - amps * whole, 0.005);
    near("watts", Ok(volts * amps), 18.0 * 14.2 / 0.9, 0.001);
    // The current that the line's own fuse is held to is the same one.
    near("design", r.runs[1].design_a.clone().map(|a| a.0), amps, 1e-6);
    assert!(found(&wires(&tow_line(), &Stock::default()), "dc-dc-drops-out").is_empty());
}

/// Thinner wire in a line draws more through all that is ahead of it, and no target says how much it may: it stays as thick as it
/// was, from the shop and from the truck, and nothing that is wrong comes or gets worse by it.
#[test]
fn a_line_without_a_target_gets_no_thinner() {
    let p = tow_line();
    let stock = Stock::default();
    let q = sized(&p, &stock, false);
    assert_eq!(mm2(&q, "W3"), mm2(&p, "W3"));
    let (before, after) = (wires(&p, &stock), wires(&q, &stock));
    assert!(brought(&before, &after).is_empty(), "{}", texts(&after));
    let small = |r: &Report| found(r, "fuse-below-design").iter().map(|f| f.n(1)).fold(0.0, f64::max);
    assert!(small(&before) > 25.0 && small(&after) <= small(&before) + 1e-9, "{}", texts(&after));
    let again = Engine::default().size_all(&q, &stock, false);
    assert!(again.edits.is_empty(), "{:?}", again.edits);
    // With a target it is that which counts.
    let mut bound = p.clone();
    bound.runs.iter_mut().filter(|r| r.id.as_str() == "W3").for_each(|r| r.legs[0].length_m = Known::Is(Metres(0.3)));
    bound.rules.push(coachwire::plan::RuleChange {
        id: "drop-charger-input".parse().expect("id"),
        value: Known::Is(Number(25.0)),
        reason: "test".into(),
    });
    assert!(mm2(&sized(&bound, &stock, false), "W3") < mm2(&bound, "W3"));
}

/// Two batteries on leads of 2.2 m and 0.7 m: by conductance thick leads share as the batteries' own ohms do, thin ones as their
/// lengths. What was even enough stays so.
#[test]
fn leads_get_no_thinner_where_batteries_share_less_evenly() {
    let lead = |id: &str, m: f64| {
        format!(
            r#"(id: "{id}", from: "BK", to: "SW", gauge: "4/0 AWG", legs: [(id: "L1", length_m: {m:?}, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 125.0, distance_m: 0.1)])"#
        )
    };
    let mut p = with(&sound(), &[("bank.parallel", n(2.0))]);
    p.runs.retain(|r| r.id.as_str() != "W3");
    let p = insert(&insert(&p, "runs", &lead("B1", 2.2)), "runs", &lead("B2", 0.7));
    let stock = Stock::default();
    let before = wires(&p, &stock);
    assert!(found(&before, "uneven-battery-leads").is_empty(), "{}", texts(&before));
    let thin = with(&p, &[("runs.B1.gauge", gauge("2 AWG")), ("runs.B2.gauge", gauge("2 AWG"))]);
    assert!(!found(&wires(&thin, &stock), "uneven-battery-leads").is_empty(), "thin leads are uneven");
    let q = sized(&p, &stock, false);
    assert!(brought(&before, &wires(&q, &stock)).is_empty(), "{}", texts(&wires(&q, &stock)));
}

fn spool(size: &str, left_m: f64, price: f64) -> Spool {
    Spool {
        gauge: Known::Is(size.parse().expect("gauge")),
        insulation_c: Known::Is(Celsius(105.0)),
        left_m: Known::Is(Metres(left_m)),
        price_per_metre: Some(Known::Is(Number(price))),
        ..Spool::default()
    }
}

fn truck(spools: &[(&str, f64)]) -> Stock {
    let mut stock = Stock::default();
    stock.truck.spools = spools.iter().map(|(size, left)| spool(size, *left, 1.0)).collect();
    stock
}

/// The brakes' branch of 20 ft takes 40 ft of wire; of no spool that would meet its target is as much left. Thick wire ahead of it
/// brings it no nearer than the target asks: none is laid, and no fault gets larger by it.
#[test]
fn no_wire_of_the_truck_is_laid_for_a_target_that_it_does_not_reach() {
    let p = tow_line();
    let stock = truck(&[
        ("16 AWG", 30.0),
        ("14 AWG", 20.0),
        ("12 AWG", 18.0),
        ("10 AWG", 12.0),
        ("8 AWG", 8.0),
        ("6 AWG", 10.0),
        ("4 AWG", 3.0),
        ("2 AWG", 4.0),
        ("2/0 AWG", 5.0),
        ("4/0 AWG", 2.0),
    ]);
    let q = sized(&p, &stock, true);
    let after = wires(&q, &stock);
    assert!(found(&after, "drop-over-target").iter().any(|f| f.name(0) == "BR"), "{}", texts(&after));
    for run in ["W5", "W6", "W12"] {
        assert!(mm2(&q, run) <= mm2(&p, run) + 1e-9, "{run}");
    }
    let again = Engine::default().size_all(&q, &stock, true);
    assert!(again.edits.is_empty(), "{:?}", again.edits);
    // What is laid of one gauge is on its spool.
    for gauge in q.runs.iter().filter_map(|r| r.gauge.known()) {
        let laid =
            q.runs.iter().zip(&p.runs).filter(|(now, was)| now.gauge != was.gauge && now.gauge.known() == Some(gauge));
        let metres: f64 = laid.map(|(r, _)| r.legs[0].length_m.known().expect("known").0 * 2.0).sum();
        let left = stock.truck.spools.iter().find(|s| s.gauge.known() == Some(gauge));
        let left = left.and_then(|s| s.left_m.known()).map_or(0.0, |m| m.0);
        assert!(metres <= left + 1e-9, "{gauge}: {metres} of {left}");
    }
}

/// Six cables of 0.25 m join four batteries, three in each pole: 1.5 m of wire. Those they have are cut from the truck's spools
/// before its runs are; where the gauge that they want is there they get it, else they stay.
#[test]
fn links_are_counted_on_the_trucks_spools() {
    // With a fuse at each battery no fuse at the posts asks for the wire that a run has as well.
    let mut p = with(&linked("links with leads at corners", "18 AWG", 0.25), &[("bank.fused_each", word("yes"))]);
    let runs = std::mem::take(&mut p.runs);
    let measured = Some(Known::Is(coachwire::units::Ohms(0.001)));
    p.runs = runs.iter().map(|r| coachwire::plan::Run { measured_ohm: measured, ..r.clone() }).collect();
    let least: Gauge = wires(&p, &Stock::default()).bank.links.expect("links").least.expect("known").expect("one");
    let link = |p: &Plan| p.bank.link_gauge.and_then(|g| g.known().copied()).expect("known");
    let size = least.to_string();
    let q = sized(&p, &truck(&[(&size, 1.6)]), true);
    assert_eq!(link(&q), least);
    let again = Engine::default().size_all(&q, &truck(&[(&size, 1.6)]), true);
    assert!(again.edits.is_empty(), "{:?}", again.edits);
    assert_eq!(link(&sized(&p, &truck(&[(&size, 1.4)]), true)), link(&p));
    // What is left for runs is what the links leave.
    p.runs = runs;
    let had = with(&p, &[("bank.link_gauge", gauge(&size)), ("runs.W5.gauge", gauge("2 AWG"))]);
    let laid = |left_m: f64| {
        let stock = truck(&[(&size, left_m)]);
        let q = sized(&had, &stock, true);
        let new = q.runs.iter().zip(&had.runs).filter(|(now, was)| now.gauge != was.gauge);
        let of = |r: &coachwire::plan::Run| r.legs[0].length_m.known().expect("known").0;
        new.map(|(r, _)| of(r) * if r.id.as_str() == "W7" { 1.0 } else { 2.0 }).sum::<f64>()
    };
    assert!(laid(20.0) > 0.0, "some run takes it");
    for left_m in [2.0, 3.0, 4.0, 8.0, 20.0] {
        assert!(laid(left_m) <= (left_m - 1.5).max(0.0) + 1e-9, "{left_m}: {}", laid(left_m));
    }
}

/// NEC 552.10(C)(4): a bond as thick as the battery lead. One that lies there already is no thicker on paper: it is bought.
#[test]
fn a_bond_that_was_there_is_new_wire_where_it_gets_thicker() {
    let p = with(
        &sound(),
        &[
            ("runs.W3.gauge", gauge("2 AWG")),
            ("runs.W7.gauge", gauge("2 AWG")),
            ("runs.W7.legs.L1.state", word("existing")),
            ("inverters.INV.watts_w", n(1400.0)),
        ],
    );
    let q = sized(&p, &Stock::default(), false);
    assert!(mm2(&q, "W3") > mm2(&p, "W3"), "the lead got thicker");
    assert!(mm2(&q, "W7") > mm2(&p, "W7"), "{}", texts(&wires(&q, &Stock::default())));
    let bond = q.runs.iter().find(|r| r.id.as_str() == "W7").expect("the bond");
    assert_eq!(bond.legs[0].state, State::New);
}
