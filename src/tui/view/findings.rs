//! What the checks say: by level, then by subject.

use ratatui::layout::Rect;

use crate::engine::{Finding, Level};
use crate::tui::layout;
use crate::tui::model::{FindingView, Model};
use crate::tui::theme::Role;
use crate::tui::words;

use super::paint::{Paint, wrap};

enum Row<'a> {
    Heading(String),
    Finding(usize, &'a Finding),
    Text(String),
}

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) {
    let Some(document) = &model.document else { return };
    let shown = document.shown();
    let report = &shown.report;
    paint.title(area, "FINDINGS", true);
    let mut rows = Vec::new();
    let mut level: Option<Level> = None;
    for (i, finding) in report.findings.iter().enumerate() {
        if level != Some(finding.level) {
            level = Some(finding.level);
            rows.push(Row::Heading(words::levels(finding.level).into()));
        }
        rows.push(Row::Finding(i, finding));
    }
    if report.findings.is_empty() {
        rows.push(Row::Text("nothing found by the checks that could run".into()));
    }
    if !report.not_checked.is_empty() {
        rows.push(Row::Heading("NOT CHECKED: a safety check waits for an unknown".into()));
        rows.extend(report.not_checked.iter().map(|n| {
            let of = words::path(&shown.plan, &n.subject);
            Row::Text(format!("{} {of}: waits for {}", n.check, words::path(&shown.plan, &n.waits_for)))
        }));
    }
    let foot = foot(model, area);
    let height = usize::from(area.height.saturating_sub(1)).saturating_sub(foot.len());
    let cursor = rows.iter().position(|r| matches!(r, Row::Finding(i, _) if *i == model.finding)).unwrap_or(0);
    let first = layout::first_row(cursor, rows.len(), height);
    for (n, row) in rows.iter().enumerate().skip(first).take(height) {
        let y = area.y + 1 + u16::try_from(n - first).unwrap_or(0);
        match row {
            Row::Heading(text) => {
                paint.text(area.x + 1, y, area.width.saturating_sub(1), text, Role::Heading);
            }
            Row::Text(text) => {
                paint.text(area.x + 3, y, area.width.saturating_sub(3), text, Role::Text);
            }
            Row::Finding(i, finding) => draw_finding(model, paint, area, y, finding, *i == model.finding),
        }
    }
    let top = area.bottom().saturating_sub(u16::try_from(foot.len()).unwrap_or(0));
    for (y, line) in (top..area.bottom()).zip(&foot) {
        paint.text(area.x + 1, y, area.width.saturating_sub(1), line, Role::Text);
    }
    paint.hidden(area, first, rows.len().saturating_sub(first + height));
}

/// The focused finding in full, below the list, where there is room for both.
fn foot(model: &Model, area: Rect) -> Vec<String> {
    let Some(finding) = model.finding_at().filter(|_| area.height >= 14) else { return Vec::new() };
    let accepted = finding.accepted.as_ref().map(|why| format!(" Accepted: {why}")).unwrap_or_default();
    let mut lines = vec![String::new()];
    lines.extend(wrap(&format!("{}{accepted}", finding.text()), usize::from(area.width.saturating_sub(2))));
    lines.truncate(5);
    lines
}

fn draw_finding(model: &Model, paint: &mut Paint, area: Rect, y: u16, finding: &Finding, selected: bool) {
    let Some(plan) = model.plan() else { return };
    let subject = words::path(plan, &finding.subject);
    if selected {
        paint.text(area.x + 1, y, 1, ">", Role::Figure);
        paint.set_cursor(area.x + 3, y);
    }
    let role = if selected { Role::Selected } else { Role::Figure };
    paint.text(area.x + 3, y, 17, &subject, role);
    let is_new = model
        .document
        .as_ref()
        .and_then(|d| d.baseline())
        .is_some_and(|b| !b.report.findings.iter().any(|f| f.identity() == finding.identity()));
    let text = format!(
        "{}{}{}",
        if is_new { "NEW " } else { "" },
        if finding.accepted.is_some() { "accepted: " } else { "" },
        finding.text()
    );
    let x = area.x + 21;
    paint.text(x, y, area.right().saturating_sub(x), &text, Role::Text);
}

/// The box of one finding: lines, and which of them are cures.
pub(super) fn opened(model: &Model, view: &FindingView, width: usize) -> Vec<(String, Role)> {
    let f = &view.finding;
    let mut lines = Vec::new();
    let mut say = |text: String, role: Role| lines.extend(wrap(&text, width).into_iter().map(|l| (l, role)));
    if let Some(plan) = model.plan() {
        say(format!("{}: {}", words::path(plan, &f.subject), words::level(f.level)), Role::Mark(f.level));
    }
    say(f.text(), Role::Text);
    say(format!("source: {}", f.source), Role::Text);
    say(format!("check: {}", f.check.id), Role::Text);
    if let Some(reason) = &f.accepted {
        say(format!("accepted: {reason}"), Role::Figure);
    }
    say(String::new(), Role::Text);
    if view.cures.is_empty() {
        say("no cure is known to the program".into(), Role::Text);
    } else {
        say("cures (each tried on the plan; none adds a stop):".into(), Role::Heading);
        for (i, cure) in view.cures.iter().enumerate() {
            let marked = i == view.cursor;
            let text = format!("{} {}", if marked { ">" } else { " " }, cure.name);
            say(text, if marked { Role::Selected } else { Role::Text });
        }
    }
    lines
}
