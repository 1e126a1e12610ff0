//! In which runs a shunt's volts are counted: once on every way, wherever it is named.

use crate::plan::DeviceKind;

use super::circuit::{Circuit, Node, Role, device_kind};
use super::context::Context;

/// A shunt that a run counts, and whether it is its negative that passes it.
#[derive(Clone, Copy)]
pub(super) struct Passed {
    pub(super) shunt: Node,
    pub(super) negative: bool,
}

/// The shunts whose volts are counted in a run. In the negative that is the run which leads on from one to the post, or,
/// where none does, or each battery's own, each that comes to it; in the positive the first from the bank.
pub(super) fn passed(c: &Context<'_>, index: usize) -> Vec<Passed> {
    let circuit = &c.circuit;
    let Some(link) = circuit.links.get(index).filter(|l| carries(l.role)) else { return Vec::new() };
    let is = |n: &Node| device_kind(c.plan, *n) == Some(DeviceKind::Shunt);
    let shunts = (0..c.plan.devices.len()).map(Node::Device).filter(is);
    let of = |shunt: Node| match circuit.homeward_run(shunt) {
        Some(home) => {
            let shared = circuit.arriving(shunt).filter(|i| !circuit.is_lead(*i)).collect::<Vec<_>>();
            let counts = match home {
                // One battery's own stands between its own runs.
                Some(home) if !circuit.is_lead(home) || shared.is_empty() => home == index,
                _ => shared.contains(&index),
            };
            counts.then_some(Passed { shunt, negative: true })
        }
        None => {
            let first = ends_on(circuit, index, shunt) && !link.upstream.iter().any(|i| ends_on(circuit, *i, shunt));
            first.then_some(Passed { shunt, negative: false })
        }
    };
    shunts.filter_map(of).collect()
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
