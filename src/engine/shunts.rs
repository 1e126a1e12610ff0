//! In which runs a shunt's volts are counted: once on every way, wherever it is named.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Id, Known, Run};

use super::circuit::{Link, Node, Role, device_kind, node_of};
use super::context::Context;

/// The shunts that a run's current passes and no run ahead of it counts: those it ends on, and those its negative does.
pub(super) fn passed(c: &Context<'_>, index: usize) -> Vec<Node> {
    let (Some(run), Some(link)) = (c.plan.runs.get(index), c.circuit.links.get(index)) else { return Vec::new() };
    if !carries(link.role) {
        return Vec::new();
    }
    let mut all = named(c, run);
    all.retain(|shunt| {
        let names = |i: &usize| c.plan.runs.get(*i).is_some_and(|r| named(c, r).contains(shunt));
        let drawn = |i: &usize| c.plan.runs.get(*i).is_some_and(|r| r.return_path == Return::None);
        match link.role {
            // Of negatives drawn as runs of their own the first that ends on it.
            Role::NegativeMain => on_negatives(c, *shunt) == Some(index),
            // Its negative goes on from the shunt by one of those.
            _ if link.upstream.is_empty()
                && near(c, run, link) == Some(*shunt)
                && on_negatives(c, *shunt).is_some() =>
            {
                false
            }
            _ if link.upstream.iter().any(drawn) && on_negatives(c, *shunt).is_some() => false,
            _ => !link.upstream.iter().any(names),
        }
    });
    all
}

/// Where the end of a run's negative that faces the bank is said to be.
fn near(c: &Context<'_>, run: &Run, link: &Link) -> Option<Node> {
    let end = if link.near_from { &run.negative_from } else { &run.negative_to };
    node_of(c.plan, end.as_ref()?.known()?.as_str())
}

fn carries(role: Role) -> bool {
    !matches!(
        role,
        Role::Array | Role::ChargerInput | Role::StartLead | Role::Sense | Role::Bond | Role::Dead | Role::Open
    )
}

/// The shunts that a run's conductors end on.
fn named(c: &Context<'_>, run: &Run) -> Vec<Node> {
    let own = [Some(&run.from), Some(&run.to), run.negative_from.as_ref(), run.negative_to.as_ref()];
    let node = |id: &Known<Id>| node_of(c.plan, id.known()?.as_str());
    let mut all: Vec<Node> = own.into_iter().flatten().filter_map(node).collect();
    all.retain(|n| device_kind(c.plan, *n) == Some(DeviceKind::Shunt));
    all.dedup();
    all
}

/// The first of the negatives drawn as runs of their own that ends on a shunt.
fn on_negatives(c: &Context<'_>, shunt: Node) -> Option<usize> {
    let ends = |l: &Link| l.from == Some(shunt) || l.to == Some(shunt);
    c.circuit.links.iter().position(|l| l.role == Role::NegativeMain && ends(l))
}
