//! Cures: what a fuse keeps, what goes with thicker wire, and which step a technician takes first.

use super::cures::cures;
use super::mistakes::{sound, with, word};
use super::{evaluate, says, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::samples::sample;
use coachwire::plan::{Plan, Step, Value};
use coachwire::standards::conductor::Gauge;
use coachwire::stock::Stock;

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn thistle() -> Plan {
    Plan::from_text(sample("thistle").expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn amps(p: &Plan, run: &str) -> f64 {
    let run = p.runs.iter().find(|r| r.id.as_str() == run).expect("run");
    run.protection[0].amps_a.known().expect("known").0
}

fn panels(p: &Plan) -> usize {
    p.arrays.iter().map(|a| a.strings.panels()).sum()
}

/// An open link, made for 32 V, on a bank of 51.2 V: another family in the rating that was chosen, which UL 248-15 T has and 4/0 AWG
/// carries; where the wire does not carry it, one that it does.
/// Source: UL 248-15, 125 V DC and a rating of 150 A, from memory.
#[test]
fn a_fuse_of_too_few_volts_keeps_its_rating() {
    let of = |size: &str| {
        let edits = [
            ("bank.unit_v", n(51.2)),
            ("bank.ohmic_mohm", n(40.0)),
            ("controllers.C1.absorb_v", n(56.8)),
            ("runs.W3.gauge", gauge(size)),
            ("runs.W3.protection.F1.family", word("open link")),
        ];
        with(&sound(), &edits)
    };
    let p = of("4/0 AWG");
    let steps = cures(&p, "fuse-volts-low", "runs.W3");
    assert_eq!(amps(&p.with(&steps[0]).expect("applies"), "W3"), amps(&p, "W3"), "{steps:?}");
    let thin = of("8 AWG");
    assert!(says(&evaluate(&thin), "fuse-above-conductor", "runs.W3"), "{}", texts(&evaluate(&thin)));
    let steps = cures(&thin, "fuse-volts-low", "runs.W3");
    let after = thin.with(&steps[0]).expect("applies");
    assert!(amps(&after, "W3") < amps(&thin, "W3"), "{steps:?}");
    assert!(!says(&evaluate(&after), "fuse-above-conductor", "runs.W3"), "{}", texts(&evaluate(&after)));
}

/// Wherever the thickest wire that a terminal takes meets a target only with a fuse two ratings or more larger, both are offered.
/// Source: Ohm's law, a fuse loses its volts at its rating; every combination is evaluated here.
#[test]
fn thicker_wire_is_offered_with_the_fuse_that_it_wants() {
    let mut wanted = 0;
    for cm in (100..160).step_by(2) {
        let of = |size: &str, amps: f64| {
            let edits = [
                ("controllers.C1.out_a", n(30.0)),
                ("controllers.C1.ratings.largest_wire", gauge("4 AWG")),
                ("runs.W2.legs.L1.length_m", n(f64::from(cm) / 100.0)),
                ("runs.W2.gauge", gauge(size)),
                ("runs.W2.protection.F1.amps_a", n(amps)),
            ];
            with(&sound(), &edits)
        };
        let loses = |amps: f64| says(&evaluate(&of("4 AWG", amps)), "drop-over-target", "runs.W2");
        if !loses(45.0) || !loses(50.0) || loses(60.0) {
            continue;
        }
        wanted += 1;
        if wanted > 3 {
            break;
        }
        let p = of("8 AWG", 45.0);
        let steps = cures(&p, "drop-over-target", "runs.W2");
        assert!(steps.iter().any(|s| s.name.starts_with("W2 with fuse: 4 AWG, ")), "{cm} cm: {steps:?}");
    }
    assert!(wanted > 0, "no length tells");
}

/// Four in series are too many volts in the cold: two and two keep all panels, and go before what takes some off. The cold volts of two
/// are half of those of four.
/// Source: panels in series add their volts.
#[test]
fn all_panels_are_kept_first() {
    let p = thistle();
    let steps = cures(&p, "cold-voc-over-limit", "arrays.A1");
    let left: Vec<usize> = steps.iter().map(|s| panels(&p.with(s).expect("applies"))).collect();
    assert_eq!(left[0], panels(&p), "{steps:?}");
    assert!(steps[0].name.starts_with("A1: 2S2P P1"), "{steps:?}");
    assert!(left.iter().any(|n| *n < panels(&p)), "others are offered too: {steps:?}");
    let (was, is) = (evaluate(&p), evaluate(&p.with(&steps[0]).expect("applies")));
    let new: Vec<String> =
        is.findings.iter().filter(|f| f.level != Level::Note && !was.says(f)).map(|f| f.text()).collect();
    assert_eq!(new, Vec::<String>::new(), "{}", steps[0].name);
}

/// What each step lays in a run by its words: its name, then sizes.
fn sized(step: &Step) -> Vec<(String, String)> {
    let words: Vec<&str> = step.name.split_whitespace().collect();
    let mut all = Vec::new();
    for three in words.windows(3).filter(|w| w[2].trim_end_matches([';', ',']) == "AWG") {
        if three[0].starts_with('W') {
            all.push((three[0].trim_end_matches(':').to_string(), three[1].to_string()));
        }
    }
    all
}

/// A step that is completed by thicker wire names each run once, with what it has in the end.
#[test]
fn a_run_is_named_with_its_last_size() {
    let edits = [("runs.W1.gauge", gauge("14 AWG")), ("runs.W1.legs.L1.length_m", n(18.0))];
    let p = with(&thistle(), &edits);
    let mut checked = 0;
    for f in &evaluate(&p).findings {
        for step in Engine::default().cures(&p, &Stock::default(), f) {
            let after = p.with(&step).expect("applies");
            let all = sized(&step);
            for (id, size) in &all {
                assert_eq!(all.iter().filter(|(other, _)| other == id).count(), 1, "{}", step.name);
                let run = after.runs.iter().find(|r| r.id.as_str() == id).expect("run");
                let is = run.gauge.known().map(Gauge::to_string);
                assert_eq!(is, Some(format!("{size} AWG")), "{}", step.name);
                checked += 1;
            }
        }
    }
    assert!(checked > 5, "{checked}");
}

/// A run too thin for its current and for its fuse is sized once: the first cure leaves no stop there that thicker wire would mend.
#[test]
fn a_run_is_sized_once() {
    let p = thistle();
    let by_wire = ["conductor-below-current", "fuse-above-conductor", "source-end-unfused"];
    for (check, run) in [("conductor-below-current", "W3"), ("conductor-below-current", "W5")] {
        let subject = format!("runs.{run}");
        let left = |step: &Step| {
            let after = evaluate(&p.with(step).expect("applies"));
            by_wire.iter().filter(|id| says(&after, id, &subject)).count()
        };
        let before = by_wire.iter().filter(|id| says(&evaluate(&p), id, &subject)).count();
        assert!(before > 1, "{run}: {before}");
        assert_eq!(left(&cures(&p, check, &subject)[0]), 0, "{run}");
    }
}

/// A fuse that is too small for its current as well as for the drop is changed once: the first cure of the drop is of 1.25 times the
/// current at least (NEC 690.9(B): a controller's output is continuous).
#[test]
fn a_fuse_against_a_drop_is_large_enough_for_its_current() {
    let bramble = Plan::from_text(sample("bramble").expect("sample").text).expect("reads");
    let p = with(&bramble, &[("runs.W2.protection.F1.amps_a", n(5.0))]);
    let r = evaluate(&p);
    assert!(says(&r, "fuse-below-design", "runs.W2"));
    let drop = r.findings.iter().find(|f| f.check.id == "drop-over-target" && f.run() == Some("W2")).expect("a drop");
    let steps = Engine::default().cures(&p, &Stock::default(), drop);
    let after = p.with(&steps[0]).expect("applies");
    let design = evaluate(&after).runs[1].design_a.clone().expect("amps").0;
    assert!(amps(&after, "W2") >= 1.25 * design - 1e-9, "{}: {design}", steps[0].name);
    assert!(!says(&evaluate(&after), "fuse-below-design", "runs.W2"));
}
