//! `fields`: every field of the plan, by words: the field table as text.

use super::output::{self, Failure};
use super::wrap::wrap;
use crate::plan::entry::unit_suffix;
use crate::plan::{Kind, Meta, Plan, Record};

/// Prints the fields whose path, label or help has every word.
pub(super) fn run(words: &[&str]) -> Result<u8, Failure> {
    let mut out = String::new();
    walk(&mut Plan::default(), "", words, &mut out);
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

/// What a field accepts, in words.
fn accepted(meta: &Meta) -> String {
    let what = match meta.kind {
        Kind::Text => "text".into(),
        Kind::Number { quantity, least, most } => format!("{least} to {most}{}", unit_suffix(quantity)),
        Kind::Gauge => "a gauge such as \"10 AWG\" or \"16 mm2\"".into(),
        Kind::Words(words) => format!("one of: {}", words.join(", ")),
        Kind::Ref(lists) => format!("the name of an item of: {}", lists.join(", ")),
        Kind::Months => "months such as \"Nov-Mar\"".into(),
        Kind::Monthly { least, most } => format!("twelve numbers, January first, each {least} to {most}"),
        Kind::Strings => "strings such as \"3S2P P1\" or \"P1+P1 | P1+P2\"".into(),
        Kind::Lines => "lines of text".into(),
    };
    let unknown = if meta.unknown { "; \"?\" where it is not known" } else { "" };
    let absent = if meta.absent { "; may be left out" } else { "" };
    format!("{what}{unknown}{absent}")
}
