//! `figures`: the answer as JSON, with fields changed first where asked.

use std::path::Path;

use crate::engine::Engine;

use super::output::{self, Failure};

/// Prints the figures of a plan.
pub(super) fn run(path: &Path, sets: &[&str]) -> Result<u8, Failure> {
    let plan = super::read::changed_plan(path, sets)?;
    let (stock, mut engine) = (super::stock(), Engine::on_all_threads());
    let report = engine.evaluate(&plan, &stock);
    let mut json = crate::figures::json(&plan, &report);
    crate::figures::add_reliefs(&mut json, &report, &engine.reliefs(&plan, &stock, &report));
    crate::figures::add_made_up(&mut json, &engine.made_up(&plan, &stock, &report));
    let mut text = format!("{json:#}");
    text.push('\n');
    output::say(text.as_bytes())?;
    Ok(super::FINE)
}
