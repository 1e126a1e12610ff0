//! What was checked and what was found, as text for any terminal and for paper.

use std::fmt::Write;

use super::findings::{self, Count, Entry, Group};
use super::lines::wrap;
use super::naming::months;
use super::number::temperature;
use crate::engine::{Finding, Level, Report, Rules};
use crate::plan::entry::Units;
use crate::plan::rules::with_unit;
use crate::plan::{Known, Plan, Stay};
use crate::words::counted;

/// Said under every list of findings.
pub const CAUTION: &str = "These are checks of what was entered, against the rules named beside each finding. The \
                           equipment's instructions, the local code and a licensed person's judgement come before them.";

/// Names of the steps that would cure a finding, and what was tried in vain.
pub type Cured = (Vec<String>, String);

/// What cures a finding.
pub type Cures<'a> = &'a mut dyn FnMut(&Finding) -> Cured;

/// The places of a plan with their months, and what trees there are taken as.
#[must_use]
pub fn places(plan: &Plan) -> String {
    let stays: Vec<String> = plan.stays.iter().map(place).collect();
    if stays.is_empty() { "none entered".into() } else { stays.join("; ") }
}

fn place(stay: &Stay) -> String {
    let trees = stay.sky.taken_as().map_or(String::new(), |trees| format!(", {trees}"));
    format!("{} ({}){trees}", stay.place, months(stay))
}

/// The coldest air that limits are taken at, and on whose word.
#[must_use]
pub fn coldest(plan: &Plan, report: &Report) -> String {
    let shown = |c: f64| temperature(Units::of(plan), c);
    match &plan.job.coldest_c {
        None => match report.coldest_c {
            Some(c) => format!(
                "{} by the climate of its places: nobody entered where it is stored or driven (job.coldest_c)",
                shown(c.0)
            ),
            None => "? (job.coldest_c, or a place whose climate is known)".into(),
        },
        Some(Known::Unknown) => "? (job.coldest_c): what hangs on it is not checked".into(),
        Some(Known::Is(c)) => shown(c.0),
    }
}

/// Rules whose values the plan changes, with the values: `drop-array 5 % (3)`.
#[must_use]
pub fn changed_rules(plan: &Plan) -> String {
    let changed: Vec<String> = Rules::changed(plan)
        .iter()
        .map(|c| match (with_unit(c.rule, c.value), with_unit(c.rule, c.standard)) {
            (value, standard) if c.rule.unit == "on/off" => format!("{} {value} ({standard})", c.rule.id),
            (value, _) => format!("{} {value} ({})", c.rule.id, c.standard),
        })
        .collect();
    if changed.is_empty() { String::new() } else { format!("; changed in this plan: {}", changed.join(", ")) }
}

/// What there was to check.
#[must_use]
pub fn inventory(plan: &Plan, report: &Report) -> String {
    let bank = &report.bank;
    format!(
        "{}, {}, bank {} V {} Ah, {}, {}",
        counted(plan.arrays.len(), "array"),
        counted(plan.controllers.len(), "controller"),
        plain(bank.volts.as_ref().ok().map(|v| v.0)),
        plain(bank.amp_hours.as_ref().ok().map(|a| a.0)),
        counted(plan.runs.len(), "run"),
        counted(plan.loads.len(), "load")
    )
}

/// To a tenth at most; `?` where it is not known.
fn plain(number: Option<f64>) -> String {
    number.map_or("?".into(), |x| ((x * 10.0).round() / 10.0).to_string())
}

/// How many findings of each level, unknowns, and checks that did not run.
#[must_use]
pub fn counts(report: &Report) -> String {
    let count = |level| Count::of(report, level);
    format!(
        "stop {}, caution {}, note {}, unknown {}, not checked {}, waiting {}",
        count(Level::Stop),
        count(Level::Caution),
        count(Level::Note),
        report.unknown.len(),
        report.not_checked.len(),
        report.waiting.len()
    )
}

/// Findings, checks not run and unknowns by level and place, each with what the screen says of it.
pub fn found(out: &mut String, plan: &Plan, report: &Report, cures: Cures<'_>) {
    let entries = findings::entries(plan, report);
    for group in Group::ALL {
        let mut place = None;
        for entry in entries.iter().filter(|e| e.group == group) {
            if place.is_none() {
                // Writing to a string cannot fail.
                let _ = writeln!(out, "\n{}", group.heading(findings::count(&entries, group)));
            }
            if place != Some(entry.place) {
                place = Some(entry.place);
                let _ = writeln!(out, "  -- {}", entry.place.words());
            }
            said(out, plan, entry, cures);
        }
    }
}

fn said(out: &mut String, plan: &Plan, entry: &Entry<'_>, cures: Cures<'_>) {
    let Some(finding) = entry.finding() else {
        wrap(out, "  ", &entry.said(plan));
        return;
    };
    let accepted = if entry.is_accepted() { "  (accepted)" } else { "" };
    wrap(out, "  ", &format!("{}  {}{accepted}", finding.subject, finding.check.id));
    wrap(out, "      ", &entry.said(plan));
    for (label, text) in entry.lines(plan) {
        wrap(out, &format!("      {label}: "), &text);
    }
    let (cures, in_vain) = cures(finding);
    for cure in cures {
        wrap(out, "      cure: ", &cure);
    }
    if !in_vain.is_empty() {
        wrap(out, "      tried in vain: ", &in_vain);
    }
}
