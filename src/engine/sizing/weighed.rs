//! A fuse that is there stays, but where no gauge reaches a target with it: then one of another rating or family that loses less may.
//! The runs of such paths are reckoned in all pairs of a make and a fuse, and what comes of it is sized and evaluated as any plan is.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::capacity;
use crate::engine::circuit::{Circuit, Role};
use crate::engine::context::Context;
use crate::engine::price::fuse_cost_of;
use crate::engine::protection::{is_string_fuse, panel_of, protected};
use crate::engine::resistance::{drop_at_rating_v, fuses};
use crate::plan::{Known, Plan, Protection, Run, State, Step};
use crate::standards::fuse::ratings;
use crate::standards::kinds::FuseFamily;
use crate::units::Amps;

use super::keep::is_on_board;
use super::larger::{Van, ahead_a, between, guards_a};
use super::settle::At;
use super::unknown::stands;
use super::wire::{Candidate, Sized, lines_opened, with_make};
use super::{Problem, Was, cheapest};

/// Ratings tried over the drawn one, in each family; sizings of all runs for what is reckoned best, and how often anew. Source: our own choice, for time.
const MOST_LARGER: usize = 6;
const MOST_SIZED: usize = 4;
const MOST_ROUNDS: usize = 4;
/// Copper that another fuse counts as where wire goes by copper, kg, and one of another family, which wants another holder.
/// Source: our own choice: about what battery cable of one fuse's price weighs.
const OTHER_KG: f64 = 0.5;
const OTHER_FAMILY_KG: f64 = 1.0;
/// What a fuse without a price, or one that is exchanged from the truck alone, counts as: it goes in where a target is missed without
/// it, and nowhere else. Source: our own choice, above all wire.
const LAST_RESORT: f64 = 1e6;
/// What each rating above the drawn one counts as: the next is taken before any other. Source: our own choice, above all wire.
const HIGHER: f64 = 1e5;

/// A fuse by its family and rating, and what choosing it costs over the one that is drawn: as it is counted, and beside its price.
#[derive(Clone, Copy)]
struct Other {
    family: FuseFamily,
    amps: f64,
    cost: f64,
    beside: f64,
}

/// A run's fuse that may be another one.
struct Drawn {
    run: usize,
    fuse: usize,
    others: Vec<Other>,
}

impl Engine {
    /// The sized plan with other fuses, where that reaches a target that is missed otherwise: from what it has come to, as it would be
    /// sized again.
    pub(super) fn with_fuses_weighed(&mut self, stock: Van<'_>, at: &mut At) {
        for _ in 0..MOST_ROUNDS {
            let all = chosen(at, stock);
            if all.is_empty() || !self.stages.wanted.is() {
                return;
            }
            let base = self.settle((&at.plan, &at.report), &at.plan, stock);
            // What was found together may bring something that one of it alone does not.
            let alone = all.iter().filter(|_| all.len() > 1).map(|one| vec![*one]);
            let tries = std::iter::once(all.clone()).chain(alone).take(MOST_SIZED);
            let better = tries.into_iter().find_map(|picks| {
                let start = exchanged(&base.plan, &picks);
                let next = self.sized_from((&base.plan, &base.report), stock, &base, &start)?;
                let standing = next.standing.dearer(picks.iter().map(|(_, other)| other.beside).sum());
                (standing.is_better_than(&base.standing) && standing.is_worth_more_than(&base.standing)).then_some(next)
            });
            let Some(next) = better else { return };
            let next = self.sized_again(stock, next);
            let edits = between(&at.plan, &next.plan);
            let with = at.plan.with(&Step { name: String::new(), edits: edits.clone() });
            if with.ok().as_ref() != Some(&next.plan) {
                return;
            }
            at.take(edits, (next.plan, next.report, next.standing));
        }
    }
}

/// The fuses that the cheapest pairs of makes and fuses have in the place of drawn ones, each by its run and its place there.
fn chosen(at: &At, (stock, only): Van<'_>) -> Vec<((usize, usize), Other)> {
    let none = std::collections::BTreeSet::new();
    let priced = Was { plan: &at.plan, thins_back: false, by_price: true, given_up: &none };
    let by_price = super::settle::of_plan(&at.plan, priced, stock, only, |_, p| p.is_priced());
    let was = Was { by_price, ..priced };
    let with = lines_opened(&at.plan);
    let (circuit, _) = Circuit::of(&with);
    let c = Context::of(&with, circuit, &stock.truck.fuses);
    let runs = at.plan.runs.iter().enumerate();
    let drawn: Vec<Drawn> = runs.filter_map(|(i, run)| drawn(&c, at, (stock, only), by_price, (i, run))).collect();
    let mut pair = |all: &mut [Sized]| {
        for sized in all.iter_mut() {
            // What leans on the next rating up is taken only where nothing else fits.
            if sized.candidates.iter().any(|x| !x.leans) {
                sized.candidates.retain(|x| !x.leans);
            }
            if let Some(own) = drawn.iter().find(|d| d.run == sized.index && sized.is_fused) {
                paired(&c, sized, own);
            }
        }
    };
    let mut problem = Problem::with(&c, was, (stock, only), &mut pair);
    problem.settle_limits(&c);
    let tied = problem.tied(&c);
    let Some(picks) = cheapest::solve(&problem.runs, &problem.ways, &tied) else { return Vec::new() };
    let of = |(sized, pick): (&Sized, &usize)| {
        let own = drawn.iter().find(|d| d.run == sized.index)?;
        let other = own.others.get(sized.candidates.get(*pick)?.fuse.checked_sub(1)?)?;
        Some(((own.run, own.fuse), *other))
    };
    problem.runs.iter().zip(&picks).filter_map(of).collect()
}

/// A plan with other fuses in the place of some.
fn exchanged(plan: &Plan, picks: &[((usize, usize), Other)]) -> Plan {
    let mut with = plan.clone();
    for ((run, fuse), other) in picks {
        if let Some(there) = with.runs.get_mut(*run).and_then(|run| run.protection.get_mut(*fuse)) {
            (there.family, there.amps_a) = (Known::Is(other.family), Known::Is(Amps(other.amps)));
            there.state = State::New;
        }
    }
    with
}

/// The one fuse of a run, where others may be in its place. A breaker is a switch as well; a load's rating is as its
/// instructions ask; a panel takes its own family. Equal leads of batteries keep what they have.
fn drawn(c: &Context<'_>, at: &At, van: Van<'_>, by_price: bool, (index, run): (usize, &Run)) -> Option<Drawn> {
    let mut all = fuses(run);
    let (fuse, None) = (all.next()?, all.next()) else { return None };
    let (family, amps) = (*fuse.family.known()?, fuse.amps_a.known()?.0);
    let link = c.circuit.links.get(index)?;
    let figures = at.report.runs.get(index)?;
    if !matches!((&figures.path_drop_pct, figures.target_pct), (Ok(pct), Some(target)) if *pct > target) {
        return None;
    }
    let bound = matches!(family, FuseFamily::Breaker | FuseFamily::Gpv) || is_string_fuse(c, index, fuse);
    let own_way = [&c.circuit.own_ways, &c.circuit.own_backs].into_iter().flatten().flatten().any(|i| *i == index);
    if bound || own_way || matches!(link.role, Role::Array | Role::StartLead) {
        return None;
    }
    let in_panel = panel_of(c, index).is_some();
    let sheet = fuse.volts_dc_v.is_some() || fuse.interrupt_a.is_some();
    let most_a = guards_a(c, index).min(ahead_a(c, index)).max(amps) + 1e-9;
    let may = |f: FuseFamily| f == family || (!in_panel && !sheet && stands(run, fuse, f, figures));
    let families = FuseFamily::ALL.iter().copied().filter(|f| !matches!(f, FuseFamily::Breaker | FuseFamily::Gpv));
    let rated = |f: FuseFamily| {
        let more = ratings(f).iter().copied().filter(move |a| *a >= amps - 1e-9 && *a <= most_a);
        let more = more.filter(move |a| link.role != Role::LoadBranch || *a == amps).take(1 + MOST_LARGER);
        more.filter(move |a| !van.1 || is_on_board(van.0, f, *a)).map(move |a| (f, a))
    };
    let own_ohm = drop_at_rating_v(c, family) / amps;
    let loses_less = |x: &(FuseFamily, f64)| drop_at_rating_v(c, x.0) / x.1 < own_ohm * (1.0 - 1e-9);
    let others = families.filter(|f| may(*f)).flat_map(rated).filter(loses_less);
    let higher = |x: &(FuseFamily, f64)| ratings(x.0).iter().filter(|a| **a >= amps - 1e-9 && **a < x.1 - 1e-9).count();
    let dearer = |x: (FuseFamily, f64)| {
        let other = priced(van, by_price, (fuse, family, amps), x);
        Other { cost: other.cost + HIGHER * higher(&x) as f64, ..other }
    };
    let others = others.map(dearer).collect();
    let fuse = run.protection.iter().position(|f| f.id == fuse.id)?;
    Some(Drawn { run: index, fuse, others })
}

/// What another fuse costs over a drawn one: all of its price where the drawn one is there already. Of one that is still to be bought nobody
/// saves by buying another.
fn priced(
    (stock, only): Van<'_>,
    by_price: bool,
    (fuse, own, own_a): (&Protection, FuseFamily, f64),
    (family, amps): (FuseFamily, f64),
) -> Other {
    let price = |family, amps| fuse_cost_of(stock, family, Amps(amps));
    let had = if fuse.state == State::New { price(own, own_a) } else { Some(0.0) };
    let (cost, beside) = match (only, by_price, price(family, amps)) {
        // One that is bought either way, of a family without prices, is bought in another rating for about as much.
        (false, true, None) if family == own && had.is_none() => (0.0, 0.0),
        (true, ..) | (_, true, None) => (LAST_RESORT, 0.0),
        (_, true, Some(price)) => ((price - had.unwrap_or(0.0)).max(0.0), (had.unwrap_or(0.0) - price).max(0.0)),
        (_, false, _) if family == own => (OTHER_KG, OTHER_KG),
        (_, false, _) => (OTHER_FAMILY_KG, OTHER_FAMILY_KG),
    };
    Other { family, amps, cost, beside }
}

/// A run's makes with each fuse that their ampacity allows: those than which no other costs less and loses less.
fn paired(c: &Context<'_>, sized: &mut Sized, own: &Drawn) {
    let Some((run, fuse)) = c.plan.runs.get(own.run).and_then(|run| Some((run, run.protection.get(own.fuse)?))) else {
        return;
    };
    let ohm = |family: FuseFamily, amps: f64| drop_at_rating_v(c, family) / amps.max(f64::MIN_POSITIVE);
    let (Some(family), Some(amps)) = (fuse.family.known(), fuse.amps_a.known()) else { return };
    let own_ohm = ohm(*family, amps.0);
    let mut all: Vec<Candidate> = sized.candidates.clone();
    for x in &sized.candidates {
        let made = with_make(run, x.make);
        let limits =
            capacity::of_run(c, own.run, &made).and_then(|whole| protected(c, own.run, &made, fuse, &whole, 0.0));
        let most_a = limits.map_or(0.0, |limits| limits.strict_a) + 1e-9;
        for (n, other) in own.others.iter().enumerate().filter(|(_, other)| other.amps <= most_a) {
            let mut with = *x;
            (with.ohm, with.cost) = (x.ohm - own_ohm + ohm(other.family, other.amps), x.cost + other.cost);
            (with.leans, with.fuse) = (false, n + 1);
            all.push(with);
        }
    }
    // Of like ones the fuse that is drawn, and then the smaller.
    all.arrange_by(|a, b| a.cost.total_cmp(&b.cost).then(b.ohm.total_cmp(&a.ohm)).then(a.fuse.cmp(&b.fuse)));
    let mut best: Vec<Candidate> = Vec::new();
    for x in all {
        if best.iter().all(|y| x.ohm < y.ohm - 1e-12) {
            best.push(x);
        }
    }
    sized.candidates = best;
}
