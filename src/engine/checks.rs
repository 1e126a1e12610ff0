//! Checks: one file a group. Each says pass, found, or the field it waits for.

mod battery_room;
mod breakers;
mod changed;
mod charging;
mod cold;
mod coldest;
mod day;
mod device_amps;
mod digits;
mod disconnect;
mod feeders;
mod forgotten;
mod fuses;
mod graph;
mod harvest;
mod inputs;
mod judged;
mod labels;
mod leads;
mod life;
mod looped;
mod lugs;
mod measured;
mod misdrawn;
mod onward;
mod packs;
mod panels;
mod parallel;
mod place;
mod polarity;
mod poles;
mod profile;
mod returns;
mod roof;
mod safety;
mod settings;
mod starts;
mod string_fuses;
mod string_place;
mod uncapped;
mod unconnected;
mod unusable;
mod volts;
mod wires;
mod year;

pub(super) use battery_room::standing;
pub use fuses::fault_words;
pub(super) use judged::rests_on;
pub use judged::rules_of;
pub(super) use roof::Read;
pub(super) use unusable::NO_CLIMATE;

use super::Work;
use super::gather::{Gathered, Outcome};

/// Every check that does without what the hours of the year come to, which may still be running: of wires, devices, settings.
/// `tests/layers.rs` holds them to that.
pub(super) fn before_year(work: &Work<'_>, out: &mut Gathered) {
    labels::all(work, out);
    day::all(work, out);
    volts::all(work, out);
    wires::all(work, out);
    lugs::all(work, out);
    forgotten::all(work, out);
    device_amps::all(work, out);
    breakers::all(work, out);
    fuses::all(work, out);
    feeders::all(work, out);
    place::all(work, out);
    charging::all(work, out);
    settings::all(work, out);
    changed::all(work, out);
    safety::all(work, out);
    graph::all(work, out);
    returns::all(work, out);
    misdrawn::all(work, out);
    poles::all(work, out);
    unconnected::all(work, out);
    starts::all(work, out);
    disconnect::all(work, out);
    parallel::all(work, out);
    packs::all(work, out);
    polarity::all(work, out);
    measured::all(work, out);
    battery_room::all(work, out);
    roof::all(work, out);
}

/// The others.
pub(super) fn with_year(work: &Work<'_>, out: &mut Gathered) {
    panels::all(work, out);
    harvest::all(work, out);
    year::all(work, out);
    unusable::all(work, out);
    out.each(|finding| judged::mark(work.context.plan, finding));
}

/// A rule value that only a check reads: the plan's, within the rule's bounds, or the standard one of the basis.
fn rule_value(work: &Work<'_>, id: &str) -> f64 {
    rule_value_of(work.context.plan, id)
}

/// The same of a plan.
pub(super) fn rule_value_of(plan: &crate::plan::Plan, id: &str) -> f64 {
    let Some(row) = crate::standards::rules::rule(id) else { return 0.0 };
    let own = plan.rules.iter().rev().find(|r| r.id.as_str() == id).and_then(|r| r.value.known());
    own.map_or(row.value(plan.job.basis), |v| v.0.clamp(row.least, row.most))
}

/// What waits for the bank to be joined is said once, where that is said; not again at every run.
fn said_once(joined: bool, outcome: Outcome) -> Outcome {
    match outcome {
        Err(missing) if !joined && missing.0.as_str() == "runs" => Ok(None),
        outcome => outcome,
    }
}
