//! What is printed: a plan and its report as text for paper. Touches no file.

use crate::engine::{Bearing, Report};
use crate::plan::Plan;
use crate::stock::Settings;
use crate::wording::told::Cures;

mod checks;
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
