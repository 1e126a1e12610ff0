//! Drawings of single conductors, whatever joins what, against Kirchhoff's laws solved outside the engine.

use super::{evaluate, plan, texts};
use coachwire::engine::Report;

/// One conductor: its ends by number, its milliohms.
type Wire = (usize, usize, f64);

/// A drawing: of each pole its wires, the first place of each being the post, and each load between two places.
struct Drawing {
    positive: Vec<Wire>,
    negative: Vec<Wire>,
    loads: Vec<(usize, usize, f64)>,
}

const BANK_V: f64 = 12.8;
const BARS: usize = 4;

/// Numbers between 0 and 1, the same at every run of the test. Source: Knuth, MMIX linear congruence.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        ((self.roll() * n as f64) as usize).min(n - 1)
    }
}

/// Bars that hang on one another or on the post, with so many wires more between them.
fn pole(dice: &mut Dice, more: usize) -> Vec<Wire> {
    let mut wires: Vec<Wire> = (1..BARS).map(|n| (dice.below(n), n, 1.0 + 20.0 * dice.roll())).collect();
    for _ in 0..more {
        let (a, b) = (dice.below(BARS), dice.below(BARS));
        if a != b {
            wires.push((a, b, 1.0 + 20.0 * dice.roll()));
        }
    }
    wires
}

fn drawing(dice: &mut Dice, more: [usize; 2]) -> Drawing {
    let [positive, negative] = more.map(|n| pole(dice, n));
    let load = |dice: &mut Dice| (1 + dice.below(BARS - 1), 1 + dice.below(BARS - 1), 10.0 + 90.0 * dice.roll());
    Drawing { positive, negative, loads: (0..3).map(|_| load(dice)).collect() }
}

/// Volts that each place of a pole loses to the post, with so many amps drawn from each: nodes' equations by elimination.
/// Source: Kirchhoff's current law at every node.
fn lost_v(wires: &[Wire], drawn_a: &[f64; BARS]) -> [f64; BARS] {
    let n = BARS - 1;
    let mut rows = vec![vec![0.0; n + 1]; n];
    for (place, row) in rows.iter_mut().enumerate() {
        row[n] = drawn_a[place + 1];
    }
    for &(a, b, mohm) in wires {
        let g = 1000.0 / mohm;
        for (here, there) in [(a, b), (b, a)] {
            if here > 0 {
                rows[here - 1][here - 1] += g;
                if there > 0 {
                    rows[here - 1][there - 1] -= g;
                }
            }
        }
    }
    for i in 0..n {
        for j in 0..n {
            if i != j {
                let times = rows[j][i] / rows[i][i];
                let pivot = rows[i].clone();
                rows[j].iter_mut().zip(pivot).for_each(|(x, p)| *x -= times * p);
            }
        }
    }
    let mut volts = [0.0; BARS];
    for (i, row) in rows.iter().enumerate() {
        volts[i + 1] = row[n] / row[i];
    }
    volts
}

const LOAD_MOHM: f64 = 30.0;

fn text(d: &Drawing) -> String {
    let single = |id: &str, from: &str, to: &str, mohm: f64, more: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "4/0 AWG", return_path: "none", measured_ohm: {:?}, {more}
            legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)]),"#,
            mohm / 1000.0
        )
    };
    let fused = r#"protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)],"#;
    let name = |pole: &str, n: usize| match (pole, n) {
        ("P", 0) => "BK".to_string(),
        (_, 0) => "BK-".to_string(),
        (pole, n) => format!("{pole}{n}"),
    };
    let mut runs = String::new();
    for (pole, wires, more) in [("P", &d.positive, fused), ("N", &d.negative, "")] {
        for (i, (a, b, mohm)) in wires.iter().enumerate() {
            runs += &single(&format!("{pole}W{i}"), &name(pole, *a), &name(pole, *b), *mohm, more);
        }
    }
    let (mut loads, mut bars) = (String::new(), String::new());
    for (i, (p, n, watts)) in d.loads.iter().enumerate() {
        loads += &format!(r#"(id: "L{i}", watts_w: {watts:?}, hours_day: 1.0),"#);
        runs += &single(&format!("LP{i}"), &name("P", *p), &format!("L{i}"), LOAD_MOHM, fused);
        runs += &single(&format!("LN{i}"), &format!("L{i}"), &name("N", *n), LOAD_MOHM, "");
    }
    for n in 1..BARS {
        bars += &format!(r#"(id: "P{n}", kind: "bus"), (id: "N{n}", kind: "bus"),"#);
    }
    format!(
        r#"(bank: (chemistry: "LFP", unit_v: {BANK_V:?}, unit_ah: 100.0, series: 1.0, parallel: 1.0, ohmic_mohm: 3.0),
            devices: [{bars}], loads: [{loads}], runs: [{runs}])"#
    )
}

fn figure(r: &Report, id: &str, of: fn(&coachwire::engine::report::RunFigures) -> Option<f64>) -> f64 {
    let run = r.runs.iter().find(|x| x.id.as_str() == id).expect("run");
    of(run).unwrap_or_else(|| panic!("{id} has no figure\n{}", texts(r)))
}

/// What the engine says of a drawing beside what flows and is lost by the laws: each wire's amps, each load's volts.
fn both(d: &Drawing) -> Vec<(String, f64, f64)> {
    let r = evaluate(&plan(&text(d)));
    let mut drawn = [[0.0; BARS]; 2];
    for (p, n, watts) in &d.loads {
        drawn[0][*p] += watts / BANK_V;
        drawn[1][*n] += watts / BANK_V;
    }
    let lost = [lost_v(&d.positive, &drawn[0]), lost_v(&d.negative, &drawn[1])];
    let mut all = Vec::new();
    for (pole, wires, lost) in [("P", &d.positive, lost[0]), ("N", &d.negative, lost[1])] {
        for (i, (a, b, mohm)) in wires.iter().enumerate() {
            let id = format!("{pole}W{i}");
            let flows = (lost[*a] - lost[*b]).abs() / mohm * 1000.0;
            // A bar that nothing comes to has no current to tell of.
            if flows > 1e-9 {
                all.push((id.clone(), figure(&r, &id, |x| x.drop_at_a.clone().ok().map(|a| a.0)), flows));
            }
        }
    }
    for (i, (p, n, watts)) in d.loads.iter().enumerate() {
        let hand = lost[0][*p] + lost[1][*n] + 2.0 * LOAD_MOHM / 1000.0 * watts / BANK_V;
        let id = format!("LP{i}");
        all.push((id.clone(), figure(&r, &id, |x| x.path_drop_v.clone().ok().map(|v| v.0)), hand));
    }
    all
}

/// Where only one way leads anywhere, all currents and drops are those of the laws.
#[test]
fn trees_are_as_kirchhoff_has_them() {
    let mut dice = Dice(7);
    for n in 0..40 {
        let d = drawing(&mut dice, [0, 0]);
        for (what, ours, hand) in both(&d) {
            assert!((ours - hand).abs() < 1e-9, "{n} {what}: {ours}, by the laws {hand}\n{}", text(&d));
        }
    }
}

/// Where several negatives lead there, either may be left alone with all of it: never less than the laws have it.
#[test]
fn loops_of_negatives_are_never_taken_for_less() {
    let mut dice = Dice(11);
    for n in 0..40 {
        let d = drawing(&mut dice, [0, 1 + n % 3]);
        for (what, ours, hand) in both(&d) {
            assert!(ours >= hand - 1e-9, "{n} {what}: {ours}, by the laws {hand}\n{}", text(&d));
        }
    }
}

/// Where positives close loops too: the same.
#[test]
fn loops_of_positives_are_never_taken_for_less() {
    let mut dice = Dice(23);
    for n in 0..40 {
        let d = drawing(&mut dice, [1 + n % 3, n % 3]);
        for (what, ours, hand) in both(&d) {
            assert!(ours >= hand - 1e-9, "{n} {what}: {ours}, by the laws {hand}\n{}", text(&d));
        }
    }
}

/// What flows in each wire of a tree of wires that reaches all places: what is drawn behind it. None where they are no tree.
/// Source: Kirchhoff's current law.
fn flows_in_tree(wires: &[&Wire], drawn_a: &[f64; BARS]) -> Option<Vec<f64>> {
    let mut before: [Option<(usize, usize)>; BARS] = [None; BARS];
    let mut order = vec![0];
    let mut next = 0;
    while let Some(&node) = order.get(next) {
        next += 1;
        for (i, (a, b, _)) in wires.iter().enumerate() {
            let other = if *a == node { *b } else { *a };
            if (*a == node || *b == node) && !order.contains(&other) {
                before[other] = Some((i, node));
                order.push(other);
            }
        }
    }
    if order.len() < BARS {
        return None;
    }
    let (mut flows, mut behind) = (vec![0.0; wires.len()], *drawn_a);
    for node in order.into_iter().rev() {
        if let Some((i, to)) = before[node] {
            flows[i] = behind[node];
            behind[to] += behind[node];
        }
    }
    Some(flows)
}

/// The most in each wire with others open until one way leads everywhere, all choices tried. What flows with none of them open
/// is a mean of these by their ohms (Kirchhoff 1847), so that no ohms bring more.
fn most_of_any_tree(wires: &[Wire], drawn_a: &[f64; BARS]) -> Vec<f64> {
    let mut most = vec![0.0_f64; wires.len()];
    for kept in 0..1_u32 << wires.len() {
        let own: Vec<usize> = (0..wires.len()).filter(|i| kept >> i & 1 == 1).collect();
        if own.len() != BARS - 1 {
            continue;
        }
        let tree: Vec<&Wire> = own.iter().map(|i| &wires[*i]).collect();
        for (i, amps) in own.iter().zip(flows_in_tree(&tree, drawn_a).into_iter().flatten()) {
            most[*i] = most[*i].max(amps);
        }
    }
    most
}

/// On any loops, of positives as of negatives, each wire is held to the most that it may be left with, and to no more.
#[test]
fn on_loops_a_wire_is_held_to_the_most_that_it_may_be_left_with() {
    let mut dice = Dice(5);
    let mut less = 0;
    for n in 0..60 {
        let d = drawing(&mut dice, [n % 4, (n / 4) % 4]);
        let r = evaluate(&plan(&text(&d)));
        let mut drawn = [[0.0; BARS]; 2];
        for (p, n, watts) in &d.loads {
            drawn[0][*p] += watts / BANK_V;
            drawn[1][*n] += watts / BANK_V;
        }
        for (pole, wires, drawn_a) in [("P", &d.positive, &drawn[0]), ("N", &d.negative, &drawn[1])] {
            for (i, hand) in most_of_any_tree(wires, drawn_a).into_iter().enumerate().filter(|(_, a)| *a > 0.0) {
                let id = format!("{pole}W{i}");
                let own = figure(&r, &id, |x| x.drop_at_a.clone().ok().map(|a| a.0));
                assert!((own - hand).abs() < 1e-9, "{n} {id}: {own}, by hand {hand}\n{}", text(&d));
                less += usize::from(hand < drawn_a.iter().sum::<f64>() - 1e-9);
            }
        }
    }
    // It is less than all there is in more than some.
    assert!(less > 100, "{less}");
}

/// Two positives side by side of unlike gauges, 2 and 10 milliohms: by their ohms 4.17 and 0.83 A flow of 5 A; either may be
/// left alone with all of it, and each is held to that. Source: Kirchhoff's laws; 64 W at 12.8 V are 5 A.
#[test]
fn either_of_two_unlike_positives_may_be_left_with_all() {
    let d =
        Drawing { positive: vec![(0, 1, 2.0), (0, 1, 10.0)], negative: vec![(0, 1, 5.0)], loads: vec![(1, 1, 64.0)] };
    for (what, ours, hand) in both(&d).into_iter().filter(|(what, ..)| what.starts_with('P')) {
        assert!((ours - 5.0).abs() < 1e-9 && hand < 5.0, "{what}: {ours}, by the laws {hand}");
    }
}
