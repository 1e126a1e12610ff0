//! Fuses of a run on a loop, which is fed from both its ends: one more at each end that lacks it, and none moved away from an end
//! that needs it.

use crate::engine::circuit::{Circuit, Role};
use crate::engine::finding::Finding;
use crate::engine::report::Proposed;
use crate::engine::resistance::{fuse_path, fuses};
use crate::plan::wiring::{FuseAt, Protection, Resets};
use crate::plan::{Edit, Id, Known, Run, Step, Value};

use super::{NEAR_M, UNFUSED, fuse_edits, put, rated_edits};

const FAR: &str = "fuse-far-from-source";
const FED_BY_OTHERS: &str = "battery-lead-fed-by-others";

/// Whether a finding is about a fuse that an end of a run that is fed from both lacks: of one on a loop either, of a battery's own
/// lead the one where the batteries meet.
pub(super) fn is_about_end(circuit: &Circuit, index: usize, run: &Run, finding: &Finding) -> bool {
    let Some(link) = circuit.links.get(index).filter(|l| l.looped && l.role != Role::Array) else { return false };
    let far = if link.near_from { FuseAt::To } else { FuseAt::From };
    let is_end = match circuit.own_way_of(index) {
        Some(_) => finding.check.id != FAR && ends_without(run, finding).contains(&far),
        None => true,
    };
    is_end && [UNFUSED, FAR, FED_BY_OTHERS].contains(&finding.check.id)
}

/// The ends of a run that a finding says have no fuse.
pub(in crate::engine) fn ends_without(run: &Run, finding: &Finding) -> Vec<FuseAt> {
    let is = |end: &Known<Id>| {
        end.known().is_some_and(|id| {
            let second = finding.name(2) == id.as_str() || finding.name(2).starts_with(&format!(" and none at {id}"));
            finding.name(1) == id.as_str() || second
        })
    };
    [(is(&run.from), FuseAt::From), (is(&run.to), FuseAt::To)]
        .into_iter()
        .filter(|(is, _)| *is)
        .map(|(_, at)| at)
        .collect()
}

/// The proposed fuse of a run without any at the end that a finding says has none: of a line between two batteries that is the one it
/// comes from, whichever of them the run's own row goes by.
/// Source: common practice, a fuse at each battery.
pub(super) fn at_named(run: &Run, finding: &Finding, proposed: Option<&Proposed>) -> Option<Proposed> {
    let ends = ends_without(run, finding);
    let named = ends.first().filter(|_| finding.check.id == UNFUSED && ends.len() == 1 && fuses(run).next().is_none());
    proposed.map(|p| Proposed { at_from: named.map_or(p.at_from, |at| *at == FuseAt::From), ..p.clone() })
}

/// A fuse at each end that the finding names: as the one at the other end, as proposed, or with a rating to be sized. One that no
/// end needs where it sits is moved.
pub(super) fn steps(run: &Run, finding: &Finding, proposed: Option<&Proposed>) -> Vec<Step> {
    let ends = ends_without(run, finding);
    let names: Vec<String> = ends.iter().map(|at| end_name(run, *at)).collect();
    let names = names.join(" and ");
    let named = |what: String, edits: Vec<Edit>| Step { name: format!("{} fused at {names}: {what}", run.id), edits };
    let with = |p: &Proposed| {
        let edits = ends.iter().map(|at| put(run, *at, Known::Is(p.family), Known::Is(p.amps)));
        named(format!("{} A {}", p.amps.0, p.family), edits.collect())
    };
    let mut all = Vec::new();
    if finding.check.id == FAR {
        let only = fuses(run).next().filter(|_| fuses(run).nth(1).is_none());
        all.extend(only.zip(ends.first()).map(|(fuse, at)| moved(run, fuse, *at, None)));
        let other = only.zip(ends.first()).zip(proposed);
        all.extend(other.map(|((fuse, at), p)| moved(run, fuse, *at, Some(p))));
    }
    let like = fuses(run)
        .next()
        .filter(|f| f.resets != Resets::Automatic)
        .and_then(|f| Some((*f.amps_a.known()?, *f.family.known()?)));
    if let (Some((amps, family)), Some(p)) = (like, proposed) {
        all.push(with(&Proposed { amps, family, ..p.clone() }));
    }
    match proposed {
        Some(p) => all.push(with(p)),
        None => {
            let edits = ends.iter().map(|at| put(run, *at, Known::Unknown, Known::Unknown));
            all.push(named("its rating to be sized".into(), edits.collect()));
        }
    }
    all
}

/// The proposed fuse in place of what a run has; on a loop one more at each end that the finding says has none.
pub(super) fn fitted(run: &Run, finding: &Finding, proposed: &Proposed) -> Vec<Edit> {
    if !proposed.looped || finding.check.id != UNFUSED {
        return fuse_edits(run, &at_named(run, finding, Some(proposed)).unwrap_or_else(|| proposed.clone()));
    }
    let own = if fuses(run).next().is_some() { fuse_edits(run, proposed) } else { Vec::new() };
    let more = ends_without(run, finding).into_iter();
    let more = more.map(|at| put(run, at, Known::Is(proposed.family), Known::Is(proposed.amps)));
    own.into_iter().chain(more).collect()
}

fn end_name(run: &Run, at: FuseAt) -> String {
    let end = if at == FuseAt::From { &run.from } else { &run.to };
    end.known().map_or_else(|| "?".into(), |id| id.to_string())
}

/// A fuse moved to an end, as it is or as another one.
fn moved(run: &Run, fuse: &Protection, at: FuseAt, to: Option<&Proposed>) -> Step {
    let path = |field: &str| fuse_path(run, fuse, field);
    let place = vec![
        Edit::Set { at: path("at"), to: Value::Word(at.word()) },
        Edit::Set { at: path("distance_m"), to: Value::Number(NEAR_M) },
    ];
    let name = format!("{} {} moved: to {}", run.id, fuse.id, end_name(run, at));
    match to {
        None => Step { name, edits: place },
        Some(p) => {
            Step { name: format!("{name}, {} A {}", p.amps.0, p.family), edits: rated_edits(run, fuse, p, place) }
        }
    }
}
