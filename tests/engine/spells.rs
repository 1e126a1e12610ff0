//! Spells of the year, against its own hours and the light above the air by hand.

use super::evaluate;
use super::mistakes::with;
use coachwire::climate::year::{MONTH_DAYS, MonthlyMeans, typical_months};
use coachwire::engine::memo::Memo;
use coachwire::engine::report::DullSpell;
use coachwire::engine::sites::{site, spots, stay_of_months};
use coachwire::engine::{DULL_CLEARNESS, Engine};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, ItemPath, Plan, Step, Value};
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
/// Source: Duffie and Beckman, Solar Engineering of Thermal Processes, equations 1.6.1b (Spencer), 1.4.1a and 1.10.3.
fn above_wh_m2(latitude_deg: f64, day: usize) -> f64 {
    let turn = 2.0 * std::f64::consts::PI * (day + 1) as f64 / 365.0;
    let b = 2.0 * std::f64::consts::PI * day as f64 / 365.0;
    let declination = 0.006918 - 0.399912 * b.cos() + 0.070257 * b.sin() - 0.006758 * (2.0 * b).cos()
        + 0.000907 * (2.0 * b).sin()
        - 0.002697 * (3.0 * b).cos()
        + 0.00148 * (3.0 * b).sin();
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

/// Light of each day on level ground, and above the air, Wh/m2, at the latitude of the month's stay; none where nobody is there.
fn skies(plan: &Plan) -> Vec<Option<(f64, f64, f64)>> {
    let spots = spots(plan, &mut Memo::with_room(4));
    let mut all = Vec::new();
    for (month, stay) in stay_of_months(plan).into_iter().enumerate() {
        let first = all.len();
        all.extend((0..MONTH_DAYS[month]).map(|_| None));
        let Some(stay) = stay else { continue };
        let site = site(&plan.stays[stay], &spots[stay], 1 << month, false).expect("a climate");
        let means = MonthlyMeans {
            ghi_kwh_m2_day: site.ghi_kwh_m2_day,
            mean_c: site.mean_c,
            daily_range_k: site.daily_range_k,
            wind_m_s: site.wind_m_s,
        };
        let year = typical_months(&means, site.latitude_deg, site.seed, 1 << month, site.clock);
        all[first..].fill(Some((0.0, 0.0, site.latitude_deg)));
        for hour in year.month(month) {
            let day = all[usize::from(hour.hour) / 24].as_mut().expect("a day of the month");
            day.0 += hour.ghi_w_m2;
            day.1 += hour.extraterrestrial_normal_w_m2 * hour.cos_zenith.max(0.0);
        }
    }
    all
}

/// The longest dull spell found again by a plain loop over the light of the typical sky: from every day on, as long as each lets
/// through less than 0.35; of equally long ones that with the least. What it brings and how the bank fares, from the hours.
/// Source: Kudish and Ianetz 1996, 0.35 (as spells.rs has it); clearness by definition, light on the ground over light above the
/// air; the latter by Duffie and Beckman 1.10.3, too.
#[test]
fn a_plain_loop_finds_the_same_dull_spell() {
    let remove = Edit::Remove { at: ItemPath::new("stays.ST1") };
    let north = [("stays.ST1.latitude_deg", Value::Number(62.0)), ("stays.ST1.longitude_deg", Value::Number(129.7))];
    let south = [("stays.ST1.latitude_deg", Value::Number(-41.1)), ("stays.ST1.longitude_deg", Value::Number(-71.3))];
    let shore = [("stays.ST1.shore_days_month", Value::Number(8.0))];
    let coaches = [
        ("bramble", plan("bramble")),
        ("marram", plan("marram")),
        ("larkspur", plan("larkspur")),
        ("sorrel", plan("sorrel")),
        ("north", with(&plan("bramble"), &north)),
        ("south", with(&plan("bramble"), &south)),
        ("shore", with(&plan("larkspur"), &shore)),
        ("a part", plan("larkspur").with(&Step::one("test", remove)).expect("several stays")),
    ];
    for (name, plan) in coaches {
        let skies = skies(&plan);
        for (day, (_, above, latitude)) in skies.iter().enumerate().filter_map(|(day, sky)| Some((day, (*sky)?))) {
            let by_book = above_wh_m2(latitude, day);
            // Whole hours with the sun at their middle: some Wh at dawn and dusk.
            let apart = (above - by_book).abs();
            assert!(apart < 0.015 * by_book + 60.0, "{name}, day {day}: {above} {by_book}");
        }
        let share =
            |day: usize| skies[day % YEAR].map(|(light, above, _)| if above > 0.0 { light / above } else { 0.0 });
        let mut longest: Option<(usize, usize, f64)> = None;
        for first in 0..YEAR {
            let (mut days, mut light) = (0, 0.0);
            while days < YEAR && share(first + days).is_some_and(|share| share < 0.35) {
                light += share(first + days).expect("there");
                days += 1;
            }
            if days > 0 && longest.is_none_or(|(_, most, least)| days > most || days == most && light < least) {
                longest = Some((first, days, light));
            }
        }
        let (first, days, _) = longest.expect("some day is dull");
        let spell = dull(&plan);
        assert_eq!((spell.first_day, spell.days), (first, days), "{name}");
        let hours = Engine::default().trace(&plan, &Stock::default(), 0, YEAR).expect("known");
        let of = |of: fn(&coachwire::engine::report::HourFigures) -> f64| {
            let each = (first..first + days)
                .flat_map(|day| hours.iter().filter(move |h| usize::from(h.hour) / 24 == day % YEAR));
            each.map(of).collect::<Vec<f64>>()
        };
        let sum = |of: Vec<f64>| of.iter().sum::<f64>();
        let near =
            |what: &str, x: f64, y: f64| assert!((x - y).abs() <= 1e-9 * y.abs().max(1.0), "{name} {what}: {x} {y}");
        near("harvest", spell.harvest.0 * days as f64, sum(of(|h| h.harvest_w)));
        near("other", spell.other.0 * days as f64, sum(of(|h| h.other_w)));
        near("load", spell.load.0 * days as f64, sum(of(|h| h.load_w)));
        near("shortfall", spell.shortfall.0, sum(of(|h| h.shortfall_w)));
        // What leaks away at midnight, 3 % a month at most, stands between two hours.
        let least = of(|h| h.soc).into_iter().fold(1.0, f64::min);
        assert!(spell.least_soc <= least && spell.least_soc > least - 0.1, "{name}: {} {least}", spell.least_soc);
        for (i, day) in spell.each.iter().enumerate() {
            let today = |of: fn(&coachwire::engine::report::HourFigures) -> f64| {
                let today = hours.iter().filter(|h| usize::from(h.hour) / 24 == (first + i) % YEAR);
                today.map(of).sum::<f64>()
            };
            near("a day's harvest", day.harvest.0, today(|h| h.harvest_w));
            near("a day's shortfall", day.shortfall.0, today(|h| h.shortfall_w));
        }
    }
}
