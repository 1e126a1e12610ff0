//! Strings of unlike groups at many volts at once: what many patterns of shade over one array are summed from.
//!
//! Where one array is asked about hundreds of times, each time with other groups in shade, its groups' curves are worked out
//! once and added up. One array at one moment is [`super::array`].

use super::module::Cell;
use super::strand::Kind;

/// Points of a curve from its largest current to none, closer toward each short-circuit current, below which volts fall fastest; of
/// a part of the way the root of that part of them.
/// Source: our own choice; power within 0.5 % of the exact one (test against reference arrays). With half as many the chords between them
/// were off by up to 0.17 % of an array, and not alike under unlike shade.
const STEPS: f64 = 64.0;
/// Shares of some current at which a string that is driven backwards is looked at.
/// Source: our own choice: by threes, as its current grows by a power of its volts.
const BACKWARDS: [f64; 10] = [1e-5, 1e-4, 3e-4, 1e-3, 3e-3, 0.01, 0.03, 0.1, 0.3, 1.0];

/// The volts of some groups, each at the same falling currents.
#[derive(Clone, Debug)]
pub struct Curves {
    amps: Vec<f64>,
    /// One a group.
    volts: Vec<Vec<f64>>,
}

impl Curves {
    /// Of groups that each have a bypass diode across them; they may stand in one string in any number. `back_a`: up to where others
    /// in parallel may drive them backwards, in the dark as well.
    /// Source: single-diode equation solved for volts; bypass diode as in `strand.rs`.
    #[must_use]
    pub fn of(groups: &[Cell], back_a: f64) -> Self {
        let kinds: Vec<Kind> = groups.iter().map(|cell| Kind::new(*cell, 1.0)).collect();
        let below = |high: f64| kinds.iter().map(|kind| kind.isc_a).filter(|isc_a| *isc_a < high).fold(0.0, f64::max);
        let most_a = below(f64::INFINITY);
        let mut amps = Vec::with_capacity(groups.len() * 16 + STEPS as usize);
        let mut high = most_a;
        while high > 0.0 {
            let low = below(high);
            let steps = (STEPS * ((high - low) / most_a).sqrt()).ceil();
            amps.extend((0..steps as usize).map(|k| high - (high - low) * (k as f64 / steps).powi(2)));
            high = low;
        }
        amps.push(0.0);
        amps.extend(BACKWARDS.iter().map(|share| -share * back_a));
        let volts = kinds.iter().map(|kind| amps.iter().map(|i| kind.volts(*i)[0]).collect()).collect();
        Self { amps, volts }
    }

    /// Current of a string of so many of each group at each of some rising volts.
    /// Source: Kirchhoff's laws: groups in series share the current; straight between two points.
    #[must_use]
    pub fn currents(&self, counts: &[f64], at_v: &[f64]) -> Vec<f64> {
        let volts_at = |k: usize| -> f64 {
            let each = self.volts.iter().zip(counts).map(|(volts, count)| count * volts.get(k).unwrap_or(&0.0));
            each.sum()
        };
        let mut points = (0..self.amps.len()).map(|k| (volts_at(k), self.amps.get(k).copied().unwrap_or(0.0)));
        let mut low = points.next().unwrap_or_default();
        let mut high = low;
        let mut out = Vec::with_capacity(at_v.len());
        for v in at_v {
            while high.0 < *v {
                let Some(next) = points.next() else { break };
                (low, high) = (high, next);
            }
            let part = if high.0 > low.0 { ((v - low.0) / (high.0 - low.0)).clamp(0.0, 1.0) } else { 1.0 };
            out.push(low.1 + (high.1 - low.1) * part);
        }
        out
    }
}
