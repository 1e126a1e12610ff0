//! Wire of a bond to the chassis: as thick as the largest battery lead; where no gauge is, two in parallel.

use crate::arrange::Arrange;
use crate::engine::circuit::{Circuit, Link, Node, Role};
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::resistance::legs;
use crate::engine::{Engine, cures};
use crate::plan::{Edit, Known, Plan, Run, Step};
use crate::standards::conductor::area_mm2;
use crate::stock::Stock;

use super::make::{Make, Takes, made_of, takes};
use super::settle::{Around, At, brings_any, unserved};
use super::spools::on_van;
use super::wire::{self, system};

/// What a bond of so much copper may be made of, the least first, each with what its terminals say: as many in each pole as
/// it is drawn with, else two of the same gauge.
///
/// Source: NEC 552.10(C)(4): as thick as the ungrounded battery lead; NEC 310.10: conductors in parallel are 1/0 AWG and
/// larger, the plan's rule holds the figure.
pub(in crate::engine) fn makes(plan: &Plan, run: &Run, mm2: f64) -> Vec<(Make, Takes)> {
    let Some(index) = plan.runs.iter().position(|r| r.id == run.id) else { return Vec::new() };
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &[]);
    let drawn = system(plan, run).ladder().map(|gauge| Make::as_drawn(run, gauge));
    let mut all: Vec<Make> = drawn.filter(|m| m.area_mm2() >= mm2 - 1e-9).collect();
    if all.is_empty() && (legs(run).all(wire::is_new) || !wire::has_new_leg(run)) {
        let two = system(plan, run).ladder().map(|gauge| Make { gauge, per_pole: 2 });
        let shares = |m: &Make| area_mm2(m.gauge) >= c.rules.parallel_least_mm2 && m.area_mm2() >= mm2 - 1e-9;
        all.extend(two.filter(shares));
    }
    all.arrange_by(|a, b| a.area_mm2().total_cmp(&b.area_mm2()));
    let said = |make: Make| (make, takes(&c, index, make));
    all.into_iter().map(said).filter(|(_, says)| !matches!(says, Takes::No(_))).collect()
}

/// The edits that make a bond as thick as that; none where nothing does that its terminals are known to take.
pub(super) fn edits(plan: &Plan, run: &Run, mm2: f64) -> Option<Vec<Edit>> {
    let (make, _) = makes(plan, run, mm2).into_iter().find(|(_, says)| says.may())?;
    let step = Step { name: String::new(), edits: wire::edits(run, make, false) };
    Some(cures::relaid(plan, step).edits)
}

/// Bonds that a thicker battery lead leaves too thin, and new ones that were so before. What lies there already is new wire then.
pub(super) fn grown(plan: &Plan, before: &Report, after: &Report) -> Vec<Edit> {
    let new = after.findings.iter().filter(|f| f.check.id == "bond-small");
    let is_new = |f: &&Finding| !before.findings.iter().any(|b| b.identity() == f.identity());
    let of = |f: &Finding| small(plan, f);
    let new = new.filter(|f| is_new(f) || of(f).is_some_and(|(run, _)| wire::is_all_new(run)));
    new.filter_map(|f| of(f).and_then(|(run, mm2)| edits(plan, run, mm2))).flatten().collect()
}

impl Engine {
    /// New bonds as thin as the largest battery lead allows. Whether any got thinner.
    pub(super) fn with_thinner_bonds(&mut self, around: &Around<'_>, at: &mut At) -> bool {
        let edits = self.thinner_bonds(&at.plan, around.stock, around.from_stock_only);
        let Ok(with) = at.plan.with(&Step { name: String::new(), edits: edits.clone() }) else { return false };
        if edits.is_empty() || (around.from_stock_only && !unserved(around, &at.plan, &with).is_empty()) {
            return false;
        }
        let report = self.evaluate_wires(&with, around.stock);
        let standing = (around.stand)(&with, &report);
        let is_better = standing.is_better_than(&at.standing) && !brings_any(&at.report, &report);
        if is_better {
            at.take(edits, (with, report, standing));
        }
        is_better
    }

    /// The edits that make new bonds as thin as the largest battery lead allows. How thick that is a bond as thin as can be
    /// says itself.
    fn thinner_bonds(&mut self, plan: &Plan, stock: &Stock, from_stock_only: bool) -> Vec<Edit> {
        let (circuit, _) = Circuit::of(plan);
        let mut thin = Step { name: String::new(), edits: Vec::new() };
        let at_post = plan.runs.iter().zip(&circuit.links).filter(|(_, l)| is_lead(l));
        let lead_mm2 = at_post.filter_map(|(run, _)| made_of(run)).map(Make::area_mm2).fold(0.0, f64::max);
        for (run, link) in plan.runs.iter().zip(&circuit.links) {
            let thinnest = system(plan, run).ladder().next();
            // One no thicker than a lead is thick enough at most.
            let is_thick = made_of(run).is_some_and(|m| m.area_mm2() > lead_mm2 + 1e-9);
            let may = link.role == Role::Bond && wire::is_all_new(run) && is_thick;
            if let Some(gauge) = thinnest.filter(|_| may) {
                thin.edits.extend(wire::edits(run, Make::as_drawn(run, gauge), true));
            }
        }
        let Some(with) = plan.with(&thin).ok().filter(|with| with != plan) else { return Vec::new() };
        let report = self.evaluate_wires(&with, stock);
        let mut edits = Vec::new();
        for (run, mm2) in report.findings.iter().filter_map(|f| small(plan, f)) {
            let carried = |m: &Make| !from_stock_only || on_van(stock, run, m.gauge);
            let makes = makes(plan, run, mm2).into_iter().filter(|(m, says)| says.may() && carried(m));
            let now = made_of(run).map_or(0.0, Make::area_mm2);
            if let Some((make, _)) = makes.into_iter().next().filter(|(m, _)| m.area_mm2() < now - 1e-9) {
                edits.extend(wire::edits(run, make, false));
            }
        }
        edits
    }
}

/// Whether a run is a lead from the bank's positive post.
fn is_lead(link: &Link) -> bool {
    let at_post = link.from == Some(Node::Bank) || link.to == Some(Node::Bank);
    at_post && !matches!(link.role, Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense)
}

/// A bond that a report says is too small, and the copper wanted.
pub(in crate::engine) fn small<'a>(plan: &'a Plan, f: &Finding) -> Option<(&'a Run, f64)> {
    let run =
        plan.runs.iter().find(|r| f.check.id == "bond-small" && f.subject.as_str() == format!("runs.{}", r.id))?;
    Some((run, f.n(1)))
}

/// Why a bond that is too small stays so; none where it is not.
pub(super) fn stays(plan: &Plan, run: &Run, report: &Report) -> Option<String> {
    let (_, mm2) = report.findings.iter().filter_map(|f| small(plan, f)).find(|(r, _)| r.id == run.id)?;
    let why = match makes(plan, run, mm2).into_iter().next() {
        _ if !legs(run).all(wire::is_new) => "its wire is there already".to_string(),
        Some((make, Takes::Ask(why))) => format!("{make} would do, {why}"),
        Some((make, _)) => format!("{make} would do"),
        None => "no gauge and no two in parallel have that, or its terminals do not take them".to_string(),
    };
    let state = if run.gauge == Known::Unknown { "left open" } else { "held" };
    Some(format!("{state}: {mm2:.1} mm2 wanted, as the largest battery lead: {why}"))
}
