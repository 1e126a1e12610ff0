//! What an hour comes to: what was taken, served and left, and where the rest went.

use crate::engine::day::Through;
use crate::engine::solve::{AtPosts, Charging, Idle, Moment, Settled, Share};
use crate::physics::battery::{self, Balance, Bank, BankHour, Limit, Store};
use crate::physics::charging::ChargeSettings;
use crate::physics::compare::smaller;

use super::{Beam, DaySums, LEAST_H, MonthSums, Part};

/// What an hour, or a part of one, comes to, Wh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// How long it is, h: less than one where the engine runs for a part of the hour.
    pub hours: f64,
    pub after: Store,
    /// Arrays at maximum power.
    pub array_wh: f64,
    pub harvest_wh: f64,
    /// Solar power that was taken, at the posts.
    pub solar_wh: f64,
    /// What other chargers gave, at the posts.
    pub other_wh: f64,
    /// What they could have given.
    pub fed_wh: f64,
    pub load_wh: f64,
    pub served_wh: f64,
    pub medical_short_wh: f64,
    /// Of the load, what is not served because an inverter's own cut-off has it off, though the bank is not down.
    pub cut_off_wh: f64,
    /// What of the load its heater got.
    pub heat_wh: f64,
    pub balance: Balance,
    pub limit: Limit,
    /// Whether the bank became full within the hour.
    pub filled: bool,
}

impl Step {
    /// With the powers of its start, all loads served.
    #[inline(always)]
    fn begun(moment: &Moment<'_>, limit: Limit, hours: f64, (solar_w, other_w): (f64, f64)) -> Self {
        Self {
            hours,
            after: moment.store,
            array_wh: 0.0,
            harvest_wh: 0.0,
            solar_wh: solar_w * hours,
            other_wh: other_w * hours,
            fed_wh: 0.0,
            load_wh: moment.load_w * hours,
            served_wh: moment.load_w * hours,
            medical_short_wh: 0.0,
            cut_off_wh: 0.0,
            heat_wh: 0.0,
            balance: Balance::default(),
            limit,
            filled: false,
        }
    }

    /// With what the sources send at its start and could have, before the bank is looked at.
    #[inline(always)]
    pub(super) fn of(moment: &Moment<'_>, flow: &impl Settled, hours: f64) -> Self {
        let ((solar_a, other_a), (offered_w, fed_w)) = (flow.sent_a(), flow.offered_w());
        let AtPosts { posts_v, limit, .. } = flow.at_posts();
        let begun = Self::begun(moment, limit, hours, (solar_a * posts_v, other_a * posts_v));
        Self { harvest_wh: offered_w * hours, fed_wh: fed_w * hours, ..begun }
    }

    /// What the bank gives or takes then, of the same flow; in its own place, as a step is large to move.
    #[inline(always)]
    pub(super) fn follow(
        &mut self,
        (now, deep): (&mut BankHour<'_>, &Bank),
        moment: &Moment<'_>,
        flow: &impl Settled,
        medical_w: f64,
    ) {
        let (solar_a, other_a) = flow.sent_a();
        let AtPosts { posts_v, net_a, limit, idle } = flow.at_posts();
        // With nothing near a limit a charger goes on with its current while the bank's volts move; an array's power is taken
        // as that of the start, as its harvest is.
        now.feed(if limit == Limit::None { other_a } else { 0.0 });
        let through = battery::Flow { volts: posts_v, current_a: net_a.abs(), limit };
        if net_a < 0.0 || matches!(limit, Limit::Empty | Limit::Sag) {
            self.given((now, deep), moment, (&through, idle), (solar_a * posts_v, other_a * posts_v), medical_w);
        } else {
            self.taken(now, &through, net_a, flow.holds());
        }
    }

    /// Load not served.
    #[must_use]
    pub fn shortfall_wh(&self) -> f64 {
        (self.load_wh - self.served_wh).max(0.0)
    }

    /// Share that loads without a right of their own get of what they ask for: all alike, after the medical ones.
    pub(super) fn share_served(&self, medical_w: f64) -> f64 {
        let (asked_wh, short_wh) = (self.load_wh - medical_w * self.hours, self.shortfall_wh() - self.medical_short_wh);
        if short_wh > 0.0 { (1.0 - short_wh / asked_wh.max(f64::MIN_POSITIVE)).max(0.0) } else { 1.0 }
    }

    /// On offer but not taken.
    #[must_use]
    pub fn unused_wh(&self) -> f64 {
        (self.harvest_wh - self.solar_wh).max(0.0)
    }

    /// How far the hour's energy fails to close.
    #[must_use]
    pub fn gap_wh(&self) -> f64 {
        self.solar_wh + self.other_wh - self.served_wh - self.balance.stored_wh - self.balance.lost_wh
    }

    /// Hours that a source has held its absorption volts today, these included: no end of them once it floats, until
    /// the bank has to help it carry the loads. `floats`: none where nothing was held.
    #[inline(always)]
    pub(super) fn held_h(
        &self,
        charge: &ChargeSettings,
        (floats, sent_a): (Option<bool>, f64),
        net_a: f64,
        before_h: f64,
    ) -> f64 {
        let is_held = self.limit == Limit::Held;
        let (has_float, has_timer) = (charge.float_v.is_some(), charge.absorb_h.is_some());
        match floats {
            // One without a float is off, and the bank carries all: then it begins anew, or it would leave loads short beside
            // an array in full sun.
            Some(true) if is_held && (net_a >= 0.0 || has_float) => f64::INFINITY,
            Some(true) if net_a < 0.0 && !(has_timer && has_float) => 0.0,
            Some(false) if is_held && sent_a > 0.0 => {
                let held_h = before_h + self.hours;
                // Parts of hours may add up to a last digit less than what they are.
                charge.absorb_h.filter(|absorb_h| (held_h - absorb_h).abs() < LEAST_H).unwrap_or(held_h)
            }
            _ => before_h,
        }
    }

    /// Whether a source may come to the volts that it holds in the course of it.
    #[inline(always)]
    pub(super) fn may_come_to_hold(&self, net_a: f64) -> bool {
        net_a > 0.0 && matches!(self.limit, Limit::None | Limit::Current)
    }

    /// Other chargers with so much more power, or less, than at its start.
    #[inline(always)]
    fn lifted(&mut self, lift_w: f64) {
        self.other_wh += lift_w * self.hours;
        self.fed_wh += lift_w * self.hours;
    }

    /// The bank takes what is left over.
    #[inline(always)]
    fn taken(&mut self, now: &BankHour<'_>, through: &battery::Flow, net_a: f64, (held_v, floats): (f64, bool)) {
        let tail_a = if floats { 0.0 } else { now.bank().tail_a() };
        let (after, balance) = now.charge(through, held_v, tail_a, self.hours);
        self.lifted(now.firm_a() * balance.lift_v);
        let rest_h = if net_a > 0.0 { self.hours - balance.hours } else { 0.0 };
        if rest_h > 0.0 {
            // Full: from then on the sources give what the loads draw.
            let share = (balance.in_wh + self.load_wh) / (self.solar_wh + self.other_wh).max(f64::MIN_POSITIVE);
            (self.solar_wh, self.other_wh) = (self.solar_wh * share, self.other_wh * share);
            self.filled = true;
        }
        (self.after, self.balance) = (after, balance);
    }

    /// The bank gives what is short.
    #[inline(always)]
    fn given(
        &mut self,
        (now, deep): (&BankHour<'_>, &Bank),
        moment: &Moment<'_>,
        (through, idle): (&battery::Flow, Option<Idle>),
        (solar_w, other_w): (f64, f64),
        medical_w: f64,
    ) {
        let hours = self.hours;
        let idle_soc = idle.and_then(|idle| now.bank().soc_at_rest_v(idle.posts_v)).unwrap_or(0.0);
        let (after, balance) = now.discharge(through, hours, idle_soc);
        (self.after, self.balance) = (after, balance);
        let lift_w = now.firm_a() * balance.lift_v;
        self.lifted(lift_w);
        // While the bank gives, what is drawn is what sources and bank bring; the limits of both are in the flow.
        let rest_h = hours - balance.hours;
        if let Some(idle) = idle.filter(|_| rest_h > 0.0 && after.soc <= idle_soc) {
            // Down to what the sources hold: from then on they carry the loads.
            self.solar_wh = solar_w * balance.hours + moment.load_w * rest_h * idle.solar_share;
            self.other_wh = (other_w + lift_w) * balance.hours + moment.load_w * rest_h * (1.0 - idle.solar_share);
            self.served_wh = balance.out_wh + self.solar_wh + self.other_wh;
            return;
        }
        let sources_wh = self.solar_wh + self.other_wh;
        self.served_wh = balance.out_wh + sources_wh;
        if self.served_wh > self.load_wh {
            // Rounding, or sources alone bring more than is asked for once the bank is cut off.
            let over = self.served_wh - self.load_wh;
            if sources_wh > 0.0 {
                let share = (1.0 - over / sources_wh).max(0.0);
                (self.solar_wh, self.other_wh) = (self.solar_wh * share, self.other_wh * share);
            }
            self.served_wh = balance.out_wh + self.solar_wh + self.other_wh;
        }
        self.left_out((now, deep), moment, medical_w, rest_h);
    }

    /// What the bank leaves out of the hour: all of it where something kept it from giving enough from the start.
    #[inline(always)]
    fn left_out(&mut self, banks: (&BankHour<'_>, &Bank), moment: &Moment<'_>, medical_w: f64, rest_h: f64) {
        let short_h = if self.limit == Limit::None { rest_h } else { self.hours };
        if short_h > 0.0 {
            below_floor(banks, moment, self, medical_w, short_h);
        }
    }

    /// What the inverters would carry that are off: asked for and not served.
    pub(super) fn without(&mut self, cut: Through, is_down: bool) {
        self.load_wh += cut.all_w * self.hours;
        self.cut_off_wh = if is_down { 0.0 } else { cut.all_w * self.hours };
        self.medical_short_wh += cut.medical_w * self.hours;
    }

    /// Into the sums. `has_sources`: whether there was any; without one, nothing but the bank is to be counted.
    #[inline(always)]
    pub(super) fn add_to(&self, has_sources: bool, month: &mut MonthSums, day: &mut DaySums) {
        month.medical_short_wh += self.medical_short_wh;
        month.cut_off_wh += self.cut_off_wh;
        let is_held_back = self.limit == Limit::Current && self.balance.out_wh > 0.0;
        if is_held_back {
            month.held_back_wh += (self.shortfall_wh() - self.cut_off_wh).max(0.0);
        }
        if has_sources {
            month.harvest_wh += self.harvest_wh;
            month.solar_wh += self.solar_wh;
            month.other_wh += self.other_wh;
            month.charged_wh += self.balance.in_wh;
            match self.limit {
                Limit::Cold => {
                    month.cold_wh += self.unused_wh();
                    month.other_cold_wh += (self.fed_wh - self.other_wh).max(0.0);
                }
                // One that may not give all that is asked stands above what the sources hold.
                Limit::Current if !is_held_back => month.limited_wh += self.unused_wh(),
                _ => month.full_wh += self.unused_wh(),
            }
            day.harvest_wh += self.harvest_wh;
            day.other_wh += self.other_wh;
        }
        let Self { load_wh, served_wh, after, .. } = *self;
        add_bank((load_wh, served_wh), (after, &self.balance), month, day);
    }
}

/// What bank and loads alone come to, into the sums.
#[inline]
pub(super) fn add_bank(
    (load_wh, served_wh): (f64, f64),
    (after, balance): (Store, &Balance),
    month: &mut MonthSums,
    day: &mut DaySums,
) {
    month.load_wh += load_wh;
    month.served_wh += served_wh;
    month.stored_wh += balance.stored_wh;
    month.lost_wh += balance.lost_wh;
    day.load_wh += load_wh;
    day.shortfall_wh += (load_wh - served_wh).max(0.0);
    day.least_soc = smaller(day.least_soc, after.soc);
}

/// What follows from a moment's flow in so many hours. `banks`: the bank at it, and the same without its floor.
#[inline(always)]
pub(super) fn step(
    banks: Option<(&mut BankHour<'_>, &Bank)>,
    moment: &Moment<'_>,
    flow: &impl Settled,
    medical_w: f64,
    hours: f64,
) -> Step {
    let mut step = Step::of(moment, flow, hours);
    match banks {
        Some(banks) => step.follow(banks, moment, flow, medical_w),
        // Fixed posts take and give whatever it is.
        None => {
            let AtPosts { posts_v, net_a, .. } = flow.at_posts();
            step.balance.stored_wh = posts_v * net_a * hours;
        }
    }
    step
}

/// Hours in which no source gives and the bank does: what [`step`] comes to, without what it would look for in vain.
#[inline]
pub(super) fn from_bank_alone(
    (now, deep): (&BankHour<'_>, &Bank),
    moment: &Moment<'_>,
    through: &battery::Flow,
    medical_w: f64,
    hours: f64,
) -> Step {
    let mut step = Step::begun(moment, through.limit, hours, (0.0, 0.0));
    (step.after, step.balance) = now.discharge(through, hours, 0.0);
    step.served_wh = step.balance.out_wh;
    step.left_out((now, deep), moment, medical_w, hours - step.balance.hours);
    step
}

/// Loads that are never shed go on below the floor.
fn below_floor((now, deep): (&BankHour<'_>, &Bank), moment: &Moment<'_>, step: &mut Step, medical_w: f64, hours: f64) {
    let served_w = (step.served_wh - (step.hours - hours) * moment.load_w).max(0.0) / hours;
    let need_w = (medical_w - served_w).max(0.0);
    if need_w <= 0.0 {
        return;
    }
    let now = now.down_to(deep, step.after);
    let (after, balance) = now.discharge(&now.give(battery::Offer::Power(need_w)), hours, 0.0);
    step.after = after;
    step.balance = step.balance + balance;
    step.served_wh += balance.out_wh;
    step.medical_short_wh += (need_w * hours - balance.out_wh).max(0.0);
}

/// Where the sun's energy of so many hours went on its way to the posts, with every controller giving all it can.
/// `waits`: controllers that have not started yet, a bit each; `offered_a`: what each source could send, solars first,
/// as far as any gives; `sources`: how many there are.
#[inline(always)]
pub(super) fn account(
    (beams, waits): (&mut [Beam<'_>], u16),
    (shares, offered_a): (&[Share], &[f64]),
    (sources, hours): (usize, f64),
    out: &mut Part,
) {
    for (k, share) in shares.iter().enumerate() {
        let Some(Beam { lit: Some(hour), lost, pv_ohm, tracks, .. }) = beams.get_mut(k) else { continue };
        let best_wh = hour.best.power_w() * hours;
        let wire_wh = share.pv_a * share.pv_a * *pv_ohm * hours;
        let (in_wh, out_wh) = (share.pv_v * share.pv_a * hours, share.out_a * share.out_v * hours);
        // Under shade an array may give a thousandth more than is taken for its best: no part of the sum is cut for that.
        let (lost_wh, clipped_wh) = (best_wh - in_wh - wire_wh, share.clipped_w * hours);
        let (mismatch_wh, convert_wh) = match tracks {
            false => (lost_wh - clipped_wh, in_wh - out_wh),
            true => (lost_wh, in_wh - out_wh - clipped_wh),
        };
        lost.pv_wh += wire_wh;
        lost.clipped_wh += clipped_wh;
        lost.mismatch_wh += mismatch_wh;
        lost.convert_wh += convert_wh;
        if share.held || waits >> k & 1 == 1 {
            lost.held_wh += lost_wh;
        }
    }
    // What is lost in a segment follows from the products of the currents through it.
    let mut rows = out.products_a2h.as_mut_slice();
    for solar_a in offered_a.iter().take(shares.len()) {
        let Some((row, left)) = rows.split_at_mut_checked(sources) else { break };
        rows = left;
        row.iter_mut().zip(offered_a).for_each(|(sum, amps)| *sum += solar_a * amps * hours);
    }
}

/// What the arrays had at their best in so many hours.
pub(super) fn best_wh(beams: &[Beam<'_>], hours: f64) -> f64 {
    beams.iter().filter_map(|beam| beam.lit).map(|hour| hour.best.power_w() * hours).sum()
}

/// What the sun lost to all loops and limits together, and in each segment, from those products: where a charger sends too, by
/// its part of the current.
/// Source: Joule's law, of a sum of currents.
pub(super) fn in_segments(circuit: &Charging, out: &mut Part) {
    for lost in &out.solars {
        out.sums.pv_wire_wh += lost.pv_wh;
        out.sums.clipped_wh += lost.clipped_wh;
        out.sums.mismatch_wh += lost.mismatch_wh;
        out.sums.convert_wh += lost.convert_wh;
    }
    let (n, solars) = (circuit.sources().max(1), circuit.solars.len());
    for (slot, (ohm, carried)) in out.segment_loss_wh.iter_mut().zip(circuit.segments()) {
        let through = |k: usize| k < 64 && carried >> k & 1 == 1;
        let rows = out.products_a2h.chunks_exact(n).take(solars).enumerate().filter(|(k, _)| through(*k));
        let of_row = |row: &[f64]| row.iter().enumerate().filter(|(j, _)| through(*j)).map(|(_, sum)| sum).sum::<f64>();
        *slot = ohm * rows.map(|(_, row)| of_row(row)).sum::<f64>();
        out.sums.out_wire_wh += *slot;
    }
}
