//! The inverter's own cut-off: loads behind it stop while its terminals stand below it.

use crate::engine::solve::{Charging, Flow, Moment, solve_with};
use crate::physics::battery::BankHour;

/// An inverter that switches itself off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutOff {
    /// Volts at its terminals under load below which it is off.
    pub off_v: f64,
    /// Volts at them, nothing drawn through it, at which it starts again; none: as soon as it would not be cut off at once.
    pub on_v: Option<f64>,
    /// Loop resistance from the posts.
    pub ohm: f64,
}

impl CutOff {
    /// Whether it would cut so many watts off with the posts at some volts.
    fn cuts(&self, posts_v: f64, ac_w: f64) -> bool {
        // Its terminals stand lower than the posts by its ohms times its watts over their volts; here without the division.
        ac_w > 0.0 && posts_v * (posts_v - self.off_v) < self.ohm * ac_w
    }

    /// Whether it has nothing to do with an hour that begins with the posts at some volts.
    #[inline]
    pub(super) fn leaves(&self, posts_v: f64, ac_w: f64, was_off: bool) -> bool {
        !(self.cuts(posts_v, ac_w) || was_off && self.on_v.is_some())
    }

    /// Whether it is off in an hour, whose flow with all its loads is given, as is the bank: then the moment is solved anew without those
    /// behind it. It is off where its terminals would stand below its cut-off at the hour's mean watts, and goes on being so
    /// until they have come back. What others lose on a run it shares with them is not counted.
    /// Source: Ohm's law on its own way; a switch with two thresholds.
    pub(super) fn settle<'a>(
        &self,
        circuit: &'a Charging,
        moment: &mut Moment<'_>,
        ac_w: f64,
        was_off: bool,
        (flow, now): (&mut Flow, &mut Option<BankHour<'a>>),
    ) -> bool {
        if self.leaves(flow.posts_v, ac_w, was_off) {
            return false;
        }
        let cuts = self.cuts(flow.posts_v, ac_w);
        let all_w = moment.load_w;
        moment.load_w = (all_w - ac_w).max(0.0);
        if ac_w > 0.0 {
            *now = solve_with(circuit, moment, flow);
        }
        if cuts || self.on_v.is_some_and(|on_v| flow.posts_v < on_v) {
            return true;
        }
        // Back at work.
        moment.load_w = all_w;
        if ac_w > 0.0 {
            *now = solve_with(circuit, moment, flow);
        }
        false
    }
}
