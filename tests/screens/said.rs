//! What the screen offers and says is so: no key that refuses, no step that is none, no figure of nothing.

use std::path::PathBuf;

use coachwire::plan::samples::sample;
use coachwire::plan::{Known, Plan, State};
use coachwire::tui::message::{Effect, Message, Opened, SaveFailure};
use coachwire::tui::model::Overlay;

use super::{DUNLIN, Screen};

fn on_blank() -> Screen {
    let opened = Opened { plan: Plan::blank(), path: None, locked_by: None, recovery: None, remark: None };
    Screen::with(super::Start { opened: Some(opened), ..Screen::start() })
}

/// Keys that nobody can see the work of change nothing; the screen comes back as it was.
#[test]
fn a_screen_too_small_takes_no_keys() {
    let mut screen = Screen::dunlin();
    let (before, plan) = (screen.picture(), screen.plan());
    screen.send(Message::Resize(40, 10));
    assert!(screen.text().contains("keys wait; q leaves"), "{}", screen.text());
    screen.keys("+d<Enter>9:z5").send(Message::Paste("text".into()));
    assert!(screen.effects.is_empty() && screen.model.overlay.is_none());
    screen.send(Message::Resize(80, 24));
    assert_eq!((screen.picture(), screen.plan()), (before, plan));
    // With nothing unsaved it can be left, else only where one sees what is asked.
    screen.send(Message::Resize(39, 24)).keys("q");
    assert!(matches!(screen.effects.pop(), Some(Effect::Quit { clean: true })));
    screen.send(Message::Resize(80, 24)).keys("+");
    screen.send(Message::Resize(39, 24)).keys("q");
    assert!(screen.effects.is_empty() && !screen.text().contains("leaves"), "{}", screen.text());
}

/// A gauge stepped up and back is the plan it came from: no step, nothing unsaved, no change since the baseline.
#[test]
fn a_gauge_stepped_back_is_no_step() {
    for name in ["sorrel", "larkspur", "bramble", "marram"] {
        let mut screen = Screen::on(sample(name).unwrap().text, (120, 40));
        screen.keys("b");
        let plan = screen.plan();
        for run in 0..plan.runs.len() {
            for keys in ["+-", "++--"] {
                screen.keys(keys);
                let is_whole = screen.plan() == plan;
                let text = screen.text();
                let gauges = text
                    .split_once(" since base: ")
                    .map(|(_, after)| after.split(',').next().unwrap_or("").to_string());
                let gauges = gauges
                    .as_deref()
                    .and_then(|said| said.split_once(" -> "))
                    .map(|(a, b)| (a.trim(), b.trim().trim_end_matches('*')));
                assert!(gauges.is_none_or(|(a, b)| a.trim_end_matches('*') != b), "{name} {run} {keys}: {text}");
                if is_whole {
                    assert_eq!(screen.undo_names(), Vec::<String>::new(), "{name} {run} {keys}");
                    assert!(!screen.model.document.as_ref().unwrap().is_dirty());
                }
                while screen.plan() != plan {
                    screen.keys("u");
                }
            }
            screen.keys("<Down>");
        }
    }
    let mut screen = Screen::on(sample("sorrel").unwrap().text, (120, 40));
    let plan = screen.plan();
    screen.keys("+-");
    assert_eq!(screen.plan(), plan);
}

/// The footer of a plan with nothing in it has no key that would refuse; with runs it has them.
#[test]
fn the_footer_offers_what_works() {
    let footer = |screen: &Screen| screen.text().lines().last().unwrap().to_string();
    let mut screen = on_blank();
    for keys in ["", "<Tab>", "<Tab>"] {
        screen.keys(keys);
        let said = footer(&screen);
        for label in ["ladder", "size all", "undo"] {
            assert!(!said.contains(label), "{keys}: {said}");
        }
    }
    let mut screen = Screen::on(DUNLIN, (120, 40));
    assert!(footer(&screen).contains("l ladder") && footer(&screen).contains("z size all"), "{}", footer(&screen));
    assert!(!footer(&screen).contains("undo"), "{}", footer(&screen));
    screen.keys("+");
    assert!(footer(&screen).contains("u undo"), "{}", footer(&screen));
    // A ladder is offered exactly where one opens.
    for text in [DUNLIN, &**sample("sorrel").unwrap().text, &**sample("marram").unwrap().text] {
        let mut screen = Screen::on(text, (120, 40));
        screen.keys("<Right>");
        for run in 0..screen.plan().runs.len() {
            let is_offered = footer(&screen).contains("l ladder");
            screen.keys("l");
            let opens = screen.model.overlay.is_some();
            screen.keys("<Esc>");
            assert_eq!(is_offered, opens, "{run}: {}", screen.said());
            screen.keys("<Down>");
        }
    }
}

/// Sizes of things as a tape shows them; the plan keeps what was entered.
#[test]
fn a_size_is_shown_as_a_tape_shows_it() {
    // By hand: 8 m are 314.961 in, 2.2 m are 86.614 in (86 5/8 = 86.625), 0.08 m are 3.150 in (3 1/8 = 3.125).
    let text = DUNLIN.replace("roof: (length_m: 6.0", "roof: (length_m: 8.0");
    let mut screen = Screen::on(&text, (80, 24));
    screen.keys("4");
    let roof = screen.text();
    assert!(
        roof.contains("length 315\"") && roof.contains("width 86 5/8\"") && roof.contains("edge 3 1/8\""),
        "{roof}"
    );
    screen.keys("<Enter>");
    let form = screen.text();
    assert!(form.contains("315\"") && !form.contains("314.9"), "{form}");
    screen.keys("<Enter>");
    let field = screen.model.field.as_ref().unwrap();
    assert_eq!((field.at.as_str(), field.line.text()), ("roof.length_m", "314.96\""));
    screen.keys("<Enter>");
    assert_eq!(screen.plan(), std::sync::Arc::new(Plan::from_text(&text).unwrap()));
}

/// The fuse cell of a run without one is a field with words, help and source as any other.
#[test]
fn a_fuse_that_is_not_there_yet_has_its_words() {
    let mut screen = Screen::on(DUNLIN, (80, 24));
    screen.keys("<Right>");
    let text = screen.text();
    assert!(!text.contains("amps_a") && text.contains("amps: "), "{text}");
    screen.keys("?");
    let help = screen.text();
    assert!(help.contains("W1 F1 amps  (") && help.contains("source: "), "{help}");
}

/// Two things that paper and findings would name alike cannot be made by renaming.
#[test]
fn a_name_is_given_once() {
    let mut screen = Screen::dunlin();
    for (name, other) in
        [("W2", "W2 is a wiring run already"), ("bk", "BK is the battery bank"), ("bus", "BUS is a device")]
    {
        screen.keys(&format!("R<C-u>{name}<Enter>"));
        assert!(screen.text().contains(other), "{name}: {}", screen.text());
        screen.keys("<Esc>");
    }
    assert!(screen.undo_names().is_empty());
    screen.keys("R<C-u>w1<Enter>");
    assert_eq!(screen.plan().runs[0].id.as_str(), "w1", "its own name in other letters");
}

/// A path that could not be written stands there to be mended.
#[test]
fn a_path_that_failed_is_there_to_be_mended() {
    let mut screen = Screen::dunlin();
    screen.keys("+W<C-u>/no/such/folder/x.ron<Enter>");
    screen.effects.clear();
    let path = PathBuf::from("/no/such/folder/x.ron");
    screen.send(Message::Saved(Err(SaveFailure::Failed(path, "its folder is not there".into()))));
    let text = screen.text();
    assert!(text.contains("/no/such/folder/x.ron") && text.contains("its folder is not there"), "{text}");
    screen.keys("<C-u>/plans/x.ron<Enter>");
    assert!(
        matches!(screen.effects.pop(), Some(Effect::Save { path, .. }) if path == *std::path::Path::new("/plans/x.ron"))
    );
}

/// A label that no panel has is said where it is entered and at the end of the walk-round.
#[test]
fn the_walk_round_says_what_the_harvest_waits_for() {
    let text = DUNLIN.replace("voc_v: 22.1", "voc_v: 17.0");
    let mut screen = Screen::on(&text, (120, 40));
    screen.keys("g");
    for _ in 0..40 {
        if screen.model.field.is_none() {
            break;
        }
        screen.keys("<C-u>?<Enter>");
    }
    assert!(screen.said().contains("no harvest yet: P1: no panel has such a label"), "{:?}", screen.model.messages);
}

/// What a figure of the year waits for has its words there, too.
#[test]
fn the_year_waits_in_words() {
    let text = DUNLIN.replace("absorb_v: 14.2", "absorb_v: \"?\"");
    let mut screen = Screen::on(&text, (80, 24));
    screen.keys("y");
    for page in 0..6 {
        screen.look();
        let said = screen.text().replace(['\n', '|', '~'], " ");
        assert!(!said.contains("controllers.C1") && !said.contains("absorb_v"), "page {page}: {said}");
        screen.keys("<Right>");
    }
}

/// A bearing is said by its name as well as in degrees; what is accepted is named where it is not understood.
#[test]
fn a_heading_may_be_a_point_of_the_compass() {
    let plan = Plan::from_text(DUNLIN).unwrap();
    let at = "stays.ST1.heading_deg".into();
    let degrees = |text: &str| match coachwire::plan::entry::parse(&plan, &at, text).map(|p| p.value) {
        Ok(coachwire::plan::Value::Number(x)) => x,
        other => panic!("{text}: {other:?}"),
    };
    // The thirty-two points are 11 1/4 degrees apart; of them the eight principal ones and those between.
    for (text, bearing) in [
        ("N", 0.0),
        ("south", 180.0),
        ("SW", 225.0),
        ("north-west", 315.0),
        ("sse", 157.5),
        ("East", 90.0),
        ("202.5", 202.5),
    ] {
        assert_eq!(degrees(text), bearing, "{text}");
    }
    let why = coachwire::plan::entry::parse(&plan, &at, "up").unwrap_err().why;
    assert!(why.contains("south, SW") && why.contains("any"), "{why}");
}

/// A place typed as a name alone has no climate yet: said at once, with what finds it.
#[test]
fn a_place_without_a_position_is_said() {
    let text = DUNLIN.replace(
        "place: \"Quartzsite AZ\", latitude_deg: 33.66, longitude_deg: -114.23, elevation_m: 268.0",
        "place: \"\"",
    );
    let mut screen = Screen::on(&text, (80, 24));
    screen.keys("3<Enter><Enter><Enter>yuma az<Enter>");
    assert!(
        screen.said().contains("no position is known for \"yuma az\""),
        "{:?} {}",
        screen.model.messages,
        screen.text()
    );
}

/// Enter on the row of a ladder that the plan has already is no step, and says so.
#[test]
fn the_row_that_the_plan_has_is_no_step() {
    let mut screen = Screen::dunlin();
    screen.keys("l<Enter>");
    assert!(screen.said().contains("nothing changes"), "{}", screen.said());
    assert!(screen.undo_names().is_empty());
}

/// What is pasted where no field is focused goes nowhere, and opens nothing.
#[test]
fn a_paste_without_a_field_opens_nothing() {
    let mut screen = Screen::dunlin();
    screen.keys("<Tab><Tab>");
    let before = screen.model.bench.pane;
    assert_eq!(before, coachwire::tui::model::Pane::Results);
    screen.send(Message::Paste("8 awg".into()));
    assert!(screen.model.screen == 1 && screen.model.field.is_none() && screen.undo_names().is_empty());
    assert!(screen.said().contains("went nowhere"), "{}", screen.said());
}

/// Headings follow their numbers.
#[test]
fn one_is_not_said_as_many() {
    use coachwire::wording::findings::{Count, Group};
    let heading = |group: Group, open: usize| group.heading(Count { open, accepted: 0 });
    assert_eq!(heading(Group::NotChecked, 1), "NOT CHECKED 1: a safety check waits for a value");
    assert_eq!(heading(Group::NotChecked, 6), "NOT CHECKED 6: safety checks that wait for a value");
    assert_eq!(heading(Group::Waiting, 1), "WAITING 1: another check that waits for a value");
    assert_eq!(heading(Group::Unknown, 1), "UNKNOWN 1: a value nobody has entered");
    assert_eq!(heading(Group::Unknown, 2), "UNKNOWN 2: values nobody has entered");
}

/// A length of eight characters stands whole on a wide screen.
#[test]
fn a_wide_bench_shows_whole_lengths() {
    let screen = Screen::on(DUNLIN, (120, 40));
    let run = screen.plan().runs[0].clone();
    let at = coachwire::plan::FieldPath::new(format!("runs.{}.legs.{}.length_m", run.id, run.legs[0].id));
    let to = coachwire::plan::Value::Number(13.0 * 0.3048 + 1.3 * 0.0254);
    let edit = coachwire::plan::Edit::Set { at, to };
    let plan = screen.plan().with(&coachwire::plan::Step::one("longer", edit)).unwrap();
    let mut screen = Screen::on(&plan.to_text(), (120, 40));
    screen.keys("1");
    // With its other leg of 7 1/2 ft.
    assert!(screen.text().contains(" 20'7.3\" "), "{}", screen.text());
}

/// The question after one leg's way of laying is English, and counts what it does not name.
#[test]
fn the_question_for_all_legs_is_english() {
    let mut plan = Plan::from_text(include_str!("../../plans/larkspur.ron")).unwrap();
    for run in &mut plan.runs {
        run.legs.iter_mut().for_each(|leg| (leg.laid, leg.state) = (Known::Unknown, State::New));
    }
    let mut screen = Screen::on(&plan.to_text(), (120, 40));
    screen.keys("Lencl<Enter>");
    let Some(Overlay::Confirm(asked)) = &screen.model.overlay else { panic!("asked\n{}", screen.text()) };
    let text = &asked.question;
    assert!(text.contains("way of laying entered") && !text.contains("..."), "{text}");
    assert!(text.contains(" more. The same there?"), "{text}");
}
