//! Negatives that close loops, and what comes back by each.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan};

use crate::engine::circuit::rings::{join, left_with};
use crate::engine::circuit::role::on_bank_side;
use crate::engine::circuit::{Circuit, Link, Node, Role, device_kind, is_thing};

/// Things with the places that they come back to.
type Hung = [(Node, Vec<Node>)];

impl Circuit {
    /// Joints that close loops, with bars at both ends, and those by which a thing has one way more: the joint, the place it
    /// leads to, the thing.
    pub(super) fn cords(&self) -> (Vec<usize>, Vec<(usize, Node, Node)>) {
        let (mut loops, mut more) = (Vec::new(), Vec::new());
        for (j, joint) in self.negative.joints.iter().enumerate() {
            let leads = |n: Node| self.negative.toward.get(self.slot(n)).is_some_and(|t| t.is_some_and(|t| t.0 == j));
            if leads(joint.from) || leads(joint.to) || !self.has_way_back(joint.from) || !self.has_way_back(joint.to) {
                continue;
            }
            match [joint.from, joint.to].map(|n| n != Node::BankMinus && self.is_end(n)) {
                [true, true] => {}
                [false, false] => loops.push(j),
                [true, false] => more.push((j, joint.to, joint.from)),
                [false, true] => more.push((j, joint.from, joint.to)),
            }
        }
        (loops, more)
    }

    /// Joints that lie on loops together, with the places on those, but the one that all lead home from.
    pub(super) fn rings(&self, cords: &[usize]) -> Vec<(Vec<usize>, Vec<Node>)> {
        let mut rings: Vec<(Vec<usize>, Vec<Node>)> = Vec::new();
        for (cord, joint) in cords.iter().filter_map(|j| Some((*j, self.negative.joints.get(*j)?))) {
            let ends = [joint.from, joint.to];
            let ways = ends.map(|n| self.homeward(n).collect::<Vec<_>>());
            let (mut joints, mut nodes) = (vec![cord], Vec::new());
            for (k, (end, way)) in ends.into_iter().zip(&ways).enumerate() {
                let other = &ways[1 - k];
                let mut here = end;
                for (j, next) in way.iter().take_while(|(j, _)| !other.iter().any(|(o, _)| o == j)) {
                    joints.push(*j);
                    nodes.push(here);
                    here = *next;
                }
            }
            let (joined, apart): (Vec<_>, Vec<_>) =
                rings.into_iter().partition(|(of, _)| of.iter().any(|j| joints.contains(j)));
            for (more, places) in joined {
                join(&mut joints, more);
                join(&mut nodes, places);
            }
            rings = apart;
            rings.push((joints, nodes));
        }
        rings
    }

    /// What comes back by each negative. Where several ways lead to the post, each may be left alone with all that comes to the
    /// places behind it.
    pub(super) fn share_out(&mut self, plan: &Plan) {
        let hung = self.hung(plan);
        let mut of: Vec<Vec<Node>> = vec![Vec::new(); self.links.len()];
        let mut put = |j: usize, things: &[Node]| {
            let run = self.negative.joints.get(j).and_then(|x| x.run);
            let Some(list) = run.and_then(|i| of.get_mut(i)) else { return };
            for thing in things {
                if !list.contains(thing) {
                    list.push(*thing);
                }
            }
        };
        let (cords, more) = self.cords();
        let mut come = hung.clone();
        for (j, place, thing) in more {
            put(j, &[thing]);
            come.push((place, vec![thing]));
        }
        let bonded = self.by_bonds(plan);
        come.extend(bonded.iter().cloned());
        for (place, things) in &come {
            self.homeward(*place).for_each(|(j, _)| put(j, things));
        }
        let mut left: Vec<Vec<Vec<Node>>> = vec![Vec::new(); self.links.len()];
        for (joints, nodes) in self.rings(&cords) {
            let mut own: Vec<Vec<Node>> = vec![Vec::new(); nodes.len()];
            let first = |place: Node| {
                let mut way = std::iter::once(place).chain(self.homeward(place).map(|(_, n)| n));
                way.find_map(|n| nodes.iter().position(|x| *x == n))
            };
            for (place, things) in &come {
                let Some(list) = first(*place).and_then(|k| own.get_mut(k)) else { continue };
                join(list, things.clone());
                joints.iter().for_each(|j| put(*j, things));
            }
            let on = |j: &usize| self.negative.joints.get(*j);
            let ends: Vec<(Node, Node)> = joints.iter().filter_map(on).map(|x| (x.from, x.to)).collect();
            let of_each = left_with(&nodes, &ends, &own).into_iter().flatten();
            for (j, sets) in joints.iter().zip(of_each) {
                let slot = on(j).and_then(|x| left.get_mut(x.run?));
                slot.into_iter().for_each(|slot| slot.clone_from(&sets));
            }
        }
        // What the bank reaches by a positive.
        let fed = |place: Node| {
            self.at(place)
                .iter()
                .filter_map(|i| self.links.get(*i))
                .any(|l| on_bank_side(l.role) && (l.near() == Some(Node::Bank) || !l.upstream.is_empty()))
        };
        let lost = hung.iter().filter(|(place, _)| !self.has_way_back(*place) && fed(*place));
        let lost: Vec<Node> = lost.flat_map(|(_, t)| t.iter().copied()).collect();
        self.behind_converters(plan, &of);
        self.turn_negatives(plan, (&mut of, &mut left), &lost, &hung);
        let past = |i: usize, n: &Node| self.comes_past(plan, i, *n, &hung, &bonded);
        self.negative.backs = self.backs(plan, of, &mut left, &lost, &past);
        self.negative.left_with = left;
    }

    /// Whether what a thing takes over a converter comes home by a negative, and what it gives back does not.
    fn comes_past(&self, plan: &Plan, run: usize, thing: Node, hung: &Hung, bonded: &Hung) -> bool {
        let by = |n: Node| self.way_back(n).is_some_and(|runs| runs.contains(&run));
        let converts = |n: Node| device_kind(plan, n) == Some(DeviceKind::Converter);
        let own = |(place, things): &(Node, Vec<Node>)| converts(*place) && things.contains(&thing) && by(*place);
        let of_bond = |(_, things): &&(Node, Vec<Node>)| things.contains(&thing);
        let mut over = bonded.iter().filter(of_bond).map(|(place, _)| *place);
        let first = over.next();
        let home = first.map_or_else(|| by(self.hangs_on(thing)), |place| by(place) || over.any(by));
        hung.iter().any(own) && !home
    }

    /// What comes over the chassis to the places of the negative that it is bonded at; what hangs on a start battery goes home to
    /// that one's own negative, which is on the frame.
    fn by_bonds(&self, plan: &Plan) -> Vec<(Node, Vec<Node>)> {
        let chassis = |i: usize| plan.runs.get(i).is_some_and(|r| r.return_path == Return::Chassis);
        let back = |(i, l): &(usize, &Link)| chassis(*i) && on_bank_side(l.role) && !self.is_of_vehicle(plan, *i);
        let mut things: Vec<Node> = Vec::new();
        for (_, link) in self.links.iter().enumerate().filter(back) {
            join(&mut things, link.away.iter().copied().filter(|n| is_thing(*n)).collect());
        }
        let bonds = self.links.iter().filter(|l| l.role == Role::Bond && !things.is_empty());
        let ends = bonds.flat_map(|l| [l.from, l.to]).flatten();
        let places = ends.filter(|n| self.has_way_back(*n) && *n != Node::BankMinus && !self.is_end(*n));
        places.map(|n| (n, things.clone())).collect()
    }
}
