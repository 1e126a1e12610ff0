//! What a step brings to light: runs behind one without a fuse, once that one has its own and what it lets through is held
//! against their wire - a step that puts it brings theirs along - and what stands too high in the stays' own cold.

use crate::engine::circuit::{Circuit, Role};
use crate::engine::report::Report;
use crate::engine::resistance::fuses;
use crate::engine::{Engine, Finding, Level};
use crate::plan::wiring::FuseAt;
use crate::plan::{FieldPath, Known, Plan, Step};
use crate::stock::Stock;

use super::{UNFUSED, ends_without, fuse_edits, put};

/// Most runs that get a fuse beside the one that a step is about. Source: our own choice; more is no longer one step.
const MOST: usize = 4;

/// A step that fuses a run, with the fuses that what lies behind it wants then.
pub(super) fn with_fuses(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (before, bare): (&Report, &[FieldPath]),
    (mut step, mut after, mut own): (Step, Plan, Report),
) -> (Step, Plan, Report) {
    for _ in 0..MOST {
        let new = own.findings.iter().filter(|f| f.level == Level::Stop && unmasked(f, bare) && !before.says(f));
        let more = new.filter_map(|f| {
            let i = after.runs.iter().position(|r| f.run() == Some(r.id.as_str()))?;
            let (run, fuse) = (after.runs.get(i)?, own.runs.get(i)?.proposed.as_ref()?);
            let edits = match fuses(run).next() {
                None => fuse_edits(run, fuse),
                Some(_) if fuse.looped => {
                    let like = |at: &FuseAt| put(run, *at, Known::Is(fuse.family), Known::Is(fuse.amps));
                    ends_without(run, f).iter().map(like).collect()
                }
                Some(_) => return None,
            };
            Some((format!("; {} fuse {} A {}", run.id, fuse.amps.0, fuse.family), edits))
        });
        let Some((said, edits)) = more.take(1).next() else { break };
        let mut more = step.clone();
        more.name.push_str(&said);
        more.edits.extend(edits);
        let Ok(with) = plan.with(&more) else { break };
        own = engine.evaluate_wires(&with, stock);
        (step, after) = (more, with);
    }
    (step, after, own)
}

/// Whether a finding is that of a run behind one without a fuse.
pub(super) fn unmasked(finding: &Finding, bare: &[FieldPath]) -> bool {
    (finding.check.id == UNFUSED && bare.contains(&finding.subject)) || by_cold(finding, bare)
}

/// Whether a finding only says what the coldest air as it was entered hid.
pub(super) fn by_cold(finding: &Finding, bare: &[FieldPath]) -> bool {
    BY_COLD.contains(&finding.check.id) && bare.iter().any(|at| at.as_str() == COLDEST)
}

const COLDEST: &str = "job.coldest_c";
/// What is judged by the coldest air.
const BY_COLD: [&str; 5] =
    ["cold-voc-over-limit", "device-volts-low", "fuse-volts-low", "lithium-charged-cold", "lithium-stored-cold"];

/// Whether a finding is about the coldest air itself: with another one what it hid is found.
pub(super) fn is_of_cold(finding: &Finding) -> bool {
    finding.subject.as_str() == COLDEST
}

/// The runs without any fuse behind one that a finding says has none, and nothing ahead of it.
pub(super) fn bare_behind(plan: &Plan, circuit: &Circuit, finding: &Finding) -> Vec<FieldPath> {
    if is_of_cold(finding) {
        return vec![finding.subject.clone()];
    }
    if !is_bare(finding) {
        return Vec::new();
    }
    let index = plan.runs.iter().position(|r| finding.run() == Some(r.id.as_str()));
    let behind = plan.runs.iter().zip(&circuit.links);
    let behind = behind.filter(|(r, l)| index.is_some_and(|i| l.upstream.contains(&i)) && fuses(r).next().is_none());
    behind.map(|(r, _)| FieldPath::of(&["runs", r.id.as_str()])).collect()
}

/// Where a finding says that a run on a loop lacks a fuse, all runs on loops and behind them: for want of it what those lack goes
/// unsaid.
pub(super) fn beside(plan: &Plan, circuit: &Circuit, finding: &Finding) -> Vec<FieldPath> {
    let looped = |i: &usize| circuit.links.get(*i).is_some_and(|l| l.looped && l.role != Role::Array);
    let index = plan.runs.iter().position(|r| finding.run() == Some(r.id.as_str()));
    if finding.check.id != UNFUSED || !index.as_ref().is_some_and(looped) {
        return Vec::new();
    }
    let fed = |i: &usize| looped(i) || circuit.links.get(*i).is_some_and(|l| l.upstream.iter().any(looped));
    let all = plan.runs.iter().enumerate().filter(|(i, _)| fed(i));
    all.map(|(_, r)| FieldPath::of(&["runs", r.id.as_str()])).collect()
}

/// Whether a finding says that an end has no fuse, and nothing ahead of it either: no copper mends that.
pub(super) fn is_bare(finding: &Finding) -> bool {
    finding.check.id == UNFUSED && finding.numbers.is_empty()
}
