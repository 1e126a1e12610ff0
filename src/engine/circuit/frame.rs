//! The chassis as a conductor: which bonds bring it to the negative, and what comes back over it.

use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Plan};

use super::role::on_bank_side;
use super::{Circuit, Node, PathKind, Role, device_kind, is_start, is_thing};

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

    /// What comes back over the chassis by each bond of the negative: all of it by each, as each may be left alone with it. What a
    /// DC-DC charger draws goes home to the vehicle.
    pub(super) fn find_over_frame(&mut self, plan: &Plan) {
        let mut back: Vec<(Node, bool)> = Vec::new();
        let things = |kind: PathKind| !matches!(kind, PathKind::Array | PathKind::ChargerInput);
        for way in self.ways.iter().filter(|w| things(w.kind) && is_thing(w.end)) {
            let by_frame = |i: &usize| {
                let chassis = plan.runs.get(*i).is_some_and(|r| r.return_path == Return::Chassis);
                chassis && on_bank_side(self.role(*i))
            };
            let feed = way.runs.iter().position(|i| self.at_converter(*i).is_some_and(|(_, feeds)| feeds));
            for (k, _) in way.runs.iter().enumerate().filter(|(_, i)| by_frame(i)) {
                let one = (way.end, feed.is_some_and(|feed| k > feed));
                if !back.contains(&one) {
                    back.push(one);
                }
            }
        }
        if back.is_empty() {
            return;
        }
        let plus = self.plus_places(plan);
        let of = |i: usize| if self.bonds_negative(plan, &plus, i) { back.clone() } else { Vec::new() };
        self.over_frame = (0..self.links.len()).map(of).collect();
    }
}
