//! Sizing help: a goal, and for so many batteries the smallest array that meets it.

use super::mistakes::with;
use coachwire::engine::ladder::{Columns, Fit, Goal, GoalColumns, Rung};
use coachwire::engine::{Engine, LadderOf, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Id, Known, Plan, State, Step, Strings, Value};
use coachwire::stock::Stock;
use coachwire::units::{Kilograms, Number};
use proptest::prelude::*;

fn plan(name: &str) -> Plan {
    Plan::from_text(sample(name).unwrap().text).unwrap()
}

fn columns(row: &Rung) -> &GoalColumns {
    match &row.columns {
        Columns::Goal(columns) => columns,
        other => panic!("{other:?}"),
    }
}

/// The plan's own row and those of so many batteries, finished, with the report of the plan.
fn rows(plan: &Plan, goal: &Goal, count: usize) -> (Vec<Rung>, Report) {
    let (stock, mut engine) = (Stock::default(), Engine::default());
    let before = engine.evaluate(plan, &stock);
    let drawn = engine.ladder(plan, &stock, &LadderOf::Goal(goal.clone()));
    let mut rows: Vec<Rung> = drawn.into_iter().take(count + 1).collect();
    rows.iter_mut().for_each(|row| engine.finish(plan, &stock, &before, row));
    (rows, before)
}

/// With so many strings of its first array.
fn strings(plan: &Plan, count: usize) -> Plan {
    strings_of(plan, &plan.arrays[0].id, count)
}

/// With so many strings of one of its arrays.
fn strings_of(plan: &Plan, array: &Id, count: usize) -> Plan {
    let array = plan.arrays.iter().find(|a| a.id == *array).unwrap();
    let first = array.strings.0[0].clone();
    let at = FieldPath::new(format!("arrays.{}.strings", array.id));
    let to = Value::Text(Strings(vec![first; count]).to_string());
    plan.with(&Step::one("strings", Edit::Set { at, to })).unwrap()
}

/// Days short at some stays, by the year itself.
fn short_days(plan: &Plan, counts: impl Fn(&Id) -> bool) -> f64 {
    let report = Engine::default().evaluate(plan, &Stock::default());
    let days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    let months = report.year.months.iter().zip(days);
    let counted = months.filter(|(m, _)| m.stay.is_some_and(|s| counts(&plan.stays[s].id)));
    counted.map(|(m, days)| m.short_days_share.clone().unwrap() * days).sum()
}

/// The proof is the year itself: with the row's plan no day is short, with a string fewer some are.
#[test]
fn a_row_serves_the_year_and_no_smaller_array_does() {
    let (stock, mut engine) = (Stock::default(), Engine::default());
    let mut seen = 0;
    for name in ["bramble", "sorrel", "larkspur"] {
        let plan = plan(name);
        let (all, _) = rows(&plan, &Goal::default(), 4);
        assert!(all[0].current && all.iter().filter(|r| r.current).count() == 1, "{name}");
        let mut strings_before = usize::MAX;
        for row in all.iter().skip(1) {
            let columns = columns(row);
            let with = plan.with(&row.step).unwrap();
            let year = engine.evaluate(&with, &stock).year;
            let short_days = year.shortfall_days.clone().unwrap();
            assert!((columns.short_days.clone().unwrap() - short_days).abs() < 1e-9, "{name}");
            assert!(columns.strings <= strings_before, "{name}: more batteries never need more panels");
            strings_before = columns.strings;
            if short_days > 0.0 {
                assert!(matches!(row.fit, Fit::No(_)) && columns.strings >= 8, "{name}: {row:?}");
                continue;
            }
            let days = columns.days_without_sun.clone().unwrap();
            assert_eq!(row.fit == Fit::Yes, days >= 2.0, "{name}: {days} days, {:?}", row.fit);
            if columns.strings > 1 {
                let smaller = strings(&with, columns.strings - 1);
                assert!(engine.evaluate(&smaller, &stock).year.shortfall_days.clone().unwrap() > 0.0, "{name}");
                seen += 1;
            }
        }
    }
    assert!(seen >= 1, "no row was put to the proof");
}

/// The strings of a row are the fewest with which no load goes short, each number of them tried here one by one: not so many fewer
/// that some go short, nor more because a larger array, whose controller's timer ends absorption early, served less.
/// Source: the same year with those strings, as on screen.
#[track_caller]
fn fewest(plan: &Plan) {
    let (stock, mut engine) = (Stock::default(), Engine::default());
    for row in rows(plan, &Goal::default(), 3).0.iter().skip(1) {
        let with = plan.with(&row.step).unwrap();
        let short = |engine: &mut Engine, count: usize| {
            engine.evaluate(&strings(&with, count), &stock).year.shortfall_days.clone().unwrap()
        };
        let all: Vec<f64> = (1..=8).map(|count| short(&mut engine, count)).collect();
        let by_loop = all.iter().position(|short| *short == 0.0).map_or_else(
            || {
                // None serves: the first of those that leave least short.
                let short_kwh = |engine: &mut Engine, count: usize| {
                    engine.evaluate(&strings(&with, count), &stock).year.lived.short_kwh().unwrap()
                };
                let all: Vec<f64> = (1..=8).map(|count| short_kwh(&mut engine, count)).collect();
                let least = all.iter().copied().fold(f64::INFINITY, f64::min);
                all.iter().position(|short| *short == least).unwrap() + 1
            },
            |at| at + 1,
        );
        assert_eq!(columns(row).strings, by_loop, "{} batteries: {all:?}", columns(row).batteries);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3))]

    #[test]
    fn strings_are_the_fewest_that_serve(
        is_lead in any::<bool>(), watts in 3.0..30.0_f64, timer_h in prop::option::of(0.1..3.0_f64), floats in any::<bool>(),
        ah in 50.0..250.0_f64,
    ) {
        let coach = plan(if is_lead { "sorrel" } else { "bramble" });
        let n = Value::Number;
        let maybe = |x: Option<f64>| x.map_or(Value::Nothing, Value::Number);
        let set = [
            ("loads.L1.watts_w", n(watts)),
            ("loads.L1.hours_day", n(24.0)),
            ("controllers.C1.absorb_h", maybe(timer_h)),
            ("controllers.C1.float_v", maybe(floats.then_some(13.5))),
            ("bank.unit_ah", n(ah)),
            ("bank.heated", Value::Word("yes")),
        ];
        fewest(&super::mistakes::with(&coach, &set));
    }
}

/// Where the first array cannot serve, as its controller gives no more, the second is grown: of all arrays of the plan the least
/// watts with which no load goes short, every number of strings of each tried here one by one.
/// Source: the same year with those strings, as on screen.
#[test]
fn whichever_array_does_it_is_grown() {
    let (stock, mut engine) = (Stock::default(), Engine::default());
    let lame = |share: f64| {
        let lame = with(
            &plan("larkspur"),
            &[("controllers.C1.out_a", Value::Number(1.0)), ("bank.heated", Value::Word("yes"))],
        );
        let hours =
            lame.loads.iter().map(|l| (format!("loads.{}.hours_day", l.id), l.hours_day.known().map_or(0.0, |h| h.0)));
        let hours: Vec<(String, f64)> = hours.collect();
        let edits: Vec<(&str, Value)> = hours.iter().map(|(at, h)| (at.as_str(), Value::Number(h * share))).collect();
        with(&lame, &edits)
    };
    let (mut grown, mut served) = (0, 0);
    for lame in [0.6, 0.4, 0.25].map(lame) {
        for row in rows(&lame, &Goal::default(), 3).0.iter().skip(1) {
            let own = columns(row);
            let found = engine.evaluate(&lame.with(&row.step).unwrap(), &stock).year.shortfall_days.clone().unwrap();
            let mut least = f64::MAX;
            for (array, strings) in lame.arrays.iter().flat_map(|a| (1..=8).map(move |n| (a, n))) {
                let first = array.strings.0[0].clone();
                let set = [
                    (format!("arrays.{}.strings", array.id), Value::Text(Strings(vec![first; strings]).to_string())),
                    ("bank.parallel".to_string(), Value::Number(own.batteries as f64)),
                ];
                let edits: Vec<(&str, Value)> = set.iter().map(|(at, to)| (at.as_str(), to.clone())).collect();
                let one = with(&lame, &edits);
                let report = engine.evaluate(&one, &stock);
                if report.year.shortfall_days.clone().unwrap() == 0.0 {
                    let watts: f64 = report.arrays.iter().map(|a| a.watts.clone().unwrap().0).sum();
                    least = least.min(watts);
                }
            }
            if least < f64::MAX {
                served += 1;
                assert_eq!(
                    (found, own.watts.clone().unwrap().0),
                    (0.0, least),
                    "{} batteries: {:?}",
                    own.batteries,
                    row.fit
                );
                grown += usize::from(own.array.as_str() == "A2");
            } else {
                assert!(found > 0.0 && matches!(row.fit, Fit::No(_)), "{:?}", row.fit);
            }
        }
    }
    assert!(served > 0 && grown > 0, "{served} {grown}");
}

/// Of arrays that serve with as many watts a row has the one of lowest price, and of equal price that which brings most in the year:
/// a string more behind a controller that clips is the worse of two.
/// Source: the same years one by one, and prices added up by hand.
#[test]
fn of_as_many_watts_a_row_has_the_better_array() {
    let mut engine = Engine::default();
    let tenth = |l: &coachwire::plan::Load| l.hours_day.known().map_or(0.0, |h| h.0 / 10.0);
    let hours: Vec<(String, f64)> =
        plan("larkspur").loads.iter().map(|l| (format!("loads.{}.hours_day", l.id), tenth(l))).collect();
    let clips = [("controllers.C1.out_a", Value::Number(9.0)), ("bank.heated", Value::Word("yes"))];
    let idle = hours.iter().map(|(at, h)| (at.as_str(), Value::Number(*h)));
    let clips = with(&plan("larkspur"), &clips.into_iter().chain(idle).collect::<Vec<_>>());
    let mut dear = clips.clone();
    // The second array's panels are the same but for their price.
    let mut other = dear.panels[0].clone();
    (other.id, other.price) = ("PX".parse().unwrap(), Some(Known::Is(Number(1000.0))));
    dear.panels.push(other);
    dear.arrays[1].strings.0.iter_mut().flatten().for_each(|id| *id = "PX".parse().unwrap());
    let mut grown = Vec::new();
    for plan in [clips, dear] {
        for row in rows(&plan, &Goal::default(), 2).0.iter().skip(1) {
            let own = columns(row);
            assert_eq!(own.short_days.clone().unwrap(), 0.0, "{:?}", row.fit);
            let mut year_of = |plan: &Plan| {
                let report = engine.evaluate(plan, &Stock::default());
                let watts: f64 = report.arrays.iter().map(|a| a.watts.clone().unwrap().0).sum();
                (watts, report.year.shortfall_days.clone().unwrap(), report.year.harvest_kwh.clone().unwrap())
            };
            let strings = |plan: &Plan| plan.arrays.iter().map(|a| a.strings.0.len() as f64).collect::<Vec<_>>();
            let each = |plan: &Plan, panel: usize| {
                let label = plan.arrays[panel].strings.0[0][0].clone();
                let label = plan.panels.iter().find(|p| p.id == label).unwrap();
                label.price.as_ref().unwrap().known().unwrap().0
            };
            let price = |of: &Plan| -> f64 {
                let change = strings(of).into_iter().zip(strings(&plan));
                let panels = change.enumerate().map(|(i, (now, was))| {
                    let in_series = plan.arrays[i].strings.0[0].len() as f64;
                    (now - was) * in_series * each(&plan, i)
                });
                panels.sum()
            };
            let built = plan.with(&row.step).unwrap();
            let (watts, _, kwh) = year_of(&built);
            let mut others = 0;
            for (i, count) in (0..2).flat_map(|i| (1..=8).map(move |count| (i, count))) {
                let array = &plan.arrays[i];
                let text = Strings(vec![array.strings.0[0].clone(); count]).to_string();
                let set = [
                    (format!("arrays.{}.strings", array.id), Value::Text(text)),
                    ("bank.parallel".to_string(), Value::Number(own.batteries as f64)),
                ];
                let edits: Vec<(&str, Value)> = set.iter().map(|(at, to)| (at.as_str(), to.clone())).collect();
                let one = with(&plan, &edits);
                let (of_watts, short_days, brings) = year_of(&one);
                if (of_watts - watts).abs() < 1e-6 && short_days == 0.0 {
                    others += 1;
                    assert!(price(&built) <= price(&one), "{} than {}", price(&built), price(&one));
                    assert!(kwh >= brings || price(&built) < price(&one), "{kwh} than {brings}");
                }
            }
            assert!(others >= 2, "{watts} W: nothing to choose from");
            grown.push(own.array.to_string());
        }
    }
    assert!(grown.contains(&"A1".to_string()) && grown.contains(&"A2".to_string()), "{grown:?}");
}

/// The marked row is the plan, with its own figures; choosing it changes nothing, and no other row is marked.
#[test]
fn the_plan_as_it_stands_is_a_row_of_its_own() {
    for name in ["marram", "larkspur"] {
        let plan = plan(name);
        let (all, before) = rows(&plan, &Goal::default(), 2);
        let (row, own) = (&all[0], columns(&all[0]));
        assert!(row.current && own.is_plan && row.step.edits.is_empty(), "{name}: {row:?}");
        assert!(all.iter().skip(1).all(|r| !r.current && !columns(r).is_plan), "{name}");
        assert_eq!(own.strings, plan.arrays[0].strings.0.len(), "{name}");
        let short = before.year.shortfall_days.clone().unwrap();
        assert!((own.short_days.clone().unwrap() - short).abs() < 1e-9 && short > 0.0, "{name}: {short}");
        let harvest = row.harvest_wh_day.clone().unwrap().unwrap().0;
        assert!((harvest - before.year.harvest_kwh.clone().unwrap() * 1000.0 / 365.0).abs() < 1e-6, "{name}");
        assert_eq!((own.more.price, own.more.kg, own.more.unpriced), (0.0, 0.0, 0), "{name}");
        assert!(row.new.is_empty() && row.cured.is_empty(), "{name}: {row:?}");
    }
}

/// Stays that are left out may go short; the others decide, as their months' own figures say.
#[test]
fn the_goal_is_about_the_stays_that_are_chosen() {
    let plan = plan("larkspur");
    let ids: Vec<Id> = plan.stays.iter().map(|s| s.id.clone()).collect();
    assert!(ids.len() >= 2);
    let all = Goal::default();
    let (of_all, _) = rows(&plan, &all, 4);
    let mut fewer = 0;
    for id in &ids {
        let mut goal = all.clone();
        for other in ids.iter().filter(|other| *other != id) {
            goal = goal.turned(other);
        }
        let (of_one, _) = rows(&plan, &goal, 4);
        let own = columns(&of_one[0]).short_days.clone().unwrap();
        assert!((own - short_days(&plan, |stay| stay == id)).abs() < 1e-9, "{id}: {own}");
        for (one, whole) in of_one.iter().zip(&of_all).skip(1) {
            let (one_is, whole_is) = (columns(one), columns(whole));
            assert!(one_is.strings <= whole_is.strings, "{id}: a smaller goal wants no larger array");
            if one_is.strings < whole_is.strings {
                fewer += 1;
            }
            if one_is.short_days == Ok(0.0) {
                let with = plan.with(&one.step).unwrap();
                assert_eq!(short_days(&with, |stay| stay == id), 0.0, "{id}");
                if one_is.strings > 1 {
                    let fewer = strings_of(&with, &one_is.array, one_is.strings - 1);
                    assert!(short_days(&fewer, |stay| stay == id) > 0.0, "{id}");
                }
            }
        }
        assert_eq!(goal.turned(id).turned(id), goal);
    }
    assert!(fewer > 0, "the stays ask for different arrays");
    let none = ids.iter().fold(all, |goal, id| goal.turned(id));
    let (of_none, _) = rows(&plan, &none, 1);
    assert!(
        of_none.iter().all(|r| matches!(&r.fit, Fit::Unknown(why) if why == "every stay is left out of the goal")),
        "{of_none:?}"
    );
}

/// Days without sun are the rule's, or those that are asked; the array does not depend on them.
#[test]
fn dull_days_are_judged_as_asked() {
    let plan = plan("marram");
    let by_rule = Goal::default();
    assert_eq!(by_rule.dull_days(&plan), 2.0, "rule dull-days");
    let mut goal = by_rule.clone();
    for _ in 0..3 {
        goal = goal.stepped(&plan, true);
    }
    assert_eq!((goal.dull_days(&plan), goal.stepped(&plan, false).dull_days(&plan)), (3.5, 3.0));
    for _ in 0..20 {
        goal = goal.stepped(&plan, false);
    }
    assert_eq!(goal.dull_days(&plan), 0.0);
    let (asked, _) = rows(&plan, &goal, 4);
    let (wanted, _) = rows(&plan, &by_rule, 4);
    let mut differs = 0;
    for (a, b) in asked.iter().zip(&wanted) {
        let (days, short) = (columns(b).days_without_sun.clone().unwrap(), columns(b).short_days.clone().unwrap());
        assert_eq!(columns(a).strings, columns(b).strings);
        assert_eq!(a.fit == Fit::Yes, short == 0.0, "{:?}", a.fit);
        assert_eq!(b.fit == Fit::Yes, short == 0.0 && days >= 2.0, "{:?}", b.fit);
        differs += usize::from(a.fit != b.fit);
    }
    assert!(differs > 0, "some row lasts less than two days");
}

/// A coach lived in for a part of the year: its goal is about the months that have a stay, and so is what copper is worth.
#[test]
fn a_coach_used_for_a_part_of_the_year_gets_its_rows() {
    let mut summer = plan("larkspur");
    summer.stays.remove(0);
    let report = Engine::default().evaluate(&summer, &Stock::default());
    let lived = report.year.months.iter().filter(|m| m.stay.is_some()).count();
    assert!(lived > 0 && lived < 12 && report.year.harvest_kwh.is_err(), "{lived}");
    let (all, before) = rows(&summer, &Goal::default(), 3);
    for row in &all {
        assert!(!matches!(row.fit, Fit::Unknown(_)), "{row:?}");
        let harvest = row.harvest_wh_day.clone().unwrap().unwrap();
        assert!(harvest.0 > 0.0 && columns(row).days_without_sun.is_ok(), "{row:?}");
    }
    // By hand from the months that have one.
    let days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    let months = || report.year.months.iter().zip(days).filter(|(m, _)| m.stay.is_some());
    let wh: f64 = months().map(|(m, days)| m.harvest_wh_day.clone().unwrap().0 * days).sum();
    let count: f64 = months().map(|(_, days)| days).sum();
    assert!((all[0].harvest_wh_day.clone().unwrap().unwrap().0 - wh / count).abs() < 1e-6);
    assert_eq!((before.year.lived.months, before.year.lived.days as f64), (lived, count));
    let short: f64 = months().map(|(m, days)| m.short_days_share.clone().unwrap() * days).sum();
    assert!((before.year.lived.short_days.clone().unwrap() - short).abs() < 1e-9);
    let worth = Engine::default().worth(&summer, &Stock::default(), &before, &summer.runs[0].id).expect("known");
    assert!(worth.kwh_year >= 0.0 && worth.months == lived, "{worth:?}");
    assert!((worth.wh_day.0 * count / 1000.0 - worth.kwh_year).abs() < 1e-9, "{worth:?}");
}

/// Price and weight over the plan's, added up by hand: what has none is counted, nothing is free.
#[test]
fn a_row_costs_what_its_panels_and_batteries_do() {
    let mut plan = plan("bramble");
    let panel = plan.arrays[0].strings.0[0][0].clone();
    let in_string = plan.arrays[0].strings.0[0].len() as f64;
    let at = plan.panels.iter().position(|p| p.id == panel).unwrap();
    plan.panels[at].price = Some(Known::Is(Number(140.0)));
    plan.panels[at].weight_kg = Known::Is(Kilograms(10.5));
    plan.bank.price = Some(Known::Is(Number(900.0)));
    plan.bank.weight_kg = Some(Known::Is(Kilograms(22.5)));
    let series = plan.bank.series.known().unwrap().0;
    let (strings_now, batteries_now) = (plan.arrays[0].strings.0.len() as f64, plan.bank.parallel.known().unwrap().0);
    let (all, _) = rows(&plan, &Goal::default(), 4);
    for row in all.iter().skip(1) {
        let own = columns(row);
        let panels = (own.strings as f64 - strings_now) * in_string;
        let batteries = (own.batteries as f64 - batteries_now) * series;
        assert_eq!(row.price, Ok(Number(140.0 * panels + 900.0 * batteries)), "{own:?}");
        assert!((row.weight_kg.clone().unwrap() - (10.5 * panels + 22.5 * batteries)).abs() < 1e-9, "{own:?}");
        assert_eq!((own.more.unpriced, own.more.unweighed), (0, 0));
    }
    // The known part of the difference is that of the quote.
    let stock = Stock::default();
    let known = |plan: &Plan| Engine::default().evaluate(plan, &stock).price.known_parts.0;
    let row = all.last().unwrap();
    let quoted = known(&plan.with(&row.step).unwrap()) - known(&plan);
    assert!(columns(row).batteries as f64 != batteries_now && row.price == Ok(Number(quoted)), "{row:?}: {quoted}");
    plan.bank.price = None;
    plan.panels[at].weight_kg = Known::Unknown;
    let (all, _) = rows(&plan, &Goal::default(), 4);
    let row = all.last().unwrap();
    let own = columns(row);
    let (panels, batteries) =
        ((own.strings as f64 - strings_now) * in_string, (own.batteries as f64 - batteries_now) * series);
    assert_eq!((own.more.unpriced as f64, own.more.unweighed as f64), (batteries.abs(), panels.abs()), "{own:?}");
    assert_eq!((own.more.price, own.more.kg), (140.0 * panels, 22.5 * batteries));
    // Batteries that are there already are paid for: fewer of them give nothing back.
    plan.bank.price = Some(Known::Is(Number(900.0)));
    plan.bank.state = State::Existing;
    plan.bank.parallel = Known::Is(Number(3.0));
    let (all, _) = rows(&plan, &Goal::default(), 1);
    let own = columns(&all[1]);
    assert_eq!(own.batteries, 1);
    assert_eq!(own.more.price, 140.0 * (own.strings as f64 - strings_now) * in_string);
}

/// Whether the goal is met does not hang on a fuse that wants to be larger; that is said beside it.
#[test]
fn a_goal_that_is_met_is_said_apart_from_what_else_wants_changing() {
    let mut apart = 0;
    for name in ["marram", "sorrel"] {
        let (all, _) = rows(&plan(name), &Goal::default(), 4);
        for row in all.iter().skip(1) {
            let own = columns(row);
            let met = own.short_days == Ok(0.0) && own.days_without_sun.clone().unwrap() >= 2.0;
            assert_eq!(row.fit == Fit::Yes, met, "{name}: {row:?}");
            apart += usize::from(met && row.new.iter().any(|f| f.level == Level::Stop));
        }
    }
    assert!(apart > 0, "a row meets the goal and brings a stop");
}

#[test]
fn nothing_is_offered_without_an_array_and_unknown_loads_are_said() {
    let stock = Stock::default();
    let mut bare = plan("bramble");
    bare.arrays.clear();
    assert!(Engine::default().ladder(&bare, &stock, &LadderOf::Goal(Goal::default())).is_empty());
    let unknown = with(&plan("bramble"), &[("loads.L1.watts_w", Value::Unknown)]);
    let (all, _) = rows(&unknown, &Goal::default(), 1);
    for row in &all {
        assert!(matches!(&row.fit, Fit::Unknown(why) if why.contains("loads.")), "{:?}", row.fit);
    }
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

/// What a goal without stays waits for is no field, and where the search ends is said.
#[test]
fn a_goal_says_that_it_has_no_stay_and_where_its_search_ends() {
    let p = plan("marram");
    let none = Goal { without: p.stays.iter().map(|s| s.id.clone()).collect(), dull_tenths: None };
    let (all, _) = rows(&p, &none, 1);
    for row in &all {
        assert_eq!(row.fit, Fit::Unknown("every stay is left out of the goal".into()));
    }
    let long = Goal { without: Vec::new(), dull_tenths: Some(300) };
    let (all, _) = rows(&plan("bramble"), &long, Goal::MOST);
    let ends: Vec<bool> = all
        .iter()
        .map(|row| matches!(&row.fit, Fit::No(why) if why.contains("more in parallel are not looked at") || why.contains("most that are looked at")))
        .collect();
    assert!(ends.last().is_some_and(|ends| *ends) && !ends[0], "{ends:?}: {:?}", all.last().map(|r| &r.fit));
}

/// That nothing tried meets a goal is said where every row misses it, and then alone: not while one meets it, nor while one waits.
#[test]
fn a_goal_that_no_row_meets_is_one_by_all_of_them() {
    use coachwire::engine::ladder::met_by_none;
    let plan = plan("marram");
    let goal = |tenths| Goal { without: Vec::new(), dull_tenths: Some(tenths) };
    let (all, _) = rows(&plan, &goal(300), Goal::MOST);
    assert!(all.iter().all(|row| matches!(row.fit, Fit::No(_))), "30 days: {:?}", all.last().map(|r| &r.fit));
    assert_eq!(met_by_none(&plan, &all), Some((8, 8)));
    let (met, _) = rows(&plan, &goal(0), Goal::MOST);
    assert!(met.iter().any(|row| row.fit == Fit::Yes));
    assert_eq!(met_by_none(&plan, &met), None);
    let mut waits = all.clone();
    waits[2].fit = Fit::Unknown("the year is being computed".into());
    assert_eq!((met_by_none(&plan, &waits), met_by_none(&plan, &[])), (None, None));
}

/// Days that fall short of a goal never read as the goal; those that reach it have one decimal.
#[test]
fn days_that_fall_short_do_not_read_as_those_wanted() {
    use coachwire::engine::ladder::short_of;
    for (days, wanted, said) in [
        (3.49, 3.5, "3.49"),
        (3.4999, 3.5, "3.4999"),
        (3.44, 3.5, "3.4"),
        (1.96, 2.0, "1.96"),
        (3.52, 3.5, "3.5"),
        (2.0, 2.0, "2.0"),
    ] {
        let decimals = short_of(days, wanted);
        assert_eq!(format!("{days:.decimals$}"), said);
    }
    assert!(short_of(2.0 - 1e-12, 2.0) <= 9);
}
