//! The generic form.

use ratatui::layout::Rect;

use crate::engine::Report;
use crate::plan::{FieldPath, Kind, Plan, Value, entry};
use crate::standards::fuse::trade_words;
use crate::tui::form::{self, Row};
use crate::tui::layout;
use crate::tui::model::Model;
use crate::tui::theme::Role;
use crate::tui::words;

use super::paint::{Paint, wrap};
use super::{loads, year};

const SCREEN_NAMES: [&str; 8] = ["Plan", "Bench", "Loads", "Year", "Roof", "Findings", "Papers", "Readings"];

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) {
    let (Some(document), Some(page)) = (&model.document, model.page()) else { return };
    let shown = document.shown();
    let plan = &shown.plan;
    let rows = form::rows(plan, &page.place);
    let screen = SCREEN_NAMES.get(usize::from(model.screen)).unwrap_or(&"");
    let title = format!("{screen}: {}", form::title(plan, &page.place));
    paint.title(area, &title, true);
    let is_loads = page.place == form::Place::List("loads".into()) && loads::fits(area);
    let above = if is_loads {
        loads::draw_above(model, paint, below(area, 1))
    } else if model.screen == 3 && model.pages.len() == 1 {
        year::draw(model, paint, below(area, 1))
    } else {
        0
    };
    let mut list = below(area, 1 + above);
    if is_loads {
        draw_foot(&shown.report, paint, &mut list, rows.len());
    }
    let height = usize::from(list.height);
    let first = layout::first_row(page.cursor, rows.len(), height);
    let label_width = label_width(&rows, list.width);
    for (i, row) in rows.iter().enumerate().skip(first).take(height) {
        let y = list.y + u16::try_from(i - first).unwrap_or(0);
        let line = Rect { x: list.x, y, width: list.width, height: 1 };
        match (row, plan.loads.get(i)) {
            (Row::Item { .. }, Some(load)) if is_loads => draw_load(&shown.report, paint, line, load, i == page.cursor),
            _ => draw_row(model, plan, paint, line, row, label_width, i == page.cursor),
        }
    }
    if model.screen == 6 && model.pages.len() == 1 && rows.len() + 1 < height {
        let width = list.width.saturating_sub(3);
        let lines = wrap(
            &format!(
                "O writes checks, wire schedule and isolation to a folder, as text files to print.\nIn a shell, once saved: {}",
                papers_command(model)
            ),
            usize::from(width),
        );
        for (y, line) in (list.y + u16::try_from(rows.len() + 1).unwrap_or(0)..list.bottom()).zip(lines) {
            paint.text(list.x + 3, y, width, &line, Role::Text);
        }
    }
    paint.hidden(area, first, rows.len().saturating_sub(first + height));
}

/// What writes the papers of the plan's file.
fn papers_command(model: &Model) -> String {
    let name = model.path.as_ref().map_or_else(|| "PLAN".into(), |path| path.display().to_string());
    let is_plain = name.chars().all(|c| c.is_alphanumeric() || "/._-+@%:,".contains(c));
    let name = if is_plain { name } else { format!("'{}'", name.replace('\'', "'\\''")) };
    format!("coachwire papers {name} --to DIR")
}

/// The rows that make up the sum of the loads, directly below as many rows of the list as there are or fit.
fn draw_foot(report: &Report, paint: &mut Paint, list: &mut Rect, rows: usize) {
    let foot = loads::foot(report, list.width);
    let taken = u16::try_from(foot.len()).unwrap_or(0);
    list.height = list.height.saturating_sub(taken);
    let shown = u16::try_from(rows).unwrap_or(u16::MAX).min(list.height);
    for (y, (said, role)) in (list.y + shown..).zip(&foot) {
        paint.text(list.x + 3, y, list.width.saturating_sub(3), said, *role);
    }
}

fn draw_load(report: &Report, paint: &mut Paint, line: Rect, load: &crate::plan::Load, focused: bool) {
    if focused {
        paint.text(line.x + 1, line.y, 1, ">", Role::Figure);
        paint.set_cursor(line.x + 3, line.y);
    }
    let role = if focused { Role::Selected } else { Role::Text };
    paint.text(line.x + 3, line.y, line.width.saturating_sub(3), &loads::row(report, load, line.width), role);
}

fn below(area: Rect, rows: u16) -> Rect {
    let rows = rows.min(area.height);
    Rect { y: area.y + rows, height: area.height - rows, ..area }
}

pub(super) fn label_width(rows: &[Row], width: u16) -> u16 {
    let longest = rows
        .iter()
        .map(|row| match row {
            Row::Field { meta, .. } => meta.label.len(),
            Row::Item { at, .. } => at.split_last().1.len(),
            Row::Link { label, .. } => label.len(),
            Row::Heading(_) | Row::Add { .. } => 0,
        })
        .max()
        .unwrap_or(0);
    u16::try_from(longest).unwrap_or(20).clamp(4, 26).min(width / 2)
}

fn draw_row(model: &Model, plan: &Plan, paint: &mut Paint, line: Rect, row: &Row, label: u16, focused: bool) {
    let x = line.x + 3;
    let value_x = x + label + 2;
    let value_width = line.right().saturating_sub(value_x);
    let (y, width) = (line.y, line.width.saturating_sub(3));
    if focused {
        paint.text(line.x + 1, y, 1, ">", Role::Figure);
    }
    match row {
        Row::Heading(text) => {
            paint.text(line.x + 1, y, width, text, Role::Heading);
        }
        Row::Field { at, meta } => {
            paint.text(x, y, label, meta.label, Role::Text);
            if let Some(field) = model.field.as_ref().filter(|f| f.at == *at) {
                paint.line_edit(value_x, y, value_width.min(40), &field.line);
            } else {
                let value = value_text(plan, at);
                let role = if focused { Role::Selected } else { Role::Text };
                let shown = match value.as_str() {
                    "" => " ",
                    "-" if is_unknown(model, at) => words::UNKNOWN,
                    value => value,
                };
                let used = paint.text(value_x, y, value_width, shown, role);
                if focused {
                    paint.set_cursor(value_x, y);
                }
                let plain = trade_words(&value).first().map(|name| format!(" ({name})")).unwrap_or_default();
                let used = used + paint.text(value_x + used, y, value_width.saturating_sub(used), &plain, Role::Text);
                if let Some(was) = changed(model, at, &value) {
                    paint.text(value_x + used + 2, y, value_width.saturating_sub(used + 2), &was, Role::Changed);
                }
            }
        }
        Row::Item { at, text } => {
            let (_, id) = at.split_last();
            paint.text(x, y, label, id, if focused { Role::Selected } else { Role::Figure });
            paint.text(value_x, y, value_width, text, Role::Text);
        }
        Row::Link { label: name, text, .. } => {
            paint.text(x, y, label, name, if focused { Role::Selected } else { Role::Text });
            paint.text(value_x, y, value_width, text, Role::Text);
        }
        Row::Add { list } => {
            let said = format!("a  add {}", words::one_of(list.as_str()));
            paint.text(x, y, width, &said, if focused { Role::Selected } else { Role::Text });
        }
    }
    if focused && !matches!(row, Row::Field { .. }) {
        paint.set_cursor(x, y);
    }
}

/// Whether the report waits for a field: one that is left out too, where there must be such a value.
fn is_unknown(model: &Model, at: &FieldPath) -> bool {
    model.document.as_ref().is_some_and(|document| document.shown().report.unknown.contains(at))
}

/// A value as shown; what is left out shows as `-`.
fn value_text(plan: &Plan, at: &FieldPath) -> String {
    match plan.get_at(at) {
        Some(Value::Nothing) => "-".into(),
        Some(Value::Text(t)) if !plan.meta(at).is_some_and(|m| matches!(m.kind, Kind::Monthly { .. })) => {
            t.lines().collect::<Vec<_>>().join("; ")
        }
        _ => entry::seen_at(plan, at).unwrap_or_default(),
    }
}

/// What the field was in the held baseline, where that differs.
fn changed(model: &Model, at: &FieldPath, now: &str) -> Option<String> {
    let base = model.document.as_ref()?.baseline()?;
    let was = value_text(&base.plan, at);
    let existed = base.plan.get_at(at).is_some();
    (existed && was != now).then(|| format!("was {}", if was.is_empty() { "empty" } else { &was }))
}
