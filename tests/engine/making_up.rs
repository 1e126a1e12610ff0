//! What chargers can bring: nothing without a line, no more than the bank takes; and the season where the coach is.

use super::mistakes::{with, word};
use super::{evaluate, found, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, ItemPath, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn named(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("a sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn without(plan: &Plan, run: &str) -> Plan {
    let remove = Edit::Remove { at: ItemPath::new(format!("runs.{run}")) };
    plan.with(&Step { name: "test".into(), edits: vec![remove] }).unwrap_or_else(|e| panic!("{e}"))
}

fn other_wh(r: &Report) -> f64 {
    r.year.months.iter().map(|m| m.other_wh_day.clone().expect("a bank").0).sum()
}

/// Source: Kirchhoff's current law: what has no way in takes nothing in.
#[test]
fn a_charger_without_a_line_charges_nothing_and_says_so() {
    let plan = named("marram");
    let r = evaluate(&plan);
    assert!(found(&r, "charger-without-input").is_empty() && other_wh(&r) > 100.0, "{}", texts(&r));
    assert!(r.year.months[0].drive_h_day.is_some());
    let r = evaluate(&without(&plan, "W6"));
    let f = found(&r, "charger-without-input");
    assert!(f.len() == 1 && f[0].level == Level::Caution && f[0].subject.as_str() == "chargers.CH1", "{}", texts(&r));
    assert_eq!(other_wh(&r), 0.0);
    assert!(r.year.months[0].drive_h_day.is_none(), "no driving makes it up");
}

/// By hand: a bank's charge limit of 5 A at 12.8 V takes 64 W, whatever the charger is rated, and beside it the charger
/// carries the loads of that time, up to its own 30 A x 12.8 V = 384 W; where the line cannot carry the charger (12.8 V behind
/// an ohm give 41 W at most) no hours make anything up, nor where a whole day of them would not do.
/// Source: P = V I; maximum power transfer; conservation of energy.
#[test]
fn hours_to_make_up_follow_from_what_the_bank_takes() {
    let hungry = with(&named("marram"), &[("loads.L1.watts_w", n(150.0)), ("loads.L1.duty_pct", n(100.0))]);
    for limit_a in [5.0, 500.0] {
        let r = evaluate(&with(&hungry, &[("bank.max_charge_a", n(limit_a)), ("bank.parallel", n(1.0))]));
        let month = &r.year.months[11];
        let short = month.shortfall_wh_day.clone().expect("a bank").0;
        let load_w = month.load_wh_day.clone().expect("a bank").0 / 24.0;
        let watts = f64::min(384.0, 12.8 * limit_a + load_w);
        assert!(load_w > 50.0 && (watts < 384.0) == (limit_a < 10.0), "{load_w} W");
        let hours = month.drive_h_day.clone().expect("a charger").expect("figures").0;
        assert!(short > 100.0 && (hours - short / watts).abs() < 1e-9 * hours, "{limit_a} A: {hours} h for {short} Wh");
        assert!(month.generator_h_day.is_none(), "there is no generator");
    }
    let thin = with(
        &hungry,
        &[("runs.W6.gauge", Value::Gauge("18 AWG".parse().expect("a gauge"))), ("runs.W6.legs.L1.length_m", n(30.0))],
    );
    assert!(evaluate(&thin).year.months[11].drive_h_day.is_none(), "it drops out");
}

/// By hand: a bank too cold to charge in every hour of a month takes nothing of a generator, which carries the loads as long as
/// it runs: H hours of it serve no more than H hours of load, so what goes short asks for at least 24 h x short / load.
/// Hours said to be the least are too few or just enough in a year that drives so much more; where they are none, a whole
/// day's driving leaves load short.
/// Source: conservation of energy; the year itself.
#[test]
fn hours_to_make_up_are_no_more_than_it_takes() {
    let place =
        [("stays.ST1.latitude_deg", n(68.0)), ("stays.ST1.longitude_deg", n(130.0)), ("bank.heated", word("no"))];
    let generator = [("chargers.CH1.kind", word("generator")), ("chargers.CH1.ac_source", word("generator"))];
    let cold = evaluate(&with(&named("marram"), &[&place[..], &generator[..]].concat()));
    let january = &cold.year.months[0];
    let (short, load) = (january.shortfall_wh_day.clone().unwrap().0, january.load_wh_day.clone().unwrap().0);
    let hours = january.generator_h_day.clone().map(|h| h.expect("figures").0);
    assert!(short > 100.0 && hours.is_none_or(|h| h >= 24.0 * short / load * (1.0 - 1e-9)), "{hours:?} {short} {load}");
    let hungry = with(&named("marram"), &[("loads.L1.watts_w", n(90.0)), ("loads.L1.duty_pct", n(100.0))]);
    let r = evaluate(&hungry);
    let m = (0..12).max_by(|a, b| {
        let of = |m: &usize| r.year.months[*m].shortfall_wh_day.clone().unwrap().0;
        of(a).total_cmp(&of(b))
    });
    let month = &r.year.months[m.unwrap()];
    let hours = month.drive_h_day.clone().expect("a charger").expect("figures").0;
    let stay = ["ST1", "ST2"][month.stay.expect("a stay")];
    let more = |h: f64| {
        let field = format!("stays.{stay}.drive_h_day");
        let driven = with(&hungry, &[(field.as_str(), n((0.5 + h).min(24.0)))]);
        evaluate(&driven).year.months[m.unwrap()].shortfall_wh_day.clone().unwrap().0
    };
    let short = month.shortfall_wh_day.clone().unwrap().0;
    let (fewer, some) = (more(0.8 * hours), more(hours));
    assert!(hours > 0.5 && fewer > 1.0 && some < short && some < fewer, "{hours} h: {short} {fewer} {some}");
}

/// What cold keeps from alternator and generator limits a month as what it keeps from the sun: what limits it is what serves
/// it most.
/// Source: the same year with the bank in a heated space.
#[test]
fn cold_limits_by_all_that_it_keeps_out() {
    let place = [
        ("stays.ST1.latitude_deg", n(62.0)),
        ("stays.ST1.longitude_deg", n(129.7)),
        ("stays.ST1.drive_h_day", n(6.0)),
        ("bank.heated", word("no")),
    ];
    let r = evaluate(&with(&named("marram"), &place));
    let december = &r.year.months[11];
    let (limit, wh) = december.limited_by.clone().expect("a bank").expect("a limit");
    let others = december.other_cold_wh_day.clone().unwrap().0;
    let sun = december.losses.as_ref().unwrap().cold.clone().unwrap().0;
    assert!(december.shortfall_wh_day.clone().unwrap().0 > 1.0 && others > 5.0 * sun, "{others} {sun}");
    assert_eq!(limit, coachwire::engine::report::Limit::Cold);
    assert!((wh.0 - sun - others).abs() < 1e-9 * others, "{wh:?}");
    let warm = evaluate(&with(&with(&named("marram"), &place), &[("bank.heated", word("yes"))]));
    assert!(warm.year.months[11].shortfall_wh_day.clone().unwrap().0 < 1.0);
}

/// What the bank's own inverter feeds brings the bank nothing.
/// Source: conservation of energy.
#[test]
fn a_charger_on_the_banks_own_inverter_makes_nothing_up() {
    for (source, makes_up) in [("shore", true), ("inverter", false)] {
        let edits = [("chargers.CH1.kind", word("generator")), ("chargers.CH1.ac_source", word(source))];
        let r = evaluate(&with(&named("marram"), &edits));
        assert_eq!(r.year.months[11].generator_h_day.is_some(), makes_up, "{source}: {}", texts(&r));
    }
}

#[test]
fn an_inverter_that_nothing_feeds_is_said() {
    let plan = named("marram");
    let ac = with(&plan, &[("loads.L1.supply", word("inverter"))]);
    assert!(found(&evaluate(&ac), "inverter-without-run").is_empty(), "{}", texts(&evaluate(&ac)));
    let r = evaluate(&without(&ac, "W5"));
    let f = found(&r, "inverter-without-run");
    assert!(f.len() == 1 && f[0].level == Level::Caution, "{}", texts(&r));
}

/// Winter in the south is no winter for a coach that is in the north then.
/// Source: the calendar.
#[test]
fn the_season_is_that_of_the_months_own_stay() {
    // Winter weighs three times in the north; in the south of January and the north of July there is none.
    let loads = |latitude: f64, factor: f64| {
        let edits = [
            ("stays.ST1.latitude_deg", n(latitude)),
            ("stays.ST2.latitude_deg", n(47.0)),
            ("loads.L1.winter_factor", n(factor)),
        ];
        evaluate(&with(&named("marram"), &edits)).loads.wh_day.clone().map(|wh| wh.expect("loads").0)
    };
    assert_eq!(loads(-34.0, 3.0), loads(-34.0, 1.0));
    let (plain, weighed) = (loads(47.0, 1.0), loads(47.0, 3.0));
    assert!(weighed[0] > plain[0] && weighed[6] == plain[6], "{weighed:?} {plain:?}");
}

/// A month without a stay leaves the year's sums open, all of them.
#[test]
fn sums_wait_together_for_a_missing_month() {
    let gap = with(&named("marram"), &[("stays.ST1.months", Value::Text("Nov Dec Jan Feb".into()))]);
    let year = evaluate(&gap).year;
    assert!(year.harvest_kwh.is_err() && year.unmet_pct.is_err() && year.load_kwh.is_err() && year.stored_kwh.is_err());
}

/// The year's least charge is the least of its months'.
#[test]
fn the_least_charge_has_its_day() {
    let year = evaluate(&named("larkspur")).year;
    let (soc, day) = year.least_soc.clone().expect("a bank");
    let least = year.months.iter().map(|m| m.least_soc.clone().expect("a bank")).fold(1.0, f64::min);
    assert_eq!(soc, least);
    let (mut first, mut month) = (0, 0);
    for (m, days) in coachwire::climate::year::MONTH_DAYS.iter().enumerate() {
        if (first..first + days).contains(&day) {
            month = m;
        }
        first += days;
    }
    assert_eq!(year.months[month].least_soc, Ok(soc), "day {day}");
}
