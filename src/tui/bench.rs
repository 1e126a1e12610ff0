//! What the Bench shows of a plan: equipment in one line each, and the cells of a run.

use crate::engine::sizing::LaidGauge;
use crate::plan::entry::{self, Units};
use crate::plan::format::item_text;
use crate::plan::wiring::{FuseAt, Pole};
use crate::plan::{Device, Edit, FieldPath, Id, Known, Leg, Load, Plan, Protection, Run, State};
use crate::standards::kinds::Mount;
use crate::tui::words;
use crate::wording::run::word;
use crate::words::counted;

/// A column of the runs that can be focused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// The run itself.
    Id,
    From,
    To,
    Length,
    Gauge,
    Fuse,
}

impl Column {
    /// From left to right.
    pub const ALL: &'static [Self] = &[Self::Id, Self::From, Self::To, Self::Length, Self::Gauge, Self::Fuse];

    /// The column beside it, if there is one.
    #[must_use]
    pub fn beside(self, right: bool) -> Option<Self> {
        let at = Self::ALL.iter().position(|c| *c == self)?;
        let to = if right { at + 1 } else { at.checked_sub(1)? };
        Self::ALL.get(to).copied()
    }
}

/// The field behind a cell, and what must come first for it to exist.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// A field, or the run where no single field stands behind the cell.
    pub at: FieldPath,
    pub prelude: Vec<Edit>,
}

/// The field behind a cell of a run. `is_minus`: whether that is of the negative side, where a fuse opens that pole.
#[must_use]
pub fn cell(plan: &Plan, (run, is_minus): (&Run, bool), column: Column) -> Cell {
    let item = FieldPath::from("runs").join(&run.id);
    let plain = |key: &str| Cell { at: item.join(key), prelude: Vec::new() };
    match column {
        Column::Id => Cell { at: item, prelude: Vec::new() },
        Column::From => plain("from"),
        Column::To => plain("to"),
        Column::Gauge => match new_leg_beside_others(run) {
            Some(leg) => Cell { at: item.join("legs").join(&leg.id).join("gauge"), prelude: Vec::new() },
            None => plain("gauge"),
        },
        Column::Length => match run.legs.as_slice() {
            [] => {
                let leg = crate::plan::Leg::default();
                let at = item.join("legs").join(&leg.id).join("length_m");
                let edit = Edit::Insert { list: item.join("legs"), after: None, item: item_text(&leg) };
                Cell { at, prelude: vec![edit] }
            }
            [leg] => Cell { at: item.join("legs").join(&leg.id).join("length_m"), prelude: Vec::new() },
            _ => Cell { at: item.join("legs"), prelude: Vec::new() },
        },
        Column::Fuse => match run.protection.as_slice() {
            [] => {
                let pole = if is_minus { Pole::Negative } else { Pole::Positive };
                let fuse = Protection { at: battery_end(plan, run), pole, ..Protection::default() };
                let at = item.join("protection").join(&fuse.id).join("amps_a");
                let edit = Edit::Insert { list: item.join("protection"), after: None, item: item_text(&fuse) };
                Cell { at, prelude: vec![edit] }
            }
            [first, ..] => Cell { at: item.join("protection").join(&first.id).join("amps_a"), prelude: Vec::new() },
        },
    }
}

/// The end of a run that faces the battery, where a first fuse belongs.
#[must_use]
pub fn battery_end(plan: &Plan, run: &Run) -> FuseAt {
    let rank = |end: &Known<Id>| match end.known().and_then(|id| plan.end(id.as_str())) {
        Some(("bank", _)) => 4,
        Some(("devices", _)) => 3,
        Some(("chargers" | "controllers", _)) => 1,
        Some(("arrays", _)) => 0,
        _ => 2,
    };
    if rank(&run.to) > rank(&run.from) { FuseAt::To } else { FuseAt::From }
}

/// A line of the equipment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Equipment {
    pub at: FieldPath,
    pub id: String,
    pub text: String,
}

/// Everything a run can end on but loads and runs themselves, in the order of the current's way.
#[must_use]
pub fn equipment(plan: &Plan) -> Vec<Equipment> {
    let line =
        |list: &str, id: &Id, text: String| Equipment { at: FieldPath::from(list).join(id), id: id.to_string(), text };
    let mut lines = Vec::new();
    lines.extend(plan.arrays.iter().map(|a| line("arrays", &a.id, array_text(plan, a))));
    lines.extend(plan.controllers.iter().map(|c| line("controllers", &c.id, controller_text(c))));
    lines.push(Equipment { at: "bank".into(), id: crate::plan::BANK_ID.into(), text: bank_text(plan) });
    lines.extend(
        plan.inverters.iter().map(|i| line("inverters", &i.id, named(&i.name, &with(&i.watts_w, |w| watts(w.0))))),
    );
    lines.extend(plan.chargers.iter().map(|c| {
        let text = format!("{} {}", word(&c.kind), with(&c.out_a, |a| format!("{} A", words::num(a.0))));
        line("chargers", &c.id, named(&c.name, &text))
    }));
    lines.extend(plan.devices.iter().map(|d| line("devices", &d.id, device_text(d))));
    lines.extend(plan.loads.iter().map(|l| line("loads", &l.id, load_text(l))));
    lines
}

fn watts(w: f64) -> String {
    format!("{} W", words::num(w))
}

fn with<T>(known: &Known<T>, show: impl FnOnce(&T) -> String) -> String {
    match known {
        Known::Is(t) => show(t),
        Known::Unknown => words::UNKNOWN.into(),
    }
}

/// The text with the name after it, where that says more.
fn named(name: &str, text: &str) -> String {
    let bones = |text: &str| text.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase();
    if bones(name).is_empty() || bones(name) == bones(text) { text.into() } else { format!("{text}  {name}") }
}

fn array_text(plan: &Plan, array: &crate::plan::Array) -> String {
    let n = array.strings.panels();
    let layout = array.strings.to_string();
    let layout = layout.split(' ').next().unwrap_or("").to_string();
    let each = array.strings.alike().and_then(|id| plan.panels.iter().find(|p| p.id == *id)).map(|p| &p.pmax_w);
    let power = match each {
        Some(Known::Is(w)) => format!("{n} x {}", watts(w.0)),
        _ if n == 0 => "no panels yet".into(),
        Some(Known::Unknown) => format!("{n} x ? W"),
        None => counted(n, "panel"),
    };
    let layout = if array.strings.alike().is_some() { layout } else { "mixed".into() };
    let layout = if n == 0 { String::new() } else { format!("  {layout}") };
    let mount = match array.mount {
        Mount::Feet => "on feet",
        Mount::Glued => "glued flat",
        Mount::Tilted => "tilted",
    };
    format!("{power}{layout} {mount} > {}", word(&array.controller))
}

fn controller_text(c: &crate::plan::Controller) -> String {
    let amps = with(&c.out_a, |a| words::num(a.0));
    let volts = with(&c.max_pv_v, |v| words::num(v.0));
    named(&c.name, &format!("{}, {amps} A out, {volts} V in", word(&c.kind)))
}

fn bank_text(plan: &Plan) -> String {
    let bank = &plan.bank;
    if [Plan::default(), Plan::blank()].iter().any(|plan| plan.bank == *bank) {
        return "no bank yet".into();
    }
    let count = |known: &Known<crate::units::Number>| known.known().map(|n| n.0);
    let volts = bank.unit_v.known().zip(count(&bank.series)).map(|(v, s)| v.0 * s);
    let amp_hours = bank.unit_ah.known().zip(count(&bank.parallel)).map(|(a, p)| a.0 * p);
    let show = |x: Option<f64>| x.map_or_else(|| words::UNKNOWN.into(), words::num);
    let layout = format!("{}S{}P", show(count(&bank.series)), show(count(&bank.parallel)));
    format!("{} {} V {} Ah  {layout}", word(&bank.chemistry), show(volts), show(amp_hours))
}

fn device_text(d: &Device) -> String {
    let amps = d.ratings.amps_a.as_ref().map(|a| format!(" {} A", with(a, |a| words::num(a.0)))).unwrap_or_default();
    named(&d.name, &format!("{}{amps}", word(&d.kind)))
}

fn load_text(l: &Load) -> String {
    let n = with(&l.quantity, |n| if n.0 == 1.0 { String::new() } else { format!("{} x ", words::num(n.0)) });
    let hours = with(&l.hours_day, |h| format!("{} h/d", words::num(h.0)));
    named(&l.name, &format!("{n}{} {hours} {}", with(&l.watts_w, |w| watts(w.0)), l.supply))
}

/// A run's length in the plan's unit: the sum of its legs, `?` if one is missing.
#[must_use]
pub fn length(plan: &Plan, run: &Run) -> String {
    length_m(run).map_or_else(|| words::UNKNOWN.into(), |m| words::length(Units::of(plan), m))
}

/// The same in a cell of so many columns.
#[must_use]
pub fn length_within(plan: &Plan, run: &Run, columns: u16) -> String {
    let within = |m| words::length_within(Units::of(plan), m, usize::from(columns));
    length_m(run).map_or_else(|| words::UNKNOWN.into(), within)
}

fn length_m(run: &Run) -> Option<f64> {
    let total: Option<f64> = run.legs.iter().map(|l| l.length_m.known().map(|m| m.0)).sum();
    total.filter(|_| !run.legs.is_empty())
}

/// The one leg of a run that is bought new where others exist: what a gauge is chosen for.
#[must_use]
pub fn new_leg_beside_others(run: &Run) -> Option<&Leg> {
    let mut new = run.legs.iter().filter(|l| l.state == State::New);
    let exists = run.legs.iter().any(|l| l.state.stays() && l.state != State::New);
    new.next().filter(|_| exists && new.next().is_none())
}

/// A run's gauge, that of its new legs where others exist; a `*` where legs have other gauges than the run.
#[must_use]
pub fn gauge(run: &Run) -> String {
    let own = run.legs.iter().any(|l| l.gauge.as_ref().is_some_and(|gauge| *gauge != run.gauge));
    let each: Vec<String> = run.legs.iter().filter_map(|l| l.per_pole.known()).map(|n| words::num(n.0)).collect();
    let parallel = match each.first() {
        Some(n) if n != "1" => format!("{n}x"),
        _ => String::new(),
    };
    let size = match LaidGauge::of(run) {
        LaidGauge::One(gauge) => gauge.to_string(),
        _ => word(&run.gauge),
    };
    format!("{parallel}{}{}", size, if own { "*" } else { "" })
}

/// A run's first fuse, and `+1` for each other: `70 A to`.
#[must_use]
pub fn fuse(run: &Run) -> String {
    let Some(first) = run.protection.first() else { return "-".into() };
    let amps = with(&first.amps_a, |a| words::num(a.0));
    let more = run.protection.len() - 1;
    let more = if more > 0 { format!(" +{more}") } else { String::new() };
    let end = match first.at {
        FuseAt::From => run.from.known(),
        FuseAt::To => run.to.known(),
        FuseAt::Leg => first.leg.as_ref().and_then(Known::known),
    };
    let end = end.map_or_else(String::new, |id| format!(" {id}"));
    format!("{amps} A{end}{more}")
}

/// A field's text as shown.
#[must_use]
pub fn shown(plan: &Plan, at: &FieldPath) -> String {
    entry::show_at(plan, at).unwrap_or_default()
}
