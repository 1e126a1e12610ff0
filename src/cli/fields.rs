//! `fields`: every field of the plan, by words: the field table as text, and every rule value that a plan may change.

use super::output::{self, Failure};
use crate::plan::entry::unit_suffix;
use crate::plan::rules::{accepted as accepted_by, with_unit};
use crate::plan::{Kind, Meta, Plan, Record};
use crate::standards::kinds::Basis;
use crate::standards::rules::{self, Rule};
use crate::wording::lines::wrap;

/// Prints the fields whose path, label or help has every word.
pub(super) fn run(words: &[&str]) -> Result<u8, Failure> {
    let mut out = String::new();
    walk(&mut Plan::default(), "", words, &mut out);
    rules::all().for_each(|rule| rule_line(rule, words, &mut out));
    if out.is_empty() {
        return Err(Failure::usage(format!("no field has {:?}; without words every field is listed", words.join(" "))));
    }
    output::say(out.as_bytes())?;
    Ok(super::FINE)
}

fn walk(record: &mut dyn Record, prefix: &str, words: &[&str], out: &mut String) {
    for meta in record.metas() {
        line(&format!("{prefix}{}", meta.key), meta, words, out);
    }
    for name in record.part_names() {
        if let Some(part) = record.part_mut(name) {
            walk(part, &format!("{prefix}{name}."), words, out);
        }
    }
    for name in record.list_names() {
        if let Some(list) = record.list_mut(name) {
            list.push_blank();
            if let Some(item) = list.at_mut(0) {
                walk(item, &format!("{prefix}{name}.ID."), words, out);
            }
        }
    }
}

fn line(path: &str, meta: &Meta, words: &[&str], out: &mut String) {
    let whole = format!("{path} {} {}", meta.label, meta.help).to_lowercase();
    if words.iter().all(|w| whole.contains(&w.to_lowercase())) {
        let text = format!("{} Accepts {}.", meta.help, accepted(meta));
        out.push_str(path);
        out.push('\n');
        wrap(out, "    ", &text);
    }
}

/// A rule that a plan may set otherwise: its value and where it stands, by basis where they differ.
fn rule_line(rule: &Rule, words: &[&str], out: &mut String) {
    let path = format!("rules.{}.value", rule.id);
    let whole = format!("{path} {} {}", rule.label, rule.help).to_lowercase();
    if !words.iter().all(|w| whole.contains(&w.to_lowercase())) {
        return;
    }
    let of = |basis: &Basis| format!("{} by {}", with_unit(rule, rule.value(*basis)), rule.source_of(*basis));
    let mut said: Vec<(String, Vec<&str>)> = Vec::new();
    for basis in Basis::ALL {
        match said.iter_mut().find(|(text, _)| *text == of(basis)) {
            Some((_, bases)) => bases.push(basis.word()),
            None => said.push((of(basis), vec![basis.word()])),
        }
    }
    let said: Vec<String> = match said.as_slice() {
        [(all, _)] => vec![all.clone()],
        several => several.iter().map(|(text, bases)| format!("{text} ({})", bases.join(", "))).collect(),
    };
    let accepts = match rule.unit {
        "on/off" => accepted_by(rule),
        _ => format!("{} to {}", rule.least, rule.most),
    };
    out.push_str(&path);
    out.push('\n');
    wrap(out, "    ", &format!("{}: {}. {} Accepts {accepts}.", rule.label, said.join("; "), rule.help));
}

/// What a field accepts, in words.
fn accepted(meta: &Meta) -> String {
    let what = match meta.kind {
        Kind::Text => "text".into(),
        Kind::Number { quantity, least, most } => format!("{least} to {most}{}", unit_suffix(quantity)),
        Kind::Gauge => "a gauge such as \"10 AWG\" or \"16 mm2\"".into(),
        Kind::Words(words) => format!("one of: {}", words.join(", ")),
        Kind::Ref(lists) => format!("the name of an item of: {}", lists.join(", ")),
        Kind::Months => "months such as \"Nov-Mar\"".into(),
        Kind::Monthly { quantity, least, most } => {
            format!("twelve numbers, January first, each {least} to {most}{}", unit_suffix(quantity))
        }
        Kind::Strings => "strings such as \"3S2P P1\" or \"P1+P1 | P1+P2\"".into(),
        Kind::Lines => "lines of text".into(),
    };
    let unknown = if meta.unknown { "; \"?\" where it is not known" } else { "" };
    let absent = if meta.absent { "; may be left out" } else { "" };
    format!("{what}{unknown}{absent}")
}
