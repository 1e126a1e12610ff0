//! What the bank does and never does.

use coachwire::engine::Engine;
use coachwire::engine::day::Usage;
use coachwire::engine::solve::Posts;
use coachwire::engine::year::YearInput;
use coachwire::physics::array::{Array, Group};
use coachwire::physics::battery::{Bank, Make};
use coachwire::physics::controller::Source as _;
use coachwire::physics::module::{Label, Module, SILICON_EV};
use coachwire::plan::Value;
use coachwire::stock::Stock;

use super::{coaches, hours, input, n, plan, with};

/// States of charge at the end of every hour.
fn states(input: &YearInput) -> Vec<f64> {
    let mut all = Vec::with_capacity(8760);
    hours(input, |_, _, _, step| all.push(step.after.soc));
    all
}

/// A bank that gives all it has to any load: nothing disconnects.
fn without_disconnects(input: &mut YearInput) {
    let Posts::Bank(bank) = input.circuit.posts else { panic!("no bank") };
    let open = Bank { least_soc: 0.0, least_v: None, most_discharge_a: None, ..bank };
    input.circuit.posts = Posts::Bank(open);
}

/// Every source holds one voltage: no float, no timer. With these more load can leave a bank fuller for some hours: the
/// fuller one has gone to float, the emptier one beside it goes on at absorption volts.
pub(super) fn without_stages(input: &mut YearInput) {
    let solars = input.circuit.solars.iter_mut().map(|s| &mut s.setting);
    for setting in solars.chain(input.circuit.feeders.iter_mut().map(|f| &mut f.setting)) {
        (setting.charge.absorb_h, setting.charge.float_v) = (None, Some(setting.charge.absorb_v));
    }
}

/// How much fuller than with less load the bank ever is, and the least and most charge it holds, under steady loads.
fn fuller(input: &mut YearInput, loads: &[f64]) -> (f64, f64, f64) {
    let (mut before, mut worst, mut low, mut high): (Option<Vec<f64>>, f64, f64, f64) = (None, -1.0, 1.0, 0.0);
    for watts in loads {
        input.usage = Usage::steady(*watts);
        let now = states(input);
        if let Some(before) = &before {
            worst = now.iter().zip(before).map(|(now, before)| now - before).fold(worst, f64::max);
        }
        (low, high) = now.iter().fold((low, high), |(l, h), soc| (l.min(*soc), h.max(*soc)));
        before = Some(now);
    }
    (worst, low, high)
}

/// A bank so large that it is never full and never empty: the one with more to carry is never fuller, not by a hair.
/// Source: the second law, put plainly.
#[test]
fn more_load_never_raises_the_state_of_charge() {
    for (name, mut input) in coaches() {
        without_disconnects(&mut input);
        let Posts::Bank(bank) = input.circuit.posts else { panic!("no bank") };
        let wide = 2_000_000.0 / bank.rated_ah;
        input.circuit.posts =
            Posts::Bank(Bank { rated_ah: 2_000_000.0, sag_ohm: bank.sag_ohm.map(|ohm| ohm / wide), ..bank });
        input.start.soc = 0.5;
        let (worst, low, high) = fuller(&mut input, &[5.0, 12.0, 13.0, 40.0, 90.0]);
        assert!(low > 0.02 && high < 0.98, "{name}: {low} to {high}");
        assert!(worst <= 0.0, "{name}: {worst} fuller");
    }
}

/// The same at its own size, full by day: an hour is one step, so the bank with more load can be the fuller one by what
/// the loads draw in that hour, and no more.
#[test]
fn more_load_near_full_raises_it_by_less_than_an_hour_of_load() {
    for (name, mut input) in coaches() {
        without_disconnects(&mut input);
        without_stages(&mut input);
        let Posts::Bank(bank) = input.circuit.posts else { panic!("no bank") };
        for pair in [[5.0, 12.0], [13.0, 40.0], [40.0, 90.0]] {
            let (worst, ..) = fuller(&mut input, &pair);
            let hour = pair[1] / (12.0 * bank.rated_ah);
            assert!(worst <= hour.min(1.0), "{name} {pair:?} W: {worst} fuller, an hour is {hour}");
        }
    }
}

/// Without float a charger that is done is off until the bank has carried the loads for an hour, then it begins anew: the bank with
/// more load can be the fuller one by the two hours that lie between, and no more. One that stayed off until midnight would
/// leave it an afternoon's load behind.
/// Source: conservation of energy, by hand.
#[test]
fn more_load_without_float_raises_it_by_two_hours_of_load_at_most() {
    let mut full = 0;
    for (name, mut input) in coaches() {
        without_disconnects(&mut input);
        let solars = input.circuit.solars.iter_mut().map(|s| &mut s.setting);
        for setting in solars.chain(input.circuit.feeders.iter_mut().map(|f| &mut f.setting)) {
            (setting.charge.absorb_h, setting.charge.float_v) = (None, None);
        }
        let Posts::Bank(bank) = input.circuit.posts else { panic!("no bank") };
        for pair in [[5.0, 5.5], [13.0, 14.0], [40.0, 42.0], [40.0, 90.0]] {
            let (worst, ..) = fuller(&mut input, &pair);
            let hour = pair[1] / (12.0 * bank.rated_ah);
            // Lead takes its tail current in the hour in which the other one is done: 2 % of its Ah.
            let tail = if matches!(bank.make, Make::Phosphate) { 0.0 } else { 0.02 };
            assert!(worst <= (2.0 * hour + tail).min(1.0), "{name} {pair:?} W: {worst} fuller, an hour is {hour}");
        }
        // Whoever has let the bank carry all for an hour begins anew, and one whose time of absorption was over too.
        for absorb_h in [None, Some(0.7)] {
            input.circuit.solars.iter_mut().for_each(|solar| solar.setting.charge.absorb_h = absorb_h);
            let (mut was_off, mut seen) = (Vec::new(), 0);
            hours(&input, |hour, moment, flow, _| {
                for (k, held_h) in moment.held_h.iter().enumerate().filter(|_| hour % 24 > 0) {
                    if was_off.get(k) == Some(&true) {
                        assert_eq!(*held_h, 0.0, "{name}, hour {hour}");
                        seen += 1;
                    }
                }
                was_off = flow.floating.iter().map(|floats| *floats && flow.net_a < 0.0).collect();
            });
            full += usize::from(seen > 0);
        }
    }
    assert!(full > 6, "{full} coaches have a full bank");
}

/// A controller whose time of absorption is over, and that has no float, begins anew once the bank has carried the loads for an
/// hour: it serves as much as one that has a float, or no time, to a thirtieth of the load with the bank in the heated living space, to
/// a twenty-fifth outside, where lead has less to give in the cold. Off until midnight it left 7.5 % of
/// the load short without a time of absorption, 16 % with two hours, 23 % with a quarter of one, 73 % with none at all.
/// Source: a coach's own year with the same settings but one.
#[test]
fn a_timer_without_a_float_does_not_switch_off_the_day() {
    let short = |heated: &'static str, absorb_h: Value, float_v: Value| {
        let edits = [
            ("arrays.A1.strings", Value::Text("1S8P P1".into())),
            ("controllers.C1.out_a", n(60.0)),
            ("loads.L1.watts_w", n(40.0)),
            ("bank.heated", Value::Word(heated)),
            ("controllers.C1.absorb_h", absorb_h),
            ("controllers.C1.float_v", float_v),
        ];
        let months = coachwire::engine::year::year(&input("sorrel", &with(&plan("sorrel"), &edits))).months;
        let sum = |of: fn(&coachwire::engine::year::MonthSums) -> f64| months.iter().map(of).sum::<f64>();
        (sum(|m| m.load_wh) - sum(|m| m.served_wh)) / sum(|m| m.load_wh)
    };
    for (heated, within) in [("yes", 0.034), ("no", 0.04)] {
        let free = short(heated, Value::Nothing, Value::Nothing);
        let floats = short(heated, n(2.0), n(13.6));
        assert!((0.05..0.1).contains(&free) && (0.05..0.1).contains(&floats), "{heated}: {free} {floats}");
        for absorb_h in [0.0, 0.25, 1.0, 1.0001, 2.0] {
            let timed = short(heated, n(absorb_h), Value::Nothing);
            assert!((timed - free).abs() < within, "{heated}, {absorb_h} h: {timed} of {free}, {floats} with a float");
        }
    }
}

/// Source: lithium plating below the cut-off; the bank's own temperature decides, not the air's.
#[test]
fn no_charge_enters_cold_lithium_without_a_heater() {
    let place = [("stays.ST1.latitude_deg", n(47.0)), ("stays.ST1.longitude_deg", n(-100.0))];
    let bare = with(&plan("bramble"), &place);
    let heated = with(&bare, &[("bank.heater_w", n(60.0)), ("bank.unit_ah", n(200.0))]);
    let (mut cold, mut cold_light) = (vec![false; 8760], 0);
    hours(&input("bare", &bare), |hour, moment, flow, step| {
        if moment.battery_c < 0.0 {
            cold[usize::from(hour)] = true;
            cold_light += u32::from(step.harvest_wh > 5.0);
            assert!(flow.net_a <= 0.0 && step.balance.in_wh == 0.0, "hour {hour}: {} A", flow.net_a);
            assert!(step.after.soc <= moment.store.soc);
        }
    });
    assert!(cold_light > 300, "{cold_light} bright hours below the cut-off");
    let (mut charged, mut heater_wh) = (0, 0.0);
    let base = input("bare", &bare);
    hours(&input("heated", &heated), |hour, moment, flow, step| {
        assert!(moment.battery_c >= 0.0 || step.balance.in_wh == 0.0, "hour {hour}");
        if cold[usize::from(hour)] {
            charged += u32::from(flow.net_a > 0.0);
            let (month, hour_of_day) = (usize::from(hour) / 24 / 31, usize::from(hour) % 24);
            heater_wh += (step.load_wh - base.usage.at(month.min(11), hour_of_day, false).all_w).max(0.0);
        }
    });
    assert!(charged > 50 && heater_wh > 1000.0, "{charged} hours, {heater_wh} Wh of heat");
}

/// Source: Kirchhoff's laws: equal panels in equal light give the sum of their powers however they are joined.
#[test]
fn two_by_two_is_four_in_parallel() {
    for (vmp_v, imp_a, voc_v, isc_a) in [(18.6, 9.1, 22.5, 9.7), (20.4, 10.2, 24.4, 10.8), (31.2, 12.8, 37.1, 13.6)] {
        let label = Label { vmp_v, imp_a, voc_v, isc_a, alpha_pct_k: 0.05, beta_pct_k: -0.29, band_gap_ev: SILICON_EV };
        let module = Module::from_label(&label).unwrap();
        for (light, cell_c) in [(1000.0, 25.0), (830.0, 61.0), (240.0, 12.0), (35.0, -8.0), (4.0, 20.0)] {
            let cell = module.at(light, cell_c);
            let one_w = cell.max_power(0.0).power_w();
            for (series, parallel) in [(2.0, 2.0), (1.0, 4.0), (4.0, 1.0)] {
                let even_w = cell.scaled(series, parallel).max_power(0.0).power_w();
                let mut array = Array::default();
                array.add_string(parallel, &[Group::of(&cell, 0.5, 2.0 * series)]);
                for (what, watts) in [("one equation", even_w), ("groups", array.max_power(0.0).power_w())] {
                    let apart = watts / (4.0 * one_w) - 1.0;
                    assert!(apart.abs() <= 1e-9, "{series}S{parallel}P {what} at {light} W/m2: {apart:e}");
                }
            }
        }
    }
}

/// Years under ten skies: a range that holds what it should, the same every time.
#[test]
fn repeats_are_a_range_and_the_same_again() {
    let small = with(&plan("bramble"), &[("bank.unit_ah", n(30.0))]);
    let stock = Stock::default();
    let mut engine = Engine::default();
    let repeats = engine.repeats(&small, &stock).expect("a bank");
    assert_eq!(repeats.years, 10);
    for range in [repeats.unmet_pct, repeats.short_days, repeats.least_soc] {
        assert!(range.least <= range.mean && range.mean <= range.most, "{range:?}");
    }
    assert!(repeats.unmet_pct.most > repeats.unmet_pct.least, "dull days fall otherwise: {:?}", repeats.unmet_pct);
    assert!(repeats.unmet_pct.least >= 0.0 && repeats.unmet_pct.most <= 100.0);
    assert!((0.0..=365.0).contains(&repeats.short_days.least) && repeats.short_days.most <= 365.0);
    assert!((0.0..=1.0).contains(&repeats.least_soc.least) && repeats.least_soc.most <= 1.0);
    // Another engine that has seen other plans says the same, bit for bit, and each seed by itself too.
    let mut other = Engine::default();
    other.evaluate(&plan("larkspur"), &stock);
    assert_eq!(other.repeats(&small, &stock).expect("a bank"), repeats);
    let each: Vec<f64> = (1..=10).map(|seed| other.repeat(&small, &stock, seed).expect("a bank").0).collect();
    assert!(each.contains(&repeats.unmet_pct.least) && each.contains(&repeats.unmet_pct.most));
    // A larger bank under the same skies is never emptier.
    let larger = engine.repeats(&with(&small, &[("bank.unit_ah", n(60.0))]), &stock).expect("a bank");
    assert!(larger.unmet_pct.mean < repeats.unmet_pct.mean);
    // The year shown is one of the skies, begun by a December instead of a year.
    let shown = engine.evaluate(&small, &stock).year.unmet_pct.clone().expect("a bank");
    assert!(shown > repeats.unmet_pct.least - 1.0 && shown < repeats.unmet_pct.most + 1.0, "{shown} {repeats:?}");
}
