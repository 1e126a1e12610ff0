//! What a year must not tell: energy from nowhere, heat from nowhere, charge counted where none can enter.

use coachwire::engine::Engine;
use coachwire::engine::solve::Posts;
use coachwire::engine::year::{MonthSums, StayInput, run, year, year_on};
use coachwire::physics::lead::Plates;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

use super::{coaches, hours, input, n, plan, with};
use crate::support::near_rel;

/// Solar, other, served, stored, lost and asked, Wh a year.
fn sums(plan: &Plan) -> [f64; 6] {
    let year = year(&input("year", plan));
    let sum = |of: fn(&coachwire::engine::year::MonthSums) -> f64| year.months.iter().map(of).sum::<f64>();
    [
        sum(|m| m.solar_wh),
        sum(|m| m.other_wh),
        sum(|m| m.served_wh),
        sum(|m| m.stored_wh),
        sum(|m| m.lost_wh),
        sum(|m| m.load_wh),
    ]
}

/// Source: conservation of energy: a year that stands for every year gives what it takes. A bank of half a season's load
/// must not begin it on a charge that no year brings.
#[test]
fn a_year_closes_however_large_the_bank() {
    for parallel in [1.0, 8.0, 40.0] {
        let large = with(&plan("bramble"), &[("bank.parallel", n(parallel)), ("loads.L1.watts_w", n(60.0))]);
        let [solar, other, served, stored, lost, asked] = sums(&large);
        assert!(stored.abs() <= 0.002 * asked, "{parallel}: {stored} Wh of {asked} left over");
        assert!((solar + other - served - lost - stored).abs() < 1e-3, "{parallel}: {solar} {served} {lost}");
    }
}

pub(super) fn cold_heated(watts: f64) -> Plan {
    let place = [("stays.ST1.latitude_deg", n(47.0)), ("stays.ST1.longitude_deg", n(-100.0))];
    let bare = with(&plan("bramble"), &place);
    with(&bare, &[("bank.heater_w", n(watts))])
}

/// By hand: a body that loses U A per kelvin needs U A dT whatever the heater that holds it; only one too small for that
/// gives less. 3 W/m2K on a cube of 100 Wh/l: 1.28 kWh make 12.8 l, a side of 0.234 m, 0.328 m2, 0.985 W/K.
/// Source: heat transmission through a surface, Q = U A dT.
#[test]
fn a_larger_heater_runs_for_a_smaller_share() {
    let per_k = coachwire::physics::warmth::loss_w_k(1280.0, 1.0);
    assert!((per_k - 0.985).abs() < 0.001, "{per_k} W/K");
    let need = |watts: f64| {
        let input = input("heated", &cold_heated(watts));
        let stay: &StayInput = &input.stays[0];
        stay.warm.as_ref().expect("warmth").held_wh.iter().sum::<f64>()
    };
    let (large, larger) = (need(150.0), need(600.0));
    assert!(large > 1000.0 && (large - larger).abs() < 1e-6 * large, "{large} {larger}");
    assert!(need(1.0) < large && need(1.0) > 0.0);
}

/// Alternator and shore stand apart: with neither the other brings all, with both each its part, and together they are
/// what came. Source: conservation of charge, each charger's amps at the same posts.
#[test]
fn alternator_and_shore_stand_apart() {
    let of = |drive_h: f64, shore_days: f64| {
        let edits = [("stays.ST1.drive_h_day", n(drive_h)), ("stays.ST1.shore_days_month", n(shore_days))];
        let hungry = [("loads.L1.watts_w", n(300.0)), ("loads.L1.hours_day", n(20.0))];
        let input = input("marram", &with(&plan("marram"), &[&edits[..], &hungry[..]].concat()));
        let sum = |of: fn(&MonthSums) -> f64| year(&input).months[..3].iter().map(of).sum::<f64>();
        (sum(|m| m.other_wh), sum(|m| m.shore_wh))
    };
    let (driven, none) = of(2.0, 0.0);
    assert!(driven > 1000.0 && none == 0.0, "{driven} {none}");
    let (plugged, shore) = of(0.0, 6.0);
    near_rel("all from shore", shore, plugged, 1e-12);
    let (both, part) = of(2.0, 6.0);
    assert!(part > 0.0 && part < both && both > driven.max(plugged), "{part} of {both}");
}

/// Half a shore day a month is one every other month; the days of a month spread evenly.
/// Source: counting.
#[test]
fn part_of_a_shore_day_goes_over_to_the_next_month() {
    let shore = |days: f64| {
        let plan = with(&plan("sorrel"), &[("stays.ST1.shore_days_month", n(days))]);
        let input = input("shore", &plan);
        let mut seen = 0;
        hours(&input, |_, moment, _, _| seen += u32::from(moment.feeding.iter().any(|share| *share > 0.0)));
        assert_eq!(seen % 24, 0, "whole days");
        seen / 24
    };
    assert_eq!([shore(0.0), shore(0.5), shore(1.0), shore(1.5), shore(31.0)], [0, 6, 12, 18, 365]);
}

/// A month always plugged in may be entered as 31 days: none of them is spent elsewhere, at a stay that has no shore power.
/// Source: the calendar.
#[test]
fn no_shore_day_is_spent_at_another_stay() {
    let shore = |months: &str, rest: &str, days: f64| {
        let larkspur = plan("larkspur");
        let text = |months: &str| Value::Text(months.into());
        let set = [
            ("stays.ST1.months", text(months)),
            ("stays.ST2.months", text(rest)),
            ("stays.ST3.months", text("none")),
            ("stays.ST1.shore_days_month", n(days)),
            ("stays.ST2.shore_days_month", n(0.0)),
        ];
        let input = input("shore", &with(&larkspur, &set));
        let on_shore = coachwire::engine::day::on_shore(&input.stays);
        let mut fed = [0; 12];
        hours(&input, |hour, moment, _, _| {
            let month = MONTH_ENDS.iter().position(|end| usize::from(hour) / 24 < *end).expect("a month");
            fed[month] += u32::from(moment.feeding.iter().any(|share| *share > 0.0));
        });
        let days: u32 = on_shore.iter().map(|on| u32::from(*on)).sum();
        assert_eq!(fed.iter().sum::<u32>(), 24 * days);
        fed.map(|hours| hours / 24)
    };
    let feb = shore("Feb", "Mar-Jan", 31.0);
    assert_eq!(feb, [0, 28, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    assert_eq!(shore("Feb", "Mar-Jan", 28.0), feb);
    assert_eq!(shore("Jan-Apr", "May-Dec", 31.0), [31, 28, 31, 30, 0, 0, 0, 0, 0, 0, 0, 0]);
    assert_eq!(shore("Jan-Apr", "May-Dec", 30.5), [30, 28, 31, 30, 0, 0, 0, 0, 0, 0, 0, 0]);
}

const MONTH_ENDS: [usize; 12] = [31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365];

/// Source: recombination: sealed cells lose less of a charge than flooded ones at the same settings.
#[test]
fn sealed_lead_loses_less_than_flooded() {
    let lost = |plates: Plates| {
        let mut input = input("sorrel", &plan("sorrel"));
        if let coachwire::engine::solve::Posts::Bank(bank) = &mut input.circuit.posts {
            bank.make = coachwire::physics::battery::Make::Lead(plates);
        }
        year(&input).months.iter().map(|m| m.lost_wh).sum::<f64>()
    };
    let (flooded, gel, agm) = (lost(Plates::Flooded), lost(Plates::Gel), lost(Plates::Agm));
    assert!(agm < gel && gel < flooded, "{agm} {gel} {flooded}");
}

/// What the engine could bring and cold lithium does not take is said.
/// Source: no charge enters below the cut-off; the rest by subtraction.
#[test]
fn driving_in_the_cold_is_lost_and_said() {
    let place = [
        ("stays.ST1.latitude_deg", n(64.0)),
        ("stays.ST1.longitude_deg", n(-148.0)),
        ("stays.ST1.drive_h_day", n(2.0)),
        ("bank.heated", Value::Word("no")),
    ];
    let report = Engine::default().evaluate(&with(&plan("marram"), &place), &Stock::default());
    let january = &report.year.months[0];
    let lost = january.other_cold_wh_day.clone().unwrap().0;
    // Two hours of 30 A into about 13 V.
    assert!((700.0..900.0).contains(&lost), "{lost} Wh a day");
    let said = report.findings.iter().find(|f| f.identity().0 == "charge-lost-to-cold").expect("said");
    assert!(said.n(0) > 30.0 * lost, "{}", said.n(0));
}

/// Plain hours come to what they would the general way, bit for bit: a year that somebody looks at goes that way in every
/// hour. Over other banks, ways and cut-offs than the samples have, too.
/// Source: the same moments, solved and summed both ways.
#[test]
fn plain_hours_are_as_any_other() {
    let mut looked_at = 0;
    for (name, input) in coaches() {
        for (k, share) in [1.0, 0.12, 4.0].into_iter().enumerate() {
            let mut input = input.clone();
            if let Posts::Bank(bank) = &mut input.circuit.posts {
                (bank.rated_ah, bank.sag_ohm) = (bank.rated_ah * share, bank.sag_ohm.map(|ohm| ohm / share));
                bank.most_charge_a = bank.most_charge_a.filter(|_| k != 1);
                bank.least_charge_c = bank.least_charge_c.map(|least_c| least_c + 9.0 * k as f64);
            }
            input.stays.iter_mut().for_each(|stay| stay.shore_days *= f64::from(u8::from(k != 2)));
            let watched = run(&input, &mut |_, _, _, _| looked_at += 1);
            assert_eq!(year(&input), watched, "{name}, {share} of its bank");
        }
    }
    assert!(looked_at > 30 * 8760, "{looked_at} hours");
}

/// A year on several threads is the year on one, bit for bit: stretches begun on a guess count only where they stand
/// where the true course stands.
#[test]
fn threads_change_nothing() {
    let mut all = coaches();
    // Away for the summer, and a bank that is never full: nothing begun ahead may count there.
    let hungry = [("loads.L1.watts_w", n(4000.0)), ("loads.L1.hours_day", n(24.0))];
    all.push(("never full", input("never full", &with(&plan("bramble"), &hungry))));
    for (name, input) in &mut all {
        let one = year(input);
        for threads in [2, 3, 4, 9] {
            assert_eq!(year_on(input, threads), one, "{name} on {threads}");
        }
        input.stays[0].months &= 0b1100_0000_0111;
        input.passes = 1;
        assert_eq!(year_on(input, 2), year(input), "{name}, a part of the year");
    }
}
