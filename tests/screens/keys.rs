//! The table of keys.

use std::collections::HashSet;

use coachwire::tui::keymap::{Action, BINDINGS, Context, Key, hints, listed, resolve};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::Screen;

#[test]
fn a_key_stands_once_in_its_context() {
    let mut seen: HashSet<(Context, String)> = HashSet::new();
    for binding in BINDINGS {
        for key in binding.keys {
            assert!(seen.insert((binding.context, key.to_string())), "{:?} {key} stands twice", binding.context);
        }
    }
}

#[test]
fn every_row_resolves_to_its_own_action() {
    for binding in BINDINGS {
        for Key { code, ctrl } in binding.keys {
            let modifiers = if *ctrl { KeyModifiers::CONTROL } else { KeyModifiers::NONE };
            assert_eq!(resolve(binding.context, KeyEvent::new(*code, modifiers)), Some(binding.action));
        }
        assert!(!binding.label.is_empty() && binding.help.ends_with('.'), "{}", binding.label);
    }
}

#[test]
fn while_a_field_is_open_every_printable_key_is_text() {
    for c in (' '..='~').chain(['\u{e9}', '\u{b2}']) {
        let event = KeyEvent::new(KeyCode::Char(c), KeyModifiers::NONE);
        // A stroke is text too but before anything is typed (see the tests of the shelf).
        let in_field = if c == '/' { Action::Pick } else { Action::Type(c) };
        assert_eq!(resolve(Context::Field, event), Some(in_field));
        assert_eq!(resolve(Context::Typing, event), Some(Action::Type(c)));
    }
}

#[test]
fn nothing_needs_alt_and_alt_does_nothing() {
    for c in 'a'..='z' {
        assert_eq!(resolve(Context::Browsing, KeyEvent::new(KeyCode::Char(c), KeyModifiers::ALT)), None);
    }
}

#[test]
fn saving_has_two_ways_and_no_action_needs_a_function_key() {
    let save = BINDINGS.iter().find(|b| b.context == Context::Browsing && b.action == Action::Save).unwrap();
    assert!(save.keys.len() > 1);
    assert!(!BINDINGS.iter().flat_map(|b| b.keys).any(|k| matches!(k.code, KeyCode::F(_))));
}

#[test]
fn hints_and_the_list_of_actions_come_from_the_table() {
    let all = hints(Context::Browsing, |when| when != coachwire::tui::keymap::When::Never, |_| false);
    assert!(all.iter().any(|(key, label)| key == "+/-" && *label == "size"));
    assert!(listed().all(|b| BINDINGS.iter().any(|o| std::ptr::eq(o, b))));
    let mut screen = Screen::dunlin();
    screen.keys(":baseline<Enter>");
    assert!(screen.model.document.as_ref().unwrap().baseline().is_some(), "chosen from the list, the action is done");
}

#[test]
fn the_seven_screens_and_the_whole_plan_are_one_key_each() {
    for (key, title) in [
        ("1", "EQUIPMENT"),
        ("2", "Loads:"),
        ("3", "Year:"),
        ("4", "Roof:"),
        ("5", "FINDINGS"),
        ("6", "Papers:"),
        ("7", "Readings:"),
        ("0", "Plan:"),
    ] {
        let mut screen = Screen::dunlin();
        screen.keys(key);
        assert!(screen.text().contains(title), "{key}: {}", screen.text());
    }
}

/// The middle of an entry does not lead away: digits on a field's row are its text, on any other row a screen.
#[test]
fn a_digit_on_a_fields_row_begins_typing() {
    let mut screen = Screen::dunlin();
    screen.keys("2<Enter>");
    let row = |screen: &Screen| screen.model.focus().map(|at| at.to_string()).unwrap_or_default();
    while row(&screen) != "loads.L1.watts_w" {
        screen.keys("<Down>");
    }
    screen.keys("6.5<Enter>");
    assert_eq!(screen.model.screen, 2);
    assert_eq!(screen.plan().loads[0].watts_w.known().map(|w| w.0), Some(6.5));
    screen.keys("<Esc>3");
    assert_eq!(screen.model.screen, 3, "a row of a list is no field");
}

/// Where a text stands a digit leads to its screen, as a small letter does what it does; an empty one takes it.
#[test]
fn a_digit_on_a_standing_text_is_a_key() {
    let mut screen = Screen::dunlin();
    let go = |screen: &mut Screen, to: &str| {
        screen.keys("2<Enter>");
        while screen.model.focus().is_none_or(|at| at.as_str() != to) {
            screen.keys("<Down>");
        }
    };
    go(&mut screen, "loads.L1.name");
    let before = screen.plan();
    assert!(!before.loads[0].name.is_empty());
    screen.keys("4");
    assert_eq!((screen.model.screen, screen.model.field.is_none()), (4, true), "{}", screen.text());
    assert_eq!(screen.plan(), before);
    go(&mut screen, "loads.L1.note");
    screen.keys("4 lamps<Enter>");
    assert_eq!(screen.plan().loads[0].note, "4 lamps", "{}", screen.text());
}

/// After an item is added the mark is on the row whose field is open.
#[test]
fn the_mark_is_where_one_types() {
    let mut screen = Screen::dunlin();
    screen.keys("2a2");
    let open = screen.model.field.as_ref().map(|f| f.at.to_string());
    assert!(open.as_deref().is_some_and(|at| at.ends_with(".name")), "{open:?}");
    assert_eq!(screen.model.focus().map(|at| at.to_string()), open);
}

/// The help is wrapped to the screen it is on, down to the smallest: every sentence of its keys is read whole, and of a field,
/// a finding, a result and a box what stands before them.
#[test]
fn the_help_is_wrapped_at_any_width() {
    let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for size in [(40, 12), (41, 14), (60, 20), (80, 24), (120, 40)] {
        for keys in ["?", "2<Enter><Down>?", "5?", "<Tab>?", "y?", "l?"] {
            let mut screen = Screen::on(super::DUNLIN, size);
            screen.keys(keys);
            let mut lines: Vec<String> = Vec::new();
            for _ in 0..200 {
                let text = screen.text();
                let inside = |line: &str| line.get(line.find('|')? + 1..line.rfind('|')?).map(ToString::to_string);
                // The box says how many lines are above those it shows.
                let above = text.split_once(" more above").and_then(|(before, _)| before.rsplit(' ').next());
                let above: usize = above.map_or(0, |n| n.parse().expect("a number"));
                assert!(above <= lines.len(), "no line is passed over: {text}");
                let before = lines.len();
                lines.truncate(above);
                lines.extend(text.lines().filter_map(inside));
                if lines.len() == before {
                    break;
                }
                screen.keys("<PgDn>");
            }
            let told = lines.join(" ");
            let told = squeezed(&told);
            let context = match keys {
                "y?" => Context::Year,
                "l?" => Context::Overlay,
                _ => Context::Browsing,
            };
            for binding in BINDINGS.iter().filter(|b| b.context == context) {
                assert!(told.contains(&squeezed(binding.help)), "{size:?} {keys}: {} in {told}", binding.help);
            }
        }
    }
}
