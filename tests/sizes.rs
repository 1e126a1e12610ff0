//! No size and no resize can panic; below the least size the screen says so.
#![allow(clippy::unwrap_used)]

use coachwire::tui::message::Message;

use crate::screens::{DUNLIN, Screen};

/// Scripts that lead to every screen and box.
const STATES: [&str; 26] = [
    "",
    "<Down><Enter>4",
    "<Down><Enter>4x",
    "b<Down>+",
    "2",
    "3",
    "4",
    "5",
    "6",
    "7",
    "0<Enter>",
    "?",
    ":",
    "<Down>l",
    "<Tab>a",
    "R",
    "W",
    "o",
    "+q",
    "U",
    "M",
    "y",
    "yb<Enter>4",
    "y<Right><Right><Right>",
    "y<Left>",
    "<Home><Left><Left><Left><Left><Enter><End>",
];

/// Every small size, then fewer as they grow.
fn sizes() -> Vec<(u16, u16)> {
    let columns = (1..=12).chain([20, 39, 40, 41, 63, 64, 65, 79, 80, 81, 99, 120, 200]);
    let rows: Vec<u16> = (1..=14).chain([23, 24, 25, 31, 33, 40, 60]).collect();
    columns.flat_map(|c| rows.iter().map(move |r| (c, *r))).collect()
}

#[test]
fn every_screen_at_every_size() {
    let sizes = sizes();
    for (n, script) in STATES.iter().enumerate() {
        let mut screen = Screen::on(DUNLIN, (80, 24));
        screen.keys(script);
        // Each state sees every third size, so that together they see all.
        for (columns, rows) in sizes.iter().skip(n % 3).step_by(3) {
            screen.send(Message::Resize(*columns, *rows));
            let text = screen.text();
            assert_eq!(text.split('\n').count(), usize::from(*rows), "every row is drawn");
            if *columns >= 40 && *rows >= 12 {
                assert!(!text.contains("too small"), "{columns}x{rows}");
            } else if *columns >= 9 {
                assert!(text.contains("too small"), "{columns}x{rows}");
            }
        }
    }
}

#[test]
fn the_start_screen_at_every_size() {
    let mut screen = Screen::with(Screen::start());
    for (columns, rows) in sizes() {
        screen.send(Message::Resize(columns, rows));
        screen.text();
    }
}

#[test]
fn every_key_everywhere_does_no_harm() {
    let keys =
        ["<Enter>", "<Esc>", "<Tab>", "<BackTab>", "<Up>", "<Down>", "<Left>", "<Right>", "<PgDn>", "<End>", "<Home>"];
    let plain: Vec<String> = (' '..='~').filter(|c| *c != '<').map(String::from).collect();
    for script in STATES {
        let mut screen = Screen::on(DUNLIN, (50, 14));
        screen.keys(script);
        for key in keys.iter().map(ToString::to_string).chain(plain.iter().cloned()).chain(keys.map(String::from)) {
            screen.keys(&key);
            if screen.model.document.is_none() {
                break;
            }
        }
        screen.text();
    }
}
