//! In which order steps are offered, and which of them others make needless.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::plan::{Edit, Plan, Step, Value};
use crate::stock::Stock;

use super::{controller, kept, settings, wire};

/// How near at hand a step is: what a technician does first comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    /// Wire, fuses, places and settings that leave the equipment what it is.
    Right,
    /// Another device.
    Exchange,
    /// Equipment that gives less than it was chosen for.
    Less,
}

/// Findings about what a charger pushes, or is fed by, rather than about the wiring it pushes through: there a setting that asks for
/// less is the nearest thing, before batteries that are bought or copper out of proportion.
const BY_SETTING: [&str; 2] = ["charge-over-limit", "dc-dc-drops-out"];

impl Rank {
    fn of(plan: &Plan, finding: &Finding, step: &Step) -> Self {
        if BY_SETTING.contains(&finding.check.id) {
            return Self::Right;
        }
        let less = |e: &Edit| match e {
            Edit::Set { at, to: Value::Number(to) } => {
                let gives = matches!(at.split_last().1, "out_a" | "watts_w") && !at.as_str().starts_with("loads.");
                gives && matches!(plan.get_at(at), Some(Value::Number(now)) if *to < now - 1e-9)
            }
            _ => false,
        };
        match () {
            () if step.edits.iter().any(less) => Self::Less,
            () if controller::exchanges(step) => Self::Exchange,
            () => Self::Right,
        }
    }
}

/// Steps as near at hand as they are; those alike as they were.
pub(super) fn by_rank(plan: &Plan, finding: &Finding, steps: &mut [Step]) {
    steps.arrange_by_key(|step| Rank::of(plan, finding, step));
}

/// Findings whose steps are offered by what the year harvests with them, the most first.
const BY_HARVEST: [&str; 4] = ["unlike-panels", "cold-voc-over-limit", "pwm-panel-volts-high", "isc-over-input"];

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
    // Cooler air for wire that is too thin, where thicker wire or another fuse does; for air that is too hot it is the cure.
    if wire::is_out_of_heat(step) && offered.iter().any(|s| !wire::is_out_of_heat(s)) {
        return true;
    }
    step.name.starts_with("larger fuses: ") && offered.iter().any(|s| s.name.contains(" fuse: "))
}

/// The steps that bring no caution and after them those that do, of each the nearest at hand first; of those as near at hand what
/// leans on the next rating up last.
pub(super) fn in_order(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    steps: &mut Vec<Step>,
    kept: &kept::Kept,
) {
    if BY_HARVEST.contains(&finding.check.id) {
        *steps = settings::by_the_year(engine, plan, stock, (finding, before), std::mem::take(steps));
    }
    kept.put_after(steps, false);
    by_rank(plan, finding, steps);
    let mut others = steps.clone();
    kept.put_after(&mut others, true);
    let mut last = others.split_off(steps.len());
    by_rank(plan, finding, &mut last);
    steps.extend(last);
}
