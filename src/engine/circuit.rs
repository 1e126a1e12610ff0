//! The plan's runs as one circuit: what each run joins, which way the bank lies, and the paths through it.

mod beyond;
mod drawing;
mod frame;
mod graph;
mod islands;
mod leads;
mod meshes;
mod negative;
mod once;
mod poles;
mod returns;
mod rings;
mod role;
mod starts;
mod string_leads;
mod unreturned;

use crate::plan::{DeviceKind, FieldPath, Known, Plan, YesNo};
use crate::standards::kinds::ControllerKind;

use super::finding::Finding;
use super::memo::Stage;
use crate::plan::wiring::{Return, Supply};
use beyond::Beyond;
use drawing::{duplicates, ends_on_removed};
pub(super) use frame::OverFrame;
pub(super) use graph::joining_run;
use graph::{Mark, offsets};
pub use islands::{Elsewhere, Island};
pub use leads::Aside;
use once::{Rounds, WaysToBank};
pub(super) use poles::{Minus, name_of, senses};
pub(super) use returns::{Negative, Piece, is_thing};
pub use role::is_on_ac;
use role::{Sides, classify};
pub(super) use role::{is_post, is_start, on_bank_side};
use starts::Charges;

/// What a run can end on; the number is its place in its section.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Node {
    /// The bank (its positive post, or the whole bank).
    Bank,
    /// The bank's negative post.
    BankMinus,
    Array(usize),
    Controller(usize),
    Inverter(usize),
    Charger(usize),
    Device(usize),
    Load(usize),
}

/// What a run is for, from what it joins.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Role {
    /// Panels to controller, or a part of that way.
    Array,
    ControllerOutput,
    /// Carries several sources or consumers between bank and bus.
    Shared,
    InverterFeed,
    ChargerOutput,
    /// Alternator or start battery to a DC-DC charger.
    ChargerInput,
    /// To a fuse panel or several loads.
    PanelFeed,
    LoadBranch,
    /// Between two batteries.
    BatteryLink,
    /// The alternator's own charge lead to the start battery.
    StartLead,
    /// A chassis bond: carries no current in service.
    Bond,
    /// The bank's negative drawn as runs of its own.
    NegativeMain,
    /// To a shunt or its monitor, for volts and supply only.
    Sense,
    /// Leads nowhere that the plan knows.
    Open,
    /// Removed or abandoned.
    Dead,
}

/// One run in the circuit.
#[derive(Clone, Debug)]
pub struct Link {
    pub from: Option<Node>,
    pub to: Option<Node>,
    /// Where its negative is drawn to begin and to end, if elsewhere.
    pub negatives: [Option<Node>; 2],
    pub role: Role,
    /// Whether the end that faces the stronger source (the bank, the start battery, the combiner) is its `from` end.
    pub near_from: bool,
    /// Terminals on the far side of that source.
    pub away: Vec<Node>,
    /// Runs from the bank (or start battery) to the near end, source first.
    pub upstream: Vec<usize>,
    /// Of a link between two batteries: runs from the other one to the far end, source first.
    pub beyond: Vec<usize>,
    /// Whether the bank is reached from both ends.
    pub looped: bool,
    /// Of a run on loops what it may carry with these opened somewhere, each time all of it; nothing where that is not told.
    pub left_with: Vec<Vec<Node>>,
    /// Whether a battery stands behind it: without one its ends have no order, and nothing of its current is known.
    pub joined: bool,
}

impl Link {
    /// The node at the end that faces the stronger source.
    #[must_use]
    pub fn near(&self) -> Option<Node> {
        if self.near_from { self.from } else { self.to }
    }

    /// The node at the other end.
    #[must_use]
    pub fn far(&self) -> Option<Node> {
        if self.near_from { self.to } else { self.from }
    }
}

/// What a path is judged as.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PathKind {
    Array,
    ControllerBank,
    Inverter,
    Charger,
    ChargerInput,
    CriticalLoad,
    OtherLoad,
}

/// A way through the circuit, source first.
#[derive(Clone, Debug)]
pub struct Way {
    pub kind: PathKind,
    /// The array, controller, charger, inverter or load at its end.
    pub end: Node,
    /// Indices of its runs.
    pub runs: Vec<usize>,
    /// Of those the pairs that it goes over by one conductor alone.
    pub halves: Vec<(usize, Half)>,
    /// The start battery whose posts it is judged from, in the bank's place.
    pub start: Option<usize>,
}

/// One conductor of a pair.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Half {
    Positive,
    Negative,
}

impl Way {
    /// The one conductor of a run that it goes over; none where it goes over all there is.
    #[must_use]
    pub fn half(&self, run: usize) -> Option<Half> {
        self.halves.iter().find(|(i, _)| *i == run).map(|(_, half)| *half)
    }

    /// The runs that its positive goes over.
    pub(super) fn positives<'a>(&'a self, circuit: &'a Circuit) -> impl Iterator<Item = usize> + 'a {
        let positive = |i: &usize| {
            let positive = |l: &Link| !matches!(l.role, Role::NegativeMain | Role::Bond);
            self.half(*i) != Some(Half::Negative) && circuit.links.get(*i).is_some_and(positive)
        };
        self.runs.iter().copied().filter(positive)
    }
}

/// The circuit of a plan.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    /// One for each run of the plan, in its order.
    pub links: Vec<Link>,
    /// Of the bank, of arrays, and of the lines to DC-DC chargers.
    pub ways: Vec<Way>,
    /// Between start batteries and what hangs on them or charges them, and from sources behind converters.
    start_ways: Vec<Way>,
    /// DC loads that no run ends on; they hang on the first fuse panel.
    pub undrawn: Vec<usize>,
    /// The first fuse panel.
    pub panel: Option<usize>,
    /// Controller of each array.
    pub feeds: Vec<Option<usize>>,
    /// What hangs together without the bank.
    pub islands: Vec<Island>,
    /// Of batteries in parallel the runs in a row that are each one's own, from the bank to the place where all meet; none
    /// where they are not drawn so.
    pub own_ways: Vec<Vec<usize>>,
    /// Of the same batteries the negatives that are each one's own, from its post to the place where all meet, where they
    /// are drawn by themselves; the first belongs to the battery of the first of those.
    pub own_backs: Vec<Vec<usize>>,
    /// Start batteries and alternators that charge the bank by wire, relays and switches alone, each with its runs to the bank,
    /// its own first.
    pub(super) straight: Vec<(usize, Vec<usize>)>,
    /// What hangs on the vehicle's own battery by wire and on no way of the bank, each with that device.
    pub(super) on_vehicle: Vec<(Node, usize)>,
    /// Of each bond of the negative what flows over the chassis by it, where anything does.
    pub(super) over_frame: Vec<Option<OverFrame>>,
    /// Runs that no return is drawn of, each with what it is counted as: a pair, or one by the chassis.
    unreturned: Vec<(usize, Return)>,
    /// Controllers and chargers with every start battery that they charge.
    charging_start: Vec<Charges>,
    /// DC-DC chargers that the bank feeds.
    turned: Vec<usize>,
    /// Negatives drawn by themselves from a DC-DC charger to the battery that its line begins at, each with the charger.
    line_negatives: Vec<(usize, usize)>,
    /// Runs that are read as one more negative of what a pair has brought its positive, each with that pair.
    pub(super) read_negative: Vec<(usize, usize)>,
    /// Of each charger the runs from the alternator to where its input line begins, source first.
    pub(super) ahead: Vec<Vec<usize>>,
    /// What hangs on the batteries' own ways before they meet.
    pub asides: Vec<Aside>,
    pub(super) negative: Negative,
    /// Of each device the run that feeds it, where it is a converter with one: what it gives goes on by its others only.
    inputs: Vec<Option<usize>>,
    /// Sources that a converter parts from the bank.
    beyond: Vec<Beyond>,
    /// Of each device what it is to a search.
    marks: Vec<Mark>,
    /// Inverters and chargers on whose terminals wires of others meet, and the runs that are no DC.
    posts: Vec<Node>,
    on_ac: Vec<usize>,
    /// The places that the bank's plus reaches over positives.
    pub(super) plus: Vec<bool>,
    offsets: [usize; 6],
    starts: Vec<usize>,
    ends: Vec<usize>,
}

impl Circuit {
    /// The circuit, and what is wrong with its drawing. What this reads of the plan stands in `extract.rs`.
    #[must_use]
    pub fn of(plan: &Plan) -> (Stage<Self>, Vec<Finding>) {
        let mut findings = Vec::new();
        let mut circuit = Self { offsets: offsets(plan), ..Self::default() };
        circuit.place_ends(plan, &mut findings);
        circuit.join(plan);
        circuit.hang_loads(plan);
        circuit.find_inputs(plan);
        circuit.give_roles(plan, false);
        circuit.find_turned(plan);
        if circuit.find_negatives(plan) {
            // A converter's minus brings it to no bank, not even past what hangs there by two singles.
            circuit.find_inputs(plan);
            circuit.give_roles(plan, true);
            circuit.find_turned(plan);
        }
        circuit.find_beyond(plan);
        circuit.find_own_ways(plan);
        circuit.widen_loops(plan);
        circuit.find_upstream(plan);
        circuit.find_islands(plan);
        circuit.find_straight(plan);
        circuit.find_returns(plan);
        circuit.find_ways(plan);
        circuit.find_vehicles(plan);
        circuit.add_ways_beyond(plan);
        circuit.plus = circuit.plus_places();
        circuit.find_ahead(plan);
        circuit.find_unreturned(plan);
        circuit.find_over_frame(plan);
        circuit.loops(plan, &mut findings);
        duplicates(plan, &mut findings);
        (Stage::new(circuit), findings)
    }

    fn hang_loads(&mut self, plan: &Plan) {
        self.panel =
            plan.devices.iter().position(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::FusePanel));
        self.undrawn = (0..plan.loads.len())
            .filter(|&i| {
                plan.loads.get(i).is_some_and(|l| l.supply == Supply::Dc && l.state.stays())
                    && self.at(Node::Load(i)).is_empty()
            })
            .collect();
    }

    /// The converter with one feed that a run is at, and whether it is that feed.
    #[must_use]
    pub fn at_converter(&self, run: usize) -> Option<(Node, bool)> {
        let link = self.links.get(run)?;
        let at = |node: Option<Node>| match node? {
            Node::Device(i) => self.inputs.get(i).copied().flatten().map(|input| (Node::Device(i), input == run)),
            _ => None,
        };
        match (at(link.from), at(link.to)) {
            (Some(a), Some(b)) => [a, b].into_iter().find(|(_, feeds)| *feeds),
            (a, b) => a.or(b),
        }
    }

    /// What lies on the two sides of a run at a converter: at the end of what comes the bank and all on it, at the other what
    /// hangs on what the converter gives, and nothing of what feeds another one beside it.
    fn converted_sides(&self, run: usize, skip: impl Fn(usize) -> bool, seen: &mut [bool]) -> Option<Sides> {
        let ((converter, feeds), link) = (self.at_converter(run)?, self.links.get(run)?);
        let other = self.other(run, converter)?;
        let (near, far) = if feeds { (other, converter) } else { (converter, other) };
        let back = |j: usize| self.inputs.contains(&Some(j));
        let (near_side, far_side) = (self.side(near, &skip, seen), self.side(far, |j| skip(j) || back(j), seen));
        Some(if link.from == Some(near) { (near_side, far_side) } else { (far_side, near_side) })
    }

    /// The runs that feed converters: of each the only one that leads to the bank through no other.
    fn find_inputs(&mut self, plan: &Plan) {
        let input = |i: usize| {
            let node = Node::Device(i);
            let converts = device_kind(plan, node) == Some(DeviceKind::Converter) && plan.devices.get(i)?.state.stays();
            let mut feeds = self.at(node).iter().copied().filter(|j| converts && self.feeds_from_bank(plan, *j, node));
            let first = feeds.next();
            first.filter(|_| feeds.next().is_none())
        };
        self.inputs = (0..plan.devices.len()).map(input).collect();
    }

    /// What each run is for; once negatives are told apart, without what those lead to.
    fn give_roles(&mut self, plan: &Plan, parted: bool) {
        let mut rounds = Rounds::new(self, parted);
        for (i, run) in plan.runs.iter().enumerate() {
            let Some(link) = self.links.get(i).filter(|_| !parted || !self.is_negative(i)) else { continue };
            let (from, to) = (link.from, link.to);
            let to_itself = from.is_some() && from == to;
            if link.role == Role::Dead || (to_itself && from == Some(Node::Bank)) {
                continue;
            }
            // What leads from a place to itself is told as that, and carries nothing.
            if to_itself || is_on_ac(plan, from, to) {
                if let Some(link) = self.links.get_mut(i) {
                    link.role = Role::Dead;
                }
                continue;
            }
            // Runs side by side between the same two places are crossed as one: what flows there is what lies beyond.
            let twins = |other: usize| {
                let l = self.links.get(other).filter(|l| l.role != Role::Dead && !(parted && self.is_negative(other)));
                l.is_some_and(|l| [(from, to), (to, from)].contains(&(l.from, l.to)))
            };
            let few = |a: Node, b: Node| if self.at(a).len() < self.at(b).len() { self.at(a) } else { self.at(b) };
            let several = |(a, b): (Node, Node)| few(a, b).iter().filter(|j| twins(**j)).nth(1).is_some();
            let is_one_of_several = from.zip(to).is_some_and(several);
            let skip = |j: usize| j == i || is_one_of_several && twins(j) || parted && self.is_negative(j);
            let sides = rounds.sides(self, (from, to), &skip);
            let sides = self.converted_sides(i, skip, rounds.seen()).unwrap_or(sides);
            // What joins something removed to no battery and no panel carries nothing.
            let source = |n: &Node| matches!(n, Node::Bank | Node::BankMinus | Node::Array(_)) || is_start(plan, *n);
            // An end that was placed is on what stays.
            let may_be_removed = from.is_none() || to.is_none();
            if may_be_removed && ends_on_removed(plan, run) && !sides.0.iter().chain(&sides.1).any(source) {
                if let Some(link) = self.links.get_mut(i) {
                    link.role = Role::Dead;
                }
                continue;
            }
            let (role, near_from, away, looped) = classify(plan, run, from, to, sides);
            let looped = looped || is_one_of_several;
            if let Some(link) = self.links.get_mut(i) {
                (link.role, link.near_from, link.away, link.looped) = (role, near_from, away, looped);
            }
        }
    }

    fn find_upstream(&mut self, plan: &Plan) {
        let mut ways = WaysToBank::new(self);
        for i in 0..self.links.len() {
            let Some(link) = self.links.get(i) else { continue };
            let Some(near) = link.near() else { continue };
            let role = link.role;
            let found = match role {
                Role::Array | Role::Dead | Role::Bond | Role::NegativeMain => None,
                Role::ChargerInput => {
                    self.way(near, i, |n| self.is_of_engine(n), |r| r == Role::ChargerInput || r == Role::Open)
                }
                Role::StartLead => self.way(
                    near,
                    i,
                    |n| device_kind(plan, n) == Some(DeviceKind::StartBattery),
                    |r| r == Role::StartLead,
                ),
                _ => ways.without(self, near, i).filter(|way| !self.is_battery_behind(near, way)),
            };
            let other = match (role, self.links.get(i).and_then(Link::far)) {
                (Role::BatteryLink, Some(far)) => {
                    self.way(far, i, |n| n == Node::Bank || self.is_of_engine(n), on_bank_side)
                }
                _ => None,
            };
            let Some(link) = self.links.get_mut(i) else { continue };
            for (slot, found) in [(&mut link.upstream, found), (&mut link.beyond, other)] {
                if let Some(mut runs) = found {
                    runs.reverse();
                    *slot = runs;
                }
            }
        }
    }

    fn find_ways(&mut self, plan: &Plan) {
        let mut ways = Vec::new();
        let mut add = |kind: PathKind, end: Node, runs: Option<Vec<usize>>| {
            if let Some(runs) = runs
                && !runs.is_empty()
            {
                ways.push(Way { kind, end, runs, halves: Vec::new(), start: None });
            }
        };
        let none = usize::MAX;
        for i in 0..plan.arrays.len() {
            let way = self.way(Node::Array(i), none, |n| matches!(n, Node::Controller(_)), |r| r == Role::Array);
            // Strings on runs of their own have a way each, over what lies beyond in common.
            let leads = self.string_leads(plan, i).map_or_else(Vec::new, |leads| leads.runs);
            let first = way.as_ref().and_then(|w| w.first().copied());
            let beside = leads.into_iter().filter(|lead| Some(*lead) != first);
            let others: Vec<_> = beside
                .map(|lead| [&[lead], way.iter().flatten().copied().skip(1).collect::<Vec<_>>().as_slice()].concat())
                .collect();
            add(PathKind::Array, Node::Array(i), way);
            others.into_iter().for_each(|runs| add(PathKind::Array, Node::Array(i), Some(runs)));
        }
        let to_bank = |node: Node| self.way(node, none, |n| n == Node::Bank, on_bank_side);
        let mut ways_to_bank = WaysToBank::new(self);
        let mut from_bank = |node: Node| {
            ways_to_bank.of(self, node).map(|mut w| {
                w.reverse();
                w
            })
        };
        for node in (0..plan.controllers.len()).map(Node::Controller).filter(|n| self.beyond(*n).is_none()) {
            add(PathKind::ControllerBank, node, to_bank(node));
        }
        for i in 0..plan.inverters.len() {
            add(PathKind::Inverter, Node::Inverter(i), from_bank(Node::Inverter(i)));
        }
        for i in 0..plan.chargers.len() {
            let node = Node::Charger(i);
            if self.is_fed_by_bank(node) {
                add(PathKind::OtherLoad, node, from_bank(node));
                continue;
            }
            add(PathKind::Charger, node, to_bank(node).filter(|_| self.beyond(node).is_none()));
            let input = self.way(node, none, |n| self.is_of_engine(n), |r| r == Role::ChargerInput);
            add(
                PathKind::ChargerInput,
                node,
                input.map(|mut w| {
                    w.reverse();
                    w.extend(self.line_negatives.iter().filter(|(_, of)| *of == i).map(|(run, _)| *run));
                    w
                }),
            );
        }
        for (i, load) in plan.loads.iter().enumerate() {
            let hung = self.undrawn.contains(&i);
            let kind = self.kind_of_load(load, i);
            let way = match (hung, self.panel) {
                (true, Some(panel)) => from_bank(Node::Device(panel)),
                (true, None) => None,
                (false, _) => from_bank(Node::Load(i)),
            };
            add(kind, Node::Load(i), way);
        }
        self.converter_ways(plan, &mut ways);
        self.add_returns(plan, &mut ways);
        self.ways = ways;
        self.feeds = (0..plan.arrays.len()).map(|i| self.controller_of(plan, i)).collect();
    }

    fn kind_of_load(&self, load: &crate::plan::Load, index: usize) -> PathKind {
        // How life safety is fed is not known before it is drawn.
        let tight = is_critical(load) && !(self.undrawn.contains(&index) && load.life_safety == YesNo::Yes);
        if tight { PathKind::CriticalLoad } else { PathKind::OtherLoad }
    }

    /// The ways whose drop is judged: those of the bank first, then those of start batteries and behind converters.
    pub(super) fn judged_ways(&self) -> impl Iterator<Item = &Way> {
        self.ways.iter().chain(&self.start_ways)
    }

    /// One of them by its place.
    pub(super) fn judged_way(&self, index: usize) -> Option<&Way> {
        self.ways.get(index).or_else(|| self.start_ways.get(index.checked_sub(self.ways.len())?))
    }

    /// The ways to converters: behind one volts begin anew, so its own input is judged as a load's.
    fn converter_ways(&self, plan: &Plan, ways: &mut Vec<Way>) {
        let stay = plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays());
        for node in stay.map(|(i, _)| Node::Device(i)) {
            if device_kind(plan, node) != Some(DeviceKind::Converter) {
                continue;
            }
            let Some(mut runs) = self.way(node, usize::MAX, |n| n == Node::Bank, on_bank_side) else { continue };
            runs.reverse();
            let behind = runs.last().and_then(|i| self.links.get(*i)).map_or(&[][..], |l| &l.away);
            let held_tight = |n: &Node| match n {
                Node::Load(i) => plan.loads.get(*i).is_some_and(is_critical),
                _ => false,
            };
            let kind = if behind.iter().any(held_tight) { PathKind::CriticalLoad } else { PathKind::OtherLoad };
            if !runs.is_empty() {
                ways.push(Way { kind, end: node, runs, halves: Vec::new(), start: None });
            }
        }
    }

    /// The controller that an array's runs lead to; where none are drawn, the one it names.
    fn controller_of(&self, plan: &Plan, array: usize) -> Option<usize> {
        let way = self.ways.iter().find(|w| w.kind == PathKind::Array && w.end == Node::Array(array));
        let last = way.and_then(|w| self.links.get(*w.runs.last()?));
        let drawn = last.and_then(|l| {
            [l.from, l.to].into_iter().flatten().find_map(|n| match n {
                Node::Controller(i) => Some(i),
                _ => None,
            })
        });
        drawn.or_else(|| {
            let id = plan.arrays.get(array)?.controller.known()?;
            plan.controllers.iter().position(|c| c.id == *id && c.state.stays())
        })
    }

    /// Whether the bank or a start battery reaches a node by runs.
    #[must_use]
    pub fn fed(&self, plan: &Plan, node: Node) -> bool {
        let battery = |n: Node| n == Node::Bank || is_start(plan, n);
        self.way(node, usize::MAX, battery, |r| !matches!(r, Role::Dead | Role::Bond | Role::NegativeMain)).is_some()
    }

    /// The way that ends on a node.
    #[must_use]
    pub fn way_of(&self, kind: PathKind, end: Node) -> Option<&Way> {
        self.ways.iter().find(|w| w.kind == kind && w.end == end)
    }

    /// Indices of the arrays on a controller.
    pub fn arrays_of(&self, controller: usize) -> impl Iterator<Item = usize> + '_ {
        self.feeds.iter().enumerate().filter(move |(_, c)| **c == Some(controller)).map(|(i, _)| i)
    }
}

/// What stands under a name.
#[must_use]
pub fn node_of(plan: &Plan, id: &str) -> Option<Node> {
    if id == "BK-" {
        return Some(Node::BankMinus);
    }
    let (list, i) = plan.end(id)?;
    Some(node_in(list, i))
}

/// What stands in a list at a place.
fn node_in(list: &str, i: usize) -> Node {
    match list {
        "bank" => Node::Bank,
        "arrays" => Node::Array(i),
        "controllers" => Node::Controller(i),
        "inverters" => Node::Inverter(i),
        "chargers" => Node::Charger(i),
        "devices" => Node::Device(i),
        _ => Node::Load(i),
    }
}

/// The item at a node.
#[must_use]
pub fn path_at(plan: &Plan, node: Node) -> Option<FieldPath> {
    let (list, id) = match node {
        Node::Bank | Node::BankMinus => return Some("bank".into()),
        Node::Array(i) => ("arrays", &plan.arrays.get(i)?.id),
        Node::Controller(i) => ("controllers", &plan.controllers.get(i)?.id),
        Node::Inverter(i) => ("inverters", &plan.inverters.get(i)?.id),
        Node::Charger(i) => ("chargers", &plan.chargers.get(i)?.id),
        Node::Device(i) => ("devices", &plan.devices.get(i)?.id),
        Node::Load(i) => ("loads", &plan.loads.get(i)?.id),
    };
    Some(FieldPath::new(format!("{list}.{id}")))
}

/// Whether a load is judged against the tighter drop target.
fn is_critical(load: &crate::plan::Load) -> bool {
    load.critical == YesNo::Yes || load.life_safety == YesNo::Yes
}

/// The kind of the device at a node.
#[must_use]
pub fn device_kind(plan: &Plan, node: Node) -> Option<DeviceKind> {
    match node {
        Node::Device(i) => plan.devices.get(i)?.kind.known().copied(),
        _ => None,
    }
}

/// Whether a controller is of the tracking kind, if that is known.
#[must_use]
pub fn tracking(kind: &Known<ControllerKind>) -> Option<bool> {
    kind.known().map(|k| *k == ControllerKind::Tracking)
}
