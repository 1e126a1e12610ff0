//! Fuses where a run has none and has to have one: each is put there without a rating, so that it is filled in as every
//! open one is. Where none fits, the run stays as it is, and its row says so.

use std::collections::BTreeSet;

use crate::engine::circuit::{Circuit, Role};
use crate::engine::cures::{UNFUSED, put};
use crate::engine::report::Report;
use crate::engine::resistance::fuses;
use crate::engine::{Engine, Level};
use crate::plan::wiring::FuseAt;
use crate::plan::{Edit, Known, Plan, Step};
use crate::stock::Stock;

use super::adds_stop;
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
        let mut never = BTreeSet::new();
        for _ in 0..MOST_TURNS {
            let more: BTreeSet<usize> = bare(&at.plan, &at.report).difference(&never).copied().collect();
            let inserts = insert(&at.plan, &more);
            let Ok(start) = at.plan.with(&Step { name: String::new(), edits: inserts.clone() }) else { break };
            if inserts.is_empty() {
                break;
            }
            let next = self.settle((plan, &before), &start, (stock, from_stock_only));
            let open = open_fuses(&next.plan);
            let unfilled: Vec<usize> = more.iter().copied().filter(|i| open.iter().any(|f| f.run == *i)).collect();
            let is_better = next.standing.is_better_than(&at.standing) && !adds_stop(&before, &next.report);
            match (unfilled.is_empty(), is_better) {
                (false, _) => never.extend(unfilled),
                (true, false) => never.extend(more),
                (true, true) => {
                    let edits = [std::mem::take(&mut at.edits), inserts, next.edits.clone()].concat();
                    at = At { edits, ..next };
                    never.clear();
                }
            }
        }
        self.with_larger_fuses((plan, &before), (stock, from_stock_only), &mut at);
        Step { name: "size all".into(), edits: last_of_each(at.edits) }
    }
}

/// The runs without any fuse that a stop says must have one.
fn bare(plan: &Plan, report: &Report) -> BTreeSet<usize> {
    let says = |path: &str| {
        let mut own = report.findings.iter().filter(|f| f.check.id == UNFUSED && f.subject.as_str() == path);
        own.any(|f| f.level == Level::Stop && f.accepted.is_none())
    };
    let without = plan.runs.iter().enumerate().filter(|(_, run)| fuses(run).next().is_none());
    without.filter(|(_, run)| says(&format!("runs.{}", run.id))).map(|(i, _)| i).collect()
}

/// A fuse of no known rating at the source's end of some runs; at both ends of a link between two batteries.
///
/// Source: rules, section 4: the battery end of anything; a run between two batteries at each.
fn insert(plan: &Plan, runs: &BTreeSet<usize>) -> Vec<Edit> {
    let (circuit, _) = Circuit::of(plan);
    let of = |i: &usize| {
        let (Some(run), Some(link)) = (plan.runs.get(*i), circuit.links.get(*i)) else { return Vec::new() };
        let both = link.role == Role::BatteryLink;
        let ends = [(FuseAt::From, link.near_from || both), (FuseAt::To, !link.near_from || both)];
        let ends = ends.into_iter().filter(|(_, is)| *is);
        ends.map(|(at, _)| put(run, at, Known::Unknown, Known::Unknown)).collect()
    };
    runs.iter().flat_map(of).collect()
}
