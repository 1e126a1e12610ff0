//! Spells of the year: the longest of dull sky, and the days that are hardest on the bank.

use crate::units::WattHours;

use super::report::{DullSpell, SpellDay};
use super::year::DaySums;

/// A day whose sky lets through less than this of the light above the air is dull.
/// Source: Kudish and Ianetz 1996, days by their clearness index: cloudy up to 0.35 (from memory).
pub const DULL_CLEARNESS: f64 = 0.35;
/// Less load than this that goes without in a day is none, Wh. Source: our own choice; it shows as 0.
const SHORT_WH: f64 = 0.5;
/// A bank that never falls below this is hardly used. Source: our own choice.
const UNUSED_SOC: f64 = 0.99;

/// The longest run of days on which the sky is dull, over the turn of the year too; of equally long ones the dullest.
/// `clearness`: of each day, none where nobody is there.
pub(super) fn of_sky(days: &[DaySums], clearness: &[Option<f64>]) -> Option<DullSpell> {
    let n = days.len().min(clearness.len());
    let at = |i: usize| clearness.get(i % n.max(1)).copied().flatten();
    let light = |(first, length): &(usize, usize)| (*first..first + length).filter_map(at).sum::<f64>();
    let all = stretches(n, |i| at(i).is_some_and(|share| share < DULL_CLEARNESS)).into_iter();
    let longest = all.max_by(|a, b| a.1.cmp(&b.1).then(light(b).total_cmp(&light(a))));
    longest.map(|(first, length)| spell(days, first, length))
}

/// The days that are hardest on the bank: the run of days with load going short in which most of it does; where none
/// does, the days in a row on which the bank goes down, each lower than the one before, to its least charge.
/// `lived`: whether anybody is there.
pub(super) fn hardest(days: &[DaySums], lived: &[bool]) -> Option<DullSpell> {
    let n = days.len().min(lived.len());
    let at = |i: usize| days.get(i % n.max(1)).filter(|_| lived.get(i % n.max(1)) == Some(&true));
    let lacks =
        |(first, length): &(usize, usize)| (*first..first + length).filter_map(at).map(|d| d.shortfall_wh).sum::<f64>();
    let short = stretches(n, |i| at(i).is_some_and(|d| d.shortfall_wh >= SHORT_WH)).into_iter();
    if let Some((first, length)) = short.max_by(|a, b| lacks(a).total_cmp(&lacks(b))) {
        return Some(spell(days, first, length));
    }
    let soc = |i: usize| at(i).map_or(f64::INFINITY, |d| d.least_soc);
    let lowest = (0..n).min_by(|a, b| soc(*a).total_cmp(&soc(*b))).filter(|i| soc(*i) < UNUSED_SOC)?;
    // Counted back from a year later, so that it may begin before the first of January.
    let falls = (1..n).take_while(|back| {
        let (before, after) = (soc(lowest + n - back), soc(lowest + n + 1 - back));
        before.is_finite() && before > after && after < UNUSED_SOC
    });
    let back = falls.count().saturating_sub(1);
    Some(spell(days, (lowest + n - back) % n, back + 1))
}

/// Runs of days in a row, as their first and their length; over the turn of the year too.
fn stretches(n: usize, is_one: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
    let mut all = Vec::new();
    let mut first = (0..n).find(|i| !is_one(*i)).unwrap_or(0);
    let end = first + n;
    while first < end {
        let length = (first..end).take_while(|i| is_one(i % n)).count();
        if length > 0 {
            all.push((first % n, length));
        }
        first += length.max(1);
    }
    all
}

fn spell(days: &[DaySums], first: usize, length: usize) -> DullSpell {
    let n = days.len().max(1);
    let of = || (first..first + length).filter_map(|i| days.get(i % n));
    let mean = |wh: fn(&DaySums) -> f64| WattHours(of().map(wh).sum::<f64>() / length.max(1) as f64);
    DullSpell {
        first_day: first % n,
        days: length,
        harvest: mean(|d| d.harvest_wh),
        other: mean(|d| d.other_wh),
        load: mean(|d| d.load_wh),
        shortfall: WattHours(of().map(|d| d.shortfall_wh).sum()),
        least_soc: of().map(|d| d.least_soc).fold(1.0, f64::min),
        each: of().map(day).collect(),
    }
}

fn day(day: &DaySums) -> SpellDay {
    SpellDay {
        harvest: WattHours(day.harvest_wh),
        other: WattHours(day.other_wh),
        load: WattHours(day.load_wh),
        shortfall: WattHours(day.shortfall_wh),
        least_soc: day.least_soc,
    }
}
