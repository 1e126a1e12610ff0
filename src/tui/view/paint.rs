//! Text into cells: clipped, never panicking, at any size.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

use crate::tui::layout::lines_at_once;
use crate::tui::line_edit::LineEdit;
use crate::tui::theme::{Role, Theme};

/// The cells, the theme, and where the real cursor goes.
pub(super) struct Paint<'a> {
    buffer: &'a mut Buffer,
    area: Rect,
    pub(super) theme: Theme,
    cursor: Option<(u16, u16)>,
}

impl<'a> Paint<'a> {
    pub(super) fn new(buffer: &'a mut Buffer, area: Rect, theme: Theme) -> Self {
        Self { buffer, area, theme, cursor: None }
    }

    /// Where the real cursor goes.
    pub(super) fn cursor(&self) -> Option<(u16, u16)> {
        self.cursor
    }

    /// Puts the real cursor on a cell; the last one to ask has it.
    pub(super) fn set_cursor(&mut self, x: u16, y: u16) {
        if self.area.contains(Position { x, y }) {
            self.cursor = Some((x, y));
        }
    }

    /// Text in at most `width` columns; returns the columns used. What does not fit ends in `~`.
    pub(super) fn text(&mut self, x: u16, y: u16, width: u16, text: &str, role: Role) -> u16 {
        let style = self.theme.style(role);
        self.styled(x, y, width, text, style)
    }

    fn styled(&mut self, x: u16, y: u16, width: u16, text: &str, style: Style) -> u16 {
        if y < self.area.y || y >= self.area.bottom() || x < self.area.x || x >= self.area.right() {
            return 0;
        }
        let width = usize::from(width.min(self.area.right() - x));
        let fits = text.width() <= width;
        let room = if fits { width } else { width.saturating_sub(1) };
        let mut used = 0;
        let mut put = String::new();
        for g in text.graphemes(true) {
            let g = if g.chars().any(char::is_control) { " " } else { g };
            if used + g.width() > room {
                break;
            }
            used += g.width();
            put.push_str(g);
        }
        if !fits && width > 0 {
            put.push('~');
            used += 1;
        }
        self.buffer.set_stringn(x, y, &put, width, style);
        u16::try_from(used).unwrap_or(width as u16)
    }

    /// Text that ends at the right of `width` columns.
    pub(super) fn right(&mut self, x: u16, y: u16, width: u16, text: &str, role: Role) {
        let used = u16::try_from(text.width()).unwrap_or(u16::MAX);
        let pad = width.saturating_sub(used);
        self.text(x.saturating_add(pad), y, width - pad, text, role);
    }

    /// Gives cells that are painted a role's looks.
    pub(super) fn mark(&mut self, x: u16, y: u16, width: u16, role: Role) {
        let style = self.theme.style(role);
        let cells = Rect { x, y, width, height: 1 }.intersection(self.area);
        self.buffer.set_style(cells, style);
    }

    /// Makes cells blank.
    pub(super) fn clear(&mut self, area: Rect) {
        let blank = " ".repeat(usize::from(area.width));
        for y in area.y..area.bottom() {
            self.styled(area.x, y, area.width, &blank, Style::reset());
        }
    }

    /// A pane's title with a line to its right.
    pub(super) fn title(&mut self, area: Rect, title: &str, focused: bool) {
        let line = self.theme.line().repeat(usize::from(area.width));
        self.text(area.x, area.y, area.width, &line, Role::Text);
        let role = if focused { Role::FocusHeading } else { Role::Heading };
        self.text(area.x, area.y, area.width, &format!(" {title} "), role);
    }

    /// Says at the right end of a title how much is hidden.
    pub(super) fn hidden(&mut self, area: Rect, above: usize, below: usize) {
        let said = match (above, below) {
            (0, 0) => return,
            (0, b) => format!(" {b} more below "),
            (a, 0) => format!(" {a} more above "),
            (a, b) => format!(" {a} more above, {b} below "),
        };
        let width = u16::try_from(said.len()).unwrap_or(0).min(area.width);
        self.text(area.right() - width, area.y, width, &said, Role::Heading);
    }

    /// A box with a title; returns its inside.
    pub(super) fn boxed(&mut self, area: Rect, title: &str) -> Rect {
        self.clear(area);
        if area.width < 2 || area.height < 2 {
            return Rect { width: 0, height: 0, ..area };
        }
        let [top_left, top_right, bottom_left, bottom_right] = self.theme.corners();
        let line = self.theme.line().repeat(usize::from(area.width - 2));
        let (bar, last) = (self.theme.bar(), area.bottom() - 1);
        self.text(area.x, area.y, area.width, &format!("{top_left}{line}{top_right}"), Role::Text);
        self.text(area.x, last, area.width, &format!("{bottom_left}{line}{bottom_right}"), Role::Text);
        for y in area.y + 1..last {
            self.text(area.x, y, 1, bar, Role::Text);
            self.text(area.right() - 1, y, 1, bar, Role::Text);
        }
        let width = area.width.saturating_sub(4);
        self.text(area.x + 2, area.y, width, &format!(" {title} "), Role::FocusHeading);
        Rect { x: area.x + 2, y: area.y + 1, width: area.width.saturating_sub(4), height: area.height - 2 }
    }

    /// A box over the screen, as large as its content; returns its inside.
    pub(super) fn boxed_in(&mut self, area: Rect, title: &str, columns: usize, rows: usize) -> Rect {
        let outside = crate::tui::layout::overlay(area, columns, rows);
        self.boxed(outside, title)
    }

    /// A line being typed, with the real cursor in it.
    pub(super) fn line_edit(&mut self, x: u16, y: u16, width: u16, line: &LineEdit) {
        if width == 0 {
            return;
        }
        let (text, column) = line.window(usize::from(width));
        let mut shown = String::new();
        for g in text.graphemes(true) {
            if shown.width() + g.width() > usize::from(width) {
                break;
            }
            shown.push_str(g);
        }
        let pad = usize::from(width).saturating_sub(shown.width());
        shown.push_str(&" ".repeat(pad));
        let role = if line.is_fresh() { Role::Selected } else { Role::Editing };
        self.text(x, y, width, &shown, role);
        self.set_cursor(x + u16::try_from(column).unwrap_or(0), y);
    }
}

/// So many lines of a text as a place holds, from one on; where there are more the last says how many, and the key to them.
pub(super) fn paged(lines: &[(String, Role)], room: usize, first: usize, lead: &str) -> Vec<(String, Role)> {
    let shown = lines_at_once(lines.len(), room);
    let first = first.min(lines.len() - shown);
    let mut page: Vec<(String, Role)> = lines.iter().skip(first).take(shown).cloned().collect();
    if shown < lines.len() && room > 1 {
        let left = lines.len() - first - shown;
        page.push((
            match left {
                0 => format!("{lead}that is all; Space: from the first line"),
                1 => format!("{lead}1 more line: Space"),
                n => format!("{lead}{n} more lines: Space"),
            },
            Role::Text,
        ));
    }
    page
}

/// Breaks a text into lines of at most `width` columns, at spaces where it can.
pub(super) fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in paragraph.split(' ') {
            if !line.is_empty() && line.width() + 1 + word.width() > width {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            for g in word.graphemes(true) {
                if line.width() + g.width() > width {
                    lines.push(std::mem::take(&mut line));
                }
                line.push_str(g);
            }
        }
        lines.push(line);
    }
    lines
}

/// Lines with those broken that are wider than `width`.
pub(super) fn wrapped(lines: Vec<(String, Role)>, width: usize) -> Vec<(String, Role)> {
    let each = lines.into_iter().flat_map(|(text, role)| {
        let parts = if text.width() > width || text.contains('\n') { wrap(&text, width) } else { vec![text] };
        parts.into_iter().map(move |part| (part, role))
    });
    each.collect()
}
