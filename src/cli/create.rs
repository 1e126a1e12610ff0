//! `new`: a plan file that was not there before.

use std::io::Write;
use std::path::Path;

use super::output::{self, Failure};
use crate::plan::Plan;
use crate::plan::samples;

/// Writes a blank plan or a sample to a new file.
pub(super) fn run(path: &Path, from: Option<&str>) -> Result<u8, Failure> {
    let text = match from {
        None => Plan::default().to_text(),
        Some(name) => match samples::sample(name) {
            Some(sample) => sample.text.to_string(),
            None => return Err(Failure::usage(format!("there is no sample {name:?}"))),
        },
    };
    if path.as_os_str() == "-" {
        output::say(text.as_bytes())?;
        return Ok(super::FINE);
    }
    let failed = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::AlreadyExists => {
            Failure::writing(format!("{}: exists already; new never replaces a file", path.display()))
        }
        _ => Failure::writing(format!("{}: {e}", path.display())),
    };
    let mut file = std::fs::OpenOptions::new().write(true).create_new(true).open(path).map_err(failed)?;
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).map_err(failed)?;
    Ok(super::FINE)
}
