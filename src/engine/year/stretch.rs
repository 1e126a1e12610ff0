//! A stretch of an hour in which the same chargers give: all of it, or where the engine runs for a part of it, that part and
//! the rest. What a charger gives is bound by what the bank takes at that moment, so half an hour's current is no whole
//! hour's of half the current. Where a charger's time of absorption ends within a stretch, that is cut there too.

use crate::engine::day::Asked;
use crate::engine::solve::{Charging, Flow, Moment, out_v};
use crate::engine::warmth::Heater;
use crate::physics::battery::{self, BankHour, Limit};

use super::{DaySums, Inverters, LEAST_H, Part, Runner, Runs, Step, hour, mixed};

/// What holds all through an hour.
pub(super) struct Hour<'a> {
    pub(super) number: u16,
    pub(super) asked: Asked,
    pub(super) inverters: Inverters<'a>,
    /// What the controllers draw themselves from the bank.
    pub(super) own_w: f64,
    /// What depends on how the bank fares.
    pub(super) by_bank_w: f64,
    pub(super) heater: Option<&'a Heater>,
    pub(super) heater_w: f64,
    pub(super) battery_c: f64,
    /// Whether all arrays are even.
    pub(super) all_even: bool,
}

impl<'a> Runner<'a> {
    /// Which chargers give.
    #[inline]
    pub(super) fn feed(&mut self, is_driven: bool, on_shore: bool) {
        let fed = (is_driven, on_shore, self.on_generator);
        if self.fed == fed {
            return;
        }
        self.fed = fed;
        for (share, runs) in self.feeding.iter_mut().zip(&self.input.runs) {
            *share = match runs {
                Runs::Driving => f64::from(u8::from(is_driven)),
                Runs::OnShore => f64::from(u8::from(on_shore)),
                Runs::Generator { .. } => f64::from(u8::from(self.on_generator)),
                Runs::OnShoreOrGenerator { .. } => f64::from(u8::from(on_shore || self.on_generator)),
                Runs::Never => 0.0,
            };
        }
        self.is_fed = self.feeding.iter().any(|share| *share > 0.0);
    }

    /// An hour in whose first part alone the engine runs; what its heater got.
    #[cold]
    #[inline(never)]
    pub(super) fn in_two(
        &mut self,
        hour: &Hour<'a>,
        (driving, on_shore): (f64, bool),
        (out, today): (&mut Part, &mut DaySums),
        see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step),
    ) -> f64 {
        let mut heat_wh = 0.0;
        for (is_driven, hours) in [(true, driving), (false, 1.0 - driving)] {
            self.feed(is_driven, on_shore);
            heat_wh += self.stretches(hour, hours, (out, today), see);
        }
        heat_wh
    }

    /// So much of an hour in which the same chargers give, into the sums; what its heater got.
    #[inline(always)]
    pub(super) fn stretches(
        &mut self,
        hour: &Hour<'a>,
        hours: f64,
        (out, today): (&mut Part, &mut DaySums),
        see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step),
    ) -> f64 {
        let (mut left_h, mut heat_wh) = (hours, 0.0);
        loop {
            let (own_wh, own_h) = self.stretch(hour, left_h, (out, today), see);
            heat_wh += own_wh;
            left_h -= own_h;
            if left_h < LEAST_H {
                return heat_wh;
            }
        }
    }

    /// As much of that as passes before a charger's time of absorption is over, solved at its beginning; what its heater got,
    /// and how long it is, h.
    #[inline]
    fn stretch(
        &mut self,
        hour: &Hour<'a>,
        hours: f64,
        (out, today): (&mut Part, &mut DaySums),
        see: &mut impl FnMut(u16, &Moment<'_>, &Flow, &Step),
    ) -> (f64, f64) {
        let Hour { number, asked, inverters, own_w, by_bank_w, heater, heater_w, battery_c, all_even } = *hour;
        let circuit = &self.input.circuit;
        let mut lit_room = None;
        let lit = if all_even { &self.even } else { mixed(&self.beams, self.waits, &mut lit_room) };
        let mut moment = Moment {
            lit,
            best: &self.best,
            feeding: &self.feeding,
            load_w: asked.all_w + own_w + by_bank_w,
            store: self.store,
            battery_c,
            held_h: &self.held_h,
        };
        let (mut now, off) = inverters.solve(circuit, &mut moment, self.off, &mut self.flow);
        self.off = off;
        let hours = match self.flow.limit {
            Limit::Held => {
                let each = self.flow.floating.iter().zip(&self.flow.amps);
                absorbs_h(circuit, &self.held_h, each.map(|(floats, amps)| (*floats, *amps)), hours)
            }
            _ => hours,
        };
        let cut = inverters.cut(off);
        let medical_w = asked.medical_w - cut.medical_w;
        let mut step = self.step(now.as_mut(), &moment, medical_w, hours);
        let mut by_bank_wh = by_bank_w * hours;
        if let Some(heater) = heater {
            step.heat_wh = heater_w * hours * step.share_served(medical_w);
            // A cold bank that gets nothing asks for all there is in every hour; without goes what would keep it warm.
            let holds_w = heater.holds_w(battery_c - self.rise_k).min(heater_w);
            let without_wh = heater_w * hours - step.heat_wh.max(holds_w * hours);
            step.load_wh -= without_wh;
            by_bank_wh -= without_wh;
        }
        if by_bank_wh > 0.0 {
            out.sums.by_bank_wh += by_bank_wh;
        }
        let is_down = now.as_ref().is_some_and(BankHour::is_down);
        inverters.without((&mut step, cut), (off, is_down), out);
        if step.other_wh != 0.0 {
            out.sums.shore_wh += step.other_wh * self.shore_share();
        }
        if !self.is_dark {
            step.array_wh = hour::best_wh(&self.beams, hours);
        }
        see(number, &moment, &self.flow, &step);
        if !self.is_dark {
            let flow = (self.flow.shares.as_slice(), self.flow.offered_a());
            hour::account((&mut self.beams, self.waits), flow, (circuit.sources(), hours), out);
        }
        if self.flow.has_sources() {
            self.time(&step, now.as_ref(), battery_c);
        }
        self.store = step.after;
        step.add_to(self.flow.has_sources(), &mut out.sums, today);
        (step.heat_wh, hours)
    }

    /// How long each source has held its absorption volts today, this stretch with it.
    #[inline(always)]
    fn time(&mut self, step: &Step, now: Option<&BankHour<'_>>, battery_c: f64) {
        let (circuit, flow) = (&self.input.circuit, &self.flow);
        for (k, held_h) in self.held_h.iter_mut().enumerate() {
            let Some(setting) = circuit.setting(k) else { continue };
            let (floats, sent_a) = (flow.floating.get(k).copied(), flow.amps.get(k).copied());
            *held_h = step.held_h(&setting.charge, (floats, sent_a.unwrap_or(0.0)), flow.net_a, *held_h);
        }
        if let Some(now) = now.filter(|_| self.times && step.may_come_to_hold(flow.net_a)) {
            let at = (flow.posts_v, flow.net_a);
            come_to_hold(circuit, (now, step), at, (&flow.amps, battery_c), &mut self.held_h);
        }
    }

    /// What the flow comes to, the bank being so.
    fn step(&self, now: Option<&mut BankHour<'_>>, moment: &Moment<'_>, medical_w: f64, hours: f64) -> Step {
        match now.zip(self.deep.as_ref()) {
            Some((now, deep)) if !self.flow.has_sources() && self.flow.net_a < 0.0 => {
                let Flow { posts_v, net_a, limit, .. } = self.flow;
                let through = battery::Flow { volts: posts_v, current_a: -net_a, limit };
                hour::from_bank_alone((now, deep), moment, &through, medical_w, hours)
            }
            banks => hour::step(banks, moment, &self.flow, medical_w, hours),
        }
    }

    /// Part of what the other chargers send that comes from shore power.
    fn shore_share(&self) -> f64 {
        let of = |amps: &[f64]| {
            let others = amps.iter().skip(self.input.circuit.solars.len()).zip(&self.input.runs);
            others.fold((0.0, 0.0), |(shore_a, all_a), (amps, runs)| {
                (shore_a + if *runs == Runs::OnShore { *amps } else { 0.0 }, all_a + amps)
            })
        };
        let (mut shore_a, mut all_a) = of(&self.flow.amps);
        if all_a <= 0.0 {
            // They may come in later in the hour.
            (shore_a, all_a) = of(self.flow.offered_a());
        }
        if all_a > 0.0 { shore_a / all_a } else { 0.0 }
    }
}

/// How much of a stretch, in which some source holds its volts, passes before another one that gives, and has held its
/// absorption for so long today, has done so for as long as it is set to. `each`: whether it floats, and what it sends.
#[inline]
pub(super) fn absorbs_h(
    circuit: &Charging,
    held_h: &[f64],
    each: impl Iterator<Item = (bool, f64)>,
    hours: f64,
) -> f64 {
    let mut least_h = hours;
    for (k, (held_h, (floats, sent_a))) in held_h.iter().zip(each).enumerate() {
        if let Some(absorb_h) = circuit.setting(k).and_then(|setting| setting.charge.absorb_h)
            && !floats
            && sent_a > 0.0
            && *held_h < absorb_h
            && absorb_h - held_h < least_h - LEAST_H
        {
            least_h = (absorb_h - held_h).max(LEAST_H);
        }
    }
    least_h
}

/// Whether [`come_to_hold`] finds anything for some source at any time.
pub(super) fn times(circuit: &Charging) -> bool {
    let is_long = |k: usize| circuit.setting(k).is_some_and(|s| s.charge.absorb_h.is_some_and(|h| h > LEFT_H));
    (0..circuit.sources()).any(is_long)
}

/// What of a time of absorption is always held, h. Source: our own choice, a step of the year.
const LEFT_H: f64 = 1.0;

/// A stretch in which no source holds its volts: those that come to their absorption volts within it, as the bank fills, have
/// held them for what is left of it. Without that a source that is there a minute after an hour has begun would be timed from
/// the next one, and one that is there a minute sooner from this: an hour's charge apart. An hour of the time is left to be held.
#[inline]
pub(super) fn come_to_hold(
    circuit: &Charging,
    (now, step): (&BankHour<'_>, &Step),
    (posts_v, net_a): (f64, f64),
    (amps, battery_c): (&[f64], f64),
    held_h: &mut [f64],
) {
    for (k, held_h) in held_h.iter_mut().enumerate() {
        let Some(charge) = circuit.setting(k).map(|setting| setting.charge) else { continue };
        let most_h = charge.absorb_h.map_or(0.0, |absorb_h| absorb_h - LEFT_H);
        if *held_h >= most_h || amps.get(k).is_none_or(|sent_a| *sent_a <= 0.0) {
            continue;
        }
        let below_v = (charge.held_v(false, battery_c) - out_v(circuit, k, posts_v, amps)).max(0.0);
        if let Some(share) = now.comes_to(step.after, net_a, posts_v + below_v) {
            *held_h = (*held_h + step.hours - share * step.balance.hours).min(most_h);
        }
    }
}
