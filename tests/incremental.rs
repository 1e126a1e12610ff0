//! Properties of the whole: what is remembered never changes an answer, undo takes back exactly what was done, and
//! more copper never costs harvest.

use std::sync::Arc;

use coachwire::document::Document;
use coachwire::engine::{Engine, Report};
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::standards::conductor::Gauge;
use coachwire::stock::Stock;

use crate::engine::properties::{all_fields, value};
use proptest::prelude::*;

const SAMPLES: [&str; 5] = [
    include_str!("../plans/bramble.ron"),
    include_str!("../plans/larkspur.ron"),
    include_str!("../plans/sorrel.ron"),
    include_str!("../plans/thistle.ron"),
    include_str!("../plans/marram.ron"),
];

fn sample(i: usize) -> Plan {
    Plan::from_text(SAMPLES[i]).unwrap()
}

/// Some edit that a technician might make: a gauge, a length, a fuse, a label value, an unknown, a note, any field at all.
fn some_edit(plan: &Plan, pick: usize, size: u8, what: u8) -> Step {
    let run = &plan.runs[pick % plan.runs.len()];
    let panel = &plan.panels[pick % plan.panels.len()];
    let load = &plan.loads[pick % plan.loads.len()];
    let (at, to) = match what % 16 {
        0 => (format!("runs.{}.gauge", run.id), Value::Gauge(Gauge::Awg(size % 15))),
        1 => {
            let leg = &run.legs[pick % run.legs.len()];
            (format!("runs.{}.legs.{}.length_m", run.id, leg.id), Value::Number(0.25 + f64::from(size) * 0.1))
        }
        2 => (format!("runs.{}.gauge", run.id), Value::Unknown),
        3 => (format!("panels.{}.imp_a", panel.id), Value::Number(4.0 + f64::from(size % 40) * 0.1)),
        4 => (format!("panels.{}.beta_pct_k", panel.id), Value::Unknown),
        5 => ("job.note".into(), Value::Text(format!("note {size}"))),
        6 => (format!("loads.{}.hours_day", load.id), Value::Number(f64::from(size % 25))),
        7 => (format!("loads.{}.medical", load.id), Value::Word("yes")),
        8 => ("bank.unit_ah".into(), Value::Number(20.0 + f64::from(size))),
        9 => ("bank.heater_w".into(), Value::Number(f64::from(size))),
        10 => (format!("stays.{}.drive_h_day", plan.stays[0].id), Value::Number(f64::from(size % 25))),
        11 => (format!("stays.{}.soiling_pct", plan.stays[0].id), Value::Number(f64::from(size % 20))),
        _ => {
            let all = all_fields(plan);
            let (at, kind, unknown, absent) = &all[(pick * 256 + usize::from(size)) % all.len()];
            let to = value(*kind, *unknown, *absent, u32::from(what), f64::from(size) / 256.0);
            (at.to_string(), to)
        }
    };
    Step::one("an edit", Edit::Set { at: FieldPath::new(at), to })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// An engine that has seen other plans answers bit for bit like a new one.
    #[test]
    fn incremental_equals_from_scratch(
        which in 0..SAMPLES.len(), edits in prop::collection::vec((0..64usize, any::<u8>(), any::<u8>()), 1..6),
    ) {
        let stock = Stock::default();
        let mut plan = sample(which);
        let mut engine = Engine::default();
        engine.evaluate(&plan, &stock);
        for (pick, size, what) in edits {
            if let Ok(next) = plan.with(&some_edit(&plan, pick, size, what)) {
                plan = next;
            }
            let remembered = engine.evaluate(&plan, &stock);
            let fresh = Engine::default().evaluate(&plan, &stock);
            prop_assert!(remembered == fresh, "reports differ");
            let bits = |r: &Report| {
                let year = &r.year;
                let mut all = vec![year.unmet_pct.clone(), year.stored_kwh.clone(), year.shortfall_days.clone()];
                all.extend(year.months.iter().flat_map(|m| {
                    [m.least_soc.clone(), m.other_wh_day.clone().map(|w| w.0), m.solar_wh_day.clone().map(|w| w.0)]
                }));
                all.into_iter().map(|f| f.map(f64::to_bits)).collect::<Vec<_>>()
            };
            prop_assert!(bits(&remembered) == bits(&fresh), "the year's figures differ in a bit");
        }
    }

    /// Undoing every step gives the first plan and report again; redoing gives the last.
    #[test]
    fn undo_takes_back_exactly(
        which in 0..SAMPLES.len(), edits in prop::collection::vec((0..64usize, any::<u8>(), any::<u8>()), 1..6),
    ) {
        let mut document = Document::new(sample(which), Arc::new(Stock::default()));
        let first = document.committed().clone();
        for (pick, size, what) in edits {
            let step = some_edit(&document.committed().plan, pick, size, what);
            let _ = document.apply(step);
        }
        let last = document.committed().clone();
        while document.undo().is_some() {}
        prop_assert_eq!(&*document.committed().plan, &*first.plan);
        prop_assert!(*document.committed().report == *first.report);
        while document.redo().is_some() {}
        prop_assert_eq!(&*document.committed().plan, &*last.plan);
        prop_assert!(*document.committed().report == *last.report);
    }
}

/// Each gauge of each run of the samples, thinnest first: drop never rises, harvest never falls. A run that carries no
/// sun has the bank stand otherwise at times, and harvest is what would arrive at the bank as it stands: a fuller one stands
/// higher, where panels joined to it give less and an inverter is on that was off. Measured: 9e-6.
#[test]
fn more_copper_never_costs() {
    let stock = Stock::default();
    for i in 0..3 {
        let plan = sample(i);
        let mut engine = Engine::default();
        for (r, run) in plan.runs.iter().enumerate() {
            let (mut drop_v, mut harvest_kwh) = (f64::INFINITY, 0.0);
            for size in 0..15 {
                let at = FieldPath::new(format!("runs.{}.gauge", run.id));
                let step = Step::one("gauge", Edit::Set { at, to: Value::Gauge(Gauge::Awg(size)) });
                let report = engine.evaluate(&plan.with(&step).unwrap(), &stock);
                if let Ok(drop) = &report.runs[r].drop_v {
                    assert!(drop.0 <= drop_v * (1.0 + 1e-12), "{} {}: drop rises", run.id, Gauge::Awg(size));
                    drop_v = drop.0;
                }
                let harvest = report.year.harvest_kwh.clone().unwrap();
                let carries_sun = report.runs[r].loss_wh_day.as_ref().is_ok_and(|wh| wh.0 > 0.0);
                let least = if carries_sun { 1.0 - 1e-12 } else { 1.0 - 2e-5 };
                assert!(harvest >= harvest_kwh * least, "{} {}: harvest falls", run.id, Gauge::Awg(size));
                harvest_kwh = harvest;
            }
        }
    }
}
