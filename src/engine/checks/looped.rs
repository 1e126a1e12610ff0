//! Places that several ways lead to. A fault in a run on a loop, or in a battery's own lead, is fed from both its ends, so each end is
//! held to what comes in there.

use crate::engine::Work;
use crate::engine::circuit::{Link, Role};
use crate::engine::finding::{Finding, Level};
use crate::engine::gather::Outcome;
use crate::engine::inflow::{
    Caps, Comes, comes_in, is_fed_by_several, is_fed_from_both, is_fused_at, is_meeting_end, is_over,
};
use crate::engine::protection::{Limits, wants_fuse};
use crate::plan::Run;

use super::place::{self, FAR, UNFUSED, allowed, hangs_on, is_bare};

/// What fuses are to be taken as there where a way lacks them: found once, and only where something is lacking.
pub(super) type Lacking = Option<Caps>;

pub(super) fn caps_of<'a>(w: &Work<'_>, lacking: &'a mut Lacking) -> &'a Caps {
    lacking.get_or_insert_with(|| caps(w))
}

/// Of every run what the fuse that it lacks at an end would let in there: what comes over it to others is theirs to stand only
/// as far as that.
fn caps(w: &Work<'_>) -> Caps {
    let of = |(i, (run, link)): (usize, (&Run, &Link))| {
        if !link.joined || !wants_fuse(w.context, i) {
            return [None; 2];
        }
        // What feeds from either end may lack one at either.
        let either = is_fed_from_both(w.context, i) || link.role == Role::BatteryLink;
        let proposed = w.report.runs.get(i).and_then(|r| r.proposed.as_ref()).map(|p| p.amps.0);
        let fitted_a = || proposed.or_else(|| allowed(w, i, run).ok().map(|l| l.most_a));
        [true, false].map(|from| {
            ((from == link.near_from || either) && is_stop(&place::end(w, i, run, link, from))).then(fitted_a).flatten()
        })
    };
    w.context.plan.runs.iter().zip(&w.context.circuit.links).enumerate().map(of).collect()
}

fn is_stop(outcome: &Outcome) -> bool {
    let lacks = |f: &Finding| f.level == Level::Stop && (f.check == &UNFUSED || f.check == &FAR);
    outcome.as_ref().is_ok_and(|f| f.as_ref().is_some_and(lacks))
}

/// What is said of the two ends of a run that is fed from both, first what is first to say. An end that lacks a fuse only for want of
/// one on another run goes unsaid where this run has its own at the other end, or lacks one there as well; in a battery's own lead
/// the fuse may be on another run of it.
pub(super) fn ends(w: &Work<'_>, i: usize, run: &Run, link: &Link, caps: &mut Lacking) -> (Outcome, Outcome) {
    let near = link.near_from;
    let mut both = [near, !near].map(|from| end(w, i, run, link, from));
    if !both.iter().any(is_stop) {
        return said(w, (i, run), both);
    }
    let caps = caps_of(w, caps);
    let own = [near, !near].map(|from| {
        let over = |limits: Limits| is_over(w.context, i, from, Some(caps), &limits);
        allowed(w, i, run).and_then(over) != Ok(false)
    });
    for (k, from) in [near, !near].into_iter().enumerate() {
        let other =
            is_fused_at(w.context, i, !from) || (w.context.circuit.own_way_of(i).is_some() && !is_stop(&both[1 - k]));
        if is_stop(&both[k]) && !own[k] && other {
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
    said(w, (i, run), both)
}

fn said(w: &Work<'_>, (i, run): (usize, &Run), [first, second]: [Outcome; 2]) -> (Outcome, Outcome) {
    match (first, second) {
        (Ok(Some(a)), Ok(Some(b))) => one_of_each(w, (i, run), a, b),
        (Ok(None), second) => (second, Ok(None)),
        both => both,
    }
}

/// The end of a run that is fed from that one alone. One that lacks a fuse only for want of one on another run goes unsaid.
pub(super) fn one_end(w: &Work<'_>, (i, run, link): (usize, &Run, &Link), from: bool, caps: &mut Lacking) -> Outcome {
    let found = place::end(w, i, run, link, from);
    if !is_stop(&found) || !is_fed_by_several(w.context, i) {
        return found;
    }
    let caps = caps_of(w, caps);
    let limits = allowed(w, i, run);
    let within = limits.and_then(|limits| is_over(w.context, i, from, Some(caps), &limits)) == Ok(false);
    if within { Ok(None) } else { found }
}

/// One end. A fuse that the other end needs is not said to sit too far from this one: this one has none. In a battery's own lead it is
/// the battery's end that needs it.
fn end(w: &Work<'_>, i: usize, run: &Run, link: &Link, from: bool) -> Outcome {
    let found = place::end(w, i, run, link, from)?;
    if !found.as_ref().is_some_and(|f| f.check == &FAR && f.level == Level::Stop) {
        return Ok(found);
    }
    let Some(far) = found else { return Ok(None) };
    let allows = allowed(w, i, run)?;
    let needed = match w.context.circuit.own_way_of(i) {
        Some(_) => is_meeting_end(w.context, i, from),
        None => is_fused_at(w.context, i, !from) && is_over(w.context, i, !from, None, &allows)?,
    };
    if needed { lacking(w, (i, run), from, far.name(1)) } else { Ok(Some(far)) }
}

fn lacking(w: &Work<'_>, (i, run): (usize, &Run), from: bool, end: &str) -> Outcome {
    let allows = allowed(w, i, run)?;
    Ok(match comes_in(w.context, i, from, None, Some(allows.most_a))? {
        Comes::Behind(ahead) => Some(place::over(w, (i, run), &ahead, &allows, from)),
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
