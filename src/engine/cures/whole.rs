//! Other wire along a whole way against a drop: the least that mends it, in one cable each, in two, or with its ends nearer.

use crate::engine::Engine;
use crate::engine::circuit::Way;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::sizing::make::Make;
use crate::plan::{Run, Step};
use crate::stock::Stock;

use super::fitting::or_two;
use super::path::{Choice, choices, cut_to, fused, gone, levels, shorter, thick};

/// What runs are made of, by their place in the plan.
type Picked = Vec<(usize, Make)>;

/// The thinnest wire for all runs of the way that mends it beside the edits of a step; where none does, the thickest with the runs
/// cut to what does.
pub(super) fn wires(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    (way, finding): (&Way, &Finding),
    base: &Step,
    before: &Report,
) -> Result<Vec<Step>, Step> {
    let choices = choices(c, way, before);
    let mut thickest = base.clone();
    for picked in levels(&choices) {
        let step = fused(engine, c, stock, before, thick(c, base, &picked));
        // The run that a finding is about is offered thicker by itself already.
        let about = |i: &usize| {
            let is =
                |r: &Run| finding.run() == Some(r.id.as_str()) || finding.subject.as_str() == format!("runs.{}", r.id);
            c.plan.runs.get(*i).is_some_and(is)
        };
        let alone = base.edits.is_empty() && matches!(picked.as_slice(), [(i, _)] if about(i));
        if gone(engine, c, stock, finding, &step) {
            return Ok(if alone { Vec::new() } else { vec![step] });
        }
        thickest = step;
    }
    let all = levels(&choices);
    cut(engine, c, stock, (way, finding), (base, &all), before, &thickest).map(|(step, _)| vec![step])
}

/// The runs of a way cut to what mends it beside some of what they can be made of, the least that does; as short as is tried where
/// none does.
fn cut(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    (way, finding): (&Way, &Finding),
    (base, all): (&Step, &[Picked]),
    before: &Report,
    thickest: &Step,
) -> Result<(Step, Picked), Step> {
    let (share, shortest) = shorter(engine, c, stock, (way, finding), thickest)?;
    // What is moved as far may do with less copper.
    for picked in all {
        let wire = fused(engine, c, stock, before, thick(c, base, picked));
        let Some(cut) = cut_to(c, way, share, &wire) else { break };
        if gone(engine, c, stock, finding, &cut.step) {
            return Ok((fused(engine, c, stock, before, cut.step), picked.clone()));
        }
    }
    Ok((fused(engine, c, stock, before, shortest), all.last().cloned().unwrap_or_default()))
}

/// Two cables in each pole somewhere along a way, the least copper that mends it beside one of some steps; else with its ends nearer.
/// What a terminal has to say first is said. What was tried last where none does.
pub(super) fn doubled(
    engine: &mut Engine,
    c: &Context<'_>,
    stock: &Stock,
    (way, finding): (&Way, &Finding),
    bases: &[&Step],
    before: &Report,
) -> Option<Step> {
    let mut choices = choices(c, way, before);
    let mut asks = Vec::new();
    for choice in &mut choices {
        asks.extend(may_be_two(c, choice));
    }
    let mut all = levels(&choices);
    all.retain(|picked| picked.iter().any(|(_, m)| m.per_pole > 1));
    let said = |mut step: Step, picked: &Picked| {
        step.name = step.name.replacen(" nearer: ", " nearer, in two cables: ", 1);
        let mut names: Vec<&str> = Vec::new();
        for (i, make, why) in &asks {
            if picked.contains(&(*i, *make)) && !names.contains(&why.as_str()) {
                names.push(why);
                step.name.push_str(&format!("; {why}"));
            }
        }
        step
    };
    for base in bases {
        for picked in &all {
            let step = fused(engine, c, stock, before, thick(c, base, picked));
            if gone(engine, c, stock, finding, &step) {
                return Some(said(step, picked));
            }
        }
    }
    let mut tried = None;
    for base in bases {
        let most = all.last()?;
        let thickest = fused(engine, c, stock, before, thick(c, base, most));
        match cut(engine, c, stock, (way, finding), (base, &all), before, &thickest) {
            Ok((step, picked)) => return Some(said(step, &picked)),
            Err(step) => tried = Some(said(step, most)),
        }
    }
    tried
}

/// A run's wire in two where that may be, no thinner than it is offered; what is to be asked first of each.
fn may_be_two(c: &Context<'_>, choice: &mut Choice<'_>) -> Vec<(usize, Make, String)> {
    let least = choice.more.first().map_or(choice.now.area_mm2() + 1e-6, |m| m.area_mm2());
    let mut asks = Vec::new();
    choice.more.clear();
    for (make, why) in or_two(c, choice.index).into_iter().filter(|(m, _)| m.area_mm2() >= least - 1e-9) {
        asks.extend(why.map(|why| (choice.index, make, why)));
        choice.more.push(make);
    }
    asks
}
