//! The inverter's own cut-off in the year.

use coachwire::engine::Engine;
use coachwire::engine::day::{Asked, Through, Usage, driving};
use coachwire::engine::solve::{Charging, Feeder, Posts, Setting};
use coachwire::engine::year::{CutOff, Runs, StayInput, Step, YearInput, run, year, year_on};
use coachwire::physics::battery::{Bank, Make, Store};
use coachwire::physics::charging::ChargeSettings;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

use super::{input, n, plan, with};
use crate::support::near_rel;

/// 20 W of DC loads and 300 W through an inverter behind 10 milliohms, on a lithium bank half full, so large that its charge
/// hardly moves, of 20 milliohms; 30 A from a charger from nine to three. Its first midnight leaks 0.02 / 730 x 24 of it.
fn steady(off_v: f64, on_v: Option<f64>) -> YearInput {
    of_several(&[(300.0, 50.0)], &[CutOff { inverter: 0, place: 0, off_v, on_v, ohm: 0.01 }])
}

/// The same with so many watts, and medical ones among them, through each of several.
fn of_several(through: &[(f64, f64)], cut_offs: &[CutOff]) -> YearInput {
    let sum = |of: fn(&(f64, f64)) -> f64| through.iter().map(of).sum::<f64>();
    let (ac_w, medical_w) = (sum(|own| own.0), sum(|own| own.1));
    let asked = Asked { all_w: 20.0 + ac_w, ac_w, medical_w, medical_ac_w: medical_w };
    let through: Vec<_> =
        through.iter().map(|(all_w, medical_w)| Through { all_w: *all_w, medical_w: *medical_w }).collect();
    let bank = Bank {
        make: Make::Phosphate,
        cells: 4.0,
        rated_ah: 2e6,
        sag_ohm: Some(0.02),
        most_charge_a: None,
        most_discharge_a: None,
        least_v: None,
        least_soc: 0.0,
        least_charge_c: None,
    };
    let charge = ChargeSettings { absorb_v: 14.2, absorb_h: None, float_v: Some(14.2), compensation_v_per_k: 0.0 };
    let feeder = Feeder { out_a: 30.0, out: vec![0], setting: Setting { charge, sensed: true }, line: None };
    YearInput {
        circuit: Charging::of(Posts::Bank(bank), vec![], vec![feeder], vec![0.01]),
        runs: vec![Runs::Driving],
        stays: vec![StayInput { months: 1, lights: vec![], warm: None, driving: driving(6.0), shore_days: 0.0 }],
        usage: Usage::alike(asked, &through),
        start_v: vec![],
        cut_offs: cut_offs.to_vec(),
        start: Store { soc: 0.5 / (1.0 - 0.02 / 730.0 * 24.0) },
        passes: 0,
    }
}

fn first_day(input: &YearInput) -> Vec<Step> {
    let mut all = Vec::new();
    run(input, &mut |hour, _, _, step| all.extend((hour < 24).then_some(*step)));
    all
}

/// Hours of the first day in which it is off.
fn off_in(off_v: f64, on_v: Option<f64>) -> Vec<usize> {
    let day = first_day(&steady(off_v, on_v));
    (0..24).filter(|h| day[*h].cut_off_wh > 0.0).collect()
}

/// Solved by hand. Rest volts at half charge: 13.0641 V (tests/reference/physics/lfp_ocv.csv, after Prada et al. 2013).
/// In the dark the posts stand at V = (13.0641 + sqrt(13.0641^2 - 4 x 320 x 0.02)) / 2 = 12.5543 V under 320 W, the terminals
/// 300 / 12.5543 x 0.01 = 0.2390 V lower, at 12.3154 V. Without the 300 W: (13.0641 + sqrt(13.0641^2 - 4 x 20 x 0.02)) / 2
/// = 13.0334 V. With 30 A and without the 300 W, V V - (13.0641 + 0.02 x 30) V + 0.02 x 20 = 0: 13.6348 V; with both,
/// V V - 13.6641 V + 6.4 = 0: 13.1785 V, the terminals 12.9508 V.
#[test]
fn a_cut_off_by_hand() {
    let dark: Vec<usize> = (0..9).chain(15..24).collect();
    let all: Vec<usize> = (0..24).collect();
    let none: Vec<usize> = Vec::new();
    assert_eq!(off_in(12.310, None), none, "5 mV below where its terminals stand");
    assert_eq!(off_in(12.320, None), dark, "5 mV above");
    assert_eq!(off_in(12.945, None), dark);
    assert_eq!(off_in(12.956, None), all);
    // It starts again where its terminals, nothing drawn through it, come up to the second threshold.
    assert_eq!(off_in(12.320, Some(13.629)), dark);
    assert_eq!(off_in(12.320, Some(13.640)), all);
    // One that was never off does not wait to start.
    assert_eq!(off_in(12.310, Some(14.0)), none);
}

/// Energy: what it is off for is asked and not served, medical loads behind it among it; the rest of the hour closes, and
/// the bank gives 20 W alone. 18 hours of 300 and 50 W a day.
#[test]
fn what_is_cut_off_is_asked_and_not_served() {
    let input = steady(12.320, None);
    let Posts::Bank(bank) = input.circuit.posts else { panic!("a bank") };
    let mut before = None;
    for (hour, step) in first_day(&input).iter().enumerate() {
        let off = !(9..15).contains(&hour);
        assert!(step.gap_wh().abs() < 1e-9 * 320.0, "{hour}: {step:?}");
        near_rel("asked", step.load_wh, 320.0, 1e-12);
        near_rel("served", step.served_wh, if off { 20.0 } else { 320.0 }, 1e-9);
        assert_eq!((step.cut_off_wh, step.medical_short_wh), if off { (300.0, 50.0) } else { (0.0, 0.0) });
        if let Some(before) = before
            && off
        {
            near_rel("out of the bank", step.balance.out_wh, 20.0, 1e-9);
            let stored = bank.energy_wh(step.after.soc) - bank.energy_wh(before);
            assert!((stored - step.balance.stored_wh).abs() < 1e-9 * bank.energy_wh(1.0));
        }
        before = Some(step.after.soc);
    }
    let january = year(&input).months[0];
    near_rel("cut off", january.cut_off_wh, 31.0 * 18.0 * 300.0, 1e-12);
    near_rel("short", january.shortfall_wh(), 31.0 * 18.0 * 300.0, 1e-9);
    near_rel("medical", january.medical_short_wh, 31.0 * 18.0 * 50.0, 1e-12);
    assert!((january.gap_wh() / january.load_wh).abs() < 1e-9);
}

/// Hours of the first day in which each of two is off: A of 300 W behind 10 milliohms, B of 100 W behind 5; both ways round.
fn two_off(a: (f64, Option<f64>), b: (f64, Option<f64>)) -> (i32, i32) {
    let of = |place: usize, (off_v, on_v): (f64, Option<f64>), ohm: f64| CutOff {
        inverter: 7 + place,
        place,
        off_v,
        on_v,
        ohm,
    };
    let hours = |through: &[(f64, f64)], cut_offs: &[CutOff], a: usize| {
        let input = of_several(through, cut_offs);
        let told = year(&input);
        let sum: f64 = told.cut_offs.iter().map(|own| own.1[0]).sum();
        near_rel("all of it", told.months[0].cut_off_wh, sum, 1e-12);
        assert_eq!((told.cut_offs[0].0, told.cut_offs[1].0), (7, 8));
        assert!((told.months[0].gap_wh() / told.months[0].load_wh).abs() < 1e-9);
        let (mut off, mut is_off) = ((0, 0), [false; 2]);
        for step in first_day(&input) {
            let (a, b) = match step.cut_off_wh.round() as i32 {
                0 => (0, 0),
                100 => (0, 1),
                300 => (1, 0),
                400 => (1, 1),
                other => panic!("{other}"),
            };
            off = (off.0 + a, off.1 + b);
            is_off = [is_off[0] || a == 1, is_off[1] || b == 1];
        }
        assert!((0..2).all(|k| !is_off[k] || told.cut_offs[if k == 0 { a } else { 1 - a }].1[0] > 0.0));
        off
    };
    let one = hours(&[(300.0, 0.0), (100.0, 0.0)], &[of(0, a, 0.01), of(1, b, 0.005)], 0);
    let other = hours(&[(100.0, 0.0), (300.0, 0.0)], &[of(0, b, 0.005), of(1, a, 0.01)], 1);
    assert_eq!(one, other, "whichever stands first");
    one
}

/// Solved by hand, as above. In the dark under 420 W the posts stand at (13.0641 + sqrt(13.0641^2 - 4 x 420 x 0.02)) / 2 =
/// 12.3859 V, A's terminals 300 / 12.3859 x 0.01 = 0.2422 V lower, at 12.1437 V, B's 100 / 12.3859 x 0.005 = 0.0404 V lower,
/// at 12.3455 V. Without A, under 120 W: 12.8777 V, and B's terminals 0.0388 V lower. Without B, under 320 W, A's are at
/// 12.3154 V. A cut-off of 12.15 V strikes with the posts at (12.15 + sqrt(12.15^2 + 4 x 300 x 0.01)) / 2 = 12.3920 V, one of
/// 12.35 V of B at 12.3904 V, of 12.36 V at 12.4003 V. With 30 A, V V - 13.6641 V + 0.02 x 420 = 0: 13.0189 V; without B
/// 13.1785 V.
#[test]
fn each_inverter_has_its_own_cut_off() {
    assert_eq!(two_off((12.140, None), (12.340, None)), (0, 0), "both below where their terminals stand");
    assert_eq!(two_off((12.150, None), (12.340, None)), (18, 0), "A alone is above");
    assert_eq!(two_off((12.140, None), (12.350, None)), (0, 18), "B alone is above");
    // Both are: the first to go relieves the other.
    assert_eq!(two_off((12.150, None), (12.350, None)), (18, 0));
    assert_eq!(two_off((12.150, None), (12.360, None)), (0, 18));
    assert_eq!(two_off((12.330, None), (12.860, None)), (18, 18), "not by enough");
    // B starts again with the posts, without it, at its second threshold; its own load may be too much for it once more.
    for (on_v, hours) in [(12.5, 18), (12.6, 18), (13.17, 18), (13.19, 24)] {
        assert_eq!(two_off((12.150, None), (12.360, Some(on_v))), (0, hours), "{on_v}");
    }
    // Neither was off before: none waits.
    assert_eq!(two_off((12.140, Some(14.0)), (12.340, Some(14.0))), (0, 0));
}

fn coach(off_v: f64, on_v: Option<f64>) -> Plan {
    let on_v = on_v.map_or(Value::Nothing, n);
    with(&plan("larkspur"), &[("inverters.INV.cutoff_v", n(off_v)), ("inverters.INV.restart_v", on_v)])
}

/// A whole coach: the higher the cut-off, the more it keeps from its loads, up to all of them on days away from shore; one
/// with a second threshold is off no shorter. The answer does not depend on how many threads the year runs.
#[test]
fn a_higher_cut_off_serves_no_more() {
    let mut all = Vec::new();
    for (off_v, on_v) in [(5.0, None), (12.9, None), (12.9, Some(13.25)), (13.2, None), (20.0, None)] {
        let plan = coach(off_v, on_v);
        let input = input("larkspur", &plan);
        let told = year(&input);
        for m in &told.months {
            assert!(m.cut_off_wh <= m.shortfall_wh() * (1.0 + 1e-9), "{off_v}: {m:?}");
        }
        for threads in 2..5 {
            assert!(year_on(&input, threads) == told, "{off_v} {on_v:?} on {threads} threads");
        }
        let off: f64 = told.months.iter().map(|m| m.cut_off_wh).sum();
        let days = coachwire::climate::year::MONTH_DAYS.map(|days| days as f64);
        let report = Engine::default().evaluate(&plan, &Stock::default());
        let months = report.year.months.iter().zip(days);
        let shown: f64 = months.map(|(m, days)| m.cut_off_wh_day.clone().unwrap().unwrap().0 * days).sum();
        near_rel("shown", shown, off, 1e-9);
        all.push(off);
    }
    let [never, some, latched, more, always] = all.try_into().unwrap();
    assert_eq!(never, 0.0);
    assert!(0.0 < some && some < more && more < always && latched > some, "{some} {latched} {more} {always}");
    // By hand: all that goes through the inverter, on every day that is not spent on shore.
    let input = input("larkspur", &coach(20.0, None));
    let on_shore = coachwire::engine::day::on_shore(&input.stays);
    let mut by_hand = 0.0;
    for (day, shore) in on_shore.iter().enumerate() {
        let month = coachwire::climate::year::MONTH_DAYS.iter().scan(0, |end, days| {
            *end += days;
            Some(*end)
        });
        let month = month.take_while(|end| *end <= day).count();
        by_hand += if *shore { 0.0 } else { (0..24).map(|h| input.usage.at(month, h, false).ac_w).sum() };
    }
    near_rel("all of it", always, by_hand, 1e-9);
}

/// Ohm's law: thicker wire to the inverter never has it off for longer.
#[test]
fn more_copper_to_an_inverter_never_cuts_off_more() {
    let coach = coach(12.95, None);
    let way = coach.runs.iter().filter(|r| r.to.known().is_some_and(|to| to.as_str() == "INV"));
    let gauge = way.map(|r| format!("runs.{}.gauge", r.id)).next().expect("a run to it");
    let mut before = f64::INFINITY;
    let mut all = Vec::new();
    for size in 0..15 {
        let gauge_of = Value::Gauge(coachwire::standards::conductor::Gauge::Awg(size));
        let told = year(&input("larkspur", &with(&coach, &[(&gauge, gauge_of)])));
        let off: f64 = told.months.iter().map(|m| m.cut_off_wh).sum();
        assert!(off <= before * (1.0 + 1e-3), "{size}: {off} after {before}");
        all.push(off);
        before = off;
    }
    assert!(all[0] > all[14], "it matters: {all:?}");
}

/// A second threshold that is none, or that nothing reaches, is said; one between them is not. By hand: the coach's chargers
/// are set to 14.2 V at most, its cut-off to 11.6 V.
#[test]
fn volts_to_start_again_are_between_cut_off_and_charge() {
    for (on_v, said) in
        [(11.0, "not above its cut-off of 11.6 V"), (11.6, "not above"), (14.3, "once off it stays off")]
    {
        let report = Engine::default().evaluate(&coach(11.6, Some(on_v)), &Stock::default());
        let found: Vec<String> =
            report.findings.iter().filter(|f| f.check.id == "inverter-restart-volts").map(|f| f.text()).collect();
        assert!(found.len() == 1 && found[0].contains(said), "{on_v}: {found:?}");
    }
    for on_v in [None, Some(12.5), Some(14.2)] {
        let report = Engine::default().evaluate(&coach(11.6, on_v), &Stock::default());
        assert!(report.findings.iter().all(|f| f.check.id != "inverter-restart-volts"), "{on_v:?}");
    }
}

/// What is not known about it leaves it out: as if it were never off, and no figure says that it was not.
#[test]
fn what_is_not_known_of_it_leaves_it_out() {
    let stock = Stock::default();
    let unknown = with(&plan("larkspur"), &[("inverters.INV.cutoff_v", Value::Unknown)]);
    let report = Engine::default().evaluate(&unknown, &stock);
    assert!(report.year.months.iter().all(|m| m.cut_off_wh_day.is_none()));
    assert!(report.unknown.iter().any(|at| at.as_str() == "inverters.INV.cutoff_v"));
    let known = Engine::default().evaluate(&coach(5.0, None), &stock);
    assert!(known.year.months.iter().all(|m| m.cut_off_wh_day.as_ref().is_some_and(|f| f.is_ok())));
    assert_eq!(known.year.unmet_pct, report.year.unmet_pct);
}
