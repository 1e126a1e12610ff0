//! Where fuses sit: at the end that faces the stronger source, near it.

use crate::engine::Work;
use crate::engine::circuit::{Link, Node, Role, device_kind, is_start};
use crate::engine::context::at;
use crate::engine::converted;
use crate::engine::currents::converter_ahead;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::inflow::{
    self, Ahead, Comes, TOGETHER, breaker_a, breaker_name, comes_in, is_fed_from_both, is_meeting_end, on_run, stands,
};
use crate::engine::protection::{self, Bound, Limits, distance_limits, distance_limits_at, wants_fuse};
use crate::engine::resistance::{fuse_distance_m, fuses, length_m};
use crate::engine::runs::{end_names, path_of};
use crate::plan::{DeviceKind, Known, Missing, Run};
use crate::standards::cited::FUSE_PLACE;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::{apart, rated};
use super::fuses::{AHEAD, rated_push_a, rounded};
use super::{leads, looped, onward};

pub(super) static UNFUSED: Check = Check {
    id: "source-end-unfused",
    safety: true,
    say: |f| {
        if f.n(0) > 0.0 {
            let (amps, allows) = (rated(f.n(0)), apart(f.n(0), f.n(1), 0).1);
            let by = |who: &str| if who.is_empty() { "it allows".to_string() } else { format!("that {who} allows") };
            let end = format!("{} has no fuse at {}", f.name(0), f.name(1));
            let amps =
                if f.name(5).ends_with(TOGETHER) { format!("{amps} A ({})", f.name(5)) } else { format!("{amps} A") };
            if !f.name(2).is_empty() {
                let (one, other) = (f.name(1), f.name(2));
                let at = format!("{amps} ahead of {one} and {} A ahead of {other}", rated(f.n(3)));
                return format!("{end} and none at {other}: {at} are above the {allows} A {}", by(f.name(4)));
            }
            match f.name(3) {
                "" => format!("{end}, and the {amps} ahead of it is above the {allows} A {}", by(f.name(4))),
                source if f.n(2) > 0.0 => {
                    format!(
                        "{end}; {source} can give {amps} behind the {} A ahead of it, above the {allows} A {}",
                        rated(f.n(2)),
                        by(f.name(4))
                    )
                }
                source => {
                    format!(
                        "{end}; {source} can give {amps}, above the {allows} A {}, and no fuse ahead of {source} limits that",
                        by(f.name(4))
                    )
                }
            }
        } else {
            format!("{} has no fuse at {}{}", f.name(0), f.name(1), f.name(2))
        }
    },
};

pub(super) static FAR: Check = Check {
    id: "fuse-far-from-source",
    safety: true,
    say: |f| {
        let (sits, most) = apart(f.n(0), f.n(1), 2);
        let near = match f.level {
            Level::Note => format!("over {:.2} m but ", f.n(2)),
            _ => String::new(),
        };
        format!("{}: {}its fuse sits {sits} m of wire from {}, {near}at most {most} m", f.name(0), f.name(2), f.name(1))
    },
};
static CHARGER_END: Check = Check {
    id: "charger-end-unfused",
    safety: true,
    say: |f| {
        let (pushes, carries) = apart(f.n(0), f.n(1), 1);
        format!(
            "{}: what feeds it can push {pushes} A, above the {carries} A of its conductor, and its end at {} has no fuse",
            f.name(0),
            f.name(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let mut caps = None;
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let Some(link) = w.context.circuit.links.get(i) else { continue };
        let path = || path_of(run);
        // A lead at a shunt may be of the negative side, where no fuse is wanted: its other end tells.
        let open = [("from", &run.from), ("to", &run.to)].into_iter().find(|(_, end)| **end == Known::Unknown);
        if let (Role::Sense, None, Some((end, _))) = (link.role, link.near(), open) {
            out.take(&UNFUSED, path, Err(Missing(at("runs", &run.id, end))));
        }
        if !link.joined || !wants_fuse(w.context, i) {
            continue;
        }
        let from_both = is_fed_from_both(w.context, i);
        let mut near = if from_both {
            let (near, other) = looped::ends(w, i, run, link, &mut caps);
            out.take(&UNFUSED, path, other);
            near
        } else {
            looped::one_end(w, (i, run, link), link.near_from, &mut caps)
        };
        if link.role == Role::BatteryLink && !from_both {
            let other = looped::one_end(w, (i, run, link), !link.near_from, &mut caps);
            match (bare(&mut near), other) {
                // A link without any fuse lacks one at each of its batteries: one thing to say.
                (Some(first), Ok(Some(second))) if is_bare(&second) => {
                    add(first, &format!(" and none at {}", second.name(1)))
                }
                (_, other) => out.take(&UNFUSED, path, other),
            }
        }
        if matches!(link.role, Role::ControllerOutput | Role::ChargerOutput) {
            let charger = charger_end(w, i, run, link);
            match (bare(&mut near).filter(|_| fuses(run).next().is_none()), charger) {
                (Some(first), Ok(Some(second))) => {
                    let (pushes, carries) = apart(second.n(0), second.n(1), 1);
                    let end = second.name(1);
                    add(
                        first,
                        &format!(" and none at {end}, where {pushes} A can be pushed into the {carries} A it carries"),
                    );
                }
                (_, charger) => out.take(&CHARGER_END, path, charger),
            }
        }
        if let Some(first) = bare(&mut near) {
            let behind: Vec<&str> = (0..w.context.plan.runs.len())
                .filter(|j| hangs_on(w, *j) == Some(i))
                .filter_map(|j| w.context.plan.runs.get(j).map(|r| r.id.as_str()))
                .collect();
            if let Some((last, rest)) = behind.split_last() {
                let all = if rest.is_empty() { (*last).to_string() } else { format!("{} and {last}", rest.join(", ")) };
                add(first, &format!("; nothing protects {all} behind it either"));
            }
            // Without a gauge no rating can be chosen.
            if run.gauge.known().is_none() && fuses(run).next().is_none() {
                add(first, "; which fuse fits waits for its gauge");
            }
        }
        out.take(&UNFUSED, path, near);
    }
    leads::all(w, out, &mut caps);
}

/// Whether a finding says that an end has no fuse and nothing is ahead of it.
pub(super) fn is_bare(finding: &Finding) -> bool {
    finding.check == &UNFUSED && finding.numbers.is_empty()
}

fn bare(outcome: &mut Outcome) -> Option<&mut Finding> {
    outcome.as_mut().ok().and_then(Option::as_mut).filter(|f| is_bare(f))
}

/// A further consequence of the same missing fuse.
pub(super) fn add(finding: &mut Finding, what: &str) {
    if let Some(more) = finding.names.get_mut(2) {
        more.push_str(what);
    }
}

/// The first run from the bank, where that one's missing fuse is all that a run lacks: nothing on it, nothing ahead of
/// it, and the fuse that would be fitted to the first is one that it allows.
pub(super) fn hangs_on(w: &Work<'_>, i: usize) -> Option<usize> {
    let (run, link) = (w.context.plan.runs.get(i)?, w.context.circuit.links.get(i)?);
    let first = *link.upstream.first()?;
    let main = w.context.circuit.links.get(first)?;
    let bare = |i: usize, run: &Run, link: &Link| {
        let far = if link.near_from { link.to } else { link.from };
        wants_fuse(w.context, i)
            && fuses(run).next().is_none()
            && breaker_a(w.context, far).is_none()
            && matches!(ahead_at(w, i, link, link.near_from), Ok(Comes::Free))
            && converter_ahead(w.context, i).is_none()
    };
    if first == i || !bare(i, run, link) || !bare(first, w.context.plan.runs.get(first)?, main) {
        return None;
    }
    let least_a = w.found.get(first)?.limits.as_ref().ok()?.least_a;
    // The fuse that would be fitted there is at least that large.
    let fitted_a =
        w.report.runs.get(first).and_then(|r| r.proposed.as_ref()).map_or(least_a, |p| p.amps.0.max(least_a));
    // Batteries on leads of their own get one each, and feed what lies behind by all of them.
    let each = w.context.circuit.own_way_of(first).map_or(1, |_| w.context.circuit.own_ways.len());
    allowed(w, i, run).is_ok_and(|l| fitted_a * each as f64 <= l.most_a + 1e-9).then_some(first)
}

/// The smallest protective rating on the only way from the source to one end of a run; none where there is nothing. At the far end
/// of a link between two batteries the source is the other one.
fn ahead_of(w: &Work<'_>, i: usize, near: bool) -> Result<Option<Ahead>, Missing> {
    let Some(link) = w.context.circuit.links.get(i) else { return Ok(None) };
    let mut least: Option<Ahead> = None;
    let mut take = |amps: f64, name: String| {
        if least.as_ref().is_none_or(|l| amps < l.amps) {
            least = Some(Ahead { amps, name });
        }
    };
    let (end, runs) = if near { (link.near(), link.upstream.as_slice()) } else { (link.far(), link.beyond.as_slice()) };
    // What the bank does not feed hangs on a start battery.
    let by_bank = link.role != Role::LoadBranch && link.role != Role::PanelFeed
        || link.near() == Some(Node::Bank)
        || !link.upstream.is_empty();
    let by_start = if near && !by_bank { w.context.circuit.from_start(w.context.plan, i) } else { Vec::new() };
    let runs = if by_start.is_empty() { runs } else { by_start.as_slice() };
    let runs = if near { converter_ahead(w.context, i).map_or(runs, |(_, behind)| behind) } else { runs };
    if let Some(amps) = breaker_a(w.context, end) {
        take(amps?, breaker_name(w.context, end));
    }
    for (amps, name) in runs.iter().flat_map(|i| on_run(w.context, *i, near)) {
        take(amps?, name);
    }
    Ok(least)
}

/// What a fuse ahead of a run is held to, whether or not the run's own current is known.
pub(super) fn allowed(w: &Work<'_>, i: usize, run: &Run) -> Result<Limits, Missing> {
    let found = w.found.get(i).ok_or_else(|| Missing("".into()))?;
    if let Ok(limits) = &found.limits {
        return Ok(*limits);
    }
    let carries = found.capacity.as_ref().map_err(Clone::clone)?.weakest.amps;
    protection::limits(w.context, i, run, carries, 0.0)
}

/// A converter limits what it gives, as panels do: conductors that carry that, into what its instructions allow ahead of
/// it, want no fuse of their own.
fn carries_converter(limits: &Limits) -> f64 {
    limits.ampacity_a.min(limits.device_a.unwrap_or(f64::MAX))
}

/// What is ahead of one end of a run: over all ways that lead there, where there are several, else over the only one.
fn ahead_at(w: &Work<'_>, i: usize, link: &Link, near_from: bool) -> Result<Comes, Missing> {
    let near = near_from == link.near_from;
    let several = || (near || link.role == Role::BatteryLink) && inflow::is_fed_by_several(w.context, i);
    if is_fed_from_both(w.context, i) || several() {
        let allows = w.context.plan.runs.get(i).and_then(|run| allowed(w, i, run).ok());
        let allows_a = allows.map(|limits| stands(w.context, i, near_from, &limits).most_a);
        return comes_in(w.context, i, near_from, None, allows_a);
    }
    Ok(ahead_of(w, i, near)?.map_or(Comes::Free, Comes::Behind))
}

/// Wire from an end of a run to what protects it next, and what that waits for.
pub(super) fn nearest_m(w: &Work<'_>, run: &Run, link: &Link, near_from: bool) -> (Option<f64>, Option<Missing>) {
    let mut nearest: Option<f64> = None;
    let mut unknown = None;
    let far = if near_from { link.to } else { link.from };
    if breaker_a(w.context, far).is_some() {
        match length_m(run) {
            Ok(m) => nearest = Some(m),
            Err(missing) => unknown = Some(missing),
        }
    }
    for fuse in fuses(run) {
        match fuse_distance_m(run, near_from, fuse) {
            Ok(m) => nearest = Some(nearest.map_or(m, |n| n.min(m))),
            Err(missing) => unknown = Some(missing),
        }
    }
    (nearest, unknown)
}

/// One end of a run: fused near enough, protected by what is ahead of it, or by what stands near enough on every way on.
pub(super) fn end(w: &Work<'_>, i: usize, run: &Run, link: &Link, near_from: bool) -> Outcome {
    let found = own_end(w, i, run, link, near_from)?;
    let alone = near_from == link.near_from && !is_fed_from_both(w.context, i) && fuses(run).next().is_none();
    match found {
        Some(found) if found.check == &UNFUSED && alone => Ok(onward::instead(w, (i, run, link), found)),
        found => Ok(found),
    }
}

fn own_end(w: &Work<'_>, i: usize, run: &Run, link: &Link, near_from: bool) -> Outcome {
    // What a vehicle has behind its connector is its own, and not drawn.
    let own = if near_from { link.from } else { link.to };
    if own.is_some_and(|n| device_kind(w.context.plan, n) == Some(DeviceKind::Tow) && is_start(w.context.plan, n)) {
        return Ok(None);
    }
    let from_both = is_fed_from_both(w.context, i);
    let ends = if from_both { own } else { link.near() };
    let (silent_m, most_m) = distance_limits_at(w.context, run, ends);
    let (nearest, unknown) = nearest_m(w, run, link, near_from);
    let name = |from: bool| if from { end_names(run).0 } else { end_names(run).1 };
    let far_finding = |level, metres: f64| {
        Finding::new(&FAR, level, path_of(run), &[metres, most_m, silent_m], FUSE_PLACE.of(w.context.rules.basis))
            .named([run.id.to_string(), name(near_from), String::new()])
    };
    // Of a battery's own lead it is the fuse at the battery that lies so near to where all meet.
    let enough_m = if is_meeting_end(w.context, i, near_from) { most_m } else { silent_m };
    if let Some(m) = nearest
        && m <= enough_m + 1e-6
    {
        return Ok(None);
    }
    let allowed = allowed(w, i, run);
    let ahead = match ahead_at(w, i, link, near_from) {
        Ok(Comes::Nothing) => return Ok(None),
        Ok(Comes::Free) => Ok(None),
        Ok(Comes::Behind(ahead)) => Ok(Some(ahead)),
        Err(missing) => Err(missing),
    };
    let gives = converted::gives(w.context, i, allowed.as_ref().ok().map(carries_converter))
        .filter(|_| from_both || near_from == link.near_from);
    if let Some(Ok(gives)) = &gives
        && allowed.as_ref().is_ok_and(|l| gives.amps <= carries_converter(l) + 1e-9)
    {
        return Ok(None);
    }
    let stands = allowed.as_ref().ok().map(|l| stands(w.context, i, near_from, l));
    match (nearest, unknown, ahead) {
        // Anything downstream of a fuse that already protects it is silent; a fuse that does so only by the rule of the
        // next rating up says that rule.
        (_, _, Ok(Some(ahead))) if stands.is_some_and(|s| ahead.amps <= s.most_a + 1e-9) => {
            // One of its own that is as large says so itself.
            let own = fuses(run).any(|f| f.amps_a.known().is_some_and(|a| a.0 >= ahead.amps - 1e-9));
            let within = |l: &Limits| ahead.amps > l.strict_a + 1e-9 && ahead.amps <= l.most_a + 1e-9;
            let up = allowed.ok().filter(|l| !own && within(l));
            Ok(up.map(|l| rounded(w, run, [ahead.amps, l.ampacity_a], &ahead.name, AHEAD)))
        }
        (Some(m), _, _) if m <= most_m + 1e-6 => Ok(Some(far_finding(Level::Note, m))),
        // One ahead whose rating nobody has entered may protect it.
        (_, Some(missing), _) | (Some(_), None, Err(missing)) => Err(missing),
        (Some(m), None, Ok(ahead)) => {
            let mut found = far_finding(Level::Stop, m);
            if let (Some(ahead), Some(stands), Some(said)) = (ahead, stands, found.names.get_mut(2)) {
                let (amps, allows) = (rated(ahead.amps), apart(ahead.amps, stands.carries_a, 0).1);
                *said = format!("the {amps} A ahead of it is above the {allows} A it allows, and ");
            }
            Ok(Some(found))
        }
        (None, None, Err(missing)) => Err(missing),
        (None, None, Ok(Some(ahead))) => {
            let allowed = allowed?;
            Ok(Some(over(w, (i, run), &ahead, &allowed, near_from)))
        }
        (None, None, Ok(None)) if gives.is_some() => {
            let (Some(gives), allowed) = (gives, allowed?) else { return Ok(None) };
            let gives = gives?;
            let numbers = [gives.amps, carries_converter(&allowed), gives.fuse_a];
            let device =
                (allowed.bound() == Bound::Device).then(|| protection::device_ahead_of(w.context, i)).flatten();
            let found = unfused(w, run, &numbers, name(near_from));
            Ok(Some(further(found, [gives.name.to_string(), device.unwrap_or_default(), String::new()])))
        }
        // Said once, at the first run from the bank.
        (None, None, Ok(None)) if !from_both && near_from == link.near_from && hangs_on(w, i).is_some() => Ok(None),
        (None, None, Ok(None)) => Ok(Some(unfused(w, run, &[], name(near_from)))),
    }
}

/// That the furthest fuse on the ways on from a run sits so far from its source.
pub(super) fn fused_beyond(w: &Work<'_>, (run, link): (&Run, &Link), numbers: &[f64], on: &str) -> Finding {
    let ends = end_names(run);
    let (near, far) = if link.near_from { (ends.0, ends.1) } else { (ends.1, ends.0) };
    let said = format!("fused on {on} beyond {far}: ");
    Finding::new(&FAR, Level::Note, path_of(run), numbers, FUSE_PLACE.of(w.context.rules.basis)).named([
        run.id.to_string(),
        near,
        said,
        on.to_string(),
    ])
}

/// That an end has no fuse and more than its run allows is ahead of it.
pub(super) fn over(w: &Work<'_>, (i, run): (usize, &Run), ahead: &Ahead, allowed: &Limits, from: bool) -> Finding {
    let (own, other) = end_names(run);
    let carries_a = stands(w.context, i, from, allowed).carries_a;
    let found = unfused(w, run, &[ahead.amps, carries_a], if from { own } else { other });
    let found = if is_meeting_end(w.context, i, from) { found.by_rules(super::judged::TAP) } else { found };
    let by_device = carries_a <= allowed.most_a + 1e-9 && allowed.bound() == Bound::Device;
    let device = by_device.then(|| protection::device_ahead_of(w.context, i)).flatten();
    further(found, [String::new(), device.unwrap_or_default(), ahead.name.clone()])
}

/// With what gives what is ahead, whose instructions set the limit, and the fuses ahead.
fn further(mut found: Finding, names: [String; 3]) -> Finding {
    found.names.extend(names);
    found
}

pub(super) fn unfused(w: &Work<'_>, run: &Run, numbers: &[f64], end: String) -> Finding {
    Finding::new(&UNFUSED, Level::Stop, path_of(run), numbers, FUSE_PLACE.of(w.context.rules.basis)).named([
        run.id.to_string(),
        end,
        String::new(),
    ])
}

/// A charger that can exceed its conductor needs a fuse at its own end too.
fn charger_end(w: &Work<'_>, i: usize, run: &Run, link: &Link) -> Outcome {
    let Some(f) = w.found.get(i) else { return Ok(None) };
    let carries = f.capacity.as_ref().map_err(Clone::clone)?.weakest.amps;
    let pushes = rated_push_a(w, &link.away)?;
    if pushes <= carries + 1e-9 {
        return Ok(None);
    }
    let (_, most_m) = distance_limits(w.context, i, run);
    for fuse in fuses(run) {
        if fuse_distance_m(run, !link.near_from, fuse)? <= most_m + 1e-6 {
            return Ok(None);
        }
    }
    let (from, to) = end_names(run);
    let end = if link.near_from { to } else { from };
    Ok(Some(
        Finding::new(&CHARGER_END, Level::Stop, path_of(run), &[pushes, carries], &COMMON_PRACTICE)
            .named([run.id.to_string(), end]),
    ))
}
