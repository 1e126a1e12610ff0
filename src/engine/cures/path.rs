//! Steps for what one thicker wire does not mend: every run of a path at once, or its ends nearer to each other.

use crate::arrange::Arrange;
use crate::engine::circuit::{Circuit, Node, PathKind, Role, Way, path_at};
use crate::engine::context::Context;
use crate::engine::currents::Terminals;
use crate::engine::protection::{goes_in_panel, panel_of};
use crate::engine::report::{Proposed, Report};
use crate::engine::resistance::{conductors_ohm, fuse_path, fuses, leg_path, legs, length_m};
use crate::engine::runs::{self, Found, current_on};
use crate::engine::sizing::make::{Make, made_of};
use crate::engine::sizing::make_edits;
use crate::engine::{Engine, Finding, Level};
use crate::plan::entry::{self, Units};
use crate::plan::{Edit, FieldPath, Plan, Run, State, Step, Value};
use crate::standards::fuse::{resistance_ohm, smallest_at_least};
use crate::stock::Stock;

use super::fitting::fitting;
use super::larger;
use super::rating;
use super::whole::{doubled, wires};
use super::{BY_WIRE, book, bought, fuse_edits, is_there, nearer};

/// Least share of their length that runs are offered to be cut to. Source: our own choice; less is another place for
/// everything.
pub(in crate::engine) const LEAST_SHARE: f64 = 0.25;
/// Most runs, and gauges of each, that are tried thicker by themselves. Source: our own choice; each is a whole answer.
const MOST_ALONE: (usize, usize) = (2, 5);
/// Shortest run that is offered, m. Source: common practice, lug to lug across a bus bar's cover.
pub(in crate::engine) const LEAST_M: f64 = 0.15;

/// The way that a finding about a path is about: that which ends on the first name it gives.
pub(in crate::engine) fn way_of<'a>(c: &'a Context<'_>, finding: &Finding) -> Option<&'a Way> {
    let on = |way: &&Way| runs::end_id(c.plan, way.end).is_some_and(|id| id.as_str() == finding.name(0));
    let mut ways = c.circuit.judged_ways().filter(on);
    match finding.check.id {
        "dc-dc-drops-out" => return ways.find(|w| w.kind == PathKind::ChargerInput),
        "hot-vmp-low" => return ways.find(|w| w.kind == PathKind::Array),
        _ => {}
    }
    let run = c.plan.runs.iter().position(|r| finding.subject.as_str() == format!("runs.{}", r.id))?;
    ways.find(|w| w.runs.contains(&run))
}

/// What a run of a way can be made of with more copper than it has, least first.
pub(super) struct Choice<'a> {
    pub(super) index: usize,
    run: &'a Run,
    pub(super) now: Make,
    pub(super) more: Vec<Make>,
    /// Copper that it gets, as a share of what the run of the way gets that carries most.
    part: f64,
}

/// Those of a way; none of a run that keeps its wire: measured, or of no known gauge.
///
/// Source: of runs in series the least copper by weight loses so much where each has copper as the root of its current: the
/// sum of length x area held least (Lagrange) at a given sum of length x current / area.
pub(super) fn choices<'a>(c: &'a Context<'_>, way: &Way, before: &Report) -> Vec<Choice<'a>> {
    let found = runs::find(c, &Terminals::of(c));
    let lose = losers(c, way, &found);
    let amps = |i: usize| current_on(way, &found, i).unwrap_or(0.0).abs();
    let most_a = lose.iter().map(|i| amps(*i)).fold(0.0, f64::max);
    let of = |i: &usize| {
        let run = c.plan.runs.get(*i).filter(|r| r.measured_ohm.is_none())?;
        let now = made_of(run)?;
        let mut more = fitting(c, *i);
        // One that is too thin for its current or its fuse is sized once, with all that it wants.
        let stops = |f: &Finding| f.level == Level::Stop && BY_WIRE.contains(&f.check.id);
        let thin = before.findings.iter().any(|f| stops(f) && f.run() == Some(run.id.as_str()));
        let least = thin.then(|| nearer::wanted_mm2(c, *i, before)).flatten().unwrap_or(0.0);
        more.retain(|m| m.area_mm2() > now.area_mm2() + 1e-9 && m.area_mm2() >= least - 1e-9);
        let part = if amps(*i) > 0.0 { (amps(*i) / most_a).sqrt() } else { 1.0 };
        Some(Choice { index: *i, run, now, more, part })
    };
    way.runs.iter().filter(|i| lose.contains(i)).filter_map(of).collect()
}

/// The levels of copper, mm2 in the run that carries most, at which some of them gets the next of what it can be made of.
fn steps_of(choices: &[Choice<'_>]) -> Vec<f64> {
    let mut all: Vec<f64> = choices.iter().flat_map(|x| x.more.iter().map(|m| m.area_mm2() / x.part)).collect();
    all.arrange_by(f64::total_cmp);
    all.dedup();
    all
}

impl Choice<'_> {
    /// The first that has its part of a level, where it has less now.
    fn at(&self, level: f64) -> Option<Make> {
        let wants = level * self.part - 1e-9;
        self.more
            .iter()
            .find(|m| m.area_mm2() >= wants)
            .or(self.more.last())
            .copied()
            .filter(|_| self.now.area_mm2() < wants)
    }
}

/// Share of what a path loses under which a run is no part of the matter; on a path of many runs half of what each has on
/// the mean. Source: our own choice.
const NEGLIGIBLE: f64 = 0.1;

/// The runs of a way whose wire loses a part of its drop that is worth mending; all of them where that is not known.
///
/// Source: Ohm's law, each run at what the way brings over it.
fn losers(c: &Context<'_>, way: &Way, found: &[Found]) -> Vec<usize> {
    let amps = |i: usize| current_on(way, found, i).ok();
    let wire_v = |i: usize| Some(amps(i)? * conductors_ohm(c, &c.circuit.counted(i, c.plan.runs.get(i)?), 20.0).ok()?);
    let whole_v = |i: usize| Some(amps(i)? * found.get(i)?.at_drop.as_ref().ok()?.ohm);
    let all_v: Option<f64> = way.runs.iter().map(|i| whole_v(*i)).sum();
    let Some(all_v) = all_v else { return way.runs.clone() };
    let least = NEGLIGIBLE.min(0.5 / way.runs.len().max(1) as f64) * all_v;
    let lose: Vec<usize> = way.runs.iter().copied().filter(|i| wire_v(*i).is_none_or(|v| v >= least)).collect();
    // Where all of them lose little, all together may still be what is over.
    if lose.is_empty() { way.runs.clone() } else { lose }
}

/// The thinnest copper for all runs of the way that mends it, each with the fuse it wants then; where none does, the
/// thickest there is with the runs cut to what does.
pub(super) fn steps(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    let Some(way) = way_of(c, finding) else { return Vec::new() };
    let fuses = other_fuses(c, way, before);
    let none = Step { name: String::new(), edits: Vec::new() };
    let mut wired = wires(engine, c, stock, (way, finding), &none, before);
    if let (true, Some(base)) = (wired.as_ref().map_or(true, Vec::is_empty), &fuses) {
        wired = wires(engine, c, stock, (way, finding), base, before);
    }
    let together = larger::together(c, way, before, &mut |step| gone(engine, c, stock, finding, step));
    if together.is_none() && wired.is_err() {
        wired = with_larger(engine, c, stock, (way, finding), before).map_or(wired, |step| Ok(vec![step]));
    }
    // Where only what stands nearer does, or nothing.
    let single = wired.as_ref().is_ok_and(|all| all.iter().all(|s| !s.name.contains(" nearer: ")));
    let mut doubled = None;
    if !single && together.is_none() {
        let bases: Vec<&Step> = std::iter::once(&none).chain(&fuses).collect();
        doubled = self::doubled(engine, c, stock, (way, finding), &bases, before);
    }
    // What does not mend it is tried all the same, so that it is known to be in vain.
    let wired = wired.unwrap_or_else(|tried| vec![tried]);
    together.into_iter().chain(fuses).chain(wired).chain(doubled).collect()
}

/// The thinnest wire for all runs of the way that mends it with the largest fuses that it allows; where none does, the
/// thickest with the runs cut to what does.
fn with_larger(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    (way, finding): (&Way, &Finding),
    before: &Report,
) -> Option<Step> {
    let choices = choices(c, way, before);
    let none = Step { name: String::new(), edits: Vec::new() };
    let mut last = none.clone();
    for picked in levels(&choices) {
        let wire = thick(c, &none, &picked);
        let Some(step) = larger::beside(engine, c, stock, way, &wire) else { continue };
        let step = fused(engine, c, stock, before, step);
        if gone(engine, c, stock, finding, &step) {
            return Some(step);
        }
        last = step;
    }
    let (share, shortest) = shorter(engine, c, stock, (way, finding), &last).ok().filter(|_| !last.edits.is_empty())?;
    for picked in levels(&choices) {
        let Some(step) = larger::beside(engine, c, stock, way, &thick(c, &none, &picked)) else { continue };
        let cut = cut_to(c, way, share, &step)?.step;
        if gone(engine, c, stock, finding, &cut) {
            return Some(fused(engine, c, stock, before, cut));
        }
    }
    Some(fused(engine, c, stock, before, shortest))
}

/// What the runs of a way are made of at every level of copper, each as far as its terminals take it.
pub(super) fn levels(choices: &[Choice<'_>]) -> Vec<Vec<(usize, Make)>> {
    let mut all: Vec<Vec<(usize, Make)>> = Vec::new();
    for level in steps_of(choices) {
        let picked: Vec<(usize, Make)> = choices.iter().filter_map(|x| Some((x.index, x.at(level)?))).collect();
        if !picked.is_empty() && all.last() != Some(&picked) {
            all.push(picked);
        }
    }
    all
}

/// Each run of the way thicker by itself, the run that loses most first: those that leave what lies there as it is, then
/// those that lay other wire in its place.
pub(super) fn alone(c: &Context<'_>, finding: &Finding, before: &Report) -> (Vec<Step>, Vec<Step>) {
    let Some(way) = way_of(c, finding) else { return Default::default() };
    let ohm = |i: usize| c.plan.runs.get(i).and_then(|run| conductors_ohm(c, run, 20.0).ok()).unwrap_or(0.0);
    let mut all = choices(c, way, before);
    all.arrange_by(|a, b| ohm(b.index).total_cmp(&ohm(a.index)));
    let (mut kept, mut replaced) = (Vec::new(), Vec::new());
    for Choice { index: i, run, now, more, .. } in all.into_iter().take(MOST_ALONE.0) {
        if legs(run).any(|l| l.state != State::Existing) {
            let of = |make: Make| {
                let step = Step { name: format!("{}: {make}", run.id), edits: make_edits(run, make, true) };
                bought::wire(c.plan, step)
            };
            kept.extend(more.into_iter().take(MOST_ALONE.1).map(of));
        }
        if legs(run).any(|l| l.state == State::Existing) {
            let all = super::wire::thicker_steps(c, i, run, now.gauge).into_iter();
            replaced.extend(all.take(MOST_ALONE.1).map(|(_, step)| step));
        }
    }
    (kept, replaced)
}

/// The fuses that the runs of a way want in place of those they have: one that is too small, or of another family, loses
/// volts of its own.
fn other_fuses(c: &Context<'_>, way: &Way, before: &Report) -> Option<Step> {
    let (mut edits, mut names) = (Vec::new(), Vec::new());
    for i in &way.runs {
        let (run, figures) = (c.plan.runs.get(*i)?, before.runs.get(*i)?);
        let Some(fuse) = fuses(run).next() else { continue };
        match &figures.proposed {
            // A smaller one of the same family would lose more.
            Some(p)
                if fuse.family.known() == Some(&p.family) && fuse.amps_a.known().is_some_and(|a| a.0 >= p.amps.0) => {}
            Some(p) if !is_there(run, p) => {
                edits.extend(fuse_edits(run, p));
                names.push(format!("{} {} A {}", run.id, p.amps.0, p.family));
            }
            // On the panels' side none is proposed: the same in the rating that its current wants.
            None if way.kind == PathKind::Array => {
                let least = figures.fuse_min_a.as_ref().map_or(0.0, |a| a.0);
                let amps = fuse.family.known().and_then(|f| smallest_at_least(*f, least));
                if let Some(amps) = amps.filter(|a| fuse.amps_a.known().is_some_and(|now| now.0 < *a)) {
                    edits.push(Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(amps) });
                    names.push(format!("{} {amps} A", run.id));
                }
            }
            _ => {}
        }
    }
    (!edits.is_empty()).then(|| Step { name: format!("other fuses: {}", names.join(", ")), edits })
}

/// Another fuse on a way, of a rating within what its wire allows: a larger one loses less, and one of another family may. The one
/// that loses most first.
///
/// Source: a fuse has its volts at its rating, and so ohms that go with one over that.
pub(super) fn larger_fuses(c: &Context<'_>, finding: &Finding, before: &Report) -> Vec<Step> {
    let Some(way) = way_of(c, finding) else { return Vec::new() };
    let mut all: Vec<(f64, Step)> = Vec::new();
    for i in way.positives(&c.circuit) {
        let (Some(run), Some(figures)) = (c.plan.runs.get(i), before.runs.get(i)) else { continue };
        let (Some(fuse), Ok(most)) = (fuses(run).next(), &figures.fuse_max_a) else { continue };
        let (Some(family), Some(now)) = (fuse.family.known(), fuse.amps_a.known()) else { continue };
        let amps = figures.drop_at_a.as_ref().map_or(0.0, |a| a.0);
        let lost_v = resistance_ohm(*family, now.0) * amps;
        // Volts alone are no reason to leave a panel's own ways.
        let may = |p: &Proposed| p.family == *family || panel_of(c, i).is_none() || goes_in_panel(p.family);
        for p in rating::that_lose_less(run, figures, (*family, now.0), most.0).into_iter().filter(may) {
            let name = format!("{} fuse: {} A {}, which loses less", run.id, p.amps.0, p.family);
            let edits = match p.family == *family {
                true => vec![Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(p.amps.0) }],
                false => fuse_edits(run, &p),
            };
            all.push((lost_v, Step { name, edits }));
        }
    }
    all.arrange_by(|a, b| b.0.total_cmp(&a.0));
    all.into_iter().map(|(_, step)| step).collect()
}

/// The runs of a way in other wire, beside the fuses of a step.
pub(super) fn thick(c: &Context<'_>, base: &Step, picked: &[(usize, Make)]) -> Step {
    let runs = || picked.iter().filter_map(|(i, make)| Some((c.plan.runs.get(*i)?, *make)));
    let names: Vec<String> = runs().map(|(run, make)| format!("{} {make}", run.id)).collect();
    let wires = runs().flat_map(|(run, make)| make_edits(run, make, true));
    let edits = base.edits.iter().cloned().chain(wires).collect();
    let fuses = if base.name.is_empty() { String::new() } else { format!("; {}", base.name) };
    let name = match names.as_slice() {
        [one] => format!("thicker: {one}{fuses}"),
        all => format!("whole way: {}{fuses}", all.join(", ")),
    };
    bought::wire(c.plan, Step { name, edits })
}

/// The step with another fuse wherever it leaves one that may not stay.
pub(super) fn fused(engine: &mut Engine, c: &Context<'_>, stock: &Stock, before: &Report, mut step: Step) -> Step {
    let Ok(with) = c.plan.with(&step) else { return step };
    let after = engine.evaluate_wires(&with, stock);
    // A step may leave a run out.
    let of = |run: &Run| after.runs.iter().find(|f| f.id == run.id);
    for run in &c.plan.runs {
        let Some(figures) = of(run) else { continue };
        let path = format!("runs.{}", run.id);
        let by_fuse = |f: &&Finding| {
            f.subject.as_str() == path
                && f.level == Level::Stop
                && matches!(
                    f.check.id,
                    "interrupt-below-fault"
                        | "fuse-below-design"
                        | "fuse-above-conductor"
                        | "source-end-unfused"
                        | "charger-end-unfused"
                )
        };
        // A run that gets other wire is sized once: its old fuse goes with what it was wrong by.
        let laid = with.runs.iter().any(|r| r.id == run.id && made_of(r) != made_of(run));
        let new = after.findings.iter().any(|f| by_fuse(&f) && (laid || !before.says(f)));
        if let Some(p) = figures.proposed.as_ref().filter(|p| new && !is_there(run, p)) {
            step.edits.extend(fuse_edits(run, p));
            step.name.push_str(&format!(", {} fuse {} A {}", run.id, p.amps.0, p.family));
        }
    }
    step
}

/// What sizing all runs makes of those of a way.
pub(super) fn as_sized(engine: &mut Engine, c: &Context<'_>, stock: &Stock, finding: &Finding) -> Option<Step> {
    let way = way_of(c, finding)?;
    let runs: Vec<&Run> = way.runs.iter().filter_map(|i| c.plan.runs.get(*i)).collect();
    let its = |e: &Edit| {
        let (Edit::Set { at, .. } | Edit::Insert { list: at, .. }) = e else { return false };
        runs.iter().any(|run| at.is_within(&FieldPath::from("runs").join(&run.id)))
    };
    let mut edits = engine.size_all(c.plan, stock, false).edits;
    edits.retain(its);
    let step = Step { name: String::new(), edits };
    let with = c.plan.with(&step).ok()?;
    let changed = runs.iter().filter_map(|run| {
        let now = with.runs.iter().find(|r| r.id == run.id)?;
        let make = made_of(now).filter(|make| made_of(run) != Some(*make))?;
        Some(format!("{} {make}", run.id))
    });
    let names: Vec<String> = changed.collect();
    let step = Step { name: format!("whole way, as all is sized: {}", names.join(", ")), ..step };
    (!names.is_empty() && gone(engine, c, stock, finding, &step)).then(|| bought::wire(c.plan, step))
}

pub(super) fn gone(engine: &mut Engine, c: &Context<'_>, stock: &Stock, finding: &Finding, step: &Step) -> bool {
    let after = c.plan.with(step).map(|with| engine.evaluate_wires(&with, stock));
    let said = after.is_ok_and(|r| !r.findings.iter().any(|f| f.identity() == finding.identity()));
    said && c.plan.with(step).is_ok_and(|with| meets(c.plan, &with, finding))
}

/// Whether the path that a finding of drop is about meets its target in another plan. A run is named once, so that what
/// is said of it may hide a second path.
pub(super) fn meets(plan: &Plan, with: &Plan, finding: &Finding) -> bool {
    if finding.check.id != "drop-over-target" {
        return true;
    }
    let context = |plan| {
        let (circuit, _) = Circuit::of(plan);
        Context::of(plan, circuit, &[])
    };
    let (old, new) = (context(plan), context(with));
    let Some((kind, start)) = way_of(&old, finding).map(|w| (w.kind, w.start)) else { return true };
    let found = runs::find(&new, &Terminals::of(&new));
    let ways = new.circuit.judged_ways().zip(runs::path_drops(&new, &found));
    let mut same = ways.filter(|(w, _)| {
        (w.kind, w.start) == (kind, start) && path_at(with, w.end).is_some_and(|p| p.split_last().1 == finding.name(0))
    });
    same.all(|(_, drop)| drop.pct.is_ok_and(|pct| pct <= drop.target_pct))
}

/// Least that something is moved for a drop's sake, m: by less the wire is no other.
/// Source: common practice, half a foot; lengths along a route are measured no closer.
pub(super) const LEAST_MOVE_M: f64 = 0.15;

/// The runs of a way cut to the largest share of their length that mends it and moves something by a step worth it, beside the
/// copper of a step, and that share; else as short as is tried.
///
/// Source: drop is proportional to length; the share is found by trying, so that warmer wire needs no formula.
pub(super) fn shorter(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    (way, finding): (&Way, &Finding),
    thick: &Step,
) -> Result<(f64, Step), Step> {
    let mut tried = thick.clone();
    let shares = (1..=15).map(|n| 1.0 - 0.05 * f64::from(n)).filter(|s| *s >= LEAST_SHARE - 1e-9);
    for share in shares {
        let Some(cut) = cut_to(c, way, share, thick) else { break };
        if cut.by_m >= LEAST_MOVE_M - 1e-9 && gone(engine, c, stock, finding, &cut.step) {
            return Ok((share, cut.step));
        }
        tried = cut.step;
    }
    Err(tried)
}

/// The runs of a way cut to a share, beside the copper of a step.
pub(super) fn cut_to(c: &Context<'_>, way: &Way, share: f64, thick: &Step) -> Option<Cut> {
    let found = runs::find(c, &Terminals::of(c));
    let runs = lossy(c, &losers(c, way, &found));
    let battery = way.start.and_then(|i| c.plan.devices.get(i)).map(|d| d.id.as_str());
    let first = battery.unwrap_or(if way.kind == PathKind::ChargerInput { "source" } else { "BK" });
    let end = path_at(c.plan, way.end).map_or_else(String::new, |p| p.split_last().1.to_string());
    Cut::of(c, &runs, share, &format!("{first} and {end} nearer"), thick)
}

/// Runs that lose something; what hardly does stays where it is.
fn lossy<'a>(c: &'a Context<'_>, of: &[usize]) -> Vec<&'a Run> {
    let loses = |run: &&Run| conductors_ohm(c, run, 20.0).is_ok_and(|ohm| ohm > 0.0) && run.measured_ohm.is_none();
    of.iter().filter_map(|i| c.plan.runs.get(*i)).filter(loses).collect()
}

/// Runs cut to a share of their length, beside the copper of a step.
pub(super) struct Cut {
    pub(super) step: Step,
    /// How much shorter they are together, m.
    by_m: f64,
}

impl Cut {
    fn of(c: &Context<'_>, runs: &[&Run], share: f64, what: &str, thick: &Step) -> Option<Self> {
        let (mut edits, mut names, mut numbers, mut by_m) = (thick.edits.clone(), Vec::new(), Vec::new(), 0.0);
        for run in runs {
            let long_m = length_m(run).ok()?;
            // A fuse stays where it sits.
            let fuse_m = run.protection.iter().filter_map(|f| f.distance_m.known().map(|d| d.0)).fold(0.0, f64::max);
            let short_m = (long_m * share).max(LEAST_M).max(fuse_m).min(long_m);
            for leg in legs(run) {
                let m = leg.length_m.known()?.0 * short_m / long_m.max(1e-9);
                edits.push(Edit::Set { at: leg_path(run, leg, "length_m"), to: Value::Number(rounded(m)) });
            }
            names.push(format!("{} {short_m:.2} m", run.id));
            numbers.push(short_m);
            by_m += long_m - short_m;
        }
        let more = thick.name.split_once(": ").map_or(String::new(), |(_, all)| format!("; {all}"));
        let name = format!("{what}: {}{more}", names.join(", "));
        let step = Step { name: entry::said(Units::of(c.plan), &name, &numbers), edits };
        (!runs.is_empty()).then_some(Self { step, by_m })
    }
}

/// A controller, charger or inverter that several runs of its own lead from, past splices, moved so much nearer to what they
/// lead to that its drop meets the target, in wire that its current wants; what comes to it from the other side is longer.
pub(super) fn moved(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    finding: &Finding,
    before: &Report,
) -> Option<Step> {
    let way = way_of(c, finding).filter(|w| has_a_place(w.end))?;
    // Its minus is as long as its plus, drawn by itself too.
    let own = |i: &&usize| match c.circuit.links.get(**i).map(|l| (l.role, [l.from, l.to])) {
        Some((Role::NegativeMain, ends)) => ends.contains(&Some(way.end)),
        Some((role, _)) => matches!(role, Role::ControllerOutput | Role::ChargerOutput | Role::InverterFeed),
        None => false,
    };
    let indices: Vec<usize> = way.runs.iter().filter(own).copied().collect();
    let runs = lossy(c, &indices);
    if runs.len() < 2 {
        return None;
    }
    let end = path_at(c.plan, way.end)?.split_last().1.to_string();
    // With its minus drawn by itself as close as a run of both may bring it.
    let single = indices.iter().any(|i| c.circuit.links.get(*i).is_some_and(|l| l.role == Role::NegativeMain));
    let long_m = runs.iter().filter_map(|r| length_m(r).ok()).fold(0.0, f64::max);
    let close = (nearer::CLOSE_M / long_m.max(1e-9)).clamp(0.05, LEAST_SHARE);
    let least = if single { close } else { LEAST_SHARE };
    let base = Step { name: String::new(), edits: Vec::new() };
    let mut choices = choices(c, way, before);
    choices.retain(|x| indices.contains(&x.index));
    for level in std::iter::once(0.0).chain(steps_of(&choices)) {
        let picked: Vec<(usize, Make)> = choices.iter().filter_map(|x| Some((x.index, x.at(level)?))).collect();
        let wire = if picked.is_empty() { base.clone() } else { thick(c, &base, &picked) };
        if nearer::is_heavy(c, before, &wire) {
            return None;
        }
        let shares = (1..=19).map(|n| 1.0 - 0.05 * f64::from(n)).filter(|s| *s >= least - 1e-9);
        let what = format!("{end} nearer");
        let mends = |cut: &Cut, engine: &mut Engine| {
            let step = fused(engine, c, stock, before, cut.step.clone());
            gone(engine, c, stock, finding, &step).then_some(step)
        };
        // Where the shortest does not mend it, none does.
        let shortest = Cut::of(c, &runs, least, &what, &wire)?;
        if mends(&shortest, engine).is_none() {
            continue;
        }
        for share in shares {
            let cut = Cut::of(c, &runs, share, &what, &wire)?;
            if cut.by_m < LEAST_MOVE_M - 1e-9 {
                continue;
            }
            let Some(mut step) = mends(&cut, engine) else { continue };
            for (run, more) in nearer::longer(c, way.end, cut.by_m)? {
                step.name.push_str(&format!(", {run} longer"));
                step.edits.extend(more);
            }
            return Some(step);
        }
    }
    None
}

/// A splice in the place of a breaker that closes by itself, with other wire.
pub(super) fn spliced(engine: &mut Engine, plan: &Plan, stock: &Stock, device: &str, before: &Report) -> Vec<Step> {
    let base = book::splice_edits(plan, device).map(|edits| Step { name: format!("{device}: a splice"), edits });
    base.map_or_else(Vec::new, |base| on_both_sides(engine, plan, stock, device, &base, before))
}

/// What a step makes of a device, and the wire on both its sides in every thickness more, with the fuse that it wants then.
pub(super) fn on_both_sides(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    device: &str,
    base: &Step,
    before: &Report,
) -> Vec<Step> {
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &stock.truck.fuses);
    let ends_on = |r: &Run| [&r.from, &r.to].into_iter().any(|k| k.known().is_some_and(|id| id.as_str() == device));
    let on: Vec<usize> = plan.runs.iter().enumerate().filter(|(_, r)| ends_on(r)).map(|(i, _)| i).collect();
    let more = |i: &usize| {
        let now = made_of(c.plan.runs.get(*i)?)?;
        let mut fit = fitting(&c, *i);
        fit.retain(|m| m.area_mm2() > now.area_mm2() + 1e-9);
        Some((*i, fit))
    };
    let choices: Vec<(usize, Vec<Make>)> = on.iter().filter_map(more).collect();
    let mut levels: Vec<f64> = choices.iter().flat_map(|(_, fit)| fit.iter().map(|m| m.area_mm2())).collect();
    levels.arrange_by(f64::total_cmp);
    levels.dedup();
    let at_level = |level: f64| {
        let reached = |(i, fit): &(usize, Vec<Make>)| Some((*i, *fit.iter().find(|m| m.area_mm2() >= level - 1e-9)?));
        let picked: Vec<(usize, Make)> = choices.iter().filter_map(reached).collect();
        let wires = picked.iter().filter_map(|(i, make)| Some((c.plan.runs.get(*i)?, *make)));
        let names: Vec<String> = wires.clone().map(|(run, make)| format!("{} {make}", run.id)).collect();
        let edits = base.edits.iter().cloned().chain(wires.flat_map(|(run, make)| make_edits(run, make, true)));
        let name = format!("{}, {}", base.name, names.join(", "));
        (!picked.is_empty()).then(|| bought::wire(plan, Step { name, edits: edits.collect() }))
    };
    let steps: Vec<Step> = levels.into_iter().filter_map(at_level).collect();
    steps.into_iter().map(|step| fused(engine, &c, stock, before, step)).collect()
}

/// Whether a step puts other wire in the place of some that lies there already.
pub(super) fn replaces(plan: &Plan, step: &Step) -> bool {
    let Ok(with) = plan.with(step) else { return false };
    plan.runs.iter().any(|run| {
        let made = with.runs.iter().find(|r| r.id == run.id).map(made_of);
        made != Some(made_of(run)) && legs(run).any(|l| l.state == State::Existing)
    })
}

fn rounded(m: f64) -> f64 {
    (m * 1000.0).round() / 1000.0
}

/// Whether a node is a thing that a technician chooses the place of.
pub(super) fn has_a_place(node: Node) -> bool {
    matches!(node, Node::Controller(_) | Node::Charger(_) | Node::Inverter(_))
}
