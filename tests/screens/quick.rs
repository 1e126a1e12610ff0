//! Fields one key from the run, and what an answer brings up next.

use coachwire::document::usual::{self, Addition};
use coachwire::plan::samples::sample;
use coachwire::plan::{Known, Plan, State, Value};
use coachwire::stock::Stock;
use coachwire::stock::shelf::Shelf;
use coachwire::tui::message::Opened;
use coachwire::tui::model::Start;
use std::sync::Arc;

use super::{DUNLIN, Screen};

fn at(screen: &Screen) -> Option<String> {
    screen.model.field.as_ref().map(|f| f.at.to_string())
}

/// A column of lengths is typed down: no digit of it leads to another screen.
#[test]
fn a_column_is_typed_down() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Left><Enter>12<Down>22<Down>8in<Enter>");
    assert_eq!(screen.model.screen, 1, "{}", screen.text());
    assert!(screen.model.shop.is_none());
    let feet =
        |i: usize| screen.plan().runs[i].legs[0].length_m.known().map(|m| (m.0 / 0.3048 * 100.0).round() / 100.0);
    // 8 in are two thirds of a foot.
    assert_eq!((feet(1), feet(2), feet(3)), (Some(12.0), Some(22.0), Some(0.67)));
    // Where nothing was typed an arrow only moves.
    screen.keys("<Enter><Up>");
    assert!(screen.model.field.is_none(), "{}", screen.text());
}

/// A fuse that is entered on the Bench is asked for whole: amps, type from a list, distance; Esc leaves the rest `?`.
#[test]
fn a_new_fuse_is_asked_for_its_type_and_distance() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Down><Down><Right><Enter>");
    let text = screen.text();
    assert!(text.contains("W4 F1 amps:") && text.contains("Its rating."), "what is not there yet is named too: {text}");
    screen.keys("250<Enter>");
    assert_eq!(at(&screen).as_deref(), Some("runs.W4.protection.F1.family"));
    assert!(screen.text().contains("class T"), "the list is shown: {}", screen.text());
    screen.keys("class t<Enter>");
    assert_eq!(at(&screen).as_deref(), Some("runs.W4.protection.F1.distance_m"));
    screen.keys("7<Enter>");
    assert!(screen.model.field.is_none());
    let fuse = screen.plan().runs[3].protection[0].clone();
    assert_eq!(
        (fuse.family.known().map(|f| f.word()), fuse.distance_m.known().map(|m| m.0)),
        (Some("UL 248-15 T"), Some(0.1778))
    );
    // A type is one key away afterwards.
    screen.keys("fstud<Enter>");
    assert_eq!(screen.plan().runs[3].protection[0].family.known().map(|f| f.word()), Some("ISO 8820-6"));
    assert!(screen.model.is_on_bench() && screen.model.field.is_none(), "{}", screen.text());
}

/// Insulation is one key from the run, and goes to all new wire that has none when said so: as data, in one step, and not
/// to wire that exists.
#[test]
fn insulation_of_all_new_wire_at_once() {
    let mut plan = Plan::from_text(DUNLIN).unwrap();
    for run in &mut plan.runs {
        for leg in &mut run.legs {
            leg.insulation_c = Known::Unknown;
        }
    }
    plan.runs[2].legs[0].state = State::Existing;
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    screen.keys("I105<Enter>");
    let text = screen.text();
    assert!(text.contains("5 legs of new wire") && text.contains("W2 L1") && !text.contains("W3 L1"), "{text}");
    screen.keys("<Enter>");
    assert_eq!(screen.undo_names().len(), 1, "Enter means only here");
    screen.keys("uI105<Enter>a");
    assert!(screen.model.overlay.is_some() && screen.said().contains("arrows and Enter"), "{}", screen.said());
    screen.keys("<Down><Down><Enter>");
    let plan = screen.plan();
    for run in &plan.runs {
        for leg in &run.legs {
            let wanted = if leg.state == State::New { Some(105.0) } else { None };
            assert_eq!(leg.insulation_c.known().map(|c| c.0), wanted, "{}", run.id);
        }
    }
    assert_eq!(screen.undo_names().len(), 2);
    // The rest by the run above it.
    screen.keys("<Down><Down>I<PgUp><Enter>");
    assert_eq!(screen.plan().runs[2].legs[0].insulation_c.known().map(|c| c.0), Some(105.0), "{}", screen.said());
}

#[test]
fn a_zone_is_one_key_from_its_run() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down>Zbasement<Enter>");
    assert_eq!(screen.plan().runs[1].legs[0].zone.known().map(|z| z.word()), Some("basement"));
    assert!(screen.model.is_on_bench(), "{}", screen.text());
}

/// What no cell of the Bench shows is typed on the line below it, beside its name; a fuse's type in the fuse's cell. The gauge
/// stands as it is, and the real cursor is where one types.
#[test]
fn a_quick_field_is_not_drawn_over_the_gauge() {
    // Its row up to the gauge: what is chosen may change the figures after it.
    let row = |screen: &Screen| {
        let text = screen.text();
        let row = text.lines().find(|l| l.trim_start_matches('>').trim_start().starts_with("W2 ")).expect("its row");
        row.split_inclusive("AWG").next().unwrap_or_default().to_string()
    };
    for (keys, typed, label) in [("Z", "base", "zone"), ("I", "105", "insulation"), ("L", "encl", "laid")] {
        for size in [(80, 24), (40, 24), (40, 12), (120, 40)] {
            // On the lowest screen a list covers the row.
            if size.1 < 20 && keys != "I" {
                continue;
            }
            let mut screen = Screen::on(DUNLIN, size);
            screen.keys("<Down>");
            let at_rest = row(&screen);
            screen.keys(keys).keys(typed);
            assert_eq!(row(&screen).trim_end(), at_rest.trim_end(), "{keys} {size:?}: {}", screen.text());
            let text = screen.text();
            let is_below = |line: &str| line.contains("W2 ") && line.contains(&format!("{label}: {typed}"));
            assert!(text.lines().any(is_below), "{keys} {size:?}: {text}");
            screen.keys("<Esc>");
            assert_eq!(row(&screen), at_rest);
        }
    }
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Down><Down><Right><Enter>250<Enter>");
    let drawn = screen.text();
    let line = drawn.lines().find(|l| l.contains("W4")).expect("its row");
    let gauge = screen.plan().runs[3].gauge.known().expect("known").to_string();
    assert!(line.contains(&gauge), "the gauge stands: {line}");
    // What is wrong is said in full below.
    screen.keys("<Esc><Up><Up>Ihot");
    assert!(screen.text().contains("! "), "{}", screen.text());
}

/// A new run is typed from end to end.
#[test]
fn a_new_run_is_typed_in_nine_keys() {
    let mut screen = Screen::dunlin();
    screen.keys("aBK<Tab>BUS<Tab>5<Enter>");
    let run = screen.plan().runs.last().unwrap().clone();
    assert_eq!((run.from.known().unwrap().as_str(), run.to.known().unwrap().as_str()), ("BK", "BUS"));
    assert!((run.legs[0].length_m.known().unwrap().0 - 1.524).abs() < 1e-9, "five feet");
}

/// Another rule basis offers the units that go with it, in one step.
#[test]
fn the_units_go_along_with_the_rules_when_said_so() {
    let mut screen = Screen::dunlin();
    screen.keys("0<Enter>");
    while screen.model.focus().is_none_or(|at| at.as_str() != "job.basis") {
        screen.keys("<Down>");
    }
    let before = screen.plan();
    screen.keys("<Enter>metric<Enter>");
    assert!(screen.text().contains("mm2, metres,"), "{}", screen.text());
    assert_eq!(screen.plan(), before, "asked first");
    screen.keys("<Enter>");
    let job = screen.plan().job.clone();
    let words = [
        job.basis.word(),
        job.gauge_system.word(),
        job.length_unit.word(),
        job.temperature_unit.word(),
        job.paper.word(),
    ];
    assert_eq!(words, ["metric", "mm2", "metres", "C", "A4"]);
    assert_eq!(screen.undo_names().len(), 1);
    screen.keys("u");
    assert_eq!(screen.plan(), before);
    screen.keys("<Enter>metric<Enter>o");
    assert_eq!(screen.plan().job.length_unit.word(), "feet");
}

/// On a field's row letters that add and copy ask first: they are as likely the start of a word.
#[test]
fn letters_gone_astray_add_nothing() {
    let mut screen = Screen::dunlin();
    screen.keys("2<Enter><Down>");
    let before = screen.plan();
    screen.keys("ac");
    assert_eq!(screen.plan(), before, "{}", screen.text());
    screen.keys("<Esc>c");
    assert!(screen.text().contains("the whole of it?"), "{}", screen.text());
    screen.keys("<Enter>");
    assert_eq!(screen.plan().loads.len(), before.loads.len() + 1);
}

/// The footer says what types: digits on a number's row, capitals over a text, letters on a choice.
#[test]
fn the_footer_says_what_types() {
    let mut screen = Screen::dunlin();
    screen.keys("2<Enter>");
    assert!(screen.text().contains("capitals type here"), "{}", screen.text());
    screen.keys("<Down>");
    assert!(screen.text().contains("digits type here"), "{}", screen.text());
    while screen.model.focus().is_none_or(|at| !at.as_str().ends_with(".supply")) {
        screen.keys("<Down>");
    }
    assert!(screen.text().contains("letters type here"), "{}", screen.text());
}

/// Among choices a small letter is the first of one, never a command; a capital that none of them begins with stays one.
/// After Enter, after Esc and where `n` leads, small letters are keys again until the cursor moves on.
#[test]
fn letters_on_a_choice_choose() {
    let mut screen = Screen::dunlin();
    let to_supply = |screen: &mut Screen| {
        screen.keys("2<Enter>");
        while screen.model.focus().is_none_or(|at| !at.as_str().ends_with(".supply")) {
            screen.keys("<Down>");
        }
    };
    to_supply(&mut screen);
    let before = screen.plan();
    let other = if before.loads[0].supply.word().eq_ignore_ascii_case("dc") { "inverter" } else { "dc" };
    screen.keys(&other[..1]);
    assert!(screen.model.field.is_some(), "{}", screen.text());
    screen.keys(&format!("{}<Enter>", &other[1..]));
    assert_ne!(screen.plan().loads[0].supply, before.loads[0].supply, "{}", screen.text());
    screen.keys("u");
    assert_eq!(screen.plan(), before, "u takes back what was just chosen");
    screen.keys("<Down><Up>P");
    assert!(!screen.model.are_prices_hidden && screen.model.field.is_none(), "no supply begins with it: no key either");
    assert!(screen.text().contains("after Esc P is a key"), "{}", screen.text());
    screen.keys("d");
    assert!(screen.model.field.is_some() && screen.model.overlay.is_none(), "{}", screen.text());
    screen.keys("<Esc>d");
    assert!(screen.text().contains("elete"), "after Esc letters are keys: {}", screen.text());
}

/// Typed as the list shows it a value runs no command: its capitals are its own where something that the row takes begins
/// with them, where `n` led too; after Esc they are commands. Where letters type and nothing begins so that is said: a word that the
/// row does not take must not run what its letters are elsewhere.
#[test]
fn capitals_of_a_value_are_no_commands() {
    let mut screen = Screen::dunlin();
    let to = |screen: &mut Screen, keys: &str, field: &str| {
        screen.keys(keys);
        while screen.model.focus().is_none_or(|at| at.as_str() != field) {
            screen.keys("<Down>");
        }
    };
    screen.keys("3<Enter><Enter>");
    let stay = screen.plan().stays[0].id.clone();
    to(&mut screen, "", &format!("stays.{stay}.months"));
    screen.keys("May-Oct<Enter>");
    assert_eq!(screen.plan().stays[0].months.to_string(), "May-Oct", "{}", screen.text());
    // Chosen anew at once: M and J are still months, neither messages nor a move down the list.
    assert!(screen.text().contains("capitals type here"), "{}", screen.text());
    screen.keys("Jun, Mar<Enter>");
    assert_eq!(screen.plan().stays[0].months.to_string(), "Mar, Jun", "{}", screen.text());
    to(&mut screen, "", &format!("stays.{stay}.heading_deg"));
    screen.keys("SW<Enter>");
    assert_eq!(screen.plan().stays[0].heading_deg.as_ref().unwrap().known().map(|d| d.0), Some(225.0));
    assert!(screen.model.overlay.is_none(), "neither saved as nor put on the shelf");
    // No month begins with P.
    to(&mut screen, "<Home>", &format!("stays.{stay}.months"));
    let before = screen.plan();
    screen.keys("P");
    assert!(!screen.model.are_prices_hidden && screen.model.field.is_none(), "{}", screen.text());
    assert!(screen.text().contains("nothing to choose here begins with P"), "{}", screen.text());
    // After Esc it is the command that it is elsewhere.
    screen.keys("M<Esc>M");
    assert!(screen.text().contains("MESSAGES"), "{}", screen.text());
    screen.keys("<Esc>");
    assert_eq!(screen.plan(), before);
}

/// On the row of the chemistry, where it is not known and `n` led there, and on a run's own form.
#[test]
fn a_chemistry_and_a_bus_are_typed_in_capitals() {
    let mut plan = Plan::from_text(DUNLIN).unwrap();
    plan.bank.chemistry = Known::Unknown;
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    for _ in 0..40 {
        screen.keys("n");
        if screen.model.focus().is_some_and(|at| at.as_str() == "bank.chemistry") {
            break;
        }
    }
    screen.keys("LFP<Enter>");
    assert_eq!(screen.plan().bank.chemistry.known().map(|c| c.word()), Some("LFP"), "{}", screen.text());
    assert!(!screen.model.are_prices_hidden);
    // B would be the borders, L how a leg is laid.
    let mut screen = Screen::dunlin();
    screen.keys("<Left><Left><Left><Left><Enter>");
    while screen.model.focus().is_none_or(|at| !at.as_str().ends_with(".to")) {
        screen.keys("<Down>");
    }
    let id = screen.plan().runs[0].id.clone();
    assert!(!screen.text().contains("I insulation"), "I begins INV: {}", screen.text());
    screen.keys("BUS<Enter>");
    let run = screen.plan().runs.iter().find(|run| run.id == id).cloned().unwrap();
    assert_eq!(run.to.known().map(|to| to.to_string()).as_deref(), Some("BUS"), "{}", screen.text());
}

/// What a stay's months take: three keys and Enter where a person would say "all"; one more or less by its sign.
#[test]
fn months_in_few_keys() {
    let mut screen = Screen::dunlin();
    screen.keys("3<Enter><Enter>");
    while screen.model.focus().is_none_or(|at| !at.as_str().ends_with(".months")) {
        screen.keys("<Down>");
    }
    let months = |screen: &Screen| screen.plan().stays[0].months.to_string();
    screen.keys("nov-feb<Enter>");
    assert_eq!(months(&screen), "Nov-Feb", "{}", screen.text());
    screen.keys("<Down><Up>+jul<Enter>");
    assert_eq!(months(&screen), "Jul, Nov-Feb");
    screen.keys("-jan<Enter>");
    assert_eq!(months(&screen), "Feb, Jul, Nov-Dec");
    screen.keys("11-2<Enter>");
    assert_eq!(months(&screen), "Nov-Feb");
    screen.keys("<Down><Up>all<Enter>");
    assert_eq!(months(&screen), "all");
}

/// A finding opened by Enter is not cured by one Enter too many.
#[test]
fn enter_twice_cures_nothing() {
    let mut screen = Screen::dunlin();
    screen.keys("5<Enter>");
    let before = screen.plan();
    screen.keys("<Enter><Enter>");
    assert_eq!(screen.plan(), before);
    assert!(!screen.text().contains("Enter choose"), "{}", screen.text());
    screen.keys("<Esc>z").look();
    assert!(screen.text().contains("Enter apply all") || screen.text().contains("Enter close"), "{}", screen.text());
}

#[test]
fn the_day_of_the_survey_is_a_day() {
    let mut screen = Screen::dunlin();
    screen.keys("0<Enter>");
    while screen.model.focus().is_none_or(|at| at.as_str() != "job.surveyed") {
        screen.keys("<Down>");
    }
    screen.keys("<Enter>yesterday<Enter>");
    assert!(screen.said().contains("is no date") && screen.said().contains("2026-11-26"), "{}", screen.said());
    screen.keys("2026-11-27<Enter>");
    assert_eq!(screen.plan().job.surveyed, "2026-11-27");
}

fn stocked(text: &str) -> Screen {
    let plan = Plan::from_text(text).unwrap();
    let opened = Opened { plan, path: None, locked_by: None, recovery: None, remark: None };
    let stock = Arc::new(Stock { shelf: Shelf::typical(), ..Stock::default() });
    Screen::with(Start { opened: Some(opened), stock, ..Screen::start() })
}

/// A load from the shelf comes with its run when said so, both ends named; and with it those of all loads without one.
#[test]
fn loads_from_the_shelf_come_with_their_runs() {
    let mut screen = stocked(DUNLIN);
    let runs = screen.plan().runs.len();
    screen.keys("2swater pump<Enter>");
    let text = screen.text();
    assert!(text.contains("from FP to L3"), "both ends: {text}");
    screen.keys("2");
    assert_eq!(screen.plan().runs.len(), runs);
    screen.keys("swater pump<Enter>3");
    let plan = screen.plan();
    assert!(usual::loads_without_runs(&plan).is_empty());
    let last = plan.runs.last().unwrap();
    assert_eq!(last.from.known().unwrap().as_str(), "FP");
    assert_eq!((last.protection.len(), last.legs[0].length_m), (1, Known::Unknown));
    assert!(plan.runs.len() >= runs + 2);
    screen.keys("u");
    assert_eq!(screen.plan().runs.len(), runs, "one step");
    // All that have none, from the list of additions.
    screen.keys("1<BackTab><BackTab>aloads without<Enter>");
    assert!(usual::loads_without_runs(&screen.plan()).is_empty(), "{}", screen.text());
}

/// An inverter is fed where the plan's main feed goes: from the bus behind the main switch.
#[test]
fn an_inverter_is_fed_behind_the_main_switch() {
    let mut plan = Plan::from_text(DUNLIN).unwrap();
    plan.inverters.clear();
    let feed = |plan: &Plan| {
        let plan = plan.with(&usual::add_with_runs(plan, Addition::Inverter).0).unwrap();
        plan.runs.last().unwrap().from.known().unwrap().to_string()
    };
    assert_eq!(feed(&plan), "BUS", "the bank feeds the bus");
    plan.runs.retain(|run| run.to.known().is_none_or(|to| to.as_str() != "BUS"));
    plan.runs.retain(|run| run.from.known().is_none_or(|from| from.as_str() != "BK"));
    assert_eq!(feed(&plan), "BK", "no run leads to the bus");
    let larkspur = Plan::from_text(sample("larkspur").unwrap().text).unwrap();
    assert!(larkspur.devices.iter().any(|d| d.kind.known().is_some_and(|k| k.word() == "bus")));
    assert_ne!(feed(&larkspur), "BK");
}

/// Nobody has said that the batteries stand in the heated space, nor that they do not: what hangs on it is not checked.
#[test]
fn a_heated_space_nobody_was_asked_about_is_no_stop() {
    use coachwire::document::Document;
    let mut plan = Plan::from_text(DUNLIN).unwrap();
    plan.bank.charge_cutoff_c = None;
    plan.bank.heater_w = None;
    plan.job.coldest_c = Some(Known::Is(coachwire::units::Celsius(-20.0)));
    let report = |heated: Value| {
        let set = coachwire::plan::Edit::Set { at: "bank.heated".into(), to: heated };
        let plan = plan.with(&coachwire::plan::Step::one("", set)).unwrap();
        Document::new(plan, Arc::new(Stock::default())).shown().report.clone()
    };
    let cold = |r: &coachwire::engine::Report| r.findings.iter().any(|f| f.check.id == "lithium-charged-cold");
    assert!(cold(&report(Value::Word("no"))));
    let open = report(Value::Unknown);
    assert!(!cold(&open));
    assert!(open.unknown.iter().any(|at| at.as_str() == "bank.heated"), "{:?}", open.unknown);
    assert_eq!(Plan::blank().bank.heated, Known::Unknown);
}

/// Hours of a load are one key from its line.
#[test]
fn hours_are_one_key_from_the_load() {
    let mut screen = Screen::dunlin();
    screen.keys("2h10<Enter>");
    assert_eq!(screen.plan().loads[0].hours_day.known().map(|h| h.0), Some(10.0), "{}", screen.text());
    assert_eq!(screen.model.screen, 2);
}

/// From one reading after another Esc leads to their visit.
#[test]
fn esc_from_a_reading_leads_to_its_visit() {
    use coachwire::tui::form::Place;
    let mut screen = Screen::dunlin();
    screen.keys("7a<Esc>");
    let visit = screen.plan().visits.last().unwrap().id.clone();
    if screen.model.pages.len() < 2 {
        screen.keys("<Enter>");
    }
    while !matches!(screen.model.form_row(), Some(coachwire::tui::form::Row::Add { .. })) {
        screen.keys("<Down>");
    }
    // The cursor on a choice of the first reading's own form: a asks, and leads to the second.
    screen.keys("a<Esc><Enter>");
    while screen.model.focus().is_none_or(|at| !at.as_str().ends_with(".R1.value")) {
        screen.keys("<Down>");
    }
    screen.keys("a<Enter>");
    assert_eq!(screen.plan().visits.last().unwrap().readings.len(), 2, "{}", screen.text());
    screen.keys("<Esc>");
    let place = screen.model.page().map(|page| page.place.clone());
    assert_eq!(
        place,
        Some(Place::Record(coachwire::plan::FieldPath::from("visits").join(&visit))),
        "{}",
        screen.text()
    );
}

/// Going to an unknown leaves what the field is on the line below.
#[test]
fn the_next_unknown_keeps_its_help() {
    let mut plan = Plan::from_text(DUNLIN).unwrap();
    plan.bank.heated = Known::Unknown;
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    for _ in 0..20 {
        screen.keys("n");
        if screen.model.page().is_some() {
            break;
        }
    }
    let at = screen.model.focus().expect("an unknown");
    let help = screen.plan().meta(&at).expect("a field").help;
    let words: String = help.split_whitespace().take(3).collect::<Vec<_>>().join(" ");
    let text = screen.text();
    assert!(text.contains("unknown ") && text.contains(&words), "{words}: {text}");
}

/// At 80 columns the help of no cell of the Bench is cut.
#[test]
fn the_help_of_every_cell_fits() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Left><Left><Left><Left>");
    for _ in 0..6 {
        let text = screen.text();
        let line = text.lines().rev().nth(2).unwrap_or("").to_string();
        assert!(!line.ends_with('~'), "{line}");
        screen.keys("<Right>");
        // Opened, its help stands on one line as well.
        screen.keys("<Enter>");
        let open = screen.text().lines().rev().nth(1).unwrap_or("").to_string();
        assert!(screen.model.field.is_none() || !open.ends_with('~'), "{open}");
        screen.keys("<Esc>");
    }
}

/// A column never touches the one before it, at any width: of the year as a box and as a screen.
#[test]
fn columns_keep_a_space_between() {
    for width in (80..=200).step_by(8) {
        let mut screen = Screen::on(sample("sorrel").unwrap().text, (width, 40));
        screen.keys("y");
        for months in [screen.text(), screen.keys("<Esc>3").text()] {
            let rows: Vec<&str> = months.lines().filter(|l| l.contains("Jan ") || l.contains("Dec ")).collect();
            assert!(!rows.is_empty(), "{months}");
            for row in rows {
                // Two figures grown together are more than a range: a second point, or a letter within.
                let grown = |cell: &str| cell.matches('.').count() > 1 || cell.trim_start_matches('d').contains('d');
                let cells = row.split_whitespace().filter(|c| c.chars().any(|c| c.is_ascii_digit()));
                for cell in cells.filter(|c| c.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | 'd'))) {
                    assert!(!grown(cell), "{width}: {cell} in {row}");
                }
            }
        }
    }
}

/// A wide screen shows names in full, a high one all of the equipment.
#[test]
fn larger_screens_show_more() {
    let text = DUNLIN.replacen("name: \"", "name: \"Twenty-six letters or so, ", 40);
    let mut screen = Screen::on(&text, (120, 40));
    screen.keys("2");
    assert!(screen.text().contains("Twenty-six letters or so, "), "{}", screen.text());
    let mut plan = Plan::from_text(DUNLIN).unwrap();
    for _ in 0..16 {
        plan = plan.with(&usual::add(&plan, Addition::Load).0).unwrap();
    }
    let mut screen = Screen::on(&plan.to_text(), (200, 60));
    screen.keys("<Esc>");
    let text = screen.text();
    assert!(!text.contains("more below"), "{text}");
}

/// A bank of lead is not asked where its management unit stops charging in the cold.
#[test]
fn the_walk_round_asks_lead_for_no_cut_off() {
    let mut plan = Plan::blank();
    plan.bank.charge_cutoff_c = Some(Known::Unknown);
    for (typed, next) in [("AGM", "bank.heated"), ("LFP", "bank.charge_cutoff_c")] {
        let mut screen = Screen::on(&plan.to_text(), (80, 24));
        screen.keys("gmoab<Enter><Enter><Enter>").keys(typed).keys("<Enter>");
        assert_eq!(at(&screen).as_deref(), Some("bank.unit_v"), "the label first");
        screen.keys("12.8<Enter>");
        assert!(screen.text().contains("taken: bank"), "what was understood is said: {}", screen.text());
        screen.keys("100<Enter>1<Enter>1<Enter>");
        assert_eq!(at(&screen).as_deref(), Some(next), "{}", screen.text());
    }
}

/// Months in two stays count in one of them, and the table of months says which; results have their mark, and a size key
/// there says where sizes are.
#[test]
fn the_year_says_what_it_leaves_out_and_results_where_sizes_are() {
    let mut plan = Plan::from_text(super::DUNLIN).unwrap();
    let mut second = plan.stays[0].clone();
    second.id = "S9".parse().unwrap();
    plan.stays.push(second);
    let mut screen = Screen::on(&plan.to_text(), (120, 40));
    screen.keys("3");
    let first = &plan.stays[0].id;
    assert!(screen.text().contains(&format!("of S9 not counted: in {first} already")), "{}", screen.text());
    let none = "none counts, other stays have them";
    screen.keys("y");
    let mut without = 0;
    for _ in &plan.stays {
        assert_eq!(screen.text().contains(": S9 "), screen.text().contains(none), "{}", screen.text());
        without += usize::from(screen.text().contains(none));
        screen.keys("s");
    }
    assert_eq!(without, 1);
    let mut screen = Screen::dunlin();
    screen.keys("<BackTab>");
    assert!(screen.text().contains("|>harvest"), "{}", screen.text());
    screen.keys("-");
    assert!(screen.said().contains("step the size of W1"), "{}", screen.said());
}

/// The type of a fuse is read whole while it is chosen, however narrow its column.
#[test]
fn a_fuse_type_is_whole_while_it_is_chosen() {
    let mut screen = Screen::dunlin();
    screen.keys("<Down><Down>f");
    for _ in 0..4 {
        let field = screen.model.field.as_ref().expect("its type is open");
        assert!(field.at.as_str().ends_with(".family"), "{}", field.at);
        let typed = field.line.text().to_string();
        let text = screen.text();
        let row = text.lines().find(|l| l.starts_with("> W3")).unwrap_or_else(|| panic!("{text}"));
        assert!(row.contains(&format!(" {typed} ")), "{typed:?} in {row:?}");
        screen.keys("<Down>");
    }
}
