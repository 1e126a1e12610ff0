//! Cold ohms that many faults of one plan go through, reckoned once: of every run's poles, and of the bond to the frame.

use std::cell::OnceCell;

use crate::engine::circuit::{Node, Role, is_start, is_thing};
use crate::engine::context::Context;
use crate::engine::resistance::{out_ohm, poles_ohm};
use crate::plan::wiring::Return;
use crate::plan::{Figure, Plan, Run};

use super::{Back, beside};

/// Found when first asked for.
#[derive(Debug)]
pub(in crate::engine) struct Cold {
    poles: Vec<OnceCell<Figure<(f64, f64)>>>,
    frame: OnceCell<Figure<Option<f64>>>,
    any_start: OnceCell<bool>,
}

impl Cold {
    pub(in crate::engine) fn of(plan: &Plan) -> Self {
        Self { poles: vec![OnceCell::new(); plan.runs.len()], frame: OnceCell::new(), any_start: OnceCell::new() }
    }
}

/// Cold ohms of a run's poles: the positive, and the negative that is drawn with it.
pub(super) fn poles(c: &Context<'_>, index: usize) -> Figure<(f64, f64)> {
    let (Some(cell), Some(run)) = (c.cold.poles.get(index), c.plan.runs.get(index)) else { return Ok((0.0, 0.0)) };
    cell.get_or_init(|| poles_ohm(c, run, c.rules.fault_cable_c)).clone()
}

/// Cold ohms of a run's positive alone, which are known where what comes back over a chassis is not.
pub(super) fn out(c: &Context<'_>, index: usize, run: &Run) -> Figure<f64> {
    match run.return_path {
        Return::Chassis => out_ohm(c, run, c.rules.fault_cable_c),
        Return::Pair | Return::None => poles(c, index).map(|(out, _)| out),
    }
}

/// Whether there is any start battery, or what stands for one.
pub(super) fn any_start(c: &Context<'_>) -> bool {
    let is = |i: usize| is_start(c.plan, Node::Device(i));
    *c.cold.any_start.get_or_init(|| (0..c.plan.devices.len()).any(is))
}

/// The frame as the way back of a fault of the bank, where its negative is bonded to it.
pub(super) fn frame(c: &Context<'_>) -> Figure<Option<Back>> {
    let ohm = c.cold.frame.get_or_init(|| frame_ohm(c));
    ohm.as_ref().map(|ohm| ohm.map(Back::Frame)).map_err(Clone::clone)
}

fn frame_ohm(c: &Context<'_>) -> Figure<Option<f64>> {
    let mut least: Option<f64> = None;
    for (i, link) in c.circuit.links.iter().enumerate().filter(|(_, l)| l.role == Role::Bond) {
        // The bond of a case is no way back: its negative goes its own way.
        let post = |n: Node| if n == Node::Bank { Node::BankMinus } else { n };
        let ends = [link.from, link.to].into_iter().flatten().map(post);
        for place in ends.filter(|n| !is_thing(*n) && c.circuit.has_way_back(*n)) {
            let ohm = home_ohm(c, i, place)?;
            least = Some(least.map_or(ohm, |l| l.min(ohm)));
        }
    }
    Ok(least)
}

/// Cold ohms of a bond and of the negatives from its place to the post; batteries' own lie side by side.
fn home_ohm(c: &Context<'_>, bond: usize, place: Node) -> Figure<f64> {
    let mut ohm = poles(c, bond)?.0;
    for i in c.circuit.way_back(place).unwrap_or_default() {
        let (out, back) = poles(c, i)?;
        let own = if c.circuit.links.get(i).is_some_and(|l| l.role == Role::NegativeMain) { out } else { back };
        ohm += own / beside(c, i);
    }
    Ok(ohm)
}
