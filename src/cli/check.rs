//! `check`: findings as text for any terminal, and the exit code.

use std::collections::HashMap;
use std::fmt::Write;
use std::path::Path;

use super::output::{self, Failure};
use super::wrap::wrap;
use crate::document::findings::{self, Count, Entry, Group};
use crate::engine::{Engine, Finding, Level, Report, Rules};
use crate::plan::entry::Units;
use crate::plan::{FieldPath, Known, Plan, Stay};

/// Findings of one check whose cures are tried: twenty, fewer in a plan of very many runs. Source: our own choice; each takes some
/// ten evaluations of the plan, longer the more is in it, and who has more of a kind has one thing to mend.
fn tried_of_a_kind(plan: &Plan) -> usize {
    (2400 / plan.runs.len().max(1)).clamp(4, 20)
}

/// Said under every list of findings.
const CAUTION: &str = "These are checks of what was entered, against the rules named beside each finding. The \
                       equipment's instructions, the local code and a licensed person's judgement come before them.";

/// Prints the findings of a plan, or of one with fields changed first.
pub(super) fn run(path: &Path, sets: &[&str]) -> Result<u8, Failure> {
    let plan = super::read::changed_plan(path, sets)?;
    let name = super::read::name(path);
    let name = if sets.is_empty() { name } else { format!("{name} with {}", sets.join(", ")) };
    let stock = super::stock();
    let mut engine = Engine::on_all_threads();
    let report = engine.evaluate(&plan, &stock);
    let most = tried_of_a_kind(&plan);
    let mut tried: HashMap<&str, usize> = HashMap::new();
    let mut cures = |finding: &Finding| {
        let times = tried.entry(finding.check.id).or_default();
        *times += 1;
        if *times > most {
            return (vec![not_tried(most, &finding.subject)], String::new());
        }
        let found = engine.cures_tried(&plan, &stock, finding);
        (found.steps.iter().map(|step| step.name.clone()).collect(), found.in_vain())
    };
    output::say(text(&name, &plan, &report, &mut cures).as_bytes())?;
    Ok(code(&report))
}

/// What stands in the place of cures that were not tried.
fn not_tried(most: usize, subject: &FieldPath) -> String {
    format!("not tried here, as {most} of this kind were; the full screen tries those of {subject}")
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

/// Names of the steps that would cure a finding.
pub type Cures<'a> = &'a mut dyn FnMut(&Finding) -> (Vec<String>, String);

/// The findings as text: what was checked against what, findings by level, unknowns by device, checks not run.
#[must_use]
pub fn text(name: &str, plan: &Plan, report: &Report, cures: Cures<'_>) -> String {
    let mut out = String::new();
    header(&mut out, name, plan, report);
    found(&mut out, plan, report, cures);
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
    let stays: Vec<String> = plan.stays.iter().map(place).collect();
    wrap(out, "places  ", &if stays.is_empty() { "none entered".into() } else { stays.join("; ") });
    let coldest = match &job.coldest_c {
        None => match report.coldest_c {
            Some(c) => {
                let shown = crate::tui::words::temperature(Units::of(plan), c.0);
                format!(
                    "{shown} by the climate of its places: nobody entered where it is stored or driven (job.coldest_c)"
                )
            }
            None => "? (job.coldest_c, or a place whose climate is known)".into(),
        },
        Some(Known::Unknown) => "? (job.coldest_c): what hangs on it is not checked".into(),
        Some(Known::Is(c)) => crate::tui::words::temperature(Units::of(plan), c.0),
    };
    wrap(out, "coldest ", &coldest);
    wrap(out, "checked ", &inventory(plan, report));
    let count = |level| Count::of(report, level);
    wrap(
        out,
        "found   ",
        &format!(
            "stop {}, caution {}, note {}, unknown {}, not checked {}, waiting {}",
            count(Level::Stop),
            count(Level::Caution),
            count(Level::Note),
            report.unknown.len(),
            report.not_checked.len(),
            report.waiting.len()
        ),
    );
}

/// A stay: its place, its months, and what trees there are taken as.
fn place(stay: &Stay) -> String {
    let trees = stay.sky.taken_as().map_or(String::new(), |trees| format!(", {trees}"));
    format!("{} ({}){trees}", stay.place, stay.months)
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

/// Findings, checks not run and unknowns by level and place, each with what the screen says of it.
fn found(out: &mut String, plan: &Plan, report: &Report, cures: Cures<'_>) {
    let entries = findings::entries(plan, report);
    for group in Group::ALL {
        let mut place = None;
        for entry in entries.iter().filter(|e| e.group == group) {
            if place.is_none() {
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
    for (label, text) in entry.lines() {
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
