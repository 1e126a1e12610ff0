//! Checks that are none of safety and wait for a value are said and counted, one list a field; safety checks as before.

use super::mistakes::{sound, with};
use super::{evaluate, texts};
use coachwire::engine::Report;
use coachwire::plan::samples::{SAMPLES, sample};
use coachwire::plan::{Plan, Value};
use coachwire::wording::findings::{About, Group, count, entries};

fn waits(r: &Report) -> Vec<String> {
    r.waiting.iter().map(|n| format!("{} {} for {}", n.check, n.subject, n.waits_for)).collect()
}

/// Nobody knows what a DC load draws: the inverter's path shares a run with it and may be over its target or not. It is
/// said as waiting, and no safety check waits that needs no drop.
#[test]
fn a_path_that_an_unknown_load_hides_is_said_to_wait() {
    let larkspur = Plan::from_text(sample("larkspur").expect("there").text).expect("reads");
    for (name, p, run, load) in [("larkspur", larkspur, "W7", "L7"), ("sound", sound(), "W5", "L1")] {
        let field = format!("loads.{load}.watts_w");
        let unknown = with(&p, &[(&field, Value::Unknown)]);
        let r = evaluate(&unknown);
        let over = |r: &Report| r.findings.iter().any(|f| f.check.id == "drop-over-target" && f.name(0) == "INV");
        let said = waits(&r).contains(&format!("drop-over-target runs.{run} for {field}"));
        assert!(said || over(&r), "{name}: {:?}\n{}", waits(&r), texts(&r));
        assert!(!evaluate(&p).waiting.iter().any(|n| n.waits_for.as_str() == field), "{name}, right twin");
        // The list has it under the field, and counts every check.
        let all = entries(&unknown, &r);
        assert_eq!(count(&all, Group::Waiting).open, r.waiting.len(), "{name}");
        let own = all.iter().find(|e| matches!(e.about, About::Waiting(_)) && e.subject.as_str() == field);
        let sentence = own.unwrap_or_else(|| panic!("{name}: no entry")).said(&unknown);
        assert!(sentence.starts_with(&format!("{load} watts: not judged without it: ")), "{sentence}");
        assert!(sentence.contains(&format!("drop-over-target of {run}")) || over(&r), "{sentence}");
    }
}

#[test]
fn a_plan_that_lacks_nothing_waits_for_nothing() {
    let none: Vec<String> = Vec::new();
    assert_eq!(waits(&evaluate(&sound())), none);
    for s in SAMPLES {
        assert_eq!(waits(&evaluate(&Plan::from_text(s.text).expect("reads"))), none, "{}", s.name);
    }
}

/// Whatever one field of a right plan is not known: each check that waits names a field that nobody has entered, and what
/// waits is counted among the unknown.
#[test]
fn what_is_waited_for_is_counted_unknown() {
    let fields = [
        "runs.W6.legs.L1.length_m",
        "runs.W3.gauge",
        "controllers.C1.absorb_v",
        "bank.unit_ah",
        "panels.P1.vmp_v",
        "inverters.INV.watts_w",
        "loads.L1.watts_w",
    ];
    let mut waiting = 0;
    for field in fields {
        let r = evaluate(&with(&sound(), &[(field, Value::Unknown)]));
        waiting += r.waiting.len();
        for n in &r.waiting {
            assert!(r.unknown.contains(&n.waits_for), "{field}: {n:?} of {:?}", r.unknown);
            assert!(!r.not_checked.contains(n), "{n:?}");
        }
    }
    assert!(waiting >= fields.len(), "{waiting}");
}

/// Three strings of a panel whose maximum series fuse nobody read off its label: a caution, and the field is counted.
#[test]
fn an_unread_series_fuse_is_counted() {
    let p = with(
        &sound(),
        &[("arrays.A1.strings", Value::Text("1S3P P1".into())), ("panels.P1.series_fuse_a", Value::Unknown)],
    );
    let r = evaluate(&p);
    assert!(r.findings.iter().any(|f| f.check.id == "series-fuse-unknown"), "{}", texts(&r));
    assert!(r.unknown.iter().any(|f| f.as_str() == "panels.P1.series_fuse_a"), "{:?}", r.unknown);
    let two = with(&p, &[("arrays.A1.strings", Value::Text("1S2P P1".into()))]);
    assert!(!evaluate(&two).findings.iter().any(|f| f.check.id == "series-fuse-unknown"));
}

/// A run that is given up, its wire left in the wall, asks for nothing; one that nobody has measured yet asks for its legs.
#[test]
fn a_run_that_is_given_up_asks_for_nothing() {
    let run = |legs: &str| {
        let run = format!(r#"(id: "W81", from: "BUS", to: "L1", gauge: "12 AWG", legs: [{legs}])"#);
        evaluate(&super::mistakes::insert(&sound(), "runs", &run))
    };
    let asks = |r: &Report| r.unknown.iter().any(|at| at.as_str() == "runs.W81.legs");
    assert!(asks(&run("")));
    let gone = run(r#"(id: "L1", length_m: 3.0, state: "abandoned")"#);
    assert!(!asks(&gone), "{:?}", gone.unknown);
}
