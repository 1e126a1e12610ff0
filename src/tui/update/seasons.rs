//! The year opened: its pages, its stays and months, and the fields of a stay that can be changed there.

use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::message::Effect;
use crate::tui::model::{Model, Overlay};
use crate::tui::seasons::{SeasonsView, WhatIf, YearPage, worst_month};

use super::{browse, field, file, overlay};

/// Opens the year on its table: on the stay that is focused, else on that of the worst month.
pub(super) fn open(model: &mut Model) {
    let focus = model.focus();
    let Some(document) = &model.document else { return };
    let shown = document.committed();
    let focused = focus.filter(|at| at.is_within(&"stays".into()));
    let id = focused.as_ref().and_then(|at| at.segments().nth(1));
    let stay = shown.plan.stays.iter().position(|s| Some(s.id.as_str()) == id);
    let worst = |stay: usize| worst_month(&shown.report, |m| m.stay == Some(stay));
    let month = stay.and_then(worst).or_else(|| worst_month(&shown.report, |m| m.stay.is_some())).unwrap_or(0);
    let of_month = || shown.report.year.months.get(month).and_then(|m| m.stay);
    let stay = stay.or_else(of_month).unwrap_or(0);
    let view = SeasonsView { page: YearPage::Table, stay, field: WhatIf::Tilt, month, scroll: 0 };
    model.overlay = Some(Overlay::Seasons(view));
}

/// The opened year.
fn view(model: &mut Model) -> Option<&mut SeasonsView> {
    match &mut model.overlay {
        Some(Overlay::Seasons(view)) => Some(view),
        _ => None,
    }
}

/// A key on the opened year.
pub(super) fn act(model: &mut Model, action: Action) -> Option<Effect> {
    match action {
        Action::Left | Action::Right => {
            if let Some(view) = view(model) {
                view.page = view.page.beside(action == Action::Right);
                view.scroll = 0;
            }
        }
        Action::NextMonth | Action::MonthBefore => step_month(model, action == Action::NextMonth),
        Action::NextStay | Action::StayBefore => step_stay(model, action == Action::NextStay),
        Action::NextPane | Action::PreviousPane => mark(model, action == Action::NextPane),
        Action::Enter => edit(model),
        Action::Larger | Action::Smaller => return super::step::step(model, action == Action::Larger),
        Action::Undo | Action::Redo | Action::Baseline => return browse::act(model, action),
        Action::Save => return file::save(model),
        Action::Help => {
            if let Some(Overlay::Seasons(year)) = model.overlay {
                model.overlay = Some(Overlay::Help { scroll: 0, over: Some(year) });
            }
        }
        _ => scroll(model, action),
    }
    None
}

fn scroll(model: &mut Model, action: Action) {
    let Some(Overlay::Seasons(view)) = model.overlay else { return };
    let (lines, rows) = crate::tui::view::seasons_lines(model, &view);
    let last = lines.saturating_sub(rows);
    let page = layout::overlay_rows(model.size);
    let to = overlay::scrolled(action, view.scroll, last + 1, page);
    if let Some(Overlay::Seasons(view)) = &mut model.overlay {
        view.scroll = to;
    }
}

/// Marks the next field, or the one before.
pub(super) fn mark(model: &mut Model, next: bool) {
    if let Some(view) = view(model) {
        view.field = view.field.beside(next);
    }
}

/// Opens the marked field for typing.
pub(super) fn edit(model: &mut Model) {
    match model.focus() {
        Some(at) => field::open(model, &at, Vec::new()),
        None => model.say("the plan has no stay yet: screen 3 adds one"),
    }
}

/// The next month, with the stay it is spent at.
fn step_month(model: &mut Model, next: bool) {
    let Some(document) = &model.document else { return };
    let months = document.shown().report.year.months.clone();
    let Some(view) = view(model) else { return };
    view.month = (view.month + if next { 1 } else { 11 }) % 12;
    if let Some(stay) = months.get(view.month).and_then(|m| m.stay) {
        view.stay = stay;
    }
}

/// The next stay, with its worst month.
fn step_stay(model: &mut Model, next: bool) {
    let Some(document) = &model.document else { return };
    let shown = document.shown().clone();
    let count = shown.plan.stays.len();
    if count < 2 {
        model.say(if count == 0 { "the plan has no stay yet" } else { "the plan has one stay only" });
        return;
    }
    let Some(view) = view(model) else { return };
    view.stay = (view.stay + if next { 1 } else { count - 1 }) % count;
    let stay = view.stay;
    match worst_month(&shown.report, |m| m.stay == Some(stay)) {
        Some(month) => view.month = month,
        None => model.say("no month is spent at this stay, or an earlier stay has them"),
    }
}
