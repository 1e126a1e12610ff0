//! Fields with many choices: a list to pick from by arrows and by typing.

use super::Screen;
use coachwire::plan::{Known, Value};
use coachwire::standards::kinds::{FuseFamily, Zone};
use coachwire::tui::form::{Page, Place};

/// On the form of the second run's fuse, cursor on its type.
fn on_fuse_type() -> Screen {
    let mut screen = Screen::dunlin();
    let at = "runs.W2.protection.F1";
    screen.model.pages.push(Page::new(Place::Record(at.into())));
    let rows = coachwire::tui::form::rows(&screen.plan(), &Place::Record(at.into()));
    let row = coachwire::tui::form::row_of(&rows, &format!("{at}.family").as_str().into()).unwrap();
    screen.model.pages.last_mut().unwrap().cursor = row;
    screen
}

fn family(screen: &Screen) -> Option<FuseFamily> {
    screen.shown().runs[1].protection[0].family.known().copied()
}

#[test]
fn the_whole_list_of_fuse_types_is_there_and_narrows_by_typing() {
    let mut screen = on_fuse_type();
    let before = family(&screen);
    screen.keys("<Enter>");
    for word in FuseFamily::WORDS {
        assert!(screen.text().contains(word), "{word} is not in\n{}", screen.text());
    }
    assert_eq!(family(&screen), before, "opening changes nothing");
    screen.keys("glass");
    assert!(screen.text().contains("nothing fits"), "{}", screen.text());
    // The trade's plain words, which stand beside the standard's number.
    screen.keys("<C-u>blade");
    assert!(screen.text().contains("ISO 8820-3 C ") && screen.text().contains("large blade"), "{}", screen.text());
    assert_eq!(family(&screen), Some(FuseFamily::BladeC));
    screen.keys("<C-u>class");
    assert_eq!(family(&screen), Some(FuseFamily::ClassT));
    screen.keys("<C-u>248");
    assert!(screen.text().contains("UL 248-15 T") && !screen.text().contains("8820-3 C"), "{}", screen.text());
    assert_eq!(family(&screen), Some(FuseFamily::ClassT), "the marked choice is the draft");
    screen.keys("<Esc>");
    assert_eq!(family(&screen), before, "Esc drops it");
    // A part from the middle, which no word begins with.
    screen.keys("<Enter>sf5<Enter>");
    assert_eq!(screen.plan().runs[1].protection[0].family, Known::Is(FuseFamily::Sf51));
    assert_eq!(screen.undo_names().len(), 1);
}

#[test]
fn arrows_mark_and_a_question_mark_is_a_choice() {
    let mut screen = on_fuse_type();
    screen.keys("<Enter>8820-3<Down><Enter>");
    assert_eq!(screen.plan().runs[1].protection[0].family, Known::Is(FuseFamily::BladeE));
    screen.keys("<Enter>?<Enter>");
    assert_eq!(screen.plan().runs[1].protection[0].family, Known::Unknown);
    // Round the end: after the last row comes the first.
    screen.keys("<Enter><Down>");
    assert_eq!(family(&screen), Some(FuseFamily::BladeC));
    screen.keys("<Up><Esc>");
    // Nothing touched, nothing changed.
    let steps = screen.undo_names().len();
    screen.keys("<Enter><Enter>");
    assert_eq!(screen.undo_names().len(), steps);
}

#[test]
fn a_zone_that_may_be_left_out_can_be_emptied_and_typing_past_the_list_is_refused() {
    let mut screen = Screen::dunlin();
    screen.model.pages.push(Page::new(Place::Record("bank".into())));
    let rows = coachwire::tui::form::rows(&screen.plan(), &Place::Record("bank".into()));
    let row = coachwire::tui::form::row_of(&rows, &"bank.zone".into()).unwrap();
    screen.model.pages.last_mut().unwrap().cursor = row;
    screen.keys("<Enter>roof c<Enter>");
    assert_eq!(screen.plan().bank.zone, Some(Zone::RoofCavity));
    screen.keys("<Enter><C-u><Enter>");
    assert_eq!(screen.plan().get_at(&"bank.zone".into()), Some(Value::Nothing));
    screen.keys("<Enter>attic<Enter>");
    assert!(screen.model.field.is_some(), "it stays open");
    assert!(screen.said().contains("attic"), "{}", screen.said());
}

/// On a narrow screen a list stands at the edge: the run it is asked of stays in sight.
#[test]
fn a_list_leaves_the_run_in_sight_on_a_narrow_screen() {
    let mut screen = Screen::on(super::DUNLIN, (40, 12));
    screen.keys("Z");
    let text = screen.text();
    assert!(text.contains("pick") && text.contains("> W1   A1   > C1"), "{text}");
}

/// Where a thing of the plan is to be picked its line says what it is, as the equipment does, and a part of that finds it.
#[test]
fn what_a_thing_is_stands_beside_its_name_and_finds_it() {
    let text = coachwire::plan::samples::sample("marram").expect("sample").text;
    let mut screen = Screen::on(text, (100, 30));
    screen.model.pages.push(Page::new(Place::Record("runs.W3".into())));
    let rows = coachwire::tui::form::rows(&screen.plan(), &Place::Record("runs.W3".into()));
    let row = coachwire::tui::form::row_of(&rows, &"runs.W3.to".into()).unwrap();
    screen.model.pages.last_mut().unwrap().cursor = row;
    let before = screen.plan();
    screen.keys("<Enter>");
    let things = coachwire::tui::bench::equipment(&before);
    for thing in things.iter().filter(|thing| ["SHN", "FP"].contains(&thing.id.as_str())) {
        screen.keys("<C-u>").keys(&thing.id);
        let what = thing.text.split("  ").next().unwrap_or_default();
        let is_told = |line: &str| line.split_once(&thing.id).is_some_and(|(_, rest)| rest.contains(what));
        assert!(screen.text().lines().any(is_told), "{what}\n{}", screen.text());
    }
    screen.keys("<C-u>fuse panel<Enter>");
    assert_eq!(screen.plan().runs[2].to, Known::Is("FP".parse().unwrap()), "{}", screen.text());
}
