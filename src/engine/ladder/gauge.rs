//! The ladder of a run's gauges: what the run and the plan become with each.

use crate::engine::Engine;
use crate::engine::capacity::ratings;
use crate::engine::circuit::Circuit;
use crate::engine::context::{Context, at};
use crate::engine::price;
use crate::engine::report::{RunFigures, none_yet};
use crate::engine::resistance::{leg_path, legs};
use crate::engine::rule::Rules;
use crate::engine::sizing::{left_m, system_of};
use crate::plan::{Edit, Figure, Id, Known, Leg, Plan, Run, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::stock::Stock;
use crate::units::Number;

use super::{Columns, Drawn, Fit, GaugeColumns};

/// A row for every gauge of the run's system (the plan's, where the run has no gauge yet).
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock, id: &Id) -> Vec<Drawn> {
    let Some(index) = plan.runs.iter().position(|r| r.id == *id) else { return Vec::new() };
    let Some(old) = plan.runs.get(index) else { return Vec::new() };
    let current = old.gauge.known().copied();
    let factor = Rules::of(plan).conductor_factor;
    let mut with = plan.clone();
    let mut all = Vec::new();
    for gauge in system_of(plan, old).ladder() {
        if let Some(run) = with.runs.get_mut(index) {
            run.gauge = Known::Is(gauge);
        }
        let after = engine.evaluate_wires(&with, stock);
        let (Some(run), Some(figures)) = (with.runs.get(index), after.runs.get(index)) else { continue };
        let name = format!("{id} gauge {} -> {gauge}", current.map_or("?".into(), |g| g.to_string()));
        let to = Value::Gauge(gauge);
        all.push(Drawn {
            step: Step::one(name, Edit::Set { at: at("runs", id, "gauge"), to }),
            current: current == Some(gauge),
            columns: Columns::Gauge(Box::new(columns(gauge, figures, left_m(stock, gauge)))),
            price: wire_price(plan, stock, run, gauge),
            weight_kg: weight_kg(stock, run, gauge),
            own: own(&with, index, gauge, figures, factor),
            after,
        });
    }
    all
}

fn columns(gauge: Gauge, f: &RunFigures, on_truck_m: f64) -> GaugeColumns {
    let margin = || {
        let (carries, design) = (f.ampacity_a.clone()?.0, f.design_a.clone()?.0);
        if design > 0.0 { Ok((carries / design - 1.0) * 100.0) } else { none_yet() }
    };
    GaugeColumns {
        gauge,
        drop_v: f.drop_v.clone(),
        drop_pct: f.drop_pct.clone(),
        path_drop_pct: f.path_drop_pct.clone(),
        ampacity_a: f.ampacity_a.clone(),
        margin_pct: margin(),
        governs: f.governs,
        fuse_min_a: f.fuse_min_a.clone(),
        fuse_max_a: f.fuse_max_a.clone(),
        needs: f.proposed.clone(),
        on_truck_m,
    }
}

/// Whether the wire itself may be: its terminals and its ampacity.
fn own(plan: &Plan, index: usize, gauge: Gauge, f: &RunFigures, factor: f64) -> Fit {
    let fits = fits(plan, index, gauge);
    if fits == Some(false) {
        return Fit::No("the terminals do not take it".into());
    }
    match (&f.ampacity_a, &f.design_a) {
        (Ok(carries), Ok(design)) if carries.0 < design.0 * factor - 1e-9 => {
            Fit::No(format!("carries {:.1} A of {:.1} A", carries.0, design.0 * factor))
        }
        (Err(waits), _) | (_, Err(waits)) => Fit::Unknown(match waits.0.as_str() {
            "" => "its ampacity or current is not known".into(),
            path => format!("waits for {path}"),
        }),
        _ if fits.is_none() => Fit::Unknown("its terminals' largest wire is not known".into()),
        _ => Fit::Yes,
    }
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
fn fits(plan: &Plan, index: usize, gauge: Gauge) -> Option<bool> {
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
pub(in crate::engine) fn gauge_step(run: &Run, gauge: Gauge) -> Step {
    let mut edits = vec![Edit::Set { at: at("runs", &run.id, "gauge"), to: Value::Gauge(gauge) }];
    for leg in legs(run) {
        let thinner = leg.gauge.as_ref().and_then(|g| g.known()).is_some_and(|g| area_mm2(*g) < area_mm2(gauge));
        if thinner {
            edits.push(Edit::Set { at: leg_path(run, leg, "gauge"), to: Value::Nothing });
        }
    }
    Step { name: format!("{}: {gauge}", run.id), edits }
}
