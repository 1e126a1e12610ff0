//! The opened year: its pages, its months, and what arrives late.

use super::Screen;
use coachwire::engine::Engine;
use coachwire::engine::report::{Range, Repeats};
use coachwire::stock::Stock;
use coachwire::tui::message::{Effect, Message};
use coachwire::tui::model::Overlay;

fn repeats(days: f64) -> Repeats {
    let range = Range { mean: days, least: days - 1.0, most: days + 1.0 };
    Repeats { years: 10, unmet_pct: range, short_days: range, least_soc: Range::of(&[0.31]) }
}

#[test]
fn pages_go_round_and_late_years_are_told_by_their_question() {
    let mut screen = Screen::dunlin();
    screen.keys("y");
    let Some(Effect::Repeats { generation, .. }) = screen.effects.pop() else { panic!("ten more years are asked for") };
    let first = screen.text();
    screen.keys("<Left>");
    assert!(screen.text().contains(".. ten more years"), "{}", screen.text());
    screen.send(Message::Repeats { generation: generation - 1, repeats: Ok(repeats(77.0)) });
    assert!(!screen.text().contains("77"), "stale");
    screen.send(Message::Repeats { generation, repeats: Ok(repeats(42.0)) });
    assert!(screen.text().contains("42 (least 41, most 43)"), "{}", screen.text());
    screen.keys("<Right>");
    assert_eq!(screen.text(), first);
    screen.keys("<Right><Right><Right><Right><Right><Right>");
    assert_eq!(screen.text(), first, "six pages go round");
    screen.keys("<Esc>");
    assert!(screen.model.overlay.is_none());
}

/// The shown hours are those of the engine.
#[test]
fn a_day_is_that_of_the_month_it_names() {
    let mut screen = Screen::dunlin();
    screen.keys("y<Right><Right><Right>");
    let view = |screen: &Screen| match &screen.model.overlay {
        Some(Overlay::Seasons(view)) => (view.month, view.hours.clone().unwrap()),
        other => panic!("{other:?}"),
    };
    let (before, _) = view(&screen);
    screen.keys("m");
    let (month, hours) = view(&screen);
    assert_eq!((month, hours.len()), ((before + 1) % 12, 24));
    let (plan, stock) = (screen.plan().clone(), Stock::default());
    let mut engine = Engine::default();
    let spread = engine.evaluate(&plan, &stock).year.months[month].spread_wh_day.clone().unwrap();
    assert_eq!(hours, engine.trace(&plan, &stock, spread.typical_day, 1).unwrap());
    let sum: f64 = hours.iter().map(|h| h.harvest_w).sum();
    assert!((sum - spread.typical.0).abs() < 1e-6 * sum, "{sum} and {:?}", spread.typical);
}
