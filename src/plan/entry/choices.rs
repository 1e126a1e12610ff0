//! The choices of a field that has a list of them.

use super::names;
use crate::plan::edit::record_in;
use crate::plan::field::{Kind, Record};
use crate::plan::path::FieldPath;

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
