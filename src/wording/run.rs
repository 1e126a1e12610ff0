//! What is said of a run: its ends, its path, how its ampacity and its fuse come about.

use crate::engine::report::{FuseFigures, RunFigures};
use crate::engine::worked::{LegWork, unused};
use crate::engine::{Finding, Report, Rules, fault_words, opening_fuse};
use crate::plan::entry::{self, Units};
use crate::plan::{DeviceKind, FieldPath, Figure, Id, Known, Missing, Plan, Run};
use crate::standards::ampacity::{AmpacityWorking, NEC_110_14};
use crate::standards::kinds::{Metal, Zone};
use crate::units::Amps;

use super::naming;
use super::number::{UNKNOWN, amps, figure, fixed, num, significant, temperature};

/// A run's ends: `A1 > C1`.
#[must_use]
pub fn ends(run: &Run) -> (String, String) {
    (word(&run.from), word(&run.to))
}

/// A word of the plan, or that nobody knows it.
#[must_use]
pub fn word<T: std::fmt::Display>(known: &Known<T>) -> String {
    known.known().map_or_else(|| UNKNOWN.into(), ToString::to_string)
}

/// What a run's path loses, percent; to two places where one hides that it is over its target.
#[must_use]
pub fn path_pct(f: &RunFigures) -> String {
    let hides = |p: f64| f.target_pct.is_some_and(|t| p > t && (p * 10.0).round() / 10.0 <= t);
    figure(&f.path_drop_pct, |p| fixed(*p, if hides(*p) { 2 } else { 1 }))
}

/// Where a path leads: from a source, or to what draws.
#[must_use]
pub fn path_place(plan: &Plan, figures: &RunFigures) -> Option<String> {
    let end = figures.path_end.as_ref()?;
    let is_sun = plan.arrays.iter().any(|a| a.id == *end) || plan.controllers.iter().any(|c| c.id == *end);
    let leaves = |run: &Run| figures.path.contains(&run.id) && run.from.known() == Some(end);
    let is_source = is_sun || plan.runs.iter().any(leaves);
    // The line of a DC-DC charger is judged from the battery that it begins at, whatever the alternator's own run loses ahead of it.
    let is_battery = |id: &&Id| {
        let device = plan.devices.iter().find(|d| d.id == **id);
        device.is_some_and(|d| d.kind.known() == Some(&DeviceKind::StartBattery))
    };
    let on_path = plan.runs.iter().filter(|run| figures.path.contains(&run.id));
    let mut starts = on_path.flat_map(|run| [run.from.known(), run.to.known()]).flatten().filter(is_battery);
    Some(match (is_source, starts.next()) {
        (true, _) => format!("from {end}"),
        (false, Some(battery)) if plan.chargers.iter().any(|c| c.id == *end) => format!("to {end} from {battery}"),
        (false, _) => format!("to {end}"),
    })
}

/// Why a figure is not what the standard rule values give.
#[must_use]
pub fn by_rule(why: &str) -> String {
    if why.is_empty() { String::new() } else { format!(" (changed rule: {why})") }
}

/// Whether a run has no fuse and nothing says that it lacks one.
#[must_use]
pub fn wants_none(report: &Report, f: &RunFigures) -> bool {
    let lacks = |x: &Finding| x.subject.as_str() == format!("runs.{}", f.id) && x.check.id.ends_with("-unfused");
    f.fuses.is_empty() && !report.findings.iter().any(lacks)
}

/// What a figure waits for, in words.
#[must_use]
pub fn waiting(plan: &Plan, waits: &Missing) -> String {
    if waits.0.as_str().is_empty() {
        "there is none".into()
    } else {
        format!("waits for {}", naming::path(plan, &waits.0))
    }
}

/// A current with its unit.
#[must_use]
pub fn current(of: &Figure<Amps>) -> String {
    figure(of, |i| format!("{} A", amps(i.0)))
}

/// Both currents of a run and how each was found.
#[must_use]
pub fn currents(f: &RunFigures) -> [String; 2] {
    let said =
        |name: &str, of: &Figure<Amps>, how: &str| format!("{name} current {} ({how})", current(of)).replace(" ()", "");
    [said("design", &f.design_a, f.design_how), said("working", &f.drop_at_a, f.drop_how)]
}

/// Which air a leg lies in, and on whose word.
#[must_use]
pub fn air(plan: &Plan, leg: &LegWork) -> String {
    let entered = match &leg.ambient_changed {
        Some(reason) => format!("its zone's, changed: {reason}"),
        None if leg.ambient_entered => "as entered".into(),
        None => "its zone's".into(),
    };
    format!("air {} ({entered})", temperature(Units::of(plan), leg.case.ambient_c))
}

/// How many lie in a leg's bundle, its own counted where they are more than were entered.
#[must_use]
pub fn bundle(leg: &LegWork) -> String {
    let own = leg.fewer_bundled.map_or(String::new(), |n| format!(" (its own; {n} entered)"));
    format!("{} bundled{own}", leg.case.bundled)
}

/// What a leg's terminals are held to, and why that is not the standard value.
#[must_use]
pub fn terminals(leg: &LegWork) -> String {
    let changed = by_rule(leg.terminal_changed.as_deref().unwrap_or(""));
    format!("terminals {} C{changed}{}", num(leg.case.terminal_c), unused(leg.case.basis))
}

/// What a leg's ampacity rests on.
#[must_use]
pub fn leg_case(plan: &Plan, leg: &LegWork) -> String {
    let case = &leg.case;
    let zone = leg.zone.map_or("zone not entered", Zone::word);
    let clad = if case.metal == Metal::CopperClad { ", copper-clad aluminium" } else { "" };
    format!(
        "{} {zone}: {}, {}{clad}, {}, insulation {} C, {}, {} per pole, {}",
        leg.leg,
        air(plan, leg),
        case.gauge,
        leg.laid,
        num(case.insulation_c),
        bundle(leg),
        case.parallel,
        terminals(leg)
    )
}

/// How a leg's ampacity comes about: table figure, factors, cap, sources, and what the other rules say.
#[must_use]
pub fn leg_sums(plan: &Plan, leg: &LegWork) -> Vec<String> {
    let mut lines = match &leg.working {
        Ok(w) => sums(w),
        Err(why) => vec![entry::said(Units::of(plan), &why.to_string(), &[])],
    };
    lines.push(format!("carries {} A: governed by {}", amps(leg.amps), leg.governs));
    if let Some((basis, other)) = &leg.other {
        let more = (other / leg.amps.max(1e-9) - 1.0) * 100.0;
        let apart = if leg.amps > 0.0 { format!(" ({more:+.0} %)") } else { String::new() };
        lines.push(format!("by {basis} rules it would carry {} A{apart}", amps(*other)));
    }
    lines
}

fn sums(w: &AmpacityWorking) -> Vec<String> {
    let mut lines = vec![format!(
        "{} A x {} ambient x {} bundle{}{} = {} A",
        amps(w.table_a),
        significant(w.ambient_factor, 3),
        significant(w.bundle_factor, 3),
        if w.metal_factor == 1.0 { String::new() } else { format!(" x {} metal", significant(w.metal_factor, 3)) },
        if w.parallel > 1 { format!(" x {} in parallel", w.parallel) } else { String::new() },
        amps(w.corrected_a)
    )];
    if let Some(cap) = w.terminal_cap_a {
        lines.push(format!("at most {} A by the terminals [{NEC_110_14}]", amps(cap)));
    }
    let mut sources = vec![format!("{}, {} C column", w.table, num(w.column_c))];
    for (factor, source) in [(w.ambient_factor, w.ambient_source), (w.bundle_factor, w.bundle_source)] {
        let text = source.to_string();
        if factor != 1.0 && !sources.contains(&text) {
            sources.push(text);
        }
    }
    lines.push(format!("source: {}", sources.join("; ")));
    lines
}

/// Which fuses fit a run, and which the program would take.
#[must_use]
pub fn fuse_fits(plan: &Plan, report: &Report, f: &RunFigures) -> Vec<String> {
    let (least, most) = (figure(&f.fuse_min_a, |a| amps(a.0)), figure(&f.fuse_max_a, |a| amps(a.0)));
    let rounded = if f.rounded_up { ", next rating up" } else { "" };
    let factor = num(Rules::of(plan).fuse_factor);
    let mark = by_rule(&f.changed.fuse);
    let is_none = matches!((&f.fuse_min_a, &f.fuse_max_a), (Ok(least), Ok(most)) if least.0 > most.0);
    let mut lines = vec![match is_none {
        true if wants_none(report, f) => "no fuse of its own is wanted".into(),
        true => {
            format!("no fuse fits: at least {least} A ({factor} x design), its wire allows {most} A{rounded}{mark}")
        }
        false => format!("fuse from {least} A ({factor} x design) to {most} A (what its wire allows{rounded}){mark}"),
    }];
    // Where nothing is known to flow none is proposed; what opens the fault is put all the same.
    let cannot_open = |x: &FuseFigures| match (&x.interrupt_a, &x.fault_a) {
        (Ok(opens), Ok(fault)) => opens.0 < fault.0 * x.margin,
        _ => false,
    };
    let run = plan.runs.iter().find(|r| r.id == f.id).filter(|_| f.fuses.first().is_some_and(cannot_open));
    if let Some(p) = &f.proposed.clone().or_else(|| opening_fuse(run?, f)) {
        let end = fuse_end(plan, f.id.as_str(), p.at_from);
        lines.push(format!("{} {} A {} {end}: {}", f.would_fit(), num(p.amps.0), p.family, p.why));
    }
    lines
}

/// Which end of a run is meant, by what stands there.
#[must_use]
pub fn fuse_end(plan: &Plan, run: &str, at_from: bool) -> String {
    let run = plan.runs.iter().find(|r| r.id.as_str() == run);
    let end = run.and_then(|r| if at_from { r.from.known() } else { r.to.known() });
    match (end, at_from) {
        (Some(id), true) => format!("where it leaves {id}"),
        (Some(id), false) => format!("where it ends on {id}"),
        (None, true) => "where it begins".into(),
        (None, false) => "where it ends".into(),
    }
}

/// What a fuse can open against what it may have to; where a figure is missing, what it waits for.
#[must_use]
pub fn fuse_fault(plan: &Plan, run: &str, fuse: &FuseFigures) -> String {
    let mut waits: Vec<String> = Vec::new();
    let mut shown = |figure: &Figure<Amps>| match figure {
        Ok(a) => Some(amps(a.0)),
        Err(Missing(at)) => {
            if !at.as_str().is_empty() {
                let words = naming::path(plan, at);
                if !waits.contains(&words) {
                    waits.push(words);
                }
            }
            None
        }
    };
    let (opens, fault) = (shown(&fuse.interrupt_a), shown(&fuse.fault_a));
    let volts = fuse.circuit_v.as_ref().map_or_else(|_| "?".into(), |v| num(v.0));
    let opens =
        opens.map_or_else(|| "what it can open is not known".into(), |a| format!("can open {a} A at {volts} V"));
    let no_fault = matches!(&fuse.fault_a, Err(Missing(at)) if at.as_str().is_empty());
    let against = match fault {
        Some(a) if fuse.margin > 1.0 => {
            let needed = fuse.fault_a.as_ref().map_or(0.0, |a| a.0 * fuse.margin);
            format!(", a fault here drives {a} A x {} = {} A needed", num(fuse.margin), amps(needed))
        }
        // By the table, or by what is assumed: as the check has it.
        Some(_) => {
            let drives = fuse.fault_a.as_ref().map_or(0.0, |a| a.0);
            format!("; {} asks for {} kA", fault_words(plan, run, drives, fuse.margin), fixed(drives / 1000.0, 1))
        }
        None if no_fault => ", no battery drives a fault through it".into(),
        None => ", the fault current is not known".into(),
    };
    let waits = if waits.is_empty() { String::new() } else { format!("; waits for {}", waits.join(", ")) };
    let name = naming::path(plan, &FieldPath::new(format!("runs.{run}.protection.{}", fuse.id)));
    format!("{name} {opens}{against}{waits}")
}
