//! What hangs on one pack's own switch before all packs meet, against Kirchhoff's laws solved by elimination.

use super::{evaluate, found, plan, texts};
use coachwire::engine::Report;
use coachwire::plan::Plan;

const BANK_V: f64 = 51.2;
/// Low volts for design: 12.0 V for each 12 V of LFP (rules of design currents).
const LOW_V: f64 = 48.0;
const PACK_OHM: f64 = 0.015;

/// Two packs, each by two runs over a switch of its own; a load on the first switch, another on the bus. Milliohms of the
/// four runs, and watts.
fn coach(mohm: [f64; 4], aside_w: f64, main_w: f64, more: &str) -> Plan {
    let lead = |id: &str, from: &str, to: &str, mohm: f64, fuse: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2 AWG", return_path: "none", measured_ohm: {:?},
            legs: [(id: "L1", length_m: 0.4, insulation_c: 105.0, zone: "cabinet", laid: "open")], protection: [{fuse}]),"#,
            mohm / 1000.0
        )
    };
    let fuse =
        |amps: f64| format!(r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: {amps:?}, distance_m: 0.1)"#);
    let runs = lead("B1", "BK", "S1", mohm[0], &fuse(125.0))
        + &lead("B2", "BK", "S2", mohm[1], &fuse(125.0))
        + &lead("B3", "S1", "BB", mohm[2], "")
        + &lead("B4", "S2", "BB", mohm[3], "")
        + &lead("W1", "BB", "L1", 1.0, &fuse(150.0))
        + &lead("W2", "S1", "L2", 10.0, &fuse(20.0));
    plan(&format!(
        r#"(bank: (chemistry: "LFP", unit_v: {BANK_V:?}, unit_ah: 100.0, series: 1.0, parallel: 2.0, ohmic_mohm: 15.0,
            fused_each: "yes"),
            devices: [(id: "S1", kind: "bus"), (id: "S2", kind: "bus"), (id: "BB", kind: "bus")],
            loads: [(id: "L1", watts_w: {main_w:?}, hours_day: 1.0, made_for: "12 to 48 V"),
                (id: "L2", watts_w: {aside_w:?}, hours_day: 1.0, made_for: "12 to 48 V")],
            runs: [{runs} {more}])"#
    ))
}

fn design_a(r: &Report, id: &str) -> f64 {
    let run = r.runs.iter().find(|x| x.id.as_str() == id).expect("run");
    run.design_a.clone().unwrap_or_else(|e| panic!("{id} waits for {e:?}\n{}", texts(r))).0
}

/// Amps in B1, B2, B3 (toward the bus), B4 with both loads drawing so much: nodes S1, S2, BB, both packs at equal volts behind
/// their ohms. Source: Kirchhoff's current law at every node, Gauss's elimination.
fn nodal(mohm: [f64; 4], aside_a: f64, main_a: f64) -> [f64; 4] {
    let [b1, b2, b3, b4] = mohm.map(|m| m / 1000.0);
    // Wires: from pack (0) or a node, to a node, siemens.
    let (g1, g2, g3, g4) = (1.0 / (PACK_OHM + b1), 1.0 / (PACK_OHM + b2), 1.0 / b3, 1.0 / b4);
    let mut rows = [[g1 + g3, 0.0, -g3, -aside_a], [0.0, g2 + g4, -g4, 0.0], [-g3, -g4, g3 + g4, -main_a]];
    for i in 0..3 {
        for j in 0..3 {
            if i != j {
                let times = rows[j][i] / rows[i][i];
                let own = rows[i];
                rows[j].iter_mut().zip(own).for_each(|(x, own)| *x -= times * own);
            }
        }
    }
    let v: Vec<f64> = (0..3).map(|i| rows[i][3] / rows[i][i]).collect();
    [-v[0] * g1, -v[1] * g2, (v[0] - v[2]) * g3, (v[1] - v[2]) * g4]
}

/// The most in each run whatever of the two loads is on.
fn most(mohm: [f64; 4], aside_a: f64, main_a: f64) -> [f64; 4] {
    let on = [(aside_a, 0.0), (0.0, main_a), (aside_a, main_a)].map(|(a, m)| nodal(mohm, a, m));
    std::array::from_fn(|i| on.iter().map(|x| x[i].abs()).fold(0.0, f64::max))
}

#[test]
fn each_pack_carries_its_part_and_what_hangs_on_its_own_switch() {
    let cases = [
        ([0.3, 0.3, 0.2, 0.2], 3.0, 5600.0),
        ([0.3, 0.5, 0.2, 0.9], 600.0, 5000.0),
        ([1.0, 3.0, 4.0, 0.4], 2500.0, 2000.0),
    ];
    for (mohm, aside_w, main_w) in cases {
        let r = evaluate(&coach(mohm, aside_w, main_w, ""));
        // Negatives are not drawn: the positives' own ohms and the packs' alone decide.
        let hand = most(mohm, aside_w / LOW_V, main_w / LOW_V);
        for (id, hand) in ["B1", "B2", "B3", "B4"].into_iter().zip(hand) {
            let own = design_a(&r, id);
            // Never less; a run that is crossed against what flows there else by no more than what comes that way.
            assert!(own >= hand * 0.999, "{mohm:?} {id}: {own} for {hand}\n{}", texts(&r));
            assert!((own - hand).abs() <= hand * 0.02 + 0.02, "{mohm:?} {id}: {own} for {hand}");
        }
    }
}

/// The same at the working point, at the bank's own volts: of a run that all flows against as well.
#[test]
fn each_run_shows_the_most_that_flows_at_the_working_point() {
    for (mohm, aside_w, main_w) in [([0.3, 0.5, 0.2, 0.9], 600.0, 5000.0), ([1.0, 3.0, 4.0, 0.4], 4000.0, 60.0)] {
        let r = evaluate(&coach(mohm, aside_w, main_w, ""));
        let hand = most(mohm, aside_w / BANK_V, main_w / BANK_V);
        for (id, hand) in ["B1", "B2", "B3", "B4"].into_iter().zip(hand) {
            let run = r.runs.iter().find(|x| x.id.as_str() == id).expect("run");
            let own = run.drop_at_a.clone().expect("known").0;
            assert!((own - hand).abs() <= hand * 0.02 + 0.02, "{mohm:?} {id}: {own} for {hand}");
        }
    }
}

/// 117 A over two packs is 58.6 A each: fuses of 125 A are more than 1.25 times that, and a detector on one switch makes no
/// difference.
#[test]
fn a_detector_on_one_packs_switch_makes_no_fuse_too_small() {
    for aside_w in [3.0, 240.0] {
        let r = evaluate(&coach([0.3, 0.3, 0.2, 0.2], aside_w, 5626.0, ""));
        assert!(found(&r, "fuse-below-design").is_empty(), "{}", texts(&r));
        assert!(found(&r, "loop").is_empty(), "{}", texts(&r));
    }
    // 160 A and more on one switch is too much for it.
    let r = evaluate(&coach([0.3, 0.3, 0.2, 0.2], 9600.0, 5626.0, ""));
    assert!(found(&r, "fuse-below-design").iter().any(|f| f.subject.as_str() == "runs.B1"), "{}", texts(&r));
}

/// A fault where the detector's line begins is driven by its own pack over the first run, and by the other over all the rest.
#[test]
fn a_fault_behind_one_packs_switch_is_driven_from_both_sides() {
    let mohm = [2.0, 1.0, 3.0, 0.5];
    let mut p = coach(mohm, 3.0, 5600.0, "");
    for run in &mut p.runs {
        run.measured_ohm = None;
    }
    let r = evaluate(&p);
    let fault = |id: &str| r.runs.iter().find(|x| x.id.as_str() == id).expect("run").fuses[0].fault_a.clone();
    let ohm = |id: &str| {
        coachwire::engine::conductors_ohm(&p, &id.parse().expect("id"), 20.0).expect("run").expect("known").0
    };
    let near = PACK_OHM + ohm("B1");
    let far = PACK_OHM + ohm("B2") + ohm("B4") + ohm("B3");
    // 13.3 V for each 12 V of LFP; the fuse sits 0.1 m of 0.4 m along its own wire.
    let hand = 13.3 * 4.0 / (1.0 / (1.0 / near + 1.0 / far) + ohm("W2") * 0.25);
    let own = fault("W2").expect("known").0;
    assert!((own / hand - 1.0).abs() < 0.01, "{own} for {hand}");
}
