//! How warm a bank with a heater is: by what it gets, no more; and what that does to charge, and to how long it lasts.

use coachwire::engine::Engine;
use coachwire::engine::day::Usage;
use coachwire::engine::solve::Posts;
use coachwire::engine::year::{YearInput, run};
use coachwire::physics::battery::Bank;
use coachwire::plan::{Plan, Strings, Value};
use coachwire::stock::Stock;

use super::truths::cold_heated;
use super::{coaches, hours, input, n, plan, with};
use crate::support::near_abs;

/// A coach in the far north whose loads and heater take more than a winter brings.
fn starved() -> Plan {
    let cold = [
        ("stays.ST1.latitude_deg", n(61.5)),
        ("stays.ST1.longitude_deg", n(-145.0)),
        ("bank.parallel", n(3.0)),
        ("bank.heated", Value::Word("no")),
    ];
    with(&cold_heated(60.0), &cold)
}

/// Each hour's rise above the surroundings follows from that before and from what the heater got in it, worked out anew here:
/// 11.3398 kg a battery of 1 kJ/(kg K), and a loss by the surface of a cube of 100 Wh/l at 3 W/m2K. In the dark with nothing
/// served it gets nothing, and asks all the same.
/// Source: Newton's law of cooling; conservation of energy.
#[test]
fn a_bank_is_warmed_by_what_its_heater_gets() {
    for (plan, batteries) in [(cold_heated(60.0), 1.0), (starved(), 3.0)] {
        let input = input("heated", &plan);
        let Posts::Bank(bank) = input.circuit.posts else { panic!("no bank") };
        let warm = input.stays[0].warm.clone().expect("warmth");
        let side_m = (bank.energy_wh(1.0) / batteries / 100_000.0).cbrt();
        let loss_w_k = 3.0 * 6.0 * side_m * side_m * batteries;
        let heat_wh_k = 11.3398 * batteries / 3.6;
        let keeps = (-loss_w_k / heat_wh_k).exp();
        let mut next_k: Option<f64> = None;
        let (mut starved, mut fed, mut cut) = (0, 0, 0);
        hours(&input, |hour, moment, _, step| {
            let bare_c = warm.bare_c(usize::from(hour));
            let rise_k = moment.battery_c - bare_c;
            if let Some(next_k) = next_k {
                near_abs(&format!("hour {hour}"), rise_k, next_k, 1e-9);
            }
            assert!((0.0..=60.0 + 1e-9).contains(&step.heat_wh), "hour {hour}: {step:?}");
            assert!(step.heat_wh <= step.served_wh + 1e-9, "hour {hour}: {step:?}");
            let holds_w = loss_w_k * (5.0 - bare_c).max(0.0);
            if step.served_wh == 0.0 && bare_c < 0.0 {
                assert_eq!(step.heat_wh, 0.0);
                assert!(step.load_wh >= holds_w.min(60.0), "hour {hour}: the thermostat asks: {step:?}");
                starved += 1;
            }
            cut += u32::from(step.heat_wh > 0.0 && step.shortfall_wh() > 1.0);
            fed += u32::from(step.heat_wh > 10.0);
            next_k = Some(rise_k * keeps + step.heat_wh / loss_w_k * (1.0 - keeps));
            // No jump: no more than its heater's power brings.
            assert!(next_k.expect("a rise") - rise_k <= step.heat_wh / heat_wh_k + 1e-9, "hour {hour}");
        });
        assert!(fed > 300, "{fed} hours of heat");
        assert!(batteries == 1.0 || starved > 100 && cut > 20, "{starved} hours without, {cut} with a part of it");
    }
}

/// Lithium takes no charge while it is itself below its cut-off, heater or not.
/// Source: plating; rules of the trade, no charge below the cut-off.
#[test]
fn no_charge_enters_below_the_cut_off_heated_or_not() {
    let mut all = coaches();
    all.extend([
        ("starved", input("starved", &starved())),
        ("unheated", {
            let bare = with(&starved(), &[("bank.heater_w", Value::Nothing)]);
            input("unheated", &bare)
        }),
    ]);
    let (mut cold, mut cold_heated) = (0, 0);
    for (name, input) in all {
        let Posts::Bank(Bank { least_charge_c: Some(least_c), .. }) = input.circuit.posts else { continue };
        let heated = input.stays.iter().any(|s| s.warm.as_ref().is_some_and(|w| w.heater.is_some()));
        hours(&input, |hour, moment, flow, step| {
            if moment.battery_c < least_c {
                assert!(flow.net_a <= 0.0 && step.balance.in_wh == 0.0, "{name} hour {hour}: {flow:?}");
                assert!(step.after.soc <= moment.store.soc, "{name} hour {hour}");
                if step.harvest_wh > 5.0 {
                    *(if heated { &mut cold_heated } else { &mut cold }) += 1;
                }
            }
        });
    }
    assert!(cold > 300 && cold_heated > 100, "{cold} bright hours unheated, {cold_heated} heated");
}

fn temperatures(input: &YearInput) -> Vec<f64> {
    let mut all = Vec::with_capacity(8760);
    run(input, &mut |_, moment, _, _| all.push(moment.battery_c));
    all
}

/// A larger heater on a bank that has charge for it never leaves it cooler, in any hour.
/// Source: more heat, more warmth.
#[test]
fn more_heater_power_never_lowers_the_banks_temperature() {
    let mut before: Option<Vec<f64>> = None;
    for watts in [0.0, 5.0, 20.0, 60.0, 200.0] {
        let heater = if watts > 0.0 { n(watts) } else { Value::Nothing };
        let mut input = input("heated", &with(&starved(), &[("bank.heater_w", heater)]));
        let Posts::Bank(bank) = input.circuit.posts else { panic!("no bank") };
        input.circuit.posts = Posts::Bank(Bank { rated_ah: 2e6, ..bank });
        input.usage = Usage::none();
        let now = temperatures(&input);
        if let Some(before) = &before {
            let cooler = now.iter().zip(before).map(|(now, before)| before - now).fold(f64::MIN, f64::max);
            assert!(cooler <= 1e-9, "{watts} W: {cooler} K cooler");
            assert!(watts > 60.0 || now.iter().sum::<f64>() > before.iter().sum::<f64>(), "{watts} W");
        }
        before = Some(now);
    }
}

/// How long a bank lasts without sun is no matter of how much sun it has: a bank that lasts heats itself, whatever panels it
/// has. And where it goes empty its heater is among what goes short.
/// Source: rules of the trade: usable energy over a day's load.
#[test]
fn more_panel_never_lowers_days_without_sun() {
    let stock = Stock::default();
    for (name, coach) in [("starved", starved()), ("marram", plan("marram")), ("sorrel", plan("sorrel"))] {
        let mut before: Option<Vec<f64>> = None;
        let mut short_wh = f64::INFINITY;
        for strings in [1, 2, 8] {
            let array = &coach.arrays[0];
            let strings = Strings(vec![array.strings.0[0].clone(); strings]).to_string();
            let at = format!("arrays.{}.strings", array.id);
            let larger = with(&coach, &[(at.as_str(), Value::Text(strings))]);
            let year = Engine::default().evaluate(&larger, &stock).year;
            let lasts: Vec<f64> = year.months.iter().map(|m| m.days_without_sun.clone().expect("known")).collect();
            for (m, now) in lasts.iter().enumerate() {
                let before = before.as_ref().map_or(0.0, |before| before[m]);
                assert!(*now >= before * (1.0 - 1e-12), "{name} month {m}: {now} after {before} days");
            }
            let short: f64 = year.months.iter().map(|m| m.shortfall_wh_day.clone().expect("known").0).sum();
            assert!(short <= short_wh, "{name}: {short} after {short_wh} Wh");
            (before, short_wh) = (Some(lasts), short);
        }
    }
}

/// By hand, January: 3 batteries of 1.28 kWh lose 0.985 W/K each; a bank that lasts is held at 5 C, or as far as 60 W go.
/// Usable energy over the audit, the controller's watt and that heat.
#[test]
fn a_bank_that_lasts_heats_itself() {
    let coach = starved();
    let report = Engine::default().evaluate(&coach, &Stock::default());
    let input = input("starved", &coach);
    let warm = input.stays[0].warm.clone().expect("warmth");
    let month = &report.year.months[0];
    let heat_wh: f64 = (0..744).map(|h| (2.955 * (5.0 - warm.bare_c(h)).max(0.0)).min(60.0)).sum::<f64>() / 31.0;
    let audit_wh = report.loads.wh_day[0].clone().expect("known").0;
    let usable_wh = report.bank.usable_wh.clone().expect("known").0;
    let lasts = month.days_without_sun.clone().expect("known");
    let load_wh = usable_wh / lasts;
    assert!((load_wh / (audit_wh + heat_wh) - 1.0).abs() < 0.03, "{load_wh} of {audit_wh} and {heat_wh} Wh");
    assert!(heat_wh > 500.0, "{heat_wh}");
    // It asks no less where it has not got it, and no more than that: 300 W on the same thermostat go without no more.
    let strong =
        Engine::default().evaluate(&with(&coach, &[("bank.heater_w", Value::Number(300.0))]), &Stock::default());
    let most_wh: f64 = (0..744).map(|h| 2.955 * (5.0 - warm.bare_c(h)).max(0.0)).sum::<f64>() / 31.0;
    let strong_wh = strong.year.months[0].load_wh_day.clone().expect("known").0;
    assert!(strong_wh <= (audit_wh + most_wh) * 1.03, "{strong_wh} of {audit_wh} and {most_wh} Wh");
    assert!((month.load_wh_day.clone().expect("known").0 / load_wh - 1.0).abs() < 0.03, "{month:?}");
    assert!(month.shortfall_wh_day.clone().expect("known").0 > 0.3 * heat_wh, "{month:?}");
}

/// By hand: what cold leaves in a bank is no more to be had by days without sun than by the year: 0.5 % of the label for each
/// kelvin below 25 C, where that is more than the user's floor.
/// Source: as the floor's own, Copetti, Lorenzo & Chenlo 1993; common practice for lithium.
#[test]
fn days_without_sun_know_the_cold_that_the_year_knows() {
    let cold = with(&plan("bramble"), &[("stays.ST1.latitude_deg", n(47.0)), ("stays.ST1.longitude_deg", n(-100.0))]);
    let report = Engine::default().evaluate(&cold, &Stock::default());
    let input = input("cold", &cold);
    let warm = input.stays[0].warm.clone().expect("warmth");
    let floor = 1.0 - cold.bank.usable_pct.as_ref().and_then(|u| u.known()).map_or(0.9, |pct| pct.0 / 100.0);
    let usable_wh = report.bank.usable_wh.clone().expect("known").0;
    let mut colder = 0;
    for (m, first_h, hours) in [(0, 0, 744), (6, 4344, 744)] {
        let mean_c = (first_h..first_h + hours).map(|h| warm.bare_c(h)).sum::<f64>() / hours as f64;
        let left = (0.005 * (25.0 - mean_c)).max(floor);
        let load_wh = report.year.months[m].load_wh_day.clone().expect("known").0;
        let by_hand = usable_wh * (1.0 - left) / (1.0 - floor) / load_wh;
        let lasts = report.year.months[m].days_without_sun.clone().expect("known");
        assert!((lasts / by_hand - 1.0).abs() < 1e-3, "month {m}: {lasts} and {by_hand}, {mean_c} C");
        colder += u32::from(left > floor);
    }
    assert_eq!(colder, 1, "the cold counts in January alone");
}
