//! Ladders: which one opens, what its keys do, and its years as they arrive.

use crate::engine::ladder::{Columns, Goal, families};
use crate::engine::{LadderOf, Level, Report, Rung, fuse_ahead};
use crate::plan::{FieldPath, Id, Plan};
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::message::Effect;
use crate::tui::model::{Answer, Confirm, Ladder, Model, Overlay, Then};
use crate::tui::words;
use crate::wording::findings::sentence;

use super::items;
use super::overlay::scrolled;

/// Opens the ladder of what is focused: a run's gauges, or its fuse where the fuse is focused; an array's wirings; the
/// controllers of the shelf.
pub(super) fn open(model: &mut Model) -> Option<Effect> {
    let of = model.focus().zip(model.plan()).and_then(|(focus, plan)| ladder_of(plan, &focus));
    let Some(of) = of else {
        model.say("put the cursor on a run, an array, a controller or the bank first: Tab leads from pane to pane");
        return None;
    };
    climb(model, of)
}

/// Opens sizing help, wherever the cursor is.
pub(super) fn open_goal(model: &mut Model) -> Option<Effect> {
    climb(model, LadderOf::Goal(Goal::default()))
}

fn ladder_of(plan: &Plan, focus: &FieldPath) -> Option<LadderOf> {
    let mut segments = focus.segments();
    let list = segments.next()?;
    if list == "bank" {
        return Some(LadderOf::Goal(Goal::default()));
    }
    let id = segments.next()?.parse().ok()?;
    match list {
        "runs" if plan.runs.iter().any(|r| r.id == id) => match segments.next() {
            Some("protection") => Some(LadderOf::Fuse(id, None)),
            _ => Some(LadderOf::Gauge(id)),
        },
        "arrays" if plan.arrays.iter().any(|a| a.id == id) => Some(LadderOf::Strings(id)),
        "controllers" if plan.controllers.iter().any(|k| k.id == id) => Some(LadderOf::Controller(id)),
        _ => None,
    }
}

/// Shows a ladder; its years are asked for.
fn climb(model: &mut Model, of: LadderOf) -> Option<Effect> {
    let document = model.document.as_ref()?;
    let shown = document.committed().clone();
    let rungs = document.engine().ladder(&shown.plan, document.stock(), &of);
    if rungs.is_empty() {
        model.say(match &of {
            LadderOf::Fuse(run, _) => no_fuse(&shown.plan, &shown.report, run),
            LadderOf::Strings(array) => format!("{array} has no panels yet"),
            LadderOf::Goal(_) => "there is no array to size yet: g asks for one, a on EQUIPMENT adds it".into(),
            LadderOf::Gauge(_) | LadderOf::Controller(_) => "there is nothing to choose from".into(),
        });
        return None;
    }
    let cursor = rungs.iter().position(|r| r.current).unwrap_or_else(|| likely(&rungs));
    model.generation += 1;
    let generation = model.generation;
    let ladder = Ladder { of: of.clone(), generation, rungs: rungs.clone(), cursor, stay: 0, complete: false, more: 0 };
    model.overlay = Some(Overlay::Ladder(ladder));
    Some(Effect::Ladder { generation, shown, of, rungs })
}

/// Why a run has no ladder of fuses.
fn no_fuse(plan: &Plan, report: &Report, run: &Id) -> String {
    let waits = report.runs.iter().find(|r| r.id == *run).and_then(|r| r.fuse_min_a.as_ref().err());
    match (fuse_ahead(plan, run), waits) {
        (Some(ahead), _) => format!("{run} has no fuse and wants none of its own: {ahead} stands ahead of it"),
        (None, Some(waits)) if !waits.0.as_str().is_empty() => {
            format!("{run} has no fuse; which it may have waits for {}", words::path(plan, &waits.0))
        }
        _ => format!("{run} has no fuse, and none belongs here"),
    }
}

/// Where the cursor starts when the plan has none of the rows: the first that fits.
fn likely(rungs: &[Rung]) -> usize {
    let fits = rungs.iter().position(|r| r.fit == crate::engine::ladder::Fit::Yes);
    fits.unwrap_or(rungs.len() / 3)
}

/// A key on an open ladder.
pub(super) fn act(model: &mut Model, mut ladder: Ladder, action: Action) -> Option<Effect> {
    let other = match (&ladder.of, action) {
        (_, Action::Enter) => {
            if ask_stops(model, &ladder) {
                return None;
            }
            if let Some(rung) = ladder.rungs.get(ladder.cursor) {
                items::apply(model, rung.step.clone());
            }
            return None;
        }
        (LadderOf::Goal(_), Action::Left | Action::Right) => {
            let stays = model.plan().map_or(1, |plan| plan.stays.len().max(1));
            ladder.stay = (ladder.stay + if action == Action::Right { 1 } else { stays - 1 }) % stays;
            model.overlay = Some(Overlay::Ladder(ladder));
            return None;
        }
        (LadderOf::Goal(goal), _) => match aimed(model, &ladder, goal, action) {
            Some(goal) => return aim(model, &ladder, goal),
            None => None,
        },
        (LadderOf::Gauge(run), Action::OtherLadder) => Some(LadderOf::Fuse(run.clone(), None)),
        (LadderOf::Fuse(run, _), Action::OtherLadder) => Some(LadderOf::Gauge(run.clone())),
        (LadderOf::Fuse(..), Action::Left | Action::Right) => beside(model, &ladder, action == Action::Right),
        _ => None,
    };
    let effect = other.and_then(|of| climb(model, of));
    if effect.is_none() && action == Action::More {
        let more = ladder.more;
        let mut over = Overlay::Ladder(ladder);
        let next = crate::tui::view::more_lines(model, &over, more);
        if let Overlay::Ladder(ladder) = &mut over {
            ladder.more = next;
        }
        model.overlay = Some(over);
    } else if effect.is_none() {
        ladder.more = 0;
        let page = layout::overlay_rows(model.size);
        ladder.cursor = scrolled(action, ladder.cursor, ladder.rungs.len(), page);
        model.overlay = Some(Overlay::Ladder(ladder));
    }
    effect
}

/// Stops that a question names; the others are counted.
const NAMED: usize = 3;

/// Of sizing help, whose rows say whether a goal is met whatever comes with them: asks before one that brings new stops;
/// whether it asks.
fn ask_stops(model: &mut Model, ladder: &Ladder) -> bool {
    let (LadderOf::Goal(_), Some(rung)) = (&ladder.of, ladder.rungs.get(ladder.cursor)) else { return false };
    let stops: Vec<_> = rung.new.iter().filter(|f| f.level == Level::Stop).collect();
    let (false, Some(plan)) = (stops.is_empty(), model.plan()) else { return false };
    let named = stops.iter().take(NAMED).map(|f| format!("stop {}", sentence(plan, f)));
    let more = match stops.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!("; and {n} more"),
    };
    let question = format!(
        "{}: brings {}, and what they ask for is not in its price: {}{more}. Put it into the plan?",
        rung.step.name,
        words::new_stops(stops.len()),
        named.collect::<Vec<_>>().join("; ")
    );
    let answers = vec![
        Answer { letter: '1', words: "put it in; u takes it back", then: Then::Apply(rung.step.clone()) },
        Answer {
            letter: '2',
            words: "no, back to the table",
            then: Then::Climb(ladder.of.clone(), ladder.cursor, ladder.stay),
        },
    ];
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers, cursor: 1 }));
    true
}

/// A ladder again after a question over it, the cursor where it was.
pub(super) fn again(model: &mut Model, of: LadderOf, cursor: usize, stay: usize) -> Option<Effect> {
    let effect = climb(model, of);
    if let Some(Overlay::Ladder(ladder)) = &mut model.overlay {
        (ladder.cursor, ladder.stay) = (cursor, stay);
    }
    effect
}

/// The goal that a key asks for.
fn aimed(model: &Model, ladder: &Ladder, goal: &Goal, action: Action) -> Option<Goal> {
    let plan = model.plan()?;
    match action {
        Action::Larger | Action::Smaller => Some(goal.stepped(plan, action == Action::Larger)),
        Action::CountStay => Some(goal.turned(&plan.stays.get(ladder.stay)?.id)),
        _ => None,
    }
}

/// Sizing help with another goal; the cursor stays on its row.
fn aim(model: &mut Model, ladder: &Ladder, goal: Goal) -> Option<Effect> {
    again(model, LadderOf::Goal(goal), ladder.cursor, ladder.stay)
}

/// The same fuse in the family beside.
fn beside(model: &Model, ladder: &Ladder, next: bool) -> Option<LadderOf> {
    let LadderOf::Fuse(run, _) = &ladder.of else { return None };
    let Columns::Fuse(columns) = &ladder.rungs.first()?.columns else { return None };
    let all = families(&model.document.as_ref()?.committed().report, run);
    let here = all.iter().position(|f| *f == columns.family).unwrap_or(0);
    let step = if next { 1 } else { all.len().saturating_sub(1) };
    let family = all.get((here + step) % all.len().max(1))?;
    Some(LadderOf::Fuse(run.clone(), Some(*family)))
}

/// Part of a ladder's years arrives; what is no longer wanted is dropped.
pub(super) fn arrives(model: &mut Model, generation: u64, rungs: Vec<Rung>, complete: bool) {
    let over = match &mut model.overlay {
        // It goes on behind its own help.
        Some(Overlay::About { over, .. }) => Some(&mut **over),
        over => over.as_mut(),
    };
    let Some(Overlay::Ladder(ladder)) = over else { return };
    if ladder.generation != generation {
        return;
    }
    for rung in rungs {
        if let Some(there) = ladder.rungs.iter_mut().find(|r| r.place == rung.place) {
            *there = rung;
        }
    }
    ladder.complete |= complete;
}
