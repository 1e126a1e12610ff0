//! Picking from a field's choices: arrow keys, and typing to narrow.

use crate::arrange::Arrange;
use crate::plan::{FieldPath, Meta, Record, entry};
use crate::standards::fuse::trade_words;
use crate::standards::kinds::other_names;
use crate::tui::bench::Equipment;

/// A field with more choices than this is picked from a list.
const MOST_TYPED: usize = 4;

/// The choices of an open field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChoiceList {
    /// What may be typed, and what stands beside it.
    rows: Vec<(String, String)>,
    pub cursor: usize,
    /// The row of the value as it stands.
    at_rest: usize,
}

impl ChoiceList {
    /// The list of a field, cursor on its value; none where typing is as quick.
    #[must_use]
    pub fn of(root: &dyn Record, at: &FieldPath, meta: &Meta, now: &str) -> Option<Self> {
        let choices = entry::choices(root, at).filter(|all| all.len() > MOST_TYPED)?;
        let called = |word: &str| trade_words(word).first().copied().unwrap_or("").to_string();
        let mut rows: Vec<(String, String)> = choices
            .into_iter()
            .map(|word| {
                let beside = called(&word);
                (word, beside)
            })
            .collect();
        if meta.unknown {
            rows.push(("?".into(), "not known".into()));
        }
        if meta.absent {
            rows.push((String::new(), "none".into()));
        }
        let cursor = rows.iter().position(|(word, _)| word == now).unwrap_or(0);
        Some(Self { rows, cursor, at_rest: cursor })
    }

    /// With what stands beside names: what each thing is.
    pub fn described(&mut self, things: Vec<Equipment>) {
        for thing in things {
            if let Some(row) = self.rows.iter_mut().find(|row| row.0 == thing.id) {
                row.1 = thing.text;
            }
        }
    }

    /// The rows that fit what is typed: first what is named so, then what begins with it, then what holds it.
    #[must_use]
    pub fn fitting(&self, typed: Option<&str>) -> Vec<&(String, String)> {
        let Some(typed) = typed.map(str::trim).filter(|t| !t.is_empty()) else { return self.rows.iter().collect() };
        let wanted = bones(typed);
        let rank = |row: &(String, String)| {
            if typed == "?" || row.0.is_empty() || row.0 == "?" {
                return if row.0 == typed { Some(0) } else { None };
            }
            // By its own word or by what the trade calls it.
            let names =
                std::iter::once(row.0.as_str()).chain(trade_words(&row.0).iter().chain(other_names(&row.0)).copied());
            let names = names.map(bones);
            let fits = |own: String| {
                let has_words = typed.split_whitespace().all(|word| own.contains(&bones(word)));
                match () {
                    () if own == wanted => Some(0),
                    () if own.starts_with(&wanted) => Some(1),
                    () if has_words => Some(2),
                    () => None,
                }
            };
            let is_called = || format!(" {}", row.1).to_lowercase().contains(&format!(" {}", typed.to_lowercase()));
            names.filter_map(fits).min().or_else(|| is_called().then_some(3))
        };
        let mut found: Vec<_> = self.rows.iter().filter_map(|row| Some((rank(row)?, row))).collect();
        found.arrange_by_key(|(rank, _)| *rank);
        found.into_iter().map(|(_, row)| row).collect()
    }

    /// After the text has changed: the first row, or where nothing is left of it the empty one or the value as it stands.
    pub fn narrowed(&mut self, typed: &str) {
        let empty = self.rows.iter().position(|(word, _)| word.is_empty());
        self.cursor = if typed.trim().is_empty() { empty.unwrap_or(self.at_rest) } else { 0 };
    }

    /// Marks the row before or after, round the ends; `rows` at a time it stops there.
    pub fn mark(&mut self, typed: Option<&str>, down: bool, rows: usize) {
        let count = self.fitting(typed).len();
        let last = count.saturating_sub(1);
        let at = self.cursor.min(last);
        self.cursor = match (down, rows) {
            (true, 1) if at == last => 0,
            (false, 1) if at == 0 => last,
            (true, n) => (at + n).min(last),
            (false, n) => at.saturating_sub(n),
        };
    }

    /// The text of the marked row.
    #[must_use]
    pub fn marked(&self, typed: Option<&str>) -> Option<String> {
        self.fitting(typed).get(self.cursor).map(|row| row.0.clone())
    }
}

/// Letters and digits only, lower case.
fn bones(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}
