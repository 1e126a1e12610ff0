//! `check`: findings as text for any terminal, and the exit code.

use std::fmt::Write;
use std::path::Path;

use super::output::{self, Failure};
use super::wrap::wrap;
use crate::engine::{Finding, Level, Report, Rules};
use crate::plan::{FieldPath, Known, Plan};

/// Said under every list of findings.
const CAUTION: &str = "These are checks of what was entered, against the rules named beside each finding. The \
                       equipment's instructions, the local code and a licensed person's judgement come before them.";

/// Prints the findings of a plan.
pub(super) fn run(path: &Path) -> Result<u8, Failure> {
    let plan = super::read::plan(path)?;
    let report = super::evaluate(&plan);
    output::say(text(&super::read::name(path), &plan, &report).as_bytes())?;
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
pub fn text(name: &str, plan: &Plan, report: &Report) -> String {
    let mut out = String::new();
    header(&mut out, name, plan, report);
    for level in Level::ALL {
        findings(&mut out, *level, report);
    }
    not_checked(&mut out, report);
    unknowns(&mut out, report);
    out.push('\n');
    wrap(&mut out, "", CAUTION);
    out
}

fn header(out: &mut String, name: &str, plan: &Plan, report: &Report) {
    let job = &plan.job;
    wrap(out, "plan    ", name);
    if !job.title.is_empty() {
        wrap(out, "job     ", &job.title);
    }
    wrap(out, "basis   ", &format!("{} rules{}", job.basis, changed_rules(plan)));
    let stays: Vec<String> = plan.stays.iter().map(|s| format!("{} ({})", s.place, s.months)).collect();
    wrap(out, "places  ", &if stays.is_empty() { "none entered".into() } else { stays.join("; ") });
    let coldest = match &job.coldest_c {
        None => "as the climate of its places has it".into(),
        Some(Known::Unknown) => "?".into(),
        Some(Known::Is(c)) => format!("{} C", c.0),
    };
    wrap(out, "coldest ", &coldest);
    wrap(out, "checked ", &inventory(plan, report));
    let count = |level| report.findings.iter().filter(|f| f.level == level).count();
    wrap(
        out,
        "found   ",
        &format!(
            "stop {}, caution {}, note {}, unknown {}, not checked {}",
            count(Level::Stop),
            count(Level::Caution),
            count(Level::Note),
            report.unknown.len(),
            report.not_checked.len()
        ),
    );
}

/// Rules whose values the plan changes, with the values: `drop-array 5 % (3)`.
fn changed_rules(plan: &Plan) -> String {
    let changed: Vec<String> = Rules::changed(plan)
        .iter()
        .map(|c| format!("{} {} {} ({})", c.rule.id, c.value, c.rule.unit, c.standard))
        .collect();
    if changed.is_empty() { String::new() } else { format!("; changed in this plan: {}", changed.join(", ")) }
}

fn inventory(plan: &Plan, report: &Report) -> String {
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

fn counted(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

fn findings(out: &mut String, level: Level, report: &Report) {
    let found: Vec<&Finding> = report.findings.iter().filter(|f| f.level == level).collect();
    if found.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n{} {}", level.word().to_uppercase(), found.len());
    for finding in found {
        wrap(out, "  ", &format!("{}  {}", finding.subject, finding.check.id));
        wrap(out, "      ", &finding.text());
        wrap(out, "      source: ", &finding.source.to_string());
        if let Some(reason) = &finding.accepted {
            wrap(out, "      accepted: ", reason);
        }
    }
}

fn not_checked(out: &mut String, report: &Report) {
    if report.not_checked.is_empty() {
        return;
    }
    let _ = writeln!(out, "\nNOT CHECKED {} (safety checks that wait for a value)", report.not_checked.len());
    for missing in &report.not_checked {
        wrap(out, "  ", &format!("{}  {}", missing.subject, missing.check));
        wrap(out, "      waits for ", missing.waits_for.as_str());
    }
}

/// Unknown fields, once a device.
fn unknowns(out: &mut String, report: &Report) {
    if report.unknown.is_empty() {
        return;
    }
    let _ = writeln!(out, "\nUNKNOWN {}", report.unknown.len());
    let mut devices: Vec<(String, Vec<String>)> = Vec::new();
    for path in &report.unknown {
        let (device, field) = device_and_field(path);
        match devices.iter_mut().find(|(d, _)| *d == device) {
            Some((_, fields)) => fields.push(field),
            None => devices.push((device, vec![field])),
        }
    }
    for (device, fields) in devices {
        wrap(out, &format!("  {device}: "), &fields.join(", "));
    }
}

/// `runs.W2.legs.L1.length_m` belongs to `runs.W2`; `bank.unit_ah` to `bank`.
fn device_and_field(path: &FieldPath) -> (String, String) {
    let segments: Vec<&str> = path.segments().collect();
    let parts = ["job", "bank", "roof", "money"];
    let depth = if segments.first().is_some_and(|s| parts.contains(s)) { 1 } else { 2 };
    let (device, field) = segments.split_at(depth.min(segments.len()));
    (device.join("."), if field.is_empty() { "itself".into() } else { field.join(".") })
}
