//! The run of clear and dull days: which clearness each day of a typical year has.

use crate::arrange::Arrange;

use std::f64::consts::PI;

/// Days of the year.
pub const DAYS: usize = 365;

/// Lag-one correlation of the days.
///
/// Source: Graham, Hollands & Unny 1988, Solar Energy 40:83, first-order autoregression in the Gaussian variate;
/// 0.30 is at the upper end of the within-month values of measured years (0.14-0.31).
const PERSISTENCE: f64 = 0.30;

/// Lowest and highest daily clearness of a month of mean clearness `kt`.
///
/// Source: highest: Hollands & Huget 1983, Solar Energy 30:195 (Duffie & Beckman eq. 2.9.8), kept at least 0.02 above
/// the mean. Lowest: 0.10 or half the mean; the 0.05 of Bendt et al. made the darkest days of measured years too dark.
#[must_use]
pub fn clearness_bounds(kt: f64) -> (f64, f64) {
    let highest = 0.6313 + 0.267 * kt - 11.9 * (kt - 0.75).powi(8);
    ((kt / 2.0).min(0.10), highest.max(kt + 0.02))
}

/// Daily clearness of `days` days, ascending, with mean `kt`: mid-quantiles of the exponential-type distribution.
/// All zero for `kt` of zero or less.
///
/// Source: Bendt, Collares-Pereira & Rabl 1981, Solar Energy 27:1 (Duffie & Beckman eq. 2.9.6), the exponent found
/// numerically so that the mean is exact.
#[must_use]
pub fn daily_clearness(kt: f64, days: usize) -> Vec<f64> {
    if !(kt > 0.0 && kt.is_finite()) || days == 0 {
        return vec![0.0; days];
    }
    let month = Distribution { kt, bounds: clearness_bounds(kt), days };
    let exponent = month.exponent();
    (0..days).map(|i| month.quantile(exponent, i)).collect()
}

/// Bounds of the exponent's search.
const EXPONENT: f64 = 400.0;

struct Distribution {
    kt: f64,
    bounds: (f64, f64),
    days: usize,
}

impl Distribution {
    /// Share of days that are at most as clear as day `i`.
    fn share(&self, i: usize) -> f64 {
        (i as f64 + 0.5) / self.days as f64
    }

    fn quantile(&self, exponent: f64, i: usize) -> f64 {
        let (lowest, highest) = self.bounds;
        let (share, span) = (self.share(i), highest - lowest);
        if exponent.abs() < 1e-6 {
            lowest + share * span
        } else if exponent > 0.0 {
            highest + ((1.0 - share) * (-exponent * span).exp_m1()).ln_1p() / exponent
        } else {
            lowest + (share * (exponent * span).exp_m1()).ln_1p() / exponent
        }
    }

    /// Mean over the days less the mean wanted, and how fast that rises with the exponent.
    fn miss(&self, exponent: f64) -> (f64, f64) {
        let (lowest, highest) = self.bounds;
        let span = highest - lowest;
        let near_zero = exponent.abs() < 0.05;
        let (mut sum, mut slope) = (0.0, 0.0);
        if near_zero {
            for i in 0..self.days {
                let share = self.share(i);
                sum += self.quantile(exponent, i);
                slope += span * span * share * (1.0 - share) / 2.0;
            }
        } else {
            let (edge, tail) =
                if exponent > 0.0 { (highest, (-exponent * span).exp()) } else { (lowest, (exponent * span).exp()) };
            let sign = exponent.signum();
            for i in 0..self.days {
                // The share that fades with the exponent's size.
                let fading = if exponent > 0.0 { 1.0 - self.share(i) } else { self.share(i) };
                let inner = 1.0 + fading * (tail - 1.0);
                let from_edge = inner.ln() / exponent;
                sum += edge + from_edge;
                slope += (-sign * span * fading * tail / inner - from_edge) / exponent;
            }
        }
        let days = self.days as f64;
        (sum / days - self.kt, slope / days)
    }

    /// The exponent that meets the mean: Newton inside a closing bracket; an end of it where the mean is out of reach.
    fn exponent(&self) -> f64 {
        let (mut low, mut high) = (-EXPONENT, EXPONENT);
        let mut exponent = 0.0;
        for _ in 0..100 {
            let (miss, slope) = self.miss(exponent);
            if miss.abs() < 1e-13 {
                break;
            }
            if miss > 0.0 {
                high = exponent;
            } else {
                low = exponent;
            }
            let newton = exponent - miss / slope;
            exponent = if newton > low && newton < high { newton } else { f64::midpoint(low, high) };
        }
        exponent
    }
}

/// A Gaussian variate a day, each leaning on the day before; the same for the same seed on every machine.
///
/// Source: Graham, Hollands & Unny 1988, Solar Energy 40:83; uniform numbers by splitmix64 (Steele, Lea & Flood 2014),
/// made Gaussian by Box & Muller 1958.
#[must_use]
pub fn walk(seed: u64) -> [f64; DAYS] {
    let mut state = seed;
    let mut uniform = || {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        (z >> 11) as f64 * (1.0 / (1_u64 << 53) as f64)
    };
    let mut spare = None;
    let mut normal = || {
        spare.take().unwrap_or_else(|| {
            let (u1, u2) = (uniform(), uniform());
            let radius = (-2.0 * (1.0 - u1).ln()).sqrt();
            let (sin, cos) = (2.0 * PI * u2).sin_cos();
            spare = Some(radius * sin);
            radius * cos
        })
    };
    let fresh = (1.0 - PERSISTENCE * PERSISTENCE).sqrt();
    // The first number is the last day of the year before.
    let mut variate = normal();
    std::array::from_fn(|_| {
        variate = PERSISTENCE * variate + fresh * normal();
        variate
    })
}

/// Puts ascending values into the order of the ranks of `variates`; the shorter of the two sets the length.
///
/// Source: rank mapping of the Gaussian variate on the month's distribution, Graham, Hollands & Unny 1988.
#[must_use]
pub fn in_order_of(variates: &[f64], ascending: &[f64]) -> Vec<f64> {
    let mut ranks: Vec<usize> = (0..variates.len().min(ascending.len())).collect();
    let mut placed = vec![0.0; ranks.len()];
    ranks.arrange_by(|a, b| variates[*a].total_cmp(&variates[*b]));
    for (value, day) in ascending.iter().zip(ranks) {
        placed[day] = *value;
    }
    placed
}
