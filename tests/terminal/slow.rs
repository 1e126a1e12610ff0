//! A line that takes the program's output slowly, or not at all: no key is lost, the newest frame wins, what was typed is
//! kept, and the terminal is given back.

use std::time::{Duration, Instant};

use coachwire::plan::Plan;
use rustix::process::Signal;

use crate::pty::{Pty, Start};

/// Larkspur in a file of its own.
fn job(home: &tempfile::TempDir) -> std::path::PathBuf {
    let path = home.path().join("job.ron");
    let sample = coachwire::plan::samples::sample("larkspur").expect("the sample");
    std::fs::write(&path, &**sample.text).expect("the plan's file");
    path
}

fn opened(home: &tempfile::TempDir, bytes: usize, pause: Duration) -> Pty {
    let start = Start::new(env!("CARGO_BIN_EXE_coachwire"), home.path()).arg(job(home)).slow(bytes, pause);
    let mut pty = start.run();
    pty.wait_for_text("W1");
    pty.wait_for_text("help");
    pty
}

/// The gauge of the first run in the plan's file or in the recovery copy beside it.
fn first_gauge(path: &std::path::Path) -> String {
    let text = std::fs::read_to_string(path).expect("the file");
    let plan = Plan::from_text(&text).expect("a plan");
    let gauge =
        |run: &coachwire::plan::Run| coachwire::plan::entry::show_at(&plan, &format!("runs.{}.gauge", run.id).into());
    plan.runs.first().and_then(gauge).unwrap_or_default()
}

fn given_back(pty: &Pty) {
    pty.look(|screen| {
        assert!(!screen.alternate_screen(), "the alternate screen is left");
        assert!(!screen.hide_cursor(), "the cursor is shown");
    });
    assert!(pty.is_cooked(), "raw mode is off");
}

/// Some 6 kB a second, as over a modem or a bad mobile link: sixty keys at once, each of which changes the whole screen.
#[test]
fn on_a_slow_line_no_key_is_lost_and_frames_do_not_queue_up() {
    let home = tempfile::tempdir().expect("a folder");
    let mut pty = opened(&home, 64, Duration::from_millis(10));
    let before = pty.written();
    // Screens and back, then the gauge of the first run three steps up.
    let keys = "25".repeat(28) + "1" + "+++";
    let start = Instant::now();
    for key in keys.chars() {
        pty.keys(&key.to_string());
        std::thread::sleep(Duration::from_millis(4));
    }
    pty.keys("w");
    pty.wait_for_text("saved: ");
    let (sent, took) = (pty.written() - before, start.elapsed());
    // Sixty frames of a whole screen would be over 80 kB; what was typed while one was on its way is one frame.
    assert!(sent < 30_000, "{sent} bytes in {took:?}");
    assert_eq!(first_gauge(&home.path().join("job.ron")), "3 AWG", "8 AWG and three steps");
    pty.keys("q");
    assert!(pty.wait_exit(Duration::from_secs(15)).success());
    given_back(&pty);
}

/// A line that hangs: what is typed meanwhile is done and kept beside the plan before the frame is waited for, a signal ends
/// the program all the same, and the terminal is given back for whoever reads it then.
#[test]
fn on_a_line_that_hangs_what_is_typed_is_kept_and_a_signal_ends_it() {
    for signal in [Signal::TERM, Signal::HUP] {
        let home = tempfile::tempdir().expect("a folder");
        let mut pty = opened(&home, 512, Duration::ZERO);
        pty.settle();
        pty.hold(true);
        // Whole screens until the line is full, then an edit that nobody sees.
        for _ in 0..400 {
            pty.keys("2");
            std::thread::sleep(Duration::from_millis(2));
            pty.keys("\x0c");
            pty.keys("1");
            std::thread::sleep(Duration::from_millis(2));
        }
        pty.keys("+");
        std::thread::sleep(Duration::from_millis(300));
        assert!(!pty.has_ended(), "it waits");
        pty.signal(signal);
        let start = Instant::now();
        while !pty.has_ended() && start.elapsed() < Duration::from_secs(6) {
            std::thread::sleep(Duration::from_millis(20));
        }
        assert!(pty.has_ended(), "{signal:?} ends it though the terminal takes nothing");
        pty.hold(false);
        pty.wait_exit(Duration::from_secs(5));
        given_back(&pty);
    }
}

/// The same where the line is full from an edit's own frame on: the copy does not wait for the line.
#[test]
fn an_edit_is_kept_before_its_frame_is_waited_for() {
    let home = tempfile::tempdir().expect("a folder");
    let mut pty = opened(&home, 512, Duration::ZERO);
    pty.settle();
    pty.hold(true);
    // Each step with a frame of its own; no more than the line holds is ever taken.
    let copy = home.path().join(".job.ron.recovery");
    for _ in 0..200 {
        pty.keys("+");
        std::thread::sleep(Duration::from_millis(3));
        pty.keys("\x0c");
        std::thread::sleep(Duration::from_millis(3));
    }
    let start = Instant::now();
    while !copy.exists() && start.elapsed() < Duration::from_secs(5) {
        std::thread::sleep(Duration::from_millis(20));
    }
    assert_ne!(first_gauge(&copy), "8 AWG", "what was typed is in the copy");
    // The line comes back: all keys are done, the newest frame is shown.
    pty.hold(false);
    pty.keys("w");
    pty.wait_for_text("saved: ");
    assert_eq!(first_gauge(&home.path().join("job.ron")), "4/0 AWG", "the thickest there is");
    pty.keys("q");
    assert!(pty.wait_exit(Duration::from_secs(10)).success());
    given_back(&pty);
}
