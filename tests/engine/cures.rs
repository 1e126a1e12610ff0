//! Cures remove their finding and add no stop; ladders tell what each gauge does.

use super::samples::{SOUND, WRONG};
use super::{evaluate, found, plan, texts};
use coachwire::engine::{Engine, Finding, Level};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::stock::Stock;

pub(super) fn cures(plan: &Plan, check: &str, subject: &str) -> Vec<Step> {
    let report = evaluate(plan);
    let finding = report.findings.iter().find(|f| f.check.id == check && f.subject.as_str() == subject);
    let finding = finding.unwrap_or_else(|| panic!("{check} {subject}:\n{}", texts(&report)));
    Engine::default().cures(plan, &Stock::default(), finding)
}

#[test]
fn four_in_series_become_two_strings_of_two() {
    let p = plan(WRONG);
    let steps = cures(&p, "cold-voc-over-limit", "arrays.A1");
    let deed = |s: &&Step| s.name.split("; costs: ").next() == Some("A1: 2S2P P1");
    assert!(steps.iter().any(|s| deed(&s)), "{steps:?}");
    let after = evaluate(&p.with(&steps[0]).expect("applies"));
    assert!(found(&after, "cold-voc-over-limit").is_empty());
}

/// Applies every cure offered for every finding; says how many there were.
pub(super) fn apply_all(p: &Plan) -> usize {
    super::explained::all_worked(p);
    offer_all(p)
}

/// The same, whatever the workings say.
pub(super) fn offer_all(p: &Plan) -> usize {
    let before = evaluate(p);
    let mut offered = 0;
    for finding in &before.findings {
        for step in Engine::default().cures(p, &Stock::default(), finding) {
            offered += 1;
            let after = evaluate(&p.with(&step).expect("applies"));
            // Gone, or of a mistake no more than worth knowing.
            let stays = |f: &&Finding| {
                f.identity() == finding.identity() && (f.level != Level::Note || finding.level == f.level)
            };
            assert_eq!(after.findings.iter().find(stays), None, "{}: {step:?}", finding.text());
            for f in after.findings.iter().filter(|f| f.level == Level::Stop) {
                let there = |b: &&Finding| b.level == Level::Stop && b.identity() == f.identity();
                assert!(before.findings.iter().any(|b| there(&b)), "{step:?} adds {}", f.text());
            }
        }
    }
    offered
}

/// A step is offered for a finding, and it is mended by it.
#[track_caller]
pub(super) fn is_curable(p: &Plan, check: &str, subject: &str) {
    let steps = cures(p, check, subject);
    assert!(!steps.is_empty(), "nothing is offered for {check} {subject}:\n{}", texts(&evaluate(p)));
    let after = evaluate(&p.with(&steps[0]).expect("applies"));
    let stays = found(&after, check).into_iter().find(|f| f.subject.as_str() == subject && f.level != Level::Note);
    assert_eq!(stays, None, "{:?}", steps[0].name);
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

/// Every stop and caution of the wrong coach, and of the wrong plan of the trade's list, has a step that one key applies.
#[test]
fn every_mistake_of_the_wrong_coaches_has_a_cure() {
    for p in [plan(WRONG), sample("thistle")] {
        let report = evaluate(&p);
        for f in report.findings.iter().filter(|f| f.level != Level::Note) {
            is_curable(&p, f.check.id, f.subject.as_str());
        }
    }
}

fn with(p: &Plan, edits: &[(&str, Value)]) -> Plan {
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() }).collect();
    p.with(&Step { name: "test".into(), edits }).expect("applies")
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

/// 95 A over three runs of 2 AWG, 0.6 m, 0.4 m and 1.0 m: 4.0 m there and back of 0.18 ohm/kft (NEC Chapter 9 Table 8 at
/// 40 C) lose 0.22 V, two fuses, a switch and lugs some 0.12 V more, of the 0.24 V that 2 % are. The longest run in 4/0 AWG,
/// a third of its ohms, leaves 0.15 V and those 0.12 V: over it still. The whole way thicker is one step.
#[test]
fn a_path_that_no_single_run_mends_is_mended_whole() {
    let mut edits = vec![];
    for run in ["W3", "W4", "W5"] {
        edits.push((format!("runs.{run}.gauge"), gauge("2 AWG")));
        let m = [("W3", 0.6), ("W4", 0.4), ("W5", 1.0)].iter().find(|(r, _)| *r == run).expect("one of them").1;
        edits.push((format!("runs.{run}.legs.L1.length_m"), Value::Number(m)));
    }
    let edits: Vec<(&str, Value)> = edits.iter().map(|(at, to)| (at.as_str(), to.clone())).collect();
    let p = with(&plan(SOUND), &edits);
    let over = evaluate(&p);
    let to_inverter = |f: &&&Finding| f.text().starts_with("INV:");
    let subject = found(&over, "drop-over-target").iter().find(to_inverter).expect("over").subject.to_string();
    let steps = cures(&p, "drop-over-target", &subject);
    let whole = steps.iter().find(|s| s.name.starts_with("whole way:")).unwrap_or_else(|| panic!("{steps:?}"));
    let touched =
        |run: &str| whole.edits.iter().any(|e| matches!(e, Edit::Set { at, .. } if at.as_str().contains(run)));
    assert!(["W3", "W4", "W5"].iter().filter(|r| touched(r)).count() >= 2, "{whole:?}");
    let after = evaluate(&p.with(whole).expect("applies"));
    let path = after.runs.iter().find(|r| r.id.as_str() == "W5").expect("W5").path_drop_pct.clone().expect("percent");
    assert!(path <= 2.0, "{path}");
    assert!(!steps.iter().any(|s| ["W3:", "W4:", "W5:"].iter().any(|w| s.name.starts_with(w))), "{steps:?}");
    apply_all(&p);
}

/// What hangs on no run, or on nothing that leads to the bank: a run is drawn, its gauge, length and fuse left open, and
/// no stop comes of what is open.
#[test]
fn what_is_not_joined_is_joined_by_one_key() {
    for (name, run, check, subject) in [
        ("marram", "W3", "bank-not-joined", "devices.BUS"),
        ("marram", "W4", "bank-not-joined", "devices.BUS"),
        ("marram", "W9", "bank-not-joined", "devices.FP"),
        ("marram", "W2", "controller-without-run", "controllers.C1"),
        ("marram", "W1", "array-without-run", "arrays.A1"),
        ("marram", "W6", "charger-without-input", "chargers.CH1"),
        ("marram", "W8", "charger-without-run", "chargers.CH2"),
        ("larkspur", "W7", "inverter-without-run", "inverters.INV"),
        ("larkspur", "W14", "bank-not-joined", "devices.AON"),
    ] {
        let out = Edit::Remove { at: FieldPath::new(format!("runs.{run}")) };
        let p = sample(name).with(&Step::one("out", out)).expect("there");
        is_curable(&p, check, subject);
        let drawn = p.with(&cures(&p, check, subject)[0]).expect("applies");
        let new = drawn.runs.iter().find(|r| !p.runs.contains(r)).expect("a run");
        assert!(new.gauge.known().is_none() && new.legs[0].length_m.known().is_none(), "{name} {run}");
        apply_all(&p);
    }
    // From where the drawing ends short of it: the switch, not the post again.
    let out = Edit::Remove { at: FieldPath::new("runs.W4") };
    let p = sample("marram").with(&Step::one("out", out)).expect("there");
    let step = &cures(&p, "bank-not-joined", "devices.BUS")[0];
    assert!(step.name.contains("from SW to BUS"), "{}", step.name);
    // To the switch that only one run ends on, not past it.
    let out = Edit::Remove { at: FieldPath::new("runs.W3") };
    let p = sample("marram").with(&Step::one("out", out)).expect("there");
    let step = &cures(&p, "bank-not-joined", "devices.BUS")[0];
    assert!(step.name.contains("from BK to SW"), "{}", step.name);
}

/// A switch is put in with ratings that its run asks for, and takes what it is for off the bank.
#[test]
fn a_switch_is_put_in_with_its_ratings() {
    let p = with(&plan(SOUND), &[("devices.SW.kind", Value::Word("bus"))]);
    let design = evaluate(&p).runs[2].design_a.clone().expect("amps").0;
    let step = &cures(&p, "no-bank-disconnect", "bank")[0];
    let after = p.with(step).expect("applies");
    let switch = after.devices.iter().find(|d| !p.devices.contains(d)).expect("a device");
    let rated = (switch.ratings.amps_a.as_ref().expect("amps"), switch.ratings.volts_dc_v.as_ref().expect("volts"));
    // LFP charges to 14.6 V: 32 V DC is the least that is sold.
    assert!(rated.0.known().is_some_and(|a| a.0 >= design), "{step:?}");
    assert!(rated.1.known().is_some_and(|v| v.0 == 32.0), "{step:?}");
    // Its lead is to be measured; the negative ends where it did, so that nothing is without a way back.
    let lead = after.runs.iter().find(|r| !p.runs.iter().any(|own| own.id == r.id)).expect("a lead");
    assert!(lead.legs[0].length_m.known().is_none(), "{lead:?}");
    let (before, r) = (evaluate(&p), evaluate(&after));
    let new = r.findings.iter().find(|f| f.level != Level::Note && !before.says(f));
    assert!(new.is_none(), "{}", texts(&r));
    let back = ["return-not-drawn", "negative-leads-nowhere"];
    assert!(!r.findings.iter().any(|f| back.contains(&f.check.id)), "{}", texts(&r));
}

type Spoil<'a> = (&'a str, &'a dyn Fn(&mut coachwire::plan::Run));

/// Right plans spoilt in one place of one run: wire thinner by four sizes, a fuse of another rating or family, at the other
/// end, too far along, or none. Every stop of it can be mended by one key.
#[test]
fn every_stop_of_a_plan_spoilt_in_one_place_has_a_cure() {
    use coachwire::plan::wiring::FuseAt;
    use coachwire::plan::{Known, Run};
    use coachwire::standards::kinds::FuseFamily;
    use coachwire::units::{Amps, Metres};
    let thin = |r: &mut Run| {
        for _ in 0..4 {
            r.gauge = r.gauge.known().and_then(|g| g.thinner()).map_or(r.gauge, Known::Is);
        }
    };
    let amps = |a: f64| move |r: &mut Run| r.protection[0].amps_a = Known::Is(Amps(a));
    let (small, large) = (amps(15.0), amps(600.0));
    let family = |r: &mut Run| {
        let f = &mut r.protection[0];
        (f.family, f.interrupt_a, f.volts_dc_v) = (Known::Is(FuseFamily::OpenLink), None, None);
    };
    let other_end = |r: &mut Run| {
        let f = &mut r.protection[0];
        f.at = if f.at == FuseAt::From { FuseAt::To } else { FuseAt::From };
    };
    let far = |r: &mut Run| r.protection[0].distance_m = Known::Is(Metres(0.9));
    let none = |r: &mut Run| r.protection.clear();
    let spoils: [Spoil<'_>; 7] = [
        ("thin", &thin),
        ("15 A", &small),
        ("600 A", &large),
        ("open link", &family),
        ("other end", &other_end),
        ("far", &far),
        ("none", &none),
    ];
    let (mut stops, mut engine) = (0, Engine::default());
    for p in [plan(SOUND), sample("marram"), sample("bramble")] {
        let right = evaluate(&p);
        for i in 0..p.runs.len() {
            for (what, spoil) in spoils {
                if what != "thin" && p.runs[i].protection.is_empty() {
                    continue;
                }
                let mut q = p.clone();
                spoil(&mut q.runs[i]);
                let r = engine.evaluate(&q, &Stock::default());
                for f in r.findings.iter().filter(|f| f.level == Level::Stop && !right.says(f)) {
                    stops += 1;
                    let cures = engine.cures(&q, &Stock::default(), f);
                    assert!(!cures.is_empty(), "{} {what}: {}", q.runs[i].id, f.text());
                }
            }
        }
    }
    assert!(stops > 100, "{stops}");
}
