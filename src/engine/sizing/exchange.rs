//! Two runs that are made of something else at once: what no step of one alone comes to, since they share a target, or a
//! spool of the truck.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::context::Context;
use crate::plan::{Run, Step};
use crate::stock::Stock;

use super::Problem;
use super::cheapest::Way;
use super::make::Make;
use super::settle::{Around, At, STEP, brings_any, of_plan, unserved};
use super::truck::Served;
use super::wire::{self, Candidate};

/// Exchanges that are evaluated in one pass, of all gauges and from the truck alone, and such as spools are asked for.
/// Source: our own choice, for time.
const MOST_OF_ALL: usize = 12;
const MOST_FROM_TRUCK: usize = 12;
const MOST_ASKED: usize = 200;

/// How far a way may be over its limit by these sums: what an exchange comes to is evaluated. Source: our own choice.
const SLACK: f64 = 1.01;

/// A run by its place in the plan, and what it is to be made of.
type Remade = (usize, Make);

/// The same by its place among those that are sized, and its candidate.
type Picked<'a> = (usize, &'a Candidate);

impl Engine {
    /// Two runs of other makes, where that costs less and is as good: those on one way, and from the truck alone any two, as
    /// one spool may serve either. Whether any changed.
    pub(super) fn exchanged(&mut self, around: &Around<'_>, at: &mut At) -> bool {
        let Around { was, stock, from_stock_only, .. } = *around;
        let van = from_stock_only.then_some(stock);
        let pairs = of_plan(&at.plan, was, stock, from_stock_only, |c, problem| exchanges(c, problem, van));
        for ((one, of_one), (other, of_other)) in pairs {
            let (Some(a), Some(b)) = (at.plan.runs.get(one), at.plan.runs.get(other)) else { continue };
            let edits = [wire::edits(a, of_one, false), wire::edits(b, of_other, false)].concat();
            let Ok(with) = at.plan.with(&Step { name: String::new(), edits: edits.clone() }) else { continue };
            if from_stock_only && !unserved(around, &at.plan, &with).is_empty() {
                continue;
            }
            let report = self.evaluate_wires(&with, stock);
            let standing = (around.stand)(&with, &report);
            if !brings_any(&at.report, &report) && standing.is_better_than(&at.standing) {
                at.take(edits, (with, report, standing));
                return true;
            }
        }
        false
    }
}

/// Pairs of runs that would cost less of other makes by the sums that gauges are chosen by, what saves most first.
fn exchanges(c: &Context<'_>, problem: &Problem, van: Option<&Stock>) -> Vec<(Remade, Remade)> {
    let mut all: Vec<(f64, Picked<'_>, Picked<'_>)> = Vec::new();
    // Leads of parallel batteries stay alike.
    let alike = problem.alike_places(c).concat();
    let free = |p: usize| !alike.contains(&p);
    for (p, a) in problem.runs.iter().enumerate().filter(|(p, _)| free(*p)) {
        for (q, b) in problem.runs.iter().enumerate().skip(p + 1).filter(|(q, _)| free(*q)) {
            let (Some(of_a), Some(of_b)) = (&a.now, &b.now) else { continue };
            let on = |way: &&Way, place: usize| way.runs.iter().any(|(r, _)| *r == place);
            let ways: Vec<&Way> = problem.ways.iter().filter(|w| on(w, p) || on(w, q)).collect();
            if van.is_none() && !ways.iter().any(|w| on(w, p) && on(w, q)) {
                continue;
            }
            // One costs more, the other less: what both save each would save alone.
            // One costs more and the other less: what both save each would save alone.
            for x in a.candidates.iter().filter(|x| x.make != of_a.make && x.leans <= of_a.leans) {
                let other = |y: &&Candidate| y.make != of_b.make && (y.cost < of_b.cost) == (x.cost > of_a.cost);
                for y in b.candidates.iter().filter(other).filter(|y| y.leans <= of_b.leans) {
                    let saves = of_a.cost + of_b.cost - x.cost - y.cost;
                    if saves > STEP && ways.iter().all(|w| holds(problem, w, (p, x), (q, y))) {
                        all.push((saves, (p, x), (q, y)));
                    }
                }
            }
        }
    }
    all.arrange_by(|x, y| y.0.total_cmp(&x.0));
    let index = |p: usize| problem.runs.get(p).map_or(usize::MAX, |s| s.index);
    let remade = |(_, (p, x), (q, y)): (f64, Picked<'_>, Picked<'_>)| ((index(p), x.make), (index(q), y.make));
    let all = all.into_iter().map(remade);
    match van {
        None => all.take(MOST_OF_ALL).collect(),
        Some(stock) => {
            let before = lacking(c, problem, stock, &[]);
            let serve = |pair: &(Remade, Remade)| lacking(c, problem, stock, &[pair.0, pair.1]) <= before;
            all.take(MOST_ASKED).filter(serve).take(MOST_FROM_TRUCK).collect()
        }
    }
}

/// Whether a way about keeps within its limit, or loses no more than it does, with two runs of other makes.
fn holds(problem: &Problem, way: &Way, one: Picked<'_>, other: Picked<'_>) -> bool {
    let volts = |remade: &[Picked<'_>]| {
        let ohm = |p: usize| {
            let new = remade.iter().find(|(q, _)| *q == p).map(|(_, x)| x.ohm);
            new.or_else(|| problem.runs.get(p)?.now.map(|now| now.ohm)).unwrap_or(0.0)
        };
        way.fixed_v + way.runs.iter().map(|(p, amps)| ohm(*p) * amps).sum::<f64>()
    };
    volts(&[one, other]) <= way.limit_v.max(volts(&[])) * SLACK
}

/// How many runs the spools do not serve, with some of other makes.
fn lacking(c: &Context<'_>, problem: &Problem, stock: &Stock, remade: &[Remade]) -> usize {
    let made: Vec<(usize, Run)> = c
        .plan
        .runs
        .iter()
        .enumerate()
        .map(|(i, run)| match remade.iter().find(|(of, _)| *of == i) {
            Some((_, make)) => (i, wire::with_make(run, *make)),
            None => (i, run.clone()),
        })
        .collect();
    Served::made(stock, made.iter().map(|(i, run)| (*i, run)), |i| !problem.place.contains_key(&i)).without.len()
}
