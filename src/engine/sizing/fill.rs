//! Fuses, bonds and sense leads that have no size yet get one, and the runs are sized for them. A fuse that brings a stop
//! is left open again; what had no gauge and was sized for it stays, what had one gets no thinner by it.

use std::collections::BTreeSet;

use crate::engine::Engine;
use crate::engine::circuit::Circuit;
use crate::engine::context::at as at_field;
use crate::engine::resistance::{fuse_path, fuses, leg_path, legs};
use crate::plan::{Edit, Plan, Step};

use super::make::made_of;
use super::settle::{Around, At};
use super::unknown::{OpenFuse, open_fuses};
use super::{FILLED, adds_stop, is_new_stop};

/// Most times that fuses of unknown rating are filled in.
const MOST_FILLS: usize = 4;
/// Most times that what was left open is filled in anew, until nothing comes of it.
const MOST_ROUNDS: usize = 4;

impl Engine {
    /// Fills in what has no size, again from what comes of it, as the plan would be sized again.
    pub(super) fn fill(&mut self, around: &Around<'_>, at: &mut At) {
        for _ in 0..MOST_ROUNDS {
            let open = open_fuses(&at.plan);
            let mut filled = self.filled_and_sized(around, at.clone(), &open);
            self.leave_open(around, &mut filled, &at.plan, &open);
            if adds_stop(around.before, &filled.report) || !filled.standing.is_better_than(&at.standing) {
                break;
            }
            *at = filled;
            self.passes(around, at);
        }
    }

    /// What has no size gets one, the runs are sized for it, and the fuses once more for the currents that are known then.
    fn filled_and_sized(&mut self, around: &Around<'_>, mut at: At, open: &[OpenFuse]) -> At {
        for _ in 0..MOST_FILLS {
            let edits = self.filled((around.was.plan, &at.plan), (around.stock, around.from_stock_only), open);
            let Ok(with) = at.plan.with(&Step { name: String::new(), edits: edits.clone() }) else { break };
            if with == at.plan {
                break;
            }
            let report = self.evaluate_wires(&with, around.stock);
            let standing = (around.stand)(&with, &report);
            at.take(edits, (with, report, standing));
            self.passes(around, &mut at);
        }
        at
    }

    /// Fuses that bring a stop on their run, or on one behind them, are as open as they were.
    fn leave_open(&mut self, around: &Around<'_>, at: &mut At, was: &Plan, open: &[OpenFuse]) {
        let mut left = BTreeSet::new();
        let (circuit, _) = Circuit::of(was);
        while left.len() < was.runs.len() {
            let stops = at.report.findings.iter().filter(|f| is_new_stop(around.before, f));
            let runs = stops.filter_map(|f| was.runs.iter().position(|r| f.run() == Some(r.id.as_str())));
            let culprit = |run: usize| {
                let ahead = circuit.links.get(run).into_iter().flat_map(|link| link.upstream.iter().rev().copied());
                let mut all = std::iter::once(run).chain(ahead);
                all.find(|i| !left.contains(i) && open.iter().any(|f| f.run == *i))
            };
            let culprits: BTreeSet<usize> = runs.filter_map(culprit).collect();
            if culprits.is_empty() {
                return;
            }
            left.extend(culprits.iter().copied());
            let mut edits: Vec<Edit> = culprits.iter().flat_map(|i| reopened(was, *i, open)).collect();
            let ways = circuit.judged_ways().filter(|way| way.runs.iter().any(|i| culprits.contains(i)));
            let along: BTreeSet<usize> = ways.flat_map(|way| way.runs.iter().copied()).collect();
            edits.extend(along.iter().flat_map(|i| as_thick(was, &at.plan, *i)));
            let Ok(with) = at.plan.with(&Step { name: String::new(), edits: edits.clone() }) else { return };
            let report = self.evaluate_wires(&with, around.stock);
            let standing = (around.stand)(&with, &report);
            at.take(edits, (with, report, standing));
        }
    }
}

/// What makes a run's wire what it was, where it has got thinner.
fn as_thick(was: &Plan, now: &Plan, run: usize) -> Vec<Edit> {
    let (Some(old), Some(new)) = (was.runs.get(run), now.runs.get(run)) else { return Vec::new() };
    let (Some(had), Some(has)) = (made_of(old), made_of(new)) else { return Vec::new() };
    if has.area_mm2() >= had.area_mm2() - 1e-9 {
        return Vec::new();
    }
    let of_legs = legs(old).flat_map(|leg| ["gauge", "per_pole", "bundled"].map(|field| leg_path(old, leg, field)));
    let paths = std::iter::once(at_field("runs", &old.id, "gauge")).chain(of_legs);
    paths.filter_map(|at| was.get_at(&at).map(|to| Edit::Set { at, to })).collect()
}

/// What makes a run's open fuses what they were.
fn reopened(was: &Plan, run: usize, open: &[OpenFuse]) -> Vec<Edit> {
    let Some(run_was) = was.runs.get(run) else { return Vec::new() };
    let own = fuses(run_was).filter(|f| open.iter().any(|o| o.run == run && o.id == f.id));
    let paths = own.flat_map(|f| FILLED.map(|field| fuse_path(run_was, f, field)));
    paths.filter_map(|at| was.get_at(&at).map(|to| Edit::Set { at, to })).collect()
}
