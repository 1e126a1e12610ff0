//! The chassis as a conductor: which bonds bring it to the negative, and what comes back over it.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan};

use super::rings::join;
use super::role::on_bank_side;
use super::{Circuit, Half, Link, Node, PathKind, Role, Way, device_kind, is_start, is_thing};

impl Circuit {
    /// Whether a run bonds the negative side to the chassis.
    pub(in crate::engine) fn bonds_negative(&self, plan: &Plan, plus: &[bool], run: usize) -> bool {
        let Some(link) = self.links.get(run).filter(|l| l.role == Role::Bond) else { return false };
        let chassis = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Chassis);
        let Some(end) = [link.from, link.to].into_iter().flatten().find(|n| !chassis(n)) else { return false };
        // Of a drawing without negatives nothing says that this one is not theirs.
        let untold = || {
            let things = self.ways.iter().map(|way| self.hangs_on(way.end));
            !things.into_iter().any(|n| self.has_way_back(n))
        };
        let place = matches!(end, Node::Device(_)) && !is_start(plan, end) && !is_thing(end);
        let shunt = device_kind(plan, end) == Some(DeviceKind::Shunt);
        let negative = end == Node::BankMinus || (place && (shunt || self.has_way_back(end) || untold()));
        negative && self.joins_poles(plan, plus, run).is_none()
    }

    /// What comes back over the chassis by each bond of the negative: all of it by each, as each may be left alone with it.
    pub(super) fn find_over_frame(&mut self, plan: &Plan) {
        let by_frame = |i: &usize| self.by_chassis(plan, *i) && on_bank_side(self.role(*i));
        let mut over = OverFrame::default();
        for way in self.ways.iter().filter(|w| of_bank(w.kind) && is_thing(w.end)) {
            let feed = way.runs.iter().position(|i| self.converter_fed(plan, *i).is_some());
            for (k, _) in way.runs.iter().enumerate().filter(|(_, i)| by_frame(i)) {
                join(&mut over.back, vec![(way.end, feed.is_some_and(|feed| k > feed))]);
            }
        }
        // So does what the vehicle's line brings the bank.
        let lines = self.straight.iter().filter(|(_, runs)| runs.iter().any(by_frame));
        over.back.extend(lines.map(|(device, _)| (Node::Device(*device), false)));
        over.inputs = (0..plan.chargers.len()).filter(|i| self.draws_over_frame(plan, *i)).collect();
        if over.back.is_empty() && over.inputs.is_empty() {
            return;
        }
        let plus = self.plus.as_slice();
        let bonds: Vec<usize> = (0..self.links.len()).filter(|i| self.bonds_negative(plan, plus, *i)).collect();
        self.over_frame = (0..self.links.len()).map(|i| bonds.contains(&i).then(|| over.clone())).collect();
        // Two side by side lose less than either.
        let Some(bond) = bonds.first() else { return };
        let mut ways = std::mem::take(&mut self.ways);
        for way in ways.iter_mut().filter(|w| of_bank(w.kind) && is_thing(w.end)) {
            self.lead_over(plan, way, *bond);
        }
        self.ways = ways;
    }

    /// Whether what a DC-DC charger draws goes home to the vehicle by the house bond: its input returns over the chassis, and its
    /// negative, one for both its sides, is drawn to the house's.
    fn draws_over_frame(&self, plan: &Plan, charger: usize) -> bool {
        let node = Node::Charger(charger);
        let input =
            |(i, l): (usize, &Link)| l.role == Role::ChargerInput && l.away.contains(&node) && self.by_chassis(plan, i);
        let by_wire = |way: &Way| !way.runs.iter().any(|i| self.by_chassis(plan, *i));
        self.way_of(PathKind::Charger, node).is_some_and(by_wire) && self.links.iter().enumerate().any(input)
    }

    /// Leads a way whose current comes back over the chassis on over the bond and the negatives from there. Of pairs on the bank's
    /// side of where it goes to the chassis it goes over the positive alone.
    fn lead_over(&self, plan: &Plan, way: &mut Way, bond: usize) {
        let outward = !matches!(way.kind, PathKind::ControllerBank | PathKind::Charger);
        let by_frame = |i: &usize| self.by_chassis(plan, *i) && on_bank_side(self.role(*i));
        let to_frame = if outward { way.runs.iter().rposition(by_frame) } else { way.runs.iter().position(by_frame) };
        let Some(to_frame) = to_frame else { return };
        let chassis = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Chassis);
        let ends = self.links.get(bond).map_or([None; 2], |l| [l.from, l.to]);
        let home = ends.into_iter().flatten().find(|n| !chassis(n)).and_then(|n| self.way_back(n)).unwrap_or_default();
        let pair = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Pair);
        // Where its negatives are drawn otherwise, or go home to a converter, they stand.
        let otherwise = |i: &usize| self.role(*i) == Role::NegativeMain || self.at_converter(*i).is_some();
        let alone = way.halves.is_empty() && !way.runs.iter().any(otherwise);
        let (before, beyond) = way.runs.split_at(to_frame);
        let of_bank = if outward { before } else { beyond };
        let out = of_bank.iter().filter(|i| alone && pair(i) && !self.is_lead(**i) && !home.contains(i));
        way.halves.extend(out.map(|i| (*i, Half::Positive)).collect::<Vec<_>>());
        let more: Vec<usize> = std::iter::once(bond).chain(home).filter(|i| !way.runs.contains(i)).collect();
        way.halves.extend(more.iter().filter(|i| pair(i)).map(|i| (*i, Half::Negative)));
        if outward {
            way.runs.splice(0..0, more.into_iter().rev());
        } else {
            way.runs.extend(more);
        }
    }
}

/// What flows over the chassis, and so by a bond of the negative.
#[derive(Clone, Debug, Default)]
pub(in crate::engine) struct OverFrame {
    /// What comes back, and whether at the volts behind a converter.
    pub(in crate::engine) back: Vec<(Node, bool)>,
    /// DC-DC chargers whose input goes home to the vehicle that way.
    pub(in crate::engine) inputs: Vec<usize>,
}

/// Whether a way begins or ends at the bank.
fn of_bank(kind: PathKind) -> bool {
    !matches!(kind, PathKind::Array | PathKind::ChargerInput)
}
