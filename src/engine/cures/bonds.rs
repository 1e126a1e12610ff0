//! Steps for a bond to the chassis that is thinner than the largest battery lead, and the bond that goes along with a lead.

use crate::engine::Engine;
use crate::engine::circuit::Circuit;
use crate::engine::finding::Finding;
use crate::engine::ladder::gauge_step;
use crate::engine::report::Report;
use crate::engine::sizing::bond::{makes, small};
use crate::engine::sizing::make::{Make, Takes, made_of};
use crate::engine::sizing::{make_edits, system_of};
use crate::plan::{Plan, Run, Step};
use crate::stock::Stock;

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
    (more != *step).then_some(more)
}

/// A step, what it leads to and the answer to that; with the bond that a thicker battery lead wants, where it wants one.
pub(super) fn with(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    before: &Report,
    (step, after, own): (Step, Plan, Report),
) -> (Step, Plan, Report) {
    let more = along(plan, &step, before, &own).and_then(|more| Some((plan.with(&more).ok()?, more)));
    match more {
        Some((with, more)) => {
            let report = engine.evaluate_wires(&with, stock);
            (more, with, report)
        }
        None => (step, after, own),
    }
}
