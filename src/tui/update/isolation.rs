//! The isolation view: every switch, breaker and line fuse, and what it makes dead.

use crate::engine::isolation;
use crate::plan::FieldPath;
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::model::{IsolationView, Model, Overlay};

use super::{browse, overlay};

/// Opens it, cursor on the switch that is focused or that the focused run ends on.
pub(super) fn open(model: &mut Model) {
    let Some(plan) = model.plan() else { return };
    let all = isolation::isolation(plan);
    if all.is_empty() {
        model.say("the plan has no switch, disconnect, breaker or line fuse yet");
        return;
    }
    let focus = model.focus();
    let run = model.run().and_then(|id| plan.runs.iter().find(|r| r.id == id));
    let ends: Vec<FieldPath> = run
        .into_iter()
        .flat_map(|r| [&r.from, &r.to])
        .filter_map(|end| end.known())
        .map(|id| FieldPath::from("devices").join(id))
        .collect();
    let own = run.map(|r| FieldPath::from("runs").join(&r.id));
    let at = |wanted: &dyn Fn(&FieldPath) -> bool| all.iter().position(|i| wanted(&i.switch));
    let cursor = focus
        .as_ref()
        .and_then(|f| at(&|s| f.is_within(s) || s.is_within(f)))
        .or_else(|| own.as_ref().and_then(|own| at(&|s| s.is_within(own))))
        .or_else(|| at(&|s| ends.contains(s)))
        .unwrap_or(0);
    model.overlay = Some(Overlay::Isolation(IsolationView { all, cursor, more: 0 }));
}

/// Does an action on it; whether its box is done with.
pub(super) fn act(model: &mut Model, view: &mut IsolationView, action: Action) -> bool {
    if matches!(action, Action::GoTo | Action::Enter) {
        let Some(at) = view.all.get(view.cursor).map(|i| i.switch.clone()) else { return false };
        browse::go_to(model, &at);
        return true;
    }
    if action == Action::More {
        view.more = crate::tui::view::more_lines(model, &Overlay::Isolation(view.clone()), view.more);
        return false;
    }
    view.more = 0;
    view.cursor = overlay::scrolled(action, view.cursor, view.all.len(), layout::overlay_rows(model.size) / 2);
    false
}
