//! Which of the runs drawn without a return are of the negative side.

use crate::arrange::Arrange;
use crate::plan::wiring::{Pole, Return};
use crate::plan::{DeviceKind, Plan};

use super::{Circuit, Node, Role, device_kind, is_thing, node_of};

impl Circuit {
    /// How many runs lie between a node and the nearest of some places; none where no way leads.
    fn steps(
        &self,
        starts: &[(Node, usize)],
        may: impl Fn(usize, Node) -> bool,
        crosses: impl Fn(Node, usize) -> bool,
    ) -> Vec<Option<usize>> {
        let mut steps: Vec<Option<usize>> = vec![None; self.offsets[5]];
        let mut queue = starts.to_vec();
        queue.arrange_by_key(|(_, here)| *here);
        for (node, here) in &queue {
            if let Some(slot @ None) = steps.get_mut(self.slot(*node)) {
                *slot = Some(*here);
            }
        }
        let mut next = 0;
        while let Some(&(node, here)) = queue.get(next) {
            next += 1;
            let first = starts.iter().any(|(n, _)| *n == node);
            if !first && !crosses(node, here) {
                continue;
            }
            for &i in self.at(node).iter().filter(|i| may(**i, node)) {
                let Some(other) = self.other(i, node) else { continue };
                let Some(slot) = steps.get_mut(self.slot(other)) else { continue };
                if slot.is_none_or(|old| old > here + 1) {
                    *slot = Some(here + 1);
                    queue.push((other, here + 1));
                }
            }
        }
        steps
    }

    /// Gives the role of the negative to the runs without a return that lead to the bank's negative post, to a shunt, or
    /// to a bar that is said to be the negative of others; and of several on one thing to those that bring nothing to it. Whether any got it.
    pub(super) fn find_negatives(&mut self, plan: &Plan) -> bool {
        let single = |(r, l): (&crate::plan::Run, &super::Link)| {
            r.return_path == Return::None && !matches!(l.role, Role::Bond | Role::Dead)
        };
        if !plan.runs.iter().zip(&self.links).any(single) {
            return false;
        }
        let known = self.links.iter().filter(|l| l.role == Role::NegativeMain).count();
        self.line_negatives = self.find_line_negatives(plan);
        for (i, _) in &self.line_negatives {
            if let Some(link) = self.links.get_mut(*i) {
                (link.role, link.looped) = (Role::NegativeMain, false);
            }
        }
        let singles = Singles::of(self, plan);
        let cases: Vec<bool> = (0..self.links.len()).map(|i| singles.grounds_a_case(i)).collect();
        let beside = singles.beside_pairs();
        let mut of_negative = singles.find();
        for (i, _) in &beside {
            if let Some(is) = of_negative.get_mut(*i) {
                *is = true;
            }
        }
        for ((link, is), is_case) in self.links.iter_mut().zip(of_negative).zip(&cases) {
            if *is_case {
                (link.role, link.looped) = (Role::Bond, false);
                link.away.clear();
            } else if is {
                (link.role, link.looped) = (Role::NegativeMain, false);
            }
        }
        self.read_negative = beside.into_iter().filter(|(i, _)| cases.get(*i) == Some(&false)).collect();
        cases.contains(&true) || self.links.iter().filter(|l| l.role == Role::NegativeMain).count() > known
    }
}

impl Circuit {
    /// Of the lines of DC-DC chargers that are drawn in single conductors, those to the battery's minus, straight or over bars: beside one
    /// with a fuse on it or ahead of it the ones without, and of two without any the last by its id, whatever the order they are drawn in.
    fn find_line_negatives(&self, plan: &Plan) -> Vec<(usize, usize)> {
        let mut found = Vec::new();
        for charger in 0..plan.chargers.len() {
            let node = Node::Charger(charger);
            let on: Vec<usize> =
                self.at(node).iter().copied().filter(|i| self.role(*i) == Role::ChargerInput).collect();
            if on.len() < 2 || !on.iter().all(|i| is_single(plan, *i)) {
                continue;
            }
            let far = |i: usize| self.other(i, node);
            let direct = |i: &usize| far(*i).is_some_and(|n| self.is_of_engine(n));
            let ahead = |n: Node| self.at(n).iter().any(|j| has_fuse(plan, *j));
            let positive = |i: &usize| has_fuse(plan, *i) || (!direct(i) && far(*i).is_some_and(ahead));
            let place = on.first().and_then(|i| far(*i));
            let is_alike = on.len() == 2 && on.iter().all(|i| !has_fuse(plan, *i) && far(*i) == place);
            // Where a pair brings both poles to the place that both leave, or a fused single and a bare one do.
            let feeds = |n: &Node| {
                self.at(*n).iter().copied().filter(|i| !on.contains(i) && self.role(*i) == Role::ChargerInput)
            };
            let feeds: Vec<usize> = place.iter().filter(|_| is_alike).flat_map(feeds).collect();
            let bare: Vec<usize> =
                feeds.iter().copied().filter(|i| is_single(plan, *i) && !has_fuse(plan, *i)).collect();
            let from_engine = |i: &usize| place.and_then(|n| self.other(*i, n)).is_some_and(|n| self.is_of_engine(n));
            let is_line = feeds.len() == 2 && bare.len() == 1 && feeds.iter().all(from_engine);
            let last = || last_by_id(plan, &on).into_iter().collect();
            let negatives: Vec<usize> = if is_line || feeds.iter().any(|i| !is_single(plan, *i)) {
                let line = last_by_id(plan, &on).into_iter().chain(bare.into_iter().filter(|_| is_line));
                found.extend(line.map(|i| (i, charger)));
                continue;
            } else if on.iter().any(positive) {
                on.iter().copied().filter(|i| !positive(i)).collect()
            } else if on.len() == 2 && on.iter().all(direct) {
                last()
            } else {
                continue;
            };
            let homes = negatives.into_iter().filter_map(|i| self.line_home(plan, i, far(i)?));
            for run in homes.flatten().filter(|run| !found.contains(&(*run, charger))).collect::<Vec<_>>() {
                found.push((run, charger));
            }
        }
        found
    }

    /// The runs by which the negative of a line comes to its battery, over bars that hold no pair and no fuse.
    fn line_home(&self, plan: &Plan, first: usize, far: Node) -> Option<Vec<usize>> {
        use DeviceKind::{Bus, Shunt, Splice};
        let negative = |j: &usize| {
            matches!(self.role(*j), Role::Bond | Role::Dead) || (is_single(plan, *j) && !has_fuse(plan, *j))
        };
        let crosses =
            |n: Node| matches!(device_kind(plan, n), Some(Bus | Splice | Shunt)) && self.at(n).iter().all(negative);
        let may = |role: Role| !matches!(role, Role::Bond | Role::Dead | Role::Array);
        if !self.is_of_engine(far) && !crosses(far) {
            return None;
        }
        let mut runs = self.search(far, first, |n| self.is_of_engine(n), may, crosses)?;
        runs.insert(0, first);
        Some(runs)
    }

    /// The bond to the chassis that a lead of grounds leads on to, over a bar that holds nothing else: it carries what that does.
    #[must_use]
    pub fn bond_beyond(&self, plan: &Plan, run: usize) -> Option<usize> {
        let link = self.links.get(run).filter(|l| l.role == Role::NegativeMain && l.away.is_empty())?;
        let chassis = |n: Option<Node>| n.is_some_and(|n| device_kind(plan, n) == Some(DeviceKind::Chassis));
        let bond = |i: &usize| {
            let to_chassis = |l: &super::Link| l.role == Role::Bond && (chassis(l.from) || chassis(l.to));
            self.links.get(*i).is_some_and(to_chassis)
        };
        let holds = |i: &usize| *i == run || matches!(self.role(*i), Role::Bond | Role::Dead);
        let bars = [link.from, link.to].into_iter().flatten().filter(|n| matches!(n, Node::Device(_)));
        let mut bars = bars.filter(|n| self.at(*n).iter().all(holds));
        bars.find_map(|n| self.at(n).iter().copied().find(bond))
    }

    /// The DC-DC chargers whose line a run is the negative of, drawn by itself.
    pub fn line_negatives_of(&self, run: usize) -> impl Iterator<Item = usize> + '_ {
        self.line_negatives.iter().filter(move |(i, _)| *i == run).map(|(_, charger)| *charger)
    }
}

/// The last of some runs by its id, W10 behind W9.
fn last_by_id(plan: &Plan, runs: &[usize]) -> Option<usize> {
    let id = |i: usize| plan.runs.get(i).map(|r| (r.id.as_str().len(), r.id.as_str()));
    runs.iter().copied().max_by_key(|i| id(*i))
}

fn is_single(plan: &Plan, run: usize) -> bool {
    plan.runs.get(run).is_some_and(|r| r.return_path == Return::None)
}

/// What has a fuse is a positive.
fn has_fuse(plan: &Plan, run: usize) -> bool {
    let run = plan.runs.get(run);
    run.is_some_and(|r| r.protection.iter().any(|p| p.state.stays() && p.pole == Pole::Positive))
}

/// The runs without a return, told apart.
struct Singles<'a> {
    circuit: &'a Circuit,
    plan: &'a Plan,
    /// Runs between the bank's positive post and every place.
    positive: Vec<Option<usize>>,
    negative: Vec<bool>,
}

impl<'a> Singles<'a> {
    fn of(circuit: &'a Circuit, plan: &'a Plan) -> Self {
        let dark = |i: usize| matches!(circuit.role(i), Role::Dead | Role::Bond | Role::NegativeMain);
        let shunt = |n: Node| device_kind(plan, n) == Some(DeviceKind::Shunt);
        let crosses = |n: Node, _| !circuit.is_end(n) && !shunt(n);
        // What leaves a fuse panel on its positive has a fuse there; what leaves a converter bare may be its minus.
        let bare = |i: usize, n: Node| {
            let kind = device_kind(plan, n);
            matches!(kind, Some(DeviceKind::FusePanel | DeviceKind::Converter))
                && is_single(plan, i)
                && !has_fuse(plan, i)
        };
        let negative = circuit.links.iter().map(|l| l.role == Role::NegativeMain).collect();
        let mut singles = Self { circuit, plan, positive: Vec::new(), negative };
        let shorts = singles.shorts();
        let may = |i: usize, n: Node| !dark(i) && !bare(i, n) && !shorts.contains(&i);
        singles.positive = circuit.steps(&[(Node::Bank, 0)], may, crosses);
        singles
    }

    fn find(mut self) -> Vec<bool> {
        let mut starts = self.starts();
        loop {
            self.spread(&starts);
            let more = self.of_things();
            if more.is_empty() {
                return self.negative;
            }
            for i in more {
                if let Some(is) = self.negative.get_mut(i) {
                    *is = true;
                }
                let ends = self.circuit.links.get(i).map(|l| [l.from, l.to]);
                let bars = ends.into_iter().flatten().flatten().filter(|n| self.may_be_bar(*n));
                starts.extend(bars.map(|n| (n, 0)));
            }
        }
    }

    /// Whether a run may be of the negative: nothing on the bank's own positive, nor on the panels' or the engine's side.
    fn may(&self, i: usize) -> bool {
        let (Some(run), Some(link)) = (self.plan.runs.get(i), self.circuit.links.get(i)) else { return false };
        // A lead to a shunt for its volts alone has a fuse where it leaves the positive.
        let carries = carries(link.role) || (link.role == Role::Sense && !self.fused(i));
        run.return_path == Return::None && carries && ![link.from, link.to].contains(&Some(Node::Bank))
    }

    fn fused(&self, i: usize) -> bool {
        has_fuse(self.plan, i)
    }

    /// Bare conductors from the bank's plus straight to a bar that holds no fused lead and that others bare join to its minus, over bars
    /// of the same kind and shunts: they short the bank, and bring no plus to what hangs there.
    fn shorts(&self) -> Vec<usize> {
        let bare = |i: usize| is_single(self.plan, i) && !self.fused(i);
        let bars = self.circuit.at(Node::Bank).iter().copied().filter(|i| bare(*i) && carries(self.circuit.role(*i)));
        let bars = bars.filter_map(|i| Some((i, self.circuit.other(i, Node::Bank)?)));
        let is_bar = |n: Node| matches!(n, Node::Device(_)) && self.may_be_bar(n);
        let bars: Vec<(usize, Node)> = bars.filter(|(_, n)| is_bar(*n)).collect();
        if bars.is_empty() {
            return Vec::new();
        }
        let steps = self.circuit.steps(&[(Node::BankMinus, 0)], |i, _| !self.fused(i) && self.may(i), |n, _| is_bar(n));
        let home = |n: Node| steps.get(self.circuit.slot(n)).copied().flatten().is_some();
        bars.into_iter().filter(|(_, n)| home(*n)).map(|(i, _)| i).collect()
    }

    fn is(&self, n: Node, kind: DeviceKind) -> bool {
        device_kind(self.plan, n) == Some(kind)
    }

    fn paired(&self, i: usize) -> bool {
        self.plan.runs.get(i).is_some_and(|r| r.return_path != Return::None)
            && !matches!(self.circuit.role(i), Role::Dead | Role::Bond)
    }

    /// Whether a place holds negatives alone, as far as pairs and fuses say.
    fn may_be_bar(&self, n: Node) -> bool {
        let positive = |i: &usize| self.paired(*i) || (self.fused(*i) && !self.negative.get(*i).is_some_and(|is| *is));
        n == Node::BankMinus
            || self.is(n, DeviceKind::Shunt)
            || (!self.circuit.is_end(n)
                && !is_thing(n)
                && !self.is(n, DeviceKind::FusePanel)
                && !self.is(n, DeviceKind::Converter)
                && !self.circuit.at(n).iter().any(positive))
    }

    /// Whether a pair ends on a place without a word of its negative, or says that it is there.
    fn has_both_poles(&self, n: Node) -> bool {
        self.circuit.at(n).iter().filter(|i| self.paired(**i)).any(|i| {
            let (Some(run), Some(link)) = (self.plan.runs.get(*i), self.circuit.links.get(*i)) else { return false };
            let named = if link.from == Some(n) { &run.negative_from } else { &run.negative_to };
            named.as_ref().is_none_or(|k| k.known().and_then(|id| node_of(self.plan, id.as_str())) == Some(n))
        })
    }

    /// From a source or an inverter to a bar of both poles the runs without a return and without a fuse, each with a pair that the
    /// thing has its positive by already: one more negative. A second positive has its fuse at the bar; that of a load may be for
    /// its memory alone.
    fn beside_pairs(&self) -> Vec<(usize, usize)> {
        use DeviceKind::{Bus, FusePanel, Splice};
        let plan = self.plan;
        let things = (0..plan.inverters.len())
            .map(Node::Inverter)
            .chain((0..plan.controllers.len()).map(Node::Controller))
            .chain((0..plan.chargers.len()).map(Node::Charger));
        let mut found = Vec::new();
        for thing in things {
            let on = || self.circuit.at(thing).iter().copied().filter(|i| carries(self.circuit.role(*i)));
            let Some(pair) = on().find(|i| self.paired(*i)) else { continue };
            let of_both = |n: Node| [Bus, Splice, FusePanel].iter().any(|k| self.is(n, *k)) && self.has_both_poles(n);
            let lone = |i: &usize| {
                !self.paired(*i)
                    && self.may(*i)
                    && !self.fused(*i)
                    && self.circuit.other(*i, thing).is_some_and(of_both)
            };
            found.extend(on().filter(lone).map(|i| (i, pair)));
        }
        found
    }

    /// Whether a bar holds grounds alone: the bond to the chassis, cases, and a lead from a bar that has both poles, which is of its
    /// negative then. From a bar of plus alone, a switch or the post it is no ground.
    fn is_ground_bar(&self, n: Node) -> bool {
        use DeviceKind::{Bus, Splice};
        let bar = |n: Node| self.is(n, Bus) || self.is(n, Splice);
        let bond = |i: &usize| self.circuit.role(*i) == Role::Bond;
        let others = || self.circuit.at(n).iter().filter(|i| !bond(i) && self.circuit.role(**i) != Role::Dead);
        let far = |i: &usize| self.circuit.other(*i, n);
        let ground = |i: &usize| {
            let leads = far(i).is_some_and(|far| is_thing(far) || (bar(far) && self.has_both_poles(far)));
            self.may(*i) && !self.fused(*i) && leads
        };
        bar(n)
            && self.circuit.at(n).iter().any(bond)
            && others().all(ground)
            && others().any(|i| far(i).is_some_and(bar))
    }

    /// Whether a run joins the case of a thing, which has its two conductors, with a bar of grounds.
    fn grounds_a_case(&self, i: usize) -> bool {
        let Some((Some(from), Some(to))) = self.circuit.links.get(i).map(|l| (l.from, l.to)) else { return false };
        let case = |thing: Node, bar: Node| {
            is_thing(thing) && self.circuit.at(thing).iter().any(|j| self.paired(*j)) && self.is_ground_bar(bar)
        };
        self.may(i) && !self.fused(i) && (case(from, to) || case(to, from))
    }

    /// Where the negative is known to be, with how far from the post it stands at least: the post, shunts, and bars that
    /// pairs name.
    fn starts(&self) -> Vec<(Node, usize)> {
        let mut starts = vec![(Node::BankMinus, 0)];
        for run in &self.plan.runs {
            for (named, drawn) in [(&run.negative_from, &run.from), (&run.negative_to, &run.to)] {
                let node = |k: &crate::plan::Known<crate::plan::Id>| node_of(self.plan, k.known()?.as_str());
                let Some(there) = named.as_ref().and_then(node).filter(|n| Some(*n) != node(drawn)) else { continue };
                let known = starts.iter().any(|(n, _)| *n == there);
                if !known && matches!(there, Node::Device(_)) && self.may_be_bar(there) {
                    starts.push((there, if self.is(there, DeviceKind::Shunt) { 1 } else { 2 }));
                }
            }
        }
        let shunts = (0..self.plan.devices.len()).map(Node::Device).filter(|n| self.is(*n, DeviceKind::Shunt));
        for shunt in shunts {
            let on = self.circuit.at(shunt);
            let only = !on.is_empty() && on.iter().all(|i| !carries(self.circuit.role(*i)) || self.may(*i));
            if only && !starts.iter().any(|(n, _)| *n == shunt) {
                starts.push((shunt, 1));
            }
        }
        let bars = (0..self.plan.devices.len()).map(Node::Device);
        starts.extend(bars.filter(|n| self.is_ground_bar(*n)).map(|n| (n, 2)));
        starts
    }

    /// From there over shunts, and over what no positive lies nearer to.
    fn spread(&mut self, starts: &[(Node, usize)]) {
        let sure = |n: Node| n == Node::BankMinus || self.is(n, DeviceKind::Shunt);
        let may = |i: usize, n: Node| {
            self.negative.get(i).is_some_and(|is| *is) || (self.may(i) && (sure(n) || !self.fused(i)))
        };
        let crosses = |n: Node, here: usize| {
            let nearer = self.positive.get(self.circuit.slot(n)).copied().flatten().is_none_or(|p| p > here);
            self.is(n, DeviceKind::Shunt) || (self.may_be_bar(n) && nearer)
        };
        let steps = self.circuit.steps(starts, may, crosses);
        let reached = |n: Node| {
            let here = steps.get(self.circuit.slot(n)).copied().flatten();
            here.is_some_and(|here| starts.iter().any(|(s, _)| *s == n) || crosses(n, here))
        };
        let found: Vec<usize> = (0..self.negative.len())
            .filter(|i| {
                let ends = self.circuit.links.get(*i).map_or([None, None], |l| [l.from, l.to]);
                ends.iter().all(Option::is_some) && ends.into_iter().flatten().any(|n| reached(n) && may(*i, n))
            })
            .collect();
        for i in found {
            if let Some(is) = self.negative.get_mut(i) {
                *is = true;
            }
        }
    }

    /// Of several runs without a return on one thing, where no negative is known yet, those that bring nothing to it.
    fn of_things(&self) -> Vec<usize> {
        let known = |i: usize| self.negative.get(i).is_some_and(|is| *is);
        let plan = self.plan;
        let things = (0..plan.loads.len())
            .map(Node::Load)
            .chain((0..plan.inverters.len()).map(Node::Inverter))
            .chain((0..plan.controllers.len()).map(Node::Controller))
            .chain((0..plan.chargers.len()).map(Node::Charger));
        let mut found = Vec::new();
        for thing in things {
            let on: Vec<usize> =
                self.circuit.at(thing).iter().copied().filter(|i| carries(self.circuit.role(*i))).collect();
            if on.len() >= 2 && on.iter().all(|i| !self.paired(*i) && !known(*i)) {
                found.extend(self.unlike(thing, &on));
            }
        }
        // Two side by side between the same places, one with a fuse; or none, from a converter or connector, which have both poles, to
        // where pairs go on.
        let of_both = |a: Node, b: Node| {
            [DeviceKind::Converter, DeviceKind::Tow].iter().any(|k| self.is(a, *k)) && self.has_both_poles(b)
        };
        let last = |i: usize, other: usize| last_by_id(self.plan, &[i, other]) == Some(i);
        for (i, link) in self.circuit.links.iter().enumerate().filter(|(i, _)| self.may(*i) && !self.fused(*i)) {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let mut beside =
                self.circuit.at(from).iter().filter(|j| **j != i && self.circuit.other(**j, from) == Some(to));
            let (Some(other), None) = (beside.next(), beside.next()) else { continue };
            // A bar of plus alone feeds a panel by two positives.
            let of_plus = |panel: Node, bar: Node| {
                let at = || self.circuit.at(bar).iter().copied();
                self.is(panel, DeviceKind::FusePanel)
                    && self.is(bar, DeviceKind::Bus)
                    && at().all(|j| !self.paired(j) && !known(j))
                    && self.negative.contains(&true)
            };
            if of_plus(from, to) || of_plus(to, from) {
                continue;
            }
            let told = self.fused(*other) || ((of_both(from, to) || of_both(to, from)) && last(i, *other));
            if told && self.may(*other) && ![i, *other].into_iter().any(known) && !found.contains(&i) {
                found.push(i);
            }
        }
        found
    }

    /// The negatives among the runs of a thing that has no pair: those without a fuse, those that leave no fuse panel, those from
    /// where the bank's plus does not come, or comes from further off; of two alike the last by its id.
    fn unlike(&self, thing: Node, on: &[usize]) -> Vec<usize> {
        let apart = |positive: &dyn Fn(usize) -> bool| {
            let (yes, no): (Vec<usize>, Vec<usize>) = on.iter().copied().partition(|i| positive(*i));
            (!yes.is_empty() && !no.is_empty()).then_some(no)
        };
        let panel = |i: usize| self.circuit.other(i, thing).is_some_and(|n| self.is(n, DeviceKind::FusePanel));
        let plus = |i: usize| self.circuit.other(i, thing).and_then(|n| *self.positive.get(self.circuit.slot(n))?);
        let nearest = on.iter().filter_map(|i| plus(*i)).min();
        let last = || last_by_id(self.plan, on).filter(|_| !on.iter().all(|i| self.fused(*i))).into_iter().collect();
        let no = apart(&|i| self.fused(i) || !self.may(i)).or_else(|| apart(&panel));
        let no = no.or_else(|| apart(&|i| nearest.is_some() && plus(i) == nearest)).unwrap_or_else(last);
        no.into_iter().filter(|i| self.may(*i) && !self.fused(*i)).collect()
    }
}

/// Whether a run carries the bank's current.
fn carries(role: Role) -> bool {
    !matches!(role, Role::Dead | Role::Bond | Role::Array | Role::ChargerInput | Role::StartLead | Role::Sense)
}
