//! Conductors: ampacity, drop, metal, paralleling, terminals.

use crate::engine::Work;
use crate::engine::capacity::{copper_clad, leg_capacities, other_basis, ratings, terminals, without_column};
use crate::engine::circuit::{Node, PathKind, Role, Way, name_of};
use crate::engine::cures::{LEAST_M, LEAST_SHARE, NEAREST_M};
use crate::engine::dc_lines::ahead;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::protection::{is_of_starter, wants_fuse};
use crate::engine::resistance::{conductors_ohm, fittings_ohm, fuses, gauge_of, leg_path, legs, length_m, unrated};
use crate::engine::runs::{Found, PathDrop, Warmth, current_on, end_id, ohm_at, path_of};
use crate::engine::sizing::make::{Make, made_of, takes};
use crate::plan::power::ChargerKind;
use crate::plan::sources::SHEET;
use crate::plan::{FieldPath, Figure, Known, Missing, Ratings, Run, State};
use crate::standards::ampacity::AmpacityRefusal;
use crate::standards::cited::{AMPACITY, PARALLEL, PV_CONDUCTOR};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::kinds::Metal;
use crate::standards::rules::rule;
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

use super::digits::{apart, over, rated};
use super::inputs::{DROPS_OUT, drops_out};
use super::said_once;

static CLAD: Source = Source::new("copper-clad aluminium", "", Standing::FromMemory);

pub(super) static BELOW: Check = Check {
    id: "conductor-below-current",
    safety: true,
    say: |f| {
        let (flows, carries) = apart(f.n(0), f.n(1), 1);
        if let (Some(design), Some(times)) = (f.numbers.get(2), f.numbers.get(3)) {
            return format!(
                "{}: {design:.1} A may flow; before ambient and bundle factors a PV conductor is asked {times} x that, \
                 {flows} A, and leg {} carries {carries} A",
                f.name(0),
                f.name(1)
            );
        }
        format!("{}: {flows} A may flow, its weakest leg {} carries {carries} A", f.name(0), f.name(1))
    },
};
static MAKERS: Check = Check {
    id: "makers-lead",
    safety: false,
    say: |f| {
        let (flows, carries) = apart(f.n(0), f.n(1), 1);
        if f.name(1) == STARTER {
            return format!(
                "{}: the cable of the engine's own starter, which runs for seconds: not judged; a wire of its gauge carries \
                 {carries} A all the time, the starter draws {flows} A",
                f.name(0)
            );
        }
        format!(
            "{}: the maker's own lead from the alternator, not judged; a new one of its gauge would carry {carries} A of the \
             alternator's {flows} A",
            f.name(0)
        )
    },
};
const STARTER: &str = "starter";
static OTHER: Check = Check {
    id: "other-basis-ampacity",
    safety: false,
    say: |f| {
        let (flows, carries) = apart(f.n(0), f.n(2), 1);
        format!(
            "{}: {flows} A may flow; its weakest leg {} carries {:.1} A by {} rules, {carries} A by {} rules",
            f.name(0),
            f.name(1),
            f.n(1),
            f.name(2),
            f.name(3)
        )
    },
};
static HOT: Check = Check {
    id: "ambient-over-insulation",
    safety: true,
    say: |f| format!("{} leg {}: {}", f.name(0), f.name(1), f.name(2)),
};
static NO_COLUMN: Check = Check {
    id: "ampacity-without-column",
    safety: false,
    say: |f| {
        format!(
            "{} leg {}: insulation of {} C stands air at {} C, but the {} C column is the last of its table that it may use; \
             what it carries there is not checked",
            f.name(0),
            f.name(1),
            rated(f.n(2)),
            rated(f.n(0)),
            rated(f.n(1))
        )
    },
};
pub(super) static SHARED: Check = Check {
    id: "parallel-too-thin",
    safety: true,
    say: |f| {
        let what = match f.name(1) {
            "" => f.name(0).to_string(),
            leg => format!("{} leg {leg}", f.name(0)),
        };
        format!(
            "{what}: conductors of {:.1} mm2, thinner than {} mm2 (1/0 AWG is 53.5 mm2), share no current safely; counted as one",
            f.n(0),
            f.n(1)
        )
    },
};
static COPPER_CLAD: Check = Check {
    id: "copper-clad",
    safety: false,
    say: |f| {
        let new = if f.name(1).is_empty() { "" } else { "; it is entered as new, and is only ever kept where it lies" };
        format!(
            "{} is copper-clad aluminium: {} x the resistance of copper, {} x its ampacity, and its lugs work loose{new}",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static DROP: Check = Check {
    id: "drop-over-target",
    safety: false,
    say: |f| {
        let (pct, target) = over(f.n(0), f.n(3));
        // Of two numbers that still read the same the sentence says which is larger.
        let over = if pct == target { "just over its target of" } else { "target" };
        const INSTEAD: &str = "fewer of them, larger ratings, a bank of more volts";
        let wireless = match (f.numbers.get(4), f.numbers.get(5)) {
            // What a bad joint loses is neither the wire's nor the fittings'.
            _ if !f.name(3).is_empty() => f.name(3).into(),
            (Some(v), None) => {
                format!("; {v:.2} V of it in fuses, switches and lugs, which no wire mends: {INSTEAD}")
            }
            // With nothing lost in fittings, the line is too long for what it carries.
            (Some(v), Some(least)) if *v < 0.005 => format!(
                "; {least:.2} V of it at least stays in wire, as measured or as thick as its terminals take and as short as may \
                 be: less current on it, a source nearer by, a system of more volts"
            ),
            (Some(v), Some(least)) => format!(
                "; {v:.2} V of it in fuses, switches and lugs, and {least:.2} V at least in wire, as thick as its terminals take \
                 and as short as may be: {INSTEAD}"
            ),
            _ => String::new(),
        };
        format!(
            "{}: {:.2} V lost on the way{}, {pct} % of {:.1} V, {over} {target} %{}; {} has the most of it{wireless}",
            f.name(0),
            f.n(1),
            f.name(4),
            f.n(2),
            f.name(2),
            f.name(1)
        )
    },
};
static TERMINAL: Check = Check {
    id: "terminal-does-not-take",
    safety: false,
    say: |f| format!("{}: {} does not take {}{}", f.name(0), f.name(1), f.name(2), f.name(3)),
};
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let (Some(f), Some(link)) = (w.found.get(i), w.context.circuit.links.get(i)) else { continue };
        if link.role == Role::Dead {
            continue;
        }
        let path = || path_of(run);
        // Judged all the same, as enclosed.
        for leg in legs(run).filter(|l| l.laid == Known::Unknown) {
            out.wait(leg_path(run, leg, "laid"));
        }
        // Where a run lies nobody has said: asked at once, whatever else its ampacity waits for.
        for leg in legs(run).filter(|l| l.zone == Known::Unknown && l.ambient_c.is_none()) {
            out.wait(leg_path(run, leg, "zone"));
        }
        let is_starter = is_of_starter(w.context, i);
        // A fuse that is put there makes the lead the technician's own work: it is judged with it.
        let is_makers = link.role == Role::StartLead
            && !wants_fuse(w.context, i)
            && fuses(run).all(|fuse| fuse.state == State::Existing);
        match said_once(link.joined, below(w, i, run, f, link.role)) {
            // Original equipment, as its fuse is.
            Ok(Some(below)) if is_starter || is_makers => {
                let numbers = [below.n(0), below.n(1)];
                let note = Finding::new(&MAKERS, Level::Note, path(), &numbers, &COMMON_PRACTICE);
                let note = note.named([run.id.as_str(), if is_starter { STARTER } else { "" }]);
                out.take(&MAKERS, path, Ok(Some(note)));
            }
            Ok(None) if is_starter => {}
            Ok(None) => {
                out.take(&OTHER, path, Ok(by_other_basis(w, run, f)));
                super::uncapped::take(w, out, i, run, f);
            }
            judged => out.take(&BELOW, path, judged),
        }
        if let Ok(capacity) = &f.capacity {
            refusals(w, out, run, capacity.leg, capacity.weakest.refusal);
        }
        if let Some((leg, numbers)) = f.capacity.as_ref().err().and_then(|_| without_column(w.context, i, run)) {
            let leg = run.legs.get(leg).map_or("", |l| l.id.as_str());
            let found = Finding::new(&NO_COLUMN, Level::Note, path(), &numbers, AMPACITY.of(w.context.rules.basis));
            out.take(&NO_COLUMN, path, Ok(Some(found.named([run.id.as_str(), leg]))));
        }
        if copper_clad(run) {
            let clad = [w.context.rules.copper_clad_resistance, w.context.rules.copper_clad_ampacity];
            let heavy = matches!(link.role, Role::Shared | Role::InverterFeed | Role::BatteryLink);
            let level = if heavy { Level::Stop } else { Level::Caution };
            let new = legs(run).any(|l| l.metal == Metal::CopperClad && l.state == State::New);
            let names = [run.id.as_str(), if new { "new" } else { "" }];
            let found = Finding::new(&COPPER_CLAD, level, path(), &clad, &CLAD).named(names);
            out.take(&COPPER_CLAD, path, Ok(Some(found)));
        }
        for node in terminals(w.context, i) {
            out.take(&TERMINAL, path, terminal(w, run, node));
        }
    }
    drops(w, out);
    for (i, ch) in w.context.plan.chargers.iter().enumerate().filter(|(_, ch)| ch.state.stays()) {
        if ch.kind.known() == Some(&ChargerKind::DcDc) {
            let path = || FieldPath::of(&["chargers", ch.id.as_str()]);
            let said = drops_out(w, i);
            if matches!(&said, Ok(Some(found)) if found.check.id != DROPS_OUT.id) {
                out.wait(path().join("input_cutout_v"));
            }
            out.take(&DROPS_OUT, path, said);
        }
    }
}

fn below(w: &Work<'_>, i: usize, run: &Run, f: &Found, role: Role) -> Outcome {
    let capacity = f.capacity.as_ref().map_err(Clone::clone)?;
    let rules = &w.context.rules;
    // Of a run that waits for the vehicle's line what is sure without it may be too much by itself.
    let design = f.currents.wire_a().or_else(|missing| match f.currents.sure_a() {
        Some(sure) if sure * rules.conductor_factor > capacity.weakest.amps + 1e-9 => Ok(sure),
        _ => Err(missing),
    })?;
    let leg = run.legs.get(capacity.leg).map_or("", |l| l.id.as_str());
    let refused = matches!(
        capacity.weakest.refusal,
        Some(AmpacityRefusal::AmbientTooHot { .. } | AmpacityRefusal::BelowTable { .. })
    );
    let short = |needs: f64, carries: f64, source| {
        Finding::new(&BELOW, Level::Stop, path_of(run), &[needs, carries], source).named([run.id.as_str(), leg])
    };
    let needs = design * rules.conductor_factor;
    if !refused && capacity.weakest.amps < needs - 1e-9 {
        return Ok(Some(short(needs, capacity.weakest.amps, AMPACITY.of(rules.basis))));
    }
    let before = design * rules.pv_conductor_factor;
    if !refused && role == Role::Array && capacity.before_a < before - 1e-9 {
        let legs = leg_capacities(w.context, i, run)?;
        let least =
            legs.iter().min_by(|a, b| a.1.before_a.total_cmp(&b.1.before_a)).and_then(|(i, _)| run.legs.get(*i));
        let numbers = [before, capacity.before_a, design, rules.pv_conductor_factor];
        let found = Finding::new(&BELOW, Level::Stop, path_of(run), &numbers, PV_CONDUCTOR.of(rules.basis));
        return Ok(Some(found.named([run.id.as_str(), least.map_or(leg, |l| l.id.as_str())])));
    }
    Ok(None)
}

/// What carries its current by the plan's basis, and not by the other one.
fn by_other_basis(w: &Work<'_>, run: &Run, f: &Found) -> Option<Finding> {
    let (capacity, rules) = (f.capacity.as_ref().ok()?, &w.context.rules);
    let needs = f.currents.wire_a().ok()? * rules.conductor_factor;
    let other_a = capacity.other_a.filter(|a| *a > 0.0 && needs > *a + 1e-9)?;
    let leg = run.legs.get(capacity.leg).map_or("", |l| l.id.as_str());
    let other = other_basis(rules.basis);
    let numbers = [needs, capacity.weakest.amps, other_a];
    let found = Finding::new(&OTHER, Level::Note, path_of(run), &numbers, AMPACITY.of(other));
    Some(found.named([run.id.as_str(), leg, rules.basis.word(), other.word()]))
}

fn refusals(w: &Work<'_>, out: &mut Gathered, run: &Run, leg: usize, refusal: Option<AmpacityRefusal>) {
    let Some(why) = refusal else { return };
    let leg = run.legs.get(leg).map_or("", |l| l.id.as_str());
    let (ampacity, parallel) = (AMPACITY.of(w.context.rules.basis), PARALLEL.of(w.context.rules.basis));
    let (check, level, numbers, source) = match why {
        AmpacityRefusal::AmbientTooHot { ambient_c, conductor_c } => {
            (&HOT, Level::Stop, vec![ambient_c, conductor_c], ampacity)
        }
        AmpacityRefusal::BelowTable { insulation_c, least_c } => {
            (&HOT, Level::Stop, vec![least_c, insulation_c], ampacity)
        }
        AmpacityRefusal::NoColumn { .. } => return,
        AmpacityRefusal::ParallelTooThin { gauge } => {
            (&SHARED, Level::Caution, vec![area_mm2(gauge), w.context.rules.parallel_least_mm2], parallel)
        }
    };
    let text = why.to_string();
    let found = Finding::new(check, level, path_of(run), &numbers, source).named([run.id.as_str(), leg, text.as_str()]);
    out.take(check, || path_of(run), Ok(Some(found)));
}

fn terminal(w: &Work<'_>, run: &Run, node: Node) -> Outcome {
    let Some((r, path)) = ratings(w.context, node) else { return Ok(None) };
    if r.smallest_wire.is_none() && r.largest_wire.is_none() && r.wires_each.is_none() {
        return Ok(None);
    }
    let each = r.wires_each.as_ref().and_then(|k| k.known()).map(|n| n.0);
    for leg in legs(run) {
        let gauge = gauge_of(run, leg)?;
        let size = |k: &Option<crate::plan::Known<_>>| k.as_ref().and_then(|k| k.known()).map(|g| area_mm2(*g));
        let thin = size(&r.smallest_wire).is_some_and(|least| area_mm2(gauge) < least - 1e-9);
        let thick = size(&r.largest_wire).is_some_and(|most| area_mm2(gauge) > most + 1e-9);
        let count = leg.per_pole.known().map_or(1.0, |n| n.0);
        let many = each.is_some_and(|each| count > each + 1e-9);
        if thin || thick || many {
            let (owner, _) = path("x").split_last();
            let name = owner.segments().last().unwrap_or("bank").to_string();
            return Ok(Some(Finding::new(&TERMINAL, Level::Caution, path_of(run), &[area_mm2(gauge)], &SHEET).named(
                [
                    run.id.to_string(),
                    name,
                    if many { format!("{count} x {gauge} in one terminal") } else { gauge.to_string() },
                    if many { String::new() } else { takes_what(r) },
                ],
            )));
        }
    }
    Ok(None)
}

/// What sizes terminals do take, as their instructions say.
fn takes_what(r: &Ratings) -> String {
    let size = |k: &Option<crate::plan::Known<_>>| k.as_ref().and_then(|k| k.known()).map(Gauge::to_string);
    match (size(&r.smallest_wire), size(&r.largest_wire)) {
        (Some(least), Some(most)) => format!("; {least} to {most}"),
        (Some(least), None) => format!("; {least} at least"),
        (None, Some(most)) => format!("; {most} at most"),
        (None, None) => String::new(),
    }
}

/// One finding for every path over its target, about the run at that path's own end: which run loses most on it changes
/// with their gauges, its end does not.
fn drops(w: &Work<'_>, out: &mut Gathered) {
    let mut over: Vec<(usize, f64, Finding)> = Vec::new();
    for (way, drop) in w.context.circuit.judged_ways().zip(w.drops) {
        let Some(most) = way.runs.iter().copied().max_by(|a, b| volts(w, way, *a).total_cmp(&volts(w, way, *b))) else {
            continue;
        };
        let Some(end) = end_run(way) else { continue };
        let plan = w.context.plan;
        let (Some(run), Some(own)) = (plan.runs.get(most), plan.runs.get(end)) else { continue };
        match over_target(w, way, drop, run, own) {
            Ok(Some(finding)) => {
                let excess = finding.n(0) / drop.target_pct.max(1e-9);
                // Loads that hang on one panel share all of their way; of an array's string leads the worst is said.
                let first = w.context.circuit.way_of(way.kind, way.end).and_then(end_run).unwrap_or(end);
                let end = if way.kind == PathKind::Array { first } else { end };
                match over.iter_mut().find(|(i, ..)| *i == end) {
                    Some(old) if old.1 < excess - 1e-9 => *old = (end, excess, finding),
                    Some(_) => {}
                    None => over.push((end, excess, finding)),
                }
            }
            // What a device without a rating adds may be too much.
            Ok(None) => {
                if let Some(field) = unrated(w.context, &way.runs) {
                    out.take(&DROP, || path_of(own), Err(Missing(field)));
                }
            }
            Err(missing) => out.take(&DROP, || path_of(own), Err(missing)),
        }
    }
    for (_, _, finding) in over {
        let subject = finding.subject.clone();
        out.take(&DROP, || subject, Ok(Some(finding)));
    }
}

/// The run of a way that ends on what the way is named after.
fn end_run(way: &Way) -> Option<usize> {
    match way.kind {
        PathKind::Array | PathKind::ControllerBank | PathKind::Charger => way.runs.first().copied(),
        _ => way.runs.last().copied(),
    }
}

pub(super) fn volts(w: &Work<'_>, way: &Way, run: usize) -> f64 {
    let Some(f) = w.found.get(run) else { return 0.0 };
    let ohm =
        f.at_drop.as_ref().map_or_else(|_| ohm_at(w.context, w.found, way, run, Warmth::Own).unwrap_or(0.0), |l| l.ohm);
    current_on(way, w.found, run).map_or(0.0, |amps| ohm * amps)
}

/// What the fuses, switches, shunts and joints of a way lose, its wire left out.
fn fittings_v(w: &Work<'_>, way: &Way) -> Figure<f64> {
    let mut volts = 0.0;
    for i in &way.runs {
        let Some(run) = w.context.plan.runs.get(*i).filter(|r| r.measured_ohm.is_none()) else { continue };
        volts += fittings_ohm(w.context, *i, &w.context.circuit.counted(*i, run))? * current_on(way, w.found, *i)?;
    }
    Ok(volts)
}

/// What a way loses at least, whatever its wire.
pub(super) fn least_way_v(w: &Work<'_>, way: &Way) -> Option<f64> {
    Some(fittings_v(w, way).ok()? + least_wire_v(w, way)?)
}

/// Copper that a run's terminals take at most in a pole: of the thickest, or of two where they take none so thick.
fn thickest_mm2(w: &Work<'_>, i: usize, run: &Run, now: Make) -> f64 {
    let mut thickest_first = now.gauge.ladder().rev().map(|gauge| Make::as_drawn(run, gauge)).enumerate();
    let fits = thickest_first.find(|(_, make)| takes(w.context, i, *make).may());
    fits.map_or(0.0, |(place, make)| make.area_mm2() * if place == 0 { 1.0 } else { 2.0 })
}

/// What the wire of a way loses at least: of the thickest that its terminals take, cold, on the shortest way that a step
/// offers. What was measured, or is of no known gauge, stays as it is.
///
/// Source: drop is proportional to length and to one over the area.
fn least_wire_v(w: &Work<'_>, way: &Way) -> Option<f64> {
    const COLD_C: f64 = 20.0;
    let mut volts = 0.0;
    for i in &way.runs {
        let run = w.context.plan.runs.get(*i)?;
        let amps = current_on(way, w.found, *i).ok()?;
        let ohm = match (run.measured_ohm, made_of(run)) {
            (None, Some(now)) => {
                let most_mm2 = thickest_mm2(w, *i, run, now).max(now.area_mm2());
                let long_m = length_m(run).ok()?.max(1e-9);
                let share = ((long_m * LEAST_SHARE).clamp(LEAST_M, NEAREST_M) / long_m).min(1.0);
                conductors_ohm(w.context, &w.context.circuit.counted(*i, run), COLD_C).ok()? * now.area_mm2()
                    / most_mm2.max(1e-9)
                    * share
            }
            _ => w.found.get(*i)?.at_drop.as_ref().ok()?.ohm,
        };
        volts += ohm * amps;
    }
    Some(volts)
}

fn over_target(w: &Work<'_>, way: &Way, drop: &PathDrop, run: &Run, own: &Run) -> Outcome {
    let pct = drop.pct.clone()?;
    if pct <= drop.target_pct {
        return Ok(None);
    }
    let mut numbers = vec![pct, drop.drop_v.clone()?, drop.base_v.clone()?, drop.target_pct];
    // What fittings alone lose is worth a word where it is over the target by itself.
    let (fitting_v, target_v) = (fittings_v(w, way)?, drop.target_pct / 100.0 * drop.base_v.clone()?);
    if fitting_v > target_v {
        numbers.push(fitting_v);
    } else if let Some(least_v) = least_wire_v(w, way).filter(|least_v| fitting_v + least_v > target_v) {
        numbers.extend([fitting_v, least_v]);
    }
    // Of loads a body of rules has targets, where the plan's is one of those.
    let is_load = matches!(way.kind, PathKind::CriticalLoad | PathKind::OtherLoad);
    let row = target_rule(way.kind).first().and_then(|id| rule(id)).filter(|_| is_load);
    let source = row.map_or(&COMMON_PRACTICE, |row| row.source_of(w.context.rules.basis));
    let end = end_id(w.context.plan, way.end);
    let mend = super::measured::said(w, way);
    let from = from_battery(w, way);
    let names = [end.map_or("BK", |i| i.as_str()), run.id.as_str(), whose_target(way.kind), &mend, &from];
    let found = Finding::new(&DROP, Level::Caution, path_of(own), &numbers, source).named(names);
    Ok(Some(found.by_rules(target_rule(way.kind))))
}

/// Where the line of a DC-DC charger begins at a start battery, and what is drawn ahead of that to the alternator: a path is judged
/// from a battery's posts; what the alternator's own runs lose ahead of them counts in the volts that reach the charger.
fn from_battery(w: &Work<'_>, way: &Way) -> String {
    let (PathKind::ChargerInput, Node::Charger(charger)) = (way.kind, way.end) else { return String::new() };
    let near = way.runs.first().and_then(|i| w.context.circuit.links.get(*i)?.near());
    let others = ahead(w.context, charger).iter().filter(|i| !way.runs.contains(i));
    let ids = others.filter_map(|i| w.context.plan.runs.get(*i)).map(|r| r.id.as_str());
    let (runs, near) = (ids.collect::<Vec<_>>().join(" and "), near.map(|n| name_of(w.context.plan, n)));
    let on = |battery: String| format!(" from {battery} on, not counting {runs}, by which the alternator comes to it");
    near.filter(|_| !runs.is_empty()).map_or_else(String::new, on)
}

fn target_rule(kind: PathKind) -> &'static [&'static str] {
    match kind {
        PathKind::Array => &["drop-array"],
        PathKind::ControllerBank => &["drop-controller-bank"],
        PathKind::Inverter => &["drop-inverter"],
        PathKind::Charger => &["drop-charger"],
        PathKind::ChargerInput => &["drop-charger-input"],
        PathKind::CriticalLoad => &["drop-critical"],
        PathKind::OtherLoad => &["drop-other"],
    }
}

/// Whose target a way is held to, where its kind alone does not say it: the input of a charger has one by the plan's rule
/// alone.
fn whose_target(kind: PathKind) -> &'static str {
    match kind {
        PathKind::ChargerInput => " (its input line, rule drop-charger-input: the less arrives, the more it draws)",
        _ => "",
    }
}
