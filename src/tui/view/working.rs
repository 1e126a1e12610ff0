//! How a run's limits come about: ampacity leg by leg, drop part by part, the fuse and why.

use crate::engine::worked::{DropPart, LegWork, PartOf, Segment};
use crate::plan::entry::{self, Units};
use crate::plan::{FieldPath, Missing, Plan};
use crate::standards::ampacity::AmpacityWorking;
use crate::standards::kinds::Metal;
use crate::tui::bench;
use crate::tui::model::{Model, WorkingView};
use crate::tui::theme::Role;
use crate::tui::words::{self, figure, num, significant};

use super::bench::{amps, run_figures};
use super::paint::wrap;

type Lines = Vec<(String, Role)>;

/// The box's lines.
pub(super) fn lines(model: &Model, view: &WorkingView, width: usize) -> Lines {
    let Some(document) = &model.document else { return Vec::new() };
    let shown = document.shown();
    let plan = &*shown.plan;
    let Some(run) = plan.runs.iter().find(|r| r.id == view.worked.run) else { return Vec::new() };
    let mut out: Lines = Vec::new();
    let (from, to) = bench::ends(run);
    say(&mut out, width, 0, &format!("{} {from} > {to}, {}", run.id, bench::gauge(run)), Role::Figure);
    if let Some(f) = run_figures(&shown.report, run) {
        let a = |x: &crate::plan::Figure<crate::units::Amps>| figure(x, |i| format!("{} A", amps(i.0)));
        say(&mut out, width, 0, &format!("design current {} ({})", a(&f.design_a), f.design_how), Role::Text);
        say(&mut out, width, 0, &format!("working current {} ({})", a(&f.drop_at_a), f.drop_how), Role::Text);
    }
    heading(&mut out, "AMPACITY, LEG BY LEG");
    match &view.worked.legs {
        Ok(legs) => legs.iter().for_each(|leg| leg_lines(plan, leg, width, &mut out)),
        Err(waits) => say(&mut out, width, 2, &waiting(plan, waits), Role::Text),
    }
    drop_lines(plan, view, width, &mut out);
    path_lines(plan, &view.worked.path, width, &mut out);
    heading(&mut out, "FUSE, AND WHAT THE PROGRAM WOULD CHOOSE");
    if let Some(f) = run_figures(&shown.report, run) {
        fuse_lines(plan, &shown.report, f, width, &mut out);
    }
    match &view.selection {
        Some(chosen) => {
            let make = crate::engine::sizing::Make { gauge: chosen.gauge, per_pole: chosen.per_pole };
            let text = match chosen.meets_target {
                true => format!("the smallest that meets every rule and the drop target: {make}"),
                false => {
                    format!("no gauge that fits meets the drop target; the smallest by the rules: {make}")
                }
            };
            say(&mut out, width, 2, &text, Role::Figure);
            for reason in &chosen.reasons {
                // The box is about this run already.
                let reason = reason.replacen(&format!(": {}: ", run.id), ": ", 1);
                say(&mut out, width, 2, &entry::said(Units::of(plan), &reason, &[]), Role::Text);
            }
        }
        None => say(&mut out, width, 2, "no choice: its current or ampacity waits for a value", Role::Text),
    }
    out
}

fn say(out: &mut Lines, width: usize, indent: usize, text: &str, role: Role) {
    let pad = " ".repeat(indent);
    for (i, line) in wrap(text, width.saturating_sub(indent + 2).max(10)).into_iter().enumerate() {
        let hang = if i > 0 { "  " } else { "" };
        out.push((format!("{pad}{hang}{line}"), role));
    }
}

fn heading(out: &mut Lines, text: &str) {
    out.push((String::new(), Role::Text));
    out.push((text.into(), Role::Heading));
}

fn waiting(plan: &Plan, waits: &Missing) -> String {
    if waits.0.as_str().is_empty() {
        "there is none".into()
    } else {
        format!("waits for {}", words::path(plan, &waits.0))
    }
}

fn leg_lines(plan: &Plan, leg: &LegWork, width: usize, out: &mut Lines) {
    let units = Units::of(plan);
    let case = &leg.case;
    let zone = leg.zone.map_or("zone not entered", crate::standards::kinds::Zone::word);
    let ambient = words::temperature(units, case.ambient_c);
    let entered = match &leg.ambient_changed {
        Some(reason) => format!("its zone's, changed: {reason}"),
        None if leg.ambient_entered => "as entered".into(),
        None => "its zone's".into(),
    };
    let clad = if case.metal == Metal::CopperClad { ", copper-clad aluminium" } else { "" };
    let own = leg.fewer_bundled.map_or(String::new(), |n| format!(" (its own; {n} entered)"));
    let head = format!(
        "{} {zone}: air {ambient} ({entered}), {}{clad}, {}, insulation {} C, {} bundled{own}, {} per pole, terminals {} C",
        leg.leg,
        case.gauge,
        leg.laid,
        num(case.insulation_c),
        case.bundled,
        case.parallel,
        num(case.terminal_c)
    );
    let head = format!("{head}{}", super::detail::by_rule(leg.terminal_changed.as_deref().unwrap_or("")));
    say(out, width, 0, &head, Role::Figure);
    match &leg.working {
        Ok(w) => working(w, width, out),
        Err(why) => say(out, width, 2, &entry::said(units, &why.to_string(), &[]), Role::Text),
    }
    say(out, width, 2, &format!("carries {} A: governed by {}", amps(leg.amps), leg.governs), Role::Text);
    if let Some((basis, other)) = &leg.other {
        let more = (other / leg.amps.max(1e-9) - 1.0) * 100.0;
        let apart = if leg.amps > 0.0 { format!(" ({more:+.0} %)") } else { String::new() };
        say(out, width, 2, &format!("by {basis} rules it would carry {} A{apart}", amps(*other)), Role::Text);
    }
}

fn working(w: &AmpacityWorking, width: usize, out: &mut Lines) {
    let product = format!(
        "{} A x {} ambient x {} bundle{}{} = {} A",
        amps(w.table_a),
        significant(w.ambient_factor, 3),
        significant(w.bundle_factor, 3),
        if w.metal_factor == 1.0 { String::new() } else { format!(" x {} metal", significant(w.metal_factor, 3)) },
        if w.parallel > 1 { format!(" x {} in parallel", w.parallel) } else { String::new() },
        amps(w.corrected_a)
    );
    say(out, width, 2, &product, Role::Text);
    if let Some(cap) = w.terminal_cap_a {
        say(out, width, 2, &format!("at most {} A by the terminals [NEC 110.14(C)]", amps(cap)), Role::Text);
    }
    let mut sources = vec![format!("{}, {} C column", w.table, num(w.column_c))];
    for (factor, source) in [(w.ambient_factor, w.ambient_source), (w.bundle_factor, w.bundle_source)] {
        let text = source.to_string();
        if factor != 1.0 && !sources.contains(&text) {
            sources.push(text);
        }
    }
    say(out, width, 2, &format!("source: {}", sources.join("; ")), Role::Text);
}

fn drop_lines(plan: &Plan, view: &WorkingView, width: usize, out: &mut Lines) {
    heading(out, "DROP OF THIS RUN");
    let (parts, current) = match (&view.worked.parts, &view.worked.amps) {
        (Ok(parts), Ok(current)) => (parts, *current),
        (Err(waits), _) | (_, Err(waits)) => return say(out, width, 2, &waiting(plan, waits), Role::Text),
    };
    for part in parts {
        let row = table_row(&part_words(plan, part), part.ohm, current, width);
        out.push((row, Role::Text));
    }
    let total: f64 = parts.iter().map(|p| p.ohm).sum();
    out.push((table_row("together", total, current, width), Role::Figure));
}

/// `what     12.3 mohm x 41.2 A = 0.51 V`
fn table_row(what: &str, ohm: f64, current: f64, width: usize) -> String {
    let figures = format!(
        "{:>6} mohm x {:>5} A = {:>5} V",
        significant(ohm * 1000.0, 3),
        amps(current),
        words::fixed(ohm * current, 3)
    );
    let room = width.saturating_sub(figures.len() + 3);
    let what: String = what.chars().take(room).collect();
    format!("  {what:<room$} {figures}")
}

fn part_words(plan: &Plan, part: &DropPart) -> String {
    let units = Units::of(plan);
    match &part.what {
        PartOf::Leg { leg, metres, wire_c } => {
            format!("{leg} wire, {} both ways at {}", words::length(units, *metres), words::temperature(units, *wire_c))
        }
        PartOf::Fuse(id) => format!("fuse {id}"),
        PartOf::Extra(leg) => format!("{leg} stated extra"),
        PartOf::Connectors(leg) => format!("{leg} PV connectors"),
        PartOf::Joints(n, beside) if *beside > 1.0 => {
            format!("{} lugged joints, {} side by side", num(*n), num(*beside))
        }
        PartOf::Joints(n, _) => format!("{} lugged joints", num(*n)),
        PartOf::Device(id) => format!("through {id}"),
        PartOf::Measured => "as measured".into(),
    }
}

fn path_lines(plan: &Plan, path: &[Segment], width: usize, out: &mut Lines) {
    if path.len() < 2 {
        return;
    }
    heading(out, "DROP OF ITS PATH, EACH RUN AT THE CURRENT THAT FLOWS THEN");
    let mut total = Some(0.0);
    for segment in path {
        let ends = plan.runs.iter().find(|r| r.id == segment.run).map(bench::ends);
        let name = ends.map_or_else(String::new, |(from, to)| format!(" {from} > {to}"));
        let what = format!("{}{name}", segment.run);
        match (&segment.ohm, &segment.amps) {
            (Ok(ohm), Ok(current)) => {
                total = total.map(|t| t + ohm * current);
                out.push((table_row(&what, *ohm, *current, width), Role::Text));
            }
            (Err(waits), _) | (_, Err(waits)) => {
                total = None;
                say(out, width, 2, &format!("{what}: {}", waiting(plan, waits)), Role::Text);
            }
        }
    }
    if let Some(volts) = total {
        say(out, width, 2, &format!("together {} V", words::fixed(volts, 3)), Role::Figure);
    }
}

fn fuse_lines(
    plan: &Plan,
    report: &crate::engine::Report,
    f: &crate::engine::report::RunFigures,
    width: usize,
    out: &mut Lines,
) {
    let (least, most) = (figure(&f.fuse_min_a, |a| amps(a.0)), figure(&f.fuse_max_a, |a| amps(a.0)));
    let rounded = if f.rounded_up { ", next rating up" } else { "" };
    let factor = num(crate::engine::Rules::of(plan).fuse_factor);
    let mark = super::detail::by_rule(&f.changed.fuse);
    let is_none = matches!((&f.fuse_min_a, &f.fuse_max_a), (Ok(least), Ok(most)) if least.0 > most.0);
    let range = match is_none {
        true if super::detail::wants_none(report, f) => "no fuse of its own is wanted".into(),
        true => {
            format!("no fuse fits: at least {least} A ({factor} x design), its wire allows {most} A{rounded}{mark}")
        }
        false => format!("fuse from {least} A ({factor} x design) to {most} A (what its wire allows{rounded}){mark}"),
    };
    say(out, width, 2, &range, Role::Text);
    if let Some(p) = &f.proposed {
        let end = fuse_end(plan, f.id.as_str(), p.at_from);
        let text = format!("would fit {} A {} {end}: {}", num(p.amps.0), p.family, p.why);
        say(out, width, 2, &text, Role::Text);
    }
    for fuse in &f.fuses {
        say(out, width, 2, &fuse_fault(plan, f.id.as_str(), fuse), Role::Text);
    }
}

/// Which end of a run is meant, by what stands there.
pub(super) fn fuse_end(plan: &Plan, run: &str, at_from: bool) -> String {
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
pub(super) fn fuse_fault(plan: &Plan, run: &str, fuse: &crate::engine::report::FuseFigures) -> String {
    let mut waits: Vec<String> = Vec::new();
    let mut shown = |figure: &crate::plan::Figure<crate::units::Amps>| match figure {
        Ok(a) => Some(amps(a.0)),
        Err(Missing(at)) => {
            if !at.as_str().is_empty() {
                let words = words::path(plan, at);
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
        Some(a) => format!(", a fault here drives {a} A"),
        None if no_fault => ", no battery drives a fault through it".into(),
        None => ", the fault current is not known".into(),
    };
    let waits = if waits.is_empty() { String::new() } else { format!("; waits for {}", waits.join(", ")) };
    let name = words::path(plan, &FieldPath::new(format!("runs.{run}.protection.{}", fuse.id)));
    format!("{name} {opens}{against}{waits}")
}
