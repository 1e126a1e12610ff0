//! The results on the bench: what they say of a plan without loads, of the coldest air, and of a change.

use super::Screen;
use coachwire::plan::samples::sample;
use coachwire::plan::{Known, Plan};
use coachwire::units::Amps;

fn on(plan: &Plan) -> Screen {
    let mut screen = Screen::on(&plan.to_text(), (120, 40));
    screen.model.overlay = None;
    screen
}

fn larkspur() -> Plan {
    Plan::from_text(sample("larkspur").expect("sample").text).expect("reads")
}

/// The line of the results that begins with a label.
fn line(screen: &Screen, label: &str) -> String {
    let text = screen.text();
    let of = |l: &str| l.split_once("| ").map(|(_, right)| right.to_string());
    text.lines().filter_map(of).find(|l| l.starts_with(label)).unwrap_or_else(|| panic!("{label}\n{text}"))
}

#[test]
fn without_loads_no_days_are_promised() {
    let mut plan = larkspur();
    plan.loads.clear();
    let screen = on(&plan);
    for label in ["load ", "short ", "lasts "] {
        assert!(line(&screen, label).contains("no loads entered"), "{}", screen.text());
    }
    assert!(!screen.text().contains("days without sun"), "{}", screen.text());
    // What controllers and inverter draw themselves is not called the load.
    let own = |screen: &Screen| {
        screen.text().lines().filter(|l| l.contains("| ") && l.contains("own use of equipment ")).count()
    };
    assert_eq!((own(&screen), own(&on(&larkspur()))), (1, 0), "{}", screen.text());
    assert!(line(&on(&larkspur()), "lasts ").contains("days without sun"));
}

/// -29 C is -20 F.
#[test]
fn cold_volts_say_at_what_temperature_and_by_what() {
    let said = |plan: &Plan| line(&on(plan), "cold Voc");
    let mut plan = larkspur();
    assert!(said(&plan).contains(" at -20 F") && !said(&plan).contains("table"), "{}", said(&plan));
    plan.panels.iter_mut().for_each(|p| p.beta_pct_k = Known::Unknown);
    assert!(said(&plan).contains("by table for want of beta"), "{}", said(&plan));
    plan.job.coldest_c = None;
    assert!(said(&plan).contains("F, its stays' coldest"), "{}", said(&plan));
}

/// What is shown as a change is what the figures shown beside each other differ by.
#[test]
fn a_change_is_that_of_the_figures_shown() {
    let number = |line: &str| -> f64 {
        let (head, _) = line.split_once(" Wh/d").expect("a figure");
        let digits: String = head.chars().filter(char::is_ascii_digit).collect();
        digits.parse().expect("a number")
    };
    let mut seen = 0;
    for gauge in ["4 AWG", "6 AWG", "8 AWG", "10 AWG"] {
        let mut screen = on(&larkspur());
        let was = number(&line(&screen, "short"));
        screen.keys("b");
        while !matches!(screen.model.focus(), Some(at) if at.as_str().starts_with("runs.W2")) {
            screen.keys("<Down>");
        }
        while screen.plan().runs.iter().find(|r| r.id.as_str() == "W2").unwrap().gauge.known()
            != Some(&gauge.parse().unwrap())
        {
            screen.keys("-");
        }
        let now = line(&screen, "short");
        let change = now.split_once(" Wh/d").unwrap().1.trim().trim_end_matches('|').trim().to_string();
        if let Ok(change) = change.trim_start_matches('+').replace(' ', "").parse::<f64>() {
            assert_eq!(change, number(&now) - was, "{was}: {now}");
            seen += 1;
        }
    }
    assert!(seen > 0, "no change was seen");
}

/// Nobody entered a load, and yet the year draws something: on every page it is said what.
#[test]
fn own_use_is_not_called_the_load() {
    let mut plan = larkspur();
    plan.loads.clear();
    let mut screen = on(&plan);
    screen.keys("y");
    let flowing = super::seasons::flowing(&screen);
    assert!(flowing.contains("no loads entered, own use of equipment "), "{}", screen.text());
    assert!(!flowing.contains("as audits are"), "{}", screen.text());
    let own = screen.model.document.as_ref().unwrap().shown().report.year.load_kwh.clone().expect("a bank");
    assert!(own > 1.0, "controllers and inverter draw something: {own}");
    let mut stays = on(&plan);
    stays.keys("3");
    assert!(stays.text().contains("no loads entered: load is own use of equipment"), "{}", stays.text());
    let mut full = on(&larkspur());
    full.keys("3");
    assert!(!full.text().contains("no loads entered"), "{}", full.text());
}

/// Wherever harvest stands, what the roof's own shade has taken off is said with it.
#[test]
fn roof_shade_is_said_beside_harvest_in_ladders_and_sizing() {
    let dunlin = Plan::from_text(super::DUNLIN).expect("reads");
    for keys in ["l", "z", "<BackTab><BackTab>l<Home>"] {
        for (plan, shaded) in [(&larkspur(), true), (&dunlin, false)] {
            for size in [(80, 24), (120, 40)] {
                let mut screen = Screen::on(&plan.to_text(), size);
                screen.keys(keys).look().climb();
                let text = screen.text();
                assert!(text.contains("Wh/day"), "{keys}: {text}");
                assert_eq!(text.contains("roof shade taken off: up to "), shaded, "{keys}: {text}");
            }
        }
    }
}

/// A thing on the roof of which nobody knows how high it is takes off no shade at all: wherever harvest stands, that is said.
#[test]
fn roof_shade_that_nobody_knows_is_said_beside_harvest() {
    let mut plan = larkspur();
    plan.roof.obstacles[0].h_m = Known::Unknown;
    let screen = Screen::on(&plan.to_text(), (120, 40));
    let text = screen.text();
    assert!(text.contains("; no roof shade take") && text.contains("off: not known"), "{text}");
    for keys in ["l", "z", "3"] {
        let mut screen = Screen::on(&plan.to_text(), (120, 40));
        screen.keys(keys).look().climb();
        assert!(screen.text().contains("no roof shade taken off: "), "{keys}: {}", screen.text());
    }
    let mut year = Screen::on(&plan.to_text(), (120, 60));
    year.keys("y");
    assert!(
        super::seasons::flowing(&year).contains("no shade of what stands on the roof is taken off"),
        "{}",
        year.text()
    );
    assert!(!on(&larkspur()).text().contains("no roof shade taken off"));
    plan.roof.obstacles.clear();
    assert!(!on(&plan).text().contains("roof shade"));
}

/// On a narrow screen the last lines have what the marked result has no room for, whole, and of the others as many as fit whole.
#[test]
fn what_results_have_no_room_for_is_read_whole_below() {
    let plans = [larkspur().to_text(), super::DUNLIN.to_string()];
    let mut screens = plans.map(|plan| Screen::on(&plan, (80, 24)));
    let mut seen = 0;
    for (row, screen) in (0..20).flat_map(|row| [(row, 0), (row, 1)]) {
        let screen = &mut screens[screen];
        screen.look();
        screen.model.bench.pane = coachwire::tui::model::Pane::Results;
        screen.model.bench.results = row;
        let text = screen.text();
        let Some(marked) = text.lines().find_map(|l| l.split_once("|>")).map(|(_, right)| right.to_string()) else {
            continue;
        };
        let last: Vec<&str> = text.lines().rev().skip(1).take(2).collect();
        let below = format!("{} {}", last[1].trim(), last[0].trim());
        assert!(!below.contains('~'), "row {row}: {text}");
        if marked.trim_end().ends_with('~') {
            let (label, shown) = (marked[..8].trim(), marked[8..].trim().trim_end_matches('~').trim());
            assert!(
                below.starts_with(&format!("{label} {shown}").trim().to_string()),
                "row {row}, {label:?} {shown:?}: {text}"
            );
            seen += 1;
        }
    }
    assert!(seen >= 2, "{seen} results are cut at 80 columns");
}

/// Of a plan in which nothing is entered no load is given as a figure.
#[test]
fn a_blank_plan_has_no_load_of_nothing() {
    let screen = on(&Plan::default());
    assert!(line(&screen, "load ").contains("no loads entered"), "{}", screen.text());
    assert!(!screen.text().contains(" 0 kWh"), "{}", screen.text());
}

/// Where small wire may have no fuse as large as its array asks for, it still carries what its surroundings leave it: 55 A of NEC
/// Table 310.17 x 0.58 at 162 F; 30 A is the fuse's limit (former NEC 551.10).
#[test]
fn what_holds_the_wire_and_what_holds_its_fuse_are_told_apart() {
    let mut plan = Plan::from_text(super::DUNLIN).expect("reads");
    for panel in &mut plan.panels {
        for amps in [&mut panel.isc_a, &mut panel.imp_a] {
            *amps = Known::Is(Amps(amps.known().expect("known").0 * 1.8));
        }
    }
    let text = on(&plan).text();
    let last = text.lines().rev().find(|l| l.contains("W1: no fuse of its own")).unwrap_or_else(|| panic!("{text}"));
    assert!(last.contains("carries 31.9 A (ambient; fuse: small wire)"), "{last}");
}

/// Scrolled results stand as long as the cursor stays on its thing, wherever Tab leads, and begin at the top for another.
#[test]
fn results_of_another_run_begin_at_the_top() {
    let mut screen = Screen::on(sample("larkspur").expect("sample").text, (80, 24));
    screen.keys("<Tab><Tab><Down><Down><Down>");
    assert_eq!(screen.model.bench.results, 3);
    screen.keys("<Tab><Right>");
    assert!(screen.model.bench.results == 3 && !screen.text().contains("worst Dec"), "{}", screen.text());
    screen.keys("<Down>");
    assert!(screen.model.bench.results == 0 && screen.text().contains("worst Dec"), "{}", screen.text());
}

/// On the smallest screen no figure of worth and price is cut off: what has no room is the name of the run, which is marked.
#[test]
fn worth_and_price_have_all_their_figures_on_a_narrow_screen() {
    let mut screen = Screen::on(sample("larkspur").expect("sample").text, (80, 24));
    screen.look();
    let text = screen.text();
    let line = |label: &str| text.lines().find(|l| l.contains(label)).unwrap_or_else(|| panic!("{text}"));
    assert!(line("| worth ").contains(" Wh/d ") && line("| worth ").contains(" used +"), "{text}");
    let report = &screen.model.document.as_ref().unwrap().shown().report.price;
    let price = line("| price ");
    let counts = [format!("+{} parts", report.unpriced), format!("+{} lugs", report.lugs_not_counted)];
    assert!(report.unpriced > 0 && report.lugs_not_counted > 0 && counts.iter().all(|c| price.contains(c)), "{text}");
}

/// A wire that no fuse fits is said with both limits, the larger as the one that it needs.
#[test]
fn where_no_fuse_fits_both_limits_are_named() {
    let mut screen = Screen::on(sample("thistle").expect("sample").text, (80, 24));
    screen.keys("<Down><Down>");
    // 1.25 x 52 A, and 30 A for 10 AWG.
    assert!(screen.text().contains("W3: fuse 65.0 to 30.0 A, can't be fused"), "{}", screen.text());
}

/// Of a part that is typed the fuse's cell shows the choice that is marked, after an arrow too.
#[test]
fn a_fuses_cell_shows_the_marked_type() {
    let mut screen = Screen::on(sample("larkspur").expect("sample").text, (80, 24));
    let cell = |screen: &Screen| screen.text().lines().find(|l| l.contains("> W1")).expect("its row").to_string();
    screen.keys("fc");
    assert!(cell(&screen).contains("c > UL 248-15 T"), "{}", screen.text());
    screen.keys("<Down>");
    assert!(cell(&screen).contains("c > DC breaker"), "{}", screen.text());
}

/// While the bank's hours wait, the load is the audit alone, and whatever shows it says so.
#[test]
fn a_load_that_waits_for_the_bank_says_that_it_is_the_audit() {
    let mut plan = larkspur();
    let alone =
        |screen: &Screen| screen.text().matches("), audit").count() + screen.text().matches("Wh/d, audit").count();
    assert_eq!(alone(&on(&plan)), 0);
    plan.bank.unit_ah = Known::Unknown;
    let mut screen = on(&plan);
    assert!(line(&screen, "load ").trim().ends_with("Wh/d, audit"), "{}", screen.text());
    assert_eq!(alone(&screen), 2, "a day and the year: {}", screen.text());
    screen.keys("y");
    assert!(screen.text().contains("load is the audit alone while the bank's hours wait"), "{}", screen.text());
    plan.loads.clear();
    let bare = on(&plan);
    assert!(bare.text().contains("own use of equipment ? kWh"), "{}", bare.text());
}

/// Where no load goes short no hours of generator or driving are wanted, and none is not "none would do".
#[test]
fn where_nothing_goes_short_no_hours_make_it_up() {
    let mut plan = larkspur();
    plan.loads.clear();
    let mut screen = on(&plan);
    screen.keys("y");
    let text = screen.text();
    let from =
        text.lines().position(|l| l.contains(" lasts ") && l.contains(" gen")).unwrap_or_else(|| panic!("{text}"));
    let row = text.lines().nth(from + 1).expect("January");
    let last = row.split_whitespace().rfind(|word| *word == "-" || word.starts_with(|c: char| c.is_ascii_digit()));
    assert!(row.contains("Jan") && last == Some("0"), "{row}\n{text}");
}
