//! A plan from a file or from standard input.

use std::io::Read;
use std::path::Path;

use super::output::Failure;
use crate::plan::Plan;
use crate::plan::format::LARGEST_TEXT;

/// Reads a plan; `-` is standard input.
///
/// # Errors
/// What is wrong, where (line, column, field), and what is accepted.
pub(super) fn plan(path: &Path) -> Result<Plan, Failure> {
    let name = name(path);
    let bytes = bytes(path).map_err(|why| Failure::usage(format!("{name}: {why}")))?;
    let text = std::str::from_utf8(&bytes).map_err(|e| Failure::usage(format!("{name}: {}", not_utf8(&bytes, e))))?;
    Plan::from_text(text).map_err(|e| Failure::usage(format!("{name}: {e}")))
}

/// What the plan is called in messages.
pub(super) fn name(path: &Path) -> String {
    if is_input(path) { "standard input".into() } else { path.display().to_string() }
}

fn is_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

fn bytes(path: &Path) -> Result<Vec<u8>, String> {
    let most = LARGEST_TEXT as u64 + 1;
    let mut bytes = Vec::new();
    if is_input(path) {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(|e| e.to_string())?;
        return Ok(bytes);
    }
    let metadata = std::fs::metadata(path).map_err(|e| e.to_string())?;
    if metadata.is_dir() {
        return Err("is a directory; a plan is one file".into());
    }
    let file = std::fs::File::open(path).map_err(|e| e.to_string())?;
    file.take(most).read_to_end(&mut bytes).map_err(|e| e.to_string())?;
    Ok(bytes)
}

fn not_utf8(bytes: &[u8], e: std::str::Utf8Error) -> String {
    let before = bytes.get(..e.valid_up_to()).unwrap_or_default();
    let line = before.iter().filter(|b| **b == b'\n').count() + 1;
    format!("line {line}: the text is not UTF-8 (byte {}); a plan is UTF-8 text", e.valid_up_to() + 1)
}
