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
    screen.keys("z").look();
    assert_eq!(truck_only(&screen), Some(false));
    assert_eq!(screen.plan(), before);
    screen.keys("t").look();
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
    screen.keys("z").look();
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

/// At the least of the usual sizes every row has its weight beside its price, and the line of the marked one has its watts; with two
/// arrays too.
#[test]
fn sizing_help_has_weight_and_watts_at_eighty_columns() {
    for name in ["sorrel", "larkspur"] {
        let mut screen = Screen::on(sample(name).expect("sample").text, (80, 24));
        screen.keys("G").climb();
        let text = screen.text();
        let heading = text.lines().find(|l| l.contains(" batt ")).unwrap_or_else(|| panic!("{text}"));
        for column in ["price", "meets", "lasts d"] {
            assert!(heading.contains(column), "{name}: {column} in {heading}");
        }
        assert!(heading.contains(" lb ") || heading.contains(" kg "), "{name}: {heading}");
        let Some(Overlay::Ladder(ladder)) = &screen.model.overlay else { panic!("no sizing help") };
        let coachwire::engine::ladder::Columns::Goal(c) = &ladder.rungs[ladder.cursor].columns else {
            panic!("a goal")
        };
        let watts = coachwire::tui::words::fixed(c.watts.clone().expect("known").0, 0);
        assert!(text.contains(&format!("{watts} W; short ")), "{name}: {text}");
    }
}

/// What a worker was asked last, and its answer.
fn answered(screen: &mut Screen) -> Message {
    let Some(Effect::Look { generation, shown, question }) = late(&mut screen.model) else {
        panic!("nothing is asked of a worker")
    };
    let document = screen.model.document.as_ref().unwrap();
    let (engine, stock) = (document.engine(), document.stock().clone());
    let answer = Look { generation, engine, shown, stock, question }.answer(|| true).expect("wanted");
    Message::Looked { generation, answer }
}

/// Sizes are worked out beside the keys: a line says so, Esc gives them up, and what arrives is what the engine proposes.
#[test]
fn runs_are_sized_beside_the_keys() {
    let mut screen = larkspur();
    screen.keys("z");
    assert_eq!(truck_only(&screen), None, "not yet");
    let runs = screen.plan().runs.len();
    assert!(screen.text().contains(&format!("sizing {runs} runs ..")), "{}", screen.text());
    assert!(screen.text().contains("Esc gives it up"), "{}", screen.text());
    let answer = answered(&mut screen);
    screen.keys("<Esc>");
    assert!(screen.text().contains("sizing given up"), "{}", screen.text());
    screen.send(answer);
    assert_eq!(truck_only(&screen), None, "nobody waits for it");
    // Its answer is there when it is asked for again.
    screen.keys("z");
    assert_eq!(truck_only(&screen), Some(false), "{}", screen.text());
    screen.keys("t");
    assert!(screen.text().contains("being sized anew from the truck only"), "{}", screen.text());
    let before = screen.plan();
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), before, "what is shown is not what was asked for");
    screen.look();
    assert_eq!(truck_only(&screen), Some(true), "{}", screen.text());
    screen.keys("t").look();
    assert_eq!(truck_only(&screen), Some(false), "{}", screen.text());
    let document = screen.model.document.as_ref().unwrap();
    let wanted = document.engine().propose_sizes(&document.committed().plan, document.stock(), false);
    assert!(matches!(&screen.model.overlay, Some(Overlay::Sizing(s)) if s.proposal == wanted));
    screen.keys("t<Esc>");
    assert_eq!((screen.shown(), screen.model.sizing), (screen.plan(), None));
}

/// Other keys work meanwhile; sizes that come then open nothing under the hands, but wait for their key.
#[test]
fn what_is_begun_while_runs_are_sized_is_not_disturbed() {
    let mut screen = larkspur();
    screen.keys("z");
    let answer = answered(&mut screen);
    screen.keys("<Down>");
    assert!(screen.text().contains("sizing "), "{}", screen.text());
    screen.send(answer);
    assert_eq!(truck_only(&screen), None, "a key meant for the Bench would apply them");
    assert!(screen.text().contains("are there: z shows them"), "{}", screen.text());
    screen.keys("z");
    assert_eq!(truck_only(&screen), Some(false));
    screen.keys("<Esc>");
    // An edit meanwhile: the older question is no longer answered, the newer one is of the plan as it is now.
    screen.keys("+z");
    let of_before = answered(&mut screen);
    screen.keys("+");
    screen.send(of_before);
    assert!(screen.text().contains("sizing "), "what came is of the plan before the step: {}", screen.text());
    let now = answered(&mut screen);
    screen.send(now);
    assert!(screen.text().contains("are there: z shows them"), "{}", screen.text());
    screen.keys("z");
    let document = screen.model.document.as_ref().unwrap();
    let wanted = document.engine().propose_sizes(&document.committed().plan, document.stock(), false);
    assert!(matches!(&screen.model.overlay, Some(Overlay::Sizing(s)) if s.proposal == wanted));
}

/// A fuse whose rating is filled in makes drops known that are over their target: the screen names what sizing brings, and so does
/// the line after it is applied.
#[test]
fn what_sizing_brings_is_named() {
    let text = sample("larkspur").expect("sample").text;
    assert_eq!(text.matches("amps_a: 400.0,").count(), 1);
    let mut screen = Screen::on(&text.replace("amps_a: 400.0,", "amps_a: \"?\","), (80, 24));
    screen.keys("z").look();
    let Some(Overlay::Sizing(sizing)) = &screen.model.overlay else { panic!("not proposed") };
    assert!(sizing.brings.contains("drop-over-target W2"), "{}", sizing.brings);
    assert!(screen.text().contains("brings: "), "{}", screen.text());
    screen.keys("<Enter>");
    assert!(screen.said().contains("; brings: "), "{}", screen.said());
}

/// A goal that no row meets: the title says so, and about every row stands how far it was looked; neither while the years are to come,
/// nor where a row meets it.
#[test]
fn a_goal_that_nothing_meets_is_said() {
    let mut screen = Screen::on(sample("bramble").expect("sample").text, (80, 24));
    screen.keys("G");
    for _ in 0..60 {
        screen.keys("+");
    }
    assert!(
        screen.text().contains("+- GOAL: lasts 30 days without sun, no load short at all stays -"),
        "{}",
        screen.text()
    );
    screen.climb();
    assert!(
        screen.text().contains("+- GOAL NOT MET: lasts 30 days without sun, no load short at all stays -"),
        "{}",
        screen.text()
    );
    let text = screen.text();
    let lines: Vec<&str> = text.lines().map(|line| line.trim_matches([' ', '|'])).collect();
    let text = lines.join(" ");
    assert!(text.contains("tried: up to 8 batteries in parallel, 8 strings on one array; the plan as"), "{text}");
    let mut screen = Screen::dunlin();
    screen.keys("G").climb();
    assert!(!screen.text().contains("NOT MET") && !screen.text().contains("tried: up to"), "{}", screen.text());
}
