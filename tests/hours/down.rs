//! Loads beside a bank that is down: its cells hold the posts, and what feeds them has to be set for such volts.

use coachwire::engine::solve::{Charging, Feeder, Flow, Moment, Posts, Setting, solve};
use coachwire::physics::battery::{Limit, Store};
use coachwire::physics::charging::ChargeSettings;

use crate::support::near_rel;

use super::{input, plan};

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
