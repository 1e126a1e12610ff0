//! What the drawing alone decides, and what the loads alone: remembered apart from lengths, gauges and prices.

use std::sync::Arc;

use crate::plan::{Figure, Plan};

use super::circuit::Circuit;
use super::context::Context;
use super::converted::Shares;
use super::day::{Usage, usage};
use super::extract::{Audited, Drawing, Extract};
use super::finding::Finding;
use super::isolation::{Supplies, supplies};
use super::loads;
use super::memo::{Memo, Stage};
use super::report::LoadFigures;

/// What follows from the drawing.
pub(super) struct Drawn {
    pub(super) circuit: Stage<Circuit>,
    /// What is wrong with it.
    pub(super) findings: Vec<Finding>,
    /// Of every load.
    pub(super) supplies: Vec<Supplies>,
}

/// Drawings by what they are made of.
pub(super) type Drawings = Memo<Plan, Drawn>;

impl Drawn {
    /// What follows from a plan's drawing.
    pub(super) fn of(drawings: &mut Drawings, plan: &Plan) -> Stage<Self> {
        let kept = drawings.seek(|kept| Drawing::alike(kept, plan));
        kept.unwrap_or_else(|| drawings.keep(Drawing::of(plan), Self::of_drawing))
    }

    fn of_drawing(drawing: &Plan) -> Self {
        let (circuit, findings) = Circuit::of(drawing);
        let supplies = supplies(drawing, &circuit);
        Self { circuit, findings, supplies }
    }
}

/// What the loads ask for.
#[derive(Debug, PartialEq)]
pub struct Audit {
    pub figures: Arc<LoadFigures>,
    /// By month and hour.
    pub usage: Figure<Usage>,
}

/// Audits by what they read.
pub(super) type Audits = Memo<(Plan, Shares), Audit>;

impl Audit {
    /// What a plan's loads ask for, and of it what converters on their ways in the drawing lose.
    pub(super) fn of(audits: &mut Audits, c: &Context<'_>) -> Stage<Self> {
        let shares = Shares::of(c);
        let kept = audits.seek(|(plan, by)| *by == shares && Audited::alike(plan, c.plan));
        kept.unwrap_or_else(|| audits.keep((Audited::of(c.plan), shares), |(plan, shares)| Self::with(plan, shares)))
    }

    /// The same, from all of a plan without converters.
    #[must_use]
    pub fn of_loads(plan: &Plan) -> Self {
        Self::with(plan, &Shares::default())
    }

    fn with(plan: &Plan, shares: &Shares) -> Self {
        let c = Context::of(plan, Stage::new(Circuit::default()), &[]);
        Self { figures: Arc::new(loads::figures(&c, shares)), usage: usage(&c, shares) }
    }
}
