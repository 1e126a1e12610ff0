//! What a run is for, from what its two sides hold.

use crate::plan::power::{Charger, ChargerKind};
use crate::plan::wiring::{Return, Supply};
use crate::plan::{Device, DeviceKind, Id, Known, Plan, Run, YesNo};

use super::{Node, Role, device_kind};

pub(in crate::engine) fn is_start(plan: &Plan, node: Node) -> bool {
    match (device_kind(plan, node), node) {
        // A trailer's plan may end at its connector: the vehicle's alternator is behind it all the same.
        (Some(DeviceKind::Tow), Node::Device(i)) => plan.devices.get(i).is_some_and(|tow| !is_vehicle_drawn(plan, tow)),
        (Some(kind), _) => matches!(kind, DeviceKind::StartBattery | DeviceKind::Alternator),
        (None, _) => false,
    }
}

/// Whether the vehicle ahead of a tow connector is drawn: an alternator that some run ends on, or a start battery that runs join to
/// the connector.
/// A battery that feeds life safety straight, as one for breakaway brakes does, is the trailer's own.
fn is_vehicle_drawn(plan: &Plan, tow: &Device) -> bool {
    let of = |kind: DeviceKind| plan.devices.iter().filter(move |d| d.state.stays() && d.kind.known() == Some(&kind));
    let is_joined =
        |d: &Device| plan.runs.iter().any(|r| [&r.from, &r.to].iter().any(|end| end.known() == Some(&d.id)));
    if of(DeviceKind::Alternator).any(is_joined) {
        return true;
    }
    let batteries: Vec<&Device> = of(DeviceKind::StartBattery).collect();
    if batteries.is_empty() {
        return false;
    }
    let ends = |run: &Run| Some((run.from.known()?.clone(), run.to.known()?.clone()));
    let joins: Vec<(Id, Id)> = plan.runs.iter().filter_map(ends).collect();
    let beside = |id: &Id| -> Vec<Id> {
        let of = |(a, b): &(Id, Id)| if a == id { Some(b.clone()) } else { (b == id).then(|| a.clone()) };
        joins.iter().filter_map(of).collect()
    };
    let saves = |id: &Id| plan.loads.iter().any(|l| l.id == *id && l.life_safety == YesNo::Yes && l.state.stays());
    let mut reached = vec![tow.id.clone()];
    let mut next = 0;
    while let Some(id) = reached.get(next).cloned() {
        next += 1;
        // What joins is crossed; a battery, a load or a charger ends the way.
        if next > 1 && !plan.devices.iter().any(|d| d.id == id && d.kind.known() != Some(&DeviceKind::StartBattery)) {
            continue;
        }
        for other in beside(&id) {
            if !reached.contains(&other) {
                reached.push(other);
            }
        }
    }
    batteries.iter().any(|b| reached.contains(&b.id) && !beside(&b.id).iter().any(saves))
}

/// Whether wires of others meet on the terminals of an inverter or a charger: a run joins it with another of them, and what
/// flows there goes on over its post. A DC-DC charger has two sides: what is drawn to one does not say which terminals it
/// means. A controller is no post itself, for its panels' side.
pub(in crate::engine) fn is_post(plan: &Plan, node: Node) -> bool {
    let Some(own) = posted(plan, node) else { return false };
    let is_other = |end: &Known<Id>| {
        let Some(id) = end.known().filter(|id| *id != own) else { return false };
        let inverter = plan.inverters.iter().any(|x| x.id == *id && x.state.stays());
        // A run from a controller to an inverter is from its battery side.
        let on_inverter = matches!(node, Node::Inverter(_));
        let controller = on_inverter && plan.controllers.iter().any(|x| x.id == *id && x.state.stays());
        inverter || controller || plan.chargers.iter().any(|x| x.id == *id && x.state.stays() && !is_dc_dc(x))
    };
    let is_own = |end: &Known<Id>| end.known() == Some(own);
    let joins = |r: &Run| (is_own(&r.from) && is_other(&r.to)) || (is_own(&r.to) && is_other(&r.from));
    plan.runs.iter().any(|r| joins(r) && (r.legs.is_empty() || r.legs.iter().any(|l| l.state.stays())))
}

/// The name of an inverter or a charger whose terminals may be a post for others.
fn posted(plan: &Plan, node: Node) -> Option<&Id> {
    match node {
        Node::Inverter(i) => plan.inverters.get(i).map(|x| &x.id),
        Node::Charger(i) => plan.chargers.get(i).filter(|x| !is_dc_dc(x)).map(|x| &x.id),
        _ => None,
    }
}

fn is_dc_dc(charger: &Charger) -> bool {
    charger.kind.known() == Some(&ChargerKind::DcDc)
}

/// Whether a run joins an inverter and a load that it feeds with AC: no DC run.
#[must_use]
pub fn is_on_ac(plan: &Plan, from: Option<Node>, to: Option<Node>) -> bool {
    match (from, to) {
        (Some(Node::Inverter(_)), Some(Node::Load(i))) | (Some(Node::Load(i)), Some(Node::Inverter(_))) => {
            plan.loads.get(i).is_some_and(|l| l.supply == Supply::Inverter)
        }
        _ => false,
    }
}

pub(super) fn is_terminal(plan: &Plan, node: Node) -> bool {
    match node {
        Node::Inverter(_) | Node::Charger(_) => !is_post(plan, node),
        Node::Device(_) => {
            is_start(plan, node) || matches!(device_kind(plan, node), Some(DeviceKind::Generator | DeviceKind::Chassis))
        }
        _ => true,
    }
}

pub(in crate::engine) fn on_bank_side(role: Role) -> bool {
    !matches!(role, Role::Array | Role::Dead | Role::Bond | Role::NegativeMain | Role::ChargerInput | Role::StartLead)
}

/// Of a run on the panels' side: whether the panels stand at its `from` end, which, and whether both its ends lead to
/// the same ones. Several arrays may meet at a combiner: the end with arrays alone is the panels'.
fn panel_side(from: Option<Node>, from_side: &[Node], to_side: &[Node]) -> Option<(bool, Vec<Node>, bool)> {
    let is_array = |n: &Node| matches!(n, Node::Array(_));
    let (at_from, at_to) = (from_side.iter().any(is_array), to_side.iter().any(is_array));
    let arrays = |side: &[Node]| side.iter().copied().filter(is_array).collect::<Vec<_>>();
    match (at_from, at_to) {
        (false, false) => None,
        (true, false) => Some((true, from_side.to_vec(), false)),
        (false, true) => Some((false, to_side.to_vec(), false)),
        (true, true) if from_side.contains(&Node::Bank) || to_side.contains(&Node::Bank) => None,
        (true, true) => {
            let array_at_from = if from_side.iter().all(is_array) || to_side.iter().all(is_array) {
                from_side.iter().all(is_array)
            } else {
                from.is_some_and(|n| is_array(&n))
            };
            let (own, other) = if array_at_from { (from_side, to_side) } else { (to_side, from_side) };
            let away = arrays(own);
            let looped = away.iter().any(|n| other.contains(n));
            Some((array_at_from, away, looped))
        }
    }
}

/// Of a run with the start battery on one side and the alternator alone on the other: whether the battery stands at its
/// `from` end, and the alternator.
fn start_lead(plan: &Plan, from_side: &[Node], to_side: &[Node]) -> Option<(bool, Vec<Node>)> {
    let all =
        |side: &[Node], kind: DeviceKind| !side.is_empty() && side.iter().all(|n| device_kind(plan, *n) == Some(kind));
    let lead =
        |battery: &[Node], other: &[Node]| all(battery, DeviceKind::StartBattery) && all(other, DeviceKind::Alternator);
    match (lead(from_side, to_side), lead(to_side, from_side)) {
        (true, _) => Some((true, to_side.to_vec())),
        (_, true) => Some((false, from_side.to_vec())),
        _ => None,
    }
}

pub(super) type Sides = (Vec<Node>, Vec<Node>);

pub(super) fn classify(
    plan: &Plan,
    run: &Run,
    from: Option<Node>,
    to: Option<Node>,
    (from_side, to_side): Sides,
) -> (Role, bool, Vec<Node>, bool) {
    let is_chassis = |n: Option<Node>| n.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::Chassis));
    if is_chassis(from) || is_chassis(to) {
        return (Role::Bond, true, Vec::new(), false);
    }
    if from == Some(Node::BankMinus) || to == Some(Node::BankMinus) {
        let role = if run.return_path == Return::None { Role::NegativeMain } else { Role::Open };
        return (role, from == Some(Node::BankMinus), Vec::new(), false);
    }
    let bank = |side: &[Node]| side.contains(&Node::Bank);
    if let Some((array_at_from, away, looped)) = panel_side(from, &from_side, &to_side) {
        return (Role::Array, !array_at_from, away, looped);
    }
    if let Some((near_from, away)) = start_lead(plan, &from_side, &to_side) {
        return (Role::StartLead, near_from, away, false);
    }
    let starts = |side: &[Node]| side.iter().any(|n| is_start(plan, *n));
    let is_dc_dc = |n: &Node| match n {
        Node::Charger(i) => plan.chargers.get(*i).is_some_and(|c| c.kind.known() == Some(&ChargerKind::DcDc)),
        _ => false,
    };
    let dc_dc = |side: &[Node]| side.iter().any(is_dc_dc);
    for (near, away, near_from) in [(&from_side, &to_side, true), (&to_side, &from_side, false)] {
        // With nothing drawn beyond yet, a run that is drawn towards the charger alone is its input.
        let towards = near.is_empty() && near_from && away.iter().all(is_dc_dc);
        let input = dc_dc(away) && !bank(near) && !bank(away) && (starts(near) || towards);
        if input && !starts(away) {
            return (Role::ChargerInput, near_from, away.clone(), false);
        }
    }
    let only_bank = |side: &[Node]| side.iter().all(|n| *n == Node::Bank);
    let looped = bank(&from_side) && bank(&to_side);
    let near_from = match (bank(&from_side), bank(&to_side)) {
        (true, false) => true,
        (false, true) => false,
        (true, true) => only_bank(&from_side),
        // Without the bank a start battery is the source.
        (false, false) if starts(&from_side) != starts(&to_side) => starts(&from_side),
        (false, false) => !to_side.is_empty(),
    };
    let away: Vec<Node> = (if near_from { to_side } else { from_side })
        .into_iter()
        .filter(|n| !matches!(n, Node::Bank | Node::BankMinus))
        .collect();
    (role_of(plan, &away, if near_from { to } else { from }, looped), near_from, away, looped)
}

pub(super) fn role_of(plan: &Plan, away: &[Node], far: Option<Node>, looped: bool) -> Role {
    let panel = far.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::FusePanel));
    let count = |f: fn(&Node) -> bool| away.iter().filter(|n| f(n)).count();
    let controllers = count(|n| matches!(n, Node::Controller(_)));
    let chargers = count(|n| matches!(n, Node::Charger(_)));
    let inverters = count(|n| matches!(n, Node::Inverter(_)));
    let loads = count(|n| matches!(n, Node::Load(_)));
    let starts = away.iter().filter(|n| is_start(plan, **n)).count();
    match (controllers, chargers, inverters, loads, starts) {
        (0, 0, 0, 0, 0) if panel => Role::PanelFeed,
        (0, 0, 0, 0, 0) if far.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::Shunt)) => Role::Sense,
        (0, 0, 0, 0, 0) if looped => Role::BatteryLink,
        (0, 0, 0, 0, 0) => Role::Open,
        (_, 0, 0, 0, 0) => Role::ControllerOutput,
        (0, _, 0, 0, 0) => Role::ChargerOutput,
        (0, 0, _, 0, 0) => Role::InverterFeed,
        (0, 0, 0, 1, 0) if !panel => Role::LoadBranch,
        (0, 0, 0, _, 0) => Role::PanelFeed,
        (0, 0, 0, 0, _) => Role::BatteryLink,
        _ => Role::Shared,
    }
}
