//! Small parts: the line being typed, numbers in words.

use coachwire::tui::line_edit::LineEdit;
use coachwire::tui::words::{change, fixed, num, significant};
use proptest::prelude::*;

#[test]
fn numbers_have_at_most_four_significant_digits() {
    for (x, text) in [
        (0.0, "0"),
        (3031.0, "3 031"),
        (12484.0, "12 480"),
        (0.07123, "0.07123"),
        (85.0, "85"),
        (309.44, "309.4"),
        (-1234.6, "-1 235"),
        (99999.0, "100 000"),
        (f64::NAN, "?"),
    ] {
        assert_eq!(num(x), text, "{x}");
    }
    assert_eq!(significant(22.499, 3), "22.5");
    assert_eq!(fixed(0.507, 2), "0.51");
    assert_eq!(fixed(-0.001, 2), "0.00");
    assert_eq!(fixed(1234.56, 2), "1 235");
}

#[test]
fn a_change_has_its_sign() {
    assert_eq!(change(Some(3.0), Some(1.0), 0), "+2");
    assert_eq!(change(Some(1.0), Some(3.0), 0), "-2");
    assert_eq!(change(Some(1.0), Some(1.001), 0), "");
    assert_eq!(change(None, Some(1.0), 0), "now ?");
}

#[test]
fn the_first_key_replaces_and_an_arrow_keeps() {
    let mut line = LineEdit::replacing("8 AWG");
    line.insert("6");
    assert_eq!(line.text(), "6");
    let mut line = LineEdit::replacing("8 AWG");
    line.home();
    line.insert("1");
    assert_eq!(line.text(), "18 AWG");
    line.end();
    line.erase_word();
    assert_eq!(line.text(), "18 ");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_line_survives_anything(edits in prop::collection::vec((0u8..10, "\\PC{0,3}"), 0..60), width in 0usize..30) {
        let mut line = LineEdit::replacing("caf\u{e9}");
        for (what, text) in edits {
            match what {
                0 => line.left(),
                1 => line.right(),
                2 => line.home(),
                3 => line.end(),
                4 => line.erase_left(),
                5 => line.erase_right(),
                6 => line.erase_word(),
                7 => line.erase_all(),
                _ => assert!(line.insert(&text), "it is short"),
            }
            let (_, column) = line.window(width);
            prop_assert!(column < width.max(1));
            prop_assert!(!line.text().chars().any(char::is_control));
        }
    }

    #[test]
    fn numbers_are_always_words(x in prop::num::f64::ANY, decimals in 0usize..4) {
        prop_assert!(!num(x).is_empty());
        prop_assert!(!fixed(x, decimals).is_empty());
    }
}

/// A number keeps its column, whatever its size. By hand.
#[test]
fn numbers_keep_their_columns() {
    use coachwire::tui::words::narrow;
    let five =
        [(0.0, "0"), (-0.2, "0"), (99_999.4, "99999"), (100_000.0, "100k"), (1_234_567.0, "1235k"), (2.5e7, "25.0M")];
    for (x, said) in five {
        assert_eq!(narrow(x, 5), said);
    }
    assert_eq!((narrow(99_999.6, 5), narrow(123_456.0, 6)), ("100k".into(), "123456".into()));
    assert_eq!(narrow(12_345.0, 4), "12k");
}

/// What has changed is the difference of the two that are shown: 0.5 and 1.49 show as 1 (by half up) and 1. By hand.
#[test]
fn a_change_is_that_of_what_is_shown() {
    use coachwire::tui::words::change_shown;
    assert_eq!(change_shown(Some(1.49), Some(0.5), 0), "");
    assert_eq!(change_shown(Some(1.5), Some(1.49), 0), "+1");
    assert_eq!(change_shown(Some(0.004), Some(0.0), 2), "");
}
