//! Hours of driving or of a generator that make up the load that goes short: the same year asked anew with so many more a day.
//! What a charger gives an hour tells little of them: a bank takes less the fuller it is and nothing in the cold, and nights may
//! outlast it however full it is by the evening.

use crate::climate::year::MONTH_DAYS;
use crate::plan::{Edit, Figure, Known, Plan, Stay, Step, Value};
use crate::stock::Stock;

use super::Engine;
use super::context::at;
use super::report::{ButFirst, HoursOfMonths, MadeUp, Report};
use super::sites::SHOWN_SEED;
use super::year::{DaySums, Runs, YearInput, year_on};

/// Hours more a day that are tried. Source: our own choice; nobody drives or runs a generator for longer day after day.
pub const DRIVING_H: [f64; 12] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0];
/// The same of a generator, whole hours.
pub const GENERATOR_H: [u8; 9] = [1, 2, 3, 4, 5, 6, 8, 10, 12];
/// Less than this is nothing short, Wh a mean day. Source: our own choice; it shows as 0.
const SHOWN_WH: f64 = 0.5;
/// Part of what goes short that may be left. Source: our own choice: the last of it is a freak day's.
pub const LEFT: f64 = 0.01;

/// What is left short in each month of a year that was tried, Wh a mean day, and [`first_days`] of it.
type Left = ([f64; 12], [usize; 12]);

impl Engine {
    /// Hours of driving and of a generator that make up what goes short, `before` being the answer to the plan as it is. Given
    /// up between two years as soon as it is no longer wanted.
    pub fn made_up_while(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        before: &Report,
        is_wanted: impl Fn() -> bool,
    ) -> Option<Figure<MadeUp>> {
        if let Err(waits) = &before.year.lived.unmet_pct {
            return Some(Err(waits.clone()));
        }
        let short = before.year.months.each_ref().map(|m| m.shortfall_wh_day.clone().map(|wh| wh.0));
        let with = |hours: f64| plan.with(&Step { name: String::new(), edits: driven(plan, hours) }).ok();
        let mut made = MadeUp { driving: None, generator: None, but_first: Vec::new() };
        let now = match short.iter().flatten().any(|wh| *wh >= SHOWN_WH) {
            true => self.year_input_of(plan, stock, SHOWN_SEED, None).ok().map(|setup| self.left(&setup.input).1),
            false => None,
        };
        let now = (&short, now.unwrap_or([0; 12]));
        let begun = with(1.0).and_then(|with| self.fed(&with, stock, None));
        if begun.is_some() {
            // A day has no more hours than are left of it beside those already driven.
            let room = before
                .year
                .months
                .each_ref()
                .map(|m| m.stay.and_then(|stay| plan.stays.get(stay)).map_or(24.0, |stay| 24.0 - driven_h(stay)));
            let year = |hours: f64| self.fed(&with(hours)?, stock, None).map(|input| self.left(&input));
            let (hours, but_first) = least(now, (&DRIVING_H, &room), &is_wanted, year)?;
            (made.driving, made.but_first) = (Some(hours), but_first);
        }
        if self.fed(plan, stock, Some(1)).is_some() {
            let year = |hours: f64| self.fed(plan, stock, Some(hours as u8)).map(|input| self.left(&input));
            let (hours, but_first) = least(now, (&GENERATOR_H.map(f64::from), &[24.0; 12]), &is_wanted, year)?;
            (made.generator, made.but_first) = (Some(hours), but_first);
        }
        Some(Ok(made))
    }

    /// The same, to the end.
    ///
    /// # Errors
    /// The field that the year or its bank waits for.
    pub fn made_up(&mut self, plan: &Plan, stock: &Stock, before: &Report) -> Figure<MadeUp> {
        let none = || Ok(MadeUp { driving: None, generator: None, but_first: Vec::new() });
        self.made_up_while(plan, stock, before, || true).unwrap_or_else(none)
    }

    /// A year's input, with so many hours of generator a day; none where no charger is fed by what is tried.
    fn fed(&mut self, plan: &Plan, stock: &Stock, generator_h: Option<u8>) -> Option<YearInput> {
        let input = self.year_input_of(plan, stock, SHOWN_SEED, generator_h).ok()?.input;
        let feeds = |runs: &Runs| match runs {
            Runs::Driving => generator_h.is_none(),
            Runs::Generator { .. } | Runs::OnShoreOrGenerator { .. } => generator_h.is_some(),
            Runs::OnShore | Runs::Never => false,
        };
        input.runs.iter().any(feeds).then_some(input)
    }

    /// What goes short in a year.
    fn left(&self, input: &YearInput) -> Left {
        let year = year_on(input, self.stages.threads);
        let mut days = MONTH_DAYS.iter();
        let left = year.months.map(|m| m.shortfall_wh() / days.next().map_or(1.0, |days| *days as f64));
        (left, first_days(&year.days))
    }
}

/// For each month the least of the hours tried that leave next to nothing short; none where nobody wants to know any more.
/// All are tried in turn, the fewest first: more hours may leave more short, where a timer ends absorption or an inverter
/// cuts itself off by them. `room`: hours that each month's day has left; `year`: what so many hours leave, none where there is
/// nothing to try. Beside them [`ButFirst`]; `first`: [`first_days`] without any hours.
fn least(
    (short, first): (&[Figure<f64>; 12], [usize; 12]),
    (tried, room): (&[f64], &[f64; 12]),
    is_wanted: impl Fn() -> bool,
    mut year: impl FnMut(f64) -> Option<Left>,
) -> Option<(HoursOfMonths, ButFirst)> {
    let begin = |short: &Figure<f64>| short.clone().map(|wh| (wh < SHOWN_WH).then_some(0.0));
    let mut out: HoursOfMonths = short.iter().map(begin).collect();
    let mut but_first: ButFirst = first.iter().map(|days| (*days > 0).then_some((0.0, *days))).collect();
    for hours in tried {
        let mut open = out.iter().zip(room);
        if !open.any(|(found, room)| matches!(found, Ok(None)) && hours <= room) {
            continue;
        }
        if !is_wanted() {
            return None;
        }
        let Some((left, first)) = year(*hours) else { break };
        for (((but, found), days), room) in but_first.iter_mut().zip(&out).zip(first).zip(room) {
            if but.is_none() && matches!(found, Ok(None)) && days > 0 && hours <= room {
                *but = Some((*hours, days));
            }
        }
        for (((found, short), room), left) in out.iter_mut().zip(short).zip(room).zip(left) {
            let is_enough = short.as_ref().is_ok_and(|short| left <= SHOWN_WH.max(LEFT * short));
            if matches!(found, Ok(None)) && hours <= room && is_enough {
                *found = Ok(Some(*hours));
            }
        }
    }
    for (m, but) in but_first.iter_mut().enumerate() {
        let is_never = |m: usize| matches!(out.get(m), Some(Ok(None)));
        let is_as_few = |(hours, _): (f64, usize)| matches!(out.get(m), Some(Ok(Some(all))) if *all <= hours);
        *but = but.filter(|but| is_never((m + 11) % 12) && !is_as_few(*but));
    }
    Some((out, but_first))
}

/// How many days of each month follow on a short one that ends the month before, where no other day of the month is short.
fn first_days(days: &[DaySums]) -> [usize; 12] {
    let is_short = |day: &DaySums| day.shortfall_wh >= SHOWN_WH;
    let (mut left, mut before) = (days, days.last());
    MONTH_DAYS.map(|length| {
        let (month, later) = left.split_at(length.min(left.len()));
        let first = month.iter().take_while(|day| is_short(day)).count();
        let all = month.iter().filter(|day| is_short(day)).count();
        let goes_on = before.is_some_and(is_short) && first < month.len() && all == first;
        (left, before) = (later, month.last());
        if goes_on { first } else { 0 }
    })
}

/// Hours that are driven there already; what is not known counts as none, as in the year.
fn driven_h(stay: &Stay) -> f64 {
    stay.drive_h_day.as_ref().and_then(Known::known).map_or(0.0, |h| h.0)
}

/// So many hours more of driving at every stay, as far as its day goes.
fn driven(plan: &Plan, hours: f64) -> Vec<Edit> {
    let set = |stay: &Stay| {
        let to = Value::Number((driven_h(stay) + hours).min(24.0));
        Edit::Set { at: at("stays", &stay.id, "drive_h_day"), to }
    };
    plan.stays.iter().map(set).collect()
}
