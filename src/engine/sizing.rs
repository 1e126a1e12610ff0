//! Selection: the smallest conductor and fuse of one run, and the cheapest set of gauges for all of them.
//!
//! By the rules alone: no year is evaluated. Existing legs stand as they are when all runs are sized, and fuses but for
//! those that cannot open what may flow; a run that lacks one gets one.

pub(super) mod bond;
mod cheapest;
mod exchange;
mod fill;
mod keep;
mod larger;
mod links;
mod lost;
pub(super) mod make;
mod proposal;
mod put;
mod reach;
mod said;
mod select;
mod settle;
mod spools;
mod truck;
mod unknown;
mod weighed;
mod wire;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::plan::{Edit, Plan, Run, Step};
use crate::standards::conductor::Gauge;
use crate::stock::Stock;

use super::circuit::{Circuit, PathKind, Role};
use super::context::Context;
use super::currents::Terminals;
use super::dc_lines;
use super::finding::{Finding, Level};
use super::report::{Proposed, Report};
use super::runs::{self, current_on};
use super::{Engine, cures};

use cheapest::Way;
use keep::{fuse_above, harms_bank, leans, leans_anew};
use make::makes_or_two;
pub use make::{LaidGauge, Make};
pub(super) use proposal::fuse;
pub use proposal::{FuseSize, Proposal, SizedRun, Totals};
pub use said::brings;
pub use select::Selection;
pub(super) use settle::brings_any;
pub(super) use spools::left_for;
use wire::Sized;
pub(super) use wire::{edits as make_edits, system as system_of, thinnest_with, with_make};

/// Findings about a run that a thicker conductor cures.
const BY_GAUGE: [&str; 4] =
    ["conductor-below-current", "fuse-above-conductor", "source-end-unfused", "charger-end-unfused"];
/// Fields of a fuse that filling it in may set.
const FILLED: [&str; 8] = ["family", "amps_a", "at", "distance_m", "volts_dc_v", "interrupt_a", "state", "resets"];
/// Most times that links between batteries are chosen from the truck. Source: our own choice; it has settled by the second.
const MOST_LINKS: usize = 3;
/// Most times the proposal is evaluated and mended.
const MOST_ROUNDS: usize = 60;

impl Engine {
    /// The cheapest set of gauges that meets rules and targets, as one step against the plan: price where the truck
    /// stock knows that of every candidate, or of gauges on both its sides, else copper weight. `from_stock_only`: spools on the van, and what is left
    /// on them. Without edits where nothing is to change.
    ///
    /// A path whose target no gauge reaches is kept from getting worse, and a run without a fuse that has to have one gets one
    /// where one fits. The step adds no stop, and what it leads to is not sized otherwise when it is sized again.
    pub fn size_all(&mut self, plan: &Plan, stock: &Stock, from_stock_only: bool) -> Step {
        let van = from_stock_only.then_some(stock);
        let mut all = nothing();
        let mut now = plan.clone();
        // Other links leave other wire on the spools.
        for _ in 0..MOST_LINKS {
            let left = van.map(|van| links::left(&now, van));
            let step = self.settled(&now, left.as_ref().unwrap_or(stock), from_stock_only);
            let linked = self.links_sized(&now, van, stock, &step);
            let is_last = van.is_none() || linked.is_none();
            let edits: Vec<Edit> = step.edits.into_iter().chain(linked).collect();
            let next = now.with(&Step { name: String::new(), edits: edits.clone() });
            all.edits.extend(edits);
            match next {
                Ok(next) if !is_last => now = next,
                _ => break,
            }
        }
        all.edits = settle::last_of_each(all.edits);
        all
    }

    /// All runs sized once, from what the plan has. `was`: it before anything was sized.
    fn size_once(&mut self, was: Was<'_>, plan: &Plan, stock: &Stock, from_stock_only: bool) -> Step {
        let before = self.evaluate_wires(plan, stock);
        let mut fuses = Fuses::new();
        // Every turn but the last swaps one fuse, each run's once.
        for _ in 0..=plan.runs.len() {
            if !self.stages.wanted.is() {
                break;
            }
            match self.size_with((was, plan), (stock, from_stock_only), &before, &mut fuses) {
                Turn::Done(step) => return step,
                Turn::Swapped => {}
            }
        }
        nothing()
    }

    /// Where runs were held thin for fuses behind them, some of them need not have been: each is tried on its own.
    fn polish(
        &mut self,
        c: &Context<'_>,
        stock: &Stock,
        before: &Report,
        step: &mut Step,
        (mut with, mut after): (Plan, Report),
    ) -> (Plan, Report) {
        for (i, old) in c.plan.runs.iter().enumerate() {
            let path = format!("runs.{}", old.id);
            let about = |r: &Report| r.findings.iter().filter(|f| f.subject.as_str() == path && by_gauge(f)).count();
            if !self.stages.wanted.is() {
                break;
            }
            let had = about(&after);
            let is_sized = c.circuit.links.get(i).is_some_and(|link| sizes(link.role));
            if had == 0 || !is_sized || !wire::has_new_leg(old) {
                continue;
            }
            let fitting: Vec<Make> = makes_or_two(c, i).into_iter().filter(|m| wire::fits(c, i, *m)).collect();
            // First those that leave every fuse within its wire.
            let strictly = fitting.iter().map(|m| (true, *m)).chain(fitting.iter().map(|m| (false, *m)));
            for (strict, make) in strictly {
                let Some(run) = with.runs.get(i) else { break };
                let more = wire::edits(run, make, false);
                let Ok(next) = with.with(&Step { name: String::new(), edits: more.clone() }) else { continue };
                let report = self.evaluate_wires(&next, stock);
                let worse = |r: &Report| r.findings.iter().filter(|f| by_gauge(f) || f.level == Level::Stop).count();
                if strict && report.findings.iter().any(|f| leans_anew(&after, f)) {
                    continue;
                }
                if about(&report) < had && worse(&report) < worse(&after) && !adds_stop(before, &report) {
                    step.edits.extend(more);
                    (with, after) = (next, report);
                    if about(&after) == 0 {
                        break;
                    }
                }
            }
        }
        (with, after)
    }

    /// One turn with the fuses swapped so far.
    fn size_with(
        &mut self,
        (was, plan): (Was<'_>, &Plan),
        (stock, from_stock_only): (&Stock, bool),
        before: &Report,
        fuses: &mut Fuses,
    ) -> Turn {
        let swapped = Step { name: String::new(), edits: fuse_steps(plan, fuses) };
        let Ok(opened) = plan.with(&swapped).map(|p| wire::lines_opened(&p)) else { return Turn::Done(nothing()) };
        // From the truck alone no fuse is put twice.
        let all = stock;
        let left = from_stock_only.then(|| keep::fuses_left(stock, (was.plan, &opened), &[]));
        let stock = left.as_ref().unwrap_or(stock);
        let may_fit = |fuse: &Proposed| !from_stock_only || keep::is_carried(stock, fuse);
        let (circuit, _) = Circuit::of(&opened);
        let c = Context::of(&opened, circuit, &stock.truck.fuses);
        let mut problem = Problem::of(&c, was, stock, from_stock_only);
        for _ in 0..MOST_ROUNDS {
            if !self.stages.wanted.is() {
                break;
            }
            let tied = problem.tied(&c);
            let Some(chosen) = cheapest::solve(&problem.runs, &problem.ways, &tied) else { break };
            let chosen = problem.alike(&c, chosen);
            if from_stock_only && problem.oversubscribed(&c, stock, &chosen) {
                continue;
            }
            let mut step = problem.step(plan, &chosen);
            step.edits.extend(fuse_steps(plan, fuses));
            let Ok(with) = plan.with(&step) else { break };
            let after = self.evaluate_wires(&with, stock);
            let tightened = problem.tighten(&with, &after, &chosen);
            match problem.mend(&c, before, &after, &chosen, (&mut *fuses, &may_fit)) {
                Mended::Swapped => return Turn::Swapped,
                Mended::Yes => continue,
                Mended::No if tightened => {
                    problem.settle_limits(&c);
                    continue;
                }
                Mended::No if adds_stop(before, &after) => break,
                Mended::No => {}
            }
            let proposal = (with, after);
            let (with, after) =
                if from_stock_only { proposal } else { self.polish(&c, stock, before, &mut step, proposal) };
            let (with, after) = self.open_faults((all, from_stock_only), (was.plan, before), &mut step, (with, after));
            let bonds = bond::grown(&with, before, &after);
            step.edits.extend(if from_stock_only { truck::covered(stock, &with, bonds) } else { bonds });
            return Turn::Done(step);
        }
        Turn::Done(nothing())
    }
}

/// The edits that give a run another gauge, as its ladder and sizing all do: legs that exist keep their wire beside new
/// ones.
#[must_use]
pub fn gauge_edits(run: &Run, gauge: Gauge) -> Vec<Edit> {
    wire::edits(run, Make::as_drawn(run, gauge), false)
}

/// Whether a finding is one that a thicker wire can cure.
fn by_gauge(f: &Finding) -> bool {
    BY_GAUGE.contains(&f.check.id) && (f.check.id != "source-end-unfused" || f.n(0) > 0.0)
}

/// Fuses to be put in place of those a thicker wire overtaxes, by run of the plan.
type Fuses = BTreeMap<usize, Proposed>;

/// What a turn came to.
enum Turn {
    Done(Step),
    Swapped,
}

/// Whether the evaluated proposal changed the problem.
enum Mended {
    No,
    Yes,
    Swapped,
}

fn nothing() -> Step {
    Step { name: "size all".into(), edits: Vec::new() }
}

fn fuse_steps(plan: &Plan, fuses: &Fuses) -> Vec<Edit> {
    let of = |(run, fuse): (&usize, &Proposed)| plan.runs.get(*run).map(|r| cures::refit_edits(r, fuse));
    fuses.iter().filter_map(of).flatten().collect()
}

fn adds_stop(before: &Report, after: &Report) -> bool {
    after.findings.iter().any(|f| is_new_stop(before, f))
}

fn is_new_stop(before: &Report, f: &Finding) -> bool {
    f.level == Level::Stop && !before.says(f)
}

/// Runs to be sized and the ways that bind them.
struct Problem {
    runs: Vec<Sized>,
    ways: Vec<Way>,
    /// Place in `runs` of each run of the plan.
    place: HashMap<usize, usize>,
    /// Whether what got thicker than it was may get as thin again.
    thins_back: bool,
    /// Runs that are not sized: from the van alone they keep the wire they have of it.
    held: Vec<usize>,
}

/// The plan before anything was sized, whether what got thicker since may get as thin again, whether wire is chosen by its
/// price, and the ways, by their places among the circuit's, whose targets no gauge has turned out to reach.
#[derive(Clone, Copy)]
struct Was<'a> {
    plan: &'a Plan,
    thins_back: bool,
    by_price: bool,
    given_up: &'a BTreeSet<usize>,
}

impl Problem {
    fn of(c: &Context<'_>, was: Was<'_>, stock: &Stock, from_stock_only: bool) -> Self {
        Self::with(c, was, (stock, from_stock_only), &mut |_| {})
    }

    /// The same with other makes to choose from.
    fn with(
        c: &Context<'_>,
        was: Was<'_>,
        (stock, from_stock_only): (&Stock, bool),
        change: &mut dyn FnMut(&mut [Sized]),
    ) -> Self {
        let terminals = Terminals::of(c);
        let found = runs::find(c, &terminals);
        let drops = runs::path_drops(c, &found);
        let mut sized: Vec<Sized> = Vec::new();
        for (i, f) in found.iter().enumerate() {
            let was = was.plan.runs.get(i).and_then(make::made_of);
            sized.extend(wire::sized(c, (stock, from_stock_only), i, f, was));
        }
        wire::common_cost(&mut sized, was.by_price);
        change(&mut sized);
        let place = places(&sized);
        let mut ways = Vec::new();
        for (index, (way, drop)) in c.circuit.judged_ways().zip(&drops).enumerate() {
            let (Ok(base), Ok(counted)) = (&drop.base_v, runs::counted(c, way)) else { continue };
            let mut fixed_v = 0.0;
            let (mut of_way, mut whole) = (Vec::new(), true);
            for i in &counted {
                match (place.get(i), current_on(way, &found, *i), found.get(*i).map(|f| &f.at_drop)) {
                    (Some(p), Ok(amps), _) => of_way.push((*p, amps)),
                    (None, Ok(amps), Some(Ok(l))) => fixed_v += l.ohm * amps,
                    // One that nobody can size yet leaves the others all of the target; what it loses itself is not known,
                    // so that none of them gets thinner.
                    _ => whole = false,
                }
            }
            if !of_way.is_empty() {
                let target_v = drop.target_pct / 100.0 * base;
                let least_v = fixed_v + of_way.iter().map(|(p, a)| least_ohm(&sized, *p) * a).sum::<f64>();
                // Out of reach for any gauge, or found to be so: no worse than it is.
                let is_in_reach = least_v <= target_v && !was.given_up.contains(&index);
                let now_v = drop.drop_v.as_ref().copied().unwrap_or(0.0);
                // What has no gauge yet, or draws less by thicker wire, is held to the rules alone: no copper buys that target.
                let is_open = |(p, _): &(usize, f64)| sized.get(*p).is_none_or(|s| s.now.is_none());
                let by_rules = way.kind == PathKind::ChargerInput || of_way.iter().any(is_open);
                let missed_v = if by_rules { f64::MAX } else { now_v.max(least_v) };
                let limit_v = if is_in_reach { target_v } else { missed_v };
                let binds = whole && is_in_reach;
                // From the shop the best that is left is near enough.
                let missed_v = if from_stock_only { missed_v } else { 0.0 };
                ways.push(Way { index, runs: of_way, fixed_v, target_v, limit_v: limit_v + 1e-9, missed_v, binds });
            }
        }
        let is_held = |i: usize| !place.contains_key(&i);
        let held = (0..c.plan.runs.len()).filter(|i| is_held(*i)).collect();
        let mut problem = Self { runs: sized, ways, place, thins_back: was.thins_back, held };
        problem.keep_from_thinning(c);
        problem
    }

    /// Whether every wire that could be chosen has a price.
    fn is_priced(&self) -> bool {
        self.runs.iter().all(|s| s.unpriced.is_empty())
    }

    fn step(&self, plan: &Plan, chosen: &[usize]) -> Step {
        let mut edits = Vec::new();
        for (sized, pick) in self.runs.iter().zip(chosen) {
            if let (Some(run), Some(candidate)) = (plan.runs.get(sized.index), sized.candidates.get(*pick)) {
                edits.extend(wire::edits(run, candidate.make, false));
            }
        }
        Step { name: "size all".into(), edits }
    }

    /// Takes away what the evaluated proposal shows to be wrong.
    fn mend(
        &mut self,
        c: &Context<'_>,
        before: &Report,
        after: &Report,
        chosen: &[usize],
        (fuses, may_fit): (&mut Fuses, &dyn Fn(&Proposed) -> bool),
    ) -> Mended {
        let (mut thin, mut held, mut pinned) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
        let is_line = |run: usize| c.circuit.links.get(run).is_some_and(|l| l.role == Role::ChargerInput);
        for f in &after.findings {
            let run = f.run().and_then(|id| c.plan.runs.iter().position(|r| r.id.as_str() == id));
            let Some(run) = run else {
                if f.check.id == "dc-dc-drops-out" {
                    thin.extend(line_of(c, f));
                }
                continue;
            };
            if f.check.id == "interrupt-below-fault" && is_new_stop(before, f) {
                held.insert(run);
            } else if by_gauge(f) || leans(f) || (f.check.id == "fuse-below-design" && is_line(run) && !before.says(f))
            {
                // Thinner wire in a line to a DC-DC charger draws more than its fuse was chosen for.
                thin.insert(run);
            } else if is_new_stop(before, f) {
                pinned.insert(run);
            }
        }
        let mut mended = harms_bank(c.plan, before, after) && self.keep_leads(c);
        // Places whose candidates no longer match what was chosen.
        let mut touched = BTreeSet::new();
        for run in thin {
            if self.thicken(run, chosen) {
                touched.extend(self.place.get(&run));
                mended = true;
            } else if let Some(fuse) =
                fuse_above(c.plan, before, after, run).filter(|f| !fuses.contains_key(&run) && may_fit(f))
            {
                // Nothing thicker goes in, and the fuse is above what does: a smaller one, where there is one.
                fuses.insert(run, fuse);
                return Mended::Swapped;
            }
        }
        for run in held {
            if self.thinner_ahead(c, run, chosen, &mut touched, false) {
                mended = true;
                continue;
            }
            // No thinner wire ahead carries what it must: a fuse that opens the larger fault, where there is one.
            match after.runs.get(run).and_then(|r| r.proposed.clone()) {
                Some(proposed) if !fuses.contains_key(&run) && may_fit(&proposed) => {
                    fuses.insert(run, proposed);
                    return Mended::Swapped;
                }
                _ => mended |= self.thinner_ahead(c, run, chosen, &mut touched, true),
            }
        }
        // One that has no gauge yet, and with each brings a stop, is left alone: last, since it moves the others' places.
        let bare = |p: &usize| self.runs.get(*p).is_some_and(|s| s.now.is_none());
        let (left, pinned): (Vec<usize>, Vec<usize>) =
            pinned.into_iter().partition(|run| self.place.get(run).is_some_and(bare));
        for run in pinned {
            mended |= self.pin(run);
        }
        for run in left {
            if let Some(p) = self.place.get(&run).copied() {
                self.leave(p);
                mended = true;
            }
        }
        if !mended {
            return Mended::No;
        }
        self.settle_limits(c);
        Mended::Yes
    }

    /// Limits and candidates that suit each other.
    fn settle_limits(&mut self, c: &Context<'_>) {
        self.loosen();
        self.keep_from_thinning(c);
    }

    /// A way within reach by this reckoning that the evaluated plan shows to be over its target all the same: ohms go
    /// with the other conductor's share and with fuses that have changed. Its limit comes down by the difference, so
    /// that what was chosen is not chosen again. Whether any was.
    fn tighten(&mut self, with: &Plan, after: &Report, chosen: &[usize]) -> bool {
        if !after.findings.iter().any(|f| f.check.id == "drop-over-target") {
            return false;
        }
        let (circuit, _) = Circuit::of(with);
        let c = Context::of(with, circuit, &[]);
        let drops = runs::path_drops(&c, &runs::find(&c, &Terminals::of(&c)));
        let mut any = false;
        for way in self.ways.iter_mut().filter(|way| way.binds) {
            let drop_v = drops.get(way.index).and_then(|drop| drop.drop_v.as_ref().ok().copied());
            if let Some(drop_v) = drop_v.filter(|v| *v > way.target_v) {
                way.limit_v = cheapest::volts(&self.runs, way, chosen) - (drop_v - way.target_v);
                any = true;
            }
        }
        any
    }

    /// Drops the candidates up to the chosen one; the thickest stays.
    fn thicken(&mut self, run: usize, chosen: &[usize]) -> bool {
        let Some(p) = self.place.get(&run) else { return false };
        let (Some(sized), Some(pick)) = (self.runs.get_mut(*p), chosen.get(*p)) else { return false };
        let room = pick + 1 < sized.candidates.len();
        if room {
            sized.candidates.drain(..=*pick);
        }
        room
    }

    /// Only the gauge it has is left.
    fn pin(&mut self, run: usize) -> bool {
        let Some(sized) = self.place.get(&run).and_then(|p| self.runs.get_mut(*p)) else { return false };
        let Some(now) = sized.now.filter(|n| sized.candidates.as_slice() != [*n]) else { return false };
        sized.candidates = vec![now];
        true
    }

    /// A thicker wire lets a larger fault through to a fuse behind it: the nearest ahead of it goes one thinner, `at_last`
    /// back to what it is.
    fn thinner_ahead(
        &mut self,
        c: &Context<'_>,
        run: usize,
        chosen: &[usize],
        touched: &mut BTreeSet<usize>,
        at_last: bool,
    ) -> bool {
        let Some(link) = c.circuit.links.get(run) else { return false };
        let beyond = wire::fuse_lies_beyond(c, run, link.near_from);
        let nearest_first = link.upstream.iter().rev().copied();
        let order = beyond.then_some(run).into_iter().chain(nearest_first).chain((at_last && !beyond).then_some(run));
        let places: Vec<usize> = order.filter_map(|i| self.place.get(&i).copied()).collect();
        // What was changed in this round already is judged anew in the next one.
        if places.iter().any(|p| touched.contains(p)) {
            return true;
        }
        let found = places.into_iter().find_map(|p| {
            let sized = self.runs.get(p)?;
            let picked = *sized.candidates.get(*chosen.get(p)?)?;
            let thinner = sized.candidates.iter().any(|x| x.area_mm2 < picked.area_mm2 - 1e-9);
            // What has no gauge yet has none to go back to.
            let may = sized.now.map_or(thinner, |now| picked.area_mm2 > now.area_mm2 + 1e-9 && (thinner || at_last));
            may.then_some((p, picked))
        });
        let Some((p, picked)) = found else { return false };
        touched.insert(p);
        let Some(sized) = self.runs.get_mut(p) else { return false };
        sized.candidates.retain(|x| x.area_mm2 < picked.area_mm2 - 1e-9);
        if let (true, Some(now)) = (sized.candidates.is_empty(), sized.now) {
            sized.candidates.push(now);
        }
        true
    }

    /// Limits that the remaining candidates can still hold; a target that none of them reaches any more is out of reach.
    fn loosen(&mut self) {
        for way in &mut self.ways {
            let least = way.fixed_v + way.runs.iter().map(|(p, a)| least_ohm(&self.runs, *p) * a).sum::<f64>();
            if least > way.limit_v {
                (way.limit_v, way.binds) = (least.max(way.missed_v) + 1e-9, false);
            }
        }
    }

    /// Whether a gauge is chosen for more wire than is left on the spools; if so, the longest run looks elsewhere, so
    /// that a spool serves as many as it can; where there is nothing else for it, it stays as it is.
    fn oversubscribed(&mut self, c: &Context<'_>, stock: &Stock, chosen: &[usize]) -> bool {
        let picked = |i: usize| {
            let p = *self.place.get(&i)?;
            self.runs.get(p)?.candidates.get(*chosen.get(p)?)
        };
        let made: Vec<(usize, Run)> = c
            .plan
            .runs
            .iter()
            .enumerate()
            .filter_map(|(i, run)| match picked(i) {
                Some(x) => Some((i, wire::with_make(run, x.make))),
                None => self.held.contains(&i).then(|| (i, run.clone())),
            })
            .collect();
        let is_held = |i: usize| !self.place.contains_key(&i);
        let served = truck::Served::made(stock, made.iter().map(|(i, run)| (*i, run)), is_held);
        let short = served.without.iter().rev().find_map(|i| Some((*self.place.get(i)?, picked(*i)?.make.gauge)));
        let Some((p, gauge)) = short else { return false };
        if let Some(s) = self.runs.get_mut(p) {
            s.candidates.retain(|x| x.make.gauge != gauge);
            if s.candidates.is_empty() {
                self.leave(p);
            }
        }
        self.loosen();
        true
    }

    /// Takes a run out of the sizing: it stays as it is, and takes nothing off a spool that does not cover it.
    fn leave(&mut self, p: usize) {
        let Some(s) = self.runs.get(p) else { return };
        self.held.push(s.index);
        let ohm = s.now.map_or(0.0, |n| n.ohm);
        for way in &mut self.ways {
            let own: f64 = way.runs.iter().filter(|(r, _)| *r == p).map(|(_, a)| ohm * a).sum();
            way.fixed_v += own;
            way.runs.retain(|(r, _)| *r != p);
            for (r, _) in way.runs.iter_mut().filter(|(r, _)| *r > p) {
                *r -= 1;
            }
        }
        self.runs.remove(p);
        self.place = places(&self.runs);
    }
}

/// Place in the problem of each run of the plan.
fn places(runs: &[Sized]) -> HashMap<usize, usize> {
    runs.iter().enumerate().map(|(p, s)| (s.index, p)).collect()
}

fn least_ohm(runs: &[Sized], p: usize) -> f64 {
    let ohms = runs.get(p).map(|s| s.candidates.iter().map(|x| x.ohm).fold(f64::MAX, f64::min));
    ohms.unwrap_or(0.0)
}

/// The runs of a DC-DC charger's input line and those ahead of it, from a finding about the charger.
pub(in crate::engine) fn line_of(c: &Context<'_>, f: &Finding) -> Vec<usize> {
    let charger = c.plan.chargers.iter().position(|x| f.subject.as_str() == format!("chargers.{}", x.id));
    charger.map_or_else(Vec::new, |i| dc_lines::whole_line(c, i))
}

/// Whether a run of this role is sized at all.
fn sizes(role: Role) -> bool {
    !matches!(role, Role::Dead | Role::Bond | Role::Sense | Role::Open)
}
