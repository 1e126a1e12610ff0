//! What the walk-round asks of a plan that has its place alone, and of new runs.

use coachwire::document::usual::{self, Addition};
use coachwire::plan::job::{LengthUnit, TemperatureUnit};
use coachwire::plan::{Known, Plan};
use coachwire::standards::kinds::{Basis, Zone};

use super::Screen;

fn at(screen: &Screen) -> Option<String> {
    screen.model.field.as_ref().map(|f| f.at.to_string())
}

/// Rules and units come before the first number is typed, the usual ones of the place marked; then the coldest place.
#[test]
fn rules_units_and_the_coldest_place_are_asked_first() {
    for (place, answer, basis, length, air) in [
        ("moab", "<Enter>", Basis::UsRv, LengthUnit::Feet, TemperatureUnit::Fahrenheit),
        ("oslo", "<Enter>", Basis::Metric, LengthUnit::Metres, TemperatureUnit::Celsius),
        ("moab", "3", Basis::Marine, LengthUnit::Feet, TemperatureUnit::Fahrenheit),
        ("moab", "4", Basis::UsRv, LengthUnit::Metres, TemperatureUnit::Celsius),
    ] {
        let mut screen = Screen::on("(version: 1)", (80, 24));
        screen.keys("g").keys(place).keys("<Enter>");
        assert!(screen.text().contains("by which rules"), "{}", screen.text());
        screen.keys(answer);
        let job = screen.plan().job.clone();
        assert_eq!((job.basis, job.length_unit, job.temperature_unit), (basis, length, air), "{place} {answer}");
        assert_eq!(at(&screen).as_deref(), Some("job.coldest_c"), "{}", screen.text());
        assert!(screen.text().contains("the coldest of its stays"), "{}", screen.text());
        // Left empty it is that of the stays; it is not asked again.
        screen.keys("<Enter>");
        assert_eq!(at(&screen).as_deref(), Some("bank.chemistry"), "{}", screen.text());
        assert_eq!(screen.plan().job.coldest_c, None);
    }
    let mut screen = Screen::on("(version: 1)", (80, 24));
    screen.keys("gmoab<Enter><Enter>-12f<Enter>");
    let coldest = screen.plan().job.coldest_c.as_ref().and_then(|c| c.known().map(|c| c.0)).unwrap();
    // -12 F by hand: (-12 - 32) / 1.8.
    assert!((coldest + 24.444).abs() < 1e-3, "{coldest}");
}

/// Nobody has said where a new run lies: its zone is unknown and counted as such, and one answer serves for others if one
/// likes.
#[test]
fn where_a_new_run_lies_is_asked_and_not_assumed() {
    let plan = Plan::from_text(super::DUNLIN).unwrap();
    let (step, _) = usual::add_with_runs(&plan, Addition::Inverter);
    let plan = plan.with(&step).unwrap();
    let plan = plan.with(&usual::add_with_runs(&plan, Addition::Load).0).unwrap();
    let plan = plan.with(&usual::add_with_runs(&plan, Addition::Load).0).unwrap();
    let new: Vec<String> = plan.runs.iter().rev().take(3).map(|run| run.id.to_string()).collect();
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    let unknown = screen.model.document.as_ref().unwrap().shown().report.unknown.clone();
    for id in &new {
        let run = plan.runs.iter().find(|run| run.id.as_str() == id).unwrap();
        assert_eq!(run.legs[0].zone, Known::Unknown, "{id}");
        let field = format!("runs.{id}.legs.L1.zone");
        assert!(unknown.iter().any(|at| at.as_str() == field), "{field}: {unknown:?}");
    }
    screen.keys("<End>Zbasement<Enter>");
    assert!(screen.text().contains("have no zone entered"), "{}", screen.text());
    screen.keys("<Down><Enter>");
    let plan = screen.plan();
    let legs = || plan.runs.iter().flat_map(|run| &run.legs);
    assert!(legs().all(|leg| leg.zone != Known::Unknown));
    assert!(legs().filter(|leg| leg.zone == Known::Is(Zone::Basement)).count() >= 3);
}

/// A length is the same on the Bench as in its field, whatever unit it was typed in.
#[test]
fn a_length_has_one_form() {
    let mut screen = Screen::dunlin();
    screen.keys("<Left><Enter><C-u>2m<Enter>");
    // 2 m by hand: 78.74 in, 6 ft and 6.74 in.
    let text = screen.text();
    assert!(text.contains("6'6.74\""), "{text}");
    screen.keys("<Enter>");
    assert_eq!(screen.model.field.as_ref().map(|f| f.line.text().to_string()).as_deref(), Some("6'6.74\""));
}

/// Whether a run lies open is one key from it, as its zone and insulation are.
#[test]
fn how_a_run_is_laid_is_one_key_away() {
    let mut screen = Screen::dunlin();
    screen.keys("L");
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.legs.L1.laid"), "{}", screen.text());
    screen.keys("enclosed<Enter>");
    assert_eq!(screen.plan().runs[0].legs[0].laid.known().map(|l| l.word()), Some("enclosed"));
    assert!(screen.model.overlay.is_none(), "no other leg waits for it: {}", screen.text());
}

/// The line of a question is whole at 80 columns, also after what was taken for the answer before.
#[test]
fn a_question_of_the_walk_is_said_in_full() {
    let mut screen = Screen::on("(version: 1)", (80, 24));
    screen.keys("gmoab<Enter><Enter><Enter>lfp<Enter>12.8<Enter>100<Enter>1<Enter>1<Enter>0c<Enter>no<Enter>");
    screen.keys(
        "200<Enter>20.4<Enter>9.8<Enter>24.3<Enter>10.4<Enter>36<Enter>tracking<Enter>100<Enter>30<Enter>14.2<Enter>2S<Enter>",
    );
    for answer in ["18", "open", "90", "10", "6", "cabinet", "open", "90", "8"] {
        let text = screen.text();
        let asked = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(asked.contains("Esc ends the walk"), "{text}");
        screen.keys(answer).keys("<Enter>");
    }
}

/// Volts that a bank is not charged at are taken with a word, those that it is without: cells of an LFP battery of 12.8 V take
/// 3.65 V each (common practice), 14.6 V together.
#[test]
fn volts_beyond_the_bank_are_taken_with_a_word() {
    let taken = |volts: &str| {
        let mut screen = Screen::on("(version: 1)", (80, 24));
        screen.keys("gmoab<Enter><Enter><Enter>lfp<Enter>12.8<Enter>100<Enter>1<Enter>1<Enter>0c<Enter>no<Enter>");
        screen.keys("200<Enter>20.4<Enter>9.8<Enter>24.3<Enter>10.4<Enter>36<Enter>tracking<Enter>100<Enter>30<Enter>");
        screen.keys(volts).keys("<Enter>");
        let said = screen.model.messages.iter().rev().find(|m| m.starts_with("taken: ") && m.contains("absorb"));
        said.cloned().unwrap_or_else(|| panic!("{:?}", screen.model.messages))
    };
    assert!(taken("14.2").ends_with(" V"), "{}", taken("14.2"));
    let said = taken("85");
    assert!(said.contains("absorb 85 V; ") && said.contains("14.6"), "{said}");
}

/// Behind the last row of a form lies the next question on a walk-round; elsewhere a word says that nothing does.
#[test]
fn tab_on_the_last_row_goes_on_or_says_so() {
    let mut screen = Screen::on("(version: 1)", (80, 24));
    screen.keys("gmoab<Enter><Enter><Enter>lfp<Enter>12.8<Enter>100<Enter>1<Enter>1<Enter>0c<Enter>no<Enter>");
    let asked = at(&screen).expect("a question of the panel");
    assert!(asked.starts_with("panels."), "{asked}");
    let mut rows = 0;
    while at(&screen).is_some_and(|at| !at.ends_with(".note")) && rows < 60 {
        screen.keys("<Tab>");
        rows += 1;
    }
    let last = at(&screen).expect("the last row");
    screen.keys("<Tab>");
    assert_eq!(at(&screen).as_deref(), Some(asked.as_str()), "after {last}: {}", screen.text());
    let mut screen = Screen::dunlin();
    screen.keys("2<Enter><End><Enter><Tab>");
    assert!(screen.said().contains("this is the last row"), "{} {}", screen.said(), screen.text());
}

/// A question left at ? is not asked again before the round is complete, also where the walk was left and something else done in
/// between; after that it is.
#[test]
fn the_walk_goes_on_where_it_stood() {
    let mut screen = Screen::on("(version: 1)", (80, 24));
    screen.keys("gmoab<Enter><Enter><Enter>lfp<Enter>12.8<Enter>?<Enter>1<Enter>");
    let stood = at(&screen).expect("a question");
    assert_eq!(stood, "bank.parallel");
    // Left, another screen looked at.
    screen.keys("<Esc><Esc>7").keys("<Esc>1g");
    assert_eq!(at(&screen).as_deref(), Some(stood.as_str()), "{}", screen.text());
    // Every other question passed over: the round is complete, and the next one begins with the first of them.
    for _ in 0..80 {
        if !screen.model.is_guided {
            break;
        }
        let is_strings = at(&screen).is_some_and(|at| at.ends_with(".strings"));
        screen.keys(if is_strings { "<C-u>2S<Enter>" } else { "<C-u>?<Enter>" });
    }
    assert!(screen.said().contains("the walk-round is complete"), "{}", screen.text());
    screen.keys("g");
    assert_eq!(at(&screen).as_deref(), Some("bank.unit_ah"), "{}", screen.text());
}

/// Typed ahead of the question whether other legs are the same, the next answer is the next answer: no letter and no digit of it
/// chooses there, and nothing of it is lost.
#[test]
fn the_next_answer_typed_ahead_chooses_nothing() {
    let mut plan = Plan::from_text(super::DUNLIN).unwrap();
    plan.runs.iter_mut().for_each(|run| run.legs.truncate(1));
    for leg in plan.runs.iter_mut().flat_map(|run| &mut run.legs) {
        (leg.insulation_c, leg.laid) = (Known::Unknown, Known::Unknown);
    }
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    screen.keys("g");
    assert_eq!(at(&screen).as_deref(), Some("runs.W1.legs.L1.laid"), "{}", screen.text());
    screen.keys("open<Enter>");
    assert!(
        screen.text().contains("The same there?") && screen.text().contains("the next answer"),
        "{}",
        screen.text()
    );
    assert!(!screen.text().contains("a  all of them"), "{}", screen.text());
    // The insulation of the same run comes next, then whether the next one lies open; `a` and `o` are in no answer's way.
    screen.keys("105<Enter>open<Enter>90<Enter>");
    let legs: Vec<_> = screen.plan().runs.iter().map(|run| run.legs[0].clone()).collect();
    let insulation = |i: usize| legs[i].insulation_c.known().map(|c| c.0);
    assert_eq!((insulation(0), insulation(1), insulation(2)), (Some(105.0), Some(90.0), None), "{}", screen.text());
    assert!(legs[1].laid != Known::Unknown && legs[2].laid == Known::Unknown);
    // What is meant to hold for all is said by an arrow.
    screen.keys("<Down><Enter>");
    assert!(screen.plan().runs.iter().flat_map(|run| &run.legs).all(|leg| leg.insulation_c != Known::Unknown));
}
