//! What the next gauge up of a run is worth: the ladder's own figures, row against row.

use super::mistakes::{sound, with};
use coachwire::engine::report::NextUp;
use coachwire::engine::{Engine, LadderOf};
use coachwire::plan::samples::sample;
use coachwire::plan::{Plan, Value};
use coachwire::standards::conductor::Gauge;
use coachwire::stock::Stock;

fn gauge(text: &str) -> Gauge {
    text.parse().expect("a gauge")
}

fn next(plan: &Plan, run: &str) -> NextUp {
    let report = Engine::default().evaluate(plan, &Stock::default());
    report.runs.into_iter().find(|r| r.id.as_str() == run).expect("the run").next_up
}

#[test]
fn it_is_the_difference_of_two_rows_of_the_ladder() {
    for name in ["larkspur", "sorrel"] {
        let plan = Plan::from_text(sample(name).expect("a sample").text).unwrap_or_else(|e| panic!("{e}"));
        let (stock, mut engine) = (Stock::default(), Engine::default());
        let before = engine.evaluate(&plan, &stock);
        let mut solar = 0;
        for figures in &before.runs {
            let NextUp::Gauge(up) = figures.next_up else { continue };
            solar += 1;
            let worth = engine.worth(&plan, &stock, &before, &figures.id).expect("a year");
            assert_eq!(worth.gauge, up);
            let mut rungs = engine.ladder(&plan, &stock, &LadderOf::Gauge(figures.id.clone()));
            let mut day = |is: &dyn Fn(&coachwire::engine::Rung) -> bool| {
                let rung = rungs.iter_mut().find(|r| is(r)).expect("a row");
                engine.finish(&plan, &stock, &before, rung);
                rung.harvest_wh_day.clone().expect("finished").expect("known").0
            };
            let gain = day(&|r| r.gauge().is_some_and(|c| c.gauge == up)) - day(&|r| r.current);
            assert!((worth.wh_day.0 - gain).abs() < 1e-6, "{name} {}: {} and {gain}", figures.id, worth.wh_day.0);
            assert!((worth.kwh_year * 1000.0 / 365.0 - gain).abs() < 1e-6);
            // A charger's own run carries no sun: what is harvested hangs on it by a last digit alone, by how full the bank stands.
            let least = if figures.of_charger { -1e-6 } else { 0.0 };
            assert!(gain >= least, "{name} {}: more copper harvests no less", figures.id);
        }
        assert!(solar >= 2, "{name}: arrays and controllers have runs");
    }
}

#[test]
fn why_there_is_nothing_to_gain() {
    assert_eq!(next(&sound(), "W1"), NextUp::Gauge(gauge("6 AWG")));
    // The inverter's own.
    let inverter =
        sound().runs.iter().find(|r| r.to.known().is_some_and(|id| id.as_str() == "INV")).expect("its run").id.clone();
    assert_eq!(next(&sound(), inverter.as_str()), NextUp::ChargesNothing);
    let edited = |at: &str, to: Value| next(&with(&sound(), &[(at, to)]), "W1");
    assert_eq!(edited("runs.W1.gauge", Value::Gauge(gauge("4/0 AWG"))), NextUp::Largest);
    assert_eq!(edited("runs.W1.gauge", Value::Unknown), NextUp::Unknown("runs.W1.gauge".into()));
    assert_eq!(edited("runs.W1.measured_ohm", Value::Number(0.05)), NextUp::Measured);
    // Its only leg has a gauge of its own: that is the one the ladder and the key go on from.
    assert_eq!(edited("runs.W1.legs.L1.gauge", Value::Gauge(gauge("10 AWG"))), NextUp::Gauge(gauge("8 AWG")));
    let mut two = sound();
    let leg = two.runs[0].legs[0].clone();
    two.runs[0].legs.push(coachwire::plan::Leg {
        id: "L2".parse().expect("id"),
        gauge: Some(coachwire::plan::Known::Is(gauge("10 AWG"))),
        ..leg
    });
    assert_eq!(next(&two, "W1"), NextUp::OwnLegs);
    // Wire that exists beside new wire keeps its gauge.
    two.runs[0].legs[1].state = coachwire::plan::State::Existing;
    assert_eq!(next(&two, "W1"), NextUp::Gauge(gauge("6 AWG")));
}

#[test]
fn it_waits_for_what_the_year_waits_for() {
    let plan = with(&sound(), &[("stays.ST1.latitude_deg", Value::Unknown)]);
    let (stock, mut engine) = (Stock::default(), Engine::default());
    let before = engine.evaluate(&plan, &stock);
    let waits = engine.worth(&plan, &stock, &before, &"W1".parse().expect("id")).expect_err("no year");
    assert_eq!(waits.0.as_str(), "stays.ST1.latitude_deg");
    let no_such = engine.worth(&plan, &stock, &before, &"W99".parse().expect("id")).expect_err("no run");
    assert_eq!(no_such.0.as_str(), "");
}

/// What of it serves load is told beside: two years' loads less what went short in them, month by month.
#[test]
fn what_is_served_of_it_is_the_difference_of_two_years() {
    let plan = Plan::from_text(sample("larkspur").expect("a sample").text).unwrap_or_else(|e| panic!("{e}"));
    let (stock, mut engine) = (Stock::default(), Engine::default());
    let before = engine.evaluate(&plan, &stock);
    let run =
        before.runs.iter().find(|r| matches!(r.next_up, NextUp::Gauge(_))).expect("a run of the sun's").id.clone();
    let worth = engine.worth(&plan, &stock, &before, &run).expect("a year");
    let thicker = with(&plan, &[(&format!("runs.{run}.gauge"), Value::Gauge(worth.gauge))]);
    let served = |report: &coachwire::engine::report::Report| -> f64 {
        let days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
        let of_month = |m: &coachwire::engine::report::MonthFigures| {
            m.load_wh_day.clone().expect("known").0 - m.shortfall_wh_day.clone().expect("known").0
        };
        report.year.months.iter().zip(days).map(|(m, days)| of_month(m) * days / 1000.0).sum()
    };
    let by_hand = served(&engine.evaluate(&thicker, &stock)) - served(&before);
    let told = worth.served_kwh.expect("known");
    assert!((told - by_hand).abs() < 1e-6, "{told} and {by_hand}");
    assert!(told <= worth.kwh_year + 1e-6, "no more is used than is harvested: {worth:?}");
}

/// A charger's own run is worth what the charger brings more by it, though no sun flows there: two years, month by month.
#[test]
fn a_chargers_run_is_worth_what_its_charger_brings() {
    let plan = Plan::from_text(sample("marram").expect("a sample").text).unwrap_or_else(|e| panic!("{e}"));
    let (stock, mut engine) = (Stock::default(), Engine::default());
    let before = engine.evaluate(&plan, &stock);
    let mut seen = 0;
    for figures in before.runs.iter().filter(|r| r.of_charger) {
        let NextUp::Gauge(gauge) = figures.next_up else { continue };
        seen += 1;
        let worth = engine.worth(&plan, &stock, &before, &figures.id).expect("a year");
        let thicker = with(&plan, &[(&format!("runs.{}.gauge", figures.id), Value::Gauge(gauge))]);
        let other = |report: &coachwire::engine::report::Report| -> f64 {
            let days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
            let each = report.year.months.iter().map(|m| m.other_wh_day.clone().expect("known").0);
            each.zip(days).map(|(wh, days)| wh * days / 1000.0).sum()
        };
        let by_hand = other(&engine.evaluate(&thicker, &stock)) - other(&before);
        let told = worth.other_kwh.expect("a charger's");
        assert!((told - by_hand).abs() < 1e-6, "{}: {told} and {by_hand}", figures.id);
        assert!((worth.brings_kwh() - worth.kwh_year - told).abs() < 1e-9);
    }
    assert!(seen > 0, "a charger's run has a next gauge");
    // Of the array's own nothing of a charger is counted.
    let of_sun =
        before.runs.iter().find(|r| !r.of_charger && matches!(r.next_up, NextUp::Gauge(_))).expect("the sun's");
    let worth = engine.worth(&plan, &stock, &before, &of_sun.id.clone()).expect("a year");
    assert_eq!((worth.other_kwh, worth.brings_kwh()), (None, worth.kwh_year));
}
