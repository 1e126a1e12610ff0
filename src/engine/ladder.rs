//! The ladder of a run's gauges: what the run and the plan become with each.

use crate::plan::{Edit, Figure, Id, Known, Leg, Missing, Plan, Run, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::stock::Stock;
use crate::units::Number;

use super::Engine;
use super::capacity::ratings;
use super::circuit::Circuit;
use super::context::{Context, at};
use super::price;
use super::report::{Report, RunFigures, Rung, none_yet};
use super::resistance::legs;
use super::rule::Rules;

/// One rung for every gauge of the run's system (the plan's, where the run has no gauge yet).
pub(super) fn rungs(engine: &mut Engine, plan: &Plan, stock: &Stock, id: &Id) -> Vec<Rung> {
    let Some(index) = plan.runs.iter().position(|r| r.id == *id) else { return Vec::new() };
    let Some(run) = plan.runs.get(index) else { return Vec::new() };
    let current = run.gauge.known().copied();
    let system = current.unwrap_or(match plan.job.gauge_system {
        crate::plan::job::GaugeSystem::Awg => Gauge::Awg(0),
        crate::plan::job::GaugeSystem::Mm2 => Gauge::Mm2(0),
    });
    let before = engine.evaluate_wires(plan, stock);
    let mut plan = plan.clone();
    let mut all = Vec::new();
    for gauge in system.ladder() {
        if let Some(run) = plan.runs.get_mut(index) {
            run.gauge = Known::Is(gauge);
        }
        let after = engine.evaluate_wires(&plan, stock);
        let (Some(run), Some(figures)) = (plan.runs.get(index), after.runs.get(index)) else { continue };
        let (new, cured) = changes(&before, &after);
        all.push(Rung {
            gauge,
            current: current == Some(gauge),
            fits: fits(&plan, index, gauge),
            price: wire_price(&plan, stock, run, gauge),
            weight_kg: weight_kg(stock, run, gauge),
            new,
            cured,
            ..rung(gauge, figures)
        });
    }
    all
}

fn rung(gauge: Gauge, f: &RunFigures) -> Rung {
    let fuse_fits = if f.fuses.is_empty() {
        none_yet()
    } else {
        f.fuses.iter().try_fold(true, |fits, fuse| {
            let (amps, most, least) = (fuse.amps.clone()?.0, f.fuse_max_a.clone()?.0, f.fuse_min_a.clone()?.0);
            Ok::<bool, Missing>(fits && amps <= most && amps >= least)
        })
    };
    Rung {
        gauge,
        current: false,
        drop_v: f.drop_v.clone(),
        drop_pct: f.drop_pct.clone(),
        path_drop_pct: f.path_drop_pct.clone(),
        ampacity_a: f.ampacity_a.clone(),
        governs: f.governs,
        fuse_min_a: f.fuse_min_a.clone(),
        fuse_max_a: f.fuse_max_a.clone(),
        fuse_fits,
        price: none_yet(),
        weight_kg: none_yet(),
        fits: None,
        new: 0,
        cured: 0,
        harvest_wh_day: None,
    }
}

/// Findings of the one that the other lacks, and the other way round. An accepted one counts as none.
pub(super) fn changes(before: &Report, after: &Report) -> (usize, usize) {
    let lacks = |a: &Report, b: &Report| {
        a.findings
            .iter()
            .filter(|f| !b.findings.iter().any(|g| g.identity() == f.identity() && g.level == f.level))
            .count()
    };
    (lacks(after, before), lacks(before, after))
}

/// The legs that follow the run's gauge, with the metres of wire in each.
fn following(run: &Run) -> impl Iterator<Item = (&Leg, Figure<f64>)> {
    legs(run).filter(|l| l.gauge.is_none()).map(|leg| (leg, price::wire_m(run, leg)))
}

fn weight_kg(stock: &Stock, run: &Run, gauge: Gauge) -> Figure<f64> {
    following(run).map(|(leg, metres)| Ok(metres? * price::wire_kg_per_m(stock, gauge, leg))).sum()
}

/// Price of the wire with the plan's markup; none where the truck stock knows no price of some leg.
fn wire_price(plan: &Plan, stock: &Stock, run: &Run, gauge: Gauge) -> Figure<Number> {
    let mut cost = 0.0;
    for (leg, metres) in following(run) {
        match price::wire_cost_per_m(stock, gauge, leg) {
            Some(each) => cost += each * metres?,
            None => return none_yet(),
        }
    }
    Ok(Number(cost * price::markup(plan)?))
}

/// Whether the terminals at both ends take a gauge; none where neither says.
pub(super) fn fits(plan: &Plan, index: usize, gauge: Gauge) -> Option<bool> {
    let (circuit, _) = Circuit::of(plan);
    let c = Context { plan, rules: Rules::of(plan), circuit, van_fuses: &[] };
    let link = c.circuit.links.get(index)?;
    let mut answer = None;
    for node in [link.from, link.to].into_iter().flatten() {
        let Some((r, _)) = ratings(&c, node) else { continue };
        let size = |k: &Option<Known<Gauge>>| k.as_ref().and_then(|k| k.known()).map(|g| area_mm2(*g));
        if let Some(least) = size(&r.smallest_wire) {
            answer = Some(answer.unwrap_or(true) && area_mm2(gauge) >= least - 1e-9);
        }
        if let Some(most) = size(&r.largest_wire) {
            answer = Some(answer.unwrap_or(true) && area_mm2(gauge) <= most + 1e-9);
        }
    }
    answer
}

/// The step that gives a run a gauge; legs with a thinner one of their own lose it.
pub(super) fn gauge_step(run: &Run, gauge: Gauge) -> Step {
    let mut edits = vec![Edit::Set { at: at("runs", &run.id, "gauge"), to: Value::Gauge(gauge) }];
    for leg in legs(run) {
        let thinner = leg.gauge.as_ref().and_then(|g| g.known()).is_some_and(|g| area_mm2(*g) < area_mm2(gauge));
        if thinner {
            edits.push(Edit::Set { at: super::resistance::leg_path(run, leg, "gauge"), to: Value::Nothing });
        }
    }
    Step { name: format!("{}: {gauge}", run.id), edits }
}
