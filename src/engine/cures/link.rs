//! Fuses of a link between two batteries. What flows there nobody can derive: a fuse is chosen for its wire.

use crate::arrange::Arrange;
use crate::engine::capacity;
use crate::engine::circuit::Role;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::protection::{self, usual_family};
use crate::engine::resistance::{fuse_path, fuses};
use crate::plan::wiring::{FuseAt, Protection, Resets};
use crate::plan::{Edit, Id, Known, Run, Step, Value};
use crate::standards::fuse::ratings;
use crate::standards::kinds::FuseFamily;

use super::{bought, insert};

/// So many ratings below what the wire allows are tried. Source: our own choice.
const TRIED: usize = 6;

/// A fuse that the wire allows: at each end that has none, or in place of one that is too large, here or ahead.
pub(super) fn steps(c: &Context<'_>, index: usize, run: &Run, finding: &Finding) -> Vec<Step> {
    if c.circuit.links.get(index).is_none_or(|l| l.role != Role::BatteryLink) {
        return Vec::new();
    }
    let limits = capacity::of_run(c, index, run).and_then(|w| protection::limits(c, index, run, w.weakest.amps, 0.0));
    let (Ok(limits), Ok(volts)) = (limits, protection::circuit_v(c, index, &[])) else { return Vec::new() };
    // One for a bare end protects the links behind it as well, where their wire is thinner.
    let behind = c.circuit.links.iter().enumerate().filter(|(_, l)| {
        finding.numbers.is_empty()
            && l.role == Role::BatteryLink
            && [&l.upstream, &l.beyond].iter().any(|x| x.contains(&index))
    });
    let behind_a = behind.filter_map(|(j, _)| {
        let (run, weakest) = (c.plan.runs.get(j)?, capacity::of_run(c, j, c.plan.runs.get(j)?).ok()?.weakest.amps);
        Some(protection::limits(c, j, run, weakest, 0.0).ok()?.strict_a)
    });
    let most_a = behind_a.fold(limits.strict_a, f64::min);
    let bare = finding.check.id == "source-end-unfused" && finding.numbers.is_empty();
    let large = if bare { Vec::new() } else { too_large(c, index, run, finding, most_a) };
    let mut families = vec![usual_family(c, index, limits.strict_a, volts), FuseFamily::ClassT];
    // What is there keeps its family, but no breaker that closes by itself is bought.
    if let Some((_, first)) = large.first()
        && let Some(own) = first.family.known().filter(|_| first.resets != Resets::Automatic)
    {
        families.insert(0, *own);
    }
    let mut steps = Vec::new();
    for family in families {
        let fit = ratings(family).iter().rev().copied().filter(|a| *a <= most_a + 1e-9).take(TRIED);
        for amps in fit {
            if bare {
                steps.push(fused(run, bare_ends(run, finding, family, amps), family, amps));
                continue;
            }
            steps.extend(at_end(run, finding, family, amps));
            if !large.is_empty() {
                steps.push(others(&large, family, amps));
            } else if let Some((ahead, at)) = bare_ahead(c, index) {
                // One at the other battery, where the way from there has none at all.
                steps.push(fused(ahead, vec![insert(ahead, at, family, amps)], family, amps));
            }
        }
    }
    steps.retain(|s| !s.edits.is_empty());
    // What leaves as it is what is there comes first.
    steps.arrange_by_key(|s| !matches!(s.edits.first(), Some(Edit::Insert { .. })));
    steps
}

fn fused(run: &Run, edits: Vec<Edit>, family: FuseFamily, amps: f64) -> Step {
    Step { name: format!("{} fused: {amps} A {family}", run.id), edits }
}

/// A fuse more at the end of the run itself that a finding names.
fn at_end(run: &Run, finding: &Finding, family: FuseFamily, amps: f64) -> Option<Step> {
    let named = matches!(finding.check.id, "source-end-unfused" | "fuse-far-from-source");
    let ends = [(&run.from, FuseAt::From), (&run.to, FuseAt::To)];
    let is = |end: &&Known<Id>| end.known().is_some_and(|id| named && id.as_str() == finding.name(1));
    let (_, at) = ends.into_iter().find(|(end, _)| is(end))?;
    let name = format!("{} fused at {}: {amps} A {family}", run.id, finding.name(1));
    Some(Step::one(name, insert(run, at, family, amps)))
}

/// The fuses that let more through than the wire allows: on the run itself, or on the line that it is part of.
fn too_large<'a>(
    c: &'a Context<'_>,
    index: usize,
    run: &'a Run,
    finding: &Finding,
    most_a: f64,
) -> Vec<(&'a Run, &'a Protection)> {
    let line = |i: &usize| {
        let role = c.circuit.links.get(*i).map(|l| l.role);
        matches!(role, Some(Role::BatteryLink | Role::StartLead))
    };
    let ahead = c.circuit.links.get(index).map(|l| l.upstream.iter().chain(&l.beyond));
    let runs: Vec<&Run> = match finding.check.id {
        "fuse-above-conductor" => vec![run],
        _ => ahead.into_iter().flatten().filter(|i| line(i)).filter_map(|i| c.plan.runs.get(*i)).collect(),
    };
    let large = |f: &&Protection| f.amps_a.known().is_some_and(|a| a.0 > most_a + 1e-9);
    runs.into_iter().flat_map(|r| fuses(r).filter(large).map(move |f| (r, f))).collect()
}

/// Other fuses in the place of some, each where the old one sits.
fn others(large: &[(&Run, &Protection)], family: FuseFamily, amps: f64) -> Step {
    let mut edits = Vec::new();
    for (run, fuse) in large {
        let path = |field: &str| fuse_path(run, fuse, field);
        let mut own = vec![
            Edit::Set { at: path("family"), to: Value::Word(family.word()) },
            Edit::Set { at: path("amps_a"), to: Value::Number(amps) },
        ];
        for (there, field) in [(fuse.volts_dc_v.is_some(), "volts_dc_v"), (fuse.interrupt_a.is_some(), "interrupt_a")] {
            if there {
                own.push(Edit::Set { at: path(field), to: Value::Nothing });
            }
        }
        own.extend(bought::with(run, fuse, &own));
        edits.extend(own);
    }
    let names: Vec<String> = large.iter().map(|(r, f)| format!("{} {}", r.id, f.id)).collect();
    Step { name: format!("{}: {amps} A {family}", names.join(" and ")), edits }
}

/// The first run from a battery to a link, and its end there, where no run of that way has a fuse.
fn bare_ahead<'a>(c: &Context<'a>, index: usize) -> Option<(&'a Run, FuseAt)> {
    let link = c.circuit.links.get(index)?;
    let bare = |way: &&Vec<usize>| {
        let mut runs = way.iter().filter_map(|i| c.plan.runs.get(*i));
        !way.is_empty() && runs.all(|r| fuses(r).next().is_none())
    };
    let ways = [(&link.upstream, true), (&link.beyond, false)];
    let (way, near) = ways.into_iter().find(|(way, _)| bare(way))?;
    let first = *way.first()?;
    // From the other battery a run's far end is the one that faces it.
    let at = if c.circuit.links.get(first)?.near_from == near { FuseAt::From } else { FuseAt::To };
    Some((c.plan.runs.get(first)?, at))
}

/// A fuse at each end that the finding says has none.
fn bare_ends(run: &Run, finding: &Finding, family: FuseFamily, amps: f64) -> Vec<Edit> {
    let is = |end: &Known<Id>| {
        end.known()
            .is_some_and(|id| id.as_str() == finding.name(1) || finding.name(2).contains(&format!(" and none at {id}")))
    };
    let ends = [(is(&run.from), FuseAt::From), (is(&run.to), FuseAt::To)];
    ends.into_iter().filter(|(bare, _)| *bare).map(|(_, at)| insert(run, at, family, amps)).collect()
}
