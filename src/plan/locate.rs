//! Where in the text of a file a field stands.
//!
//! A small forgiving scanner of the same notation: it finds places in files that cannot be read, too, and never
//! fails.

use super::path::FieldPath;

/// Deeper nesting than any plan has; below it the scanner skips.
const DEEPEST: usize = 24;

/// One field or list item and where it stands, in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Place {
    /// With the ids of items: `runs.W2.gauge`.
    pub(super) path: String,
    /// With the numbers of items: `runs.0.gauge`; unique where ids are not.
    pub(super) slot: String,
    /// Where its name starts (its value, for an item of a list).
    pub(super) key: usize,
    /// Where its value starts.
    pub(super) value: usize,
}

/// Every field and item of the text, in its order.
pub(super) fn places(text: &str) -> Vec<Place> {
    let mut scanner = Scanner { text: text.as_bytes(), at: 0, found: Vec::new() };
    scanner.value("", "", 0);
    scanner.found
}

/// Line and column (from 1, in characters) of a field's value; of the nearest thing above it that is in the text.
#[must_use]
pub fn locate(text: &str, path: &FieldPath) -> Option<(usize, usize)> {
    let places = places(text);
    let mut path = path.clone();
    while !path.as_str().is_empty() {
        if let Some(place) = places.iter().find(|p| p.path == path.as_str()) {
            return Some(line_column(text, place.value));
        }
        path = path.split_last().0;
    }
    None
}

/// The field at a byte of the text: the last one that starts before it.
pub(super) fn path_at(text: &str, byte: usize) -> Option<FieldPath> {
    let places = places(text);
    let last = places.iter().filter(|p| p.key <= byte).max_by_key(|p| p.key)?;
    Some(FieldPath::new(last.path.as_str()))
}

/// Line and column of a byte, from 1, the column in characters.
pub(super) fn line_column(text: &str, byte: usize) -> (usize, usize) {
    let byte = (0..=byte.min(text.len())).rev().find(|b| text.is_char_boundary(*b)).unwrap_or(0);
    let before = text.get(..byte).unwrap_or_default();
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    (line, column)
}

struct Scanner<'a> {
    text: &'a [u8],
    at: usize,
    found: Vec<Place>,
}

impl Scanner<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    fn starts(&self, what: &[u8]) -> bool {
        self.text.get(self.at..).is_some_and(|rest| rest.starts_with(what))
    }

    /// Skips blanks and comments.
    fn blanks(&mut self) {
        loop {
            match self.peek() {
                Some(b' ' | b'\t' | b'\r' | b'\n') => self.at += 1,
                Some(b'/') if self.starts(b"//") => {
                    while self.peek().is_some_and(|b| b != b'\n') {
                        self.at += 1;
                    }
                }
                Some(b'/') if self.starts(b"/*") => {
                    let mut depth = 0;
                    while self.at < self.text.len() {
                        if self.starts(b"/*") {
                            depth += 1;
                            self.at += 2;
                        } else if self.starts(b"*/") {
                            depth -= 1;
                            self.at += 2;
                            if depth == 0 {
                                break;
                            }
                        } else {
                            self.at += 1;
                        }
                    }
                }
                _ => return,
            }
        }
    }

    fn value(&mut self, path: &str, slot: &str, depth: usize) {
        self.blanks();
        match self.peek() {
            Some(b'(') if depth < DEEPEST => self.fields(path, slot, depth),
            Some(b'[') if depth < DEEPEST => self.items(path, slot, depth),
            _ => self.scalar(),
        }
    }

    fn fields(&mut self, path: &str, slot: &str, depth: usize) {
        self.at += 1;
        loop {
            self.blanks();
            match self.peek() {
                None => return,
                Some(b')') => {
                    self.at += 1;
                    return;
                }
                Some(b',') => self.at += 1,
                Some(b) if b.is_ascii_alphabetic() || b == b'_' => {
                    let key = self.at;
                    while self.peek().is_some_and(|b| b.is_ascii_alphanumeric() || b == b'_') {
                        self.at += 1;
                    }
                    let name = String::from_utf8_lossy(&self.text[key..self.at]).into_owned();
                    self.blanks();
                    if self.peek() == Some(b':') {
                        self.at += 1;
                        self.blanks();
                        let (path, slot) = (join(path, &name), join(slot, &name));
                        self.found.push(Place { path: path.clone(), slot: slot.clone(), key, value: self.at });
                        self.value(&path, &slot, depth + 1);
                    } else {
                        self.scalar();
                    }
                }
                Some(_) => {
                    let before = self.at;
                    self.scalar();
                    self.at = self.at.max(before + 1);
                }
            }
        }
    }

    fn items(&mut self, path: &str, slot: &str, depth: usize) {
        self.at += 1;
        let mut index = 0;
        loop {
            self.blanks();
            match self.peek() {
                None => return,
                Some(b']') => {
                    self.at += 1;
                    return;
                }
                Some(b',') => self.at += 1,
                Some(_) => {
                    let before = self.at;
                    self.item(path, slot, index, depth);
                    index += 1;
                    self.at = self.at.max(before + 1);
                }
            }
        }
    }

    /// An item is scanned under its number; once its id is known its fields are renamed.
    fn item(&mut self, path: &str, slot: &str, index: usize, depth: usize) {
        let first = self.found.len();
        let start = self.at;
        let number = join(path, &index.to_string());
        self.found.push(Place { path: number.clone(), slot: join(slot, &index.to_string()), key: start, value: start });
        self.value(&number, &join(slot, &index.to_string()), depth + 1);
        let id_path = join(&number, "id");
        let id = self.found[first..].iter().find(|p| p.path == id_path).and_then(|p| quoted(self.text, p.value));
        if let Some(id) = id {
            let named = join(path, &id);
            for place in &mut self.found[first..] {
                if let Some(rest) = place.path.strip_prefix(&number) {
                    place.path = format!("{named}{rest}");
                }
            }
        }
    }

    /// Skips anything up to the next comma or closing bracket of this level.
    fn scalar(&mut self) {
        let mut depth = 0_usize;
        loop {
            self.blanks();
            match self.peek() {
                None => return,
                Some(b'"') => self.string(),
                Some(b'r') if self.starts(b"r\"") || self.starts(b"r#") => self.raw_string(),
                Some(b'\'') => self.character(),
                Some(b'(' | b'[' | b'{') => {
                    depth += 1;
                    self.at += 1;
                }
                Some(b')' | b']' | b'}') => {
                    if depth == 0 {
                        return;
                    }
                    depth -= 1;
                    self.at += 1;
                }
                Some(b',') if depth == 0 => return,
                Some(_) => self.at += 1,
            }
        }
    }

    fn string(&mut self) {
        self.at += 1;
        while let Some(b) = self.peek() {
            self.at += if b == b'\\' { 2 } else { 1 };
            if b == b'"' {
                return;
            }
        }
    }

    fn raw_string(&mut self) {
        self.at += 1;
        let hashes = self.text[self.at..].iter().take_while(|b| **b == b'#').count();
        self.at += hashes;
        if self.peek() != Some(b'"') {
            return;
        }
        self.at += 1;
        while let Some(b) = self.peek() {
            self.at += 1;
            let rest = &self.text[self.at..];
            if b == b'"' && rest.len() >= hashes && rest[..hashes].iter().all(|b| *b == b'#') {
                self.at += hashes;
                return;
            }
        }
    }

    /// A quoted character; a lone quote is skipped.
    fn character(&mut self) {
        let end = self.text[self.at + 1..].iter().take(6).position(|b| *b == b'\'');
        self.at += end.map_or(1, |e| e + 2);
    }
}

fn join(path: &str, next: &str) -> String {
    if path.is_empty() { next.to_string() } else { format!("{path}.{next}") }
}

/// A short quoted text without escapes, at a byte.
fn quoted(text: &[u8], at: usize) -> Option<String> {
    let rest = text.get(at..)?.strip_prefix(b"\"")?;
    let end = rest.iter().take(64).position(|b| *b == b'"')?;
    String::from_utf8(rest.get(..end)?.to_vec()).ok()
}
