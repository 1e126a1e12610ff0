//! The bank's negative where it is drawn as runs of its own, and the ways that come back by it.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan};

use super::role::is_terminal;
use super::{Circuit, Node, PathKind, Role, Way, device_kind, node_of};

/// A run that turned out to be of the main negative: its place, whether its `from` end faces the bank, what it ends on.
type Found = (usize, bool, Vec<Node>);

impl Circuit {
    /// How many runs lie between a node and every other; none where no way leads.
    fn steps(
        &self,
        start: Node,
        may: impl Fn(usize) -> bool,
        crosses: impl Fn(Node, usize) -> bool,
    ) -> Vec<Option<usize>> {
        let mut steps = vec![None; self.offsets[5]];
        let mut queue = vec![(start, 0)];
        if let Some(s) = steps.get_mut(self.slot(start)) {
            *s = Some(0);
        }
        let mut next = 0;
        while let Some(&(node, here)) = queue.get(next) {
            next += 1;
            if node != start && !crosses(node, here) {
                continue;
            }
            for &i in self.at(node).iter().filter(|i| may(**i)) {
                let Some(other) = self.other(i, node) else { continue };
                let Some(slot @ None) = steps.get_mut(self.slot(other)) else { continue };
                *slot = Some(here + 1);
                queue.push((other, here + 1));
            }
        }
        steps
    }

    /// Gives the role of the main negative to the runs that go on from the bank's negative post: over shunts, and over
    /// what no positive lies nearer to. What runs of pairs end on is where the negative meets them.
    pub(super) fn find_negatives(&mut self, plan: &Plan) {
        if !self.links.iter().any(|l| l.role == Role::NegativeMain) {
            return;
        }
        for (i, near_from, away) in self.negatives(plan) {
            if let Some(link) = self.links.get_mut(i) {
                (link.role, link.near_from, link.away, link.looped) = (Role::NegativeMain, near_from, away, false);
            }
        }
    }

    fn negatives(&self, plan: &Plan) -> Vec<Found> {
        let role = |i: usize| self.links.get(i).map_or(Role::Dead, |l| l.role);
        let alone = |i: usize| plan.runs.get(i).is_some_and(|r| r.return_path == Return::None);
        let shunt = |n: Node| device_kind(plan, n) == Some(DeviceKind::Shunt);
        let positive = self.steps(
            Node::Bank,
            |i| !matches!(role(i), Role::Dead | Role::Bond | Role::NegativeMain),
            |n, _| !is_terminal(plan, n) && !shunt(n),
        );
        let may = |i: usize| {
            alone(i) && !matches!(role(i), Role::Dead | Role::Bond | Role::Array | Role::ChargerInput | Role::StartLead)
        };
        let of_pairs = |n: Node| self.at(n).iter().any(|i| !alone(*i) && !matches!(role(*i), Role::Dead | Role::Bond));
        let crosses = |n: Node, here: usize| {
            let nearer = positive.get(self.slot(n)).copied().flatten().is_none_or(|p| p > here);
            let panel = device_kind(plan, n) == Some(DeviceKind::FusePanel);
            n == Node::BankMinus || shunt(n) || (!is_terminal(plan, n) && !panel && !of_pairs(n) && nearer)
        };
        let negative = self.steps(Node::BankMinus, may, crosses);
        let at = |n: Node| negative.get(self.slot(n)).copied().flatten().filter(|here| crosses(n, *here));
        let mut found = Vec::new();
        for (i, link) in self.links.iter().enumerate().filter(|(i, _)| may(*i)) {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let near_from = match (at(from), at(to)) {
                (None, None) => continue,
                (Some(a), Some(b)) => a <= b,
                (a, _) => a.is_some(),
            };
            let far = if near_from { to } else { from };
            found.push((i, near_from, if is_terminal(plan, far) { vec![far] } else { Vec::new() }));
        }
        found
    }

    /// Adds to the ways of the bank the negatives drawn as runs of their own that their current comes back by: at the
    /// bank's end of the way.
    pub(super) fn add_negatives(&self, plan: &Plan, ways: &mut [Way]) {
        if !self.links.iter().any(|l| l.role == Role::NegativeMain) {
            return;
        }
        for way in ways {
            let outward = match way.kind {
                PathKind::Array | PathKind::ChargerInput => continue,
                PathKind::ControllerBank | PathKind::Charger => false,
                PathKind::Inverter | PathKind::CriticalLoad | PathKind::OtherLoad => true,
            };
            let Some(back) = self.back_of(plan, way, outward) else { continue };
            if outward {
                way.runs.splice(0..0, back);
            } else {
                way.runs.extend(back.into_iter().rev());
            }
        }
    }

    /// The negatives that a way comes back by, the bank's first: to where its own pairs begin, or to where the negative
    /// of its first run is said to be.
    fn back_of(&self, plan: &Plan, way: &Way, outward: bool) -> Option<Vec<usize>> {
        let first = if outward { way.runs.first() } else { way.runs.last() };
        let (run, link) = (plan.runs.get(*first?)?, self.links.get(*first?)?);
        let end = if link.near_from { &run.negative_from } else { &run.negative_to };
        let named = end.as_ref().and_then(|k| node_of(plan, k.known()?.as_str()));
        let alone = way.runs.iter().any(|i| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::None));
        let ends = way.runs.iter().filter_map(|i| self.links.get(*i)).flat_map(|l| [l.from, l.to]).flatten();
        let goals: Vec<Node> = if alone { ends.filter(|n| *n != Node::Bank).collect() } else { vec![named?] };
        let back = |n: Node| goals.contains(&n);
        self.way(plan, Node::BankMinus, usize::MAX, back, |r| r == Role::NegativeMain).filter(|b| !b.is_empty())
    }
}
