//! Spells of the year, against its own hours and the light above the air by hand.

use super::evaluate;
use super::mistakes::with;
use coachwire::engine::report::DullSpell;
use coachwire::engine::{DULL_CLEARNESS, Engine};
use coachwire::plan::samples::sample;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

const YEAR: usize = 365;

fn plan(name: &str) -> Plan {
    Plan::from_text(sample(name).unwrap().text).unwrap()
}

/// One day by its hours: light on the panels, Wh/m2, load not served, least charge.
struct Day {
    light: f64,
    short: f64,
    soc: f64,
}

fn days(plan: &Plan) -> Vec<Day> {
    let hours = Engine::default().trace(plan, &Stock::default(), 0, YEAR).expect("known");
    let of_day = |today: &[coachwire::engine::report::HourFigures]| Day {
        light: today.iter().map(|h| h.sun_w_m2).sum(),
        short: today.iter().map(|h| h.shortfall_w).sum(),
        soc: today.iter().map(|h| h.soc).fold(1.0, f64::min),
    };
    hours.chunks(24).map(of_day).collect()
}

/// Light on a level plane above the air on a day, Wh/m2.
/// Source: Duffie and Beckman, Solar Engineering of Thermal Processes, equations 1.6.1a (Cooper), 1.4.1b and 1.10.3.
fn above_wh_m2(latitude_deg: f64, day: usize) -> f64 {
    let turn = 2.0 * std::f64::consts::PI * (day + 1) as f64 / 365.0;
    let declination = (23.45_f64).to_radians() * (2.0 * std::f64::consts::PI * (284 + day + 1) as f64 / 365.0).sin();
    let latitude = latitude_deg.to_radians();
    let sunset = (-latitude.tan() * declination.tan()).clamp(-1.0, 1.0).acos();
    let normal = 1361.0 * (1.0 + 0.033 * turn.cos());
    let (sin, cos) = (latitude.sin() * declination.sin(), latitude.cos() * declination.cos());
    24.0 / std::f64::consts::PI * normal * (cos * sunset.sin() + sunset * sin)
}

/// Longest run of days, over the turn of the year too.
fn longest(is_one: impl Fn(usize) -> bool) -> usize {
    (0..YEAR).map(|first| (first..first + YEAR).take_while(|i| is_one(i % YEAR)).count()).max().unwrap_or(0)
}

fn dull(plan: &Plan) -> DullSpell {
    evaluate(plan).year.dull_spell.clone().expect("known").expect("some day is dull")
}

/// Light on a flat panel is that of the sky less some percent in glass and dirt.
#[test]
fn the_dull_spell_is_that_of_the_sky() {
    let mut seen = 0;
    for name in ["bramble", "marram"] {
        let flat = plan(name);
        assert!(flat.stays.iter().all(|s| s.tilt_deg.known().is_none_or(|t| t.0 == 0.0)), "{name} lies flat");
        let spell = dull(&flat);
        let latitude = |day: usize| {
            let mut left = day;
            let lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
            let month = lengths
                .iter()
                .take_while(|n| {
                    left >= **n && {
                        left -= **n;
                        true
                    }
                })
                .count();
            let stay = flat.stays.iter().find(|s| s.months.has(month)).expect("lived in");
            stay.latitude_deg.known().expect("known").0
        };
        let light: Vec<f64> =
            days(&flat).iter().enumerate().map(|(day, d)| d.light / above_wh_m2(latitude(day), day)).collect();
        for i in spell.first_day..spell.first_day + spell.days {
            assert!(light[i % YEAR] < DULL_CLEARNESS, "{name}, day {i}: {}", light[i % YEAR]);
        }
        for edge in [spell.first_day + YEAR - 1, spell.first_day + spell.days] {
            assert!(light[edge % YEAR] > DULL_CLEARNESS * 0.8, "{name}, day {edge}: {}", light[edge % YEAR]);
        }
        let (surely, at_most) =
            (longest(|i| light[i] < DULL_CLEARNESS * 0.8), longest(|i| light[i] < DULL_CLEARNESS * 1.02));
        assert!((surely..=at_most).contains(&spell.days), "{name}: {surely} to {at_most}, {spell:?}");
        seen += 1;
    }
    assert_eq!(seen, 2);
}

/// Panels and loads change how the bank fares, not which days are dull.
#[test]
fn no_plan_changes_the_sky() {
    for (name, edits) in [
        ("marram", vec![("arrays.A1.strings", Value::Text("1S6P P1".into()))]),
        ("marram", vec![("loads.L1.watts_w", Value::Number(500.0))]),
        ("bramble", vec![("bank.parallel", Value::Number(4.0))]),
    ] {
        let (was, now) = (dull(&plan(name)), dull(&with(&plan(name), &edits)));
        assert_eq!((was.first_day, was.days), (now.first_day, now.days), "{name} with {edits:?}");
    }
}

/// Where load goes short, no other run of days with load going short lacks as much.
#[test]
fn the_hardest_days_lack_most() {
    for name in ["marram", "larkspur", "sorrel"] {
        let plan = plan(name);
        let all = days(&plan);
        let spell = evaluate(&plan).year.hardest.clone().expect("known").expect("load goes short");
        let is_short = |i: usize| all[i % YEAR].short >= 0.5;
        let mut most = 0.0_f64;
        for first in 0..YEAR {
            let run = (first..first + YEAR).take_while(|i| is_short(*i));
            most = most.max(run.map(|i| all[i % YEAR].short).sum());
        }
        assert!(most > 0.0 && (spell.shortfall.0 - most).abs() < 1e-6 * most, "{name}: {most} and {spell:?}");
        assert!((spell.first_day..spell.first_day + spell.days).all(is_short), "{name}");
        assert!(!is_short(spell.first_day + YEAR - 1) && !is_short(spell.first_day + spell.days), "{name}");
        assert_eq!(spell.each.len(), spell.days);
    }
}

/// Where none does, they end on the day of least charge, and on each the bank stands lower than on the one before.
#[test]
fn the_hardest_days_end_at_the_least_charge() {
    let served = with(&plan("marram"), &[("arrays.A1.strings", Value::Text("1S6P P1".into()))]);
    let report = evaluate(&served);
    assert_eq!(report.year.shortfall_days, Ok(0.0), "nothing goes short");
    let spell = report.year.hardest.clone().expect("known").expect("it is used");
    let (least, day) = report.year.least_soc.clone().expect("known");
    assert_eq!(((spell.first_day + spell.days - 1) % YEAR, spell.least_soc), (day, least));
    for pair in spell.each.windows(2) {
        assert!(pair[1].least_soc < pair[0].least_soc, "{spell:?}");
    }
    let all = days(&served);
    // It goes down from the day before it begins; before that it was not going down, or it was as good as full.
    let soc = |back: usize| all[(spell.first_day + YEAR - back) % YEAR].soc;
    assert!(soc(1) > soc(0) && (soc(2) <= soc(1) + 1e-9 || soc(1) >= 0.98), "{} {} {}", soc(2), soc(1), soc(0));
    let lowest = all.iter().map(|d| d.soc).fold(1.0, f64::min);
    assert!((lowest - least).abs() < 1e-3, "{lowest} and {least}");
}
