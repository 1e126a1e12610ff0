//! The morning: which controllers start, as their arrays come up to the volts that they need.

use crate::engine::solve::{Lit, Makes, Posts};
use crate::physics::controller::Source;
use crate::physics::module::Point;

use super::{Beam, Runner};

/// No cell rests above this. Source: lithium iron phosphate full, Prada et al. 2013 (3.6 V); lead lies below it.
const MOST_CELL_V: f64 = 3.6;

impl Runner<'_> {
    /// Volts that the resting bank stands under, whatever it holds.
    fn rest_most_v(&self) -> f64 {
        match &self.input.circuit.posts {
            Posts::Bank(bank) => bank.cells * MOST_CELL_V,
            Posts::Fixed(volts) => *volts,
        }
    }

    /// Of the controllers that [`Self::start`] asks about those that surely start: no array stands lower open than at its best.
    pub(super) fn start_bright(&mut self) {
        let most_v = self.rest_most_v();
        for (k, (beam, start_v)) in self.beams.iter().zip(&self.input.start_v).enumerate() {
            if beam.lit.is_some_and(|hour| hour.best.v >= most_v + start_v) {
                self.waits &= !(1 << k);
            }
        }
    }

    /// Which of the controllers that have not run today start: those whose array, open, stands so far above the resting bank
    /// as they need. The others are as in the dark; what they draw themselves.
    /// Source: the maker's sheet, volts over the battery to start; kept running until the sun sets.
    pub(super) fn start(&mut self, battery_c: f64) -> f64 {
        let most_v = self.rest_most_v();
        let rest_v = || self.bank.map_or(most_v, |bank| bank.at(self.store, battery_c).rest_v());
        let mut own_w = 0.0;
        let lit = self.beams.iter().zip(self.best.iter_mut().zip(&mut self.even));
        let each = lit.zip(&self.input.start_v).zip(&self.input.circuit.solars).enumerate();
        for (k, (((Beam { lit, array, .. }, (best, even)), start_v), solar)) in each {
            let Some(hour) = lit.filter(|_| self.waits >> k & 1 == 1) else { continue };
            let open_v = || hour.even.as_ref().map_or_else(|| array.open_circuit_v(), Source::open_circuit_v);
            if open_v() >= rest_v() + start_v {
                self.waits &= !(1 << k);
                continue;
            }
            (*best, *even) = (Point::default(), Lit::None);
            own_w += match &solar.makes {
                Makes::Tracking(tracker) => tracker.self_w,
                Makes::Pwm { .. } => 0.0,
            };
        }
        own_w
    }
}
