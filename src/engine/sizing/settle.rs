//! The last word of sizing all: a proposal is taken only where it is better than what is there, and again from there,
//! until nothing is; so what is sized stays as it is when it is sized again.

use std::collections::{BTreeSet, HashMap};

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::circuit::{Circuit, Role};
use crate::engine::context::Context;
use crate::engine::finding::Level;
use crate::engine::price::wire_m;
use crate::engine::report::{Report, RunFigures};
use crate::engine::resistance::{gauge_of, legs};
use crate::plan::{Edit, FieldPath, Id, Plan, Run, Step};
use crate::standards::conductor::area_mm2;
use crate::stock::Stock;

use super::keep::{TOO_SMALL, fuses_cost, leans, leans_anew};
use super::make::{Make, made_of};
use super::spools::on_van;
use super::truck::Served;
use super::wire::Sized;
use super::{Problem, Was, adds_stop, by_gauge, lost, unknown, wire};

/// Most times that all runs are sized anew from what was proposed.
const MOST_PASSES: usize = 12;
/// Most times that ways are found to be out of reach. Source: our own choice.
const MOST_GIVEN_UP: usize = 3;
/// Gauges tried over the one that is there, on a way that loses too much at the end.
const MOST_THICKER: usize = 3;
/// Figures are compared in steps of this, so that better than better is better too.
pub(super) const STEP: f64 = 1e-6;

/// How well a plan's runs are sized, what matters more first: less is better.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing {
    /// Runs that have no gauge yet, and could have one; fuses of unknown rating.
    unknown: usize,
    /// Where only the van's wire may be used: runs for which too little is left of the gauge that they have.
    without: usize,
    /// Stops, then findings that wire cures, or the fuse on it.
    findings: (usize, usize),
    /// Fuses that lean on the next rating up.
    leans: usize,
    /// Runs thinner than practice has them, but for those that were so before anything was sized.
    thin: usize,
    /// Share of its target by which each run's path is over it; where wire gets as thin again as it was, more than it was
    /// to begin with. Summed.
    over: f64,
    /// Where only the van's wire may be used: fuses changed for it, then metres of wire that it does not have.
    new_fuses: usize,
    off_van_m: f64,
    /// Runs of wire without a price, where others have one.
    unpriced: usize,
    /// New fuses without a price, where wire is measured by price.
    unpriced_fuses: usize,
    /// Of new wire and new fuses: price, or copper where a price is not known.
    cost: f64,
    /// Of new bonds: copper, in mm2 times metres.
    bonds: f64,
}

impl Standing {
    pub(super) fn is_better_than(&self, other: &Self) -> bool {
        self.key() < other.key()
    }

    /// The same, but for what it costs.
    pub(super) fn is_righter_than(&self, other: &Self) -> bool {
        self.key()[..11] < other.key()[..11]
    }

    /// The same at a higher cost.
    pub(super) fn dearer(mut self, by: f64) -> Self {
        self.cost += by;
        self
    }

    /// Whether it has fewer mistakes, or no more of them for less: nothing is bought to come nearer to a target that stays missed.
    pub(super) fn is_worth_more_than(&self, other: &Self) -> bool {
        let priced = self.unpriced_fuses <= other.unpriced_fuses;
        let saves = self.leans <= other.leans && priced && self.cost < other.cost - STEP;
        self.findings < other.findings || (self.findings == other.findings && saves)
    }

    fn key(&self) -> [i64; 13] {
        let steps = |x: f64| (x / STEP).round() as i64;
        let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        [
            count(self.unknown),
            count(self.without),
            count(self.findings.0),
            count(self.findings.1),
            count(self.leans),
            count(self.thin),
            steps(self.over),
            count(self.new_fuses),
            steps(self.off_van_m),
            count(self.unpriced),
            count(self.unpriced_fuses),
            steps(self.cost),
            steps(self.bonds),
        ]
    }
}

/// What a plan is measured by.
struct Measure<'a> {
    stock: &'a Stock,
    from_stock_only: bool,
    /// Whether every wire that could be chosen has a price.
    by_price: bool,
    /// The plan before anything was sized, and its answer.
    was: (&'a Plan, &'a Report),
    /// Whether wire gets as thin again as it was.
    thins_back: bool,
}

/// Share of its target by which a run's path is over it.
fn over_target(r: &RunFigures) -> f64 {
    match (&r.path_drop_pct, r.target_pct) {
        (Ok(pct), Some(target)) if target > 0.0 => (pct / target - 1.0).max(0.0),
        _ => 0.0,
    }
}

/// How many runs have other fuses than they had, of those whose rating was known.
fn fuses_changed(was: &Plan, now: &Plan) -> usize {
    let known = |r: &Run| r.protection.iter().all(|f| f.amps_a.known().is_some() && f.family.known().is_some());
    was.runs.iter().zip(&now.runs).filter(|(a, b)| known(a) && a.protection != b.protection).count()
}

/// Copper of all new bonds, mm2 times metres.
fn bond_copper(c: &Context<'_>) -> f64 {
    let bonds = c.plan.runs.iter().zip(&c.circuit.links).filter(|(_, l)| l.role == Role::Bond);
    let new = bonds.flat_map(|(run, _)| legs(run).filter(|l| wire::is_new(l)).map(move |leg| (run, leg)));
    let each = new.filter_map(|(run, leg)| Some(area_mm2(gauge_of(run, leg).ok()?) * wire_m(run, leg).ok()?));
    each.sum()
}

impl Measure<'_> {
    fn of(&self, c: &Context<'_>, report: &Report, problem: &Problem) -> Standing {
        let count = |what: &dyn Fn(&crate::engine::Finding) -> bool| report.findings.iter().filter(|f| what(f)).count();
        let wired = ["drop-over-target", "bond-small", "dc-dc-drops-out", "terminal-does-not-take", TOO_SMALL];
        let both = report.runs.iter().zip(&self.was.1.runs);
        // From the truck alone no copper is laid for a target that its spools do not reach: what they do is counted among findings.
        let as_was = self.thins_back || self.from_stock_only;
        let over = both.map(|(now, was)| (over_target(now) - if as_was { over_target(was) } else { 0.0 }).max(0.0));
        let mut standing = Standing {
            unknown: unknown::count(c.plan, &c.circuit) + unknown::bare_runs(c.plan, &c.circuit),
            findings: (
                count(&|f| f.level == Level::Stop),
                count(&|f| f.level == Level::Caution && (by_gauge(f) || wired.contains(&f.check.id))),
            ),
            leans: count(&leans),
            thin: 0,
            without: 0,
            over: over.sum(),
            new_fuses: if self.from_stock_only { fuses_changed(self.was.0, c.plan) } else { 0 },
            off_van_m: 0.0,
            unpriced: 0,
            unpriced_fuses: 0,
            cost: 0.0,
            bonds: bond_copper(c),
        };
        if self.by_price {
            (standing.unpriced_fuses, standing.cost) = fuses_cost(c, self.stock);
        }
        for sized in &problem.runs {
            let Some(now) = &sized.now else { continue };
            let least = wire::least_mm2(c, sized.index);
            let lay_there = self.was.0.runs.get(sized.index).and_then(made_of) == Some(now.make);
            standing.thin += usize::from(now.area_mm2 < least - 1e-9 && !lay_there);
            match now.cost_by(self.by_price) {
                Some(cost) => standing.cost += cost,
                None => standing.unpriced += 1,
            }
            let run = c.plan.runs.get(sized.index);
            if self.from_stock_only && !run.is_some_and(|run| on_van(self.stock, run, now.make.gauge)) {
                standing.off_van_m += sized.metres;
            }
        }
        if self.from_stock_only {
            standing.without = Served::of(c, self.stock, |i| !problem.place.contains_key(&i)).without.len();
        }
        standing
    }
}

/// A plan on the way to its sizes.
#[derive(Clone)]
pub(super) struct At {
    pub(super) plan: Plan,
    pub(super) report: Report,
    pub(super) standing: Standing,
    pub(super) edits: Vec<Edit>,
}

impl At {
    /// Goes on to where edits lead.
    pub(super) fn take(&mut self, edits: Vec<Edit>, (plan, report, standing): (Plan, Report, Standing)) {
        self.edits.extend(edits);
        (self.plan, self.report, self.standing) = (plan, report, standing);
    }
}

/// What stays the same on that way.
#[derive(Clone, Copy)]
pub(super) struct Around<'a> {
    /// The plan before anything was sized.
    pub(super) was: Was<'a>,
    /// The answer to it.
    pub(super) before: &'a Report,
    pub(super) stock: &'a Stock,
    pub(super) from_stock_only: bool,
    pub(super) stand: &'a dyn Fn(&Plan, &Report) -> Standing,
    /// The same, once wire gets as thin again as it was.
    pub(super) stand_back: &'a dyn Fn(&Plan, &Report) -> Standing,
}

impl Engine {
    /// Runs sized from where a plan starts: it has the fuses that were put, the plan before anything was sized has not. What
    /// was given up may be in reach of what else was chosen: that is looked at again until it stays.
    pub(super) fn settle(&mut self, of: (&Plan, &Report), start: &Plan, stock: (&Stock, bool)) -> At {
        let (mut at, mut gave_up) = self.settle_in_reach(of, start, stock);
        for _ in 0..MOST_GIVEN_UP {
            if !gave_up {
                break;
            }
            let (plan, report) = (at.plan.clone(), at.report.clone());
            let (next, more) = self.settle_in_reach((&plan, &report), &plan, stock);
            if next.edits.is_empty() {
                break;
            }
            at.edits.extend(next.edits.iter().cloned());
            (at, gave_up) = (At { edits: at.edits, ..next }, more);
        }
        at
    }

    /// The same once: a way that turns out to miss its target with the thickest wire is sized again as one whose target is out
    /// of reach, so that no copper is bought for it. Whether any was.
    fn settle_in_reach(&mut self, of: (&Plan, &Report), start: &Plan, stock: (&Stock, bool)) -> (At, bool) {
        let mut given_up = BTreeSet::new();
        let mut at = self.settle_but_for(of, start, stock, &given_up);
        for _ in 0..MOST_GIVEN_UP {
            let more = lost::ways((of.0, start), &at.plan, stock, &given_up);
            if more.is_empty() {
                break;
            }
            given_up.extend(more);
            at = self.settle_but_for(of, start, stock, &given_up);
        }
        (at, !given_up.is_empty())
    }

    /// The same. `given_up`: ways whose targets are out of reach.
    fn settle_but_for(
        &mut self,
        (plan, before): (&Plan, &Report),
        start: &Plan,
        (stock, from_stock_only): (&Stock, bool),
        given_up: &BTreeSet<usize>,
    ) -> At {
        // Decided once, of fuses that are open as well: what is filled in must not change by what wire is measured.
        let known = unknown::provisional(start, &unknown::open_fuses(start));
        let was = Was { plan, thins_back: false, by_price: true, given_up };
        let by_price = of_plan(&known, was, stock, from_stock_only, |_, problem| problem.is_priced());
        let was = Was { by_price, ..was };
        let stand_by = |thins_back: bool, now: &Plan, report: &Report| {
            let measure = Measure { stock, from_stock_only, by_price, was: (plan, before), thins_back };
            of_plan(now, Was { thins_back, ..was }, stock, from_stock_only, |c, problem| measure.of(c, report, problem))
        };
        let stand = |now: &Plan, report: &Report| stand_by(false, now, report);
        let stand_back = |now: &Plan, report: &Report| stand_by(true, now, report);
        let around = Around { was, before, stock, from_stock_only, stand: &stand, stand_back: &stand_back };
        let report = if start == plan { before.clone() } else { self.evaluate_wires(start, stock) };
        let standing = stand(start, &report);
        let mut at = At { plan: start.clone(), report, standing, edits: Vec::new() };
        self.passes(&around, &mut at);
        let is_open = unknown::count(start, &Circuit::of(start).0) > 0;
        if is_open {
            self.fill(&around, &mut at);
        }
        // What a fuse made thicker that has gone since may go as well, where that is the last word too.
        let mut back = at.clone();
        if self.better(&around, &mut back, true) {
            let changes = back.edits.len();
            self.passes(&around, &mut back);
            if is_open {
                self.fill(&around, &mut back);
            }
            if back.edits.len() == changes && !self.could_mend(&around, &back) {
                at = back;
            }
        }
        at
    }

    /// All runs sized anew until nothing better comes of it.
    pub(super) fn passes(&mut self, around: &Around<'_>, at: &mut At) {
        let Around { was, before, stock, from_stock_only, stand, .. } = *around;
        for _ in 0..MOST_PASSES {
            if !self.stages.wanted.is() {
                break;
            }
            let mut moved = false;
            let mut step = self.size_once(was, &at.plan, stock, from_stock_only);
            if from_stock_only {
                step = served_alone(around, &at.plan, step);
            }
            if !step.edits.is_empty()
                && let Ok(with) = at.plan.with(&step)
            {
                let report = self.evaluate_wires(&with, stock);
                let standing = stand(&with, &report);
                // A stop that a fuse just filled in has brought may go in more than one pass.
                let worse = adds_stop(before, &report) && !adds_stop(before, &at.report);
                // From the van alone no finding is traded for another: what it cannot better stays as it is.
                let worse = worse || (from_stock_only && brings_any(&at.report, &report));
                if standing.is_better_than(&at.standing) && !worse {
                    at.take(step.edits, (with, report, standing));
                    moved = true;
                }
            }
            moved |= self.better(around, at, false);
            moved = moved || self.exchanged(around, at);
            moved = moved || self.with_thinner_bonds(around, at);
            if !moved {
                break;
            }
        }
    }

    /// Whether one run a little thicker, on a way that loses too much, would alone cure that and bring nothing else.
    fn could_mend(&mut self, around: &Around<'_>, at: &At) -> bool {
        let over = at.report.runs.iter().filter(|r| over_target(r) > 0.0);
        let ways: BTreeSet<Id> = over.flat_map(|r| r.path.iter().cloned()).collect();
        let Around { was, stock, from_stock_only, .. } = *around;
        let makes: Vec<(usize, Make)> = of_plan(&at.plan, was, stock, from_stock_only, |c, problem| {
            let on_way = |s: &&Sized| c.plan.runs.get(s.index).is_some_and(|run| ways.contains(&run.id));
            let thicker = problem.runs.iter().filter(on_way).flat_map(|s| {
                let now = s.now.map_or(f64::MAX, |now| now.area_mm2 + 1e-9);
                let mut all: Vec<_> = s.candidates.iter().filter(|x| x.area_mm2 > now).collect();
                all.arrange_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
                all.into_iter().take(MOST_THICKER).map(|x| (s.index, x.make))
            });
            thicker.collect()
        });
        for (index, make) in makes {
            let Some(run) = at.plan.runs.get(index).filter(|_| self.stages.wanted.is()) else { continue };
            let step = Step { name: String::new(), edits: wire::edits(run, make, false) };
            let Ok(with) = at.plan.with(&step) else { continue };
            let report = self.evaluate_wires(&with, stock);
            let standing = (around.stand)(&with, &report);
            if standing.findings < at.standing.findings
                && standing.is_better_than(&at.standing)
                && !brings_any(&at.report, &report)
            {
                return true;
            }
        }
        false
    }

    /// Each run in a cheaper gauge, or one that needs no next rating up, where that brings no finding and leaves all else
    /// as good. `thins_back`: where it got thicker than it was, even on a path that is over its target. Whether any was.
    fn better(&mut self, around: &Around<'_>, at: &mut At, thins_back: bool) -> bool {
        let stand = if thins_back { around.stand_back } else { around.stand };
        let mut moved = false;
        let mut all = better_makes(around, at, thins_back);
        let mut standing_now = stand(&at.plan, &at.report);
        for index in 0..at.plan.runs.len() {
            for make in all.remove(&index).unwrap_or_default() {
                let Some(run) = at.plan.runs.get(index).filter(|_| self.stages.wanted.is()) else { break };
                if made_of(run) == Some(make) {
                    continue;
                }
                let edits = wire::edits(run, make, false);
                let step = Step { name: String::new(), edits };
                let Ok(with) = at.plan.with(&step) else { continue };
                if around.from_stock_only && !unserved(around, &at.plan, &with).is_empty() {
                    continue;
                }
                let report = self.evaluate_wires(&with, around.stock);
                if brings_any(&at.report, &report) {
                    continue;
                }
                let standing = stand(&with, &report);
                if standing.is_better_than(&standing_now) {
                    standing_now = standing;
                    let plain = (around.stand)(&with, &report);
                    at.take(step.edits, (with, report, plain));
                    all = better_makes(around, at, thins_back);
                    moved = true;
                    break;
                }
            }
        }
        moved
    }
}

/// By place in the plan: what each run could be made of for less, the cheapest first; all there is for one whose fuse, or
/// one ahead, leans on the next rating up, and from the van alone.
fn better_makes(around: &Around<'_>, at: &At, thins_back: bool) -> HashMap<usize, Vec<Make>> {
    let Around { was, stock, from_stock_only, .. } = *around;
    let leaning = |index: usize| {
        let path = at.plan.runs.get(index).map(|r| format!("runs.{}", r.id));
        path.is_some_and(|path| at.report.findings.iter().any(|f| leans(f) && f.subject.as_str() == path))
    };
    of_plan(&at.plan, Was { thins_back, ..was }, stock, from_stock_only, |_, problem| {
        let got_thicker = |s: &Sized| s.now.zip(s.was).is_some_and(|(now, was)| now.area_mm2 > was.area_mm2 + 1e-9);
        let less = problem.runs.iter().filter(|s| !thins_back || got_thicker(s)).map(|sized| {
            let any = from_stock_only || leaning(sized.index);
            let most = sized.now.filter(|_| !any).map_or(f64::MAX, |now| now.cost);
            let mut less: Vec<_> = sized.candidates.iter().filter(|x| x.cost < most).collect();
            less.arrange_by(|a, b| a.cost.total_cmp(&b.cost));
            (sized.index, less.into_iter().map(|x| x.make).collect())
        });
        less.collect()
    })
}

/// What the sizing of a plan starts from. `was`: it before anything was sized.
pub(super) fn of_plan<T>(
    plan: &Plan,
    was: Was<'_>,
    stock: &Stock,
    from_stock_only: bool,
    get: impl Fn(&Context<'_>, &Problem) -> T,
) -> T {
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &stock.truck.fuses);
    let problem = Problem::of(&c, was, stock, from_stock_only);
    get(&c, &problem)
}

/// The runs of a plan that are of another make than they were and whom the truck's spools do not serve.
pub(super) fn unserved(around: &Around<'_>, was: &Plan, now: &Plan) -> Vec<usize> {
    let Around { was: first, stock, .. } = *around;
    let without = of_plan(now, first, stock, true, |c, problem| {
        Served::of(c, stock, |i| !problem.place.contains_key(&i)).without
    });
    let made = |plan: &Plan, i: usize| plan.runs.get(i).and_then(made_of);
    without.into_iter().filter(|i| made(was, *i) != made(now, *i)).collect()
}

/// A step without what it changes on runs whom the spools do not serve then: they stay as they are.
fn served_alone(around: &Around<'_>, plan: &Plan, mut step: Step) -> Step {
    for _ in 0..plan.runs.len() {
        let Ok(with) = plan.with(&step) else { break };
        let short = unserved(around, plan, &with);
        if short.is_empty() {
            break;
        }
        let paths: Vec<FieldPath> =
            short.iter().filter_map(|i| plan.runs.get(*i)).map(|r| FieldPath::from("runs").join(&r.id)).collect();
        step.edits.retain(|e| !matches!(e, Edit::Set { at, .. } if paths.iter().any(|p| at.is_within(p))));
    }
    step
}

pub(in crate::engine) fn brings_any(before: &Report, after: &Report) -> bool {
    after.findings.iter().any(|f| leans_anew(before, f) || (f.level != Level::Note && !before.says(f)))
}

/// Without what a later edit of the same field overwrites.
pub(super) fn last_of_each(edits: Vec<Edit>) -> Vec<Edit> {
    let field = |e: &Edit| match e {
        Edit::Set { at, .. } => Some(at.clone()),
        _ => None,
    };
    let fields: Vec<_> = edits.iter().map(field).collect();
    let is_last = |n: usize| {
        let at = fields.get(n).and_then(Option::as_ref);
        at.is_none_or(|at| !fields.iter().skip(n + 1).any(|f| f.as_ref() == Some(at)))
    };
    edits.into_iter().enumerate().filter(|(n, _)| is_last(*n)).map(|(_, e)| e).collect()
}
