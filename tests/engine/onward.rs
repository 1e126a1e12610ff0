//! Wire whose fuses sit on every way on beyond its end, and what a fuse ahead of others is proposed as.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::report::Report;
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Value};

/// A lead from the bank's post to a stud, so long, and from there a fused one to a panel of detectors.
fn stud(lead_m: f64, fuse_m: f64) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SPL", kind: "splice")"#);
    let p = insert(&p, "devices", r#"(id: "AON", kind: "fuse panel")"#);
    let p = insert(&p, "loads", r#"(id: "L9", watts_w: 1.5, hours_day: 24.0)"#);
    let lead = format!(
        r#"(id: "V1", from: "BK", to: "SPL", gauge: "6 AWG", legs: [(id: "L1", length_m: {lead_m:?}, insulation_c: 105.0)])"#
    );
    let on = format!(
        r#"(id: "V2", from: "SPL", to: "AON", gauge: "10 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: {fuse_m:?})])"#
    );
    let last = r#"(id: "V3", from: "AON", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 5.0, distance_m: 0.05)])"#;
    insert(&insert(&insert(&p, "runs", &lead), "runs", &on), "runs", last)
}

fn far(r: &Report, run: &str) -> Option<(Level, f64)> {
    let subject = format!("runs.{run}");
    let f = found(r, "fuse-far-from-source").into_iter().find(|f| f.subject.as_str() == subject)?;
    Some((f.level, f.n(0)))
}

/// NEC 552.10(E)(4): within 18 in (0.4572 m) along the conductor from the source; up to 7 in (0.1778 m) nothing is said. 6 in + 3 in = 9 in
/// is a note, 3 in + 3 in nothing, 12 in + 8 in = 20 in a stop; a second way on without a fuse is one as well.
#[test]
fn the_distance_goes_on_through_a_stud() {
    let r = evaluate(&stud(0.1524, 0.0762));
    assert!(!says(&r, "source-end-unfused", "runs.V1"), "{}", texts(&r));
    let (level, metres) = far(&r, "V1").expect("a note");
    assert!(level == Level::Note && (metres - 0.2286).abs() < 1e-9, "{metres}");
    let f = found(&r, "fuse-far-from-source")[0].clone();
    let steps = Engine::default().explain(&stud(0.1524, 0.0762), &r, &f);
    assert!(format!("{steps:?}").contains("added up"), "{steps:?}");
    let r = evaluate(&stud(0.0762, 0.0762));
    assert!(far(&r, "V1").is_none() && !says(&r, "source-end-unfused", "runs.V1"), "{}", texts(&r));
    for wrong in
        [stud(0.3048, 0.2032), with(&stud(0.1524, 0.0762), &[("runs.V2.protection.F1.distance_m", Value::Unknown)])]
    {
        assert!(says(&evaluate(&wrong), "source-end-unfused", "runs.V1"), "{}", texts(&evaluate(&wrong)));
    }
    let second =
        r#"(id: "V4", from: "SPL", to: "L1", gauge: "10 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&stud(0.1524, 0.0762), "runs", second));
    assert!(says(&r, "source-end-unfused", "runs.V1"), "{}", texts(&r));
}

/// Fuses that let more through together than the lead carries do not protect it (NEC 240.4): 6 AWG carries some 100 A, a fuse of 150 A
/// beyond it lets 150 A in.
#[test]
fn what_they_let_through_together_counts() {
    let large = with(&stud(0.1524, 0.0762), &[("runs.V2.protection.F1.amps_a", Value::Number(150.0))]);
    assert!(says(&evaluate(&large), "source-end-unfused", "runs.V1"), "{}", texts(&evaluate(&large)));
}

/// A detector of 1.5 W would do with 1 A, the 15 A behind it would not: a fuse ahead of another is no smaller (common practice).
#[test]
fn a_fuse_ahead_of_others_is_no_smaller() {
    let r = evaluate(&stud(0.3048, 0.2032));
    let figures = r.runs.iter().find(|f| f.id.as_str() == "V1").expect("a run");
    let new = figures.proposed.clone().unwrap_or_else(|| panic!("{}", texts(&r)));
    assert!(new.amps.0 >= 15.0, "{new:?}");
}
