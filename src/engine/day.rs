//! When in the day the loads draw: watts at the posts, hour by hour of a month's usual day.

use std::sync::Arc;

use crate::climate::year::MONTH_DAYS;
use crate::plan::wiring::{Supply, When};
use crate::plan::{Figure, Load};

use super::context::{Context, at, need};
use super::converted::Shares;
use super::loads::{carried_by, of_bank as of_bank_loads, own_inverter, own_wh};
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
}

/// What is drawn through one inverter in an hour.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Through {
    pub all_w: f64,
    /// Of that, what is never shed.
    pub medical_w: f64,
}

/// The loads' days, January first, hour by hour.
#[derive(Clone, Debug)]
pub struct Usage(Arc<Days>);

#[derive(Clone, Debug, PartialEq)]
struct Days {
    all: [[Asked; 24]; 12],
    /// What of it is drawn through each inverter that something hangs on, or the only one; by its index in the plan.
    through: Vec<(usize, [[Through; 24]; 12])>,
    /// What is asked of inverters that none of them carries, beside all that: a load above the rating, or what several
    /// ask beyond it. None where nothing is.
    beyond: Option<[[Through; 24]; 12]>,
}

impl PartialEq for Usage {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.0 == other.0
    }
}

impl Usage {
    /// Nothing drawn at all.
    #[must_use]
    pub fn none() -> Self {
        Self::alike(Asked::default(), &[])
    }

    /// The same watts all day and all year.
    #[must_use]
    pub fn steady(watts: f64) -> Self {
        Self::alike(Asked { all_w: watts, ..Asked::default() }, &[])
    }

    /// The same draw all day and all year, so much of it through each inverter.
    #[must_use]
    pub fn alike(asked: Asked, through: &[Through]) -> Self {
        let through = through.iter().map(|one| [[*one; 24]; 12]).enumerate().collect();
        Self(Arc::new(Days { all: [[asked; 24]; 12], through, beyond: None }))
    }

    /// Whether more is asked of some inverter than it carries.
    #[must_use]
    pub fn has_beyond(&self) -> bool {
        self.0.beyond.is_some()
    }

    /// What is asked in an hour that no inverter carries, at the bank as if it did; shore power past them does.
    #[must_use]
    pub fn beyond(&self, month: usize, hour_of_day: usize) -> Through {
        let days = self.0.beyond.as_ref();
        days.and_then(|days| days.get(month)?.get(hour_of_day)).copied().unwrap_or_default()
    }

    /// An hour's draw on the bank.
    #[must_use]
    pub fn at(&self, month: usize, hour_of_day: usize, on_shore: bool) -> Asked {
        let asked = self.0.all.get(month).and_then(|day| day.get(hour_of_day)).copied().unwrap_or_default();
        if on_shore { asked.without_inverter() } else { asked }
    }

    /// Inverters that something hangs on, or the only one, by their index in the plan.
    pub fn inverters(&self) -> impl Iterator<Item = usize> {
        self.0.through.iter().map(|(inverter, _)| *inverter)
    }

    /// What the bank gives in an hour through one of these, by its place among them.
    #[must_use]
    #[inline]
    pub fn through(&self, place: usize, month: usize, hour_of_day: usize) -> Through {
        let days = self.0.through.get(place).map(|(_, days)| days);
        days.and_then(|days| days.get(month)?.get(hour_of_day)).copied().unwrap_or_default()
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

/// Whether an AC load takes more than its inverter is rated for: of several, where no run tells, than the largest is. It never
/// runs then. A rating that nobody knows carries all.
fn is_beyond(c: &Context<'_>, shares: &Shares, load: usize) -> bool {
    let Some(watts) = c.plan.loads.get(load).and_then(|l| l.watts_w.known()) else { return false };
    let own = own_inverter(c, shares, load).ok().flatten();
    let staying = c
        .plan
        .inverters
        .iter()
        .enumerate()
        .filter(|(i, inv)| inv.state.stays() && !shares.is_inverter_apart(*i) && own.is_none_or(|o| o == *i));
    let mut most_w = None;
    for (_, inverter) in staying {
        let Some(rated) = inverter.watts_w.known() else { return false };
        most_w = Some(most_w.map_or(rated.0, |most: f64| most.max(rated.0)));
    }
    most_w.is_some_and(|most_w| watts.0 > most_w)
}

/// What the bank gives at most through an inverter, at its rating; where loads count behind it that no run leads to, the
/// ratings of all of them. None where nobody knows.
fn most_w(c: &Context<'_>, shares: &Shares, inverter: usize) -> Option<f64> {
    let ac = c.plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays() && l.supply == Supply::Inverter);
    let mut ac = ac.filter(|(i, _)| carried_by(c, shares, *i).is_ok_and(|(by, _)| by == inverter));
    let is_free = ac.any(|(i, _)| own_inverter(c, shares, i) == Ok(None));
    let own = c.plan.inverters.get(inverter)?;
    let share = (own.efficiency_pct.known()?.0 / 100.0).max(0.01);
    let mut rated_w = 0.0;
    for (_, inv) in c
        .plan
        .inverters
        .iter()
        .enumerate()
        .filter(|(i, v)| v.state.stays() && !shares.is_inverter_apart(*i) && (is_free || *i == inverter))
    {
        rated_w += inv.watts_w.known()?.0;
    }
    Some(rated_w / share)
}

/// The loads of a plan by month and hour.
pub(super) fn usage(c: &Context<'_>, shares: &Shares) -> Figure<Usage> {
    let mut days = Days { all: [[Asked::default(); 24]; 12], through: Vec::new(), beyond: None };
    let of_bank = |i: &usize| !shares.is_inverter_apart(*i);
    let staying = || c.plan.inverters.iter().enumerate().filter(|(i, x)| x.state.stays() && of_bank(i));
    if let (Some((only, _)), None) = (staying().next(), staying().nth(1)) {
        days.of(only);
    }
    for (i, load) in of_bank_loads(c, shares) {
        let hours = need(&load.hours_day, "loads", &load.id, "hours_day")?.0;
        let shape = shape(load.when, hours);
        let by = match load.supply {
            Supply::Dc => shares.get(i).map(|share| (share, None)),
            Supply::Inverter => carried_by(c, shares, i).map(|(inverter, share)| (share, Some(inverter))),
        };
        for month in 0..12 {
            let own = own_wh(c, load, month)?;
            if own > 0.0 {
                let by = by.clone()?;
                let is_beyond = by.1.is_some() && is_beyond(c, shares, i);
                days.add(load, by, own, &shape, (month, is_beyond));
            }
        }
    }
    days.cap(c, shares);
    for (i, inv) in staying() {
        let idle_w = need(&inv.idle_w, "inverters", &inv.id, "idle_w")?.0;
        let hours = inv.idle_h_day.at(|| at("inverters", &inv.id, "idle_h_day"))?.0;
        let watts = idle_w * hours / 24.0;
        for asked in days.all.iter_mut().flatten() {
            asked.all_w += watts;
            asked.ac_w += watts;
        }
        if let Some((_, own)) = days.through.iter_mut().find(|(at, _)| *at == i) {
            own.iter_mut().flatten().for_each(|through| through.all_w += watts);
        }
    }
    Ok(Usage(Arc::new(days)))
}

impl Days {
    /// Each inverter carries no more in an hour than its rating, medical loads first; the rest is beyond it. What no run leads
    /// to has the ratings of all of them.
    fn cap(&mut self, c: &Context<'_>, shares: &Shares) {
        let Self { all, through, beyond } = self;
        for (inverter, days) in through {
            let Some(most_w) = most_w(c, shares, *inverter) else { continue };
            for (m, h) in (0..12).flat_map(|m| (0..24).map(move |h| (m, h))) {
                let (own, asked) = (&mut days[m][h], &mut all[m][h]);
                let over = Through { all_w: own.all_w - most_w, medical_w: (own.medical_w - most_w).max(0.0) };
                // A last digit is no load.
                if over.all_w <= most_w * 1e-9 {
                    continue;
                }
                let left = &mut beyond.get_or_insert([[Through::default(); 24]; 12])[m][h];
                *left = Through { all_w: left.all_w + over.all_w, medical_w: left.medical_w + over.medical_w };
                *own = Through { all_w: most_w, medical_w: own.medical_w - over.medical_w };
                asked.all_w -= over.all_w;
                asked.ac_w -= over.all_w;
                asked.medical_w -= over.medical_w;
                asked.medical_ac_w -= over.medical_w;
            }
        }
    }

    /// What is drawn through an inverter.
    fn of(&mut self, inverter: usize) -> &mut [[Through; 24]; 12] {
        let place = self.through.iter().position(|(at, _)| *at == inverter).unwrap_or_else(|| {
            self.through.push((inverter, [[Through::default(); 24]; 12]));
            self.through.len() - 1
        });
        &mut self.through[place].1
    }

    /// A load's draw in a month. `by`: what of it reaches the load, and the inverter that it comes by.
    /// `is_beyond`: its inverter does not carry it at all.
    fn add(
        &mut self,
        load: &Load,
        (share, by): (f64, Option<usize>),
        own_wh: f64,
        shape: &[f64; 24],
        (month, is_beyond): (usize, bool),
    ) {
        let is_medical = load.medical == crate::plan::job::YesNo::Yes;
        let watts = |part: f64| own_wh * part / share;
        let medical = |watts: f64| if is_medical { watts } else { 0.0 };
        if is_beyond {
            let beyond = self.beyond.get_or_insert([[Through::default(); 24]; 12]);
            for (own, part) in beyond.iter_mut().skip(month).take(1).flatten().zip(shape) {
                own.all_w += watts(*part);
                own.medical_w += medical(watts(*part));
            }
            return;
        }
        for (asked, part) in self.all.iter_mut().skip(month).take(1).flatten().zip(shape) {
            let watts = watts(*part);
            asked.all_w += watts;
            asked.medical_w += medical(watts);
            if by.is_some() {
                asked.ac_w += watts;
                asked.medical_ac_w += medical(watts);
            }
        }
        let Some(inverter) = by else { return };
        for (through, part) in self.of(inverter).iter_mut().skip(month).take(1).flatten().zip(shape) {
            let watts = watts(*part);
            through.all_w += watts;
            through.medical_w += medical(watts);
        }
    }
}
