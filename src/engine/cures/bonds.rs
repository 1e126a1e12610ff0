//! Steps for a bond to the chassis that is thinner than the largest battery lead, and the bond that goes along with a lead.

use crate::engine::circuit::{Circuit, Role};
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::ladder::gauge_step;
use crate::engine::report::Report;
use crate::engine::rule::Rules;
use crate::engine::sizing::bond::{makes, small};
use crate::engine::sizing::make::{Make, Takes, made_of, takes};
use crate::engine::sizing::{make_edits, system_of};
use crate::engine::{Engine, Level};
use crate::plan::{Plan, Run, Step};
use crate::stock::Stock;

use super::bought;

/// Most gauges that a negative is made thicker by. Source: our own choice, more than any system has.
const MOST_GAUGES: usize = 24;

/// A bond as thick as is wanted, where no gauge is, in two conductors; and where one gauge does not do, leads of no more than
/// one, with a bond of that.
pub(super) fn steps(plan: &Plan, finding: &Finding) -> Vec<Step> {
    let Some((run, mm2)) = small(plan, finding) else { return Vec::new() };
    let thicker = makes(plan, run, mm2).into_iter().map(|(make, says)| thicker(run, make, &says));
    thicker.chain(lesser_leads(plan, run, mm2)).collect()
}

fn thicker(run: &Run, make: Make, says: &Takes) -> Step {
    let mut step = match make == Make::as_drawn(run, make.gauge) {
        true => gauge_step(run, make.gauge),
        false => Step { name: format!("{}: {make}", run.id), edits: make_edits(run, make, true) },
    };
    if let Takes::Ask(why) = says {
        step.name.push_str(&format!("; {why}"));
    }
    step
}

/// The leads that are as thick as the bond should be, in one conductor of the thickest gauge there is, and the bond in that.
fn lesser_leads(plan: &Plan, bond: &Run, mm2: f64) -> Option<Step> {
    let thickest = system_of(plan, bond).ladder().map(|gauge| Make { gauge, per_pole: 1 });
    let one = thickest.max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()))?;
    let (circuit, _) = Circuit::of(plan);
    let so_thick = |r: &&Run| made_of(r).is_some_and(|m| m.per_pole > 1 && m.area_mm2() >= mm2 - 1e-6);
    let leads: Vec<&Run> = plan.runs.iter().filter(so_thick).filter(|r| r.id != bond.id).collect();
    if one.area_mm2() >= mm2 - 1e-9 || leads.is_empty() || circuit.links.is_empty() {
        return None;
    }
    let all = leads.into_iter().chain([bond]);
    let names: Vec<String> = all.clone().map(|r| format!("{} {one}", r.id)).collect();
    let edits = all.flat_map(|r| make_edits(r, one, true)).collect();
    Some(Step { name: format!("leads in one: {}", names.join(", ")), edits })
}

/// A step that leaves a bond thinner than a battery lead that it makes thicker, with the bond as thick as that.
fn along(plan: &Plan, step: &Step, before: &Report, after: &Report) -> Option<Step> {
    let with = plan.with(step).ok()?;
    let is_new = |f: &&Finding| !before.findings.iter().any(|b| b.identity() == f.identity());
    let mut more = step.clone();
    for (run, mm2) in after.findings.iter().filter(is_new).filter_map(|f| small(&with, f)) {
        let (make, _) = makes(&with, run, mm2).into_iter().find(|(_, says)| says.may())?;
        more.edits.extend(make_edits(run, make, true));
        more.name.push_str(&format!("; {} {make}", run.id));
    }
    (more != *step).then(|| bought::wire(plan, more))
}

/// A step that lets more come back by a negative drawn by itself than that carries, or more through behind its fuse to a run
/// that is too thin for its current as it is, with that run as thick as it must be.
fn carried(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    step: &Step,
) -> Option<Step> {
    let mut more = step.clone();
    let mut made: Vec<(String, Make)> = Vec::new();
    for _ in 0..MOST_GAUGES {
        let with = plan.with(&more).ok()?;
        let after = engine.evaluate_wires(&with, stock);
        let (circuit, _) = Circuit::of(&with);
        let short = |f: &&Finding| {
            let by_wire =
                matches!(f.check.id, "fuse-above-conductor" | "conductor-below-current" | "source-end-unfused");
            f.level == Level::Stop && by_wire && !before.says(f)
        };
        let too_thin = |run: &Run| {
            let path = format!("runs.{}", run.id);
            before.findings.iter().any(|f| f.check.id == "conductor-below-current" && f.subject.as_str() == path)
        };
        let of = |f: &Finding| with.runs.iter().position(|r| f.run() == Some(r.id.as_str()));
        let mut runs: Vec<usize> = after.findings.iter().filter(short).filter_map(of).collect();
        runs.retain(|i| {
            let negative = circuit.links.get(*i).is_some_and(|l| l.role == Role::NegativeMain);
            // The run itself has steps of its own.
            let other = with.runs.get(*i).filter(|r| finding.run() != Some(r.id.as_str()));
            negative || other.is_some_and(too_thin)
        });
        runs.dedup();
        if runs.is_empty() {
            break;
        }
        let c = Context { plan: &with, rules: Rules::of(&with), circuit, van_fuses: &stock.truck.fuses };
        for i in runs {
            let run = with.runs.get(i)?;
            let now = made_of(run)?;
            let fit = crate::engine::sizing::make::makes(&c, i).into_iter();
            let fit = fit.filter(|m| m.area_mm2() > now.area_mm2() + 1e-9 && takes(&c, i, *m).may());
            let make = fit.min_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()))?;
            more.edits.extend(make_edits(run, make, true));
            made.retain(|(id, _)| *id != run.id.as_str());
            made.push((run.id.to_string(), make));
        }
        more = bought::wire(plan, more);
    }
    for (run, make) in &made {
        more.name.push_str(&format!("; {run} {make}"));
    }
    (!made.is_empty()).then_some(more)
}

/// A step, what it leads to and the answer to that; with the bond that a thicker battery lead wants, and what carries its
/// current on or back, where they want it.
pub(super) fn with(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    (step, after, own): (Step, Plan, Report),
) -> (Step, Plan, Report) {
    let back = carried(engine, plan, stock, (finding, before), &step);
    let (step, after, own) = match back.and_then(|more| Some((plan.with(&more).ok()?, more))) {
        Some((with, more)) => {
            let report = engine.evaluate_wires(&with, stock);
            (more, with, report)
        }
        None => (step, after, own),
    };
    let more = along(plan, &step, before, &own).and_then(|more| Some((plan.with(&more).ok()?, more)));
    match more {
        Some((with, more)) => {
            let report = engine.evaluate_wires(&with, stock);
            (more, with, report)
        }
        None => (step, after, own),
    }
}
