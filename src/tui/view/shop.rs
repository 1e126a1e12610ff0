//! The truck stock: the same rows as the plan's forms, with where its file stands.

use ratatui::layout::Rect;

use crate::plan::{Value, entry};
use crate::tui::form::Row;
use crate::tui::layout::{self, Frame};
use crate::tui::model::Model;
use crate::tui::shop::Shop;
use crate::tui::theme::Role;
use crate::tui::update;

use super::paint::{Paint, wrap};

pub(super) fn draw(model: &Model, shop: &Shop, paint: &mut Paint, parts: &Frame) {
    header(shop, paint, parts.header);
    body(model, shop, paint, parts.body);
    help(model, shop, paint, parts.help);
}

fn header(shop: &Shop, paint: &mut Paint, area: Rect) {
    let state = match (&shop.broken, &shop.on_disk) {
        (Some(_), _) => "DOES NOT READ",
        (None, _) if shop.is_unsaved => "NOT SAVED",
        (None, Some(_)) => "saved",
        (None, None) => "no file yet",
    };
    let role = if shop.broken.is_some() || shop.is_unsaved { Role::Alert } else { Role::Header };
    let mut x = area.x + 1;
    x += paint.text(x, area.y, area.width, "truck stock", Role::Figure) + 2;
    x += paint.text(x, area.y, area.right().saturating_sub(x), state, role) + 2;
    // The end of a long path says more than its beginning.
    let room = usize::from(area.right().saturating_sub(x));
    let skip = shop.path.chars().count().saturating_sub(room);
    let path: String = shop.path.chars().skip(skip).collect();
    paint.text(x, area.y, area.right().saturating_sub(x), &path, Role::Header);
}

fn body(_: &Model, shop: &Shop, paint: &mut Paint, area: Rect) {
    paint.title(area, &shop.title(), true);
    let mut top = area.y + 1;
    let notice = match &shop.broken {
        Some(why) => {
            let mend = if why.ends_with("move it away") { "Then" } else { "Mend it, then" };
            format!("The file does not read and is left as it is: {why}. {mend} open it again (Esc, 8).")
        }
        None if shop.offers_starter() && shop.pages.len() < 2 => {
            "Nothing is in stock yet. t begins a list of the usual gauges, fuses and lugs; Enter opens a list, a adds to \
             it. What is on the van is offered first where the program proposes a fuse, and prices the wire."
                .into()
        }
        None => String::new(),
    };
    let width = usize::from(area.width.saturating_sub(2));
    let role = if shop.broken.is_some() { Role::Alert } else { Role::Text };
    for line in if notice.is_empty() { Vec::new() } else { wrap(&notice, width) } {
        if top < area.bottom() {
            paint.text(area.x + 1, top, area.width.saturating_sub(1), &line, role);
        }
        top += 1;
    }
    if !notice.is_empty() {
        top += 1;
    }
    let rows = shop.rows();
    let cursor = shop.page().map_or(0, |p| p.cursor);
    let height = usize::from(area.bottom().saturating_sub(top));
    let first = layout::first_row(cursor, rows.len(), height);
    let label = super::form::label_width(&rows, area.width);
    for (i, row) in rows.iter().enumerate().skip(first).take(height) {
        let y = top + u16::try_from(i - first).unwrap_or(0);
        let line = Rect { x: area.x, y, width: area.width, height: 1 };
        draw_row(shop, paint, line, row, label, i == cursor);
    }
    paint.hidden(area, first, rows.len().saturating_sub(first + height));
}

fn draw_row(shop: &Shop, paint: &mut Paint, line: Rect, row: &Row, label: u16, focused: bool) {
    let (x, y, width) = (line.x + 3, line.y, line.width.saturating_sub(3));
    let value_x = x + label + 2;
    let value_width = line.right().saturating_sub(value_x);
    let marked = if focused { Role::Selected } else { Role::Text };
    if focused {
        paint.text(line.x + 1, y, 1, ">", Role::Figure);
        paint.set_cursor(x, y);
    }
    match row {
        Row::Heading(text) => {
            paint.text(line.x + 1, y, width, text, Role::Heading);
        }
        Row::Field { at, meta } => {
            paint.text(x, y, label, meta.label, Role::Text);
            if let Some(open) = shop.field.as_ref().filter(|f| f.at == *at) {
                paint.line_edit(value_x, y, value_width.min(40), &open.line);
                return;
            }
            let value = match shop.stock.get_at(at) {
                None | Some(Value::Nothing) => "-".into(),
                Some(value) => entry::seen(shop.units, meta, &value),
            };
            paint.text(value_x, y, value_width, if value.is_empty() { " " } else { &value }, marked);
            if focused {
                paint.set_cursor(value_x, y);
            }
        }
        Row::Item { at, text } => {
            paint.text(x, y, label, at.split_last().1, if focused { Role::Selected } else { Role::Figure });
            paint.text(value_x, y, value_width, text, Role::Text);
        }
        Row::Link { label: name, text, .. } => {
            paint.text(x, y, label, name, marked);
            paint.text(value_x, y, value_width, text, Role::Text);
        }
        Row::Add { .. } => {
            paint.text(x, y, width, "a  add one", marked);
        }
    }
}

/// While a field is open how it is understood; else the newest message; below it the field's help.
fn help(model: &Model, shop: &Shop, paint: &mut Paint, area: Rect) {
    let (x, width) = (area.x + 1, area.width.saturating_sub(1));
    match &shop.field {
        Some(open) if open.touched => match &open.said {
            Err(why) => paint.text(x, area.y, width, &format!("! {why}"), Role::Alert),
            Ok(said) if said.is_empty() => 0,
            Ok(said) => paint.text(x, area.y, width, &format!("understood as {said}"), Role::Text),
        },
        Some(open) => {
            let how = if open.list.is_some() { "type a part or use arrows" } else { "type" };
            paint.text(x, area.y, width, &format!("{how}; ? where it is not known"), Role::Text)
        }
        None => match model.messages.last().filter(|_| !model.is_message_stale) {
            Some(message) => paint.text(x, area.y, width, message, Role::Text),
            None => 0,
        },
    };
    if area.height > 1 {
        paint.text(x, area.y + 1, width, &update::shop::about(shop), Role::Text);
    }
}
