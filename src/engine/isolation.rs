//! For every switch, disconnect and fuse of a battery, a source or a feeder: what goes dead when it opens, and what stays alive
//! behind it.

mod bypass;
mod handed;

use std::collections::VecDeque;

use crate::plan::power::{AcSource, ChargerKind};
use crate::plan::wiring::{Pole, Resets, Return, Supply};
use crate::plan::{DeviceKind, FieldPath, Id, Plan, YesNo};
use crate::standards::kinds::FuseFamily;

use super::circuit::{Circuit, Link, Node, Role, device_kind};

/// What opening one switch, disconnect or fuse does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Isolation {
    /// The device, or the fuse of a run.
    pub switch: FieldPath,
    /// What it is called: `SW`, `W3 F1`.
    pub name: String,
    /// Devices, loads and equipment that lose every supply.
    pub dead: Vec<Id>,
    /// What stays alive at it or behind it, and by what: by a battery, else by every source that holds it up.
    pub live: Vec<(Id, String)>,
    /// What of that no battery reaches: held up by sources that come and go, dead without them.
    pub held: Vec<Id>,
    /// The sources that hold it up, each in words to be switched off by.
    pub holders: Vec<String>,
}

/// What is opened: a device, or a run at its fuse.
#[derive(Clone, Copy, PartialEq)]
enum Opener {
    Device(usize),
    Run(usize),
}

/// One source of the plan and the words for it.
struct Source {
    node: Node,
    why: String,
    /// What has to be off for it to feed nothing.
    off: String,
    /// Whether it is an engine.
    engine: Engine,
}

/// Whether a source is an engine: DC-DC chargers hand on while one runs.
#[derive(Clone, Copy, PartialEq)]
enum Engine {
    No,
    /// With its alternator drawn as a device.
    Drawn,
    /// It runs, and nobody has drawn its alternator: it feeds nothing by wire of its own.
    Undrawn,
}

impl Source {
    /// Whether it is there day and night: panels, shore power and a running engine come and go.
    fn is_battery(&self, plan: &Plan) -> bool {
        self.node == Node::Bank || device_kind(plan, self.node) == Some(DeviceKind::StartBattery)
    }
}

/// Something alive, by which source and in which words.
#[derive(Clone)]
struct Alive {
    node: Node,
    by: Node,
    why: String,
}

/// What a load hangs on. Panels, shore power and a running engine come and go: only batteries count.
#[derive(Debug)]
pub(super) struct Supplies {
    /// The bank and the start batteries that reach it by wire.
    pub(super) batteries: Vec<Node>,
    /// Switches, disconnects and isolators that leave it without any battery when they open.
    pub(super) killers: Vec<usize>,
    /// Where none does alone: switches of several batteries, one of each, that do together.
    pub(super) together: Vec<usize>,
    /// The tow connector without which no battery reaches it.
    pub(super) plug: Option<usize>,
}

/// What every load hangs on, in the order of the plan.
pub(super) fn supplies(plan: &Plan, circuit: &Circuit) -> Vec<Supplies> {
    let view = View { plan, circuit, sources: Vec::new(), is_parted: false, over_post: false, also: &[] };
    let stay = || (0..plan.devices.len()).filter(|d| plan.devices.get(*d).is_some_and(|x| x.state.stays()));
    let bank = plan.bank.state.stays().then_some(Node::Bank);
    let start = stay().map(Node::Device).filter(|n| device_kind(plan, *n) == Some(DeviceKind::StartBattery));
    let batteries: Vec<Node> = bank.into_iter().chain(start).collect();
    let reached_in = |view: &View<'_>, opened: Option<Opener>| {
        batteries.iter().map(|b| (*b, view.wired(*b, opened))).collect::<Vec<(Node, Vec<Node>)>>()
    };
    let reached = |opened: Option<Opener>| reached_in(&view, opened);
    let whole = reached(None);
    let switched = || stay().filter(|d| switches(plan, *d)).map(|d| (d, Some(Opener::Device(d))));
    let opened: Vec<_> = switched().map(|(d, open)| (d, reached(open))).collect();
    // With the engine off isolators part the batteries by themselves: what another battery keeps alive over one is dead then.
    let isolates = |d: &usize| device_kind(plan, Node::Device(*d)) == Some(DeviceKind::Isolator);
    let parted_view = View { is_parted: true, sources: Vec::new(), ..view };
    let rests = stay().any(|d| isolates(&d)).then(|| {
        let opened = switched().filter(|(d, _)| !isolates(d)).map(|(d, open)| (d, reached_in(&parted_view, open)));
        (reached_in(&parted_view, None), opened.collect::<Vec<_>>())
    });
    let tows = stay().filter(|d| device_kind(plan, Node::Device(*d)) == Some(DeviceKind::Tow));
    let parted: Vec<_> =
        tows.map(|d| (d, view.wired(Node::Device(d), None), reached(Some(Opener::Device(d))))).collect();
    let own: Vec<usize> = switched().map(|(d, _)| d).collect();
    let openers: Vec<Opener> = own.iter().map(|d| Opener::Device(*d)).collect();
    let each = of_each_battery(circuit, &openers).unwrap_or_default();
    let all_open: Vec<Opener> = each.iter().filter_map(|k| openers.get(*k).copied()).collect();
    let without =
        all_open.first().map(|first| reached_in(&View { also: &all_open, sources: Vec::new(), ..view }, Some(*first)));
    let of = |load: usize| {
        let reaches = |(_, nodes): &&(Node, Vec<Node>)| nodes.contains(&Node::Load(load));
        let batteries: Vec<Node> = whole.iter().filter(reaches).map(|(battery, _)| *battery).collect();
        let kills = |left: &[(Node, Vec<Node>)]| !batteries.is_empty() && !left.iter().any(|x| reaches(&x));
        let kills_at_rest = |d: usize| {
            rests.as_ref().is_some_and(|(all, opened)| {
                all.iter().any(|x| reaches(&x))
                    && opened.iter().any(|(own, left)| *own == d && !left.iter().any(|x| reaches(&x)))
            })
        };
        let killers: Vec<usize> =
            opened.iter().filter(|(d, left)| kills(left) || kills_at_rest(*d)).map(|(d, _)| *d).collect();
        let is_theirs = killers.is_empty() && without.as_ref().is_some_and(|left| kills(left));
        let together = each.iter().filter(|_| is_theirs).filter_map(|k| own.get(*k).copied()).collect();
        let plug =
            parted.iter().find(|(_, fed, left)| fed.contains(&Node::Load(load)) && !left.iter().any(|x| reaches(&x)));
        Supplies { batteries, killers, together, plug: plug.map(|(d, ..)| *d) }
    };
    (0..plan.loads.len()).map(of).collect()
}

/// Whether a device is there to be opened by hand or by itself: what protects is left out.
fn switches(plan: &Plan, device: usize) -> bool {
    let kind = device_kind(plan, Node::Device(device));
    matches!(kind, Some(DeviceKind::Switch | DeviceKind::Disconnect | DeviceKind::Isolator))
}

struct View<'a> {
    plan: &'a Plan,
    circuit: &'a Circuit,
    sources: Vec<Source>,
    /// Whether isolators are open.
    is_parted: bool,
    /// Whether what comes to the bank's post goes on to what hangs there: it does, but of batteries only their own wire is asked for.
    over_post: bool,
    /// What else is open where something is.
    also: &'a [Opener],
}

/// The isolation view: devices in the order of the plan, then fuses in the order of the runs.
#[must_use]
pub fn isolation(plan: &Plan) -> Vec<Isolation> {
    let (circuit, _) = Circuit::of(plan);
    let sources = sources(plan, &circuit);
    let view = View { plan, circuit: &circuit, sources, is_parted: false, over_post: true, also: &[] };
    let (mut all, mut openers) = (Vec::new(), Vec::new());
    for (i, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        let opens = matches!(
            device_kind(plan, Node::Device(i)),
            Some(DeviceKind::Switch | DeviceKind::Disconnect | DeviceKind::Breaker | DeviceKind::Isolator)
        );
        if opens {
            let switch = FieldPath::of(&["devices", device.id.as_str()]);
            all.push(view.open(Opener::Device(i), switch, device.id.to_string()));
            openers.push(Opener::Device(i));
        }
    }
    for (i, (run, link)) in plan.runs.iter().zip(&circuit.links).enumerate() {
        if matches!(link.role, Role::Dead | Role::Sense | Role::Bond) {
            continue;
        }
        let mut opening = run.protection.iter().filter(|p| p.state.stays() && p.pole == Pole::Positive);
        // Of a run with several fuses any one opens it.
        let opener = opening.find(|p| {
            is_main(plan, link) || p.resets == Resets::Manual || p.family.known() == Some(&FuseFamily::Breaker)
        });
        if let Some(p) = opener {
            let switch = FieldPath::of(&["runs", run.id.as_str(), "protection", p.id.as_str()]);
            all.push(view.open(Opener::Run(i), switch, format!("{} {}", run.id, p.id)));
            openers.push(Opener::Run(i));
        }
    }
    // One of several batteries in parallel makes nothing dead alone: what all of them do.
    if let Some(own) = of_each_battery(&circuit, &openers) {
        let names: Vec<&str> = own.iter().filter_map(|k| Some(all.get(*k)?.name.as_str())).collect();
        let name = format!("{} together", names.join(" and "));
        let mut opened = own.iter().filter_map(|k| openers.get(*k).copied());
        if let Some(first) = opened.next() {
            let also: Vec<Opener> = opened.collect();
            all.push(View { also: &also, ..view }.open(first, "bank".into(), name));
        }
    }
    all
}

/// What opens each of the batteries' own ways, by its place: a switch before a fuse. None where one has neither.
fn of_each_battery(circuit: &Circuit, openers: &[Opener]) -> Option<Vec<usize>> {
    let on = |way: &[usize], opener: &Opener| match *opener {
        Opener::Run(i) => way.contains(&i),
        Opener::Device(d) => circuit.is_within(way, d),
    };
    let of = |way: &Vec<usize>| openers.iter().position(|opener| on(way, opener));
    let own = circuit.own_ways.iter().map(of).collect::<Option<Vec<_>>>()?;
    (own.len() > 1).then_some(own)
}

/// Whether a run's fuse is one of those that take a source or a feeder off: at a battery, on the line of a charger or a controller, or
/// ahead of several branches. What is ahead of one load alone takes that load off, and no more; panels are not parted by a fuse.
fn is_main(plan: &Plan, link: &Link) -> bool {
    let is_battery = |n: Node| n == Node::Bank || device_kind(plan, n) == Some(DeviceKind::StartBattery);
    let of_role = match link.role {
        Role::ControllerOutput | Role::ChargerOutput | Role::ChargerInput | Role::StartLead => true,
        Role::Shared | Role::BatteryLink | Role::InverterFeed | Role::PanelFeed => true,
        Role::Array | Role::LoadBranch | Role::NegativeMain | Role::Open => false,
        Role::Bond | Role::Sense | Role::Dead => return false,
    };
    of_role || [link.from, link.to].into_iter().flatten().any(is_battery)
}

/// Everything that can feed, each with its words.
fn sources(plan: &Plan, circuit: &Circuit) -> Vec<Source> {
    let mut all = Vec::new();
    if plan.bank.state.stays() {
        all.push(Source {
            node: Node::Bank,
            why: "the battery bank".into(),
            off: "the battery bank".into(),
            engine: Engine::No,
        });
    }
    for (i, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        let (why, off) = match device_kind(plan, Node::Device(i)) {
            Some(DeviceKind::StartBattery) => {
                (format!("the start battery {}", device.id), format!("the start battery {}", device.id))
            }
            Some(DeviceKind::Alternator) => {
                (format!("the alternator {}, engine running", device.id), format!("the engine ({})", device.id))
            }
            // With nothing of the vehicle drawn its connector stands for it, battery and running engine.
            Some(DeviceKind::Tow) if circuit.is_of_engine(Node::Device(i)) => (
                format!("the vehicle while coupled at {}", device.id),
                format!("the vehicle (uncoupled at {})", device.id),
            ),
            _ => continue,
        };
        let engine = match device_kind(plan, Node::Device(i)) {
            Some(DeviceKind::Alternator | DeviceKind::Tow) => Engine::Drawn,
            _ => Engine::No,
        };
        all.push(Source { node: Node::Device(i), why, off, engine });
    }
    for (i, array) in plan.arrays.iter().enumerate().filter(|(_, a)| a.state.stays()) {
        let (why, off) = (
            format!("the panels {} in daylight", array.id),
            format!("the panels {} (covered or disconnected)", array.id),
        );
        all.push(Source { node: Node::Array(i), why, off, engine: Engine::No });
    }
    for (i, charger) in plan.chargers.iter().enumerate().filter(|(_, c)| c.state.stays()) {
        // A DC-DC charger hands on what reaches its input; one behind the inverter is dead with it.
        if charger.kind.known() == Some(&ChargerKind::DcDc) {
            continue;
        }
        let (from, off) = match charger.ac_source.as_ref().and_then(|s| s.known()) {
            Some(AcSource::Inverter) => continue,
            Some(AcSource::Generator) => ("the generator runs", "the generator"),
            _ => ("shore power is plugged in", "shore power"),
        };
        let (why, off) = (format!("{}, if {from}", charger.id), format!("{off} ({})", charger.id));
        all.push(Source { node: Node::Charger(i), why, off, engine: Engine::No });
    }
    engine(plan, circuit, &mut all);
    all
}

/// The engine that nobody has drawn, where a DC-DC charger is: its charger gives only while one runs, but for one that the bank
/// feeds.
fn engine(plan: &Plan, circuit: &Circuit, all: &mut Vec<Source>) {
    let dc_dc = |(i, c): (usize, &crate::plan::Charger)| {
        let is_it = c.state.stays() && c.kind.known() == Some(&ChargerKind::DcDc);
        (is_it && !circuit.is_fed_by_bank(Node::Charger(i))).then_some(i)
    };
    // The engine behind a tow connector is another one than that of a start battery here.
    let has_battery = all.iter().any(|s| device_kind(plan, s.node) == Some(DeviceKind::StartBattery));
    // An alternator that no run leads to is that of a start battery, where one is drawn; else it feeds nothing that is.
    let is_loose = |s: &Source| !has_battery && s.engine == Engine::Drawn && circuit.at(s.node).is_empty();
    let is_tow = |s: &Source| device_kind(plan, s.node) == Some(DeviceKind::Tow);
    let is_other = |s: &Source| s.engine == Engine::No || is_tow(s) || is_loose(s);
    if let Some(i) = plan.chargers.iter().enumerate().find_map(dc_dc).filter(|_| all.iter().all(is_other)) {
        let (why, off) = ("the running engine".into(), "the engine".into());
        all.push(Source { node: Node::Charger(i), why, off, engine: Engine::Undrawn });
    }
}

impl View<'_> {
    fn stops(&self, node: Node) -> bool {
        match node {
            // On the terminals of one that several runs end on they meet.
            Node::Inverter(_) | Node::Load(_) => !bypass::meet(self.circuit, node),
            Node::Device(_) => matches!(
                device_kind(self.plan, node),
                Some(DeviceKind::StartBattery | DeviceKind::Alternator | DeviceKind::Generator | DeviceKind::Chassis)
            ),
            _ => true,
        }
    }

    /// Whether one of what is open.
    fn is_opened(&self, opened: Option<Opener>, one: Opener) -> bool {
        opened == Some(one) || opened.is_some() && self.also.contains(&one)
    }

    /// The runs that carry supply.
    fn carries(&self, i: usize, opened: Option<Opener>) -> bool {
        let Some(link) = self.circuit.links.get(i) else { return false };
        !self.is_opened(opened, Opener::Run(i))
            && link.from != link.to
            && !self.negative_at(i, opened)
            && !matches!(link.role, Role::Dead | Role::Bond | Role::NegativeMain)
    }

    fn names(&self, i: usize, id: &str) -> bool {
        let Some(run) = self.plan.runs.get(i) else { return false };
        let ends = [&run.negative_from, &run.negative_to];
        ends.iter().any(|k| k.as_ref().and_then(|k| k.known()).is_some_and(|x| x.as_str() == id))
    }

    /// Whether a run's negative ends on what is opened.
    fn negative_at(&self, i: usize, opened: Option<Opener>) -> bool {
        let names = |one: &Opener| match one {
            Opener::Device(d) => self.plan.devices.get(*d).is_some_and(|device| self.names(i, device.id.as_str())),
            Opener::Run(_) => false,
        };
        opened.as_ref().is_some_and(|one| names(one) || self.also.iter().any(names))
    }

    /// Whether what is opened stands in the bank's main negative.
    fn in_main_negative(&self, opened: Option<Opener>) -> bool {
        let Some(Opener::Device(d)) = opened else { return false };
        let node = Some(Node::Device(d));
        self.circuit.links.iter().any(|l| l.role == Role::NegativeMain && (l.from == node || l.to == node))
    }

    /// Everything a source reaches by wire, itself apart; equipment ends the way. With the main negative open the
    /// bank only feeds what has a way back without it.
    fn wired(&self, source: Node, opened: Option<Opener>) -> Vec<Node> {
        let mut found = self.positives(source, opened);
        if let (Node::Bank, true, Some(Opener::Device(d))) = (source, self.in_main_negative(opened), opened) {
            let at_post = self.circuit.joined_to(Node::BankMinus, None, &[Node::Device(d)]);
            let bonded = self.bonded();
            let on_frame = bonded.iter().any(|n| at_post.contains(n));
            let alive = |n: &Node| match self.by_frame(*n) && !bonded.is_empty() {
                true => on_frame,
                false => at_post.contains(&self.circuit.hangs_on(*n)),
            };
            found.retain(alive);
        }
        found
    }

    /// Whether the current of a thing comes back over the frame.
    fn by_frame(&self, thing: Node) -> bool {
        let runs = self.plan.runs.iter().zip(&self.circuit.links);
        let mut own = runs.filter(|(_, l)| [l.from, l.to].contains(&Some(thing)) && l.role != Role::Dead);
        own.any(|(r, _)| r.return_path == Return::Chassis)
    }

    /// The places of the negative side that are bonded to the frame.
    fn bonded(&self) -> Vec<Node> {
        let bonds = self.circuit.links.iter().filter(|l| l.role == Role::Bond);
        let ends = bonds.flat_map(|l| [l.from, l.to]).flatten();
        let post = |n: Node| if n == Node::Bank { Node::BankMinus } else { n };
        ends.filter(|n| !self.stops(*n) || *n == Node::BankMinus || *n == Node::Bank).map(post).collect()
    }

    fn positives(&self, source: Node, opened: Option<Opener>) -> Vec<Node> {
        let is_open = |n: Node| {
            matches!(n, Node::Device(i) if self.is_opened(opened, Opener::Device(i)))
                || self.is_parted && device_kind(self.plan, n) == Some(DeviceKind::Isolator)
        };
        let mut found = Vec::new();
        if is_open(source) {
            return found;
        }
        let mut queue = VecDeque::from([source]);
        // With the main negative open nothing but the bank has a way back from there.
        let over_post = self.over_post && !self.in_main_negative(opened);
        while let Some(node) = queue.pop_front() {
            if node != source && self.stops(node) && !(over_post && node == Node::Bank) {
                continue;
            }
            if let Node::Device(i) = node
                && self.circuit.panel == Some(i)
            {
                found.extend(self.circuit.undrawn.iter().map(|l| Node::Load(*l)));
            }
            for (i, link) in self.circuit.links.iter().enumerate() {
                let other = match (link.from, link.to) {
                    (Some(a), Some(b)) if a == node => b,
                    (Some(a), Some(b)) if b == node => a,
                    _ => continue,
                };
                // Nothing comes back through a converter, nor through a DC-DC charger that the bank feeds: its feed brings, and
                // takes nothing away from it.
                let turned = self.circuit.is_fed_by_bank(node) && link.to == Some(node);
                let back = turned || self.circuit.at_converter(i) == Some((node, true));
                if self.carries(i, opened) && !back && other != source && !found.contains(&other) && !is_open(other) {
                    found.push(other);
                    queue.push_back(other);
                }
            }
        }
        found
    }

    /// All that some of the sources keep alive with an opener open, each by its first source: by wire, then through
    /// controllers and DC-DC chargers, then through the inverter.
    fn alive(&self, opened: Option<Opener>, some: &dyn Fn(&Source) -> bool) -> Vec<Alive> {
        let mut alive: Vec<Alive> = Vec::new();
        let put = |alive: &mut Vec<Alive>, node: Node, by: Node, why: &str| {
            if !alive.iter().any(|a| a.node == node) {
                alive.push(Alive { node, by, why: why.to_string() });
            }
        };
        let sources = || self.sources.iter().filter(|s| s.engine != Engine::Undrawn && some(s));
        for source in sources() {
            put(&mut alive, source.node, source.node, &source.why);
        }
        for source in sources() {
            for node in self.wired(source.node, opened) {
                put(&mut alive, node, source.node, &source.why);
            }
        }
        let mut next = 0;
        while let Some(Alive { node, by, why }) = alive.get(next).cloned() {
            next += 1;
            if matches!(node, Node::Inverter(_)) {
                for load in self.ac_loads() {
                    put(&mut alive, load, by, &why);
                }
            } else if let Some((by, why)) = self.hands_on(node, by, &why, opened, some) {
                for reached in self.wired(node, opened) {
                    put(&mut alive, reached, by, &why);
                }
            }
        }
        alive
    }

    /// Whether a controller or DC-DC charger feeds onward: from panels it still reaches, from the engine's side.
    fn hands_on(
        &self,
        node: Node,
        by: Node,
        why: &str,
        opened: Option<Opener>,
        some: &dyn Fn(&Source) -> bool,
    ) -> Option<(Node, String)> {
        match node {
            Node::Controller(i) => {
                let array = self.circuit.arrays_of(i).find(|a| {
                    let array = Node::Array(*a);
                    let counts = self.sources.iter().any(|s| s.node == array && some(s));
                    counts && (!self.drawn(array) || self.wired(array, opened).contains(&node))
                })?;
                let (array_id, id) = (&self.plan.arrays.get(array)?.id, &self.plan.controllers.get(i)?.id);
                Some((Node::Array(array), format!("the panels {array_id} in daylight, through {id}")))
            }
            Node::Charger(i) if self.circuit.is_fed_by_bank(node) => {
                let id = &self.plan.chargers.get(i)?.id;
                let start = device_kind(self.plan, by) == Some(DeviceKind::StartBattery);
                (!start).then(|| (by, format!("{why}, through {id}")))
            }
            Node::Charger(i) => {
                let charger = self.plan.chargers.get(i)?;
                let dc_dc = charger.kind.known() == Some(&ChargerKind::DcDc) && matches!(by, Node::Device(_));
                // With the engine off it hands nothing on of its start battery, whose wire it hangs on.
                let running = self.sources.iter().any(|s| s.engine != Engine::No && some(s));
                let start = device_kind(self.plan, by) == Some(DeviceKind::StartBattery);
                let why = if start { "the running engine" } else { why };
                (dc_dc && running).then(|| (by, format!("{why}, through {}", charger.id)))
            }
            _ => None,
        }
    }

    /// The loads that the inverter feeds.
    fn ac_loads(&self) -> impl Iterator<Item = Node> + '_ {
        let loads = self.plan.loads.iter().enumerate();
        loads.filter(|(_, l)| l.supply == Supply::Inverter && l.state.stays()).map(|(i, _)| Node::Load(i))
    }

    fn drawn(&self, node: Node) -> bool {
        self.circuit.links.iter().any(|l| l.from == Some(node) || l.to == Some(node))
    }

    /// What loses some supply by wire when it opens, and what would but for a way past it.
    fn behind(&self, opener: Opener) -> Vec<Node> {
        let mut lost: Vec<Node> = Vec::new();
        let mut add = |node: Node| {
            let fed = self.ac_loads().filter(|_| matches!(node, Node::Inverter(_)));
            for node in std::iter::once(node).chain(fed) {
                if !lost.contains(&node) {
                    lost.push(node);
                }
            }
        };
        let itself = |n: &Node| matches!(n, Node::Device(i) if self.is_opened(Some(opener), Opener::Device(*i)));
        for source in self.sources.iter().filter(|s| s.engine != Engine::Undrawn) {
            let (before, after) = (self.wired(source.node, None), self.wired(source.node, Some(opener)));
            let cut: Vec<Node> = before.iter().filter(|n| !after.contains(n) && !itself(n)).copied().collect();
            if before.len() > after.len() {
                add(source.node);
            }
            cut.into_iter().chain(bypass::of(self, source, opener, &after)).for_each(&mut add);
        }
        self.lost_onward(opener).into_iter().filter(|n| !itself(n)).for_each(&mut add);
        lost
    }

    fn open(&self, opener: Opener, switch: FieldPath, name: String) -> Isolation {
        let opened = Some(opener);
        let alive = self.alive(opened, &|_| true);
        let lasting = self.alive(opened, &|s| s.is_battery(self.plan));
        // Each source that comes and goes, beside the batteries: what one holds up another may hold up as well.
        let passing = self.sources.iter().filter(|s| !s.is_battery(self.plan));
        let beside = |source: &Source| self.alive(opened, &|s| s.node == source.node || s.is_battery(self.plan));
        let each: Vec<Vec<Alive>> = passing.map(beside).collect();
        let of = |all: &[Alive], node: Node| all.iter().find(|a| a.node == node).map(|a| a.why.clone());
        let why = |node: Node| {
            let by: Vec<String> = each.iter().filter_map(|all| of(all, node)).collect();
            let held = || if by.is_empty() { of(&alive, node) } else { Some(by.join("; by ")) };
            of(&lasting, node).or_else(held)
        };
        let (mut dead, mut live, mut held) = (Vec::new(), Vec::new(), Vec::new());
        let behind = self.behind(opener);
        for node in &behind {
            let Some(id) = self.id(*node) else { continue };
            match why(*node) {
                Some(why) => {
                    live.push((id, why));
                    held.extend((!lasting.iter().any(|a| a.node == *node)).then_some(*node));
                }
                None => dead.push(id),
            }
        }
        // At an opened fuse there are hands on both its sides, whether they lose anything or not.
        let sides = match opener {
            Opener::Run(i) => self.circuit.links.get(i).map_or([None, None], |l| [l.from, l.to]),
            Opener::Device(_) => [None, None],
        };
        for node in sides.into_iter().flatten().filter(|n| !behind.contains(n)) {
            live.extend(self.id(node).zip(why(node)));
        }
        let holders = self.holders(opened, &held);
        let held = held.into_iter().filter_map(|node| self.id(node)).collect();
        // Detectors and brakes that do not hang on it: said, because nobody expects them.
        for (i, load) in self.plan.loads.iter().enumerate() {
            let node = Node::Load(i);
            if load.life_safety == YesNo::Yes
                && load.state.stays()
                && !behind.contains(&node)
                && let Some(why) = why(node)
            {
                live.push((load.id.clone(), format!("{why}, not through here")));
            }
        }
        Isolation { switch, name, dead, live, held, holders }
    }

    /// The sources that come and go and keep any of these alive, each alone or beside the batteries.
    fn holders(&self, opened: Option<Opener>, held: &[Node]) -> Vec<String> {
        let holds = |source: &&Source| {
            let alive = self.alive(opened, &|s| s.node == source.node || s.is_battery(self.plan));
            held.iter().any(|node| alive.iter().any(|a| a.node == *node))
        };
        let passing = self.sources.iter().filter(|s| !s.is_battery(self.plan));
        passing.filter(holds).map(|s| s.off.clone()).collect()
    }

    fn id(&self, node: Node) -> Option<Id> {
        let plan = self.plan;
        match node {
            Node::Bank | Node::BankMinus => crate::plan::BANK_ID.parse().ok(),
            Node::Array(i) => plan.arrays.get(i).map(|x| x.id.clone()),
            Node::Controller(i) => plan.controllers.get(i).map(|x| x.id.clone()),
            Node::Inverter(i) => plan.inverters.get(i).map(|x| x.id.clone()),
            Node::Charger(i) => plan.chargers.get(i).map(|x| x.id.clone()),
            Node::Device(i) => plan.devices.get(i).map(|x| x.id.clone()),
            Node::Load(i) => plan.loads.get(i).map(|x| x.id.clone()),
        }
    }
}
