//! Rule values changed in a plan.

use super::samples::SOUND;
use super::{evaluate, plan};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Known, Plan, RuleChange};
use coachwire::units::Number;

fn with(id: &str, value: f64, reason: &str) -> Plan {
    let mut plan = plan(SOUND);
    plan.rules.push(RuleChange { id: id.parse().unwrap(), value: Known::Is(Number(value)), reason: reason.into() });
    plan
}

fn level(report: &Report, check: &str) -> Option<Level> {
    report.findings.iter().find(|f| f.check.id == check).map(|f| f.level)
}

#[test]
fn a_changed_rule_is_said_and_used() {
    let plan = with("usable-depth-lfp", 0.6, "old packs");
    let report = evaluate(&plan);
    assert_eq!(level(&report, "rule-changed"), Some(Level::Note));
    let share = |r: &Report| {
        let (wh, v, ah) = (r.bank.usable_wh.clone(), r.bank.volts.clone(), r.bank.amp_hours.clone());
        wh.unwrap().0 / (v.unwrap().0 * ah.unwrap().0)
    };
    assert!((share(&report) - 0.6).abs() < 1e-12);
    // Common practice: 0.8 to 0.9 of a lithium bank.
    assert!((share(&evaluate(&super::plan(SOUND))) - 0.9).abs() < 1e-12);
}

#[test]
fn a_change_without_reason_an_unknown_rule_and_a_value_out_of_bounds_are_cautions() {
    assert_eq!(level(&evaluate(&with("drop-array", 4.0, " ")), "rule-changed-without-reason"), Some(Level::Caution));
    assert_eq!(level(&evaluate(&with("no-such-rule", 4.0, "x")), "rule-not-known"), Some(Level::Caution));
    assert_eq!(level(&evaluate(&with("drop-array", 4000.0, "x")), "rule-out-of-bounds"), Some(Level::Caution));
    let sound = evaluate(&plan(SOUND));
    assert!(sound.findings.iter().all(|f| !f.check.id.starts_with("rule-")));
}

/// A finding that is judged by a changed value says so beside its source; the others do not.
#[test]
fn a_finding_by_a_changed_value_is_marked() {
    let said = |rule: &str| {
        let report = evaluate(&with(rule, 0.01, "long tow, agreed"));
        let over: Vec<_> = report.findings.into_iter().filter(|f| f.check.id == "drop-over-target").collect();
        over.iter().map(|f| (f.subject.as_str().to_string(), f.source_said())).collect::<Vec<_>>()
    };
    let inverter = said("drop-inverter");
    let marked = ("runs.W5".to_string(), "common practice (changed: long tow, agreed)".to_string());
    assert!(inverter.contains(&marked), "{inverter:?}");
    // Another target changed: the inverter's own stays unmarked, or within.
    for (run, source) in said("drop-controller-bank") {
        assert_eq!(source.contains("(changed: "), run == "runs.W2", "{run} {source}");
    }
    assert_eq!(level(&evaluate(&plan(SOUND)), "rule-changed"), None);
}

/// The working names a changed ambient of a zone, but not where the leg's own air was entered.
#[test]
fn the_working_marks_a_changed_ambient() {
    let air = |plan: &Plan| {
        let worked = coachwire::engine::worked::worked(plan, &"W1".parse().unwrap()).unwrap();
        worked.legs.unwrap()[0].ambient_changed.clone()
    };
    let mut hot = with("ambient-roof-cavity", 65.0, "measured in July");
    assert_eq!(air(&hot), Some("measured in July".into()));
    assert_eq!(air(&plan(SOUND)), None);
    let run = hot.runs.iter_mut().find(|r| r.id.as_str() == "W1").unwrap();
    run.legs[0].ambient_c = Some(Known::Is(coachwire::units::Celsius(40.0)));
    assert_eq!(air(&hot), None);
}
