//! What is there already is not rated otherwise on paper: another fuse or device in its place is bought, and said to be so.

use crate::engine::resistance::fuse_path;
use crate::plan::field::Record;
use crate::plan::wiring::{Protection, Resets};
use crate::plan::{Edit, FieldPath, Known, Plan, Run, State, Step, Value};
use crate::standards::kinds::FuseFamily;

/// What a fuse or a device is made for: another value is another one.
const MADE_FOR: [&str; 4] = ["family", "amps_a", "volts_dc_v", "interrupt_a"];

/// Whether an edit makes a fuse another one than it is.
fn is_other(fuse: &Protection, edit: &Edit) -> bool {
    let Edit::Set { at, to } = edit else { return false };
    let field = at.split_last().1;
    MADE_FOR.contains(&field) && fuse.get(field).as_ref() != Some(to)
}

fn made_for(at: &FieldPath) -> bool {
    at.segments().last().is_some_and(|field| MADE_FOR.contains(&field) || field == "max_ambient_c")
}

/// What the edits of a fuse leave to be said of it: that it is new where the old one was there already, and that it stays
/// open, where it is no breaker any more.
pub(in crate::engine) fn with(run: &Run, fuse: &Protection, edits: &[Edit]) -> Vec<Edit> {
    let path = |field: &str| fuse_path(run, fuse, field);
    let set = |field: &str| {
        let at = path(field);
        edits.iter().find(|e| matches!(e, Edit::Set { at: own, .. } if *own == at))
    };
    let mut more = Vec::new();
    if fuse.state == State::Existing && edits.iter().any(|e| is_other(fuse, e)) && set("state").is_none() {
        more.push(Edit::Set { at: path("state"), to: Value::Word(State::New.word()) });
    }
    let plain = |e: &Edit| matches!(e, Edit::Set { to: Value::Word(w), .. } if *w != FuseFamily::Breaker.word());
    if fuse.resets != Resets::No && set("family").is_some_and(plain) && set("resets").is_none() {
        more.push(Edit::Set { at: path("resets"), to: Value::Word(Resets::No.word()) });
    }
    more
}

/// A step with what it exchanges bought new, and with words for what that is in the place of.
pub(super) fn step(plan: &Plan, mut step: Step) -> Step {
    let mut places: Vec<String> = Vec::new();
    let mut more = Vec::new();
    for run in &plan.runs {
        for fuse in &run.protection {
            let own = fuse_path(run, fuse, "state");
            let of = |e: &&Edit| matches!(e, Edit::Set { at, .. } if own.split_last().0 == at.split_last().0);
            let edits: Vec<Edit> = step.edits.iter().filter(of).cloned().collect();
            let other = edits.iter().any(|e| is_other(fuse, e));
            more.extend(with(run, fuse, &edits));
            if other && fuse.state == State::Existing {
                places.push(said(fuse));
            }
        }
    }
    for device in plan.devices.iter().filter(|d| d.state == State::Existing) {
        let at = FieldPath::new(format!("devices.{}", device.id));
        more.extend(new_one(&step, &at, made_for));
    }
    for inverter in plan.inverters.iter().filter(|i| i.state == State::Existing) {
        let at = FieldPath::new(format!("inverters.{}", inverter.id));
        let rated = |at: &FieldPath| ["watts_w", "max_ambient_c"].contains(&at.split_last().1);
        more.extend(new_one(&step, &at, rated));
    }
    for controller in plan.controllers.iter().filter(|k| k.state == State::Existing) {
        let at = FieldPath::new(format!("controllers.{}", controller.id));
        let rated = |at: &FieldPath| ["kind", "max_pv_v", "max_pv_a"].contains(&at.split_last().1);
        more.extend(new_one(&step, &at, rated));
    }
    step.edits.extend(more);
    places.dedup();
    if !places.is_empty() {
        step.name = format!("{}, new in the place of the {}", step.name, places.join(" and the "));
    }
    step
}

/// That an item is new, where a step sets what it is made for.
fn new_one(step: &Step, item: &FieldPath, is_rating: impl Fn(&FieldPath) -> bool) -> Option<Edit> {
    let state = item.join("state");
    let sets = |f: &dyn Fn(&FieldPath) -> bool| step.edits.iter().any(|e| matches!(e, Edit::Set { at, .. } if f(at)));
    let within = |at: &FieldPath| at.as_str().starts_with(&format!("{item}.")) && is_rating(at);
    (sets(&within) && !sets(&|at| *at == state)).then(|| Edit::Set { at: state, to: Value::Word(State::New.word()) })
}

/// A fuse that goes.
fn said(fuse: &Protection) -> String {
    let what = fuse.family.known().map_or_else(|| "fuse".to_string(), ToString::to_string);
    match fuse.amps_a {
        Known::Is(amps) => format!("{} A {what}", amps.0),
        Known::Unknown => what,
    }
}
