//! The figures of every run: currents, resistance, drop of the run and of its path, ampacity, fuse limits.

use crate::plan::wiring::{FuseAt, Pole};
use crate::plan::{Figure, Id, Known, Missing, Plan, Protection, Run};
use crate::units::{Amps, Celsius, Metres, Ohms, Volts};

use super::arrays;
use super::capacity::{self, RunCapacity};
use super::circuit::{Half, Node, PathKind, Role, Way};
use super::context::{Context, at};
use super::currents::{self, RunCurrents, Terminals, step_down};
use super::dc_lines;
use super::fault::Source;
use super::inflow::{is_fed_from_both, is_on_loop};
use super::protection::{self, Duty, Limits};
use super::report::{FuseFigures, RunFigures, none_yet};
use super::resistance::{self, Loop};
use super::worth::{is_of_charger, next_up};

/// What is found of a run, before it is put into the report.
pub(super) struct Found {
    pub(super) currents: RunCurrents,
    pub(super) at_drop: Figure<Loop>,
    /// Of a pair that some way goes over by one conductor alone, or whose two carry unlike currents: part of its ohms
    /// that its negative has.
    pub(super) negative_part: Option<f64>,
    pub(super) capacity: Figure<RunCapacity>,
    pub(super) limits: Figure<Limits>,
}

/// A path's drop.
#[derive(Clone, Debug)]
pub(super) struct PathDrop {
    pub(super) drop_v: Figure<f64>,
    pub(super) base_v: Figure<f64>,
    pub(super) pct: Figure<f64>,
    pub(super) target_pct: f64,
}

/// Currents, resistance, ampacity and limits of every run.
pub(super) fn find(c: &Context<'_>, t: &Terminals) -> Vec<Found> {
    let mut all = Vec::with_capacity(c.plan.runs.len());
    for (i, run) in c.plan.runs.iter().enumerate() {
        let currents = currents::of_run(c, t, i, run);
        let at_drop = currents.warming_a().and_then(|amps| resistance::run_loop(c, i, run, amps, None));
        let capacity = capacity::of_run(c, i, run);
        let limits = limits(c, i, run, &currents, &capacity);
        let apart = currents.back.is_some() || c.circuit.ways.iter().any(|w| w.half(i).is_some());
        let part = |amps| resistance::negative_part(c, i, run, amps).ok();
        let negative_part = if apart { currents.warming_a().ok().and_then(part) } else { None };
        all.push(Found { currents, at_drop, negative_part, capacity, limits });
    }
    all
}

fn limits(
    c: &Context<'_>,
    index: usize,
    run: &Run,
    currents: &RunCurrents,
    capacity: &Figure<RunCapacity>,
) -> Figure<Limits> {
    let amps = capacity.as_ref().map_err(Clone::clone)?.weakest.amps;
    protection::limits(c, index, run, amps, currents.pair.design_a.clone()?)
}

/// The drop of every way of the circuit, each run at the current that flows on that way.
pub(super) fn path_drops(c: &Context<'_>, found: &[Found]) -> Vec<PathDrop> {
    c.circuit.judged_ways().map(|way| path_drop(c, found, way)).collect()
}

/// The current on a run of a way, at the working point: what all solar controllers push, what this charger and those that
/// run when it does push (shore and alternator do not charge together), what consumers draw. Where the way goes over one conductor of
/// a pair, or the two carry unlike currents, the one that would lose as much in both.
pub(super) fn current_on(way: &Way, found: &[Found], run: usize) -> Figure<f64> {
    let Some(here) = found.get(run) else { return Ok(0.0) };
    let out = amps_in(way, found, here, false);
    match (way.half(run), here.negative_part) {
        (None, Some(part)) if here.currents.back.is_some() => {
            Ok((1.0 - part) * out? + part * amps_in(way, found, here, true)?)
        }
        (Some(Half::Positive), Some(part)) => Ok((1.0 - part) * out?),
        (Some(Half::Negative), Some(part)) => Ok(part * amps_in(way, found, here, true)?),
        (Some(Half::Negative), None) => amps_in(way, found, here, true),
        _ => out,
    }
}

/// Part of a run's ohms that a way goes over.
pub(super) fn part_on(way: &Way, found: &[Found], run: usize) -> f64 {
    match (way.half(run), found.get(run).and_then(|f| f.negative_part)) {
        (Some(Half::Positive), Some(part)) => 1.0 - part,
        (Some(Half::Negative), Some(part)) => part,
        _ => 1.0,
    }
}

fn side(found: &Found, negative: bool) -> &RunCurrents {
    found.currents.back.as_deref().filter(|_| negative).unwrap_or(&found.currents)
}

/// The current of a way in a run's positive, or in its negative.
fn amps_in(way: &Way, found: &[Found], here: &Found, negative: bool) -> Figure<f64> {
    if way.start.is_some() {
        return here.currents.pair.drop_a.clone();
    }
    match way.kind {
        PathKind::ControllerBank => side(here, negative).solar_a.clone(),
        PathKind::Charger => {
            let group = charger_group(way, found);
            side(here, negative).chargers_a.get(group).cloned().unwrap_or(Ok(0.0))
        }
        PathKind::Inverter | PathKind::CriticalLoad | PathKind::OtherLoad => side(here, negative).draw_a.clone(),
        PathKind::Array | PathKind::ChargerInput => here.currents.pair.drop_a.clone(),
    }
}

/// The group of a way's charger: the only one that its own output carries anything of, a run that no other's shares.
fn charger_group(way: &Way, found: &[Found]) -> usize {
    let carries = |i: usize, group: usize| {
        let here = found.get(i).map(|f| side(f, way.half(i) == Some(Half::Negative)));
        here.and_then(|currents| currents.chargers_a.get(group)).is_some_and(|a| *a != Ok(0.0))
    };
    (0..3).find(|group| way.runs.iter().all(|i| carries(*i, *group))).unwrap_or(1)
}

fn path_drop(c: &Context<'_>, found: &[Found], way: &Way) -> PathDrop {
    let steps = steps(c, way);
    let target_pct = if cranks(c, way) { f64::INFINITY } else { target_pct(c, way.kind) };
    let base_v = match way.start {
        Some(battery) => Ok(super::vehicle::own_v(c, battery).1),
        None => base_v(c, way.kind, way.end),
    };
    let base_v = base_v.and_then(|v| Ok(v / steps.clone()?));
    let volts = |warmth: Option<Warmth>| {
        let mut volts = 0.0;
        let steps = steps.clone()?;
        for i in &way.runs {
            if counts(c, steps, *i)? {
                volts += over(c, found, way, *i, warmth)?;
            }
        }
        Ok::<f64, Missing>(volts)
    };
    // Another path's unknown current, which only warms a run they share, hides nothing that is sure without it.
    let drop_v = volts(None).or_else(|missing| {
        let target_v = target_pct / 100.0 * base_v.clone()?;
        let (least, most) = (volts(Some(Warmth::Own))?, volts(Some(Warmth::Insulation))?);
        match (least > target_v, most <= target_v) {
            (true, _) => Ok(least),
            (_, true) => Ok(most),
            _ => Err(missing),
        }
    });
    let pct = (|| Ok(drop_v.clone()? / base_v.clone()?.max(1e-9) * 100.0))();
    PathDrop { drop_v, base_v, pct, target_pct }
}

/// How warm a run is taken to be where its own working current is not known.
#[derive(Clone, Copy)]
pub(super) enum Warmth {
    /// By the current of the one path alone: the least.
    Own,
    /// What its insulation may stand: the most.
    Insulation,
}

/// Ohms of a run of a way at one of the bounds of its warmth.
pub(super) fn ohm_at(c: &Context<'_>, found: &[Found], way: &Way, index: usize, warmth: Warmth) -> Figure<f64> {
    let Some(run) = c.plan.runs.get(index) else { return Ok(0.0) };
    let amps = current_on(way, found, index)?;
    let held_c = match warmth {
        Warmth::Own => None,
        Warmth::Insulation => {
            let mut most_c = f64::MIN;
            for leg in resistance::legs(run) {
                most_c = most_c.max(leg.insulation_c.at(|| resistance::leg_path(run, leg, "insulation_c"))?.0);
            }
            Some(most_c)
        }
    };
    Ok(resistance::run_loop(c, index, run, amps, held_c)?.ohm)
}

/// The first run of a way that is one battery's own.
fn first_lead(c: &Context<'_>, way: &Way) -> Option<usize> {
    way.runs.iter().copied().find(|i| c.circuit.is_lead(*i))
}

/// Each battery's own runs, of the sides that a way goes over.
fn leads_on(c: &Context<'_>, way: &Way) -> Vec<Vec<usize>> {
    let over = |side: &[Vec<usize>]| side.iter().flatten().any(|i| way.runs.contains(i));
    let (out, back) = (over(&c.circuit.own_ways), over(&c.circuit.own_backs));
    let positive = |i: &usize| c.circuit.own_way_of(*i).is_some();
    let mut all = c.circuit.own_loops();
    let inside = c.circuit.leaves_inside(&way.runs);
    if let Some((own, after)) = inside {
        // What hangs there comes over this battery's first runs.
        let ahead = c.circuit.own_ways.get(own).map_or(&[][..], |runs| runs.get(..after).unwrap_or_default());
        all = all.get(own).cloned().into_iter().collect();
        all.iter_mut().for_each(|own| own.retain(|i| !positive(i) || ahead.contains(i)));
    }
    all.iter_mut().for_each(|own| own.retain(|i| if positive(i) { out } else { back }));
    all
}

/// The runs of a way, of the batteries' own those of the one whose lose most.
pub(super) fn worst_of(c: &Context<'_>, found: &[Found], way: &Way) -> Vec<usize> {
    let Some(first) = first_lead(c, way) else { return way.runs.clone() };
    let lost = |own: &Vec<usize>| -> f64 {
        let of = |i: &usize| Some(found.get(*i)?.at_drop.as_ref().ok()?.ohm * current_on(way, found, *i).ok()?);
        own.iter().filter_map(of).sum()
    };
    let leads = leads_on(c, way);
    let own = || leads.iter().find(|own| own.contains(&first));
    let worst =
        leads.iter().fold(own(), |most, next| most.map(|m| if lost(next) > lost(m) + 1e-12 { next } else { m }));
    let mut runs = Vec::with_capacity(way.runs.len());
    for i in &way.runs {
        match c.circuit.is_lead(*i) {
            false => runs.push(*i),
            true if *i == first => runs.extend(worst.into_iter().flatten()),
            true => {}
        }
    }
    runs
}

/// Volts lost in a run of a way. Where it is the first of one battery's own: in all of that, or of another battery's where
/// those lose more; the rest of it is counted with the first.
fn over(c: &Context<'_>, found: &[Found], way: &Way, run: usize, warmth: Option<Warmth>) -> Figure<f64> {
    let of = |i: usize| {
        let Some(f) = found.get(i) else { return Ok(0.0) };
        let ohm = match (warmth, f.at_drop.as_ref()) {
            (Some(warmth), Err(_)) => ohm_at(c, found, way, i, warmth)?,
            (_, known) => known.map_err(Clone::clone)?.ohm,
        };
        Ok::<f64, Missing>(ohm * current_on(way, found, i)?)
    };
    if !c.circuit.is_lead(run) {
        return of(run);
    }
    if first_lead(c, way) != Some(run) {
        return Ok(0.0);
    }
    let lost = |own: &Vec<usize>| own.iter().map(|i| of(*i)).sum::<Figure<f64>>();
    leads_on(c, way).iter().map(lost).try_fold(0.0, |most, volts| Ok(f64::max(most, volts?)))
}

/// How many times lower the volts at a way's end are than the bank's.
fn steps(c: &Context<'_>, way: &Way) -> Figure<f64> {
    way.runs.iter().try_fold(1.0, |most, i| Ok(f64::max(most, step_down(c, *i)?)))
}

/// The runs of a way that its drop is over.
pub(super) fn counted(c: &Context<'_>, way: &Way) -> Figure<Vec<usize>> {
    let steps = steps(c, way)?;
    let mut all = Vec::with_capacity(way.runs.len());
    for i in &way.runs {
        if counts(c, steps, *i)? {
            all.push(*i);
        }
    }
    Ok(all)
}

/// Whether the drop of a way of so many steps is over this run too: behind a converter its volts begin anew.
fn counts(c: &Context<'_>, steps: f64, run: usize) -> Figure<bool> {
    Ok(steps == 1.0 || step_down(c, run)? != 1.0)
}

fn base_v(c: &Context<'_>, kind: PathKind, end: Node) -> Figure<f64> {
    match (kind, end) {
        (PathKind::Array, Node::Array(i)) => match c.plan.arrays.get(i) {
            Some(array) => arrays::string_vmp_v(c.plan, array),
            None => c.base_v(),
        },
        // The start battery's system: 12 V, or 24 V where its label or its alternator says so.
        (PathKind::ChargerInput, Node::Charger(i)) => Ok(12.0 * dc_lines::twelves(c, i)),
        _ => c.base_v(),
    }
}

/// What the share of a run's drop is taken of where no path goes over it, as beside another: as of those of its role.
fn own_base_v(c: &Context<'_>, index: usize) -> Figure<f64> {
    let Some(link) = c.circuit.links.get(index) else { return c.base_v() };
    let kind = match link.role {
        Role::Array => PathKind::Array,
        Role::ChargerInput => PathKind::ChargerInput,
        _ if super::vehicle::feeds(c, index) => return Ok(12.0 * super::vehicle::twelves(c, index)),
        _ => return Ok(c.base_v()? / step_down(c, index)?.max(1.0)),
    };
    let ends = [link.from, link.to].into_iter().flatten();
    let end = ends.into_iter().find(|n| matches!((kind, n), (PathKind::Array, Node::Array(_)) | (_, Node::Charger(_))));
    end.map_or_else(|| c.base_v(), |end| base_v(c, kind, end))
}

/// Whether a way is an engine's own starter cable, which its maker has sized for seconds of hundreds of amps: no target is for that.
/// Source: common practice.
fn cranks(c: &Context<'_>, way: &Way) -> bool {
    way.start.is_some() && matches!(way.end, Node::Load(i) if super::starting::is_starter(c.plan, i))
}

fn target_pct(c: &Context<'_>, kind: PathKind) -> f64 {
    match kind {
        PathKind::Array => c.rules.drop_array,
        PathKind::ControllerBank => c.rules.drop_controller_bank,
        PathKind::Inverter => c.rules.drop_inverter,
        PathKind::Charger => c.rules.drop_charger,
        // A converter's input: its drop-out judges it, where the plan sets no target.
        PathKind::ChargerInput if c.rules.drop_charger_input <= 0.0 => f64::INFINITY,
        PathKind::ChargerInput => c.rules.drop_charger_input,
        PathKind::CriticalLoad => c.rules.drop_critical,
        PathKind::OtherLoad => c.rules.drop_other,
    }
}

/// The way each run is judged on: the one nearest to (or furthest over) its target.
pub(super) fn judged_on(c: &Context<'_>, drops: &[PathDrop]) -> Vec<Option<usize>> {
    let share = |w: usize| drops.get(w).map(|d| d.pct.as_ref().map_or(-1.0, |p| p / d.target_pct.max(1e-9)));
    let mut best: Vec<Option<usize>> = vec![None; c.plan.runs.len()];
    for (w, way) in c.circuit.judged_ways().enumerate() {
        let steps = steps(c, way);
        for i in &way.runs {
            if let Some(slot) = best.get_mut(*i)
                && steps.as_ref().is_ok_and(|steps| counts(c, *steps, *i) == Ok(true))
                && slot.is_none_or(|old| share(w) > share(old))
            {
                *slot = Some(w);
            }
        }
    }
    // Ways go over one of several batteries' leads: the others are judged with it.
    let own = || [&c.circuit.own_ways, &c.circuit.own_backs].into_iter().flatten().flatten();
    let judged = own().find_map(|lead| best.get(*lead).copied().flatten());
    for lead in own() {
        best.get_mut(*lead).into_iter().filter(|slot| slot.is_none()).for_each(|slot| *slot = judged);
    }
    best
}

/// What the lines of all runs need beside the circuit.
pub(super) struct Around<'a> {
    pub(super) source: &'a Figure<Source>,
    /// Cold volts of every array.
    pub(super) voc: &'a [Figure<Volts>],
}

/// The report's line of every run.
pub(super) fn figures(c: &Context<'_>, found: &[Found], drops: &[PathDrop], around: &Around<'_>) -> Vec<RunFigures> {
    let judged = judged_on(c, drops);
    let mut all = Vec::with_capacity(found.len());
    for (i, (run, f)) in c.plan.runs.iter().zip(found).enumerate() {
        let way = judged.get(i).copied().flatten();
        all.push(line(c, i, run, f, way.and_then(|w| Some((c.circuit.judged_way(w)?, drops.get(w)?))), around));
    }
    all
}

/// Volts that a run loses by itself: where unlike currents flow in its two conductors, each at its own.
fn own_drop_v(f: &Found) -> Figure<f64> {
    let out_a = f.currents.pair.drop_a.clone()?;
    let amps = match (&f.currents.back, f.negative_part) {
        (Some(back), Some(part)) => (1.0 - part) * out_a + part * back.pair.drop_a.clone()?,
        _ => out_a,
    };
    Ok(f.at_drop.clone()?.ohm * amps)
}

fn line(
    c: &Context<'_>,
    i: usize,
    run: &Run,
    f: &Found,
    way: Option<(&Way, &PathDrop)>,
    around: &Around<'_>,
) -> RunFigures {
    let Around { source, voc } = *around;
    let pair = &f.currents.pair;
    let drop_v = own_drop_v(f);
    let base_v = way.map_or_else(|| own_base_v(c, i), |(_, d)| d.base_v.clone());
    let capacity = f.capacity.as_ref().map_err(Clone::clone);
    let shown = f.limits.as_ref().map(Limits::shown).map_err(Clone::clone);
    let fuses = protection::fuse_figures(c, source, i, run, voc);
    let proposed = f.limits.as_ref().ok().and_then(|limits| {
        let volts = protection::circuit_v(c, i, voc).ok()?;
        protection::propose(c, i, limits, Duty { opens_a: opens_a(c, i, run, &fuses, source), volts })
    });
    RunFigures {
        id: run.id.clone(),
        length_m: resistance::length_m(run).map(Metres),
        design_a: pair.design_a.clone().map(Amps),
        design_how: pair.how,
        drop_at_a: pair.drop_a.clone().map(Amps),
        drop_how: pair.drop_how,
        resistance_ohm: f.at_drop.as_ref().map(|l| Ohms(l.ohm)).map_err(Clone::clone),
        wire_c: f.at_drop.as_ref().map(|l| Celsius(l.wire_c)).map_err(Clone::clone),
        drop_pct: (|| Ok(drop_v.clone()? / base_v.clone()?.max(1e-9) * 100.0))(),
        drop_v: drop_v.map(Volts),
        base_v: base_v.map(Volts),
        path_drop_v: way.map_or_else(none_yet, |(_, d)| d.drop_v.clone().map(Volts)),
        path_drop_pct: way.map_or_else(none_yet, |(_, d)| d.pct.clone()),
        target_pct: way.map(|(_, d)| d.target_pct).filter(|pct| pct.is_finite()),
        path: way.map_or_else(Vec::new, |(w, _)| ids(c, w)),
        path_end: way.and_then(|(w, _)| end_id(c.plan, w.end)).cloned(),
        ampacity_a: capacity.clone().map(|k| Amps(k.weakest.amps)),
        governs: capacity.as_ref().map_or("", |k| k.weakest.governs),
        weakest_leg: capacity.as_ref().ok().and_then(|k| run.legs.get(k.leg)).map(|l| l.id.clone()),
        other_basis_a: capacity.ok().and_then(|k| k.other_a),
        fuse_min_a: pair.design_a.clone().map(|a| Amps(a * protection::fuse_factor(c, i))),
        rounded_up: shown.as_ref().is_ok_and(|s| s.1),
        fuse_max_a: shown.map(|s| Amps(s.0)),
        proposed,
        fuses,
        loss_wh_day: none_yet(),
        next_up: next_up(c, i, run),
        of_charger: is_of_charger(c, i),
        is_minus: c.circuit.links.get(i).is_some_and(|l| matches!(l.role, Role::NegativeMain | Role::Bond)),
        changed: Default::default(),
    }
}

/// What a fuse at a run's source end must be able to open, margin included: the fault at the place of the one that is there,
/// else at the end itself, of one that is fed from both at the end where it is more; cable that nobody knows counts for nothing. None
/// where no battery drives a fault.
fn opens_a(c: &Context<'_>, i: usize, run: &Run, own: &[FuseFigures], source: &Figure<Source>) -> Option<f64> {
    let at = if c.circuit.links.get(i)?.near_from { FuseAt::From } else { FuseAt::To };
    // One that sits too far along is moved nearer.
    let near = |p: &Protection| p.distance_m.known().is_some_and(|m| m.0 <= c.rules.fuse_distance_note_m + 1e-9);
    let is_there = |p: &Protection| p.at == at && p.pole == Pole::Positive && near(p);
    let on_loop = is_on_loop(c, i);
    let figures = resistance::fuses(run).zip(own).find(|(p, _)| is_there(p) && !on_loop).map(|(_, f)| f);
    if let Some(figures) = figures
        && let Ok(fault) = &figures.fault_a
    {
        return Some(fault.0 * figures.margin);
    }
    let needed_a = |at: FuseAt| {
        let there = Protection { at, distance_m: Known::Is(Metres(0.0)), ..Protection::default() };
        Some(super::fault::at_fuse_at_most(c, source, i, run, &there)?.ok()?.needed_a())
    };
    let ends = if is_fed_from_both(c, i) { vec![FuseAt::From, FuseAt::To] } else { vec![at] };
    ends.into_iter().filter_map(needed_a).reduce(f64::max)
}

fn ids(c: &Context<'_>, way: &Way) -> Vec<Id> {
    way.runs.iter().filter_map(|i| c.plan.runs.get(*i)).map(|r| r.id.clone()).collect()
}

/// The name of what stands at the end of a way; none for the bank.
pub(super) fn end_id(plan: &Plan, end: Node) -> Option<&Id> {
    match end {
        Node::Array(i) => plan.arrays.get(i).map(|x| &x.id),
        Node::Controller(i) => plan.controllers.get(i).map(|x| &x.id),
        Node::Inverter(i) => plan.inverters.get(i).map(|x| &x.id),
        Node::Charger(i) => plan.chargers.get(i).map(|x| &x.id),
        Node::Load(i) => plan.loads.get(i).map(|x| &x.id),
        Node::Device(i) => plan.devices.get(i).map(|x| &x.id),
        Node::Bank | Node::BankMinus => None,
    }
}

/// Where a run's conductors begin and end, for sentences.
pub(super) fn end_names(run: &Run) -> (String, String) {
    let name = |k: &crate::plan::Known<Id>| k.known().map_or("?", |i| i.as_str()).to_string();
    (name(&run.from), name(&run.to))
}

/// Path of a run.
pub(super) fn path_of(run: &Run) -> crate::plan::FieldPath {
    crate::plan::FieldPath::of(&["runs", run.id.as_str()])
}

/// Path of a run's field.
pub(super) fn field_of(run: &Run, field: &str) -> crate::plan::FieldPath {
    at("runs", &run.id, field)
}
