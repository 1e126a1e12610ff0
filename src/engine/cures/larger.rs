//! Larger fuses on a path that loses too much: a fuse has its volts at its rating, so that a larger one loses less.
//!
//! Source: a fuse has its volts at its rating, and so ohms that go with one over that.

use crate::engine::Engine;
use crate::engine::circuit::{Circuit, Way};
use crate::engine::context::Context;
use crate::engine::report::{Proposed, Report, RunFigures};
use crate::engine::resistance::{fuse_path, fuses};
use crate::plan::{Edit, Run, Step, Value};
use crate::standards::fuse::{ratings, smallest_at_least};
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::Amps;

/// Ratings more of one fuse that are tried. Source: our own choice.
pub(super) const MOST_LARGER: usize = 3;

/// The ratings above its own that a run's fuse may have within what its wire allows, and its field's edit for each.
fn above<'a>(run: &'a Run, figures: &'a RunFigures) -> Option<Vec<(f64, Edit)>> {
    let (fuse, most) = (fuses(run).next()?, figures.fuse_max_a.as_ref().ok()?.0);
    let now = fuse.amps_a.known()?.0;
    let all = ratings(*fuse.family.known()?).iter().copied().filter(|a| *a > now + 1e-9 && *a <= most + 1e-9);
    let edit = |amps: f64| (amps, Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(amps) });
    Some(all.take(MOST_LARGER).map(edit).collect())
}

/// The fuses that a run may have beside thicker wire against a drop, none smaller than it has: the next ratings of its own family that
/// the wire allows, where that family may stay (`stays`); then what is proposed of another one.
pub(super) fn that_lose_less(
    run: &Run,
    figures: Option<&RunFigures>,
    proposed: Option<&Proposed>,
    stays: bool,
) -> Vec<Proposed> {
    let Some(proposed) = proposed else { return Vec::new() };
    let there = fuses(run).next().and_then(|f| Some((*f.family.known()?, f.amps_a.known()?.0)));
    let Some((family, now)) = there else { return vec![proposed.clone()] };
    let rated = |family: FuseFamily, amps: f64| Proposed { family, amps: Amps(amps), ..proposed.clone() };
    let is_other = family != proposed.family;
    let own = figures.filter(|_| stays || !is_other).and_then(|figures| above(run, figures)).unwrap_or_default();
    let least = if is_other { 0.0 } else { proposed.amps.0 };
    let own = own.into_iter().map(|(amps, _)| rated(family, amps.max(least)));
    let most = figures.and_then(|f| f.fuse_max_a.as_ref().ok()).map_or(0.0, |a| a.0);
    let no_smaller = smallest_at_least(proposed.family, now.max(proposed.amps.0)).filter(|a| *a <= most + 1e-9);
    let other = is_other.then(|| rated(proposed.family, no_smaller.unwrap_or(proposed.amps.0)));
    own.chain(other).collect()
}

/// All fuses of a way so many ratings larger, as far as the wire of a report allows it, those of batteries in parallel alike;
/// beside the edits of a step.
fn all_larger(c: &Context<'_>, way: &Way, at: &Report, by: usize, base: &Step) -> Option<Step> {
    let (mut edits, mut names) = (Vec::new(), Vec::new());
    for i in way.positives(&c.circuit) {
        let (Some(run), Some(figures)) = (c.plan.runs.get(i), at.runs.get(i)) else { continue };
        let Some((amps, edit)) = above(run, figures).and_then(|all| all.into_iter().take(by).next_back()) else {
            continue;
        };
        names.push(format!("{} {amps} A", run.id));
        edits.push(edit);
    }
    if edits.is_empty() {
        return None;
    }
    let wire = base.name.split_once(": ").map_or(String::new(), |(_, all)| format!("; {all}"));
    let name = format!("larger fuses: {}{wire}", names.join(", "));
    Some(Step { name, edits: base.edits.iter().cloned().chain(edits).collect() })
}

/// The least larger fuses of a way, all at once, with which a step mends what it is for.
pub(super) fn together(
    c: &Context<'_>,
    way: &Way,
    before: &Report,
    mends: &mut dyn FnMut(&Step) -> bool,
) -> Option<Step> {
    let none = Step { name: String::new(), edits: Vec::new() };
    let all = (1..=MOST_LARGER).filter_map(|by| all_larger(c, way, before, by, &none));
    all.map(|step| super::alike::with(c.plan, &c.circuit, step)).find(|step| mends(step))
}

/// The largest fuses that a way takes beside a step's wire; as they are where that allows no more.
pub(super) fn beside(engine: &mut Engine, c: &Context<'_>, stock: &Stock, way: &Way, wire: &Step) -> Option<Step> {
    let wire = super::alike::with(c.plan, &c.circuit, wire.clone());
    let with = c.plan.with(&wire).ok()?;
    let report = engine.evaluate_wires(&with, stock);
    let at = Context::of(&with, Circuit::of(&with).0, c.van_fuses);
    let step = all_larger(&at, way, &report, MOST_LARGER, &wire)?;
    Some(super::alike::with(c.plan, &c.circuit, step))
}
