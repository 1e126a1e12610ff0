//! What sizing all fills in beside gauges of runs that carry current: bonds, sense leads, fuses of unknown rating.

use crate::engine::circuit::{Circuit, Role};
use crate::engine::context::Context;
use crate::engine::cures::{as_bought, refit_edits};
use crate::engine::protection::fuses_of;
use crate::engine::report::RunFigures;
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::rule::Rules;
use crate::engine::{Engine, Finding};
use crate::plan::{Edit, Id, Known, Plan, Protection, Run, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::fuse::{dc_volts, interrupt_a, smallest_at_least};
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::Amps;

use super::bond;
use super::keep::{fuses_left, is_carried, smallest_carried, take};
use super::make::{Make, made_of};
use super::sizes;
use super::spools::on_van;
use super::truck::covers;
use super::wire::{self, system, thinnest_with};

/// A rating that stands for none. Source: our own choice, above every fuse that is sold.
const PROVISIONAL_A: f64 = 1000.0;

/// Whether a bond or a sense lead has no gauge, and may have one.
fn is_bare(run: &Run, role: Role) -> bool {
    matches!(role, Role::Bond | Role::Sense) && run.gauge.known().is_none() && wire::is_all_new(run)
}

/// A fuse of a run whose rating or family nobody has entered.
#[derive(Clone)]
pub(super) struct OpenFuse {
    pub(super) run: usize,
    pub(super) id: Id,
    /// Its family, where that is known.
    family: Option<FuseFamily>,
}

impl OpenFuse {
    /// Whether it is this fuse of this run.
    pub(super) fn is(&self, run: usize, fuse: &Protection) -> bool {
        self.run == run && self.id == fuse.id
    }
}

fn is_open(fuse: &Protection) -> bool {
    fuse.amps_a.known().is_none() || fuse.family.known().is_none()
}

/// The fuses that wait for a size.
pub(super) fn open_fuses(plan: &Plan) -> Vec<OpenFuse> {
    let (circuit, _) = Circuit::of(plan);
    let live = plan.runs.iter().enumerate().zip(&circuit.links).filter(|(_, l)| l.role != Role::Dead);
    let of = |(run, r): (usize, &Run)| -> Vec<OpenFuse> {
        let open = fuses(r).filter(|f| is_open(f));
        open.map(|f| OpenFuse { run, id: f.id.clone(), family: f.family.known().copied() }).collect()
    };
    live.flat_map(|(r, _)| of(r)).collect()
}

/// How many bonds, sense leads and fuses wait for a size.
pub(super) fn count(plan: &Plan, circuit: &Circuit) -> usize {
    let all = plan.runs.iter().zip(&circuit.links).filter(|(_, l)| l.role != Role::Dead);
    all.map(|(run, link)| usize::from(is_bare(run, link.role)) + fuses(run).filter(|f| is_open(f)).count()).sum()
}

/// How many runs of those that are sized have new wire without a gauge.
pub(super) fn bare_runs(plan: &Plan, circuit: &Circuit) -> usize {
    let all = plan.runs.iter().zip(&circuit.links).filter(|(_, l)| sizes(l.role));
    all.filter(|(run, _)| wire::has_new_leg(run) && made_of(run).is_none()).count()
}

impl Engine {
    /// The edits that give each of them one, those fuses included that had none to begin with. `only_van`: fuses that are
    /// left on it.
    pub(super) fn filled(
        &mut self,
        (was, plan): (&Plan, &Plan),
        (stock, only_van): (&Stock, bool),
        open: &[OpenFuse],
    ) -> Vec<Edit> {
        let (circuit, _) = Circuit::of(plan);
        let rules = Rules::of(plan);
        let mut edits = Vec::new();
        let mut thin = Vec::new();
        for (run, link) in plan.runs.iter().zip(&circuit.links).filter(|(r, l)| is_bare(r, l.role)) {
            let least = if link.role == Role::Sense { rules.least_branch_mm2 } else { 0.0 };
            let Some(gauge) = thinnest(plan, run, least, only_van.then_some(stock)) else { continue };
            let of = if link.role == Role::Sense { &mut edits } else { &mut thin };
            of.extend(wire::edits(run, Make::as_drawn(run, gauge), false));
        }
        // The thinnest bond there is says itself what it should be, if the battery lead it follows is known.
        let report = plan.with(&step(&thin)).map(|with| self.evaluate_wires(&with, stock));
        for f in report.iter().flat_map(|r| &r.findings).filter(|f| f.check.id == "bond-small") {
            edits.extend(bond(plan, f, only_van.then_some(stock)));
        }
        let with = provisional(plan, open);
        let mut left = only_van.then(|| fuses_left(stock, (was, plan), open));
        let mut report = self.evaluate_wires(&with, left.as_ref().unwrap_or(stock));
        for fuse in open {
            if let (Some(run), Some(figures)) = (plan.runs.get(fuse.run), report.runs.get(fuse.run)) {
                let own = fuse_of(run, fuse, figures, left.as_ref());
                let put = plan.with(&step(&own)).ok().filter(|_| !own.is_empty());
                edits.extend(own);
                if let (Some(left), Some(put)) = (&mut left, put) {
                    take_one(left, &put, fuse);
                    report = self.evaluate_wires(&with, left);
                }
            }
        }
        edits
    }
}

/// The plan with a fuse of hardly any resistance where none is known yet, and the thickest wire in a line whose current
/// follows from its own: the least current it can have.
pub(super) fn provisional(plan: &Plan, open: &[OpenFuse]) -> Plan {
    let unsized_line = |run: &Run| run.gauge.known().is_none();
    let mut with = if plan.runs.iter().any(unsized_line) { wire::lines_opened(plan) } else { plan.clone() };
    for fuse in open {
        let there = with.runs.get_mut(fuse.run).and_then(|r| r.protection.iter_mut().find(|f| f.id == fuse.id));
        if let Some(there) = there.filter(|f| is_open(f)) {
            there.family = Known::Is(fuse.family.unwrap_or(FuseFamily::ClassT));
            there.amps_a = Known::Is(Amps(PROVISIONAL_A));
        }
    }
    with
}

fn step(edits: &[Edit]) -> Step {
    Step { name: String::new(), edits: edits.to_vec() }
}

/// The thinnest wire for a bond or a sense lead: of every size, or of those that the truck has on a spool.
fn thinnest(plan: &Plan, run: &Run, mm2: f64, van: Option<&Stock>) -> Option<Gauge> {
    let Some(stock) = van else { return thinnest_with(system(plan, run), mm2) };
    let mut all = system(plan, run).ladder().filter(|g| area_mm2(*g) >= mm2 - 1e-9);
    all.find(|g| on_van(stock, run, *g) && covers(stock, plan, &wire::with_make(run, Make::as_drawn(run, *g))))
}

fn bond(plan: &Plan, f: &Finding, van: Option<&Stock>) -> Vec<Edit> {
    let Some((run, mm2)) = bond::small(plan, f).filter(|(run, _)| run.gauge.known().is_none()) else {
        return Vec::new();
    };
    if van.is_none() {
        return bond::edits(plan, run, mm2).unwrap_or_default();
    }
    let gauge = thinnest(plan, run, mm2, van);
    gauge.map_or_else(Vec::new, |gauge| wire::edits(run, Make::as_drawn(run, gauge), false))
}

/// Takes what was just put off the truck.
fn take_one(left: &mut Stock, plan: &Plan, open: &OpenFuse) {
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &[]);
    let fuse = plan.runs.get(open.run).and_then(|r| fuses(r).find(|f| open.is(open.run, f)));
    if let Some(fuse) = fuse
        && let (Some(family), Some(amps)) = (fuse.family.known(), fuse.amps_a.known())
    {
        take(left, (*family, amps.0), fuses_of(&c, open.run, fuse));
    }
}

/// The smallest rating of the fuse's own family that the run wants, where that family stands its place; else what the
/// program would fit. Where the wire is not known yet, it will be sized for the fuse.
fn fuse_of(run: &Run, open: &OpenFuse, figures: &RunFigures, van: Option<&Stock>) -> Vec<Edit> {
    let Ok(least) = &figures.fuse_min_a else { return Vec::new() };
    let Some(fuse) = fuses(run).find(|f| f.id == open.id) else { return Vec::new() };
    let most_a = figures.fuse_max_a.as_ref().map_or(f64::MAX, |a| a.0);
    let first = fuses(run).next().is_some_and(|f| f.id == fuse.id);
    // Only the first fuse of a run is the proposed one.
    let proposed = figures.proposed.as_ref().filter(|_| first);
    let proposed = proposed.filter(|p| van.is_none_or(|stock| is_carried(stock, p)));
    let family = open.family.unwrap_or(FuseFamily::ClassT);
    let smallest = match van {
        Some(stock) => smallest_carried(stock, family, least.0),
        None => smallest_at_least(family, least.0),
    };
    let own = smallest.filter(|a| *a <= most_a + 1e-9);
    let own = own.filter(|_| stands(run, fuse, family, figures));
    let set = |field: &str, to: Value| Edit::Set { at: fuse_path(run, fuse, field), to };
    match (own, proposed) {
        (_, Some(p)) if open.family.is_none() || own.is_none() => refit_edits(run, p),
        (Some(amps), _) => {
            let mut edits = vec![set("amps_a", Value::Number(amps))];
            if open.family.is_none() {
                edits.insert(0, set("family", Value::Word(family.word())));
            }
            // What is there already has a rating of its own, whatever it is: this one is bought.
            edits.extend(as_bought(run, fuse, &edits));
            edits
        }
        (None, _) => Vec::new(),
    }
}

/// The smallest rating that fits a run of the type its first fuse has.
pub(super) fn of_its_type(run: &Run, figures: &RunFigures) -> Option<(Amps, FuseFamily)> {
    let fuse = fuses(run).next()?;
    let family = *fuse.family.known()?;
    let (Ok(least), Ok(most)) = (&figures.fuse_min_a, &figures.fuse_max_a) else { return None };
    let amps = smallest_at_least(family, least.0).filter(|a| *a <= most.0 + 1e-9)?;
    stands(run, fuse, family, figures).then_some((Amps(amps), family))
}

/// Whether a family stands the volts and opens the fault of a fuse's place, as far as both are known. A breaker is what
/// its own sheet says.
pub(super) fn stands(run: &Run, fuse: &Protection, family: FuseFamily, figures: &RunFigures) -> bool {
    let place = fuses(run).position(|f| f.id == fuse.id).and_then(|i| figures.fuses.get(i));
    let Some(place) = place else { return false };
    let volts = place.circuit_v.as_ref().map_or(0.0, |v| v.0);
    // What cable is not sized yet for holds a fault down by nobody knows how much: asked again when it is.
    let fault = place.fault_a.as_ref().map_or(0.0, |a| a.0 * place.margin);
    let made = fuse.volts_dc_v.as_ref().and_then(|k| k.known()).map(|v| v.0).or_else(|| dc_volts(family));
    let opens = fuse.interrupt_a.as_ref().and_then(|k| k.known()).map(|a| a.0).or_else(|| interrupt_a(family, volts));
    family == FuseFamily::Breaker || (made.is_some_and(|v| v >= volts) && opens.is_some_and(|a| a >= fault))
}
