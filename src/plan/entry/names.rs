//! Words, names of items and conductor sizes, as people type them.

use super::Units;
use super::number::plain;
use crate::plan::BANK_ID;
use crate::plan::edit::record_in;
use crate::plan::field::{Meta, Record, Value};
use crate::plan::job::GaugeSystem;
use crate::plan::path::{FieldPath, Id};
use crate::plan::wiring::DeviceKind;
use crate::standards::conductor::{AWG, Gauge, MM2};
use crate::standards::fuse::trade_words;
use crate::standards::kinds::other_names;

/// Letters and digits only, lower case: how words are compared.
fn bones(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// One of the words, by any start of it that fits only one of them, or of what the trade calls it.
///
/// # Errors
/// The words, or those that fit.
pub(super) fn word(words: &[&'static str], text: &str) -> Result<&'static str, String> {
    let typed = bones(text);
    let is = |name: &str| bones(name) == typed;
    let called = |word: &str, fits: &dyn Fn(&str) -> bool| {
        trade_words(word).iter().chain(other_names(word)).any(|name| fits(name))
    };
    let named = words.iter().find(|w| is(w)).or_else(|| words.iter().find(|w| called(w, &is)));
    if let Some(word) = named {
        return Ok(word);
    }
    let starts = |name: &str| bones(name).starts_with(&typed);
    let fitting: Vec<&&'static str> = words.iter().filter(|w| starts(w) || called(w, &starts)).collect();
    let with_names = |words: &[&&'static str]| {
        let each = words.iter().map(|w| match trade_words(w).first() {
            Some(name) => format!("{w} ({name})"),
            None => (**w).to_string(),
        });
        each.collect::<Vec<_>>().join(", ")
    };
    let all: Vec<&&'static str> = words.iter().collect();
    match fitting.as_slice() {
        [one] if !typed.is_empty() => Ok(one),
        many if !typed.is_empty() && !many.is_empty() => {
            Err(format!("{text:?} could be any of: {}; type more of it", with_names(many)))
        }
        _ => Err(format!("{text:?} is none of: {}", with_names(&all))),
    }
}

/// Names that a reference to these lists (or parts) may hold.
pub(super) fn candidates(root: &dyn Record, lists: &[&str]) -> Vec<String> {
    let mut names = Vec::new();
    for name in lists {
        match root.list(name) {
            Some(list) => names.extend((0..list.len()).filter_map(|i| list.id_at(i)).map(Id::to_string)),
            None if *name == "bank" => {
                names.extend([BANK_ID.to_string(), format!("{BANK_ID}+"), format!("{BANK_ID}-")]);
            }
            None => {}
        }
    }
    names
}

/// Names of the legs of the run that something of `owner` is about.
pub(super) fn legs(root: &dyn Record, owner: &FieldPath) -> Vec<String> {
    let run = owner.split_last().0.split_last().0;
    record_in(root, &run).map(|run| candidates(run, &["legs"])).unwrap_or_default()
}

/// Of those the ones that fit what a field is about: a charger draws on an alternator, or on what nobody has named yet.
pub(super) fn fitting(root: &dyn Record, meta: &Meta, lists: &[&str]) -> Vec<String> {
    let mut names = candidates(root, lists);
    if meta.key == "alternator"
        && let Some(devices) = root.list("devices")
    {
        let kind_of = |id: &str| devices.position(id).and_then(|i| devices.at(i)).and_then(|device| device.get("kind"));
        let alternator = DeviceKind::Alternator.word();
        names.retain(|id| {
            matches!(kind_of(id), None | Some(Value::Unknown)) || kind_of(id) == Some(Value::Word(alternator))
        });
    }
    names
}

/// The name among the candidates; capitals need not be typed.
///
/// # Errors
/// The candidates.
pub(super) fn name(candidates: &[String], text: &str) -> Result<Id, String> {
    let text = text.trim();
    let found = candidates.iter().find(|c| *c == text).or_else(|| {
        let mut close = candidates.iter().filter(|c| c.eq_ignore_ascii_case(text));
        close.next().filter(|_| close.next().is_none())
    });
    match found {
        Some(name) => name.parse(),
        None if candidates.is_empty() => Err(format!("{text:?} is not there: nothing in the plan fits here yet")),
        None => Err(format!("{text:?} is none of: {}", candidates.join(", "))),
    }
}

/// A conductor size; the second part says how a bare number was understood.
///
/// # Errors
/// The sizes that exist.
pub(super) fn gauge(units: Units, text: &str) -> Result<(Gauge, &'static str), String> {
    let low = plain(text).replace(' ', "").replace("mm^2", "mm2").replace("sqmm", "mm2");
    let (low, hash) = match low.strip_prefix('#') {
        Some(rest) => (rest.to_string(), true),
        None => (low, false),
    };
    let index = |table: &[&str], size: &str| table.iter().position(|t| *t == size).and_then(|i| u8::try_from(i).ok());
    let no_awg = |size: &str| format!("{size:?} is no AWG size; AWG sizes: {}", AWG.join(", "));
    let no_mm2 = |size: &str| format!("{size:?} is no metric size; sizes in mm2: {}", MM2.join(", "));
    if let Some(size) = low.strip_suffix("mm2") {
        let size = size.replace(',', ".");
        return index(&MM2, &size).map(|i| (Gauge::Mm2(i), "")).ok_or_else(|| no_mm2(&size));
    }
    if low.ends_with("mm") {
        return Err(format!("{text:?} could be a diameter; write \"16 mm2\" for a cross-section, or \"6 AWG\""));
    }
    let said = low.strip_suffix("awg").or_else(|| low.strip_suffix("ga"));
    let size = match said.unwrap_or(&low) {
        "0" => "1/0",
        "00" => "2/0",
        "000" => "3/0",
        "0000" => "4/0",
        size => size,
    };
    if said.is_some() || hash || size.ends_with("/0") {
        // Where sizes are AWG anyway nothing needs saying.
        let is_told = said.is_some() || hash || matches!(units.gauge, GaugeSystem::Awg);
        let note = if is_told { "" } else { "n/0 sizes are AWG" };
        return index(&AWG, size).map(|i| (Gauge::Awg(i), note)).ok_or_else(|| no_awg(size));
    }
    match units.gauge {
        GaugeSystem::Awg => index(&AWG, size)
            .map(|i| (Gauge::Awg(i), ""))
            .ok_or_else(|| format!("{}; write mm2 after a metric size", no_awg(size))),
        GaugeSystem::Mm2 => {
            let size = low.replace(',', ".");
            index(&MM2, &size)
                .map(|i| (Gauge::Mm2(i), ""))
                .ok_or_else(|| format!("{}; write AWG after an AWG size", no_mm2(&size)))
        }
    }
}
