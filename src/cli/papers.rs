//! `papers`: what is printed, as text files in a folder.

use std::path::Path;

use super::output::{self, Failure};
use crate::papers;
use crate::store::Store;

/// Writes every paper of a plan to a folder, which is made where it is missing. Papers of the same names are replaced, all or none;
/// nothing else there is touched.
pub(super) fn run(path: &Path, folder: &Path) -> Result<u8, Failure> {
    let plan = super::read::plan(path)?;
    let name = super::read::name(path);
    // The folders it lies in are nobody's business on paper.
    let name =
        path.file_name().filter(|_| !super::read::is_input(path)).map_or(name, |file| file.display().to_string());
    let all = papers::of(&name, &plan, &super::stock());
    let texts: Vec<(&str, &str)> = all.iter().map(|paper| (paper.name, paper.text.as_str())).collect();
    Store::real().write_texts(folder, &texts).map_err(|e| Failure::writing(e.to_string()))?;
    let written: String = all.iter().map(|paper| format!("{}\n", folder.join(paper.name).display())).collect();
    output::say(written.as_bytes())?;
    Ok(super::FINE)
}
