//! Hours in which the engine runs for a part: that part with all that the charger gives, then the rest without.

use coachwire::engine::Engine;
use coachwire::engine::day::{Usage, driving};
use coachwire::engine::solve::{Charging, Feeder, Posts, Setting};
use coachwire::engine::year::{MonthSums, Runs, StayInput, YearInput, run, year};
use coachwire::physics::battery::{Bank, Limit, Make, Store};
use coachwire::physics::charging::ChargeSettings;
use coachwire::physics::lead::Plates;
use coachwire::stock::Stock;

use super::{hours, input, n, plan, with};
use crate::support::{near_abs, near_rel};

/// A lithium bank of 400 Ah that takes 50 A. Source: invented label.
const BOUND: Bank = Bank {
    make: Make::Phosphate,
    cells: 4.0,
    rated_ah: 400.0,
    sag_ohm: Some(0.001),
    most_charge_a: Some(50.0),
    most_discharge_a: None,
    least_v: None,
    least_soc: 0.0,
    least_charge_c: None,
};

/// A charger on the engine, no sun.
fn driven(
    posts: Posts,
    out_a: f64,
    (absorb_v, absorb_h): (f64, Option<f64>),
    hours_day: f64,
    load_w: f64,
) -> YearInput {
    let charge = ChargeSettings { absorb_v, absorb_h, float_v: Some(13.4), compensation_v_per_k: 0.0 };
    let feeder = Feeder { out_a, out: vec![0], setting: Setting { charge, sensed: true }, line: None };
    let driving = driving(hours_day);
    YearInput {
        circuit: Charging::of(posts, vec![], vec![feeder], vec![0.01]),
        runs: vec![Runs::Driving],
        stays: vec![StayInput { months: 1, lights: vec![], warm: None, driving, shore_days: 0.0 }],
        usage: Usage::steady(load_w),
        start_v: vec![],
        cut_offs: Vec::new(),
        start: Store { soc: 0.5 },
        passes: 0,
    }
}

/// Worked by hand, posts held at 13.2 V: 10 A for 2.25 h are 10 x 13.2 x 2.25 = 297 Wh a day, in January 9 207 Wh; 20 W for
/// 24 h in 31 days are 14 880 Wh.
#[test]
fn a_part_of_an_hour_at_held_volts_by_hand() {
    let january = year(&driven(Posts::Fixed(13.2), 10.0, (14.2, None), 2.25, 20.0)).months[0];
    near_rel("other", january.other_wh, 9_207.0, 1e-12);
    near_rel("load", january.load_wh, 14_880.0, 1e-12);
    near_rel("stored", january.stored_wh, 9_207.0 - 14_880.0, 1e-12);
}

/// By hand: what can come in H hours of driving is what the bank takes at its limit, at no more than absorption volts, and
/// what the loads draw in that time: (50 A x 14.2 V + 60 W) x H = 770 Wh an hour. 200 A for a quarter of an hour bring a
/// quarter of that, and never more for less driving.
/// Source: a limit in amperes is one of every moment, not of an hour's mean.
#[test]
fn a_charge_limit_holds_at_every_moment() {
    let most_w = 50.0 * 14.2 + 60.0;
    let other = |hours_day: f64| {
        let sums: MonthSums = year(&driven(Posts::Bank(BOUND), 200.0, (14.2, None), hours_day, 60.0)).months[0];
        sums.other_wh / 31.0
    };
    let mut before = 0.0;
    for hours_day in [0.1, 0.2, 0.25, 0.5, 0.75, 0.999, 1.0, 1.001, 1.25, 1.5] {
        let wh = other(hours_day);
        assert!(wh <= most_w * hours_day * (1.0 + 1e-9), "{hours_day} h: {wh} Wh of {}", most_w * hours_day);
        // A bank that is never near full takes its limit throughout: at its own volts, no less than 2.0 V a cell, empty.
        assert!(wh >= (50.0 * 8.0 + 60.0) * hours_day, "{hours_day} h: {wh} Wh");
        assert!(wh > before, "{hours_day} h: {wh} Wh after {before}");
        before = wh;
    }
    near_rel("no jump at a whole hour", other(0.999) / 0.999, other(1.001) / 1.001, 5e-3);
    // Of an hour by itself: 50 A at the volts of the posts and the loads beside it, for as long as the engine runs.
    let mut bound = 0;
    run(&driven(Posts::Bank(BOUND), 200.0, (14.2, None), 0.25, 60.0), &mut |_, moment, flow, step| {
        if moment.feeding[0] > 0.0 && step.limit == Limit::Current {
            assert_eq!((moment.feeding[0], step.hours), (1.0, 0.25));
            near_rel("by hand", step.other_wh, (50.0 * flow.posts_v + 60.0) * 0.25, 1e-9);
            near_rel("into the bank", step.balance.in_wh, 50.0 * flow.posts_v * 0.25, 1e-9);
            bound += 1;
        }
    });
    assert!(bound > 20, "{bound} days at the limit");
}

/// By hand: a lead bank of 210 Ah held at 14.2 V takes less with every hour, so half an hour's driving brings at most what
/// an hour does, and what an hour brings is less than twice that; a charger of 60 A gives no more than 60 A x 14.2 V.
/// Source: constant voltage after constant current; acceptance falls with charge.
#[test]
fn half_an_hours_driving_brings_less_than_an_hours() {
    let lead = Bank { make: Make::Lead(Plates::Agm), cells: 6.0, rated_ah: 210.0, most_charge_a: None, ..BOUND };
    let other = |hours_day: f64| {
        year(&driven(Posts::Bank(lead), 60.0, (14.2, None), hours_day, 30.0)).months[0].other_wh / 31.0
    };
    let all = [0.25, 0.5, 0.75, 1.0].map(other);
    for (wh, hours_day) in all.into_iter().zip([0.25, 0.5, 0.75, 1.0]) {
        assert!(wh <= 60.0 * 14.2 * hours_day, "{hours_day} h: {wh} Wh");
    }
    assert!(all.is_sorted_by(|a, b| a < b) && all[0] > 100.0, "{all:?}");
}

/// Half an hour's driving holds absorption for half an hour: a timer of an hour has not run out by it.
/// Source: a timer counts time.
#[test]
fn a_timer_counts_the_part() {
    let lead = Bank { make: Make::Lead(Plates::Agm), cells: 6.0, rated_ah: 210.0, most_charge_a: None, ..BOUND };
    let held = |hours_day: f64| {
        let mut input = driven(Posts::Bank(lead), 60.0, (14.2, Some(1.0)), hours_day, 5.0);
        input.start = Store { soc: 0.9 };
        let mut most_h = 0.0_f64;
        run(&input, &mut |_, moment, _, _| {
            most_h = if moment.held_h[0].is_finite() { most_h.max(moment.held_h[0]) } else { most_h };
        });
        most_h
    };
    assert_eq!([held(0.25), held(0.5)], [0.25, 0.5]);
}

/// Hours of each day in which a source holds its absorption volts; days without any left out.
fn absorbed(input: &YearInput, k: usize) -> Vec<f64> {
    let mut days = vec![0.0; 365];
    hours(input, |hour, _, flow, step| {
        let gives = flow.amps.get(k).is_some_and(|amps| *amps > 0.0) && flow.floating.get(k) == Some(&false);
        days[usize::from(hour) / 24] += if gives && step.limit == Limit::Held { step.hours } else { 0.0 };
    });
    days.retain(|h| *h > 0.0);
    days
}

/// A charger set to so many hours of absorption floats after just so many of them, whole or not: what it holds is told from
/// each stretch of each hour. With whole hours alone half an hour counted as one.
/// Source: a timer counts time.
#[test]
fn absorption_ends_within_the_hour() {
    let lead = Bank { make: Make::Lead(Plates::Agm), cells: 6.0, rated_ah: 210.0, most_charge_a: None, ..BOUND };
    for absorb_h in [0.1, 0.25, 0.5, 0.999, 1.0, 1.5] {
        let mut input = driven(Posts::Bank(lead), 60.0, (14.2, Some(absorb_h)), 6.0, 5.0);
        input.start = Store { soc: 0.9 };
        let mut days = vec![0.0; 31];
        run(&input, &mut |hour, _, flow, step| {
            let holds = step.limit == Limit::Held && !flow.floating[0] && flow.amps[0] > 0.0;
            days[usize::from(hour) / 24] += if holds { step.hours } else { 0.0 };
        });
        assert!(days.iter().all(|h| *h <= absorb_h + 1e-9), "{absorb_h}: {days:?}");
        near_abs("as long as set", days.iter().copied().fold(0.0, f64::max), absorb_h, 1e-9);
    }
    // Of a whole coach: as long as set on many days, never longer; the year that nobody looks at is the same.
    for name in ["bramble", "sorrel"] {
        let mut before = f64::INFINITY;
        for absorb_h in [2.0, 0.5, 0.25] {
            let input = input(name, &with(&plan(name), &[("controllers.C1.absorb_h", n(absorb_h))]));
            let days = absorbed(&input, 0);
            assert!(days.iter().all(|h| *h <= absorb_h + 1e-9), "{name} {absorb_h}: {days:?}");
            let whole = days.iter().filter(|h| (**h - absorb_h).abs() < 1e-9).count();
            // Lithium is full soon after it comes to absorption volts.
            assert!(
                name == "bramble" || absorb_h > 1.0 || whole > 50,
                "{name} {absorb_h}: {whole} of {} days",
                days.len()
            );
            let seen = run(&input, &mut |_, _, _, _| {});
            assert!(seen.months == year(&input).months, "{name} {absorb_h}");
            let sum: f64 = days.iter().sum();
            assert!(sum <= before, "{name}: {sum} h after {before}");
            before = sum;
        }
    }
}

/// The day pages show an hour once, in its means: what the two parts bring, draw and leave.
/// Source: addition.
#[test]
fn a_day_shows_an_hour_once() {
    let marram = with(&plan("marram"), &[("stays.ST1.drive_h_day", n(1.25))]);
    let (mut other_wh, mut served_wh, mut last_soc, mut parts) = ([0.0; 24], [0.0; 24], [0.0; 24], 0);
    run(&input("marram", &marram), &mut |hour, _, _, step| {
        if hour < 24 {
            let h = usize::from(hour);
            other_wh[h] += step.other_wh;
            served_wh[h] += step.load_wh - step.shortfall_wh();
            last_soc[h] = step.after.soc;
            parts += 1;
        }
    });
    assert_eq!(parts, 25, "one hour in two");
    let day = Engine::default().trace(&marram, &Stock::default(), 0, 1).expect("a day");
    assert_eq!(day.iter().map(|h| h.hour).collect::<Vec<_>>(), (0..24).collect::<Vec<_>>());
    for (h, shown) in day.iter().enumerate() {
        near_abs("other", shown.other_w, other_wh[h], 1e-9);
        near_abs("served", shown.load_w - shown.shortfall_w, served_wh[h], 1e-9);
        assert_eq!(shown.soc, last_soc[h]);
        assert!((11.0..15.0).contains(&shown.posts_v), "{} V", shown.posts_v);
    }
    // 30 A from nine on, all of the first hour and a quarter of the second.
    assert!(day[9].other_w > 300.0 && (day[10].other_w - day[9].other_w / 4.0).abs() < 10.0, "{day:?}");
}
