//! The current comes back by the negative that is drawn, however it is drawn: as pairs, as runs of their own, as a mix of
//! both over negative bars, from either end.

use super::mistakes::{insert, with, word};
use super::{evaluate, found, near, plan, says, texts};
use coachwire::engine::circuit::{Circuit, Role};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Known, Plan, Value};

/// One run: id, from, to, gauge, metres, and what else it says.
pub(super) type Drawn<'a> = (&'a str, &'a str, &'a str, &'a str, f64, &'a str);

const FUSED: &str = r#"protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: "#;

pub(super) fn fuse(amps: f64) -> String {
    format!("{FUSED}{amps:?}, distance_m: 0.1)]")
}

/// A van of 12 V lithium with a controller, an inverter and a panel of two loads, wired as told.
pub(super) fn wired(runs: &[Drawn<'_>]) -> Plan {
    let mut text = String::new();
    for (id, from, to, gauge, metres, more) in runs {
        let leg = format!(r#"legs: [(id: "L1", length_m: {metres:?}, ambient_c: 20.0, insulation_c: 105.0)]"#);
        text += &format!(r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", {leg}, {more}),"#);
    }
    plan(&format!(
        r#"(
        bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: 100.0, series: 1.0, parallel: 3.0, ohmic_mohm: 3.0,
            max_discharge_a: 100.0, max_charge_a: 50.0, charge_cutoff_c: 0.0, vented: "no"),
        controllers: [(id: "C1", kind: "tracking", max_pv_v: 105.0, max_pv_a: 60.0, out_a: 30.0, absorb_v: 14.2)],
        inverters: [(id: "INV", watts_w: 1000.0, idle_w: 20.0)],
        devices: [(id: "SW", kind: "switch"), (id: "BUS", kind: "bus"), (id: "NB", kind: "bus"), (id: "NB2", kind: "bus"),
            (id: "FP", kind: "fuse panel"), (id: "SHN", kind: "shunt", ratings: (amps_a: 200.0)),
            (id: "CHS", kind: "chassis point")],
        loads: [(id: "L1", watts_w: 60.0, hours_day: 8.0), (id: "L2", watts_w: 30.0, hours_day: 4.0)],
        runs: [{text}
            (id: "B1", from: "SHN", to: "CHS", gauge: "4/0 AWG", return_path: "none",
                legs: [(id: "L1", length_m: 0.6, insulation_c: 105.0)])],
    )"#
    ))
}

pub(super) const NONE: &str = r#"return_path: "none", "#;

/// Everything as pairs, the shunt in the negatives of the mains.
pub(super) fn pairs() -> Plan {
    wired(&[
        ("W2", "C1", "BUS", "4 AWG", 0.5, &fuse(40.0).replace("\"from\"", "\"to\"")),
        ("W3", "BK", "SW", "4/0 AWG", 0.6, &format!(r#"negative_to: "SHN", {}"#, fuse(150.0))),
        ("W4", "SW", "BUS", "4/0 AWG", 0.3, r#"negative_from: "SHN""#),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &fuse(150.0)),
        ("W6", "BUS", "FP", "8 AWG", 2.0, &fuse(40.0)),
        ("W8", "FP", "L1", "10 AWG", 3.0, &fuse(15.0)),
        ("W9", "FP", "L2", "10 AWG", 4.0, &fuse(15.0)),
    ])
}

/// The mains singly over a shunt to a negative bar, the rest as pairs that name the bar.
pub(super) fn usual() -> Plan {
    wired(&[
        (
            "W2",
            "C1",
            "BUS",
            "4 AWG",
            0.5,
            &format!(r#"negative_to: "NB", {}"#, fuse(40.0).replace("\"from\"", "\"to\"")),
        ),
        ("W3", "BK", "SW", "4/0 AWG", 0.6, &(NONE.to_string() + &fuse(150.0))),
        ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &format!(r#"negative_from: "NB", {}"#, fuse(150.0))),
        ("W6", "BUS", "FP", "8 AWG", 2.0, &format!(r#"negative_from: "NB", {}"#, fuse(40.0))),
        ("W8", "FP", "L1", "10 AWG", 3.0, &fuse(15.0)),
        ("W9", "FP", "L2", "10 AWG", 4.0, &fuse(15.0)),
        ("N1", "BK-", "SHN", "4/0 AWG", 0.6, NONE),
        ("N2", "SHN", "NB", "4/0 AWG", 0.3, NONE),
    ])
}

/// Every conductor as a run of its own, the loads' negatives on a second bar.
pub(super) fn singly() -> Plan {
    let alone = |amps: f64| NONE.to_string() + &fuse(amps);
    wired(&[
        ("W2", "C1", "BUS", "4 AWG", 0.5, &alone(40.0).replace("\"from\"", "\"to\"")),
        ("W3", "BK", "SW", "4/0 AWG", 0.6, &alone(150.0)),
        ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &alone(150.0)),
        ("W6", "BUS", "FP", "8 AWG", 2.0, &alone(40.0)),
        ("W8", "FP", "L1", "10 AWG", 3.0, &alone(15.0)),
        ("W9", "FP", "L2", "10 AWG", 4.0, &alone(15.0)),
        ("N1", "BK-", "SHN", "4/0 AWG", 0.6, NONE),
        ("N2", "SHN", "NB", "4/0 AWG", 0.3, NONE),
        ("N3", "NB", "C1", "4 AWG", 0.5, NONE),
        ("N5", "INV", "NB", "4/0 AWG", 1.0, NONE),
        ("N6", "NB", "NB2", "8 AWG", 2.0, NONE),
        ("N8", "L1", "NB2", "10 AWG", 3.0, NONE),
        ("N9", "NB2", "L2", "10 AWG", 4.0, NONE),
    ])
}

/// The mains as pairs, one load's negative a run of its own.
pub(super) fn one_apart(from: &str, to: &str) -> Plan {
    let p = with(&pairs(), &[("runs.W8.return_path", word("none"))]);
    insert(
        &p,
        "runs",
        &format!(
            r#"(id: "N8", from: "{from}", to: "{to}", gauge: "10 AWG", return_path: "none",
            legs: [(id: "L1", length_m: 3.0, ambient_c: 20.0, insulation_c: 105.0)])"#
        ),
    )
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn path_v(r: &Report, run: &str) -> f64 {
    let line = r.runs.iter().find(|r| r.id.as_str() == run).expect("run");
    line.path_drop_v.clone().unwrap_or_else(|m| panic!("{run} waits for {}", m.0)).0
}

fn amps(r: &Report, run: &str) -> f64 {
    let line = r.runs.iter().find(|r| r.id.as_str() == run).expect("run");
    line.design_a.clone().unwrap_or_else(|m| panic!("{run} waits for {}", m.0)).0
}

/// Runs that are of the negative side, drawn from their other end.
fn reversed(p: &Plan) -> Vec<Plan> {
    let (circuit, _) = Circuit::of(p);
    let negative = circuit.links.iter().map(|l| l.role == Role::NegativeMain);
    let turn = |p: &mut Plan, i: usize| {
        let run = &mut p.runs[i];
        std::mem::swap(&mut run.from, &mut run.to);
    };
    let all: Vec<usize> = negative.enumerate().filter(|(_, is)| *is).map(|(i, _)| i).collect();
    let mut plans: Vec<Plan> = all
        .iter()
        .map(|i| {
            let mut one = p.clone();
            turn(&mut one, *i);
            one
        })
        .collect();
    let mut whole = p.clone();
    all.iter().for_each(|i| turn(&mut whole, *i));
    plans.push(whole);
    plans
}

const RETURNS: [&str; 5] =
    ["return-not-drawn", "negative-leads-nowhere", "shunt-bypass", "source-end-unfused", "conductor-below-current"];

fn is_silent(what: &str, p: &Plan) {
    let r = evaluate(p);
    for check in RETURNS {
        assert!(found(&r, check).is_empty(), "{what}:\n{}", texts(&r));
    }
    assert!(!r.findings.iter().any(|f| f.level == Level::Stop), "{what}:\n{}", texts(&r));
    let waits: Vec<String> =
        r.runs.iter().filter_map(|r| r.design_a.as_ref().err().map(|m| format!("{} {}", r.id, m.0))).collect();
    assert!(waits.is_empty(), "{what}: {waits:?}");
}

/// Kirchhoff: the same wire loses the same volts, whichever way it is drawn.
#[test]
fn every_drawing_of_one_van_loses_the_same() {
    let of = [evaluate(&pairs()), evaluate(&usual()), evaluate(&singly())];
    for run in ["W2", "W5", "W8", "W9"] {
        let [a, b, c] = of.each_ref().map(|r| path_v(r, run));
        assert!((a - b).abs() < 1e-9 && (a - c).abs() < 1e-9, "{run}: pairs {a}, usual {b}, singly {c}");
    }
    for (what, p) in [("pairs", pairs()), ("usual", usual()), ("singly", singly())] {
        is_silent(what, &p);
    }
}

/// What the mains carry out, their negatives carry back: 1000 W / (12.0 V x 0.90) and 90 W / 12.0 V. The second bar
/// brings back its two loads alone.
#[test]
fn every_negative_carries_what_comes_back_by_it() {
    for p in [usual(), singly()] {
        let r = evaluate(&p);
        for run in ["N1", "N2"] {
            assert!((amps(&r, run) - amps(&r, "W3")).abs() < 1e-9, "{run} {}", amps(&r, run));
        }
    }
    let r = evaluate(&singly());
    near("N6", Ok(amps(&r, "N6")), 90.0 / 12.0, 1e-6);
    near("N8", Ok(amps(&r, "N8")), 60.0 / 12.0, 1e-6);
    near("N3", Ok(amps(&r, "N3")), amps(&r, "W2"), 1e-9);
    // 16 AWG bears two loads, and no inverter beside them.
    let thin = [("runs.N6.gauge", Value::Gauge("16 AWG".parse().expect("gauge")))];
    assert!(!says(&evaluate(&with(&singly(), &thin)), "conductor-below-current", "runs.N6"));
    let moved = with(&singly(), &[thin[0].clone(), ("runs.N5.to", id("NB2"))]);
    assert!(says(&evaluate(&moved), "conductor-below-current", "runs.N6"));
}

/// NEC Chapter 9 Table 8, stranded: 10 AWG 1.24 ohm/kft at 75 C, 4/0 0.0626; at 20 C times 1 - 0.00323 x 55.
#[test]
fn drops_are_as_worked_by_hand() {
    let at_20 = |ohm_kft: f64| ohm_kft * (1.0 - 0.00323 * 55.0) / 304.8;
    // Five metres more of one conductor to a load of 60 W at 12.8 V.
    let long = with(&singly(), &[("runs.N8.legs.L1.length_m", Value::Number(8.0))]);
    let more = path_v(&evaluate(&long), "W8") - path_v(&evaluate(&singly()), "W8");
    near("N8", Ok(more), 5.0 * at_20(1.24) * 60.0 / 12.8, 0.01);
    // One metre more of the mains: by both conductors where both are its way, by the positive alone where the load's
    // own negative goes to the shunt.
    let drop_a = |p: &Plan| evaluate(p).runs.iter().find(|r| r.id.as_str() == "W4").expect("W4").drop_at_a.clone();
    let flows = drop_a(&pairs()).expect("amps").0;
    let long = |p: &Plan| with(p, &[("runs.W4.legs.L1.length_m", Value::Number(1.3))]);
    let both = path_v(&evaluate(&long(&pairs())), "W8") - path_v(&evaluate(&pairs()), "W8");
    near("both", Ok(both), 2.0 * at_20(0.0626) * flows, 0.02);
    let apart = one_apart("L1", "SHN");
    let one = path_v(&evaluate(&long(&apart)), "W8") - path_v(&evaluate(&apart), "W8");
    near("one", Ok(one), at_20(0.0626) * flows, 0.02);
    // The shunt of 200 A loses 0.05 V at its rating in every drawing (from memory), once.
    for p in [pairs(), usual(), singly(), apart] {
        let large = with(&p, &[("devices.SHN.ratings.amps_a", Value::Number(400.0))]);
        let less = path_v(&evaluate(&p), "W8") - path_v(&evaluate(&large), "W8");
        near("shunt", Ok(less), (0.05 / 200.0 - 0.05 / 400.0) * flows, 0.01);
    }
}

/// A pair and two runs, one of them a load's way back: to the shunt, to a bar that pairs name, to the bus of both poles.
#[test]
fn one_negative_apart_is_a_way_back() {
    let named = |p: Plan| with(&p, &[("runs.W9.negative_from", id("NB")), ("runs.W6.negative_from", id("NB"))]);
    for (from, to) in [("L1", "SHN"), ("L1", "BUS"), ("L1", "NB")] {
        for (from, to) in [(from, to), (to, from)] {
            let p = if [from, to].contains(&"NB") { named(one_apart(from, to)) } else { one_apart(from, to) };
            let what = format!("{from} > {to}");
            is_silent(&what, &p);
            let r = evaluate(&p);
            near(&what, Ok(amps(&r, "N8")), 60.0 / 12.0, 1e-6);
            assert!(
                path_v(&r, "W8") > 0.0 && r.runs.iter().any(|x| x.path.iter().any(|i| i.as_str() == "N8")),
                "{what}"
            );
        }
    }
    // A second wire with a fuse is a second feed, and no way back.
    let p = one_apart("BUS", "L1");
    let mut fed = p.clone();
    let fuse = p.runs.iter().find(|r| r.id.as_str() == "W9").expect("W9").protection.clone();
    fed.runs.last_mut().expect("N8").protection = fuse;
    assert_eq!(found(&evaluate(&fed), "return-not-drawn").len(), 1, "{}", texts(&evaluate(&fed)));
}

/// From whichever end a negative is drawn: no finding, no drop and no current changes.
#[test]
fn no_negative_has_a_direction() {
    let bypass = with(&singly(), &[("runs.N8.to", id("BK-"))]);
    let lost = with(&singly(), &[("runs.N6.from", Value::Unknown)]);
    let plans = [usual(), singly(), one_apart("L1", "SHN"), one_apart("L1", "BUS"), bypass, lost];
    for p in plans {
        let r = evaluate(&p);
        for (n, turned) in reversed(&p).iter().enumerate() {
            let t = evaluate(turned);
            let key = |r: &Report| {
                let mut all: Vec<String> =
                    r.findings.iter().map(|f| format!("{} {} {}", f.level, f.check.id, f.subject)).collect();
                all.sort();
                all
            };
            assert_eq!(key(&r), key(&t), "turned {n}");
            for (a, b) in r.runs.iter().zip(&t.runs) {
                let same = |x: Result<f64, ()>, y: Result<f64, ()>| match (x, y) {
                    (Ok(x), Ok(y)) => (x - y).abs() < 1e-9,
                    (x, y) => x.is_err() && y.is_err(),
                };
                let pairs = [
                    (a.design_a.clone().map(|x| x.0), b.design_a.clone().map(|x| x.0)),
                    (a.path_drop_v.clone().map(|x| x.0), b.path_drop_v.clone().map(|x| x.0)),
                    (a.drop_v.clone().map(|x| x.0), b.drop_v.clone().map(|x| x.0)),
                ];
                for (x, y) in pairs {
                    assert!(same(x.map_err(|_| ()), y.map_err(|_| ())), "turned {n}: {}", a.id);
                }
            }
        }
    }
}

/// Of the drawings above, each with one thing wrong.
#[test]
fn what_is_missing_of_the_negative_is_said() {
    let without = |mut p: Plan, run: &str| {
        p.runs.retain(|r| r.id.as_str() != run);
        p
    };
    // The wire from the shunt to the bar.
    let r = evaluate(&without(usual(), "N2"));
    assert!(says(&r, "return-not-drawn", "runs.W3") && says(&r, "return-not-drawn", "runs.W4"), "{}", texts(&r));
    // The wire from the post to the shunt: told of the shunt, as all comes to it.
    let r = evaluate(&without(usual(), "N1"));
    assert!(says(&r, "negative-leads-nowhere", "devices.SHN"), "{}", texts(&r));
    let half = with(&pairs(), &[("runs.W3.return_path", word("none")), ("runs.W3.negative_to", Value::Nothing)]);
    assert!(says(&evaluate(&half), "return-not-drawn", "runs.W3"), "{}", texts(&evaluate(&half)));
    // One load's, and that load's feed alone is named.
    let r = evaluate(&without(singly(), "N8"));
    let f = found(&r, "return-not-drawn");
    assert_eq!((f.len(), f[0].subject.as_str()), (1, "runs.W8"), "{}", texts(&r));
    // A bar that nothing leads on from, behind mains that are drawn.
    let r = evaluate(&with(&usual(), &[("runs.W8.negative_from", id("NB2"))]));
    assert!(found(&r, "return-not-drawn").is_empty(), "{}", texts(&r));
    // Round the shunt, by a wire of its own.
    let r = evaluate(&with(&singly(), &[("runs.N8.to", id("BK-"))]));
    let f = found(&r, "shunt-bypass");
    assert_eq!((f.len(), f[0].subject.as_str()), (1, "runs.N8"), "{}", texts(&r));
    // A second wire from the second bar to the post: that wire alone goes round, not what hangs on the bar.
    let more = r#"(id: "N7", from: "NB2", to: "BK-", gauge: "8 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&singly(), "runs", more));
    let f = found(&r, "shunt-bypass");
    assert_eq!((f.len(), f[0].subject.as_str()), (1, "runs.N7"), "{}", texts(&r));
}

/// Two cables side by side: either may be left alone with all of it.
#[test]
fn cables_side_by_side_each_bear_all() {
    let more = r#"(id: "N2b", from: "NB", to: "SHN", gauge: "4/0 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&usual(), "runs", more));
    for run in ["N1", "N2", "N2b"] {
        assert!((amps(&r, run) - amps(&r, "W3")).abs() < 1e-9, "{run}");
    }
}

/// What comes back by a pair's negative alone is none of its fuse's, but its wire bears it.
#[test]
fn a_negative_that_others_share_warms_its_wire_not_its_fuse() {
    // The inverter straight from the post with its negative to the shunt; between shunt and post lies W3's negative.
    let moved = [("runs.W5.from", id("BK")), ("runs.W5.negative_from", id("SHN"))];
    let p = with(&pairs(), &moved);
    let r = evaluate(&p);
    assert!(amps(&r, "W3") < 40.0, "{}", amps(&r, "W3"));
    assert!(found(&r, "conductor-below-current").is_empty(), "{}", texts(&r));
    let thin = with(&p, &[("runs.W3.gauge", Value::Gauge("8 AWG".parse().expect("gauge")))]);
    assert!(says(&evaluate(&thin), "conductor-below-current", "runs.W3"), "{}", texts(&evaluate(&thin)));
    assert!(!says(&r, "fuse-below-design", "runs.W3"), "{}", texts(&r));
    // And its volts are on the inverter's way: a metre more of W3 loses one conductor's.
    let long = with(&p, &[("runs.W3.legs.L1.length_m", Value::Number(1.6))]);
    let more = path_v(&evaluate(&long), "W5") - path_v(&r, "W5");
    let flows = 1000.0 / (12.8 * 0.88);
    assert!(more > 0.9 * 0.0626 * 0.822 / 304.8 * flows && more < 1.2 * 0.0626 / 304.8 * (flows + 10.0), "{more}");
}

/// By the chassis: the loop is measured, and no wire is missed.
#[test]
fn a_chassis_return_is_a_way_back() {
    for p in [pairs(), usual()] {
        let mut p = with(&p, &[("runs.W8.return_path", word("chassis"))]);
        let run = p.runs.iter_mut().find(|r| r.id.as_str() == "W8").expect("W8");
        run.measured_ohm = Some(Known::Is(coachwire::units::Ohms(0.03)));
        let r = evaluate(&p);
        assert!(found(&r, "return-not-drawn").is_empty(), "{}", texts(&r));
        assert!(found(&r, "negative-leads-nowhere").is_empty(), "{}", texts(&r));
        assert!(path_v(&r, "W8") > 0.03 * 60.0 / 12.8);
    }
}

/// NEC 240.4(D): 18 AWG copper is for 7 A at most. A load's own negative carries what its fuse lets through, and one between
/// two bars what those of all do that comes back by it; both want wire for that, and no fuse of their own.
#[test]
fn a_negative_is_wire_for_the_fuses_before_it() {
    let drawn = |n9: &str, n3: &str| {
        wired(&[
            ("W3", "BK", "BUS", "4/0 AWG", 0.6, &(NONE.to_string() + &fuse(150.0))),
            ("W6", "BUS", "FP", "8 AWG", 2.0, &(NONE.to_string() + &fuse(40.0))),
            ("W8", "FP", "L1", "12 AWG", 3.0, &format!(r#"negative_from: "NB2", {}"#, fuse(10.0))),
            ("W9", "FP", "L2", "12 AWG", 4.0, &(NONE.to_string() + &fuse(15.0))),
            ("N1", "BK-", "SHN", "4/0 AWG", 0.6, NONE),
            ("N2", "SHN", "NB", "4/0 AWG", 0.3, NONE),
            ("N3", "NB", "NB2", n3, 2.0, NONE),
            ("N9", "L2", "NB2", n9, 4.0, NONE),
        ])
    };
    let above = |p: &Plan| {
        let r = evaluate(p);
        let all = found(&r, "fuse-above-conductor");
        all.iter().map(|f| (f.subject.to_string(), f.n(0), f.level)).collect::<Vec<_>>()
    };
    assert_eq!(above(&drawn("14 AWG", "10 AWG")), []);
    assert_eq!(above(&drawn("18 AWG", "10 AWG")), [("runs.N9".to_string(), 15.0, Level::Stop)]);
    // Both branches together, 25 A, less than the 40 A before the panel.
    assert_eq!(above(&drawn("14 AWG", "14 AWG")), [("runs.N3".to_string(), 25.0, Level::Stop)]);
    super::cures::is_curable(&drawn("18 AWG", "10 AWG"), "fuse-above-conductor", "runs.N9");
    // Two side by side share what flows.
    let mut two = drawn("14 AWG", "14 AWG");
    let mut second = two.runs.iter().find(|r| r.id.as_str() == "N3").expect("N3").clone();
    second.id = "N4".parse().expect("id");
    (second.from, second.to) = (second.to.clone(), second.from.clone());
    two.runs.push(second);
    assert_eq!(above(&two), []);
}

/// A negative that brings back what fuses of 15 A each let out wants wire for 30 A: 18 AWG carries less (NEC 310.17, and 6 A at
/// most for a fuse by former NEC 551.10). Behind a converter that gives less than they let through its own limit decides: 18 AWG carries
/// 10 A, and not 20 A (NEC 310.17, 14 A at 60 C and 18 A at 90 C).
#[test]
fn behind_a_converter_a_negative_carries_what_that_gives() {
    let thin = with(&singly(), &[("runs.N6.gauge", Value::Gauge("18 AWG".parse().expect("gauge")))]);
    assert!(says(&evaluate(&thin), "fuse-above-conductor", "runs.N6"), "{}", texts(&evaluate(&thin)));
    let p = with(&thin, &[("bank.unit_v", Value::Number(25.6)), ("runs.W6.to", id("CV"))]);
    for (amps, is_told) in [(10.0, false), (20.0, true)] {
        let cv = format!(r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: {amps:?}))"#);
        let out = r#"(id: "W7", from: "CV", to: "FP", gauge: "8 AWG", return_path: "none",
            legs: [(id: "L1", length_m: 1.0, ambient_c: 20.0, insulation_c: 105.0)])"#;
        let r = evaluate(&insert(&insert(&p, "devices", &cv), "runs", out));
        assert_eq!(says(&r, "fuse-above-conductor", "runs.N6"), is_told, "{}", texts(&r));
    }
}

/// On the bank's side of a converter everything else counts as without one, and of the converter as much as the fuse ahead of
/// it: NEC 310.17, 75 C, 4 AWG 125 A behind 150 A; former NEC 551.10, 14 AWG is for 15 A, and 8 AWG for 40 A.
#[test]
fn ahead_of_a_converter_a_negative_is_wire_for_its_fuses() {
    let of = |main: &str, own: &str| {
        let converted = [("bank.unit_v", Value::Number(25.6)), ("runs.W6.to", id("CV"))];
        let apart = [("runs.W6.return_path", word("none")), ("runs.W6.negative_from", Value::Nothing)];
        let p = insert(&usual(), "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 40.0))"#);
        let p = with(&with(&p, &converted), &apart);
        let legs = r#"legs: [(id: "L1", length_m: 2.0, ambient_c: 20.0, insulation_c: 105.0)]"#;
        let minus = format!(r#"(id: "N6", from: "NB", to: "CV", gauge: "{own}", {NONE} {legs})"#);
        let p = insert(&p, "runs", &minus);
        let p = insert(&p, "runs", &format!(r#"(id: "W7", from: "CV", to: "FP", gauge: "8 AWG", {legs})"#));
        evaluate(&with(&open_air(&p, &["N2"]), &[("runs.N2.gauge", gauge(main))]))
    };
    let above = |r: &Report| {
        let all = found(r, "fuse-above-conductor").into_iter();
        all.map(|f| (f.subject.to_string(), f.n(0), f.n(1))).collect::<Vec<_>>()
    };
    let right = of("2 AWG", "8 AWG");
    assert_eq!(above(&right), [], "{}", texts(&right));
    assert_eq!(above(&of("4 AWG", "8 AWG")), [("runs.N2".to_string(), 150.0, 125.0)]);
    assert_eq!(above(&of("2 AWG", "14 AWG")), [("runs.N6".to_string(), 40.0, 15.0)]);
}

/// The plan with wire in the open, where NEC 310.17 holds.
fn open_air(p: &Plan, runs: &[&str]) -> Plan {
    let edits: Vec<(String, Value)> = runs.iter().map(|r| (format!("runs.{r}.legs.L1.laid"), word("open"))).collect();
    let edits: Vec<(&str, Value)> = edits.iter().map(|(at, to)| (at.as_str(), to.clone())).collect();
    with(p, &edits)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

/// Three batteries side by side, each with its own positive, fused 125 A, and its own negative.
fn own_negatives(size: &str) -> Plan {
    let alone = NONE.to_string();
    let fused = alone.clone() + &fuse(125.0);
    let p = wired(&[
        ("P1", "BK", "SW", "2 AWG", 0.4, &fused),
        ("P2", "BK", "SW", "2 AWG", 0.4, &fused),
        ("P3", "BK", "SW", "2 AWG", 0.4, &fused),
        ("N1", "BK-", "NB2", size, 0.4, &alone),
        ("N2", "BK-", "NB2", size, 0.4, &alone),
        ("N3", "BK-", "NB2", size, 0.4, &alone),
        ("W4", "SW", "BUS", "4/0 AWG", 0.3, &(alone.clone() + &fuse(150.0))),
        ("N4", "NB2", "SHN", "4/0 AWG", 0.3, &alone),
        ("N5", "SHN", "NB", "4/0 AWG", 0.3, &alone),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &format!(r#"negative_from: "NB", {}"#, fuse(150.0))),
    ]);
    open_air(&p, &["P1", "P2", "P3", "N1", "N2", "N3", "N4", "N5", "W4"])
}

/// NEC 310.17, 75 C: 6 AWG 95 A, 2 AWG 170 A; NEC 240.6(A): the next rating above 95 A is 100 A. Each battery's negative bears
/// what the fuse of its own positive lets through.
#[test]
fn a_battery_s_own_negative_is_wire_for_its_own_fuse() {
    let r = evaluate(&own_negatives("2 AWG"));
    assert!(found(&r, "fuse-above-conductor").is_empty(), "{}", texts(&r));
    let thin = own_negatives("6 AWG");
    let r = evaluate(&thin);
    let all = found(&r, "fuse-above-conductor");
    assert_eq!(
        all.iter().map(|f| (f.subject.as_str(), f.numbers.clone(), f.level)).collect::<Vec<_>>(),
        ["runs.N1", "runs.N2", "runs.N3"].map(|run| (run, vec![125.0, 95.0, 95.0, 100.0], Level::Stop)),
        "{}",
        texts(&r)
    );
    assert!(all[1].text().contains("F1 of P2, whose current it brings back"), "{}", all[1].text());
    assert!(found(&r, "conductor-below-current").is_empty(), "{}", texts(&r));
    super::cures::is_curable(&thin, "fuse-above-conductor", "runs.N1");
    // Sizing does so too: from that gauge, and from none.
    for size in ["6 AWG", "?"] {
        let p = if size == "?" {
            with(&thin, &["runs.N1.gauge", "runs.N2.gauge", "runs.N3.gauge"].map(|at| (at, Value::Unknown)))
        } else {
            thin.clone()
        };
        let after = evaluate(&super::sizing::sized(&p));
        assert!(found(&after, "fuse-above-conductor").is_empty(), "{size}: {}", texts(&after));
    }
}

/// What the main fuse lets through comes back by the main negative: 150 A. NEC 310.17, 75 C: 4 AWG 125 A, which bears the
/// 1000 W / (12.0 V x 0.88) + 90 W / 12.0 V = 102 A that flow; 3 AWG 145 A and the next rating up, 150 A.
#[test]
fn the_main_negative_is_wire_for_the_main_fuse() {
    let of = |size: &str| with(&open_air(&usual(), &["N2"]), &[("runs.N2.gauge", gauge(size))]);
    let r = evaluate(&of("4 AWG"));
    let f = found(&r, "fuse-above-conductor");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].n(0), f[0].n(1)), (1, "runs.N2", 150.0, 125.0), "{}", texts(&r));
    assert!(found(&r, "conductor-below-current").is_empty(), "{}", texts(&r));
    assert!(found(&evaluate(&of("3 AWG")), "fuse-above-conductor").is_empty(), "{}", texts(&evaluate(&of("3 AWG"))));
    super::cures::is_curable(&of("4 AWG"), "fuse-above-conductor", "runs.N2");
    let open = with(&of("4 AWG"), &[("runs.W3.protection.F1.amps_a", Value::Unknown)]);
    assert!(found(&evaluate(&open), "fuse-above-conductor").is_empty(), "{}", texts(&evaluate(&open)));
}

/// 3 AWG is for 150 A by the next rating up (NEC 310.17, 75 C: 145 A; 240.4(B)), which the main fuse has: a detector ahead of it on 2 A
/// is within what a fuse itself carries beyond its rating (ISO 8820-3: a tenth for 100 h, from memory), a heater on 10 A is not.
#[test]
fn a_few_amps_beside_the_main_fuse_want_no_thicker_negative() {
    let of = |amps: f64| {
        let from = [("runs.W9.from", id("BK")), ("runs.W9.negative_from", id("NB")), ("runs.N2.gauge", gauge("3 AWG"))];
        let p = with(&open_air(&usual(), &["N2"]), &from);
        evaluate(&with(&p, &[("runs.W9.protection.F1.amps_a", Value::Number(amps))]))
    };
    let (few, many) = (of(2.0), of(10.0));
    assert!(!says(&few, "fuse-above-conductor", "runs.N2"), "{}", texts(&few));
    assert!(says(&many, "fuse-above-conductor", "runs.N2"), "{}", texts(&many));
    assert!(found(&many, "fuse-above-conductor")[0].text().contains("together"), "{}", texts(&many));
}

/// A fault in the panel goes past its feeder's fuse of 40 A alone, whatever its branches have: former NEC 551.10, 14 AWG is for
/// 15 A. 8 AWG carries 50 A in a raceway (NEC 310.16, 75 C).
#[test]
fn a_panel_s_own_negative_is_wire_for_its_feeder_s_fuse() {
    let of = |size: &str| {
        let p = with(&usual(), &[("runs.W6.return_path", word("none")), ("runs.W6.negative_from", Value::Nothing)]);
        let run = format!(
            r#"(id: "N6", from: "NB", to: "FP", gauge: "{size}", {NONE} legs: [(id: "L1", length_m: 2.0,
            ambient_c: 20.0, insulation_c: 105.0)])"#
        );
        evaluate(&insert(&p, "runs", &run))
    };
    let r = of("14 AWG");
    let f = found(&r, "fuse-above-conductor");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].n(0), f[0].n(1)), (1, "runs.N6", 40.0, 15.0), "{}", texts(&r));
    assert!(f[0].text().contains("F1 of W6"), "{}", f[0].text());
    let r = of("8 AWG");
    assert!(found(&r, "fuse-above-conductor").is_empty(), "{}", texts(&r));
}

/// A panel of 30 A behind 40 A: NEC 408.36, a panelboard's own rating is at least that of the device ahead of it.
#[test]
fn a_panel_is_made_for_what_its_feeder_s_fuse_lets_through() {
    let rated = |amps: f64| with(&pairs(), &[("devices.FP.ratings.amps_a", Value::Number(amps))]);
    let r = evaluate(&rated(30.0));
    let f = found(&r, "panel-below-fuse");
    assert_eq!((f.len(), f[0].level, f[0].subject.as_str()), (1, Level::Caution, "devices.FP"), "{}", texts(&r));
    assert_eq!((f[0].n(0), f[0].n(1)), (40.0, 30.0));
    assert!(f[0].text().contains("F1 of W6"), "{}", f[0].text());
    super::cures::is_curable(&rated(30.0), "panel-below-fuse", "devices.FP");
    for right in [40.0, 60.0] {
        assert!(found(&evaluate(&rated(right)), "panel-below-fuse").is_empty(), "{right}");
    }
    // A feeder's fuse that nobody has rated yet may be small enough.
    let open = with(&rated(30.0), &[("runs.W6.protection.F1.amps_a", Value::Unknown)]);
    assert!(found(&evaluate(&open), "panel-below-fuse").is_empty(), "{}", texts(&evaluate(&open)));
    // Behind a converter, its limit decides.
    let p = with(&super::misdrawn::on_24(), &[("devices.FP.ratings.amps_a", Value::Number(25.0))]);
    assert!(found(&evaluate(&p), "panel-below-fuse").is_empty(), "{}", texts(&evaluate(&p)));
}

/// 6 AWG of 75 C at 40 C: NEC 310.17 95 A x 0.88 = 83.6 A, three of them in a bundle no less; 33 CFR 183.425 Table 5 95 A x 0.7
/// for three bundled x 0.88 = 58.5 A. 60 A are within the one and over the other.
#[test]
fn what_the_other_basis_would_not_carry_is_a_note() {
    let of = |amps: f64, basis: &'static str| {
        let p = open_air(&pairs(), &["W6"]);
        evaluate(&with(
            &p,
            &[
                ("job.basis", word(basis)),
                ("runs.W6.gauge", gauge("6 AWG")),
                ("runs.W6.design_override_a", Value::Number(amps)),
                ("runs.W6.override_reason", Value::Text("measured".into())),
                ("runs.W6.legs.L1.ambient_c", Value::Number(40.0)),
                ("runs.W6.legs.L1.insulation_c", Value::Number(75.0)),
                ("runs.W6.legs.L1.bundled", Value::Number(3.0)),
            ],
        ))
    };
    let r = of(60.0, "US RV");
    let f = found(&r, "other-basis-ampacity");
    assert_eq!((f.len(), f[0].level, f[0].subject.as_str()), (1, Level::Note, "runs.W6"), "{}", texts(&r));
    assert!((f[0].n(1) - 83.6).abs() < 0.3 && (f[0].n(2) - 58.5).abs() < 0.3, "{:?}", f[0].numbers);
    assert!(f[0].text().contains("83.") && f[0].text().contains("58."), "{}", f[0].text());
    for (amps, basis) in [(55.0, "US RV"), (60.0, "marine")] {
        assert!(found(&of(amps, basis), "other-basis-ampacity").is_empty(), "{amps} {basis}");
    }
    assert!(says(&of(60.0, "marine"), "conductor-below-current", "runs.W6"));
}
