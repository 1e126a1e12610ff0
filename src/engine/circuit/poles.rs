//! Where a drawing joins plus with the negative side or the chassis, with no load and no source between.

use crate::engine::resistance::fuses;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, FieldPath, Plan, Run};
use crate::standards::conductor::area_mm2;

use super::role::on_bank_side;
use super::{Circuit, Node, Role, device_kind, is_thing};

/// What a run joins plus with.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::engine) enum Minus {
    Chassis,
    /// A place on the negative side.
    Place(Node),
    /// The negative terminal of a thing: plus stands on both.
    Thing(Node),
}

/// Most copper of a lone lead to a shunt that may be for its volts alone, mm2. Source: our own choice; such leads are of 0.5
/// to 1.5 mm2, from memory.
const SENSE_MM2: f64 = 2.5;

/// Largest fuse of a lead to a shunt for its volts alone, A. Source: our own choice; they are of 1 A or so, from memory.
const SENSE_FUSE_A: f64 = 5.0;

/// Whether a lone lead from plus to a shunt is one for the shunt's volts alone: thin, or fused for no more than that. What is
/// thicker, with no fuse or a larger one, carries what the bank can drive.
pub(in crate::engine) fn senses(run: &Run) -> bool {
    let fused = run.protection.iter().filter(|f| f.state.stays());
    let small = fused.filter_map(|f| f.amps_a.known()).any(|a| a.0 <= SENSE_FUSE_A);
    small || run.gauge.known().is_none_or(|g| area_mm2(*g) <= SENSE_MM2)
}

/// What is known of the pole that a run leaves a place from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    Plus,
    /// A bar that may be of both poles: the pair that feeds it has its negative elsewhere at its other end, and does not say
    /// where at this one.
    Asks(usize),
    Other,
}

impl Circuit {
    /// The places that the bank's plus reaches over positives; [`Circuit::plus`] once the circuit is made.
    pub(super) fn plus_places(&self) -> Vec<bool> {
        let mut plus = vec![false; self.offsets[5]];
        let mut stack = vec![Node::Bank];
        while let Some(node) = stack.pop() {
            let Some(mark) = plus.get_mut(self.slot(node)) else { continue };
            if std::mem::replace(mark, true) || (node != Node::Bank && self.is_end(node)) {
                continue;
            }
            let leads = |i: &&usize| on_bank_side(self.role(**i)) && self.role(**i) != Role::Sense;
            stack.extend(self.at(node).iter().filter(leads).filter_map(|i| self.other(*i, node)));
        }
        plus
    }

    /// The runs that bring plus from the bank to a place, one left out.
    pub(in crate::engine) fn plus_way(&self, place: Node, but: usize) -> Vec<usize> {
        let may = |r: Role| on_bank_side(r) && r != Role::Sense;
        let mut runs = self.way(place, but, |n| n == Node::Bank, may).unwrap_or_default();
        runs.reverse();
        runs
    }

    /// Where a run joins the two poles: the place on plus, and what it joins that with. A bar that pairs lead to without a word
    /// of their negative has both poles. Where the pair that feeds it has its negative from a place of the negative alone,
    /// and does not say where it ends at the bar, nothing says which pole a run of its own leaves it from.
    pub(in crate::engine) fn joins_poles(&self, plan: &Plan, plus: &[bool], run: usize) -> Option<(Node, Minus)> {
        let (own, link) = (plan.runs.get(run)?, self.links.get(run)?);
        let chassis = |n: Node| device_kind(plan, n) == Some(DeviceKind::Chassis);
        if link.role == Role::Bond {
            let far = [link.from, link.to].into_iter().flatten().find(|n| !chassis(*n))?;
            return self.is_at_plus(plan, plus, far, run).then_some((far, Minus::Chassis));
        }
        if own.return_path != Return::None {
            return self.names_plus(plan, plus, run);
        }
        let ways = [(link.from?, link.to?), (link.to?, link.from?)];
        if link.from == link.to || ways[0] == (Node::Bank, Node::BankMinus) || ways[1] == (Node::Bank, Node::BankMinus)
        {
            return None;
        }
        if link.role == Role::NegativeMain {
            return ways.into_iter().find_map(|(x, y)| self.negative_on(plan, plus, run, x, y));
        }
        if !on_bank_side(link.role) || (link.role == Role::Sense && senses(own)) {
            return None;
        }
        let short = |(x, y): &(Node, Node)| self.is_plus(plus, *x) && self.is_bar_of_negatives(plan, *y, run);
        ways.into_iter().find(short).map(|(x, y)| (x, Minus::Place(y)))
    }

    fn is_plus(&self, plus: &[bool], node: Node) -> bool {
        plus.get(self.slot(node)) == Some(&true)
    }

    /// A negative of its own between two places, one of them on plus.
    fn negative_on(&self, plan: &Plan, plus: &[bool], run: usize, x: Node, y: Node) -> Option<(Node, Minus)> {
        if !self.is_at_plus(plan, plus, x, run) {
            return None;
        }
        if y != Node::BankMinus && self.is_end(y) {
            let alone = self.holders(x, run).is_empty() && is_thing(y) && self.tells_negative(plan);
            return alone.then_some((x, Minus::Thing(y)));
        }
        let home = self.joined_to(y, Some(run), &[x]).contains(&Node::BankMinus) || self.is_minus_of_things(y, run);
        (home && !self.is_at_plus(plan, plus, y, run)).then_some((x, Minus::Place(y)))
    }

    /// A pair whose negative is said to end on plus.
    fn names_plus(&self, plan: &Plan, plus: &[bool], run: usize) -> Option<(Node, Minus)> {
        let (from, to) = self.negative_of(run)?;
        let link = self.links.get(run)?;
        let mut named = link.negatives.into_iter().flatten().filter(|n| *n != Node::Bank);
        named.find_map(|x| {
            let y = if from == x { to } else { from };
            let at_plus = (from == x || to == x) && self.is_at_plus(plan, plus, x, run) && self.tells_negative(plan);
            match (at_plus, is_thing(y)) {
                (true, true) => Some((x, Minus::Thing(y))),
                (true, false) => {
                    let elsewhere = ![link.from, link.to].contains(&Some(x));
                    let home = y == Node::BankMinus || self.has_way_back(y);
                    // A fuse panel has a bar for the negatives of its branches.
                    let panel = device_kind(plan, x) == Some(DeviceKind::FusePanel);
                    (elsewhere && home && !panel && self.holders(x, run).is_empty()).then_some((x, Minus::Place(y)))
                }
                _ => None,
            }
        })
    }

    /// Whether what is drawn says where the negative is: at the bank's post, or at a shunt.
    fn tells_negative(&self, plan: &Plan) -> bool {
        let shunt = |i: usize| {
            device_kind(plan, Node::Device(i)) == Some(DeviceKind::Shunt) && self.has_way_back(Node::Device(i))
        };
        self.negatives_at(Node::BankMinus).next().is_some() || (0..plan.devices.len()).any(shunt)
    }

    /// The other negatives that end on a place, with where they lead. Those that things are said to have there, or have there beside
    /// another one, do not count: that may be what is wrong.
    fn holders(&self, node: Node, run: usize) -> Vec<(usize, Node)> {
        let has_another = |thing: Node| self.negatives_at(thing).nth(1).is_some();
        let said = |(i, other): &(usize, Node)| {
            is_thing(*other) && (self.names(*i, node) || (self.role(*i) == Role::NegativeMain && has_another(*other)))
        };
        self.negatives_at(node).filter(|x| x.0 != run && !said(x)).collect()
    }

    /// Whether a run says that its negative ends on a place.
    fn names(&self, run: usize, node: Node) -> bool {
        self.links.get(run).is_some_and(|link| link.negatives.contains(&Some(node)))
    }

    /// Whether a run that ends on a place with one conductor is on plus there.
    fn is_at_plus(&self, plan: &Plan, plus: &[bool], node: Node, run: usize) -> bool {
        self.pole_at(plan, plus, node, run) == At::Plus
    }

    /// What has to be known before anything can be said of the pole that a run of its own leaves a bar from: where the
    /// negative of the pair that feeds the bar ends there.
    pub(in crate::engine) fn asks_pole(&self, plan: &Plan, plus: &[bool], run: usize) -> Option<FieldPath> {
        let link = self.links.get(run)?;
        let single = matches!(link.role, Role::Bond | Role::NegativeMain);
        // Of a pair where it says that its negative is.
        let ends = if single { [link.from, link.to] } else { link.negatives };
        ends.into_iter().flatten().find_map(|node| {
            let At::Asks(pair) = self.pole_at(plan, plus, node, run) else { return None };
            let field = if self.links.get(pair)?.from == Some(node) { "negative_from" } else { "negative_to" };
            Some(FieldPath::new(format!("runs.{}.{field}", plan.runs.get(pair)?.id)))
        })
    }

    fn pole_at(&self, plan: &Plan, plus: &[bool], node: Node, run: usize) -> At {
        use DeviceKind::{Breaker, Bus, Isolator, Splice, Switch};
        let either = |is: bool| if is { At::Plus } else { At::Other };
        if node == Node::Bank {
            return At::Plus;
        }
        if !matches!(node, Node::Device(_)) || self.is_end(node) || !self.is_plus(plus, node) {
            return At::Other;
        }
        // A converter has a terminal of its own for the one minus of both its sides.
        if device_kind(plan, node) == Some(DeviceKind::Converter) && self.role(run) == Role::NegativeMain {
            return At::Other;
        }
        let holders = self.holders(node, run);
        if holders.is_empty() {
            // A panel that loads without runs hang on has a bar for their negatives.
            let hosts = matches!(node, Node::Device(i) if self.panel == Some(i)) && !self.undrawn.is_empty();
            let is_minus = hosts || self.is_minus_of_panel(plan, node, run);
            return either(!(is_minus && self.role(run) == Role::NegativeMain));
        }
        // A negative drawn to it by itself says that it has both poles.
        if holders.iter().any(|(i, _)| self.role(*i) == Role::NegativeMain) {
            return At::Other;
        }
        let home = |start: Node, barred: &[Node]| {
            start == Node::BankMinus || self.joined_to(start, Some(run), barred).contains(&Node::BankMinus)
        };
        // The pair that feeds it has its negative from a place of the negative alone.
        let alone = |(i, other): &&(usize, Node)| {
            !is_thing(*other) && !self.is_plus(plus, *other) && self.names(*i, *other) && home(*other, &[node])
        };
        match device_kind(plan, node) {
            // One pole alone goes through these; of pairs they part both.
            Some(Switch | Breaker | Isolator) if self.role(run) == Role::Bond => either(home(node, &[])),
            Some(Switch | Breaker | Isolator) => either(holders.iter().any(|x| alone(&x))),
            Some(Bus | Splice) => match holders.iter().find(alone) {
                Some((pair, _)) if !self.names(*pair, node) => At::Asks(*pair),
                _ => At::Other,
            },
            _ => At::Other,
        }
    }

    /// Whether a negative may be that of a fuse panel itself: it leads to where the negatives of its loads do, or these end on it, if they have any of their own,
    /// and has no fuse, unless there is no other one.
    fn is_minus_of_panel(&self, plan: &Plan, node: Node, run: usize) -> bool {
        let negative = |i: usize| self.role(i) == Role::NegativeMain;
        let is_fused = plan.runs.get(run).is_some_and(|r| fuses(r).next().is_some());
        if device_kind(plan, node) != Some(DeviceKind::FusePanel)
            || (is_fused && self.at(node).iter().any(|i| *i != run && negative(*i)))
        {
            return false;
        }
        let far = self.other(run, node).filter(|n| !is_thing(*n));
        let fed = self
            .at(node)
            .iter()
            .filter(|i| !negative(**i))
            .filter_map(|i| self.other(*i, node))
            .filter(|n| is_thing(*n));
        let (mut any, mut same) = (false, false);
        for load in fed {
            for at in self.at(load).iter().filter(|i| negative(**i)).filter_map(|i| self.other(*i, load)) {
                (any, same) = (true, same || far == Some(at) || at == node);
            }
        }
        far.is_some() && (same || !any)
    }

    /// Whether nothing but negatives, that lead to the post, and bonds hang on a place beside a run.
    fn is_bar_of_negatives(&self, plan: &Plan, node: Node, run: usize) -> bool {
        let of_negative =
            |i: &usize| *i == run || matches!(self.role(*i), Role::NegativeMain | Role::Bond | Role::Dead);
        matches!(node, Node::Device(_))
            && !self.is_end(node)
            // It holds the fuses of positives, whatever hangs on it.
            && device_kind(plan, node) != Some(DeviceKind::FusePanel)
            && self.at(node).iter().all(of_negative)
            && self.negatives_at(node).any(|(i, _)| i != run)
            && (self.has_way_back(node) || self.is_minus_of_things(node, run))
    }

    /// Whether things have their minus on a place, by conductors of its own: what brings plus there shorts the bank as soon as any of them
    /// leads on.
    fn is_minus_of_things(&self, node: Node, run: usize) -> bool {
        let own = |(i, other): (usize, Node)| i != run && is_thing(other) && self.role(i) == Role::NegativeMain;
        self.negatives_at(node).any(own)
    }

    /// The place of the negative side that most pairs name; where none does the shunt, or the bank's post.
    pub(in crate::engine) fn negative_place(&self, plan: &Plan) -> Node {
        let plus = self.plus.as_slice();
        let named = self.links.iter().flat_map(|link| link.negatives).flatten();
        let mut counts: Vec<(Node, usize)> = Vec::new();
        for node in
            named.filter(|n| !self.is_end(*n) && !is_thing(*n) && !self.is_plus(plus, *n) && self.has_way_back(*n))
        {
            match counts.iter_mut().find(|(n, _)| *n == node) {
                Some((_, count)) => *count += 1,
                None => counts.push((node, 1)),
            }
        }
        let most = counts.iter().rev().max_by_key(|(_, count)| *count).map(|(n, _)| *n);
        let shunt = || {
            let all = (0..plan.devices.len()).filter(|i| plan.devices.get(*i).is_some_and(|d| d.state.stays()));
            all.map(Node::Device).find(|n| device_kind(plan, *n) == Some(DeviceKind::Shunt) && !self.is_plus(plus, *n))
        };
        most.or_else(shunt).unwrap_or(Node::BankMinus)
    }
}

/// What a node is called: by its id, the bank's posts by theirs.
pub(in crate::engine) fn name_of(plan: &Plan, node: Node) -> String {
    match node {
        Node::Bank => crate::plan::BANK_ID.into(),
        Node::BankMinus => "BK-".into(),
        _ => super::path_at(plan, node).map_or_else(String::new, |p| p.split_last().1.to_string()),
    }
}
