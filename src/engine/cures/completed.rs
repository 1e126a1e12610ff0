//! A step that cures and brings cautions about wire: completed by a step more for each of them, where nothing new is left then.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::circuit::Circuit;
use crate::engine::finding::{Finding, Level};
use crate::engine::report::Report;
use crate::engine::sizing::make::{Make, made_of};
use crate::plan::{Plan, Step};
use crate::stock::Stock;

use super::fused::TO_BE_SIZED;
use super::{alike, bought, candidates, cures, order, worse};

/// What a step more of wire mends. What would want other equipment is left to whoever chooses the step.
const BY_WIRE: [&str; 3] = ["drop-over-target", "return-not-drawn", "bond-small"];
/// Most steps more, and most that are tried for each. Source: our own choice; each is a whole answer.
const MOST: (usize, usize) = (3, 8);
/// Steps that are tried with others of what they leave. Source: as above.
const FIRST: usize = 3;

/// The stops that a step leaves: those it was to cure, one at each end of a run, such as were not there, and such as are worse.
fn stops_left<'a>(plan: &Plan, finding: &Finding, before: &Report, after: &'a Report) -> Vec<&'a Finding> {
    let left = |f: &&Finding| f.level == Level::Stop && (f.identity() == finding.identity() || !before.says(f));
    let worse = worse::stops(plan, finding, before, after);
    after.findings.iter().filter(left).chain(worse).collect()
}

/// Whether a step puts a fuse without a rating.
fn is_open(step: &Step) -> bool {
    step.name.contains(TO_BE_SIZED)
}

/// Two steps as one. A run that both give other wire is named once, with the wire that it has in the end.
fn joined(plan: &Plan, first: &Step, more: &Step) -> Step {
    let edits = [first.edits.clone(), more.edits.clone()].concat();
    let (mut name, mut rest) = (first.name.clone(), more.name.clone());
    let both = Step { name: String::new(), edits };
    if let (Ok(with), Ok(in_end)) = (plan.with(first), plan.with(&both)) {
        for run in &plan.runs {
            let of = |p: &Plan| p.runs.iter().find(|r| r.id == run.id).and_then(made_of);
            let (Some(then), Some(last)) = (of(&with), of(&in_end)) else { continue };
            if then == last || of(plan) == Some(then) {
                continue;
            }
            for between in [": ", " with fuse: ", " "] {
                let said = |make: Make| format!("{}{between}{make}", run.id);
                if name.contains(&said(then)) {
                    name = name.replace(&said(then), &said(last));
                    let again = format!("{}: {last}", run.id);
                    rest = rest.split("; ").filter(|part| **part != again).collect::<Vec<_>>().join("; ");
                }
            }
        }
    }
    fuses_once(plan, &mut name, &mut rest);
    let name = if rest.is_empty() { name } else { format!("{name}; {rest}") };
    Step { name, ..both }
}

/// A run that both names give another fuse has the last of them alone in the first.
fn fuses_once(plan: &Plan, name: &mut String, rest: &mut String) {
    for run in &plan.runs {
        let (alone, beside) = (format!("{} fuse: ", run.id), format!("{} with fuse: ", run.id));
        let own = |part: &str| part.strip_prefix(&alone).map(ToString::to_string);
        let Some(last) = rest.split("; ").find_map(own) else { continue };
        let mut found = false;
        let merged =
            name.split("; ").map(|part| match part.strip_prefix(&beside).and_then(|wire| wire.split_once(", ")) {
                _ if own(part).is_some() => format!("{alone}{last}"),
                Some((wire, _)) => format!("{beside}{wire}, {last}"),
                None => part.to_string(),
            });
        let merged = merged.inspect(|part| found |= part.ends_with(&last)).collect::<Vec<_>>().join("; ");
        if found {
            *name = merged;
            *rest = rest.split("; ").filter(|part| own(part).is_none()).collect::<Vec<_>>().join("; ");
        }
    }
}

/// For a stop that no step cures alone: one of those that were tried, or that the same stop at the run's other end wants, with what
/// cures the stops that it leaves, on the same run or on its neighbours, in one step.
pub(super) fn with_neighbours(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    tried: &[(Step, usize)],
) -> Option<Step> {
    let is_other = |f: &&Finding| f.identity() == finding.identity() && f.names != finding.names;
    let mut first: Vec<Step> = Vec::new();
    for other in before.findings.iter().filter(is_other) {
        first.extend(candidates(engine, plan, stock, other, before).into_iter().filter(|s| !is_open(s)).take(FIRST));
    }
    let mut own: Vec<Step> = tried.iter().map(|(step, _)| step.clone()).collect();
    own.arrange_by_key(is_open);
    let (circuit, _) = Circuit::of(plan);
    first
        .into_iter()
        .map(|step| alike::with(plan, &circuit, bought::step(plan, step)))
        .chain(own)
        .take(FIRST * 2)
        .find_map(|step| with_next(engine, plan, stock, (finding, before), step))
}

fn with_next(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    step: Step,
) -> Option<Step> {
    let mut now = step;
    for _ in 0..=MOST.0 {
        let with = plan.with(&now).ok()?;
        let report = engine.evaluate_wires(&with, stock);
        let left = stops_left(plan, finding, before, &report);
        let Some(first) = left.first() else { return cures(finding, before, &report, &[]).then_some(now) };
        let mut all = candidates(engine, &with, stock, first, &report);
        order::by_rank(&with, first, &mut all);
        // A rating that is left to be sized where none that is known does.
        all.arrange_by_key(is_open);
        let (circuit, _) = Circuit::of(&with);
        now = all.into_iter().take(MOST.1).find_map(|more| {
            let more = alike::with(&with, &circuit, bought::step(&with, more));
            let both = joined(plan, &now, &more);
            let own = engine.evaluate_wires(&plan.with(&both).ok()?, stock);
            (stops_left(plan, finding, before, &own).len() < left.len()).then_some(both)
        })?;
    }
    None
}

/// What an answer has that was not there, but for notes and what was to be cured.
fn brought<'a>(finding: &Finding, before: &Report, after: &'a Report) -> Vec<&'a Finding> {
    let new = |f: &&Finding| f.level != Level::Note && f.identity() != finding.identity() && !before.says(f);
    after.findings.iter().filter(new).collect()
}

/// The step with what completes it; none where it brings nothing, or something is left.
pub(super) fn with(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    step: &Step,
) -> Option<Step> {
    let mut now = step.clone();
    for _ in 0..=MOST.0 {
        let with = plan.with(&now).ok()?;
        let report = engine.evaluate_wires(&with, stock);
        let new = brought(finding, before, &report);
        let Some(first) = new.first() else { return (now != *step).then_some(now) };
        if !new.iter().all(|f| f.level == Level::Caution && BY_WIRE.contains(&f.check.id)) {
            return None;
        }
        let mut all = candidates(engine, &with, stock, first, &report);
        order::by_rank(&with, first, &mut all);
        // Wire alone before the same beside other fuses, which are several of each gauge.
        all.arrange_by_key(|s| s.name.contains(" with fuse: "));
        let (circuit, _) = Circuit::of(&with);
        now = all.into_iter().take(MOST.1).find_map(|more| {
            let more = alike::with(&with, &circuit, bought::step(&with, more));
            let both = joined(plan, &now, &more);
            let own = engine.evaluate_wires(&plan.with(&both).ok()?, stock);
            let left = brought(finding, before, &own);
            let is_less = left.len() < new.len() && left.iter().all(|f| report.says(f));
            let is_cure = cures(finding, before, &own, &[]) && worse::by(plan, finding, before, &own).is_none();
            (is_less && is_cure).then_some(both)
        })?;
    }
    None
}
