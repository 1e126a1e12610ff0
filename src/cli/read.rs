//! A plan from a file or from standard input.

use std::io::Read;
use std::path::Path;

use super::output::{self, Failure};
use crate::document::usual;
use crate::plan::format::{LARGEST_TEXT, LoadError, doubled};
use crate::plan::{Edit, FieldPath, Plan, Step, entry, rules};
use crate::store::Store;

/// Reads a plan; `-` is standard input. Names that stand twice in it are said, with their place.
///
/// # Errors
/// What is wrong, where (line, column, field), and what is accepted.
pub(super) fn plan(path: &Path) -> Result<Plan, Failure> {
    if is_input(path) {
        let (plan, remarks) = input().map_err(|why| Failure::usage(format!("{}: {why}", name(path))))?;
        remarks.iter().for_each(|said| output::complain(&format!("{}: {said}", name(path))));
        return Ok(plan);
    }
    let opened = Store::real().load(path).map_err(|e| Failure::usage(e.to_string()))?;
    opened.remarks.iter().for_each(|said| output::complain(&format!("{}: {said}", name(path))));
    Ok(opened.plan)
}

/// The same with fields changed first, each as `PATH=VALUE` says.
pub(super) fn changed_plan(path: &Path, sets: &[&str]) -> Result<Plan, Failure> {
    sets.iter().try_fold(plan(path)?, |plan, set| changed(&plan, set))
}

/// The plan with one field changed, as `PATH=VALUE` says.
fn changed(plan: &Plan, set: &str) -> Result<Plan, Failure> {
    let Some((path, text)) = set.split_once('=') else {
        return Err(Failure::usage(format!("--set {set:?}: PATH=VALUE is needed, such as runs.W2.gauge=\"6 AWG\"")));
    };
    let at = FieldPath::new(path.trim());
    let refused = |e: crate::plan::Rejected| Failure::usage(format!("--set {e}"));
    // A rule that the plan does not change yet is changed by naming it; why is asked for by the check.
    let new = rules::rule_at(&at).and_then(|rule| rules::change(plan, rule));
    let made = match new {
        Some(edit) => &plan.with(&Step::one(set, edit)).map_err(refused)?,
        None => plan,
    };
    let plan = made;
    let to = entry::parse(plan, &at, text.trim()).map_err(refused)?.value;
    // As on screen: a bank that becomes a lithium one is asked for its cold cut-off.
    let step = usual::with_cold_cut_off(plan, Step::one(set, Edit::Set { at, to }));
    plan.with(&step).map_err(refused)
}

/// What the plan is called in messages.
pub(super) fn name(path: &Path) -> String {
    if is_input(path) { "standard input".into() } else { path.display().to_string() }
}

pub(super) fn is_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

fn input() -> Result<(Plan, Vec<LoadError>), String> {
    let mut bytes = Vec::new();
    let most = LARGEST_TEXT as u64 + 1;
    std::io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(|e| e.to_string())?;
    let text = String::from_utf8(bytes)
        .map_err(|e| format!("is not UTF-8 text (byte {})", e.utf8_error().valid_up_to() + 1))?;
    let plan = Plan::from_text(&text).map_err(|e| e.to_string())?;
    Ok((plan, doubled(&text)))
}
