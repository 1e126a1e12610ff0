//! What a table, a limit of a terminal, a changed value or a count of what is drawn decides.

use super::{Explain, n, rules_of};
use crate::engine::capacity::{case, ratings, solve, terminal_c, terminals};
use crate::engine::resistance::gauge_of;
use crate::plan::rules::on_or_off;
use crate::plan::{Known, Run};
use crate::standards::ampacity::AmpacityRefusal;
use crate::standards::conductor::{Gauge, area_mm2};
use crate::standards::rules::{ambient_rule_id, rule};

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "ambient-over-insulation" | "ampacity-without-column" => hot(e),
        "terminal-does-not-take" => terminal(e),
        "loads-without-run" => count(e),
        "device-volts-unfit" => nominal(e),
        "rule-changed" | "rule-changed-without-reason" | "rule-changed-twice" | "rule-out-of-bounds" => changed(e),
        _ => None,
    }
}

fn run<'a>(e: &Explain<'a>) -> Option<(usize, &'a Run)> {
    let id = e.item("runs")?;
    e.c.plan.runs.iter().enumerate().find(|(_, r)| r.id.as_str() == id)
}

/// Source: NEC 310.15(B): what is left of the rise above the air.
fn hot(e: &mut Explain<'_>) -> Option<()> {
    let (i, run) = run(e)?;
    let leg = run.legs.iter().find(|l| l.id.as_str() == e.finding.name(1))?;
    let case = case(e.c, run, leg, terminal_c(e.c, i).ok()?, e.c.rules.basis).ok()?;
    let from = match (&leg.ambient_c, leg.zone.known()) {
        (None, Some(zone)) => format!("of its zone {zone} (rule {})", ambient_rule_id(*zone)),
        _ => "as entered".into(),
    };
    e.say(format!("leg {}: air {} C {from}, insulation {} C", leg.id, n(case.ambient_c), n(case.insulation_c)));
    match solve(e.c, &case).refusal? {
        AmpacityRefusal::AmbientTooHot { ambient_c, conductor_c } if ambient_c < conductor_c => {
            let (column, air) = (n(conductor_c), n(ambient_c));
            e.say(format!(
                "its table prints no factor for {column} C insulation in air at {air} C: a dash, nothing is left"
            ));
        }
        AmpacityRefusal::AmbientTooHot { ambient_c, conductor_c } => {
            e.say(format!(
                "carries its table figure x sqrt((Tc - Ta) / (Tc - 30)), Tc {} C, Ta {} C: {} K of rise left, nothing",
                n(conductor_c),
                n(ambient_c),
                n((conductor_c - ambient_c).min(0.0))
            ));
        }
        AmpacityRefusal::BelowTable { insulation_c, least_c } => {
            e.say(format!(
                "lowest column of the tables {} C: {} C is {} K below it",
                n(least_c),
                n(insulation_c),
                n(least_c - insulation_c)
            ));
        }
        AmpacityRefusal::NoColumn { ambient_c, column_c, insulation_c } => {
            e.say(format!(
                "credited with the {} C column, the last of its table: sqrt((Tc - Ta) / (Tc - 30)) has no value at {} C of air, \
                 though {} C insulation stands it",
                n(column_c),
                n(ambient_c),
                n(insulation_c)
            ));
        }
        AmpacityRefusal::ParallelTooThin { .. } => return None,
    }
    Some(())
}

fn terminal(e: &mut Explain<'_>) -> Option<()> {
    let (i, run) = run(e)?;
    let owner = e.finding.name(1).to_string();
    let found = terminals(e.c, i)
        .filter_map(|node| ratings(e.c, node))
        .find(|(_, path)| path("x").split_last().0.segments().last().unwrap_or("bank") == owner);
    let (r, _) = found?;
    let area = e.finding.n(0);
    let mut legs = crate::engine::resistance::legs(run);
    let leg = legs.find(|l| gauge_of(run, l).is_ok_and(|g| (area_mm2(g) - area).abs() < 1e-9))?;
    let gauge = gauge_of(run, leg).ok()?;
    e.say(format!("leg {}: {gauge}, {} mm2", leg.id, n(area)));
    let size = |k: &Option<Known<Gauge>>| k.as_ref().and_then(Known::known).copied();
    let mut beyond = Vec::new();
    if let Some(least) = size(&r.smallest_wire) {
        e.say(format!("{owner} takes {least} at least, {} mm2", n(area_mm2(least))));
        if area < area_mm2(least) {
            beyond.push(format!("{gauge}: {} mm2 is {} mm2 too thin", n(area), n(area_mm2(least) - area)));
        }
    }
    if let Some(most) = size(&r.largest_wire) {
        e.say(format!("{owner} takes {most} at most, {} mm2", n(area_mm2(most))));
        if area > area_mm2(most) {
            beyond.push(format!("{gauge}: {} mm2 is {} mm2 too thick", n(area), n(area - area_mm2(most))));
        }
    }
    let counts = r.wires_each.as_ref().and_then(Known::known).zip(leg.per_pole.known());
    if let Some((each, count)) = counts.filter(|(each, count)| count.0 > each.0) {
        beyond.push(format!("{} x {gauge} in one terminal, which takes {}", n(count.0), n(each.0)));
    }
    e.say(beyond.join("; "));
    Some(())
}

/// The volts that a circuit is called by, and those a load is made for.
fn nominal(e: &mut Explain<'_>) -> Option<()> {
    let (bank_v, base_v, here) = (e.c.bank_v().ok()?, e.c.base_v().ok()?, e.finding.n(0));
    e.say(format!("the bank's {} V are a circuit of {} V", n(bank_v), n(base_v)));
    let behind = if here == base_v { "no converter stands between" } else { "behind the converter to 12 V" };
    let (id, made) = (e.finding.name(0).to_string(), e.finding.name(1).to_string());
    e.say(format!("{behind}: {} V at {id}, which is made for {made}", n(here)));
    Some(())
}

/// The loads that are counted, by name.
fn count(e: &mut Explain<'_>) -> Option<()> {
    let loads = e.c.circuit.undrawn.iter().filter_map(|i| e.c.plan.loads.get(*i));
    let ids: Vec<&str> = loads.map(|l| l.id.as_str()).collect();
    let (ids, all) = (ids.join(", "), e.finding.n(0));
    e.say("fuse panels that stay in the plan, which could stand for their runs: none");
    e.say(format!("DC loads that stay and that no run ends on: {ids}: {all:.0}"));
    Some(())
}

fn changed(e: &mut Explain<'_>) -> Option<()> {
    let row = rule(e.item("rules")?)?;
    let basis = e.c.rules.basis;
    let (standard, used) = (row.value(basis), e.rule(row.id));
    let bare = |x: f64| if row.unit == "on/off" { on_or_off(x).into() } else { n(x) };
    let with_unit = |x: f64| if row.unit == "on/off" { bare(x) } else { format!("{} {}", n(x), row.unit) };
    e.say(format!("rule {}: {} {} [{}]", row.id, row.label, with_unit(standard), row.source_of(basis)));
    let rest: Vec<String> = e
        .report
        .findings
        .iter()
        .filter(|f| rules_of(f).contains(&row.id))
        .map(|f| format!("{} {}", f.check.id, f.subject))
        .collect();
    if !rest.is_empty() {
        e.say(format!("findings judged by it here: {}", rest.join(", ")));
    }
    if e.is("rule-out-of-bounds") {
        let (entered, least, most) = (e.finding.n(0), e.finding.n(1), e.finding.n(2));
        e.say(format!("it takes {} to {}; entered {}, so that {} is used", n(least), n(most), n(entered), n(used)));
    } else if e.is("rule-changed-twice") {
        let (this, last) = (e.finding.n(0), e.finding.n(1));
        e.say(format!(
            "changed to {}, and after that to {}: the last one holds, {}",
            bare(this),
            bare(last),
            with_unit(used)
        ));
    } else {
        e.say(format!("this plan takes {} instead of {}", with_unit(used), bare(standard)));
    }
    Some(())
}
