//! A converter with one minus for both its sides: how it is wired, and what each conductor carries.
//!
//! Expected currents are Kirchhoff's current law by hand: loads of 60 W and 30 W at 12.0 V are 5.0 A and 2.5 A; from 24 V at 92 % the
//! 7.5 A ask for 7.5 x 12 / (24 x 0.92) = 4.076 A, from 48 V for half of that.

use super::comes_back::{Drawn, NONE, fuse, wired};
use super::mistakes::{insert, with};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

const CHASSIS: &str = r#"return_path: "chassis", "#;

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

/// A van whose panel hangs on a converter: the mains singly, the converter's plus by W6, its minus by N6, and what is told.
fn van(unit_v: f64, more: &[Drawn<'_>]) -> Plan {
    let alone = |amps: f64| NONE.to_string() + &fuse(amps);
    let (c1, main, inverter, feed) =
        (alone(40.0).replace("\"from\"", "\"to\""), alone(150.0), alone(150.0), alone(10.0));
    let mut runs: Vec<Drawn<'_>> = vec![
        ("W2", "C1", "BUS", "4 AWG", 0.5, &c1),
        ("W3", "BK", "SW", "4/0 AWG", 0.6, &main),
        ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &inverter),
        ("W6", "BUS", "CV", "8 AWG", 1.0, &feed),
        ("N1", "BK-", "SHN", "4/0 AWG", 0.6, NONE),
        ("N2", "SHN", "NB", "4/0 AWG", 0.3, NONE),
        ("N3", "NB", "C1", "4 AWG", 0.5, NONE),
        ("N5", "INV", "NB", "4/0 AWG", 1.0, NONE),
    ];
    runs.extend(more.iter().copied());
    let cv = r#"(id: "CV", kind: "12 V converter", efficiency_pct: 92.0, ratings: (amps_a: 30.0))"#;
    let p = insert(&wired(&runs), "devices", cv);
    let absorb_v = Value::Number(14.2 * unit_v / 12.8);
    with(
        &p,
        &[("bank.unit_v", Value::Number(unit_v)), ("controllers.C1.absorb_v", absorb_v), ("runs.B1.from", id("NB"))],
    )
}

/// The same with its output by a pair, its loads as told.
fn by_pair(unit_v: f64, first: &str, second: &str) -> Plan {
    let (first, second) = (first.to_string() + &fuse(15.0), second.to_string() + &fuse(15.0));
    van(
        unit_v,
        &[
            ("N6", "CV", "NB", "8 AWG", 1.0, NONE),
            ("W7", "CV", "FP", "6 AWG", 0.5, ""),
            ("W8", "FP", "L1", "10 AWG", 3.0, &first),
            ("W9", "FP", "L2", "10 AWG", 4.0, &second),
        ],
    )
}

/// The same by three single leads: plus in, the common minus, plus out; the panel's minus is one more.
fn by_singles() -> Plan {
    let branch = fuse(15.0);
    van(
        25.6,
        &[
            ("N6", "CV", "NB", "8 AWG", 1.0, NONE),
            ("W7", "CV", "FP", "6 AWG", 0.5, NONE),
            ("N7", "FP", "NB", "6 AWG", 0.5, NONE),
            ("W8", "FP", "L1", "10 AWG", 3.0, &branch),
            ("W9", "FP", "L2", "10 AWG", 4.0, &branch),
        ],
    )
}

fn amps(r: &Report, run: &str) -> f64 {
    let line = r.runs.iter().find(|r| r.id.as_str() == run).expect("run");
    line.design_a.clone().unwrap_or_else(|m| panic!("{run} waits for {}", m.0)).0
}

fn carry(what: &str, p: &Plan, runs: &[(&str, f64)]) {
    let r = evaluate(p);
    for (run, expected_a) in runs {
        near(&format!("{what}: {run}"), Ok(amps(&r, run)), *expected_a, 1e-3);
    }
    // At the bank what comes is what goes.
    near(&format!("{what}: N2"), Ok(amps(&r, "N2")), amps(&r, "W4"), 1e-9);
}

/// Three single leads join no poles; a lead from plus to the minus bar does, beside them.
#[test]
fn three_single_leads_are_no_short() {
    let right = by_singles();
    let r = evaluate(&right);
    assert!(found(&r, "poles-joined").is_empty(), "{}", texts(&r));
    assert!(!r.findings.iter().any(|f| f.subject.as_str() == "runs.N6" && f.level == Level::Stop), "{}", texts(&r));
    // The panel's 7.5 A come to the bar, 4.076 A go on to the bank: the rest flows to the converter.
    carry("singles", &right, &[("W6", 4.076), ("N6", 3.424), ("W7", 7.5), ("N7", 7.5)]);
    let lead = r#"(id: "LX", from: "BUS", to: "NB", gauge: "2 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.2, insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&right, "runs", lead));
    assert!(says(&r, "poles-joined", "runs.LX"), "{}", texts(&r));
}

/// What comes back by the chassis comes as the converter gave it; the converter's minus carries it less what came in. With some
/// by each way the more of the two: either may be switched off.
#[test]
fn what_comes_back_past_a_converter_flows_as_it_was_given() {
    carry("pairs", &by_pair(25.6, "", ""), &[("W6", 4.076), ("N6", 4.076), ("W7", 7.5), ("B1", 0.0)]);
    carry("chassis", &by_pair(25.6, CHASSIS, CHASSIS), &[("W6", 4.076), ("N6", 3.424), ("W7", 7.5), ("B1", 7.5)]);
    carry("48 V", &by_pair(51.2, CHASSIS, CHASSIS), &[("W6", 2.038), ("N6", 5.462), ("W7", 7.5), ("B1", 7.5)]);
    // 5.0 A by the pair are 2.717 A in; 2.5 A by the chassis less 1.359 A in are 1.141 A.
    carry("one", &by_pair(25.6, "", CHASSIS), &[("W6", 4.076), ("N6", 2.717), ("W7", 7.5), ("B1", 2.5)]);
}

/// The minus bar of the vehicle's 12 V side is not at the volts of a bank of 51.2 V; what is made for 12 V is below 14 V and more of
/// an engine that runs, and the bank's own minus bar stands against the bank's plus.
#[test]
fn a_start_batterys_minus_bar_has_the_vehicles_volts() {
    let coach = |start_v: f64, house_v: f64| {
        let mut p = by_pair(51.2, "", "");
        for bar in ["SPB", "SNB"] {
            let device = format!(r#"(id: "{bar}", kind: "bus", ratings: (volts_dc_v: {start_v:?}))"#);
            p = insert(&p, "devices", &device);
        }
        p = insert(&p, "devices", r#"(id: "SB", kind: "start battery")"#);
        let charger = r#"(id: "CH2", kind: "DC-DC", out_a: 10.0, absorb_v: 56.8, efficiency_pct: 90.0)"#;
        p = insert(&p, "chargers", charger);
        for (run, from, to, more) in [
            ("Y1", "SB", "SPB", fuse(100.0)),
            ("Y1n", "SNB", "SB", String::new()),
            ("Y2", "SPB", "CH2", fuse(80.0)),
            ("Y2n", "CH2", "SNB", String::new()),
            ("W10", "CH2", "BUS", fuse(20.0).replace("\"from\"", "\"to\"")),
            ("W10n", "CH2", "NB", String::new()),
        ] {
            let run = format!(
                r#"(id: "{run}", from: "{from}", to: "{to}", gauge: "2 AWG", {NONE}
                legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)], {more})"#
            );
            p = insert(&p, "runs", &run);
        }
        with(&p, &[("devices.NB.ratings.volts_dc_v", Value::Number(house_v))])
    };
    let low = |start_v: f64, house_v: f64, bar: &str| {
        let r = evaluate(&coach(start_v, house_v));
        says(&r, "device-volts-low", &format!("devices.{bar}"))
    };
    assert!(!low(48.0, 60.0, "SNB") && !low(48.0, 60.0, "SPB") && !low(48.0, 60.0, "NB"));
    assert!(low(12.0, 60.0, "SNB") && low(12.0, 60.0, "SPB"));
    assert!(low(48.0, 48.0, "NB"));
}

/// One load of a panel with a minus of its own to the bar brings the others no way back: theirs ends at the panel.
#[test]
fn one_loads_own_minus_is_not_the_panels() {
    let panel = |first: &str, minus: bool| {
        let (feed, first, second) = (NONE.to_string() + &fuse(40.0), first.to_string() + &fuse(15.0), fuse(15.0));
        let mut runs: Vec<Drawn<'_>> = vec![
            ("W3", "BK", "SW", "4/0 AWG", 0.6, NONE),
            ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
            ("W6", "BUS", "FP", "8 AWG", 2.0, &feed),
            ("W8", "FP", "L1", "10 AWG", 3.0, &first),
            ("W9", "FP", "L2", "10 AWG", 4.0, &second),
            ("N1", "BK-", "SHN", "4/0 AWG", 0.6, NONE),
            ("N2", "SHN", "NB", "4/0 AWG", 0.3, NONE),
        ];
        if minus {
            runs.push(("N6", "FP", "NB", "8 AWG", 2.0, NONE));
        }
        evaluate(&wired(&runs))
    };
    let own = r#"negative_from: "NB", "#;
    let wrong = panel(own, false);
    assert!(says(&wrong, "negative-leads-nowhere", "runs.W9"), "{}", texts(&wrong));
    assert!(!says(&wrong, "negative-leads-nowhere", "runs.W8"), "{}", texts(&wrong));
    for first in ["", own] {
        let right = panel(first, true);
        assert!(found(&right, "negative-leads-nowhere").is_empty(), "{}", texts(&right));
        assert!(found(&right, "return-not-drawn").is_empty(), "{}", texts(&right));
    }
}
