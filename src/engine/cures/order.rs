//! In which order steps are offered, and which of them others make needless.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::plan::{Plan, Step};
use crate::stock::Stock;

use super::{controller, kept, settings};

/// Findings whose steps are offered by what the year harvests with them, the most first.
const BY_HARVEST: [&str; 4] = ["unlike-panels", "cold-voc-over-limit", "pwm-panel-volts-high", "isc-over-input"];
/// Findings against which another device is offered after all that leaves it.
const WIRED_FIRST: [&str; 5] =
    ["fuse-below-design", "conductor-below-current", "cold-voc-over-limit", "pwm-panel-volts-high", "isc-over-input"];

/// Whether what is offered already does with less what a step does: where another fuse alone cures, copper beside it mends
/// nothing, nor do more fuses; nor does another fuse where thicker copper alone loses little enough, nor other links beside leads
/// of the bank that are only moved.
pub(super) fn is_needless(finding: &Finding, offered: &[Step], step: &Step) -> bool {
    let has = |start: String| offered.iter().any(|s| s.name.starts_with(&start));
    if let Some((run, _)) = step.name.split_once(" with fuse: ") {
        return has(format!("{run} fuse: ")) || (finding.check.id == "drop-over-target" && has(format!("{run}: ")));
    }
    if step.name.starts_with("bank leads at opposite corners and ") {
        return has("bank leads at opposite corners".into());
    }
    step.name.starts_with("larger fuses: ") && offered.iter().any(|s| s.name.contains(" fuse: "))
}

/// The steps that bring nothing and after them those that do, the nearest at hand first.
pub(super) fn in_order(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    steps: &mut Vec<Step>,
    kept: kept::Kept,
) {
    if BY_HARVEST.contains(&finding.check.id) {
        *steps = settings::by_the_year(engine, plan, stock, (finding, before), std::mem::take(steps));
    }
    kept.put_after(steps);
    if WIRED_FIRST.contains(&finding.check.id) {
        // A fuse or a string is nearer at hand than another device.
        steps.arrange_by_key(controller::exchanges);
    }
}
