//! What lies between two places of conductors joined in any way.

use coachwire::physics::net::ohm_between;

fn close(found: Option<f64>, ohm: f64) {
    let found = found.expect("joined");
    assert!((found - ohm).abs() < 1e-9, "{found} for {ohm}");
}

/// In a row ohms add up, side by side their inverses do.
/// Source: Kirchhoff's laws, by hand.
#[test]
fn rows_and_pairs() {
    close(ohm_between(3, &[(0, 1, 2.0), (1, 2, 3.0)], 2, 0), 5.0);
    close(ohm_between(2, &[(0, 1, 2.0), (1, 0, 6.0)], 1, 0), 1.5);
    // A ring of three equal ones, and a branch that leads on to nothing.
    close(ohm_between(4, &[(0, 1, 1.0), (1, 2, 1.0), (2, 0, 1.0), (2, 3, 5.0)], 1, 0), 2.0 / 3.0);
    assert_eq!(ohm_between(2, &[], 1, 1), Some(0.0));
    assert_eq!(ohm_between(3, &[(0, 1, 1.0)], 2, 0), None);
}

/// A bridge in balance has nothing flow across; one of 1, 2, 3, 4 and 5 ohm across is 2.42... by a delta turned into a star.
/// Source: Wheatstone 1843; star and delta after Kennelly 1899, worked here.
#[test]
fn bridges() {
    close(ohm_between(4, &[(0, 1, 1.0), (0, 2, 1.0), (1, 3, 1.0), (2, 3, 1.0), (1, 2, 7.0)], 3, 0), 1.0);
    let (a, b, across, d, e) = (1.0, 2.0, 5.0, 3.0, 4.0);
    let sum = a + b + across;
    let (at_start, at_a, at_b) = (a * b / sum, a * across / sum, b * across / sum);
    let (way_a, way_b) = (at_a + d, at_b + e);
    let by_star = at_start + way_a * way_b / (way_a + way_b);
    close(ohm_between(4, &[(0, 1, a), (0, 2, b), (1, 2, across), (1, 3, d), (2, 3, e)], 3, 0), by_star);
}

/// From corner to far corner of a cube of twelve equal conductors lie five sixths of one.
/// Source: a standard example of circuit theory, by symmetry: 1/3 + 1/6 + 1/3.
#[test]
fn a_cube() {
    let edges: Vec<_> =
        (0..8_usize).flat_map(|p| [1, 2, 4].map(|bit| (p, p ^ bit, 1.0))).filter(|(from, to, _)| from < to).collect();
    assert_eq!(edges.len(), 12);
    close(ohm_between(8, &edges, 7, 0), 5.0 / 6.0);
}

/// Nothing flows in what leads nowhere: trees that hang on a net leave its ohms as they are, to the bit, and a great many of them
/// cost no more than they are long.
#[test]
fn what_leads_nowhere_changes_nothing() {
    let net = [(0, 1, 1.5), (0, 2, 2.5), (1, 3, 3.5), (2, 3, 4.5), (1, 2, 7.0)];
    let alone = ohm_between(4, &net, 3, 0).expect("joined");
    let mut all = net.to_vec();
    for place in 4..4000 {
        // Each hangs on the one a few before it, the first ones on the net.
        all.push((place - 4 + place % 3, place, 0.01));
    }
    assert_eq!(ohm_between(4000, &all, 3, 0), Some(alone));
    assert_eq!(ohm_between(4, &net[..2], 3, 0), None);
    // From the end of a branch its own ohms come on top.
    close(ohm_between(6, &[&net[..], &[(3, 4, 0.25), (4, 5, 9.0)]].concat(), 4, 0), alone + 0.25);
}
