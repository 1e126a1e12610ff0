//! Why the truck does not serve a run: jackets nobody has read, too little wire left on a spool, fuses all taken.

use std::collections::{BTreeMap, BTreeSet};

use crate::arrange::Arrange;
use crate::engine::context::Context;
use crate::engine::price::wire_m;
use crate::engine::report::RunFigures;
use crate::engine::resistance::{fuses, legs};
use crate::engine::runs::Found;
use crate::plan::entry::{self, Units};
use crate::plan::{Edit, Plan, Run, Step};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::stock::{Spool, Stock};

use super::keep::fuses_left;
use super::make::made_of;
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
        all.sort_unstable();
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
    let least = wire::least_mm2(c, c.circuit.links.get(index)?.role);
    let there = stock.truck.spools.iter().filter_map(|s| s.gauge.known().copied());
    let there = there.filter(|g| wire::on_van(stock, run, *g) && wire::would_carry(c, index, found, *g));
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
    let mut least: Option<(Gauge, f64)> = None;
    for x in &would.candidates {
        let (gauge, needs) = (x.make.gauge, would.metres_of(x));
        let is_own = own.is_some_and(|own| own.gauge == gauge);
        let others = served.taken.get(&gauge).copied().unwrap_or(0.0);
        if (is_own && !served.without.contains(&index)) || others + needs <= wire::left_m(stock, gauge) + 1e-9 {
            return None;
        }
        if is_own || least.is_none() {
            least = Some((gauge, needs));
        }
    }
    let (gauge, needs_m) = least?;
    // A sum of nothing has a minus before its zero.
    let left_m = wire::left_m(stock, gauge) + 0.0;
    let is_open = stock.truck.spools.iter().any(|s| s.gauge.known() == Some(&gauge) && s.left_m.known().is_none());
    let open = if is_open { "; of a spool it is not entered how much is left" } else { "" };
    let mut text = format!("{gauge}: {needs_m:.1} m needed, {left_m:.1} m left on the truck{open}");
    let taken_m = served.taken.get(&gauge).copied().filter(|m| *m > 0.0 && needs_m <= left_m + 1e-9);
    if let (Some(taken_m), Some(by)) = (taken_m, served.by.get(&gauge)) {
        text.push_str(&format!(", {taken_m:.1} m of it taken by {}", by.join(", ")));
    }
    let numbers: Vec<f64> = [needs_m, left_m].into_iter().chain(taken_m).collect();
    Some(entry::said(Units::of(c.plan), &text, &numbers))
}

/// Which runs of the plan the truck's spools serve as they are drawn, every conductor of both poles counted.
#[derive(Default)]
pub(super) struct Served {
    /// Metres taken of each gauge, and by which runs.
    pub(super) taken: BTreeMap<Gauge, f64>,
    by: BTreeMap<Gauge, Vec<String>>,
    /// Runs of a gauge on the truck for which too little of it is left.
    pub(super) without: BTreeSet<usize>,
}

impl Served {
    /// Those that are not sized have their wire first, then the shortest, so that a spool serves as many as it can. Who was
    /// given its gauge by the sizing counts for nothing: what is sized is measured as it will be when it is sized again.
    pub(super) fn of(c: &Context<'_>, stock: &Stock, is_held: impl Fn(usize) -> bool) -> Self {
        let mut wanted: Vec<(bool, f64, usize, Gauge)> = Vec::new();
        for (i, run) in c.plan.runs.iter().enumerate() {
            for (gauge, metres) in wanted_by(run) {
                if wire::on_van(stock, run, gauge) {
                    wanted.push((!is_held(i), metres, i, gauge));
                }
            }
        }
        wanted.arrange_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut served = Self::default();
        for (_, metres, i, gauge) in wanted {
            let taken = served.taken.entry(gauge).or_default();
            if *taken + metres > wire::left_m(stock, gauge) + 1e-9 {
                served.without.insert(i);
                continue;
            }
            *taken += metres;
            served.by.entry(gauge).or_default().extend(c.plan.runs.get(i).map(|r| r.id.to_string()));
        }
        served
    }
}

/// Metres of new wire in a run, by gauge.
fn wanted_by(run: &Run) -> BTreeMap<Gauge, f64> {
    let mut all = BTreeMap::new();
    for leg in legs(run).filter(|l| wire::is_new(l)) {
        let gauge = leg.gauge.as_ref().unwrap_or(&run.gauge).known().copied();
        if let (Some(gauge), Ok(metres)) = (gauge, wire_m(run, leg)) {
            *all.entry(gauge).or_default() += metres;
        }
    }
    all
}

/// Metres left of a gauge beside all new wire of the plan that is drawn in it.
pub(super) fn spare_m(stock: &Stock, plan: &Plan, gauge: Gauge) -> f64 {
    let drawn = plan.runs.iter().filter_map(|run| wanted_by(run).get(&gauge).copied());
    wire::left_m(stock, gauge) - drawn.sum::<f64>()
}

/// Edits of a run's gauge that the truck's spools cover, one after the other.
pub(super) fn covered(stock: &Stock, plan: &Plan, edits: Vec<Edit>) -> Vec<Edit> {
    let mut now = plan.clone();
    let mut kept = Vec::new();
    for edit in edits {
        let Ok(with) = now.with(&Step { name: String::new(), edits: vec![edit.clone()] }) else { continue };
        let serves = |(old, new): (&Run, &Run)| {
            let on = |g: &Gauge| wire::on_van(stock, new, *g) && spare_m(stock, &with, *g) >= -1e-9;
            old == new || wanted_by(new).keys().all(on)
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
