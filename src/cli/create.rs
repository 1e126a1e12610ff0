//! `new`: a plan file that was not there before.

use std::path::Path;

use super::output::{self, Failure};
use crate::plan::samples;
use crate::plan::{Known, Plan};
use crate::store::Store;

/// Writes a blank plan or a sample to a new file; `-` is standard output.
pub(super) fn run(path: &Path, from: Option<&str>) -> Result<u8, Failure> {
    let plan = match from {
        None => blank(),
        Some(name) => {
            let sample = samples::sample(name).ok_or_else(|| Failure::usage(format!("there is no sample {name:?}")))?;
            Plan::from_text(sample.text).map_err(|e| Failure::usage(format!("{name}: {e}")))?
        }
    };
    if super::read::is_input(path) {
        output::say(plan.to_text().as_bytes())?;
    } else {
        Store::real().save_new(path, &plan).map_err(|e| Failure::writing(e.to_string()))?;
    }
    Ok(super::FINE)
}

/// A blank plan; of its bank's cold cut-off nobody has said that there is none.
fn blank() -> Plan {
    let mut plan = Plan::blank();
    plan.bank.charge_cutoff_c = Some(Known::Unknown);
    plan
}
