//! A converter to 12 V between a rail of more volts and what is made for 12 V.

use crate::engine::circuit::{Node, device_kind, path_at};
use crate::engine::context::Context;
use crate::engine::converted::{CONVERTED_V, GIVEN_MOST_V, nominal_at};
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::starting::source_of;
use crate::engine::vehicle::RUNNING_V;
use crate::plan::format::item_text;
use crate::plan::wiring::{FuseAt, MadeFor, Supply};
use crate::plan::{
    Device, DeviceKind, Edit, FieldPath, Id, Known, Leg, ListPath, Load, Plan, Ratings, Run, State, Step, Value,
};
use crate::units::Amps;

use super::feed::{drawn, near_field};

/// Usual outputs of converters to 12 V, A. Source: common practice, what is sold; from memory.
const CONVERTERS_A: [f64; 11] = [5.0, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0];

/// A converter is chosen for so many times what it gives for long. Source: common practice, as for fuses: NEC 210.20(A), 125 %
/// of a continuous load.
const ROOM: f64 = 1.25;

/// Steps for a load that is made for 12 V on a rail of more; where the whole panel it hangs on is, one for all of it first.
pub(super) fn steps(c: &Context<'_>, id: &str, finding: &Finding, before: &Report) -> Vec<Step> {
    let plan = c.plan;
    let Some(index) = plan.loads.iter().position(|l| l.id.as_str() == id) else { return Vec::new() };
    let Some(load) = plan.loads.get(index) else { return Vec::new() };
    if finding.n(0) <= CONVERTED_V + 0.5 || !made_for_12(load) {
        return Vec::new();
    }
    let own = c.circuit.links.iter().position(|l| l.far() == Some(Node::Load(index)));
    let panel = match own {
        Some(run) => c.circuit.links.get(run).and_then(|l| l.near()),
        None => c.circuit.panel.map(Node::Device),
    };
    let panel = panel.filter(|n| device_kind(plan, *n) == Some(DeviceKind::FusePanel));
    let whole = panel.and_then(|panel| ahead_of(c, panel, before));
    let alone = match own {
        Some(run) => in_branch(c, load, run),
        None => panel.and_then(|panel| from_panel(c, load, panel)),
    };
    [whole, alone].into_iter().flatten().collect()
}

/// All that a source behind a converter is set to above what hangs there stands, as the converter gives it.
pub(super) fn lowered(plan: &Plan, id: &str) -> Option<Step> {
    let node = source_of(plan, id)?;
    let at = path_at(plan, node)?;
    let (mut edits, mut said) = (Vec::new(), Vec::new());
    for (field, word) in [("absorb_v", "absorb"), ("float_v", "float"), ("equalise_v", "equalise")] {
        let at = at.join(field);
        let is_high = matches!(plan.get_at(&at), Some(Value::Number(v)) if v > RUNNING_V);
        if is_high {
            said.push(format!("{word} {GIVEN_MOST_V} V"));
            edits.push(Edit::Set { at, to: Value::Number(GIVEN_MOST_V) });
        }
    }
    (!edits.is_empty()).then(|| Step { name: format!("{id}: {}", said.join(", ")), edits })
}

fn made_for_12(load: &Load) -> bool {
    load.made_for.as_ref().and_then(Known::known).is_some_and(|m: &MadeFor| m.fits(CONVERTED_V))
}

/// A converter that gives so much; none is sold so large otherwise.
fn converter(plan: &Plan, amps: f64) -> Option<(Device, f64)> {
    let rated = CONVERTERS_A.into_iter().find(|a| *a >= amps * ROOM - 1e-9)?;
    let id = plan.free_id(&ListPath::new("devices"));
    let ratings = Ratings { amps_a: Some(Known::Is(Amps(rated))), ..Ratings::default() };
    let kind = Known::Is(DeviceKind::Converter);
    Some((Device { id, kind, name: "converter".into(), ratings, ..Device::default() }, rated))
}

fn inserted(plan: &Plan, device: &Device) -> Edit {
    let after = plan.devices.last().map(|d| d.id.clone());
    Edit::Insert { list: ListPath::new("devices"), after, item: item_text(device) }
}

/// What some loads draw together at 12 V, A.
fn draw_a<'a>(loads: impl Iterator<Item = &'a Load>) -> Option<f64> {
    let each = |l: &Load| Some(l.watts_w.known()?.0 * l.quantity.known()?.0 / CONVERTED_V);
    loads.map(each).sum()
}

/// A converter in the feed of a panel, where all that hangs on it is made for 12 V: what fed the panel feeds the converter.
fn ahead_of(c: &Context<'_>, panel: Node, before: &Report) -> Option<Step> {
    let plan = c.plan;
    let feed = c.circuit.links.iter().position(|l| l.far() == Some(panel))?;
    let (run, link) = (plan.runs.get(feed)?, c.circuit.links.get(feed)?);
    let on_it = |(i, l): &(usize, &Load)| {
        l.state.stays()
            && l.supply == Supply::Dc
            && (c.circuit.undrawn.contains(i) || link.away.contains(&Node::Load(*i)))
    };
    let loads: Vec<&Load> = plan.loads.iter().enumerate().filter(on_it).map(|(_, l)| l).collect();
    let all = loads.iter().all(|l| made_for_12(l));
    if !all || loads.is_empty() || link.away.iter().any(|n| !matches!(n, Node::Load(_))) {
        return None;
    }
    // What the panel can draw at once at the rail's volts, or what all its loads do.
    let rail_v = nominal_at(c, panel).ok()?.into_iter().fold(0.0, f64::max);
    let audited = before.runs.get(feed)?.design_a.as_ref().ok().map(|a| a.0 * rail_v / CONVERTED_V);
    let (device, amps) = converter(plan, audited.or_else(|| draw_a(loads.into_iter()))?)?;
    let to = if link.near_from { "to" } else { "from" };
    let panel = crate::engine::circuit::path_at(plan, panel)?.split_last().1.to_string();
    let mut step = on_from(plan, run, &device, &panel.parse().ok()?)?;
    let at = FieldPath::of(&["runs", run.id.as_str(), to]);
    step.edits.splice(0..0, [inserted(plan, &device), Edit::Set { at, to: Value::Id(device.id.clone()) }]);
    step.name = format!(
        "12 V converter {} ahead of {panel}: {amps} A out, fed by {}; its lead to be measured and sized",
        device.id, run.id
    );
    Some(step)
}

/// A converter in a load's own branch: the branch with its fuse feeds the converter, a new lead goes on from there.
fn in_branch(c: &Context<'_>, load: &Load, run: usize) -> Option<Step> {
    let plan = c.plan;
    let (own, link) = (plan.runs.get(run)?, c.circuit.links.get(run)?);
    let (device, amps) = converter(plan, draw_a(std::iter::once(load))?)?;
    let to = if link.near_from { "to" } else { "from" };
    let mut step = on_from(plan, own, &device, &load.id)?;
    let at = FieldPath::of(&["runs", own.id.as_str(), to]);
    step.edits.splice(0..0, [inserted(plan, &device), Edit::Set { at, to: Value::Id(device.id.clone()) }]);
    step.name = format!(
        "12 V converter {} ahead of {}: {amps} A out, fed by {}; its lead to be measured and sized",
        device.id, load.id, own.id
    );
    let near = near_field(link);
    let bare = !own.protection.iter().any(|p| p.state.stays());
    if bare {
        step.edits.push(super::put(own, near.1, Known::Unknown, Known::Unknown));
    }
    Some(step)
}

/// A converter on a panel of the rail's volts, for one load that nobody has drawn a run to.
fn from_panel(c: &Context<'_>, load: &Load, panel: Node) -> Option<Step> {
    let plan = c.plan;
    let (device, amps) = converter(plan, draw_a(std::iter::once(load))?)?;
    let panel: Id = crate::engine::circuit::path_at(plan, panel)?.split_last().1.parse().ok()?;
    let mut edits = vec![inserted(plan, &device)];
    let with = plan.with(&Step { name: String::new(), edits: edits.clone() }).ok()?;
    let feed = drawn(&with, &panel, &device.id, Some(FuseAt::From));
    let with = with.with(&feed).ok()?;
    let lead = drawn(&with, &device.id, &load.id, None);
    edits.extend(feed.edits);
    edits.extend(lead.edits);
    let name = format!(
        "12 V converter {} for {}: {amps} A out, from {panel}; its runs to be measured and sized",
        device.id, load.id
    );
    Some(Step { name, edits })
}

/// A lead from a converter on to what a run led to, of what that run is made of; its length is to be measured.
fn on_from(plan: &Plan, run: &Run, device: &Device, to: &Id) -> Option<Step> {
    let list = ListPath::new("runs");
    let pattern = run.legs.last()?;
    let leg = Leg {
        id: Id::numbered("L", 1),
        length_m: Known::Unknown,
        state: State::New,
        gauge: None,
        extra_mohm: None,
        ..pattern.clone()
    };
    let lead = Run {
        id: plan.free_id(&list),
        from: Known::Is(device.id.clone()),
        to: Known::Is(to.clone()),
        return_path: run.return_path,
        legs: vec![leg],
        ..Run::default()
    };
    Some(Step::one("", Edit::Insert { list, after: Some(run.id.clone()), item: item_text(&lead) }))
}
