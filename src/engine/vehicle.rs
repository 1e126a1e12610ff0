//! The vehicle's own battery and alternator: volts of their lines, which the bank's do not touch.

use super::circuit::{Link, Node, Role, device_kind};
use super::context::{Context, need};
use super::loads::is_used;
use super::starting::{StartBattery, is_starter};
use crate::plan::{DeviceKind, Figure};

/// Highest volts of a 12 V vehicle's battery with the engine running.
/// Source: common practice: regulators hold 14.4 V, up to 15 V in the cold and where the engine computer sets them.
pub(super) const RUNNING_V: f64 = 15.0;

/// Above these volts at idle an alternator is one of a 24 V vehicle. Source: our own choice, between the two systems.
pub(super) const OVER_12_V: f64 = 20.0;

/// Batteries of 12 V in series in a system of such volts. Source: as [`OVER_12_V`].
pub(super) fn system_of(volts: f64) -> f64 {
    if volts > OVER_12_V { 2.0 } else { 1.0 }
}

/// Whether the alternator that a charger draws on is one of a 24 V vehicle, by its low volts.
pub(super) fn is_24_v(c: &Context<'_>, charger: usize) -> bool {
    let low = c.plan.chargers.get(charger).and_then(|ch| ch.alternator_low_v.as_ref()).and_then(|v| v.known());
    low.is_some_and(|v| v.0 > OVER_12_V)
}

/// A run that a start battery feeds and not the bank: that battery, and the runs from it to the near end, source first.
pub(super) fn from_start(c: &Context<'_>, run: usize) -> Option<(usize, Vec<usize>)> {
    let link = c.circuit.links.get(run).filter(|_| is_of_start(c, run))?;
    if matches!(link.role, Role::ChargerInput | Role::StartLead) {
        return None;
    }
    let battery = |n: Option<Node>| match n? {
        Node::Device(i) if device_kind(c.plan, Node::Device(i)) == Some(DeviceKind::StartBattery) => Some(i),
        _ => None,
    };
    let upstream = c.circuit.from_start(c.plan, run);
    let device = match upstream.first().and_then(|i| c.circuit.links.get(*i)) {
        Some(first) => battery(first.from).or_else(|| battery(first.to))?,
        None => battery(link.near())?,
    };
    Some((device, upstream))
}

/// The start battery that a run from the vehicle begins at, or the one that an alternator's lead charges.
pub(super) fn battery_of(c: &Context<'_>, run: usize, upstream: &[usize]) -> Option<usize> {
    let of = |i: usize| {
        let link = c.circuit.links.get(i)?;
        let battery = |n: &Node| device_kind(c.plan, *n) == Some(DeviceKind::StartBattery);
        match [link.from, link.to].into_iter().flatten().find(battery)? {
            Node::Device(device) => Some(device),
            _ => None,
        }
    };
    upstream.iter().chain([&run]).find_map(|i| of(*i))
}

/// The start battery or alternator that a thing hangs on by wire, where the bank does not reach it.
pub(super) fn on_start(c: &Context<'_>, thing: Node) -> Option<usize> {
    c.circuit.on_vehicle.iter().find(|(n, _)| *n == thing).map(|(_, device)| *device)
}

/// Whether an inverter stays and draws on the bank.
pub(super) fn is_inverter_of_bank(c: &Context<'_>, inverter: usize) -> bool {
    let stays = c.plan.inverters.get(inverter).is_some_and(|x| x.state.stays());
    stays && on_start(c, Node::Inverter(inverter)).is_none()
}

/// Batteries of 12 V in series in the vehicle itself: 1 or 2, by the low volts of what charges from it.
pub(super) fn vehicle_twelves(c: &Context<'_>) -> f64 {
    if (0..c.plan.chargers.len()).any(|i| is_24_v(c, i)) { 2.0 } else { 1.0 }
}

/// Batteries of 12 V in series behind a line from the vehicle: by the label of its battery, else 1 or 2.
pub(super) fn twelves(c: &Context<'_>, run: usize) -> f64 {
    let link = c.circuit.links.get(run);
    let upstream = link.map_or(&[][..], |l| l.upstream.as_slice());
    let battery = from_start(c, run).map(|(battery, _)| battery).or_else(|| battery_of(c, run, upstream));
    if let Some(Ok(battery)) = battery.map(|i| StartBattery::of(c, i))
        && battery.is_told
    {
        return battery.twelves;
    }
    let behind = |charger: &usize| match link {
        Some(Link { role: Role::ChargerInput, away, .. }) => away.contains(&Node::Charger(*charger)),
        // The alternator's own lead serves every charger that draws on it; a link to the bank has its volts.
        Some(Link { role: Role::StartLead, .. }) => true,
        _ => from_start(c, run).is_some(),
    };
    if (0..c.plan.chargers.len()).filter(behind).any(|i| is_24_v(c, i)) { 2.0 } else { 1.0 }
}

/// Highest volts of a line from the vehicle.
pub(super) fn highest_v(c: &Context<'_>, run: usize) -> f64 {
    RUNNING_V * twelves(c, run)
}

/// Whether a vehicle's battery, and not the bank, is what feeds a run.
pub(super) fn feeds(c: &Context<'_>, run: usize) -> bool {
    let Some(link) = c.circuit.links.get(run) else { return false };
    match link.role {
        Role::ChargerInput | Role::StartLead => true,
        Role::LoadBranch | Role::PanelFeed | Role::InverterFeed
            if link.upstream.is_empty() && link.near() != Some(Node::Bank) =>
        {
            let starts = |n: Node| super::circuit::is_start(c.plan, n);
            link.near().is_some_and(starts) || !c.circuit.from_start(c.plan, run).is_empty()
        }
        _ => false,
    }
}

/// Whether a run is on a start battery's side of what lies between it and the bank.
pub(super) fn is_of_start(c: &Context<'_>, run: usize) -> bool {
    let Some(link) = c.circuit.links.get(run) else { return false };
    let by_bank = link.near() == Some(Node::Bank) || !link.upstream.is_empty();
    !by_bank && !matches!(link.role, Role::NegativeMain | Role::Bond | Role::Dead | Role::Array)
}

/// Low and nominal volts of what hangs on a start battery or alternator of the plan.
/// Source: the rules' low volts of its chemistry for every 12 V, and 12 V.
pub(super) fn own_v(c: &Context<'_>, device: usize) -> (f64, f64) {
    match StartBattery::of(c, device) {
        Ok(own) if own.row.chemistry.is_lithium() => (c.rules.inverter_volts_lfp * own.twelves, 12.0 * own.twelves),
        Ok(own) => lead_v(c, own.twelves),
        Err(_) => lead_v(c, vehicle_twelves(c)),
    }
}

/// Low volts that design currents of so many batteries of 12 V in series are taken at, those of lead; and their nominal ones.
pub(super) fn lead_v(c: &Context<'_>, twelves: f64) -> (f64, f64) {
    (c.rules.inverter_volts_lead * twelves, 12.0 * twelves)
}

/// Amps that the loads on a line from the vehicle draw together, in the month with most: at low volts and at nominal ones.
pub(super) fn loads_a(c: &Context<'_>, run: usize) -> Figure<(f64, f64)> {
    let away = c.circuit.links.get(run).map_or(&[][..], |l| l.away.as_slice());
    let (watts, (low_v, nominal_v)) = (most_w(c, away.iter().copied())?, lead_v(c, twelves(c, run)));
    Ok((watts / low_v, watts / nominal_v))
}

/// Amps that the alternator feeds to all that hangs on start batteries while it runs, at low volts, in the month with most:
/// a starter is not on then. None where nothing does.
pub(super) fn on_batteries_a(c: &Context<'_>) -> Option<Figure<f64>> {
    let battery = |by: usize| device_kind(c.plan, Node::Device(by)) == Some(DeviceKind::StartBattery);
    let on = c.circuit.on_vehicle.iter().filter(|(_, by)| battery(*by)).map(|(n, _)| *n);
    let mut on = on.filter(|n| matches!(n, Node::Load(i) if !is_starter(c.plan, *i))).peekable();
    on.peek()?;
    Some(most_w(c, on).map(|watts| watts / lead_v(c, vehicle_twelves(c)).0))
}

/// Watts of loads together, in the month with most.
fn most_w(c: &Context<'_>, things: impl Iterator<Item = Node>) -> Figure<f64> {
    let mut months = [0.0_f64; 12];
    for node in things {
        let Node::Load(i) = node else { continue };
        let Some(load) = c.plan.loads.get(i) else { continue };
        let watts = need(&load.watts_w, "loads", &load.id, "watts_w")?.0;
        let all = watts * need(&load.quantity, "loads", &load.id, "quantity")?.0;
        let on = months.iter_mut().enumerate().filter(|(m, _)| is_used(c, load, *m));
        on.for_each(|(_, sum)| *sum += all);
    }
    Ok(months.into_iter().fold(0.0, f64::max))
}
