//! The isolation view: the switches, and what the marked one makes dead.

use ratatui::layout::Rect;

use crate::engine::Isolation;
use crate::plan::Plan;
use crate::tui::layout;
use crate::tui::model::{IsolationView, Model};
use crate::tui::theme::Role;
use crate::wording::isolation::{What, name, said};

use super::help;
use super::paint::{Paint, paged, wrap};

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect, view: &IsolationView) {
    let Some(plan) = model.plan() else { return };
    let title = "ISOLATION: what a switch or line fuse makes dead";
    let inside = paint.boxed_in(area, title, columns(area.width), rows(area.height));
    let Some(marked) = view.all.get(view.cursor) else { return };
    let detail = detail(plan, marked, usize::from(inside.width));
    let height = usize::from(inside.height);
    let room = shown(height, detail.len(), view);
    let first = layout::first_row(view.cursor, view.all.len(), room);
    for (i, switch) in view.all.iter().enumerate().skip(first).take(room) {
        let y = inside.y + u16::try_from(i - first).unwrap_or(0);
        let counts = format!(
            " dead {:<3} held up {:<3} live {:<2}",
            switch.dead.len(),
            switch.held.len(),
            switch.live.len() - switch.held.len()
        );
        // The counts stand in one column at any width.
        let counted = u16::try_from(counts.len()).unwrap_or(0);
        let named = inside.width.saturating_sub(counted).min(36);
        let role = if i == view.cursor { Role::Selected } else { Role::Text };
        let blank = " ".repeat(usize::from(named));
        paint.text(inside.x, y, named, &blank, role);
        paint.text(inside.x, y, named, &name(plan, switch), role);
        paint.text(inside.x + named, y, inside.width - named, &counts, role);
        if i == view.cursor {
            paint.set_cursor(inside.x, y);
        }
    }
    let top = Rect { y: inside.y.saturating_sub(1), height: 1, ..inside };
    paint.hidden(top, first, view.all.len().saturating_sub(first + room));
    let below = inside.y + u16::try_from(room).unwrap_or(0) + 1;
    let left = usize::from(inside.bottom().saturating_sub(below));
    for (i, (line, role)) in paged(&detail, left, view.more, "... ").iter().take(left).enumerate() {
        paint.text(inside.x, below + u16::try_from(i).unwrap_or(0), inside.width, line, *role);
    }
}

/// How many lines there are about the marked one, and how many are shown at once.
pub(super) fn extent(model: &Model, view: &IsolationView, size: (u16, u16)) -> (usize, usize) {
    let Some((plan, marked)) = model.plan().zip(view.all.get(view.cursor)) else { return (0, 0) };
    let inside = layout::overlay(Rect { x: 0, y: 0, width: size.0, height: size.1 }, columns(size.0), rows(size.1));
    let lines = detail(plan, marked, usize::from(inside.width.saturating_sub(4))).len();
    let height = usize::from(inside.height.saturating_sub(2));
    (lines, height.saturating_sub(shown(height, lines, view) + 1))
}

/// Columns of the box.
fn columns(width: u16) -> usize {
    usize::from(width.saturating_sub(6)).min(100).max(help::WIDTH.min(usize::from(width)))
}

/// Rows of the box.
fn rows(height: u16) -> usize {
    usize::from(height.saturating_sub(5))
}

/// Switches that are shown beside so many lines about the marked one.
fn shown(height: usize, lines: usize, view: &IsolationView) -> usize {
    height.saturating_sub(lines + 1).max(4).min(view.all.len()).min(height)
}

fn detail(plan: &Plan, marked: &Isolation, width: usize) -> Vec<(String, Role)> {
    let role = |what: What| match what {
        What::Opened => Role::Heading,
        What::Live => Role::Figure,
        What::Said => Role::Text,
    };
    let lines = |(what, text): (What, String)| wrap(&text, width).into_iter().map(move |l| (l, role(what)));
    let rest = (What::Said, "What is not named here loses nothing: live before, it is live still.".to_string());
    said(plan, marked).into_iter().chain([rest]).flat_map(lines).collect()
}
