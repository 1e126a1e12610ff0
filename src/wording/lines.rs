//! Text in lines that fit any terminal.

use std::borrow::Cow;

use unicode_width::UnicodeWidthStr;

/// Columns of a dumb terminal, less one so that no terminal wraps by itself.
pub const COLUMNS: usize = 79;

/// Units that stay on the line of their number.
const UNITS: [&str; 24] = [
    "A", "kA", "V", "mV", "W", "Wh", "kWh", "Wh/d", "Wh/day", "Ah", "F", "C", "%", "m", "mm", "mm2", "kg", "lb", "N",
    "lbf", "ohm", "mohm", "h", "AWG",
];

/// Adds words to the text, broken into lines of at most 79 columns: the first after `first`, the others after as many
/// spaces. No line ends within a number or before its unit. A word longer than a line stands whole on its own.
pub fn wrap(out: &mut String, first: &str, text: &str) {
    let indent = first.width();
    out.push_str(first);
    let plain = plain(text);
    let text = plain.as_ref();
    let mut column = indent;
    let mut fresh = true;
    let words: Vec<&str> = text.split_whitespace().collect();
    for together in words.chunk_by(|a, b| stays_with(a, b)) {
        let width = together.iter().map(|word| word.width() + 1).sum::<usize>() - 1;
        if !fresh && column + 1 + width > COLUMNS {
            out.push('\n');
            out.extend(std::iter::repeat_n(' ', indent));
            column = indent;
            fresh = true;
        }
        for word in together {
            if !fresh {
                out.push(' ');
                column += 1;
            }
            out.push_str(word);
            column += word.width();
            fresh = false;
        }
    }
    out.push('\n');
}

/// The text without what would steer a terminal or a printer; lines stay.
#[must_use]
pub fn plain(text: &str) -> Cow<'_, str> {
    let steers = |c: char| c.is_control() && c != '\n';
    if text.contains(steers) { text.replace(steers, " ").into() } else { text.into() }
}

/// Whether a word belongs to the number before it: thousands set apart, or its unit.
fn stays_with(before: &str, word: &str) -> bool {
    let number = before.trim_start_matches(['(', '[', '-', '+']);
    if number.is_empty() || !number.chars().all(|c| c.is_ascii_digit() || c == '.') {
        return false;
    }
    let digits = word.chars().take_while(char::is_ascii_digit).count();
    let is_rest = digits == 3 && !word.chars().nth(3).is_some_and(char::is_alphanumeric);
    let is_thousands = number.len() <= 3 && !number.contains('.') && is_rest;
    is_thousands || UNITS.contains(&word.trim_end_matches([',', '.', ';', ':', ')', ']']))
}
