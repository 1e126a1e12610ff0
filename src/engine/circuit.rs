//! The plan's runs as one circuit: what each run joins, which way the bank lies, and the paths through it.

use crate::plan::{DeviceKind, FieldPath, Id, Known, Plan, Run};
use crate::standards::kinds::ControllerKind;

use super::finding::{Check, Finding, Level};
use crate::plan::wiring::{Return, Supply};
use crate::standards::source::COMMON_PRACTICE;

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
    /// A chassis bond: carries no current in service.
    Bond,
    /// The bank's negative drawn as a run of its own.
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
    pub role: Role,
    /// Whether the end that faces the stronger source (the bank, the start battery, the combiner) is its `from` end.
    pub near_from: bool,
    /// Terminals on the far side of that source.
    pub away: Vec<Node>,
    /// Runs from the bank (or start battery) to the near end, source first.
    pub upstream: Vec<usize>,
    /// Whether the bank is reached from both ends.
    pub looped: bool,
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
}

/// The circuit of a plan.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    /// One for each run of the plan, in its order.
    pub links: Vec<Link>,
    pub ways: Vec<Way>,
    /// DC loads that no run ends on; they hang on the first fuse panel.
    pub undrawn: Vec<usize>,
    /// The first fuse panel.
    pub panel: Option<usize>,
    /// Controller of each array.
    pub feeds: Vec<Option<usize>>,
    offsets: [usize; 6],
    starts: Vec<usize>,
    ends: Vec<usize>,
}

static DANGLING: Check = Check {
    id: "dangling-end",
    safety: false,
    say: |f| format!("{} ends on {}, which is not in the plan", f.name(0), f.name(1)),
};
static REMOVED_END: Check = Check {
    id: "end-on-removed",
    safety: false,
    say: |f| format!("{} stays, but {} at its end is removed or dead", f.name(0), f.name(1)),
};
static TO_ITSELF: Check = Check {
    id: "run-to-itself",
    safety: false,
    say: |f| format!("{} leaves {} and ends on it again", f.name(0), f.name(1)),
};
static DUPLICATE: Check = Check {
    id: "duplicate-name",
    safety: false,
    say: |f| format!("{} names two things; references mean the first", f.name(0)),
};
static LOOPED: Check = Check {
    id: "loop",
    safety: false,
    say: |f| format!("{} is one of several ways between the same ends; it is sized for the whole current", f.name(0)),
};

/// A finding about a run.
fn about_run(check: &'static Check, level: Level, run: &Run, other: &str) -> Finding {
    Finding::new(check, level, FieldPath::new(format!("runs.{}", run.id)), &[], &COMMON_PRACTICE)
        .named([run.id.as_str(), other])
}

impl Circuit {
    /// The circuit, and what is wrong with its drawing.
    #[must_use]
    pub fn of(plan: &Plan) -> (Self, Vec<Finding>) {
        let mut findings = Vec::new();
        let mut circuit = Self { offsets: offsets(plan), ..Self::default() };
        circuit.place_ends(plan, &mut findings);
        circuit.join();
        circuit.hang_loads(plan);
        circuit.give_roles(plan);
        circuit.find_upstream(plan);
        circuit.find_ways(plan);
        for (link, run) in circuit.links.iter().zip(&plan.runs) {
            if link.looped {
                findings.push(about_run(&LOOPED, Level::Note, run, ""));
            }
        }
        duplicates(plan, &mut findings);
        (circuit, findings)
    }

    fn place_ends(&mut self, plan: &Plan, findings: &mut Vec<Finding>) {
        for run in &plan.runs {
            let live = run.legs.is_empty() || run.legs.iter().any(|l| l.state.stays());
            let mut end = |id: &Known<Id>| {
                let name = id.known()?;
                let Some(node) = node_of(plan, name.as_str()) else {
                    findings.push(about_run(&DANGLING, Level::Caution, run, name.as_str()));
                    return None;
                };
                if live && !stays(plan, node) {
                    findings.push(about_run(&REMOVED_END, Level::Caution, run, name.as_str()));
                    return None;
                }
                Some(node)
            };
            let (from, to) = if live { (end(&run.from), end(&run.to)) } else { (None, None) };
            if from.is_some() && from == to {
                let name = run.from.known().map_or("", Id::as_str);
                findings.push(about_run(&TO_ITSELF, Level::Caution, run, name));
            }
            let role = if live { Role::Open } else { Role::Dead };
            self.links.push(Link {
                from,
                to,
                role,
                near_from: true,
                away: Vec::new(),
                upstream: Vec::new(),
                looped: false,
            });
        }
    }

    /// Lists the runs at every node, all in one vector.
    fn join(&mut self) {
        let nodes = self.offsets[5];
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
    }

    fn at(&self, node: Node) -> &[usize] {
        let slot = self.slot(node);
        match (self.starts.get(slot), self.starts.get(slot + 1)) {
            (Some(&a), Some(&b)) => self.ends.get(a..b).unwrap_or(&[]),
            _ => &[],
        }
    }

    fn slot(&self, node: Node) -> usize {
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

    fn hang_loads(&mut self, plan: &Plan) {
        self.panel = plan.devices.iter().position(|d| d.state.stays() && kind(plan, d) == Some(DeviceKind::FusePanel));
        self.undrawn = (0..plan.loads.len())
            .filter(|&i| {
                plan.loads.get(i).is_some_and(|l| l.supply == Supply::Dc && l.state.stays())
                    && self.at(Node::Load(i)).is_empty()
            })
            .collect();
    }

    /// Terminals reached from a node without crossing a run.
    fn side(&self, plan: &Plan, start: Node, skip: usize, seen: &mut [bool]) -> Vec<Node> {
        let mut found = Vec::new();
        let mut stack = vec![start];
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
            if is_terminal(plan, node) {
                found.push(node);
                continue;
            }
            for &i in self.at(node) {
                if i != skip
                    && let Some(other) = self.other(i, node)
                {
                    stack.push(other);
                }
            }
        }
        found
    }

    fn other(&self, link: usize, node: Node) -> Option<Node> {
        let l = self.links.get(link)?;
        if l.from == Some(node) { l.to } else { l.from }
    }

    fn give_roles(&mut self, plan: &Plan) {
        let mut seen = vec![false; self.offsets[5]];
        for (i, run) in plan.runs.iter().enumerate() {
            let Some(link) = self.links.get(i) else { continue };
            if link.role == Role::Dead || (link.from.is_some() && link.from == link.to) {
                continue;
            }
            let (from, to) = (link.from, link.to);
            let mut side = |n: Option<Node>| n.map(|n| self.side(plan, n, i, &mut seen)).unwrap_or_default();
            let sides = (side(from), side(to));
            let (role, near_from, away, looped) = classify(plan, run, from, to, sides);
            if let Some(link) = self.links.get_mut(i) {
                (link.role, link.near_from, link.away, link.looped) = (role, near_from, away, looped);
            }
        }
    }

    /// Runs of the shortest way from a node to a goal, the node's own run first; terminals are not crossed.
    fn way(
        &self,
        plan: &Plan,
        start: Node,
        skip: usize,
        goal: impl Fn(Node) -> bool,
        may: impl Fn(Role) -> bool,
    ) -> Option<Vec<usize>> {
        if goal(start) {
            return Some(Vec::new());
        }
        let mut came: Vec<Option<usize>> = vec![None; self.offsets[5]];
        let mut queue = vec![start];
        let mut next = 0;
        while let Some(&node) = queue.get(next) {
            next += 1;
            if node != start && is_terminal(plan, node) {
                continue;
            }
            for &i in self.at(node) {
                let Some(other) = self.other(i, node) else { continue };
                let Some(link) = self.links.get(i) else { continue };
                if i == skip || !may(link.role) || other == start {
                    continue;
                }
                let Some(slot) = came.get_mut(self.slot(other)) else { continue };
                if slot.is_some() {
                    continue;
                }
                *slot = Some(i);
                if goal(other) {
                    return Some(self.back(other, start, &came));
                }
                queue.push(other);
            }
        }
        None
    }

    fn back(&self, end: Node, start: Node, came: &[Option<usize>]) -> Vec<usize> {
        let mut runs = Vec::new();
        let mut node = end;
        while node != start {
            let Some(Some(i)) = came.get(self.slot(node)) else { break };
            runs.push(*i);
            match self.other(*i, node) {
                Some(n) => node = n,
                None => break,
            }
        }
        runs.reverse();
        runs
    }

    fn find_upstream(&mut self, plan: &Plan) {
        for i in 0..self.links.len() {
            let Some(link) = self.links.get(i) else { continue };
            let Some(near) = link.near() else { continue };
            let role = link.role;
            let found = match role {
                Role::Array | Role::Dead | Role::Open | Role::Bond | Role::NegativeMain => None,
                Role::ChargerInput => {
                    self.way(plan, near, i, |n| is_start(plan, n), |r| r == Role::ChargerInput || r == Role::Open)
                }
                _ => self.way(plan, near, i, |n| n == Node::Bank, on_bank_side),
            };
            if let (Some(mut runs), Some(link)) = (found, self.links.get_mut(i)) {
                runs.reverse();
                link.upstream = runs;
            }
        }
    }

    fn find_ways(&mut self, plan: &Plan) {
        let mut ways = Vec::new();
        let mut add = |kind: PathKind, end: Node, runs: Option<Vec<usize>>| {
            if let Some(runs) = runs
                && !runs.is_empty()
            {
                ways.push(Way { kind, end, runs });
            }
        };
        let none = usize::MAX;
        for i in 0..plan.arrays.len() {
            let way = self.way(plan, Node::Array(i), none, |n| matches!(n, Node::Controller(_)), |r| r == Role::Array);
            add(PathKind::Array, Node::Array(i), way);
        }
        let to_bank = |node: Node| self.way(plan, node, none, |n| n == Node::Bank, on_bank_side);
        let from_bank = |node: Node| {
            to_bank(node).map(|mut w| {
                w.reverse();
                w
            })
        };
        for i in 0..plan.controllers.len() {
            add(PathKind::ControllerBank, Node::Controller(i), to_bank(Node::Controller(i)));
        }
        for i in 0..plan.inverters.len() {
            add(PathKind::Inverter, Node::Inverter(i), from_bank(Node::Inverter(i)));
        }
        for i in 0..plan.chargers.len() {
            let node = Node::Charger(i);
            add(PathKind::Charger, node, to_bank(node));
            let input = self.way(plan, node, none, |n| is_start(plan, n), |r| r == Role::ChargerInput);
            add(
                PathKind::ChargerInput,
                node,
                input.map(|mut w| {
                    w.reverse();
                    w
                }),
            );
        }
        for (i, load) in plan.loads.iter().enumerate() {
            let critical = load.critical == crate::plan::YesNo::Yes || load.life_safety == crate::plan::YesNo::Yes;
            let kind = if critical { PathKind::CriticalLoad } else { PathKind::OtherLoad };
            let hung = self.undrawn.contains(&i);
            let way = match (hung, self.panel) {
                (true, Some(panel)) => from_bank(Node::Device(panel)),
                (true, None) => None,
                (false, _) => from_bank(Node::Load(i)),
            };
            add(kind, Node::Load(i), way);
        }
        self.ways = ways;
        self.feeds = (0..plan.arrays.len()).map(|i| self.controller_of(plan, i)).collect();
    }

    /// The controller an array names, or the one its runs lead to.
    fn controller_of(&self, plan: &Plan, array: usize) -> Option<usize> {
        match plan.arrays.get(array)?.controller.known() {
            Some(id) => plan.controllers.iter().position(|c| c.id == *id && c.state.stays()),
            None => {
                let way = self.ways.iter().find(|w| w.kind == PathKind::Array && w.end == Node::Array(array))?;
                let last = self.links.get(*way.runs.last()?)?;
                [last.from, last.to].into_iter().flatten().find_map(|n| match n {
                    Node::Controller(i) => Some(i),
                    _ => None,
                })
            }
        }
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

fn offsets(plan: &Plan) -> [usize; 6] {
    let arrays = 2;
    let controllers = arrays + plan.arrays.len();
    let inverters = controllers + plan.controllers.len();
    let chargers = inverters + plan.inverters.len();
    let devices = chargers + plan.chargers.len();
    [arrays, controllers, inverters, chargers, devices, devices + plan.devices.len() + plan.loads.len()]
}

/// What stands under a name.
#[must_use]
pub fn node_of(plan: &Plan, id: &str) -> Option<Node> {
    if id == "BK-" {
        return Some(Node::BankMinus);
    }
    let (list, i) = plan.end(id)?;
    Some(match list {
        "bank" => Node::Bank,
        "arrays" => Node::Array(i),
        "controllers" => Node::Controller(i),
        "inverters" => Node::Inverter(i),
        "chargers" => Node::Charger(i),
        "devices" => Node::Device(i),
        _ => Node::Load(i),
    })
}

fn stays(plan: &Plan, node: Node) -> bool {
    match node {
        Node::Bank | Node::BankMinus => plan.bank.state.stays(),
        Node::Array(i) => plan.arrays.get(i).is_some_and(|x| x.state.stays()),
        Node::Controller(i) => plan.controllers.get(i).is_some_and(|x| x.state.stays()),
        Node::Inverter(i) => plan.inverters.get(i).is_some_and(|x| x.state.stays()),
        Node::Charger(i) => plan.chargers.get(i).is_some_and(|x| x.state.stays()),
        Node::Device(i) => plan.devices.get(i).is_some_and(|x| x.state.stays()),
        Node::Load(i) => plan.loads.get(i).is_some_and(|x| x.state.stays()),
    }
}

fn kind(_: &Plan, device: &crate::plan::Device) -> Option<DeviceKind> {
    device.kind.known().copied()
}

/// The kind of the device at a node.
#[must_use]
pub fn device_kind(plan: &Plan, node: Node) -> Option<DeviceKind> {
    match node {
        Node::Device(i) => plan.devices.get(i)?.kind.known().copied(),
        _ => None,
    }
}

fn is_start(plan: &Plan, node: Node) -> bool {
    matches!(device_kind(plan, node), Some(DeviceKind::StartBattery | DeviceKind::Alternator))
}

fn is_terminal(plan: &Plan, node: Node) -> bool {
    match node {
        Node::Device(_) => matches!(
            device_kind(plan, node),
            Some(DeviceKind::StartBattery | DeviceKind::Alternator | DeviceKind::Generator | DeviceKind::Chassis)
        ),
        _ => true,
    }
}

fn on_bank_side(role: Role) -> bool {
    !matches!(role, Role::Array | Role::Dead | Role::Bond | Role::NegativeMain | Role::ChargerInput)
}

type Sides = (Vec<Node>, Vec<Node>);

fn classify(
    plan: &Plan,
    run: &Run,
    from: Option<Node>,
    to: Option<Node>,
    (from_side, to_side): Sides,
) -> (Role, bool, Vec<Node>, bool) {
    let is_chassis = |n: Option<Node>| n.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::Chassis));
    if is_chassis(from) || is_chassis(to) {
        return (Role::Bond, true, Vec::new(), false);
    }
    if from == Some(Node::BankMinus) || to == Some(Node::BankMinus) {
        let role = if run.return_path == Return::None { Role::NegativeMain } else { Role::Open };
        return (role, from == Some(Node::BankMinus), Vec::new(), false);
    }
    let arrays = |side: &[Node]| side.iter().any(|n| matches!(n, Node::Array(_)));
    if arrays(&from_side) != arrays(&to_side) {
        let array_at_from = arrays(&from_side);
        let away = if array_at_from { from_side } else { to_side };
        return (Role::Array, !array_at_from, away, false);
    }
    let bank = |side: &[Node]| side.contains(&Node::Bank);
    let starts = |side: &[Node]| side.iter().any(|n| is_start(plan, *n));
    let dc_dc = |side: &[Node]| {
        side.iter().any(|n| match n {
            Node::Charger(i) => {
                plan.chargers.get(*i).is_some_and(|c| c.kind.known() == Some(&crate::plan::power::ChargerKind::DcDc))
            }
            _ => false,
        })
    };
    for (near, away, near_from) in [(&from_side, &to_side, true), (&to_side, &from_side, false)] {
        let input = dc_dc(away) && !bank(near) && !bank(away) && (starts(near) || near.is_empty());
        if input && !starts(away) {
            return (Role::ChargerInput, near_from, away.clone(), false);
        }
    }
    let only_bank = |side: &[Node]| side.iter().all(|n| *n == Node::Bank);
    let looped = bank(&from_side) && bank(&to_side);
    let near_from = match (bank(&from_side), bank(&to_side)) {
        (true, false) => true,
        (false, true) => false,
        (true, true) => only_bank(&from_side),
        (false, false) => !to_side.is_empty(),
    };
    let away: Vec<Node> = (if near_from { to_side } else { from_side })
        .into_iter()
        .filter(|n| !matches!(n, Node::Bank | Node::BankMinus))
        .collect();
    (role_of(plan, &away, if near_from { to } else { from }, looped), near_from, away, looped)
}

fn role_of(plan: &Plan, away: &[Node], far: Option<Node>, looped: bool) -> Role {
    let panel = far.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::FusePanel));
    let count = |f: fn(&Node) -> bool| away.iter().filter(|n| f(n)).count();
    let controllers = count(|n| matches!(n, Node::Controller(_)));
    let chargers = count(|n| matches!(n, Node::Charger(_)));
    let inverters = count(|n| matches!(n, Node::Inverter(_)));
    let loads = count(|n| matches!(n, Node::Load(_)));
    let starts = away.iter().filter(|n| is_start(plan, **n)).count();
    match (controllers, chargers, inverters, loads, starts) {
        (0, 0, 0, 0, 0) if panel => Role::PanelFeed,
        (0, 0, 0, 0, 0) if far.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::Shunt)) => Role::Sense,
        (0, 0, 0, 0, 0) if looped => Role::BatteryLink,
        (0, 0, 0, 0, 0) => Role::Open,
        (_, 0, 0, 0, 0) => Role::ControllerOutput,
        (0, _, 0, 0, 0) => Role::ChargerOutput,
        (0, 0, _, 0, 0) => Role::InverterFeed,
        (0, 0, 0, 1, 0) if !panel => Role::LoadBranch,
        (0, 0, 0, _, 0) => Role::PanelFeed,
        (0, 0, 0, 0, _) => Role::BatteryLink,
        _ => Role::Shared,
    }
}

fn duplicates(plan: &Plan, findings: &mut Vec<Finding>) {
    let mut ids: Vec<(&str, &str)> = Vec::with_capacity(32);
    let sections: [(&str, &dyn crate::plan::field::List); 6] = [
        ("arrays", &plan.arrays),
        ("controllers", &plan.controllers),
        ("inverters", &plan.inverters),
        ("chargers", &plan.chargers),
        ("devices", &plan.devices),
        ("loads", &plan.loads),
    ];
    let runs: (&str, &dyn crate::plan::field::List) = ("runs", &plan.runs);
    let mut twice = |section: &str, id: &str| {
        findings.push(
            Finding::new(&DUPLICATE, Level::Caution, FieldPath::new(format!("{section}.{id}")), &[], &COMMON_PRACTICE)
                .named([id]),
        );
    };
    for (section, list) in sections {
        for id in (0..list.len()).filter_map(|i| list.id_at(i)) {
            if matches!(id.as_str(), "BK" | "BK+" | "BK-") || ids.iter().any(|(_, x)| *x == id.as_str()) {
                twice(section, id.as_str());
            }
            ids.push((section, id.as_str()));
        }
    }
    let (section, list) = runs;
    for i in 0..list.len() {
        if let Some(id) = list.id_at(i)
            && list.position(id.as_str()).is_some_and(|first| first < i)
        {
            twice(section, id.as_str());
        }
    }
}

/// Whether a controller is of the tracking kind, if that is known.
#[must_use]
pub fn tracking(kind: &Known<ControllerKind>) -> Option<bool> {
    kind.known().map(|k| *k == ControllerKind::Tracking)
}
