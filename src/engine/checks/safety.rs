//! Life safety, venting, the shunt.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role, device_kind};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::runs::path_of;
use crate::plan::{DeviceKind, FieldPath, Known, Missing, YesNo};
use crate::standards::kinds::Chemistry;
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

static BRAKES: Source = Source::new("49 CFR", "393.43(d)", Standing::FromMemory);
static VENT: Source = Source::new("NEC", "552.10(D)", Standing::Verified);

static BEHIND_SWITCH: Check = Check {
    id: "life-safety-behind-switch",
    safety: true,
    say: |f| format!("{} loses its supply when {} opens", f.name(0), f.name(1)),
};
static UNVENTED: Check = Check {
    id: "flooded-unvented",
    safety: true,
    say: |_| "BK: flooded batteries gas; their space must be vapour-tight to the inside and vented outside".into(),
};
static SHUNT_BYPASS: Check = Check {
    id: "shunt-bypass",
    safety: false,
    say: |f| {
        format!(
            "{}: its negative goes to the bank's post, past the shunt {}, which does not count it",
            f.name(0),
            f.name(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for (i, load) in plan.loads.iter().enumerate() {
        if load.life_safety == YesNo::Yes && load.state.stays() {
            let path = || FieldPath::new(format!("loads.{}", load.id));
            out.take(&BEHIND_SWITCH, path, behind_switch(w, i));
        }
    }
    out.take(&UNVENTED, || "bank".into(), unvented(w));
    bypass(w, out);
}

fn behind_switch(w: &Work<'_>, i: usize) -> Outcome {
    let Some(load) = w.context.plan.loads.get(i) else { return Ok(None) };
    let Some(way) = w.context.circuit.ways.iter().find(|x| x.end == Node::Load(i)) else {
        return Err(Missing("runs".into()));
    };
    let nodes = way.runs.iter().filter_map(|r| w.context.circuit.links.get(*r)).flat_map(|l| [l.from, l.to]);
    for node in nodes.flatten() {
        let opens = matches!(
            device_kind(w.context.plan, node),
            Some(DeviceKind::Switch | DeviceKind::Disconnect | DeviceKind::Isolator)
        );
        if let (true, Node::Device(d)) = (opens, node)
            && let Some(device) = w.context.plan.devices.get(d)
        {
            let path = FieldPath::new(format!("loads.{}", load.id));
            return Ok(Some(
                Finding::new(&BEHIND_SWITCH, Level::Stop, path, &[], &BRAKES).named([&load.id, &device.id]),
            ));
        }
    }
    Ok(None)
}

fn unvented(w: &Work<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    if bank.chemistry.known() != Some(&Chemistry::Flooded) || !bank.state.stays() {
        return Ok(None);
    }
    let vented = bank.vented.at(|| "bank.vented".into())?;
    Ok((vented == YesNo::No).then(|| Finding::new(&UNVENTED, Level::Stop, "bank".into(), &[], &VENT)))
}

/// Negatives that end on the bank's post although a shunt stands in the plan.
fn bypass(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let shunt = plan.devices.iter().position(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::Shunt));
    let Some((index, shunt)) = shunt.and_then(|i| Some((i, plan.devices.get(i)?))) else { return };
    for (run, link) in plan.runs.iter().zip(&w.context.circuit.links) {
        if matches!(link.role, Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense) {
            continue;
        }
        let to_post = |k: &Option<Known<crate::plan::Id>>| {
            k.as_ref().and_then(|k| k.known()).is_some_and(|id| id.as_str() == "BK-")
        };
        let at_shunt = [link.from, link.to].contains(&Some(Node::Device(index)));
        if !at_shunt && (to_post(&run.negative_from) || to_post(&run.negative_to)) {
            let found = Finding::new(&SHUNT_BYPASS, Level::Caution, path_of(run), &[], &COMMON_PRACTICE)
                .named([&run.id, &shunt.id]);
            out.take(&SHUNT_BYPASS, || path_of(run), Ok(Some(found)));
        }
    }
}
