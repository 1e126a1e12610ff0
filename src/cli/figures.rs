//! `figures`: the answer as JSON, with fields changed first where asked.

use std::path::Path;

use super::output::{self, Failure};
use crate::plan::{Edit, FieldPath, Plan, Step, entry};

/// Prints the figures of a plan.
pub(super) fn run(path: &Path, sets: &[&str]) -> Result<u8, Failure> {
    let plan = sets.iter().try_fold(super::read::plan(path)?, |plan, set| changed(&plan, set))?;
    let report = super::evaluate(&plan);
    let mut text = format!("{:#}", crate::figures::json(&plan, &report));
    text.push('\n');
    output::say(text.as_bytes())?;
    Ok(super::FINE)
}

/// The plan with one field changed, as `PATH=VALUE` says.
fn changed(plan: &Plan, set: &str) -> Result<Plan, Failure> {
    let Some((path, text)) = set.split_once('=') else {
        return Err(Failure::usage(format!("--set {set:?}: PATH=VALUE is needed, such as runs.W2.gauge=\"6 AWG\"")));
    };
    let at = FieldPath::new(path.trim());
    let refused = |e: crate::plan::Rejected| Failure::usage(format!("--set {e}"));
    let to = entry::parse(plan, &at, text.trim()).map_err(refused)?.value;
    plan.with(&Step::one(set, Edit::Set { at, to })).map_err(refused)
}
