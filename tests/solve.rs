//! One moment of the charging circuit.

use coachwire::engine::solve::{Charging, Flow, Lit, Makes, Solar, solve};
use coachwire::physics::controller::Tracker;
use coachwire::physics::module::{Cell, Label, Module, SILICON_EV};
use proptest::prelude::*;

/// An invented 36-cell label.
fn module() -> Module {
    Module::from_label(&Label {
        vmp_v: 18.6,
        imp_a: 9.1,
        voc_v: 22.5,
        isc_a: 9.7,
        cells: 36.0,
        alpha_pct_k: 0.05,
        beta_pct_k: -0.30,
        band_gap_ev: SILICON_EV,
    })
    .unwrap()
}

fn tracker(most_a: f64) -> Makes {
    Makes::Tracking(Tracker { tracking: 0.99, conversion: 0.97, self_w: 1.0, headroom_v: 0.0, most_a })
}

fn pwm() -> Makes {
    Makes::Pwm { block_v: 0.1, most_a: 100.0 }
}

fn run(circuit: &Charging, cell: &Cell) -> Flow {
    let lit: Vec<Lit<'_>> = circuit
        .solars
        .iter()
        .map(|_| Lit::Even { cell, junction_v: cell.max_power(0.0).v + cell.max_power(0.0).i * cell.rs_ohm })
        .collect();
    let mut flow = Flow::default();
    solve(circuit, &lit, &mut flow);
    flow
}

fn shared(makes: &Makes, pv_ohm: f64, own_ohm: f64, bus_ohm: f64) -> Charging {
    Charging {
        bank_v: 13.2,
        solars: vec![
            Solar { makes: makes.clone(), pv_ohm, out: vec![0, 2] },
            Solar { makes: makes.clone(), pv_ohm, out: vec![1, 2] },
        ],
        segments_ohm: vec![own_ohm, own_ohm, bus_ohm],
    }
}

/// Kirchhoff's laws: the shared segment carries the sum, and each output stands above the posts by what its path
/// drops.
#[test]
fn shared_segment_carries_the_sum_and_drops_for_both() {
    let cell = module().at(800.0, 45.0).scaled(2.0, 1.0);
    for makes in [tracker(52.0), pwm()] {
        let circuit = shared(&makes, 0.05, 0.004, 0.003);
        let flow = run(&circuit, &cell);
        let sum = flow.shares[0].out_a + flow.shares[1].out_a;
        assert!(sum > 5.0);
        assert!((flow.segments_a[2] - sum).abs() < 1e-12 * sum);
        assert!((flow.shares[0].out_a - flow.shares[1].out_a).abs() < 1e-10, "equal halves carry equal currents");
        for (k, share) in flow.shares.iter().enumerate() {
            let path_v = 0.004 * flow.segments_a[k] + 0.003 * flow.segments_a[2];
            assert!((share.out_v - 13.2 - path_v).abs() < 1e-10, "{} against {}", share.out_v, 13.2 + path_v);
        }
    }
}

/// Energy balance by hand: what the array gives less the wire's loss is what the controller takes in, and
/// conversion, tracking and own use are all that lies between input and output.
#[test]
fn tracker_balance_closes() {
    let cell = module().at(950.0, 50.0).scaled(3.0, 2.0);
    let circuit = Charging {
        bank_v: 13.3,
        solars: vec![Solar { makes: tracker(200.0), pv_ohm: 0.04, out: vec![0] }],
        segments_ohm: vec![0.002],
    };
    let flow = run(&circuit, &cell);
    let share = flow.shares[0];
    let output_w = share.out_a * share.out_v;
    let input_w = share.pv_a * share.pv_v;
    assert!((output_w - (0.99 * 0.97 * input_w - 1.0)).abs() < 1e-9 * output_w);
    let best = cell.max_power(0.04);
    assert!((input_w - best.power_w()).abs() < 1e-9 * input_w);
    assert_eq!(share.clipped_w, 0.0);
}

#[test]
fn current_limit_clips_and_says_how_much() {
    let cell = module().at(1000.0, 25.0).scaled(3.0, 2.0);
    let mut circuit = Charging {
        bank_v: 13.3,
        solars: vec![Solar { makes: tracker(30.0), pv_ohm: 0.04, out: vec![0] }],
        segments_ohm: vec![0.002],
    };
    let clipped = run(&circuit, &cell).shares[0];
    assert_eq!(clipped.out_a, 30.0);
    circuit.solars[0].makes = tracker(500.0);
    let free = run(&circuit, &cell).shares[0];
    assert!((clipped.clipped_w - (free.out_a * free.out_v - clipped.out_a * clipped.out_v)).abs() < 1e-6);
}

/// A hot 36-cell panel behind a thin wire, at the very edge between tracking and being held at the bank's volts.
#[test]
fn more_copper_never_costs_at_the_edge_of_tracking() {
    let cell = module().at(956.585_495, 70.837_110_7);
    let posts_w = |own_ohm: f64| {
        13.2 * run(&shared(&tracker(60.0), 0.280_406_216_5, own_ohm, 0.009_959_085), &cell).segments_a[2]
    };
    assert!(posts_w(0.0) >= posts_w(0.006_626_536_3) - 1e-9);
}

proptest! {
    /// Thicker wire anywhere never sends less to the posts.
    #[test]
    fn more_copper_never_harvests_less(
        direct in any::<bool>(), light in 20.0..1100.0f64, cell_c in -20.0..75.0f64, series in 1..4usize,
        pv_ohm in 0.0..0.3f64, own_ohm in 0.0..0.03f64, bus_ohm in 0.0..0.02f64, which in 0..3usize, less in 0.0..1.0f64,
    ) {
        let makes = if direct { pwm() } else { tracker(60.0) };
        let cell = module().at(light, cell_c).scaled(series as f64, 1.0);
        let thin = shared(&makes, pv_ohm, own_ohm, bus_ohm);
        let mut ohms = [pv_ohm, own_ohm, bus_ohm];
        ohms[which] *= less;
        let thick = shared(&makes, ohms[0], ohms[1], ohms[2]);
        let posts_w = |c: &Charging| 13.2 * run(c, &cell).segments_a[2];
        let (before, after) = (posts_w(&thin), posts_w(&thick));
        prop_assert!(before.is_finite() && after.is_finite());
        prop_assert!(after >= before - 1e-9, "{before} then {after}");
    }
}
