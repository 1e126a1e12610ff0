//! The year opened: its pages, the month that is looked at, and the repeats when they arrive.

use crate::document::Shown;
use crate::engine::report::Repeats;
use crate::plan::{Figure, Missing};
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::message::Effect;
use crate::tui::model::{Model, Overlay};
use crate::tui::seasons::{SeasonsView, YearPage};

use super::overlay;

/// Opens the year on its table; the repeats are asked for.
pub(super) fn open(model: &mut Model) -> Option<Effect> {
    let document = model.document.as_ref()?;
    let shown = document.committed().clone();
    // The month with the largest shortfall, or else the darkest, is what is asked about first.
    let months = &shown.report.year.months;
    let worst = |of: &dyn Fn(usize) -> f64| (0..12).max_by(|a, b| of(*a).total_cmp(&of(*b))).unwrap_or(0);
    let short = |m: usize| months[m].shortfall_wh_day.as_ref().map_or(0.0, |w| w.0);
    let dark = |m: usize| months[m].harvest_wh_day.as_ref().map_or(0.0, |w| -w.0);
    let month = if (0..12).any(|m| short(m) > 0.0) { worst(&short) } else { worst(&dark) };
    model.generation += 1;
    let generation = model.generation;
    let view =
        SeasonsView { page: YearPage::Table, month, hours: Err(nothing()), scroll: 0, generation, repeats: None };
    model.overlay = Some(Overlay::Seasons(Box::new(view)));
    Some(Effect::Repeats { generation, shown })
}

fn nothing() -> Missing {
    Missing("".into())
}

/// A key on the opened year.
pub(super) fn act(model: &mut Model, view: &mut SeasonsView, action: Action) {
    match action {
        Action::Left | Action::Right => {
            view.page = view.page.beside(action == Action::Right);
            view.scroll = 0;
            look(model, view);
        }
        Action::NextMonth => {
            view.month = (view.month + 1) % 12;
            look(model, view);
        }
        _ => {
            let lines = crate::tui::view::seasons_lines(model, view);
            let last = lines.saturating_sub(layout::overlay_lines(model.size));
            let page = layout::overlay_rows(model.size);
            view.scroll = overlay::scrolled(action, view.scroll, last + 1, page);
        }
    }
}

/// The hours of the day that a page shows.
fn look(model: &Model, view: &mut SeasonsView) {
    let Some(document) = &model.document else { return };
    let Shown { plan, report } = document.committed().clone();
    let spread = report.year.months.get(view.month).map(|m| m.spread_wh_day.clone());
    let hours = |day: Option<Figure<usize>>| match day {
        Some(Ok(day)) => document.engine().trace(&plan, document.stock(), day, 1),
        Some(Err(waits)) => Err(waits),
        None => Err(nothing()),
    };
    view.hours = match view.page {
        YearPage::TypicalDay => hours(spread.map(|s| s.map(|s| s.typical_day))),
        YearPage::DarkDay => hours(spread.map(|s| s.map(|s| s.dull_day))),
        _ => Err(nothing()),
    };
}

/// The ten years arrive; what is no longer wanted is dropped.
pub(super) fn arrives(model: &mut Model, generation: u64, repeats: Figure<Repeats>) {
    if let Some(Overlay::Seasons(view)) = &mut model.overlay
        && view.generation == generation
    {
        view.repeats = Some(repeats);
    }
}
