//! What every paper has: its head, numbered signs for changed rule values, and lines that fit.

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

use crate::engine::{Bearing, Changed, Rules};
use crate::plan::entry::{Units, seen};
use crate::plan::rules::with_unit;
use crate::plan::{Plan, Record};
use crate::wording::lines::{COLUMNS, wrap};
use crate::wording::number::UNKNOWN;
use crate::wording::told;
use crate::words::counted;

use super::Matter;

/// The head of a paper: what it is, of which plan, coach and date, by which rules, and what was not checked.
pub(super) fn head(out: &mut String, matter: &Matter<'_>, title: &str, not_run: &str) {
    let Matter { plan, report, .. } = *matter;
    wrap(out, "", title);
    out.push_str(&"=".repeat(title.len().min(COLUMNS)));
    out.push('\n');
    let shop = matter.shop;
    let shop = [&shop.shop_name, &shop.shop_address, &shop.shop_contact, &shop.shop_licence];
    line(out, "shop      ", &joined(shop.map(|text| text.trim().to_string())), "");
    line(out, "plan      ", matter.name, UNKNOWN);
    line(out, "job       ", plan.job.title.trim(), "");
    line(out, "customer  ", plan.job.customer.trim(), "");
    line(out, "coach     ", &coach(plan), "? (job.coach_kind)");
    line(out, "date      ", &date(plan), "? (job.surveyed)");
    line(out, "basis     ", &format!("{} rules{}", plan.job.basis, told::changed_rules(plan)), "");
    line(out, "found     ", &told::counts(report), "");
    let not_run = match report.not_checked.len() {
        0 => "every safety check ran on what was entered".into(),
        n => format!("{} not run: {not_run}", counted(n, "safety check")),
    };
    line(out, "safety    ", &not_run, "");
}

/// A labelled line; where there is nothing to say, what stands in its place, or no line at all.
fn line(out: &mut String, label: &str, text: &str, instead: &str) {
    match (text.trim(), instead) {
        ("", "") => {}
        ("", instead) => wrap(out, label, instead),
        (text, _) => wrap(out, label, text),
    }
}

/// What is not empty, with commas between.
pub(super) fn joined(parts: impl IntoIterator<Item = String>) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

/// A field of a record in the plan's units; empty where there is none, `?` where nobody knows it.
pub(super) fn field(plan: &Plan, record: &dyn Record, key: &str) -> String {
    let meta = record.metas().into_iter().find(|meta| meta.key == key);
    meta.zip(record.get(key)).map_or_else(String::new, |(meta, value)| seen(Units::of(plan), meta, &value))
}

fn coach(plan: &Plan) -> String {
    joined(["coach_kind", "coach_length_m", "coach_year"].map(|key| field(plan, &plan.job, key).trim().to_string()))
}

/// When it was surveyed, and the last that was done with it since.
fn date(plan: &Plan) -> String {
    let surveyed = plan.job.surveyed.trim();
    let surveyed = if surveyed.is_empty() { String::new() } else { format!("surveyed {surveyed}") };
    let last = plan.milestones.iter().rev().find(|m| !m.date.trim().is_empty());
    joined([surveyed, last.map_or_else(String::new, |m| format!("{} {}", m.kind, m.date.trim()))])
}

/// A heading within a paper.
pub(super) fn heading(out: &mut String, text: &str) {
    out.push('\n');
    wrap(out, "", text);
    out.push_str(&"-".repeat(text.width().min(COLUMNS)));
    out.push('\n');
}

/// A changed rule value in full: value, standard value, where that stands, and why it was changed.
pub(super) fn rule_said(plan: &Plan, changed: &Changed<'_>) -> String {
    let (rule, basis) = (changed.rule, plan.job.basis);
    format!(
        "{} ({}): {} in this plan; standard {} [{}]; reason: {}",
        rule.id,
        rule.label,
        with_unit(rule, changed.value),
        with_unit(rule, changed.standard),
        rule.source_of(basis),
        changed.said()
    )
}

/// The changed rule values that bear on something a paper shows, each with its sign.
pub(super) fn signed<'a>(matter: &Matter<'a>) -> Vec<(&'a Bearing, Changed<'a>)> {
    let changed = Rules::changed(matter.plan);
    let bears = matter.bearings.iter().filter(|b| b.runs.iter().any(|parts| !parts.is_empty()));
    bears.filter_map(|b| Some((b, changed.iter().find(|c| c.rule.id == b.rule.id).copied()?))).collect()
}

/// The sign of a changed rule value by its number.
pub(super) fn sign(number: usize) -> String {
    format!("*{}", number + 1)
}

/// The text in lines that fit on paper: what no space breaks is broken where it must be, and nothing moves the printer.
pub(super) fn fit(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + text.len() / 16);
    for line in text.lines() {
        let line: String = line.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let line = line.trim_end();
        let indent = line.len() - line.trim_start_matches(' ').len();
        let indent = indent.min(COLUMNS / 2);
        let mut column = 0;
        for grapheme in line.graphemes(true) {
            let width = grapheme.width();
            if column + width > COLUMNS {
                out.push('\n');
                out.extend(std::iter::repeat_n(' ', indent));
                column = indent;
            }
            out.push_str(grapheme);
            column += width;
        }
        out.push('\n');
    }
    out
}
