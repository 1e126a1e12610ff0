//! Controllers and chargers on what a converter gives: it passes current one way, so they serve what hangs there and charge
//! nothing of the bank.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan};

use super::role::{on_bank_side, role_of};
use super::{Circuit, Node, PathKind, Role, Way, device_kind};

/// A source behind a converter.
#[derive(Clone, Debug)]
pub(super) struct Beyond {
    by: Node,
    converter: usize,
    /// The runs that it gives over.
    runs: Vec<usize>,
}

impl Circuit {
    /// The sources that every way to the bank leads through a converter, taken off all that they do not give over.
    /// Source: common practice: a step-down converter passes nothing back.
    pub(super) fn find_beyond(&mut self, plan: &Plan) {
        if self.inputs.iter().all(Option::is_none) {
            return;
        }
        let stays = |n: &Node| match n {
            Node::Controller(i) => plan.controllers.get(*i).is_some_and(|x| x.state.stays()),
            Node::Charger(i) => plan.chargers.get(*i).is_some_and(|x| x.state.stays()) && !self.is_fed_by_bank(*n),
            _ => false,
        };
        let controllers = (0..plan.controllers.len()).map(Node::Controller);
        let things = controllers.chain((0..plan.chargers.len()).map(Node::Charger)).filter(stays);
        let found: Vec<Beyond> = things.filter_map(|by| self.look_beyond(plan, by)).collect();
        for (i, link) in self.links.iter_mut().enumerate() {
            if !on_bank_side(link.role) || matches!(link.role, Role::NegativeMain | Role::Open) {
                continue;
            }
            let before = link.away.len();
            link.away.retain(|n| !found.iter().any(|b| b.by == *n && !b.runs.contains(&i)));
            if link.away.len() < before {
                link.role = role_of(plan, &link.away, link.far(), link.looped);
            }
        }
        self.beyond = found;
    }

    fn look_beyond(&self, plan: &Plan, by: Node) -> Option<Beyond> {
        let converts = |n: Node| device_kind(plan, n) == Some(DeviceKind::Converter);
        let (mut places, mut runs, mut next) = (vec![by], Vec::new(), 0);
        while let Some(&node) = places.get(next) {
            next += 1;
            if node != by && (self.is_end(node) || converts(node)) {
                continue;
            }
            for &run in self.at(node).iter().filter(|i| on_bank_side(self.role(**i))) {
                let Some(other) = self.other(run, node) else { continue };
                if other == Node::Bank {
                    return None;
                }
                if !runs.contains(&run) {
                    runs.push(run);
                }
                if !places.contains(&other) {
                    places.push(other);
                }
            }
        }
        let gives = |n: &Node| match *n {
            Node::Device(i) => self.inputs.get(i).copied().flatten().filter(|input| !runs.contains(input)).map(|_| i),
            _ => None,
        };
        let converter = places.iter().find_map(gives)?;
        // Toward what takes nothing it gives nothing: a converter, and what leads on to one alone.
        let takes = |n: Node| !converts(n) && (self.is_end(n) || matches!(n, Node::Device(i) if self.panel == Some(i)));
        loop {
            let on = |n: Node| {
                runs.iter().filter(|i| self.links.get(**i).is_some_and(|l| [l.from, l.to].contains(&Some(n)))).count()
            };
            let idle = |n: Option<Node>| n.is_some_and(|n| n != by && !takes(n) && (converts(n) || on(n) < 2));
            let last = runs.iter().position(|i| self.links.get(*i).is_some_and(|l| idle(l.from) || idle(l.to)));
            let Some(last) = last else { break };
            runs.remove(last);
        }
        Some(Beyond { by, converter, runs })
    }

    /// Adds the ways whose drop is judged by the volts behind a converter: from a source there to the first place that takes what it gives,
    /// or where that parts. Drawn by pairs; what charges a battery there has its way to that.
    pub(super) fn add_ways_beyond(&mut self, plan: &Plan) {
        let pair = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Pair);
        let of = |b: &Beyond| {
            let (mut here, mut runs) = (b.by, Vec::new());
            loop {
                let mut on = self.at(here).iter().copied().filter(|i| b.runs.contains(i) && !runs.contains(i));
                let (Some(run), None) = (on.next(), on.next()) else { break };
                runs.push(run);
                here = self.other(run, here)?;
                if self.is_end(here) || matches!(here, Node::Device(i) if self.panel == Some(i)) {
                    break;
                }
            }
            let kind = if matches!(b.by, Node::Controller(_)) { PathKind::ControllerBank } else { PathKind::Charger };
            let is_new = !self.start_ways.iter().any(|way| way.end == b.by);
            (is_new && !runs.is_empty() && runs.iter().all(pair)).then_some(Way {
                kind,
                end: b.by,
                runs,
                halves: Vec::new(),
                start: None,
            })
        };
        let ways: Vec<Way> = self.beyond.iter().filter_map(of).collect();
        self.start_ways.extend(ways);
    }

    /// The converter that a source stands behind, which charges nothing of the bank then.
    #[must_use]
    pub fn beyond(&self, node: Node) -> Option<usize> {
        self.beyond.iter().find(|b| b.by == node).map(|b| b.converter)
    }

    /// The converter that a positive leads to.
    pub(in crate::engine) fn converter_fed(&self, plan: &Plan, run: usize) -> Option<Node> {
        let far = self.links.get(run).filter(|l| on_bank_side(l.role))?.far();
        far.filter(|n| device_kind(plan, *n) == Some(DeviceKind::Converter))
    }

    /// Whether nothing of a source on a converter's 12 V side flows in a run.
    pub(in crate::engine) fn is_kept_from(&self, run: usize, node: Node) -> bool {
        let is_own = |b: &Beyond| match self.role(run) {
            // What comes back by a negative of its own is told by what hangs on that.
            Role::NegativeMain => self.converter_before(run).is_some() || self.is_alone_beyond(run),
            _ => b.runs.contains(&run),
        };
        self.beyond.iter().find(|b| b.by == node).is_some_and(|b| !is_own(b))
    }

    /// Whether a place is a battery or an alternator that a way to the bank leaves through a converter: the bank feeds nothing over it.
    pub(super) fn is_battery_behind(&self, place: Node, way: &[usize]) -> bool {
        self.is_of_engine(place) && way.iter().any(|i| self.at_converter(*i).is_some())
    }

    /// Whether a run carries nothing but what such sources give.
    pub(in crate::engine) fn is_alone_beyond(&self, run: usize) -> bool {
        let away = self.links.get(run).map_or(&[][..], |l| &l.away);
        !self.beyond.is_empty() && !away.is_empty() && away.iter().all(|n| self.beyond(*n).is_some())
    }
}
