//! What every run asks while a circuit is made, found once for all: in a plan of hundreds of runs most hang on a few bars,
//! and looking round the whole circuit for each of them takes the square of their number.

use crate::plan::Plan;

use super::role::on_bank_side;
use super::{Circuit, Node};

/// What lies round a place, over all its runs.
pub(super) struct Rounds {
    found: Vec<Option<Vec<Node>>>,
    seen: Vec<bool>,
    /// Whether negatives are known, which lead to nothing that a positive feeds.
    parted: bool,
}

impl Rounds {
    pub(super) fn new(circuit: &Circuit, parted: bool) -> Self {
        let places = circuit.places();
        Self { found: vec![None; places], seen: vec![false; places], parted }
    }

    /// Terminals on both sides of a run.
    pub(super) fn sides(
        &mut self,
        circuit: &Circuit,
        ends: (Option<Node>, Option<Node>),
        skip: &impl Fn(usize) -> bool,
    ) -> (Vec<Node>, Vec<Node>) {
        // Behind a place that nothing else hangs on lies itself alone: all the rest is what lies round the other end.
        let is_last = |n: Node| circuit.at(n).len() == 1;
        match ends {
            (Some(from), Some(to)) if from != to && is_last(to) => {
                let beyond = circuit.side(to, skip, &mut self.seen);
                (self.round_but(circuit, from, &beyond), beyond)
            }
            (Some(from), Some(to)) if from != to && is_last(from) => {
                let beyond = circuit.side(from, skip, &mut self.seen);
                let round = self.round_but(circuit, to, &beyond);
                (beyond, round)
            }
            (from, to) => {
                let mut side = |n: Option<Node>| n.map(|n| circuit.side(n, skip, &mut self.seen)).unwrap_or_default();
                (side(from), side(to))
            }
        }
    }

    fn round_but(&mut self, circuit: &Circuit, node: Node, but: &[Node]) -> Vec<Node> {
        let Self { found, seen, parted } = self;
        let Some(kept) = found.get_mut(circuit.slot(node)) else { return Vec::new() };
        let all = kept.get_or_insert_with(|| circuit.side(node, |i| *parted && circuit.is_negative(i), seen));
        all.iter().copied().filter(|n| !but.contains(n)).collect()
    }

    /// For the sides that lie otherwise than the runs alone say.
    pub(super) fn seen(&mut self) -> &mut [bool] {
        &mut self.seen
    }
}

/// The shortest ways from places to the bank.
pub(super) struct WaysToBank {
    found: Vec<Option<Option<Vec<usize>>>>,
}

impl WaysToBank {
    pub(super) fn new(circuit: &Circuit) -> Self {
        Self { found: vec![None; circuit.places()] }
    }

    /// The way from a place that does without a run: [`Circuit::way`] over the bank's side.
    pub(super) fn without(&mut self, circuit: &Circuit, node: Node, skip: usize) -> Option<Vec<usize>> {
        let kept = self.found.get_mut(circuit.slot(node))?;
        let way = kept.get_or_insert_with(|| circuit.way(node, usize::MAX, |n| n == Node::Bank, on_bank_side));
        // A run that the shortest way does not go over changes nothing of it.
        if way.as_ref().is_some_and(|runs| runs.contains(&skip)) {
            return circuit.way(node, skip, |n| n == Node::Bank, on_bank_side);
        }
        way.clone()
    }

    /// The way from a thing; where a single run leaves it, that run and the way from its other end.
    pub(super) fn of(&mut self, circuit: &Circuit, thing: Node) -> Option<Vec<usize>> {
        let [run] = circuit.at(thing) else { return self.without(circuit, thing, usize::MAX) };
        let next = circuit.other(*run, thing).filter(|n| *n != Node::Bank && !circuit.is_end(*n));
        let Some(next) = next.filter(|_| on_bank_side(circuit.role(*run)) && thing != Node::Bank) else {
            return self.without(circuit, thing, usize::MAX);
        };
        let mut runs = vec![*run];
        runs.extend(self.without(circuit, next, *run)?);
        Some(runs)
    }
}

impl Circuit {
    /// Places from which a battery is reached over the bank's side.
    pub(super) fn behind_batteries(&self, plan: &Plan) -> Vec<bool> {
        let mut reached = vec![false; self.places()];
        let engine = (0..plan.devices.len()).map(Node::Device).filter(|n| self.is_of_engine(*n));
        let mut open: Vec<Node> = [Node::Bank, Node::BankMinus].into_iter().chain(engine).collect();
        for node in &open {
            if let Some(mark) = reached.get_mut(self.slot(*node)) {
                *mark = true;
            }
        }
        while let Some(node) = open.pop() {
            for &i in self.at(node).iter().filter(|i| on_bank_side(self.role(**i))) {
                let Some(other) = self.other(i, node) else { continue };
                let Some(mark) = reached.get_mut(self.slot(other)) else { continue };
                // What ends a way is reached, but nothing is reached over it.
                if !std::mem::replace(mark, true) && !self.is_end(other) {
                    open.push(other);
                }
            }
        }
        reached
    }
}
