//! Fuses where a run has none and has to have one: each is put there without a rating, so that it is filled in as every
//! open one is. Where none fits, the run stays as it is, and its row says so.

use std::collections::BTreeSet;

use crate::engine::circuit::{Circuit, Role};
use crate::engine::cures::{UNFUSED, ends_without, put};
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::resistance::fuses;
use crate::engine::{Engine, Level};
use crate::plan::wiring::FuseAt;
use crate::plan::{Edit, Known, Plan, Run, Step};
use crate::stock::Stock;

use super::adds_stop;
use super::larger::Van;
use super::settle::{At, last_of_each};
use super::unknown::open_fuses;

/// Most times that all runs are sized for other fuses put. Source: our own choice; more than that many runs of which each
/// alone cannot have one is a drawing that no sizing mends.
const MOST_TURNS: usize = 12;

impl Engine {
    /// All runs sized, and then with a fuse on each that has none and has to have one, as far as one fits.
    pub(super) fn settled(&mut self, plan: &Plan, stock: &Stock, from_stock_only: bool) -> Step {
        let before = self.evaluate_wires(plan, stock);
        let mut at = self.settle((plan, &before), plan, (stock, from_stock_only));
        self.put_fuses((plan, &before), (stock, from_stock_only), &mut at);
        self.with_larger_fuses((plan, &before), (stock, from_stock_only), &mut at);
        self.with_fuses_weighed((stock, from_stock_only), &mut at);
        // What stood in the way of one may be gone with that.
        if !bare(&at.plan, &at.report).is_empty() {
            self.put_fuses((plan, &before), (stock, from_stock_only), &mut at);
        }
        Step { name: "size all".into(), edits: last_of_each(at.edits) }
    }

    /// A fuse on each run that has none and has to have one, as far as one fits and it is better so.
    fn put_fuses(&mut self, (plan, before): (&Plan, &Report), van: Van<'_>, at: &mut At) {
        let mut never = BTreeSet::new();
        for _ in 0..MOST_TURNS {
            let more: BTreeSet<usize> = bare(&at.plan, &at.report).difference(&never).copied().collect();
            let inserts = insert(&at.plan, &at.report, &more);
            let Ok(start) = at.plan.with(&Step { name: String::new(), edits: inserts.clone() }) else { break };
            if inserts.is_empty() {
                break;
            }
            let next = self.settle((plan, before), &start, van);
            let open = open_fuses(&next.plan);
            let unfilled: Vec<usize> = more.iter().copied().filter(|i| open.iter().any(|f| f.run == *i)).collect();
            let is_better = next.standing.is_better_than(&at.standing) && !adds_stop(before, &next.report);
            match (unfilled.is_empty(), is_better) {
                (false, _) => never.extend(unfilled),
                (true, false) => never.extend(more),
                (true, true) => {
                    let edits = [std::mem::take(&mut at.edits), inserts, next.edits.clone()].concat();
                    *at = At { edits, ..next };
                    never.clear();
                }
            }
        }
    }
}

/// The stop that says that a run must have a fuse.
fn stop<'a>(report: &'a Report, run: &Run) -> Option<&'a Finding> {
    let stops =
        report.findings.iter().filter(|f| f.check.id == UNFUSED && f.level == Level::Stop && f.accepted.is_none());
    let path = format!("runs.{}", run.id);
    stops.into_iter().find(|f| f.subject.as_str() == path)
}

/// Whether a run lies on a loop: one that has a fuse may want another at its other end.
fn is_looped(report: &Report, index: usize) -> bool {
    report.runs.get(index).and_then(|r| r.proposed.as_ref()).is_some_and(|p| p.looped)
}

/// The runs without any fuse that a stop says must have one; of those on loops such as lack one at either end.
fn bare(plan: &Plan, report: &Report) -> BTreeSet<usize> {
    let runs = plan.runs.iter().enumerate();
    let without = runs.filter(|(i, run)| fuses(run).next().is_none() || is_looped(report, *i));
    without.filter(|(_, run)| stop(report, run).is_some()).map(|(i, _)| i).collect()
}

/// A fuse of no known rating at the source's end of some runs; at both ends of a link between two batteries; on a loop where the
/// stop says that there is none.
///
/// Source: rules, section 4: the battery end of anything; a run between two batteries at each.
fn insert(plan: &Plan, report: &Report, runs: &BTreeSet<usize>) -> Vec<Edit> {
    let (circuit, _) = Circuit::of(plan);
    let of = |i: &usize| {
        let (Some(run), Some(link)) = (plan.runs.get(*i), circuit.links.get(*i)) else { return Vec::new() };
        if let Some(stop) = stop(report, run).filter(|_| is_looped(report, *i)) {
            let puts = ends_without(run, stop).into_iter().map(|at| put(run, at, Known::Unknown, Known::Unknown));
            return puts.collect();
        }
        let both = link.role == Role::BatteryLink;
        let ends = [(FuseAt::From, link.near_from || both), (FuseAt::To, !link.near_from || both)];
        let ends = ends.into_iter().filter(|(_, is)| *is);
        ends.map(|(at, _)| put(run, at, Known::Unknown, Known::Unknown)).collect()
    };
    runs.iter().flat_map(of).collect()
}
