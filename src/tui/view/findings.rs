//! What the checks say: by level, then by place in the coach.

use ratatui::layout::Rect;

use crate::engine::Finding;
use crate::plan::Plan;
use crate::plan::entry::{Units, said as entry_said};
use crate::tui::layout;
use crate::tui::model::{FindingView, Model};
use crate::tui::theme::Role;
use crate::tui::words;
use crate::wording::findings::{self as told, Entry, Group};

use super::paint::{Paint, wrap};

/// Columns of the subject before the sentence.
const SUBJECT: u16 = 15;

enum Row<'a> {
    Heading(String),
    Place(&'static str),
    Entry(usize, &'a Entry<'a>, String),
    /// The rest of an entry's sentence.
    More(String),
    Text(String),
}

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) {
    let Some(plan) = model.plan() else { return };
    let entries = model.entries();
    paint.title(area, "FINDINGS by level, then by where they lie", true);
    let foot = foot(model, plan, area);
    let height = usize::from(area.height.saturating_sub(1)).saturating_sub(foot.len());
    // Sentences go on below where all of them have the room; else the marked one stands in full at the foot.
    let width = usize::from(area.right().saturating_sub(area.x + 4 + SUBJECT));
    let mut rows = self::rows(model, &entries, Some(width));
    if rows.len() > height {
        rows = self::rows(model, &entries, None);
    }
    let cursor = rows.iter().position(|r| matches!(r, Row::Entry(i, ..) if *i == model.finding)).unwrap_or(0);
    let first = layout::first_row(cursor, rows.len(), height);
    for (n, row) in rows.iter().enumerate().skip(first).take(height) {
        let y = area.y + 1 + u16::try_from(n - first).unwrap_or(0);
        let (x, width) = (area.x + 1, area.width.saturating_sub(1));
        match row {
            Row::Heading(text) => {
                paint.text(x, y, width, text, Role::Heading);
            }
            Row::Place(text) => {
                paint.text(x, y, width, &format!("-- {text}"), Role::Text);
            }
            Row::Text(text) => {
                paint.text(x + 2, y, width.saturating_sub(2), text, Role::Text);
            }
            Row::More(text) => {
                paint.text(x + 3 + SUBJECT, y, width.saturating_sub(3 + SUBJECT), text, Role::Text);
            }
            Row::Entry(i, entry, text) => draw_entry(model, paint, area, y, (entry, text), *i == model.finding),
        }
    }
    let top = area.bottom().saturating_sub(u16::try_from(foot.len()).unwrap_or(0));
    for (y, (line, role)) in (top..area.bottom()).zip(&foot) {
        paint.text(area.x + 1, y, area.width.saturating_sub(1), line, *role);
    }
    paint.hidden(area, first, rows.len().saturating_sub(first + height));
}

/// The list, its sentences wrapped to a width or each on one line.
fn rows<'a>(model: &Model, entries: &'a [Entry<'a>], width: Option<usize>) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    if !entries.iter().any(|e| matches!(e.group, Group::Found(_))) {
        rows.push(Row::Text("nothing found by the checks that could run".into()));
    }
    for group in Group::ALL {
        let mut place = None;
        for (i, entry) in entries.iter().enumerate().filter(|(_, e)| e.group == group) {
            if place.is_none() {
                rows.push(Row::Heading(group.heading(told::count(entries, group))));
            }
            if place != Some(entry.place) {
                place = Some(entry.place);
                rows.push(Row::Place(entry.place.words()));
            }
            let text = sentence(model, entry);
            let mut lines = match width {
                Some(width) => wrap(&text, width),
                None => vec![text],
            };
            let rest = lines.split_off(1.min(lines.len()));
            rows.push(Row::Entry(i, entry, lines.pop().unwrap_or_default()));
            rows.extend(rest.into_iter().map(Row::More));
        }
    }
    rows
}

/// An entry's sentence with what is to be known of it first.
fn sentence(model: &Model, entry: &Entry<'_>) -> String {
    let Some(plan) = model.plan() else { return String::new() };
    let base = model.document.as_ref().and_then(|d| d.baseline());
    let is_new = entry
        .finding()
        .zip(base)
        .is_some_and(|(f, base)| !base.report.findings.iter().any(|b| b.identity() == f.identity()));
    let new = if is_new { "NEW " } else { "" };
    let accepted = if entry.is_accepted() { "(accepted) " } else { "" };
    format!("{new}{accepted}{}", entry.beside_head(plan))
}

/// The focused line in full, below the list, where there is room for both.
fn foot(model: &Model, plan: &Plan, area: Rect) -> Vec<(String, Role)> {
    let Some(entry) = model.entry().filter(|_| area.height >= 14) else { return Vec::new() };
    let width = usize::from(area.width.saturating_sub(2));
    let mut lines = vec![(paint_line(width), Role::Text)];
    let mut say = |text: &str, role: Role| lines.extend(wrap(text, width).into_iter().map(|l| (l, role)));
    say(&entry.said(plan), Role::Figure);
    for (label, text) in entry.lines(plan) {
        say(&format!("{label}: {text}"), Role::Text);
    }
    let most = usize::from(area.height / 3).max(6);
    if lines.len() > most {
        lines.truncate(most);
        if let Some((last, _)) = lines.last_mut() {
            *last = "... ? shows all of it".into();
        }
    }
    lines
}

fn paint_line(width: usize) -> String {
    "-".repeat(width)
}

fn draw_entry(model: &Model, paint: &mut Paint, area: Rect, y: u16, shown: (&Entry<'_>, &str), selected: bool) {
    let Some(plan) = model.plan() else { return };
    let (entry, text) = shown;
    if selected {
        paint.text(area.x + 1, y, 1, ">", Role::Figure);
        paint.set_cursor(area.x + 3, y);
    }
    let role = if selected { Role::Selected } else { Role::Figure };
    paint.text(area.x + 3, y, SUBJECT, &entry.head(plan), role);
    let x = area.x + 4 + SUBJECT;
    paint.text(x, y, area.right().saturating_sub(x), text, Role::Text);
}

/// The box of one finding: what `check` prints of it, its cures, its working.
pub(super) fn opened(model: &Model, view: &FindingView, width: usize) -> Vec<(String, Role)> {
    let Some(document) = &model.document else { return Vec::new() };
    let shown = document.shown();
    let plan = &*shown.plan;
    let f: &Finding = &view.finding;
    let entries = told::entries(plan, &shown.report);
    let entry = entries.iter().find(|e| e.finding().is_some_and(|x| x.identity() == f.identity()));
    let mut lines = Vec::new();
    let mut say = |text: &str, role: Role| lines.extend(wrap(text, width).into_iter().map(|l| (l, role)));
    let place = entry.map(|e| format!(", {}", e.place.words())).unwrap_or_default();
    say(&format!("{}: {}{place}", words::path(plan, &f.subject), words::level(f.level)), Role::Mark(f.level));
    say(&entry.map_or_else(|| told::sentence(plan, f), |e| e.said(plan)), Role::Text);
    for (label, text) in entry.map(|e| e.lines(plan)).unwrap_or_default() {
        say(&format!("{label}: {text}"), if label == "accepted" { Role::Figure } else { Role::Text });
    }
    say(&format!("check: {}", f.check.id), Role::Text);
    lines.push((String::new(), Role::Text));
    let mut say = |text: &str, role: Role| lines.extend(wrap(text, width).into_iter().map(|l| (l, role)));
    if view.cures.is_empty() {
        say("no cure is known to the program", Role::Text);
        if !view.in_vain.is_empty() {
            say(&format!("tried in vain: {}", view.in_vain), Role::Text);
        }
    } else {
        say("cures (each tried on the plan; none adds a stop):", Role::Heading);
        for (i, cure) in view.cures.iter().enumerate() {
            let marked = i == view.cursor;
            let text = format!("{} {}", if marked { ">" } else { " " }, cure.name);
            say(&text, if marked { Role::Selected } else { Role::Text });
        }
    }
    lines.push((String::new(), Role::Text));
    lines.push(("working:".into(), Role::Heading));
    let units = Units::of(plan);
    let steps = view.working.iter().map(|step| entry_said(units, step, &f.numbers));
    lines.extend(steps.flat_map(|step| wrap(&step, width)).map(|l| (l, Role::Text)));
    lines
}
