//! The model on screen. Nothing is changed while drawing.

mod about;
mod bench;
mod choice;
mod detail;
mod explained;
mod findings;
mod form;
mod frame;
mod help;
mod isolation;
mod ladder;
mod loads;
mod overlay;
mod paint;
mod results;
mod seasons;
mod shop;
mod sizing;
mod start;
mod table;
mod working;
mod year;

use ratatui::Frame;
use ratatui::layout::Rect;

use crate::tui::form::Place;
use crate::tui::layout;
use crate::tui::model::{FindingView, Model, Overlay, WorkingView};
use crate::tui::words::LEAST_SIZE;
use paint::Paint;

/// Draws the whole screen.
pub fn view(model: &Model, frame: &mut Frame) {
    let area = frame.area();
    let mut paint = Paint::new(frame.buffer_mut(), area, model.theme);
    if !layout::is_large_enough(area.width, area.height) {
        too_small(&mut paint, area, model.has_nothing_unsaved());
        return;
    }
    let parts = layout::frame(area, help_rows(model, area));
    if let Some(open) = &model.shop {
        shop::draw(model, open, &mut paint, &parts);
    } else if model.document.is_some() {
        frame::header(model, &mut paint, parts.header);
        let cut = body(model, &mut paint, parts.body);
        frame::help(model, &mut paint, parts.help, &cut);
    } else {
        start::draw(model, &mut paint, area);
        frame::help(model, &mut paint, parts.help, &[]);
    }
    frame::footer(model, &mut paint, parts.footer);
    choice::draw(model, &mut paint, parts.body);
    if model.overlay.is_some() {
        overlay::draw(model, &mut paint, area);
    }
    let cursor = paint.cursor();
    if let Some((x, y)) = cursor {
        frame.set_cursor_position((x, y));
    }
}

/// Lines of help above the footer. On the Bench the selected thing's answer has one of its own, where there is room; on a
/// narrow screen a form and the findings give up a row for the rest of what is said.
fn help_rows(model: &Model, area: Rect) -> u16 {
    // A box of the opened year leaves one line below it.
    if matches!(model.overlay, Some(Overlay::Seasons(_))) {
        return 1;
    }
    let is_open = model.field.is_some() || model.shop.is_some();
    let is_bench = model.document.is_some() && model.is_on_bench() && area.height >= 18;
    let is_record = model.page().is_some_and(|page| matches!(page.place, Place::Record(_)));
    let is_long = is_record || (model.document.is_some() && model.is_on_findings());
    let wraps = model.shop.is_none() && is_long && area.width < 100 && area.height >= 20;
    (1 + u16::from(is_open || is_bench) + u16::from(wraps)).max(frame::said_rows(model, area))
}

/// Draws what is between header and help; results of the Bench that had no room, in full.
fn body(model: &Model, paint: &mut Paint, area: Rect) -> Vec<String> {
    if model.page().is_some() {
        form::draw(model, paint, area);
    } else if model.screen == 5 {
        findings::draw(model, paint, area);
    } else {
        return bench::draw(model, paint, area);
    }
    Vec::new()
}

fn too_small(paint: &mut Paint, area: Rect, is_left: bool) {
    let said = [
        "too small".to_string(),
        format!("needs {}x{}", LEAST_SIZE.0, LEAST_SIZE.1),
        format!("has {}x{}", area.width, area.height),
        "the plan is kept".to_string(),
        if is_left { "keys wait; q leaves" } else { "keys wait" }.to_string(),
    ];
    for (y, line) in (area.y..area.bottom()).zip(&said) {
        paint.text(area.x, y, area.width, line, crate::tui::theme::Role::Text);
    }
}

/// Lines of an opened finding, for scrolling.
#[must_use]
pub fn finding_lines(model: &Model, view: &FindingView) -> usize {
    findings::opened(model, view, overlay::text_width(model.size.0)).len()
}

/// Lines of a run's working, for scrolling.
#[must_use]
pub fn working_lines(model: &Model, view: &WorkingView) -> usize {
    working::lines(model, view, overlay::text_width(model.size.0)).len()
}

/// The first line shown next of what a box says about its marked row: from the first again after the last.
#[must_use]
pub fn more_lines(model: &Model, over: &Overlay, first: usize) -> usize {
    let (lines, room) = below_rows(model, over);
    layout::next_lines(first, lines, room)
}

/// Lines that a box has about its marked row, and how many it shows at once.
#[must_use]
pub fn below_rows(model: &Model, over: &Overlay) -> (usize, usize) {
    match over {
        Overlay::Ladder(ladder) => ladder::extent(model, ladder, model.size),
        Overlay::Sizing(view) => sizing::extent(model, view, model.size.0),
        Overlay::Isolation(view) => isolation::extent(model, view, model.size),
        _ => (0, 0),
    }
}

/// Lines of the opened year that can be scrolled, and how many of them a full box shows.
#[must_use]
pub fn seasons_lines(model: &Model, view: &crate::tui::seasons::SeasonsView) -> (usize, usize) {
    seasons::extent(model, view)
}

/// Lines of what was said so far, for scrolling.
#[must_use]
pub fn message_lines(model: &Model) -> usize {
    overlay::messages(model, overlay::text_width(model.size.0)).len()
}

/// Lines of a recovery copy's differences, for scrolling.
#[must_use]
pub fn difference_lines(model: &Model, view: &crate::tui::offer::LinesView) -> usize {
    overlay::differences(view, model.size.0).len()
}

/// Lines about a box, for scrolling.
#[must_use]
pub fn about_lines(model: &Model, over: &Overlay) -> usize {
    about::lines(over, help::width(model.size.0)).len()
}

/// Lines of the help as it stands, for scrolling.
#[must_use]
pub fn help_lines(model: &Model) -> usize {
    help::lines(model).len()
}
