//! What lies behind a switch and on another way as well, which keeps it alive with the switch open.

use super::{Opener, Source, View};
use crate::engine::circuit::{Circuit, Link, Node, device_kind, is_thing, on_bank_side};
use crate::plan::DeviceKind;

/// Whether several runs on DC end on the terminals of a thing, so that what comes by one of them goes on by the others.
pub(super) fn meet(circuit: &Circuit, node: Node) -> bool {
    is_thing(node)
        && circuit
            .at(node)
            .iter()
            .filter(|i| circuit.links.get(**i).is_some_and(|l| on_bank_side(l.role)))
            .nth(1)
            .is_some()
}

/// What a battery feeds over an opener, and keeps alive past it.
pub(super) fn of(view: &View<'_>, source: &Source, opener: Opener, after: &[Node]) -> Vec<Node> {
    let mut found = Vec::new();
    if !source.is_battery(view.plan) {
        return found;
    }
    let drawn = Drawn::of(view, opener);
    for (ahead, first) in drawn.over(opener, view.circuit) {
        let mut shut = vec![source.node, ahead];
        // Without these nothing of it comes to the opener: they lie ahead of it, and so does what hangs on them.
        let nodes = drawn.reached(source.node, &[]);
        let needed = |n: &Node| *n != source.node && *n != ahead && !drawn.reached(source.node, &[*n]).contains(&ahead);
        shut.extend(nodes.iter().copied().filter(needed));
        if ahead != source.node && !nodes.contains(&ahead) || shut.contains(&first) {
            continue;
        }
        let mut behind = drawn.reached(first, &shut);
        if view.circuit.panel.is_some_and(|i| behind.contains(&Node::Device(i))) {
            behind.extend(view.circuit.undrawn.iter().map(|l| Node::Load(*l)));
        }
        for node in behind {
            let is_live = after.contains(&node) && node != source.node;
            if is_live && !found.contains(&node) {
                found.push(node);
            }
        }
    }
    found
}

/// What joins what, without what is opened where that is a run.
struct Drawn<'a> {
    view: &'a View<'a>,
    edges: Vec<(Node, Node)>,
}

impl<'a> Drawn<'a> {
    fn of(view: &'a View<'a>, opener: Opener) -> Self {
        let run = matches!(opener, Opener::Run(_)).then_some(opener);
        let carries = |(i, l): (usize, &Link)| view.carries(i, run).then_some(l.from.zip(l.to))?;
        Self { view, edges: view.circuit.links.iter().enumerate().filter_map(carries).collect() }
    }

    /// The place that an opener is reached at, and those that lie over it.
    fn over(&self, opener: Opener, circuit: &Circuit) -> Vec<(Node, Node)> {
        match opener {
            Opener::Device(i) => {
                let own = Node::Device(i);
                let beside = |(a, b): &(Node, Node)| if *a == own { Some(*b) } else { (*b == own).then_some(*a) };
                self.edges.iter().filter_map(beside).map(|n| (own, n)).collect()
            }
            Opener::Run(i) => circuit.links.get(i).and_then(|l| l.near().zip(l.far())).into_iter().collect(),
        }
    }

    /// All that is reached from a place without going over some others; it is one of it.
    fn reached(&self, start: Node, shut: &[Node]) -> Vec<Node> {
        let (mut reached, mut next) = (vec![start], 0);
        while let Some(&node) = reached.get(next) {
            next += 1;
            let ends =
                next > 1 && self.view.stops(node) || device_kind(self.view.plan, node) == Some(DeviceKind::Converter);
            if ends {
                continue;
            }
            for (a, b) in &self.edges {
                let other = match (*a == node, *b == node) {
                    (true, _) => *b,
                    (_, true) => *a,
                    _ => continue,
                };
                if !shut.contains(&other) && !reached.contains(&other) {
                    reached.push(other);
                }
            }
        }
        reached
    }
}
