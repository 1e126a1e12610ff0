//! The other way to lose less between a controller, charger or inverter and its bank: it stands nearer, and what comes to
//! it from the other side is longer.

use crate::engine::circuit::{Link, Node, Role, path_at};
use crate::engine::context::Context;
use crate::engine::report::Report;
use crate::engine::resistance::{ambient_of, conductors_ohm, leg_path, legs, length_m};
use crate::engine::sizing::make::{Make, makes, takes};
use crate::engine::sizing::make_edits;
use crate::plan::entry::{self, Units};
use crate::plan::job::LengthUnit;
use crate::plan::{Edit, FieldPath, Id, Run, Step, Value};
use crate::standards::conductor::Gauge;
use crate::units::METRES_PER_FOOT;

use super::path::has_a_place;

/// Shortest wire that is offered, m: nearer than this such a device rarely stands.
/// Source: common practice, 2 ft.
pub(in crate::engine) const LEAST_M: f64 = 0.6;

/// The device so much nearer that its drop meets the target, with the thinnest wire that leaves a usable length.
///
/// Source: drop is proportional to length and to one over the area; a conductor's rise over its air, at one current, is
/// taken to fall with its area, which is less than it does.
pub(super) fn step(c: &Context<'_>, index: usize, run: &Run, gauge: Gauge, before: &Report) -> Option<Step> {
    let moves = |l: &&Link| matches!(l.role, Role::ControllerOutput | Role::ChargerOutput | Role::InverterFeed);
    let node = c.circuit.links.get(index).filter(moves)?.far().filter(|n| has_a_place(*n))?;
    let (device, figures) = (path_at(c.plan, node)?, before.runs.get(index)?);
    let device = device.split_last().1;
    let long_m = length_m(run).ok()?;
    let wire_c = figures.wire_c.as_ref().ok()?.0;
    let amps = figures.drop_at_a.as_ref().ok()?.0;
    let wire_v = |at_c: f64| Some(conductors_ohm(c, run, at_c).ok()? * amps);
    let air_c = legs(run).filter_map(|l| ambient_of(c, run, l).ok()).fold(f64::MIN, f64::max);
    let path_v = figures.path_drop_v.as_ref().ok()?.0;
    let may_v = figures.target_pct? / 100.0 * figures.base_v.as_ref().ok()?.0 - (path_v - wire_v(wire_c)?);
    let now = Make::as_drawn(run, gauge);
    let mut all: Vec<Make> = makes(c, index).into_iter().filter(|m| takes(c, index, *m).may()).collect();
    all.retain(|m| m.area_mm2() > now.area_mm2() - 1e-9);
    all.sort_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()));
    let length = |m: &Make| {
        let thicker = m.area_mm2() / now.area_mm2().max(1e-9);
        let at_c = air_c.min(wire_c) + (wire_c - air_c).max(0.0) / thicker;
        let exact = long_m * may_v * thicker / wire_v(at_c)?.max(1e-9);
        let tick = if c.plan.job.length_unit == LengthUnit::Feet { METRES_PER_FOOT / 4.0 } else { 0.05 };
        Some((exact / tick).floor() * tick)
    };
    let (make, short_m) = all.iter().filter_map(|m| Some((*m, length(m)?))).find(|(_, m)| *m >= LEAST_M)?;
    let far_fuse = run.protection.iter().any(|f| f.distance_m.known().is_some_and(|d| d.0 > short_m));
    if short_m >= long_m - 1e-6 || far_fuse || run.measured_ohm.is_some() {
        return None;
    }
    let mut edits = if make == now { Vec::new() } else { make_edits(run, make, true) };
    let set = |at: FieldPath, m: f64| Edit::Set { at, to: Value::Number(m) };
    for leg in legs(run) {
        edits.push(set(leg_path(run, leg, "length_m"), leg.length_m.known()?.0 * short_m / long_m));
    }
    if let Some(m) = run.negative_length_m.as_ref().and_then(|k| k.known()) {
        edits.push(set(FieldPath::new(format!("runs.{}.negative_length_m", run.id)), m.0 * short_m / long_m));
    }
    let mut name = format!("{device} nearer: {} {short_m:.2} m of {make}", run.id);
    for (run, more) in longer(c, node, long_m - short_m)? {
        name.push_str(&format!(", {run} longer"));
        edits.extend(more);
    }
    Some(Step { name: entry::said(Units::of(c.plan), &name, &[short_m]), edits })
}

/// What it costs on the other side: each run from the panels or the alternator that ends on it is longer by as much. AC
/// wire is not drawn.
fn longer<'a>(c: &'a Context<'_>, node: Node, by_m: f64) -> Option<Vec<(&'a Id, Vec<Edit>)>> {
    let mut all = Vec::new();
    for (run, link) in c.plan.runs.iter().zip(&c.circuit.links) {
        let ends = [link.from, link.to].contains(&Some(node));
        if !matches!(link.role, Role::Array | Role::ChargerInput) || !ends {
            continue;
        }
        // The leg that ends on it.
        let at_to = link.to == Some(node);
        let leg = if at_to { legs(run).last() } else { legs(run).next() }?;
        let to = Value::Number(leg.length_m.known()?.0 + by_m);
        let mut edits = vec![Edit::Set { at: leg_path(run, leg, "length_m"), to }];
        if let Some(m) = run.negative_length_m.as_ref().and_then(|k| k.known()) {
            let at = FieldPath::new(format!("runs.{}.negative_length_m", run.id));
            edits.push(Edit::Set { at, to: Value::Number(m.0 + by_m) });
        }
        all.push((&run.id, edits));
    }
    Some(all)
}
