//! The negative side as one net: what its conductors join, and by which of them the current of each thing comes back to
//! the bank's negative post.

mod loops;

use std::sync::OnceLock;

use crate::engine::shunts::Passed;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, Id, Known, Plan, Run};

use super::rings::join;
use super::role::on_bank_side;
use super::{Circuit, Half, Node, PathKind, Role, Way, device_kind, node_of};

/// Two places that a negative joins.
#[derive(Clone, Copy, Debug)]
struct Joint {
    from: Node,
    to: Node,
    /// The run whose conductor it is; none where both are one place as far as the drawing says.
    run: Option<usize>,
    /// Between a shunt and the post, where nothing says how the two are joined.
    gap: bool,
}

/// A piece of a way home.
#[derive(Clone, Debug)]
pub(in crate::engine) struct Piece {
    /// The runs of the way itself.
    pub(in crate::engine) own: Vec<usize>,
    /// The two places that it lies between.
    pub(in crate::engine) ends: (Node, Node),
    /// Where it lies on loops all conductors of those, each with its places; one of no run has no ohms.
    pub(in crate::engine) mesh: Vec<(Option<usize>, Node, Node)>,
}

/// The negative side of a circuit.
#[derive(Clone, Debug, Default)]
pub(in crate::engine) struct Negative {
    joints: Vec<Joint>,
    /// Of each place the joint that leads on to the post, and how many lie up to there.
    toward: Vec<Option<(usize, usize)>>,
    /// Of pairs whose negative brings back something else than their positive feeds: what.
    pub(in crate::engine) backs: Vec<Option<Vec<Node>>>,
    /// Of each negative on loops what it may be left with, each time all of it.
    pub(in crate::engine) left_with: Vec<Vec<Vec<Node>>>,
    /// Runs that carry what a converter gives, and the converter: what it takes comes back another way.
    behind: Vec<(usize, usize)>,
    /// Of each place the way by which a fault comes home from it, and what comes back over it, once either was looked for.
    homes: Vec<OnceLock<Option<Vec<Piece>>>>,
    over: Vec<OnceLock<Vec<Node>>>,
    /// Of each run the shunts whose volts count in it, once they were looked for.
    passed: Vec<OnceLock<Vec<Passed>>>,
}

/// What stands under the name of one end of a run's negative, if it is said to be elsewhere than its positive's.
fn elsewhere(plan: &Plan, named: Option<&Known<Id>>) -> Option<Node> {
    Some(post(node_of(plan, named?.known()?.as_str())?))
}

/// The bank's negative is its negative post.
fn post(node: Node) -> Node {
    if node == Node::Bank { Node::BankMinus } else { node }
}

/// Both ends of a run's negative: where they are said to be, else where the positive ends, as given. A thing has its own terminal:
/// what is named in its stead is where its negative leads to.
fn ends(plan: &Plan, run: &Run, (from, to): (Node, Node)) -> Option<(Node, Node)> {
    let named = (elsewhere(plan, run.negative_from.as_ref()), elsewhere(plan, run.negative_to.as_ref()));
    if [&run.negative_from, &run.negative_to].into_iter().flatten().any(|k| elsewhere(plan, Some(k)).is_none()) {
        return None;
    }
    Some(match named {
        (near, Some(far)) if is_thing(to) && !is_thing(from) => (near.unwrap_or(far), to),
        (Some(far), near) if is_thing(from) && !is_thing(to) => (from, near.unwrap_or(far)),
        (near, far) => (near.unwrap_or(from), far.unwrap_or(to)),
    })
}

/// What gives or takes current.
pub(in crate::engine) fn is_thing(node: Node) -> bool {
    matches!(node, Node::Load(_) | Node::Inverter(_) | Node::Controller(_) | Node::Charger(_))
}

impl Circuit {
    /// Finds what the negatives join, what comes back by each, and which end of those drawn by themselves faces the post.
    pub(super) fn find_returns(&mut self, plan: &Plan) {
        self.negative.toward = vec![None; self.offsets[5]];
        self.negative.joints = self.joints(plan);
        self.grow();
        while let Some(joint) = self.assumed(plan) {
            self.negative.joints.push(joint);
            self.grow();
        }
        let said = |(r, l): (&Run, &super::Link)| {
            r.negative_from.is_some() || r.negative_to.is_some() || l.role == Role::NegativeMain
        };
        if plan.runs.iter().zip(&self.links).any(said) {
            self.share_out(plan);
        }
        self.negative.homes = vec![OnceLock::new(); self.offsets[5]];
        self.negative.over = vec![OnceLock::new(); self.offsets[5]];
        self.negative.passed = vec![OnceLock::new(); self.links.len()];
    }

    /// Where pairs that leave the bank have their negative, where they say nothing of it: at the post, or, where the bank's
    /// own negative is drawn as runs to a shunt or to a place that nothing else hangs on, there.
    fn unsaid(&self, plan: &Plan) -> Node {
        let mut places = vec![Node::BankMinus];
        let mut next = 0;
        while let Some(&node) = places.get(next) {
            next += 1;
            let on = self.at(node).iter().filter(|i| self.role(**i) == Role::NegativeMain);
            let more: Vec<Node> = on.filter_map(|i| self.other(*i, node)).filter(|n| !places.contains(n)).collect();
            places.extend(more.into_iter().filter(|n| *n != Node::Bank));
        }
        if let Some(shunt) = places.iter().find(|n| device_kind(plan, **n) == Some(DeviceKind::Shunt)) {
            return *shunt;
        }
        let pair = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path != Return::None);
        let hangs = |n: &Node| *n != Node::BankMinus && (self.is_end(*n) || self.at(*n).iter().any(&pair));
        let named = plan.runs.iter().flat_map(|r| [&r.negative_from, &r.negative_to]);
        let named = named.filter_map(|k| elsewhere(plan, k.as_ref()));
        let free = !places.iter().any(hangs) && !named.into_iter().any(|n| n != Node::BankMinus && places.contains(&n));
        places.last().copied().filter(|_| free).unwrap_or(Node::BankMinus)
    }

    /// Every conductor of the negative side.
    fn joints(&self, plan: &Plan) -> Vec<Joint> {
        let mut joints = Vec::with_capacity(plan.runs.len());
        let unsaid = self.unsaid(plan);
        for (i, (run, link)) in plan.runs.iter().zip(&self.links).enumerate() {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let found = match (link.role, run.return_path) {
                (Role::NegativeMain, _) => Some((from, to)),
                (Role::Dead | Role::Bond | Role::Sense, _) | (_, Return::None) => None,
                (Role::Array | Role::ChargerInput | Role::StartLead, _) => None,
                _ => ends(plan, run, (post(from), post(to))).map(|(a, b)| {
                    let says = |own: &Option<Known<Id>>, other: &Option<Known<Id>>, end: Node| {
                        own.is_some() || (is_thing(end) && other.is_some())
                    };
                    if let Some(place) = self.own_negative_to(plan, i, a) {
                        return (Node::BankMinus, place);
                    }
                    let unsaid_from = from == Node::Bank && !says(&run.negative_from, &run.negative_to, to);
                    let unsaid_to = to == Node::Bank && !says(&run.negative_to, &run.negative_from, from);
                    (if unsaid_from { unsaid } else { a }, if unsaid_to { unsaid } else { b })
                }),
            };
            if let Some((from, to)) = found.filter(|(a, b)| a != b) {
                joints.push(Joint { from, to, run: Some(i), gap: false });
            }
        }
        joints
    }

    /// Whether a negative leads from a place to the post.
    pub(in crate::engine) fn has_way_back(&self, node: Node) -> bool {
        node == Node::BankMinus || self.negative.toward.get(self.slot(node)).is_some_and(Option::is_some)
    }

    /// Lets the ways to the post grow over all joints, the shortest each; things are not crossed.
    fn grow(&mut self) {
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); self.offsets[5]];
        for (j, joint) in self.negative.joints.iter().enumerate() {
            for node in [joint.from, joint.to] {
                if let Some(list) = at.get_mut(self.slot(node)) {
                    list.push(j);
                }
            }
        }
        let mut toward: Vec<Option<(usize, usize)>> = vec![None; self.offsets[5]];
        let mut queue = vec![(Node::BankMinus, 0)];
        let mut next = 0;
        while let Some(&(node, here)) = queue.get(next) {
            next += 1;
            if node != Node::BankMinus && self.is_end(node) {
                continue;
            }
            for &j in at.get(self.slot(node)).into_iter().flatten() {
                let Some(joint) = self.negative.joints.get(j) else { continue };
                let other = if joint.from == node { joint.to } else { joint.from };
                let Some(slot @ None) = toward.get_mut(self.slot(other)) else { continue };
                if other != Node::BankMinus {
                    *slot = Some((j, here + 1));
                    queue.push((other, here + 1));
                }
            }
        }
        self.negative.toward = toward;
    }

    /// A joint that nobody drew, where what is drawn leads nowhere without it: a bar and what is said to be its negative; a
    /// shunt, and what its run hangs on else, at last the post itself; the end of a chassis return and the bond.
    fn assumed(&self, plan: &Plan) -> Option<Joint> {
        let bar = |n: Node| matches!(device_kind(plan, n), Some(DeviceKind::Bus | DeviceKind::FusePanel));
        let shunt = |n: Node| device_kind(plan, n) == Some(DeviceKind::Shunt);
        let pairs = || {
            let on = |(j, joint): (usize, &Joint)| {
                let (run, link) = (plan.runs.get(joint.run?)?, self.links.get(joint.run?)?);
                (link.role != Role::NegativeMain).then_some((j, run, link))
            };
            self.negative.joints.iter().enumerate().filter_map(on)
        };
        let apart = || {
            pairs().flat_map(|(j, run, link)| {
                let joint = self.negative.joints.get(j);
                let from = run.negative_from.as_ref().and(joint).map(|x| (x.from, link.from));
                let to = run.negative_to.as_ref().and(joint).map(|x| (x.to, link.to));
                let both = [from, to].into_iter().flatten();
                let of_load = [link.from, link.to].into_iter().flatten().any(|n| matches!(n, Node::Load(_)));
                let told = both.filter_map(move |(named, drawn)| Some((named, drawn?, of_load)));
                told.filter(|(named, drawn, _)| *named != post(*drawn))
            })
        };
        let join = |from: Node, to: Node| Joint { from, to, run: None, gap: false };
        // One that leads nowhere all the same, as over a thing, is not taken again.
        let taken = |a: Node, b: Node| {
            let same = |j: &Joint| [(a, b), (b, a)].contains(&(j.from, j.to));
            self.negative.joints.iter().any(|j| j.run.is_none() && same(j))
        };
        let of_bar = apart().filter(|(named, drawn, _)| !taken(*named, *drawn)).find(|(named, drawn, of_load)| {
            // A start battery's minus is no bar of the bank's.
            let may = *named != Node::BankMinus && !self.is_of_engine(*named);
            let of_bar = bar(*drawn) && may && self.has_way_back(*named) != self.has_way_back(*drawn);
            of_bar && !(*of_load && self.hosts_others(plan, *drawn))
        });
        if let Some((named, drawn, _)) = of_bar {
            return Some(join(named, drawn));
        }
        let floats = |n: Node| shunt(n) && !self.has_way_back(n);
        let on_shunt = |(named, drawn, _): &(Node, Node, bool)| {
            floats(*named) && !is_thing(*drawn) && self.has_way_back(post(*drawn)) && !taken(*named, post(*drawn))
        };
        if let Some((named, drawn, _)) = apart().find(on_shunt) {
            let gap = post(drawn) == Node::BankMinus;
            return Some(Joint { gap, ..join(named, post(drawn)) });
        }
        // Where batteries' own negatives lead to a place, the bar that their positives lead to has its negative from there.
        let mut of_lead = pairs().filter_map(|(j, _, link)| {
            let joint = self.negative.joints.get(j)?;
            let place = self.own_negative_to(plan, joint.run?, joint.to)?;
            (joint.from == Node::BankMinus).then_some((place, link.to?))
        });
        let beside = |(named, drawn): &(Node, Node)| {
            !is_thing(*drawn) && self.has_way_back(*named) && !self.has_way_back(*drawn) && !taken(*named, *drawn)
        };
        if let Some((named, drawn)) = of_lead.find(beside) {
            return Some(join(named, drawn));
        }
        if let Some(shunt) = self.negative.joints.iter().flat_map(|j| [j.from, j.to]).find(|n| floats(*n)) {
            return Some(Joint { gap: true, ..join(Node::BankMinus, shunt) });
        }
        let chassis = |r: &&Run| r.return_path == Return::Chassis;
        let lost = pairs().filter(|(_, r, _)| chassis(r)).find_map(|(j, ..)| {
            let joint = self.negative.joints.get(j)?;
            // A start battery's own negative is on the frame: what hangs on it comes back there.
            if joint.run.is_some_and(|run| self.is_of_vehicle(plan, run)) {
                return None;
            }
            (!self.has_way_back(joint.from) && !self.has_way_back(joint.to))
                .then(|| if is_thing(joint.from) { joint.from } else { joint.to })
        })?;
        let bonds = self.links.iter().filter(|l| l.role == Role::Bond).flat_map(|l| [l.from, l.to]).flatten();
        let bonded = bonds.map(post).find(|n| self.has_way_back(*n) && !taken(*n, lost))?;
        Some(join(bonded, lost))
    }

    /// Whether loads come back to a panel by pairs: one that has its minus elsewhere says nothing of the bar of those.
    fn hosts_others(&self, plan: &Plan, panel: Node) -> bool {
        let load = |i: &usize| matches!(self.other(*i, panel), Some(Node::Load(_)));
        let pair = |r: &Run| r.return_path == Return::Pair && r.negative_from.is_none() && r.negative_to.is_none();
        device_kind(plan, panel) == Some(DeviceKind::FusePanel)
            && self.at(panel).iter().any(|i| load(i) && plan.runs.get(*i).is_some_and(pair))
    }

    /// The joints from a place to the post, its own first, each with the place it leads to.
    fn homeward(&self, start: Node) -> impl Iterator<Item = (usize, Node)> + '_ {
        let mut node = start;
        std::iter::from_fn(move || {
            let (j, _) = self.negative.toward.get(self.slot(node)).copied().flatten()?;
            let joint = self.negative.joints.get(j)?;
            node = if joint.from == node { joint.to } else { joint.from };
            Some((j, node))
        })
    }

    /// The runs by whose negatives the current of a thing comes back, its own first; none where none leads to the post.
    pub(in crate::engine) fn way_back(&self, start: Node) -> Option<Vec<usize>> {
        let run = |(j, _): (usize, Node)| self.negative.joints.get(j).and_then(|x| x.run);
        self.has_way_back(start).then(|| self.homeward(start).filter_map(run).collect())
    }

    /// The pieces of the way by whose negatives a fault comes back from a place to the post, its own first.
    pub(in crate::engine) fn fault_home(&self, start: Node) -> Option<&[Piece]> {
        self.negative.homes.get(self.slot(start))?.get_or_init(|| self.pieces_home(start)).as_deref()
    }

    fn pieces_home(&self, start: Node) -> Option<Vec<Piece>> {
        if !self.has_way_back(start) {
            return None;
        }
        let rings = self.rings(&self.cords().0);
        let (mut all, mut last, mut here) = (Vec::<Piece>::new(), None, start);
        for (j, next) in self.homeward(start) {
            let ring = rings.iter().position(|(of, _)| of.contains(&j));
            let run = self.negative.joints.get(j).and_then(|x| x.run);
            match all.last_mut().filter(|_| ring.is_some() && ring == last) {
                Some(piece) => {
                    piece.own.extend(run);
                    piece.ends.1 = next;
                }
                None => {
                    let of = ring.and_then(|r| rings.get(r)).map_or(&[][..], |(of, _)| of.as_slice());
                    let joints = of.iter().filter_map(|k| self.negative.joints.get(*k));
                    let mesh = joints.map(|x| (x.run, x.from, x.to)).collect();
                    all.push(Piece { own: run.into_iter().collect(), ends: (here, next), mesh });
                }
            }
            (last, here) = (ring, next);
        }
        Some(all)
    }

    /// Whether a way back is only taken to lead on from a shunt to the post, with no negative drawn between the two.
    pub(in crate::engine) fn has_gap(&self, node: Node) -> bool {
        self.homeward(node).any(|(j, _)| self.negative.joints.get(j).is_some_and(|x| x.gap))
    }

    /// The way home from a place: the run whose negative is taken, where both are not one place, and where that leads to.
    pub(in crate::engine) fn steps_home(&self, node: Node) -> Vec<(Option<usize>, Node)> {
        self.homeward(node).map(|(j, n)| (self.negative.joints.get(j).and_then(|x| x.run), n)).collect()
    }

    /// The places between one and the post, the post with them.
    pub(in crate::engine) fn places_home(&self, node: Node) -> Vec<Node> {
        self.homeward(node).map(|(_, n)| n).collect()
    }

    /// Both ends of the negative of a run, if it is part of the net.
    pub(in crate::engine) fn negative_of(&self, run: usize) -> Option<(Node, Node)> {
        self.negative.joints.iter().find(|j| j.run == Some(run)).map(|j| (j.from, j.to))
    }

    /// The runs whose negatives end on a place, each with its other end.
    pub(in crate::engine) fn negatives_at(&self, node: Node) -> impl Iterator<Item = (usize, Node)> + '_ {
        self.negative.joints.iter().filter_map(move |j| match (j.from == node, j.to == node) {
            (true, _) => Some((j.run?, j.to)),
            (_, true) => Some((j.run?, j.from)),
            _ => None,
        })
    }

    /// The run whose negative leads from a place toward the post; none inside where both are one place.
    pub(in crate::engine) fn homeward_run(&self, node: Node) -> Option<Option<usize>> {
        let (j, _) = self.negative.toward.get(self.slot(node)).copied().flatten()?;
        self.negative.joints.get(j).map(|x| x.run)
    }

    /// The runs whose negatives come to a place on their way to the post.
    pub(in crate::engine) fn arriving(&self, node: Node) -> impl Iterator<Item = usize> + '_ {
        let homeward = self.negative.toward.get(self.slot(node)).copied().flatten().map(|(j, _)| j);
        let joints = self.negative.joints.iter().enumerate();
        joints.filter(move |(j, x)| Some(*j) != homeward && (x.from == node || x.to == node)).filter_map(|(_, x)| x.run)
    }

    /// What negatives join to a place, one run left out, without crossing what is barred, or things.
    pub(in crate::engine) fn joined_to(&self, start: Node, but: Option<usize>, barred: &[Node]) -> Vec<Node> {
        let (mut found, mut next) = (Vec::with_capacity(8), 0);
        found.push(start);
        while let Some(&node) = found.get(next) {
            next += 1;
            if node != start && (barred.contains(&node) || (node != Node::BankMinus && self.is_end(node))) {
                continue;
            }
            for joint in &self.negative.joints {
                let other = match (joint.from == node, joint.to == node) {
                    (true, _) => joint.to,
                    (_, true) => joint.from,
                    _ => continue,
                };
                if (joint.run.is_none() || joint.run != but) && !found.contains(&other) {
                    found.push(other);
                }
            }
        }
        found
    }

    /// The converter whose output a negative drawn by itself carries, its input coming back another way.
    pub(in crate::engine) fn converter_before(&self, run: usize) -> Option<usize> {
        self.negative.behind.iter().find(|(i, _)| *i == run).map(|(_, device)| *device)
    }

    /// What hangs on the negative side, each with the place it hangs on: things, loads on the panel that stands for
    /// their runs, and on a converter what it feeds.
    fn hung(&self, plan: &Plan) -> Vec<(Node, Vec<Node>)> {
        let things = (0..plan.controllers.len())
            .map(Node::Controller)
            .chain((0..plan.inverters.len()).map(Node::Inverter))
            .chain((0..plan.chargers.len()).map(Node::Charger))
            .chain((0..plan.loads.len()).map(Node::Load));
        let vehicles = self.straight.iter().map(|(i, _)| Node::Device(*i));
        let mut all: Vec<(Node, Vec<Node>)> = things.chain(vehicles).map(|n| (n, vec![n])).collect();
        if let Some(panel) = self.panel {
            all.push((Node::Device(panel), self.undrawn.iter().map(|l| Node::Load(*l)).collect()));
        }
        for (i, _) in plan.devices.iter().enumerate().filter(|(_, d)| d.kind.known() == Some(&DeviceKind::Converter)) {
            let node = Node::Device(i);
            let pair = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.return_path != Return::None);
            if !self.has_way_back(node) && self.at(node).iter().any(pair) {
                continue;
            }
            all.push((node, self.fed_by(node).collect()));
        }
        all
    }

    /// What hangs on what a converter gives.
    pub(in crate::engine) fn fed_by(&self, converter: Node) -> impl Iterator<Item = Node> + '_ {
        let outputs = self.at(converter).iter().filter_map(|i| self.links.get(*i));
        let outputs = outputs.filter(move |l| on_bank_side(l.role) && l.near() == Some(converter));
        outputs.flat_map(|l| l.away.iter().copied()).filter(|n| is_thing(*n))
    }

    /// What comes back over a place.
    pub(in crate::engine) fn coming_over(&self, plan: &Plan, node: Node) -> &[Node] {
        let over = self.negative.over.get(self.slot(node));
        over.map_or(&[], |over| over.get_or_init(|| self.all_over(plan, node)))
    }

    /// The shunts that count in a run, found when they are first asked for.
    pub(in crate::engine) fn passed(&self, run: usize, find: impl FnOnce() -> Vec<Passed>) -> &[Passed] {
        self.negative.passed.get(run).map_or(&[], |passed| passed.get_or_init(find))
    }

    fn all_over(&self, plan: &Plan, node: Node) -> Vec<Node> {
        let passes = |place: Node| place == node || self.homeward(place).any(|(_, n)| n == node);
        let hung = self.hung(plan).into_iter().filter(|(place, _)| passes(*place));
        let mut all: Vec<Node> = Vec::new();
        for thing in hung.flat_map(|(_, things)| things) {
            if !all.contains(&thing) {
                all.push(thing);
            }
        }
        all
    }

    /// Negatives between what converters feed and the place where their own negative comes to.
    fn behind_converters(&mut self, plan: &Plan, of: &[Vec<Node>]) {
        let mut behind = Vec::new();
        let converter = |n: Node| device_kind(plan, n) == Some(DeviceKind::Converter);
        for (i, _) in self.links.iter().enumerate().filter(|(_, l)| l.role == Role::NegativeMain) {
            let Some(all) = of.get(i).filter(|all| !all.is_empty()) else { continue };
            for device in (0..plan.devices.len()).filter(|d| converter(Node::Device(*d))) {
                let node = Node::Device(device);
                let gives = |l: &&super::Link| l.role != Role::NegativeMain && l.near() == Some(node);
                let fed = |n: &Node| self.links.iter().filter(gives).any(|l| l.away.contains(n));
                let Some(own) = self.way_back(node) else { continue };
                if !own.contains(&i) && all.iter().all(fed) {
                    behind.push((i, device));
                    break;
                }
            }
        }
        self.negative.behind = behind;
    }

    /// Turns the negatives drawn by themselves to the post, and says what comes back by them: what has no way back drawn
    /// is counted where all passes.
    fn turn_negatives(
        &mut self,
        plan: &Plan,
        (of, left): (&mut [Vec<Node>], &mut [Vec<Vec<Node>>]),
        lost: &[Node],
        hung: &[(Node, Vec<Node>)],
    ) {
        for (i, (things, left)) in of.iter_mut().zip(left).enumerate() {
            let Some(link) = self.links.get(i).filter(|l| l.role == Role::NegativeMain) else { continue };
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            // From no way at all to the post, the thing is the far end.
            let far = |n: Node| match self.negative.toward.get(self.slot(n)).copied().flatten() {
                _ if n == Node::BankMinus => (false, 0, 0),
                Some((_, here)) => (false, here, self.slot(n)),
                None => (true, usize::from(self.is_end(n)), self.slot(n)),
            };
            let near_from = far(from) <= far(to);
            let trunk = |n: Node| n == Node::BankMinus || device_kind(plan, n) == Some(DeviceKind::Shunt);
            let ends = [from, to];
            if ends.into_iter().any(trunk) && !ends.into_iter().any(is_thing) {
                join(things, lost.to_vec());
                left.iter_mut().for_each(|set| join(set, lost.to_vec()));
            }
            if !self.has_way_back(from) && !self.has_way_back(to) {
                things.extend(ends.into_iter().filter(|n| is_thing(*n)));
            }
            // Between the posts of two batteries in series it carries all there is.
            if ends.contains(&Node::Bank) {
                *things = hung.iter().flat_map(|(_, t)| t.iter().copied()).collect();
                left.clear();
            }
            if let Some(link) = self.links.get_mut(i) {
                (link.near_from, link.away, link.left_with) = (near_from, std::mem::take(things), std::mem::take(left));
            }
        }
    }

    /// Of pairs whose negative brings back something else than their positive feeds: what. Things that have no way back
    /// drawn come back beside their positive.
    fn backs(
        &self,
        plan: &Plan,
        of: Vec<Vec<Node>>,
        left: &mut [Vec<Vec<Node>>],
        lost: &[Node],
        past: &dyn Fn(usize, &Node) -> bool,
    ) -> Vec<Option<Vec<Node>>> {
        let of_pair = |(i, mut things): (usize, Vec<Node>), left: &mut Vec<Vec<Node>>| {
            let link = self.links.get(i)?;
            let pair = plan.runs.get(i)?.return_path == Return::Pair;
            let idle = matches!(link.role, Role::Open | Role::Sense | Role::BatteryLink | Role::NegativeMain);
            if !pair || idle || link.looped || !on_bank_side(link.role) {
                return None;
            }
            let feeds = || link.away.iter().copied().filter(|n| is_thing(*n));
            let beside: Vec<Node> = feeds().filter(|n| lost.contains(n)).collect();
            left.iter_mut().for_each(|set| join(set, beside.clone()));
            things.extend(beside);
            let same = feeds().all(|n| things.contains(&n)) && things.iter().all(|n| link.away.contains(n));
            (!same || things.iter().any(|n| past(i, n))).then_some(things)
        };
        of.into_iter().enumerate().zip(left).map(|(of, left)| of_pair(of, left)).collect()
    }

    /// Adds to the ways of the bank what their current comes back by: negatives drawn by themselves and those of pairs
    /// that lie elsewhere, at the bank's end of the way. Of pairs whose negative it does not come back by, their positive.
    pub(super) fn add_returns(&self, plan: &Plan, ways: &mut [Way]) {
        for way in ways {
            let outward = match way.kind {
                PathKind::Array | PathKind::ChargerInput => continue,
                PathKind::ControllerBank | PathKind::Charger => false,
                PathKind::Inverter | PathKind::CriticalLoad | PathKind::OtherLoad => true,
            };
            let hangs = self.hangs_on(way.end);
            if self.beside(plan, way, hangs, outward) {
                continue;
            }
            let Some(back) = self.way_back(hangs) else { continue };
            let pair = |i: usize| plan.runs.get(i).is_some_and(|r| r.return_path == Return::Pair);
            let out = way.runs.iter().filter(|i| pair(**i) && !back.contains(i)).map(|i| (*i, Half::Positive));
            let more: Vec<usize> = back.iter().copied().filter(|i| !way.runs.contains(i)).collect();
            let home = more.iter().filter(|i| pair(**i)).map(|i| (*i, Half::Negative));
            way.halves = out.chain(home).collect();
            // Batteries in parallel do as one.
            let mut alike = Vec::new();
            for (i, half) in way.halves.iter().filter(|(i, _)| self.own_way_of(*i).is_some()) {
                let others = self.own_ways.iter().flatten().filter(|j| *j != i && !way.runs.contains(j));
                alike.extend(others.map(|j| (*j, *half)));
            }
            way.halves.extend(alike);
            if outward {
                way.runs.splice(0..0, more.into_iter().rev());
            } else {
                way.runs.extend(more);
            }
        }
    }

    /// Where a thing hangs: loads whose runs are not drawn hang on the panel.
    pub(in crate::engine) fn hangs_on(&self, end: Node) -> Node {
        match (end, self.panel) {
            (Node::Load(i), Some(panel)) if self.undrawn.contains(&i) => Node::Device(panel),
            _ => end,
        }
    }

    /// Whether the current of a way comes back all the way beside its positives.
    fn beside(&self, plan: &Plan, way: &Way, end: Node, outward: bool) -> bool {
        let mut here = end;
        let mut step = |i: &usize| {
            let (Some(run), Some(link)) = (plan.runs.get(*i), self.links.get(*i)) else { return false };
            let pair = run.return_path == Return::Pair && link.role != Role::Sense;
            let Some((from, to)) = self.negative_of(*i).filter(|_| pair) else { return false };
            let (near, far) = if here == from { (to, from) } else { (from, to) };
            let is = far == here;
            here = near;
            is
        };
        let all = if outward { way.runs.iter().rev().all(&mut step) } else { way.runs.iter().all(step) };
        all && here == Node::BankMinus
    }
}
