//! Chargers set lower, and runs that end elsewhere: what steps say of them.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::plan::{Edit, Known, Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// Three sources over what the bank takes, none of which can give up enough alone: all are set lower, and no more than they were.
#[test]
fn all_that_charge_are_set_lower() {
    let charger =
        |id: &str| format!(r#"(id: "{id}", kind: "shore", out_a: 30.0, absorb_v: 14.2, efficiency_pct: 88.0)"#);
    let run = |id: &str, from: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
                protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 50.0, distance_m: 0.1)])"#
        )
    };
    let mut p = insert(&insert(&sound(), "chargers", &charger("CA")), "chargers", &charger("CB"));
    p = insert(&insert(&p, "runs", &run("V1", "CA")), "runs", &run("V2", "CB"));
    p = with(&p, &[("bank.max_charge_a", n(15.0))]);
    let r = evaluate(&p);
    let over = found(&r, "charge-over-limit");
    assert!(over.len() == 1 && over[0].n(0) - over[0].n(1) > 40.0, "{}", texts(&r));
    is_curable(&p, "charge-over-limit", "bank");
    let steps = cures(&p, "charge-over-limit", "bank");
    let all = steps.iter().find(|s| s.name.starts_with("all set lower")).unwrap_or_else(|| panic!("{steps:?}"));
    for edit in &all.edits {
        let Edit::Set { at, to: Value::Number(to) } = edit else { panic!("{edit:?}") };
        let Some(Value::Number(was)) = p.get_at(at) else { panic!("{at}") };
        assert!(*to < was && *to >= 1.0 && to.fract() == 0.0, "{at} {was} {to}");
    }
}

fn detector() -> Plan {
    let load = r#"(id: "L9", name: "gas detector", watts_w: 1.4, hours_day: 24.0, life_safety: "yes")"#;
    let run = r#"(id: "V1", from: "BUS", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.05)])"#;
    insert(&insert(&sound(), "loads", load), "runs", run)
}

/// A run that is to end elsewhere is not as long as it was: it is left to be measured, and the step says so. The bank's own post comes
/// first, ahead of every switch (NFPA 1192 for the detector).
#[test]
fn a_moved_run_is_measured_anew() {
    let p = detector();
    assert!(says(&evaluate(&p), "life-safety-behind-switch", "loads.L9"), "{}", texts(&evaluate(&p)));
    let steps = cures(&p, "life-safety-behind-switch", "loads.L9");
    let first = steps.first().unwrap_or_else(|| panic!("none"));
    assert!(first.name.contains("the bank's own post") && first.name.contains("measured anew"), "{}", first.name);
    let after = p.with(first).expect("applies");
    let run = after.runs.iter().find(|r| r.id.as_str() == "V1").expect("a run");
    assert_eq!(run.legs[0].length_m, Known::Unknown);
    // What ends where it did keeps its length.
    let others = |p: &Plan| p.runs.iter().filter(|r| r.id.as_str() != "V1").cloned().collect::<Vec<_>>();
    assert_eq!(others(&after), others(&p));
    assert!(!says(&evaluate(&after), "life-safety-behind-switch", "loads.L9"));
}
