//! A plan with every list filled and every option present, made by walking the field tables.

use coachwire::plan::edit::record_in_mut;
use coachwire::plan::{FieldPath, Id, Kind, Meta, Plan, Quantity, Record, Value};

/// Every field of the plan, in the order of the tables.
pub(crate) fn fields(root: &dyn Record) -> Vec<FieldPath> {
    let mut found = Vec::new();
    walk(root, &FieldPath::new(""), &mut found);
    found
}

fn walk(record: &dyn Record, at: &FieldPath, found: &mut Vec<FieldPath>) {
    found.extend(record.metas().iter().map(|m| at.join(m.key)));
    for part in record.part_names() {
        walk(record.part(part).unwrap(), &at.join(part), found);
    }
    for name in record.list_names() {
        let list = record.list(name).unwrap();
        for i in 0..list.len() {
            walk(list.at(i).unwrap(), &at.join(name).join(list.id_at(i).unwrap()), found);
        }
    }
}

/// A legal value that is not the default.
pub(crate) fn other_value(meta: &Meta, now: &Value) -> Value {
    match meta.kind {
        Kind::Text if meta.unknown => Value::Id("L1".parse().unwrap()),
        Kind::Text => Value::Text(format!("some {} \"quoted\" \\ here", meta.label)),
        Kind::Number { least, most, quantity } => {
            let middle = least + 0.37 * (most - least);
            let whole = quantity == Quantity::Count;
            Value::Number(if whole { middle.ceil().min(most) } else { (middle * 1e4).round() / 1e4 })
        }
        Kind::Gauge => Value::Gauge("10 AWG".parse().unwrap()),
        Kind::Words(words) => Value::Word(words.iter().copied().find(|w| *now != Value::Word(w)).unwrap()),
        Kind::Ref(lists) => Value::Id(reference(lists)),
        Kind::Months => Value::Text("Nov-Mar, Jul".into()),
        Kind::Monthly { least, most, .. } => Value::Text(
            (1..=12)
                .map(|m| (least + (most - least) * f64::from(m) / 13.0).round().to_string())
                .collect::<Vec<_>>()
                .join(" "),
        ),
        Kind::Strings => Value::Text("P1+P1 | P1".into()),
        Kind::Lines => Value::Text("first line\nsecond (line)".into()),
    }
}

fn reference(lists: &[&str]) -> Id {
    match lists.first() {
        Some(&"controllers") => "C1",
        Some(&"devices") => "D1",
        _ => "A1",
    }
    .parse()
    .unwrap()
}

/// Fills every list of a record with one item, all the way down, then sets every field.
pub(crate) fn fill(root: &mut dyn Record, at: &FieldPath) {
    let record = record_in_mut(root, at).unwrap();
    for meta in record.metas() {
        let value = other_value(meta, &record.get(meta.key).unwrap());
        record.set(meta.key, value).unwrap();
    }
    let parts = record.part_names();
    let lists = record.list_names();
    for name in lists {
        let list = record.list_mut(name).unwrap();
        let id: Id = format!("{}1", list.prefix()).parse().unwrap();
        let blank = list.blank_ron(id);
        list.insert_ron(0, &blank).unwrap();
    }
    for part in parts {
        fill(root, &at.join(part));
    }
    for name in lists {
        let id = record_in_mut(root, at).unwrap().list(name).unwrap().id_at(0).unwrap().clone();
        fill(root, &at.join(name).join(id));
    }
}

pub(crate) fn plan() -> Plan {
    let mut plan = Plan::default();
    fill(&mut plan, &FieldPath::new(""));
    plan
}
