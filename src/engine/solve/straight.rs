//! The commonest moment of a year: one tracker or two at their arrays' maximum, into a bank whose volts follow its current
//! along a straight line, nothing near a limit or a setting. The bank's volts are then a root of the currents' sum, and
//! only the currents are searched for.
//!
//! Whatever else a moment is goes to [`super::joint`], which finds the same here.

use crate::physics::battery::{Bank, BankHour, Limit};
use crate::physics::controller::Tracker;

use super::source::{self, is_dark};
use super::{Charging, Flow, Kind, Makes, Moment, held_v};

/// Steps at most; two do.
const STEPS: usize = 8;
/// A step of this share of a current leaves about its square.
const NEAR: f64 = 1e-6;

/// A tracker that gives.
#[derive(Clone, Copy)]
struct Given<'a> {
    k: usize,
    tracker: &'a Tracker,
    /// Output with the array at its maximum.
    watts: f64,
}

/// Solves the moment if it is one of these; `false`: it is not, and nothing is changed.
pub(super) fn met(circuit: &Charging, bank: &Bank, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> bool {
    if flow.kind != Kind::Arithmetic || moment.feeding.iter().any(|share| *share > 0.0) {
        return false;
    }
    let mut lit = (0..circuit.solars.len()).filter(|k| !is_dark(circuit, moment, *k));
    let given = |k: usize, flow: &Flow| match &circuit.solars.get(k)?.makes {
        Makes::Tracking(tracker) => Some(Given { k, tracker, watts: *flow.watts.get(k)? }),
        Makes::Pwm { .. } => None,
    };
    match (lit.next(), lit.next(), lit.next()) {
        (Some(a), None, _) => given(a, flow).is_some_and(|a| met_of(circuit, bank, now, moment, [a], flow)),
        (Some(a), Some(b), None) => {
            let both = given(a, flow).zip(given(b, flow));
            both.is_some_and(|(a, b)| met_of(circuit, bank, now, moment, [a, b], flow))
        }
        _ => false,
    }
}

fn met_of<const N: usize>(
    circuit: &Charging,
    bank: &Bank,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    given: [Given<'_>; N],
    flow: &mut Flow,
) -> bool {
    let ohm = given.map(|one| given.map(|other| circuit.shared_ohm(one.k, other.k)));
    let Some((amps, posts_v)) = currents(now, moment.load_w, &given, &ohm) else { return false };
    let net_a = amps.iter().sum::<f64>() - moment.load_w / posts_v;
    let may = if net_a > 0.0 {
        now.may_charge() && net_a <= now.most_charge_a()
    } else {
        now.hinders(-net_a, posts_v) == Limit::None
    };
    if !may {
        return false;
    }
    let mut out_v = [posts_v; N];
    let mut holds = [(0.0, false); N];
    for i in 0..N {
        let Given { k, tracker, .. } = given[i];
        let best_v = moment.best.get(k).map_or(0.0, |best| best.v);
        out_v[i] += dot(&ohm[i], &amps);
        let Some(setting) = circuit.setting(k) else { return false };
        let held_h = moment.held_h.get(k).copied().unwrap_or(0.0);
        holds[i] = held_v(setting, bank, now, moment, held_h);
        let reads_v = if setting.sensed { posts_v } else { out_v[i] };
        if reads_v > holds[i].0 || best_v < out_v[i] + tracker.headroom_v {
            return false;
        }
    }
    (flow.offered_v, flow.posts_v, flow.net_a) = (posts_v, posts_v, net_a);
    flow.no_settings(circuit.sources());
    for i in 0..N {
        let k = given[i].k;
        let best = moment.best.get(k).copied().unwrap_or_default();
        flow.put(k, amps[i], holds[i], source::at(given[i].tracker, best, amps[i], out_v[i], false));
    }
    true
}

fn dot<const N: usize>(row: &[f64; N], x: &[f64; N]) -> f64 {
    (0..N).map(|j| row[j] * x[j]).sum()
}

/// What the trackers give, and the volts of the posts: Newton's method in the currents.
/// Source: each `amps * out_v = watts` or its limit, Kirchhoff's laws, the bank's `rest_v + ohm * net_a`.
fn currents<const N: usize>(
    now: &BankHour<'_>,
    load_w: f64,
    given: &[Given<'_>; N],
    ohm: &[[f64; N]; N],
) -> Option<([f64; N], f64)> {
    let (rest_v, bank_ohm) = now.line()?;
    // posts_v = rest_v + bank_ohm * (sum - load_w / posts_v), and its change with the sum.
    let posts = |sum_a: f64| {
        let driven_v = rest_v + bank_ohm * sum_a;
        let root_v = (driven_v * driven_v - 4.0 * bank_ohm * load_w).max(0.0).sqrt();
        (0.5 * (driven_v + root_v), root_v)
    };
    let sum_w: f64 = given.iter().map(|one| one.watts).sum();
    let start_v = rest_v + bank_ohm * (sum_w - load_w) / rest_v;
    if start_v <= 0.0 {
        return None;
    }
    let over = start_v.recip();
    let apart = given.map(|one| one.watts * over);
    let mut amps = [0.0; N];
    for i in 0..N {
        amps[i] = (given[i].watts / (start_v + dot(&ohm[i], &apart))).min(given[i].tracker.most_a);
    }
    for _ in 0..STEPS {
        let (posts_v, root_v) = posts(amps.iter().sum());
        if root_v < 0.1 * posts_v {
            return None;
        }
        let rise_ohm = bank_ohm * posts_v / root_v;
        let (mut rows, mut off) = ([[0.0; N]; N], [0.0; N]);
        for i in 0..N {
            let Given { tracker, watts, .. } = given[i];
            let out_v = posts_v + dot(&ohm[i], &amps);
            if tracker.most_a * out_v <= watts {
                off[i] = tracker.most_a - amps[i];
                rows[i][i] = 1.0;
                continue;
            }
            off[i] = watts - amps[i] * out_v;
            rows[i] = ohm[i].map(|own| amps[i] * (own + rise_ohm));
            rows[i][i] += out_v;
        }
        let steps = solved(rows, off);
        let mut near = true;
        for i in 0..N {
            amps[i] += steps[i];
            near &= steps[i].abs() <= NEAR * amps[i];
        }
        if near {
            let (posts_v, root_v) = posts(amps.iter().sum());
            return (root_v > 0.0 && amps.iter().all(|a| *a >= 0.0)).then_some((amps, posts_v));
        }
    }
    None
}

/// Gauss and Jordan without exchange: each row's own place is by far its largest.
fn solved<const N: usize>(mut rows: [[f64; N]; N], mut right: [f64; N]) -> [f64; N] {
    for i in 0..N {
        let over = rows[i][i].recip();
        let pivot = rows[i].map(|x| x * over);
        rows[i] = pivot;
        right[i] *= over;
        for k in (0..N).filter(|k| *k != i) {
            let factor = rows[k][i];
            rows[k].iter_mut().zip(&pivot).for_each(|(x, p)| *x -= factor * p);
            right[k] -= factor * right[i];
        }
    }
    right
}
