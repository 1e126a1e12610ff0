//! What is there already is not rated otherwise on paper: another fuse or device in its place is bought, and said to be so.

use crate::engine::resistance::{fuse_path, leg_path};
use crate::plan::field::Record;
use crate::plan::wiring::{Protection, Resets};
use crate::plan::{Edit, FieldPath, Known, Leg, Plan, Run, State, Step, Value};
use crate::standards::kinds::{FuseFamily, Metal};

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

/// Insulation of new wire where no other is drawn. Source: common practice, from memory: battery and boat cable of SAE J1127
/// and UL 1426 is sold for 105 C.
const NEW_WIRE_C: f64 = 105.0;

/// Insulation that most of a plan's new legs have, of several the highest.
fn usual_c(plan: &Plan) -> f64 {
    let new = plan.runs.iter().flat_map(|r| &r.legs).filter(|l| l.state == State::New);
    let all: Vec<f64> = new.filter_map(|l| Some(l.insulation_c.known()?.0)).collect();
    let times = |c: &f64| all.iter().filter(|x| *x == c).count();
    let usual = all.iter().max_by(|a, b| times(a).cmp(&times(b)).then(a.total_cmp(b)));
    usual.copied().unwrap_or(NEW_WIRE_C)
}

/// Whether a leg is of other wire than it was known to be: more of the same lies there beside what did.
fn is_relaid((was, old): (&Run, &Leg), (now, new): (&Run, &Leg)) -> bool {
    let gauge = |run: &Run, leg: &Leg| leg.gauge.as_ref().unwrap_or(&run.gauge).known().copied();
    let jacket = |leg: &Leg| leg.insulation_c.known().copied();
    let other_gauge = gauge(was, old).is_some_and(|g| gauge(now, new) != Some(g));
    let other_jacket = jacket(old).is_some_and(|c| jacket(new) != Some(c));
    other_gauge || other_jacket || old.metal != new.metal || old.per_pole != new.per_pole
}

/// A step with what it lays in the place of other wire as the plan's new wire is: bought, of plain copper, in the insulation
/// that is usual there or a higher one that the old wire had.
pub(in crate::engine) fn wire(plan: &Plan, mut step: Step) -> Step {
    let Ok(with) = plan.with(&step) else { return step };
    let mut more = Vec::new();
    for now in &with.runs {
        let Some(was) = plan.runs.iter().find(|r| r.id == now.id && *r != now) else { continue };
        for new in now.legs.iter().filter(|l| l.state.stays()) {
            let Some(old) = was.legs.iter().find(|l| l.id == new.id) else { continue };
            if !is_relaid((was, old), (now, new)) {
                continue;
            }
            let set = |field: &str, to: Value| Edit::Set { at: leg_path(now, new, field), to };
            if new.metal == Metal::CopperClad {
                more.push(set("metal", Value::Word(Metal::Plain.word())));
            }
            if old.state == State::Existing && new.state == State::Existing {
                more.push(set("state", Value::Word(State::New.word())));
                let least = new.insulation_c.known().map_or(0.0, |c| c.0);
                let jacket = usual_c(plan).max(least);
                if old.insulation_c == new.insulation_c && jacket > least {
                    more.push(set("insulation_c", Value::Number(jacket)));
                }
            }
        }
    }
    step.edits.extend(more);
    step
}

/// The runs some of whose wire a step lays anew in the place of what is there.
pub(super) fn relaid(plan: &Plan, step: &Step) -> Vec<String> {
    let Ok(with) = plan.with(step) else { return Vec::new() };
    let there = |run: &Run, leg: &Leg| run.legs.iter().any(|l| l.id == leg.id && l.state == State::Existing);
    let is = |now: &&Run| {
        let was = plan.runs.iter().find(|r| r.id == now.id);
        was.is_some_and(|was| now.legs.iter().any(|l| l.state == State::New && there(was, l)))
    };
    with.runs.iter().filter(is).map(|run| run.id.to_string()).collect()
}

/// A step with what it exchanges bought new, and with words for what that is in the place of.
pub(super) fn step(plan: &Plan, step: Step) -> Step {
    let mut step = wire(plan, step);
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
        let at = FieldPath::of(&["devices", device.id.as_str()]);
        more.extend(new_one(&step, &at, made_for));
    }
    for inverter in plan.inverters.iter().filter(|i| i.state == State::Existing) {
        let at = FieldPath::of(&["inverters", inverter.id.as_str()]);
        let rated = |at: &FieldPath| ["watts_w", "max_ambient_c"].contains(&at.split_last().1);
        more.extend(new_one(&step, &at, rated));
    }
    for controller in plan.controllers.iter().filter(|k| k.state == State::Existing) {
        let at = FieldPath::of(&["controllers", controller.id.as_str()]);
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
