//! What hangs together by runs, but not on the bank: a part of the drawing that waits for a run.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan};

use super::role::{is_start, on_bank_side};
use super::{Circuit, Node, PathKind, Role, device_kind};

/// Runs that hang together without the bank.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Island {
    /// Indices of its runs, in the order of the plan.
    pub runs: Vec<usize>,
    /// What they end on.
    pub nodes: Vec<Node>,
}

impl Island {
    /// Where a run from the bank would lead: a bus, else the device that most of its runs meet at, else the first thing.
    #[must_use]
    pub fn heart(&self, plan: &Plan, circuit: &Circuit) -> Option<Node> {
        let meet = |n: &Node| {
            let ends = self.runs.iter().filter_map(|i| circuit.links.get(*i));
            ends.filter(|l| l.from == Some(*n) || l.to == Some(*n)).count()
        };
        let inner = |n: &Node| !circuit.is_end(*n);
        let bus = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Bus);
        // Of several with as many the first in the order of the runs.
        let most = |may: &dyn Fn(&Node) -> bool| {
            let nodes = self.nodes.iter().copied().filter(|n| may(n));
            nodes.reduce(|best, n| if meet(&n) > meet(&best) { n } else { best })
        };
        most(&bus).or_else(|| most(&inner)).or_else(|| most(&|_| true))
    }

    /// What the bank would feed or be charged by through it: sources, inverters, fuse panels, loads with no panel of
    /// their own among them. What another way joins to the bank already, does not wait for this one.
    #[must_use]
    pub fn members(&self, plan: &Plan, circuit: &Circuit, heart: Option<Node>) -> Vec<Node> {
        let panel = |n: Node| device_kind(plan, n) == Some(DeviceKind::FusePanel);
        let panels = self.nodes.iter().any(|n| panel(*n) && heart != Some(*n));
        let named = |n: &Node| match n {
            Node::Controller(_) | Node::Charger(_) | Node::Inverter(_) => true,
            Node::Load(_) => !panels,
            n => panel(*n),
        };
        let joined = |n: &Node| circuit.ways.iter().any(|w| w.end == *n && !matches!(w.kind, PathKind::ChargerInput));
        self.nodes.iter().copied().filter(|n| named(n) && heart != Some(*n) && !joined(n)).collect()
    }
}

/// What a controller gives to in the bank's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Elsewhere {
    /// Another battery.
    Battery,
    /// Loads, with no battery between.
    Loads,
}

impl Circuit {
    /// What a controller gives to in the bank's place: no way leads from it to the bank, but one to a start battery, or runs to
    /// loads alone. What its array gives is then none of the bank's. None too where nothing tells yet.
    #[must_use]
    pub fn elsewhere(&self, plan: &Plan, controller: usize) -> Option<Elsewhere> {
        let node = Node::Controller(controller);
        if self.way_of(PathKind::ControllerBank, node).is_some() {
            return None;
        }
        if self.way(node, usize::MAX, |n| is_start(plan, n), on_bank_side).is_some() {
            return Some(Elsewhere::Battery);
        }
        if self.beyond(node).is_some() {
            return Some(Elsewhere::Loads);
        }
        let own = self.links.iter().filter(|l| on_bank_side(l.role) && (l.from == Some(node) || l.to == Some(node)));
        let mut others = own.map(|l| if l.from == Some(node) { l.to } else { l.from }).peekable();
        let has_any = others.peek().is_some();
        (has_any && others.all(|other| matches!(other, Some(Node::Load(_))))).then_some(Elsewhere::Loads)
    }

    /// Which runs no battery stands behind, and what hangs together by them.
    pub(super) fn find_islands(&mut self, plan: &Plan) {
        let behind = self.behind_batteries(plan);
        for i in 0..self.links.len() {
            let joined = self.is_joined(plan, i, &behind);
            if let Some(link) = self.links.get_mut(i) {
                link.joined = joined;
            }
        }
        for (i, link) in self.links.iter().enumerate().filter(|(_, l)| !l.joined) {
            let ends: Vec<Node> = [link.from, link.to].into_iter().flatten().collect();
            let (mut here, others): (Vec<Island>, Vec<Island>) =
                std::mem::take(&mut self.islands).into_iter().partition(|x| ends.iter().any(|n| x.nodes.contains(n)));
            here.push(Island { runs: vec![i], nodes: ends });
            let mut whole = Island::default();
            for part in here {
                whole.runs.extend(part.runs);
                for node in part.nodes {
                    if !whole.nodes.contains(&node) {
                        whole.nodes.push(node);
                    }
                }
            }
            self.islands = others;
            self.islands.push(whole);
        }
    }

    /// Whether a battery is reached from a run's near end. What never carries the bank's current asks for none; a load on
    /// a controller's own terminals has that controller for a source.
    fn is_joined(&self, plan: &Plan, run: usize, behind: &[bool]) -> bool {
        let Some(link) = self.links.get(run) else { return true };
        // Negatives drawn as runs of their own, not the positive alone: those have no load or source on them.
        let idle = matches!(link.role, Role::Sense | Role::BatteryLink | Role::Open);
        if idle && plan.runs.get(run).is_some_and(|r| r.return_path == Return::None) {
            return true;
        }
        let battery = |n: Node| matches!(n, Node::Bank | Node::BankMinus) || self.is_of_engine(n);
        let is_behind = |n: &Node| behind.get(self.slot(*n)).is_some_and(|b| *b);
        let reaches =
            |n: Option<Node>| n.filter(is_behind).is_some_and(|n| self.way(n, run, battery, on_bank_side).is_some());
        // A load on a charger's line hangs on the battery that the line begins at.
        let may = |r: Role| on_bank_side(r) || r == Role::ChargerInput;
        let on_line = |n: Option<Node>| n.is_some_and(|n| self.way(n, run, battery, may).is_some());
        match link.role {
            Role::Array | Role::Dead | Role::Bond | Role::NegativeMain | Role::ChargerInput | Role::StartLead => true,
            // A way from one end that goes over the run itself goes on from its other end.
            Role::Sense | Role::BatteryLink | Role::Open => [link.from, link.to].iter().flatten().any(is_behind),
            Role::LoadBranch
                if matches!((link.near(), link.far()), (Some(Node::Controller(_)), Some(Node::Load(_)))) =>
            {
                true
            }
            Role::LoadBranch => !link.upstream.is_empty() || on_line(link.near()),
            _ => !link.upstream.is_empty() || reaches(link.near()),
        }
    }
}
