//! The volts that a tracking controller needs to start.

use coachwire::engine::solve::{Lit, Posts};
use coachwire::plan::Value;

use super::{hours, input, n, plan, with};
use crate::support::near_rel;

/// Harvest and the arrays' own energy of a year, Wh, with what got lost to volts.
fn year_of(headroom: Value) -> (f64, f64, f64) {
    let plan = with(&plan("bramble"), &[("controllers.C1.start_headroom_v", headroom)]);
    let input = input("bramble", &plan);
    let (mut harvest, mut array) = (0.0, 0.0);
    hours(&input, |_, _, _, step| {
        harvest += step.harvest_wh;
        array += step.array_wh;
    });
    let lost: f64 = coachwire::engine::year::year(&input).months.iter().map(|m| m.mismatch_wh).sum();
    (harvest, array, lost)
}

/// A headroom that no day reaches, 60 V over the bank of a panel of 23 V open, lets nothing through: all the array has is lost
/// to volts. One that every day reaches changes nothing. Source: definition of the field.
#[test]
fn what_never_starts_brings_nothing() {
    let (free, array, lost) = year_of(n(0.0));
    assert!(free > 0.8 * array && lost < 0.01 * array, "{free} of {array}, {lost}");
    let (none, same, all_lost) = year_of(n(60.0));
    assert_eq!(none, 0.0);
    near_rel("the array's own", same, array, 1e-12);
    near_rel("lost", all_lost, array, 1e-9);
    assert_eq!(year_of(Value::Unknown).0, free, "unknown counts as none");
    // Dearer with every volt.
    let mut before = free;
    for volts in [2.0, 5.0, 7.0, 8.0, 9.0, 10.0] {
        let (harvest, ..) = year_of(n(volts));
        assert!(harvest <= before * (1.0 + 1e-4), "{volts} V: {harvest} after {before}");
        before = harvest;
    }
    assert!(before < 0.9 * free, "{before} of {free}");
}

/// Every hour: a controller that has not run today is dark until its array, open, stands so far above the resting bank;
/// then it runs until midnight. The open volts are those of the hour's own cell.
#[test]
fn each_day_starts_where_its_volts_say() {
    let plan = with(&plan("bramble"), &[("controllers.C1.start_headroom_v", n(7.0))]);
    let waiting = input("bramble", &plan);
    let Posts::Bank(bank) = waiting.circuit.posts else { panic!("a bank") };
    let offer = waiting.stays[0].lights[0].offer.clone();
    let (mut runs, mut waits, mut started, mut day) = (0, 0, false, 0);
    hours(&waiting, |hour, moment, _, step| {
        if hour / 24 != day {
            (day, started) = (hour / 24, false);
        }
        let Ok(at) = offer.hours.binary_search_by_key(&hour, |h| h.hour) else { return };
        let open_v = offer.hours[at].even.as_ref().expect("one panel").open_circuit_v();
        started |= open_v >= bank.at(moment.store, moment.battery_c).rest_v() + 7.0;
        assert_eq!(!matches!(moment.lit[0], Lit::None), started, "hour {hour}: {open_v} V open");
        assert!(started || step.harvest_wh == 0.0);
        if started {
            runs += 1;
        } else {
            waits += 1;
        }
    });
    assert!(runs > 1000 && waits > 40, "{runs} {waits}");
}
