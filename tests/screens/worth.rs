//! What more copper in the selected run is worth: among the results, for the run and the plan on screen only.

use super::Screen;
use coachwire::document::look::{Answer, Question};
use coachwire::tui::message::{Effect, Message};
use coachwire::tui::update::late;

fn line(screen: &Screen) -> String {
    let text = screen.text();
    let line = text.lines().find_map(|l| l.split_once("| worth")).unwrap_or_else(|| panic!("{text}"));
    line.1.trim().to_string()
}

/// Its figures while they are worked out; whose they are follows where there is room.
const AWAITED: &str = "..    Wh/d ..   kWh/y used ..  ";

#[test]
fn it_waits_arrives_and_is_never_that_of_another_run_or_plan() {
    // Wide enough for whose it is, after the figures.
    let mut screen = Screen::on(super::DUNLIN, (120, 40));
    assert_eq!(line(&screen), AWAITED.to_string() + " (W1 8 AWG)");
    screen.look();
    let first = line(&screen);
    assert!(first.starts_with('+') && first.contains("kWh/y used ") && first.contains("(W1 8 AWG)"), "{first}");
    screen.keys("<Down>");
    assert_eq!(line(&screen), AWAITED.to_string() + " (W2 6 AWG)");
    let Some(Effect::Look { generation, question: Question::Worth(run), .. }) = late(&mut screen.model) else {
        panic!("what W2 is worth is asked for")
    };
    assert_eq!(run.as_str(), "W2");
    // Another edit comes first: the answer to the plan before it is not shown.
    screen.keys("+");
    assert_eq!(line(&screen), AWAITED.to_string() + " (W2 4 AWG)");
    screen.look();
    let shown = line(&screen);
    screen.send(Message::Looked { generation, answer: Answer::Worth(Err(coachwire::plan::Missing("bank".into()))) });
    assert_eq!(line(&screen), shown);
    screen.keys("<Up>").look();
    let again = line(&screen);
    assert!(again.starts_with('+') && again.contains("(W1 8 AWG)"), "{again}");
    assert!(late(&mut screen.model).is_none(), "it is asked for once");
}

#[test]
fn a_draft_has_its_own() {
    let mut screen = Screen::dunlin();
    screen.keys("<Enter>6");
    assert_eq!(line(&screen), AWAITED.trim_end());
    screen.look();
    let draft = line(&screen);
    screen.keys("<Esc>").look();
    assert_ne!(line(&screen), draft);
    screen.keys("<Enter>?").look();
    assert_eq!(line(&screen), "W1: ? (its gauge)");
    screen.keys("<Esc><Enter>4/0");
    assert_eq!(line(&screen), "W1 has the largest gauge");
}

#[test]
fn other_runs_say_why_there_is_none() {
    let mut screen = Screen::dunlin();
    // The bank's own run is on the sun's way, the inverter's is not.
    screen.keys("<Down><Down>");
    assert_eq!(line(&screen), AWAITED.trim_end());
    screen.keys("<Down>");
    assert_eq!(line(&screen), "W4 carries no charging current");
    assert!(late(&mut screen.model).is_none(), "nothing is asked");
    let mut empty = Screen::on("(version: 1)", (80, 24));
    assert_eq!(line(&empty), "-");
    assert!(late(&mut empty.model).is_none());
}
