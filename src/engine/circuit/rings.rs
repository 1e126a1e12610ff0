//! Loops: each of their wires may bear what lies on its one side or on its other with the loops opened somewhere, as for what
//! lies there it may be the better way, or the only one that is left.

use crate::plan::{DeviceKind, Plan};

use super::meshes::{Mesh, bits};
use super::role::{on_bank_side, role_of};
use super::{Circuit, Node, device_kind, is_thing};

/// The ways from the bank over the positives, the shortest each.
struct Tree {
    /// Of each place the run that leads to it from the bank, and the place before it.
    before: Vec<Option<(usize, Node)>>,
    /// Places in the order they were reached.
    reached: Vec<Node>,
}

/// Runs that lie on loops together, and the places on those, but the one that all are fed from.
struct Ring {
    runs: Vec<usize>,
    places: Vec<Node>,
}

impl Circuit {
    /// Counts on both sides of every run of a loop what hangs on the loop, and tells what of it the run may be left with.
    pub(super) fn widen_loops(&mut self, plan: &Plan) {
        let looped = |i: &usize| self.links.get(*i).is_some_and(|l| l.looped && on_bank_side(l.role));
        if (0..self.links.len()).filter(looped).nth(1).is_none() {
            return;
        }
        let tree = self.fed_tree();
        for Ring { runs, places } in self.positive_rings(plan, &tree) {
            let hung = self.hung_on(&tree, &places);
            let own = self.hung_each(&tree, &places);
            let ends: Vec<(Node, Node)> =
                runs.iter().filter_map(|i| self.links.get(*i)).filter_map(|l| l.from.zip(l.to)).collect();
            let mut left = left_with(&places, &ends, &own).into_iter().flatten();
            for run in runs {
                self.widen(plan, run, &hung);
                let Some(link) = self.links.get_mut(run) else { continue };
                link.left_with = left.next().unwrap_or_default();
            }
        }
    }

    /// What hangs on each place of a loop by itself.
    fn hung_each(&self, tree: &Tree, places: &[Node]) -> Vec<Vec<Node>> {
        let mut all = vec![Vec::new(); places.len()];
        for thing in self.hung_on(tree, places) {
            let hangs = self.hangs_on(thing);
            let first = self.to_bank(tree, hangs).find_map(|(_, place)| places.iter().position(|p| *p == place));
            if let Some(list) = first.and_then(|k| all.get_mut(k)) {
                list.push(thing);
            }
        }
        all
    }

    fn widen(&mut self, plan: &Plan, run: usize, hung: &[Node]) {
        let Some(link) = self.links.get_mut(run) else { return };
        let more: Vec<Node> = hung.iter().copied().filter(|n| !link.away.contains(n)).collect();
        if more.is_empty() {
            return;
        }
        link.away.extend(more);
        link.role = role_of(plan, &link.away, link.far(), link.looped);
    }

    fn fed_tree(&self) -> Tree {
        let mut tree = Tree { before: vec![None; self.offsets[5]], reached: vec![Node::Bank] };
        let mut next = 0;
        while let Some(&node) = tree.reached.get(next) {
            next += 1;
            if node != Node::Bank && self.is_end(node) {
                continue;
            }
            for &i in self.at(node).iter().filter(|i| on_bank_side(self.role(**i))) {
                let Some(other) = self.other(i, node).filter(|n| !tree.reached.contains(n)) else { continue };
                if let Some(slot) = tree.before.get_mut(self.slot(other)) {
                    *slot = Some((i, node));
                    tree.reached.push(other);
                }
            }
        }
        tree
    }

    /// A place and those before it up to the bank, each with the run that leads to it.
    fn to_bank<'a>(&'a self, tree: &'a Tree, start: Node) -> impl Iterator<Item = (usize, Node)> + 'a {
        let mut node = start;
        std::iter::from_fn(move || {
            let (run, before) = tree.before.get(self.slot(node)).copied().flatten()?;
            Some((run, std::mem::replace(&mut node, before)))
        })
    }

    /// The loops, those that share a run taken together. Where converters give to one place side by side, what flows is
    /// found from their ratings: no loop goes through one.
    fn positive_rings(&self, plan: &Plan, tree: &Tree) -> Vec<Ring> {
        let converts = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Converter);
        let crossed = |n: Node| n == Node::Bank || (tree.reached.contains(&n) && !self.is_end(n));
        let mut rings: Vec<Ring> = Vec::new();
        for (cord, link) in self.links.iter().enumerate().filter(|(_, l)| on_bank_side(l.role) && l.from != l.to) {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let leads = |n: Node| tree.before.get(self.slot(n)).copied().flatten().is_some_and(|(i, _)| i == cord);
            if !crossed(from) || !crossed(to) || leads(from) || leads(to) {
                continue;
            }
            let ways = [from, to].map(|n| self.to_bank(tree, n).collect::<Vec<_>>());
            let own = |way: &[(usize, Node)], other: &[(usize, Node)]| -> (Vec<usize>, Vec<Node>) {
                way.iter().filter(|(run, _)| !other.iter().any(|(o, _)| o == run)).copied().unzip()
            };
            let (mut out, mut back) = (own(&ways[0], &ways[1]), own(&ways[1], &ways[0]));
            out.0.reverse();
            out.1.reverse();
            let mut ring = Ring { runs: out.0, places: out.1 };
            ring.runs.push(cord);
            ring.runs.append(&mut back.0);
            ring.places.append(&mut back.1);
            if ring.places.iter().any(converts) {
                continue;
            }
            let (joined, apart): (Vec<Ring>, Vec<Ring>) =
                rings.into_iter().partition(|other| other.runs.iter().any(|i| ring.runs.contains(i)));
            for more in joined {
                join(&mut ring.runs, more.runs);
                join(&mut ring.places, more.places);
            }
            rings = apart;
            rings.push(ring);
        }
        rings
    }

    /// What hangs on some places and on what they alone lead to.
    fn hung_on(&self, tree: &Tree, places: &[Node]) -> Vec<Node> {
        let on = |n: &Node| *n != Node::Bank && self.to_bank(tree, *n).any(|(_, place)| places.contains(&place));
        let mut all = Vec::new();
        for node in tree.reached.iter().copied().filter(on) {
            let panel = matches!(node, Node::Device(i) if self.panel == Some(i));
            let undrawn = self.undrawn.iter().map(|l| Node::Load(*l)).filter(|_| panel);
            let hangs = |n: &Node| self.is_end(*n) || is_thing(*n);
            let own = Some(node).filter(|n| hangs(n) && *n != Node::BankMinus);
            all.extend(own.into_iter().chain(undrawn));
        }
        all
    }
}

/// Puts what is not there yet into a list.
pub(super) fn join<T: PartialEq>(list: &mut Vec<T>, more: Vec<T>) {
    for x in more {
        if !list.contains(&x) {
            list.push(x);
        }
    }
}

/// Of each conductor of loops that it may be left with alone, each time all of it, of what hangs on their places; nothing
/// where the loops are too many to tell.
pub(super) fn left_with(places: &[Node], ends: &[(Node, Node)], hung: &[Vec<Node>]) -> Option<Vec<Vec<Vec<Node>>>> {
    // What is no place of theirs is where all are fed from.
    let number = |n: Node| places.iter().position(|p| *p == n).map_or(0, |k| k + 1);
    let mesh = Mesh::of(places.len(), ends.iter().map(|(a, b)| (number(*a), number(*b))).collect())?;
    let things = |set: u64| {
        let mut all = Vec::new();
        bits(set).filter_map(|place| hung.get(place.checked_sub(1)?)).for_each(|own| join(&mut all, own.clone()));
        all
    };
    // Places that nothing hangs on make no difference.
    let of = |sets: Vec<u64>| {
        let mut all: Vec<Vec<Node>> = Vec::new();
        for own in sets.into_iter().map(things) {
            let within = |own: &[Node], other: &[Node]| own.iter().all(|n| other.contains(n));
            if !all.iter().any(|other| within(&own, other)) {
                all.retain(|other| !within(other, &own));
                all.push(own);
            }
        }
        all
    };
    Some(mesh.behind()?.into_iter().map(of).collect())
}
