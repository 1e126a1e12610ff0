//! Cures remove their finding and add no stop; ladders tell what each gauge does.

use super::samples::{SOUND, WRONG};
use super::{evaluate, found, plan, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Step};
use coachwire::stock::Stock;

fn cures(plan: &Plan, check: &str, subject: &str) -> Vec<Step> {
    let report = evaluate(plan);
    let finding = report.findings.iter().find(|f| f.check.id == check && f.subject.as_str() == subject);
    let finding = finding.unwrap_or_else(|| panic!("{check} {subject}:\n{}", texts(&report)));
    Engine::default().cures(plan, &Stock::default(), finding)
}

#[test]
fn four_in_series_become_two_strings_of_two() {
    let p = plan(WRONG);
    let steps = cures(&p, "cold-voc-over-limit", "arrays.A1");
    assert!(steps.iter().any(|s| s.name == "A1: 2S2P P1"), "{steps:?}");
    let after = evaluate(&p.with(&steps[0]).expect("applies"));
    assert!(found(&after, "cold-voc-over-limit").is_empty());
}

#[test]
fn every_offered_cure_cures_and_adds_no_stop() {
    let p = plan(WRONG);
    let before = evaluate(&p);
    let mut offered = 0;
    for finding in &before.findings {
        for step in Engine::default().cures(&p, &Stock::default(), finding) {
            offered += 1;
            let after = evaluate(&p.with(&step).expect("applies"));
            assert!(!after.findings.iter().any(|f| f.identity() == finding.identity()), "{}: {step:?}", finding.text());
            for f in after.findings.iter().filter(|f| f.level == Level::Stop) {
                assert!(before.findings.iter().any(|b| b.identity() == f.identity()), "{step:?} adds {}", f.text());
            }
        }
    }
    assert!(offered >= 8, "{offered} cures offered for\n{}", texts(&before));
}

#[test]
fn a_thin_inverter_cable_is_made_thicker() {
    let steps = cures(&plan(WRONG), "conductor-below-current", "runs.W4");
    assert!(!steps.is_empty());
}

#[test]
fn equalising_is_switched_off() {
    let steps = cures(&plan(WRONG), "equalise-not-allowed", "controllers.C1");
    assert_eq!(steps.len(), 1);
}

#[test]
fn ladder_has_every_gauge_and_marks_the_current_one() {
    let p = plan(SOUND);
    let rungs = Engine::default().ladder(&p, &Stock::default(), &p.runs[0].id);
    assert_eq!(rungs.len(), 15);
    assert_eq!(rungs.iter().filter(|r| r.current).map(|r| r.gauge.to_string()).collect::<Vec<_>>(), ["8 AWG"]);
    let drops: Vec<f64> = rungs.iter().map(|r| r.drop_v.clone().expect("drop").0).collect();
    assert!(drops.windows(2).all(|w| w[1] < w[0]), "{drops:?}");
    assert!(rungs[0].new > 0 && rungs[5].new == 0 && rungs[5].cured == 0);
    // 8 AWG: 14 m of 8.37 mm2 at 8.89 g/cm3.
    let kg = rungs[5].weight_kg.clone().expect("kg");
    assert!((kg - 14.0 * 8.367 * 8.89 / 1000.0).abs() < 0.002, "{kg}");
}
