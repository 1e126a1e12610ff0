//! Why the truck does not serve a run: jackets nobody has read, too little wire left on a spool, fuses all taken.

use std::collections::BTreeMap;

use crate::arrange::Arrange;
use crate::engine::context::Context;
use crate::engine::report::RunFigures;
use crate::engine::resistance::{fuses, legs};
use crate::engine::runs::Found;
use crate::plan::entry::{self, Units};
use crate::plan::{Edit, Plan, Run, Step};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::stock::{Spool, Stock};

use super::keep::fuses_left;
use super::make::{Make, made_of};
use super::spools::{Piece, can_cut, left_for, on_van, pieces};
use super::wire::{self, Sized};

/// What keeps a run from every spool, where some gauge would do: none where the gauges themselves are the reason.
pub(super) fn no_spool(c: &Context<'_>, stock: &Stock, index: usize, found: &Found) -> Option<String> {
    let run = c.plan.runs.get(index)?;
    let would = wire::sized(c, (stock, false), index, found, made_of(run))?;
    let fits = |s: &&Spool| {
        let gauge = s.gauge.known();
        gauge.is_some_and(|g| would.candidates.iter().any(|x| x.make.gauge == *g))
            && legs(run).any(|leg| wire::is_new(leg) && leg.metal == s.metal)
    };
    let spools: Vec<&Spool> = stock.truck.spools.iter().filter(fits).collect();
    let gauges = |of: &dyn Fn(&Spool) -> bool| -> Option<String> {
        let mut all: Vec<Gauge> = spools.iter().filter(|s| of(s)).filter_map(|s| s.gauge.known().copied()).collect();
        all.arrange_by(Ord::cmp);
        all.dedup();
        let names: Vec<String> = all.iter().map(ToString::to_string).collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    if let Some(unread) = gauges(&|s| s.insulation_c.known().is_none()) {
        return Some(format!("the insulation of the truck's {unread} is not entered"));
    }
    let wanted_c = legs(run).filter(|l| wire::is_new(l)).filter_map(|l| l.insulation_c.known()).map(|t| t.0);
    let wanted_c = wanted_c.fold(0.0, f64::max);
    if let Some(low) = gauges(&|s| s.insulation_c.known().is_some_and(|t| t.0 < wanted_c)) {
        return Some(format!("the truck's {low} is not for insulation of {wanted_c:.0} C"));
    }
    other_metal(stock, run, &would).or_else(|| too_thin(c, stock, index, found))
}

/// Why the truck does not serve a run in the gauge that it has; nothing where some spool does, whatever is left on it.
pub(super) fn not_carried(c: &Context<'_>, stock: &Stock, index: usize) -> Option<String> {
    let run = c.plan.runs.get(index)?;
    let gauge = made_of(run)?.gauge;
    if on_van(stock, run, gauge) {
        return None;
    }
    let metal = legs(run).find(|l| wire::is_new(l))?.metal;
    let of_gauge = || stock.truck.spools.iter().filter(|s| s.gauge.known() == Some(&gauge));
    Some(if of_gauge().any(|s| s.metal == metal && s.insulation_c.known().is_none()) {
        format!("the insulation of the truck's {gauge} is not entered")
    } else if of_gauge().any(|s| s.metal == metal) {
        format!("the truck's {gauge} is not for its insulation")
    } else if of_gauge().next().is_some() {
        format!("the truck's {gauge} is not {}, as the run is drawn", metal.word())
    } else {
        format!("no {gauge} on the truck")
    })
}

/// That the truck's wire of a make would do, but is used up by other runs, or too short.
pub(super) fn used_up(c: &Context<'_>, stock: &Stock, index: usize, make: Make) -> Option<String> {
    let run = c.plan.runs.get(index)?;
    let served = Served::of(c, stock, |_| false);
    let others: Vec<Piece> = served.by.iter().filter(|(i, _)| *i != index).flat_map(|(_, of)| of).copied().collect();
    let wants = pieces(&wire::with_make(run, make));
    let fits = |pieces: &[Piece]| can_cut(stock, &[pieces, wants.as_slice()].concat());
    if fits(&others) {
        return None;
    }
    let is_of = |p: &Piece| wants.first().is_some_and(|w| w.is_same_wire(p));
    let rest: Vec<Piece> = others.iter().filter(|p| !is_of(p)).copied().collect();
    let by = served.by.iter().filter(|(i, of)| *i != index && of.iter().any(is_of));
    let names: Vec<&str> = by.filter_map(|(i, _)| c.plan.runs.get(*i)).map(|r| r.id.as_str()).collect();
    Some(match fits(&rest) {
        true => format!("no thinner: the {} on the truck is used up by {}", make.gauge, names.join(", ")),
        false => format!("no thinner: {}", short_of(c, stock, run, &wants, &served)),
    })
}

/// The truck's wire that would do but for its metal.
fn other_metal(stock: &Stock, run: &Run, would: &Sized) -> Option<String> {
    let wanted = legs(run).filter(|l| wire::is_new(l)).map(|l| l.metal).next()?;
    let would_do = |g: Gauge| would.candidates.iter().any(|x| x.make.gauge == g);
    let spools = stock.truck.spools.iter().filter(|s| s.metal != wanted);
    let (gauge, metal) = spools.filter_map(|s| Some((*s.gauge.known()?, s.metal))).find(|(g, _)| would_do(*g))?;
    Some(format!("the truck's {gauge} is {}, the run is drawn {}", metal.word(), wanted.word()))
}

/// The truck's thickest wire for a run, where that is thinner than practice lays it.
fn too_thin(c: &Context<'_>, stock: &Stock, index: usize, found: &Found) -> Option<String> {
    let run = c.plan.runs.get(index)?;
    let least = wire::least_mm2(c, index);
    let there = stock.truck.spools.iter().filter_map(|s| s.gauge.known().copied());
    let there = there.filter(|g| on_van(stock, run, *g) && wire::would_carry(c, index, found, *g));
    let thickest = there.max_by(|a, b| area_mm2(*a).total_cmp(&area_mm2(*b)))?;
    let practice = wire::thinnest_with(wire::system(c.plan, run), least)?;
    let thin = area_mm2(thickest) < least - 1e-9;
    thin.then(|| format!("the truck's {thickest} is thinner than {practice}, the least in practice"))
}

/// A run left as it is because the spools that would serve it have too little left.
pub(super) fn too_short(c: &Context<'_>, stock: &Stock, index: usize, found: &[Found]) -> Option<String> {
    let run = c.plan.runs.get(index)?;
    let own = made_of(run);
    let sized = |i: usize| wire::sized(c, (stock, true), i, found.get(i)?, made_of(c.plan.runs.get(i)?));
    let would = sized(index)?;
    let served = Served::of(c, stock, |i| sized(i).is_none());
    let others: Vec<Piece> = served.by.iter().filter(|(i, _)| *i != index).flat_map(|(_, of)| of).copied().collect();
    let mut least: Option<Vec<Piece>> = None;
    for x in &would.candidates {
        let wants = pieces(&wire::with_make(run, x.make));
        let is_own = own.is_some_and(|own| own.gauge == x.make.gauge);
        let is_served = is_own && !served.without.contains(&index);
        if is_served || can_cut(stock, &[others.as_slice(), wants.as_slice()].concat()) {
            return None;
        }
        if is_own || least.is_none() {
            least = Some(wants);
        }
    }
    let wants = least?;
    Some(short_of(c, stock, run, &wants, &served))
}

/// What a run needs, what is left of it on the spools that serve it, and who takes that.
fn short_of(c: &Context<'_>, stock: &Stock, run: &Run, wants: &[Piece], served: &Served) -> String {
    let Some(gauge) = wants.first().map(|p| p.gauge) else { return String::new() };
    let needs_m: f64 = wants.iter().map(|p| p.metres).sum();
    let new = || legs(run).filter(|l| wire::is_new(l));
    let left_m = left_for(stock, new(), gauge);
    let of_gauge = || stock.truck.spools.iter().filter(|s| s.gauge.known() == Some(&gauge));
    let open = match of_gauge().any(|s| s.left_m.known().is_none()) {
        true => "; of a spool it is not entered how much is left",
        false => "",
    };
    let wanted_c = new().filter_map(|l| l.insulation_c.known()).map(|t| t.0).fold(0.0, f64::max);
    let is_low = |s: &Spool| s.insulation_c.known().is_some_and(|t| t.0 < wanted_c) && s.left_m.known().is_some();
    let mut text = format!("{gauge}: {needs_m:.1} m needed, {left_m:.1} m left on the truck{open}");
    let mut numbers = vec![needs_m, left_m];
    if needs_m <= left_m + 1e-9 {
        let same = |p: &&Piece| wants.first().is_some_and(|w| w.could_be(p));
        let takes = |of: &[Piece]| of.iter().filter(same).map(|p| p.metres).sum::<f64>();
        let by: Vec<(usize, f64)> = served.by.iter().map(|(i, of)| (*i, takes(of))).filter(|x| x.1 > 0.0).collect();
        let name = |(i, _): &(usize, f64)| c.plan.runs.get(*i).filter(|r| r.id != run.id).map(|r| r.id.to_string());
        let names: Vec<String> = by.iter().filter_map(name).collect();
        let longest = wants.iter().map(|p| p.metres).fold(0.0, f64::max);
        if !can_cut(stock, wants) {
            text.push_str(&format!(", not in lengths of {longest:.1} m"));
            numbers.push(longest);
        } else if !names.is_empty() {
            let taken_m: f64 = by.iter().map(|x| x.1).sum();
            text.push_str(&format!(", {taken_m:.1} m of it taken by {}", names.join(", ")));
            numbers.push(taken_m);
        }
    }
    let low = match of_gauge().any(is_low) {
        true => format!("; other {gauge} there is not for insulation of {wanted_c:.0} C"),
        false => String::new(),
    };
    entry::said(Units::of(c.plan), &text, &numbers) + &low
}

/// Which runs of the plan the truck's spools serve, every conductor of both poles counted, each by its own insulation.
#[derive(Default)]
pub(super) struct Served {
    /// What is cut for which run.
    pub(super) by: Vec<(usize, Vec<Piece>)>,
    /// Runs of a gauge on the truck for which too little of it is left, the longest last.
    pub(super) without: Vec<usize>,
}

impl Served {
    /// Those that are not sized have their wire first, then the shortest, so that a spool serves as many as it can. Who was
    /// given its gauge by the sizing counts for nothing: what is sized is measured as it will be when it is sized again.
    pub(super) fn of(c: &Context<'_>, stock: &Stock, is_held: impl Fn(usize) -> bool) -> Self {
        Self::made(stock, c.plan.runs.iter().enumerate(), is_held)
    }

    /// The same of these runs by their places in the plan.
    pub(super) fn made<'a>(
        stock: &Stock,
        runs: impl Iterator<Item = (usize, &'a Run)>,
        is_held: impl Fn(usize) -> bool,
    ) -> Self {
        let mut wanted: Vec<(bool, f64, usize, Vec<Piece>)> = Vec::new();
        for (i, run) in runs {
            for of_gauge in by_gauge(run).into_values() {
                if of_gauge.first().is_some_and(|p| on_van(stock, run, p.gauge)) {
                    wanted.push((!is_held(i), of_gauge.iter().map(|p| p.metres).sum(), i, of_gauge));
                }
            }
        }
        wanted.arrange_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (mut served, mut cut) = (Self::default(), Vec::new());
        for (_, _, i, of_run) in wanted {
            let before = cut.len();
            cut.extend(of_run.iter().copied());
            if can_cut(stock, &cut) {
                served.by.push((i, of_run));
            } else {
                cut.truncate(before);
                served.without.push(i);
            }
        }
        served
    }
}

/// The new conductors of a run by their gauge.
fn by_gauge(run: &Run) -> BTreeMap<Gauge, Vec<Piece>> {
    let mut all: BTreeMap<Gauge, Vec<Piece>> = BTreeMap::new();
    for piece in pieces(run) {
        all.entry(piece.gauge).or_default().push(piece);
    }
    all
}

/// Whether the spools have a run of a plan beside all others that they serve.
pub(super) fn covers(stock: &Stock, plan: &Plan, run: &Run) -> bool {
    let index = plan.runs.iter().position(|r| r.id == run.id);
    let others = plan.runs.iter().enumerate().filter(|(i, _)| Some(*i) != index);
    let served = Served::made(stock, others, |_| false);
    let cut = served.by.iter().flat_map(|(_, of)| of).copied().chain(pieces(run)).collect::<Vec<_>>();
    can_cut(stock, &cut)
}

/// Edits of a run's gauge that the truck's spools cover, one after the other.
pub(super) fn covered(stock: &Stock, plan: &Plan, edits: Vec<Edit>) -> Vec<Edit> {
    let mut now = plan.clone();
    let mut kept = Vec::new();
    for edit in edits {
        let Ok(with) = now.with(&Step { name: String::new(), edits: vec![edit.clone()] }) else { continue };
        let serves = |(old, new): (&Run, &Run)| {
            let on = || pieces(new).iter().all(|p| on_van(stock, new, p.gauge));
            old == new || (on() && covers(stock, &with, new))
        };
        if now.runs.iter().zip(&with.runs).all(serves) {
            kept.push(edit);
            now = with;
        }
    }
    kept
}

/// Fuses of the truck that a run could have, and that others of the plan take to the last.
pub(super) fn fuses_spent(
    (was, plan): (&Plan, &Plan),
    stock: &Stock,
    index: usize,
    figures: &RunFigures,
) -> Option<String> {
    let (least, most) = (figures.fuse_min_a.as_ref().ok()?.0, figures.fuse_max_a.as_ref().ok()?.0);
    let own = fuses(plan.runs.get(index)?).next().and_then(|f| f.family.known().copied());
    let left = fuses_left(stock, (was, plan), &[]);
    let mut spent = stock.truck.fuses.iter().zip(&left.truck.fuses).filter_map(|(had, left)| {
        let (family, amps, count) = (*had.family.known()?, had.amps_a.known()?.0, had.count.known()?.0);
        let fits = amps >= least - 1e-9 && amps <= most + 1e-9 && own.is_none_or(|own| own == family);
        let is_spent = count >= 1.0 && left.count.known().is_some_and(|n| n.0 < 1.0);
        (fits && is_spent).then_some((family, amps, count))
    });
    let (family, amps, count) = spent.next()?;
    let takes = |(i, run): &(usize, &Run)| {
        *i != index
            && fuses(run).any(|f| f.family.known() == Some(&family) && f.amps_a.known().is_some_and(|a| a.0 == amps))
    };
    let users = plan.runs.iter().enumerate().filter(takes).map(|(_, run)| run.id.as_str());
    let users: Vec<&str> = users.collect();
    (!users.is_empty()).then(|| {
        let each = if count == 1.0 { "the one fuse".into() } else { format!("all {count} fuses") };
        format!("{each} of {amps} A {family} on the truck taken by {}", users.join(", "))
    })
}
