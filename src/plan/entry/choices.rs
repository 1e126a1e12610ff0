//! The choices of a field that has a list of them.

use super::names;
use crate::plan::edit::record_in;
use crate::plan::field::{Kind, Record};
use crate::plan::lists::MONTH_NAMES;
use crate::plan::path::FieldPath;
use crate::plan::rules::meta_of;
use crate::standards::fuse::trade_words;
use crate::standards::kinds::other_names;

/// What may be typed into a field of words or of names, in order; none where anything may.
#[must_use]
pub fn choices(root: &dyn Record, at: &FieldPath) -> Option<Vec<String>> {
    let (owner, key) = at.split_last();
    let meta = record_in(root, &owner)?.metas().into_iter().find(|m| m.key == key)?;
    match meta.kind {
        Kind::Words(words) => Some(words.iter().map(ToString::to_string).collect()),
        Kind::Ref(lists) => Some(names::fitting(root, meta, lists)),
        _ => None,
    }
}

/// Whether a letter, small or not, is the first of a word that may be typed into a field where not every text may be: of a
/// choice by any of its names, of an item's name, of a month, of a point of the compass.
#[must_use]
pub fn begins(root: &dyn Record, at: &FieldPath, letter: char) -> bool {
    let (owner_path, key) = at.split_last();
    let Some(meta) = record_in(root, &owner_path).and_then(|owner| meta_of(owner, key)) else { return false };
    let is_first = |name: &str| {
        let firsts = name.split(|c: char| !c.is_alphanumeric()).filter_map(|word| word.chars().next());
        firsts.into_iter().any(|first| first.eq_ignore_ascii_case(&letter))
    };
    let among = |names: &[String]| names.iter().any(|name| is_first(name));
    match meta.kind {
        Kind::Words(words) => words
            .iter()
            .any(|word| trade_words(word).iter().chain(other_names(word)).chain([word]).any(|n| is_first(n))),
        Kind::Ref(lists) => among(&names::fitting(root, meta, lists)),
        Kind::Text if meta.unknown => among(&names::legs(root, &owner_path)),
        Kind::Strings => among(&names::candidates(root, &["panels"])),
        Kind::Months => MONTH_NAMES.iter().chain(&["all", "none"]).any(|word| is_first(word)),
        Kind::Number { .. } if meta.key == "heading_deg" => {
            ["north", "east", "south", "west", "any"].iter().any(|word| is_first(word))
        }
        _ => false,
    }
}
