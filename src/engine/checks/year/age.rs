//! Batteries that are no longer new: no figure takes anything off for their age.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Outcome;
use crate::plan::{FieldPath, Known};
use crate::standards::source::COMMON_PRACTICE;
use crate::words::counted;

/// Batteries as old as that are as good as new. Source: our own choice.
const NEW_YEARS: f64 = 1.0;
/// Lead as old as that is mostly replaced before anything is judged by it. Source: common practice, 4 to 5 years.
const LEAD_YEARS: f64 = 4.0;

pub(super) static AGED: Check = Check {
    id: "bank-age-not-counted",
    safety: false,
    say: |f| {
        let lead = if f.name(0) == "lead" && f.n(0) >= LEAD_YEARS {
            "; lead of 4 to 5 years is mostly replaced before a solar system is judged by it"
        } else {
            ""
        };
        format!(
            "BK: {} old, and no figure takes capacity off for that: a test tells what is left, entered as its Ah it counts{lead}",
            counted(format!("{:.1}", f.n(0)).trim_end_matches(".0"), "year")
        )
    },
};

/// A bank whose age is known.
pub(super) fn aged(w: &Work<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    let years = bank.age_years.as_ref().and_then(Known::known).map_or(0.0, |years| years.0);
    if years <= NEW_YEARS || !bank.state.stays() {
        return Ok(None);
    }
    let kind = match bank.chemistry.known() {
        Some(chemistry) if !chemistry.is_lithium() => "lead",
        _ => "",
    };
    let subject = FieldPath::new("bank.age_years");
    Ok(Some(Finding::new(&AGED, Level::Note, subject, &[years], &COMMON_PRACTICE).named([kind])))
}
