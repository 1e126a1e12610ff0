//! What sizing all may not make worse: paths whose target is out of reach, fuses that lie within their wire; and the
//! fuses that cannot open what may flow, whatever the wire.

use crate::arrange::Arrange;
use crate::engine::circuit::{Circuit, Role};
use crate::engine::context::Context;
use crate::engine::finding::{Finding, Level};
use crate::engine::price::fuse_cost_of;
use crate::engine::protection::fuses_of;
use crate::engine::report::{Proposed, Report};
use crate::engine::resistance::fuses;
use crate::engine::rule::Rules;
use crate::engine::{Engine, accept, cures};
use crate::plan::{Edit, Known, Plan, Run, State, Step};
use crate::standards::kinds::FuseFamily;
use crate::stock::{Fuse, Stock};

use super::make::Make;
use super::settle::brings_any;
use super::unknown::{OpenFuse, of_its_type};
use super::wire::{Candidate, Sized};
use super::{Problem, adds_stop, is_new_stop};

/// What findings about the bank as a whole are about.
const BANK: &str = "bank";
/// The check of a fuse that is smaller than its current wants.
pub(super) const TOO_SMALL: &str = "fuse-below-design";

/// Whether a fuse leans on the next rating up. By the rules' section on fuses that is proposed only where no other rating
/// fits: what leans is counted, so that it goes wherever some gauge does without it, whatever the plan was before.
///
/// Source: NEC 240.4(B) allows it; common practice to size wire for the fuse it has.
pub(super) fn leans(f: &Finding) -> bool {
    f.check.id == "next-rating-up"
}

/// Whether a fuse comes to lean on it.
pub(super) fn leans_anew(before: &Report, f: &Finding) -> bool {
    leans(f) && !before.says(f)
}

impl Problem {
    /// Runs at the same place of the ways that batteries in parallel have of their own stay alike: each as thick as the
    /// thickest of them has to be.
    ///
    /// Source: NEC 310.10(G) for conductors in parallel; common practice for batteries: equal leads share equally.
    pub(super) fn alike(&self, c: &Context<'_>, mut chosen: Vec<usize>) -> Vec<usize> {
        for places in self.alike_places(c) {
            let picked = |p: &usize| self.runs.get(*p)?.candidates.get(*chosen.get(*p)?).map(|x| x.area_mm2);
            let most = places.iter().filter_map(picked).fold(0.0, f64::max);
            for p in places {
                let Some(sized) = self.runs.get(p) else { continue };
                let thick = sized.candidates.iter().position(|x| x.area_mm2 >= most - 1e-9);
                let pick = thick.or(sized.candidates.len().checked_sub(1));
                if let (Some(slot), Some(pick)) = (chosen.get_mut(p), pick) {
                    *slot = pick;
                }
            }
        }
        chosen
    }

    /// Those runs as places that are chosen together, left with the makes that all of them can have: what one gets all get,
    /// and pay for. Such as have no make in common are not tied.
    pub(super) fn tied(&mut self, c: &Context<'_>) -> Vec<Vec<usize>> {
        loop {
            let (mut tied, mut dropped) = (Vec::new(), false);
            for places in self.alike_places(c) {
                let makes = |p: &usize| -> Vec<Make> {
                    self.runs.get(*p).map_or(Vec::new(), |s| s.candidates.iter().map(|x| x.make).collect())
                };
                let all: Vec<Vec<Make>> = places.iter().map(makes).collect();
                let Some(first) = all.first() else { continue };
                let common: Vec<Make> = first.iter().copied().filter(|m| all.iter().all(|a| a.contains(m))).collect();
                if common.is_empty() {
                    continue;
                }
                for p in &places {
                    let Some(sized) = self.runs.get_mut(*p) else { continue };
                    dropped |= sized.candidates.len() > common.len();
                    sized.candidates.retain(|x| common.contains(&x.make));
                    sized.candidates.arrange_by_key(|x| common.iter().position(|m| *m == x.make));
                }
                tied.push(places);
            }
            if !dropped {
                return tied;
            }
            self.settle_limits(c);
        }
    }

    /// Places of the runs at the same place of the ways that batteries in parallel have of their own, where they are several.
    pub(super) fn alike_places(&self, c: &Context<'_>) -> Vec<Vec<usize>> {
        let longest = |side: &Vec<Vec<usize>>| side.iter().map(Vec::len).max().unwrap_or(0);
        let sides = [&c.circuit.own_ways, &c.circuit.own_backs];
        let rows = sides.into_iter().flat_map(|side| (0..longest(side)).map(move |k| (side, k)));
        let of = |(side, k): (&Vec<Vec<usize>>, usize)| -> Vec<usize> {
            side.iter().filter_map(|way| way.get(k)).filter_map(|i| self.place.get(i).copied()).collect()
        };
        rows.map(of).filter(|places| places.len() > 1).collect()
    }

    /// Batteries' own leads get no thinner than they are. Whether any was about to.
    pub(super) fn keep_leads(&mut self, c: &Context<'_>) -> bool {
        let mut any = false;
        for p in self.alike_places(c).concat() {
            let Some(sized) = self.runs.get_mut(p) else { continue };
            let Some(now) = sized.now else { continue };
            let thinner = |x: &Candidate| x.ohm > now.ohm * (1.0 + 1e-9);
            if sized.candidates.iter().any(thinner) && !sized.candidates.iter().all(thinner) {
                sized.candidates.retain(|x| !thinner(x));
                any = true;
            }
        }
        any
    }

    /// On a way whose target no gauge reaches, or of which some loss is not known, no run gets thinner than it is, or at last than
    /// it was before anything was sized, nor do the leads of the other batteries in parallel. A line's current follows from its own wire:
    /// it is held by its limit alone, and where it has none it gets no thinner than it was, as all ahead of it would carry more.
    pub(super) fn keep_from_thinning(&mut self, c: &Context<'_>) {
        let out_of_reach = self.ways.iter().filter(|way| !way.binds).flat_map(|way| &way.runs);
        let indices = out_of_reach.filter_map(|(p, _)| self.runs.get(*p)).map(|sized| sized.index);
        let with_others = indices.flat_map(|i| match c.circuit.leads_beside(i) {
            [] => vec![i],
            leads => leads.concat(),
        });
        let back = self.thins_back;
        let places: Vec<usize> = with_others.filter_map(|i| self.place.get(&i).copied()).collect();
        let is_line = |s: &Sized| c.circuit.links.get(s.index).is_some_and(|l| l.role == Role::ChargerInput);
        let unbound = c.rules.drop_charger_input <= 0.0;
        let lines = self.runs.iter().enumerate().filter(|(_, s)| unbound && is_line(s)).map(|(p, _)| p);
        for p in places.into_iter().chain(lines.collect::<Vec<_>>()) {
            let Some(sized) = self.runs.get_mut(p) else { continue };
            let was = match is_line(sized) {
                true => sized.was.filter(|_| unbound),
                false => sized.was.filter(|_| back).or(sized.now),
            };
            let Some(was) = was else { continue };
            let thicker = |x: &Candidate| x.ohm <= was.ohm * (1.0 + 1e-9);
            if sized.candidates.iter().any(thicker) {
                sized.candidates.retain(thicker);
            }
        }
    }
}

/// What would fit a run whose fuse has come to be above what its wire carries, by a terminal that did not take the one it
/// had.
pub(super) fn fuse_above(plan: &Plan, before: &Report, after: &Report, run: usize) -> Option<Proposed> {
    let figures = after.runs.get(run)?;
    let untaken = |f: &Finding| f.check.id == "terminal-does-not-take" && f.run() == Some(figures.id.as_str());
    before.findings.iter().find(|f| untaken(f))?;
    let is_it = |f: &&Finding| f.check.id == "fuse-above-conductor" && f.run() == Some(figures.id.as_str());
    after.findings.iter().filter(is_it).find(|f| is_new_stop(before, f))?;
    let proposed = figures.proposed.clone()?;
    // Of its own type where that has a rating which fits.
    let own = plan.runs.get(run).and_then(|run| of_its_type(run, figures));
    Some(match own {
        Some((amps, family)) => Proposed { amps, family, ..proposed },
        None => proposed,
    })
}

/// Whether the batteries fare worse: thinner leads of their own share less evenly, and hold the bank's limits down.
pub(super) fn harms_bank(plan: &Plan, before: &Report, after: &Report) -> bool {
    let share = Rules::of(plan).accepted_worsening_pct / 100.0;
    let is_its = |f: &Finding| f.subject.as_str() == BANK || f.check.id == "battery-lead-fed-by-others";
    let of_bank = after.findings.iter().filter(|f| f.level != Level::Note && is_its(f));
    let was = |f: &Finding| before.findings.iter().find(|b| b.identity() == f.identity());
    of_bank.into_iter().any(|f| was(f).is_none_or(|was| accept::is_worse(was, f, share)))
}

fn brings_caution(before: &Report, after: &Report) -> bool {
    after.findings.iter().any(|f| f.level != Level::Note && !before.says(f))
}

impl Engine {
    /// Fuses that cannot open the fault at their place, with whatever wire, and those that are too small for the current
    /// that flows for hours: each swapped by the step that cures it alone;
    /// `only_van`: for one that is left on the truck.
    pub(super) fn open_faults(
        &mut self,
        (stock, only_van): (&Stock, bool),
        (was, before): (&Plan, &Report),
        step: &mut Step,
        (mut with, mut after): (Plan, Report),
    ) -> (Plan, Report) {
        let closed = |r: &Report| -> Vec<Finding> {
            let wrong = |f: &&Finding| match f.check.id {
                "interrupt-below-fault" => f.level == Level::Stop,
                TOO_SMALL => f.level != Level::Note,
                _ => false,
            };
            r.findings.iter().filter(wrong).filter(|f| f.accepted.is_none()).cloned().collect()
        };
        for finding in closed(&after) {
            let left = only_van.then(|| fuses_left(stock, (was, &with), &[]));
            let stock = left.as_ref().unwrap_or(stock);
            let path = finding.subject.as_str();
            if only_van {
                // What is proposed follows what is left.
                after = self.evaluate_wires(&with, stock);
            }
            let run = with.runs.iter().position(|r| path == format!("runs.{}", r.id));
            // Where nothing is known to flow none is proposed, and what opens the fault is put all the same.
            let opens = finding.check.id != TOO_SMALL;
            let proposed = run.and_then(|i| {
                let (run, figures) = (with.runs.get(i)?, after.runs.get(i)?);
                let other = || opens.then(|| cures::opening_fuse(run, figures)).flatten();
                Some((run, figures.proposed.clone().or_else(other)?))
            });
            let Some((run, fuse)) = proposed.filter(|(_, fuse)| !only_van || is_carried(stock, fuse)) else { continue };
            // Of its own type where a rating of that fits.
            let own = after.runs.iter().find(|r| r.id == run.id).and_then(|r| of_its_type(run, r));
            let own = own.filter(|_| !only_van && finding.check.id == TOO_SMALL);
            let own = own.map(|(amps, family)| Proposed { amps, family, ..fuse.clone() });
            // What opens a fault in the rating that was chosen for what hangs there, else in the smallest.
            let near = || cures::nearest_rating(&with, run, after.runs.iter().find(|r| r.id == run.id), &fuse);
            let near = (!only_van && finding.check.id != TOO_SMALL).then(near).flatten();
            let swap = |fuse: Proposed| self.swapped(stock, (&finding, before, &after), (&with, run), &fuse);
            let tried: Vec<_> = own.into_iter().chain(near).chain([fuse]).filter_map(swap).collect();
            // What leans on the next rating up only where no other fits; the wire sees to it then, where some does without.
            let best = tried.into_iter().min_by_key(|(.., report)| brings_any(&after, report));
            if let Some((edits, next, report)) = best {
                step.edits.extend(edits);
                (with, after) = (next, report);
            }
        }
        (with, after)
    }

    /// A run's fuse swapped, what that leads to and the answer to it; nothing where the finding stays or something new that is wrong
    /// comes.
    fn swapped(
        &mut self,
        stock: &Stock,
        (finding, before, now): (&Finding, &Report, &Report),
        (plan, run): (&Plan, &Run),
        fuse: &Proposed,
    ) -> Option<(Vec<Edit>, Plan, Report)> {
        let edits = cures::refit_edits(run, fuse);
        let next = plan.with(&Step { name: String::new(), edits: edits.clone() }).ok()?;
        let report = self.evaluate_wires(&next, stock);
        let gone = !report.findings.iter().any(|f| f.identity() == finding.identity());
        // Not above what its wire stands.
        let most = report.runs.iter().find(|r| r.id == run.id).and_then(|r| r.fuse_max_a.clone().ok());
        let is_within = most.is_some_and(|most| fuse.amps.0 <= most.0 + 1e-9);
        let plainly = finding.check.id != TOO_SMALL || (is_within && !brings_caution(now, &report));
        (gone && plainly && !adds_stop(before, &report)).then_some((edits, next, report))
    }
}

/// The truck with its fuses less those that a plan takes: new ones, and such as had another rating in the plan before it,
/// but for these, which are filled in anew.
pub(super) fn fuses_left(stock: &Stock, (was, plan): (&Plan, &Plan), but_for: &[OpenFuse]) -> Stock {
    let mut left = stock.clone();
    take_all(&mut left, (was, plan), but_for);
    left
}

/// Takes those off it; how many are not there.
fn take_all(left: &mut Stock, (was, plan): (&Plan, &Plan), but_for: &[OpenFuse]) -> f64 {
    let mut lacks = 0.0;
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &[]);
    for (index, run) in plan.runs.iter().enumerate() {
        let old = was.runs.get(index);
        for fuse in fuses(run).filter(|f| !but_for.iter().any(|open| open.is(index, f))) {
            let had = old.and_then(|old| old.protection.iter().find(|f| f.id == fuse.id));
            let changed = had.is_none_or(|had| (&had.amps_a, &had.family) != (&fuse.amps_a, &fuse.family));
            if let (true, Some(family), Some(amps)) =
                (changed || fuse.state == State::New, fuse.family.known(), fuse.amps_a.known())
            {
                lacks += take(left, (*family, amps.0), fuses_of(&c, index, fuse));
            }
        }
    }
    lacks
}

/// What the new fuses of a plan cost by the truck stock, and how many of them have no price there.
pub(super) fn fuses_cost(c: &Context<'_>, stock: &Stock) -> (usize, f64) {
    let (mut unpriced, mut cost) = (0, 0.0);
    for (index, run) in c.plan.runs.iter().enumerate() {
        for fuse in fuses(run).filter(|f| f.state == State::New) {
            let (Some(family), Some(amps)) = (fuse.family.known(), fuse.amps_a.known()) else { continue };
            match fuse_cost_of(stock, *family, *amps) {
                Some(each) => cost += each * fuses_of(c, index, fuse),
                None => unpriced += 1,
            }
        }
    }
    (unpriced, cost)
}

/// How many fuses that a plan takes are not on the truck.
pub(super) fn fuses_lacking(stock: &Stock, plans: (&Plan, &Plan)) -> f64 {
    take_all(&mut stock.clone(), plans, &[])
}

/// Takes so many fuses off the truck, as far as they are there; how many are not.
pub(super) fn take(stock: &mut Stock, (family, amps): (FuseFamily, f64), mut count: f64) -> f64 {
    let same = |f: &&mut Fuse| f.family.known() == Some(&family) && f.amps_a.known().is_some_and(|a| a.0 == amps);
    for there in stock.truck.fuses.iter_mut().filter(same) {
        if let Known::Is(n) = &mut there.count {
            let taken = n.0.min(count).max(0.0);
            (n.0, count) = (n.0 - taken, count - taken);
        }
    }
    count
}

/// Whether the van has a fuse.
pub(super) fn is_carried(stock: &Stock, fuse: &Proposed) -> bool {
    is_on_board(stock, fuse.family, fuse.amps.0)
}

/// The same by family and rating.
pub(super) fn is_on_board(stock: &Stock, family: FuseFamily, amps: f64) -> bool {
    carried(stock, family).any(|there| there == amps)
}

/// The smallest rating of a family on the van that is no less than this.
pub(super) fn smallest_carried(stock: &Stock, family: FuseFamily, least_a: f64) -> Option<f64> {
    carried(stock, family).filter(|a| *a >= least_a - 1e-9).min_by(f64::total_cmp)
}

fn carried(stock: &Stock, family: FuseFamily) -> impl Iterator<Item = f64> {
    let there = stock.truck.fuses.iter().filter(|f| f.count.known().is_some_and(|n| n.0 >= 1.0));
    let same = there.filter(move |f| f.family.known() == Some(&family));
    same.filter_map(|f| f.amps_a.known().map(|a| a.0))
}
