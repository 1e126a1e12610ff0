//! Whether a step leaves another stop or caution of the plan worse than it was: that is no cure.

use crate::engine::accept;
use crate::engine::finding::{Finding, Level};
use crate::engine::report::Report;
use crate::engine::rule::Rules;
use crate::plan::Plan;

/// What is left worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    /// A caution, or the fault at a fuse that could not open it before either: what thicker wire, another fuse or a shunt in
    /// the way brings with it. For where nothing else cures, and beside what does where a stop is cured.
    Lesser,
    /// A stop.
    Stop,
}

/// What another answer has worse than the one before, by more than an accepted finding may worsen.
pub(super) fn by(plan: &Plan, finding: &Finding, before: &Report, after: &Report) -> Option<By> {
    let share = Rules::of(plan).accepted_worsening_pct / 100.0;
    let stands = |f: &&Finding| f.level != Level::Note && f.identity() != finding.identity();
    let then = before.findings.iter().filter(stands);
    let now = |f: &Finding| after.findings.iter().find(|g| g.identity() == f.identity());
    let worse = then.filter(|f| now(f).is_some_and(|g| accept::is_worse(f, g, share)));
    let by = |f: &Finding| match f.level {
        Level::Stop if f.check.id != "interrupt-below-fault" => By::Stop,
        _ => By::Lesser,
    };
    worse.map(by).max_by_key(|by| *by == By::Stop)
}
