//! Sizing where there is little to size: nothing drawn, nothing new, nothing on the van, nothing known, nothing that fits;
//! and what is taken back.

use super::plan;
use super::samples::SOUND;
use coachwire::document::Document;
use coachwire::engine::ladder::Fit;
use coachwire::engine::{Engine, LadderOf};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Known, Plan, State};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::stock::Stock;

fn gauge(text: &str) -> Gauge {
    text.parse().expect("gauge")
}

/// The reasons of every run, after seeing that nothing is to change.
fn nothing_changes(p: &Plan, stock: &Stock, only: bool) -> Vec<String> {
    let proposal = Engine::default().propose_sizes(p, stock, only);
    assert!(proposal.step.edits.is_empty(), "{:?}", proposal.step);
    assert_eq!(p.with(&proposal.step).expect("applies"), *p);
    assert_eq!(proposal.rows.len(), p.runs.len());
    assert!(proposal.rows.iter().all(|r| !r.changes()));
    proposal.rows.into_iter().map(|r| r.why).collect()
}

#[test]
fn no_runs_at_all() {
    let mut p = plan(SOUND);
    p.runs.clear();
    for only in [false, true] {
        assert_eq!(nothing_changes(&p, &Stock::default(), only), Vec::<String>::new());
    }
    assert_eq!(nothing_changes(&Plan::default(), &Stock::default(), false), Vec::<String>::new());
    let of = LadderOf::Gauge("W1".parse().expect("id"));
    assert!(Engine::default().ladder(&p, &Stock::default(), &of).is_empty());
    assert!(Engine::default().select(&p, &Stock::default(), &"W1".parse().expect("id")).is_none());
}

#[test]
fn every_run_existing_or_measured() {
    let mut p = plan(SOUND);
    for leg in p.runs.iter_mut().flat_map(|r| &mut r.legs) {
        leg.state = State::Existing;
    }
    let why = nothing_changes(&p, &Stock::default(), false);
    assert!(why.iter().take(6).all(|w| w == "held: existing wire stays"), "{why:?}");
    let mut p = plan(SOUND);
    for run in &mut p.runs {
        run.measured_ohm = Some(Known::Is(coachwire::units::Ohms(0.002)));
    }
    let why = nothing_changes(&p, &Stock::default(), false);
    assert!(why.iter().take(6).all(|w| w == "held: its resistance was measured"), "{why:?}");
}

#[test]
fn an_empty_van_holds_every_run() {
    for text in SAMPLES.iter().map(|s| s.text) {
        let p = Plan::from_text(text).expect("reads");
        let why = nothing_changes(&p, &Stock::default(), true);
        assert!(why.iter().all(|w| w.contains("held:") || w.contains("not sized:")), "{why:?}");
    }
}

#[test]
fn a_run_of_unknown_length_waits_and_the_others_are_sized() {
    let mut p = plan(SOUND);
    let sized = |p: &Plan| Engine::default().propose_sizes(p, &Stock::default(), false);
    p.runs[1].legs[0].length_m = Known::Unknown;
    let some = sized(&p);
    assert_eq!(some.rows[1].why, "not sized: waits for runs.W2.legs.L1.length_m");
    assert!(!some.rows[1].changes());
    // What shares its path, of which a loss is not known, gets no thinner; what does not is sized.
    let mm2 = |make: Option<coachwire::engine::sizing::Make>| area_mm2(make.expect("a gauge").gauge);
    assert!(some.rows[2..4].iter().all(|r| mm2(r.gauge.1) >= mm2(r.gauge.0)), "{:?}", some.rows);
    assert!(some.rows[4..].iter().any(coachwire::engine::sizing::SizedRun::changes));
    // Its ladder still tells what each gauge carries.
    let rungs = Engine::default().ladder(&p, &Stock::default(), &LadderOf::Gauge(p.runs[1].id.clone()));
    assert!(rungs.iter().all(|r| r.gauge().is_some_and(|g| g.drop_v.is_err() && g.ampacity_a.is_ok())));
    assert!(rungs.iter().all(|r| r.weight_kg.is_err() && r.price.is_err()));
}

#[test]
fn a_terminal_too_small_for_anything() {
    let mut p = plan(SOUND);
    p.inverters[0].ratings.largest_wire = Some(Known::Is(gauge("16 AWG")));
    let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
    let row = &proposal.rows[4];
    assert!(!row.changes());
    // 94.7 A: 1000 W at 12 V and 88 %.
    assert!(row.why.starts_with("held: no gauge its terminals take carries 94.7 A, nor two of"), "{}", row.why);
    let rungs = Engine::default().ladder(&p, &Stock::default(), &LadderOf::Gauge(p.runs[4].id.clone()));
    assert_eq!(rungs.len(), 15);
    assert!(rungs.iter().all(|r| matches!(r.fit, Fit::No(_))));
    assert_eq!(Engine::default().select(&p, &Stock::default(), &p.runs[4].id), None);
}

/// A chosen row, and the sizing of all, taken back: plan and report are those of before, and of a plan freshly read.
#[test]
fn what_is_taken_back_leaves_nothing() {
    for text in SAMPLES.iter().map(|s| s.text) {
        let p = Plan::from_text(text).expect("reads");
        let stock = std::sync::Arc::new(Stock::default());
        let mut document = Document::new(p.clone(), stock.clone());
        let before = document.committed().clone();
        let mut steps = vec![document.engine().size_all(&p, &stock, false)];
        for run in p.runs.iter().take(3) {
            let of = [LadderOf::Gauge(run.id.clone()), LadderOf::Fuse(run.id.clone(), None)];
            let rows = of.iter().flat_map(|of| document.engine().ladder(&p, &stock, of)).collect::<Vec<_>>();
            steps.extend(rows.into_iter().filter(|r| !r.current).map(|r| r.step).step_by(5));
        }
        for step in steps.into_iter().filter(|s| !s.edits.is_empty()) {
            document.apply(step).expect("applies");
            assert_ne!(*document.committed().plan, p);
            document.undo().expect("one step");
            assert_eq!(document.committed().plan.to_text(), p.to_text());
            assert_eq!(document.committed().report, before.report);
            // The engine that went there and back answers as one that never did.
            let again = document.engine().evaluate(&document.committed().plan, &stock);
            assert_eq!(format!("{again:?}"), format!("{:?}", before.report));
        }
    }
}
