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

/// Changed air of a zone is marked beside every finding that rests on it, and beside no other.
#[test]
fn a_changed_ambient_marks_what_rests_on_it() {
    let said = |rule: &str, value: f64, edit: &dyn Fn(&mut Plan)| -> Vec<(String, bool)> {
        let mut plan = with(rule, value, "measured in July");
        edit(&mut plan);
        let all = evaluate(&plan).findings.into_iter().filter(|f| !f.check.id.starts_with("rule-"));
        all.map(|f| (format!("{} {}", f.check.id, f.subject), f.source_said().ends_with("(changed: measured in July)")))
            .collect()
    };
    let run = |plan: &mut Plan, id: &str, gauge: &str| {
        let run = plan.runs.iter_mut().find(|r| r.id.as_str() == id).unwrap();
        run.gauge = Known::Is(gauge.parse().unwrap());
    };
    // 8 AWG of 90 C insulation in a roof cavity: NEC 310.17 80 A x 0.58 at 70 C is 46 A; at 85 C x 0.29 it is 23 A.
    let hot = said("ambient-roof-cavity", 85.0, &|_| {});
    for check in ["conductor-below-current runs.W1", "fuse-above-conductor runs.W1"] {
        assert!(hot.contains(&(check.to_string(), true)), "{check}: {hot:?}");
    }
    let others: Vec<_> = hot.iter().filter(|(what, marked)| *marked && !what.ends_with("runs.W1")).collect();
    assert!(others.iter().all(|(what, _)| what.ends_with("arrays.A1")), "{others:?}");
    // A wire too thin in any air is no less so, and its number is that of the changed one: marked. In another zone: not.
    let thin = |p: &mut Plan| run(p, "W5", "8 AWG");
    let (own, other) = (said("ambient-cabinet", 45.0, &thin), said("ambient-roof-cavity", 55.0, &thin));
    let below = "conductor-below-current runs.W5".to_string();
    assert!(own.contains(&(below.clone(), true)), "{own:?}");
    assert!(other.contains(&(below, false)), "{other:?}");
    // A device in a zone that is hotter than it works.
    let device = |p: &mut Plan| {
        p.inverters[0].zone = Some(coachwire::standards::kinds::Zone::Cabinet);
        p.inverters[0].ratings.max_ambient_c = Some(Known::Is(coachwire::units::Celsius(42.0)));
    };
    let hot = said("ambient-cabinet", 50.0, &device);
    assert!(hot.contains(&("device-too-hot inverters.INV".to_string(), true)), "{hot:?}");
    assert!(!said("ambient-roof", 60.0, &device).iter().any(|(what, _)| what.starts_with("device-too-hot")));
}

/// Whatever rule a plan changes: a finding that would not be there, or would read otherwise, by its standard value says so.
#[test]
fn every_finding_that_a_changed_rule_makes_is_marked() {
    use coachwire::standards::rules::all;
    let wires = |p: &Plan| coachwire::engine::Engine::default().evaluate_wires(p, &coachwire::stock::Stock::default());
    let wrong = super::plan(super::samples::WRONG);
    let standard = wires(&wrong);
    let mut marked = 0;
    for rule in all() {
        for value in [rule.least, rule.most] {
            let mut plan = wrong.clone();
            let (id, value) = (rule.id.parse().unwrap(), Known::Is(Number(value)));
            plan.rules.push(RuleChange { id, value, reason: "agreed".into() });
            let by_wires = wires(&plan);
            for f in evaluate(&plan).findings.iter().filter(|f| !f.check.id.starts_with("rule-")) {
                let same = |r: &Report| {
                    r.findings
                        .iter()
                        .any(|g| g.identity() == f.identity() && g.level == f.level && g.text() == f.text())
                };
                if same(&by_wires) && !same(&standard) {
                    assert!(f.source_said().contains("(changed: agreed)"), "{}: {}", rule.id, f.text());
                    marked += 1;
                }
            }
        }
    }
    assert!(marked > 50, "{marked}");
}

/// What the year says is marked too, where the rule and no entered figure decided it.
#[test]
fn what_the_year_says_is_marked() {
    let marked = |plan: &Plan, check: &str| -> Option<bool> {
        let r = evaluate(plan);
        r.findings.iter().find(|f| f.check.id == check).map(|f| f.source_said().contains("(changed: old packs)"))
    };
    let mut plan = with("usable-depth-lfp", 0.3, "old packs");
    plan.loads[0].watts_w = Known::Is(coachwire::units::Watts(200.0));
    assert_eq!(marked(&plan, "shortfall"), Some(true));
    plan.bank.usable_pct = Some(Known::Is(Number(30.0)));
    assert_eq!(marked(&plan, "shortfall"), Some(false));
}

/// Of several changes of one rule the last is used: the others are said to be none, and one key takes them out.
#[test]
fn a_rule_changed_twice_is_said() {
    let mut plan = with("drop-inverter", 3.0, "agreed");
    let second = |value: f64, reason: &str| RuleChange {
        id: "drop-inverter".parse().unwrap(),
        value: Known::Is(Number(value)),
        reason: reason.into(),
    };
    plan.rules.push(second(4.0, "agreed again"));
    let report = evaluate(&plan);
    let of = |check: &str| -> Vec<Vec<f64>> {
        report.findings.iter().filter(|f| f.check.id == check).map(|f| f.numbers.clone()).collect()
    };
    assert_eq!(of("rule-changed-twice"), [[3.0, 4.0]]);
    // Common practice is 2 %; what is in force is said once.
    assert_eq!(of("rule-changed"), [[4.0, 2.0]]);
    let changed = coachwire::engine::Rules::changed(&plan);
    assert_eq!(changed.iter().map(|c| c.value).collect::<Vec<_>>(), [4.0]);
    let target = report.runs.iter().find(|r| r.id.as_str() == "W5").unwrap().target_pct;
    assert_eq!(target, Some(4.0));
    super::cures::is_curable(&plan, "rule-changed-twice", "rules.drop-inverter");
    // One that is not known changes nothing, so the earlier holds.
    plan.rules[1].value = Known::Unknown;
    assert_eq!(level(&evaluate(&plan), "rule-changed-twice"), None);
    assert_eq!(level(&evaluate(&plan), "rule-changed"), Some(Level::Note));
}
