//! Breakers that stand between runs as devices of their own: what they must be able to open.

use crate::engine::Work;
use crate::engine::circuit::{Link, Node, Role, device_kind};
use crate::engine::context::at;
use crate::engine::fault::{self, Fault};
use crate::engine::finding::{Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::protection::circuit_v;
use crate::engine::resistance::fuses;
use crate::plan::wiring::FuseAt;
use crate::plan::{Device, DeviceKind, FieldPath, Figure, Known, Missing, Protection};
use crate::standards::cited::INTERRUPT;
use crate::units::Metres;

use super::fuses::{OPENS, by_panels, faults};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for (i, device) in w.context.plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        if device_kind(w.context.plan, Node::Device(i)) == Some(DeviceKind::Breaker) {
            let subject = || FieldPath::of(&["devices", device.id.as_str()]);
            out.take(&OPENS, subject, opens(w, i, device));
        }
    }
}

/// The largest fault that a breaker's own place sees, through every run that ends on it; none where no battery drives one.
/// `most`: cable of unknown length or size counts for nothing.
fn fault_at(w: &Work<'_>, device: usize, most: bool) -> Figure<Option<Fault>> {
    let node = Some(Node::Device(device));
    let mut worst: Option<Fault> = None;
    for (i, (link, run)) in w.context.circuit.links.iter().zip(&w.context.plan.runs).enumerate() {
        if link.role == Role::Array || (link.from != node && link.to != node) {
            continue;
        }
        let at = if link.from == node { FuseAt::From } else { FuseAt::To };
        let there = Protection { at, distance_m: Known::Is(Metres(0.0)), ..Protection::default() };
        let of = if most { fault::at_fuse_at_most } else { fault::at_fuse };
        let Some(fault) = of(w.context, w.source, i, run, &there) else { continue };
        let fault = fault?;
        worst = Some(worst.filter(|w| w.needed_a() >= fault.needed_a()).unwrap_or(fault));
    }
    Ok(worst)
}

/// Whether a fuse stands between a breaker and what feeds it, on every run that does.
fn fused(w: &Work<'_>, device: usize) -> bool {
    let node = Some(Node::Device(device));
    let has = |i: &usize| w.context.plan.runs.get(*i).is_some_and(|r| fuses(r).next().is_some());
    let ahead = |(i, l): (usize, &Link)| {
        let feeds = l.far() == node || (l.role == Role::BatteryLink && l.near() == node);
        feeds.then(|| has(&i) || l.upstream.iter().any(has))
    };
    let all = w.context.circuit.links.iter().enumerate().filter_map(ahead);
    all.reduce(|a, b| a && b).unwrap_or(false)
}

/// Of one on the panels' side what they drive, by the run that brings most.
fn on_panels(w: &Work<'_>, i: usize, opens: f64, device: &Device) -> Outcome {
    let node = Some(Node::Device(i));
    let voc: Vec<_> = w.report.arrays.iter().map(|a| a.voc_cold_v.clone()).collect();
    let mut worst: Option<Finding> = None;
    for (j, _) in w
        .context
        .circuit
        .links
        .iter()
        .enumerate()
        .filter(|(_, l)| l.role == Role::Array && (l.from == node || l.to == node))
    {
        let volts = circuit_v(w.context, j, &voc).unwrap_or(0.0);
        let subject = FieldPath::of(&["devices", device.id.as_str()]);
        let found = by_panels(w, j, (opens, volts, 1), subject, &[device.id.as_str(), ""])?;
        worst = found.into_iter().chain(worst).max_by(|a, b| a.n(0).total_cmp(&b.n(0)));
    }
    Ok(worst)
}

/// Its interrupt rating against the fault at its place, as a breaker on a run is held to it.
fn opens(w: &Work<'_>, i: usize, device: &Device) -> Outcome {
    let path = || at("devices", &device.id, "ratings.interrupt_a");
    let Some(most) = fault_at(w, i, true)? else {
        let Some(opens) = &device.ratings.interrupt_a else { return Ok(None) };
        return on_panels(w, i, opens.at(path)?.0, device);
    };
    let opens = match &device.ratings.interrupt_a {
        Some(amps) => amps.at(path)?.0,
        // Behind a fuse that opens the fault it needs no rating of its own that nobody has given.
        None if fused(w, i) => return Ok(None),
        None => return Err(Missing(path())),
    };
    if opens >= most.needed_a() - 1e-9 {
        return Ok(None);
    }
    let Some(fault) = fault_at(w, i, false)? else { return Ok(None) };
    let needed = fault.needed_a();
    Ok((opens < needed - 1e-9).then(|| {
        let node = Some(Node::Device(i));
        let run = w.context.circuit.links.iter().position(|l| l.from == node || l.to == node).unwrap_or(usize::MAX);
        let voc: Vec<_> = w.report.arrays.iter().map(|a| a.voc_cold_v.clone()).collect();
        let on = w.context.circuit.links.iter().enumerate().filter(|(_, l)| l.from == node || l.to == node);
        let volts = on.filter_map(|(j, _)| circuit_v(w.context, j, &voc).ok()).fold(0.0, f64::max);
        let numbers = [fault.amps, opens, volts, needed, fault.margin];
        let subject = FieldPath::of(&["devices", device.id.as_str()]);
        Finding::new(&OPENS, Level::Stop, subject, &numbers, INTERRUPT.of(w.context.rules.basis)).named([
            device.id.to_string(),
            String::new(),
            faults(w.context, w.source, run, fault.amps, fault.margin),
        ])
    }))
}
