//! Links between batteries in parallel, sized when all runs are.

use crate::engine::Engine;
use crate::engine::circuit::Circuit;
use crate::engine::context::Context;
use crate::engine::links::bought;
use crate::plan::{BANK_ID, Edit, Plan, State, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::stock::Stock;

use super::brings_any;
use super::make::Make;
use super::proposal::SizedRun;
use super::spools::{self, Piece, can_cut};
use super::truck::Served;

/// The pieces that the links of a new bank are cut as; none where it has none, or not all about them is known.
fn pieces(plan: &Plan) -> Vec<Piece> {
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &[]);
    let Some(Ok(links)) = bought(&c) else { return Vec::new() };
    let each = Piece::of(links.gauge, &links.leg, links.metres / links.count.max(1.0));
    vec![each; links.count as usize]
}

/// What the truck has for runs: its spools without what the links of the bank are cut from.
pub(super) fn left(plan: &Plan, stock: &Stock) -> Stock {
    spools::without(stock, &pieces(plan))
}

/// Whether the truck's spools have the links of a plan beside all that they serve of its runs.
fn are_on_spools(plan: &Plan, stock: &Stock) -> bool {
    let links = pieces(plan);
    let served = Served::made(stock, plan.runs.iter().enumerate(), |_| false);
    let all: Vec<Piece> = served.by.iter().flat_map(|(_, of)| of).chain(&links).copied().collect();
    !links.is_empty() && can_cut(stock, &all)
}

impl Engine {
    /// New links between batteries in the thinnest gauge that meets their rules: where their own is thinner or not known, and where
    /// nothing comes of a thinner one. From the truck alone the thinnest of those that its spools have beside what its runs take.
    pub(super) fn links_sized(&mut self, plan: &Plan, van: Option<&Stock>, stock: &Stock, step: &Step) -> Option<Edit> {
        let now = plan.bank.link_gauge.as_ref().filter(|_| plan.bank.state == State::New)?.known().copied();
        let with = plan.with(step).ok()?;
        let before = self.evaluate_wires(&with, stock);
        let least = before.bank.links.as_ref()?.least.clone().ok().flatten()?;
        let edit = |to: Gauge| Edit::Set { at: "bank.link_gauge".into(), to: Value::Gauge(to) };
        let served = |g: &Gauge| match van {
            None => *g == least,
            Some(truck) => with.with(&Step::one("", edit(*g))).is_ok_and(|with| are_on_spools(&with, truck)),
        };
        let enough = least.ladder().filter(|g| area_mm2(*g) >= area_mm2(least) - 1e-9);
        let chosen = enough.into_iter().find(served).filter(|chosen| Some(*chosen) != now)?;
        let is_thinner = now.is_some_and(|now| area_mm2(now) > area_mm2(chosen));
        // What is thick enough already is not laid thicker for want of a spool.
        if van.is_some() && !is_thinner && now.is_some_and(|now| area_mm2(now) >= area_mm2(least) - 1e-9) {
            return None;
        }
        if is_thinner {
            let after = self.evaluate_wires(&with.with(&Step::one("", edit(chosen))).ok()?, stock);
            return (!brings_any(&before, &after)).then_some(edit(chosen));
        }
        Some(edit(chosen))
    }
}

/// The links between batteries, where they are sized.
pub(super) fn row(old: &Plan, new: &Plan) -> Option<SizedRun> {
    let made = |plan: &Plan| {
        let gauge = *plan.bank.link_gauge.as_ref()?.known()?;
        Some(Make { gauge, per_pole: plan.bank.links_each.and_then(|n| n.known().map(|n| n.0 as u32)).unwrap_or(1) })
    };
    let gauge = (made(old), made(new));
    let why = "links between the batteries: what they carry, and how even they leave the batteries".into();
    (gauge.0 != gauge.1).then_some(SizedRun { run: BANK_ID.parse().ok()?, gauge, fuse: (None, None), why })
}
