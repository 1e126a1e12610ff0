//! Findings: groups, the text that `check` prints too, workings, isolation.

use super::{DUNLIN, Screen};
use coachwire::engine::{Engine, Finding, Level};
use coachwire::plan::job::{LengthUnit, TemperatureUnit};
use coachwire::plan::{FieldPath, Plan};
use coachwire::stock::Stock;
use coachwire::tui::model::Overlay;
use coachwire::wording::findings::{self, Group};

fn check(plan: &Plan) -> String {
    let (mut engine, stock) = (Engine::default(), Stock::default());
    let report = engine.evaluate(plan, &stock);
    let mut cures = |f: &Finding| {
        let found = engine.cures_tried(plan, &stock, f);
        (found.steps.iter().map(|step| step.name.clone()).collect(), found.in_vain())
    };
    coachwire::cli::check_text("x.ron", plan, &report, &mut cures)
}

/// Words one space apart.
fn plain(text: &str) -> String {
    let no_frame: String = text.chars().map(|c| if matches!(c, '|' | '\n') { ' ' } else { c }).collect();
    no_frame.split_whitespace().collect::<Vec<_>>().join(" ")
}

const THISTLE: &str = include_str!("../../plans/thistle.ron");

#[test]
fn groups_come_by_level_then_by_place() {
    for text in [DUNLIN, THISTLE] {
        let screen = Screen::on(text, (120, 40));
        let entries = screen.model.entries();
        let order: Vec<(Group, usize)> = entries.iter().map(|e| (e.group, 0)).collect();
        assert!(order.is_sorted_by_key(|(g, _)| *g), "levels");
        for group in Group::ALL {
            let mut places: Vec<_> = entries.iter().filter(|e| e.group == group).map(|e| e.place).collect();
            let count = places.len();
            places.dedup();
            let mut once = places.clone();
            once.sort();
            once.dedup();
            assert_eq!(places.len(), once.len(), "each place once in {group:?} of {count}: {places:?}");
        }
        let report = &screen.model.document.as_ref().unwrap().shown().report;
        let stops = report.findings.iter().filter(|f| f.level == Level::Stop).count();
        let counted = findings::count(&entries, Group::Found(Level::Stop));
        assert_eq!(counted.open + counted.accepted, stops);
    }
}

/// What is about a load stands where the load's run ends; a load that no run leads to has no place.
#[test]
fn a_load_stands_where_its_run_ends() {
    use coachwire::wording::findings::Place;
    let larkspur = coachwire::plan::samples::sample("larkspur").unwrap();
    let screen = Screen::on(larkspur.text, (120, 40));
    let (entries, plan) = (screen.model.entries(), screen.plan());
    let mut placed = 0;
    let one = |e: &&coachwire::wording::findings::Entry| e.subject.as_str().starts_with("loads.");
    for entry in entries.iter().filter(one) {
        let id = entry.subject.segments().nth(1).unwrap_or_default();
        let run = plan.runs.iter().find(|r| r.to.known().is_some_and(|to| to.as_str() == id));
        let zone = run.map(|r| *r.legs.last().unwrap().zone.known().unwrap());
        assert_eq!(entry.place, zone.map_or(Place::NotSaid, Place::In), "{}", entry.subject);
        placed += usize::from(zone.is_some());
    }
    assert!(placed > 0, "the breakaway brakes are among them");
}

#[test]
fn check_prints_what_the_screen_shows_in_the_same_order() {
    for text in [DUNLIN, THISTLE] {
        let mut screen = Screen::on(text, (120, 40));
        let printed = plain(&check(&Plan::from_text(text).unwrap()));
        screen.keys("5");
        let count = screen.model.entries().len();
        assert!(count > 5);
        let mut from = 0;
        for _ in 0..count {
            let (sentence, lines) = {
                let entry = screen.model.entry().unwrap();
                (plain(&entry.said(&screen.shown())), entry.lines(&screen.shown()))
            };
            let found = printed[from..].find(&sentence);
            assert!(found.is_some(), "{sentence:?} is not printed after {from} in\n{printed}");
            from += found.unwrap() + sentence.len();
            if screen.model.finding_at().is_some() {
                screen.keys("<Enter>");
                let shown = plain(&screen.text());
                assert!(shown.contains(&sentence), "{sentence:?} is not shown in\n{shown}");
                for (label, text) in lines {
                    let line = plain(&format!("{label}: {text}"));
                    assert!(shown.contains(&line), "{line:?} is not shown");
                    assert!(printed.contains(&line), "{line:?} is not printed");
                }
                let Some(Overlay::Finding(view)) = &screen.model.overlay else { panic!("{shown}") };
                for cure in &view.cures {
                    let name = plain(&cure.name);
                    assert!(printed[from..].contains(&format!("cure: {name}")), "{name:?} is not printed");
                    // A name too long for a line goes on in the next, with what lies behind the box between.
                    let mut left = shown.as_str();
                    let whole = name.split(' ').all(|word| {
                        left.find(word).map(|at| left = left.get(at + word.len()..).unwrap_or_default()).is_some()
                    });
                    assert!(shown.contains(&name) || (name.len() > 60 && whole), "{name:?} is not shown");
                }
                screen.keys("<Esc>");
            }
            screen.keys("<Down>");
        }
        for entry in screen.model.entries() {
            assert!(printed.contains(entry.place.words()), "{:?}", entry.place);
        }
    }
}

#[test]
fn an_accepted_finding_stays_with_its_reason_and_can_be_taken_back() {
    let mut screen = Screen::dunlin();
    screen.keys("5xmeasured on site, 2 kA at most<Enter>");
    let text = screen.text();
    assert!(text.contains("(accepted)") && text.contains("accepted: measured on site"), "{text}");
    assert!(text.contains("STOP 0 and 1 accepted"), "still counted in its group: {text}");
    let printed = check(&screen.plan());
    assert!(
        printed.contains("(accepted)") && printed.contains("accepted: measured on site, 2 kA at most"),
        "{printed}"
    );
    // Another reason takes the place of the first.
    screen.keys("x<C-u>maker's letter<Enter>");
    assert_eq!(screen.plan().accepted.len(), 1);
    assert_eq!(screen.plan().accepted[0].reason, "maker's letter");
    screen.keys("x<C-u><Enter>");
    assert!(screen.plan().accepted.is_empty());
    assert!(!screen.text().contains("(accepted)"), "{}", screen.text());
}

#[test]
fn what_is_not_known_leads_to_its_field() {
    let mut screen = Screen::dunlin();
    screen.keys("5<End><Enter>");
    assert_eq!(screen.model.focus().unwrap().as_str(), "runs.W6.gauge", "{}", screen.text());
    screen.keys("<Esc>");
    assert!(screen.model.is_on_findings(), "Esc leads back");
}

#[test]
fn metric_plans_read_metres_and_celsius_and_american_ones_feet_and_fahrenheit() {
    let plan = Plan::from_text(THISTLE).unwrap();
    let american = check(&plan);
    // 109.9 V at the coldest -12 C = 10 F; the fuse 4.6 m = 15 ft from the bank, limit 18 in = 0.46 m.
    assert!(american.contains("at 10 F") && american.contains("18\""), "{american}");
    assert!(!plain(&american).contains(" m of wire"), "{american}");
    let mut plan = plan;
    plan.job.length_unit = LengthUnit::Metres;
    plan.job.temperature_unit = TemperatureUnit::Celsius;
    let metric = check(&plan);
    assert!(metric.contains("at -12 C") && metric.contains("m of wire"), "{metric}");
}

#[test]
fn the_working_adds_up_to_the_figures_of_the_bench() {
    let mut screen = Screen::on(THISTLE, (120, 40));
    // W3: 10 AWG at 52 A. NEC 110.14(C) with 310.17's 75 C column: 50 A for 10 AWG.
    screen.keys("<Down><Down>e");
    let text = plain(&screen.text());
    assert!(text.contains("WORKING OF W3") && text.contains("at most 50.0 A by the terminals"), "{text}");
    let Some(Overlay::Working(view)) = &screen.model.overlay else { panic!("{text}") };
    let report = &screen.model.document.as_ref().unwrap().shown().report;
    let figures = report.runs.iter().find(|r| r.id.as_str() == "W3").unwrap();
    let ohm: f64 = view.worked.parts.as_ref().unwrap().iter().map(|p| p.ohm).sum();
    assert!((ohm - figures.resistance_ohm.as_ref().unwrap().0).abs() < 1e-12);
    let least = view.worked.legs.as_ref().unwrap().iter().map(|l| l.amps).fold(f64::MAX, f64::min);
    assert_eq!(least, figures.ampacity_a.as_ref().unwrap().0);
    let selection = view.selection.as_ref().unwrap();
    assert!(!selection.reasons.is_empty());
    // g goes to the run.
    screen.keys("g");
    assert!(screen.model.overlay.is_none());
}

#[test]
fn every_run_of_every_sample_shows_its_working() {
    use coachwire::plan::samples::SAMPLES;
    for sample in SAMPLES {
        let mut screen = Screen::on(sample.text, (80, 24));
        let report = screen.model.document.as_ref().unwrap().shown().report.clone();
        for run in &report.runs {
            let worked = coachwire::engine::worked(&screen.plan(), &run.id).unwrap();
            if let (Ok(parts), Ok(whole)) = (&worked.parts, &run.resistance_ohm) {
                let sum: f64 = parts.iter().map(|p| p.ohm).sum();
                assert!((sum - whole.0).abs() < 1e-9, "{} {}: {sum} and {}", sample.name, run.id, whole.0);
            }
            if let (Ok(drop), false) = (&run.path_drop_v, worked.path.is_empty()) {
                let volts: f64 = worked.path.iter().map(|s| s.ohm.clone().unwrap() * s.amps.clone().unwrap()).sum();
                assert!((volts - drop.0).abs() < 1e-9, "{} {}: {volts} and {}", sample.name, run.id, drop.0);
            }
        }
        screen.keys("e");
        assert!(screen.text().contains("WORKING OF"), "{}", screen.text());
        assert!(!screen.text().contains("of -"), "{}", screen.text());
    }
}

#[test]
fn the_isolation_view_lists_every_switch_and_opens_on_the_focused_one() {
    let mut screen = Screen::on(THISTLE, (80, 24));
    let all = coachwire::engine::isolation(&screen.plan());
    screen.keys("i");
    let Some(Overlay::Isolation(view)) = &screen.model.overlay else { panic!("{}", screen.text()) };
    assert_eq!(view.all, all);
    assert_eq!(view.all[view.cursor].switch, FieldPath::from("devices.PVD"), "W1 ends on it");
    assert!(screen.text().contains("by the panels A1 in daylight"), "{}", screen.text());
    screen.keys("<Esc><Down><Down><Down>i");
    let Some(Overlay::Isolation(view)) = &screen.model.overlay else { panic!("{}", screen.text()) };
    assert_eq!(view.all[view.cursor].switch.as_str(), "runs.W4.protection.F1");
    // What opening the main fuse kills is what hangs on it.
    let text = screen.text();
    assert!(text.contains("DEAD: ") && text.contains("INV"), "{text}");
    screen.keys("g");
    assert!(screen.model.overlay.is_none());
}

/// An edit that brings or takes findings before the marked one leaves the mark on it, so that the next key is about the same.
#[test]
fn the_mark_stays_on_its_finding() {
    let what = |screen: &Screen| {
        let entry = screen.model.entry().expect("a line");
        (entry.finding().map(|f| f.check.id), entry.leads_to().clone())
    };
    let mut screen = Screen::dunlin();
    screen.keys("---5<End>");
    let (marked, line) = (what(&screen), screen.model.finding);
    screen.keys("u");
    assert_eq!(what(&screen), marked);
    assert_ne!(screen.model.finding, line, "a thinner wire had brought findings before it");
    screen.keys("<Up>");
    assert_ne!(what(&screen), marked, "keys move the mark as ever");
}

/// On Findings `g` leads to the place that the marked line is about, as it does in an opened finding; elsewhere it is the
/// walk-round, and Ctrl-G is that everywhere.
#[test]
fn g_on_findings_goes_to_the_place() {
    let at = |i: usize| {
        let mut screen = Screen::dunlin();
        screen.keys("5").keys(&"<Down>".repeat(i));
        screen
    };
    let count = at(0).model.entries().len();
    assert!(count > 3);
    for i in 0..count {
        let mut screen = at(i);
        let is_finding = screen.model.entry().unwrap().finding().is_some();
        screen.keys("g");
        let there = screen.model.focus();
        assert!(screen.model.overlay.is_none() && !screen.model.is_on_findings(), "{i}: {}", screen.text());
        assert!(!screen.model.is_guided);
        // As from the opened one.
        let mut opened = at(i);
        opened.keys(if is_finding { "<Enter>g" } else { "<Enter>" });
        assert_eq!(opened.model.focus(), there, "{i}: {}", screen.text());
    }
    let mut screen = at(0);
    screen.keys("<C-g>");
    assert!(screen.model.is_guided, "{}", screen.text());
    let mut screen = Screen::dunlin();
    screen.keys("g");
    assert!(screen.model.is_guided, "{}", screen.text());
}

/// `a` on a finding that nothing cures goes on to the next that has a cure, says so and changes nothing; `a` there applies it.
#[test]
fn a_finding_without_a_cure_leads_to_the_next_that_has_one() {
    let mut screen = Screen::on(coachwire::plan::samples::sample("larkspur").unwrap().text, (120, 40));
    let before = screen.plan();
    screen.keys("5");
    let has_cure = |screen: &Screen, line: usize| {
        let f = screen.model.entries()[line].finding().cloned().expect("a finding");
        !Engine::default().cures(&before, &Stock::default(), &f).is_empty()
    };
    let findings = (0..screen.model.entries().len()).filter(|line| screen.model.entries()[*line].finding().is_some());
    let without = findings.into_iter().find(|line| !has_cure(&screen, *line)).expect("one that nothing cures");
    while screen.model.finding < without {
        screen.keys("<Down>");
    }
    let check = screen.model.finding_at().expect("a finding").check.id;
    screen.keys("a");
    assert_eq!(screen.plan(), before, "nothing is applied");
    assert!(screen.said().contains(&format!("no cure is known of {check}")), "{}", screen.said());
    let Some(Overlay::Finding(view)) = &screen.model.overlay else { panic!("no finding is open") };
    let first = view.cures[0].clone();
    let line = screen.model.finding;
    assert!((without..line).all(|line| !has_cure(&screen, line)) && has_cure(&screen, line));
    screen.keys("a");
    assert_eq!(*screen.plan(), before.with(&first).unwrap());
}
