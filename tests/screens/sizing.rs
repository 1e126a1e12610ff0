//! All runs sized on screen: proposed, dropped, applied as one step, taken back.

use super::Screen;
use coachwire::document::look::Look;
use coachwire::plan::samples::sample;
use coachwire::tui::message::{Effect, Message};
use coachwire::tui::model::Overlay;
use coachwire::tui::update::late;

fn larkspur() -> Screen {
    let mut screen = Screen::on(sample("larkspur").expect("sample").text, (80, 24));
    while screen.model.focus().is_none_or(|f| !f.as_str().starts_with("runs.")) {
        let was = screen.model.focus();
        screen.keys("<Down>");
        assert_ne!(screen.model.focus(), was, "no run to put the cursor on");
    }
    screen
}

fn truck_only(screen: &Screen) -> Option<bool> {
    match &screen.model.overlay {
        Some(Overlay::Sizing(s)) => Some(s.truck_only),
        _ => None,
    }
}

#[test]
fn a_proposal_is_shown_and_dropped_without_a_trace() {
    let mut screen = larkspur();
    let before = screen.plan();
    screen.keys("z");
    assert_eq!(truck_only(&screen), Some(false));
    assert_eq!(screen.plan(), before);
    screen.keys("t");
    assert_eq!(truck_only(&screen), Some(true));
    screen.keys("<Esc>");
    assert_eq!(truck_only(&screen), None);
    assert_eq!((screen.plan(), screen.shown()), (before.clone(), before));
    assert_eq!(screen.undo_names(), Vec::<String>::new());
}

#[test]
fn a_proposal_is_applied_as_one_step() {
    let mut screen = larkspur();
    let before = screen.plan();
    screen.keys("z");
    let proposed = screen.shown();
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), proposed);
    assert_eq!(screen.undo_names().len(), usize::from(proposed != before));
    screen.keys("u");
    assert_eq!(screen.plan(), before);
}

/// Sizing help on a plan whose smallest array for three batteries overtaxes its controller: the row says so, its price is
/// marked as not all of it, and Enter asks before it puts the row in.
#[test]
fn a_row_of_sizing_help_says_what_it_brings_and_asks_first() {
    let mut screen = Screen::on(sample("sorrel").expect("sample").text, (80, 24));
    screen.keys("G").climb();
    let Some(Overlay::Ladder(ladder)) = &screen.model.overlay else { panic!("no sizing help") };
    let brings = |rung: &coachwire::engine::Rung| {
        let stops = rung.new.iter().filter(|f| f.level == coachwire::engine::Level::Stop);
        stops.map(coachwire::engine::Finding::text).collect::<Vec<_>>()
    };
    let row = ladder.rungs.iter().position(|r| !brings(r).is_empty()).expect("a row that brings stops");
    let (stops, step) = (brings(&ladder.rungs[row]), ladder.rungs[row].step.clone());
    // Eight strings of 9.15 A on one controller, by hand x 1.25: 91.5 A, more than it takes.
    assert!(stops.len() >= 2, "{stops:?}");
    screen.keys(&format!("<Home>{}", "<Down>".repeat(row)));
    let text = screen.text();
    let line = text.lines().find(|l| l.contains("| >") || l.contains("new stops")).unwrap_or_default().to_string();
    assert!(text.contains(" stop caut"), "{text}");
    assert!(text.contains(&format!(" +{} ", stops.len())), "{text}");
    assert!(text.contains("+?"), "its price is not all of it: {line}\n{text}");
    let before = screen.plan();
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), before, "nothing is put in before the answer");
    let Some(Overlay::Confirm(asked)) = &screen.model.overlay else { panic!("it does not ask") };
    assert!(asked.question.contains(&format!("brings {} new stops", stops.len())), "{}", asked.question);
    assert!(asked.question.contains("not in its price"), "{}", asked.question);
    // No is marked, and goes back to the row.
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), before);
    assert!(matches!(&screen.model.overlay, Some(Overlay::Ladder(l)) if l.cursor == row));
    screen.climb().keys("<Enter>1");
    assert_eq!(*screen.plan(), before.with(&step).expect("a plan"));
    screen.keys("u");
    assert_eq!(screen.plan(), before);
}

/// Many runs are sized beside the keys: the key answers at once, any key gives it up, and what arrives is what would have
/// been proposed.
#[test]
fn many_runs_are_sized_beside_the_keys() {
    let mut plan = larkspur().plan().as_ref().clone();
    let last = plan.runs.last().expect("a run").clone();
    for k in 0..40 {
        plan.runs.push(coachwire::plan::Run { id: format!("X{k}").parse().unwrap(), ..last.clone() });
    }
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    screen.keys("z");
    assert_eq!(truck_only(&screen), None, "not yet");
    assert!(screen.text().contains("runs are being sized"), "{}", screen.text());
    screen.keys("<Esc>");
    assert!(screen.text().contains("sizing given up"), "{}", screen.text());
    screen.look();
    assert_eq!(truck_only(&screen), None, "given up");
    // Its answer comes all the same, and is there when it is asked for again.
    screen.keys("z");
    let Some(Effect::Look { generation, shown, question }) = late(&mut screen.model) else {
        panic!("asked of a worker")
    };
    let document = screen.model.document.as_ref().unwrap();
    let (engine, stock) = (document.engine(), document.stock().clone());
    screen.keys("<Esc>");
    let answer = Look { generation, engine, shown, stock, question }.answer(|| true).expect("wanted");
    screen.send(Message::Looked { generation, answer });
    assert_eq!(truck_only(&screen), None, "nobody waits for it");
    screen.keys("z");
    assert_eq!(truck_only(&screen), Some(false), "{}", screen.text());
    screen.keys("t");
    assert_eq!(truck_only(&screen), None, "from the truck alone it is asked anew");
    screen.look();
    assert_eq!(truck_only(&screen), Some(true), "{}", screen.text());
    screen.keys("t");
    assert_eq!(truck_only(&screen), None, "the newest question alone is remembered");
    screen.look();
    assert_eq!(truck_only(&screen), Some(false), "{}", screen.text());
    let document = screen.model.document.as_ref().unwrap();
    let wanted = document.engine().propose_sizes(&document.committed().plan, document.stock(), false);
    assert!(matches!(&screen.model.overlay, Some(Overlay::Sizing(s)) if s.proposal == wanted));
    screen.keys("<Esc>");
    assert_eq!(screen.shown(), screen.plan());
    // So few are proposed while the key waits.
    let mut few = larkspur();
    few.keys("z");
    assert_eq!(truck_only(&few), Some(false));
}
