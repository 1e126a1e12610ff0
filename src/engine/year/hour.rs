//! What an hour comes to: what was taken, served and left, and where the rest went.

use crate::engine::day::Asked;
use crate::engine::solve::{Charging, Flow, Moment};
use crate::physics::battery::{self, Balance, Bank, BankHour, Limit, Store};
use crate::physics::charging::ChargeSettings;

use super::{Beam, DaySums, MonthSums, Part};

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
    /// Of the load, what is not served because the inverter's own cut-off has it off, though the bank is not down.
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
    fn begun(moment: &Moment<'_>, flow: &Flow, hours: f64, (solar_w, other_w): (f64, f64)) -> Self {
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
            limit: flow.limit,
            filled: false,
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
    /// the bank has to help it carry the loads.
    pub(super) fn held_h(&self, circuit: &Charging, flow: &Flow, k: usize, before_h: f64) -> f64 {
        let is_held = self.limit == Limit::Held;
        let has = |of: &dyn Fn(&ChargeSettings) -> bool| circuit.setting(k).is_some_and(|s| of(&s.charge));
        match flow.floating.get(k) {
            // One that is off has the bank carry all: with no timer to keep it off it begins anew.
            Some(true)
                if is_held
                    && (flow.net_a >= 0.0 || has(&|charge| charge.float_v.is_some() || charge.absorb_h.is_some())) =>
            {
                f64::INFINITY
            }
            Some(true) if flow.net_a < 0.0 && has(&|charge| charge.absorb_h.is_none()) => 0.0,
            Some(false) if is_held && flow.amps.get(k).is_some_and(|a| *a > 0.0) => before_h + self.hours,
            _ => before_h,
        }
    }

    /// Other chargers with so much more power, or less, than at its start.
    fn lifted(&mut self, other_w: f64, lift_w: f64) -> f64 {
        self.other_wh = (other_w + lift_w) * self.hours;
        self.fed_wh += lift_w * self.hours;
        self.other_wh
    }

    /// What the inverter would carry, but is off for: asked for and not served.
    pub(super) fn without(mut self, cut_off: Asked, is_down: bool) -> Self {
        self.load_wh += cut_off.cut_w * self.hours;
        self.cut_off_wh = if is_down { 0.0 } else { cut_off.cut_w * self.hours };
        self.medical_short_wh += cut_off.medical_cut_w * self.hours;
        self
    }

    /// Into the sums. `has_sources`: whether there was any; without one, nothing but the bank is to be counted.
    pub(super) fn add_to(&self, has_sources: bool, month: &mut MonthSums, day: &mut DaySums) {
        month.load_wh += self.load_wh;
        month.served_wh += self.served_wh;
        month.stored_wh += self.balance.stored_wh;
        month.lost_wh += self.balance.lost_wh;
        month.medical_short_wh += self.medical_short_wh;
        month.cut_off_wh += self.cut_off_wh;
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
                Limit::Current => month.limited_wh += self.unused_wh(),
                _ => month.full_wh += self.unused_wh(),
            }
            day.harvest_wh += self.harvest_wh;
            day.other_wh += self.other_wh;
        }
        day.load_wh += self.load_wh;
        day.shortfall_wh += self.shortfall_wh();
        day.least_soc = day.least_soc.min(self.after.soc);
    }
}

/// What follows from a moment's flow in so many hours. `banks`: the bank at it, and the same without its floor.
pub(super) fn step(
    circuit: &Charging,
    banks: Option<(&mut BankHour<'_>, &Bank)>,
    moment: &Moment<'_>,
    flow: &Flow,
    medical_w: f64,
    hours: f64,
) -> Step {
    if let Some((now, deep)) = &banks
        && !flow.has_sources()
        && flow.net_a < 0.0
    {
        return from_bank_alone(now, deep, moment, flow, medical_w, hours);
    }
    let (of_sun, of_others) = flow.amps.split_at(circuit.solars.len().min(flow.amps.len()));
    let (solar_w, other_a) = (of_sun.iter().sum::<f64>() * flow.posts_v, of_others.iter().sum::<f64>());
    let other_w = other_a * flow.posts_v;
    let mut step = Step::begun(moment, flow, hours, (solar_w, other_w));
    let (load_wh, solar_wh) = (step.load_wh, step.solar_wh);
    (step.harvest_wh, step.fed_wh) = (flow.offered_w() * hours, flow.fed_w() * hours);
    let Some((now, deep)) = banks else {
        // Fixed posts take and give whatever it is.
        step.balance.stored_wh = flow.posts_v * flow.net_a * hours;
        return step;
    };
    let through = battery::Flow { volts: flow.posts_v, current_a: flow.net_a.abs(), limit: flow.limit };
    // With nothing near a limit a charger goes on with its current while the bank's volts move; an array's power is taken as
    // that of the start, as its harvest is.
    let firm_a = if flow.limit == Limit::None { other_a } else { 0.0 };
    now.feed(firm_a);
    let gives = flow.net_a < 0.0 || matches!(flow.limit, Limit::Empty | Limit::Sag);
    if !gives {
        let (held_v, tail_a) = full_at(now.bank(), flow);
        let (after, balance) = now.charge(&through, held_v, tail_a, hours);
        let other_wh = step.lifted(other_w, firm_a * balance.lift_v);
        let rest_h = if flow.net_a > 0.0 { hours - balance.hours } else { 0.0 };
        if rest_h > 0.0 {
            // Full: from then on the sources give what the loads draw.
            let share = (balance.in_wh + load_wh) / (solar_wh + other_wh).max(f64::MIN_POSITIVE);
            step.solar_wh = solar_wh * share;
            step.other_wh = other_wh * share;
            step.filled = true;
        }
        (step.after, step.balance) = (after, balance);
        return step;
    }
    let idle_soc = flow.idle().and_then(|idle| now.bank().soc_at_rest_v(idle.posts_v)).unwrap_or(0.0);
    let (after, balance) = now.discharge(&through, hours, idle_soc);
    let other_wh = step.lifted(other_w, firm_a * balance.lift_v);
    // While the bank gives, what is drawn is what sources and bank bring; the limits of both are in the flow.
    let rest_h = hours - balance.hours;
    let sources_wh = solar_wh + other_wh;
    if let Some(idle) = flow.idle().filter(|_| rest_h > 0.0 && after.soc <= idle_soc) {
        // Down to what the sources hold: from then on they carry the loads.
        let other_w = other_w + firm_a * balance.lift_v;
        step.solar_wh = solar_w * balance.hours + moment.load_w * rest_h * idle.solar_share;
        step.other_wh = other_w * balance.hours + moment.load_w * rest_h * (1.0 - idle.solar_share);
        step.served_wh = balance.out_wh + step.solar_wh + step.other_wh;
        (step.after, step.balance) = (after, balance);
        return step;
    }
    step.served_wh = balance.out_wh + sources_wh;
    (step.after, step.balance) = (after, balance);
    if step.served_wh > load_wh {
        // Rounding, or sources alone bring more than is asked for once the bank is cut off.
        let over = step.served_wh - load_wh;
        let share = 1.0 - over / sources_wh.max(f64::MIN_POSITIVE);
        if sources_wh > 0.0 {
            (step.solar_wh, step.other_wh) = (solar_wh * share.max(0.0), other_wh * share.max(0.0));
        }
        step.served_wh = balance.out_wh + step.solar_wh + step.other_wh;
    }
    let short_h = if flow.limit == Limit::None { rest_h } else { hours };
    if short_h > 0.0 {
        below_floor(deep, moment, &mut step, medical_w, short_h);
    }
    step
}

/// Hours in which no source gives: what [`step`] comes to, without what it would look for in vain.
fn from_bank_alone(
    now: &BankHour<'_>,
    deep: &Bank,
    moment: &Moment<'_>,
    flow: &Flow,
    medical_w: f64,
    hours: f64,
) -> Step {
    let mut step = Step::begun(moment, flow, hours, (0.0, 0.0));
    let through = battery::Flow { volts: flow.posts_v, current_a: -flow.net_a, limit: flow.limit };
    (step.after, step.balance) = now.discharge(&through, hours, 0.0);
    step.served_wh = step.balance.out_wh;
    let short_h = if flow.limit == Limit::None { hours - step.balance.hours } else { hours };
    if short_h > 0.0 {
        below_floor(deep, moment, &mut step, medical_w, short_h);
    }
    step
}

/// Loads that are never shed go on below the floor.
fn below_floor(deep: &Bank, moment: &Moment<'_>, step: &mut Step, medical_w: f64, hours: f64) {
    let served_w = (step.served_wh - (step.hours - hours) * moment.load_w).max(0.0) / hours;
    let need_w = (medical_w - served_w).max(0.0);
    if need_w <= 0.0 {
        return;
    }
    let now = deep.at(step.after, moment.battery_c);
    let (after, balance) = now.discharge(&now.give(battery::Offer::Power(need_w)), hours, 0.0);
    step.after = after;
    step.balance = step.balance + balance;
    step.served_wh += balance.out_wh;
    step.medical_short_wh += (need_w * hours - balance.out_wh).max(0.0);
}

/// The volts held by the highest of the sources that give, and the tail current at which they count it full.
fn full_at(bank: &Bank, flow: &Flow) -> (f64, f64) {
    let mut highest = (0.0, 0.0);
    for (k, held_v) in flow.held_v().iter().enumerate() {
        let gives = flow.amps.get(k).is_some_and(|a| *a > 0.0);
        if gives && *held_v > highest.0 {
            let floats = flow.floating.get(k) == Some(&true);
            highest = (*held_v, if floats { 0.0 } else { bank.tail_a() });
        }
    }
    highest
}

/// Where the sun's energy of so many hours went on its way to the posts, with every controller giving all it can; what the
/// arrays had. `waits`: controllers that have not started yet, a bit each.
pub(super) fn account((beams, waits): (&[Beam<'_>], u16), flow: &Flow, hours: f64, out: &mut Part) -> f64 {
    let sums = &mut out.sums;
    let mut array_wh = 0.0;
    for (k, ((share, beam), lost)) in flow.shares.iter().zip(beams).zip(&mut out.solars).enumerate() {
        let Some(hour) = beam.lit else { continue };
        let best_wh = hour.best.power_w() * hours;
        array_wh += best_wh;
        let wire_wh = share.pv_a * share.pv_a * beam.pv_ohm * hours;
        let (in_wh, out_wh) = (share.pv_v * share.pv_a * hours, share.out_a * share.out_v * hours);
        let (lost_wh, clipped_wh) = ((best_wh - in_wh - wire_wh).max(0.0), share.clipped_w * hours);
        let (mismatch_wh, convert_wh) = match beam.tracks {
            false => ((lost_wh - clipped_wh).max(0.0), in_wh - out_wh),
            true => (lost_wh, in_wh - out_wh - clipped_wh),
        };
        sums.pv_wire_wh += wire_wh;
        sums.clipped_wh += clipped_wh;
        sums.mismatch_wh += mismatch_wh;
        sums.convert_wh += convert_wh.max(0.0);
        lost.pv_wh += wire_wh;
        lost.clipped_wh += clipped_wh;
        if share.held || waits >> k & 1 == 1 {
            lost.held_wh += lost_wh;
        }
    }
    if array_wh <= 0.0 {
        return 0.0;
    }
    // What is lost in a segment follows from the products of the currents through it.
    let offered = flow.offered_a();
    for (row, solar_a) in out.products_a2h.chunks_exact_mut(offered.len().max(1)).zip(offered) {
        for (sum, amps) in row.iter_mut().zip(offered) {
            *sum += solar_a * amps * hours;
        }
    }
    array_wh
}

/// What the sun lost in each segment, from those products: where a charger sends too, by its part of the current.
/// Source: Joule's law, of a sum of currents.
pub(super) fn in_segments(circuit: &Charging, out: &mut Part) {
    let (n, solars) = (circuit.sources().max(1), circuit.solars.len());
    for (slot, (ohm, carried)) in out.segment_loss_wh.iter_mut().zip(circuit.segments()) {
        let through = |k: usize| k < 64 && carried >> k & 1 == 1;
        let rows = out.products_a2h.chunks_exact(n).take(solars).enumerate().filter(|(k, _)| through(*k));
        let of_row = |row: &[f64]| row.iter().enumerate().filter(|(j, _)| through(*j)).map(|(_, sum)| sum).sum::<f64>();
        *slot = ohm * rows.map(|(_, row)| of_row(row)).sum::<f64>();
        out.sums.out_wire_wh += *slot;
    }
}
