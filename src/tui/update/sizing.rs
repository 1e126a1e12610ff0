//! The sizing of all runs: proposed as a draft, applied or dropped.

use crate::engine::sizing::Totals;
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::model::{Model, Overlay, Sizing};

use super::overlay::scrolled;

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
    let proposal = document.engine().propose_sizes(&shown.plan, &stock, truck_only);
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
