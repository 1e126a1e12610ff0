//! A box with a heading, rows to choose from, and lines about the marked row that keep their place.

use ratatui::layout::Rect;

use crate::tui::layout;
use crate::tui::theme::Role;

use super::paint::Paint;

/// Width of the screen from which wide columns are shown.
pub(super) const WIDE: u16 = 104;

/// One cell with its column's heading.
pub(super) struct Cell {
    head: &'static str,
    width: usize,
    text: String,
    is_left: bool,
}

/// A cell whose text ends at the right.
pub(super) fn right(head: &'static str, width: usize, text: impl Into<String>) -> Cell {
    Cell { head, width, text: text.into(), is_left: false }
}

/// A cell whose text begins at the left; what does not fit ends in `~`.
pub(super) fn left(head: &'static str, width: usize, text: impl Into<String>) -> Cell {
    Cell { head, width, text: text.into(), is_left: true }
}

fn clipped(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_string();
    }
    let mut short: String = text.chars().take(width.saturating_sub(1)).collect();
    // Between words, where that leaves most of it: a number that is cut reads as another.
    if let Some(end) =
        short.rfind(' ').filter(|end| !text.get(short.len()..).unwrap_or("").starts_with(' ') && end * 2 > width)
    {
        short.truncate(end);
    }
    short.push('~');
    short
}

fn joined<'a>(cells: &'a [Cell], of: impl Fn(&'a Cell) -> &'a str) -> String {
    let each = cells.iter().map(|c| {
        let (text, width) = (clipped(of(c), c.width), c.width);
        if c.is_left { format!("{text:<width$}") } else { format!("{text:>width$}") }
    });
    each.collect::<Vec<_>>().join(" ")
}

/// Takes columns out, those named first before the others, until a row has no more than so many columns of text.
pub(super) fn narrow(cells: &mut Vec<Cell>, room: usize, order: &[&str]) {
    let width = |cells: &[Cell]| cells.iter().map(|c| c.width + 1).sum::<usize>();
    for head in order {
        if width(cells) <= room {
            return;
        }
        cells.retain(|c| c.head != *head);
    }
}

/// Makes a column as wide as its longest text: a number that is cut reads as another.
pub(super) fn widen(rows: &mut [Vec<Cell>], head: &str) {
    let cells = || rows.iter().flatten().filter(|c| c.head == head);
    let most = cells().map(|c| c.text.chars().count()).max().unwrap_or(0);
    for cell in rows.iter_mut().flatten().filter(|c| c.head == head) {
        cell.width = cell.width.max(most);
    }
}

/// The row as text, its mark before it.
pub(super) fn row(mark: bool, cells: &[Cell]) -> String {
    format!("{}{}", if mark { "*" } else { " " }, joined(cells, |c| &c.text))
}

/// The headings of a row's columns.
pub(super) fn heading(cells: &[Cell]) -> String {
    format!(" {}", joined(cells, |c| c.head))
}

/// What a table shows.
pub(super) struct Table<'a> {
    pub(super) title: &'a str,
    pub(super) heading: String,
    pub(super) rows: Vec<String>,
    pub(super) cursor: usize,
    /// Below the rows; as many lines as there is room for.
    pub(super) about: Vec<(String, Role)>,
    /// Lines kept for `about`, whether it fills them or not.
    pub(super) about_rows: usize,
}

/// Draws a table.
pub(super) fn draw(paint: &mut Paint, area: Rect, table: &Table<'_>) {
    let widest = table.rows.iter().map(|r| r.chars().count()).max().unwrap_or(0);
    // As wide as the text below the rows is wrapped, so that none of it is cut.
    let columns = widest.max(table.heading.chars().count()).max(usize::from(area.width.saturating_sub(6)));
    let inside = paint.boxed_in(area, table.title, columns, table.rows.len() + 1 + table.about_rows);
    let height = usize::from(inside.height);
    if height == 0 {
        return;
    }
    paint.text(inside.x, inside.y, inside.width, &table.heading, Role::Heading);
    let about = table.about_rows.min(height.saturating_sub(2));
    let shown = height.saturating_sub(1 + about);
    let first = layout::first_row(table.cursor, table.rows.len(), shown);
    let line = |n: usize| inside.y + u16::try_from(n).unwrap_or(0);
    for (i, text) in table.rows.iter().enumerate().skip(first).take(shown) {
        let y = line(1 + i - first);
        let role = if i == table.cursor { Role::Selected } else { Role::Text };
        paint.text(inside.x, y, inside.width, text, role);
        if i == table.cursor {
            paint.set_cursor(inside.x, y);
        }
    }
    let below = shown.min(table.rows.len());
    for (n, (text, role)) in table.about.iter().take(about).enumerate() {
        paint.text(inside.x, line(1 + below + n), inside.width, text, *role);
    }
    let top = Rect { y: inside.y.saturating_sub(1), height: 1, ..inside };
    paint.hidden(top, first, table.rows.len().saturating_sub(first + shown));
}
