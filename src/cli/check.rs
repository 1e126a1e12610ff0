//! `check`: findings as text for any terminal, and the exit code.

use std::path::Path;

use super::output::{self, Failure};
use crate::engine::{Engine, Level, Report};
use crate::papers::cures;
use crate::plan::Plan;
use crate::wording::lines::wrap;
use crate::wording::told::{self, Cures};

/// Prints the findings of a plan, or of one with fields changed first.
pub(super) fn run(path: &Path, sets: &[&str]) -> Result<u8, Failure> {
    let plan = super::read::changed_plan(path, sets)?;
    let name = super::read::name(path);
    let name = if sets.is_empty() { name } else { format!("{name} with {}", sets.join(", ")) };
    let stock = super::stock();
    let mut engine = Engine::on_all_threads();
    let report = engine.evaluate(&plan, &stock);
    let mut cures = cures::of(&mut engine, &plan, &stock);
    output::say(text(&name, &plan, &report, &mut cures).as_bytes())?;
    Ok(code(&report))
}

fn code(report: &Report) -> u8 {
    if report.findings.iter().any(|f| f.level == Level::Stop) {
        super::STOP
    } else if report.not_checked.is_empty() {
        super::FINE
    } else {
        super::NOT_CHECKED
    }
}

/// The findings as text: what was checked against what, findings by level, unknowns by device, checks not run.
#[must_use]
pub fn text(name: &str, plan: &Plan, report: &Report, cures: Cures<'_>) -> String {
    let mut out = String::new();
    wrap(&mut out, "plan    ", name);
    if !plan.job.title.is_empty() {
        wrap(&mut out, "job     ", &plan.job.title);
    }
    wrap(&mut out, "basis   ", &format!("{} rules{}", plan.job.basis, told::changed_rules(plan)));
    wrap(&mut out, "places  ", &told::places(plan));
    wrap(&mut out, "coldest ", &told::coldest(plan, report));
    wrap(&mut out, "checked ", &told::inventory(plan, report));
    wrap(&mut out, "found   ", &told::counts(report));
    told::found(&mut out, plan, report, cures);
    out.push('\n');
    wrap(&mut out, "", told::CAUTION);
    out
}
