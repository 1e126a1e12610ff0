//! No plan is open: recent plans, samples, a blank one.

use ratatui::layout::Rect;

use crate::tui::layout;
use crate::tui::message::OpenWhat;
use crate::tui::model::Model;
use crate::tui::theme::Role;

use super::paint::{Paint, wrap};

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) {
    paint.text(area.x + 1, area.y, area.width, "coachwire", Role::Figure);
    paint.text(area.x + 12, area.y, area.width.saturating_sub(12), "open a plan, a sample, or a blank one", Role::Text);
    let body = layout::frame(area, 1).body;
    let choices = model.start_choices();
    let mut rows: Vec<(Option<usize>, String)> = Vec::new();
    let mut group = "";
    for (i, (_, _, what)) in choices.iter().enumerate() {
        let of = match what {
            OpenWhat::File(_) => "RECENT",
            OpenWhat::Sample(_) => "SAMPLES",
            OpenWhat::Blank => "NEW",
        };
        if of != group {
            group = of;
            rows.push((None, of.to_string()));
        }
        rows.push((Some(i), String::new()));
    }
    // What is said of the marked row stands in full at the foot.
    let width = usize::from(body.width.saturating_sub(2));
    let foot = choices.get(model.start).map(|(_, about, _)| wrap(about, width)).unwrap_or_default();
    let foot = if body.height > 12 { foot } else { Vec::new() };
    for (y, line) in (body.bottom().saturating_sub(u16::try_from(foot.len()).unwrap_or(0))..).zip(&foot) {
        paint.text(body.x + 1, y, body.width.saturating_sub(1), line, Role::Text);
    }
    let height = usize::from(body.height).saturating_sub(foot.len() + usize::from(!foot.is_empty()));
    let cursor = rows.iter().position(|(i, _)| *i == Some(model.start)).unwrap_or(0);
    let first = layout::first_row(cursor, rows.len(), height);
    for (n, (choice, heading)) in rows.iter().enumerate().skip(first).take(height) {
        let line = Rect { y: body.y + u16::try_from(n - first).unwrap_or(0), height: 1, ..body };
        match choice.and_then(|i| choices.get(i)) {
            None => paint.title(line, heading, false),
            Some((name, about, _)) => {
                let selected = *choice == Some(model.start);
                if selected {
                    paint.text(line.x + 1, line.y, 1, ">", Role::Figure);
                    paint.set_cursor(line.x + 3, line.y);
                }
                let role = if selected { Role::Selected } else { Role::Figure };
                paint.text(line.x + 3, line.y, 22, name, role);
                paint.text(line.x + 27, line.y, line.width.saturating_sub(27), about, Role::Text);
            }
        }
    }
    paint.hidden(body, first, rows.len().saturating_sub(first + height));
}
