//! The generic form: any part of the plan as rows. What to show follows from the field table alone.

use crate::plan::edit::record_in;
use crate::plan::entry::{self, Units};
use crate::plan::field::List;
use crate::plan::power::ChargerKind;
use crate::plan::{DeviceKind, FieldPath, ListPath, Meta, Plan, Record, Value, rules};
use crate::tui::words;

/// What a page of the form shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// Some sections of the plan.
    Sections(&'static [&'static str]),
    /// A list's items.
    List(ListPath),
    /// A record: its fields, parts and lists.
    Record(FieldPath),
}

/// A page of the form and the row the cursor is on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    pub place: Place,
    pub cursor: usize,
}

impl Page {
    /// A page with the cursor on its first row.
    #[must_use]
    pub fn new(place: Place) -> Self {
        Self { place, cursor: 0 }
    }
}

/// One row.
#[derive(Clone, Debug)]
pub enum Row {
    /// A part's or list's name; the cursor skips it.
    Heading(String),
    Field {
        at: FieldPath,
        meta: &'static Meta,
    },
    /// An item of a list.
    Item {
        at: FieldPath,
        text: String,
    },
    /// Another page.
    Link {
        place: Place,
        label: String,
        text: String,
    },
    /// Adds an item.
    Add {
        list: ListPath,
    },
}

impl Row {
    /// Whether the cursor can stand on it.
    #[must_use]
    pub fn is_stop(&self) -> bool {
        !matches!(self, Self::Heading(_))
    }

    /// The field, item or list it is about.
    #[must_use]
    pub fn path(&self) -> Option<&FieldPath> {
        match self {
            Self::Field { at, .. } | Self::Item { at, .. } => Some(at),
            Self::Link { place: Place::List(at) | Place::Record(at), .. } => Some(at),
            Self::Add { list } => Some(list),
            Self::Heading(_) | Self::Link { .. } => None,
        }
    }
}

/// Sections in the order of the walk-round.
pub const WALK_ROUND: &[&str] = &[
    "job",
    "stays",
    "bank",
    "panels",
    "arrays",
    "controllers",
    "inverters",
    "chargers",
    "devices",
    "loads",
    "runs",
    "roof",
    "money",
    "options",
    "milestones",
    "visits",
    "rules",
    "accepted",
];

/// Lists whose items the shelf has.
pub const SHELVED: [&str; 5] = ["panels", "controllers", "inverters", "chargers", "loads"];

/// Sections of a numbered screen that has no view of its own.
#[must_use]
pub fn sections(screen: u8) -> &'static [&'static str] {
    match screen {
        1 => &["panels", "arrays", "controllers", "bank", "inverters", "chargers", "devices", "runs"],
        2 => &["loads"],
        3 => &["stays", "job"],
        4 => &["roof", "arrays", "panels"],
        6 => &["money", "options", "milestones", "job"],
        7 => &["visits"],
        _ => WALK_ROUND,
    }
}

/// The page a numbered screen starts with.
#[must_use]
pub fn root(screen: u8) -> Place {
    match sections(screen) {
        [only] => Place::List(FieldPath::new(*only)),
        many => Place::Sections(many),
    }
}

/// Whether a page still leads somewhere.
#[must_use]
pub fn exists(plan: &Plan, place: &Place) -> bool {
    exists_in(plan, place)
}

/// The same in any tree of records.
#[must_use]
pub fn exists_in(root: &dyn Record, place: &Place) -> bool {
    match place {
        Place::Sections(_) => true,
        Place::List(at) => list_in(root, at).is_some(),
        Place::Record(at) => record_in(root, at).is_some(),
    }
}

fn list_in<'a>(root: &'a dyn Record, at: &ListPath) -> Option<&'a dyn List> {
    let (owner, name) = at.split_last();
    record_in(root, &owner)?.list(name)
}

/// The page's title.
#[must_use]
pub fn title(plan: &Plan, place: &Place) -> String {
    match place {
        Place::Sections(_) => "SECTIONS".into(),
        Place::List(at) => {
            let (owner, name) = at.split_last();
            let of = words::path(plan, &owner);
            format!("{} {}", of, words::section(name)).trim().to_uppercase()
        }
        Place::Record(at) => {
            let what = plan.record(at).map_or("", Record::what);
            format!(
                "{} {}",
                what.to_uppercase(),
                if at.segments().count() > 1 { words::path(plan, at) } else { "".into() }
            )
            .trim()
            .into()
        }
    }
}

/// The rows of a page.
#[must_use]
pub fn rows(plan: &Plan, place: &Place) -> Vec<Row> {
    rows_in(Units::of(plan), plan, place)
}

/// The same in any tree of records.
#[must_use]
pub fn rows_in(units: Units, root: &dyn Record, place: &Place) -> Vec<Row> {
    match place {
        Place::Sections(names) => names.iter().map(|name| section_row(units, root, name)).collect(),
        Place::List(at) => {
            let mut rows = item_rows(units, root, at);
            rows.push(Row::Add { list: at.clone() });
            rows
        }
        Place::Record(at) => record_in(root, at).map(|r| record_rows(units, root, at, r)).unwrap_or_default(),
    }
}

fn section_row(units: Units, root: &dyn Record, name: &'static str) -> Row {
    let at = FieldPath::new(name);
    let label = words::section(name).to_string();
    match list_in(root, &at) {
        Some(list) => {
            let ids: Vec<&str> = (0..list.len()).filter_map(|i| list.id_at(i)).map(|id| id.as_str()).collect();
            let text = if ids.is_empty() { "none".into() } else { format!("{}: {}", ids.len(), ids.join(" ")) };
            Row::Link { place: Place::List(at), label, text }
        }
        None => {
            let text = record_in(root, &at).map(|r| text_of(units, r)).unwrap_or_default();
            Row::Link { place: Place::Record(at), label, text }
        }
    }
}

fn item_rows(units: Units, root: &dyn Record, at: &ListPath) -> Vec<Row> {
    let Some(list) = list_in(root, at) else { return Vec::new() };
    (0..list.len())
        .filter_map(|i| {
            let path = at.join(list.id_at(i)?);
            let text = text_of(units, list.at(i)?);
            Some(Row::Item { at: path, text })
        })
        .collect()
}

fn record_rows(units: Units, root: &dyn Record, at: &FieldPath, record: &dyn Record) -> Vec<Row> {
    let field = |owner: &FieldPath, meta: &'static Meta| Row::Field { at: owner.join(meta.key), meta };
    let own = |meta: &'static Meta| rules::own_value(record, meta.key).unwrap_or(meta);
    let is_other = |meta: &&Meta| kind_of(record.what(), meta.key).is_some_and(|kind| record.get("kind") != Some(kind));
    let (others, first): (Vec<_>, Vec<_>) = record.metas().into_iter().partition(is_other);
    let mut rows: Vec<Row> = first.into_iter().map(|meta| field(at, own(meta))).collect();
    for name in record.list_names() {
        let list = at.join(name);
        rows.push(Row::Heading(words::section(name).to_uppercase()));
        rows.extend(item_rows(units, root, &list));
        rows.push(Row::Add { list });
    }
    for name in record.part_names() {
        if let Some(part) = record.part(name) {
            let owner = at.join(name);
            rows.push(Row::Heading(words::section(name).to_uppercase()));
            rows.extend(part.metas().into_iter().map(|meta| field(&owner, meta)));
        }
    }
    if !others.is_empty() {
        rows.push(Row::Heading("OF OTHER KINDS".into()));
        rows.extend(others.into_iter().map(|meta| field(at, meta)));
    }
    rows
}

/// The one kind of a thing that a field is about, where it is not about all.
fn kind_of(what: &str, key: &str) -> Option<Value> {
    let kind = match (what, key) {
        ("device", "efficiency_pct") => DeviceKind::Converter.word(),
        ("device", "chemistry" | "unit_v" | "unit_ah" | "cca_a" | "short_circuit_a") => DeviceKind::StartBattery.word(),
        ("device", "charge_cutoff_c" | "heater_w" | "heated") => DeviceKind::StartBattery.word(),
        ("charger", "alternator" | "alternator_low_v" | "input_cutout_v") => ChargerKind::DcDc.word(),
        _ => return None,
    };
    Some(Value::Word(kind))
}

/// A record in a few words: its first fields that say something.
#[must_use]
pub fn record_text(plan: &Plan, record: &dyn Record) -> String {
    text_of(Units::of(plan), record)
}

fn text_of(units: Units, record: &dyn Record) -> String {
    let mut words = Vec::new();
    for meta in record.metas() {
        let Some(value) = record.get(meta.key) else { continue };
        let own = rules::own_value(record, meta.key);
        let (meta, units) = own.map_or((meta, units), |own| (own, Units::STORED));
        let said = match &value {
            Value::Nothing => continue,
            Value::Text(t) if t.trim().is_empty() => continue,
            Value::Unknown | Value::Word("no") => continue,
            // A bare yes would not say to what.
            Value::Word("yes") => meta.label.to_string(),
            Value::Text(t) => t.lines().next().unwrap_or("").to_string(),
            Value::Number(_) => format!("{} {}", meta.label, entry::seen(units, meta, &value)),
            _ => entry::seen(units, meta, &value),
        };
        words.push(said);
        if words.len() == 5 {
            break;
        }
    }
    let unknown = record.metas().iter().filter(|m| record.get(m.key) == Some(Value::Unknown)).count();
    if unknown > 0 {
        words.push(format!("{unknown} ?"));
    }
    words.join(", ")
}

/// A page's nearest row at or after `from` where the cursor can stand, else before it.
#[must_use]
pub fn stop_at(rows: &[Row], from: usize) -> usize {
    let after = rows.iter().enumerate().skip(from).find(|(_, r)| r.is_stop());
    after.or_else(|| rows.iter().enumerate().take(from).rfind(|(_, r)| r.is_stop())).map_or(0, |(i, _)| i)
}

/// The row of a field or item on a page.
#[must_use]
pub fn row_of(rows: &[Row], at: &FieldPath) -> Option<usize> {
    rows.iter().position(|r| r.path() == Some(at))
}

/// The chain of pages that leads to a path: the record or list that shows it, cursor on it.
#[must_use]
pub fn page_for(plan: &Plan, at: &FieldPath) -> Option<Page> {
    let (owner, _) = at.split_last();
    let mut place = if plan.meta(at).is_some() {
        Place::Record(owner)
    } else if plan.list_at(at).is_some() {
        return Some(Page::new(Place::List(at.clone())));
    } else if plan.record(at).is_some() && !at.as_str().is_empty() {
        return Some(Page::new(Place::Record(at.clone())));
    } else {
        return None;
    };
    // A part has no page of its own.
    if let Place::Record(record) = &place {
        let (above, last) = record.split_last();
        let is_part = !above.as_str().is_empty() && plan.record(&above).is_some_and(|r| r.part_names().contains(&last));
        if is_part {
            place = Place::Record(above);
        }
    }
    let cursor = row_of(&rows(plan, &place), at).unwrap_or(0);
    Some(Page { place, cursor })
}

/// Every unknown field, in the order of the walk-round. Where the report knows which unknowns matter, only those.
#[must_use]
pub fn unknowns(plan: &Plan, matter: &[FieldPath]) -> Vec<FieldPath> {
    let mut found = Vec::new();
    for section in WALK_ROUND {
        let at = FieldPath::new(*section);
        match plan.list_at(&at) {
            Some(list) => {
                for i in 0..list.len() {
                    if let (Some(id), Some(record)) = (list.id_at(i), list.at(i)) {
                        unknowns_in(&at.join(id), record, &mut found);
                    }
                }
            }
            None => {
                if let Some(record) = plan.record(&at) {
                    unknowns_in(&at, record, &mut found);
                }
            }
        }
    }
    if matter.is_empty() {
        found.retain(|f| !f.is_within(&"roof".into()) && !f.is_within(&"money".into()));
        found
    } else {
        let mut some: Vec<FieldPath> = found.iter().filter(|f| matter.contains(f)).cloned().collect();
        // Of some lists nothing is there yet.
        let stands = |f: &FieldPath| plan.meta(f).is_some() || plan.list_at(f).is_some();
        some.extend(matter.iter().filter(|f| !found.contains(f) && stands(f)).cloned());
        some
    }
}

fn unknowns_in(at: &FieldPath, record: &dyn Record, found: &mut Vec<FieldPath>) {
    for meta in record.metas() {
        if record.get(meta.key) == Some(Value::Unknown) {
            found.push(at.join(meta.key));
        }
    }
    for name in record.part_names() {
        if let Some(part) = record.part(name) {
            unknowns_in(&at.join(name), part, found);
        }
    }
    for name in record.list_names() {
        if let Some(list) = record.list(name) {
            for i in 0..list.len() {
                if let (Some(id), Some(item)) = (list.id_at(i), list.at(i)) {
                    unknowns_in(&at.join(name).join(id), item, found);
                }
            }
        }
    }
}
