//! Life safety and venting.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::isolation::Supplies;
use crate::plan::wiring::Supply;
use crate::plan::{FieldPath, Load, Missing, YesNo};
use crate::standards::cited::VENT;
use crate::standards::kinds::Chemistry;

use super::life;

static BEHIND_SWITCH: Check = Check {
    id: "life-safety-behind-switch",
    safety: true,
    say: |f| match f.name(2) {
        "" => format!("{} loses its supply when {} opens", f.name(0), f.name(1)),
        others => {
            format!("{} loses its supply when {} and {others} are open, as they are in storage", f.name(0), f.name(1))
        }
    },
};
static NEGATIVE: Check = Check {
    id: "life-safety-negative-switched",
    safety: true,
    say: |f| format!("{} loses its negative when {} opens", f.name(0), f.name(1)),
};
static UNVENTED: Check = Check {
    id: "flooded-unvented",
    safety: true,
    say: |_| "BK: flooded batteries gas; their space must be vapour-tight to the inside and vented outside".into(),
};
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for (i, (load, supplies)) in plan.loads.iter().zip(w.supplies).enumerate() {
        if load.life_safety == YesNo::Yes && load.state.stays() {
            let path = || FieldPath::of(&["loads", load.id.as_str()]);
            out.take(&BEHIND_SWITCH, path, behind_switch(w, i, load, supplies));
            life::all(w, out, i, load, supplies);
        }
    }
    out.take(&UNVENTED, || "bank".into(), unvented(w));
}

/// The first switch that takes every battery from it. One that is fed two ways loses nothing when one way opens.
fn behind_switch(w: &Work<'_>, i: usize, load: &Load, supplies: &Supplies) -> Outcome {
    if load.supply != Supply::Dc {
        return Ok(None);
    }
    // A fuse panel that stands for a run not drawn says nothing of what could cut this load off.
    if supplies.plug.is_some() {
        return Ok(None);
    }
    if supplies.batteries.is_empty() || w.context.circuit.undrawn.contains(&i) {
        return Err(Missing("runs".into()));
    }
    let plan = w.context.plan;
    let links = &w.context.circuit.links;
    let first = supplies.killers.first().copied();
    let named: Vec<&str> = supplies.together.iter().filter_map(|d| Some(plan.devices.get(*d)?.id.as_str())).collect();
    if let (None, Some((one, others))) = (first, named.split_first()) {
        let path = FieldPath::of(&["loads", load.id.as_str()]);
        let found = Finding::new(&BEHIND_SWITCH, Level::Caution, path, &[], life::cited(load, w.context.rules.basis));
        return Ok(Some(found.named([load.id.as_str(), *one, &others.join(" and ")])));
    }
    Ok(first.and_then(|d| Some((d, plan.devices.get(d)?))).map(|(d, device)| {
        let node = Some(Node::Device(d));
        let way = w.context.circuit.ways.iter().find(|x| x.end == Node::Load(i));
        let on = |r: usize| links.get(r).is_some_and(|l| l.from == node || l.to == node);
        // What a start battery feeds is on no way from the bank.
        let feeds = |l: &&crate::engine::circuit::Link| {
            (l.from == node || l.to == node) && l.role != Role::NegativeMain && l.away.contains(&Node::Load(i))
        };
        let positive = match way {
            Some(way) => way.positives(&w.context.circuit).any(on),
            None => links.iter().any(|l| feeds(&l)),
        };
        let check = if positive { &BEHIND_SWITCH } else { &NEGATIVE };
        let path = FieldPath::of(&["loads", load.id.as_str()]);
        Finding::new(check, Level::Stop, path, &[], life::cited(load, w.context.rules.basis))
            .named([&load.id, &device.id])
    }))
}

fn unvented(w: &Work<'_>) -> Outcome {
    let bank = &w.context.plan.bank;
    if bank.chemistry.known() != Some(&Chemistry::Flooded) || !bank.state.stays() {
        return Ok(None);
    }
    let vented = bank.vented.at(|| "bank.vented".into())?;
    Ok((vented == YesNo::No)
        .then(|| Finding::new(&UNVENTED, Level::Stop, "bank".into(), &[], VENT.of(w.context.rules.basis))))
}
