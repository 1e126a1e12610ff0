//! Batteries in parallel: the runs that are each one's own.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Id, Known, Plan};

use super::role::{is_start, on_bank_side};
use super::{Circuit, Node, Role, device_kind, node_of};

/// What hangs on one battery's own way before the place where all meet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aside {
    /// Which of the ways, and over how many of its runs it is fed.
    pub way: usize,
    pub after: usize,
    /// The place that it hangs on.
    pub place: Node,
    /// Terminals that hang there.
    pub things: Vec<Node>,
}

impl Circuit {
    /// Whether a device stands within a way, so that it opens it.
    pub(in crate::engine) fn is_within(&self, way: &[usize], device: usize) -> bool {
        let node = Some(Node::Device(device));
        let ends = |i: &&usize| self.links.get(**i).is_some_and(|l| [l.from, l.to].contains(&node));
        way.iter().filter(ends).count() > 1
    }

    pub(super) fn find_own_ways(&mut self, plan: &Plan) {
        let parallel = plan.bank.parallel.known().map_or(1.0, |n| n.0);
        if parallel < 2.0 || !plan.bank.state.stays() {
            return;
        }
        let positive = |r: Role| on_bank_side(r) && !matches!(r, Role::BatteryLink | Role::Sense);
        self.own_ways = self.side_by_side(plan, Node::Bank, parallel, positive);
        self.own_backs = self.side_by_side(plan, Node::BankMinus, parallel, |r| r == Role::NegativeMain);
        self.find_asides();
    }

    /// What hangs on the ways before they meet; each of their runs leads from the bank.
    fn find_asides(&mut self) {
        let mut asides: Vec<Aside> = Vec::new();
        let mut nears: Vec<(usize, bool)> = Vec::new();
        for (way, runs) in self.own_ways.iter().enumerate() {
            let mut node = Node::Bank;
            for (k, run) in runs.iter().enumerate() {
                let on = self.at(node).iter().filter(|i| k > 0 && !runs.contains(i) && on_bank_side(self.role(**i)));
                let mut things: Vec<Node> = on
                    .filter_map(|i| self.links.get(*i))
                    .flat_map(|l| l.away.iter().copied())
                    .filter(|n| *n != Node::Bank)
                    .collect();
                if matches!(node, Node::Device(i) if self.panel == Some(i)) {
                    things.extend(self.undrawn.iter().map(|i| Node::Load(*i)));
                }
                if !things.is_empty() {
                    asides.push(Aside { way, after: k, place: node, things });
                }
                nears.push((*run, self.links.get(*run).is_some_and(|l| l.from == Some(node))));
                node = self.other(*run, node).unwrap_or(node);
            }
        }
        self.asides = asides;
        if !self.asides.is_empty() {
            for (run, near_from) in nears {
                self.links.get_mut(run).into_iter().for_each(|l| l.near_from = near_from);
            }
        }
    }

    /// Everything that hangs on the bank.
    pub(in crate::engine) fn on_bank(&self) -> Vec<Node> {
        let mut all: Vec<Node> = Vec::new();
        for link in self.at(Node::Bank).iter().filter_map(|i| self.links.get(*i)).filter(|l| on_bank_side(l.role)) {
            let new: Vec<Node> = link.away.iter().filter(|n| !all.contains(n)).copied().collect();
            all.extend(new);
        }
        all
    }

    /// Where a row of runs from the bank leaves one battery's own way before its end: the way, and how many of its runs it
    /// goes over.
    #[must_use]
    pub fn leaves_inside(&self, runs: &[usize]) -> Option<(usize, usize)> {
        let way = runs.iter().find_map(|i| self.own_way_of(*i))?;
        let own = self.own_ways.get(way)?;
        let over = own.iter().filter(|i| runs.contains(i)).count();
        (over < own.len()).then_some((way, over))
    }

    /// The ways from a post to one place, where they are as many as the batteries.
    fn side_by_side(&self, plan: &Plan, post: Node, count: f64, carries: fn(Role) -> bool) -> Vec<Vec<usize>> {
        let own = |i: &usize| self.own_way(plan, post, *i, carries);
        let all: Vec<(Node, Vec<usize>)> = self.at(post).iter().filter_map(own).collect();
        let from = |place: Node| all.iter().filter(move |(n, _)| *n == place).map(|(_, runs)| runs.clone());
        let place = all.iter().map(|(n, _)| *n).find(|n| from(*n).count() as f64 == count);
        let apart = place.map_or_else(Vec::new, |place| from(place).collect());
        if count != 2.0 || !apart.is_empty() {
            return apart;
        }
        all.iter().find_map(|(_, runs)| self.two_round(post, runs, carries)).unwrap_or_default()
    }

    /// Of two batteries the runs of the ring that a row from the post closes, parted at the place that most hangs on: there the
    /// two meet, and what hangs elsewhere on the ring hangs on one of the ways.
    fn two_round(&self, post: Node, runs: &[usize], may: fn(Role) -> bool) -> Option<Vec<Vec<usize>>> {
        let mut node = post;
        let mut places = Vec::with_capacity(runs.len());
        for run in runs {
            node = self.other(*run, node)?;
            places.push(node);
        }
        // The run that closes the ring is the only other one of the last place that leads on.
        let ring = |i: &usize| !runs.contains(i) && self.other(*i, node) == Some(post);
        let last =
            self.at(node).iter().copied().find(|i| self.links.get(*i).is_some_and(|l| may(l.role)) && ring(i))?;
        let hangs = |n: &Node| -> usize {
            let own = self.at(*n).iter().filter(|i| !runs.contains(i) && **i != last);
            own.filter_map(|i| self.links.get(*i)).filter(|l| may(l.role)).map(|l| l.away.len().max(1)).sum()
        };
        let most = places.iter().map(hangs).max().filter(|most| *most > 0)?;
        let cut = places.iter().position(|n| hangs(n) == most)? + 1;
        let (one, rest) = runs.split_at(cut);
        let other = std::iter::once(last).chain(rest.iter().rev().copied());
        Some(vec![one.to_vec(), other.collect()])
    }

    /// The runs in a row from a post over devices that nothing else leads to the bank from, and where they end. What hangs
    /// there beside them, with no battery of its own, is fed by this one first.
    fn own_way(&self, plan: &Plan, post: Node, first: usize, may: fn(Role) -> bool) -> Option<(Node, Vec<usize>)> {
        let carries = |i: &usize| self.links.get(*i).is_some_and(|l| may(l.role));
        let mut runs = vec![first];
        let mut node = self.other(first, post).filter(|_| carries(&first))?;
        while let Node::Device(_) = node {
            let last = *runs.last()?;
            let on: Vec<usize> = self.at(node).iter().copied().filter(|i| *i != last && carries(i)).collect();
            let Some(next) = self.one_on(plan, &on).filter(|_| !self.is_end(node)) else { break };
            let beyond = self.other(next, node)?;
            if beyond == post || (post == Node::BankMinus && self.is_named(plan, node)) {
                break;
            }
            node = beyond;
            runs.push(next);
        }
        Some((node, runs))
    }

    /// The one run by which a way goes on: the only one, or of several the only one that leads to the bank.
    fn one_on(&self, plan: &Plan, on: &[usize]) -> Option<usize> {
        if let [one] = on {
            return Some(*one);
        }
        let leads = |i: &usize| self.links.get(*i).is_some_and(|l| l.looped);
        let fed = |i: &usize| {
            let away = self.links.get(*i).map_or(&[][..], |l| l.away.as_slice());
            leads(i) || (!away.is_empty() && !away.iter().any(|n| is_start(plan, *n)))
        };
        let mut all = on.iter().copied().filter(leads);
        let one = all.next().filter(|_| on.iter().all(fed))?;
        all.next().is_none().then_some(one)
    }

    /// Whether negatives of pairs come to a place.
    fn is_named(&self, plan: &Plan, node: Node) -> bool {
        let paired = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path != Return::None);
        let named = plan.runs.iter().flat_map(|r| [&r.negative_from, &r.negative_to]).flatten();
        let at = |end: &Known<Id>| end.known().and_then(|id| node_of(plan, id.as_str())) == Some(node);
        self.at(node).iter().any(paired) || named.into_iter().any(at)
    }

    /// Where batteries' own leads say that their negatives are on shunts or bars at the bank, and nothing else is drawn from the
    /// post to those: it is by a lead's own negative that its battery comes there, not at hand. Of a lead whose negative is on
    /// the post nothing of the kind is told, and then of none.
    pub(super) fn own_negative_to(&self, plan: &Plan, run: usize, named: Node) -> Option<Node> {
        let firsts = || self.own_ways.iter().filter_map(|way| way.first().copied());
        if !firsts().any(|i| i == run) {
            return None;
        }
        let apart = |i: usize| {
            let (Some(run), Some(link)) = (plan.runs.get(i), self.links.get(i)) else { return false };
            let place = run.negative_from.as_ref().and_then(|k| node_of(plan, k.known()?.as_str()));
            let is_pair = run.return_path == Return::Pair && link.from == Some(Node::Bank);
            is_pair && !matches!(place, None | Some(Node::Bank | Node::BankMinus))
        };
        let is_place = matches!(device_kind(plan, named), Some(DeviceKind::Shunt | DeviceKind::Bus));
        let drawn = self.at(Node::BankMinus).iter().any(|i| self.role(*i) == Role::NegativeMain);
        (is_place && !drawn && firsts().all(apart)).then_some(named)
    }

    /// Which of the batteries' own positives a run is on.
    #[must_use]
    pub fn own_way_of(&self, run: usize) -> Option<usize> {
        self.own_ways.iter().position(|way| way.contains(&run))
    }

    /// Whether a run is one battery's own, on either side.
    #[must_use]
    pub fn is_lead(&self, run: usize) -> bool {
        [&self.own_ways, &self.own_backs].into_iter().flatten().any(|way| way.contains(&run))
    }

    /// Each battery's own runs of both sides.
    #[must_use]
    pub fn own_loops(&self) -> Vec<Vec<usize>> {
        let both = |k: usize| [&self.own_ways, &self.own_backs].map(|s| s.get(k).cloned().unwrap_or_default()).concat();
        (0..self.own_ways.len().max(self.own_backs.len())).map(both).collect()
    }

    /// The batteries' own ways that a run is on one of: those of its side; none where it is on none.
    #[must_use]
    pub fn leads_beside(&self, run: usize) -> &[Vec<usize>] {
        let of = |side: &Vec<Vec<usize>>| side.iter().any(|way| way.contains(&run));
        [&self.own_ways, &self.own_backs].into_iter().find(|s| of(s)).map_or(&[], |side| side.as_slice())
    }
}
