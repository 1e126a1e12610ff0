//! Runs without a return whose current no negative is drawn to bring back: how their loop is counted.

use std::borrow::Cow;

use crate::engine::starting::is_starter;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan, Run};

use super::role::on_bank_side;
use super::{Circuit, Node, PathKind, Role, Way, device_kind, is_thing};

/// What of a way has no way back.
#[derive(Default)]
pub(in crate::engine) struct Lost {
    /// Runs without a return.
    pub(in crate::engine) alone: Vec<usize>,
    /// The pair nearest to the battery whose negative leads nowhere, and from where.
    pub(in crate::engine) nowhere: Option<(usize, Node)>,
    /// Whether what is at the end has its negative on the frame.
    pub(in crate::engine) by_frame: bool,
}

impl Circuit {
    /// What of a way has no way back; none where it has one, or comes back by the chassis all told. Of the ways of arrays nothing.
    pub(in crate::engine) fn lost(&self, plan: &Plan, way: &Way) -> Option<Lost> {
        match way.kind {
            PathKind::Array => return None,
            PathKind::ChargerInput => return self.lost_of_line(plan, way),
            // What charges a start battery is judged by its positive.
            PathKind::ControllerBank | PathKind::Charger if way.start.is_some() => return None,
            _ if way.start.is_some() => return self.lost_of_start(plan, way),
            _ => {}
        }
        let hangs = self.hangs_on(way.end);
        if !self.has_way_back(hangs) {
            return self.without(plan, way, hangs);
        }
        // From a shunt that nothing joins to the post it is a wire that is missing, and the run there has none beside it.
        let first = self.first_of(way).filter(|i| self.has_gap(hangs) && self.is_single(plan, *i));
        first.map(|i| Lost { alone: vec![i], ..Lost::default() })
    }

    /// Of a way of the bank the bar or shunt that negatives drawn by themselves end on, its own among them, and none leads on from.
    pub(in crate::engine) fn stuck(&self, plan: &Plan, way: &Way) -> Option<Node> {
        if way.start.is_some() || way.kind == PathKind::ChargerInput {
            return None;
        }
        self.stuck_from(plan, self.hangs_on(way.end))
    }

    /// The same of a place.
    pub(in crate::engine) fn stuck_from(&self, plan: &Plan, hangs: Node) -> Option<Node> {
        use DeviceKind::{Bus, Shunt, Splice};
        if self.has_way_back(hangs) {
            // What a shunt is joined to the post by is only taken.
            let before = |n: &Node| *n != Node::BankMinus;
            return self.has_gap(hangs).then(|| self.places_home(hangs).into_iter().rfind(before)).flatten();
        }
        let negatives = |n: Node| self.at(n).iter().filter(|i| self.role(**i) == Role::NegativeMain).count();
        let is_bar = |n: &Node| {
            matches!(device_kind(plan, *n), Some(Bus | Shunt | Splice))
                && !self.plus.get(self.slot(*n)).is_some_and(|p| *p)
        };
        let bars = self.joined_to(hangs, None, &[]).into_iter().filter(is_bar).filter(|n| negatives(*n) > 0);
        bars.reduce(|a, b| if negatives(b) > negatives(a) { b } else { a })
    }

    /// Whether a node is a bar of the bank's minus, which a negative drawn by itself joins to it.
    pub(in crate::engine) fn is_minus_bar(&self, plan: &Plan, node: Node) -> bool {
        let is_bus = device_kind(plan, node) == Some(DeviceKind::Bus);
        is_bus && self.has_way_back(node) && self.at(node).iter().any(|i| self.role(*i) == Role::NegativeMain)
    }

    /// The run of a way that the bank's positive post is at.
    fn first_of(&self, way: &Way) -> Option<usize> {
        let outward = !matches!(way.kind, PathKind::ControllerBank | PathKind::Charger);
        let mut positives = way.positives(self);
        if outward { positives.next() } else { positives.last() }
    }

    fn is_single(&self, plan: &Plan, run: usize) -> bool {
        let single = plan.runs.get(run).is_some_and(|r| r.return_path == Return::None);
        single && self.role(run) != Role::NegativeMain
    }

    /// The runs of a way from its end to the first place that a negative leads on from.
    fn without(&self, plan: &Plan, way: &Way, hangs: Node) -> Option<Lost> {
        let outward = !matches!(way.kind, PathKind::ControllerBank | PathKind::Charger);
        let mut runs = way.runs.clone();
        if outward {
            runs.reverse();
        }
        let (mut here, mut drawn) = (hangs, false);
        let mut lost =
            Lost { by_frame: matches!(hangs, Node::Load(_)) && self.is_on_frame(plan, hangs), ..Lost::default() };
        for i in runs {
            if self.has_way_back(here) {
                break;
            }
            let (run, link) = (plan.runs.get(i)?, self.links.get(i)?);
            // What else it feeds comes back: from there on negatives are drawn beside runs without a return.
            drawn |= link.away.iter().any(|n| is_thing(*n) && self.has_way_back(self.hangs_on(*n)));
            match run.return_path {
                Return::Chassis => return None,
                Return::None => lost.alone.extend((!drawn && self.is_single(plan, i)).then_some(i)),
                Return::Pair => {
                    let near = self.negative_of(i).map(|(from, to)| if link.near_from { from } else { to });
                    let near = near.filter(|n| !self.has_way_back(*n));
                    lost.nowhere = near.map(|n| (i, n)).or(lost.nowhere);
                }
            }
            here = if link.from == Some(here) { link.to? } else { link.from? };
        }
        Some(lost)
    }

    /// Converters that something hangs on and no negative leads home from, each with its only feed: what they take comes back by none.
    /// One that is drawn with one minus for both sides wants no more than that.
    pub(in crate::engine) fn converters_lost<'a>(&'a self, plan: &'a Plan) -> impl Iterator<Item = (Node, usize)> + 'a {
        let inputs = self.inputs.iter().enumerate().filter_map(|(i, feed)| Some((Node::Device(i), (*feed)?)));
        inputs.filter(|(node, feed)| {
            let single = self.is_single(plan, *feed) && on_bank_side(self.role(*feed));
            single && !self.has_way_back(*node) && self.fed_by(*node).next().is_some()
        })
    }

    /// The same of the line of a DC-DC charger: its single positives, where no negative is drawn to its battery. By the frame it comes back
    /// where the charger's negative leads to that, or to the house's, which is bonded to it: the vehicle's minus is on it.
    fn lost_of_line(&self, plan: &Plan, way: &Way) -> Option<Lost> {
        let of = |return_path: Return| move |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == return_path);
        if way.runs.iter().any(|i| self.role(*i) == Role::NegativeMain || of(Return::Chassis)(i)) {
            return None;
        }
        let alone: Vec<usize> = way.runs.iter().copied().filter(of(Return::None)).collect();
        let own = |i: &usize| self.role(*i) == Role::NegativeMain;
        let to_house = self.at(way.end).iter().any(own) && self.has_way_back(way.end) && self.is_bonded();
        let by_frame = to_house || self.is_on_frame(plan, way.end);
        Some(Lost { alone, by_frame, ..Lost::default() })
    }

    /// The same of what hangs on a start battery: its single positives, where no negative is drawn to it at all. An engine has its starter's
    /// return in its own block.
    fn lost_of_start(&self, plan: &Plan, way: &Way) -> Option<Lost> {
        let is_starter = matches!(way.end, Node::Load(i) if is_starter(plan, i));
        let negative = |i: &usize| self.role(*i) == Role::NegativeMain;
        let chassis = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Chassis);
        if is_starter || self.at(way.end).iter().any(negative) || way.runs.iter().any(|i| negative(i) || chassis(i)) {
            return None;
        }
        let alone = way.runs.iter().copied().filter(|i| self.is_single(plan, *i)).collect();
        Some(Lost { alone, by_frame: self.is_on_frame(plan, way.end), ..Lost::default() })
    }

    /// Whether a thing has a lead to the chassis.
    pub(in crate::engine) fn is_on_frame(&self, plan: &Plan, node: Node) -> bool {
        let chassis = |n: Option<Node>| n.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::Chassis));
        self.at(node).iter().any(|i| self.role(*i) == Role::Bond && chassis(self.other(*i, node)))
    }

    /// Whether a bond joins the bank's negative to the frame.
    pub(in crate::engine) fn is_bonded(&self) -> bool {
        let bonds = self.links.iter().filter(|l| l.role == Role::Bond);
        bonds.flat_map(|l| [l.from, l.to]).flatten().any(|n| !is_thing(n) && (n == Node::Bank || self.has_way_back(n)))
    }

    /// Finds the runs that no return is drawn of.
    pub(super) fn find_unreturned(&mut self, plan: &Plan) {
        if !(0..self.links.len()).any(|i| self.is_single(plan, i)) {
            return;
        }
        let mut all: Vec<(usize, Return)> = Vec::new();
        for lost in self.judged_ways().filter_map(|way| self.lost(plan, way)) {
            let by = if lost.by_frame { Return::Chassis } else { Return::Pair };
            let new = lost.alone.into_iter().filter(|i| !all.iter().any(|(j, _)| j == i)).collect::<Vec<_>>();
            all.extend(new.into_iter().map(|i| (i, by)));
        }
        for (node, feed) in self.converters_lost(plan) {
            let by = if self.is_on_frame(plan, node) { Return::Chassis } else { Return::Pair };
            if !all.iter().any(|(j, _)| *j == feed) {
                all.push((feed, by));
            }
        }
        // What lies beside one of them shares its current, and its way back: another way between its ends, other batteries' leads.
        let beside: Vec<(usize, Return)> = (0..self.links.len())
            .filter(|i| self.is_single(plan, *i) && !all.iter().any(|(j, _)| i == j))
            .filter_map(|i| Some((i, all.iter().find(|(j, _)| self.lies_beside(i, *j))?.1)))
            .collect();
        all.extend(beside);
        self.unreturned = all;
    }

    fn lies_beside(&self, run: usize, other: usize) -> bool {
        let ends = |i: usize| self.links.get(i).and_then(|l| Some((l.from?, l.to?)));
        let same =
            |a: Option<(Node, Node)>, b: Option<(Node, Node)>| a.zip(b).is_some_and(|(a, b)| a == b || a == (b.1, b.0));
        let on_loop = |a: usize, b: usize| self.round(a).is_some_and(|runs| runs.contains(&b));
        let leads = self.own_way_of(run).is_some() && self.own_way_of(other).is_some();
        same(ends(run), ends(other)) || leads || on_loop(run, other) || on_loop(other, run)
    }

    /// A run as its loop is counted: one that no return is drawn of with as much of the same wire back, or, where the frame brings
    /// it back, as one whose loop is to be measured.
    ///
    /// Source: Kirchhoff's current law; a pair of equal lengths is common practice, nobody knows what a frame loses.
    pub(in crate::engine) fn counted<'a>(&self, index: usize, run: &'a Run) -> Cow<'a, Run> {
        match self.unreturned.iter().find(|(i, _)| *i == index) {
            Some((_, by)) if run.return_path == Return::None => Cow::Owned(Run { return_path: *by, ..run.clone() }),
            _ => Cow::Borrowed(run),
        }
    }

    /// Whether what a run brings comes back over the chassis.
    pub(in crate::engine) fn by_chassis(&self, plan: &Plan, run: usize) -> bool {
        let drawn = plan.runs.get(run).is_some_and(|r| r.return_path == Return::Chassis);
        drawn || self.unreturned.contains(&(run, Return::Chassis))
    }
}
