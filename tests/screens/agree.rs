//! The same thing said in several places is said alike; what is meant differently says so.

use std::sync::Arc;

use super::{DUNLIN, Screen};
use coachwire::engine::{Engine, Finding};
use coachwire::plan::lists::MONTH_NAMES;
use coachwire::plan::{Plan, Step};
use coachwire::stock::{Shelf, Stock};
use coachwire::tui::message::Opened;
use coachwire::tui::model::Start;
use coachwire::wording::findings::{self, Group};

const SAMPLES: [&str; 5] = [
    include_str!("../../plans/bramble.ron"),
    include_str!("../../plans/sorrel.ron"),
    include_str!("../../plans/marram.ron"),
    include_str!("../../plans/larkspur.ron"),
    include_str!("../../plans/thistle.ron"),
];

fn check(plan: &Plan) -> String {
    let (mut engine, stock) = (Engine::default(), Stock::default());
    let report = engine.evaluate(plan, &stock);
    let mut cures = |_: &Finding| (Vec::new(), String::new());
    coachwire::cli::check_text("x.ron", plan, &report, &mut cures)
}

/// The line that a word of the results stands in.
fn result(screen: &Screen, label: &str) -> String {
    let text = screen.text();
    let line = text.lines().find_map(|line| line.split_once(&format!("| {label}"))).map(|(_, rest)| rest.to_string());
    line.unwrap_or_else(|| panic!("{label} is not in\n{text}"))
}

#[test]
fn accepted_findings_are_counted_apart_everywhere() {
    let mut screen = Screen::on(DUNLIN, (120, 40));
    screen.keys("5xmeasured on site, 2 kA at most<Enter>");
    let text = screen.text();
    assert!(text.contains("stop 0  caution 5  accepted 1  unknown 4"), "{text}");
    assert!(text.contains("STOP 0 and 1 accepted:"), "{text}");
    let printed = check(&screen.plan());
    assert!(printed.contains("stop 0 and 1 accepted, caution 5,"), "{printed}");
    screen.keys("1");
    assert!(
        result(&screen, "findings").contains("stop 0  caution 5") && result(&screen, "findings").contains("accepted 1")
    );
}

#[test]
fn what_is_unknown_has_one_count() {
    let blank = Plan::default().to_text();
    for text in SAMPLES.iter().copied().chain([DUNLIN, blank.as_str()]) {
        let mut screen = Screen::on(text, (120, 40));
        let report = Arc::clone(&screen.model.document.as_ref().unwrap().shown().report);
        let count = report.unknown.len();
        assert!(screen.text().lines().next().unwrap().contains(&format!("unknown {count}")), "{}", screen.text());
        assert!(result(&screen, "unknown").trim_start().starts_with(&format!("{count},")), "{}", screen.text());
        assert_eq!(findings::count(&screen.model.entries(), Group::Unknown).open, count);
        assert!(check(&screen.plan()).contains(&format!("unknown {count}, not checked")));
        screen.keys("n");
        let said = screen.said();
        assert!(count == 0 || said.ends_with(&format!("of {count}")), "{count} but {said}");
    }
}

/// Harvest and load are of the month of the least harvest; where the shortfall is worst in another, both are named.
#[test]
fn harvest_and_load_are_of_one_month() {
    for text in SAMPLES {
        let screen = Screen::on(text, (120, 40));
        let report = Arc::clone(&screen.model.document.as_ref().unwrap().shown().report);
        let wh = |m: usize| report.year.months[m].harvest_wh_day.as_ref().unwrap().0;
        let worst = (0..12).min_by(|a, b| wh(*a).total_cmp(&wh(*b))).unwrap();
        let month = MONTH_NAMES[worst];
        for label in ["harvest", "load", "short"] {
            assert!(result(&screen, label).contains(month), "{label} {month}\n{}", screen.text());
        }
    }
}

/// The calendar has 365 days: the months' days make up the year, and no total of it stands without its months.
#[test]
fn a_years_harvest_stands_with_its_dull_and_bright_month() {
    let days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    for text in SAMPLES {
        let mut screen = Screen::on(text, (120, 40));
        let report = Arc::clone(&screen.model.document.as_ref().unwrap().shown().report);
        let total = *report.year.harvest_kwh.as_ref().unwrap();
        let spread = report.year.month_spread().unwrap();
        let month = |m: usize| report.year.months[m].harvest_wh_day.as_ref().unwrap().0 * days[m] / 1000.0;
        let sum: f64 = (0..12).map(month).sum();
        assert!((sum / total - 1.0).abs() < 1e-6, "{sum} {total}");
        assert!((month(spread.dull.0) - spread.dull.1).abs() < 1e-9);
        let daily = |m: usize| report.year.months[m].harvest_wh_day.as_ref().unwrap().0;
        assert!((0..12).all(|m| daily(spread.dull.0) <= daily(m) && daily(m) <= daily(spread.bright.0)));
        let line = result(&screen, "year");
        for m in [spread.dull.0, spread.bright.0] {
            assert!(line.contains(MONTH_NAMES[m]), "{line}");
        }
        screen.keys("y<End>");
        let text = screen.text();
        assert!(text.contains("a dull month brings") && text.contains("a bright one"), "{text}");
    }
}

#[test]
fn all_results_are_on_a_tall_screen() {
    for text in SAMPLES {
        let screen = Screen::on(text, (120, 40));
        let title = screen.text().lines().find(|line| line.contains("RESULTS")).unwrap().to_string();
        let results = title.split_once("RESULTS").unwrap().1.to_string();
        assert!(!results.contains("more"), "{title}");
        assert!(!result(&screen, "fault").contains('~'), "{}", screen.text());
    }
}

/// A ladder's own drop is of the run, 12 V nominal; its path's is named with its runs.
#[test]
fn a_gauge_ladder_says_which_drop_is_whose() {
    for size in [(80, 24), (120, 40)] {
        let mut screen = Screen::on(SAMPLES[3], size);
        screen.keys("<Down>l");
        let text = screen.text();
        let row = text.lines().find(|line| line.contains("*2 AWG")).unwrap();
        let cells: Vec<&str> = row.split('*').nth(1).unwrap().split_whitespace().collect();
        let number = |i: usize| cells[i].trim_end_matches('!').parse::<f64>().unwrap();
        // The narrow screen has volts alone of the run's own.
        let wide = size.0 > 80;
        let (volts, path) = (number(2), number(if wide { 4 } else { 3 }));
        let own = if wide { number(3) } else { volts / 12.0 * 100.0 };
        assert!((volts / 12.0 * 100.0 - own).abs() < 0.1, "{row}");
        assert!(path > own, "{row}");
        assert!(text.contains("W2 > W6 > W3"), "{text}");
        // Every row of the box is whole.
        assert!(!text.lines().filter(|l| l.contains("AWG") && l.contains(" no ")).any(|l| l.contains("~ ")), "{text}");
    }
}

/// `g` goes where the cure is, not to the first row of the thing.
#[test]
fn going_to_a_finding_leads_to_what_cures_it() {
    for (id, at) in [("lithium-charged-cold", "bank.heated"), ("cold-voc-over-limit", "arrays.A1.strings")] {
        let mut screen = Screen::on(SAMPLES[4], (120, 40));
        screen.keys("5");
        let entries = screen.model.entries();
        let row = entries.iter().position(|e| e.finding().is_some_and(|f| f.check.id == id)).unwrap();
        screen.model.finding = row;
        screen.keys("<Enter>g");
        assert_eq!(screen.model.focus().map(|at| at.to_string()).as_deref(), Some(at), "{}", screen.text());
    }
}

#[test]
fn the_shelf_on_a_list_offers_what_the_list_holds() {
    let opened = Opened { plan: Plan::default(), path: None, locked_by: None, recovery: None, remark: None };
    let stock = Arc::new(Stock { shelf: Shelf::typical(), ..Stock::default() });
    let mut screen = Screen::with(Start { opened: Some(opened), stock, ..Screen::start() });
    screen.keys("2s");
    let text = screen.text();
    assert!(text.contains("refrigerator") && !text.contains("100 W rigid"), "{text}");
    screen.keys("furnace<Enter>");
    assert_eq!(screen.plan().loads.len(), 1, "{}", screen.said());
}

/// There is no file to keep where the plan was never saved.
#[test]
fn a_recovery_copy_without_a_file_speaks_of_none() {
    let copy = Plan::from_text(DUNLIN).unwrap();
    let opened = Opened {
        plan: Plan::default(),
        path: None,
        locked_by: None,
        recovery: Some((Box::new(copy.into()), "written at 12:00".into())),
        remark: None,
    };
    let screen = Screen::with(Start { opened: Some(opened), ..Screen::start() });
    let text = screen.text();
    assert!(text.contains("drop the copy") && !text.contains("keep the file"), "{text}");
}

/// Whether a row fits is what a ladder is for: on no screen is its last column cut off.
#[test]
fn a_ladder_says_what_fits_on_any_width() {
    for columns in [40, 50, 60, 70, 80, 103, 104, 120] {
        for keys in
            ["l", "<Tab>l", "<Tab><Down>l", "<Tab><Down><Down>l", "<Down><Down><Right><Right><Right><Right><Right>l"]
        {
            let mut screen = Screen::on(SAMPLES[4], (columns, 24));
            screen.keys(keys);
            let text = screen.text();
            let heading = text.lines().find(|line| {
                (line.contains(" fit ") || line.contains(" meets ")) && line.starts_with([' ', '>', '-', '|'])
            });
            assert!(heading.is_some_and(|line| !line.contains("~ |")), "{columns} {keys}\n{text}");
        }
    }
}

/// What alternator and shore bring stands apart, month by month; together it is what the column says.
#[test]
fn alternator_and_shore_stand_apart() {
    let mut screen = Screen::on(SAMPLES[2], (120, 40));
    screen.keys("y");
    let text = screen.text();
    assert!(text.contains("load   alt  bank") && text.contains("alt: what"), "{text}");
    screen.keys("<Esc>3<Enter><Enter>");
    for _ in 0..30 {
        if screen.model.focus().is_none_or(|at| !at.as_str().ends_with(".shore_days_month")) {
            screen.keys("<Down>");
        }
    }
    screen.keys("6<Enter>y");
    let report = Arc::clone(&screen.model.document.as_ref().unwrap().shown().report);
    let text = screen.text();
    assert!(text.contains("load other  bank"), "{text}");
    let plain = text.split_whitespace().filter(|word| *word != "|").collect::<Vec<_>>().join(" ");
    assert!(plain.contains("other, alternator + shore: Jan"), "{text}");
    let said = plain.split_once("alternator + shore: Jan ").unwrap().1;
    let (alternator, shore) = said.split_once(',').unwrap().0.split_once('+').unwrap();
    let both: f64 = alternator.parse::<f64>().unwrap() + shore.parse::<f64>().unwrap();
    let other = report.year.months[0].other_wh_day.as_ref().unwrap().0;
    assert!((both - other).abs() <= 1.0 && shore != "0", "{said} of {other}");
}

/// What links between the batteries carry and may carry stands on the Bench, as the report has it; `e` shows all of it.
#[test]
fn links_between_batteries_are_read_on_the_bench() {
    let mut screen = Screen::dunlin();
    let lines = [
        "bank.parallel = 3",
        "bank.joined = links with leads at one end",
        "bank.link_gauge = 2/0 AWG",
        "bank.link_length_m = 0.3 m",
        "bank.link_insulation_c = 105 C",
        "bank.zone = cabinet",
        "bank.sag_mohm = 4",
    ];
    let step = Step::parse(&screen.plan(), "links", &lines.map(String::from)).unwrap();
    screen.model.document.as_mut().unwrap().apply(step).unwrap();
    screen.keys("<Tab>");
    while !screen.text().lines().any(|line| line.starts_with("> BK")) {
        screen.keys("<Down>");
    }
    let figures = screen.model.document.as_ref().unwrap().shown().report.bank.links.clone().unwrap();
    let (link, may) = (figures.link_a.unwrap().0, figures.ampacity_a.unwrap().0);
    let amps = coachwire::tui::words::amps;
    let loses = figures.link_v.unwrap().0;
    let said = format!("BK: link {} A, may {} A, loses {loses:.3} V; each battery", amps(link), amps(may));
    assert!(screen.text().contains(&said), "{said}: {}", screen.text());
    screen.keys("e");
    let mut all = String::new();
    for _ in 0..6 {
        all.push_str(&screen.text());
        screen.keys("<PgDn>");
    }
    assert!(all.contains("the link beside a lead carries"), "{all}");
    screen.keys("<Esc>");
    assert!(screen.model.overlay.is_none());
}
