//! The isolation view: the switches, and what the marked one makes dead.

use ratatui::layout::Rect;

use crate::engine::Isolation;
use crate::plan::Plan;
use crate::tui::layout;
use crate::tui::model::{IsolationView, Model};
use crate::tui::theme::Role;
use crate::wording::isolation::{What, name, said};

use super::help;
use super::paint::{Paint, wrap};

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect, view: &IsolationView) {
    let Some(plan) = model.plan() else { return };
    let columns = usize::from(area.width.saturating_sub(6)).min(100).max(help::WIDTH.min(usize::from(area.width)));
    let rows = usize::from(area.height.saturating_sub(5));
    let inside = paint.boxed_in(area, "ISOLATION: what a switch or main fuse makes dead", columns, rows);
    let Some(marked) = view.all.get(view.cursor) else { return };
    let detail = detail(plan, marked, usize::from(inside.width));
    let height = usize::from(inside.height);
    let room = height.saturating_sub(detail.len() + 1).max(4).min(view.all.len()).min(height);
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
    for (i, (line, role)) in detail.iter().take(left).enumerate() {
        paint.text(inside.x, below + u16::try_from(i).unwrap_or(0), inside.width, line, *role);
    }
    if detail.len() > left && left > 0 {
        let y = inside.bottom() - 1;
        let said = format!("{} more lines: a higher screen shows them", detail.len() + 1 - left);
        paint.text(
            inside.x,
            y,
            inside.width,
            &format!("{said:<width$}", width = usize::from(inside.width)),
            Role::Text,
        );
    }
}

fn detail(plan: &Plan, marked: &Isolation, width: usize) -> Vec<(String, Role)> {
    let role = |what: What| match what {
        What::Opened => Role::Heading,
        What::Live => Role::Figure,
        What::Said => Role::Text,
    };
    let lines = |(what, text): (What, String)| wrap(&text, width).into_iter().map(move |l| (l, role(what)));
    said(plan, marked).into_iter().flat_map(lines).collect()
}
