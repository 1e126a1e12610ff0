//! Steps that set a source's charge volts: to what the battery takes, or as another source has them.

use crate::engine::circuit::Circuit;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::starting::{self, StartBattery};
use crate::plan::{Edit, FieldPath, Id, Known, Plan, Run, Step, Value};
use crate::standards::chemistry::{ChemistryRow, Window, chemistry};

/// The two settings of a source that go together.
const FIELDS: [&str; 2] = ["absorb_v", "float_v"];

fn at(plan: &Plan, id: &str, field: &str) -> Option<(FieldPath, f64)> {
    ["controllers", "chargers"].iter().find_map(|list| {
        let at = FieldPath::new(format!("{list}.{id}.{field}"));
        match plan.get_at(&at) {
            Some(Value::Number(volts)) => Some((at, volts)),
            _ => None,
        }
    })
}

/// The battery that a source charges: its chemistry, times 12 V by its cells, and the most that its label allows.
pub(super) struct Charged {
    pub(super) row: &'static ChemistryRow,
    pub(super) twelves: f64,
    pub(super) label_v: f64,
    pub(super) start: Option<usize>,
}

/// What a source charges: the bank, unless it charges a start battery alone.
pub(super) fn charged(plan: &Plan, id: &str) -> Option<Charged> {
    let c = Context::of(plan, Circuit::of(plan).0, &[]);
    let start = starting::charged_by(&c, id);
    if let Some(device) = start {
        let own = StartBattery::of(&c, device).ok()?;
        return Some(Charged { row: own.row, twelves: own.twelves, label_v: f64::MAX, start });
    }
    // What a converter parts from the bank is never set for it.
    if starting::source_of(plan, id).is_some_and(|n| c.circuit.beyond(n).is_some()) {
        return None;
    }
    let series = plan.bank.series.known()?.0;
    let row = chemistry(*plan.bank.chemistry.known()?);
    let label_v = plan.bank.max_charge_v.as_ref().and_then(|k| k.known()).map_or(f64::MAX, |v| v.0 * series);
    Some(Charged { row, twelves: row.twelves(plan.bank.unit_v.known()?.0) * series, label_v, start })
}

/// What the settings of all sources become for a bank of another chemistry, and what is said of it: absorption and float
/// within what it takes, and for lithium neither equalising nor compensation.
pub(super) fn of_chemistry(plan: &Plan) -> Option<(Vec<Edit>, String)> {
    let lithium = plan.bank.chemistry.known()?.is_lithium();
    let controllers = plan.controllers.iter().filter(|k| k.state.stays());
    let chargers = plan.chargers.iter().filter(|k| k.state.stays());
    let controllers = controllers.map(|k| ("controllers", &k.id, k.equalise_v.is_some(), k.temp_comp_mv_k));
    let chargers = chargers.map(|k| ("chargers", &k.id, k.equalise_v.is_some(), k.temp_comp_mv_k));
    let (mut edits, mut said) = (Vec::new(), String::new());
    for (list, id, equalises, compensates) in controllers.chain(chargers) {
        if charged(plan, id.as_str()).is_none_or(|c| c.start.is_some()) {
            continue;
        }
        let mut words: Vec<String> = Vec::new();
        if let Some(step) = within(plan, &[id.as_str()]) {
            words.push(step.name.split_once(": ").map_or(String::new(), |(_, all)| all.into()));
            edits.extend(step.edits);
        }
        let mut set = |field: &str, to: Value, what: &str| {
            edits.push(Edit::Set { at: FieldPath::new(format!("{list}.{id}.{field}")), to });
            words.push(what.into());
        };
        if lithium && equalises {
            set("equalise_v", Value::Nothing, "no equalising");
        }
        if lithium && compensates.known().is_none_or(|mv| mv.0 != 0.0) {
            set("temp_comp_mv_k", Value::Number(0.0), "no compensation");
        }
        if !words.is_empty() {
            said.push_str(&format!("; {id}: {}", words.join(", ")));
        }
    }
    Some((edits, said))
}

/// Both settings of some sources as near as may be to what they are, within what the battery takes.
fn within(plan: &Plan, ids: &[&str]) -> Option<Step> {
    let (mut edits, mut said) = (Vec::new(), Vec::new());
    for id in ids {
        let Charged { row, twelves, label_v: label, .. } = charged(plan, id)?;
        for (field, window) in FIELDS.into_iter().zip([&row.absorb_v, &row.float_v]) {
            let Some((at, volts)) = self::at(plan, id, field) else { continue };
            let most = (window.most * twelves).min(label);
            let to = volts.clamp((window.least * twelves).min(most), most);
            if (to - volts).abs() > 1e-6 {
                said.push(format!("{} {to} V", field.trim_end_matches("_v")));
                edits.push(Edit::Set { at, to: Value::Number(to) });
            }
        }
    }
    said.dedup();
    (!edits.is_empty()).then(|| Step { name: format!("{}: {}", ids.join(" and "), said.join(", ")), edits })
}

/// The runs taken out that lead from a source straight to a start battery whose settings are not those of all that it charges: a
/// charger of its own is for that one.
pub(super) fn off_battery(plan: &Plan, id: &str, finding: &Finding) -> Option<Step> {
    let c = Context::of(plan, Circuit::of(plan).0, &[]);
    let battery = plan.devices.get(starting::charged_in(&c, finding)?)?;
    let of = |end: &Known<Id>, name: &str| end.known().is_some_and(|end| end.as_str() == name);
    let joins = |r: &&Run| {
        let other = battery.id.as_str();
        (of(&r.from, id) && of(&r.to, other)) || (of(&r.to, id) && of(&r.from, other))
    };
    let runs: Vec<&str> = plan.runs.iter().filter(joins).map(|r| r.id.as_str()).collect();
    let leads = |r: &&Run| of(&r.from, id) || of(&r.to, id);
    // What it alone is led to it stays on.
    if runs.is_empty() || plan.runs.iter().filter(leads).count() == runs.len() {
        return None;
    }
    let edits = runs.iter().map(|run| Edit::Remove { at: FieldPath::new(format!("runs.{run}")) }).collect();
    Some(Step { name: format!("{} removed: {} wants a charger of its own", runs.join(" and "), battery.id), edits })
}

/// All settings of a source at once, where no single one is all that is wrong: as another source of the same battery has them,
/// else each that is outside as is usual for its battery.
pub(in crate::engine) fn all_usual(plan: &Plan, id: &str) -> Vec<Step> {
    let Some(Charged { row, twelves, label_v, start }) = charged(plan, id) else { return Vec::new() };
    let windows =
        [("absorb_v", Some(&row.absorb_v)), ("float_v", Some(&row.float_v)), ("equalise_v", row.equalise_v.as_ref())];
    let outside = |v: f64, w: &Window| v > (w.most * twelves).min(label_v) + 1e-6 || v < w.least * twelves - 1e-6;
    let usual = |(field, window): (&str, Option<&Window>)| {
        let (window, (at, volts)) = (window?, self::at(plan, id, field)?);
        // The middle, as all that its kinds have in common; a label may allow less.
        let to = ((f64::midpoint(window.least, window.most) * twelves * 10.0).round() / 10.0).min(label_v);
        let said = if field == "absorb_v" { "absorb" } else { field.trim_end_matches("_v") };
        outside(volts, window).then(|| (format!("{said} {to} V"), Edit::Set { at, to: Value::Number(to) }))
    };
    let (said, edits): (Vec<String>, Vec<Edit>) = windows.into_iter().filter_map(usual).unzip();
    if edits.len() < 2 {
        return Vec::new();
    }
    let same = |other: &str| other != id && charged(plan, other).is_some_and(|c| c.start == start);
    let stays = plan.controllers.iter().filter(|k| k.state.stays()).map(|k| k.id.as_str());
    let others = stays.chain(plan.chargers.iter().filter(|k| k.state.stays()).map(|k| k.id.as_str()));
    let as_others = others.filter(|o| same(o)).filter_map(|other| all_as(plan, other, id));
    let name = format!("{id}: {}, as is usual for {}", said.join(", "), whose(plan, start));
    as_others.chain([Step { name, edits }]).collect()
}

/// What a source's battery is called.
fn whose(plan: &Plan, start: Option<usize>) -> String {
    start.and_then(|i| plan.devices.get(i)).map_or("the bank".into(), |d| d.id.to_string())
}

/// A setting of a source as another source has it, where that is within a window: it alone, and absorption and float both.
pub(super) fn as_others(plan: &Plan, id: &str, field: &str, (least, most): (f64, f64)) -> Vec<Step> {
    let controllers = plan.controllers.iter().filter(|k| k.state.stays()).map(|k| k.id.as_str());
    let others = controllers.chain(plan.chargers.iter().filter(|k| k.state.stays()).map(|k| k.id.as_str()));
    let mut steps = Vec::new();
    let start = charged(plan, id).and_then(|c| c.start);
    let same = |other: &&str| charged(plan, other).is_some_and(|c| c.start == start);
    for other in others.filter(|o| *o != id).filter(same) {
        let within = |v: f64| v >= least - 1e-6 && v <= most + 1e-6;
        let Some((_, volts)) = at(plan, other, field).filter(|(_, v)| within(*v)) else { continue };
        let word = if field == "absorb_v" { "absorb" } else { field.trim_end_matches("_v") };
        let own = FieldPath::new(at(plan, id, field).map_or_else(String::new, |(at, _)| at.to_string()));
        let name = format!("{id}: {word} {volts} V as {other}");
        steps.push(Step::one(name, Edit::Set { at: own, to: Value::Number(volts) }));
        steps.extend(all_as(plan, other, id));
    }
    steps
}

/// The most that is usual for a setting of a source, by what it charges and its label.
pub(super) fn usual_most_v(plan: &Plan, id: &str, field: &str) -> Option<f64> {
    let Charged { row, twelves, label_v, .. } = charged(plan, id)?;
    let window = if field == "float_v" { &row.float_v } else { &row.absorb_v };
    Some((window.most * twelves).min(label_v))
}

/// Whether volts are too high for the battery that a source charges: never what another one is set to.
fn is_too_high(plan: &Plan, id: &str, field: &str, volts: f64) -> bool {
    usual_most_v(plan, id, field).is_some_and(|most_v| volts > most_v + 1e-6)
}

/// Absorption and float of one source copied to another.
fn all_as(plan: &Plan, from: &str, to: &str) -> Option<Step> {
    let both = FIELDS.map(|field| Some((at(plan, from, field)?.1, at(plan, to, field)?.0)));
    let [Some((absorb, absorb_at)), Some((float, float_at))] = both else { return None };
    if is_too_high(plan, to, "absorb_v", absorb) || is_too_high(plan, to, "float_v", float) {
        return None;
    }
    let set = |at: FieldPath, volts: f64| Edit::Set { at, to: Value::Number(volts) };
    let name = format!("{to}: absorb {absorb} V and float {float} V as {from}");
    Some(Step { name, edits: vec![set(absorb_at, absorb), set(float_at, float)] })
}

/// Whether a step against settings that disagree is one for where no setting copied alone mends it.
pub(super) fn is_last(finding: &Finding, step: &Step) -> bool {
    finding.check.id == "profiles-disagree" && !(step.edits.len() == 1 && step.name.contains(" V as "))
}

/// One source's charge volts copied to the other: the setting that differs, then all of them, then both sources set as the
/// battery takes it. Of two either may be the one that is wrong.
pub(super) fn alike(plan: &Plan, id: &str, finding: &Finding) -> Vec<Step> {
    let (other, field) = (finding.name(0), if finding.name(2) == "float" { "float_v" } else { "absorb_v" });
    let copied = |(from, to): (&str, &str)| {
        let ((_, volts), (at, _)) = (at(plan, from, field)?, at(plan, to, field)?);
        // What is too high for the battery is too high for both.
        let step = || Step::one(format!("{to}: {volts} V as {from}"), Edit::Set { at, to: Value::Number(volts) });
        (!is_too_high(plan, to, field, volts)).then(step)
    };
    let ways = [(other, id), (id, other)];
    let mut steps: Vec<Step> = ways.into_iter().filter_map(copied).collect();
    steps.extend(ways.into_iter().filter_map(|(from, to)| all_as(plan, from, to)));
    steps.extend(within(plan, &[id]).into_iter().chain(within(plan, &[other])).chain(within(plan, &[other, id])));
    steps
}
