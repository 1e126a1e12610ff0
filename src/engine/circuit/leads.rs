//! Batteries in parallel: the runs that are each one's own.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Id, Known, Plan};

use super::role::{is_terminal, on_bank_side};
use super::{Circuit, Node, Role, device_kind, node_of};

impl Circuit {
    pub(super) fn find_own_ways(&mut self, plan: &Plan) {
        let parallel = plan.bank.parallel.known().map_or(1.0, |n| n.0);
        if parallel < 2.0 || !plan.bank.state.stays() {
            return;
        }
        let positive = |r: Role| on_bank_side(r) && !matches!(r, Role::BatteryLink | Role::Sense);
        self.own_ways = self.side_by_side(plan, Node::Bank, parallel, positive);
        self.own_backs = self.side_by_side(plan, Node::BankMinus, parallel, |r| r == Role::NegativeMain);
    }

    /// The ways from a post to one place, where they are as many as the batteries.
    fn side_by_side(&self, plan: &Plan, post: Node, count: f64, carries: fn(Role) -> bool) -> Vec<Vec<usize>> {
        let own = |i: &usize| self.own_way(plan, post, *i, carries);
        let all: Vec<(Node, Vec<usize>)> = self.at(post).iter().filter_map(own).collect();
        let from = |place: Node| all.iter().filter(move |(n, _)| *n == place).map(|(_, runs)| runs.clone());
        let place = all.iter().map(|(n, _)| *n).find(|n| from(*n).count() as f64 == count);
        place.map_or_else(Vec::new, |place| from(place).collect())
    }

    /// The runs in a row from a post over devices that nothing else hangs on, and where they end.
    fn own_way(&self, plan: &Plan, post: Node, first: usize, may: fn(Role) -> bool) -> Option<(Node, Vec<usize>)> {
        let carries = |i: &usize| self.links.get(*i).is_some_and(|l| may(l.role));
        let mut runs = vec![first];
        let mut node = self.other(first, post).filter(|_| carries(&first))?;
        while let Node::Device(_) = node {
            let last = *runs.last()?;
            let mut on = self.at(node).iter().copied().filter(|i| *i != last && carries(i));
            let (Some(next), None, false) = (on.next(), on.next(), is_terminal(plan, node)) else { break };
            let beyond = self.other(next, node)?;
            if beyond == post || (post == Node::BankMinus && self.is_named(plan, node)) {
                break;
            }
            node = beyond;
            runs.push(next);
        }
        Some((node, runs))
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
