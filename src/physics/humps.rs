//! How many maxima a stretch of a power curve can have: bounds of the current's slope and bend over it.
//!
//! Where bypass diodes conduct, the current of a string bends both ways, and that of several strings in parallel may
//! have more maxima than any of them alone. Bounds over a stretch tell whether it can hide one.

use super::module::Cell;
use super::strand::{BYPASS_A, BYPASS_V, Kind, Strand, rise};

/// Least and most.
pub(super) type Span = [f64; 2];

/// Slope and bend of something over a stretch.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Bounds {
    pub(super) slope: Span,
    pub(super) bend: Span,
}

impl Bounds {
    fn add(&mut self, part: Self) {
        for k in 0..2 {
            self.slope[k] += part.slope[k];
            self.bend[k] += part.bend[k];
        }
    }

    fn or(self, other: Self) -> Self {
        let both = |a: Span, b: Span| [a[0].min(b[0]), a[1].max(b[1])];
        Self { slope: both(self.slope, other.slope), bend: both(self.bend, other.bend) }
    }
}

/// A diode's volts by current, `y` being its exponential part over `a`: second derivative without its sign.
fn bend(y: f64, g_s: f64, a_v: f64) -> f64 {
    let d1 = y + g_s;
    y / a_v / d1 / d1 / d1
}

/// First and second derivative of one diode's volts between two currents into it, without sign.
/// The first falls with current; the second rises to its most where the exponential part is half the shunt's.
fn diode(i0_a: f64, a_v: f64, g_s: f64, x_a: Span) -> Bounds {
    let [u1, u2] = x_a.map(|x| rise(i0_a, a_v, g_s, x)[1]);
    let [y1, y2] = [u1, u2].map(|u| (1.0 / u - g_s).max(f64::MIN_POSITIVE));
    let (least_y, most_y) = (y1.min(y2), y1.max(y2));
    let ends = [bend(least_y, g_s, a_v), bend(most_y, g_s, a_v)];
    let most = bend((g_s / 2.0).clamp(least_y, most_y), g_s, a_v);
    Bounds { slope: [u1.min(u2), u1.max(u2)], bend: [ends[0].min(ends[1]), most.max(ends[0]).max(ends[1])] }
}

fn lit(kind: &Kind, [low_a, high_a]: Span) -> Bounds {
    let Cell { il_a, i0_a, a_v, rs_ohm, gsh_s } = kind.cell;
    let d = diode(i0_a, a_v, gsh_s, [il_a - high_a, il_a - low_a]);
    let n = kind.count;
    Bounds { slope: [-n * (d.slope[1] + rs_ohm), -n * (d.slope[0] + rs_ohm)], bend: [-n * d.bend[1], -n * d.bend[0]] }
}

fn bypassed(kind: &Kind, [low_a, high_a]: Span) -> Bounds {
    let d = diode(BYPASS_A, BYPASS_V, kind.slope_s, [low_a - kind.isc_a, high_a - kind.isc_a]);
    let n = kind.count;
    Bounds { slope: [-n * d.slope[1], -n * d.slope[0]], bend: [n * d.bend[0], n * d.bend[1]] }
}

/// Volts of a kind by current, between two currents.
fn volts(kind: &Kind, [low_a, high_a]: Span) -> Bounds {
    // A sliver that only rounding puts on the other side of the knee would widen the bounds for nothing.
    let sliver_a = 1e-7 * kind.isc_a + 1e-9;
    let isc_a = kind.isc_a;
    let (below, above) = ([low_a.min(isc_a), high_a.min(isc_a)], [low_a.max(isc_a), high_a.max(isc_a)]);
    if high_a <= isc_a + sliver_a {
        lit(kind, below)
    } else if low_a >= isc_a - sliver_a {
        bypassed(kind, above)
    } else {
        lit(kind, below).or(bypassed(kind, above))
    }
}

impl Strand<'_> {
    /// Slope and bend of the current by volts, between two currents.
    pub(super) fn current_bounds(&self, between_a: Span) -> Bounds {
        let mut v = Bounds::default();
        for kind in self.0 {
            v.add(volts(kind, between_a));
        }
        let steep = (-v.slope[0]).max(f64::MIN_POSITIVE);
        let flat = (-v.slope[1]).max(f64::MIN_POSITIVE);
        let cube = |bend: f64, towards: bool| {
            let slope = if towards { flat } else { steep };
            (bend / slope / slope / slope).clamp(-1e300, 1e300)
        };
        Bounds {
            slope: [-1.0 / flat, -1.0 / steep],
            bend: [cube(v.bend[0], v.bend[0] < 0.0), cube(v.bend[1], v.bend[1] > 0.0)],
        }
    }
}

/// A stretch of a curve between two volts, with resistance behind it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub(super) low_v: f64,
    pub(super) high_v: f64,
    /// Current and its slope at the lower and at the higher volts.
    pub(super) low: [f64; 2],
    pub(super) high: [f64; 2],
    pub(super) bounds: Bounds,
    pub(super) ohm: f64,
}

impl Stretch {
    /// Whether power can have one maximum at most here: it is concave by volts, or by current.
    pub(super) fn single(&self) -> bool {
        let Self { low: [low_a, _], bounds, ohm, .. } = *self;
        let flattest = -bounds.slope[1];
        if low_a.max(0.0) * bounds.bend[1] < 2.0 * flattest * flattest * (1.0 + ohm * flattest) {
            return true;
        }
        self.power_bend()[1] < 0.0
    }

    /// Second derivative of power by volts.
    fn power_bend(&self) -> Span {
        let Self { low_v, high_v, low: [low_a, _], high: [high_a, _], bounds, ohm } = *self;
        let by_bend = [low_v - 2.0 * ohm * low_a, high_v - 2.0 * ohm * high_a];
        let corners = by_bend.map(|k| bounds.bend.map(|b| k * b));
        let least = corners.iter().flatten().copied().fold(f64::MAX, f64::min);
        let most = corners.iter().flatten().copied().fold(f64::MIN, f64::max);
        let by_slope = bounds.slope.map(|s| 2.0 * s * (1.0 - ohm * s));
        [by_slope[0] + least, by_slope[1] + most]
    }

    /// Power and its slope at the lower end and at the higher one.
    pub(super) fn ends(&self) -> [[f64; 2]; 2] {
        let at = |v: f64, [i, i1]: [f64; 2]| {
            let out_v = v - self.ohm * i;
            [out_v * i, i * (1.0 - self.ohm * i1) + out_v * i1]
        };
        [at(self.low_v, self.low), at(self.high_v, self.high)]
    }

    /// More than this the stretch cannot give: volts at its top times current at its bottom, or its better end and
    /// the most by which a curve of such bend rises above its chord.
    pub(super) fn most_w(&self) -> f64 {
        let corner_w = (self.high_v - self.ohm * self.high[0]).max(0.0) * self.low[0].max(0.0);
        let [[low_w, _], [high_w, _]] = self.ends();
        let wide_v = self.high_v - self.low_v;
        let arch_w = (-self.power_bend()[0]).max(0.0) * wide_v * wide_v / 8.0;
        corner_w.min(low_w.max(high_w) + arch_w)
    }
}
