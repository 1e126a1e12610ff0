//! From the first frame to the last byte: start, idle, resize, stop, end; the terminal is always given back.

use std::time::{Duration, Instant};

use rustix::process::Signal;

use crate::pty::{Pty, Start};

/// The program must be gone this soon after its terminal or a signal told it to go.
const SOON: Duration = Duration::from_secs(2);

fn coachwire(home: &tempfile::TempDir) -> Start {
    Start::new(env!("CARGO_BIN_EXE_coachwire"), home.path())
}

fn home() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

fn started(start: Start) -> Pty {
    let mut pty = start.run();
    pty.wait_for_text("coachwire");
    pty.settle();
    pty
}

fn assert_given_back(pty: &Pty) {
    pty.look(|screen| {
        assert!(!screen.alternate_screen(), "the alternate screen is left");
        assert!(!screen.hide_cursor(), "the cursor is shown");
        assert!(!screen.bracketed_paste(), "bracketed paste is off");
    });
    assert!(pty.is_cooked(), "raw mode is off");
}

fn count(bytes: &[u8], part: &[u8]) -> usize {
    bytes.windows(part.len()).filter(|w| *w == part).count()
}

#[test]
fn starts_draws_once_and_quits_leaving_the_terminal_as_it_was() {
    let home = home();
    let mut pty = started(coachwire(&home));
    assert!(!pty.is_cooked());
    pty.look(|screen| {
        assert!(screen.alternate_screen());
        assert!(screen.bracketed_paste());
        assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None, "the mouse stays the terminal's");
    });
    let bytes = pty.bytes_since(0);
    assert_eq!(count(&bytes, b"\x1b[?2026h"), 1, "one frame");
    assert_eq!(count(&bytes, b"\x1b[?2026l"), 1, "one frame, ended");
    pty.keys("q");
    let status = pty.wait_exit(Duration::from_secs(10));
    assert!(status.success(), "{status:?}");
    assert_given_back(&pty);
}

/// Questions to the terminal (its cursor, its colours, its kind) would race the keys for the answer.
#[test]
fn asks_the_terminal_nothing() {
    let home = home();
    let mut pty = started(coachwire(&home));
    pty.resize(100, 30);
    pty.settle();
    pty.typed(&["\x0c", "?", "\x1b"]);
    let bytes = pty.bytes_since(0);
    for question in
        [&b"\x1b[6n"[..], b"\x1b[5n", b"\x1b[c", b"\x1b[0c", b"\x1b[>c", b"\x1b]10;?", b"\x1b]11;?", b"\x1b[?u"]
    {
        assert_eq!(count(&bytes, question), 0, "{:?}", String::from_utf8_lossy(question));
    }
}

#[test]
fn idle_writes_nothing_and_uses_no_processor() {
    let home = home();
    let pty = started(coachwire(&home));
    let (bytes, ticks) = (pty.written(), pty.ticks());
    std::thread::sleep(Duration::from_secs(3));
    assert_eq!(pty.written(), bytes);
    assert!(pty.ticks() - ticks <= 1, "{} ticks", pty.ticks() - ticks);
}

#[test]
fn signals_end_it_with_the_terminal_given_back() {
    // 128 and the signal's number (POSIX, shell command language, 2.8.2; numbers of signal.h).
    for (signal, code) in [(Signal::TERM, 143), (Signal::HUP, 129), (Signal::INT, 130), (Signal::QUIT, 131)] {
        let home = home();
        let mut pty = started(coachwire(&home));
        pty.signal(signal);
        assert_eq!(pty.wait_exit(SOON).exit_code(), code, "{signal:?}");
        assert_given_back(&pty);
    }
}

#[test]
fn a_closed_terminal_ends_it() {
    let home = home();
    let mut pty = started(coachwire(&home));
    pty.hang_up("?");
    pty.wait_exit(SOON);
}

/// A terminal that is not the controlling one sends no signal when it closes.
#[test]
fn a_closed_terminal_ends_it_without_a_signal() {
    let home = home();
    let mut start = coachwire(&home);
    start.command.set_controlling_tty(false);
    let mut pty = started(start);
    pty.hang_up("?");
    pty.wait_exit(SOON);
}

#[test]
fn a_storm_of_sizes_ends_in_one_right_frame() {
    let home = home();
    let mut pty = started(coachwire(&home));
    for i in 0..60_u16 {
        pty.resize(1 + (i * 37) % 150, 1 + (i * 17) % 60);
    }
    pty.resize(1, 1);
    pty.settle();
    pty.resize(132, 43);
    pty.settle();
    pty.resize(80, 24);
    pty.settle();
    let stormed = pty.text();
    assert!(stormed.contains("coachwire"), "{stormed}");
    let other = started(coachwire(&home));
    assert_eq!(stormed, other.text(), "as if it had been of this size from the start");
    pty.keys("q");
    assert!(pty.wait_exit(Duration::from_secs(10)).success());
}

#[test]
fn no_color_is_honoured_and_marks_stay_visible() {
    let home = home();
    let pty = started(coachwire(&home).env("NO_COLOR", "1"));
    let (rows, columns) = (24, 80);
    let mut marked = 0;
    pty.look(|screen| {
        for (row, column) in (0..rows).flat_map(|r| (0..columns).map(move |c| (r, c))) {
            let cell = screen.cell(row, column).expect("a cell of the screen");
            assert_eq!(cell.fgcolor(), vt100::Color::Default, "row {row} column {column}");
            assert_eq!(cell.bgcolor(), vt100::Color::Default, "row {row} column {column}");
            marked += usize::from(cell.bold() || cell.inverse());
        }
    });
    assert!(marked > 0, "bold and reverse survive NO_COLOR");
}

#[test]
fn a_dumb_terminal_is_refused_with_the_way_out() {
    let home = home();
    let mut pty = coachwire(&home).env("TERM", "dumb").run();
    let status = pty.wait_exit(Duration::from_secs(10));
    assert_eq!(status.exit_code(), 2);
    assert!(pty.text().replace('\n', "").contains("coachwire check PLAN"), "{}", pty.text());
    assert_eq!(count(&pty.bytes_since(0), b"\x1b"), 0, "no escape sequence reaches it");
}

#[test]
fn without_a_terminal_it_is_refused() {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_coachwire"))
        .stdin(std::process::Stdio::null())
        .env("HOME", home().path())
        .output()
        .expect("it runs");
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    assert!(String::from_utf8_lossy(&output.stderr).contains("coachwire check PLAN"));
}

/// A shell with job control starts it; what stops and continues it is the shell's `fg`.
#[test]
fn a_stop_gives_the_terminal_back_until_continued() {
    let home = home();
    let shell = Start::new("/bin/bash", home.path()).arg("--norc").arg("--noprofile").arg("-i").env("PS1", "ready> ");
    let mut pty = shell.run();
    pty.wait_for_text("ready>");
    pty.keys(&format!("{}\n", env!("CARGO_BIN_EXE_coachwire")));
    pty.wait_for("the alternate screen", |screen| screen.alternate_screen());
    pty.settle();
    let shown = pty.text();
    pty.keys("\x14");
    pty.wait_for("the shell", |screen| !screen.alternate_screen() && screen.contents().contains("Stopped"));
    pty.look(|screen| assert!(!screen.hide_cursor()));
    pty.keys("fg\n");
    pty.wait_for("the program again", |screen| screen.alternate_screen() && screen.contents() == shown);
    let start = Instant::now();
    pty.keys("q");
    pty.wait_for("the shell", |screen| !screen.alternate_screen());
    assert!(start.elapsed() < Duration::from_secs(10));
    pty.keys("exit\n");
    pty.wait_exit(Duration::from_secs(10));
}
