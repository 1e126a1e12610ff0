//! Terminal bytes to keys and pastes.
//!
//! Written out here, not left to the terminal library, because a slow line may split or join what the library takes
//! to be whole: an arrow key whose bytes arrive apart must stay an arrow key, and Esc followed by another key in one
//! packet must stay two keys (no key here is reached by Alt alone). However the bytes are cut, the keys are the same.

use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// What the bytes meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    Key(KeyEvent),
    /// The Esc before this was the first byte of the key that follows: it was none.
    NoEsc,
    /// Without control characters; line breaks and tabs have become one space each.
    Paste(String),
}

const ESC: u8 = 0x1b;
const PASTE_BEGIN: &[u8] = b"\x1b[200~";
const PASTE_END: &[u8] = b"\x1b[201~";

/// A lone Esc is the Esc key when nothing follows it for so long.
const LONE_ESC: Duration = Duration::from_millis(50);
/// A lone Esc that was taken as the key was none after all where the rest of a sequence comes within so long after it. Neither
/// of the bytes that go on an escape is a key of its own here, so that nobody waits for anything.
const LATE_REST: Duration = Duration::from_secs(1);
/// A sequence or a letter that has begun is given so long to arrive.
const BROKEN_OFF: Duration = Duration::from_millis(500);
/// A paste whose end is lost is taken as it stands after so long.
const PASTE_BROKEN_OFF: Duration = Duration::from_millis(1500);
/// Longer than any key sequence; what exceeds it is noise.
const SEQUENCE_MOST: usize = 32;
/// More of a paste than so much is not kept: no line takes half of it.
const PASTE_MOST: usize = 1 << 20;

/// Bytes that have arrived and do not yet make a key.
#[derive(Debug, Default)]
pub struct Decoder {
    pending: Vec<u8>,
    in_paste: bool,
    /// The last that was given out was a lone Esc, not long ago.
    after_esc: bool,
    /// The first pending byte is an Esc that has been given out as a key.
    is_late: bool,
}

/// What the front of the pending bytes is.
enum Front {
    /// So many bytes, and the key they make, if any.
    Taken(usize, Option<KeyEvent>),
    Paste,
    Incomplete,
}

impl Decoder {
    /// Takes bytes as they arrive; keys they complete go to `out`.
    pub fn feed(&mut self, bytes: &[u8], out: &mut Vec<Input>) {
        if std::mem::take(&mut self.after_esc) && matches!(bytes, [b'[' | b'O', ..]) {
            self.pending.push(ESC);
            self.is_late = true;
        }
        self.pending.extend_from_slice(bytes);
        loop {
            if self.in_paste {
                if !self.end_paste(out) {
                    return;
                }
                continue;
            }
            let front = front(&self.pending);
            if !matches!(front, Front::Incomplete) && std::mem::take(&mut self.is_late) {
                let goes_on = !matches!(&front, Front::Taken(_, None) | Front::Taken(1, _));
                if !goes_on && !matches!(self.pending.as_slice(), [ESC, b'[', b'0'..=b'9', ..]) {
                    // Typed by somebody after Esc.
                    self.pending.remove(0);
                    continue;
                }
                out.push(Input::NoEsc);
            }
            match front {
                Front::Incomplete => return,
                Front::Paste => {
                    self.pending.drain(..PASTE_BEGIN.len());
                    self.in_paste = true;
                }
                Front::Taken(count, key) => {
                    self.pending.drain(..count.min(self.pending.len()));
                    out.extend(key.map(Input::Key));
                }
            }
        }
    }

    /// How long to wait for more before [`Decoder::settle`]; `None`: nothing is pending.
    #[must_use]
    pub fn patience(&self) -> Option<Duration> {
        match (self.in_paste, self.pending.as_slice()) {
            (true, _) => Some(PASTE_BROKEN_OFF),
            (false, []) => self.after_esc.then_some(LATE_REST),
            (false, [ESC]) => Some(LONE_ESC),
            (false, _) => Some(BROKEN_OFF),
        }
    }

    /// Nothing came within [`Decoder::patience`]: decides what the pending bytes were.
    pub fn settle(&mut self, out: &mut Vec<Input>) {
        let pending = std::mem::take(&mut self.pending);
        if std::mem::take(&mut self.in_paste) {
            out.push(Input::Paste(cleaned(&pending)));
        } else if std::mem::take(&mut self.is_late) {
            if let [ESC, c] = pending.as_slice() {
                out.push(Input::Key(typed(char::from(*c))));
            }
        } else {
            self.after_esc = pending == [ESC];
            out.extend(self.after_esc.then(|| Input::Key(key(KeyCode::Esc))));
        }
    }

    /// Whether the end of a paste was found. Of one without an end what is too much goes, none of it as keys.
    fn end_paste(&mut self, out: &mut Vec<Input>) -> bool {
        let end = self.pending.windows(PASTE_END.len()).position(|w| w == PASTE_END);
        let (text_end, taken) = match end {
            Some(at) => (at, at + PASTE_END.len()),
            None => {
                if self.pending.len() > PASTE_MOST {
                    self.pending.drain(PASTE_MOST / 2..self.pending.len() - PASTE_END.len());
                }
                return false;
            }
        };
        let text: Vec<u8> = self.pending.drain(..taken).take(text_end).collect();
        self.in_paste = false;
        out.push(Input::Paste(cleaned(&text)));
        true
    }
}

/// One line of text without control characters.
fn cleaned(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes).replace("\r\n", "\n");
    let spaced = text.replace(['\n', '\r', '\t'], " ");
    let kept: String = spaced.chars().filter(|c| !c.is_control()).collect();
    kept.trim_end().to_string()
}

fn key(code: KeyCode) -> KeyEvent {
    KeyEvent::new(code, KeyModifiers::NONE)
}

fn front(bytes: &[u8]) -> Front {
    match bytes {
        [] | [ESC] => Front::Incomplete,
        [ESC, b'[', rest @ ..] => control_sequence(bytes, rest),
        [ESC, b'O'] => Front::Incomplete,
        [ESC, b'O', last, ..] => match keypad(*last) {
            Some(code) => Front::Taken(3, Some(key(code))),
            None => Front::Taken(1, Some(key(KeyCode::Esc))),
        },
        [ESC, ..] => Front::Taken(1, Some(key(KeyCode::Esc))),
        [b'\r', ..] => one(KeyCode::Enter),
        [b'\t', ..] => one(KeyCode::Tab),
        [0x7f | 0x08, ..] => one(KeyCode::Backspace),
        [0, ..] => with_control(' '),
        [c @ 0x01..=0x1a, ..] => with_control(char::from(c - 1 + b'a')),
        [c @ 0x1c..=0x1f, ..] => with_control(char::from(c - 0x1c + b'4')),
        _ => character(bytes),
    }
}

fn one(code: KeyCode) -> Front {
    Front::Taken(1, Some(key(code)))
}

fn with_control(c: char) -> Front {
    Front::Taken(1, Some(KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL)))
}

/// One UTF-8 character; a byte that cannot begin or go on one is dropped.
fn character(bytes: &[u8]) -> Front {
    let size = match bytes.first() {
        Some(0..=0x7f) => 1,
        Some(0xc2..=0xdf) => 2,
        Some(0xe0..=0xef) => 3,
        Some(0xf0..=0xf4) => 4,
        _ => return Front::Taken(1, None),
    };
    let got = bytes.get(..size.min(bytes.len())).unwrap_or_default();
    match std::str::from_utf8(got) {
        Ok(text) => Front::Taken(size, text.chars().next().filter(|c| !c.is_control()).map(typed)),
        Err(error) if error.error_len().is_none() && got.len() < size => Front::Incomplete,
        Err(_) => Front::Taken(1, None),
    }
}

fn typed(c: char) -> KeyEvent {
    let shift = if c.is_uppercase() { KeyModifiers::SHIFT } else { KeyModifiers::NONE };
    KeyEvent::new(KeyCode::Char(c), shift)
}

/// `ESC [`, parameters, intermediates, one last byte.
///
/// Source: ECMA-48, 5.4.
fn control_sequence(bytes: &[u8], rest: &[u8]) -> Front {
    // The Linux console sends its first five function keys as ESC [ [ A to E.
    if let [b'[', tail @ ..] = rest {
        return match tail {
            [] => Front::Incomplete,
            [c @ b'A'..=b'E', ..] => Front::Taken(4, Some(key(KeyCode::F(c - b'A' + 1)))),
            _ => Front::Taken(4, None),
        };
    }
    let Some(length) = rest.iter().position(|b| !(0x20..=0x3f).contains(b)) else {
        return if rest.len() > SEQUENCE_MOST { Front::Taken(bytes.len(), None) } else { Front::Incomplete };
    };
    if bytes.starts_with(PASTE_BEGIN) {
        return Front::Paste;
    }
    let last = rest.get(length).copied().unwrap_or_default();
    if !(0x40..=0x7e).contains(&last) {
        // Broken off by another key: that key stays.
        return Front::Taken(2 + length, None);
    }
    let text = std::str::from_utf8(rest.get(..length).unwrap_or_default()).unwrap_or_default();
    let mut numbers = text.split(';').map(|n| n.parse::<u8>().ok());
    let first = numbers.next().flatten();
    let modifiers = modifiers(numbers.next().flatten());
    let code = if last == b'~' { first.and_then(numbered) } else { lettered(last) };
    let event = code.map(|code| match code {
        KeyCode::BackTab => KeyEvent::new(code, modifiers | KeyModifiers::SHIFT),
        _ => KeyEvent::new(code, modifiers),
    });
    Front::Taken(3 + length, event)
}

/// Modifiers as keyboards of the xterm kind report them: one more than a sum of 1 shift, 2 alt, 4 control.
fn modifiers(parameter: Option<u8>) -> KeyModifiers {
    let bits = parameter.unwrap_or(1).saturating_sub(1);
    let mut modifiers = KeyModifiers::NONE;
    for (bit, modifier) in [(1, KeyModifiers::SHIFT), (2, KeyModifiers::ALT), (4, KeyModifiers::CONTROL)] {
        if bits & bit != 0 {
            modifiers |= modifier;
        }
    }
    modifiers
}

fn lettered(last: u8) -> Option<KeyCode> {
    Some(match last {
        b'Z' => KeyCode::BackTab,
        _ => return keypad(last),
    })
}

/// The last byte of an application-mode key, also used after `ESC [`.
fn keypad(last: u8) -> Option<KeyCode> {
    Some(match last {
        b'A' => KeyCode::Up,
        b'B' => KeyCode::Down,
        b'C' => KeyCode::Right,
        b'D' => KeyCode::Left,
        b'F' => KeyCode::End,
        b'H' => KeyCode::Home,
        b'M' => KeyCode::Enter,
        b'P'..=b'S' => KeyCode::F(last - b'P' + 1),
        _ => return None,
    })
}

fn numbered(number: u8) -> Option<KeyCode> {
    Some(match number {
        1 | 7 => KeyCode::Home,
        2 => KeyCode::Insert,
        3 => KeyCode::Delete,
        4 | 8 => KeyCode::End,
        5 => KeyCode::PageUp,
        6 => KeyCode::PageDown,
        11..=15 => KeyCode::F(number - 10),
        17..=21 => KeyCode::F(number - 11),
        23 | 24 => KeyCode::F(number - 12),
        _ => return None,
    })
}
