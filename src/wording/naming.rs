//! Names of fields, items and lists as a person reads them, on screen and in text alike.

use crate::plan::edit::record_in;
use crate::plan::{FieldPath, Meta, Plan, Record, Stay};

/// A section's or list's name on screen.
#[must_use]
pub fn section(key: &str) -> &str {
    match key.rsplit('.').next().unwrap_or(key) {
        "job" => "job and units",
        "stays" => "stays (places and months)",
        "panels" => "panel types",
        "bank" => "battery bank",
        "chargers" => "chargers",
        "runs" => "wiring runs",
        "legs" => "legs",
        "protection" => "fuses and breakers",
        "places" => "places on the roof",
        "ratings" => "ratings",
        "rules" => "changed rules",
        "accepted" => "accepted findings",
        "taxes" => "taxes",
        "tasks" => "labour",
        "spools" => "wire on spools",
        "fuses" => "fuses on board",
        "lugs" => "lugs",
        "parts" => "other parts",
        other => other,
    }
}

/// A path as a person reads it: `W2 gauge`, `W2 L1 length`, `bank chemistry`.
#[must_use]
pub fn path(plan: &Plan, at: &FieldPath) -> String {
    path_in(plan, at)
}

/// The same in any tree of records.
#[must_use]
pub fn path_in(root: &dyn Record, at: &FieldPath) -> String {
    let mut words = Vec::new();
    let mut segments = at.segments().peekable();
    let mut here = FieldPath::new("");
    while let Some(segment) = segments.next() {
        let is_list = record_in(root, &here).is_some_and(|r| r.list_names().contains(&segment));
        let next = here.join(segment);
        if is_list {
            match segments.next() {
                Some(id) => {
                    words.push(id.to_string());
                    here = next.join(id);
                }
                None => words.push(section(segment).to_string()),
            }
        } else {
            let label = meta_in(root, &next).map(|m| m.label);
            match label {
                Some(label) => words.push(label.to_string()),
                None if segment == "ratings" => {}
                None => words.push(segment.to_string()),
            }
            here = next;
        }
    }
    words.join(" ")
}

/// A field's row of the table in any tree of records.
#[must_use]
pub fn meta_in(root: &dyn Record, at: &FieldPath) -> Option<&'static Meta> {
    let (owner, key) = at.split_last();
    record_in(root, &owner)?.metas().into_iter().find(|m| m.key == key)
}

/// The months of a stay, where it has any.
#[must_use]
pub fn months(stay: &Stay) -> String {
    if stay.months.0 == 0 { "no month".into() } else { stay.months.to_string() }
}
