//! Where in the text of a file a field stands.
//!
//! A small forgiving scanner of the same notation: it finds places in files that cannot be read, too, and never
//! fails.

use std::ops::Range;

use super::path::FieldPath;

/// Deeper nesting than any plan has; below it the scanner skips.
const DEEPEST: usize = 24;

/// One field or list item and where it stands, in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Place {
    /// The list or record that it stands in, by its number among the places.
    within: Option<usize>,
    step: Step,
    /// Where its name starts (its value, for an item of a list).
    pub(super) key: usize,
    /// Where its value starts.
    pub(super) value: usize,
}

/// The last step of the way to a place.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Step {
    /// A field: where its name stands.
    Field(Range<usize>),
    /// An item of a list: its number, and where its id stands.
    Item(usize, Option<Range<usize>>),
}

/// The fields and items of a text, in its order. Their names are put together only where somebody asks for them: every plan
/// that is opened is looked through.
#[derive(Debug)]
pub(super) struct Places<'a> {
    text: &'a str,
    pub(super) all: Vec<Place>,
}

/// Every field and item of the text, in its order.
pub(super) fn places(text: &str) -> Places<'_> {
    scan(text, usize::MAX)
}

/// The first field of the text, and nothing behind it.
pub(super) fn first_field(text: &str) -> Option<(String, Place)> {
    let places = scan(text, 1);
    let name = places.slot(0);
    places.all.into_iter().next().map(|place| (name, place))
}

fn scan(text: &str, most: usize) -> Places<'_> {
    let mut scanner = Scanner { text: text.as_bytes(), at: 0, most, found: Vec::new() };
    scanner.value(None, 0);
    Places { text, all: scanner.found }
}

impl Places<'_> {
    /// With the ids of items: `runs.W2.gauge`.
    pub(super) fn path(&self, at: usize) -> String {
        self.way(at, true)
    }

    /// With the numbers of items: `runs.0.gauge`; unique where ids are not.
    pub(super) fn slot(&self, at: usize) -> String {
        self.way(at, false)
    }

    fn way(&self, at: usize, by_id: bool) -> String {
        let Some(place) = self.all.get(at) else { return String::new() };
        let mut way = place.within.map_or_else(String::new, |within| self.way(within, by_id));
        if !way.is_empty() {
            way.push('.');
        }
        match &place.step {
            Step::Field(name) => way.push_str(self.named(name)),
            Step::Item(_, Some(id)) if by_id => way.push_str(self.named(id)),
            Step::Item(number, _) => way.push_str(&number.to_string()),
        }
        way
    }

    fn named(&self, stands: &Range<usize>) -> &str {
        self.text.get(stands.clone()).unwrap_or_default()
    }

    /// Items that have an id: where they are among the places, the list that holds them, the id, and where that stands.
    pub(super) fn with_id(&self) -> impl Iterator<Item = (usize, Option<usize>, &str, usize)> {
        self.all.iter().enumerate().filter_map(|(at, place)| match &place.step {
            Step::Item(_, Some(id)) => Some((at, place.within, self.named(id), id.start.saturating_sub(1))),
            _ => None,
        })
    }
}

/// Line and column (from 1, in characters) of a field's value; of the nearest thing above it that is in the text.
#[must_use]
pub fn locate(text: &str, path: &FieldPath) -> Option<(usize, usize)> {
    let places = places(text);
    let named: Vec<String> = (0..places.all.len()).map(|at| places.path(at)).collect();
    let mut path = path.clone();
    while !path.as_str().is_empty() {
        let found = places.all.iter().zip(&named).find(|(_, name)| *name == path.as_str());
        if let Some((place, _)) = found {
            return Some(line_column(text, place.value));
        }
        path = path.split_last().0;
    }
    None
}

/// The field at a byte of the text: the last one that starts before it.
pub(super) fn path_at(text: &str, byte: usize) -> Option<FieldPath> {
    let places = places(text);
    let before = places.all.iter().enumerate().filter(|(_, p)| p.key <= byte);
    let (last, _) = before.max_by_key(|(_, p)| p.key)?;
    Some(FieldPath::new(places.path(last)))
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
    /// So many are looked for.
    most: usize,
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

    fn value(&mut self, within: Option<usize>, depth: usize) {
        self.blanks();
        match self.peek() {
            Some(b'(') if depth < DEEPEST => self.fields(within, depth),
            Some(b'[') if depth < DEEPEST => self.items(within, depth),
            _ => self.scalar(),
        }
    }

    fn fields(&mut self, within: Option<usize>, depth: usize) {
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
                    let name = key..self.at;
                    self.blanks();
                    if self.peek() == Some(b':') {
                        self.at += 1;
                        self.blanks();
                        if self.text.get(name.clone()) == Some(b"id") {
                            self.known_as(within);
                        }
                        let own = self.found.len();
                        self.found.push(Place { within, step: Step::Field(name), key, value: self.at });
                        if self.found.len() >= self.most {
                            return;
                        }
                        self.value(Some(own), depth + 1);
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

    fn items(&mut self, within: Option<usize>, depth: usize) {
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
                    let own = self.found.len();
                    self.found.push(Place { within, step: Step::Item(index, None), key: before, value: before });
                    self.value(Some(own), depth + 1);
                    index += 1;
                    self.at = self.at.max(before + 1);
                }
            }
        }
    }

    /// The id that stands here is that of the item around it, its first one.
    fn known_as(&mut self, item: Option<usize>) {
        let id = quoted(self.text, self.at);
        if let Some(Place { step: Step::Item(_, known @ None), .. }) = item.and_then(|i| self.found.get_mut(i)) {
            *known = id;
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

/// Where a short quoted text without escapes stands, its quote at a byte.
fn quoted(text: &[u8], at: usize) -> Option<Range<usize>> {
    let rest = text.get(at..)?.strip_prefix(b"\"")?;
    let end = rest.iter().take(64).position(|b| *b == b'"')?;
    Some(at + 1..at + 1 + end)
}
