//! The session alone: this test binary runs itself in a pseudo-terminal, to fail there on purpose.

use std::time::Duration;

use coachwire::tui::session::{self, Session};
use ratatui::widgets::Paragraph;

use crate::pty::{Pty, Start};

fn run_child(name: &str) -> (Pty, tempfile::TempDir) {
    let home = tempfile::tempdir().expect("a folder");
    let program = std::env::current_exe().expect("this program");
    let start = Start::new(program, home.path()).arg("--exact").arg(name).arg("--ignored").arg("--nocapture");
    (start.run(), home)
}

/// Not a test by itself: what [`a_panic_gives_the_terminal_back_before_it_is_told`] runs.
#[test]
#[ignore = "runs in a terminal of its own"]
fn child_panics() {
    session::install_panic_hook();
    let mut session = Session::start().expect("a terminal");
    session.draw(|frame| frame.render_widget(Paragraph::new("a frame"), frame.area()), || {}).expect("a frame");
    std::thread::sleep(Duration::from_millis(300));
    panic!("told after the screen");
}

#[test]
fn a_panic_gives_the_terminal_back_before_it_is_told() {
    let (mut pty, _home) = run_child("session::child_panics");
    pty.wait_for("the alternate screen", |screen| screen.alternate_screen());
    pty.wait_for_text("a frame");
    assert!(!pty.is_cooked(), "raw mode while the screen is ours");
    let status = pty.wait_exit(Duration::from_secs(10));
    assert!(!status.success());
    assert!(pty.is_cooked());
    let text = pty.text();
    assert!(text.contains("told after the screen"), "the message must be readable on the normal screen:\n{text}");
    pty.look(|screen| {
        assert!(!screen.alternate_screen());
        assert!(!screen.hide_cursor());
        assert!(!screen.bracketed_paste());
    });
}

#[test]
fn a_terminal_that_cannot_place_text_is_refused_with_the_way_out() {
    assert_eq!(session::refusal(Some("xterm"), true, true), None);
    for words in [
        session::refusal(Some("dumb"), true, true),
        session::refusal(Some("xterm"), false, true),
        session::refusal(None, true, false),
    ] {
        let words = words.expect("a refusal");
        assert!(words.contains("coachwire check PLAN"), "{words}");
    }
}
