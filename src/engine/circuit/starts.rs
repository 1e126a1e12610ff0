//! What is of a start battery and not of the bank: what hangs on it, what charges it, and DC-DC chargers that the bank feeds
//! for its sake.

use crate::plan::power::{Charger, ChargerKind};
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan};

use super::role::{is_start, on_bank_side, role_of};
use super::{Circuit, Node, PathKind, Role, Way, device_kind};

/// A controller or a charger and a start battery that it charges.
#[derive(Clone, Copy, Debug)]
pub(super) struct Charges {
    by: Node,
    battery: usize,
    /// Joined to the bank by wire, relays and switches alone.
    joined: bool,
}

impl Circuit {
    /// DC-DC chargers from the bank to a start battery: no alternator is named, and every run is drawn that way round, from
    /// the bank's side into the charger and out of it to the battery. To the bank they are loads, to the battery chargers.
    /// Source: the drawing; a run is drawn with its stronger source first.
    pub(super) fn find_turned(&mut self, plan: &Plan) {
        let turned = |(i, charger): (usize, &Charger)| {
            let is_dc_dc = charger.kind.known() == Some(&ChargerKind::DcDc);
            (is_dc_dc && charger.state.stays() && charger.alternator.is_none() && self.is_turned(plan, i)).then_some(i)
        };
        self.turned = plan.chargers.iter().enumerate().filter_map(turned).collect();
        if self.turned.is_empty() {
            return;
        }
        let is_turned = |n: &Node| matches!(n, Node::Charger(i) if self.turned.contains(i));
        let is_dc_dc = |n: &Node| matches!(n, Node::Charger(i) if plan.chargers.get(*i).is_some_and(|c| c.kind.known() == Some(&ChargerKind::DcDc)));
        let role = |i: usize| {
            let link = self.links.get(i)?;
            if !link.away.iter().any(is_turned) {
                return None;
            }
            match link.role {
                // A line that another one draws on stays its input.
                Role::ChargerInput if link.away.iter().any(|n| is_dc_dc(n) && !is_turned(n)) => None,
                Role::ChargerInput => Some(role_of(plan, &link.away, link.far(), false)),
                Role::ChargerOutput | Role::Shared | Role::BatteryLink => {
                    let as_load = |n: &Node| if is_turned(n) { Node::Load(0) } else { *n };
                    let away: Vec<Node> = link.away.iter().map(as_load).collect();
                    Some(role_of(plan, &away, link.far(), link.looped))
                }
                _ => None,
            }
        };
        let roles: Vec<Option<Role>> = (0..self.links.len()).map(role).collect();
        for (link, role) in self.links.iter_mut().zip(roles) {
            link.role = role.unwrap_or(link.role);
        }
    }

    fn is_turned(&self, plan: &Plan, charger: usize) -> bool {
        let node = Node::Charger(charger);
        let (mut from_bank, mut to_start) = (false, false);
        for &run in self.at(node) {
            let Some(link) = self.links.get(run) else { continue };
            match link.role {
                Role::ChargerInput if link.from == Some(node) => to_start = true,
                Role::ChargerInput => return false,
                Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense => {}
                _ if link.to == Some(node) && self.feeds_from_bank(plan, run, node) => from_bank = true,
                _ => return false,
            }
        }
        from_bank && to_start
    }

    /// Whether the bank feeds a DC-DC charger, which charges a start battery.
    #[must_use]
    pub fn is_fed_by_bank(&self, node: Node) -> bool {
        matches!(node, Node::Charger(i) if self.turned.contains(&i))
    }

    /// What hangs on the vehicle's battery or alternator by wire and on no way of the bank, each with that device; and what
    /// charges such a battery alone. One that a relay or an isolator joins to the bank is charged with it.
    pub(super) fn find_vehicles(&mut self, plan: &Plan) {
        let stays = |i: &usize| plan.devices.get(*i).is_some_and(|d| d.state.stays());
        let is_start = |i: &usize| stays(i) && is_start(plan, Node::Device(*i));
        let starts: Vec<usize> = (0..plan.devices.len()).filter(is_start).collect();
        if starts.is_empty() {
            return;
        }
        let may = |role: Role| on_bank_side(role) || role == Role::ChargerInput;
        let things = (0..plan.inverters.len()).map(Node::Inverter).chain((0..plan.loads.len()).map(Node::Load));
        let of = |thing: Node| {
            let place = self.hangs_on(thing);
            let reaches = |i: &&usize| self.way(place, usize::MAX, |n| n == Node::Device(**i), may).is_some();
            Some((thing, *starts.iter().find(reaches)?))
        };
        let by_bank = |n: &Node| self.ways.iter().any(|w| w.end == *n);
        let hang: Vec<(Node, usize)> = things.filter(|n| !by_bank(n)).filter_map(of).collect();
        let is_battery = |n: Node| device_kind(plan, n) == Some(DeviceKind::StartBattery);
        let converts = |n: Node| device_kind(plan, n) == Some(DeviceKind::Converter);
        // Several in parallel are charged as one.
        let crosses = |n: Node| is_battery(n) || (!self.is_end(n) && !converts(n));
        let batteries = || starts.iter().copied().filter(|i| is_battery(Node::Device(*i)));
        let joined = |i: usize| self.straight.iter().any(|(joined, _)| *joined == i);
        let charges = |by: Node| -> Vec<Charges> {
            let goes =
                |i: &usize| self.search(by, usize::MAX, |n| n == Node::Device(*i), on_bank_side, crosses).is_some();
            let reaches = |i: &usize| !self.at(by).is_empty() && goes(i);
            batteries().filter(reaches).map(|battery| Charges { by, battery, joined: joined(battery) }).collect()
        };
        let controllers =
            (0..plan.controllers.len()).filter(|i| plan.controllers.get(*i).is_some_and(|k| k.state.stays()));
        let chargers = (0..plan.chargers.len()).filter(|i| plan.chargers.get(*i).is_some_and(|c| c.state.stays()));
        let charging = controllers.map(Node::Controller).chain(chargers.map(Node::Charger)).flat_map(charges).collect();
        (self.on_vehicle, self.charging_start) = (hang, charging);
        self.start_ways = self.find_start_ways(plan);
        self.bring_home();
    }

    /// Lets what hangs on a start battery come back by the negatives that its way is drawn home by. Where another way lies beside one of
    /// them, nothing tells what that carries.
    fn bring_home(&mut self) {
        let mut found: Vec<(usize, Node, bool)> = Vec::new();
        for way in &self.start_ways {
            let Some(post) = way.start.map(Node::Device) else { continue };
            let mut here = self.hangs_on(way.end);
            for run in way.runs.iter().copied().filter(|i| self.role(*i) == Role::NegativeMain) {
                let Some(next) = self.other(run, here) else { break };
                let beside = self.way(here, run, |n| n == post, |role| role == Role::NegativeMain).is_some();
                if !beside && !self.has_way_back(here) && !self.has_way_back(next) {
                    found.push((run, way.end, self.links.get(run).is_some_and(|l| l.from == Some(next))));
                }
                here = next;
            }
        }
        for (run, end, near_from) in found {
            let Some(link) = self.links.get_mut(run) else { continue };
            link.near_from = near_from;
            if !link.away.contains(&end) {
                link.away.push(end);
            }
        }
    }

    /// The ways of a start battery's side whose current comes back by a negative drawn there.
    pub(in crate::engine) fn ways_of_start(&self, run: usize) -> impl Iterator<Item = &Way> {
        let of_line = move |w: &&Way| w.kind == PathKind::ChargerInput && self.role(run) == Role::NegativeMain;
        let lines = self.ways.iter().filter(of_line);
        lines.chain(&self.start_ways).filter(move |way| way.runs.contains(&run))
    }

    /// The ways whose drop is judged from a start battery's own posts: to what hangs on it, and from what charges it alone.
    fn find_start_ways(&self, plan: &Plan) -> Vec<Way> {
        let may = |role: Role| on_bank_side(role) || role == Role::ChargerInput;
        let is_battery = |i: usize| device_kind(plan, Node::Device(i)) == Some(DeviceKind::StartBattery);
        let fed = self.on_vehicle.iter().filter(|(_, i)| is_battery(*i)).filter_map(|(end, battery)| {
            let kind = match end {
                Node::Load(i) => self.kind_of_load(plan.loads.get(*i)?, *i),
                _ => PathKind::Inverter,
            };
            let (place, post) = (self.hangs_on(*end), Node::Device(*battery));
            let mut runs = self.way(post, usize::MAX, |n| n == place, may)?;
            // Where its positives are drawn singly its negatives are, too.
            let single = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::None);
            if runs.iter().all(single) {
                let home = self.way(place, usize::MAX, |n| n == post, |role| role == Role::NegativeMain);
                runs.extend(home.unwrap_or_default());
            }
            Some((kind, *end, *battery, runs))
        });
        let charges = self.charging_start.iter().filter(|c| !c.joined).filter_map(|c| {
            let kind = if matches!(c.by, Node::Controller(_)) { PathKind::ControllerBank } else { PathKind::Charger };
            let runs = self.way(c.by, usize::MAX, |n| n == Node::Device(c.battery), on_bank_side)?;
            Some((kind, c.by, c.battery, runs))
        });
        let way = |(kind, end, battery, runs)| Way { kind, end, runs, halves: Vec::new(), start: Some(battery) };
        fed.chain(charges).filter(|(.., runs)| !runs.is_empty()).map(way).collect()
    }

    /// Of each DC-DC charger the runs from its alternator, or else from another, to the start battery or stud where its own line
    /// begins: with the engine running that stands at the alternator's volts less what these lose.
    /// Source: Kirchhoff's voltage law.
    pub(super) fn find_ahead(&mut self, plan: &Plan) {
        let alternator = |n: Node| match n {
            Node::Device(i) => {
                device_kind(plan, n) == Some(DeviceKind::Alternator)
                    && plan.devices.get(i).is_some_and(|d| d.state.stays())
            }
            _ => false,
        };
        if !(0..plan.devices.len()).any(|i| alternator(Node::Device(i))) {
            return;
        }
        let may = |role: Role| on_bank_side(role) || matches!(role, Role::ChargerInput | Role::StartLead);
        let crosses = |n: Node| !self.is_end(n) || device_kind(plan, n) == Some(DeviceKind::StartBattery);
        let of = |i: usize| {
            let begins = self.line_begins(i).filter(|n| !alternator(*n))?;
            let id = plan.chargers.get(i)?.alternator.as_ref().and_then(|k| k.known());
            let named =
                |n: Node| alternator(n) && matches!(n, Node::Device(d) if plan.devices.get(d).map(|d| &d.id) == id);
            let from_named = id.and_then(|_| self.search(begins, usize::MAX, named, may, crosses));
            let mut runs = from_named.or_else(|| self.search(begins, usize::MAX, alternator, may, crosses))?;
            runs.reverse();
            Some(runs)
        };
        self.ahead = (0..plan.chargers.len()).map(|i| of(i).unwrap_or_default()).collect();
    }

    /// Where the input line of a DC-DC charger begins.
    fn line_begins(&self, charger: usize) -> Option<Node> {
        let node = Node::Charger(charger);
        if let Some(way) = self.way_of(PathKind::ChargerInput, node) {
            return way.runs.first().and_then(|run| self.links.get(*run)?.near());
        }
        let line = || self.links.iter().filter(|l| l.role == Role::ChargerInput && l.away.contains(&node));
        line().map(super::Link::near).find(|near| !line().any(|l| l.far() == *near))?
    }

    /// The start battery that a controller or a charger charges, where it does not charge the bank; of several the first.
    #[must_use]
    pub fn charges_start(&self, node: Node) -> Option<usize> {
        let kind = if matches!(node, Node::Controller(_)) { PathKind::ControllerBank } else { PathKind::Charger };
        let own = self.start_batteries_of(node).find(|(_, joined)| !joined);
        own.filter(|_| self.way_of(kind, node).is_none()).map(|(battery, _)| battery)
    }

    /// Every start battery that a controller or a charger charges, and whether that one is joined to the bank by wire, relays and
    /// switches alone, and so charged with it.
    pub fn start_batteries_of(&self, node: Node) -> impl Iterator<Item = (usize, bool)> + '_ {
        self.charging_start.iter().filter(move |c| c.by == node).map(|c| (c.battery, c.joined))
    }

    /// Whether two start batteries are joined with no charger between: the runs from the one to the other.
    #[must_use]
    pub fn between_starts(&self, a: usize, b: usize) -> Option<Vec<usize>> {
        self.way(Node::Device(a), usize::MAX, |n| n == Node::Device(b), on_bank_side)
    }

    /// The alternators that charge a start battery, by wire, relays and switches alone.
    pub fn alternators_of<'a>(&'a self, plan: &'a Plan, battery: usize) -> impl Iterator<Item = usize> + 'a {
        let may = |role: Role| on_bank_side(role) || matches!(role, Role::ChargerInput | Role::StartLead);
        let is_one = |i: &usize| {
            let stays = plan.devices.get(*i).is_some_and(|d| d.state.stays());
            stays && device_kind(plan, Node::Device(*i)) == Some(DeviceKind::Alternator)
        };
        let crosses = |n: Node| match device_kind(plan, n) {
            Some(DeviceKind::StartBattery) => true,
            Some(DeviceKind::Converter) => false,
            _ => !self.is_end(n),
        };
        let reaches = move |i: &usize| {
            self.search(Node::Device(battery), usize::MAX, |n| n == Node::Device(*i), may, crosses).is_some()
        };
        (0..plan.devices.len()).filter(is_one).filter(reaches)
    }

    /// Whether what charges a start battery comes to the bank all the same: by a DC-DC charger on that battery's own line.
    #[must_use]
    pub fn hands_on(&self, plan: &Plan, battery: usize) -> bool {
        let is_line = |role: Role| role == Role::ChargerInput;
        (0..plan.chargers.len()).filter(|i| plan.chargers.get(*i).is_some_and(|c| c.state.stays())).any(|i| {
            let node = Node::Charger(i);
            self.way_of(PathKind::Charger, node).is_some()
                && self.way(node, usize::MAX, |n| n == Node::Device(battery), is_line).is_some()
        })
    }
}
