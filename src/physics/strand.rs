//! One string of bypass groups in series under unequal light.

use super::bracket::Bracket;
use super::module::{Cell, Point, rise_v};

/// Saturation current of the bypass diodes, A: a Schottky diode that drops 0.45 V at 8.6 A.
/// Source: common practice; Schottky equation at 40 C.
pub(super) const BYPASS_A: f64 = 5e-7;
/// Emission volts of the bypass diodes. Source: as [`BYPASS_A`].
pub(super) const BYPASS_V: f64 = 0.027;
/// Share of a segment next to a bypass diode's onset left out of the search: its resistance is so high there that
/// power falls with current, which would hide the maximum beyond it. Source: shape of the diode's curve.
const ONSET: f64 = 0.01;

/// Equal groups of one string: as much light, as warm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Kind {
    pub(super) cell: Cell,
    /// How many in series.
    pub(super) count: f64,
    /// Current above which the bypass diode conducts.
    pub(super) isc_a: f64,
    /// Open-circuit volts of one without leak: a bound.
    most_v: f64,
    /// Conductance at short circuit; the cells are taken as linear below it.
    pub(super) slope_s: f64,
    /// The whole string's volts at `isc_a` where they have been worked out.
    pub(super) knee_v: Option<f64>,
}

impl Kind {
    pub(super) fn new(cell: Cell, count: f64) -> Self {
        let [isc_a, slope, _] = cell.current_and_slopes(0.0, 0.0);
        Self { cell, count, isc_a: isc_a.max(0.0), most_v: cell.ideal_open_circuit_v(), slope_s: -slope, knee_v: None }
    }

    /// Volts of all of them at a current, with first and second derivatives.
    pub(super) fn volts(&self, i: f64) -> [f64; 3] {
        if i <= self.isc_a {
            let Cell { il_a, i0_a, a_v, rs_ohm, gsh_s } = self.cell;
            let [u, u1, u2] = rise(i0_a, a_v, gsh_s, il_a - i);
            return [self.count * (u - rs_ohm * i), self.count * (-u1 - rs_ohm), self.count * u2];
        }
        let [u, u1, u2] = rise(BYPASS_A, BYPASS_V, self.slope_s, i - self.isc_a);
        [-self.count * u, -self.count * u1, -self.count * u2]
    }
}

/// [`rise_v`] with its first and second derivatives by the current.
pub(super) fn rise(i0_a: f64, a_v: f64, g_s: f64, x_a: f64) -> [f64; 3] {
    let u = rise_v(i0_a, a_v, g_s, x_a);
    let exponential = (x_a + i0_a - g_s * u).max(i0_a);
    let d1 = exponential / a_v + g_s;
    [u, 1.0 / d1, -exponential / (a_v * a_v) / d1 / d1 / d1]
}

/// A string's state at the junction volts of one of its kinds.
struct State {
    i: f64,
    /// Volts at the far end of the extra resistance, and derivatives by current.
    v: [f64; 3],
    /// Derivatives of the current by the junction's volts, sign turned.
    d1: f64,
    d2: f64,
}

/// Kinds sorted by rising short-circuit current, at least one.
#[derive(Clone, Copy)]
pub(super) struct Strand<'a>(pub(super) &'a [Kind]);

impl Strand<'_> {
    /// Volts at a current behind extra resistance, with derivatives.
    pub(super) fn volts(&self, i: f64, ohm: f64) -> [f64; 3] {
        let mut sum = [-ohm * i, -ohm, 0.0];
        for kind in self.0 {
            add(&mut sum, kind.volts(i));
        }
        sum
    }

    /// About the volts of its maximum with every kind lit: a first guess.
    pub(super) fn guess_v(&self) -> f64 {
        let each = self.0.iter().map(|kind| {
            let Cell { a_v, rs_ohm, .. } = kind.cell;
            kind.count * (kind.most_v - a_v * (kind.most_v / a_v).ln_1p() - rs_ohm * kind.isc_a).max(0.0)
        });
        each.sum()
    }

    pub(super) fn open_circuit_v(&self) -> f64 {
        self.0.iter().map(|kind| kind.count * kind.cell.open_circuit_v()).sum()
    }

    /// State where the junction of kind `j` has `t` volts.
    fn state(&self, j: usize, t: f64, ohm: f64) -> State {
        let mut v = [0.0; 3];
        let (mut i, mut d1, mut d2) = (0.0, 1.0, 0.0);
        if let Some(kind) = self.0.get(j) {
            (i, d1, d2) = kind.cell.junction(t);
            d1 = d1.max(f64::MIN_POSITIVE);
            let (n, rs_ohm) = (kind.count, kind.cell.rs_ohm);
            v = [n * (t - rs_ohm * i) - ohm * i, -n * (1.0 / d1 + rs_ohm) - ohm, -n * (d2 / d1) / d1 / d1];
        }
        for (k, kind) in self.0.iter().enumerate() {
            if k != j {
                add(&mut v, kind.volts(i));
            }
        }
        State { i, v, d1, d2 }
    }

    /// Greatest power behind extra resistance: each stretch between two short-circuit currents has at most one
    /// maximum; the weakest kind still lit carries the unknown, which makes the current explicit.
    pub(super) fn max_power(&self, ohm: f64) -> Point {
        let mut best = Point::default();
        let mut left_a = 0.0;
        for (j, kind) in self.0.iter().enumerate() {
            let lit_v: f64 = self.0.iter().skip(j).map(|kind| kind.count * kind.most_v).sum();
            if kind.isc_a > left_a && lit_v * kind.isc_a > best.power_w() {
                let found = self.local_maximum(j, left_a, lit_v, ohm);
                if found.power_w() > best.power_w() {
                    best = found;
                }
            }
            left_a = left_a.max(kind.isc_a);
        }
        best
    }

    fn local_maximum(&self, j: usize, left_a: f64, lit_v: f64, ohm: f64) -> Point {
        let Some(kind) = self.0.get(j) else { return Point::default() };
        let Cell { il_a, i0_a, a_v, rs_ohm, gsh_s } = kind.cell;
        let least_a = if left_a > 0.0 { left_a + ONSET * (kind.isc_a - left_a) } else { 0.0 };
        let low_v = rs_ohm * kind.isc_a;
        let high_v = rise_v(i0_a, a_v, gsh_s, il_a - least_a).max(low_v);
        let guess_v = a_v * (kind.count * a_v * il_a / (i0_a.max(f64::MIN_POSITIVE) * lit_v)).ln();
        let mut t = if guess_v > low_v && guess_v < high_v { guess_v } else { f64::midpoint(low_v, high_v) };
        let mut bracket = Bracket::new(low_v, high_v);
        let mut best = Point::default();
        for _ in 0..60 {
            let State { i, v, d1, d2 } = self.state(j, t, ohm);
            if v[0] * i > best.power_w() {
                best = Point { v: v[0], i };
            }
            let (p1, p2) = (v[0] + i * v[1], 2.0 * v[1] + i * v[2]);
            let (slope, bend) = (-d1 * p1, d1 * d1 * p2 - d2 * p1);
            let next_v = bracket.after(t, slope > 0.0, t - slope / bend);
            let step_v = next_v - t;
            t = next_v;
            // Power is flat here: what is left is of the order of the square of the step.
            if step_v.abs() <= 1e-5 * a_v {
                break;
            }
        }
        best
    }

    /// Current into a source of `v` volts behind extra resistance, with first and second derivatives by volts.
    pub(super) fn current(&self, v: f64, ohm: f64) -> [f64; 3] {
        let v = v.clamp(-1e6, 1e6);
        let last = self.0.len().saturating_sub(1);
        let (mut j, mut above, mut here_v) = (0, None, f64::NEG_INFINITY);
        for (k, kind) in self.0.iter().enumerate() {
            j = k;
            here_v = kind.knee_v.unwrap_or_else(|| self.volts(kind.isc_a, 0.0)[0]) - ohm * kind.isc_a;
            if v >= here_v || k == last {
                break;
            }
            above = Some((kind.isc_a, here_v));
        }
        let Some(kind) = self.0.get(j) else { return [0.0; 3] };
        if v < here_v {
            // Below zero volts with every diode conducting: the current at the edge, no further.
            return [kind.isc_a, 0.0, 0.0];
        }
        let Cell { il_a, i0_a, a_v, rs_ohm, gsh_s } = kind.cell;
        let low_v = rs_ohm * kind.isc_a;
        let (high_v, start_v) = match above {
            Some((above_a, above_v)) => {
                let high_v = rise_v(i0_a, a_v, gsh_s, il_a - above_a).max(low_v);
                (high_v, low_v + (high_v - low_v) * (v - here_v) / (above_v - here_v))
            }
            None => {
                let most_ohm = ohm + self.0.iter().map(|kind| kind.count * kind.cell.rs_ohm).sum::<f64>();
                let driven_a = v.abs() / most_ohm.max(1e-9);
                let high_v = rise_v(i0_a, a_v, 0.0, il_a + driven_a).max(low_v);
                (high_v, low_v + (v - here_v) / kind.count)
            }
        };
        let mut t = start_v.clamp(low_v, high_v);
        let mut bracket = Bracket::new(low_v, high_v);
        let mut slopes = [0.0, -1.0, 0.0];
        for _ in 0..100 {
            let state = self.state(j, t, ohm);
            slopes = state.v;
            let miss = state.v[0] - v;
            let next_v = bracket.after(t, miss < 0.0, t + miss / (state.d1 * state.v[1]));
            let step_v = next_v - t;
            t = next_v;
            // The error left is of the order of the square of these, measured in `a` and in a bypass diode's volts.
            if step_v.abs() <= 1e-6 * a_v && miss.abs() <= 1e-4 {
                break;
            }
        }
        let s1 = slopes[1].min(-f64::MIN_POSITIVE);
        [kind.cell.junction(t).0, 1.0 / s1, -(slopes[2] / s1) / s1 / s1]
    }
}

fn add(sum: &mut [f64; 3], part: [f64; 3]) {
    for (s, p) in sum.iter_mut().zip(part) {
        *s += p;
    }
}
