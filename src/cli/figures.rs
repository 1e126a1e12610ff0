//! `figures`: the answer as JSON, with fields changed first where asked.

use std::path::Path;

use super::output::{self, Failure};

/// Prints the figures of a plan.
pub(super) fn run(path: &Path, sets: &[&str]) -> Result<u8, Failure> {
    let plan = super::read::changed_plan(path, sets)?;
    let report = super::evaluate(&plan);
    let mut text = format!("{:#}", crate::figures::json(&plan, &report));
    text.push('\n');
    output::say(text.as_bytes())?;
    Ok(super::FINE)
}
