//! Runs that lie on loops of positives: a fault in one is fed from both its ends, so each end is held to what comes in there.

use crate::engine::Work;
use crate::engine::circuit::Link;
use crate::engine::finding::{Finding, Level};
use crate::engine::gather::Outcome;
use crate::engine::inflow::{self, Comes, comes_in, is_fused_at, is_on_loop};
use crate::engine::protection::wants_fuse;
use crate::plan::Run;

use super::place::{self, FAR, UNFUSED, allowed, hangs_on, is_bare};

/// Of every run what the fuse that it lacks at an end would let in there: what comes over it to others is theirs to stand only
/// as far as that.
pub(super) fn caps(w: &Work<'_>) -> Vec<[Option<f64>; 2]> {
    let of = |(i, (run, link)): (usize, (&Run, &Link))| {
        if !link.joined || !wants_fuse(w.context, i) {
            return [None; 2];
        }
        let proposed = w.report.runs.get(i).and_then(|r| r.proposed.as_ref()).map(|p| p.amps.0);
        let fitted_a = || proposed.or_else(|| allowed(w, i, run).ok().map(|l| l.most_a));
        [true, false].map(|from| {
            let counts = from == link.near_from || is_on_loop(w.context, i);
            (counts && is_stop(&place::end(w, i, run, link, from))).then(fitted_a).flatten()
        })
    };
    w.context.plan.runs.iter().zip(&w.context.circuit.links).enumerate().map(of).collect()
}

fn is_stop(outcome: &Outcome) -> bool {
    let lacks = |f: &Finding| f.level == Level::Stop && (f.check == &UNFUSED || f.check == &FAR);
    outcome.as_ref().is_ok_and(|f| f.as_ref().is_some_and(lacks))
}

/// What is said of the two ends of a run on a loop, first what is first to say. An end that lacks a fuse only for want of one on
/// another run goes unsaid where this run has its own at the other end, or lacks one there as well.
pub(super) fn ends(w: &Work<'_>, i: usize, run: &Run, link: &Link, caps: &inflow::Caps) -> (Outcome, Outcome) {
    let near = link.near_from;
    let mut both = [near, !near].map(|from| end(w, i, run, link, from));
    let own = [near, !near].map(|from| {
        let most = allowed(w, i, run).map(|l| l.most_a);
        let within = |comes: Comes| most.is_ok_and(|most| !comes.is_over(most));
        !comes_in(w.context, i, from, Some(caps)).is_ok_and(within)
    });
    for (k, from) in [near, !near].into_iter().enumerate() {
        if is_stop(&both[k]) && !own[k] && is_fused_at(w.context, i, !from) {
            both[k] = Ok(None);
        }
    }
    let hung = |outcome: &Outcome| is_stop(outcome) && hangs_on(w, i).is_some();
    match (is_stop(&both[0]) && own[0], is_stop(&both[1]) && own[1]) {
        (true, true) => {}
        (true, false) if is_stop(&both[1]) => both[1] = Ok(None),
        (false, true) if is_stop(&both[0]) => both[0] = Ok(None),
        // Said at the first run from the bank.
        (false, false) if hung(&both[0]) || hung(&both[1]) => {
            both = both.map(|o| if is_stop(&o) { Ok(None) } else { o });
        }
        (false, false) if is_stop(&both[0]) && is_stop(&both[1]) => both[1] = Ok(None),
        _ => {}
    }
    let [first, second] = both;
    match (first, second) {
        (Ok(Some(a)), Ok(Some(b))) => one_of_each(w, (i, run), a, b),
        (Ok(None), second) => (second, Ok(None)),
        both => both,
    }
}

/// One end. A fuse that the other end needs is not said to sit too far from this one: this one has none.
fn end(w: &Work<'_>, i: usize, run: &Run, link: &Link, from: bool) -> Outcome {
    let found = place::end(w, i, run, link, from)?;
    if !found.as_ref().is_some_and(|f| f.check == &FAR && f.level == Level::Stop) {
        return Ok(found);
    }
    let Some(far) = found else { return Ok(None) };
    let allows = allowed(w, i, run)?;
    let needed = is_fused_at(w.context, i, !from) && comes_in(w.context, i, !from, None)?.is_over(allows.most_a);
    if needed { lacking(w, (i, run), from, far.name(1)) } else { Ok(Some(far)) }
}

fn lacking(w: &Work<'_>, (i, run): (usize, &Run), from: bool, end: &str) -> Outcome {
    Ok(match comes_in(w.context, i, from, None)? {
        Comes::Behind(ahead) => Some(place::over(w, (i, run), ahead.amps, &allowed(w, i, run)?, end.to_string())),
        _ => Some(place::unfused(w, run, &[], end.to_string())),
    })
}

/// Two findings on one run as one of each kind.
fn one_of_each(w: &Work<'_>, (i, run): (usize, &Run), a: Finding, b: Finding) -> (Outcome, Outcome) {
    if a.check != b.check {
        return (Ok(Some(a)), Ok(Some(b)));
    }
    match (a.check == &UNFUSED, a.level == Level::Stop && b.level == Level::Stop) {
        (true, true) => (Ok(Some(as_one(a, b))), Ok(None)),
        // One fuse sits too far from both ends: it serves one, the other has none.
        (false, true) => {
            let from = run.from.known().is_some_and(|id| id.as_str() == b.name(1));
            (Ok(Some(a)), lacking(w, (i, run), from, b.name(1)))
        }
        _ if b.level < a.level => (Ok(Some(b)), Ok(None)),
        _ => (Ok(Some(a)), Ok(None)),
    }
}

/// Both ends without a fuse: what has nothing ahead of it first, then what has more.
fn as_one(a: Finding, b: Finding) -> Finding {
    let b_first = !is_bare(&a) && (is_bare(&b) || b.n(0) > a.n(0));
    let (mut first, second) = if b_first { (b, a) } else { (a, b) };
    if is_bare(&first) {
        place::add(&mut first, &format!(" and none at {}", second.name(1)));
        return first;
    }
    first.numbers.resize(3, 0.0);
    first.numbers.push(second.n(0));
    if let Some(other) = first.names.get_mut(2) {
        *other = second.name(1).to_string();
    }
    first
}
