//! Fuses that are free to choose. A fuse of a larger rating has less resistance: where its wire allows it, that reaches a target
//! which no gauge reaches, and it is taken for nothing else, nor above a fuse ahead of it. One of a family that loses less may also do
//! with less wire.
//!
//! What a choice of fuses comes to is reckoned by the sums that gauges are chosen by; the best are then sized and evaluated as
//! any plan is, and taken where they stand better.

use std::collections::BTreeSet;

use crate::engine::circuit::{Circuit, Node, device_kind, on_bank_side};
use crate::engine::context::{Context, at as at_field};
use crate::engine::let_through::over_run;
use crate::engine::price::fuse_cost_of;
use crate::engine::protection::{goes_in_panel, is_string_fuse, panel_of};
use crate::engine::report::Report;
use crate::engine::resistance::{drop_at_rating_v, fuse_path, fuses, leg_path, legs};
use crate::engine::{Engine, runs};
use crate::plan::{DeviceKind, Edit, FieldPath, Id, Known, Plan, Protection, Run, Step};
use crate::standards::fuse::ratings;
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::Amps;

use super::keep::{fuses_cost, fuses_lacking, is_on_board};
use super::settle::{At, brings_any};
use super::unknown::{open_fuses, provisional, stands};
use super::wire::lines_opened;
use super::{FILLED, Problem, Was, adds_stop, cheapest};

/// Ratings tried over the smallest that its current wants. Source: our own choice; each is a sizing of all runs.
const MOST_LARGER: usize = 4;
/// Choices of fuses reckoned, sized and taken at most. Source: our own choice, for time.
const MOST_RECKONED: usize = 160;
const MOST_SIZED: usize = 3;
const MOST_LOWERED: usize = 10;
const MOST_AGAIN: usize = 3;
/// Gauges that spools turn out to be too short for, in one reckoning. Source: our own choice, for time.
const MOST_SPOOLS: usize = 12;

/// The truck's stock, and whether only what it carries may be taken.
pub(super) type Van<'a> = (&'a Stock, bool);

/// Fuses that are chosen as one: those of equal leads of batteries in parallel, or one alone.
struct Unit {
    fuses: Vec<(usize, Id)>,
    /// The one that was filled in first, larger ones of its family, then those of others.
    choices: Vec<(FuseFamily, f64)>,
    /// How many of them are of the first's family.
    own: usize,
}

/// What a choice of fuses comes to: less is better, what matters more first.
#[derive(Clone, Debug)]
struct Reckoned {
    over: usize,
    /// Fuses without a price, where others have one.
    unpriced: usize,
    /// Runs that lean on the next rating up with any gauge.
    leans: usize,
    /// By how many ratings its fuses are above the usual ones.
    raised: usize,
    cost: f64,
    /// Runs on the ways over their targets.
    missed: BTreeSet<usize>,
}

impl Reckoned {
    fn is_better_than(&self, other: &Self) -> bool {
        let wrong = |r: &Self| (r.over, r.leans, r.unpriced, r.raised);
        wrong(self) < wrong(other) || (wrong(self) == wrong(other) && self.cost < other.cost * (1.0 - 1e-6))
    }

    fn is_as_good_as(&self, other: &Self) -> bool {
        (self.over, self.leans, self.unpriced, self.raised) == (other.over, other.leans, other.unpriced, other.raised)
            && self.cost <= other.cost * (1.0 + 1e-9)
    }
}

impl Engine {
    /// The sized plan with other fuses where nobody has entered which, if that stands better; and again from there.
    pub(super) fn with_larger_fuses(&mut self, of: (&Plan, &Report), stock: Van<'_>, at: &mut At) {
        for _ in 0..MOST_AGAIN {
            if !self.with_other_fuses(of, stock, at) {
                break;
            }
        }
    }

    /// The same once. Whether it did.
    fn with_other_fuses(&mut self, (plan, before): (&Plan, &Report), stock: Van<'_>, at: &mut At) -> bool {
        let units = units(plan, at, stock);
        if units.iter().all(|u| u.choices.len() < 2) {
            return false;
        }
        let base = at.clone();
        let tries = searched(plan, &base, stock, &units);
        let mut found = None;
        for picks in tries {
            if !self.stages.wanted.is() {
                break;
            }
            let next = self.sized_for((plan, before), stock, &base, (&units, &picks));
            found = next
                .filter(|next| {
                    let (now, was) = (&next.standing, &base.standing);
                    now.is_better_than(was) && now.is_worth_more_than(was)
                })
                .map(|next| (picks, next));
            if found.is_some() {
                break;
            }
        }
        let Some((picks, next)) = found else { return false };
        let next = self.lowered((plan, before), stock, &base, (&units, picks), next);
        let next = self.sized_again(stock, next);
        let edits = between(&base.plan, &next.plan);
        let leads_there = |with: Plan| with == next.plan && with != base.plan;
        let is_whole = base.plan.with(&Step { name: String::new(), edits: edits.clone() }).is_ok_and(leads_there);
        if is_whole {
            at.take(edits, (next.plan, next.report, next.standing));
        }
        is_whole
    }

    /// All runs sized for these fuses; none where that brings anything that the plan sized without them has not.
    fn sized_for(
        &mut self,
        of: (&Plan, &Report),
        stock: Van<'_>,
        base: &At,
        (units, picks): (&[Unit], &[usize]),
    ) -> Option<At> {
        self.sized_from(of, stock, base, &fused(of.0, &base.plan, units, picks))
    }

    /// The same for a plan that has them.
    pub(super) fn sized_from(&mut self, of: (&Plan, &Report), stock: Van<'_>, base: &At, start: &Plan) -> Option<At> {
        if !are_carried(stock, of.0, &base.plan, start) || overtops(&base.plan, start) {
            return None;
        }
        let next = self.settle(of, start, stock);
        let opens = open_fuses(&next.plan).len() > open_fuses(&base.plan).len();
        let worse = opens || adds_stop(of.1, &next.report) || brings_any(&base.report, &next.report);
        (!worse).then_some(next)
    }

    /// Each fuse as small again as leaves no more wrong, whatever wire it wants then.
    fn lowered(
        &mut self,
        of: (&Plan, &Report),
        stock: Van<'_>,
        base: &At,
        (units, mut picks): (&[Unit], Vec<usize>),
        mut at: At,
    ) -> At {
        let mut left = MOST_LOWERED;
        loop {
            let mut moved = false;
            for (n, unit) in units.iter().enumerate() {
                let now = picks.get(n).copied().unwrap_or(0);
                let Some(own) = unit.choices.get(now) else { continue };
                let smaller = |k: &usize| unit.choices.get(*k).is_some_and(|x| x.0 == own.0 && x.1 < own.1);
                for lower in (0..now).rev().filter(smaller).take(2) {
                    if left == 0 {
                        return at;
                    }
                    left -= 1;
                    let mut trial = picks.clone();
                    if let Some(slot) = trial.get_mut(n) {
                        *slot = lower;
                    }
                    let next = self.sized_for(of, stock, base, (units, &trial));
                    if let Some(next) = next.filter(|next| !at.standing.is_righter_than(&next.standing)) {
                        (picks, at, moved) = (trial, next, true);
                        break;
                    }
                }
            }
            if !moved {
                return at;
            }
        }
    }

    /// A sized plan sized once more from what it has come to, until that changes nothing.
    pub(super) fn sized_again(&mut self, stock: Van<'_>, mut at: At) -> At {
        for _ in 0..MOST_AGAIN {
            let (plan, report) = (at.plan.clone(), at.report.clone());
            let next = self.settle((&plan, &report), &plan, stock);
            if next.edits.is_empty() {
                break;
            }
            at = next;
        }
        at
    }
}

/// Whether the truck has the fuses of a plan, as far as it has those of the plan it was sized as.
fn are_carried((stock, from_stock_only): Van<'_>, was: &Plan, base: &Plan, now: &Plan) -> bool {
    !from_stock_only || fuses_lacking(stock, (was, now)) <= fuses_lacking(stock, (was, base)) + 1e-9
}

/// The least that fuses ahead of a run let through.
pub(super) fn ahead_a(c: &Context<'_>, index: usize) -> f64 {
    let ahead = c.circuit.links.get(index).into_iter().flat_map(|l| &l.upstream).filter_map(|i| over_run(c, *i));
    ahead.map(|through| through.amps).fold(f64::MAX, f64::min)
}

/// Whether a fuse of a plan is larger than it was, and than one ahead of it.
fn overtops(was: &Plan, now: &Plan) -> bool {
    let (circuit, _) = Circuit::of(now);
    let c = Context::of(now, circuit, &[]);
    let rated = |run: &Run| fuses(run).filter_map(|f| f.amps_a.known()).map(|a| a.0).fold(0.0, f64::max);
    let raised = now.runs.iter().zip(&was.runs).enumerate().filter(|(_, (now, was))| rated(now) > rated(was) + 1e-9);
    let mut raised = raised.map(|(i, (now, _))| (i, rated(now)));
    raised.any(|(i, amps)| amps > ahead_a(&c, i) + 1e-9)
}

/// The fuses of a sized plan that were nobody's choice, each with what it could be.
fn units(plan: &Plan, at: &At, stock: Van<'_>) -> Vec<Unit> {
    let (circuit, _) = Circuit::of(&at.plan);
    let c = Context::of(&at.plan, circuit, &[]);
    let mut all: Vec<Unit> = Vec::new();
    let mut done = BTreeSet::new();
    for (index, run) in at.plan.runs.iter().enumerate() {
        for fuse in fuses(run) {
            let free = free_of(plan, index, fuse).filter(|_| !done.contains(&(index, fuse.id.clone())));
            let Some(free) = free.filter(|_| !is_string_fuse(&c, index, fuse)) else { continue };
            let mut own = vec![(index, fuse.id.clone())];
            // Those beside it in equal leads, of the same size and as free.
            for beside in beside(&c.circuit, index).into_iter().filter(|i| *i != index) {
                let same = |f: &&Protection| {
                    (&f.amps_a, &f.family, f.at) == (&fuse.amps_a, &fuse.family, fuse.at)
                        && free_of(plan, beside, f) == Some(free)
                };
                let there = at.plan.runs.get(beside).and_then(|r| fuses(r).find(same));
                own.extend(there.map(|f| (beside, f.id.clone())));
            }
            done.extend(own.iter().cloned());
            let (choices, of_own) = choices((&c, stock), at, index, run, fuse, free);
            all.push(Unit { fuses: own, choices, own: of_own });
        }
    }
    all
}

/// Runs at the same place of the ways that batteries in parallel have of their own.
fn beside(circuit: &Circuit, index: usize) -> Vec<usize> {
    let place = |side: &Vec<Vec<usize>>| side.iter().find_map(|way| way.iter().position(|i| *i == index));
    let sides = [&circuit.own_ways, &circuit.own_backs];
    let of = |side: &Vec<Vec<usize>>| place(side).map(|k| side.iter().filter_map(|way| way.get(k).copied()).collect());
    sides.into_iter().find_map(of).unwrap_or_default()
}

/// Whether a fuse's rating and its family are free; none where neither is, or one of them is not known yet.
fn free_of(plan: &Plan, run: usize, fuse: &Protection) -> Option<(bool, bool)> {
    fuse.amps_a.known()?;
    fuse.family.known()?;
    let was = plan.runs.get(run)?.protection.iter().find(|f| f.id == fuse.id);
    let free = was.map_or((true, true), |was| (was.amps_a.known().is_none(), was.family.known().is_none()));
    (free.0 || free.1).then_some(free)
}

/// What a fuse could be: of its own family, and of those that lose or cost less and stand its place where that is free; from
/// the truck alone what it carries.
fn choices(
    (c, (stock, from_stock_only)): (&Context<'_>, Van<'_>),
    at: &At,
    index: usize,
    run: &Run,
    fuse: &Protection,
    (any_rating, any_family): (bool, bool),
) -> (Vec<(FuseFamily, f64)>, usize) {
    let (Some(amps), Some(family)) = (fuse.amps_a.known().map(|a| a.0), fuse.family.known().copied()) else {
        return (Vec::new(), 0);
    };
    let mut all = vec![(family, amps)];
    let Some(figures) = at.report.runs.get(index) else { return (all, 1) };
    // No larger than what it guards is made for.
    let guards = guards_a(c, index).max(amps);
    let carried = |f: FuseFamily, a: f64| a <= guards + 1e-9 && (!from_stock_only || is_on_board(stock, f, a));
    let larger = |f: FuseFamily, from: f64| {
        let made = ratings(f).iter().copied().filter(move |a| *a >= from - 1e-9 && (any_rating || *a == amps));
        made.filter(move |a| carried(f, *a)).map(move |a| (f, a))
    };
    all.extend(larger(family, amps).filter(|x| x.1 > amps + 1e-9).take(MOST_LARGER));
    let own = all.len();
    let sheet = fuse.volts_dc_v.is_some() || fuse.interrupt_a.is_some();
    if any_family && !sheet {
        let least = figures.fuse_min_a.as_ref().map_or(amps, |a| a.0);
        let loses_less = |f: &FuseFamily| drop_at_rating_v(c, *f) < drop_at_rating_v(c, family) - 1e-9;
        let others = FuseFamily::ALL.iter().copied().filter(|f| !matches!(f, FuseFamily::Breaker | FuseFamily::Gpv));
        let cost = |(f, a): (FuseFamily, f64)| fuse_cost_of(stock, f, Amps(a));
        let has = cost((family, amps));
        let costs_less = |f: &FuseFamily| {
            let any = larger(*f, least).take(1 + MOST_LARGER).filter_map(cost);
            has.is_some_and(|has| any.min_by(f64::total_cmp).is_some_and(|least| least < has))
        };
        let better = |f: &FuseFamily| loses_less(f) || costs_less(f);
        // What goes into a panel's ways stays there.
        let stays = goes_in_panel(family) && panel_of(c, index).is_some();
        for f in
            others.filter(|f| !stays || goes_in_panel(*f)).filter(better).filter(|f| stands(run, fuse, *f, figures))
        {
            all.extend(larger(f, least).take(1 + MOST_LARGER));
        }
    }
    (all, own)
}

/// The least that any of the devices is made for which a run's fuse guards with no other fuse between.
pub(super) fn guards_a(c: &Context<'_>, index: usize) -> f64 {
    let (mut runs, mut next, mut least) = (vec![index], 0, f64::MAX);
    let unfused = |i: usize| c.plan.runs.get(i).is_some_and(|r| fuses(r).next().is_none());
    while let Some(link) = runs.get(next).and_then(|i| c.circuit.links.get(*i)) {
        next += 1;
        for node in [link.from, link.to].into_iter().flatten() {
            let Node::Device(d) = node else { continue };
            let rated = c.plan.devices.get(d).and_then(|d| d.ratings.amps_a.as_ref()?.known());
            if c.circuit.is_end(node) || device_kind(c.plan, node) == Some(DeviceKind::Converter) {
                continue;
            }
            least = rated.map_or(least, |a| least.min(a.0));
            let on = c.circuit.at(node).iter().copied().filter(|i| unfused(*i));
            let new: Vec<usize> = on
                .filter(|i| !runs.contains(i) && c.circuit.links.get(*i).is_some_and(|l| on_bank_side(l.role)))
                .collect();
            runs.extend(new);
        }
    }
    least
}

/// The plan before anything was sized with these fuses in it.
fn fused(plan: &Plan, sized: &Plan, units: &[Unit], picks: &[usize]) -> Plan {
    let mut with = plan.clone();
    for (run, now) in with.runs.iter_mut().zip(&sized.runs) {
        run.protection.clone_from(&now.protection);
    }
    for (unit, pick) in units.iter().zip(picks) {
        let Some((family, amps)) = unit.choices.get(*pick) else { continue };
        for (index, id) in &unit.fuses {
            let there = with.runs.get_mut(*index).and_then(|r| r.protection.iter_mut().find(|f| f.id == *id));
            if let Some(there) = there {
                (there.family, there.amps_a) = (Known::Is(*family), Known::Is(Amps(*amps)));
            }
        }
    }
    with
}

/// Choices of fuses that promise more than the first, the best first.
fn searched(plan: &Plan, at: &At, (stock, from_stock_only): Van<'_>, units: &[Unit]) -> Vec<Vec<usize>> {
    let none = BTreeSet::new();
    let first = fused(plan, &at.plan, units, &vec![0; units.len()]);
    let was = Was { plan, thins_back: false, by_price: true, given_up: &none };
    let by_price = super::settle::of_plan(&provisional(&first, &[]), was, stock, from_stock_only, |_, p| p.is_priced());
    let was = Was { by_price, ..was };
    let mut count = 0;
    let mut reckon = |picks: &[usize]| {
        count += 1;
        // Of the gauges that are there: where none is known, nobody knows how parallel leads share.
        let with = fused(&at.plan, &at.plan, units, picks);
        let may = count <= MOST_RECKONED && are_carried((stock, from_stock_only), plan, &at.plan, &with);
        let found =
            if may && !overtops(&at.plan, &with) { reckoned(&with, was, (stock, from_stock_only)) } else { None };
        let raised = |(unit, pick): (&Unit, &usize)| {
            let family = unit.choices.get(*pick).map(|x| x.0);
            unit.choices.iter().take(*pick).filter(|x| Some(x.0) == family).count()
        };
        found.map(|found| Reckoned { raised: units.iter().zip(picks).map(raised).sum(), ..found })
    };
    let mut picks = vec![0; units.len()];
    let Some(mut best) = reckon(&picks) else { return Vec::new() };
    let mut better: Vec<Vec<usize>> = Vec::new();
    // All of a way that misses its target at once: one alone may not be enough.
    for more in 1..=MOST_LARGER {
        let on_way = |u: &Unit| u.fuses.iter().any(|(i, _)| best.missed.contains(i));
        let up = |(u, pick): (&Unit, &usize)| if on_way(u) { more.min(u.own.saturating_sub(1)) } else { *pick };
        let trial: Vec<usize> = units.iter().zip(&vec![0; units.len()]).map(up).collect();
        if best.over == 0 {
            break;
        }
        if let Some(found) = reckon(&trial).filter(|r| r.is_better_than(&best)) {
            (picks, best) = (trial, found);
            better.push(picks.clone());
        }
    }
    for _ in 0..MOST_LARGER {
        let mut moved = false;
        for (n, unit) in units.iter().enumerate() {
            for choice in 0..unit.choices.len() {
                let now = picks.get(n).copied().unwrap_or(0);
                if choice == now {
                    continue;
                }
                let mut trial = picks.clone();
                if let Some(slot) = trial.get_mut(n) {
                    *slot = choice;
                }
                // No larger than is of use.
                let takes = |r: &Reckoned| r.is_better_than(&best) || (choice < now && r.is_as_good_as(&best));
                if let Some(found) = reckon(&trial).filter(takes) {
                    (picks, best, moved) = (trial, found, true);
                    better.push(picks.clone());
                }
            }
        }
        if !moved && !two_at_once(units, &mut reckon, (&mut picks, &mut best), &mut better) {
            break;
        }
    }
    better.reverse();
    better.truncate(MOST_SIZED);
    better.retain(|p| p.iter().any(|pick| *pick > 0));
    better
}

/// Two fuses changed at once, where that is better: one ahead of the other may want wire that pays with both alone. Whether
/// any were.
fn two_at_once(
    units: &[Unit],
    reckon: &mut impl FnMut(&[usize]) -> Option<Reckoned>,
    (picks, best): (&mut Vec<usize>, &mut Reckoned),
    better: &mut Vec<Vec<usize>>,
) -> bool {
    for n in 0..units.len() {
        for m in n + 1..units.len() {
            let of = |k: usize| units.get(k).map_or(0, |unit| unit.choices.len());
            for (a, b) in (0..of(n)).flat_map(|a| (0..of(m)).map(move |b| (a, b))) {
                let mut trial = picks.clone();
                let changed = trial.get(n) != Some(&a) && trial.get(m) != Some(&b);
                for (k, choice) in [(n, a), (m, b)] {
                    if let Some(slot) = trial.get_mut(k) {
                        *slot = choice;
                    }
                }
                if let Some(found) = changed.then(|| reckon(&trial)).flatten().filter(|r| r.is_better_than(best)) {
                    (*picks, *best) = (trial, found);
                    better.push(picks.clone());
                    return true;
                }
            }
        }
    }
    false
}

/// What a plan with these fuses comes to by the sums that gauges are chosen by; none where some run has no wire for its fuse.
fn reckoned(plan: &Plan, was: Was<'_>, (stock, from_stock_only): Van<'_>) -> Option<Reckoned> {
    let with = lines_opened(&provisional(plan, &open_fuses(plan)));
    let (circuit, _) = Circuit::of(&with);
    let c = Context::of(&with, circuit, &stock.truck.fuses);
    let mut problem = Problem::of(&c, was, stock, from_stock_only);
    if problem.runs.iter().any(|s| !s.is_fused) {
        return None;
    }
    let mut leans = 0;
    for sized in &mut problem.runs {
        match sized.candidates.iter().all(|x| x.leans) {
            true => leans += 1,
            false => sized.candidates.retain(|x| !x.leans),
        }
    }
    problem.settle_limits(&c);
    let mut chosen = None;
    for _ in 0..MOST_SPOOLS {
        let tied = problem.tied(&c);
        chosen = cheapest::solve(&problem.runs, &problem.ways, &tied);
        let short = chosen.as_ref().is_some_and(|now| from_stock_only && problem.oversubscribed(&c, stock, now));
        if !short {
            break;
        }
        chosen = None;
    }
    let chosen = chosen?;
    let (unpriced, fuses) = if was.by_price { fuses_cost(&c, stock) } else { (0, 0.0) };
    let cost: f64 =
        problem.runs.iter().zip(&chosen).filter_map(|(s, pick)| s.candidates.get(*pick)).map(|x| x.cost).sum();
    let over = problem.ways.iter().filter(|w| cheapest::volts(&problem.runs, w, &chosen) > w.target_v + 1e-9);
    let mut found = Reckoned { over: 0, unpriced, leans, raised: 0, cost: cost + fuses, missed: BTreeSet::new() };
    for way in over {
        found.over += 1;
        let all = c.circuit.judged_way(way.index).and_then(|way| runs::counted(&c, way).ok()).unwrap_or_default();
        found.missed.extend(all);
    }
    Some(found)
}

/// The edits that lead from one sizing of a plan to another.
pub(super) fn between(from: &Plan, to: &Plan) -> Vec<Edit> {
    let mut edits = Vec::new();
    for run in &to.runs {
        let of_legs = legs(run).flat_map(|leg| ["gauge", "per_pole", "bundled"].map(|field| leg_path(run, leg, field)));
        let of_fuses = fuses(run).flat_map(|f| FILLED.map(|field| fuse_path(run, f, field)));
        let paths: Vec<FieldPath> =
            std::iter::once(at_field("runs", &run.id, "gauge")).chain(of_legs).chain(of_fuses).collect();
        let changed = paths.into_iter().filter(|path| from.get_at(path) != to.get_at(path));
        edits.extend(changed.filter_map(|at| to.get_at(&at).map(|to| Edit::Set { at, to })));
    }
    edits
}
