//! What the roof's checks read of plan and report.

use crate::engine::report::RoofFigures;
use crate::engine::{Rules, Work};
use crate::plan::{Array, Figure, Panel, Roof};

/// All of it.
#[derive(Clone)]
pub(in crate::engine) struct Read {
    roof: Roof,
    arrays: Vec<Array>,
    panels: Vec<Panel>,
    rules: Rules,
    figures: RoofFigures,
    /// Of each array the controller that it feeds, and what each of those is offered.
    feeds: Vec<Option<usize>>,
    offered_kwh: Vec<Figure<f64>>,
}

impl Read {
    /// As it is now.
    pub(super) fn of(w: &Work<'_>) -> Self {
        let plan = w.context.plan;
        Self {
            roof: plan.roof.clone(),
            arrays: plan.arrays.clone(),
            panels: plan.panels.clone(),
            rules: w.context.rules.clone(),
            figures: w.report.roof.clone(),
            feeds: w.context.circuit.feeds.clone(),
            offered_kwh: w.report.controllers.iter().map(|k| k.offered_kwh.clone()).collect(),
        }
    }

    /// Whether it still is.
    pub(super) fn is(&self, w: &Work<'_>) -> bool {
        let plan = w.context.plan;
        self.feeds == w.context.circuit.feeds
            && self.offered_kwh.iter().eq(w.report.controllers.iter().map(|k| &k.offered_kwh))
            && self.rules == w.context.rules
            && self.figures == w.report.roof
            && self.arrays == plan.arrays
            && self.panels == plan.panels
            && self.roof == plan.roof
    }
}
