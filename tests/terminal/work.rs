//! A job on the real program: open a plan, change a gauge, read the changed figures, save, leave; and what is left
//! when the connection breaks in the middle of it.

use std::path::{Path, PathBuf};
use std::time::Duration;

use coachwire::plan::{Known, Plan};
use coachwire::standards::conductor::Gauge;
use rustix::process::Signal;
use tempfile::TempDir;

use crate::pty::{Pty, Start};

/// A folder with a sample plan in it, and the program showing that plan.
fn at_work(columns: u16, rows: u16) -> (Pty, TempDir, PathBuf) {
    let home = tempfile::tempdir().expect("a folder");
    let path = home.path().join("job.ron");
    let sample = coachwire::plan::samples::sample("larkspur").expect("the sample");
    std::fs::write(&path, &**sample.text).expect("the plan's file");
    let pty = opened(&home, &path, columns, rows);
    (pty, home, path)
}

fn opened(home: &TempDir, path: &Path, columns: u16, rows: u16) -> Pty {
    let mut pty = Start::new(env!("CARGO_BIN_EXE_coachwire"), home.path()).arg(path).size(columns, rows).run();
    pty.wait_for_text("W1");
    pty.settle();
    pty
}

fn plan_in(path: &Path) -> Plan {
    Plan::from_text(&std::fs::read_to_string(path).expect("the plan's file")).expect("a plan")
}

fn gauge_of(plan: &Plan, run: &str) -> Gauge {
    match plan.runs.iter().find(|r| r.id.as_str() == run).expect("the run").gauge {
        Known::Is(gauge) => gauge,
        Known::Unknown => panic!("{run} has no gauge"),
    }
}

/// The line of the Bench that shows a run.
fn line_of(pty: &Pty, run: &str) -> String {
    let text = pty.text();
    // The results name the selected run too; its own line begins with it.
    let line = text.lines().find(|l| l.trim_start_matches([' ', '>']).split_whitespace().next() == Some(run));
    // Cells once drawn over count as blanks, those never touched as nothing.
    line.unwrap_or_else(|| panic!("{run} is not on the screen:\n{text}")).trim_end().to_string()
}

/// The drop in volts on the line of a run: amps and drop follow the gauge.
fn drop_on(line: &str) -> f64 {
    let after = line.split_once("AWG").expect("a gauge").1;
    after.split_whitespace().nth(1).expect("a drop").parse().expect("a number")
}

/// The largest fuse that fits the selected run, as the answer below the help says.
fn most_fuse(pty: &Pty) -> f64 {
    let text = pty.text();
    let range = text.split_once(": fuse ").expect("a fuse range").1;
    range.split_whitespace().nth(2).expect("its upper end").parse().expect("a number")
}

/// Wh a day in the best month.
fn harvest(pty: &Pty) -> f64 {
    let text = pty.text();
    let line = text.lines().find(|l| l.contains(" best ")).expect("the harvest");
    let figures = line.split_once(" best ").expect("its figure").1.trim_start();
    let digits: String = figures.chars().skip(3).take_while(|c| *c != '(').filter(char::is_ascii_digit).collect();
    digits.parse().expect("a number")
}

/// Every file below a folder whose name says that it is a recovery copy.
fn copies(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(copies(&path));
        } else if path.file_name().is_some_and(|n| n.to_string_lossy().ends_with("recovery")) {
            found.push(path);
        }
    }
    found
}

#[test]
fn a_gauge_changed_on_screen_is_answered_saved_and_there_next_time() {
    let (mut pty, home, path) = at_work(80, 24);
    let before = gauge_of(&plan_in(&path), "W1");
    let line = line_of(&pty, "W1");
    let (fuse, harvested) = (most_fuse(&pty), harvest(&pty));
    pty.typed(&["+"]);
    let changed = line_of(&pty, "W1");
    assert_ne!(line, changed, "the gauge changes at once");
    assert!(drop_on(&changed) < drop_on(&line), "thicker wire, less drop:\n{line}\n{changed}");
    assert!(most_fuse(&pty) > fuse, "thicker wire, larger fuse:\n{}", pty.text());
    assert!(harvest(&pty) > harvested, "less lost on the way:\n{}", pty.text());
    assert_eq!(gauge_of(&plan_in(&path), "W1"), before, "the file waits to be saved");
    pty.keys("w");
    pty.wait_for_text("saved: ");
    let after = plan_in(&path);
    assert_ne!(gauge_of(&after, "W1"), before);
    pty.keys("q");
    assert!(pty.wait_exit(Duration::from_secs(10)).success());
    assert!(pty.is_cooked());
    pty.look(|screen| assert!(!screen.alternate_screen() && !screen.hide_cursor()));
    assert_eq!(copies(home.path()), Vec::<PathBuf>::new(), "saved work needs no recovery copy");
    let again = opened(&home, &path, 80, 24);
    assert_eq!(line_of(&again, "W1"), changed);
}

#[test]
fn undo_on_screen_brings_back_the_line_as_it_was() {
    let (mut pty, _home, _path) = at_work(120, 40);
    let line = line_of(&pty, "W1");
    pty.typed(&["+", "+"]);
    assert_ne!(line_of(&pty, "W1"), line);
    pty.typed(&["u"]);
    assert_eq!(line_of(&pty, "W1"), line, "repeated steps of one field are undone together");
}

/// Breaks the connection after an unsaved edit and demands the edit back.
fn survives(break_off: impl FnOnce(&mut Pty)) {
    let (mut pty, home, path) = at_work(80, 24);
    let before = plan_in(&path);
    pty.typed(&["+"]);
    let changed = line_of(&pty, "W1");
    break_off(&mut pty);
    pty.wait_exit(Duration::from_secs(2));
    assert_eq!(plan_in(&path), before, "the file itself is as it was saved");
    assert_eq!(copies(home.path()).len(), 1, "one recovery copy");
    let mut again = opened_asking(&home, &path);
    again.typed(&["r"]);
    assert_eq!(line_of(&again, "W1"), changed, "the edit is back");
    again.keys("w");
    again.wait_for_text("saved: ");
    assert_ne!(gauge_of(&plan_in(&path), "W1"), gauge_of(&before, "W1"));
    assert_eq!(copies(home.path()), Vec::<PathBuf>::new());
}

fn opened_asking(home: &TempDir, path: &Path) -> Pty {
    let mut pty = Start::new(env!("CARGO_BIN_EXE_coachwire"), home.path()).arg(path).run();
    pty.wait_for_text("recovery copy");
    pty
}

#[test]
fn an_edit_survives_a_hang_up_signal() {
    survives(|pty| pty.signal(Signal::HUP));
}

#[test]
fn an_edit_survives_a_closed_terminal() {
    survives(|pty| pty.hang_up("?"));
}

/// Told to end, the program says on the terminal that what was not saved is kept.
#[test]
fn a_signal_is_answered_by_where_the_edits_are() {
    let (mut pty, _home, path) = at_work(120, 24);
    pty.typed(&["+"]);
    pty.signal(Signal::TERM);
    pty.wait_exit(Duration::from_secs(2));
    let text = pty.text().replace('\n', "");
    let name = path.file_name().expect("a name").to_string_lossy().into_owned();
    assert!(text.contains(&name) && text.contains("are kept in a recovery copy"), "{text}");
}

#[test]
fn an_edit_survives_being_killed() {
    survives(|pty| pty.signal(Signal::KILL));
}

#[test]
fn an_arrow_split_after_esc_moves_and_a_lone_esc_does_not_quit() {
    let (mut pty, _home, _path) = at_work(80, 24);
    let first = pty.look(|screen| screen.cursor_position());
    pty.keys("\x1b");
    std::thread::sleep(Duration::from_millis(15));
    pty.keys("[B");
    pty.settle();
    let second = pty.look(|screen| screen.cursor_position());
    assert_eq!(second.0, first.0 + 1, "one row down: {first:?} to {second:?}\n{}", pty.text());
    pty.typed(&["\x1b", "\x1b", "\x1b"]);
    assert!(pty.look(|screen| screen.alternate_screen()), "Esc never quits");
    pty.typed(&["\x1b[A"]);
    assert_eq!(pty.look(|screen| screen.cursor_position()), first);
}

/// Bytes of one arrow that a slow line delivers a fifth of a second apart, over an open field: what is typed there is committed
/// by it, as by any arrow down, and no key of its letters is pressed.
#[test]
fn an_arrow_whose_bytes_come_late_is_one_and_loses_no_text() {
    let (mut pty, _home, _path) = at_work(80, 24);
    let lines = pty.text();
    for bytes in [["\x1b", "[", "B"], ["\x1b", "O", "A"]] {
        pty.typed(&["\r", "2", "/", "0"]);
        pty.wait_for_text("DRAFT");
        for byte in bytes {
            pty.keys(byte);
            std::thread::sleep(Duration::from_millis(200));
        }
        pty.settle();
        let run = if bytes[2] == "B" { "W1" } else { "W2" };
        assert!(line_of(&pty, run).contains("2/0 AWG"), "{}", pty.text());
        pty.typed(&["\x1b"]);
        pty.settle();
        std::thread::sleep(Duration::from_millis(1100));
    }
    let rule = |text: &str| text.chars().filter(|c| *c == '\u{2500}').count();
    assert_eq!(rule(&pty.text()), rule(&lines), "B would draw the lines in ASCII:\n{}", pty.text());
}

#[test]
fn a_paste_goes_into_the_field_as_one_text() {
    let (mut pty, _home, _path) = at_work(80, 24);
    pty.typed(&["\r"]);
    for _ in 0..12 {
        pty.keys("\x7f");
    }
    pty.typed(&["\x1b[200~2 AWG\r\n\x1b[201~"]);
    assert!(line_of(&pty, "W1").contains("2 AWG"), "{}", pty.text());
    assert!(pty.text().contains("draft"), "the line break of the paste must not commit:\n{}", pty.text());
}

/// The year over the Bench: a stay's tilt moves it in the same frame, a day's hours arrive from a thread.
#[test]
fn the_opened_year_moves_with_a_stays_tilt_and_its_hours_arrive() {
    let (mut pty, _home, _path) = at_work(80, 24);
    pty.typed(&["y"]);
    pty.wait_for_text("YEAR 1 of 6");
    let december = |pty: &Pty| pty.text().lines().find(|l| l.contains(" >Dec")).expect("December").to_string();
    let flat = december(&pty);
    pty.typed(&["\r", "4", "0", "\t", "1", "8", "0"]);
    pty.wait_for_text(": 180 deg");
    assert_ne!(december(&pty), flat, "{}", pty.text());
    assert!(pty.text().contains("DRAFT"), "{}", pty.text());
    pty.typed(&["\x1b", "u"]);
    pty.settle();
    assert_eq!(december(&pty), flat, "dropped and undone");
    pty.typed(&["\x1b[C", "\x1b[C", "\x1b[C"]);
    pty.wait_for_text(", short ");
    pty.typed(&["\x1b[C", "\x1b[C"]);
    pty.wait_for_text("10 years with the same months");
}

/// A file with a name that stands twice opens, and says so with the place of the second.
#[test]
fn a_name_that_stands_twice_is_said_when_the_file_opens() {
    let home = tempfile::tempdir().expect("a folder");
    let path = home.path().join("twice.ron");
    let sample = coachwire::plan::samples::sample("larkspur").expect("the sample").text;
    let twice = sample.replacen("id: \"SHN\"", "id: \"BUS\"", 1);
    assert_ne!(twice, **sample);
    let second = twice.split("id: \"BUS\"").take(2).collect::<Vec<_>>().join("").matches('\n').count() + 1;
    std::fs::write(&path, &twice).expect("the plan's file");
    let mut pty = Start::new(env!("CARGO_BIN_EXE_coachwire"), home.path()).arg(&path).size(120, 40).run();
    pty.wait_for_text(&format!("line {second}, column"));
    pty.wait_for_text("a second BUS");
    assert_eq!(std::fs::read_to_string(&path).expect("the file"), twice);
}

/// Off the ladder and back: the plan opens where it was left, killed or not.
#[test]
fn it_opens_where_the_user_stood() {
    let (mut pty, home, path) = at_work(80, 24);
    pty.typed(&["\x1b[B", "+"]);
    pty.signal(Signal::KILL);
    pty.wait_exit(Duration::from_secs(2));
    let mut again = opened_asking(&home, &path);
    again.typed(&["r", "u"]);
    let marked = |pty: &Pty| pty.text().lines().any(|line| line.trim_start().starts_with("> W2"));
    assert!(marked(&again), "{}", again.text());
    again.typed(&["4"]);
    let year = again.text();
    again.typed(&["q"]);
    assert!(again.wait_exit(Duration::from_secs(10)).success(), "gone back to the file: nothing to save");
    let mut third = Start::new(env!("CARGO_BIN_EXE_coachwire"), home.path()).arg(&path).run();
    third.wait_for("its first frame", |screen| screen.contents().lines().count() > 2);
    third.settle();
    let title = |text: &str| text.lines().nth(1).map(str::to_string);
    assert_eq!(title(&third.text()), title(&year), "{}", third.text());
}
