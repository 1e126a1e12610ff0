//! The single-diode module: parameters from a label, and what a lit cell string gives.

use super::controller::Source;

/// Boltzmann constant, eV/K. Source: CODATA 2018 (exact).
const BOLTZMANN_EV_K: f64 = 8.617_333_262e-5;
/// Temperature of standard test conditions, K. Source: IEC 61215.
const REFERENCE_K: f64 = 298.15;
/// Band gap of silicon at 25 C, eV. Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78.
pub const SILICON_EV: f64 = 1.121;
/// Relative fall of the band gap, 1/K. Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78, eq. 12.
const GAP_PER_K: f64 = 0.000_267_7;
/// Exponents are held below this so that nothing overflows. Source: range of a double.
const MOST_EXPONENT: f64 = 600.0;
/// Terminal volts are held within this. Source: far beyond any low-voltage system.
const MOST_V: f64 = 1e6;
/// Newton stops once a step is below this share of the ideality volts; it converges quadratically, so the error left
/// is of the order of its square. Source: rounding of a double.
const STEP: f64 = 3e-8;
/// As [`STEP`], at a maximum of power, where the error of power is once more of the order of the square.
const STEP_AT_MAXIMUM: f64 = 1e-6;
/// As [`STEP_AT_MAXIMUM`], of a step of Halley's, which leaves about a tenth of its cube.
const HALLEY_AT_MAXIMUM: f64 = 1e-4;

/// Share of the ideality volts within which the exponential is taken by its series.
/// Source: [`exponential_nearby`] is exact there to the rounding of a double.
const NEARBY: f64 = 0.25;

/// A module's label at 1000 W/m2 and 25 C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Label {
    /// Volts at maximum power.
    pub vmp_v: f64,
    /// Current at maximum power.
    pub imp_a: f64,
    /// Open-circuit volts.
    pub voc_v: f64,
    /// Short-circuit current.
    pub isc_a: f64,
    /// Temperature coefficient of the short-circuit current, %/K, positive.
    pub alpha_pct_k: f64,
    /// Temperature coefficient of the open-circuit volts, %/K, negative.
    pub beta_pct_k: f64,
    /// Band gap at 25 C, eV; [`SILICON_EV`] for all silicon.
    pub band_gap_ev: f64,
}

/// A module's single-diode parameters at 1000 W/m2 and 25 C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Module {
    /// Light current, A.
    pub il_a: f64,
    /// Saturation current, A.
    pub i0_a: f64,
    /// Modified ideality (cells x ideality x thermal volts), V.
    pub a_v: f64,
    /// Series resistance, ohm.
    pub rs_ohm: f64,
    /// Shunt conductance, S.
    pub gsh_s: f64,
    /// Rise of the light current, A/K.
    pub alpha_a_k: f64,
    /// Band gap at 25 C, eV.
    pub band_gap_ev: f64,
}

/// The range over which coefficients are told, K. Source: IEC 60891, at least 30 K about; ours ends at the 50 C of usual cells.
const WARMED_K: f64 = 25.0;

/// A point on a current-voltage curve.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Volts.
    pub v: f64,
    /// Amperes.
    pub i: f64,
}

impl Point {
    /// Power, W. Source: P = V I.
    #[must_use]
    pub fn power_w(&self) -> f64 {
        self.v * self.i
    }
}

impl Module {
    /// Parameters at an effective irradiance (through glass and dirt) and a cell temperature.
    /// Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78, eq. 8-14.
    #[must_use]
    pub fn at(&self, effective_w_m2: f64, cell_c: f64) -> Cell {
        let share = (effective_w_m2 / 1000.0).max(0.0);
        let cell_c = cell_c.clamp(-150.0, 250.0);
        let (delta_k, kelvin) = (cell_c - 25.0, cell_c + 273.15);
        let ratio = kelvin / REFERENCE_K;
        Cell {
            il_a: (share * (self.il_a + self.alpha_a_k * delta_k)).max(0.0),
            i0_a: self.i0_a * saturation_ratio(self.band_gap_ev, delta_k),
            a_v: self.a_v * ratio,
            rs_ohm: self.rs_ohm,
            gsh_s: self.gsh_s * share,
        }
    }

    /// How volts without load and power follow heat, %/K: from 25 C to 50 C in full sun.
    /// Source: IEC 60891, coefficients as slopes over a range of temperatures.
    #[must_use]
    pub fn coefficients_pct_k(&self) -> [f64; 2] {
        let at = |cell_c: f64| {
            let cell = self.at(1000.0, cell_c);
            [cell.open_circuit_v(), cell.max_power(0.0).power_w()]
        };
        let (cool, warm) = (at(25.0), at(25.0 + WARMED_K));
        std::array::from_fn(|i| (warm[i] / cool[i].max(f64::MIN_POSITIVE) - 1.0) / WARMED_K * 100.0)
    }

    /// The parameters that make the model pass through the label's three points with its power maximum at the
    /// named place, and follow its temperature coefficient of the open-circuit volts.
    ///
    /// # Errors
    /// Where no curve of this kind can have such points; the message says what is wrong.
    ///
    /// Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78 (conditions); the nested solution is our own.
    pub fn from_label(label: &Label) -> Result<Self, &'static str> {
        super::label::extract(label)
    }
}

/// Growth of the saturation current over 25 C.
/// Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78, eq. 11-12.
#[must_use]
pub fn saturation_ratio(band_gap_ev: f64, delta_k: f64) -> f64 {
    let kelvin = REFERENCE_K + delta_k;
    let ratio = kelvin / REFERENCE_K;
    let gap_ev = band_gap_ev * (1.0 - GAP_PER_K * delta_k);
    ratio * ratio * ratio * ((band_gap_ev / REFERENCE_K - gap_ev / kelvin) / BOLTZMANN_EV_K).exp()
}

/// The ideality parameter that the temperature coefficient of the open-circuit volts asks for, without shunt.
/// Source: derivative of Voc = a ln(IL / I0) in the model of De Soto et al. 2006.
pub(super) fn first_ideality_v(label: &Label) -> f64 {
    let beta_v_k = label.beta_pct_k / 100.0 * label.voc_v;
    let gap = label.band_gap_ev / (BOLTZMANN_EV_K * REFERENCE_K);
    (label.voc_v / REFERENCE_K - beta_v_k) / ((3.0 + gap) / REFERENCE_K + GAP_PER_K * gap - label.alpha_pct_k / 100.0)
}

/// A lit string of cells, or an even array of such: one diode equation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// Light current, A.
    pub il_a: f64,
    /// Saturation current, A.
    pub i0_a: f64,
    /// Modified ideality, V.
    pub a_v: f64,
    /// Series resistance, ohm.
    pub rs_ohm: f64,
    /// Shunt conductance, S.
    pub gsh_s: f64,
}

impl Cell {
    /// Equal cells in series and parallel as one; shares below 1 give a part of a module.
    /// Source: Kirchhoff's laws for equal elements.
    #[must_use]
    pub fn scaled(&self, n_series: f64, n_parallel: f64) -> Self {
        Self {
            il_a: self.il_a * n_parallel,
            i0_a: self.i0_a * n_parallel,
            a_v: self.a_v * n_series,
            rs_ohm: self.rs_ohm * n_series / n_parallel,
            gsh_s: self.gsh_s * n_parallel / n_series,
        }
    }

    /// Volts without load if nothing leaked: never below the true ones.
    /// Source: single-diode equation at I = 0 without its shunt.
    #[must_use]
    pub fn ideal_open_circuit_v(&self) -> f64 {
        self.a_v * (self.il_a / self.i0_a.max(f64::MIN_POSITIVE)).ln_1p()
    }

    /// Volts without load.
    /// Source: single-diode equation at I = 0, by Newton.
    #[must_use]
    pub fn open_circuit_v(&self) -> f64 {
        rise_v(self.i0_a, self.a_v, self.gsh_s, self.il_a)
    }

    /// Current into a short circuit.
    /// Source: single-diode equation at V = 0, by Newton.
    #[must_use]
    pub fn short_circuit_a(&self) -> f64 {
        self.current_at(0.0, 0.0)
    }

    /// Current of the junction at its own volts, its conductance and that one's slope (signs as of losses).
    pub(super) fn junction(&self, vd_v: f64) -> (f64, f64, f64) {
        // Once for all that is searched step by step: each step waits for the one before, and divisions are slow.
        let per_v = 1.0 / self.a_v;
        let exponential = (vd_v * per_v).min(MOST_EXPONENT).exp() * self.i0_a;
        let conductance_s = exponential * per_v;
        let current_a = self.il_a - (exponential - self.i0_a) - self.gsh_s * vd_v;
        (current_a, conductance_s + self.gsh_s, conductance_s * per_v)
    }

    /// Current of the junction at its own volts, and its conductance.
    /// Source: single-diode equation and its first derivative.
    #[must_use]
    pub fn junction_line(&self, vd_v: f64) -> (f64, f64) {
        let (current_a, conductance_s, _) = self.junction(vd_v);
        (current_a, conductance_s)
    }

    /// Volts that the junction never passes behind terminals at `v` and extra series resistance: where Newton may begin.
    /// Source: single-diode equation, its current never above the light's.
    #[must_use]
    pub fn junction_bound_v(&self, v: f64, extra_ohm: f64) -> f64 {
        let ohm = self.rs_ohm + extra_ohm.max(0.0);
        let reach_v = v + ohm * self.il_a;
        if reach_v <= 25.0 * self.a_v || ohm <= 0.0 {
            return reach_v;
        }
        // High on the exponential Newton would creep down by one `a` a step: start at a bound for its term.
        let most = self.a_v * (1.0 + (reach_v / ohm / self.i0_a.max(f64::MIN_POSITIVE)).ln().max(0.0));
        reach_v.min(most)
    }

    /// Current into a source of `v` volts through extra series resistance; negative where the source drives it.
    /// Source: single-diode equation by Newton on the junction's volts (Bishop 1988, Solar Cells 25:73).
    #[must_use]
    pub fn current_at(&self, v: f64, extra_ohm: f64) -> f64 {
        self.settled(v, extra_ohm).0
    }

    /// Current as in [`Cell::current_at`] with its first and second derivatives by volts.
    /// Source: implicit differentiation of the single-diode equation.
    #[must_use]
    pub fn current_and_slopes(&self, v: f64, extra_ohm: f64) -> [f64; 3] {
        let (current_a, d1, d2) = self.settled(v, extra_ohm);
        let stretch = 1.0 + (self.rs_ohm + extra_ohm) * d1;
        [current_a, -d1 / stretch, -d2 / (stretch * stretch * stretch)]
    }

    /// What [`Cell::junction`] gives a very small step further on, without another exponential.
    fn nudged(&self, from: (f64, f64, f64), step_v: f64) -> (f64, f64, f64) {
        let (current_a, d1, d2) = from;
        let part = step_v * (1.0 / self.a_v);
        let growth = part + 0.5 * part * part;
        let conductance_s = d2 * self.a_v;
        (
            current_a - conductance_s * self.a_v * growth - self.gsh_s * step_v,
            d1 + conductance_s * growth,
            d2 + d2 * growth,
        )
    }

    /// The junction for given terminal volts. Vd - R I(Vd) - V rises and is convex, so Newton from the right of the
    /// root never fails.
    fn settled(&self, v: f64, extra_ohm: f64) -> (f64, f64, f64) {
        let ohm = self.rs_ohm + extra_ohm.max(0.0);
        let v = v.clamp(-MOST_V, MOST_V);
        if ohm <= 0.0 {
            return self.junction(v);
        }
        let mut vd_v = self.junction_bound_v(v, extra_ohm);
        for _ in 0..100 {
            let here = self.junction(vd_v);
            let step_v = -(vd_v - ohm * here.0 - v) / (1.0 + ohm * here.1);
            vd_v += step_v;
            if step_v.abs() <= STEP * self.a_v {
                return self.nudged(here, step_v);
            }
        }
        self.junction(vd_v)
    }

    /// Point of maximum power at the far end of extra series resistance.
    /// Source: Bishop 1988, Solar Cells 25:73; start from Lambert's W by its asymptotic series.
    #[must_use]
    pub fn max_power(&self, extra_ohm: f64) -> Point {
        if self.il_a <= 0.0 {
            return Point::default();
        }
        let l1 = 1.0 + (self.il_a / self.i0_a.max(f64::MIN_POSITIVE)).ln();
        let start_v = if l1 > 2.0 { self.a_v * (l1 - l1.ln() * (1.0 - 1.0 / l1) - 1.0) } else { 0.0 };
        self.max_power_from(start_v, extra_ohm)
    }

    /// The same, known without it already: behind a loop's resistance it lies near.
    /// Source: Bishop 1988, Solar Cells 25:73.
    #[must_use]
    pub fn max_power_behind(&self, bare: Point, extra_ohm: f64) -> Point {
        let vd_v = bare.v + bare.i * self.rs_ohm;
        // The current says what the exponential is there, which saves one.
        let exponential = (self.il_a + self.i0_a - self.gsh_s * vd_v - bare.i).max(0.0);
        let per_v = 1.0 / self.a_v;
        let conductance_s = exponential * per_v;
        let here = (bare.i, conductance_s + self.gsh_s, conductance_s * per_v);
        let ohm = self.rs_ohm + extra_ohm.max(0.0);
        let first_v = self.toward_maximum(vd_v, here, ohm).step_v;
        let start_v = vd_v + first_v;
        let part = first_v * per_v;
        if part.abs() <= NEARBY {
            // So near the exponential is what it was times a short series.
            let grown = exponential * exponential_nearby(part);
            let conductance_s = grown * per_v;
            let current_a = self.il_a + self.i0_a - grown - self.gsh_s * start_v;
            let here = (current_a, conductance_s + self.gsh_s, conductance_s * per_v);
            let to = self.toward_maximum(start_v, here, ohm);
            if to.is_halley && to.step_v.abs() <= HALLEY_AT_MAXIMUM * self.a_v {
                let i = self.nudged(here, to.step_v).0;
                return Point { v: (start_v + to.step_v - ohm * i).max(0.0), i: i.max(0.0) };
            }
        }
        self.max_power_from(start_v, extra_ohm)
    }

    /// Where power rises or falls at a junction's volts, and a step to its maximum.
    #[inline]
    fn toward_maximum(&self, vd_v: f64, (i, d1, d2): (f64, f64, f64), ohm: f64) -> ToMaximum {
        let v = vd_v - ohm * i;
        let slope = (1.0 + ohm * d1) * i - v * d1;
        let bend = ohm * d2 * i - 2.0 * (1.0 + ohm * d1) * d1 - v * d2;
        // How the bend changes, for Halley's step: an exponential less than by Newton's.
        let d3 = d2 * (1.0 / self.a_v);
        let third = ohm * (d3 * i - 5.0 * d1 * d2) - (3.0 + ohm * d1) * d2 - v * d3;
        let square = bend * bend;
        let below = square - 0.5 * slope * third;
        let is_halley = below >= 0.5 * square && below < 2.0 * square;
        ToMaximum {
            rises: slope > 0.0,
            step_v: if is_halley { -slope * bend / below } else { -slope / bend },
            is_halley,
        }
    }

    /// Point of maximum power with a first guess of the junction's volts. The answer depends on the guess by rounding
    /// only.
    /// Source: Bishop 1988, Solar Cells 25:73.
    #[must_use]
    pub fn max_power_from(&self, vd_start_v: f64, extra_ohm: f64) -> Point {
        if self.il_a <= 0.0 {
            return Point::default();
        }
        let ohm = self.rs_ohm + extra_ohm.max(0.0);
        let (mut low_v, mut high_v) = (0.0, f64::INFINITY);
        let mut vd_v = vd_start_v.max(0.0);
        if vd_v > 40.0 * self.a_v {
            vd_v = vd_v.min(self.a_v * (self.il_a / self.i0_a.max(f64::MIN_POSITIVE)).ln_1p());
        }
        let (mut here, mut step_v, mut near) = ((0.0, 0.0, 0.0), f64::INFINITY, STEP_AT_MAXIMUM);
        for _ in 0..200 {
            here = self.junction(vd_v);
            let to = self.toward_maximum(vd_v, here, ohm);
            if to.rises {
                low_v = vd_v;
            } else {
                high_v = vd_v;
            }
            let wanted_v = vd_v + to.step_v;
            let mut next_v = wanted_v;
            if high_v == f64::INFINITY && next_v > vd_v + 3.0 * self.a_v {
                // A leap up the flat part may land where the exponential takes for ever to climb down from.
                high_v = self.a_v * (self.il_a / self.i0_a.max(f64::MIN_POSITIVE)).ln_1p();
            }
            if next_v.is_nan() || next_v <= low_v || next_v >= high_v {
                next_v = if high_v == f64::INFINITY { low_v + self.a_v } else { f64::midpoint(low_v, high_v) };
            }
            step_v = next_v - vd_v;
            vd_v = next_v;
            near = if to.is_halley && next_v == wanted_v { HALLEY_AT_MAXIMUM } else { STEP_AT_MAXIMUM };
            if step_v.abs() <= near * self.a_v {
                break;
            }
        }
        let i = if step_v.abs() <= near * self.a_v { self.nudged(here, step_v).0 } else { self.junction(vd_v).0 };
        // Behind a resistance without measure only rounding is left of either.
        Point { v: (vd_v - ohm * i).max(0.0), i: i.max(0.0) }
    }
}

/// The exponential within [`NEARBY`] of nothing. Source: its Taylor series, of which what is left out is under 1e-14; in pairs,
/// which need not wait for each other (Estrin 1960, from memory).
fn exponential_nearby(x: f64) -> f64 {
    let x2 = x * x;
    let x4 = x2 * x2;
    let pair = |k: usize| INVERSES[k] + INVERSES[k + 1] * x;
    let four = |k: usize| pair(k) + pair(k + 2) * x2;
    four(0) + (four(4) + (pair(8) + INVERSES[10] * x2) * x4) * x4
}

/// One over the factorials of nothing to ten.
const INVERSES: [f64; 11] = [
    1.0,
    1.0,
    0.5,
    1.0 / 6.0,
    1.0 / 24.0,
    1.0 / 120.0,
    1.0 / 720.0,
    1.0 / 5040.0,
    1.0 / 40_320.0,
    1.0 / 362_880.0,
    1.0 / 3_628_800.0,
];

/// See [`Cell::toward_maximum`].
struct ToMaximum {
    rises: bool,
    step_v: f64,
    is_halley: bool,
}

impl Source for Cell {
    fn current_at(&self, v: f64, extra_ohm: f64) -> f64 {
        Cell::current_at(self, v, extra_ohm)
    }

    fn max_power(&self, extra_ohm: f64) -> Point {
        Cell::max_power(self, extra_ohm)
    }

    fn open_circuit_v(&self) -> f64 {
        Cell::open_circuit_v(self)
    }
}

/// Volts `u` at which a diode and a conductance side by side carry a current: i0 (e^(u/a) - 1) + g u = x; 0 for
/// x not above 0. The left side is convex and either term alone bounds the root from above.
pub(super) fn rise_v(i0_a: f64, a_v: f64, g_s: f64, x_a: f64) -> f64 {
    if x_a <= 0.0 {
        return 0.0;
    }
    let i0_a = i0_a.max(f64::MIN_POSITIVE);
    let bound_v = a_v * (x_a / i0_a).ln_1p();
    if g_s <= 0.0 {
        return bound_v;
    }
    if g_s * bound_v < 0.3 * x_a {
        // Where the conductance takes little, u = a ln((x - g u) / i0 + 1) is almost a straight line.
        let mut u_v = bound_v - g_s * bound_v / ((x_a + i0_a) / a_v + g_s);
        for _ in 0..20 {
            let rest_a = x_a - g_s * u_v;
            let pull = g_s / (rest_a + i0_a);
            let step_v = (u_v - a_v * (rest_a / i0_a).ln_1p()) / (1.0 + a_v * pull);
            u_v -= step_v;
            // Error left by the bend of the logarithm.
            if step_v * step_v * pull * pull <= 1e-14 {
                break;
            }
        }
        return u_v;
    }
    let mut u_v = bound_v.min(x_a / g_s);
    for _ in 0..100 {
        let exponential = i0_a * (u_v / a_v).min(MOST_EXPONENT).exp();
        let step_v = (exponential - i0_a + g_s * u_v - x_a) / (exponential / a_v + g_s);
        u_v -= step_v;
        if step_v.abs() <= STEP * a_v {
            break;
        }
    }
    u_v
}
