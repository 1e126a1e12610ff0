//! What differs between two plans, or two stocks, field by field and item by item, in words.

use crate::plan::edit::record_in;
use crate::plan::entry::{self, Units};
use crate::plan::rules::own_value;
use crate::plan::{FieldPath, Plan, Record, Value};

use crate::wording::naming;

/// Longest value that is quoted, in characters.
const QUOTED: usize = 24;

/// Every difference as one line, in the order of the file: `W1 gauge 12 AWG -> 10 AWG`.
#[must_use]
pub fn between(before: &Plan, after: &Plan) -> Vec<String> {
    of((before, Units::of(before)), (after, Units::of(after)))
}

/// The same of any two records of one kind, each in its own units.
#[must_use]
pub fn of(before: (&dyn Record, Units), after: (&dyn Record, Units)) -> Vec<String> {
    let mut found = Found { before: before.0, after: after.0, units: (before.1, after.1), lines: Vec::new() };
    found.record(&FieldPath::new(""), before.0, after.0);
    found.lines
}

struct Found<'a> {
    before: &'a dyn Record,
    after: &'a dyn Record,
    units: (Units, Units),
    lines: Vec<String>,
}

impl Found<'_> {
    fn record(&mut self, at: &FieldPath, before: &dyn Record, after: &dyn Record) {
        for meta in after.metas() {
            let (was, now) = (before.get(meta.key), after.get(meta.key));
            if was == now {
                continue;
            }
            // A rule's value has its rule's unit.
            let meta = own_value(after, meta.key).unwrap_or(meta);
            let show = |units: Units, value: &Option<Value>| match value {
                None | Some(Value::Nothing) => "none".to_string(),
                Some(value) => quoted(&entry::show(units, meta, value)),
            };
            let label = naming::path_in(self.after, &at.join(meta.key));
            self.lines.push(format!("{label} {} -> {}", show(self.units.0, &was), show(self.units.1, &now)));
        }
        for name in after.part_names() {
            if let (Some(was), Some(now)) = (before.part(name), after.part(name)) {
                self.record(&at.join(name), was, now);
            }
        }
        for name in after.list_names() {
            self.list(&at.join(name), name, before, after);
        }
    }

    fn list(&mut self, at: &FieldPath, name: &str, before: &dyn Record, after: &dyn Record) {
        let ids = |record: &dyn Record| -> Vec<String> {
            let Some(list) = record.list(name) else { return Vec::new() };
            (0..list.len()).filter_map(|i| list.id_at(i)).map(ToString::to_string).collect()
        };
        let (had, has) = (ids(before), ids(after));
        for id in had.iter().filter(|id| !has.contains(id)) {
            self.lines.push(format!("{} is gone", naming::path_in(self.before, &at.join(id))));
        }
        for id in &has {
            let here = at.join(id);
            match (record_in(self.before, &here), record_in(self.after, &here)) {
                (Some(was), Some(now)) => self.record(&here, was, now),
                _ => self.lines.push(format!("{} is new", naming::path_in(self.after, &here))),
            }
        }
        let kept = |ids: &[String], others: &[String]| -> Vec<String> {
            ids.iter().filter(|id| others.contains(id)).cloned().collect()
        };
        if kept(&had, &has) != kept(&has, &had) {
            self.lines.push(format!("{} in another order", naming::path_in(self.after, at)));
        }
    }
}

/// The first line of a value, shortened.
fn quoted(text: &str) -> String {
    let line = text.lines().next().unwrap_or("");
    match line.chars().count() {
        0 => "empty".into(),
        n if n > QUOTED => format!("{}..", line.chars().take(QUOTED - 2).collect::<String>()),
        _ => line.into(),
    }
}
