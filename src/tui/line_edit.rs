//! One line of text being typed: a text and a cursor between graphemes.

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// The longest text a line takes, bytes.
pub const LONGEST: usize = 4000;
/// How what was pasted is spoken of where it is refused: in an open field that is said where the eye is.
pub const PASTED: &str = "pasted text";

/// A line of text with a cursor.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineEdit {
    text: String,
    /// Byte offset, always on a grapheme's boundary.
    cursor: usize,
    /// Whether the first thing typed replaces the text.
    fresh: bool,
    /// Whether it was typed itself, so that erasing takes one at a time.
    typed: bool,
}

impl LineEdit {
    /// A line whose text is replaced by the first thing typed.
    pub fn replacing(text: impl Into<String>) -> Self {
        let text = text.into();
        Self { cursor: text.len(), fresh: !text.is_empty(), typed: false, text }
    }

    /// A line to go on typing.
    pub fn with(text: impl Into<String>) -> Self {
        let text = text.into();
        Self { cursor: text.len(), fresh: false, typed: false, text }
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether the first thing typed replaces the text.
    #[must_use]
    pub fn is_fresh(&self) -> bool {
        self.fresh
    }

    /// The first thing typed shall replace the text, as where it was refused; moving in it keeps it.
    pub fn freshen(&mut self) {
        (self.fresh, self.typed) = (!self.text.is_empty(), true);
    }

    /// Columns before the cursor.
    #[must_use]
    pub fn column(&self) -> usize {
        self.text.get(..self.cursor).map_or(0, UnicodeWidthStr::width)
    }

    /// The part that fits a width with the cursor in it, and the cursor's column there.
    #[must_use]
    pub fn window(&self, width: usize) -> (&str, usize) {
        if width == 0 {
            return ("", 0);
        }
        let mut start = 0;
        let mut before = self.column();
        for (i, g) in self.text.grapheme_indices(true) {
            if before < width {
                break;
            }
            start = i + g.len();
            before = before.saturating_sub(g.width());
        }
        (self.text.get(start..).unwrap_or(""), before.min(width.saturating_sub(1)))
    }

    /// Types a text at the cursor; control characters are dropped. What makes the line too long is refused whole; whether it was taken.
    pub fn insert(&mut self, text: &str) -> bool {
        let clean: String =
            text.chars().map(|c| if matches!(c, '\n' | '\t') { ' ' } else { c }).filter(|c| !c.is_control()).collect();
        let stays = if self.fresh { 0 } else { self.text.len() };
        if stays + clean.len() > LONGEST {
            return false;
        }
        if std::mem::take(&mut self.fresh) {
            self.erase_all();
        }
        self.text.insert_str(self.cursor, &clean);
        self.cursor += clean.len();
        self.settle();
        true
    }

    /// A combining mark may have joined what stood before it: the cursor moves to a boundary.
    fn settle(&mut self) {
        let at = self.cursor;
        self.cursor = self
            .text
            .grapheme_indices(true)
            .map(|(i, _)| i)
            .chain([self.text.len()])
            .find(|i| *i >= at)
            .unwrap_or(self.text.len());
    }

    fn before(&self) -> usize {
        self.text.get(..self.cursor).and_then(|t| t.grapheme_indices(true).next_back()).map_or(0, |(i, _)| i)
    }

    fn after(&self) -> usize {
        self.text
            .get(self.cursor..)
            .and_then(|t| t.graphemes(true).next())
            .map_or(self.text.len(), |g| self.cursor + g.len())
    }

    /// Cursor left.
    pub fn left(&mut self) {
        self.fresh = false;
        self.cursor = self.before();
    }

    /// Cursor right.
    pub fn right(&mut self) {
        self.fresh = false;
        self.cursor = self.after();
    }

    /// Cursor to the start.
    pub fn home(&mut self) {
        self.fresh = false;
        self.cursor = 0;
    }

    /// Cursor to the end.
    pub fn end(&mut self) {
        self.fresh = false;
        self.cursor = self.text.len();
    }

    /// Erases to the left: one grapheme, or all where the text is fresh.
    pub fn erase_left(&mut self) {
        if self.fresh && !self.typed {
            return self.erase_all();
        }
        self.fresh = false;
        let from = self.before();
        self.text.drain(from..self.cursor);
        self.cursor = from;
        self.settle();
    }

    /// Erases to the right.
    pub fn erase_right(&mut self) {
        self.fresh = false;
        let to = self.after();
        self.text.drain(self.cursor..to);
        self.settle();
    }

    /// Erases the word before the cursor.
    pub fn erase_word(&mut self) {
        self.fresh = false;
        let head = self.text.get(..self.cursor).unwrap_or("").trim_end();
        let from =
            head.rfind(char::is_whitespace).map_or(0, |i| i + head[i..].chars().next().map_or(1, char::len_utf8));
        self.text.drain(from..self.cursor);
        self.cursor = from;
        self.settle();
    }

    /// Erases everything.
    pub fn erase_all(&mut self) {
        self.fresh = false;
        self.text.clear();
        self.cursor = 0;
    }
}
