//! Answers that need many evaluations, cut into candidates that can be answered one by one, on any thread.

use std::sync::Arc;

use crate::arrange::Arrange;
use crate::engine::{Engine, LadderOf, Report, Rung};
use crate::plan::Plan;
use crate::stock::Stock;

/// A question with all it needs: a plan and its report, the stock beside it, and an engine that remembers.
#[derive(Clone)]
pub struct Ask {
    /// Counts questions; an older one is given up for a newer.
    pub generation: u64,
    /// A fork of the document's engine.
    pub engine: Engine,
    pub base: Arc<Plan>,
    /// The answer to `base`.
    pub before: Arc<Report>,
    pub stock: Arc<Stock>,
    /// The ladder that is climbed.
    pub of: LadderOf,
    /// Its rows, with the columns that need no year.
    pub rungs: Vec<Rung>,
}

impl Ask {
    /// The rows, taken out of the question; the ones nearest to what the plan has come first, because they are looked
    /// at first.
    #[must_use]
    pub fn candidates(&mut self) -> Vec<Rung> {
        let rungs = std::mem::take(&mut self.rungs);
        let here = rungs.iter().position(|r| r.current).unwrap_or(rungs.len() / 2);
        let mut placed: Vec<(usize, Rung)> = rungs.into_iter().enumerate().collect();
        placed.arrange_by_key(|(i, _)| i.abs_diff(here));
        placed.into_iter().map(|(_, rung)| rung).collect()
    }

    /// Fills in what needs the year, for as long as it is wanted.
    pub fn answer(&mut self, rung: &mut Rung, is_wanted: &dyn Fn() -> bool) {
        self.engine.finish_while(&self.base, &self.stock, &self.before, rung, is_wanted);
    }
}
