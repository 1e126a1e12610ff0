//! The list of an open field's choices, below or above the field.

use ratatui::layout::Rect;

use crate::tui::choice::ChoiceList;
use crate::tui::layout;
use crate::tui::line_edit::LineEdit;
use crate::tui::model::Model;
use crate::tui::theme::Role;

use super::paint::Paint;

/// Draws the list where the field being typed in has one; the real cursor stays in the field.
pub(super) fn draw(model: &Model, paint: &mut Paint, body: Rect) {
    let plan_field = model.field.as_ref().filter(|_| model.shop.is_none());
    let shop_field = model.shop.as_ref().and_then(|shop| shop.field.as_ref());
    let (list, line) = match (plan_field, shop_field) {
        (Some(field), _) => (&field.list, &field.line),
        (None, Some(field)) => (&field.list, &field.line),
        (None, None) => return,
    };
    let (Some(list), Some(cursor)) = (list, paint.cursor()) else { return };
    boxed(list, line, paint, body, cursor);
}

fn boxed(list: &ChoiceList, line: &LineEdit, paint: &mut Paint, body: Rect, cursor: (u16, u16)) {
    let typed = (!line.is_fresh()).then(|| line.text());
    let rows = list.fitting(typed);
    // What stands beside the words stands in a column of its own.
    let beside = |row: &&&(String, String)| !row.1.is_empty();
    let column = rows.iter().filter(beside).map(|row| row.0.chars().count()).max().unwrap_or(0).max(1);
    let text = |row: &(String, String)| match row.1.as_str() {
        "" => row.0.clone(),
        about => format!("{:<column$}  {about}", row.0),
    };
    let longest = rows.iter().map(|r| text(r).chars().count()).max().unwrap_or(0).max(14);
    let width = u16::try_from(longest + 4).unwrap_or(u16::MAX).min(body.width);
    let wanted = u16::try_from(rows.len().max(1) + 2).unwrap_or(u16::MAX);
    let (below, above) = (body.bottom().saturating_sub(cursor.1 + 1), cursor.1.saturating_sub(body.y));
    let is_below = below >= wanted.min(8) || below >= above;
    let height = wanted.min(if is_below { below } else { above }).min(14);
    if height < 3 {
        return;
    }
    let y = if is_below { cursor.1 + 1 } else { cursor.1 - height };
    // Below where the text begins, so that the box stands still while typing.
    let begins = cursor.0.saturating_sub(u16::try_from(line.column()).unwrap_or(0)).max(body.x);
    let right = body.right().saturating_sub(width);
    // On a narrow screen one above hides what it is asked of, unless it stands at the edge.
    let x = if !is_below && body.width < layout::LEAST_BESIDE { right } else { begins.saturating_sub(2).min(right) };
    let inside = paint.boxed(Rect { x, y, width, height }, "pick");
    let shown = usize::from(inside.height);
    let first = layout::first_row(list.cursor, rows.len(), shown);
    for (i, row) in rows.iter().enumerate().skip(first).take(shown) {
        let y = inside.y + u16::try_from(i - first).unwrap_or(0);
        let role = if i == list.cursor { Role::Selected } else { Role::Text };
        paint.text(inside.x, y, inside.width, &text(row), role);
    }
    if rows.is_empty() {
        paint.text(inside.x, inside.y, inside.width, "nothing fits", Role::Text);
    }
    let hidden = rows.len().saturating_sub(first + shown);
    if first + hidden > 0 {
        let said = format!(" pick {} of {} ", (list.cursor + 1).min(rows.len()), rows.len());
        paint.text(inside.x, y, inside.width, &said, Role::FocusHeading);
    }
    paint.set_cursor(cursor.0, cursor.1);
}
