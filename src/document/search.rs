//! Answers that need many evaluations, cut into candidates that can be answered one by one, on any thread.

use std::sync::Arc;

use crate::engine::{Engine, Rung};
use crate::plan::{Edit, FieldPath, Id, Plan, Step, Value};
use crate::stock::Stock;
use crate::units::WattHours;

/// Days of the mean year that yearly figures are spread over.
const DAYS: f64 = 365.0;

/// What is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Goal {
    /// What the year harvests with each gauge of this run.
    Ladder { run: Id },
}

/// A question with all it needs: a plan, the stock beside it, and an engine that remembers.
#[derive(Clone)]
pub struct Ask {
    /// Counts questions; an older one is given up for a newer.
    pub generation: u64,
    /// A fork of the document's engine.
    pub engine: Engine,
    pub base: Arc<Plan>,
    pub stock: Arc<Stock>,
    pub goal: Goal,
}

impl Ask {
    /// The candidates, with the columns that need no year; the ones nearest to what the plan has come first, because
    /// they are looked at first.
    #[must_use]
    pub fn candidates(&mut self) -> Vec<Rung> {
        let Goal::Ladder { run } = &self.goal;
        let rungs = self.engine.ladder(&self.base, &self.stock, run);
        let here = rungs.iter().position(|r| r.current).unwrap_or(rungs.len() / 2);
        let mut placed: Vec<(usize, Rung)> = rungs.into_iter().enumerate().collect();
        placed.sort_by_key(|(i, _)| i.abs_diff(here));
        placed.into_iter().map(|(_, rung)| rung).collect()
    }

    /// Fills in the column that needs the year. A gauge that the plan refuses keeps it empty.
    pub fn answer(&mut self, rung: &mut Rung) {
        let Goal::Ladder { run } = &self.goal;
        let at = FieldPath::new("runs").join(run.as_str()).join("gauge");
        let step = Step::one("gauge", Edit::Set { at, to: Value::Gauge(rung.gauge) });
        if let Ok(plan) = self.base.with(&step) {
            let report = self.engine.evaluate(&plan, &self.stock);
            let day = report.year.harvest_kwh.map(|kwh| WattHours(kwh * 1000.0 / DAYS));
            rung.harvest_wh_day = Some(day);
        }
    }
}
