//! Paths that miss their target by so little that it shows only in the evaluated plan: with all the copper there is, too.

use std::collections::BTreeSet;

use crate::engine::circuit::Circuit;
use crate::engine::context::Context;
use crate::engine::currents::Terminals;
use crate::engine::runs;
use crate::plan::Plan;
use crate::stock::Stock;

use super::make::{made_of, makes_or_two};
use super::settle::of_plan;
use super::{Was, sizes, unknown, wire};

/// Ways, by their places among the circuit's, that runs were sized for and that lose more than their target with the thickest
/// wire in all that is sized on them; but for those given up already, and those that were out of reach from the start. From
/// the truck alone none: there each run takes the best that it has.
pub(super) fn ways(
    (was, start): (&Plan, &Plan),
    now: &Plan,
    (stock, from_stock_only): (&Stock, bool),
    given_up: &BTreeSet<usize>,
) -> BTreeSet<usize> {
    if from_stock_only {
        return BTreeSet::new();
    }
    let over = over_target(now);
    let resized = |i: &usize| was.runs.get(*i).map(made_of) != now.runs.get(*i).map(made_of);
    let (circuit, _) = Circuit::of(now);
    let sized = |n: &usize| circuit.judged_way(*n).is_some_and(|way| way.runs.iter().any(&resized));
    let doubtful: BTreeSet<usize> = over.difference(given_up).copied().filter(sized).collect();
    if doubtful.is_empty() {
        return doubtful;
    }
    let from_start = out_of_reach(start, was, stock, given_up);
    let mends = |n: usize| !over_target(&thickest(now, n)).contains(&n);
    doubtful.into_iter().filter(|n| !from_start.contains(n) && !mends(*n)).collect()
}

fn context(plan: &Plan) -> Context<'_> {
    let (circuit, _) = Circuit::of(plan);
    Context::of(plan, circuit, &[])
}

/// The ways of a plan that lose more than their target.
fn over_target(plan: &Plan) -> BTreeSet<usize> {
    let c = context(plan);
    let drops = runs::path_drops(&c, &runs::find(&c, &Terminals::of(&c)));
    let over = drops.iter().enumerate().filter(|(_, d)| d.pct.as_ref().is_ok_and(|pct| *pct > d.target_pct));
    over.map(|(n, _)| n).collect()
}

/// The ways that are reckoned out of reach before anything is sized: those get what the rules alone ask already.
fn out_of_reach(start: &Plan, was: &Plan, stock: &Stock, given_up: &BTreeSet<usize>) -> BTreeSet<usize> {
    let known = unknown::provisional(start, &unknown::open_fuses(start));
    let was = Was { plan: was, thins_back: false, by_price: false, given_up };
    of_plan(&known, was, stock, false, |_, problem| {
        problem.ways.iter().filter(|way| way.limit_v > way.target_v + 1e-6).map(|way| way.index).collect()
    })
}

/// The plan with the thickest wire that its terminals take in all of a way that is sized.
fn thickest(plan: &Plan, way: usize) -> Plan {
    let c = context(plan);
    let mut thick = plan.clone();
    let all = c.circuit.judged_way(way).and_then(|way| runs::counted(&c, way).ok()).unwrap_or_default();
    for i in all {
        let (Some(run), Some(link)) = (plan.runs.get(i), c.circuit.links.get(i)) else { continue };
        if !sizes(link.role) || run.measured_ohm.is_some() || !wire::has_new_leg(run) {
            continue;
        }
        let fit = makes_or_two(&c, i).into_iter().filter(|m| wire::fits(&c, i, *m));
        if let Some(make) = fit.max_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()))
            && let Some(slot) = thick.runs.get_mut(i)
        {
            *slot = wire::with_make(run, make);
        }
    }
    thick
}
