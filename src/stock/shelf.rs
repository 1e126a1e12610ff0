//! The shelf: equipment typed once from its label, picked again by typing.

use crate::arrange::Arrange;
use crate::plan::edit::record_in_mut;
use crate::plan::field::{Kind, Record, Value};
use crate::plan::format::{self, LoadError};
use crate::plan::job::YesNo;
use crate::plan::path::{FieldPath, Id, ItemPath};
use crate::plan::sources::CHOICE;
use crate::plan::{Bank, Charger, Controller, Edit, Inverter, Load, Months, Panel, Plan, Stay, Step};
use crate::record;

record! {
    /// Equipment by kind.
    Shelf "shelf" {}
    lists {
        panels: ShelfPanel, controllers: ShelfController, batteries: ShelfBattery, inverters: ShelfInverter,
        chargers: ShelfCharger, loads: ShelfLoad
    }
}

macro_rules! shelf_items {
    ($($(#[$doc:meta])* $name:ident $what:literal $prefix:literal $part:ident : $ty:ty;)*) => {$(
        record! {
            $(#[$doc])*
            $name $what item $prefix {
                typical: YesNo = YesNo::No => "typical", Kind::Words(YesNo::WORDS), "A typical row that came with the program, not read from a label.", &CHOICE;
            }
            parts { $part: $ty }
        }
    )*};
}
shelf_items! {
    /// A panel on the shelf.
    ShelfPanel "shelf panel" "SP" panel: Panel;
    /// A controller on the shelf.
    ShelfController "shelf controller" "SC" controller: Controller;
    /// A battery on the shelf: the battery of a bank.
    ShelfBattery "shelf battery" "SB" battery: Bank;
    /// An inverter on the shelf.
    ShelfInverter "shelf inverter" "SI" inverter: Inverter;
    /// A charger on the shelf.
    ShelfCharger "shelf charger" "SG" charger: Charger;
    /// A load on the shelf.
    ShelfLoad "shelf load" "SL" load: Load;
}

/// Shelf list, the part that holds the equipment, and where it goes in a plan.
const KINDS: [(&str, &str, &str); 6] = [
    ("panels", "panel", "panels"),
    ("controllers", "controller", "controllers"),
    ("batteries", "battery", "bank"),
    ("inverters", "inverter", "inverters"),
    ("chargers", "charger", "chargers"),
    ("loads", "load", "loads"),
];

/// What belongs to one coach, not to the equipment: left behind when it is saved to the shelf or taken from it.
const OF_THE_COACH: [&str; 15] = [
    "zone",
    "state",
    "serial",
    "series",
    "parallel",
    "age_years",
    "heated",
    "vented",
    "vent_area_cm2",
    "space_l_m",
    "space_w_m",
    "space_h_m",
    "fused_each",
    "temp_sense",
    "volt_sense",
];

/// One thing found on the shelf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The list it stands in.
    pub list: &'static str,
    pub id: Id,
    pub name: String,
    pub typical: bool,
}

impl Shelf {
    /// Reads the shelf's file.
    ///
    /// # Errors
    /// [`LoadError`] with line, column and field.
    pub fn from_text(text: &str) -> Result<Self, LoadError> {
        format::read_single(text, "a shelf")
    }

    /// The text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        format::write(self)
    }

    /// The rows that come with the program: invented, generic, marked typical, prices unknown.
    #[must_use]
    pub fn typical() -> Self {
        // A test reads this text; were it broken, the shelf would start empty.
        Self::from_text(include_str!("typical.ron")).unwrap_or_default()
    }

    /// What fits all the typed words, in any order; the shop's own before typical rows, names that start with the
    /// first word before others, what guards life before what does not. `kind` keeps to one list.
    #[must_use]
    pub fn find(&self, kind: Option<&str>, typed: &str) -> Vec<Found> {
        let words: Vec<String> = typed.split_whitespace().map(str::to_lowercase).collect();
        let mut found: Vec<((bool, bool), Found)> = Vec::new();
        for (list_name, part, _) in KINDS.iter().filter(|k| kind.is_none_or(|kind| kind == k.0)) {
            let Some(list) = self.list(list_name) else { continue };
            for i in 0..list.len() {
                let (Some(item), Some(id)) = (list.at(i), list.id_at(i)) else { continue };
                let Some(thing) = item.part(part) else { continue };
                let name = name_of(thing);
                let hay = format!("{} {part} {}", name.to_lowercase(), kind_of(thing).to_lowercase());
                let other = other_words(&hay, thing);
                if words.iter().all(|w| hay.contains(w.as_str()) || other.iter().any(|o| o.starts_with(w.as_str()))) {
                    let starts = words.first().is_some_and(|w| hay.starts_with(w.as_str()));
                    let guards = thing.get("life_safety") == Some(Value::Word("yes"));
                    let starts = starts || (guards && words.first().is_some_and(|w| hay.contains(w.as_str())));
                    let typical = item.get("typical") == Some(Value::Word("yes"));
                    found.push(((!starts, !guards), Found { list: list_name, id: id.clone(), name, typical }));
                }
            }
        }
        found.arrange_by_key(|((later, unguarded), f)| (*later, f.typical, *unguarded));
        found.into_iter().map(|(_, f)| f).collect()
    }

    /// Saves a thing of a plan (`panels.P1`, `bank`) to the shelf and says its name there.
    ///
    /// # Errors
    /// A sentence where there is no such thing, or none that goes on the shelf.
    pub fn save(&mut self, plan: &Plan, at: &ItemPath) -> Result<Id, String> {
        let section = at.segments().next().unwrap_or_default().to_string();
        let kind = KINDS.iter().find(|k| k.2 == section);
        let (list_name, part, _) =
            kind.ok_or_else(|| format!("{at} does not go on the shelf; panels, controllers, the bank's battery, inverters, chargers and loads do"))?;
        let thing = plan.record(at).ok_or_else(|| format!("{at} is not in the plan"))?;
        let list = self.list_mut(list_name).ok_or_else(|| format!("there is no shelf for {at}"))?;
        let id = super::free_id(list);
        let blank = list.blank_ron(id.clone());
        let index = list.len();
        list.insert_ron(index, &blank)?;
        if let Some(to) = list.at_mut(index).and_then(|item| item.part_mut(part)) {
            copy(thing, to);
        }
        Ok(id)
    }

    /// Takes a thing off the shelf.
    ///
    /// # Errors
    /// A sentence where it is not on it.
    pub fn remove(&mut self, found: &Found) -> Result<(), String> {
        let list = self.list_mut(found.list).ok_or_else(|| format!("there is no shelf for {}", found.list))?;
        let at = list.position(found.id.as_str()).ok_or_else(|| format!("{} is not on the shelf", found.name))?;
        list.remove(at);
        Ok(())
    }

    /// The step that puts a thing from the shelf into a plan: a new item, or the battery of the bank.
    #[must_use]
    pub fn take(&self, plan: &Plan, found: &Found) -> Option<Step> {
        let (_, part, section) = KINDS.iter().find(|k| k.0 == found.list)?;
        let list = self.list(found.list)?;
        let thing = list.at(list.position(found.id.as_str())?)?.part(part)?;
        let name = took(found);
        if *section == "bank" {
            return Some(Step { name, edits: edits_onto(thing, &FieldPath::new("bank")) });
        }
        let into = FieldPath::new(*section);
        let target = plan.list_at(&into)?;
        let id = plan.free_id(&into);
        let after = target.len().checked_sub(1).and_then(|last| target.id_at(last)).cloned();
        let mut edits = vec![Edit::Insert { list: into.clone(), after, item: target.blank_ron(id.clone()) }];
        edits.extend(edits_onto(thing, &into.join(id)));
        let step = Step { name, edits };
        Some(if shifts(plan, found) { half_a_year_on(step) } else { step })
    }

    /// The step that makes an item of a plan the thing from the shelf.
    #[must_use]
    pub fn onto(&self, found: &Found, at: &ItemPath) -> Option<Step> {
        let (_, part, _) = KINDS.iter().find(|k| k.0 == found.list)?;
        let list = self.list(found.list)?;
        let thing = list.at(list.position(found.id.as_str())?)?.part(part)?;
        Some(Step { name: took(found), edits: edits_onto(thing, at) })
    }
}

fn took(found: &Found) -> String {
    format!("{} from the shelf", found.name)
}

/// Typical loads have the months of the north. Where all stays are south of the equator they are taken half a year on; of a row
/// that somebody saved nobody knows where its months were meant.
fn shifts(plan: &Plan, found: &Found) -> bool {
    let is_south = |s: &Stay| s.latitude_deg.known().is_some_and(|degrees| degrees.0 < 0.0);
    found.typical && found.list == "loads" && !plan.stays.is_empty() && plan.stays.iter().all(is_south)
}

/// With the months of the south, where it does not run all year; its name says so.
fn half_a_year_on(mut step: Step) -> Step {
    for edit in &mut step.edits {
        if let Edit::Set { at, to: Value::Text(text) } = edit
            && at.segments().last() == Some("months")
            && let Ok(months) = text.parse::<Months>()
            && months.half_a_year_on() != months
        {
            *text = months.half_a_year_on().to_string();
            step.name += ", in the south's season: ";
            step.name += text;
        }
    }
    step
}

fn name_of(thing: &dyn Record) -> String {
    match thing.get("name") {
        Some(Value::Text(t)) if !t.is_empty() => t,
        _ => thing.what().to_string(),
    }
}

/// Other words a person may type for what a name has in it. Trade and household words, no makes.
/// Source: common practice.
const OTHER_WORDS: [(&str, &str); 22] = [
    ("sleep apnoea", "cpap bipap apnea breathing medical"),
    ("refrigerator", "fridge freezer cooler icebox"),
    ("detector", "lp lpg propane carbon monoxide alarm sensor leak"),
    ("vent fan", "ventilator exhaust extractor"),
    ("lights", "lamps lighting"),
    ("furnace", "heater heating propane"),
    ("diesel heater", "furnace heating"),
    ("on gas", "propane boiler"),
    ("television", "tv screen audio"),
    ("internet", "dish wifi web"),
    ("router", "wifi modem cellular"),
    ("laptop", "computer notebook"),
    ("phones", "usb mobile"),
    ("air conditioner", "aircon ac a/c cooling"),
    ("induction", "cooktop stove cooker"),
    ("microwave", "oven"),
    ("kettle", "teapot boiler"),
    ("phantom", "standby parasitic"),
    ("tracking", "mppt regulator"),
    ("pwm", "regulator"),
    ("dc-dc", "b2b booster alternator"),
    ("lfp", "lithium lifepo4"),
];

fn other_words(hay: &str, thing: &dyn Record) -> Vec<&'static str> {
    let named = OTHER_WORDS.iter().filter(|(part, _)| hay.contains(part)).flat_map(|(_, words)| words.split(' '));
    let marked = [("medical", "medical"), ("life_safety", "safety")];
    let marked = marked.into_iter().filter(|(key, _)| thing.get(key) == Some(Value::Word("yes"))).map(|(_, word)| word);
    named.chain(marked).collect()
}

/// The word that says what kind it is, where it has one.
fn kind_of(thing: &dyn Record) -> &'static str {
    ["kind", "chemistry", "build", "supply"]
        .iter()
        .find_map(|key| match thing.get(key) {
            Some(Value::Word(w)) => Some(w),
            _ => None,
        })
        .unwrap_or_default()
}

/// The fields of the equipment itself, with its parts, as paths below it.
fn own_fields(thing: &dyn Record) -> Vec<(FieldPath, Value)> {
    let mut found = Vec::new();
    let mut add = |record: &dyn Record, under: &FieldPath| {
        for meta in record.metas() {
            let of_the_coach = OF_THE_COACH.contains(&meta.key) || matches!(meta.kind, Kind::Ref(_));
            if let Some(value) = record.get(meta.key)
                && !of_the_coach
            {
                found.push((under.join(meta.key), value));
            }
        }
    };
    let here = FieldPath::new("");
    add(thing, &here);
    for name in thing.part_names() {
        if let Some(part) = thing.part(name) {
            add(part, &here.join(name));
        }
    }
    found
}

fn copy(from: &dyn Record, to: &mut dyn Record) {
    for (at, value) in own_fields(from) {
        let (owner, key) = at.split_last();
        if let Some(record) = record_in_mut(to, &owner) {
            // The same field of the same kind of record cannot refuse its value.
            let _ = record.set(key, value);
        }
    }
}

fn edits_onto(thing: &dyn Record, target: &FieldPath) -> Vec<Edit> {
    own_fields(thing).into_iter().map(|(at, to)| Edit::Set { at: target.join(at), to }).collect()
}
