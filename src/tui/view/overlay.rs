//! Boxes over the screen.

use ratatui::layout::Rect;

use crate::tui::layout;
use crate::tui::model::{Answer, Confirm, Model, Overlay, Pick, PickWhat, Prompt, PromptWhat};
use crate::tui::offer::LinesView;
use crate::tui::theme::Role;
use crate::tui::update::pick;
use crate::tui::words;

use super::paint::{Paint, wrap, wrapped};
use super::table::WIDE;
use super::{about, findings, help, isolation, ladder, seasons, sizing, working};

/// Columns of text in a box on a screen so wide: no more than an eye follows from line to line.
pub(super) fn text_width(columns: u16) -> usize {
    usize::from(columns.saturating_sub(6)).min(if columns >= WIDE { WIDEST } else { help::WIDTH })
}

/// Columns of text on a wide screen.
pub(super) const WIDEST: usize = 100;

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) {
    let width = text_width(area.width);
    match &model.overlay {
        None => {}
        Some(Overlay::Help { scroll, .. }) => list(paint, area, "HELP", &help::lines(model), Some(*scroll), None),
        Some(Overlay::About { scroll, over }) => {
            list(paint, area, "HELP", &about::lines(over, help::width(area.width)), Some(*scroll), None)
        }
        Some(Overlay::Lines(view)) => {
            let lines = differences(view, area.width);
            list(paint, area, "DIFFERENCES FROM THE FILE (Esc: back to the question)", &lines, Some(view.scroll), None);
        }
        Some(Overlay::Messages { scroll }) => {
            list(paint, area, "MESSAGES", &messages(model, width), Some(*scroll), None);
        }
        Some(Overlay::History { cursor }) => {
            let rows = crate::tui::update::history(model);
            let lines: Vec<(String, Role)> = rows
                .into_iter()
                .map(|(name, done)| (format!("{} {name}", if done { " " } else { "(undone)" }), Role::Text))
                .collect();
            list(paint, area, "HISTORY: Enter goes there", &lines, None, Some(*cursor));
        }
        Some(Overlay::Finding(view)) => {
            let lines = findings::opened(model, view, width);
            list(paint, area, "FINDING", &lines, Some(view.scroll), None);
        }
        Some(Overlay::Working(view)) => {
            let lines = working::lines(model, view, width);
            list(paint, area, &format!("WORKING OF {}", view.worked.run), &lines, Some(view.scroll), None);
        }
        Some(Overlay::Seasons(view)) => seasons::draw(model, paint, area, view),
        Some(Overlay::Isolation(view)) => isolation::draw(model, paint, area, view),
        Some(Overlay::Ladder(l)) => ladder::draw(model, paint, area, l),
        Some(Overlay::Sizing(s)) => sizing::draw(model, paint, area, s),
        Some(Overlay::Confirm(confirm)) => draw_confirm(paint, area, confirm, width.min(help::WIDTH)),
        Some(Overlay::Prompt(prompt)) => draw_prompt(model, paint, area, prompt, width.min(help::WIDTH)),
        Some(Overlay::Pick(p)) => draw_pick(model, paint, area, p),
    }
}

/// Differences of a recovery copy, on a screen so wide.
pub(super) fn differences(view: &LinesView, columns: u16) -> Vec<(String, Role)> {
    wrapped(view.lines.iter().map(|line| (line.clone(), Role::Text)).collect(), text_width(columns))
}

/// What was said so far; a message that goes on is set in.
pub(super) fn messages(model: &Model, width: usize) -> Vec<(String, Role)> {
    let each = model.messages.iter().flat_map(|message| {
        let lines = wrap(message, width.saturating_sub(2));
        lines.into_iter().enumerate().map(|(i, line)| if i == 0 { line } else { format!("  {line}") })
    });
    each.map(|line| (line, Role::Text)).collect()
}

/// A box of lines, scrolled to a line or to keep a cursor's row in view.
fn list(
    paint: &mut Paint,
    area: Rect,
    title: &str,
    lines: &[(String, Role)],
    scroll: Option<usize>,
    cursor: Option<usize>,
) {
    let columns = lines.iter().map(|(l, _)| l.chars().count()).max().unwrap_or(0).max(title.len() + 2).max(help::WIDTH);
    let inside = paint.boxed_in(area, title, columns, lines.len().max(1));
    let height = usize::from(inside.height);
    let first = match (scroll, cursor) {
        (Some(scroll), _) => scroll.min(lines.len().saturating_sub(height)),
        (None, cursor) => layout::first_row(cursor.unwrap_or(0), lines.len(), height),
    };
    for (i, (text, role)) in lines.iter().enumerate().skip(first).take(height) {
        let y = inside.y + u16::try_from(i - first).unwrap_or(0);
        let role = if Some(i) == cursor { Role::Selected } else { *role };
        paint.text(inside.x, y, inside.width, text, role);
        if Some(i) == cursor {
            paint.set_cursor(inside.x, y);
        }
    }
    if lines.is_empty() {
        paint.text(inside.x, inside.y, inside.width, "nothing yet", Role::Text);
    }
    if cursor.is_none() {
        paint.set_cursor(inside.x, inside.y);
    }
    let top = Rect { y: inside.y.saturating_sub(1), height: 1, ..inside };
    paint.hidden(top, first, lines.len().saturating_sub(first + height));
}

fn draw_confirm(paint: &mut Paint, area: Rect, confirm: &Confirm, width: usize) {
    let question = wrap(&confirm.question, width);
    let inside = paint.boxed_in(area, "QUESTION", width, question.len() + confirm.answers.len() + 1);
    let mut y = inside.y;
    // The answers are seen at any height; on a screen too low for both the question ends early.
    let room = usize::from(inside.height).saturating_sub(confirm.answers.len());
    for (n, line) in question.iter().take(room).enumerate() {
        let is_cut = n + 1 == room && question.len() > room;
        let line = if is_cut { ".. a taller screen has the whole question" } else { line };
        paint.text(inside.x, y, inside.width, line, Role::Text);
        y += 1;
    }
    y += u16::from(question.len() < room);
    for (i, answer) in confirm.answers.iter().enumerate() {
        if y >= inside.bottom() {
            break;
        }
        let text = match answer.letter {
            Answer::BY_ARROWS => answer.words.to_string(),
            letter => format!("{letter}  {}", answer.words),
        };
        let role = if i == confirm.cursor { Role::Selected } else { Role::Text };
        paint.text(inside.x, y, inside.width, &text, role);
        if i == confirm.cursor {
            paint.set_cursor(inside.x, y);
        }
        y += 1;
    }
}

fn draw_prompt(model: &Model, paint: &mut Paint, area: Rect, prompt: &Prompt, width: usize) {
    let (title, about) = match &prompt.what {
        PromptWhat::SaveAs => ("SAVE AS", "Path of the plan's file:".to_string()),
        PromptWhat::Papers => ("PAPERS", "Folder of checks, wire schedule and isolation:".to_string()),
        PromptWhat::Rename(at) => {
            let of = model.plan().map(|p| words::path(p, at)).unwrap_or_default();
            ("RENAME", format!("New name of {of}; every reference follows:"))
        }
        PromptWhat::Reason(f) => ("ACCEPT", format!("{}  Why is this acceptable here?", said(model, f))),
    };
    let about = wrap(&about, width);
    let problem = prompt.problem.as_deref().map(|p| wrap(p, width)).unwrap_or_default();
    let inside = paint.boxed_in(area, title, width, about.len() + 1 + problem.len().max(1));
    let mut y = inside.y;
    for line in &about {
        if y < inside.bottom() {
            paint.text(inside.x, y, inside.width, line, Role::Text);
        }
        y += 1;
    }
    if y < inside.bottom() {
        paint.line_edit(inside.x, y, inside.width, &prompt.line);
    }
    y += 1;
    for line in &problem {
        if y < inside.bottom() {
            paint.text(inside.x, y, inside.width, line, Role::Alert);
        }
        y += 1;
    }
}

fn said(model: &Model, finding: &crate::engine::Finding) -> String {
    model.plan().map_or_else(|| finding.text(), |plan| crate::wording::findings::sentence(plan, finding))
}

/// What is said of the marked row below the list.
fn about_row(model: &Model, row: Option<&pick::Choice>, width: usize) -> Vec<String> {
    match (row.map(|row| &row.does), model.plan()) {
        (Some(pick::Chosen::Rule(rule)), Some(plan)) => {
            let mut lines = vec!["-".repeat(width)];
            lines.extend(wrap(&crate::tui::update::rules::about(plan, rule), width));
            lines
        }
        _ => Vec::new(),
    }
}

fn draw_pick(model: &Model, paint: &mut Paint, area: Rect, p: &Pick) {
    let title = match &p.what {
        PickWhat::Action => "ALL ACTIONS: type a part of the name",
        PickWhat::Add => "ADD: type a part of the name",
        PickWhat::Place(_) => "PLACE: type a part of the name, or 33.66,-114.23",
        PickWhat::Shelf(target) => &crate::tui::update::shelf::title(target),
        PickWhat::Rule(only) if only.is_empty() => "RULE TO CHANGE: type a part of its name or words",
        PickWhat::Rule(_) => "RULES THIS RESTS ON: Enter changes the marked one",
        PickWhat::Plan => "OPEN: type a path, or a part of a name below",
    };
    let rows = pick::choices(model, p);
    let columns = usize::from(area.width.saturating_sub(6)).min(100);
    // The box keeps its height while the list shrinks, so that few cells change.
    let inside = paint.boxed_in(area, title, columns, usize::from(area.height.saturating_sub(7)).min(22));
    if inside.height == 0 {
        return;
    }
    let cursor = p.cursor.min(rows.len().saturating_sub(1));
    let about = about_row(model, rows.get(cursor), usize::from(inside.width));
    let foot = about.len().min(usize::from(inside.height / 2));
    for (y, line) in (inside.bottom() - u16::try_from(foot).unwrap_or(0)..inside.bottom()).zip(&about) {
        paint.text(inside.x, y, inside.width, line, Role::Text);
    }
    let height = usize::from(inside.height - 1) - foot;
    let first = layout::first_row(cursor, rows.len(), height);
    for (i, row) in rows.iter().enumerate().skip(first).take(height) {
        let y = inside.y + 1 + u16::try_from(i - first).unwrap_or(0);
        let role = if i == cursor { Role::Selected } else { Role::Text };
        let detail = u16::try_from(row.detail.chars().count()).unwrap_or(0).min(inside.width / 2);
        let label = inside.width.saturating_sub(detail + 2);
        paint.text(inside.x, y, label, &row.label, role);
        paint.right(inside.x + inside.width - detail, y, detail, &row.detail, Role::Text);
    }
    if rows.is_empty() {
        let is_asked = !matches!(p.what, PickWhat::Place(_)) || !p.line.text().trim().is_empty();
        let said = if is_asked { "nothing fits" } else { "type to see what fits" };
        paint.text(inside.x, inside.y + 1, inside.width, said, Role::Text);
    }
    let top = Rect { y: inside.y.saturating_sub(1), height: 1, ..inside };
    paint.hidden(top, first, rows.len().saturating_sub(first + height));
    paint.line_edit(inside.x, inside.y, inside.width, &p.line);
}
