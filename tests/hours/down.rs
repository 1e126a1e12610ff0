//! Loads beside a bank that is down: its cells hold the posts, and what feeds them has to be set for such volts.

use coachwire::engine::solve::{Charging, Feeder, Flow, Moment, Posts, Setting, solve};
use coachwire::physics::battery::{Bank, Limit, Store};
use coachwire::physics::charging::ChargeSettings;
use coachwire::plan::Value;

use crate::support::near_rel;

use super::{input, n, plan, with};

/// Amps of chargers that could give 20 A each, set to some volts, over some ohms of their own, beside a bank at its floor and far more load.
fn given(name: &str, chargers: &[(f64, f64)], sensed: bool) -> (Vec<f64>, f64) {
    let Posts::Bank(bank) = input(name, &plan(name)).circuit.posts else { panic!("a bank") };
    let store = Store { soc: bank.floor_soc(25.0, 0.0) };
    let feeder = |(k, (absorb_v, _)): (usize, &(f64, f64))| Feeder {
        out_a: 20.0,
        out: vec![k],
        setting: Setting {
            charge: ChargeSettings { absorb_v: *absorb_v, absorb_h: None, float_v: None, compensation_v_per_k: 0.0 },
            sensed,
        },
        line: None,
    };
    let feeders: Vec<Feeder> = chargers.iter().enumerate().map(feeder).collect();
    let ohms = chargers.iter().map(|(_, ohm)| *ohm).collect();
    let circuit = Charging::of(Posts::Bank(bank), Vec::new(), feeders, ohms);
    let moment = Moment {
        lit: &[],
        best: &[],
        feeding: &vec![1.0; chargers.len()],
        load_w: 5000.0,
        store,
        battery_c: 25.0,
        held_h: &vec![0.0; chargers.len()],
    };
    let mut flow = Flow::default();
    solve(&circuit, &moment, &mut flow);
    assert_eq!((flow.limit, flow.net_a), (Limit::Empty, 0.0), "{name}: the bank gives nothing");
    near_rel("posts", flow.posts_v, bank.at(store, 25.0).rest_v(), 1e-12);
    (flow.amps.clone(), flow.posts_v)
}

/// A charger that is set above the cells' volts feeds the loads with all it has; one that is set below them, for a bank of fewer
/// cells, feeds none; one that would stand above its setting over its wire gives what the setting drives through it.
/// Source: Ohm's law, by hand.
#[test]
fn beside_a_bank_that_is_down_a_charger_feeds_loads_as_far_as_it_is_set() {
    for name in ["sorrel", "bramble"] {
        let (all, rest_v) = given(name, &[(14.4, 0.01)], false);
        assert_eq!(all, [20.0], "{name}");
        assert_eq!(given(name, &[(rest_v / 2.0, 0.01)], false).0, [0.0], "{name}: set for half the cells");
        assert_eq!(given(name, &[(rest_v / 2.0, 0.01)], true).0, [0.0], "{name}: and reading the posts");
        // Behind a quarter of an ohm.
        let amps = given(name, &[(14.4, 0.25)], false).0;
        near_rel("through its wire", amps[0], (14.4 - rest_v) / (0.25 + 1e-6), 1e-9);
        assert_eq!(given(name, &[(14.4, 0.25)], true).0, [20.0], "{name}: one that reads the posts knows of no wire");
        // The right one beside the wrong one.
        assert_eq!(given(name, &[(14.4, 0.01), (rest_v / 2.0, 0.01)], false).0, [20.0, 0.0], "{name}");
    }
}

/// A charger of 20 A behind 0.09 ohm beside a bank in some state, with a small load, having held its volts for so long today.
fn beside(bank: Bank, soc: f64, charge: ChargeSettings, held_h: f64, load_w: f64) -> Flow {
    let setting = Setting { charge, sensed: false };
    let feeder = Feeder { out_a: 20.0, out: vec![0], setting, line: None };
    let circuit = Charging::of(Posts::Bank(bank), Vec::new(), vec![feeder], vec![0.09]);
    let (store, held_h) = (Store { soc }, [held_h]);
    let moment = Moment { lit: &[], best: &[], feeding: &[1.0], load_w, store, battery_c: 25.0, held_h: &held_h };
    let mut flow = Flow::default();
    solve(&circuit, &moment, &mut flow);
    flow
}

/// A charger without a float, set a little above the cells of a bank that is down, carries a load that its wire allows, all day: the bank
/// takes little because the volts are low, and not because it is full. One whose float is set higher goes on to that; beside a bank
/// that is charged one without a float is off once its time is over.
/// Source: Ohm's law, by hand: 0.3 V over 0.09 ohm are 3.3 A.
#[test]
fn little_current_into_a_bank_that_is_down_ends_no_absorption() {
    for name in ["sorrel", "bramble"] {
        let Posts::Bank(bank) = input(name, &plan(name)).circuit.posts else { panic!("a bank") };
        let floor = bank.floor_soc(25.0, 0.0);
        let rest_v = bank.at(Store { soc: floor }, 25.0).rest_v();
        let low = ChargeSettings { absorb_v: rest_v + 0.3, absorb_h: None, float_v: None, compensation_v_per_k: 0.0 };
        for (absorb_h, held_h) in [(None, 0.0), (None, f64::INFINITY), (Some(4.0), 0.0), (Some(4.0), 4.0)] {
            for soc in [floor, floor + 0.01, 0.7] {
                let flow = beside(bank, soc, ChargeSettings { absorb_h, ..low }, held_h, 26.0);
                if bank.at(Store { soc }, 25.0).rest_v() + 0.25 > low.absorb_v && soc > floor + 0.1 {
                    continue;
                }
                let what = format!("{name} at {soc}, {absorb_h:?} {held_h}: {} A, net {} A", flow.amps[0], flow.net_a);
                assert!(!flow.floating[0] && flow.net_a >= 0.0 && flow.amps[0] * flow.posts_v >= 26.0 - 1e-6, "{what}");
                near_rel(&what, flow.amps[0], (low.absorb_v - flow.posts_v) / (0.09 + 1e-6), 1e-6);
            }
        }
        let higher = ChargeSettings { float_v: Some(low.absorb_v + 1.0), ..low };
        if name == "sorrel" {
            assert!(beside(bank, floor, higher, 0.0, 26.0).floating[0], "{name}: its float is the higher");
        }
        let sound = ChargeSettings { absorb_v: 14.4, absorb_h: Some(4.0), ..low };
        let off = beside(bank, 0.97, sound, 4.0, 26.0);
        assert!(off.floating[0] && off.amps[0] == 0.0 && off.net_a < 0.0, "{name}: charged, and its time is over");
        assert!(!beside(bank, 0.6, sound, 4.0, 26.0).floating[0], "{name}: not charged");
    }
}

/// The year of such a coach leaves hardly more short than with a float of the same volts: a fiftieth of the load, as beside a bank that is nearly
/// full it is off for an hour now and then.
/// Source: the same year with one setting changed.
#[test]
fn a_year_without_a_float_serves_what_one_with_the_same_volts_serves() {
    let short = |float_v: Value, absorb_h: Value| {
        let edits = [
            ("controllers.C1.absorb_v", n(12.6)),
            ("controllers.C1.absorb_h", absorb_h),
            ("controllers.C1.float_v", float_v),
            ("loads.L1.watts_w", n(20.0)),
        ];
        let months = coachwire::engine::year::year(&input("sorrel", &with(&plan("sorrel"), &edits))).months;
        let sum = |of: fn(&coachwire::engine::year::MonthSums) -> f64| months.iter().map(of).sum::<f64>();
        1.0 - sum(|m| m.served_wh) / sum(|m| m.load_wh)
    };
    let same = short(n(12.6), Value::Nothing);
    for absorb_h in [Value::Nothing, n(4.0), n(0.5)] {
        let off = short(Value::Nothing, absorb_h.clone());
        assert!(off <= same + 0.02, "{absorb_h:?}: {off} short, {same} with a float of the same volts");
    }
}
