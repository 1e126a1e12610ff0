//! What all ways between two places let through together.

use coachwire::physics::flow::{Arc, is_through, most_through};

/// Numbers between 0 and 1, the same at every run of the test. Source: Knuth, MMIX linear congruence.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n
    }
}

fn way(from: usize, to: usize, most: f64) -> [Arc; 2] {
    [Arc { from, to, most }, Arc { from: to, to: from, most }]
}

/// In a row the smallest counts, side by side they add up; what has no limit is without end, what leads nowhere brings nothing.
/// Source: Kirchhoff's current law, by hand.
#[test]
fn rows_and_pairs() {
    let row = [way(0, 1, 40.0), way(1, 2, 15.0)].concat();
    assert_eq!(most_through(3, &row, 0, 2), (15.0, vec![2]));
    let side = [way(0, 1, 20.0), way(0, 1, 25.0)].concat();
    assert_eq!(most_through(2, &side, 0, 1), (45.0, vec![0, 2]));
    // Two feeds behind one fuse are limited by that one.
    let shared = [way(0, 1, 30.0), way(1, 2, 20.0), way(1, 2, 20.0)].concat();
    assert_eq!(most_through(3, &shared, 0, 2), (30.0, vec![0]));
    // A tie between two feeds that are each smaller than it adds up at its end.
    let tied = [way(0, 1, 20.0), way(0, 2, 20.0), way(1, 2, f64::INFINITY)].concat();
    assert_eq!(most_through(3, &tied, 0, 1), (40.0, vec![0, 2]));
    assert_eq!(most_through(3, &way(0, 1, f64::INFINITY), 0, 1), (f64::INFINITY, vec![]));
    assert_eq!(most_through(3, &way(0, 1, 5.0), 0, 2).0, 0.0);
    // Where two cuts are the same the one nearest to the end is told.
    let even = [way(0, 1, 10.0), way(1, 2, 10.0)].concat();
    assert_eq!(most_through(3, &even, 0, 2), (10.0, vec![2]));
}

/// The least that any parting of the places in two lets over, each parting tried.
/// Source: Ford and Fulkerson 1956, max flow is min cut; here every cut is counted out.
fn least_cut(places: usize, arcs: &[Arc], from: usize, to: usize) -> f64 {
    let cuts = (0..1_usize << places).filter(|set| set >> from & 1 == 1 && set >> to & 1 == 0);
    let over = |set: usize| -> f64 {
        arcs.iter().filter(|a| set >> a.from & 1 == 1 && set >> a.to & 1 == 0).map(|a| a.most).sum()
    };
    cuts.map(over).fold(f64::INFINITY, f64::min)
}

#[test]
fn any_net_lets_through_what_its_least_cut_does() {
    let mut dice = Dice(7);
    let (mut unlimited, mut limited) = (0, 0);
    for _ in 0..4_000 {
        let places = 2 + dice.below(6);
        let mut arcs = Vec::new();
        for _ in 0..dice.below(14) {
            let (a, b) = (dice.below(places), dice.below(places));
            let most = [1.0, 2.5, 7.5, 10.0, 30.0, 300.0, f64::INFINITY][dice.below(7)];
            if dice.below(4) == 0 {
                arcs.push(Arc { from: a, to: b, most });
            } else {
                arcs.extend(way(a, b, most));
            }
        }
        let (from, to) = (0, 1 + dice.below(places - 1));
        let (found, cut) = most_through(places, &arcs, from, to);
        assert_eq!(is_through(places, &arcs, from, to), found > 0.0, "{arcs:?}");
        let least = least_cut(places, &arcs, from, to);
        assert!(found == least || (found - least).abs() < 1e-9, "{found} {least} {arcs:?}");
        if found.is_infinite() {
            unlimited += 1;
            assert!(cut.is_empty());
            continue;
        }
        limited += usize::from(found > 0.0);
        // What is named limits it: together they let through just that, and without them nothing comes.
        let named: f64 = cut.iter().map(|k| arcs[*k].most).sum();
        assert!((named - found).abs() < 1e-9, "{named} {found} {arcs:?}");
        let open: Vec<Arc> = arcs.iter().enumerate().filter(|(k, _)| !cut.contains(k)).map(|(_, a)| *a).collect();
        assert_eq!(most_through(places, &open, from, to).0, 0.0, "{arcs:?}");
    }
    assert!(unlimited > 100 && limited > 1_000, "{unlimited} {limited}");
}
