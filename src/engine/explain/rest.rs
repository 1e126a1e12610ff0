//! Findings about runs and devices: the figures that they compare.

use super::{Explain, n};
use crate::engine::context::at;
use crate::engine::fuse_ahead;
use crate::engine::worked::path_of;
use crate::plan::Figure;
use crate::standards::kinds::Zone;
use crate::units::Amps;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "device-too-hot" => too_hot(e),
        "weight-over-margin" => weight(e),
        "bond-small" | "bond-missing" => bond(e),
        "alternator-overdrawn" => alternator(e),
        _ => run(e),
    }
}

fn too_hot(e: &mut Explain<'_>) -> Option<()> {
    let (air, most) = (e.finding.n(0), e.finding.n(1));
    let word = e.finding.name(1).to_string();
    let zone = Zone::ALL.iter().find(|z| z.word() == word)?;
    let rule = crate::standards::rules::ambient_rule_id(*zone);
    let by = n(e.c.rules.ambient(*zone));
    e.say(format!("air in {word}: {by} C (rule {rule})"));
    let of = match e.finding.numbers.get(2) {
        Some(gives_c) => format!("up to which lithium cells usually take charge ({} C to give)", n(*gives_c)),
        None => "of its sheet".into(),
    };
    e.say(format!("{} C less the {} C {of}: {} K too warm", n(air), n(most), n(air - most)));
    Some(())
}

fn weight(e: &mut Explain<'_>) -> Option<()> {
    let (sum, margin) = (e.finding.n(0), e.finding.n(1));
    // The last one is what would be left, where that is said.
    let parts = e.finding.numbers.len() - usize::from(!e.finding.name(1).is_empty());
    let heaviest: f64 = e.finding.numbers.iter().take(parts).skip(2).sum();
    let named = e.finding.name(0).to_string();
    e.say(format!("heaviest: {named}; together {heaviest:.0} kg"));
    if let Some(least) = e.finding.numbers.get(parts).copied() {
        e.say(format!("less all batteries and panels of it but one of each: {least:.0} kg"));
    }
    e.say(format!(
        "all that is new less all that is taken out: {sum:.0} kg, of {margin:.0} kg: {:.0} kg over",
        sum - margin
    ));
    Some(())
}

fn bond(e: &mut Explain<'_>) -> Option<()> {
    let least = e.rule("bond-least-mm2");
    e.say(format!("a bond is as thick as the largest battery lead, {} mm2 at least", n(least)));
    match e.is("bond-small") {
        true => {
            let (has, wants) = (e.finding.n(0), e.finding.n(1));
            e.say(format!("largest lead {} mm2, the bond {} mm2: {} mm2 short", n(wants), n(has), n(wants - has)));
        }
        false => e.say(format!("largest lead {} mm2, and no bond is drawn", n(e.finding.n(0)))),
    }
    Some(())
}

fn alternator(e: &mut Explain<'_>) -> Option<()> {
    let (pct, draws) = (e.finding.n(0), e.finding.n(1));
    for (ch, pair) in e.c.plan.chargers.iter().zip(&e.t.inputs) {
        if let (true, Ok(amps)) = (ch.state.stays(), pair.design_a.clone()) {
            let id = ch.id.clone();
            e.say(format!("{id} draws {} A at its input, constant power over its line", n(amps)));
        }
    }
    e.say(format!("{} A / {} A of the alternator = {} %", n(draws), n(draws / pct.max(1e-9) * 100.0), n(pct)));
    Some(())
}

/// What a run's figures are and how they came about.
fn run(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("runs")?.to_string();
    let f = e.report.runs.iter().find(|r| r.id.as_str() == id)?;
    let a = |x: &Figure<Amps>| x.as_ref().map_or("?".into(), |a| n(a.0));
    let how = |text: &str| if text.is_empty() { String::new() } else { format!(" ({text})") };
    let mut lines = vec![
        format!(
            "design current {} A{}, working current {} A{}",
            a(&f.design_a),
            how(f.design_how),
            a(&f.drop_at_a),
            how(f.drop_how)
        ),
        format!("wire carries {} A{}", a(&f.ampacity_a), how(f.governs)),
        format!(
            "fuse from {} A ({} x design) to {} A{}",
            a(&f.fuse_min_a),
            n(e.c.rules.fuse_factor),
            a(&f.fuse_max_a),
            if f.rounded_up { ", next rating up" } else { "" }
        ),
    ];
    for fuse in &f.fuses {
        let name = at("runs", &f.id, "protection").join(&fuse.id);
        let rating = e.c.plan.get_at(&name.join("amps_a"));
        let rated = match rating {
            Some(crate::plan::Value::Number(amps)) => n(amps),
            _ => "?".into(),
        };
        let volts = fuse.circuit_v.as_ref().map_or("?".into(), |v| n(v.0));
        lines.push(format!(
            "{} of {rated} A: opens {} A at {volts} V, a fault there {} A x {}",
            fuse.id,
            a(&fuse.interrupt_a),
            a(&fuse.fault_a),
            n(fuse.margin)
        ));
    }
    let path_ends = e.is("drop-over-target");
    match e.finding.check.id {
        "source-end-unfused" | "battery-lead-fed-by-others" if e.finding.n(0) > 0.0 => {
            let named = Some(e.finding.name(5).to_string()).filter(|name| !name.is_empty());
            let ahead = named.or_else(|| fuse_ahead(e.c.plan, &f.id));
            lines.push(format!("ahead of it {}", ahead.unwrap_or_else(|| "what gives it".into())));
        }
        "next-rating-up" => {
            let ahead = fuse_ahead(e.c.plan, &f.id).filter(|_| f.fuses.is_empty());
            let back = (e.finding.name(2).contains("brings back")).then(|| e.finding.name(1).to_string());
            let ahead = back.or(ahead);
            lines.push(format!("{}: the next standard rating", ahead.unwrap_or_else(|| "its fuse".into())));
        }
        _ => {}
    }
    if let (Ok(volts), Ok(pct), Some(target), false) = (&f.path_drop_v, &f.path_drop_pct, f.target_pct, path_ends) {
        let base = f.base_v.as_ref().map_or("?".into(), |v| n(v.0));
        lines.push(format!("path: {} V / {base} V = {} %, target {} %", n(volts.0), n(*pct), n(target)));
    }
    e.out.extend(lines);
    if path_ends {
        path(e);
    }
    Some(())
}

/// The path of a drop, run by run, as far as its parts are known; then as the finding has it.
fn path(e: &mut Explain<'_>) {
    for part in path_of(e.c, e.t, e.finding) {
        if let (Ok(ohm), Ok(amps)) = (part.ohm, part.amps) {
            e.say(format!("{}: {} mohm x {} A = {} V", part.run, n(ohm * 1000.0), n(amps), n(ohm * amps)));
        }
    }
    let f = e.finding;
    if f.n(4) > 0.0 {
        let wire = match f.numbers.get(5) {
            Some(least) => format!(", and {} V at least in wire as thick and short as may be", n(*least)),
            None => String::new(),
        };
        e.say(format!("of it {} V in fuses, switches and lugs{wire}", n(f.n(4))));
    }
    let (pct, volts, base, target) = (f.n(0), f.n(1), f.n(2), f.n(3));
    e.say(format!("together {} V / {} V = {} %, target {} %", n(volts), n(base), n(pct), n(target)));
}
