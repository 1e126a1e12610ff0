//! Steps that lay other wire in a run, or lay it elsewhere; and what is moved before wire gets out of all proportion.

use crate::arrange::Arrange;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::ladder::gauge_step;
use crate::engine::report::Report;
use crate::engine::resistance::{ambient_of, leg_path, legs};
use crate::engine::sizing::make::{Make, made_of, takes};
use crate::engine::sizing::make_edits;
use crate::engine::{Engine, Level};
use crate::plan::{Edit, Leg, Plan, Run, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::kinds::Zone;
use crate::stock::Stock;

use super::{
    BY_FUSE, BY_WIRE, JACKETS_C, bought, fitting, is_bare, is_there, larger, looped, nearer, path, settings, with_fuse,
};

/// What a run can be made of with more copper than it has where it has least, as far as its terminals take it: legs with a
/// thinner gauge of their own first in those up to the run's, then all of it in more.
pub(super) fn thicker_steps(c: &Context<'_>, index: usize, run: &Run, gauge: Gauge) -> Vec<(Make, Step)> {
    let now = Make::as_drawn(run, gauge);
    let own = legs(run).filter_map(|leg| leg.gauge.as_ref()?.known().copied());
    let thinnest_mm2 = own.map(|g| Make::as_drawn(run, g).area_mm2()).fold(now.area_mm2(), f64::min);
    let is_of_legs = |m: &Make| m.area_mm2() < now.area_mm2() + 1e-9;
    let more = fitting::fitting(c, index).into_iter().filter(|m| m.area_mm2() > thinnest_mm2 + 1e-9);
    more.filter(|m| !is_of_legs(m) || m.per_pole == now.per_pole)
        .map(|make| {
            let step = match make.per_pole == now.per_pole {
                true if is_of_legs(&make) => thin_legs(run, make.gauge),
                true => gauge_step(run, make.gauge),
                false => Step { name: format!("{}: {make}", run.id), edits: make_edits(run, make, true) },
            };
            (make, bought::wire(c.plan, step))
        })
        .collect()
}

/// A gauge, no more than the run's, for the legs that have a thinner one of their own.
fn thin_legs(run: &Run, gauge: Gauge) -> Step {
    let is_thin =
        |leg: &&Leg| leg.gauge.as_ref().and_then(|g| g.known()).is_some_and(|g| area_mm2(*g) < area_mm2(gauge));
    // What the run has needs no word of the leg's own.
    let to = || if run.gauge.known() == Some(&gauge) { Value::Nothing } else { Value::Gauge(gauge) };
    let thin: Vec<&Leg> = legs(run).filter(is_thin).collect();
    let edits = thin.iter().map(|leg| Edit::Set { at: leg_path(run, leg, "gauge"), to: to() }).collect();
    let of: Vec<&str> = thin.iter().map(|leg| leg.id.as_str()).collect();
    Step { name: format!("{} {}: {gauge}", run.id, of.join(" and ")), edits }
}

/// One conductor in each pole in place of several that share no current safely.
pub(super) fn in_one(c: &Context<'_>, index: usize, run: &Run, gauge: Gauge) -> Vec<Step> {
    let thicker = gauge.ladder().filter(|g| area_mm2(*g) >= area_mm2(gauge) - 1e-9);
    let one = thicker.map(|gauge| Make { gauge, per_pole: 1 }).filter(|m| takes(c, index, *m).may());
    one.map(|make| Step { name: format!("{} in one: {make}", run.id), edits: make_edits(run, make, true) }).collect()
}

/// Insulation that stands the leg's ambient, or another route.
pub(super) fn cooler(plan: &Plan, run: &Run, leg: &str) -> Vec<Step> {
    let Some(leg) = run.legs.iter().find(|l| l.id.as_str() == leg) else { return Vec::new() };
    let path = |field: &str| crate::engine::resistance::leg_path(run, leg, field);
    let now = leg.insulation_c.known().map_or(0.0, |c| c.0);
    let better = JACKETS_C.into_iter().filter(|c| *c > now).map(|c| {
        let name = format!("{} {} insulation: {c} C", run.id, leg.id);
        Step::one(name, Edit::Set { at: path("insulation_c"), to: Value::Number(c) })
    });
    let mut edits = vec![Edit::Set { at: path("zone"), to: Value::Word(Zone::Cabinet.word()) }];
    if leg.ambient_c.is_some() {
        edits.push(Edit::Set { at: path("ambient_c"), to: Value::Nothing });
    }
    let name = format!("{} {} laid elsewhere: through a {}", run.id, leg.id, Zone::Cabinet);
    let elsewhere = Step { name, edits };
    better.chain(Some(elsewhere)).filter(|s| plan.with(s).is_ok()).collect()
}

/// Insulation or another route for the legs that lie in hotter air than a cabinet's: there a wire carries more.
fn out_of_heat(c: &Context<'_>, run: &Run) -> Vec<Step> {
    let cabinet_c = c.rules.ambient(Zone::Cabinet);
    let is_hot = |leg: &&Leg| ambient_of(c, run, leg).is_ok_and(|air_c| air_c > cabinet_c + 1e-9);
    legs(run).filter(is_hot).flat_map(|leg| cooler(c.plan, run, leg.id.as_str())).collect()
}

/// Whether a step is one of those.
pub(super) fn is_out_of_heat(step: &Step) -> bool {
    step.name.contains(" insulation: ") || step.name.contains(" laid elsewhere: ")
}

/// What a run's terminals do take, nearest to the copper it has.
pub(super) fn that_fit(c: &Context<'_>, index: usize, run: &Run) -> Vec<Step> {
    let Some(now) = made_of(run) else { return Vec::new() };
    let mut fit = fitting::fitting(c, index);
    let apart = |m: &Make| (m.area_mm2() / now.area_mm2().max(1e-9)).ln().abs();
    fit.arrange_by(|a, b| apart(a).total_cmp(&apart(b)));
    let step = |make: Make| Step { name: format!("{}: {make}", run.id), edits: make_edits(run, make, true) };
    fit.into_iter().map(step).collect()
}

/// The splices and joints of a way that were entered with ohms of their own, made anew.
fn joints_anew(c: &Context<'_>, finding: &Finding) -> Option<Step> {
    let (mut edits, mut names) = (Vec::new(), Vec::new());
    for run in path::way_of(c, finding)?.runs.iter().filter_map(|i| c.plan.runs.get(*i)) {
        let has = |l: &&Leg| l.extra_mohm.as_ref().and_then(|k| k.known()).is_some_and(|mohm| mohm.0 > 0.0);
        for leg in legs(run).filter(has) {
            edits.push(Edit::Set { at: leg_path(run, leg, "extra_mohm"), to: Value::Nothing });
            names.push(format!("{} {}", run.id, leg.id));
        }
    }
    (!edits.is_empty()).then(|| Step { name: format!("joints made anew: {}", names.join(", ")), edits })
}

/// Against a drop: what stands far from the bank moved, then thicker wire; and where that is out of all proportion to what
/// flows, after every other step.
pub(super) fn moved_or_thicker(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    (index, run, gauge): (usize, &Run, Gauge),
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    let (nearer, close) = nearer::steps(c, index, run, gauge, before).unwrap_or_default();
    // A run is sized once: with the wire that takes its stops as well, where some does.
    let stops = |r: &Report| {
        let is = |f: &&Finding| f.level == Level::Stop && BY_WIRE.contains(&f.check.id);
        r.findings.iter().filter(is).any(|f| f.run() == Some(run.id.as_str()))
    };
    let mut takes_all = |step: &Step| {
        let takes = c.plan.with(step).is_ok_and(|with| !stops(&engine.evaluate_wires(&with, stock)));
        takes && path::gone(engine, c, stock, finding, step)
    };
    let whole = if stops(before) { nearer.iter().position(&mut takes_all) } else { None };
    let nearer = nearer.into_iter().nth(whole.unwrap_or(0));
    let mut all: Vec<Step> = joints_anew(c, finding).into_iter().collect();
    all.extend(nearer.into_iter().flat_map(|step| with_fuse(engine, c.plan, stock, run, step)));
    all.extend(path::moved(engine, c, stock, finding, before));
    all.extend(wider(engine, c, stock, (index, run, gauge), finding, before));
    all.extend(path::larger_fuses(c, finding, before));
    all.extend(path::steps(engine, c, stock, finding, before));
    all.extend(close.into_iter().flat_map(|step| with_fuse(engine, c.plan, stock, run, step)));
    let (heavy, mut fit): (Vec<Step>, Vec<Step>) = all.into_iter().partition(|s| nearer::is_heavy(c, before, s));
    // Where only copper out of all proportion would: the cheapest set for the whole way, what lies ahead of its own runs among it.
    if !heavy.is_empty() && !fit.iter().any(|s| path::gone(engine, c, stock, finding, s)) {
        let lightest = heavy.iter().map(|s| nearer::copper_added(c, s)).fold(f64::MAX, f64::min);
        let whole = path::as_sized(engine, c, stock, finding);
        fit.extend(whole.filter(|s| nearer::copper_added(c, s) < lightest));
    }
    fit.into_iter().chain(heavy).collect()
}

/// A thicker conductor, and a thicker conductor with the fuse that it wants.
pub(super) fn wider(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    (index, run, gauge): (usize, &Run, Gauge),
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    let plan = c.plan;
    let about_fuse = BY_FUSE.contains(&finding.check.id);
    let about_wire = BY_WIRE.contains(&finding.check.id);
    let proposed = before.runs.get(index).and_then(|r| r.proposed.as_ref());
    let of_fuse = |f: &&Finding| BY_FUSE.contains(&f.check.id) && f.run() == Some(run.id.as_str());
    let stays = !before.findings.iter().filter(of_fuse).any(|f| f.level == Level::Stop);
    let mut steps = Vec::new();
    for (thicker, step) in thicker_steps(c, index, run, gauge) {
        if about_wire && !is_bare(finding) {
            steps.push(step.clone());
        }
        // Where no fuse fits this conductor, or the thicker one wants another: both at once.
        if (about_fuse && proposed.is_none()) || about_wire {
            let Ok(with) = plan.with(&step) else { continue };
            let report = engine.evaluate_wires(&with, stock);
            let figures = report.runs.get(index);
            let proposed = figures.and_then(|r| r.proposed.as_ref());
            let fit = match finding.check.id {
                "drop-over-target" => larger::that_lose_less(run, figures, proposed, stays),
                _ => proposed.cloned().into_iter().collect(),
            };
            for p in fit.iter().filter(|p| !is_there(run, p)) {
                let mut both = step.clone();
                both.edits.extend(looped::fitted(run, finding, p));
                let what = step.name.split(':').next().unwrap_or_default();
                both.name = format!("{what} with fuse: {thicker}, {} A {}", p.amps.0, p.family);
                steps.push(both);
            }
        }
    }
    if finding.check.id == "next-rating-up" {
        // Wire that has the ampacity leaves the fuse, or those whose current it brings back, as they are.
        steps.extend(thicker_steps(c, index, run, gauge).into_iter().map(|(_, step)| step));
    }
    if finding.check.id == "conductor-below-current" {
        // Where no copper does, or after it: what draws less.
        steps.extend(settings::smaller_inverters(c, index, finding));
    }
    if matches!(finding.check.id, "fuse-above-conductor" | "conductor-below-current") {
        steps.extend(out_of_heat(c, run));
    }
    steps
}
