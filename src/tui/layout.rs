//! Size -> rectangles, shared by update and view.

use ratatui::layout::Rect;

use super::words::LEAST_SIZE;

/// Lines of the results pane.
pub const RESULT_LINES: usize = 15;

/// Whether a screen is large enough to draw on.
#[must_use]
pub fn is_large_enough(columns: u16, rows: u16) -> bool {
    columns >= LEAST_SIZE.0 && rows >= LEAST_SIZE.1
}

/// The frame every screen shares.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame {
    pub header: Rect,
    pub body: Rect,
    /// The open field's help, or the newest message; on the Bench the selected thing's answer below it.
    pub help: Rect,
    pub footer: Rect,
}

/// Header, body, so many help lines, footer.
#[must_use]
pub fn frame(area: Rect, help: u16) -> Frame {
    let body = area.height.saturating_sub(2 + help);
    let at = |y: u16, height: u16| Rect { x: area.x, y: area.y + y, width: area.width, height };
    Frame { header: at(0, 1), body: at(1, body), help: at(1 + body, help), footer: at(1 + body + help, 1) }
}

/// The panes of the Bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bench {
    pub equipment: Rect,
    /// Stands beside the equipment, or below it on a narrow screen.
    pub results: Rect,
    pub runs: Rect,
    /// What is known of the selected thing; empty where there is no room.
    pub detail: Rect,
}

/// Fewest rows of detail worth showing, its title included.
const LEAST_DETAIL: u16 = 5;
/// Fewest columns for two panes beside each other.
pub const LEAST_BESIDE: u16 = 64;

/// Divides the Bench's body among its panes.
#[must_use]
pub fn bench(body: Rect, equipment: usize, runs: usize) -> Bench {
    let count = |n: usize| u16::try_from(n).unwrap_or(u16::MAX);
    let rect = |x: u16, y: u16, width: u16, height: u16| Rect { x: body.x + x, y: body.y + y, width, height };
    if body.width < LEAST_BESIDE {
        let top = body.height / 4;
        let middle = (body.height / 3).min(body.height - top);
        let rest = body.height - top - middle;
        return Bench {
            equipment: rect(0, 0, body.width, top),
            results: rect(0, top, body.width, middle),
            runs: rect(0, top + middle, body.width, rest),
            detail: rect(0, body.height, body.width, 0),
        };
    }
    // The results that matter most need ten rows; on a tall screen all have theirs, and the top may grow with the equipment.
    let is_tall = body.height > 30;
    let all = count(RESULT_LINES) + 1;
    let wanted = count(equipment).saturating_add(1).max(if is_tall { all } else { 11 });
    let top = wanted.min(if is_tall { all + 1 } else { 11 }).min(body.height / 2);
    let wanted_runs = count(runs).saturating_add(2).max(5);
    // Where the runs and a detail leave rows over, all of the equipment is shown.
    let over = body.height.saturating_sub(wanted_runs).saturating_sub(LEAST_DETAIL + 3);
    let top = if is_tall { top.max(count(equipment).saturating_add(1).min(over)) } else { top };
    // Rows that the runs do not need go to the results.
    let slack = body.height.saturating_sub(top).saturating_sub(wanted_runs);
    let top = if slack < LEAST_DETAIL + 4 { top + slack.min((all + 1).saturating_sub(top)) } else { top };
    let below = body.height - top;
    let detail = below.saturating_sub(wanted_runs.min(below));
    let detail = if detail >= LEAST_DETAIL {
        detail
    } else if is_tall {
        below.min(7)
    } else {
        0
    };
    let left = (body.width.saturating_mul(9) / 20).max(30);
    Bench {
        equipment: rect(0, 0, left, top),
        results: rect(left + 1, 0, body.width.saturating_sub(left + 1), top),
        runs: rect(0, top, body.width, below - detail),
        detail: rect(0, top + below - detail, body.width, detail),
    }
}

/// A box over the screen: wide and high enough for its content, never wider than the screen.
#[must_use]
pub fn overlay(area: Rect, columns: usize, rows: usize) -> Rect {
    let most_columns = area.width.saturating_sub(2);
    let most_rows = area.height.saturating_sub(3);
    let width = u16::try_from(columns.saturating_add(4)).unwrap_or(u16::MAX).min(most_columns);
    let height = u16::try_from(rows.saturating_add(2)).unwrap_or(u16::MAX).min(most_rows);
    Rect { x: area.x + (area.width - width) / 2, y: area.y + 1 + (most_rows - height) / 2, width, height }
}

/// Lines of a text that a place for so many shows at once: where it does not hold all, the last says what is left.
#[must_use]
pub fn lines_at_once(count: usize, room: usize) -> usize {
    if count <= room { count } else { room.saturating_sub(1).max(1) }
}

/// The first line shown after so many have been read; the first again after the last.
#[must_use]
pub fn next_lines(first: usize, count: usize, room: usize) -> usize {
    let shown = lines_at_once(count, room);
    let last = count - shown;
    if first >= last { 0 } else { (first + shown).min(last) }
}

/// Rows a page key moves by on a screen.
#[must_use]
pub fn page_rows(size: (u16, u16)) -> usize {
    usize::from(size.1.saturating_sub(6)).max(1)
}

/// Rows a page key moves by in a box.
#[must_use]
pub fn overlay_rows(size: (u16, u16)) -> usize {
    usize::from(size.1.saturating_sub(9)).max(1)
}

/// The first row shown so that the cursor's row is in view; it follows from the cursor alone.
#[must_use]
pub fn first_row(cursor: usize, count: usize, height: usize) -> usize {
    if count <= height { 0 } else { cursor.saturating_sub(height / 2).min(count - height) }
}

/// Lines that a full-height box shows.
#[must_use]
pub fn overlay_lines(size: (u16, u16)) -> usize {
    usize::from(size.1.saturating_sub(5)).max(1)
}
