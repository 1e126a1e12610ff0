//! Wire without a fuse of its own that ends, short of the limit, where every way on has one: the distance along the conductor goes on
//! through studs, buses, fuse blocks and closed switches.

use crate::engine::Work;
use crate::engine::circuit::{Link, Node, Role, device_kind, name_of};
use crate::engine::finding::Finding;
use crate::engine::inflow::breaker_a;
use crate::engine::protection::{Limits, distance_limits, wants_fuse};
use crate::engine::resistance::{fuse_distance_m, fuses, length_m};
use crate::plan::{DeviceKind, Run};

use super::place::{allowed, fused_beyond, is_bare};

/// What stands beyond a run that has no fuse.
#[derive(Debug)]
struct Onward {
    /// Wire from the source to the furthest of the fuses, m.
    metres: f64,
    /// What they let through together.
    amps: f64,
    /// The runs that they are on, and breakers.
    names: Vec<String>,
    /// Whether the run begins at the source; else it is told of the run ahead of it.
    is_first: bool,
}

/// Runs walked through at most. Source: our own choice; 18 in of wire has few joints.
const MOST_RUNS: usize = 12;

/// What is found of a run in place of its missing fuse where every way on has one near enough: nothing, or how far the furthest sits.
pub(super) fn instead(w: &Work<'_>, (i, run, link): (usize, &Run, &Link), found: Finding) -> Option<Finding> {
    let (silent_m, most_m) = distance_limits(w.context, i, run);
    let ahead_a = if is_bare(&found) { f64::MAX } else { found.n(0) };
    let limits = allowed(w, i, run).ok();
    let Some((limits, onward)) = limits.and_then(|l| Some((l, fused(w, i, ahead_a, most_m, &l)?))) else {
        return Some(found);
    };
    if !onward.is_first || onward.metres <= silent_m + 1e-6 {
        return None;
    }
    let on = match onward.names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    };
    Some(fused_beyond(w, (run, link), &[onward.metres, most_m, silent_m, onward.amps, limits.most_a], &on))
}

/// The fuses on every way on from a run, where all of them sit within so much wire of its source and let no more through together
/// than it carries; none where a way has none, or something on it is not known.
///
/// Source: NEC 552.10(E)(4): the distance along the conductor from the source of supply; 240.4 for what they let through.
fn fused(w: &Work<'_>, i: usize, ahead_a: f64, most_m: f64, limits: &Limits) -> Option<Onward> {
    let link = w.context.circuit.links.get(i)?;
    let before = bare_ahead(w, link, ahead_a);
    let own = before.iter().chain([&i]);
    let to_end_m = own.map(|j| length_m(w.context.plan.runs.get(*j)?).ok()).try_fold(0.0, |all, m| Some(all + m?))?;
    let mut found = Onward { metres: 0.0, amps: 0.0, names: Vec::new(), is_first: before.is_empty() };
    let mut seen = before;
    seen.push(i);
    walk(w, link.far()?, to_end_m, most_m, &mut seen, &mut found)?;
    (found.amps > 0.0 && found.amps <= limits.most_a + 1e-9).then_some(found)
}

/// The runs straight ahead of one that have no fuse either and carry less than what is ahead of them, the nearest last.
fn bare_ahead(w: &Work<'_>, link: &Link, ahead_a: f64) -> Vec<usize> {
    let bare = |i: &&usize| {
        let Some(run) = w.context.plan.runs.get(**i) else { return false };
        let carries = allowed(w, **i, run).is_ok_and(|l| ahead_a <= l.most_a + 1e-9);
        fuses(run).next().is_none() && !carries
    };
    let mut all: Vec<usize> = link.upstream.iter().rev().take_while(bare).copied().collect();
    all.reverse();
    all
}

/// Every way on from a place that so much wire leads to.
fn walk(w: &Work<'_>, at: Node, metres: f64, most_m: f64, seen: &mut Vec<usize>, found: &mut Onward) -> Option<()> {
    use DeviceKind::{Bus, FusePanel, Splice, Switch};
    if metres > most_m + 1e-6 || seen.len() > MOST_RUNS {
        return None;
    }
    if let Some(amps) = breaker_a(w.context, Some(at)) {
        return take(found, metres, amps.ok()?, name_of(w.context.plan, at));
    }
    if !matches!(device_kind(w.context.plan, at), Some(Bus | FusePanel | Splice | Switch)) {
        return None;
    }
    let next: Vec<usize> = w.context.circuit.at(at).iter().filter(|i| !seen.contains(i)).copied().collect();
    if next.is_empty() {
        return None;
    }
    for i in next {
        let (run, link) = (w.context.plan.runs.get(i)?, w.context.circuit.links.get(i)?);
        if !link.joined || link.looped || !wants_fuse(w.context, i) || link.role == Role::Open {
            return None;
        }
        seen.push(i);
        let from = link.from == Some(at);
        match nearest(run, from) {
            Some((m, amps)) if metres + m <= most_m + 1e-6 => take(found, metres + m, amps?, run.id.to_string())?,
            Some(_) => return None,
            None => {
                let far = if from { link.to } else { link.from }?;
                walk(w, far, metres + length_m(run).ok()?, most_m, seen, found)?;
            }
        }
    }
    Some(())
}

/// The fuse on a run that is nearest to one of its ends, with its rating where that is known.
fn nearest(run: &Run, from: bool) -> Option<(f64, Option<f64>)> {
    let all = fuses(run).map(|f| {
        let amps = f.amps_a.known().map(|a| a.0);
        (fuse_distance_m(run, from, f).unwrap_or(f64::MAX), amps)
    });
    all.min_by(|a, b| a.0.total_cmp(&b.0))
}

fn take(found: &mut Onward, metres: f64, amps: f64, name: String) -> Option<()> {
    found.metres = found.metres.max(metres);
    found.amps += amps;
    found.names.push(name);
    Some(())
}
