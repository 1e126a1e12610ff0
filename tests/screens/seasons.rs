//! The opened year: its pages, stays and months, the fields that can be changed there, and what arrives late.

use super::{DUNLIN, Screen};
use coachwire::document::look::{Answer, Question};
use coachwire::engine::Engine;
use coachwire::engine::report::{Range, Repeats};
use coachwire::plan::job::Sky;
use coachwire::plan::{Known, Plan};
use coachwire::stock::Stock;
use coachwire::tui::message::{Effect, Message};
use coachwire::tui::model::Overlay;
use coachwire::tui::seasons::SeasonsView;
use coachwire::tui::update::late;

fn repeats(days: f64) -> Answer {
    let range = Range { mean: days, least: days - 1.0, most: days + 1.0 };
    Answer::Repeats(Ok(Repeats { years: 10, unmet_pct: range, short_days: range, least_soc: Range::of(&[0.31]) }))
}

fn view(screen: &Screen) -> SeasonsView {
    match &screen.model.overlay {
        Some(Overlay::Seasons(view)) => *view,
        other => panic!("{other:?}"),
    }
}

/// What is asked of a worker now.
fn asked(screen: &mut Screen) -> Option<(u64, Question)> {
    match late(&mut screen.model)? {
        Effect::Look { generation, question, .. } => Some((generation, question)),
        other => panic!("{other:?}"),
    }
}

/// Two places, the second in the north.
fn two_stays() -> String {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/plans/larkspur.ron")).unwrap();
    assert!(Plan::from_text(&text).unwrap().stays.len() >= 2, "the sample has several stays");
    text
}

#[test]
fn pages_go_round_and_late_years_are_told_by_their_question() {
    let mut screen = Screen::dunlin();
    screen.keys("y");
    let first = screen.text();
    assert!(asked(&mut screen).is_none(), "the table needs nothing more");
    screen.keys("<Left>");
    let Some((generation, Question::Repeats)) = asked(&mut screen) else { panic!("ten more years are asked for") };
    assert!(asked(&mut screen).is_none(), "once");
    assert!(screen.text().contains(".. ten more years"), "{}", screen.text());
    screen.send(Message::Looked { generation: generation - 1, answer: repeats(77.0) });
    assert!(!screen.text().contains("77"), "stale");
    screen.send(Message::Looked { generation, answer: repeats(42.0) });
    assert!(screen.text().contains("42 (least 41, most 43)"), "{}", screen.text());
    screen.keys("<Right>");
    assert_eq!(screen.text(), first);
    screen.keys("<Right><Right><Right><Right><Right><Right>");
    assert_eq!(screen.text(), first, "six pages go round");
    screen.keys("<Left>");
    assert!(screen.text().contains("42 (least 41, most 43)"), "kept: {}", screen.text());
    screen.keys("<Esc>");
    assert!(screen.model.overlay.is_none());
}

/// The shown hours are those of the engine.
#[test]
fn a_day_is_that_of_the_month_it_names() {
    let mut screen = Screen::dunlin();
    screen.keys("y<Right><Right><Right>");
    let before = view(&screen).month;
    assert!(screen.text().contains("hours being"), "{}", screen.text());
    screen.keys("m");
    let month = view(&screen).month;
    assert_eq!(month, (before + 1) % 12);
    let (plan, stock) = (screen.plan(), Stock::default());
    let mut engine = Engine::default();
    let spread = engine.evaluate(&plan, &stock).year.months[month].spread_wh_day.clone().unwrap();
    screen.look();
    let shown = screen.model.document.as_ref().unwrap().shown().clone();
    let answer = screen.model.late.answer(&shown, &Question::Day(spread.typical_day));
    let Some(Answer::Day(Ok(hours))) = answer else { panic!("{answer:?}") };
    assert_eq!(*hours, engine.trace(&plan, &stock, spread.typical_day, 1).unwrap());
    let sum: f64 = hours.iter().map(|h| h.harvest_w).sum();
    assert!((sum - spread.typical.0).abs() < 1e-6 * sum, "{sum} and {:?}", spread.typical);
    let noon = hours.iter().map(|h| h.sun_w_m2).fold(0.0, f64::max);
    assert!(noon > 100.0 && hours[0].sun_w_m2 == 0.0, "sun by day only: {noon}");
    // Modules give at most a few percent more than their label at 1000 W/m2: cold ones.
    let watts: f64 =
        screen.model.document.as_ref().unwrap().shown().report.arrays.iter().map(|a| a.watts.clone().unwrap().0).sum();
    assert!(hours.iter().all(|h| h.array_w <= watts * h.sun_w_m2 / 1000.0 * 1.25 + 1e-9));
}

/// A bank that is not known has no hours: nothing stands for it.
#[test]
fn a_day_without_its_bank_waits_for_it() {
    let mut screen = Screen::dunlin();
    screen.keys("y<Right><Right><Right>").look();
    assert!(screen.text().contains("charge") && !screen.text().contains("not simulated"), "{}", screen.text());
    let unknown = super::DUNLIN.replace("unit_ah: 100.0", "unit_ah: \"?\"");
    let mut screen = Screen::on(&unknown, (80, 24));
    // On the Bench too: what the sun does not cover is not what goes short.
    let short = screen.text().lines().find(|l| l.contains("| short")).map(str::to_string).unwrap_or_default();
    assert!(short.contains("? Wh/d"), "{short}");
    screen.keys("y<Right><Right><Right>").look();
    for _ in 0..2 {
        let text = screen.text();
        assert!(text.contains("the bank is not simulated: waits for bank battery Ah"), "{text}");
        assert!(!text.contains("####") && !text.contains("short 0"), "{text}");
        screen.keys("<Right>").look();
    }
}

/// Hours of driving that nobody knows are said beside the figures that leave them out.
#[test]
fn unknown_driving_is_said_on_the_months_page() {
    let marram = coachwire::plan::samples::sample("marram").unwrap();
    let mut screen = Screen::on(marram.text, (120, 60));
    screen.keys("y");
    assert!(!screen.text().contains("hours of driving at"), "{}", screen.text());
    screen.keys("<Enter><Tab><Tab>?<Enter>");
    let plan = screen.plan();
    assert!(plan.stays.iter().any(|s| s.drive_h_day == Some(Known::Unknown)), "{}", screen.text());
    assert!(screen.text().contains("hours of driving at"), "{}", screen.text());
}

/// What trees are taken as, and on whose word: in the field's help, on the months page and at the head of `check`.
/// Source: plain geometry: a level plane loses the square of the sine of the trees' elevation of an even sky, 6.7 % behind
/// 15 degrees, 25 % behind 30.
#[test]
fn trees_are_said_with_their_degrees_and_on_whose_word() {
    let larkspur = coachwire::plan::samples::sample("larkspur").unwrap();
    let mut screen = Screen::on(larkspur.text, (80, 60));
    let mut plan = Plan::clone(&screen.plan());
    let boxed = |text: String| -> String {
        let inside = text.lines().filter_map(|line| line.split('|').nth(1));
        inside.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
    };
    let help = plan.meta(&"stays.ST1.sky".into()).unwrap().help;
    for part in ["light trees taken as 15 degrees", "trees as 30", "our own assumption", "7 or 25 %"] {
        assert!(help.contains(part), "{part}: {help}");
    }
    let said = boxed(screen.keys("y").text());
    assert!(said.contains("light trees taken as 15 degrees high all round, our own assumption"), "{said}");
    assert!(said.contains("and 7 % of the rest of the sky is gone"), "{said}");
    plan.stays[0].sky = Sky::Trees;
    let said = boxed(Screen::on(&plan.to_text(), (80, 60)).keys("y").text());
    assert!(said.contains("ST1: trees taken as 30 degrees") && said.contains("25 % of the rest"), "{said}");
    for stay in &mut plan.stays {
        stay.sky = Sky::Open;
    }
    assert!(!Screen::on(&plan.to_text(), (120, 60)).keys("y").text().contains("taken as"), "open sky is no assumption");
}

/// Days face somewhere, and the page says where.
#[test]
fn a_day_tilted_toward_any_says_which_way_it_faces() {
    let mut screen = Screen::dunlin();
    let mut tall = Screen::on(super::DUNLIN, (120, 60));
    assert!(!tall.keys("y").text().contains("is tilted toward any"), "{}", tall.text());
    assert!(tall.keys("<Enter>40<Enter>").text().contains("is tilted toward any"), "{}", tall.text());
    assert!(!tall.keys("<Enter><Tab>180<Enter>").text().contains("is tilted toward any"), "{}", tall.text());
    screen.keys("yb<Enter>40<Enter><Right><Right><Right>").look();
    assert!(screen.text().contains(", facing "), "{}", screen.text());
    let mut flat = Screen::dunlin();
    flat.keys("y<Right><Right><Right>").look();
    assert!(!flat.text().contains(", facing "), "{}", flat.text());
}

/// A page of hours is never that of the plan before the edit.
#[test]
fn hours_of_an_earlier_plan_are_not_shown() {
    let mut screen = Screen::dunlin();
    screen.keys("y<Right><Right><Right>").look();
    assert!(!screen.text().contains("hours being"), "{}", screen.text());
    let hours = screen.text();
    screen.keys("<Enter>30");
    let rows = |text: &str| text.lines().filter(|l| l.contains('#')).map(str::to_string).collect::<Vec<_>>();
    assert_eq!(rows(&screen.text()), rows(&hours), "the page is that of the plan without the draft, and says so");
    assert!(screen.text().contains("typical day, without the draft"), "{}", screen.text());
    assert!(asked(&mut screen).is_none(), "nothing is asked for a draft");
    screen.keys("<Enter>");
    assert!(screen.text().contains("hours being") && !screen.text().contains("#"), "{}", screen.text());
    let Some((late_one, Question::Day(_))) = asked(&mut screen) else { panic!("asked anew for the step") };
    screen.keys("u");
    assert!(screen.text().contains("hours being"), "{}", screen.text());
    let Some((generation, Question::Day(_))) = asked(&mut screen) else { panic!("and for the plan as it was") };
    screen.send(Message::Looked { generation: late_one, answer: Answer::Day(Ok(Vec::new())) });
    assert!(screen.text().contains("hours being"), "the step's hours come too late: {}", screen.text());
    screen.send(Message::Looked { generation, answer: Answer::Day(Ok(Vec::new())) });
    assert!(!screen.text().contains("hours being"), "{}", screen.text());
}

/// A digit moves one line, not every month's row: that line says what the draft brings, against the engine's own figures.
#[test]
fn a_digit_on_the_year_moves_one_line() {
    let mut screen = Screen::dunlin();
    screen.keys("y<Enter>");
    let before = screen.text();
    let kwh = |s: &Screen, draft: bool| {
        let document = s.model.document.as_ref().unwrap();
        let shown = if draft { document.shown() } else { document.committed() };
        shown.report.year.harvest_kwh.clone().unwrap()
    };
    screen.keys("40");
    let text = screen.text();
    let gain = kwh(&screen, true) - kwh(&screen, false);
    assert!(gain.abs() > 10.0, "a steep panel brings another year: {gain}");
    assert!(text.contains(&format!("as typed: harvest {gain:+.0} kWh/y")), "{gain}\n{text}");
    let months = |text: &str| {
        let named =
            |l: &&str| ["Jan ", "Feb ", "Jul ", "Dec "].iter().any(|m| l.contains(m) && !l.contains("as typed"));
        text.lines().filter(named).map(str::to_string).collect::<Vec<_>>()
    };
    assert!(months(&before).len() >= 2, "{before}");
    assert_eq!(months(&text), months(&before));
    screen.keys("<Enter>");
    assert!(!screen.text().contains("as typed") && !screen.text().contains("without the draft"), "{}", screen.text());
    assert_ne!(months(&screen.text()), months(&before), "Enter shows all months");
}

#[test]
fn tilt_heading_and_driving_are_fields_of_the_year() {
    let mut screen = Screen::dunlin();
    let stay = screen.plan().stays[0].clone();
    let harvest = |screen: &Screen| {
        let document = screen.model.document.as_ref().unwrap();
        document.shown().report.year.months[11].harvest_wh_day.clone().unwrap().0
    };
    let flat = harvest(&screen);
    screen.keys("yb<Enter>40<Tab>180");
    assert!(screen.model.document.as_ref().unwrap().is_draft());
    let text = screen.text();
    assert!(text.contains("base: harvest +") && text.contains("DRAFT"), "moves in the same frame:\n{text}");
    assert!(harvest(&screen) > 1.2 * flat, "{} and {flat}", harvest(&screen));
    screen.keys("<Enter>");
    assert_eq!(screen.plan().stays[0].heading_deg, Some(Known::Is(coachwire::units::Number(180.0))));
    assert_eq!(screen.undo_names().len(), 2, "{:?}", screen.undo_names());
    assert!(matches!(screen.model.overlay, Some(Overlay::Seasons(_))), "the year stays open");
    screen.keys("<Enter>any<Enter>");
    assert_eq!(screen.plan().stays[0].heading_deg, None);
    screen.keys("uuu");
    assert_eq!(screen.plan().stays[0], stay);
    assert!(screen.text().contains("base: no change"), "{}", screen.text());
    screen.keys("<Tab>++");
    assert_eq!(screen.undo_names().len(), 1, "repeated steps are one: {:?}", screen.undo_names());
    assert_ne!(screen.plan().stays[0].drive_h_day, stay.drive_h_day);
    screen.keys("u<Enter>99");
    assert!(screen.text().contains("! "), "out of bounds is said:\n{}", screen.text());
    assert_eq!(harvest(&screen), flat);
    screen.keys("<Esc>");
    assert!(screen.model.field.is_none() && screen.model.overlay.is_some(), "Esc drops the draft, not the page");
    screen.keys("<Esc>");
    assert!(screen.model.overlay.is_none());
}

#[test]
fn one_key_steps_through_the_stays() {
    let text = two_stays();
    let mut screen = Screen::on(&text, (80, 24));
    let count = screen.plan().stays.len();
    screen.keys("y");
    let first = view(&screen).stay;
    for step in 1..=count {
        screen.keys("s");
        let view = view(&screen);
        assert_eq!(view.stay, (first + step) % count);
        let id = screen.plan().stays[view.stay].id.clone();
        assert!(screen.text().contains(&format!("stay {} of {count}: {id}", view.stay + 1)), "{}", screen.text());
        let months = &screen.model.document.as_ref().unwrap().shown().report.year.months;
        assert_eq!(months[view.month].stay, Some(view.stay), "a month of that stay is looked at");
    }
    screen.keys("S");
    assert_eq!(view(&screen).stay, (first + count - 1) % count);
    screen.keys("mmmmmm");
    let v = view(&screen);
    let months = &screen.model.document.as_ref().unwrap().shown().report.year.months;
    assert_eq!(months[v.month].stay, Some(v.stay), "the stay follows the month");
    let mut single = Screen::on(DUNLIN, (80, 24));
    single.keys("ys");
    if single.plan().stays.len() == 1 {
        assert_eq!(single.said(), "the plan has one stay only");
    }
}

/// The stay whose form is open is the one that the year opens on.
#[test]
fn the_year_opens_on_the_focused_stay() {
    let mut screen = Screen::on(&two_stays(), (80, 24));
    screen.keys("3<Enter><Down>y");
    assert_eq!(view(&screen).stay, 1, "{}", screen.text());
}

#[test]
fn a_plan_without_a_stay_says_so() {
    let mut screen = Screen::on("(version: 1)", (80, 24));
    screen.keys("y<Enter>+s<Right><Right>m<Right><Right><Right><Tab>-");
    assert!(screen.text().contains("the plan has no stay yet"), "{}", screen.text());
}

/// The dull spell is shown day by day, and its days are the spell's.
#[test]
fn the_dull_spell_is_shown_by_day() {
    let mut screen = Screen::on(DUNLIN, (120, 60));
    screen.keys("y<Left>");
    let report = screen.model.document.as_ref().unwrap().shown().report.clone();
    let Ok(Some(spell)) = &report.year.dull_spell else { panic!("{:?}", report.year.dull_spell) };
    assert_eq!(spell.each.len(), spell.days);
    let mean = spell.each.iter().map(|d| d.harvest.0).sum::<f64>() / spell.days as f64;
    assert!((mean - spell.harvest.0).abs() < 1e-6 * mean.max(1.0));
    assert!(spell.each.iter().all(|d| d.least_soc >= spell.least_soc));
    let text = screen.text();
    assert!(text.contains("charge at least") && text.contains("longest dull spell of the typical sky"), "{text}");
    assert!(text.contains("hardest on the bank"), "{text}");
}

/// What would serve the load that goes short comes late, from years with it.
#[test]
fn remedies_are_asked_of_the_engine() {
    let mut screen = Screen::on(&two_stays(), (120, 60));
    screen.keys("y<Right><Right>");
    assert!(screen.text().contains(".. what would serve it is being computed"), "{}", screen.text());
    screen.look();
    let shown = screen.model.document.as_ref().unwrap().shown().clone();
    let Some(Answer::Reliefs(Ok(reliefs))) = screen.model.late.answer(&shown, &Question::Reliefs) else {
        panic!("{:?}", screen.model.late.answer(&shown, &Question::Reliefs))
    };
    let month = view(&screen).month;
    let best = reliefs.each.iter().filter_map(|r| r.served_wh_day[month]).fold(0.0, f64::max);
    let text = screen.text();
    let number = coachwire::tui::words::fixed(best, 0);
    assert!(text.contains("would be served by one string more on") && text.contains(&number), "{number}: {text}");
    // A plan in which nothing goes short is told so, and nothing is tried.
    let mut idle = Screen::dunlin();
    idle.keys("y<Right><Right>").look();
    assert!(idle.text().contains("no load goes short") && !idle.text().contains("would serve"), "{}", idle.text());
}

/// Without an array the sun brings nothing: a true 0, said to be one. With one whose controller leads nowhere nobody knows: no 0.
#[test]
fn no_array_is_a_zero_and_an_unknown_one_is_none() {
    let mut none = Plan::from_text(coachwire::plan::samples::sample("bramble").unwrap().text).unwrap();
    none.arrays.clear();
    let year = |plan: &Plan| Engine::default().evaluate(plan, &Stock::default()).year.clone();
    assert_eq!(year(&none).harvest_kwh, Ok(0.0));
    for m in year(&none).months.clone() {
        // Nothing comes in: all that is drawn is lacking, and nothing is left over.
        let load = m.load_wh_day.expect("loads").0;
        assert_eq!(
            (m.array_wh_day.unwrap().0, m.harvest_wh_day.unwrap().0, m.unused_wh_day.unwrap().0),
            (0.0, 0.0, 0.0)
        );
        assert!(load > 0.0 && m.deficit_wh_day.unwrap().0 == load);
    }
    let mut screen = Screen::on(&none.to_text(), (120, 60));
    screen.keys("y");
    assert!(flowing(&screen).contains("no array in the plan: array, harvest and unused are 0"), "{}", screen.text());
    let mut unknown = Plan::from_text(coachwire::plan::samples::sample("bramble").unwrap().text).unwrap();
    unknown.controllers.clear();
    let waits = year(&unknown);
    assert!(
        waits.harvest_kwh.is_err()
            && waits.months.iter().all(|m| m.harvest_wh_day.is_err() && m.unused_wh_day.is_err())
    );
    assert!(!flowing(Screen::on(&unknown.to_text(), (120, 60)).keys("y")).contains("no array in the plan"));
}

/// A coach lived in for a part of the year: what is known is told, and nothing false.
#[test]
fn a_part_of_the_year_is_told_as_such() {
    let mut plan = Plan::from_text(&two_stays()).unwrap();
    plan.stays.remove(0);
    let mut screen = Screen::on(&plan.to_text(), (120, 60));
    screen.keys("y").look();
    let lived = screen.model.document.as_ref().unwrap().shown().report.year.lived.clone();
    for page in 0..6 {
        let text = screen.text();
        assert!(!text.contains("not simulated"), "{text}");
        if page == 0 {
            let said = format!("the {} months with a stay (", lived.months);
            assert!(text.contains(&said) && text.contains(&format!("{:.0} kWh", lived.harvest_kwh.clone().unwrap())));
        }
        screen.keys("<Right>").look();
    }
}

/// A coach with a generator's charger and a DC-DC charger can make up its shortfall by either: both are told.
#[test]
fn hours_of_driving_are_told_beside_those_of_the_generator() {
    use coachwire::plan::{Edit, Step};
    let plan = coachwire::plan::Plan::from_text(coachwire::plan::samples::sample("marram").unwrap().text).unwrap();
    let set = |at: &str, to: f64| Edit::Set { at: at.into(), to: coachwire::plan::Value::Number(to) };
    let insert = |list: &str, item: &str| {
        let items = plan.list_at(&list.into()).unwrap();
        let after = items.len().checked_sub(1).and_then(|i| items.id_at(i)).cloned();
        Edit::Insert { list: list.into(), after, item: item.into() }
    };
    let charger = r#"(id: "CHG9", kind: "generator", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2)"#;
    let run = r#"(id: "W99", from: "CHG9", to: "BK", gauge: "4 AWG", legs: [(id: "L1", length_m: 1.0)])"#;
    let edits = vec![insert("chargers", charger), insert("runs", run), set("loads.L1.watts_w", 500.0)];
    let thirsty = plan.with(&Step { name: "test".into(), edits }).unwrap();
    let mut screen = Screen::on(&thirsty.to_text(), (120, 60));
    screen.keys("y");
    assert!(screen.text().contains("   ..   "), "hours come later: {}", screen.text());
    screen.look();
    assert!(flowing(&screen).contains("or by so many hours more of driving alone: Jan "), "{}", screen.text());
}

/// Columns stay under their headings, however much energy there is: a load of 20 kW.
#[test]
fn columns_hold_whatever_stands_in_them() {
    use coachwire::plan::{Edit, Step};
    let plan = coachwire::plan::Plan::from_text(coachwire::plan::samples::sample("marram").unwrap().text).unwrap();
    let set = |at: &str, to: f64| Edit::Set { at: at.into(), to: coachwire::plan::Value::Number(to) };
    let edits = ["watts_w", "duty_pct", "hours_day"].into_iter().zip([20_000.0, 100.0, 24.0]);
    let edits = edits.map(|(key, to)| set(&format!("loads.L1.{key}"), to)).collect();
    let vast = plan.with(&Step { name: "test".into(), edits }).unwrap();
    for (pages, last) in [("y", "gen"), ("y<Right><Right>", "helps most")] {
        let mut screen = Screen::on(&vast.to_text(), (120, 60));
        screen.keys(pages).look();
        let text = screen.text();
        let at = |line: &str, word: &str| line.find(word).map(|i| i + word.len());
        let heading = text.lines().find(|line| line.contains(" array ")).unwrap_or_else(|| panic!("{text}"));
        let array = at(heading, "array").unwrap();
        assert!(heading.contains(last), "{heading}");
        let rows: Vec<&str> = text.lines().skip_while(|line| *line != heading).skip(1).take(12).collect();
        assert!(rows.len() == 12 && rows[11].contains("Dec"), "{text}");
        let edge = heading.rfind('|').unwrap();
        for row in rows {
            assert!(row.as_bytes()[array - 1].is_ascii_alphanumeric() && row.as_bytes()[array] == b' ', "{row}");
            assert_eq!(row.as_bytes()[edge], b'|', "{row}");
            for word in ["load", "short", "bank", "unused", "conv", "clip", "cold"] {
                if let Some(end) = at(heading, &format!(" {word}")) {
                    assert!(row.as_bytes()[end - 1] != b' ' && row.as_bytes()[end] == b' ', "{word}: {row}");
                }
            }
        }
    }
}

/// What the box in the middle says as running text, whatever its lines break at.
pub(super) fn flowing(screen: &Screen) -> String {
    let text = screen.text();
    let boxed = text.lines().filter_map(|line| line.split('|').max_by_key(|part| part.len()));
    boxed.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

/// One way all the time: its ends stand beside the mean once they have been worked out, and not before.
#[test]
fn a_coach_tilted_toward_any_shows_the_ends_of_its_ways() {
    let mut screen = Screen::on(super::DUNLIN, (120, 60));
    assert!(asked(screen.keys("y")).is_none(), "a flat one does not ask");
    screen.keys("<Enter>40<Enter>");
    assert!(flowing(&screen).contains(".. eight years of one that stands one way"), "{}", screen.text());
    screen.look();
    let (plan, stock) = (screen.plan(), Stock::default());
    let ways = Engine::default().ways_while(&plan, &stock, || true).unwrap().unwrap();
    let ((least, at), (most, there)) = ways.ends(|w| Some(w.harvest_kwh)).unwrap();
    let said = format!("harvest {least:.0} kWh a year (toward {at:.0}) to {most:.0} kWh a year ({there:.0})");
    assert!(flowing(&screen).contains(&said), "{said}\n{}", screen.text());
    assert!(flowing(&screen).contains("load not served"), "{}", screen.text());
}

/// Every figure that takes or leaves something out has that beside it: shade on the roof, driving that nobody knows, an inverter that is
/// off.
#[test]
fn what_figures_leave_out_stands_beside_them() {
    let sample = |name: &str| coachwire::plan::samples::sample(name).unwrap().text;
    let mut screen = Screen::on(sample("larkspur"), (120, 60));
    let harvest = screen.text().lines().filter(|l| l.contains("worst") || l.contains("best")).count();
    assert!(harvest == 2 && screen.text().contains("; roof shade taken off,"), "{}", screen.text());
    for page in 0..3 {
        screen.keys(if page == 0 { "y" } else { "<Right>" });
        assert!(flowing(&screen).contains("the shade of what stands on the roof is taken off: "), "{}", screen.text());
        assert!(!flowing(&screen).contains("cuts itself off"), "{}", screen.text());
    }
    let year = Engine::default().evaluate(&screen.plan(), &Stock::default()).year.clone();
    let days = year.months.iter().zip(coachwire::plan::lists::MONTH_NAMES);
    let days: Vec<String> = days.map(|(m, name)| format!("{name} {:.0}", m.shade_wh_day.as_ref().unwrap().0)).collect();
    let said = format!("Wh a day: {} of the year's", days.join(", "));
    assert!(flowing(&screen).contains(&said), "{said}: {}", screen.text());
    let high = sample("larkspur").replace("cutoff_v: 11.6", "cutoff_v: 13.1");
    let mut screen = Screen::on(&high, (120, 60));
    screen.keys("y");
    assert!(flowing(&screen).contains("not served because the inverter cuts itself off"), "{}", screen.text());
    screen.keys("<Right><Right>");
    assert!(flowing(&screen).contains("because the inverter cuts itself off"), "{}", screen.text());
    let driven = sample("marram").replacen("drive_h_day: 0.5", "drive_h_day: \"?\"", 1);
    assert_ne!(driven, **sample("marram"));
    let mut screen = Screen::on(&driven, (120, 60));
    assert!(screen.text().contains(", at most"), "{}", screen.text());
    for page in 0..6 {
        screen.keys(if page == 0 { "y" } else { "<Right>" }).look();
        let said = page == 1 || flowing(&screen).contains("the year takes none");
        assert!(said, "page {page}: {}", screen.text());
    }
}

/// Volts that are entered and cannot be a bank's are not waited for as if nobody had entered them: an LFP bank of 12.8 V is
/// charged at about 14.2 V to 14.6 V (common practice), never at 85 V.
#[test]
fn set_volts_that_cannot_be_are_said_so() {
    let absurd = DUNLIN.replacen("absorb_v: 14.2", "absorb_v: 85.0", 1);
    assert_ne!(absurd, DUNLIN, "the plan sets its absorption");
    let mut screen = Screen::on(&absurd, (80, 24));
    let id = screen.plan().controllers[0].id.clone();
    screen.keys("y<Right><Right><Right>").look();
    let said = flowing(&screen);
    assert!(said.contains(&format!("waits for another {id} absorb: 85 V is not for this bank")), "{said}");
    let unknown = DUNLIN.replacen("absorb_v: 14.2", "absorb_v: \"?\"", 1);
    let mut screen = Screen::on(&unknown, (80, 24));
    screen.keys("y<Right><Right><Right>").look();
    let said = flowing(&screen);
    assert!(said.contains(&format!("waits for {id} absorb")) && !said.contains("another"), "{said}");
}

/// The longest dull spell stands with its own place, whichever stay is looked at.
#[test]
fn a_dull_spell_names_its_place() {
    let mut screen = Screen::on(&two_stays(), (120, 60));
    let shown = screen.model.document.as_ref().unwrap().shown().clone();
    let Ok(Some(spell)) = &shown.report.year.dull_spell else { panic!("{:?}", shown.report.year.dull_spell) };
    let ends = [31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365];
    let month = ends.iter().position(|end| spell.first_day < *end).unwrap();
    let place = shown.plan.stays[shown.report.year.months[month].stay.unwrap()].place.clone();
    let line = |screen: &Screen| {
        let said = flowing(screen);
        said.split_once("the light above the air)").unwrap_or_else(|| panic!("{said}")).1[..60].to_string()
    };
    screen.keys("y<Left>");
    for _ in 0..shown.plan.stays.len() {
        assert!(line(&screen).contains(&format!(", {place}")), "{place}: {}", line(&screen));
        screen.keys("s");
    }
}

/// On every page of the year `?` says what each of its columns is, in lines of their own.
#[test]
fn the_help_of_the_year_says_what_its_columns_are() {
    let dunlin = super::DUNLIN;
    let columns = [
        &["sun", "array", "harv", "dull-bright", "load", "bank", "unused", "short", "lasts", "gen"][..],
        &["=", "#", "-", "|"],
        &["array", "volts", "wire1", "conv", "clip", "wire2", "full", "limit", "cold", "helps most"],
        &["hour", "sun", "array", "harv", "other", "load", "bank A", "volts", "temp", "charge"],
        &["hour", "sun", "array", "harv", "other", "load", "bank A", "volts", "temp", "charge"],
        &["harvest", "other", "load", "short", "charge at least"],
    ];
    for (page, columns) in columns.iter().enumerate() {
        let mut screen = Screen::on(dunlin, (80, 70));
        screen.keys("y").keys(&"<Right>".repeat(page)).look();
        let shown = screen.text();
        screen.keys("?");
        let text = screen.text();
        assert!(text.contains(&format!("YEAR {} of 6", page + 1)), "{text}");
        for column in *columns {
            let heads = |line: &&str| {
                let line = line.split_once("| ").map_or(*line, |(_, rest)| rest);
                line.starts_with(&format!("{column:<16}  "))
            };
            assert!(text.lines().any(|line| heads(&line)), "page {}: {column} in {text}", page + 1);
            assert!(shown.contains(column) || page == 1, "page {}: {column} is on it: {shown}", page + 1);
        }
        screen.keys("<Esc>");
        assert!(screen.text().contains(&format!("YEAR {} of 6", page + 1)), "back on it");
    }
}

/// On the smallest screen every column of every page is there, one part of them below the other, and nothing is cut.
#[test]
fn on_a_narrow_screen_no_column_is_cut() {
    for (columns, rows) in [(40, 12), (60, 20)] {
        let mut screen = Screen::on(&two_stays(), (columns, rows));
        screen.keys("y");
        for page in 0..6 {
            screen.look();
            let mut all = String::new();
            for _ in 0..30 {
                all.push_str(&screen.text());
                screen.keys("<PgDn>");
            }
            let inside = all.lines().filter(|line| line.trim_start().starts_with('|'));
            let cut: Vec<&str> = inside.filter(|line| line.contains("~ |")).collect();
            assert!(cut.is_empty(), "page {page} at {columns}: {cut:#?}");
            let words: &[&str] = match page {
                0 => &["sun", "array", "harv", "dull-bright", "load", "bank", "unused", "short", "lasts", "gen"],
                1 => &["Jan =", "Dec =", " of "],
                2 => &["array", "volts", "wire1", "conv", "clip", "wire2", "full", "limit", "cold", "helps most"],
                3 | 4 => &["hour", "sun", "array", "harv", "other", "load", "bank A", "volts", "temp", "charge"],
                _ => &["harvest", "other", "load", "short", "charge at least"],
            };
            for word in words {
                assert!(all.contains(word), "page {page} at {columns} has no {word}: {all}");
            }
            screen.keys("<Home><Right>");
        }
        assert!(screen.text().contains("driving"), "{}", screen.text());
    }
}
