//! Energy: every hour, every month, and days worked by hand.

use coachwire::engine::Engine;
use coachwire::engine::day::{Usage, driving};
use coachwire::engine::memo::Stage;
use coachwire::engine::solve::{Charging, Feeder, Flow, Posts, Setting, solve};
use coachwire::engine::year::{MonthSums, Runs, StayInput, YearInput, year};
use coachwire::physics::battery::{Bank, Limit, Make, Store};
use coachwire::physics::charging::ChargeSettings;
use coachwire::stock::Stock;

use super::{coaches, hours, input, n, plan, with};
use crate::support::{near_abs, near_rel};

/// Source: conservation of energy, hour by hour, at the posts: what sources bring is what loads get, what comes to
/// rest in the cells and what is lost in them. The last two against the bank's own state, not against the step's word.
#[test]
fn energy_closes_in_every_hour() {
    let (mut short, mut full, mut cold, mut fed) = (0, 0, 0, 0);
    for (name, input) in coaches() {
        let Posts::Bank(bank) = input.circuit.posts else { panic!("{name}") };
        hours(&input, |hour, moment, flow, step| {
            let scale = 1.0_f64.max(step.load_wh + step.solar_wh + step.other_wh);
            assert!(step.gap_wh().abs() <= 1e-9 * scale, "{name} hour {hour}: {} Wh, {step:?}", step.gap_wh());
            let stored = bank.energy_wh(step.after.soc) - bank.energy_wh(moment.store.soc);
            near_abs(&format!("{name} hour {hour} stored"), step.balance.stored_wh, stored, 1e-9 * bank.energy_wh(1.0));
            assert!(step.served_wh <= step.load_wh * (1.0 + 1e-12) && step.served_wh >= 0.0, "{name} hour {hour}");
            assert!(step.solar_wh <= step.harvest_wh * (1.0 + 1e-9) + 1e-9, "{name} hour {hour}: {step:?}");
            assert!((0.0..=1.0).contains(&step.after.soc) && flow.posts_v > 0.0, "{name} hour {hour}");
            short += u32::from(step.shortfall_wh() > 1e-6);
            full += u32::from(step.filled || step.limit == Limit::Held);
            cold += u32::from(step.limit == Limit::Cold);
            fed += u32::from(step.other_wh > 0.0);
        });
    }
    assert!(short > 100 && full > 1000 && cold > 100 && fed > 500, "{short} {full} {cold} {fed}");
}

/// Source: conservation of energy, from the array's maximum to the posts: each part of the way is counted by itself.
#[test]
fn what_the_array_has_is_harvest_and_named_losses() {
    for (name, input) in coaches() {
        let mut array_wh = [0.0; 12];
        hours(&input, |hour, _, _, step| array_wh[month(hour)] += step.array_wh);
        for (m, sums) in year(&input).months.iter().enumerate() {
            let MonthSums { harvest_wh, pv_wire_wh, out_wire_wh, clipped_wh, mismatch_wh, convert_wh, .. } = *sums;
            let sum = harvest_wh + pv_wire_wh + out_wire_wh + clipped_wh + mismatch_wh + convert_wh;
            near_rel(&format!("{name} month {}", m + 1), sum, array_wh[m], 0.002);
            near_rel(&format!("{name} posts {}", m + 1), sums.gap_wh(), 0.0, 1e-9 * harvest_wh.max(1.0) * 31.0);
        }
    }
}

fn month(hour: u16) -> usize {
    let ends = [31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365];
    ends.iter().position(|end| usize::from(hour) / 24 < *end).expect("a month")
}

/// An hour of the year is the same moment asked for by itself, to the last bit, whatever came before it.
#[test]
fn any_hour_is_solve_at_its_moment() {
    for (name, input) in coaches() {
        hours(&input, |hour, moment, flow, _| {
            let mut alone = Flow::default();
            solve(&input.circuit, moment, &mut alone);
            let same = alone.shares == flow.shares && alone.amps == flow.amps && alone.limit == flow.limit;
            let bits = |f: &Flow| [f.posts_v.to_bits(), f.net_a.to_bits(), f.offered_v.to_bits()];
            assert!(same && bits(&alone) == bits(flow), "{name} hour {hour}: {alone:?} {flow:?}");
        });
    }
}

/// A lithium bank of 200 Ah without resistance to speak of, one charger of 10 A, no sun.
fn fed(posts: Posts, load_w: f64, soc: f64) -> YearInput {
    let charge = ChargeSettings { absorb_v: 14.2, absorb_h: None, float_v: None, compensation_v_per_k: 0.0 };
    let setting = Setting { charge, sensed: true };
    let feeder = Feeder { out_a: 10.0, out: vec![0], setting, line: None };
    YearInput {
        circuit: Charging::of(posts, vec![], vec![feeder], vec![0.01]),
        runs: vec![Runs::Driving],
        stays: vec![StayInput { months: 0x0fff, lights: vec![], warm: None, driving: driving(6.0), shore_days: 0.0 }],
        usage: Usage::steady(load_w),
        start: Store { soc },
        passes: 0,
    }
}

/// Worked by hand, posts held at 13.2 V: 10 A for 6 h are 10 x 13.2 x 6 = 792 Wh; 20 W for 24 h are 480 Wh; what is
/// left goes into the posts, 312 Wh a day. Of January's 31 days: 24 552, 14 880 and 9 672 Wh.
#[test]
fn a_day_at_held_volts_by_hand() {
    let year = year(&fed(Posts::Fixed(13.2), 20.0, 1.0));
    near_rel("other", year.months[0].other_wh, 24_552.0, 1e-12);
    near_rel("load", year.months[0].load_wh, 14_880.0, 1e-12);
    near_rel("stored", year.months[0].stored_wh, 9_672.0, 1e-12);
    assert_eq!((year.months[0].shortfall_wh(), year.unmet_pct()), (0.0, 0.0));
}

/// Worked by hand, a 200 Ah lithium bank (99.5 % of the charge stays, 2 % a month leaks at 25 C) and one day of
/// 10 A from nine to three, no load: 6 x 10 x 0.995 / 200 = 0.2985 of the capacity comes in. Before it, at midnight, a
/// day's leak of 0.02 / 730 x 24 = 0.0006575 of what is there goes. With 10 A for 6 h every day it is full after four
/// days; then the charger holds it and each day brings what has leaked: 0.0006575 of 200 Ah.
#[test]
fn a_charge_by_hand() {
    let bank = Bank {
        make: Make::Phosphate,
        cells: 4.0,
        rated_ah: 200.0,
        sag_ohm: Some(0.001),
        most_charge_a: None,
        most_discharge_a: None,
        least_v: None,
        least_soc: 0.0,
        least_charge_c: None,
    };
    let mut input = fed(Posts::Bank(bank), 0.0, 1.0);
    let mut lowest: f64 = 1.0;
    hours(&input, |_, moment, _, _| lowest = lowest.min(moment.store.soc));
    // Full all year but for the leak.
    near_abs("leak", 1.0 - lowest, 0.02 / 730.0 * 24.0, 1e-5);
    // Five days of nothing but a load: 0.6 A at 13.3 V or so.
    input.runs = vec![Runs::Never];
    input.usage = Usage::steady(8.0);
    let mut drawn_wh = 0.0;
    let (mut first, mut last) = (None, 0.0);
    hours(&input, |hour, moment, _, step| {
        if hour < 120 {
            first.get_or_insert(moment.store.soc);
            drawn_wh += step.served_wh;
            last = step.after.soc;
        }
    });
    // December has emptied it: 8 W x 744 h are 5952 Wh, more than the bank's 2600 Wh.
    assert_eq!((first, last, drawn_wh), (Some(0.0), 0.0, 0.0));
}

/// By hand: what the DC-DC charger of a whole plan brings is amps times volts times hours. Its line: V V - V E + P R = 0
/// for the alternator's volts E and the run's R, the upper root above the cut-out.
/// Source: rule of a constant power behind a resistance, worked in the doc comment of `supply::feed`.
#[test]
fn the_alternator_brings_amps_times_volts_times_hours() {
    // A load that keeps the bank from filling: the charger then never holds back.
    let thirsty = with(&plan("marram"), &[("loads.L1.duty_pct", n(100.0)), ("loads.L1.watts_w", n(90.0))]);
    let input = input("marram", &thirsty);
    let feeder = &input.circuit.feeders[0];
    let line = feeder.line.expect("a line");
    assert_eq!((feeder.out_a, input.runs[0]), (30.0, Runs::Driving));
    let (mut other_wh, mut by_hand_wh, mut driven) = ([0.0; 12], [0.0; 12], 0);
    hours(&input, |hour, moment, flow, step| {
        if moment.feeding[0] > 0.0 && !step.filled && step.limit == Limit::None {
            assert_eq!(moment.feeding[0], 0.5, "half an hour a day");
            let own_ohm: f64 = feeder.out.iter().map(|s| input.circuit.segments_ohm[*s]).sum();
            let in_w = 30.0 * (flow.posts_v + 30.0 * own_ohm) / 0.90;
            let root = line.source_v * line.source_v - 4.0 * in_w * line.ohm;
            let input_v = (line.source_v + root.sqrt()) / 2.0;
            assert!(root > 0.0 && input_v >= 11.5, "it works: {input_v} V");
            by_hand_wh[month(hour)] += 30.0 * 0.5 * flow.posts_v;
            driven += 1;
        } else {
            by_hand_wh[month(hour)] += step.other_wh;
        }
        other_wh[month(hour)] += step.other_wh;
    });
    assert!(driven > 100, "{driven} days unheld");
    let report = Engine::default().evaluate(&thirsty, &Stock::default());
    let days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    for m in 0..12 {
        near_rel(&format!("month {}", m + 1), other_wh[m], by_hand_wh[m], 1e-9);
        let shown = report.year.months[m].other_wh_day.clone().expect("a bank").0;
        near_rel(&format!("shown {}", m + 1), shown, by_hand_wh[m] / days[m], 1e-9);
    }
    // All of a dark month's days in round numbers: 30 A x 13.2 V x 0.5 h = 198 Wh a day.
    let december = report.year.months[11].other_wh_day.clone().expect("a bank").0;
    near_rel("december", december, 198.0, 0.03);
    let _ = Stage::new(());
}
