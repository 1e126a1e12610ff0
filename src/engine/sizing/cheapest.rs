//! The cheapest choice of one candidate for every run under the limits of all ways.
//!
//! Runs that several ways share are tried in all combinations; what is left then falls apart into single ways, each
//! solved on its own. Where that would be too many, the best step at a time is taken and then taken back where it was
//! not needed.

use super::wire::{Candidate, Sized};

/// Most combinations of shared runs that are tried.
const MOST_COMBINATIONS: usize = 20_000;

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
    /// What it may lose by this reckoning.
    pub(super) limit_v: f64,
    /// Whether its target is within reach, and all that it loses known.
    pub(super) binds: bool,
}

/// Index of the chosen candidate of every run; none where some limit cannot be held.
pub(super) fn solve(runs: &[Sized], ways: &[Way]) -> Option<Vec<usize>> {
    let mut on = vec![0_usize; runs.len()];
    for (p, _) in ways.iter().flat_map(|w| &w.runs) {
        if let Some(n) = on.get_mut(*p) {
            *n += 1;
        }
    }
    let shared: Vec<usize> = on.iter().enumerate().filter(|(_, n)| **n > 1).map(|(p, _)| p).collect();
    let combinations = shared.iter().filter_map(|p| runs.get(*p)).map(|s| s.candidates.len());
    let combinations = combinations.fold(1_usize, usize::saturating_mul);
    if combinations > MOST_COMBINATIONS { greedy(runs, ways) } else { exact(runs, ways, &shared, combinations) }
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

/// The cheapest candidate of a run.
fn cheapest_of(runs: &[Sized], p: usize) -> usize {
    let n = runs.get(p).map_or(0, |s| s.candidates.len());
    (0..n).min_by(|a, b| cost(runs, p, *a).total_cmp(&cost(runs, p, *b))).unwrap_or(0)
}

fn exact(runs: &[Sized], ways: &[Way], shared: &[usize], combinations: usize) -> Option<Vec<usize>> {
    let base: Vec<usize> = (0..runs.len()).map(|p| cheapest_of(runs, p)).collect();
    let mut best: Option<(f64, Vec<usize>)> = None;
    for n in 0..combinations {
        let mut picks = base.clone();
        let (mut rest, mut sum) = (n, 0.0);
        for p in shared {
            let len = runs.get(*p).map_or(1, |s| s.candidates.len().max(1));
            if let Some(slot) = picks.get_mut(*p) {
                *slot = rest % len;
                sum += cost(runs, *p, *slot);
            }
            rest /= len;
        }
        let mut held = true;
        for way in ways {
            let most = best.as_ref().map_or(f64::MAX, |b| b.0);
            match single(runs, way, shared, &mut picks) {
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

fn excess(runs: &[Sized], ways: &[Way], picks: &[usize]) -> f64 {
    ways.iter().map(|w| (volts(runs, w, picks) - w.limit_v).max(0.0) / w.limit_v.max(1e-9)).sum()
}

fn greedy(runs: &[Sized], ways: &[Way]) -> Option<Vec<usize>> {
    let mut picks: Vec<usize> = (0..runs.len()).map(|p| cheapest_of(runs, p)).collect();
    let most = runs.iter().map(|s| s.candidates.len()).sum::<usize>();
    for _ in 0..=most {
        let now = excess(runs, ways, &picks);
        if now <= 0.0 {
            trim(runs, ways, &mut picks);
            return Some(picks);
        }
        let mut best: Option<(f64, usize, usize)> = None;
        for p in 0..runs.len() {
            let Some(pick) = picks.get(p).copied() else { continue };
            for next in pick + 1..runs.get(p).map_or(0, |s| s.candidates.len()) {
                let mut trial = picks.clone();
                if let Some(slot) = trial.get_mut(p) {
                    *slot = next;
                }
                let gain = now - excess(runs, ways, &trial);
                let worth = gain / (cost(runs, p, next) - cost(runs, p, pick)).max(1e-9);
                if gain > 0.0 && best.is_none_or(|b| worth > b.0) {
                    best = Some((worth, p, next));
                }
            }
        }
        let (_, p, next) = best?;
        if let Some(slot) = picks.get_mut(p) {
            *slot = next;
        }
    }
    None
}

/// Takes back every step that the limits do not need, the dearest first.
fn trim(runs: &[Sized], ways: &[Way], picks: &mut [usize]) {
    let mut order: Vec<usize> = (0..runs.len()).collect();
    order.sort_by(|a, b| {
        let of = |p: usize| picks.get(p).map_or(0.0, |pick| cost(runs, p, *pick));
        of(*b).total_cmp(&of(*a))
    });
    for p in order {
        let Some(had) = picks.get(p).copied() else { continue };
        for pick in 0..had {
            let cheaper = cost(runs, p, pick) < cost(runs, p, had);
            if let (true, Some(slot)) = (cheaper, picks.get_mut(p)) {
                *slot = pick;
            }
            if cheaper && excess(runs, ways, picks) <= 0.0 {
                break;
            }
            if let Some(slot) = picks.get_mut(p) {
                *slot = had;
            }
        }
    }
}
