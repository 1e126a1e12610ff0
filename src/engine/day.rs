//! When in the day the loads draw: watts at the posts, hour by hour of a month's usual day.

use std::sync::Arc;

use crate::climate::year::MONTH_DAYS;
use crate::plan::wiring::{Supply, When};
use crate::plan::{Figure, Load};

use super::context::{Context, at, need};
use super::converted::Shares;
use super::loads::{carried_by, cutting, own_wh};
use super::year::{BEGINS, StayInput};

/// What is drawn in an hour.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    pub all_w: f64,
    /// Of that, what comes through the inverter; shore power carries it where there is some.
    pub ac_w: f64,
    /// Of all, what is never shed.
    pub medical_w: f64,
    /// Of that, what comes through the inverter.
    pub medical_ac_w: f64,
    /// Of what comes through inverters that of the one whose cut-off the year has.
    pub cut_w: f64,
    /// Of that, what is never shed.
    pub medical_cut_w: f64,
}

/// The loads' days, January first, hour by hour.
#[derive(Clone, Debug)]
pub struct Usage(Arc<[[Asked; 24]]>);

impl PartialEq for Usage {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.0 == other.0
    }
}

impl Usage {
    /// Nothing drawn at all.
    #[must_use]
    pub fn none() -> Self {
        Self(Arc::from([[Asked::default(); 24]; 12]))
    }

    /// The same watts all day and all year.
    #[must_use]
    pub fn steady(watts: f64) -> Self {
        Self::alike(Asked { all_w: watts, ..Asked::default() })
    }

    /// The same draw all day and all year.
    #[must_use]
    pub fn alike(asked: Asked) -> Self {
        Self(Arc::from([[asked; 24]; 12]))
    }

    /// An hour's draw on the bank.
    #[must_use]
    pub fn at(&self, month: usize, hour_of_day: usize, on_shore: bool) -> Asked {
        let asked = self.0.get(month).and_then(|day| day.get(hour_of_day)).copied().unwrap_or_default();
        if on_shore { asked.without_inverter() } else { asked }
    }
}

impl Asked {
    /// What is drawn of the bank where nothing goes through the inverter.
    #[must_use]
    pub fn without_inverter(self) -> Self {
        let (all_w, medical_w) = (self.all_w - self.ac_w, self.medical_w - self.medical_ac_w);
        Self { all_w, medical_w, ..Self::default() }
    }
}

/// Which days of the year are spent on shore power: spread evenly, a part of one going over to the next month, as the
/// year runs through them.
#[must_use]
pub fn on_shore(stays: &[StayInput]) -> Vec<bool> {
    let mut due = 0.0;
    let mut all = Vec::with_capacity(365);
    for (month, days) in MONTH_DAYS.into_iter().enumerate() {
        let stay = stays.iter().find(|s| s.months & 1 << month != 0);
        for _ in 0..days {
            all.push(is_shore_day(&mut due, stay.map_or(0.0, |s| s.shore_days / days as f64)));
        }
    }
    all
}

/// Shore days spread evenly; what is left of one goes over to the next month. A month has no more of them than days.
pub(super) fn is_shore_day(shore: &mut f64, share: f64) -> bool {
    *shore += share.min(1.0);
    // A whole number of days a month comes out whole.
    let is_one = *shore >= 1.0 - 1e-9;
    *shore -= f64::from(u8::from(is_one));
    is_one
}

/// First hour and length of a time of day, h. Source: common practice; each load says when it is used.
fn window(when: When) -> (usize, usize) {
    match when {
        When::AnyTime => (0, 24),
        When::Morning => (6, 4),
        When::Daytime => (8, 10),
        When::Afternoon => (12, 6),
        When::Evening => (17, 6),
        When::Night => (21, 10),
    }
}

/// Share of a day's use in each of its hours: even over the time of day, which widens where the hours of use are more.
#[must_use]
pub fn shape(when: When, hours_day: f64) -> [f64; 24] {
    let (mut first, mut length) = window(when);
    let mut at_end = true;
    while (length as f64) < hours_day && length < 24 {
        length += 1;
        if !at_end {
            first = (first + 23) % 24;
        }
        at_end = !at_end;
    }
    let mut shares = [0.0; 24];
    for h in first..first + length {
        if let Some(share) = shares.get_mut(h % 24) {
            *share = 1.0 / length as f64;
        }
    }
    shares
}

/// Hours of the day in which a coach drives a mean of so many: from nine in the morning on.
/// Source: common practice.
#[must_use]
pub fn driving(hours_day: f64) -> [f64; 24] {
    let mut left = hours_day.clamp(0.0, 24.0);
    let mut shares = [0.0; 24];
    for h in usize::from(BEGINS)..usize::from(BEGINS) + 24 {
        let share = left.min(1.0);
        if let Some(slot) = shares.get_mut(h % 24) {
            *slot = share;
        }
        left -= share;
    }
    shares
}

/// The loads of a plan by month and hour.
pub(super) fn usage(c: &Context<'_>, shares: &Shares) -> Figure<Usage> {
    let mut days = [[Asked::default(); 24]; 12];
    let cutting = cutting(c, shares);
    for (i, load) in c.plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays()) {
        let hours = need(&load.hours_day, "loads", &load.id, "hours_day")?.0;
        let shape = shape(load.when, hours);
        let through = match load.supply {
            Supply::Dc => shares.get(i).map(|share| (share, false)),
            Supply::Inverter => carried_by(c, shares, i).map(|(inv, share)| (share, Some(inv) == cutting)),
        };
        for (month, day) in days.iter_mut().enumerate() {
            let own = own_wh(c, load, month)?;
            if own > 0.0 {
                add(load, through.clone()?, own, &shape, day);
            }
        }
    }
    for (i, inv) in c.plan.inverters.iter().enumerate().filter(|(_, i)| i.state.stays()) {
        let idle_w = need(&inv.idle_w, "inverters", &inv.id, "idle_w")?.0;
        let hours = inv.idle_h_day.at(|| at("inverters", &inv.id, "idle_h_day"))?.0;
        for asked in days.iter_mut().flatten() {
            asked.all_w += idle_w * hours / 24.0;
            asked.ac_w += idle_w * hours / 24.0;
            if Some(i) == cutting {
                asked.cut_w += idle_w * hours / 24.0;
            }
        }
    }
    Ok(Usage(Arc::from(days)))
}

/// A load's draw into a day. `through`: what of it reaches the load, and whether it comes by the inverter that the year cuts
/// off.
fn add(load: &Load, (through, is_cut): (f64, bool), own_wh: f64, shape: &[f64; 24], day: &mut [Asked; 24]) {
    let is_ac = load.supply == Supply::Inverter;
    let is_medical = load.medical == crate::plan::job::YesNo::Yes;
    for (asked, part) in day.iter_mut().zip(shape) {
        let watts = own_wh * part / through;
        let if_so = |is: bool| if is { watts } else { 0.0 };
        asked.all_w += watts;
        asked.ac_w += if_so(is_ac);
        asked.cut_w += if_so(is_cut);
        asked.medical_w += if_so(is_medical);
        asked.medical_ac_w += if_so(is_medical && is_ac);
        asked.medical_cut_w += if_so(is_medical && is_cut);
    }
}
