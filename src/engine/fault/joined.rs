//! A fault is fed by every battery that reaches its place: beside the one that it is reckoned from those that isolators,
//! relays and bus bars join to it, each through its own cable, there and back. A relay is taken as closed.

use crate::engine::circuit::Node;
use crate::engine::context::{Context, finite};
use crate::plan::{FieldPath, Figure, Protection, Run};
use crate::standards::chemistry::lead_main_interrupt_a;

use super::cold::{any_start, frame};
use super::{Back, Fault, Over, Source, beside, home, known_or_none, own_ohm, start_battery, start_source};
use crate::engine::vehicle;

/// A fuse, and what feeds it.
#[derive(Clone, Copy)]
pub(super) struct Fed<'a> {
    pub(super) c: &'a Context<'a>,
    pub(super) source: &'a Figure<Source>,
    pub(super) index: usize,
    pub(super) run: &'a Run,
    pub(super) fuse: &'a Protection,
    pub(super) over: Over,
}

/// A battery and the ohms of its own loop up to where it meets the others.
#[derive(Clone, Copy)]
pub(super) struct Branch {
    pub(super) volts: f64,
    pub(super) ohm: f64,
    pub(super) margin: f64,
    /// Its cold cranking amps, where the table's row of them is its figure.
    pub(super) cca: Option<f64>,
}

impl Branch {
    /// A battery behind so many ohms, its own among them.
    pub(super) fn of(source: &Source, ohm: f64) -> Self {
        Self { volts: source.volts, ohm, margin: source.margin, cca: source.row_cca }
    }
}

/// What batteries drive together: by the table alone no more is asked than the row of all their cold cranking amps.
///
/// Source: ABYC E-11, interrupting capacity by the cold cranking amps of all batteries connected.
pub(super) fn driven(branches: &[Branch], amps: f64) -> Fault {
    let row = branches.iter().map(|b| b.cca).sum::<Option<f64>>().map_or(f64::MAX, lead_main_interrupt_a);
    Fault { amps: amps.min(row), margin: branches.iter().map(|b| b.margin).fold(1.0, f64::max) }
}

/// The start battery behind some runs that lead to it.
fn joined_source(c: &Context<'_>, index: usize, runs: &[usize]) -> Figure<Source> {
    let battery = runs.iter().rev().find_map(|i| vehicle::battery_of(c, *i, &[]));
    match battery {
        Some(_) => start_source(c, battery, vehicle::twelves(c, index)),
        None => start_battery(c, index, &[]),
    }
}

/// What batteries drive together through ohms that they share.
///
/// Source: Millman's theorem, of Kirchhoff's laws for parallel branches.
fn together(branches: &[Branch], shared_ohm: f64) -> Figure<Fault> {
    let siemens = |b: &Branch| 1.0 / b.ohm.max(1e-9);
    let all: f64 = branches.iter().map(siemens).sum();
    let sum: f64 = branches.iter().map(|b| b.volts * siemens(b)).sum();
    let amps = finite(sum / (1.0 + shared_ohm.max(0.0) * all), || FieldPath::new("bank.unit_v"))?;
    Ok(driven(branches, amps))
}

/// Where some runs lead from a place.
fn end_of(c: &Context<'_>, place: Node, runs: &[usize]) -> Node {
    let over = |node: Node, i: &usize| {
        let link = c.circuit.links.get(*i);
        link.and_then(|l| if l.from == Some(node) { l.to } else { l.from }).unwrap_or(node)
    };
    runs.iter().fold(place, over)
}

/// The larger of two by what a fuse must open.
pub(super) fn larger(a: Fault, b: Option<Fault>) -> Fault {
    b.filter(|b| b.needed_a() > a.needed_a()).unwrap_or(a)
}

impl<'a> Fed<'a> {
    fn back(&self) -> Back {
        if self.over.frame { Back::Frame(0.0) } else { Back::Negatives }
    }

    /// Cold ohms of some runs, there and back.
    fn cable_ohm(&self, runs: &[usize]) -> Figure<f64> {
        let of = |i: &usize| {
            let ohm = known_or_none(self.back().ohm_of(self.c, *i), self.over.unknown_is_none)?;
            Ok(ohm / beside(self.c, *i))
        };
        runs.iter().map(of).sum()
    }

    fn own_ohm(&self, from: bool) -> Figure<f64> {
        known_or_none(
            own_ohm(self.c, (self.index, self.run), self.fuse, from, self.over.frame),
            self.over.unknown_is_none,
        )
    }

    fn starts_at(&self, place: Option<Node>) -> Vec<Vec<usize>> {
        let place = place.filter(|_| any_start(self.c));
        place.map_or_else(Vec::new, |n| self.c.circuit.starts_at(self.c.plan, n, self.index))
    }

    /// A start battery behind some runs of a way.
    fn start(&self, runs: &[usize]) -> Figure<Branch> {
        let source = joined_source(self.c, self.index, runs)?;
        Ok(Branch::of(&source, source.ohm() + self.cable_ohm(runs)?))
    }

    /// The start batteries that reach a place or the bank, each with where it stands, its way and its own ohms alone.
    pub(super) fn joined_to(&self, place: Node) -> Figure<Vec<(Node, Vec<usize>, Branch)>> {
        let mut all: Vec<(Node, Vec<usize>, Branch)> = Vec::new();
        for from in [place, Node::Bank] {
            for way in self.starts_at(Some(from)) {
                let stands = end_of(self.c, from, &way);
                if all.iter().all(|(other, ..)| *other != stands) {
                    let source = joined_source(self.c, self.index, &way)?;
                    all.push((stands, way, Branch::of(&source, source.ohm())));
                }
            }
        }
        Ok(all)
    }

    /// What the start batteries that reach one end of the fuse's run drive alone; none where none does.
    fn starts_alone(&self, from: bool) -> Figure<Option<Fault>> {
        let link = self.c.circuit.links.get(self.index);
        let ways = self.starts_at(link.and_then(|l| if from { l.from } else { l.to }));
        if ways.is_empty() {
            return Ok(None);
        }
        let branches = ways.iter().map(|way| self.start(way)).collect::<Figure<Vec<_>>>()?;
        Ok(Some(together(&branches, self.own_ohm(from)?)?))
    }

    /// Where no bank drives a fault: what start batteries do from either end.
    pub(super) fn by_joined_alone(&self) -> Figure<Option<Fault>> {
        Ok(match (self.starts_alone(true)?, self.starts_alone(false)?) {
            (Some(a), b) => Some(larger(a, b)),
            (None, b) => b,
        })
    }

    /// A fault of the bank at the near end of a fuse's run, by its way there, with the start batteries that meet it on that
    /// way; or what those at the other end drive through the fuse, where that is more.
    pub(super) fn larger(&self, bank: Fault, upstream: &[usize], back: Back) -> Figure<Fault> {
        let Some(link) = self.c.circuit.links.get(self.index) else { return Ok(bank) };
        let mut all = bank;
        let ways = self.starts_at(link.near());
        if !ways.is_empty() {
            let backwards: Vec<usize> = upstream.iter().rev().copied().collect();
            // How far each goes along the bank's way: they part where the first of them does.
            let along = |way: &Vec<usize>| way.iter().zip(&backwards).take_while(|(a, b)| a == b).count();
            let shared = ways.iter().map(along).min().unwrap_or(0);
            let common = backwards.get(..shared).unwrap_or_default();
            let apart = |way: &Vec<usize>| self.start(way.get(shared..).unwrap_or_default());
            let branches = ways.iter().map(apart).collect::<Figure<Vec<_>>>()?;
            let shared_ohm = self.own_ohm(link.near_from)? + self.common_ohm(common, back)?;
            all = self.with_bank_ohm(bank, branches, shared_ohm)?;
        }
        Ok(larger(all, self.starts_alone(!link.near_from)?))
    }

    /// Cold ohms of runs that the bank's way shares, positives and what comes back from the fault's place to where they begin.
    fn common_ohm(&self, common: &[usize], back: Back) -> Figure<f64> {
        let (Back::Home(all), Some(first)) = (back, common.last()) else { return self.cable_ohm(common) };
        let unknown_is_none = self.over.unknown_is_none;
        let leads_apart = self.source.as_ref().is_ok_and(|s| !s.assumed);
        let at_first = match home::negatives(self.c, *first, leads_apart, unknown_is_none)? {
            Back::Home(ohm) => ohm,
            _ => 0.0,
        };
        let out = |i: &usize| known_or_none(Back::Home(0.0).ohm_of(self.c, *i), unknown_is_none);
        Ok(common.iter().map(out).sum::<Figure<f64>>()? + (all - at_first).max(0.0))
    }

    /// A fault of the bank alone, through so many ohms that it shares with others, with those.
    fn with_bank_ohm(&self, bank: Fault, mut branches: Vec<Branch>, shared_ohm: f64) -> Figure<Fault> {
        let source = self.source.as_ref().map_err(Clone::clone)?;
        let ohm = source.volts / bank.amps.max(1e-9) - shared_ohm;
        branches.push(Branch { margin: bank.margin, ..Branch::of(source, ohm) });
        together(&branches, shared_ohm)
    }

    /// At a fuse on one battery's own lead what all the others drive, with the start batteries beyond the place where they meet;
    /// `after` are its runs from the fuse's to that place.
    pub(super) fn by_others(&self, others: Fault, shared_ohm: f64, after: &[usize]) -> Figure<Fault> {
        let Some(link) = self.c.circuit.links.get(self.index) else { return Ok(others) };
        let ways = self.starts_at(link.far());
        if ways.is_empty() {
            return Ok(others);
        }
        let beyond = |way: &Vec<usize>| way.iter().copied().filter(|i| !after.contains(i)).collect::<Vec<_>>();
        let branches = ways.iter().map(|way| self.start(&beyond(way))).collect::<Figure<Vec<_>>>()?;
        self.with_bank_ohm(others, branches, shared_ohm)
    }

    /// A fault that a start battery drives over a line of its own, with the bank that an isolator joins to it.
    pub(super) fn with_bank(&self, alone: Fault, vehicle: &Source, from: bool, upstream: &[usize]) -> Figure<Fault> {
        let c = self.c;
        let link = c.circuit.links.get(self.index);
        let near = link.and_then(|l| if from { l.from } else { l.to });
        let first = upstream.first().and_then(|i| c.circuit.links.get(*i));
        let ends = first.map_or([near, None], |l| [l.from, l.to]);
        let starts = |n: &Node| crate::engine::circuit::is_start(c.plan, *n);
        let Some(Node::Device(battery)) = ends.into_iter().flatten().find(starts) else { return Ok(alone) };
        let Some(way) = c.circuit.straight_to_bank(c.plan, battery) else { return Ok(alone) };
        let mut beside_ohm = 0.0;
        if self.over.frame {
            let Some(Back::Frame(ohm)) = frame(c)? else { return Ok(alone) };
            beside_ohm = ohm;
        }
        let source = self.source.as_ref().map_err(Clone::clone)?;
        let shared_ohm = vehicle.volts / alone.amps.max(1e-9) - vehicle.ohm();
        let bank = Branch::of(source, source.ohm() + self.cable_ohm(&way)? + beside_ohm);
        together(&[Branch::of(vehicle, vehicle.ohm()), bank], shared_ohm)
    }
}

/// What start batteries drive to the bank's posts, each through its own line; the amps of several are added.
pub(super) fn at_bank_a(c: &Context<'_>) -> Figure<f64> {
    let mut amps = 0.0;
    for way in c.circuit.starts_at(c.plan, Node::Bank, usize::MAX) {
        let source = joined_source(c, usize::MAX, &way)?;
        let mut ohm = source.ohm();
        for i in way {
            ohm += known_or_none(Back::Negatives.ohm_of(c, i), true)? / beside(c, i);
        }
        amps += source.volts / ohm.max(1e-9);
    }
    Ok(amps)
}

/// The batteries that drive a fault at a run's near end beside the one that it is reckoned from.
pub(in crate::engine) fn beside_own(c: &Context<'_>, index: usize) -> Vec<Node> {
    let Some(link) = c.circuit.links.get(index) else { return Vec::new() };
    let mut all = Vec::new();
    let Some(near) = link.near() else { return all };
    let own = link.upstream.iter().rev().copied().collect::<Vec<_>>();
    let source = end_of(c, near, &own);
    let starts = c.circuit.starts_at(c.plan, near, index);
    let others = starts.iter().map(|way| end_of(c, near, way)).filter(|n| *n != source);
    all.extend(others);
    if let Node::Device(battery) = source
        && c.circuit.straight_to_bank(c.plan, battery).is_some_and(|way| !way.is_empty())
    {
        all.push(Node::Bank);
    }
    all
}
