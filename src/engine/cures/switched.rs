//! Steps that put a switch or a disconnect into a run, with a short lead on to what the run led to.

use crate::engine::circuit::{Circuit, Node, Way, device_kind, name_of, path_at};
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::resistance::{fuses, leg_path, legs, length_m};
use crate::engine::{Engine, Level};
use crate::plan::entry::{self, Units};
use crate::plan::format::item_text;
use crate::plan::wiring::{FuseAt, Return};
use crate::plan::{
    Device, DeviceKind, Edit, FieldPath, Id, Known, Leg, ListPath, Plan, Ratings, Run, State, Step, Value,
};
use crate::standards::conductor::Gauge;
use crate::standards::fuse::dc_rating_at_least;
use crate::stock::Stock;
use crate::units::{Amps, Volts};

/// Usual continuous ratings of battery switches, A. Source: common practice, what is sold; from memory.
const SWITCHES_A: [f64; 7] = [100.0, 150.0, 200.0, 300.0, 350.0, 500.0, 600.0];

/// Usual continuous ratings of PV disconnects, A. Source: common practice, what is sold; from memory.
const DISCONNECTS_A: [f64; 6] = [16.0, 25.0, 32.0, 40.0, 63.0, 100.0];

/// What a step says of a lead that it brings.
const MEASURED: &str = "; its lead to be measured";

/// Wire that a switch in a battery's lead leaves beyond it, m. Source: our own choice, a foot.
const CUT_M: f64 = 0.3048;

/// The check that something switches the bank off from what it feeds.
const UNSWITCHED: &str = "no-bank-disconnect";

/// Most ways from the bank that are given a switch at once. Source: our own choice.
const MOST_WAYS: usize = 5;

/// A switch in each run of the way to what a finding names, in turn, the main one first; and, where other ways leave the bank
/// beside it without one, a switch in each of them.
pub(super) fn switches(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    let (circuit, _) = Circuit::of(plan);
    let mut steps = in_way(plan, &circuit, finding, before, true);
    // Beside others a switch in one battery's lead is that lead's alone.
    let mut each = in_way(plan, &circuit, finding, before, false);
    let leads = in_leads(plan, &circuit, before);
    each.extend(leads.clone());
    steps.extend(leads);
    let all = each.into_iter().filter_map(|s| with_others(engine, plan, stock, finding, s));
    steps.extend(all.collect::<Vec<_>>());
    steps
}

/// Whether a step takes life safety past the switch with all else that its panel feeds: then nothing switches loads off.
pub(super) fn leaves_unswitched(finding: &Finding, before: &Report, after: &Report) -> bool {
    let says = |r: &Report| r.findings.iter().any(|f| f.check.id == UNSWITCHED);
    finding.check.id.starts_with("life-safety-") && says(after) && !says(before)
}

/// Of batteries in parallel on leads of their own a switch in the lead of each, cut next to where they meet: the lead is as long as
/// it was, in two pieces.
fn in_leads(plan: &Plan, circuit: &Circuit, before: &Report) -> Option<Step> {
    if circuit.own_ways.len() < 2 {
        return None;
    }
    let (mut with, mut edits, mut names, mut numbers) = (plan.clone(), Vec::new(), Vec::new(), Vec::new());
    for way in &circuit.own_ways {
        let (i, run) = way.last().and_then(|i| Some((*i, plan.runs.get(*i)?)))?;
        let link = circuit.links.get(i)?;
        let mut step = switch(plan, &with, circuit, (i, 1.0), before)?;
        let new = with.with(&step).ok()?.runs.into_iter().find(|r| with.runs.iter().all(|old| old.id != r.id))?;
        let end = if link.near_from { legs(run).last() } else { legs(run).next() }?;
        let (all_m, end_m) = (length_m(run).ok()?, end.length_m.known()?.0);
        let beyond_m = CUT_M.min(end_m / 2.0);
        let mut set = |at: FieldPath, m: f64| step.edits.push(Edit::Set { at, to: Value::Number(m) });
        set(leg_path(run, end, "length_m"), end_m - beyond_m);
        set(leg_path(&new, new.legs.first()?, "length_m"), beyond_m);
        if run.return_path == Return::Pair && run.negative_length_m.is_none() {
            set(FieldPath::of(&["runs", run.id.as_str(), "negative_length_m"]), all_m);
        }
        with = with.with(&step).ok()?;
        names.push(format!(
            "{}, cut {beyond_m:.2} m ahead of {}",
            step.name.replace(MEASURED, ""),
            name_of(plan, link.far()?)
        ));
        numbers.push(beyond_m);
        edits.extend(step.edits);
    }
    let name = format!("a switch in each battery's lead: {}", names.join("; "));
    Some(Step { name: entry::said(Units::of(plan), &name, &numbers), edits })
}

/// A step with a switch in every other way that it leaves without one; none where it leaves none, or too many.
fn with_others(engine: &mut Engine, plan: &Plan, stock: &Stock, finding: &Finding, mut step: Step) -> Option<Step> {
    for n in 0..=MOST_WAYS {
        let with = plan.with(&step).ok()?;
        let after = engine.evaluate_wires(&with, stock);
        let Some(next) = after.findings.iter().find(|f| f.identity() == finding.identity()) else {
            return (n > 0).then_some(step);
        };
        let (circuit, _) = Circuit::of(&with);
        let more = in_way(&with, &circuit, next, &after, false).into_iter().next()?;
        step.edits.extend(more.edits);
        step.name = match n {
            0 => format!("a switch in each way: {}; {}", step.name, more.name),
            _ => format!("{}; {}", step.name, more.name),
        };
    }
    None
}

/// `common`: one for the leads of all batteries that end where one does.
fn in_way(plan: &Plan, circuit: &Circuit, finding: &Finding, before: &Report, common: bool) -> Vec<Step> {
    let named = finding.name(0);
    let ends_on = |way: &&Way| path_at(plan, way.end).is_some_and(|p| p.split_last().1 == named);
    let passes = |way: &&Way| {
        let ends = way.positives(circuit).filter_map(|i| circuit.links.get(i)).flat_map(|l| [l.from, l.to]).flatten();
        ends.filter_map(|n| path_at(plan, n)).any(|p| p.split_last().1 == named)
    };
    let ways = || circuit.ways.iter().filter(|w| !matches!(w.end, Node::Array(_)));
    let Some(way) = ways().find(ends_on).or_else(|| ways().find(passes)) else { return Vec::new() };
    // On a switch in one lead of several batteries those of all end that ended where it did.
    let leads = |i: usize| {
        let field = if circuit.links.get(i).is_some_and(|l| l.near_from) { "to" } else { "from" };
        let beside = plan.runs.get(i).filter(|_| common && circuit.own_way_of(i).is_some());
        1.0 + beside.map_or(0, |run| super::alike::of_same(plan, circuit, run, field)) as f64
    };
    way.positives(circuit).filter_map(|i| switch(plan, plan, circuit, (i, leads(i)), before)).collect()
}

/// A switch at the far end of a run, with a short lead on to what the run led to, beside what else is put in with it; so many
/// leads like it end on it.
fn switch(plan: &Plan, with: &Plan, circuit: &Circuit, (index, leads): (usize, f64), before: &Report) -> Option<Step> {
    let (run, link, figures) = (plan.runs.get(index)?, circuit.links.get(index)?, before.runs.get(index)?);
    if matches!(device_kind(plan, link.far()?), Some(DeviceKind::Switch | DeviceKind::Disconnect)) {
        return None;
    }
    let design = figures.design_a.as_ref().ok()?.0;
    // Made for what flows, and for what the fuse that guards it lets through.
    let own = circuit.own_way_of(index).and_then(|way| circuit.own_ways.get(way));
    let ahead = own.unwrap_or(&link.upstream).iter().chain([&index]);
    let guard = guarding_a(plan, ahead).map(|a| a * leads);
    let guard = guard.filter(|a| SWITCHES_A.iter().any(|s| s >= a));
    let amps = SWITCHES_A.iter().copied().find(|a| *a >= design.max(guard.unwrap_or(0.0)))?;
    let circuit_v = figures.fuses.first().and_then(|f| f.circuit_v.as_ref().ok()).map(|v| v.0);
    // Charging stands some fifth above the bank's nominal volts.
    let circuit_v = circuit_v.or_else(|| Some(before.bank.volts.as_ref().ok()?.0 * 1.25))?;
    let volts = dc_rating_at_least(circuit_v)?;
    let device = rated(with, DeviceKind::Switch, "battery switch", (amps, volts));
    let field = if link.near_from { "to" } else { "from" };
    let wrong = |f: &Finding| f.level == Level::Stop && f.subject.as_str() == format!("runs.{}", run.id);
    // A wire that has to be another one anyway is no pattern for the lead.
    let gauge = if before.findings.iter().any(wrong) { Known::Unknown } else { run.gauge };
    let mut step = split(with, run, field, &device, gauge)?;
    step.name = format!("new {} in {}: {amps} A, {volts} V DC{MEASURED}", device.name, run.id);
    // A run without any fuse is no better in two pieces: it gets the one that it wants.
    let is_bare = |f: &Finding| f.subject.as_str() == format!("runs.{}", run.id) && super::bared::is_bare(f);
    if before.findings.iter().any(is_bare) {
        let (fuse, said) = match &figures.proposed {
            Some(p) => (super::fuse_edits(run, p), format!("{} A {}", p.amps.0, p.family)),
            None => {
                let at = if link.near_from { FuseAt::From } else { FuseAt::To };
                (vec![super::put(run, at, Known::Unknown, Known::Unknown)], "to be sized".to_string())
            }
        };
        step.edits.extend(fuse);
        step.name.push_str(&format!(", and its fuse: {said}"));
    }
    Some(step)
}

/// The smallest fuse on some runs in line, whose rating is known.
fn guarding_a<'a>(plan: &Plan, runs: impl Iterator<Item = &'a usize>) -> Option<f64> {
    let all = runs.filter_map(|i| plan.runs.get(*i)).flat_map(fuses).filter_map(|f| f.amps_a.known());
    all.map(|a| a.0).min_by(f64::total_cmp)
}

/// A disconnect where the array's way ends on its controller.
pub(super) fn pv_disconnect(
    plan: &Plan,
    circuit: &Circuit,
    array: usize,
    index: usize,
    before: &Report,
) -> Option<Step> {
    let (run, link, figures) = (plan.runs.get(index)?, circuit.links.get(index)?, before.runs.get(index)?);
    let amps = DISCONNECTS_A.iter().copied().find(|a| figures.design_a.as_ref().is_ok_and(|d| *a >= d.0))?;
    let cold_v = before.arrays.get(array)?.voc_cold_v.as_ref().ok()?.0;
    // What its controller takes, where that is more: another stay may be colder.
    let controller = circuit.feeds.get(array).copied().flatten().and_then(|k| plan.controllers.get(k));
    let takes_v = controller.and_then(|k| k.max_pv_v.known()).map_or(cold_v, |v| v.0.max(cold_v));
    let volts = dc_rating_at_least(takes_v).or_else(|| dc_rating_at_least(cold_v))?;
    let device = rated(plan, DeviceKind::Disconnect, "PV disconnect", (amps, volts));
    // The controller's end faces the stronger source.
    let field = if link.near_from { "from" } else { "to" };
    let mut step = cut(plan, run, field, &device)?;
    step.name = format!("new {} in {}: {amps} A, {volts} V DC{MEASURED}", device.name, run.id);
    Some(step)
}

fn rated(plan: &Plan, kind: DeviceKind, name: &str, (amps, volts): (f64, f64)) -> Device {
    let (volts_dc_v, amps_a) = (Some(Known::Is(Volts(volts))), Some(Known::Is(Amps(amps))));
    let ratings = Ratings { volts_dc_v, amps_a, ..Ratings::default() };
    let id = plan.free_id(&ListPath::new("devices"));
    Device { id, kind: Known::Is(kind), name: name.into(), ratings, ..Device::default() }
}

/// A device at one end of a run, and a lead on to what the run ended on. The positive alone goes on: the negative ends
/// where it did.
fn split(plan: &Plan, run: &Run, field: &str, device: &Device, gauge: Known<Gauge>) -> Option<Step> {
    let lead = Run { gauge, return_path: Return::None, ..lead(plan, run, field, device)? };
    let mut step = joined_by(plan, run, field, device, &lead);
    let (ended, negative) = match field {
        "to" => (&run.to, &run.negative_to),
        _ => (&run.from, &run.negative_from),
    };
    if let (Return::Pair, None, Some(ended)) = (run.return_path, negative, ended.known()) {
        let at = FieldPath::new(format!("runs.{}.negative_{field}", run.id));
        step.edits.push(Edit::Set { at, to: Value::Id(ended.clone()) });
    }
    Some(step)
}

/// A device at one end of a run that is cut there: the piece beyond it is of the same wire, goes and returns as the run
/// does. How long that piece is, and whether the run is shorter by it, is to be measured.
fn cut(plan: &Plan, run: &Run, field: &str, device: &Device) -> Option<Step> {
    let end = if field == "to" { run.legs.last() } else { run.legs.first() }?;
    let mut lead = Run { gauge: run.gauge, return_path: run.return_path, ..lead(plan, run, field, device)? };
    let mut edits = Vec::new();
    let (own, beyond) = match field {
        "to" => (&run.negative_to, &mut lead.negative_to),
        _ => (&run.negative_from, &mut lead.negative_from),
    };
    if own.is_some() {
        beyond.clone_from(own);
        let at = FieldPath::new(format!("runs.{}.negative_{field}", run.id));
        edits.push(Edit::Set { at, to: Value::Id(device.id.clone()) });
    }
    for leg in &mut lead.legs {
        (leg.gauge, leg.state) = (end.gauge, end.state);
    }
    let mut step = joined_by(plan, run, field, device, &lead);
    step.edits.extend(edits);
    Some(step)
}

/// A lead from a device at one end of a run to what the run ended on, whose length nobody has measured.
fn lead(plan: &Plan, run: &Run, field: &str, device: &Device) -> Option<Run> {
    let (beyond, pattern) = if field == "to" { (&run.to, run.legs.last()) } else { (&run.from, run.legs.first()) };
    let leg = Leg {
        length_m: Known::Unknown,
        id: Id::numbered("L", 1),
        gauge: None,
        state: State::New,
        pv_connectors: None,
        extra_mohm: None,
        ..pattern?.clone()
    };
    let here = Known::Is(device.id.clone());
    let (from, to) = if field == "to" { (here, beyond.clone()) } else { (beyond.clone(), here) };
    let id = plan.free_id(&ListPath::new("runs"));
    Some(Run { id, from, to, legs: vec![leg], protection: Vec::new(), ..Run::default() })
}

/// The device, the run that ends on it, and the lead beyond it.
fn joined_by(plan: &Plan, run: &Run, field: &str, device: &Device, lead: &Run) -> Step {
    let at = FieldPath::of(&["runs", run.id.as_str(), field]);
    let after = plan.devices.last().map(|d| d.id.clone());
    let edits = vec![
        Edit::Insert { list: ListPath::new("devices"), after, item: item_text(device) },
        Edit::Set { at, to: Value::Id(device.id.clone()) },
        Edit::Insert { list: ListPath::new("runs"), after: Some(run.id.clone()), item: item_text(lead) },
    ];
    Step { name: format!("{} {}", device.name, device.id), edits }
}
