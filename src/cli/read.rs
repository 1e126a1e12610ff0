//! A plan from a file or from standard input.

use std::io::Read;
use std::path::Path;

use super::output::Failure;
use crate::plan::Plan;
use crate::plan::format::LARGEST_TEXT;
use crate::store::Store;

/// Reads a plan; `-` is standard input.
///
/// # Errors
/// What is wrong, where (line, column, field), and what is accepted.
pub(super) fn plan(path: &Path) -> Result<Plan, Failure> {
    if is_input(path) {
        return input().map_err(|why| Failure::usage(format!("{}: {why}", name(path))));
    }
    Store::real().load(path).map(|opened| opened.plan).map_err(|e| Failure::usage(e.to_string()))
}

/// What the plan is called in messages.
pub(super) fn name(path: &Path) -> String {
    if is_input(path) { "standard input".into() } else { path.display().to_string() }
}

pub(super) fn is_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

fn input() -> Result<Plan, String> {
    let mut bytes = Vec::new();
    let most = LARGEST_TEXT as u64 + 1;
    std::io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(|e| e.to_string())?;
    let text = String::from_utf8(bytes)
        .map_err(|e| format!("is not UTF-8 text (byte {})", e.utf8_error().valid_up_to() + 1))?;
    Plan::from_text(&text).map_err(|e| e.to_string())
}
