//! The fuse of a run put, changed or moved.

use crate::engine::Engine;
use crate::engine::report::Proposed;
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::runs::end_names;
use crate::plan::format::item_text;
use crate::plan::wiring::{FuseAt, Protection};
use crate::plan::{Edit, FieldPath, Known, Plan, Run, Step, Value};
use crate::standards::fuse::{dc_volts, interrupt_a};
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::{Amps, Metres};

use super::{NEAR_ENOUGH_M, NEAR_M, bought};

pub(super) fn insert(run: &Run, at: FuseAt, family: FuseFamily, amps: f64) -> Edit {
    put(run, at, Known::Is(family), Known::Is(Amps(amps)))
}

/// A fuse more on a run, near one of its ends; what is not known of it stays `?`.
pub(in crate::engine) fn put(run: &Run, at: FuseAt, family: Known<FuseFamily>, amps_a: Known<Amps>) -> Edit {
    let fuse = Protection { at, family, amps_a, distance_m: Known::Is(Metres(NEAR_M)), ..Protection::default() };
    Edit::Insert {
        list: FieldPath::of(&["runs", run.id.as_str(), "protection"]),
        after: run.protection.last().map(|p| p.id.clone()),
        item: item_text(&fuse),
    }
}

/// The proposed fuse in place of those a run has, at its source end. On a loop either end may be one: there each stays where it is,
/// and one of the same kind at the other end goes along.
pub(in crate::engine) fn fuse_edits(run: &Run, proposed: &Proposed) -> Vec<Edit> {
    let at = if proposed.at_from { FuseAt::From } else { FuseAt::To };
    let Some(fuse) = fuses(run).next() else { return vec![insert(run, at, proposed.family, proposed.amps.0)] };
    if proposed.looped {
        let same = |f: &&Protection| f.amps_a == fuse.amps_a && f.family == fuse.family;
        return fuses(run).filter(same).flat_map(|f| rated_edits(run, f, proposed, Vec::new())).collect();
    }
    let path = |field: &str| fuse_path(run, fuse, field);
    let mut place = vec![Edit::Set { at: path("at"), to: Value::Word(at.word()) }];
    let stays = fuse.at == at && fuse.distance_m.known().is_some_and(|m| m.0 <= NEAR_ENOUGH_M);
    if !stays {
        place.push(Edit::Set { at: path("distance_m"), to: Value::Number(NEAR_M) });
    }
    rated_edits(run, fuse, proposed, place)
}

/// A fuse as the proposed one, with what else is to change of it.
pub(super) fn rated_edits(run: &Run, fuse: &Protection, proposed: &Proposed, place: Vec<Edit>) -> Vec<Edit> {
    let path = |field: &str| fuse_path(run, fuse, field);
    let mut edits = vec![
        Edit::Set { at: path("family"), to: Value::Word(proposed.family.word()) },
        Edit::Set { at: path("amps_a"), to: Value::Number(proposed.amps.0) },
    ];
    edits.extend(place);
    // What its own sheet says is of that fuse; another of the type is at least what the type has.
    let is_type = fuse.family.known() == Some(&proposed.family);
    let volts = fuse.volts_dc_v.as_ref().map(|k| k.known().map(|v| v.0));
    let opens = fuse.interrupt_a.as_ref().map(|k| k.known().map(|a| a.0));
    // At few volts a type opens the most.
    let (of_type_v, of_type_a) = (dc_volts(proposed.family), interrupt_a(proposed.family, 1.0));
    for (own, of_type, field) in [(volts, of_type_v, "volts_dc_v"), (opens, of_type_a, "interrupt_a")] {
        let holds = own.flatten().is_some_and(|own| is_type && of_type.is_none_or(|least| own >= least - 1e-9));
        if own.is_some() && !holds {
            edits.push(Edit::Set { at: path(field), to: Value::Nothing });
        }
    }
    edits.extend(bought::with(run, fuse, &edits));
    edits
}

/// The proposed fuse in place of those a run has; where one sits at that end already, as far along the wire as it does.
pub(in crate::engine) fn refit_edits(run: &Run, proposed: &Proposed) -> Vec<Edit> {
    let mut edits = fuse_edits(run, proposed);
    let end = if proposed.at_from { FuseAt::From } else { FuseAt::To };
    if let Some(fuse) = fuses(run).next().filter(|f| f.at == end && f.distance_m.known().is_some()) {
        let distance = fuse_path(run, fuse, "distance_m");
        edits.retain(|e| !matches!(e, Edit::Set { at, .. } if *at == distance));
    }
    edits
}

/// The fuse as it is, moved to the source end; where it sits at that end but too far along the wire, nearer to it.
pub(super) fn moved(run: &Run, near_from: bool) -> Option<Step> {
    let fuse = fuses(run).next()?;
    let path = |field: &str| fuse_path(run, fuse, field);
    let at = if near_from { FuseAt::From } else { FuseAt::To };
    let end = end_name(run, at);
    let mut edits = vec![Edit::Set { at: path("distance_m"), to: Value::Number(NEAR_M) }];
    if fuse.at == at {
        let there = fuse.distance_m.known().is_some_and(|m| m.0 <= NEAR_M + 1e-9);
        return (!there).then(|| Step { name: format!("{} {} nearer: to {end}'s terminal", run.id, fuse.id), edits });
    }
    edits.insert(0, Edit::Set { at: path("at"), to: Value::Word(at.word()) });
    Some(Step { name: format!("{} {} moved: to {end}", run.id, fuse.id), edits })
}

/// What stands at a run's end.
fn end_name(run: &Run, at: FuseAt) -> String {
    let (from, to) = end_names(run);
    if at == FuseAt::From { from } else { to }
}

/// What is said of a fuse whose rating is left open.
pub(super) const TO_BE_SIZED: &str = "its rating to be sized";

/// What is to flow there, or its wire, is not known yet: the fuse has its place, its rating is left open.
pub(super) fn left_open(run: &Run, at: FuseAt) -> Step {
    let name = format!("{} fused: at {}, {TO_BE_SIZED}", run.id, end_name(run, at));
    Step::one(name, put(run, at, Known::Unknown, Known::Unknown))
}

/// Whether a run's fuse is of the proposed rating and family, with nothing else on its own sheet.
pub(super) fn is_there(run: &Run, proposed: &Proposed) -> bool {
    fuses(run).next().is_some_and(|f| {
        f.family.known() == Some(&proposed.family)
            && f.amps_a.known() == Some(&proposed.amps)
            && f.volts_dc_v.is_none()
            && f.interrupt_a.is_none()
    })
}

/// A step, and the same with the fuse that a run wants then: less cable lets more fault current through.
pub(super) fn with_fuse(engine: &mut Engine, plan: &Plan, stock: &Stock, run: &Run, step: Step) -> Vec<Step> {
    let report = plan.with(&step).map(|with| engine.evaluate_wires(&with, stock));
    let proposed = report.ok().and_then(|r| r.runs.iter().find(|r| r.id == run.id)?.proposed.clone());
    let both = proposed.filter(|p| !is_there(run, p)).map(|p| {
        let edits = [step.edits.clone(), fuse_edits(run, &p)].concat();
        Step { name: format!("{}, {} A {}", step.name, p.amps.0, p.family), edits }
    });
    [Some(step), both].into_iter().flatten().collect()
}
