//! The cheapest choice of one candidate for every run under the limits of all ways.
//!
//! Runs that several ways share are tried in all combinations; what is left then falls apart into single ways, each
//! solved on its own. Where that would be too many, the best step at a time is taken, then taken back where it was
//! not needed, then exchanged for others as long as they cost less.

use super::wire::{Candidate, Sized};
use crate::arrange::Arrange;

/// Most combinations of shared runs that are tried.
const MOST_COMBINATIONS: usize = 20_000;

/// Most exchanges of one step for others, and of gauges more that one is tried with. Source: our own choice.
const MOST_EXCHANGES: usize = 30;
const MOST_THICKER: usize = 3;

/// A way with its limit.
#[derive(Clone, Debug)]
pub(super) struct Way {
    /// Its place among the circuit's.
    pub(super) index: usize,
    /// Places of the sized runs on it, each with its current.
    pub(super) runs: Vec<(usize, f64)>,
    /// Volts lost in what is not sized.
    pub(super) fixed_v: f64,
    pub(super) target_v: f64,
    /// What it loses now: no more than that where its target is out of reach.
    pub(super) missed_v: f64,
    /// What it may lose by this reckoning.
    pub(super) limit_v: f64,
    /// Whether its target is within reach, and all that it loses known.
    pub(super) binds: bool,
}

/// Index of the chosen candidate of every run; none where some limit cannot be held. `tied`: places whose runs are all
/// of one make, each with the same candidates: what is chosen for one costs as much as all of them.
pub(super) fn solve(runs: &[Sized], ways: &[Way], tied: &[Vec<usize>]) -> Option<Vec<usize>> {
    let mut on = vec![0_usize; runs.len()];
    for (p, _) in ways.iter().flat_map(|w| &w.runs) {
        if let Some(n) = on.get_mut(*p) {
            *n += 1;
        }
    }
    let units = units(runs.len(), tied);
    let ways_of = |unit: &Vec<usize>| unit.iter().filter_map(|p| on.get(*p)).sum::<usize>();
    let is_shared = |unit: &&Vec<usize>| ways_of(unit) > usize::from(unit.len() == 1);
    let shared: Vec<&Vec<usize>> = units.iter().filter(is_shared).collect();
    let combinations = shared.iter().map(|unit| choices(runs, unit));
    let combinations = combinations.fold(1_usize, usize::saturating_mul);
    if combinations > MOST_COMBINATIONS {
        Steps::of(runs, ways, &units).greedy()
    } else {
        exact(runs, ways, &units, &shared, combinations)
    }
}

/// What is chosen as one: the tied, and every other run alone, in the order of their places.
fn units(len: usize, tied: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let alone = (0..len).filter(|p| !tied.iter().any(|unit| unit.contains(p)));
    let mut all: Vec<Vec<usize>> = tied.iter().cloned().chain(alone.map(|p| vec![p])).collect();
    all.arrange_by_key(|unit| unit.first().copied());
    all
}

/// How many makes a unit can be of.
fn choices(runs: &[Sized], unit: &[usize]) -> usize {
    unit.first().and_then(|p| runs.get(*p)).map_or(0, |s| s.candidates.len())
}

fn cost_of(runs: &[Sized], unit: &[usize], pick: usize) -> f64 {
    unit.iter().map(|p| cost(runs, *p, pick)).sum()
}

fn put(picks: &mut [usize], unit: &[usize], pick: usize) {
    for p in unit {
        if let Some(slot) = picks.get_mut(*p) {
            *slot = pick;
        }
    }
}

fn candidate(runs: &[Sized], p: usize, pick: usize) -> Option<&Candidate> {
    runs.get(p)?.candidates.get(pick)
}

fn cost(runs: &[Sized], p: usize, pick: usize) -> f64 {
    candidate(runs, p, pick).map_or(f64::MAX, |x| x.cost)
}

fn ohm(runs: &[Sized], p: usize, pick: usize) -> f64 {
    candidate(runs, p, pick).map_or(0.0, |x| x.ohm)
}

/// The cheapest candidate of every unit.
fn cheapest(runs: &[Sized], units: &[Vec<usize>]) -> Vec<usize> {
    let mut picks = vec![0; runs.len()];
    for unit in units {
        let by_cost = |a: &usize, b: &usize| cost_of(runs, unit, *a).total_cmp(&cost_of(runs, unit, *b));
        put(&mut picks, unit, (0..choices(runs, unit)).min_by(by_cost).unwrap_or(0));
    }
    picks
}

fn exact(
    runs: &[Sized],
    ways: &[Way],
    units: &[Vec<usize>],
    shared: &[&Vec<usize>],
    combinations: usize,
) -> Option<Vec<usize>> {
    let base = cheapest(runs, units);
    let places: Vec<usize> = shared.iter().flat_map(|unit| unit.iter().copied()).collect();
    let mut best: Option<(f64, Vec<usize>)> = None;
    for n in 0..combinations {
        let mut picks = base.clone();
        let (mut rest, mut sum) = (n, 0.0);
        for unit in shared {
            let len = choices(runs, unit).max(1);
            put(&mut picks, unit, rest % len);
            sum += cost_of(runs, unit, rest % len);
            rest /= len;
        }
        let mut held = true;
        for way in ways {
            let most = best.as_ref().map_or(f64::MAX, |b| b.0);
            match single(runs, way, &places, &mut picks) {
                Some(own) if sum + own < most => sum += own,
                _ => {
                    held = false;
                    break;
                }
            }
        }
        if held && best.as_ref().is_none_or(|b| sum < b.0) {
            best = Some((sum, picks));
        }
    }
    best.map(|b| b.1)
}

/// Sets the runs that this way has for itself; their cost, or none where the limit cannot be held.
fn single(runs: &[Sized], way: &Way, shared: &[usize], picks: &mut [usize]) -> Option<f64> {
    let mut room = way.limit_v - way.fixed_v;
    let mut own = Vec::new();
    for (p, amps) in &way.runs {
        if shared.contains(p) {
            room -= ohm(runs, *p, picks.get(*p).copied()?) * amps;
        } else {
            own.push((*p, *amps));
        }
    }
    if room < 0.0 {
        return None;
    }
    let mut trial = vec![0; own.len()];
    let mut best: Option<(f64, Vec<usize>)> = None;
    descend(runs, &own, 0, room, 0.0, &mut trial, &mut best);
    let (cost, found) = best?;
    for ((p, _), pick) in own.iter().zip(found) {
        if let Some(slot) = picks.get_mut(*p) {
            *slot = pick;
        }
    }
    Some(cost)
}

fn descend(
    runs: &[Sized],
    own: &[(usize, f64)],
    depth: usize,
    room: f64,
    sum: f64,
    trial: &mut Vec<usize>,
    best: &mut Option<(f64, Vec<usize>)>,
) {
    if room < 0.0 || best.as_ref().is_some_and(|b| sum >= b.0) {
        return;
    }
    let Some((p, amps)) = own.get(depth) else {
        *best = Some((sum, trial.clone()));
        return;
    };
    for pick in 0..runs.get(*p).map_or(0, |s| s.candidates.len()) {
        if let Some(slot) = trial.get_mut(depth) {
            *slot = pick;
        }
        let left = room - ohm(runs, *p, pick) * amps;
        descend(runs, own, depth + 1, left, sum + cost(runs, *p, pick), trial, best);
    }
}

/// What a way loses with these picks.
pub(super) fn volts(runs: &[Sized], way: &Way, picks: &[usize]) -> f64 {
    let of = |(p, amps): &(usize, f64)| picks.get(*p).map_or(0.0, |pick| ohm(runs, *p, *pick) * amps);
    way.fixed_v + way.runs.iter().map(of).sum::<f64>()
}

fn excess_of(runs: &[Sized], way: &Way, picks: &[usize]) -> f64 {
    (volts(runs, way, picks) - way.limit_v).max(0.0) / way.limit_v.max(1e-9)
}

/// What is searched step by step. Only the ways that a unit lies on are looked at again when it changes: a plan has as many ways
/// as loads, and a run but its own one.
struct Steps<'a> {
    runs: &'a [Sized],
    ways: &'a [Way],
    units: &'a [Vec<usize>],
    /// Of every unit the ways it lies on.
    on: Vec<Vec<&'a Way>>,
    /// Of every unit the others that lie on one of its ways.
    beside: Vec<Vec<usize>>,
}

impl<'a> Steps<'a> {
    fn of(runs: &'a [Sized], ways: &'a [Way], units: &'a [Vec<usize>]) -> Self {
        let mut unit_of = vec![0; runs.len()];
        for (u, p) in units.iter().enumerate().flat_map(|(u, unit)| unit.iter().map(move |p| (u, *p))) {
            if let Some(slot) = unit_of.get_mut(p) {
                *slot = u;
            }
        }
        let (mut on, mut beside) = (vec![Vec::new(); units.len()], vec![Vec::new(); units.len()]);
        for way in ways {
            let mut along: Vec<usize> = way.runs.iter().filter_map(|(p, _)| unit_of.get(*p)).copied().collect();
            along.sort_unstable();
            along.dedup();
            for u in &along {
                on.get_mut(*u).into_iter().for_each(|all: &mut Vec<&Way>| all.push(way));
                beside.get_mut(*u).into_iter().for_each(|all: &mut Vec<usize>| all.extend(&along));
            }
        }
        for (u, all) in beside.iter_mut().enumerate() {
            all.sort_unstable();
            all.dedup();
            all.retain(|other| *other != u);
        }
        Self { runs, ways, units, on, beside }
    }

    /// What the ways of a unit are over their limits.
    fn excess(&self, unit: usize, picks: &[usize]) -> f64 {
        self.on.get(unit).into_iter().flatten().map(|w| excess_of(self.runs, w, picks)).sum()
    }

    /// The unit, what it is picked as, and the picks after that.
    fn at(&self, unit: usize, picks: &[usize]) -> Option<(&'a Vec<usize>, usize, std::ops::Range<usize>)> {
        let of = self.units.get(unit)?;
        let pick = picked(picks, of)?;
        Some((of, pick, pick + 1..choices(self.runs, of)))
    }

    fn sum(&self, picks: &[usize]) -> f64 {
        let of = |unit: &Vec<usize>| picked(picks, unit).map_or(0.0, |pick| cost_of(self.runs, unit, pick));
        self.units.iter().map(of).sum()
    }

    fn greedy(&self) -> Option<Vec<usize>> {
        let mut picks = cheapest(self.runs, self.units);
        let most = self.runs.iter().map(|s| s.candidates.len()).sum::<usize>();
        for _ in 0..=most {
            if !self.ways.iter().any(|w| excess_of(self.runs, w, &picks) > 0.0) {
                self.trim(&mut picks, None);
                self.exchange(&mut picks);
                return Some(picks);
            }
            let (unit, next) = self.best_step(&mut picks)?;
            put(&mut picks, unit, next);
        }
        None
    }

    /// The step that takes most off what is too much, for its cost.
    fn best_step(&self, picks: &mut [usize]) -> Option<(&'a Vec<usize>, usize)> {
        let mut best: Option<(f64, &Vec<usize>, usize)> = None;
        for u in 0..self.units.len() {
            let Some((unit, pick, more)) = self.at(u, picks) else { continue };
            let now = self.excess(u, picks);
            if now <= 0.0 {
                continue;
            }
            for next in more {
                put(picks, unit, next);
                let gain = now - self.excess(u, picks);
                let worth = gain / (cost_of(self.runs, unit, next) - cost_of(self.runs, unit, pick)).max(1e-9);
                if gain > 0.0 && best.is_none_or(|b| worth > b.0) {
                    best = Some((worth, unit, next));
                }
            }
            put(picks, unit, pick);
        }
        best.map(|(_, unit, next)| (unit, next))
    }

    /// One unit thicker, and all that the limits do not need then of the others taken back, as long as that costs less.
    fn exchange(&self, picks: &mut Vec<usize>) {
        for _ in 0..MOST_EXCHANGES {
            let mut best = (self.sum(picks) * (1.0 - 1e-9), None);
            for u in 0..self.units.len() {
                let Some((unit, _, more)) = self.at(u, picks) else { continue };
                for next in more.take(MOST_THICKER) {
                    let mut trial = picks.clone();
                    put(&mut trial, unit, next);
                    if self.excess(u, &trial) > 0.0 {
                        continue;
                    }
                    self.trim(&mut trial, Some(u));
                    let cost = self.sum(&trial);
                    if cost < best.0 {
                        best = (cost, Some(trial));
                    }
                }
            }
            let Some(better) = best.1 else { return };
            *picks = better;
        }
    }

    /// Takes back every step that the limits do not need, the dearest first. `for_one`: what just got thicker; as the dearest it
    /// would be taken back before what it is to spare, and it spares nothing but what lies on its ways.
    fn trim(&self, picks: &mut [usize], for_one: Option<usize>) {
        let all: Vec<usize> = match for_one {
            Some(u) => self.beside.get(u).cloned().unwrap_or_default(),
            None => (0..self.units.len()).collect(),
        };
        let cost_now = |u: usize| self.at(u, picks).map_or(0.0, |(unit, pick, _)| cost_of(self.runs, unit, pick));
        let mut order: Vec<(f64, usize)> = all.into_iter().map(|u| (cost_now(u), u)).collect();
        order.arrange_by(|a, b| b.0.total_cmp(&a.0));
        for (_, u) in order {
            let Some((unit, had, _)) = self.at(u, picks) else { continue };
            for pick in 0..had {
                if cost_of(self.runs, unit, pick) < cost_of(self.runs, unit, had) {
                    put(picks, unit, pick);
                    if self.excess(u, picks) <= 0.0 {
                        break;
                    }
                    put(picks, unit, had);
                }
            }
        }
    }
}

fn picked(picks: &[usize], unit: &[usize]) -> Option<usize> {
    unit.first().and_then(|p| picks.get(*p)).copied()
}
