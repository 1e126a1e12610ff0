//! Sizing help: batteries and the smallest array with them.

use coachwire::engine::ladder::{Columns, Fit};
use coachwire::engine::{Engine, LadderOf};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::stock::Stock;

fn plan(name: &str) -> Plan {
    Plan::from_text(sample(name).unwrap().text).unwrap()
}

/// The proof is the year itself: with the row's plan no day is short, with a string fewer some are.
#[test]
fn a_row_serves_the_year_and_no_smaller_array_does() {
    let stock = Stock::default();
    let mut seen = 0;
    for name in ["bramble", "sorrel", "larkspur"] {
        let (plan, mut engine) = (plan(name), Engine::default());
        let before = engine.evaluate(&plan, &stock);
        let rows = engine.ladder(&plan, &stock, &LadderOf::Goal);
        assert_eq!(rows.iter().filter(|r| r.current).count(), 1, "{name}");
        let mut strings_before = usize::MAX;
        for mut row in rows.into_iter().take(4) {
            engine.finish(&plan, &stock, &before, &mut row);
            let Columns::Goal(columns) = row.columns.clone() else { panic!("{name}: {row:?}") };
            let with = plan.with(&row.step).unwrap();
            let year = engine.evaluate(&with, &stock).year;
            assert_eq!(columns.short_days, year.shortfall_days, "{name}");
            let short_days = year.shortfall_days.unwrap();
            assert!(columns.strings <= strings_before, "{name}: more batteries never need more panels");
            strings_before = columns.strings;
            if short_days > 0.0 {
                assert!(matches!(row.fit, Fit::No(_)) && columns.strings >= 8, "{name}: {row:?}");
                continue;
            }
            let days = columns.days_without_sun.clone().unwrap();
            let stops = row.new.iter().any(|f| f.level == coachwire::engine::Level::Stop);
            assert_eq!(row.fit == Fit::Yes, days >= 2.0 && !stops, "{name}: {days} days, {:?}", row.fit);
            if columns.strings > 1 {
                let first = plan.arrays[0].strings.0[0].clone();
                let fewer = coachwire::plan::Strings(vec![first; columns.strings - 1]).to_string();
                let at = FieldPath::new(format!("arrays.{}.strings", plan.arrays[0].id));
                let edit = Edit::Set { at, to: Value::Text(fewer) };
                let smaller = with.with(&Step::one("fewer", edit)).unwrap();
                assert!(engine.evaluate(&smaller, &stock).year.shortfall_days.unwrap() > 0.0, "{name}");
                seen += 1;
            }
        }
    }
    assert!(seen >= 1, "no row was put to the proof");
}

#[test]
fn nothing_is_offered_without_an_array_and_unknown_loads_are_said() {
    let stock = Stock::default();
    let mut bare = plan("bramble");
    bare.arrays.clear();
    assert!(Engine::default().ladder(&bare, &stock, &LadderOf::Goal).is_empty());
    let mut unknown = plan("bramble");
    unknown.loads[0].watts_w = coachwire::plan::Known::Unknown;
    let mut engine = Engine::default();
    let before = engine.evaluate(&unknown, &stock);
    let mut row = engine.ladder(&unknown, &stock, &LadderOf::Goal).remove(0);
    engine.finish(&unknown, &stock, &before, &mut row);
    assert!(matches!(&row.fit, Fit::Unknown(why) if why.contains("loads.")), "{:?}", row.fit);
}

/// What the search tells of a choice is what the whole answer to its plan tells, and a newer question ends it between two
/// years.
#[test]
fn a_search_tells_the_whole_answer_and_ends_when_it_is_not_wanted() {
    let stock = Stock::default();
    for name in ["bramble", "sorrel"] {
        let (plan, mut engine) = (plan(name), Engine::default());
        let choices = [(1, 1), (2, 1), (1, 3), (3, 2), (2, 4)];
        let left = std::cell::Cell::new(4);
        let is_wanted = || left.replace(left.get() - 1) > 0;
        let found = engine.goals_while(&plan, &stock, &choices, &is_wanted);
        assert_eq!(found.len(), 4, "{name}");
        for (goal, (batteries, strings)) in found.iter().zip(choices) {
            let first = plan.arrays[0].strings.0[0].clone();
            let strings_said = coachwire::plan::Strings(vec![first; strings]).to_string();
            let at = FieldPath::new(format!("arrays.{}.strings", plan.arrays[0].id));
            let edits = vec![
                Edit::Set { at, to: Value::Text(strings_said) },
                Edit::Set { at: FieldPath::new("bank.parallel"), to: Value::Number(batteries as f64) },
            ];
            let with = plan.with(&Step { name: "choice".into(), edits }).unwrap();
            let report = Engine::default().evaluate(&with, &stock);
            assert_eq!((goal.batteries, goal.strings), (batteries, strings), "{name}");
            assert_eq!(goal.short_days, report.year.shortfall_days, "{name}");
            assert_eq!(goal.usable_wh, report.bank.usable_wh, "{name}");
        }
    }
}
