//! How a run's limits come about: ampacity leg by leg, drop part by part, the fuse and why.

use crate::engine::worked::{DropPart, LegWork, PartOf, Segment};
use crate::plan::Plan;
use crate::plan::entry::{self, Units};
use crate::tui::bench;
use crate::tui::model::{Model, WorkingView};
use crate::tui::theme::Role;
use crate::tui::words::{self, amps, num, significant};
use crate::wording::run::{currents, ends, fuse_fault, fuse_fits, leg_case, leg_sums, waiting};

use super::bench::run_figures;
use super::paint::wrap;

type Lines = Vec<(String, Role)>;

/// The box's lines.
pub(super) fn lines(model: &Model, view: &WorkingView, width: usize) -> Lines {
    let Some(document) = &model.document else { return Vec::new() };
    let shown = document.shown();
    let plan = &*shown.plan;
    let Some(run) = plan.runs.iter().find(|r| r.id == view.worked.run) else { return Vec::new() };
    let mut out: Lines = Vec::new();
    let (from, to) = ends(run);
    say(&mut out, width, 0, &format!("{} {from} > {to}, {}", run.id, bench::gauge(run)), Role::Figure);
    if let Some(f) = run_figures(&shown.report, run) {
        currents(f).iter().for_each(|said| say(&mut out, width, 0, said, Role::Text));
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
        let fits = fuse_fits(plan, &shown.report, f);
        let faults = f.fuses.iter().map(|fuse| fuse_fault(plan, f.id.as_str(), fuse));
        fits.into_iter().chain(faults).for_each(|said| say(&mut out, width, 2, &said, Role::Text));
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

fn leg_lines(plan: &Plan, leg: &LegWork, width: usize, out: &mut Lines) {
    say(out, width, 0, &leg_case(plan, leg), Role::Figure);
    leg_sums(plan, leg).iter().for_each(|said| say(out, width, 2, said, Role::Text));
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
    if parts.iter().any(|part| matches!(part.what, PartOf::Leg { held: true, .. })) {
        let held = "copper no hotter than its insulation is made for, past which this current would bring it";
        say(out, width, 2, held, Role::Text);
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
        PartOf::Leg { leg, metres, wire_c, .. } => {
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
        let between = plan.runs.iter().find(|r| r.id == segment.run).map(ends);
        let name = between.map_or_else(String::new, |(from, to)| format!(" {from} > {to}"));
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
