//! The sizing of all runs: proposed as a draft, applied or dropped.

use crate::document::look::{Answer, Question};
use crate::engine::sizing::{Proposal, Totals};
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::model::{Model, Overlay, Sizing};

use super::overlay::scrolled;

/// Runs that are sized while the key waits; of more a worker sizes them, and keys and signals are answered meanwhile.
/// Source: our own choice; so many take some tenths of a second, and the time grows faster than their number.
const AT_ONCE: usize = 40;

/// Proposes sizes for all runs.
pub(super) fn open(model: &mut Model) {
    propose(model, false);
}

fn propose(model: &mut Model, truck_only: bool) {
    let Some(document) = &mut model.document else { return };
    document.drop_draft();
    let (shown, stock) = (document.committed().clone(), document.stock().clone());
    if shown.plan.runs.is_empty() {
        model.say("the plan has no runs yet: g asks for them, a on RUNS adds one");
        return;
    }
    if shown.plan.runs.len() > AT_ONCE {
        model.overlay = None;
        model.sizing = Some(truck_only);
        model.say(format!("{} runs are being sized ..; any key gives it up", shown.plan.runs.len()));
        // Given up and asked again, it may be there already.
        return arrives(model);
    }
    let proposal = document.engine().propose_sizes(&shown.plan, &stock, truck_only);
    show(model, proposal, truck_only);
}

/// Shows what a worker proposes, once it has.
pub(super) fn arrives(model: &mut Model) {
    let Some((truck_only, document)) = model.sizing.zip(model.document.as_ref()) else { return };
    let answer = model.late.answer(document.shown(), &Question::Sizes(truck_only));
    let Some(Answer::Sizes(proposal)) = answer else { return };
    let proposal = proposal.clone();
    model.sizing = None;
    model.is_message_stale = true;
    show(model, proposal, truck_only);
}

/// A key while a worker sizes: it is no longer waited for. Whether it was.
pub(super) fn given_up(model: &mut Model) -> bool {
    let was = model.sizing.take().is_some();
    if was {
        model.say("sizing given up; nothing was changed");
    }
    was
}

fn show(model: &mut Model, proposal: Proposal, truck_only: bool) {
    let Some(document) = &mut model.document else { return };
    let (shown, stock) = (document.committed().clone(), document.stock().clone());
    let base = document.baseline().map(|b| Totals::of(&b.plan, &stock, &b.report));
    let now = Totals::of(&shown.plan, &stock, &shown.report);
    if let Err(refused) = document.try_draft(proposal.step.clone()) {
        model.say(refused.why);
        return;
    }
    let draft = document.shown();
    let then = Totals::of(&draft.plan, &stock, &draft.report);
    let first = proposal.rows.iter().position(crate::engine::sizing::SizedRun::changes).unwrap_or(0);
    model.overlay = Some(Overlay::Sizing(Box::new(Sizing { proposal, base, now, then, truck_only, cursor: first })));
}

/// A key on the proposal.
pub(super) fn act(model: &mut Model, mut sizing: Box<Sizing>, action: Action) {
    match action {
        Action::Enter => {
            let changed = sizing.proposal.rows.iter().filter(|r| r.changes()).count();
            if let Some(document) = &mut model.document {
                document.commit_draft();
            }
            model.say(match changed {
                0 => "nothing was to change".into(),
                1 => "1 run sized; u takes it back".into(),
                n => format!("{n} runs sized; u takes all of it back"),
            });
        }
        Action::TruckOnly => {
            let truck_only = !sizing.truck_only;
            model.overlay = Some(Overlay::Sizing(sizing));
            propose(model, truck_only);
        }
        _ => {
            sizing.cursor =
                scrolled(action, sizing.cursor, sizing.proposal.rows.len(), layout::overlay_rows(model.size));
            model.overlay = Some(Overlay::Sizing(sizing));
        }
    }
}

/// Drops the proposal.
pub(super) fn discard(model: &mut Model) {
    if let Some(document) = &mut model.document {
        document.drop_draft();
    }
}
