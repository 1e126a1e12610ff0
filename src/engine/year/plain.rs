//! The plainest hours, most of a year: dark ones in which the bank alone serves the loads, and those in which all arrays are
//! lit and they alone give. What they come to is taken from what is found without the lists of a flow.
//!
//! Whatever else an hour is goes the general way, which comes to the same here.

use crate::engine::day::Asked;
use crate::engine::solve::straight::{Met, Suns};
use crate::engine::solve::{Charging, Moment, Settled, joined};
use crate::physics::battery::{BankHour, Limit, Offer, Warm};

use super::stretch::{absorbs_h, come_to_hold};
use super::{DaySums, Inverters, Part, Runner, Step, hour};

/// A share of the load that no search is wrong by. Source: our own choice.
const SURELY: f64 = 1e-6;

/// What such an hour depends on beside the light.
#[derive(Clone, Copy)]
pub(super) struct Bare<'a> {
    pub(super) asked: Asked,
    pub(super) inverters: Inverters<'a>,
    /// What the controllers draw themselves from the bank.
    pub(super) own_w: f64,
    pub(super) warm: Warm,
    /// Whether all arrays are even and lit.
    pub(super) all_lit: bool,
    /// The inverters that are found to be off in it, a bit each.
    pub(super) off: u32,
}

impl Runner<'_> {
    /// A whole hour, into the sums, if it is one of these; `false`: it is none, and nothing is changed.
    #[inline]
    pub(super) fn plain(&mut self, bare: &Bare<'_>, sums: (&mut Part, &mut DaySums)) -> bool {
        if self.is_fed || bare.inverters.waiting(self.off) != 0 {
            return false;
        }
        if self.is_dark {
            return self.dark(bare, sums);
        }
        // One that waits for its array draws on the bank.
        if !bare.all_lit || self.waits != 0 {
            return false;
        }
        match self.suns {
            Suns::One(ways) => self.sunny(|circuit, now, moment| ways.met(circuit, now, moment), bare, sums),
            Suns::Two(ways) => self.sunny(|circuit, now, moment| ways.met(circuit, now, moment), bare, sums),
            Suns::Three(ways) => self.sunny(|circuit, now, moment| ways.met(circuit, now, moment), bare, sums),
            Suns::Joined(1) => self.sunny(joined::by_sun::<1>, bare, sums),
            Suns::Joined(2) => self.sunny(joined::by_sun::<2>, bare, sums),
            Suns::Joined(_) | Suns::Not => false,
        }
    }

    #[inline(always)]
    fn moment(&self, bare: &Bare<'_>) -> Moment<'_> {
        Moment {
            lit: &self.even,
            best: &self.best,
            feeding: &self.feeding,
            load_w: bare.inverters.left_w(bare.asked.all_w + bare.own_w, bare.off),
            store: self.store,
            battery_c: bare.warm.battery_c(),
            held_h: &self.held_h,
        }
    }

    /// The bank alone.
    #[inline]
    fn dark(&mut self, bare: &Bare<'_>, (out, today): (&mut Part, &mut DaySums)) -> bool {
        let (Some(bank), Some(deep)) = (self.bank, self.deep.as_ref()) else { return false };
        let moment = self.moment(bare);
        let now = bank.giving_warm(self.store, bare.warm);
        let given = now.give(Offer::Power(moment.load_w));
        let off = bare.off;
        if let Some(k) = bare.inverters.next_off(off, given.volts) {
            return self.dark_without(&Bare { off: off | 1 << k, ..*bare }, (out, today));
        }
        if off == 0 {
            let (after, balance) = now.discharge(&given, 1.0, 0.0);
            if given.limit == Limit::None && balance.hours >= 1.0 {
                hour::add_bank((moment.load_w, balance.out_wh), (after, &balance), &mut out.sums, today);
                (self.store, self.off) = (after, 0);
                return true;
            }
        } else if given.current_a <= 0.0 {
            // Nothing is drawn: that is no hour of giving.
            return false;
        }
        let cut = bare.inverters.cut(off);
        let mut step = hour::from_bank_alone((&now, deep), &moment, &given, bare.asked.medical_w - cut.medical_w, 1.0);
        bare.inverters.without((&mut step, cut), (off, now.is_down()), out);
        (self.store, self.off) = (step.after, off);
        step.add_to(false, &mut out.sums, today);
        true
    }

    /// The bank alone, with inverters off.
    #[inline(never)]
    fn dark_without(&mut self, bare: &Bare<'_>, sums: (&mut Part, &mut DaySums)) -> bool {
        self.dark(bare, sums)
    }

    /// So many arrays. `met_at`: solves a moment of them.
    #[inline(never)]
    fn sunny<const N: usize>(
        &mut self,
        met_at: impl Fn(&Charging, &BankHour<'_>, &Moment<'_>) -> Option<Met<N>>,
        bare: &Bare<'_>,
        (out, today): (&mut Part, &mut DaySums),
    ) -> bool {
        let (Some(bank), Some(deep)) = (self.bank, self.deep.as_ref()) else { return false };
        let input = self.input;
        let (circuit, moment) = (&input.circuit, self.moment(bare));
        let mut now = bank.at_warm(self.store, bare.warm);
        let found = met_at(circuit, &now, &moment);
        let Some(met) = found.as_ref().filter(|met| !met.is_blocked) else { return false };
        let at = met.at_posts();
        // Beside a bank that is down less than the load is looked for apart; arrays give no less at its lower volts at rest.
        let is_enough = || met.sent_a().0 * now.rest_v() > moment.load_w * (1.0 + SURELY);
        if now.is_down() && at.limit != Limit::Empty && !is_enough() {
            return false;
        }
        if let Some(k) = bare.inverters.next_off(bare.off, at.posts_v) {
            return self.sunny(met_at, &Bare { off: bare.off | 1 << k, ..*bare }, (out, today));
        }
        let each = met.holds.iter().zip(&met.amps).map(|((_, floats), amps)| (*floats, *amps));
        if at.limit == Limit::Held && absorbs_h(circuit, &self.held_h, each, 1.0) < 1.0 {
            return false;
        }
        let (off, cut, is_down) = (bare.off, bare.inverters.cut(bare.off), now.is_down());
        let medical_w = bare.asked.medical_w - cut.medical_w;
        let mut step = Step::of(&moment, met, 1.0);
        step.follow((&mut now, deep), &moment, met, medical_w);
        bare.inverters.without((&mut step, cut), (off, is_down), out);
        let flow = (met.shares.as_slice(), met.offers.as_slice());
        hour::account((&mut self.beams, 0), flow, (circuit.sources(), 1.0), out);
        for (k, (held_h, solar)) in self.held_h.iter_mut().zip(&circuit.solars).enumerate().take(N) {
            *held_h =
                step.held_h(&solar.setting.charge, (Some(met.holds[k].1), met.amps[k]), met.at_posts().net_a, *held_h);
        }
        if self.times && step.may_come_to_hold(at.net_a) {
            let (posts, sent) = ((at.posts_v, at.net_a), (&met.amps[..], bare.warm.battery_c()));
            come_to_hold(circuit, (&now, &step), posts, sent, &mut self.held_h);
        }
        (self.store, self.off) = (step.after, off);
        step.add_to(true, &mut out.sums, today);
        true
    }
}
