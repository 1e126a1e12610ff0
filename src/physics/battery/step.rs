//! What a flow does to the bank's state, and where its energy goes.

use crate::physics::compare::{larger, smaller};
use crate::physics::law::Law;
use crate::physics::lithium;

use super::{Balance, Bank, BankHour, Flow, Store};

/// Share of a current that rounding of the state it was charged to may be off by. Source: our own choice, a thousand times that.
const SAME: f64 = 1e-5;

impl<'a> BankHour<'a> {
    /// The same bank with another floor, in a state that it may stand in already. Source: as [`Bank::at`].
    #[must_use]
    pub fn down_to(&self, deep: &'a Bank, store: Store) -> Self {
        if store != self.store {
            return deep.at(store, self.battery_c);
        }
        Self { bank: deep, firm_a: 0.0, floor_soc: deep.floor_soc(self.battery_c, 0.0), ..*self }
    }
}

impl BankHour<'_> {
    /// Takes a flow for `hours` under a charger that holds `held_v`; the step ends early where the current at those
    /// volts would have tapered off to `tail_a` in a bank that is nearly full: with a tail of 0 where rest volts reach the held ones (lithium), or
    /// nothing more is stored (lead).
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge efficiency (lead); 99.5 % coulombic (lithium), common practice.
    #[must_use]
    pub fn charge(&self, flow: &Flow, held_v: f64, tail_a: f64, hours: f64) -> (Store, Balance) {
        if flow.current_a <= 0.0 || hours <= 0.0 {
            return (self.store, Balance::default());
        }
        match &self.law {
            Law::Lead(cell) => {
                let kept_a = flow.current_a * cell.charge_efficiency(flow.current_a);
                let whole = self.step(flow, hours, kept_a, 1.0);
                let held_cell_v = held_v / self.series;
                if tail_a <= 0.0
                    || whole.0.soc < self.nearly_full_soc()
                    || cell.surely_takes_at(whole.0.soc, tail_a, held_cell_v)
                    || !self.bank.at(whole.0, self.battery_c).tapered(held_v, tail_a)
                {
                    return whole;
                }
                let tail_soc = cell.soc_taken_at(self.store.soc, whole.0.soc, tail_a, held_cell_v);
                self.step(flow, hours, kept_a, larger(tail_soc, self.nearly_full_soc()))
            }
            Law::Ohmic { ohm, .. } => {
                let whole = self.store.soc + flow.current_a * hours / self.capacity_ah;
                let rest_v = held_v / self.series - ohm * tail_a.max(0.0);
                let near = whole > 0.8 && lithium::rest_cell_v(whole) > rest_v;
                let full = if near { lithium::soc_at_rest_v(rest_v) } else { 1.0 };
                let full = if near && tail_a > 0.0 && full < self.nearly_full_soc() {
                    smaller(self.nearly_full_soc(), lithium::soc_at_rest_v(held_v / self.series))
                } else {
                    full
                };
                self.by_energy(flow, hours, lithium::COULOMBIC, full)
            }
        }
    }

    /// On the way to another state, charged at the same current, the share of it after which the posts stand at `held_v`; none
    /// where they stay below.
    /// Source: law of the chemistry at that current, solved for the state of charge.
    #[inline]
    #[must_use]
    pub fn comes_to(&self, after: Store, net_a: f64, held_v: f64) -> Option<f64> {
        let (from, held_cell_v) = (self.store.soc, held_v / self.series);
        let at = match &self.law {
            Law::Ohmic { ohm, .. } => {
                let rest_v = held_cell_v - ohm * net_a;
                (lithium::rest_cell_v(after.soc) > rest_v).then(|| lithium::soc_at_rest_v(rest_v))?
            }
            Law::Lead(cell) => {
                if cell.surely_takes_at(after.soc, net_a, held_cell_v) {
                    return None;
                }
                cell.soc_taken_at(from, after.soc, net_a, held_cell_v)
            }
        };
        (after.soc > from && at < after.soc).then(|| ((at - from) / (after.soc - from)).max(0.0))
    }

    /// Whether no more than `tail_a` would enter at the held volts: the bank counts as full there.
    /// A bank that was charged until then counts as full, whatever the last digit of its state says.
    /// Source: law of the chemistry at that current.
    #[must_use]
    pub fn tapered(&self, held_v: f64, tail_a: f64) -> bool {
        self.law.needs_more(tail_a.max(0.0) * (1.0 + SAME), held_v / self.series)
    }

    /// State of charge from which little current says that absorption is over. One that is emptier takes little because the volts are too
    /// low, and one at its floor is not full whatever that is: it has to be half way up from there.
    /// Source: volts of absorption are reached at about 80 % of charge, common practice; half way our own choice.
    #[inline]
    fn nearly_full_soc(&self) -> f64 {
        larger(0.8, f64::midpoint(self.floor_soc, 1.0))
    }

    /// Whether little current, or a time that is over, means that it is charged. Source: as `nearly_full_soc`.
    #[inline]
    #[must_use]
    pub fn is_nearly_full(&self) -> bool {
        self.store.soc >= self.nearly_full_soc()
    }

    /// Whether it holds all it can: no charge stays then, whatever volts are held. Source: conservation of charge.
    #[must_use]
    pub fn is_full(&self) -> bool {
        self.store.soc >= 1.0
    }

    /// Gives a flow for `hours`; the step ends early where the bank is down to its floor at that current, or to
    /// `least_soc`.
    /// Source: conservation of charge; floor as [`super::Bank::floor_soc`].
    #[must_use]
    pub fn discharge(&self, flow: &Flow, hours: f64, least_soc: f64) -> (Store, Balance) {
        if flow.current_a <= 0.0 || hours <= 0.0 {
            return (self.store, Balance::default());
        }
        let floor = self.floor_at(flow.current_a);
        match self.law {
            Law::Lead(_) => self.step(flow, hours, -flow.current_a, larger(floor, least_soc)),
            Law::Ohmic { .. } => self.by_energy(flow, hours, -1.0, larger(floor, least_soc)),
        }
    }

    /// Moves a lithium store by the power that a flow brings into its cells, or out of them: rest volts times current, held
    /// through the hour. `kept`: share of a charge that stays; -1 for a discharge. Cuts the step at `bound`.
    /// Source: conservation of energy, the integral of rest volts over charge on both sides.
    fn by_energy(&self, flow: &Flow, hours: f64, kept: f64, bound: f64) -> (Store, Balance) {
        let soc = self.store.soc;
        // Divisions that do not wait for anything.
        let over_ah = self.capacity_ah.recip();
        let over_scale = over_ah * self.series.recip();
        let near = soc + flow.current_a * kept * hours * over_ah;
        let rest_w = self.rest_v() * flow.current_a;
        let moved = |lift_v: f64, near: f64| {
            let lift_w = self.firm_a * lift_v * kept.signum();
            let whole_wh = (rest_w + lift_w) * kept * hours;
            (lift_w, whole_wh, lithium::soc_at_energy((self.rests_wh + whole_wh) * over_scale, near))
        };
        let mut lift_v = if self.firm_a > 0.0 { self.lift_v(flow, near, bound) } else { 0.0 };
        let mut whole = moved(lift_v, near);
        if lift_v != 0.0 {
            // Where that leads to tells the way's volts better than the start's current does.
            lift_v = self.lift_v(flow, whole.2, bound);
            whole = moved(lift_v, near);
        }
        let (lift_w, whole_wh, to) = whole;
        // Towards the bound or not at all.
        let (after, is_cut) = if kept >= 0.0 {
            (smaller(larger(to, soc), larger(bound, soc)), to > bound)
        } else {
            (smaller(larger(to, smaller(bound, soc)), soc), to < bound)
        };
        let (stored_wh, hours) = if is_cut {
            let room_wh = self.energy_wh(after) - self.rests_wh;
            (room_wh, if whole_wh == 0.0 { 0.0 } else { hours * (room_wh / whole_wh) })
        } else {
            (whole_wh, hours)
        };
        let moved_wh = (flow.power_w() + lift_w) * hours;
        let ohmic_wh = (flow.power_w() - rest_w) * hours * kept.signum();
        let (in_wh, out_wh) = if kept >= 0.0 { (moved_wh, 0.0) } else { (0.0, moved_wh) };
        let lost_wh = ohmic_wh + (1.0 - kept.abs()) * (rest_w + lift_w) * hours;
        (Store { soc: after.clamp(0.0, 1.0) }, Balance { in_wh, out_wh, stored_wh, lost_wh, hours, lift_v })
    }

    /// As [`crate::physics::battery::Bank::energy_wh`].
    fn energy_wh(&self, soc: f64) -> f64 {
        self.bank.per_ah(soc) * self.series * self.capacity_ah
    }

    /// How far the mean volts of the way to about `near`, or to the bound before it, lie above those of its start, current as
    /// at the start: what the sources that keep up their current bring so much more, or less, power for.
    fn lift_v(&self, flow: &Flow, near: f64, bound: f64) -> f64 {
        let soc = self.store.soc;
        let to = if near >= soc { near.min(bound.max(soc)) } else { near.max(bound.min(soc)) };
        let moved_ah = (to - soc) * self.capacity_ah;
        // A way so short has no volts of its own.
        if moved_ah.abs() < 1e-6 * flow.current_a {
            return 0.0;
        }
        (self.energy_wh(to) - self.rests_wh) / moved_ah - self.rest_v()
    }

    /// Moves the store by a flow that stores (or draws, if negative) `ah_per_h`, cutting the step at `bound`.
    fn step(&self, flow: &Flow, hours: f64, ah_per_h: f64, bound: f64) -> (Store, Balance) {
        let (store, capacity_ah) = (self.store, self.capacity_ah);
        let whole = ah_per_h * hours / capacity_ah;
        let room = bound - store.soc;
        // Towards the bound or not at all.
        let room = if ah_per_h >= 0.0 { room.max(0.0) } else { room.min(0.0) };
        let is_cut = whole.abs() > room.abs();
        let hours = if is_cut { hours * (room / whole) } else { hours };
        // At the bound itself where there was room to it, so that the way there leaves no trace.
        let soc = if !is_cut {
            store.soc + whole
        } else if room == 0.0 {
            store.soc
        } else {
            bound
        };
        let after = Store { soc: soc.clamp(0.0, 1.0) };
        let stored_wh = self.energy_wh(after.soc) - self.rests_wh;
        let moved_wh = flow.power_w() * hours;
        let (in_wh, out_wh) = if ah_per_h >= 0.0 { (moved_wh, 0.0) } else { (0.0, moved_wh) };
        // Charge that did not stay is lost at the posts' volts, the rest between those and the mean at rest.
        let moved_ah = flow.current_a * hours;
        let kept_ah = (after.soc - store.soc).abs() * capacity_ah;
        let mean_v = if kept_ah > 0.0 { stored_wh.abs() / kept_ah } else { 0.0 };
        let lost_wh = if ah_per_h >= 0.0 {
            flow.volts * (moved_ah - kept_ah) + (flow.volts - mean_v) * kept_ah
        } else {
            mean_v * kept_ah - flow.volts * moved_ah
        };
        (after, Balance { in_wh, out_wh, stored_wh, lost_wh, hours, lift_v: 0.0 })
    }
}
