//! The other way to lose less between a controller, charger or inverter and its bank: it stands nearer, and what comes to
//! it from the other side is longer.

use crate::engine::capacity;
use crate::engine::circuit::{Link, Node, Role, path_at};
use crate::engine::context::Context;
use crate::engine::protection;
use crate::engine::report::Report;
use crate::engine::resistance::{ambient_of, conductors_ohm, fuses, leg_path, legs, length_m};
use crate::engine::sizing::make::{Make, made_of};
use crate::engine::sizing::make_edits;
use crate::plan::entry::{self, Units};
use crate::plan::job::LengthUnit;
use crate::plan::{Edit, FieldPath, Id, Known, Run, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::fuse::resistance_ohm;
use crate::units::{METRES_PER_FOOT, Number};

use super::fitting::fitting;
use super::path::{LEAST_MOVE_M, has_a_place};

/// Shortest wire that is offered, m: nearer than this such a device rarely stands.
/// Source: common practice, 2 ft.
pub(in crate::engine) const LEAST_M: f64 = 0.6;
/// The same where nothing of that length mends the drop, to the inch.
/// Source: our own choice, 1 ft: so near to the bus it may still be mounted.
pub(super) const CLOSE_M: f64 = METRES_PER_FOOT;
/// Shares of the length that is reckoned, where that turns out too long: wire of several zones is warmer than is reckoned with.
/// Source: our own choice; each is a whole answer.
const CLOSER: [f64; 3] = [1.0, 0.85, 0.7];

/// At a usual length, of the thinnest wire first, and close to the bus.
pub(super) type Moved = (Vec<Step>, Vec<Step>);

/// Makes of wire that a device is offered at a usual length with. Source: our own choice; each is a whole answer where more than
/// the first is weighed.
const MOST_MAKES: usize = 4;

/// The device so much nearer that its drop meets the target, with the thinnest wire that leaves a usable length; and close to the bus with
/// every gauge from its own on that its terminals take.
///
/// Source: drop is proportional to length and to one over the area; a conductor's rise over its air, at one current, is
/// taken to fall with its area, which is less than it does.
pub(super) fn steps(c: &Context<'_>, index: usize, run: &Run, gauge: Gauge, before: &Report) -> Option<Moved> {
    let moves = |l: &&Link| matches!(l.role, Role::ControllerOutput | Role::ChargerOutput | Role::InverterFeed);
    let node = c.circuit.links.get(index).filter(moves)?.far().filter(|n| has_a_place(*n))?;
    let figures = before.runs.get(index)?;
    let long_m = length_m(run).ok()?;
    let wire_c = figures.wire_c.as_ref().ok()?.0;
    let amps = figures.drop_at_a.as_ref().ok()?.0;
    let wire_v = |at_c: f64| Some(conductors_ohm(c, &c.circuit.counted(index, run), at_c).ok()? * amps);
    let air_c = legs(run).filter_map(|l| ambient_of(c, run, l).ok()).fold(f64::MIN, f64::max);
    let path_v = figures.path_drop_v.as_ref().ok()?.0;
    // A fuse smaller than its current wants is exchanged along with what is moved, and then loses less.
    let small = fuses(run).next().and_then(|f| Some((*f.family.known()?, f.amps_a.known()?.0)));
    let small = small.zip(figures.fuse_min_a.as_ref().ok()).filter(|((_, now), least)| *now < least.0);
    let spared_v = small
        .map_or(0.0, |((family, now), least)| (resistance_ohm(family, now) - resistance_ohm(family, least.0)) * amps);
    let may_v = figures.target_pct? / 100.0 * figures.base_v.as_ref().ok()?.0 - (path_v - spared_v - wire_v(wire_c)?);
    let now = Make::as_drawn(run, gauge);
    let mut all = fitting(c, index);
    all.retain(|m| m.area_mm2() > now.area_mm2() - 1e-9);
    let (tick, fine) = if c.plan.job.length_unit == LengthUnit::Feet {
        (METRES_PER_FOOT / 4.0, METRES_PER_FOOT / 12.0)
    } else {
        (0.05, 0.02)
    };
    let length = |m: &Make, tick: f64| {
        let thicker = m.area_mm2() / now.area_mm2().max(1e-9);
        let at_c = air_c.min(wire_c) + (wire_c - air_c).max(0.0) / thicker;
        let exact = long_m * may_v * thicker / wire_v(at_c)?.max(1e-9);
        // It is moved by a step that is worth it, or further than its drop asks for.
        Some((exact.min(long_m - LEAST_MOVE_M) / tick).floor() * tick)
    };
    let usual = all.iter().filter_map(|m| Some((*m, length(m, tick)?)).filter(|(_, m)| *m >= LEAST_M)).take(MOST_MAKES);
    let usual = usual.flat_map(|(make, m)| {
        let shorter = CLOSER.map(|share| (m * share / tick + 1e-9).floor() * tick);
        shorter.into_iter().filter(|m| *m >= LEAST_M).map(move |m| (make, m))
    });
    let close = all.iter().filter_map(|m| {
        let exact = length(m, fine)?;
        Some(CLOSER.iter().map(move |share| (*m, (exact * share / fine + 1e-9).floor() * fine)))
    });
    let close = close.flatten().filter(|(_, m)| *m >= CLOSE_M - 1e-9);
    let moved = |to: (Make, f64)| moved_to(c, run, node, (now, long_m), to);
    Some((usual.filter_map(moved).collect(), close.filter_map(moved).collect()))
}

/// A device so near that its run is so long, of such a make.
fn moved_to(
    c: &Context<'_>,
    run: &Run,
    node: Node,
    (now, long_m): (Make, f64),
    (make, short_m): (Make, f64),
) -> Option<Step> {
    let device = path_at(c.plan, node)?;
    let device = device.split_last().1;
    let far_fuse = run.protection.iter().any(|f| f.distance_m.known().is_some_and(|d| d.0 > short_m));
    if far_fuse || run.measured_ohm.is_some() {
        return None;
    }
    let mut edits = if make == now { Vec::new() } else { make_edits(run, make, true) };
    let set = |at: FieldPath, m: f64| Edit::Set { at, to: Value::Number(m) };
    for leg in legs(run) {
        edits.push(set(leg_path(run, leg, "length_m"), leg.length_m.known()?.0 * short_m / long_m));
    }
    if let Some(m) = run.negative_length_m.as_ref().and_then(|k| k.known()) {
        edits.push(set(FieldPath::of(&["runs", run.id.as_str(), "negative_length_m"]), m.0 * short_m / long_m));
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
pub(super) fn longer<'a>(c: &'a Context<'_>, node: Node, by_m: f64) -> Option<Vec<(&'a Id, Vec<Edit>)>> {
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
            let at = FieldPath::of(&["runs", run.id.as_str(), "negative_length_m"]);
            edits.push(Edit::Set { at, to: Value::Number(m.0 + by_m) });
        }
        all.push((&run.id, edits));
    }
    Some(all)
}

/// Copper, as a multiple of what the current wants, beyond which thicker wire is out of all proportion: three trade sizes.
/// Source: our own choice; two AWG numbers are 1.59 times the copper, three times that is 4.
const HEAVY: f64 = 4.1;

/// The thinnest copper of one pole that carries what may flow in a run, and leaves room for its fuse.
pub(super) fn wanted_mm2(c: &Context<'_>, index: usize, before: &Report) -> Option<f64> {
    let (run, figures) = (c.plan.runs.get(index)?, before.runs.get(index)?);
    let design_a = figures.design_a.as_ref().ok()?.0;
    let carries = |gauge: &Gauge| {
        let mut as_if = run.clone();
        as_if.gauge = Known::Is(*gauge);
        for leg in &mut as_if.legs {
            (leg.gauge, leg.per_pole) = (None, Known::Is(Number(1.0)));
        }
        let weakest = capacity::of_run(c, index, &as_if).map(|w| w.weakest.amps);
        let limits = weakest.and_then(|amps| protection::limits(c, index, &as_if, amps, design_a));
        limits.is_ok_and(|l| l.ampacity_a >= design_a && l.strict_a >= l.least_a)
    };
    let gauge = run.gauge.known()?;
    gauge.ladder().find(carries).map(area_mm2)
}

/// What a step lays in copper beyond what it takes away, mm2 m.
pub(super) fn copper_added(c: &Context<'_>, step: &Step) -> f64 {
    let Ok(with) = c.plan.with(step) else { return f64::MAX };
    let of = |run: &Run| Some(made_of(run)?.area_mm2() * length_m(run).ok()?);
    let all = |plan: &crate::plan::Plan| plan.runs.iter().filter_map(of).sum::<f64>();
    all(&with) - all(c.plan)
}

/// Whether a step lays far more copper somewhere than the current there wants.
pub(super) fn is_heavy(c: &Context<'_>, before: &Report, step: &Step) -> bool {
    copper_times(c, before, step) > HEAVY
}

/// Copper, as a multiple of what a run has and its current wants, that no cure names: nine AWG numbers.
/// Source: our own choice; twice [`HEAVY`]. A line that loses too much in so much copper wants other volts or another place.
pub(super) const MOST: f64 = 2.0 * HEAVY;

/// The most copper that a step lays anywhere, as a multiple of what is there, or of what the current there wants where that is more.
pub(super) fn copper_times(c: &Context<'_>, before: &Report, step: &Step) -> f64 {
    let Ok(with) = c.plan.with(step) else { return 0.0 };
    let mm2 = |r: &Run| made_of(r).map(Make::area_mm2);
    let times = |(i, run): (usize, &Run)| {
        let after = with.runs.iter().find(|r| r.id == run.id).and_then(mm2);
        let (was, is) = mm2(run).zip(after).filter(|(was, is)| *is > was + 1e-9)?;
        Some(is / wanted_mm2(c, i, before)?.max(was))
    };
    c.plan.runs.iter().enumerate().filter_map(times).fold(0.0, f64::max)
}
