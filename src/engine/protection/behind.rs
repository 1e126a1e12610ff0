//! The fuses that stand behind a run's own.

use super::largest_behind;
use crate::engine::circuit::Role;
use crate::engine::context::Context;
use crate::engine::currents::step_down;
use crate::engine::resistance::fuses;

/// The largest rating behind a run to loads, over everything that hangs on it: a smaller one ahead of it opens first, and has the others
/// for nothing. A load that draws little on a lead of some pieces does not make the first of them a fuse of 1 A.
///
/// Source: common practice.
pub(super) fn largest_a(c: &Context<'_>, index: usize) -> f64 {
    let next = largest_behind(c, index).map_or(0.0, |(amps, _)| amps);
    let draws = |i: usize| c.circuit.links.get(i).is_some_and(|l| matches!(l.role, Role::LoadBranch | Role::PanelFeed));
    if !draws(index) {
        return next;
    }
    let behind = c.circuit.links.iter().enumerate().filter(|(_, l)| l.upstream.contains(&index));
    // Behind a converter other amps flow.
    let same = |i: usize| matches!((step_down(c, i), step_down(c, index)), (Ok(a), Ok(b)) if a == b);
    let all = behind.filter(|(i, _)| draws(*i) && same(*i)).filter_map(|(i, _)| c.plan.runs.get(i));
    all.filter_map(|run| Some(fuses(run).next()?.amps_a.known()?.0)).fold(next, f64::max)
}
