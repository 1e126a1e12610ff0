//! In which runs a shunt's volts are counted: once on every way, wherever it is named.

use crate::plan::{DeviceKind, Figure};

use super::circuit::{Circuit, Node, Role, device_kind};
use super::context::Context;
use super::currents::{Terminals, coming_back, is_mixed, step_down, stepped};

/// A shunt that a run counts, and whether it is its negative that passes it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Passed {
    pub(super) shunt: Node,
    pub(super) negative: bool,
    /// How many times its ohms count there: where batteries' own negatives all meet on it, so many as there are, since each
    /// brings its part of what the shunt passes.
    pub(super) times: f64,
}

/// The shunts whose volts are counted in a run. In the negative that is the run which leads on from one to the post, or,
/// where none does, each that comes to it; of several batteries' own that meet on it the one that all of them go on by, or, where
/// none or several do, those of all batteries; in the positive the first from the bank.
pub(super) fn passed<'a>(c: &'a Context<'_>, index: usize) -> &'a [Passed] {
    c.circuit.passed(index, || find(c, index))
}

fn find(c: &Context<'_>, index: usize) -> Vec<Passed> {
    let circuit = &c.circuit;
    let Some(link) = circuit.links.get(index).filter(|l| carries(l.role)) else { return Vec::new() };
    let is = |n: &Node| device_kind(c.plan, *n) == Some(DeviceKind::Shunt);
    let shunts = (0..c.plan.devices.len()).map(Node::Device).filter(is);
    let of = |shunt: Node| match circuit.homeward_run(shunt) {
        Some(home) => {
            let shared = circuit.arriving(shunt).filter(|i| !circuit.is_lead(*i)).collect::<Vec<_>>();
            let (counts, times) = match home {
                // One battery's own stands between its own runs.
                Some(home) if circuit.is_lead(home) && shared.len() != 1 => match common(circuit, shunt, home) {
                    Some(leads) => (leads.contains(&index), leads.len() as f64),
                    None if shared.is_empty() => (home == index, 1.0),
                    None => (shared.contains(&index), 1.0),
                },
                Some(home) if !circuit.is_lead(home) => (home == index, 1.0),
                _ => (shared.contains(&index), 1.0),
            };
            counts.then_some(Passed { shunt, negative: true, times })
        }
        None => {
            let first = ends_on(circuit, index, shunt) && !link.upstream.iter().any(|i| ends_on(circuit, *i, shunt));
            first.then_some(Passed { shunt, negative: false, times: 1.0 })
        }
    };
    shunts.filter_map(of).collect()
}

/// The largest continuous current that negatives bring over a place, and the run that leads it on to the post, or those that
/// bring it there; where batteries' own meet there and nothing else is drawn, those. None where nothing that hangs on the net
/// comes back over it, or where it is one battery's own.
pub(super) fn over_place(c: &Context<'_>, t: &Terminals, place: Node) -> Option<(Figure<f64>, Vec<usize>)> {
    let things = c.circuit.coming_over(c.plan, place);
    let home = c.circuit.homeward_run(place)?;
    let arriving: Vec<usize> = c.circuit.arriving(place).filter(|i| !c.circuit.is_lead(*i)).collect();
    let runs = match home {
        Some(home) if !c.circuit.is_lead(home) => vec![home],
        Some(home) if arriving.is_empty() => common(&c.circuit, place, home)?,
        _ => arriving,
    };
    let index = *runs.first().filter(|_| !things.is_empty())?;
    let all = coming_back(c, t, index, things, is_mixed(things));
    Some((stepped(all, &step_down(c, index)).pair.design_a, runs))
}

/// The shunts that the own negatives of all batteries meet on, with those, where no single run leads on from there.
pub(super) fn met_on<'a>(c: &'a Context<'_>) -> impl Iterator<Item = (Node, Vec<usize>)> + 'a {
    let is = |n: &Node| device_kind(c.plan, *n) == Some(DeviceKind::Shunt);
    (0..c.plan.devices.len()).map(Node::Device).filter(is).filter_map(|shunt| {
        let home = c.circuit.homeward_run(shunt).flatten().filter(|home| c.circuit.is_lead(*home))?;
        let shared = c.circuit.arriving(shunt).filter(|i| !c.circuit.is_lead(*i)).count();
        Some((shunt, common(&c.circuit, shunt, home).filter(|_| shared != 1)?))
    })
}

/// The batteries' own negatives that meet on a shunt, one of each battery.
fn common(circuit: &Circuit, shunt: Node, home: usize) -> Option<Vec<usize>> {
    let loops = circuit.own_loops();
    let mut here: Vec<usize> = circuit.arriving(shunt).filter(|i| circuit.is_lead(*i)).collect();
    here.push(home);
    let of_each: Vec<usize> = loops.iter().filter_map(|own| here.iter().copied().find(|i| own.contains(i))).collect();
    (of_each.len() > 1 && of_each.len() == loops.len()).then_some(of_each)
}

fn ends_on(circuit: &Circuit, run: usize, node: Node) -> bool {
    circuit.links.get(run).is_some_and(|l| l.from == Some(node) || l.to == Some(node))
}

fn carries(role: Role) -> bool {
    !matches!(
        role,
        Role::Array | Role::ChargerInput | Role::StartLead | Role::Sense | Role::Bond | Role::Dead | Role::Open
    )
}
