//! The sizing of all runs: proposed as a draft, applied or dropped.

use crate::document::look::{Answer, Question};
use crate::engine::sizing::{Proposal, Totals, brings};
use crate::tui::keymap::{Action, Context};
use crate::tui::layout;
use crate::tui::model::{Awaited, Model, Overlay, Sizing};

use super::overlay::scrolled;

/// Proposes sizes for all runs.
pub(super) fn open(model: &mut Model) {
    propose(model, false);
}

/// Has a worker size all runs: that may take seconds, and keys and signals are answered meanwhile.
fn propose(model: &mut Model, truck_only: bool) {
    let Some(document) = &model.document else { return };
    if document.committed().plan.runs.is_empty() {
        model.say("the plan has no runs yet: g asks for them, a on RUNS adds one");
        return;
    }
    model.sizing = Some(Awaited { truck_only, is_left: false, is_ready: false });
    // Given up and asked again, it may be there already.
    arrives(model);
}

/// Shows what a worker proposes, once it has; where something else was begun meanwhile it waits to be asked for.
pub(super) fn arrives(model: &mut Model) {
    let Some((awaited, document)) = model.sizing.zip(model.document.as_ref()) else { return };
    let answer = model.late.answer(document.committed(), &Question::Sizes(awaited.truck_only));
    let Some(Answer::Sizes(proposal)) = answer else { return };
    let is_free = model.context() == Context::Browsing || matches!(model.overlay, Some(Overlay::Sizing(_)));
    if awaited.is_left || !is_free {
        model.sizing = Some(Awaited { is_ready: true, ..awaited });
        return;
    }
    let proposal = proposal.clone();
    model.sizing = None;
    model.is_message_stale = true;
    show(model, proposal, awaited.truck_only);
}

/// A key while sizes are worked out: Esc gives them up, any other leaves them to be asked for. Whether they were given up.
pub(super) fn given_up(model: &mut Model, action: Action) -> bool {
    let Some(awaited) = &mut model.sizing else { return false };
    if matches!(model.overlay, Some(Overlay::Sizing(_))) || matches!(action, Action::Redraw | Action::Suspend) {
        return false;
    }
    awaited.is_left = true;
    if action != Action::Back || model.context() != Context::Browsing {
        return false;
    }
    model.sizing = None;
    model.say("sizing given up; nothing was changed");
    true
}

fn show(model: &mut Model, proposal: Proposal, truck_only: bool) {
    let Some(document) = &mut model.document else { return };
    document.drop_draft();
    let (shown, stock) = (document.committed().clone(), document.stock().clone());
    let base = document.baseline().map(|b| Totals::of(&b.plan, &stock, &b.report));
    let now = Totals::of(&shown.plan, &stock, &shown.report);
    if let Err(refused) = document.try_draft(proposal.step.clone()) {
        model.say(refused.why);
        return;
    }
    let draft = document.shown();
    let then = Totals::of(&draft.plan, &stock, &draft.report);
    let brings = brings(&shown.report, &draft.report);
    let first = proposal.rows.iter().position(crate::engine::sizing::SizedRun::changes).unwrap_or(0);
    model.overlay = Some(Overlay::Sizing(Box::new(Sizing {
        proposal,
        base,
        now,
        then,
        brings,
        truck_only,
        cursor: first,
        more: 0,
    })));
}

/// A key on the proposal.
pub(super) fn act(model: &mut Model, mut sizing: Box<Sizing>, action: Action) {
    match action {
        Action::Enter if model.sizing.is_some() => {
            model.say("what is asked for is still being sized: Esc gives it up");
            model.overlay = Some(Overlay::Sizing(sizing));
        }
        Action::Enter => {
            let changed = sizing.proposal.rows.iter().filter(|r| r.changes()).count();
            if let Some(document) = &mut model.document {
                document.commit_draft();
            }
            let said = match changed {
                0 => "nothing was to change".into(),
                1 => "1 run sized; u takes it back".into(),
                n => format!("{n} runs sized; u takes all of it back"),
            };
            model.say(if sizing.brings.is_empty() { said } else { format!("{said}; {}", sizing.brings) });
        }
        Action::TruckOnly => {
            let truck_only = !sizing.truck_only;
            model.overlay = Some(Overlay::Sizing(sizing));
            propose(model, truck_only);
        }
        Action::More => {
            let more = sizing.more;
            let mut over = Overlay::Sizing(sizing);
            let next = crate::tui::view::more_lines(model, &over, more);
            if let Overlay::Sizing(sizing) = &mut over {
                sizing.more = next;
            }
            model.overlay = Some(over);
        }
        _ => {
            sizing.more = 0;
            sizing.cursor =
                scrolled(action, sizing.cursor, sizing.proposal.rows.len(), layout::overlay_rows(model.size));
            model.overlay = Some(Overlay::Sizing(sizing));
        }
    }
}

/// Drops the proposal, and what was asked for beside it.
pub(super) fn discard(model: &mut Model) {
    model.sizing = None;
    if let Some(document) = &mut model.document {
        document.drop_draft();
    }
}
