//! Bytes to keys, however they are cut.

use std::time::Duration;

use coachwire::tui::bytes::{Decoder, Input};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use proptest::prelude::*;

fn decoded(pieces: &[&[u8]]) -> Vec<Input> {
    let mut decoder = Decoder::default();
    let mut out = Vec::new();
    for piece in pieces {
        decoder.feed(piece, &mut out);
    }
    wait_out(&mut decoder, &mut out);
    out
}

/// Nothing comes until nothing is waited for any more: what the last bytes were, and the end of waiting for what may go on a
/// lone Esc.
fn wait_out(decoder: &mut Decoder, out: &mut Vec<Input>) {
    for _ in 0..2 {
        if decoder.patience().is_some() {
            decoder.settle(out);
        }
    }
    assert_eq!(decoder.patience(), None, "nothing is pending once settled");
}

fn plain(code: KeyCode) -> Input {
    Input::Key(KeyEvent::new(code, KeyModifiers::NONE))
}

fn with(code: KeyCode, modifiers: KeyModifiers) -> Input {
    Input::Key(KeyEvent::new(code, modifiers))
}

/// Source: xterm control sequences, "PC-Style Function Keys" and "VT220-Style Function Keys"; `console_codes(4)` and
/// the terminfo entries xterm, linux, screen and rxvt for what differs.
#[test]
fn keys_of_usual_terminals() {
    let shift = KeyModifiers::SHIFT;
    let control = KeyModifiers::CONTROL;
    for (bytes, input) in [
        ("\x1b[A", plain(KeyCode::Up)),
        ("\x1bOA", plain(KeyCode::Up)),
        ("\x1b[B", plain(KeyCode::Down)),
        ("\x1b[C", plain(KeyCode::Right)),
        ("\x1b[D", plain(KeyCode::Left)),
        ("\x1b[H", plain(KeyCode::Home)),
        ("\x1bOF", plain(KeyCode::End)),
        ("\x1b[1~", plain(KeyCode::Home)),
        ("\x1b[7~", plain(KeyCode::Home)),
        ("\x1b[2~", plain(KeyCode::Insert)),
        ("\x1b[3~", plain(KeyCode::Delete)),
        ("\x1b[5~", plain(KeyCode::PageUp)),
        ("\x1b[6~", plain(KeyCode::PageDown)),
        ("\x1bOP", plain(KeyCode::F(1))),
        ("\x1b[[A", plain(KeyCode::F(1))),
        ("\x1b[11~", plain(KeyCode::F(1))),
        ("\x1b[15~", plain(KeyCode::F(5))),
        ("\x1b[17~", plain(KeyCode::F(6))),
        ("\x1b[21~", plain(KeyCode::F(10))),
        ("\x1b[24~", plain(KeyCode::F(12))),
        ("\x1b[Z", with(KeyCode::BackTab, shift)),
        ("\x1b[1;2A", with(KeyCode::Up, shift)),
        ("\x1b[1;5C", with(KeyCode::Right, control)),
        ("\x1b[3;6~", with(KeyCode::Delete, shift | control)),
        ("\r", plain(KeyCode::Enter)),
        ("\t", plain(KeyCode::Tab)),
        ("\x7f", plain(KeyCode::Backspace)),
        ("\x08", plain(KeyCode::Backspace)),
        ("\x13", with(KeyCode::Char('s'), control)),
        ("a", plain(KeyCode::Char('a'))),
        ("?", plain(KeyCode::Char('?'))),
        ("A", with(KeyCode::Char('A'), shift)),
        ("\u{e9}", plain(KeyCode::Char('\u{e9}'))),
        ("\x1b", plain(KeyCode::Esc)),
    ] {
        assert_eq!(decoded(&[bytes.as_bytes()]), [input], "{bytes:?}");
    }
}

#[test]
fn an_arrow_split_after_esc_stays_an_arrow() {
    assert_eq!(decoded(&[b"\x1b", b"[A"]), [plain(KeyCode::Up)]);
    assert_eq!(decoded(&[b"\x1b", b"[", b"A"]), [plain(KeyCode::Up)]);
    assert_eq!(decoded(&[b"\x1b", b"O", b"B"]), [plain(KeyCode::Down)]);
}

/// The pieces of a slow line, each after a lone Esc has been given out.
fn late(pieces: &[&[u8]]) -> Vec<Input> {
    let mut decoder = Decoder::default();
    let mut out = Vec::new();
    decoder.feed(b"\x1b", &mut out);
    assert_eq!(decoder.patience(), Some(Duration::from_millis(50)), "a lone Esc is quick");
    decoder.settle(&mut out);
    assert_eq!(out, [plain(KeyCode::Esc)]);
    out.clear();
    for piece in pieces {
        decoder.feed(piece, &mut out);
    }
    wait_out(&mut decoder, &mut out);
    out
}

#[test]
fn an_arrow_that_goes_on_late_takes_its_esc_back() {
    for (pieces, code) in [
        (vec![b"[B".as_slice()], KeyCode::Down),
        (vec![b"[", b"B"], KeyCode::Down),
        (vec![b"O", b"A"], KeyCode::Up),
        (vec![b"[", b"3", b"~"], KeyCode::Delete),
    ] {
        assert_eq!(late(&pieces), [Input::NoEsc, plain(code)], "{pieces:?}");
    }
    assert_eq!(late(&[b"[200~6.5 m\x1b[201~"]), [Input::NoEsc, Input::Paste("6.5 m".into())]);
    assert_eq!(late(&[b"[999~"]), [Input::NoEsc]);
    // What somebody types after Esc stays what it is.
    let letter = |c: char| plain(KeyCode::Char(c));
    assert_eq!(late(&[b"["]), [letter('[')]);
    assert_eq!(late(&[b"[x"]), [letter('['), letter('x')]);
    assert_eq!(late(&[b"Oa"]), [with(KeyCode::Char('O'), KeyModifiers::SHIFT), letter('a')]);
    assert_eq!(late(&[b"B"]), [with(KeyCode::Char('B'), KeyModifiers::SHIFT)]);
    assert_eq!(late(&[b"\x1b", b"[A"]), [plain(KeyCode::Up)]);
    // Only what comes soon: the Esc stands once the wait is over.
    let mut decoder = Decoder::default();
    let mut out = Vec::new();
    decoder.feed(b"\x1b", &mut out);
    wait_out(&mut decoder, &mut out);
    decoder.feed(b"[", &mut out);
    assert_eq!(out, [plain(KeyCode::Esc), letter('[')]);
}

#[test]
fn esc_joined_to_the_next_key_stays_esc() {
    assert_eq!(decoded(&[b"\x1bq"]), [plain(KeyCode::Esc), plain(KeyCode::Char('q'))]);
    assert_eq!(decoded(&[b"\x1b\x1b[A"]), [plain(KeyCode::Esc), plain(KeyCode::Up)]);
    assert_eq!(decoded(&[b"\x1b\x1b"]), [plain(KeyCode::Esc), plain(KeyCode::Esc)]);
    assert_eq!(decoded(&[b"\x1b\r"]), [plain(KeyCode::Esc), plain(KeyCode::Enter)]);
}

#[test]
fn a_sequence_that_breaks_off_types_nothing() {
    assert_eq!(decoded(&[b"\x1b[1;5"]), []);
    assert_eq!(decoded(&[b"\x1b[999~x"]), [plain(KeyCode::Char('x'))]);
    assert_eq!(decoded(&[b"\xff\xfe\xc3"]), []);
}

#[test]
fn a_paste_is_one_line_of_text_without_control_characters() {
    let pasted = |text: &str| vec![Input::Paste(text.to_string())];
    assert_eq!(decoded(&[b"\x1b[200~22'6\"\r\n\x1b[201~"]), pasted("22'6\""));
    assert_eq!(decoded(&[b"\x1b[200~a\tb\nc\x07\x1b[31md\x1b[201~"]), pasted("a b c[31md"));
    assert_eq!(decoded(&[b"\x1b[20", b"0~6.5", b" m\x1b[2", b"01~"]), pasted("6.5 m"));
    assert_eq!(decoded(&[b"\x1b[200~the end is lost"]), pasted("the end is lost"));
    let mut after = pasted("x");
    after.push(plain(KeyCode::Enter));
    assert_eq!(decoded(&[b"\x1b[200~x\x1b[201~\r"]), after);
}

/// What exceeds a paste of any use is dropped, none of it taken for keys.
#[test]
fn a_paste_of_megabytes_is_still_one_paste() {
    let mut bytes = b"\x1b[200~".to_vec();
    bytes.extend(std::iter::repeat_n(b'd', 3 << 20));
    bytes.extend(b"\x1b[201~\r");
    let pieces: Vec<&[u8]> = bytes.chunks(1 << 18).collect();
    let got = decoded(&pieces);
    assert!(matches!(got.as_slice(), [Input::Paste(text), Input::Key(_)] if text.len() > 4000), "{} inputs", got.len());
    assert_eq!(got.last(), Some(&plain(KeyCode::Enter)));
}

fn key_bytes() -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![
        Just(b"\x1b[A".to_vec()),
        Just(b"\x1bOC".to_vec()),
        Just(b"\x1b[3~".to_vec()),
        Just(b"\x1b[1;5D".to_vec()),
        Just(b"\x1b[200~16 mm2\x1b[201~".to_vec()),
        Just(b"\x1b[[B".to_vec()),
        Just(b"\x1b".to_vec()),
        Just(b"\r".to_vec()),
        Just("\u{20ac}".as_bytes().to_vec()),
        (b' '..=b'~').prop_filter("would go on an escape", |b| !b"[O".contains(b)).prop_map(|b| vec![b]),
    ]
}

proptest! {
    #[test]
    fn however_the_bytes_are_cut_the_keys_are_the_same(
        keys in prop::collection::vec(key_bytes(), 1..12),
        cuts in prop::collection::vec(any::<prop::sample::Index>(), 0..8),
    ) {
        let bytes = keys.concat();
        let mut cuts: Vec<usize> = cuts.iter().map(|c| c.index(bytes.len())).collect();
        cuts.extend([0, bytes.len()]);
        cuts.sort_unstable();
        let pieces: Vec<&[u8]> = cuts.windows(2).map(|w| &bytes[w[0]..w[1]]).collect();
        let whole = decoded(&[&bytes]);
        prop_assert_eq!(whole.len(), keys.len());
        prop_assert_eq!(decoded(&pieces), whole);
    }

    #[test]
    fn any_bytes_do_no_harm(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        for input in decoded(&[&bytes]) {
            if let Input::Paste(text) = input {
                prop_assert!(!text.chars().any(char::is_control));
            }
        }
    }
}
