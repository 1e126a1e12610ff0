//! Plan -> Report: total, deterministic, without I/O. Findings, not errors.

pub mod finding;
pub mod report;

pub use finding::{Check, Finding, Level};
pub use report::{Report, Rung};

use crate::plan::{Id, Plan, Step};
use crate::stock::Stock;

/// The engine with its remembered stages. Cloning forks it (for threads and candidates).
#[derive(Clone, Default)]
pub struct Engine {}

impl Engine {
    /// The whole answer.
    pub fn evaluate(&mut self, plan: &Plan, stock: &Stock) -> Report {
        let _ = (plan, stock);
        Report::default()
    }

    /// The ladder of a run's gauges: the columns that need no year.
    pub fn ladder(&mut self, plan: &Plan, stock: &Stock, run: &Id) -> Vec<Rung> {
        let _ = (plan, stock, run);
        Vec::new()
    }

    /// Steps that would cure a finding and add no stop.
    pub fn cures(&mut self, plan: &Plan, stock: &Stock, finding: &Finding) -> Vec<Step> {
        let _ = (plan, stock, finding);
        Vec::new()
    }
}
