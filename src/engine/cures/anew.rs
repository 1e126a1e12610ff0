//! A run that is to end elsewhere: how long it is nobody knows until it is measured.

use crate::engine::resistance::{leg_path, legs};
use crate::plan::{Edit, FieldPath, Plan, Run, Step, Value};

/// What a step that moves an end of a run makes unknown: the length of the leg that ends there, of the negative where it has one of its
/// own, and the ohms that were measured of it.
pub(super) fn lengths(plan: &Plan, step: &Step) -> Vec<Edit> {
    let moved = |edit: &Edit| {
        let Edit::Set { at, to: Value::Id(_) } = edit else { return None };
        let mut parts = at.segments();
        let (Some("runs"), Some(id), Some(field @ ("from" | "to")), None) =
            (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return None;
        };
        Some((plan.runs.iter().find(|r| r.id.as_str() == id)?, field == "from"))
    };
    step.edits.iter().filter_map(moved).flat_map(|(run, from)| of(run, from)).collect()
}

fn of(run: &Run, from: bool) -> Vec<Edit> {
    let leg = if from { legs(run).next() } else { legs(run).last() };
    let unknown = |at: FieldPath| Edit::Set { at, to: Value::Unknown };
    let leg = leg.filter(|l| l.length_m.known().is_some()).map(|l| unknown(leg_path(run, l, "length_m")));
    let own = |field: &str| unknown(FieldPath::of(&["runs", run.id.as_str(), field]));
    let negative = run.negative_length_m.is_some().then(|| own("negative_length_m"));
    let measured = run.measured_ohm.is_some().then(|| own("measured_ohm"));
    leg.into_iter().chain(negative).chain(measured).collect()
}
