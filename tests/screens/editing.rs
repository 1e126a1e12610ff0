//! Fields: drafts, commits, steps, undo.

use super::Screen;
use coachwire::engine::LadderOf;
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, Known, Leg, Plan, State, Step, Value};
use coachwire::tui::message::Message;

fn gauge(screen: &Screen, run: usize) -> String {
    screen.shown().runs[run].gauge.known().map_or("?".into(), ToString::to_string)
}

#[test]
fn a_key_that_parses_is_a_draft_at_once() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Enter>4");
    assert_eq!(gauge(&screen, 1), "4 AWG");
    assert_eq!(screen.plan().runs[1].gauge.known().unwrap().to_string(), "8 AWG", "not committed yet");
    assert!(screen.text().contains("DRAFT"), "{}", screen.text());
    screen.keys("<Esc>");
    assert_eq!(gauge(&screen, 1), "8 AWG");
    assert!(!screen.text().contains("DRAFT"));
    assert!(screen.undo_names().is_empty());
}

#[test]
fn enter_makes_one_named_step() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Enter>6 awg<Enter>");
    assert_eq!(screen.undo_names(), ["W2 gauge 8 AWG -> 6 AWG"]);
    screen.keys("u");
    assert_eq!(gauge(&screen, 1), "8 AWG");
    assert_eq!(screen.said(), "undone: W2 gauge 8 AWG -> 6 AWG");
    screen.keys("r");
    assert_eq!(gauge(&screen, 1), "6 AWG");
}

#[test]
fn text_that_does_not_parse_shows_the_committed_plan_and_enter_stays() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Enter>4x");
    assert_eq!(gauge(&screen, 1), "8 AWG");
    screen.keys("<Enter>");
    assert!(screen.model.field.is_some(), "Enter stays in a field that does not parse");
    assert!(screen.undo_names().is_empty());
    screen.keys("<Tab>");
    assert!(screen.model.field.is_some());
    screen.keys("<BS><Enter>");
    assert!(screen.model.field.is_none());
    assert_eq!(gauge(&screen, 1), "4 AWG");
    // What is typed after a refusal is another try, not the end of the refused one.
    screen.keys("<Enter>8y<Enter>2<Enter>");
    assert!(screen.model.field.is_none(), "{}", screen.said());
    assert_eq!(gauge(&screen, 1), "2 AWG");
}

#[test]
fn every_printable_key_is_text_in_a_field() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Enter>?<Enter>");
    assert_eq!(screen.plan().runs[1].gauge, Known::Unknown, "? is the unknown, not the help");
    assert!(screen.model.overlay.is_none());
    let mut screen = Screen::dunlin();
    screen.keys("0<Enter><Enter>quilt: a + b - c 1<Enter>");
    assert_eq!(screen.plan().job.title, "quilt: a + b - c 1");
}

#[test]
fn opening_and_leaving_changes_nothing() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Enter><Enter><Enter><Tab><Esc>");
    assert!(screen.undo_names().is_empty());
    assert!(!screen.model.document.as_ref().unwrap().is_dirty());
}

#[test]
fn repeated_stepping_is_one_undo_step_until_focus_leaves() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down>++");
    assert_eq!(gauge(&screen, 1), "4 AWG");
    assert_eq!(screen.undo_names(), ["W2 gauge 8 AWG -> 4 AWG"]);
    screen.keys("<Up><Down>-");
    assert_eq!(screen.undo_names(), ["W2 gauge 4 AWG -> 6 AWG", "W2 gauge 8 AWG -> 4 AWG"]);
    screen.keys("uu");
    assert_eq!(gauge(&screen, 1), "8 AWG");
}

#[test]
fn fuse_and_length_step_in_their_columns() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Right>+");
    let amps = |s: &Screen| s.plan().runs[1].protection[0].amps_a.known().unwrap().0;
    assert!(amps(&screen) > 60.0, "{}", amps(&screen));
    screen.keys("<Left><Left>+");
    assert!(screen.plan().runs[1].legs[0].length_m.known().unwrap().0 > 1.8288);
}

#[test]
fn a_fuse_typed_where_none_is_makes_one_at_the_battery_end() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Down><Down><Right><Enter>250<Enter>");
    let run = &screen.plan().runs[3];
    assert_eq!(run.protection.len(), 1);
    assert_eq!(run.protection[0].at.word(), "from", "W4 runs from the bus to the inverter");
    assert_eq!(run.protection[0].amps_a.known().unwrap().0, 250.0);
    assert_eq!(screen.undo_names().len(), 1, "one step, the new fuse and its rating");
}

#[test]
fn a_length_as_people_type_it() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Left><Enter>22'6\"");
    assert!(screen.text().contains("6.858 m"), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(screen.plan().runs[1].legs[0].length_m.known().unwrap().0, 6.858);
}

#[test]
fn a_paste_is_one_text_without_control_characters() {
    let mut screen = Screen::dunlin();
    screen.keys("0<Enter>");
    screen.send(coachwire::tui::message::Message::Paste("two\nlines\x1b".into()));
    screen.keys("<Enter>");
    assert_eq!(screen.plan().job.title, "two lines");
}

#[test]
fn tab_walks_only_the_unknowns_when_asked() {
    let mut screen = Screen::dunlin();
    screen.keys("n");
    let first = screen.model.focus().unwrap();
    assert_eq!(screen.shown().get_at(&first), Some(Value::Unknown), "{first}");
    screen.keys("m<Tab>");
    let second = screen.model.focus().unwrap();
    assert_ne!(first, second);
    assert_eq!(screen.shown().get_at(&second), Some(Value::Unknown), "{second}");
}

#[test]
fn every_field_of_the_plan_is_reachable_and_editable() {
    // From the list of sections down: every record's fields stand on some page.
    use coachwire::tui::form::{Place, Row, WALK_ROUND, rows};
    fn walk(plan: &coachwire::plan::Plan, place: &Place, seen: &mut Vec<String>, depth: usize) {
        assert!(depth < 8);
        for row in rows(plan, place) {
            match row {
                Row::Field { at, .. } => seen.push(at.to_string()),
                Row::Item { at, .. } => walk(plan, &Place::Record(at), seen, depth + 1),
                Row::Link { place, .. } => walk(plan, &place, seen, depth + 1),
                Row::Heading(_) | Row::Add { .. } => {}
            }
        }
    }
    let plan = Screen::dunlin().plan();
    let mut seen = Vec::new();
    walk(&plan, &Place::Sections(WALK_ROUND), &mut seen, 0);
    for wanted in
        ["job.title", "bank.ratings.stud", "runs.W2.legs.L1.length_m", "runs.W2.protection.F1.amps_a", "money.note"]
    {
        assert!(seen.iter().any(|s| s == wanted), "{wanted} is on no page");
    }
    assert!(seen.len() > 300, "{}", seen.len());
    for at in &seen {
        assert!(plan.get_at(&at.as_str().into()).is_some(), "{at}");
    }
}

/// What is typed on an empty text is text; where a text stands, and where Esc has left the typing, letters are commands.
#[test]
fn letters_on_an_empty_text_begin_it() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab><Enter>");
    let row = |screen: &Screen| screen.model.form_row().and_then(|row| row.path().cloned()).unwrap();
    while !row(&screen).as_str().ends_with(".note") {
        screen.keys("<Down>");
    }
    let at = row(&screen);
    assert!(screen.text().contains("letters type here"), "{}", screen.text());
    screen.keys("under the bed, near side<Enter>");
    assert_eq!(screen.plan().get_at(&at), Some(Value::Text("under the bed, near side".into())));
    assert_eq!(screen.undo_names().len(), 1, "one step, and no command");
    assert!(!screen.text().contains("letters type here"), "{}", screen.text());
    screen.keys("j");
    assert!(screen.said().contains("a capital types over the text"), "{}", screen.said());
    screen.keys("u");
    assert_eq!(screen.plan().get_at(&at), Some(Value::Text(String::new())), "over a text u is undo");
    screen.keys("x<Esc>r");
    assert_eq!(screen.plan().get_at(&at), Some(Value::Text("under the bed, near side".into())), "after Esc r is redo");
    screen.keys("u<Up><Down>r<Esc>");
    assert_eq!(screen.plan().get_at(&at), Some(Value::Text(String::new())), "moved off and on again, r is text");
}

/// On a stay without a place a letter looks it up, which brings its position too.
#[test]
fn letters_on_an_empty_place_look_it_up() {
    let mut screen = Screen::dunlin();
    screen.keys("3<Enter>a<Esc>");
    let stays = screen.plan().stays.len();
    let place = format!("stays.{}.place", screen.plan().stays[stays - 1].id);
    if screen.model.form_row().and_then(|row| row.path().cloned()).is_none_or(|at| at.as_str() != place) {
        screen.keys("<Enter>");
    }
    assert_eq!(screen.model.focus().map(|at| at.to_string()).as_deref(), Some(place.as_str()), "{}", screen.text());
    screen.keys("<Down><Up>moab utah<Enter>");
    let stay = screen.plan().stays[stays - 1].clone();
    assert!(stay.place.starts_with("Moab"), "{stay:?}");
    // GeoNames: Moab, Utah lies at 38.57 N.
    assert!((stay.latitude_deg.known().unwrap().0 - 38.57).abs() < 0.02, "{stay:?}");
}

/// `+` on a gauge nobody has entered takes what the rules choose, where they can; else every gauge is shown.
#[test]
fn a_step_on_an_unknown_gauge_takes_what_fits() {
    let mut screen = Screen::dunlin();
    let run = screen.plan().runs.iter().position(|r| r.gauge == Known::Unknown).expect("dunlin has such a run");
    let id = screen.plan().runs[run].id.clone();
    screen.keys(&"<Down>".repeat(run)).keys("+");
    let chosen = {
        let document = screen.model.document.as_ref().unwrap();
        let mut plan = (*screen.plan()).clone();
        plan.runs[run].gauge = Known::Unknown;
        document.engine().select(&plan, document.stock(), &id)
    };
    match chosen {
        Some(chosen) => assert_eq!(screen.plan().runs[run].gauge, Known::Is(chosen.gauge), "{}", screen.said()),
        None => assert!(screen.text().contains(&format!("GAUGES OF {id}")), "{}", screen.text()),
    }
}

/// Wire that exists beside new wire keeps its gauge, whatever chooses: the key, typing, the ladder's row, what more copper
/// is worth.
#[test]
fn a_gauge_key_leaves_existing_legs_alone() {
    let mut screen = Screen::on(sample("sorrel").unwrap().text, (120, 40));
    let was = screen.plan();
    let legs = |p: &Plan| -> Vec<(State, Option<String>)> {
        let run = &p.runs[0];
        let gauge = |l: &Leg| l.gauge.as_ref().unwrap_or(&run.gauge).known().map(ToString::to_string);
        run.legs.iter().map(|l| (l.state, gauge(l))).collect()
    };
    let mut wanted = legs(&was);
    assert!(wanted.iter().any(|l| l.0 == State::New) && wanted.iter().any(|l| l.0 == State::Existing), "{wanted:?}");
    assert!(wanted.iter().all(|l| l.1.as_deref() == Some("10 AWG")), "{wanted:?}");
    let mut to = |gauge: &str| {
        wanted.iter_mut().filter(|l| l.0 == State::New).for_each(|l| l.1 = Some(gauge.into()));
        wanted.clone()
    };
    let worth = |screen: &Screen| screen.text().lines().find_map(|l| l.split_once("| worth").map(|l| l.1.to_string()));
    assert!(worth(&screen).is_some_and(|w| w.contains("W1 8 AWG")), "{}", screen.text());
    screen.keys("--");
    assert_eq!(legs(&screen.plan()), to("14 AWG"), "{}", screen.said());
    assert_eq!(screen.undo_names().len(), 1, "{:?}", screen.undo_names());
    assert!(screen.text().contains("14 AWG*"), "{}", screen.text());
    assert!(worth(&screen).is_some_and(|w| w.contains("W1 12 AWG")), "{}", screen.text());
    let document = screen.model.document.as_ref().unwrap();
    let rungs = document.engine().ladder(&was, document.stock(), &LadderOf::Gauge(was.runs[0].id.clone()));
    let row = rungs.iter().find(|r| r.name() == "14 AWG").expect("its row");
    let with = was.with(&row.step).expect("applies");
    assert_eq!(legs(&with), legs(&screen.plan()));
    screen.keys("<Enter>6 awg<Enter>");
    assert_eq!(legs(&screen.plan()), to("6 AWG"), "{}", screen.text());
}

/// Over a text that stands a capital types, as names begin; so none of the commands that are capitals runs by mistake.
#[test]
fn a_text_that_stands_is_typed_over() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab><Down><Enter>Charge controller<Enter>");
    let at = screen.model.focus().expect("the name");
    assert!(at.as_str().ends_with(".name"), "{at}");
    let name = |screen: &Screen| match screen.shown().get_at(&at) {
        Some(Value::Text(text)) => text,
        other => panic!("{other:?}"),
    };
    assert_eq!(name(&screen), "Charge controller");
    assert!(screen.text().contains("capitals type here"), "{}", screen.text());
    let effects = screen.effects.len();
    for capital in 'A'..='Z' {
        screen.keys(&format!("{capital}x"));
        assert_eq!(name(&screen), format!("{capital}x"), "{}", screen.text());
        // Dropped; off the row and on again, or after Esc it would be a command.
        screen.keys("<Esc><Down><Up>");
        assert_eq!(name(&screen), "Charge controller", "Esc drops the draft");
    }
    assert!(screen.effects.len() == effects && screen.model.overlay.is_none());
    screen.keys("Sky<Enter>u");
    assert_eq!(name(&screen), "Charge controller", "small letters stay keys");
    screen.keys("<BS>");
    assert_eq!(name(&screen), "", "Backspace opens it empty: {}", screen.text());
    screen.keys("pump<Enter>");
    assert_eq!(name(&screen), "pump");
    screen.keys("?");
    assert!(screen.text().contains("where a text"), "{}", screen.text());
}

/// The shelf is another file, which undo does not reach: it is asked about, and neither Enter nor a letter says yes.
#[test]
fn the_shelf_is_asked_about() {
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab><BackTab><Down>");
    let (before, effects) = (screen.plan(), screen.effects.len());
    for answer in ["<Enter>", "<Esc>", "Sky2", "y<Esc>"] {
        screen.keys("S");
        assert!(screen.text().contains("on the shelf"), "{}", screen.text());
        screen.keys(answer);
        assert!(screen.model.overlay.is_none() && screen.effects.len() == effects, "{answer}");
    }
    assert_eq!(screen.plan(), before);
}

/// What is wrong with an entry is said in full where there are two lines for it, at 80 columns.
#[test]
fn a_refusal_is_said_in_full() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Enter>22");
    let text = screen.text();
    // While it is typed, that it is wrong: the line of figures below stays where it is.
    assert!(text.contains("is no AWG size"), "{text}");
    screen.keys("<Enter>");
    let text = screen.text();
    let said: Vec<&str> = text.lines().filter(|l| l.contains("AWG size") || l.contains("4/0")).collect();
    assert!(said.iter().all(|l| !l.ends_with('~')), "{said:?}");
    assert!(said.iter().any(|l| l.contains("4/0")), "the whole list: {text}");
}

/// What of the results has no room at 80 columns is said in full below, while the keys are there.
#[test]
fn results_that_are_cut_are_said_in_full_below() {
    let mut screen = Screen::dunlin();
    let cut = |text: &str| text.lines().filter(|l| l.contains("fault") && l.ends_with('~')).count();
    assert_eq!(cut(&screen.text()), 1, "{}", screen.text());
    let how = screen.model.document.as_ref().unwrap().shown().report.bank.fault_how;
    let said = |screen: &Screen| screen.text().replace('\n', " ").contains(how);
    assert!(!said(&screen));
    screen.keys("<BackTab>");
    assert!(said(&screen), "{how}: {}", screen.text());
}

/// A lone Esc that turns out to have begun an arrow closed nothing: typed text, a box with its text, a form stand as they did.
#[test]
fn what_an_esc_closed_that_was_none_stands_again() {
    let mut screen = Screen::dunlin();
    for script in ["<Enter>2/0", " siz", "e", "2<Enter>", "g", "y<Enter>12"] {
        screen.keys(script);
        let (text, shown) = (screen.text(), screen.shown());
        screen.keys("<Esc>");
        assert_ne!(screen.text(), text, "{script}");
        screen.send(Message::NoEsc);
        assert_eq!(screen.text(), text, "{script}");
        assert_eq!(screen.shown(), shown, "{script}");
        screen.keys(&"<Esc>".repeat(4)).keys("1");
    }
    // After another key the Esc stands.
    screen.keys("<Enter>2/0<Esc><Down>");
    let text = screen.text();
    screen.send(Message::NoEsc);
    assert_eq!(screen.text(), text);
}

/// A length in metres as long as it was typed is rounded in its cell, never cut; the field has it whole.
#[test]
fn lengths_in_metres_are_read_whole_in_the_list_of_runs() {
    let mut screen = Screen::dunlin();
    let set = |screen: &mut Screen, at: &str, to: Value| {
        let step = Step::one("set", Edit::Set { at: at.into(), to });
        screen.model.document.as_mut().unwrap().apply(step).unwrap();
    };
    set(&mut screen, "job.length_unit", Value::Word("metres"));
    let run = screen.plan().runs.iter().find(|run| run.legs.len() == 1).unwrap().clone();
    let at = format!("runs.{}.legs.{}.length_m", run.id, run.legs[0].id);
    for (metres, cell) in [(9.1234, " 9.12 m "), (12.345, " 12.3 m "), (0.4567, " 0.46 m "), (4.5, " 4.5 m ")] {
        set(&mut screen, &at, Value::Number(metres));
        let text = screen.text();
        let row = text.lines().find(|line| line.get(2..).is_some_and(|l| l.starts_with(run.id.as_str()))).unwrap();
        assert!(row.contains(cell) && !row.contains('~'), "{row}");
    }
}

/// -20 F typed on the row of the coldest air, which takes numbers below nothing, is -20 F: no step down, and then 20.
#[test]
fn a_minus_begins_a_number_where_one_may_stand() {
    let at = |screen: &Screen| {
        let text = screen.text();
        text.lines().any(|l| l.trim_start().starts_with('>') && l.contains("coldest"))
    };
    let mut screen = Screen::dunlin();
    screen.keys("3<Home><Down><Enter>");
    for _ in 0..40 {
        if at(&screen) {
            break;
        }
        screen.keys("<Down>");
    }
    assert!(at(&screen), "{}", screen.text());
    screen.keys("-20<Enter>");
    let coldest = screen.plan().job.coldest_c.as_ref().and_then(|c| c.known().map(|c| c.0)).unwrap();
    // By hand: (-20 - 32) / 1.8.
    assert!((coldest + 28.889).abs() < 1e-3, "{coldest}");
    assert_eq!(screen.undo_names().len(), 1, "{:?}", screen.undo_names());
}
