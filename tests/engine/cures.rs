//! Cures remove their finding and add no stop; ladders tell what each gauge does.

use super::samples::{SOUND, WRONG};
use super::{evaluate, found, plan, texts};
use coachwire::engine::{Engine, Finding, Level};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
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

/// Applies every cure offered for every finding; says how many there were.
pub(super) fn apply_all(p: &Plan) -> usize {
    let before = evaluate(p);
    let mut offered = 0;
    for finding in &before.findings {
        for step in Engine::default().cures(p, &Stock::default(), finding) {
            offered += 1;
            let after = evaluate(&p.with(&step).expect("applies"));
            assert!(!after.findings.iter().any(|f| f.identity() == finding.identity()), "{}: {step:?}", finding.text());
            for f in after.findings.iter().filter(|f| f.level == Level::Stop) {
                let there = |b: &&Finding| b.level == Level::Stop && b.identity() == f.identity();
                assert!(before.findings.iter().any(|b| there(&b)), "{step:?} adds {}", f.text());
            }
        }
    }
    offered
}

fn sample(name: &str) -> Plan {
    let sample = SAMPLES.iter().find(|s| s.name == name).expect("sample");
    Plan::from_text(sample.text).expect("reads")
}

#[test]
fn every_offered_cure_cures_and_adds_no_stop() {
    for p in [plan(WRONG), sample("thistle")] {
        let offered = apply_all(&p);
        assert!(offered >= 8, "{offered} cures offered for\n{}", texts(&evaluate(&p)));
    }
    for sound in SAMPLES.iter().filter(|s| s.name != "thistle") {
        apply_all(&sample(sound.name));
    }
}

/// The same where each run of a sound plan is in turn too thin, or its fuse too large.
#[test]
fn cures_hold_on_spoiled_samples() {
    let mut offered = 0;
    for (name, run, field, to) in [
        ("larkspur", "W3", "gauge", "8 AWG"),
        ("larkspur", "W9", "gauge", "12 AWG"),
        ("larkspur", "W8", "protection.F1.amps_a", "600"),
        ("marram", "W6", "gauge", "4 mm2"),
        ("marram", "W3", "protection.F1.distance_m", "0.35"),
        ("sorrel", "W2", "protection.F1.amps_a", "8"),
        ("bramble", "W2", "gauge", "16 AWG"),
    ] {
        let value = to.parse::<f64>().map_or_else(|_| Value::Gauge(to.parse().expect("gauge")), Value::Number);
        let edit = Edit::Set { at: FieldPath::new(format!("runs.{run}.{field}")), to: value };
        let spoiled = sample(name).with(&Step::one("spoil", edit)).expect("applies");
        assert!(
            evaluate(&spoiled).findings.iter().any(|f| f.subject.as_str() == format!("runs.{run}")),
            "{name} {run}"
        );
        offered += apply_all(&spoiled);
    }
    assert!(offered >= 7, "{offered}");
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
    let rungs =
        Engine::default().ladder(&p, &Stock::default(), &coachwire::engine::LadderOf::Gauge(p.runs[0].id.clone()));
    assert_eq!(rungs.len(), 15);
    assert_eq!(rungs.iter().filter(|r| r.current).map(|r| r.name()).collect::<Vec<_>>(), ["8 AWG"]);
    let drops: Vec<f64> = rungs.iter().map(|r| r.gauge().expect("gauge").drop_v.clone().expect("drop").0).collect();
    assert!(drops.windows(2).all(|w| w[1] < w[0]), "{drops:?}");
    assert!(!rungs[0].new.is_empty() && rungs[5].new.is_empty() && rungs[5].cured.is_empty());
    // 8 AWG: 14 m of 8.37 mm2 at 8.89 g/cm3.
    let kg = rungs[5].weight_kg.clone().expect("kg");
    assert!((kg - 14.0 * 8.367 * 8.89 / 1000.0).abs() < 0.002, "{kg}");
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config {
        cases: 8, failure_persistence: None, ..proptest::test_runner::Config::default()
    })]

    /// A run gone, another too thin and longer, a fuse out, a load critical: whatever is offered cures and adds no stop.
    #[test]
    fn cures_hold_on_broken_circuits(
        which in 0_usize..3,
        gone in 0_usize..20,
        thin in 0_usize..20,
        bare in 0_usize..20,
        steps in 0_usize..4,
        longer in 1.0..3.0_f64,
    ) {
        let mut p = match which {
            0 => plan(SOUND),
            1 => super::lines::dc_dc("6 AWG"),
            _ => super::lines::stepped("", "amps_a: 15.0", 4.0),
        };
        let count = p.runs.len();
        if let Some(run) = p.runs.get_mut(thin % count) {
            for _ in 0..steps {
                run.gauge = run.gauge.known().and_then(|g| g.thinner()).map_or(run.gauge, coachwire::plan::Known::Is);
            }
            for leg in &mut run.legs {
                let metres = leg.length_m.known().map_or(1.0, |m| m.0) * longer;
                leg.length_m = coachwire::plan::Known::Is(coachwire::units::Metres(metres));
            }
        }
        if let Some(run) = p.runs.get_mut(bare % count) {
            run.protection.clear();
        }
        p.runs.remove(gone % count);
        apply_all(&p);
    }
}
