//! The graph of runs and what they end on: neighbours, sides, shortest ways.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan, YesNo};

use super::role::{is_post, is_start, is_terminal, on_bank_side};
use super::{Circuit, Link, Node, Role, device_kind, is_on_ac};

/// Where each list of nodes begins in one numbering of all; the last is their count.
pub(super) fn offsets(plan: &Plan) -> [usize; 6] {
    let arrays = 2;
    let controllers = arrays + plan.arrays.len();
    let inverters = controllers + plan.controllers.len();
    let chargers = inverters + plan.inverters.len();
    let devices = chargers + plan.chargers.len();
    [arrays, controllers, inverters, chargers, devices, devices + plan.devices.len() + plan.loads.len()]
}

/// What the panels' side of a controller holds.
#[derive(Clone, Debug, Default)]
pub struct OnPanels {
    pub arrays: Vec<usize>,
    pub controllers: Vec<usize>,
    pub runs: Vec<usize>,
}

/// No run.
const NONE: u32 = u32::MAX;

/// The run that brings panels to the bank's side, and its end there: the first that ends on the bank, or where others meet
/// that are not of the panels.
pub(in crate::engine) fn joining_run(plan: &Plan, array: &str) -> Option<(String, &'static str)> {
    let index = plan.arrays.iter().position(|a| a.id.as_str() == array)?;
    let (circuit, _) = Circuit::of(plan);
    let mut node = Node::Array(index);
    for i in circuit.panels_to_bank(index)? {
        let link = circuit.links.get(i)?;
        let at_to = link.from == Some(node);
        node = if at_to { link.to? } else { link.from? };
        let meet = circuit.links.iter().filter(|l| l.from == Some(node) || l.to == Some(node)).count() > 2;
        let combines = device_kind(plan, node) == Some(DeviceKind::Combiner);
        if node == Node::Bank || (meet && !combines) {
            return Some((plan.runs.get(i)?.id.to_string(), if at_to { "to" } else { "from" }));
        }
    }
    None
}

/// What a device is to a search.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Mark {
    /// Whether a way ends on it.
    ends: bool,
    /// Whether it is a battery or an alternator of the engine.
    of_engine: bool,
}

impl Circuit {
    /// Marks every device, and lists the runs at every node, all in one vector.
    pub(super) fn join(&mut self, plan: &Plan) {
        let mark = |n: Node| Mark { ends: is_terminal(plan, n), of_engine: is_start(plan, n) };
        self.marks = (0..plan.devices.len()).map(|i| mark(Node::Device(i))).collect();
        let things = (0..plan.inverters.len()).map(Node::Inverter).chain((0..plan.chargers.len()).map(Node::Charger));
        self.posts = things.filter(|n| is_post(plan, *n)).collect();
        let on_ac = |l: &Link| is_on_ac(plan, l.from, l.to);
        self.on_ac = self.links.iter().enumerate().filter(|(_, l)| on_ac(l)).map(|(i, _)| i).collect();
        let nodes = self.places();
        let mut counts = vec![0_usize; nodes + 1];
        let pairs: Vec<(usize, usize)> = self
            .links
            .iter()
            .enumerate()
            .filter(|(_, l)| l.from != l.to)
            .flat_map(|(i, l)| [l.from, l.to].map(|n| (i, n)))
            .filter_map(|(i, n)| n.map(|n| (i, self.slot(n))))
            .collect();
        for (_, slot) in &pairs {
            if let Some(c) = counts.get_mut(slot + 1) {
                *c += 1;
            }
        }
        for i in 1..counts.len() {
            counts[i] += counts[i - 1];
        }
        let mut next = counts.clone();
        let mut ends = vec![0; pairs.len()];
        for (link, slot) in pairs {
            if let Some(at) = next.get_mut(slot) {
                if let Some(e) = ends.get_mut(*at) {
                    *e = link;
                }
                *at += 1;
            }
        }
        (self.starts, self.ends) = (counts, ends);
        let loads: Vec<Node> = (0..plan.loads.len()).map(Node::Load).filter(|n| self.at(*n).len() > 1).collect();
        let passing: Vec<Node> = loads.into_iter().filter(|n| self.feeds_others(plan, *n)).collect();
        self.posts.extend(passing);
    }

    /// Whether current goes on over the terminals of a load: a pair joins it with another load, or leads from it to loads alone.
    fn feeds_others(&self, plan: &Plan, load: Node) -> bool {
        let pair = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path != Return::None);
        let own = || self.at(load).iter().copied().filter(|i| self.role(*i) != Role::Dead && !self.on_ac.contains(i));
        if own().nth(1).is_none() {
            return false;
        }
        let supplies = |n: Node| self.is_end(n) && !matches!(n, Node::Load(_));
        let behind = |i: usize| {
            let Some(other) = self.other(i, load) else { return false };
            let crosses = |n: Node| n != load && (!self.is_end(n) || matches!(n, Node::Load(_)));
            matches!(other, Node::Load(_)) || self.search(other, i, supplies, |r| r != Role::Dead, crosses).is_none()
        };
        own().filter(pair).any(behind)
    }

    pub(in crate::engine) fn at(&self, node: Node) -> &[usize] {
        let slot = self.slot(node);
        match (self.starts.get(slot), self.starts.get(slot + 1)) {
            (Some(&a), Some(&b)) => self.ends.get(a..b).unwrap_or(&[]),
            _ => &[],
        }
    }

    /// How many places there are.
    pub(in crate::engine) fn places(&self) -> usize {
        self.offsets[5]
    }

    /// Whether a way ends on a node: nothing is crossed there ([`is_terminal`], marked).
    pub(in crate::engine) fn is_end(&self, node: Node) -> bool {
        match node {
            Node::Device(i) => self.marks.get(i).is_some_and(|m| m.ends),
            _ => !self.posts.contains(&node),
        }
    }

    /// Whether a battery or an alternator of the engine is at a node ([`is_start`], marked).
    pub(in crate::engine) fn is_of_engine(&self, node: Node) -> bool {
        matches!(node, Node::Device(i) if self.marks.get(i).is_some_and(|m| m.of_engine))
    }

    pub(in crate::engine) fn slot(&self, node: Node) -> usize {
        let [arrays, controllers, inverters, chargers, devices, _] = self.offsets;
        match node {
            Node::Bank => 0,
            Node::BankMinus => 1,
            Node::Array(i) => arrays + i,
            Node::Controller(i) => controllers + i,
            Node::Inverter(i) => inverters + i,
            Node::Charger(i) => chargers + i,
            Node::Device(i) => devices + i,
            // Loads stand last; their offset follows from the devices before them.
            Node::Load(i) => self.offsets[5] - 1 - i,
        }
    }

    /// Terminals reached from a node without crossing a run.
    pub(super) fn side(&self, start: Node, skip: impl Fn(usize) -> bool, seen: &mut [bool]) -> Vec<Node> {
        let mut found = Vec::new();
        let mut stack = Vec::with_capacity(16);
        stack.push(start);
        seen.fill(false);
        while let Some(node) = stack.pop() {
            let Some(mark) = seen.get_mut(self.slot(node)) else { continue };
            if std::mem::replace(mark, true) {
                continue;
            }
            if let Node::Device(i) = node
                && self.panel == Some(i)
            {
                found.extend(self.undrawn.iter().map(|&l| Node::Load(l)));
            }
            let post = self.posts.contains(&node);
            if post || self.is_end(node) {
                found.push(node);
            }
            if !post && self.is_end(node) {
                continue;
            }
            for &i in self.at(node) {
                let on_ac = post && self.on_ac.contains(&i);
                if !skip(i)
                    && !on_ac
                    && let Some(other) = self.other(i, node)
                {
                    stack.push(other);
                }
            }
        }
        found
    }

    /// Whether a run is of the negative, or of the ground.
    pub(super) fn is_negative(&self, run: usize) -> bool {
        matches!(self.role(run), Role::NegativeMain | Role::Bond)
    }

    pub(super) fn role(&self, link: usize) -> Role {
        self.links.get(link).map_or(Role::Dead, |l| l.role)
    }

    pub(in crate::engine) fn other(&self, link: usize, node: Node) -> Option<Node> {
        let l = self.links.get(link)?;
        if l.from == Some(node) { l.to } else { l.from }
    }

    /// Runs of the shortest way from a node to a goal, the node's own run first; terminals are not crossed.
    pub(super) fn way(
        &self,
        start: Node,
        skip: usize,
        goal: impl Fn(Node) -> bool,
        may: impl Fn(Role) -> bool,
    ) -> Option<Vec<usize>> {
        self.search(start, skip, goal, may, |n| !self.is_end(n))
    }

    /// The other runs of the loop that a run closes, from its `to` end round to its `from` end.
    pub(super) fn round(&self, run: usize) -> Option<Vec<usize>> {
        let link = self.links.get(run)?;
        let (from, to) = (link.from?, link.to?);
        let carries = |r: Role| !matches!(r, Role::Dead | Role::Bond | Role::NegativeMain);
        // A loop may close over the bank's post or over an array.
        let crosses = |n: Node| matches!(n, Node::Bank | Node::Array(_)) || !self.is_end(n);
        self.search(to, run, |n| n == from, carries, crosses)
    }

    /// The alternator behind a DC-DC charger's line, through the start battery as well; where none is drawn to it, the
    /// only one of the plan.
    #[must_use]
    pub fn alternator_behind(&self, plan: &Plan, charger: usize) -> Option<usize> {
        let node = Node::Charger(charger);
        let input = |r: Role| matches!(r, Role::ChargerInput | Role::StartLead);
        let drawn = self.at(node).iter().any(|i| self.links.get(*i).is_some_and(|l| input(l.role)));
        let kind = |n: Node| device_kind(plan, n);
        let alternator = |i: &usize| kind(Node::Device(*i)) == Some(DeviceKind::Alternator);
        let stay = plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()).map(|(i, _)| i);
        let all: Vec<usize> = stay.filter(alternator).collect();
        let crosses = |n: Node| !self.is_end(n) || kind(n) == Some(DeviceKind::StartBattery);
        let on_line = |i: &&usize| self.search(node, usize::MAX, |n| n == Node::Device(**i), input, crosses).is_some();
        match (all.iter().find(on_line), all.as_slice()) {
            (Some(i), _) => Some(*i),
            (None, [only]) if drawn => Some(*only),
            _ => None,
        }
    }

    /// What hangs on a controller's panels side: the arrays, and the other controllers that the same wires lead to.
    #[must_use]
    pub fn beside_on_panels(&self, controller: Node) -> OnPanels {
        let (mut found, mut reached, mut next) = (OnPanels::default(), vec![controller], 0);
        while let Some(&node) = reached.get(next) {
            next += 1;
            match node {
                Node::Array(i) => found.arrays.push(i),
                Node::Controller(i) if node != controller => {
                    found.controllers.push(i);
                    continue;
                }
                _ => {}
            }
            for &run in self.at(node).iter().filter(|i| self.role(**i) == Role::Array) {
                let Some(other) = self.other(run, node).filter(|n| !reached.contains(n)) else { continue };
                reached.push(other);
                found.runs.push(run);
            }
        }
        found
    }

    /// Runs from panels to the bank with no controller between, the panels' first.
    #[must_use]
    pub fn panels_to_bank(&self, array: usize) -> Option<Vec<usize>> {
        let carries = |r: Role| !matches!(r, Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense);
        self.search(Node::Array(array), usize::MAX, |n| n == Node::Bank, carries, |n| !self.is_end(n))
    }

    /// Whether a run on a thing brings it to the bank, with nothing crossed twice. No way leads back through a converter: what
    /// another one gives on the same panel comes from the bank by that one's input.
    #[must_use]
    pub fn feeds_from_bank(&self, plan: &Plan, run: usize, thing: Node) -> bool {
        self.feed(plan, run, thing).is_some()
    }

    /// The rest of the way by which a run on a thing brings it to the bank.
    fn feed(&self, plan: &Plan, run: usize, thing: Node) -> Option<Vec<usize>> {
        let link = self.links.get(run).filter(|l| l.from == Some(thing) || l.to == Some(thing))?;
        let other = self.other(run, thing).filter(|n| on_bank_side(link.role) && *n != thing)?;
        let converts = |n: Node| device_kind(plan, n) == Some(DeviceKind::Converter);
        let crosses = |n: Node| n != thing && !self.is_end(n) && !converts(n);
        self.search(other, run, |n| n == Node::Bank, on_bank_side, crosses)
    }

    /// Of a thing that several runs bring to the bank those that are not on every one of its ways: one of them is too many.
    #[must_use]
    pub fn one_too_many(&self, plan: &Plan, thing: Node) -> Vec<usize> {
        let way = |run: &usize| {
            let mut runs = self.feed(plan, *run, thing)?;
            runs.push(*run);
            Some(runs)
        };
        let ways: Vec<Vec<usize>> = self.at(thing).iter().filter_map(way).collect();
        let shared = |run: usize| ways.iter().all(|w| w.contains(&run));
        (0..self.links.len()).filter(|i| ways.iter().any(|w| w.contains(i)) && !shared(*i)).collect()
    }

    /// Runs from a start battery or alternator to the bank with no charger between: the device's own run first.
    #[must_use]
    pub fn straight_to_bank(&self, plan: &Plan, device: usize) -> Option<Vec<usize>> {
        // Nothing comes up through a converter to 12 V.
        let converts = |n: Node| device_kind(plan, n) == Some(DeviceKind::Converter);
        let start = Node::Device(device);
        let crosses = |n: Node| !self.is_end(n) && !converts(n);
        self.search(start, usize::MAX, |n| n == Node::Bank, on_bank_side, crosses)
    }

    /// What charges the bank from the vehicle with no charger between. A battery that life safety hangs on is the trailer's own
    /// and starts no engine.
    pub(super) fn find_straight(&mut self, plan: &Plan) {
        let saves = |node: Node| {
            let saved = |n: Option<Node>| match n {
                Some(Node::Load(i)) => plan.loads.get(i).is_some_and(|l| l.life_safety == YesNo::Yes),
                _ => false,
            };
            self.at(node).iter().any(|i| saved(self.other(*i, node)))
        };
        let stays = |i: &usize| plan.devices.get(*i).is_some_and(|d| d.state.stays());
        let starts = |i: &usize| super::is_start(plan, Node::Device(*i)) && !saves(Node::Device(*i));
        let way = |i: usize| Some((i, self.straight_to_bank(plan, i).filter(|way| !way.is_empty())?));
        self.straight = (0..plan.devices.len()).filter(stays).filter(starts).filter_map(way).collect();
    }

    /// The ways from a place to every start battery whose charge reaches it without a charger or a converter between, but by
    /// one run, the place's own run first. An alternator stands for the battery it charges; behind a tow connector stands one too.
    #[must_use]
    pub(in crate::engine) fn starts_at(&self, plan: &Plan, place: Node, but: usize) -> Vec<Vec<usize>> {
        let kind = |n: Node| device_kind(plan, n);
        let charges = |i: &usize| self.links.get(*i).is_some_and(|l| l.role == Role::StartLead);
        let battery = |n: Node| match kind(n) {
            Some(DeviceKind::Alternator) => !self.at(n).iter().any(charges),
            _ => super::is_start(plan, n),
        };
        let converts = |n: Node| kind(n) == Some(DeviceKind::Converter);
        let crosses = |n: Node| kind(n) == Some(DeviceKind::Alternator) || (!self.is_end(n) && !converts(n));
        let may = |role: Role| on_bank_side(role) || role == Role::StartLead;
        if place != Node::Bank && !crosses(place) && !super::is_start(plan, place) {
            return Vec::new();
        }
        let all = plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()).map(|(i, _)| Node::Device(i));
        let way = |goal: Node| self.search(place, but, |n| n == goal, may, crosses);
        all.filter(|n| battery(*n)).filter_map(way).collect()
    }

    /// Runs from a start battery to the near end of a run that the bank does not feed, source first.
    #[must_use]
    pub fn from_start(&self, plan: &Plan, run: usize) -> Vec<usize> {
        let Some(near) = self.links.get(run).and_then(super::Link::near) else { return Vec::new() };
        let may = |role: Role| on_bank_side(role) || role == Role::ChargerInput;
        let mut runs = self.way(near, run, |n| is_start(plan, n), may).unwrap_or_default();
        runs.reverse();
        runs
    }

    /// Whether a start battery or a tow plug feeds a run, and the bank does not.
    pub(super) fn is_of_vehicle(&self, plan: &Plan, run: usize) -> bool {
        let Some(link) = self.links.get(run) else { return false };
        let Some(near) = link.near().filter(|n| *n != Node::Bank && link.upstream.is_empty()) else { return false };
        is_start(plan, near) || !self.from_start(plan, run).is_empty()
    }

    pub(super) fn search(
        &self,
        start: Node,
        skip: usize,
        goal: impl Fn(Node) -> bool,
        may: impl Fn(Role) -> bool,
        crosses: impl Fn(Node) -> bool,
    ) -> Option<Vec<usize>> {
        if goal(start) {
            return Some(Vec::new());
        }
        let mut came = vec![NONE; self.places()];
        let mut queue = Vec::with_capacity(16);
        queue.push(start);
        let mut next = 0;
        while let Some(&node) = queue.get(next) {
            next += 1;
            if node != start && !crosses(node) {
                continue;
            }
            for &i in self.at(node) {
                let Some(other) = self.other(i, node) else { continue };
                let Some(link) = self.links.get(i) else { continue };
                if i == skip || !may(link.role) || other == start {
                    continue;
                }
                let Some(slot) = came.get_mut(self.slot(other)) else { continue };
                if *slot != NONE {
                    continue;
                }
                *slot = u32::try_from(i).unwrap_or(NONE);
                if goal(other) {
                    return Some(self.back(other, start, &came));
                }
                queue.push(other);
            }
        }
        None
    }

    fn back(&self, end: Node, start: Node, came: &[u32]) -> Vec<usize> {
        let mut runs = Vec::with_capacity(8);
        let mut node = end;
        while node != start {
            let Some(i) = came.get(self.slot(node)).filter(|i| **i != NONE) else { break };
            runs.push(*i as usize);
            match self.other(*i as usize, node) {
                Some(n) => node = n,
                None => break,
            }
        }
        runs.reverse();
        runs
    }
}
