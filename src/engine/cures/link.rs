//! Fuses of a link between two batteries. What flows there nobody can derive: a fuse is chosen for its wire.

use crate::engine::capacity;
use crate::engine::circuit::Role;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::protection::{self, usual_family};
use crate::engine::resistance::{fuse_path, fuses};
use crate::plan::wiring::FuseAt;
use crate::plan::{Edit, Run, Step, Value};
use crate::standards::fuse::ratings;
use crate::standards::kinds::FuseFamily;

use super::insert;

/// So many ratings below what the wire allows are tried. Source: our own choice.
const TRIED: usize = 6;

/// A fuse that the wire allows: at each end that has none, or in place of one that is too large, here or ahead.
pub(super) fn steps(c: &Context<'_>, index: usize, run: &Run, finding: &Finding) -> Vec<Step> {
    let Some(link) = c.circuit.links.get(index).filter(|l| l.role == Role::BatteryLink) else { return Vec::new() };
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
    let usual = usual_family(c, index, limits.strict_a, volts);
    let mut steps = Vec::new();
    for family in [usual, FuseFamily::ClassT] {
        let fit = ratings(family).iter().rev().copied().filter(|a| *a <= most_a + 1e-9).take(TRIED);
        for amps in fit {
            let edits = match finding.check.id {
                "source-end-unfused" if finding.numbers.is_empty() => bare_ends(run, finding, family, amps),
                "fuse-above-conductor" => smaller(run, amps),
                _ => {
                    let all = link.upstream.iter().chain(&link.beyond).filter_map(|i| c.plan.runs.get(*i));
                    all.flat_map(|r| smaller(r, amps)).collect()
                }
            };
            // One at the other battery, where the way from there has none at all.
            let (edits, fused) = match bare_ahead(c, index) {
                Some((ahead, at)) if edits.is_empty() => (vec![insert(ahead, at, family, amps)], ahead),
                _ => (edits, run),
            };
            if !edits.is_empty() {
                steps.push(Step { name: format!("{} fused: {amps} A {family}", fused.id), edits });
            }
        }
    }
    steps
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
    let is = |end: &crate::plan::Known<crate::plan::Id>| {
        end.known()
            .is_some_and(|id| id.as_str() == finding.name(1) || finding.name(2).contains(&format!(" and none at {id}")))
    };
    let ends = [(is(&run.from), FuseAt::From), (is(&run.to), FuseAt::To)];
    ends.into_iter().filter(|(bare, _)| *bare).map(|(_, at)| insert(run, at, family, amps)).collect()
}

/// The fuses of a run that are larger, of this rating where their family has it.
fn smaller(run: &Run, amps: f64) -> Vec<Edit> {
    let larger = fuses(run).filter(|f| f.amps_a.known().is_some_and(|a| a.0 > amps + 1e-9));
    let has = larger.filter(|f| f.family.known().is_some_and(|family| ratings(*family).contains(&amps)));
    has.map(|f| Edit::Set { at: fuse_path(run, f, "amps_a"), to: Value::Number(amps) }).collect()
}
