//! Batteries: published numbers, hand calculations, and what must hold whatever the numbers.

use coachwire::physics::battery::{Balance, Bank, Flow, Limit, Make, Offer, Store};
use coachwire::physics::charging::ChargeSettings;
use coachwire::physics::lead::{self, Cell, Plates};
use coachwire::physics::warmth::Body;
use coachwire::physics::{lithium, warmth};
use proptest::prelude::*;

use crate::support::{near_abs, near_rel, rows};

fn flooded(rated_ah: f64) -> Bank {
    Bank {
        make: Make::Lead(Plates::Flooded),
        cells: 6.0,
        rated_ah,
        sag_ohm: None,
        most_charge_a: None,
        most_discharge_a: None,
        least_v: None,
        least_soc: 0.0,
        least_charge_c: None,
    }
}

fn phosphate(rated_ah: f64) -> Bank {
    Bank { make: Make::Phosphate, cells: 4.0, least_charge_c: Some(0.0), ..flooded(rated_ah) }
}

/// Source: Copetti, Lorenzo & Chenlo 1993, six cells, computed outside this project.
#[test]
fn lead_agrees_with_the_published_model() {
    for row in rows("physics/battery_leadacid.csv") {
        let (c10_ah, battery_c, current_a) = (row.num("C10"), row.num("T_C"), row.num("I"));
        let cell = Cell::at(Plates::Flooded, c10_ah, row.num("soc"), battery_c);
        let what = |name: &str| format!("line {}: {name}", row.line);
        near_rel(&what("charge"), 6.0 * cell.charging(current_a).volts, row.num("V_charge"), 1e-6);
        near_rel(&what("discharge"), 6.0 * cell.discharging(current_a).volts, row.num("V_discharge"), 1e-6);
        near_rel(&what("gassing"), 6.0 * lead::gassing_v(c10_ah, battery_c, current_a), row.num("V_gassing"), 1e-6);
        near_rel(&what("final"), 6.0 * lead::final_v(c10_ah, battery_c, current_a), row.num("V_final"), 1e-6);
        near_rel(&what("ratio"), lead::capacity_ratio(c10_ah, battery_c, current_a), row.num("C_ratio"), 1e-6);
        near_rel(&what("efficiency"), cell.charge_efficiency(current_a), row.num("eta_charge"), 1e-6);
        near_rel(&what("accepted"), cell.accepted_a(row.num("V_abs") / 6.0), row.num("I_cv"), 1e-6);
    }
}

/// Source: Prada et al. 2013, J. Electrochem. Soc. 160:A616, curve computed outside this project.
#[test]
fn lithium_rests_at_the_published_volts() {
    let table = rows("physics/lfp_ocv.csv");
    for row in &table {
        near_abs("rest", lithium::rest_cell_v(row.num("soc")), row.num("cell_v"), 2e-5);
        near_abs("pack", phosphate(100.0).cells * lithium::rest_cell_v(row.num("soc")), row.num("pack4_v"), 2e-4);
    }
    // Between two rows the curve stays between their volts, for it never falls.
    for pair in table.windows(2) {
        let [low, high] = pair else { panic!("two rows") };
        let middle = lithium::rest_cell_v(f64::midpoint(low.num("soc"), high.num("soc")));
        assert!(middle > low.num("cell_v") && middle < high.num("cell_v"), "line {}: {middle}", low.line);
    }
    for i in 0..=1000 {
        let soc = f64::from(i) / 1000.0;
        near_abs("inverse", lithium::soc_at_rest_v(lithium::rest_cell_v(soc)), soc, 1e-9);
        assert!(i == 0 || lithium::rest_cell_v(soc) > lithium::rest_cell_v(soc - 0.001));
    }
}

/// Source: trapezoids over the published curve's 41 points: 3.19 Wh per Ah within half a percent.
#[test]
fn energy_is_the_area_under_the_rest_volts() {
    let table = rows("physics/lfp_ocv.csv");
    let area: f64 = table
        .windows(2)
        .map(|w| (w[1].num("soc") - w[0].num("soc")) * f64::midpoint(w[0].num("cell_v"), w[1].num("cell_v")))
        .sum();
    near_rel("lithium", phosphate(100.0).energy_wh(1.0), 400.0 * area, 5e-3);
    // Lead's rest volts rise from 1.9825 to 2.1225 a cell: mean 2.0525 x 6 x 200 Ah.
    near_abs("lead", flooded(200.0).energy_wh(1.0), 2463.0, 1e-9);
}

/// Source: hand calculation. 100 Ah, 10 mohm, half full: 4 x 3.26603 = 13.06412 V at rest; 20 A lift it by 0.2 V;
/// one hour at that power brings 265.28 Wh, of which 0.995 x 20 x 13.06412 = 259.98 Wh stay; a charger that goes on with its
/// 20 A brings 265.52 Wh and 19.9 Ah. States after the hour: the published curve in steps of 36 ms, outside this project.
#[test]
fn an_hour_of_lithium_by_hand() {
    let bank = phosphate(100.0);
    let now = bank.at(Store { soc: 0.5 }, 25.0);
    near_abs("rest", now.rest_v(), 13.06412, 1e-4);
    let flow = now.take(Offer::Current(20.0), 14.2);
    near_abs("volts", flow.volts, 13.26412, 1e-4);
    assert_eq!(flow.limit, Limit::None);
    let (after, balance) = now.charge(&flow, 14.2, 0.0, 1.0);
    near_abs("state", after.soc, 0.698_823, 2e-5);
    near_abs("in", balance.in_wh, 265.2824, 2e-3);
    near_abs("stored", balance.stored_wh, 259.976, 2e-3);
    near_abs("lost", balance.lost_wh, 0.01 * 20.0 * 20.0 + 0.005 * 20.0 * 13.06412, 1e-3);
    near_abs("closes", balance.gap_wh(), 0.0, 1e-9);
    let (after, balance) = now.fed_by(20.0).charge(&flow, 14.2, 0.0, 1.0);
    near_abs("state", after.soc, 0.699, 1e-12);
    // Straight between the points of its table.
    near_abs("in", balance.in_wh, 265.5168, 5e-3);
    // Rest volts between 0.5 and 0.699 lie within 13.064 and 13.093: 19.9 Ah at about 13.076.
    near_abs("stored", balance.stored_wh, 260.21, 0.15);
    near_abs("closes", balance.gap_wh(), 0.0, 1e-9);
    // The same power asked for: V I = 265.2824.
    near_abs("power", now.take(Offer::Power(flow.power_w()), 14.2).current_a, 20.0, 1e-9);
    // Out: 13.06412 - 0.2 V.
    let out = now.give(Offer::Current(20.0));
    near_abs("sag", out.volts, 12.86412, 1e-4);
    let (after, balance) = now.discharge(&out, 1.0, 0.0);
    near_abs("drawn", after.soc, 0.298_725, 5e-5);
    near_abs("out", balance.out_wh, 257.2824, 2e-3);
    near_abs("stored", balance.stored_wh, -20.0 * 13.06412, 2e-3);
    near_abs("lost", balance.lost_wh, 0.01 * 20.0 * 20.0, 1e-9);
    near_abs("closes", balance.gap_wh(), 0.0, 1e-9);
}

/// A burst into a bank that is nearly empty: its volts rise by more than 2 V in the hour. At the power of the start, or with the
/// 60 A kept up. The first loses a little much, for its ohms are taken at the start's current.
/// Source: the published curve, charge by charge in steps of 36 ms, outside this project.
#[test]
fn a_burst_into_an_empty_bank_gives_back_no_more_than_it_brought() {
    let bank = phosphate(100.0);
    for (soc, [held_soc, held_wh], [kept_soc, kept_wh]) in
        [(0.02, [0.499_558, 626.405], [0.616_994, 793.381]), (0.05, [0.579_452, 704.477], [0.646_994, 800.887])]
    {
        let now = bank.at(Store { soc }, 25.0);
        // The start alone: rest volts and 0.6 V.
        let flow = now.take(Offer::Current(60.0), 20.0);
        let (after, balance) = now.charge(&flow, 20.0, 0.0, 1.0);
        near_abs("power held", after.soc, held_soc, 0.012);
        near_abs("energy", balance.in_wh, held_wh, 0.3);
        assert!(after.soc < held_soc && balance.lost_wh > 30.0, "{balance:?}");
        let (after, balance) = now.fed_by(60.0).charge(&flow, 20.0, 0.0, 1.0);
        near_abs("current kept up", after.soc, kept_soc, 1e-5);
        near_abs("energy", balance.in_wh, kept_wh, 0.3);
        // 36 Wh in its ohms, half a percent of the charge.
        near_abs("lost", balance.lost_wh, 36.0 + 0.005 * (kept_wh - 36.0), 0.01);
    }
}

/// Source: the inverse of an integral gives back where it was taken to, wherever it is looked for first.
#[test]
fn energy_tells_the_state_of_charge() {
    for i in 0..=1000 {
        let soc = f64::from(i) / 1000.0;
        for near in [0.0, soc, 0.5, 1.0] {
            near_abs("inverse", lithium::soc_at_energy(lithium::energy_wh_per_ah(soc), near), soc, 1e-12);
        }
    }
    assert!(lithium::soc_at_energy(lithium::energy_wh_per_ah(1.0) + 0.1, 0.9) > 1.0);
    assert!(lithium::soc_at_energy(-0.1, 0.1) < 0.0);
}

/// Source: hand calculation with the published charge equation: 200 Ah at 14.4 V and 25 C.
#[test]
fn the_last_tenth_of_lead_takes_hours() {
    for (soc, rate) in [(0.7, 0.118), (0.8, 0.070), (0.9, 0.029), (0.95, 0.013), (0.98, 0.004)] {
        let accepted_a = Cell::at(Plates::Flooded, 200.0, soc, 25.0).accepted_a(2.4);
        near_abs("taper", accepted_a / 200.0, rate, 6e-4);
        assert!(Cell::at(Plates::Agm, 200.0, soc, 25.0).accepted_a(2.4) > accepted_a);
    }
    let bank = flooded(200.0);
    let mut store = Store { soc: 0.9 };
    let mut hours = 0;
    while store.soc < 0.98 && hours < 100 {
        let now = bank.at(store, 25.0);
        let flow = now.take(Offer::Power(600.0), 14.4);
        assert_eq!(flow.limit, Limit::Held);
        store = now.charge(&flow, 14.4, 0.0, 1.0).0;
        hours += 1;
    }
    assert!((5..24).contains(&hours), "{hours} h");
}

/// Source: hand calculation. 98 % of 100 Ah full at 14.4 V: 2 Ah of room, 50 A kept up fill it in 2 / 49.75 h. From 15 to 10 %
/// are 60.883 Wh under the published curve, summed outside this project; 20 A at the start's 12.43212 V are 248.642 W: 0.24486 h.
#[test]
fn an_hour_is_cut_where_the_bank_is_full_or_down() {
    let bank = Bank { most_charge_a: Some(50.0), least_soc: 0.1, ..phosphate(100.0) };
    let now = bank.at(Store { soc: 0.98 }, 25.0);
    let flow = now.take(Offer::Current(200.0), 14.7);
    assert_eq!((flow.current_a, flow.limit), (50.0, Limit::Current));
    let (after, balance) = now.fed_by(50.0).charge(&flow, 14.7, 0.0, 1.0);
    near_abs("hours", balance.hours, 0.02 * 100.0 / 49.75, 1e-9);
    near_abs("full", after.soc, 1.0, 1e-12);
    near_abs("closes", balance.gap_wh(), 0.0, 1e-9);
    let now = bank.at(Store { soc: 0.15 }, 25.0);
    let (after, balance) = now.discharge(&now.give(Offer::Current(20.0)), 1.0, 0.0);
    near_abs("hours", balance.hours, 0.244_861, 1e-4);
    near_abs("floor", after.soc, 0.1, 1e-12);
    assert_eq!(bank.at(after, 25.0).give(Offer::Current(20.0)).limit, Limit::Empty);
}

/// Source: Copetti, Lorenzo & Chenlo 1993, capacity: a full bank at a constant current lasts C(I) / I.
#[test]
fn fast_discharge_ends_early_and_loses_no_charge() {
    let rated_ah = 200.0;
    let c10_ah = rated_ah * lead::C10_OF_C20;
    near_rel("20 h", c10_ah * lead::capacity_ratio(c10_ah, 25.0, rated_ah / 20.0), rated_ah, 1e-4);
    let bank = flooded(rated_ah);
    for current_a in [10.0, 20.0, 40.0] {
        let capacity_ah = (c10_ah * lead::capacity_ratio(c10_ah, 25.0, current_a)).min(rated_ah);
        near_rel("floor", (1.0 - bank.floor_soc(25.0, current_a)) * rated_ah, capacity_ah, 1e-4);
    }
    // What 40 A leave, 5 A still draw.
    let left = Store { soc: bank.floor_soc(25.0, 40.0) };
    assert_eq!(bank.at(left, 25.0).give(Offer::Current(40.0)).limit, Limit::Empty);
    assert!(bank.at(left, 25.0).give(Offer::Current(5.0)).current_a > 0.0);
    assert!(bank.usable_wh(Store { soc: 1.0 }, -10.0, 5.0) < bank.usable_wh(Store { soc: 1.0 }, 25.0, 5.0));
}

/// Half of what cold leaves of a lead bank is what may be taken of it, not half of the label.
/// Source: by hand, Copetti, Lorenzo & Chenlo 1993, 0.5 % per K under 25 C: 84 % at -7 C, half of it 42 %; IEEE 1013 divides by
/// depth times temperature factor. Lithium keeps the floor of its label until cold takes more than that.
#[test]
fn depth_is_of_what_cold_leaves() {
    let bank = |make: Make| Bank { make, least_soc: 0.5, ..flooded(200.0) };
    for (battery_c, left) in [(25.0, 1.0), (40.0, 1.0), (5.0, 0.9), (-7.0, 0.84), (-25.0, 0.75)] {
        for plates in [Plates::Flooded, Plates::Agm, Plates::Gel] {
            near_rel("lead", 1.0 - bank(Make::Lead(plates)).floor_soc(battery_c, 0.0), 0.5 * left, 1e-12);
        }
        near_rel("lithium", bank(Make::Phosphate).floor_soc(battery_c, 0.0), 0.5, 1e-12);
    }
}

#[test]
fn no_charge_enters_cold_lithium_unless_heated() {
    let bank = phosphate(100.0);
    let cold = bank.at(Store { soc: 0.5 }, -0.1);
    assert_eq!(cold.take(Offer::Power(300.0), 14.2).limit, Limit::Cold);
    assert_eq!(cold.accepted_a(14.2), 0.0);
    assert!(cold.give(Offer::Power(300.0)).current_a > 0.0);
    let warm = bank.at(Store { soc: 0.5 }, 0.0);
    assert_eq!(warm.take(Offer::Power(300.0), 14.2).limit, Limit::None);
}

/// Source: the management unit's own limits, by hand: 10 mohm from 13.06412 V down to 12.5 V are 56.412 A.
#[test]
fn discharge_stops_at_the_units_limits() {
    let limited = Bank { most_discharge_a: Some(60.0), ..phosphate(100.0) };
    let flow = limited.at(Store { soc: 0.5 }, 25.0).give(Offer::Power(2000.0));
    assert_eq!((flow.current_a, flow.limit), (60.0, Limit::Current));
    let sagging = Bank { least_v: Some(12.5), ..limited };
    let flow = sagging.at(Store { soc: 0.5 }, 25.0).give(Offer::Power(2000.0));
    near_abs("sag", flow.current_a, 56.412, 0.01);
    assert_eq!((flow.volts, flow.limit), (12.5, Limit::Sag));
}

/// Source: common practice: 14.4 V at 25 C with -24 mV per K is 14.76 V at 10 C.
#[test]
fn settings_are_compensated() {
    let settings =
        ChargeSettings { absorb_v: 14.4, absorb_h: Some(3.0), float_v: Some(13.5), compensation_v_per_k: -0.024 };
    near_abs("cold", settings.held_v(false, 10.0), 14.76, 1e-12);
    near_abs("float", settings.held_v(true, 35.0), 13.26, 1e-12);
    assert_eq!(ChargeSettings { float_v: None, ..settings }.held_v(true, 25.0), 0.0);
}

/// Source: hand calculation on the published charge equation. 100 Ah of lithium at 14.4 V with a tail of 2 A through
/// 10 mohm: full at 14.38 V of rest; flooded lead: full where 4.5 A need 2.4 V a cell.
#[test]
fn absorption_ends_at_the_tail_current() {
    let bank = phosphate(100.0);
    let now = bank.at(Store { soc: 0.98 }, 25.0);
    let (after, balance) = now.charge(&Flow { volts: 14.4, current_a: 40.0, limit: Limit::Held }, 14.4, 2.0, 1.0);
    near_abs("rest volts", 4.0 * lithium::rest_cell_v(after.soc), 14.38, 1e-6);
    assert!(balance.hours < 1.0, "{balance:?}");
    assert!(bank.at(after, 25.0).tapered(14.4, 2.0 + 1e-3), "{after:?}");
    let bank = flooded(200.0);
    let now = bank.at(Store { soc: 0.90 }, 25.0);
    let flow = Flow { volts: 14.4, current_a: now.accepted_a(14.4), limit: Limit::Held };
    let (after, balance) = now.charge(&flow, 14.4, 4.5, 1.0);
    let cell = Cell::at(Plates::Flooded, 200.0 * lead::C10_OF_C20, after.soc, 25.0);
    near_abs("volts at the tail", cell.charging(4.5).volts, 2.4, 1e-8);
    assert!(balance.hours < 1.0 && after.soc > 0.90);
}

/// Source: Copetti 1993, capacity: C20 = 1.179 C10, so that 100 Ah at 20 h are 84.8 Ah at 10 h; and a label of the
/// 10 h rate is its own.
#[test]
fn labels_of_any_rate_become_one() {
    near_abs("20 h", lead::c10_of(100.0, 20.0), 100.0 * lead::C10_OF_C20, 2e-3);
    near_abs("10 h", lead::c10_of(100.0, 10.0), 100.0, 1e-9);
    assert!(lead::c10_of(100.0, 100.0) < lead::c10_of(100.0, 20.0));
}

/// Source: hand calculation: at -10 C bare, 15 of 25 K hold 5 C; at -30 C the heater ends at -5 C.
#[test]
fn a_heater_holds_as_long_as_it_can() {
    assert_eq!(warmth::heated(-10.0, 5.0, 25.0), (5.0, 0.6));
    assert_eq!(warmth::heated(-30.0, 5.0, 25.0), (-5.0, 1.0));
    assert_eq!(warmth::heated(8.0, 5.0, 25.0), (8.0, 0.0));
}

/// By hand: 75 kg of 1 kJ/(kg K) hold 75 000 / 3600 = 20.8333 Wh/K; losing 3 W/K they end 20 K up on 60 W, with a time constant of
/// 6.94444 h: after an hour from nothing 20 x (1 - exp(-0.144)) = 2.682 25 K. Of the 60 Wh 55.880 Wh are in the bank then, the
/// rest is what flowed off at 3 W/K, summed in steps of a second. 300 kg-hours of nothing: 15 K go to 15 x exp(-0.144).
/// Source: Newton's law of cooling.
#[test]
fn a_heated_body_by_hand() {
    near_abs("weighed", warmth::heat_wh_k(1280.0, Some(25.0), 3.0), 20.833_333, 1e-6);
    near_abs("at 100 Wh/kg", warmth::heat_wh_k(1280.0, None, 1.0), 12.8 / 3.6, 1e-9);
    let body = Body::of(20.833_333_333, 3.0);
    near_abs("an hour", body.after_k(0.0, 60.0), 2.682_25, 1e-4);
    near_abs("cooling", body.after_k(15.0, 0.0), 15.0 * (-0.144_f64).exp(), 1e-8);
    near_abs("steady", body.after_k(20.0, 60.0), 20.0, 1e-12);
    near_abs("full", body.full_rise_k(60.0), 20.0, 1e-12);
    for (before_k, watts) in [(0.0, 60.0), (15.0, 0.0), (19.0, 60.0), (4.0, 7.0)] {
        let (mut rise_k, mut flowed_wh) = (before_k, 0.0);
        for _ in 0..3600 {
            let gone_w = 3.0 * rise_k;
            rise_k += (watts - gone_w) / 20.833_333_333 / 3600.0;
            flowed_wh += gone_w / 3600.0;
        }
        let after_k = body.after_k(before_k, watts);
        near_abs("fed is kept and flowed off", 20.833_333_333 * (after_k - before_k) + flowed_wh, watts, 2e-3);
        // What an end asks for brings it there.
        near_abs("asked", body.asks_w(before_k, after_k), watts, 1e-9);
    }
    assert_eq!(body.asks_w(15.0, 5.0), 0.0, "warm enough by itself");
}

#[test]
fn a_bank_is_as_warm_as_its_day() {
    let mut mean = warmth::DayMean::steady(10.0);
    // Six hours of 22 C among eighteen of 10 C: 13 C.
    let last = (0..6).map(|_| mean.push(22.0)).last().unwrap();
    near_abs("mean", last, 13.0, 1e-12);
    assert_eq!(warmth::outside_c(last, true), 16.0);
    assert_eq!((warmth::inside_c(-5.0, 12.0), warmth::inside_c(15.0, 12.0)), (12.0, 15.0));
}

/// Source: 3 % a month of 730 h at 25 C; four times as much at 45 C.
#[test]
fn a_bank_left_alone_runs_down() {
    let bank = flooded(200.0);
    let (after, balance) = bank.leak(Store { soc: 0.8 }, 25.0, 730.0);
    near_abs("month", after.soc, 0.776, 1e-12);
    near_abs("closes", balance.gap_wh(), 0.0, 1e-9);
    near_rel("warm", bank.self_discharge_per_hour(45.0), 4.0 * bank.self_discharge_per_hour(25.0), 1e-12);
}

fn banks() -> impl Strategy<Value = Bank> {
    let make = prop_oneof![
        Just(Make::Lead(Plates::Flooded)),
        Just(Make::Lead(Plates::Agm)),
        Just(Make::Lead(Plates::Gel)),
        Just(Make::Phosphate)
    ];
    let limit = || proptest::option::of(1.0..500.0_f64);
    (make, 20.0..2000.0_f64, limit(), limit(), proptest::option::of(9.0..13.0_f64), 0.0..0.9_f64).prop_map(
        |(make, rated_ah, most_charge_a, most_discharge_a, least_v, least_soc)| {
            let lithium = make == Make::Phosphate;
            let (cells, least_charge_c) = if lithium { (4.0, Some(0.0)) } else { (6.0, None) };
            Bank {
                make,
                cells,
                rated_ah,
                sag_ohm: None,
                most_charge_a,
                most_discharge_a,
                least_v,
                least_soc,
                least_charge_c,
            }
        },
    )
}

fn offers() -> impl Strategy<Value = Offer> {
    prop_oneof![(0.0..5000.0_f64).prop_map(Offer::Current), (0.0..50_000.0_f64).prop_map(Offer::Power)]
}

fn check(bank: &Bank, before: Store, after: Store, balance: &Balance) {
    let scale = 1e-9 * (1.0 + balance.in_wh + balance.out_wh);
    near_abs("closes", balance.gap_wh(), 0.0, scale);
    near_abs("state", balance.stored_wh, bank.energy_wh(after.soc) - bank.energy_wh(before.soc), scale);
    assert!((0.0..=1.0).contains(&after.soc));
    // Nothing comes from nowhere; lead's rest volts as its own model has them.
    if bank.make == Make::Phosphate {
        assert!(balance.lost_wh >= -scale, "{balance:?}");
    }
    assert!((0.0..=1.0).contains(&balance.hours) && balance.in_wh >= 0.0 && balance.out_wh >= 0.0);
}

proptest! {
    /// More heat, or a warmer start, never leaves a body cooler; what it asks for is less the warmer it is.
    #[test]
    fn more_heat_never_cools(heat in 1.0..400.0_f64, loss in 0.05..40.0_f64, rise in 0.0..60.0_f64, w in 0.0..1000.0_f64, more in 0.0..500.0_f64) {
        let body = Body::of(heat, loss);
        prop_assert!(body.after_k(rise, w + more) >= body.after_k(rise, w));
        prop_assert!(body.after_k(rise + more, w) >= body.after_k(rise, w));
        prop_assert!(body.after_k(rise, w) >= 0.0);
        prop_assert!(body.asks_w(rise + more, 30.0) <= body.asks_w(rise, 30.0));
    }

    #[test]
    fn every_step_closes(bank in banks(), soc in 0.0..=1.0_f64, c in -40.0..60.0_f64, held_v in 12.0..15.0_f64, offer in offers()) {
        let store = Store { soc };
        let now = bank.at(store, c);
        let taken = now.take(offer, held_v);
        let (after, balance) = now.charge(&taken, held_v, 0.0, 1.0);
        check(&bank, store, after, &balance);
        prop_assert!(after.soc >= soc);
        prop_assert!(taken.current_a == 0.0 || taken.volts <= held_v * (1.0 + 1e-12));
        prop_assert!(bank.most_charge_a.is_none_or(|most_a| taken.current_a <= most_a));
        let given = now.give(offer);
        let (after, balance) = now.discharge(&given, 1.0, 0.0);
        check(&bank, store, after, &balance);
        prop_assert!(after.soc <= soc && (after.soc == soc || after.soc >= bank.least_soc - 1e-12));
        prop_assert!(given.current_a == 0.0 || bank.least_v.is_none_or(|v| given.volts >= v * (1.0 - 1e-12)));
        let (after, balance) = bank.leak(store, c, 1.0);
        check(&bank, store, after, &balance);
        if let Offer::Power(w) = offer {
            for flow in [taken, given] {
                prop_assert!(flow.power_w() <= w * (1.0 + 1e-9), "{} of {w}", flow.power_w());
                if flow.limit == Limit::None { near_rel("all of it", flow.power_w(), w, 1e-9); }
            }
        }
    }

    /// Conservation: power asked of a bank that says it gives all of it is on its curve, up to what it cannot give.
    #[test]
    fn no_power_is_made_up(soc in 0.02..1.0_f64, c in -20.0..50.0_f64, rated_ah in 30.0..300.0_f64, w in 100.0..9000.0_f64) {
        let bank = flooded(rated_ah);
        let now = bank.at(Store { soc }, c);
        let given = now.give(Offer::Power(w));
        let on_curve = now.discharge_v(given.current_a);
        prop_assert!(given.current_a == 0.0 || (given.volts - on_curve).abs() < 1e-6, "{given:?} and {on_curve}");
    }

    #[test]
    fn powers_are_on_the_curve(bank in banks(), soc in 0.0..=1.0_f64, c in 0.0..60.0_f64, w in 0.1..3000.0_f64) {
        let now = bank.at(Store { soc }, c);
        let taken = now.take(Offer::Power(w), 15.0);
        if taken.current_a > 0.0 { near_rel("in", now.charge_v(taken.current_a), taken.volts, 1e-8); }
        let given = now.give(Offer::Power(w));
        if given.current_a > 0.0 { near_rel("out", now.discharge_v(given.current_a), given.volts, 1e-8); }
    }

    #[test]
    fn volts_and_currents_run_one_way(bank in banks(), soc in 0.02..0.99_f64, c in 1.0..60.0_f64, a in 0.0..400.0_f64, held_v in 12.5..15.0_f64) {
        let now = bank.at(Store { soc }, c);
        prop_assert!(now.charge_v(a * 1.01 + 0.01) > now.charge_v(a));
        prop_assert!(now.discharge_v(a * 1.01 + 0.01) <= now.discharge_v(a));
        prop_assert!(now.accepted_a(held_v + 0.01) >= now.accepted_a(held_v));
        let fuller = bank.at(Store { soc: soc + 0.005 }, c);
        prop_assert!(fuller.accepted_a(held_v) <= now.accepted_a(held_v) * (1.0 + 1e-9));
        let line = now.curve(a);
        near_rel("curve", line.volts, now.charge_v(a), 1e-9);
        prop_assert!(line.ohm > 0.0);
        let (step, ahead) = (1e-4 * (1.0 + a), now.curve(-a));
        near_rel("slope", (now.charge_v(a + step) - now.charge_v(a)) / step, line.ohm, 0.02);
        prop_assert!(ahead.ohm > 0.0 && ahead.volts.is_finite());
    }
}

#[test]
fn nothing_breaks_at_the_ends() {
    let mut seen = 0;
    for bank in [flooded(200.0), phosphate(100.0), flooded(0.0), phosphate(0.0), Bank { cells: 0.0, ..flooded(50.0) }] {
        for soc in [-1.0, 0.0, 1e-9, 0.5, 1.0 - 1e-12, 1.0, 7.0] {
            for battery_c in [-1e9, -40.0, 0.0, 25.0, 60.0, 1e9] {
                let now = bank.at(Store { soc }, battery_c);
                for x in [-1e300, -1.0, 0.0, 1e-300, 1e-6, 1.0, 1e4, 1e300, f64::MAX] {
                    for held_v in [-5.0, 0.0, 12.0, 14.4, 1e9] {
                        for offer in [Offer::Current(x), Offer::Power(x)] {
                            let taken = now.take(offer, held_v);
                            let given = now.give(offer);
                            let steps = [now.charge(&taken, held_v, 0.0, 1.0), now.discharge(&given, 1.0, 0.0)];
                            for flow in [taken, given] {
                                assert!(flow.volts.is_finite() && flow.current_a.is_finite() && flow.current_a >= 0.0);
                            }
                            for (after, balance) in steps {
                                assert!((0.0..=1.0).contains(&after.soc), "{bank:?} {soc} {battery_c} {x}");
                                assert!(balance.gap_wh().is_finite() && balance.hours.is_finite());
                                seen += 1;
                            }
                        }
                    }
                    let line = now.curve(x);
                    assert!(line.volts.is_finite() && line.ohm.is_finite(), "{bank:?} {soc} {battery_c} {x}");
                    assert!(now.charge_v(x).is_finite() && now.discharge_v(x).is_finite());
                }
                assert!(
                    bank.floor_soc(battery_c, 1e300).is_finite()
                        && bank.leak(Store { soc }, battery_c, 1e9).0.soc >= 0.0
                );
            }
        }
    }
    assert!(seen > 10_000);
}
