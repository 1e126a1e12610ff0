//! Links between batteries in parallel, sized when all runs are.

use crate::engine::Engine;
use crate::plan::{BANK_ID, Edit, Plan, State, Step, Value};
use crate::standards::conductor::area_mm2;
use crate::stock::Stock;

use super::brings_any;
use super::make::Make;
use super::proposal::SizedRun;

impl Engine {
    /// New links between batteries in the thinnest gauge that meets their rules: where their own is thinner or not known, and where
    /// nothing comes of a thinner one. What the truck carries is counted for runs alone: from there they stay as they are.
    pub(super) fn links_sized(&mut self, plan: &Plan, stock: &Stock, step: &Step) -> Option<Edit> {
        let now = plan.bank.link_gauge.as_ref().filter(|_| plan.bank.state == State::New)?.known().copied();
        let with = plan.with(step).ok()?;
        let before = self.evaluate_wires(&with, stock);
        let least = before.bank.links.as_ref()?.least.clone().ok().flatten().filter(|least| Some(*least) != now)?;
        let edit = Edit::Set { at: "bank.link_gauge".into(), to: Value::Gauge(least) };
        if now.is_some_and(|now| area_mm2(now) > area_mm2(least)) {
            let after = self.evaluate_wires(&with.with(&Step::one("", edit.clone())).ok()?, stock);
            return (!brings_any(&before, &after)).then_some(edit);
        }
        Some(edit)
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
