//! What is printed: a plan and its report as text for paper. Touches no file.

use crate::engine::{Bearing, Engine, Report};
use crate::plan::Plan;
use crate::stock::{Settings, Stock};
use crate::wording::told::Cures;

mod checks;
pub mod cures;
mod isolation;
mod sheet;
mod wires;

/// What papers are made of.
#[derive(Clone, Copy)]
pub struct Matter<'a> {
    /// What the plan is called.
    pub name: &'a str,
    pub plan: &'a Plan,
    pub report: &'a Report,
    /// What each changed rule value bears on.
    pub bearings: &'a [Bearing],
    /// Whose paper it is.
    pub shop: &'a Settings,
}

/// One paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paper {
    /// Its file.
    pub name: &'static str,
    pub text: String,
}

/// Makes one paper.
type Make = fn(&Matter<'_>, Cures<'_>) -> String;

/// Every paper and who makes it.
const PAPERS: [(&str, Make); 3] = [
    ("checks.txt", checks::text),
    ("wires.txt", |matter, _| wires::text(matter)),
    ("isolation.txt", |matter, _| isolation::text(matter)),
];

/// Every paper of a plan.
pub fn all(matter: &Matter<'_>, cures: Cures<'_>) -> Vec<Paper> {
    PAPERS.iter().map(|(name, make)| Paper { name, text: sheet::fit(&make(matter, cures)) }).collect()
}

/// The same of a plan by itself: the engine is asked for all that they are made of.
#[must_use]
pub fn of(name: &str, plan: &Plan, stock: &Stock) -> Vec<Paper> {
    let mut engine = Engine::on_all_threads();
    let report = engine.evaluate(plan, stock);
    let bearings = engine.bearings(plan, stock);
    let matter = Matter { name, plan, report: &report, bearings: &bearings, shop: &stock.settings };
    all(&matter, &mut cures::of(&mut engine, plan, stock))
}

/// The files that papers are.
pub fn names() -> impl Iterator<Item = &'static str> {
    PAPERS.iter().map(|(name, _)| *name)
}
