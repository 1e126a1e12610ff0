//! One moment of the charging circuit.

use coachwire::engine::solve::{
    Charging, Feeder, Flow, Line, Lit, Makes, Moment, Posts, Setting, Solar, best_point, solve,
};
use coachwire::physics::battery::{Bank, Limit, Make, Store};
use coachwire::physics::charging::ChargeSettings;
use coachwire::physics::controller::Tracker;
use coachwire::physics::lead::Plates;
use coachwire::physics::module::{Cell, Label, Module, SILICON_EV};
use proptest::prelude::*;

/// An invented 36-cell label.
fn module() -> Module {
    Module::from_label(&Label {
        vmp_v: 18.6,
        imp_a: 9.1,
        voc_v: 22.5,
        isc_a: 9.7,
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

/// A setting that never binds.
const UNSET: Setting = setting(f64::MAX, None);

const fn setting(absorb_v: f64, float_v: Option<f64>) -> Setting {
    Setting { charge: ChargeSettings { absorb_v, absorb_h: None, float_v, compensation_v_per_k: 0.0 }, sensed: false }
}

fn solar(makes: Makes, pv_ohm: f64, out: Vec<usize>) -> Solar {
    Solar { makes, pv_ohm, out, setting: UNSET, self_w: 0.0 }
}

/// All controllers under one light, with a load and a state of the bank.
fn at(circuit: &Charging, cell: &Cell, load_w: f64, soc: f64, battery_c: f64) -> Flow {
    let even = Lit::Even { cell, bare: &cell.max_power(0.0) };
    let lit = vec![even; circuit.solars.len()];
    let best: Vec<_> = circuit.solars.iter().map(|s| best_point(even, s.pv_ohm)).collect();
    let mut flow = Flow::default();
    let (feeding, held_h) = (vec![1.0; circuit.feeders.len()], vec![0.0; circuit.sources()]);
    let store = Store { soc };
    let moment = Moment { lit: &lit, best: &best, feeding: &feeding, load_w, store, battery_c, held_h: &held_h };
    solve(circuit, &moment, &mut flow);
    flow
}

fn run(circuit: &Charging, cell: &Cell) -> Flow {
    at(circuit, cell, 0.0, 0.5, 25.0)
}

/// Current in a segment that the solar controllers send together.
fn segment_a(circuit: &Charging, flow: &Flow, segment: usize) -> f64 {
    let through = flow.shares.iter().zip(&circuit.solars).filter(|(_, s)| s.out.contains(&segment));
    through.map(|(share, _)| share.out_a).sum()
}

fn shared(makes: &Makes, pv_ohm: f64, own_ohm: f64, bus_ohm: f64) -> Charging {
    shared_into(Posts::Fixed(13.2), makes, UNSET, [pv_ohm, own_ohm, bus_ohm])
}

fn shared_into(posts: Posts, makes: &Makes, setting: Setting, [pv_ohm, own_ohm, bus_ohm]: [f64; 3]) -> Charging {
    let one = |out| Solar { setting, ..solar(makes.clone(), pv_ohm, out) };
    Charging::of(posts, vec![one(vec![0, 2]), one(vec![1, 2])], vec![], vec![own_ohm, own_ohm, bus_ohm])
}

fn single(makes: Makes, posts: Posts) -> Charging {
    Charging::of(posts, vec![solar(makes, 0.04, vec![0])], vec![], vec![0.002])
}

fn phosphate() -> Bank {
    Bank {
        make: Make::Phosphate,
        cells: 4.0,
        rated_ah: 200.0,
        sag_ohm: Some(0.005),
        most_charge_a: None,
        most_discharge_a: None,
        least_v: None,
        least_soc: 0.1,
        least_charge_c: Some(0.0),
    }
}

fn flooded() -> Bank {
    Bank {
        make: Make::Lead(Plates::Flooded),
        cells: 6.0,
        sag_ohm: None,
        least_soc: 0.5,
        least_charge_c: None,
        ..phosphate()
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
        assert!((segment_a(&circuit, &flow, 2) - sum).abs() < 1e-12 * sum);
        assert!((flow.shares[0].out_a - flow.shares[1].out_a).abs() < 1e-10, "equal halves carry equal currents");
        for share in &flow.shares {
            let path_v = 0.004 * share.out_a + 0.003 * sum;
            assert!((share.out_v - 13.2 - path_v).abs() < 1e-10, "{} against {}", share.out_v, 13.2 + path_v);
        }
    }
}

/// Energy balance by hand: what the array gives less the wire's loss is what the controller takes in, and
/// conversion, tracking and own use are all that lies between input and output.
#[test]
fn tracker_balance_closes() {
    let cell = module().at(950.0, 50.0).scaled(3.0, 2.0);
    let circuit = single(tracker(200.0), Posts::Fixed(13.3));
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
    let circuit = single(tracker(30.0), Posts::Fixed(13.3));
    let clipped = run(&circuit, &cell).shares[0];
    assert_eq!(clipped.out_a, 30.0);
    let free = run(&single(tracker(500.0), Posts::Fixed(13.3)), &cell).shares[0];
    assert!((clipped.clipped_w - (free.out_a * free.out_v - clipped.out_a * clipped.out_v)).abs() < 1e-6);
}

/// A hot 36-cell panel behind a thin wire, at the very edge between tracking and being held at the bank's volts.
#[test]
fn more_copper_never_costs_at_the_edge_of_tracking() {
    let cell = module().at(956.585_495, 70.837_110_7);
    let posts_w =
        |own_ohm: f64| run(&shared(&tracker(60.0), 0.280_406_216_5, own_ohm, 0.009_959_085), &cell).offered_w();
    assert!(posts_w(0.0) >= posts_w(0.006_626_536_3) - 1e-9);
}

/// Hand calculation: 200 W of load, a bank of 5 mohm: what the sources bring less the load's current enters, and the
/// posts stand above rest by just that current times the resistance.
#[test]
fn bank_load_and_sources_meet() {
    let cell = module().at(800.0, 45.0).scaled(2.0, 1.0);
    let circuit = shared_into(Posts::Bank(phosphate()), &tracker(52.0), setting(14.4, None), [0.05, 0.004, 0.003]);
    let flow = at(&circuit, &cell, 200.0, 0.5, 25.0);
    let rest_v = phosphate().at(Store { soc: 0.5 }, 25.0).rest_v();
    assert!(flow.net_a > 1.0 && flow.limit == Limit::None);
    assert!((flow.posts_v - rest_v - 0.005 * flow.net_a).abs() < 1e-9);
    assert!((flow.sources_a() - 200.0 / flow.posts_v - flow.net_a).abs() < 1e-9);
    for (k, share) in flow.shares.iter().enumerate() {
        let output_w = share.out_a * share.out_v;
        assert!((output_w - (0.99 * 0.97 * share.pv_a * share.pv_v - 1.0)).abs() < 1e-8);
        assert_eq!(flow.amps[k], share.out_a);
    }
}

/// Ohm's law by hand: a charger that reads its own output holds 14.4 V there, so that the posts stand lower by the drop;
/// one that reads the posts holds 14.4 V there and the bank takes more.
#[test]
fn drop_makes_absorption_start_early_unless_sensed() {
    let cell = module().at(1000.0, 25.0).scaled(2.0, 4.0);
    for bank in [Bank { sag_ohm: Some(0.02), ..phosphate() }, Bank { rated_ah: 100.0, ..flooded() }] {
        let taken = |sensed| {
            let setting = Setting { sensed, ..setting(14.4, Some(13.5)) };
            let solars = vec![Solar { setting, ..solar(tracker(100.0), 0.01, vec![0]) }];
            at(&Charging::of(Posts::Bank(bank), solars, vec![], vec![0.01]), &cell, 60.0, 0.85, 25.0)
        };
        let (own, posts) = (taken(false), taken(true));
        assert_eq!((own.limit, posts.limit), (Limit::Held, Limit::Held));
        assert!((own.posts_v + 0.01 * own.sources_a() - 14.4).abs() < 1e-4, "{}", own.posts_v);
        assert!((posts.posts_v - 14.4).abs() < 1e-4, "{}", posts.posts_v);
        assert!(posts.net_a > own.net_a + 0.1, "{} and {}", posts.net_a, own.net_a);
        for flow in [&own, &posts] {
            let on_curve = bank.at(Store { soc: 0.85 }, 25.0).charge_v(flow.net_a);
            assert!((on_curve - flow.posts_v).abs() < 1e-8, "{on_curve} and {}", flow.posts_v);
            assert!(flow.offered_w() > flow.sources_a() * flow.posts_v, "more was on offer");
        }
    }
}

/// Two chargers with unlike settings: the lower one gives nothing once the other holds the bank above it.
#[test]
fn the_higher_setting_goes_on_alone() {
    let cell = module().at(1000.0, 25.0).scaled(2.0, 4.0);
    let of =
        |absorb_v, segment| Solar { setting: setting(absorb_v, None), ..solar(tracker(100.0), 0.01, vec![segment]) };
    let circuit = Charging::of(Posts::Bank(phosphate()), vec![of(14.4, 0), of(13.8, 1)], vec![], vec![0.002, 0.002]);
    let flow = at(&circuit, &cell, 0.0, 0.995, 25.0);
    assert!(flow.posts_v > 13.8 && flow.amps[1] == 0.0 && flow.amps[0] > 1.0, "{flow:?}");
}

/// V^2 - V E + P R = 0 by hand: 20 A at 14.4 V, efficiency 0.90, 13.8 V behind 0.0799 ohm: 27.6 A at 11.6 V.
/// With a cut-out above that it stops.
#[test]
fn a_line_that_sags_too_far_gives_nothing() {
    let fed = |cutout_v| {
        let line = Some(Line { source_v: 13.8, ohm: 0.0799, efficiency: 0.90, cutout_v, part: 1.0 });
        let feeder = Feeder { out_a: 20.0, out: vec![], setting: UNSET, line };
        let circuit = Charging::of(Posts::Fixed(14.4), vec![], vec![feeder], vec![]);
        at(&circuit, &module().at(0.0, 25.0), 0.0, 0.5, 25.0).sources_a()
    };
    assert_eq!((fed(11.5), fed(11.7)), (20.0, 0.0));
}

/// What its alternator is rated for does not keep a charger on: it asks for all its own current. By hand: 13.2 V behind 0.055 ohm
/// bring 11.0 V x 40 A = 440 W, which is 30 A at 13.2 V and 90 %. At posts below that it gets its part, above them nothing, though
/// the line would carry the part; and a larger part never brings less. Source: V^2 - V E + P R = 0.
#[test]
fn a_small_alternator_keeps_no_charger_on() {
    let fed = |posts_v: f64, part: f64| {
        let line = Some(Line { source_v: 13.2, ohm: 0.055, efficiency: 0.90, cutout_v: 11.0, part });
        let feeder = Feeder { out_a: 30.0 * part, out: vec![], setting: UNSET, line };
        let circuit = Charging::of(Posts::Fixed(posts_v), vec![], vec![feeder], vec![]);
        at(&circuit, &module().at(0.0, 25.0), 0.0, 0.5, 25.0).sources_a()
    };
    for part in [0.0, 0.1, 0.5, 0.95, 1.0] {
        assert_eq!((fed(13.19, part), fed(13.21, part)), (30.0 * part, 0.0));
    }
    // One that only holds its volts asks for no more than flows: a bank that takes little lets it run.
    let held = |part: f64| {
        let line = Some(Line { source_v: 13.2, ohm: 0.055, efficiency: 0.90, cutout_v: 11.0, part });
        let feeder = Feeder { out_a: 30.0 * part, out: vec![], setting: setting(13.9, None), line };
        let circuit = Charging::of(Posts::Bank(flooded()), vec![], vec![feeder], vec![]);
        at(&circuit, &module().at(0.0, 25.0), 0.0, 0.8, 25.0).sources_a()
    };
    let all_a = held(1.0);
    assert!(all_a > 1.0 && all_a < 12.0, "{all_a}");
    assert!((held(0.5) - all_a).abs() < 1e-6 * all_a, "{} of {all_a}", held(0.5));
}

/// Two on one line of 0.03 ohm and 0.005 of their own: both at 11.40 V, one alone at 12.30 V, by hand as above. Of two that
/// cannot both run the one whose input is lower against its own cut-out drops out.
#[test]
fn chargers_on_one_line_take_each_others_volts() {
    let fed = |cutouts: [f64; 2]| {
        let feeder = |cutout_v| {
            let line = Some(Line { source_v: 13.2, ohm: 0.035, efficiency: 0.90, cutout_v, part: 1.0 });
            Feeder { out_a: 20.0, out: vec![], setting: UNSET, line }
        };
        let circuit = Charging::of(Posts::Fixed(14.2), vec![], cutouts.map(feeder).into(), vec![]);
        at(&circuit.on_lines(vec![(0, 1, 0.03)]), &module().at(0.0, 25.0), 0.0, 0.5, 25.0).amps
    };
    assert_eq!(fed([11.3, 11.3]), [20.0, 20.0]);
    assert_eq!((fed([11.5, 11.3]), fed([11.3, 11.5])), (vec![0.0, 20.0], vec![20.0, 0.0]));
    assert_eq!(fed([12.5, 12.5]), [0.0, 0.0]);
}

#[test]
fn nothing_enters_lithium_in_the_cold_and_loads_are_still_carried() {
    let cell = module().at(900.0, -5.0).scaled(2.0, 1.0);
    let circuit =
        shared_into(Posts::Bank(phosphate()), &tracker(52.0), setting(14.4, Some(13.5)), [0.05, 0.004, 0.003]);
    let flow = at(&circuit, &cell, 50.0, 0.5, -1.0);
    assert_eq!((flow.net_a, flow.limit), (0.0, Limit::Cold));
    assert!((flow.sources_a() * flow.posts_v - 50.0).abs() < 1e-6);
    let heavy = at(&circuit, &cell, 2000.0, 0.5, -1.0);
    assert!(heavy.net_a < 0.0 && heavy.limit == Limit::None, "it may still give: {heavy:?}");
}

#[test]
fn an_empty_bank_leaves_the_loads_to_the_sun() {
    let cell = module().at(300.0, 25.0).scaled(2.0, 1.0);
    for bank in [phosphate(), flooded()] {
        let circuit = shared_into(Posts::Bank(bank), &tracker(52.0), setting(14.4, None), [0.05, 0.004, 0.003]);
        let flow = at(&circuit, &cell, 1000.0, bank.least_soc, 25.0);
        assert_eq!((flow.net_a, flow.limit), (0.0, Limit::Empty));
        assert!(flow.sources_a() > 1.0);
    }
}

/// The same with every source past its absorption.
fn floating(circuit: &Charging, cell: &Cell, load_w: f64, soc: f64) -> Flow {
    let even = Lit::Even { cell, bare: &cell.max_power(0.0) };
    let lit = vec![even; circuit.solars.len()];
    let best: Vec<_> = circuit.solars.iter().map(|s| best_point(even, s.pv_ohm)).collect();
    let (feeding, held_h) = (vec![1.0; circuit.feeders.len()], vec![f64::INFINITY; circuit.sources()]);
    let store = Store { soc };
    let moment = Moment { lit: &lit, best: &best, feeding: &feeding, load_w, store, battery_c: 25.0, held_h: &held_h };
    let mut flow = Flow::default();
    solve(circuit, &moment, &mut flow);
    flow
}

/// By hand: a full bank rests above the float of 13.2 V and may give 5 A. Of 200 W it gives 5 A, and the sun the rest at
/// the float less the drop in 0.002 ohm: (13.2 - v) / 0.002 + 5 = 200 / v, so v^2 - (13.2 + 0.01) v + 0.4 = 0, upper root (a source holds its volts within 0.2 mV). With
/// less sun than that the array gives all it has, 5 A come beside it, and what goes short is the rest. One whose unit lets it give
/// nothing leaves all of it to the sun. Of one that only the plan's reserve keeps, the cells hold the posts above the float, and the
/// sun gives nothing.
#[test]
fn a_bank_above_float_at_its_limit_leaves_the_rest_to_the_sun() {
    let of = |direct: bool, most_a: f64, least_soc: f64| {
        let bank = Bank { most_discharge_a: Some(most_a), least_soc, ..phosphate() };
        let one = Solar {
            setting: setting(14.2, Some(13.2)),
            ..single(if direct { pwm() } else { tracker(60.0) }, Posts::Bank(bank)).solars.remove(0)
        };
        Charging::of(Posts::Bank(bank), vec![one], vec![], vec![0.002])
    };
    let sunny = module().at(900.0, 45.0).scaled(1.0, 4.0);
    assert!(phosphate().at(Store { soc: 0.99 }, 25.0).rest_v() - 5.0 * 0.005 > 13.2, "above float with its 5 A drawn");
    for direct in [false, true] {
        for (circuit, bank_a) in [(of(direct, 5.0, 0.1), 5.0), (of(direct, 0.0, 0.1), 0.0)] {
            let flow = floating(&circuit, &sunny, 200.0, 0.99);
            let b = 13.2 + 0.002 * bank_a;
            let posts_v = 0.5 * (b + (b * b - 4.0 * 0.002 * 200.0_f64).sqrt());
            assert_eq!(flow.net_a, -bank_a);
            assert!((flow.posts_v - posts_v).abs() < 1e-4, "{posts_v} V: {flow:?}");
            assert!((flow.sources_a() - (200.0 / posts_v - bank_a)).abs() < 1e-4, "{flow:?}");
        }
        let kept = floating(&of(direct, 50.0, 1.0), &sunny, 200.0, 0.99);
        assert_eq!((kept.net_a, kept.sources_a(), kept.limit), (0.0, 0.0, Limit::Empty), "{kept:?}");
        assert!(kept.posts_v > 13.2, "{kept:?}");
        let dull = module().at(60.0, 15.0).scaled(1.0, 1.0);
        let short = floating(&of(direct, 5.0, 0.1), &dull, 200.0, 0.99);
        let free = floating(&of(direct, 5.0, 0.1), &dull, 0.0, 0.3);
        assert_eq!((short.net_a, short.limit), (-5.0, Limit::Current));
        let (given_w, free_w) = (short.sources_a() * short.posts_v, free.offered_w());
        assert!(free_w > 3.0 && (given_w - free_w).abs() < 0.03 * free_w, "{given_w} of {free_w} W: {short:?}");
        assert!((short.sources_a() + 5.0) * short.posts_v < 199.0, "it goes short: {short:?}");
    }
}

/// A charger that is set for a bank of half the cells gives nothing beside one whose cells stand at 20 V and more, down to its reserve
/// or at a limit, lead or lithium: the loads go short. Source: Kirchhoff's laws, the bank's volts at rest.
#[test]
fn a_charger_for_12_v_gives_nothing_beside_24_v() {
    let lead = |soc: f64| (Bank { cells: 12.0, ..flooded() }, soc);
    let limited = |bank: Bank| Bank { most_discharge_a: Some(2.0), ..bank };
    for (bank, soc) in [
        lead(0.5),
        (limited(lead(0.9).0), 0.9),
        (Bank { cells: 8.0, ..phosphate() }, 0.1),
        (limited(Bank { cells: 8.0, ..phosphate() }), 0.6),
    ] {
        let set = setting(14.4, Some(13.6));
        let one = Solar { setting: set, ..solar(tracker(60.0), 0.04, vec![0]) };
        let feeder = Feeder { out_a: 20.0, out: vec![0], setting: set, line: None };
        let circuit = Charging::of(Posts::Bank(bank), vec![one], vec![feeder], vec![0.002]);
        let cell = module().at(800.0, 45.0).scaled(3.0, 1.0);
        for flow in [at(&circuit, &cell, 200.0, soc, 25.0), floating(&circuit, &cell, 200.0, soc)] {
            assert!(flow.sources_a() < 1e-6, "{flow:?}");
            assert!(flow.posts_v > 20.0 && -flow.net_a * flow.posts_v < 199.0, "{flow:?}");
        }
    }
}

proptest! {
    /// Whatever a lithium bank's unit lets it give, no load goes short while a source past its absorption has more to give than it does. Settings
    /// that lie nearer to each other than what a shared way drops may not settle, and are left out.
    #[test]
    fn no_source_holds_back_beside_a_bank_at_its_limit(
        direct in any::<bool>(), light in 30.0..1100.0f64, ohms in prop::array::uniform3(0.0..0.006f64), load_w in 0.0..900.0f64,
        soc in 0.85..1.0f64, most_a in 0.0..60.0f64, float_v in 12.9..13.6f64, sensed in any::<bool>(),
        lower_v in prop_oneof![Just(0.0), 0.3..0.5f64], fed_a in 0.0..10.0f64,
    ) {
        let makes = if direct { pwm() } else { tracker(60.0) };
        let bank = Bank { most_discharge_a: Some(most_a), ..phosphate() };
        let set = |float_v| Setting { sensed, ..setting(14.2, Some(float_v)) };
        let mut solars = shared_into(Posts::Bank(bank), &makes, set(float_v), ohms).solars;
        solars[1].setting = set(float_v - lower_v);
        let feeder = Feeder { out_a: fed_a, out: vec![2], setting: set(float_v), line: None };
        let circuit = Charging::of(Posts::Bank(bank), solars, vec![feeder], vec![ohms[1], ohms[1], ohms[2]]);
        let cell = module().at(light, 40.0).scaled(1.0, 2.0);
        let flow = floating(&circuit, &cell, load_w, soc);
        prop_assert!(flow.net_a >= -most_a * (1.0 + 1e-9), "{flow:?}");
        let served_w = (flow.sources_a() - flow.net_a) * flow.posts_v;
        let of_bank = Bank { most_discharge_a: None, least_soc: 0.0, ..bank };
        let free =
            Charging::of(Posts::Bank(of_bank), circuit.solars.clone(), circuit.feeders.clone(), circuit.segments_ohm.clone());
        // What all could send into these volts: an unlimited load draws a bank far below every float.
        let most_w = at(&free, &cell, 1200.0, 0.2, 25.0).offered_w();
        let all = flow.sources_a() * flow.posts_v >= 0.93 * most_w;
        // Settings a few mV apart on one way may miss 1 % of the load beside a bank that gives, as in any moment.
        prop_assert!(served_w <= load_w * 1.01 + 1e-6 || flow.net_a > 0.0, "{served_w}: {flow:?}");
        prop_assert!(all || served_w >= load_w * 0.99 - 1e-6, "{served_w} of {load_w} W, sources could {most_w} W: {flow:?}");
    }

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
        let posts_w = |c: &Charging| run(c, &cell).offered_w();
        let (before, after) = (posts_w(&thin), posts_w(&thick));
        prop_assert!(before.is_finite() && after.is_finite());
        prop_assert!(after >= before - 1e-9, "{before} then {after}");
    }

    /// What flows obeys Kirchhoff, no limit is passed, and no more is taken than is on offer, whatever the numbers.
    #[test]
    fn any_moment_is_in_balance(
        direct in any::<bool>(), lead in any::<bool>(), light in 0.0..1100.0f64, cell_c in -20.0..75.0f64,
        series in 1..4usize, ohms in prop::array::uniform3(0.0..0.012f64), load_w in 0.0..4000.0f64, soc in 0.0..=1.0f64,
        battery_c in -15.0..45.0f64, absorb_v in 13.4..14.8f64, most_a in 5.0..300.0f64,
        fed_a in 0.0..60.0f64, lower_v in 0.0..1.0f64, sensed in any::<bool>(),
    ) {
        let makes = if direct { pwm() } else { tracker(60.0) };
        let cell = module().at(light, cell_c).scaled(series as f64, 1.0);
        let bank = Bank { most_charge_a: Some(most_a), ..if lead { flooded() } else { phosphate() } };
        let solars = shared_into(Posts::Bank(bank), &makes, Setting { sensed, ..setting(absorb_v, Some(13.4)) }, ohms).solars;
        let feeder =
            Feeder { out_a: fed_a, out: vec![1, 2], setting: setting(absorb_v - lower_v, None), line: None };
        let circuit = Charging::of(Posts::Bank(bank), solars, vec![feeder], vec![ohms[1], ohms[1], ohms[2]]);
        let flow = at(&circuit, &cell, load_w, soc, battery_c);
        prop_assert!(flow.posts_v > 0.0 && flow.posts_v.is_finite() && flow.net_a.is_finite(), "{flow:?}");
        // Near the most power that a bank gives at all, volts and loads chase each other: what is served counts then.
        let sagging = flow.posts_v < 0.8 * bank.at(Store { soc }, battery_c).rest_v();
        let starved = sagging || matches!(flow.limit, Limit::Empty | Limit::Sag) || (flow.limit == Limit::Current && flow.net_a < 0.0);
        let gap_a = flow.sources_a() - load_w / flow.posts_v - flow.net_a;
        // Sources whose settings lie a few mV apart on one thin way may not settle beside a bank that gives: what is served
        // is then counted from what flows, and may miss 1 % of the load.
        let slack_a = if flow.net_a < 0.0 { 1e-2 * load_w / flow.posts_v } else { 1e-7 * (1.0 + load_w) };
        prop_assert!(if starved { gap_a <= 1e-6 } else { gap_a.abs() <= slack_a }, "gap {gap_a}: {flow:?}");
        prop_assert!(flow.net_a <= most_a * (1.0 + 1e-9));
        prop_assert!(lead || battery_c >= 0.0 || flow.net_a <= 0.0);
        prop_assert!(flow.net_a <= 0.0 || flow.posts_v <= absorb_v * (1.0 + 1e-9), "{flow:?}");
        let now = bank.at(Store { soc }, battery_c);
        if flow.net_a.abs() > 1e-6 && !starved {
            let on_curve = now.curve(flow.net_a).volts;
            // The same case again: one in a hundred thousand stands 0.1 V off the curve.
            let close = if flow.net_a < 0.0 { 2e-2 } else { 1e-6 };
            prop_assert!((on_curve - flow.posts_v).abs() < close * on_curve, "{on_curve}: {flow:?}");
        }
        let own = |k: usize, offer: f64| flow.amps[k] <= offer * (1.0 + 1e-6) + 1e-9;
        let lower = flow.posts_v <= flow.offered_v * (1.0 + 1e-9);
        prop_assert!(!direct || !lower || own(2, fed_a), "{flow:?}");
        prop_assert!(flow.amps.iter().all(|a| *a >= 0.0));
        // A feeder that stops spares the others its drop in the shared way.
        let alone = flow.amps[2] >= fed_a * (1.0 - 1e-9);
        prop_assert!(direct || !alone || sagging || flow.amps[..2].iter().sum::<f64>() * flow.posts_v <= flow.offered_w() + 1e-3, "{flow:?}");
        prop_assert_eq!(&at(&circuit, &cell, load_w, soc, battery_c), &flow);
    }

    /// Whatever the bank is and holds, and however low the array stands against it, a controller sends no more than its array
    /// gives at the volts that it works at, less what it loses. Source: conservation of energy; the array by its own curve.
    #[test]
    fn no_tracker_sends_more_than_its_array_gives(
        lead in any::<bool>(), units in 1..4usize, series in 1..4usize, light in 50.0..1100.0f64, cell_c in 0.0..75.0f64,
        soc in 0.3..1.0f64, battery_c in 5.0..40.0f64, load_w in 0.0..200.0f64, headroom_v in 0.0..3.0f64, is_past in any::<bool>(),
    ) {
        let bank = if lead { flooded() } else { phosphate() };
        let bank = Bank { cells: bank.cells * units as f64, rated_ah: 100.0, ..bank };
        let made = Tracker { tracking: 0.99, conversion: 0.97, self_w: 1.0, headroom_v, most_a: 60.0 };
        let set = setting(14.4 * units as f64, Some(13.5 * units as f64));
        let one = Solar { setting: set, ..solar(Makes::Tracking(made), 0.04, vec![0]) };
        let circuit = Charging::of(Posts::Bank(bank), vec![one], vec![], vec![0.004]);
        let cell = module().at(light, cell_c).scaled(series as f64, 1.0);
        let even = Lit::Even { cell: &cell, bare: &cell.max_power(0.0) };
        let best = [best_point(even, 0.04)];
        let held_h = [if is_past { f64::INFINITY } else { 0.0 }];
        let store = Store { soc };
        let moment = Moment { lit: &[even], best: &best, feeding: &[], load_w, store, battery_c, held_h: &held_h };
        let mut flow = Flow::default();
        solve(&circuit, &moment, &mut flow);
        let share = flow.shares[0];
        let got_w = cell.current_at(share.pv_v, 0.04).max(0.0) * share.pv_v;
        let most_w = (0.99 * 0.97 * got_w - 1.0).max(0.0);
        prop_assert!(share.out_a * share.out_v <= most_w * (1.0 + 1e-6) + 1e-3, "{most_w} W, {flow:?}");
    }

    /// A charger whose line lets it down takes nothing away: with it the bank gets at least what it gets without.
    #[test]
    fn a_charger_that_drops_out_takes_nothing_away(
        lead in any::<bool>(), light in 0.0..1000.0f64, soc in 0.2..0.95f64, ohm in 0.0..0.25f64, out_a in 5.0..60.0f64,
        cutout_v in 10.0..12.5f64, load_w in 0.0..300.0f64, direct in any::<bool>(),
    ) {
        let line = Some(Line { source_v: 13.8, ohm, efficiency: 0.90, cutout_v, part: 1.0 });
        let posts = Posts::Bank(if lead { flooded() } else { phosphate() });
        let set = setting(14.4, Some(13.5));
        let feeder = Feeder { out_a, out: vec![1], setting: set, line };
        let one = Solar { setting: set, ..solar(if direct { pwm() } else { tracker(60.0) }, 0.04, vec![0]) };
        let circuit = Charging::of(posts, vec![one], vec![feeder], vec![0.004, 0.004]);
        let cell = module().at(light, 45.0).scaled(2.0, 1.0);
        let even = Lit::Even { cell: &cell, bare: &cell.max_power(0.0) };
        let lit = [if light > 1.0 { even } else { Lit::None }];
        let best = [if light > 1.0 { best_point(even, 0.04) } else { Default::default() }];
        let with = |share: f64| {
            let mut flow = Flow::default();
            let store = Store { soc };
            let feeding = [share];
            let moment = Moment { lit: &lit, best: &best, feeding: &feeding, load_w, store, battery_c: 25.0, held_h: &[0.0; 2] };
            solve(&circuit, &moment, &mut flow);
            flow
        };
        let (on, off) = (with(1.0), with(0.0));
        prop_assert!(on.net_a >= off.net_a - 1e-6 * (1.0 + off.net_a.abs()), "{off:?} {on:?}");
        let is_all = on.amps[1] > 0.0;
        prop_assert!(is_all || (on.net_a - off.net_a).abs() < 1e-9, "{off:?} {on:?}");
    }
}
