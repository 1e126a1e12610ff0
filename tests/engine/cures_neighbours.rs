//! Cures that do both of two things that wait for each other, that say which fuse goes, and copper in proportion.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn read(text: &str) -> Plan {
    Plan::from_text(text).unwrap_or_else(|e| panic!("{e}"))
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

/// A tow line of 12 AWG from the plug to the bank's switch, 30 A ahead of one end and 60 A ahead of the other, its wire good
/// for 16 A: a fuse at either end alone leaves the other. Source: rules, section 4, a run between two batteries at each.
#[test]
fn a_run_that_lacks_a_fuse_at_both_ends_gets_both() {
    let p = read(include_str!("plans/tow-link.ron"));
    let r = evaluate(&p);
    let both: Vec<_> =
        found(&r, "source-end-unfused").into_iter().filter(|f| f.subject.as_str() == "runs.W2").collect();
    assert_eq!(both.len(), 2, "{}", texts(&r));
    for finding in both {
        let steps = Engine::default().cures(&p, &Stock::default(), finding);
        assert_eq!(steps.len(), 1, "{steps:?}");
        let after = p.with(&steps[0]).expect("applies");
        let report = evaluate(&after);
        assert!(found(&report, "source-end-unfused").is_empty(), "{}", texts(&report));
        let run = after.runs.iter().find(|r| r.id.as_str() == "W2").expect("there");
        assert_eq!(run.protection.len(), 2, "{}", steps[0].name);
        assert!(run.protection.iter().all(|f| f.amps_a.known().is_some_and(|a| a.0 <= 16.0)), "{}", steps[0].name);
        let stops = |r: &coachwire::engine::Report| r.findings.iter().filter(|f| f.level == Level::Stop).count();
        assert!(stops(&report) < stops(&r), "{}", texts(&report));
    }
}

/// A fuse of 3 A ahead of 5 A, behind it a splice and 18 AWG that the larger one would be too large for (former NEC 551.10):
/// one step gives both their fuses.
#[test]
fn a_larger_fuse_brings_the_one_that_its_neighbour_wants() {
    let p = read(include_str!("plans/splices.ron"));
    is_curable(&p, "fuse-below-design", "runs.W5");
    let steps = cures(&p, "fuse-below-design", "runs.W5");
    let after = evaluate(&p.with(&steps[0]).expect("applies"));
    assert!(found(&after, "source-end-unfused").iter().all(|f| f.subject.as_str() != "runs.W51"), "{}", texts(&after));
}

/// A stud fuse whose own sheet was entered as opening 2 kA, in the place of which one of the same type and rating stands that
/// opens 10 kA up to 16 V: the step says so. Its volts, no less than the type's 32 V, would hold.
#[test]
fn a_cure_says_which_fuse_it_replaces() {
    let sheet = [
        ("runs.W2.protection.F1.family", word("ISO 8820-6")),
        ("runs.W2.protection.F1.amps_a", n(75.0)),
        ("runs.W2.protection.F1.interrupt_a", n(2000.0)),
        ("bank.parallel", n(1.0)),
    ];
    let p = with(&sound(), &sheet);
    let steps = cures(&p, "interrupt-below-fault", "runs.W2");
    let same = steps.iter().find(|s| s.name.contains("75 A ISO 8820-6")).unwrap_or_else(|| panic!("{steps:?}"));
    assert!(same.name.contains("; another one, as its type is made, in place of W2 F1 of 2 kA"), "{}", same.name);
    // Another type needs no word: what it is stands in the step's name.
    for other in steps.iter().filter(|s| !s.name.contains("ISO 8820-6")) {
        assert!(!other.name.contains("in place of"), "{}", other.name);
    }
}

/// A feeder of 6 AWG bare behind 300 A: a fuse of its own, not 4/0 AWG for 10 A.
#[test]
fn no_copper_out_of_proportion_beside_what_does_without() {
    let mut p = with(&sound(), &[("runs.W3.protection.F1.amps_a", n(300.0)), ("inverters.INV.watts_w", n(2000.0))]);
    p.runs.iter_mut().filter(|r| r.id.as_str() == "W6").for_each(|r| r.protection.clear());
    let steps = cures(&p, "source-end-unfused", "runs.W6");
    assert!(!steps.is_empty());
    for step in &steps {
        assert!(!step.name.contains("/0 AWG"), "{}", step.name);
    }
    // Where nothing else does, it says what it is: 5 A at the end of a path whose target its main takes up.
    let far = insert(
        &with(&sound(), &[("runs.W6.legs.L1.length_m", n(30.0))]),
        "rules",
        r#"(id: "drop-other", value: 0.6, reason: "as the owner asks")"#,
    );
    let r = evaluate(&far);
    let f = found(&r, "drop-over-target").into_iter().find(|f| f.subject.as_str().starts_with("runs.W6")).cloned();
    let f = f.unwrap_or_else(|| panic!("{}", texts(&r)));
    for step in Engine::default().cures(&far, &Stock::default(), &f) {
        let after = far.with(&step).expect("applies");
        let w6 =
            after.runs.iter().find(|r| r.id.as_str() == "W6").and_then(|r| r.gauge.known().copied()).expect("known");
        let heavy = w6.to_string().contains("/0");
        assert_eq!(heavy, step.name.contains("far more copper than its current wants"), "{}", step.name);
    }
}

/// Two batteries' fuses of 125 A let 250 A through together: that is no rating of a fuse, and the note does not call it one.
#[test]
fn a_sum_of_fuses_is_no_rating() {
    let lead = |id: &str| {
        format!(
            r#"(id: "{id}", from: "BK", to: "SW", gauge: "1/0 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 125.0, distance_m: 0.1)])"#
        )
    };
    let mut p = with(&sound(), &[("bank.parallel", n(2.0)), ("runs.W4.gauge", gauge("1/0 AWG"))]);
    p.runs.retain(|r| r.id.as_str() != "W3");
    let p = insert(&insert(&p, "runs", &lead("B1")), "runs", &lead("B2"));
    let r = evaluate(&p);
    let f = found(&r, "next-rating-up").into_iter().find(|f| f.subject.as_str() == "runs.W4").cloned();
    let text = f.unwrap_or_else(|| panic!("{}", texts(&r))).text();
    assert!(text.contains("together of 250 A ahead of it is within the next standard rating above"), "{text}");
}
