//! Equipment from the shelf: adding to lists, filling in items, and what the keys for it are.

use std::sync::Arc;

use coachwire::plan::Plan;
use coachwire::stock::Stock;
use coachwire::stock::shelf::Shelf;
use coachwire::tui::message::{Effect, Opened};
use coachwire::tui::model::{Overlay, Start};

use super::{DUNLIN, Screen};

/// On a plan, with the rows that come with the program on the shelf.
fn stocked(text: &str) -> Screen {
    let opened =
        Opened { plan: Plan::from_text(text).unwrap(), path: None, locked_by: None, recovery: None, remark: None };
    let stock = Arc::new(Stock { shelf: Shelf::typical(), ..Stock::default() });
    Screen::with(Start { opened: Some(opened), stock, ..Screen::start() })
}

fn names(screen: &Screen) -> Vec<String> {
    screen.plan().loads.iter().map(|load| load.name.clone()).collect()
}

/// On a list every pick adds one; none takes the place of what the cursor stands on.
#[test]
fn on_a_list_the_shelf_adds() {
    let mut screen = stocked(DUNLIN);
    screen.keys("2");
    let before = names(&screen);
    assert!(screen.text().contains("s shelf"), "the footer says so: {}", screen.text());
    screen.keys("s");
    assert!(screen.text().contains("adds a load"), "{}", screen.text());
    screen.keys("water pump<Enter>2");
    screen.keys("slaptop<Enter>2");
    let after = names(&screen);
    assert_eq!(after[..before.len()], before[..], "what was there stays");
    assert_eq!(after.len(), before.len() + 2);
    assert!(after[before.len()].contains("pump") && after[before.len() + 1].contains("laptop"), "{after:?}");
    let last = screen.plan().loads.last().unwrap().id.clone();
    assert_eq!(screen.model.focus().map(|at| at.to_string()), Some(format!("loads.{last}")), "the cursor is on it");
    assert_eq!(screen.undo_names().len(), 2);
}

/// On its form an item is filled in, and the box says which.
#[test]
fn on_a_form_the_shelf_fills_in() {
    let mut screen = stocked(DUNLIN);
    screen.keys("2<Enter><Down>");
    let id = screen.plan().loads[0].id.clone();
    screen.keys("s");
    assert!(screen.text().contains(&format!("fills in {id}")), "{}", screen.text());
    let count = names(&screen).len();
    screen.keys("laptop<Enter>");
    assert_eq!(names(&screen).len(), count);
    assert!(names(&screen)[0].contains("laptop"));
}

/// What was just added asks for its name; a stroke goes to the shelf from there, without Esc first.
#[test]
fn a_stroke_in_an_untouched_field_goes_to_the_shelf() {
    let mut screen = stocked(DUNLIN);
    screen.keys("2a2");
    assert!(screen.model.field.is_some(), "{}", screen.text());
    assert!(screen.text().contains("/ shelf"), "{}", screen.text());
    screen.keys("/");
    assert!(matches!(screen.model.overlay, Some(Overlay::Pick(_))), "{}", screen.text());
    let count = names(&screen).len();
    screen.keys("water pump<Enter>");
    assert_eq!(names(&screen).len(), count, "the new one is filled in");
    assert!(names(&screen).last().unwrap().contains("pump"), "{:?}", names(&screen));
    // Once something is typed it is a stroke, and on things that the shelf has not it is one from the start.
    screen.keys("<Enter>in/out lamp<Enter>");
    assert!(names(&screen).last().unwrap().contains("in/out lamp"), "{:?}", names(&screen));
    screen.keys("<Esc>0<Enter><Enter>/ title<Enter>");
    assert_eq!(screen.plan().job.title, "/ title");
}

/// What is on the shelf goes off it again: asked first, the file written, plans that have it untouched.
#[test]
fn a_thing_goes_off_the_shelf() {
    let mut screen = stocked(DUNLIN);
    screen.keys("2slaptop");
    assert!(screen.text().contains("Ctrl-X off the shelf"), "{}", screen.text());
    let (before, effects) = (screen.plan(), screen.effects.len());
    screen.keys("<C-x>");
    assert!(screen.text().contains("off the shelf?"), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(screen.effects.len(), effects, "the marked answer keeps it");
    screen.keys("slaptop<C-x>1");
    let Some(Effect::SaveStock(stock)) = screen.effects.pop() else { panic!("{}", screen.said()) };
    assert!(stock.shelf.find(Some("loads"), "laptop").is_empty());
    assert_eq!(stock.shelf.find(None, "").len() + 1, Shelf::typical().find(None, "").len(), "only that one");
    screen.keys("slaptop");
    assert!(!screen.text().contains("typical, check"), "{}", screen.text());
    screen.keys("<C-x>");
    assert!(screen.said().contains("nothing of the shelf is marked"), "{}", screen.said());
    assert_eq!(screen.plan(), before);
}

/// The walk-round goes on by itself after a pick from one of its fields.
#[test]
fn the_walk_round_goes_on_after_a_pick() {
    let mut screen = stocked("(version: 1)");
    screen.keys("gmoab<Enter><Enter><Enter>lfp<Enter>12.8<Enter>100<Enter>1<Enter>1<Enter>0c<Enter>");
    assert!(screen.model.focus().is_some_and(|at| at.as_str() == "panels.P1.pmax_w"), "{}", screen.text());
    screen.keys("/200<Enter>");
    assert_eq!(screen.plan().panels[0].pmax_w.known().map(|w| w.0), Some(200.0));
    let at = screen.model.field.as_ref().map(|f| f.at.to_string());
    assert_eq!(at.as_deref(), Some("controllers.C1.kind"), "{}", screen.text());
}

/// What trade people call things finds them too, and what guards life comes first.
#[test]
fn other_words_find_it_on_the_shelf() {
    let shelf = Shelf::typical();
    let first = |typed: &str| shelf.find(None, typed).first().map(|found| found.name.clone()).unwrap_or_default();
    for (typed, wanted) in [
        ("cpap", "sleep apnoea"),
        ("medical", "sleep apnoea"),
        ("gas", "gas and CO detectors"),
        ("fridge", "refrigerator"),
        ("tv", "television"),
        ("mppt", "tracking"),
        ("lithium", "LFP"),
        ("inverter", "inverter"),
    ] {
        assert!(first(typed).contains(wanted), "{typed}: {}", first(typed));
    }
    assert!(shelf.find(None, "zzz").is_empty());
}

/// A DC-DC charger off the shelf comes with what it draws on, where the plan has none of that.
#[test]
fn a_charger_on_the_engine_is_offered_its_source() {
    let mut screen = stocked(DUNLIN);
    screen.keys("sdc-dc<Enter>");
    let text = screen.text();
    assert!(text.contains("start battery and an alternator") && text.contains("tow plug"), "{text}");
    screen.keys("4");
    let plan = screen.plan();
    let tow = plan.devices.iter().find(|d| d.kind.known() == Some(&coachwire::plan::wiring::DeviceKind::Tow)).unwrap();
    let charger = plan.chargers.last().unwrap().id.clone();
    let run = plan.runs.iter().find(|r| r.to.known() == Some(&charger)).unwrap();
    assert_eq!(run.from.known(), Some(&tow.id), "{run:?}");
    screen.keys("u");
    assert!(screen.plan().chargers.iter().all(|c| c.id != charger), "one step");
}
