//! Against a negative that is too thin for what fuses let through together: more wire beside it, or smaller fuses ahead of it.

use crate::arrange::Arrange;
use crate::engine::capacity::of_run;
use crate::engine::circuit::{Node, device_kind};
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::let_through;
use crate::engine::report::Report;
use crate::engine::resistance::{fuse_path, fuses, legs};
use crate::engine::sizing::make::{Make, Takes, made_of, takes};
use crate::engine::sizing::{make_edits, with_make};
use crate::plan::wiring::Protection;
use crate::plan::{DeviceKind, Edit, Run, State, Step, Value};
use crate::standards::conductor::area_mm2;
use crate::standards::fuse::ratings;

/// Most lugs of one pole that are offered on a stud. Source: common practice.
const MOST_LUGS: u32 = 4;

/// A fuse whose current comes back there, and the ratings that it may have, the largest first.
struct Ahead<'a> {
    run: &'a Run,
    fuse: &'a Protection,
    ratings: Vec<f64>,
}

/// What mends it. Where batteries in parallel have a fuse each that alone is within what it carries, and a switch each, their
/// fuses stay: with one open another battery gives all.
pub(super) fn steps(c: &Context<'_>, (index, run): (usize, &Run), finding: &Finding, before: &Report) -> Vec<Step> {
    let through = let_through::told(c, index, finding.n(0));
    let one = through.and_then(|through| let_through::most_of_one(c, &through));
    // Rounded up to the next rating where that is on.
    let most_a = if finding.numbers.len() > 3 { finding.n(3) } else { finding.n(1) };
    let (beside, smaller) = (doubled(c, index, run, finding), smaller(c, index, finding, before));
    let steps = match is_switched_each(c) {
        // Fuses made smaller carry too little with one battery off.
        true if one.is_some_and(|one| one <= most_a + 1e-9) => [beside, None],
        true => [beside, smaller],
        false if smaller.is_some() => [smaller, None],
        false => [None, beside],
    };
    steps.into_iter().flatten().collect()
}

/// Whether one battery of several can be opened alone.
fn is_switched_each(c: &Context<'_>) -> bool {
    let opens = |d: &usize| {
        let kind = device_kind(c.plan, Node::Device(*d));
        matches!(kind, Some(DeviceKind::Switch | DeviceKind::Disconnect | DeviceKind::Breaker))
    };
    (0..c.plan.devices.len()).filter(opens).any(|d| c.circuit.own_ways.iter().any(|way| c.circuit.is_within(way, d)))
}

/// As many more of the same wire in its pole as carry what comes back, where it may be paralleled.
fn doubled(c: &Context<'_>, index: usize, run: &Run, finding: &Finding) -> Option<Step> {
    let now = made_of(run).filter(|m| area_mm2(m.gauge) >= c.rules.parallel_least_mm2 - 1e-9)?;
    let bought = legs(run).all(|l| l.state == State::New);
    (now.per_pole + 1..=MOST_LUGS).filter(|_| bought).find_map(|per_pole| {
        let make = Make { per_pole, ..now };
        let made = with_make(run, make);
        let carries_a = of_run(c, index, &made).ok()?.weakest.amps;
        let allows = let_through::allowed(c, index, &made, carries_a).ok()?;
        let asks = match takes(c, index, make) {
            Takes::No(_) => return None,
            Takes::Ask(what) => format!("; {what}"),
            Takes::Yes | Takes::Unsaid => String::new(),
        };
        let step = || Step { name: format!("{}: {make}{asks}", run.id), edits: make_edits(run, make, true) };
        (finding.n(0) <= allows.most_a + 1e-9).then(step)
    })
}

/// The largest ratings of those fuses, each enough for its own run, that together are what the negative carries.
fn smaller(c: &Context<'_>, index: usize, finding: &Finding, before: &Report) -> Option<Step> {
    let is_above = ["fuse-above-conductor", "next-rating-up"].contains(&finding.check.id);
    let through = let_through::told(c, index, finding.n(0)).filter(|_| is_above)?;
    let ahead = |by: &String| {
        let (fuse, run) = by.split_once(" of ")?;
        let at = c.plan.runs.iter().position(|r| r.id.as_str() == run)?;
        let run = c.plan.runs.get(at)?;
        let fuse = fuses(run).find(|f| f.id.as_str() == fuse)?;
        let (now, least) = (fuse.amps_a.known()?.0, before.runs.get(at)?.fuse_min_a.as_ref().ok()?.0);
        let fit = ratings(*fuse.family.known()?).iter().copied().filter(|a| *a >= least - 1e-9 && *a < now - 1e-9);
        let mut ratings: Vec<f64> = fit.chain([now]).collect();
        ratings.arrange_by(|a, b| b.total_cmp(a));
        Some(Ahead { run, fuse, ratings })
    };
    let mut all = through.by.iter().map(ahead).collect::<Option<Vec<Ahead<'_>>>>()?;
    let rated = |a: &Ahead<'_>| a.ratings.first().copied().unwrap_or(0.0);
    while all.iter().map(rated).sum::<f64>() > finding.n(1) + 1e-9 {
        // Equal ones stay equal: leads of one bank are.
        let largest = all.iter().filter(|a| a.ratings.len() > 1).map(rated).fold(0.0, f64::max);
        let mut to_lower = all.iter_mut().filter(|a| a.ratings.len() > 1 && rated(a) >= largest - 1e-9).peekable();
        to_lower.peek()?;
        to_lower.for_each(|a| {
            a.ratings.remove(0);
        });
    }
    let changed = all.iter().filter(|a| a.fuse.amps_a.known().is_some_and(|now| rated(a) < now.0 - 1e-9));
    let set = |a: &Ahead<'_>| Edit::Set { at: fuse_path(a.run, a.fuse, "amps_a"), to: Value::Number(rated(a)) };
    let names: Vec<String> = changed.clone().map(|a| format!("{} {} A", a.run.id, rated(a))).collect();
    let edits: Vec<Edit> = changed.map(set).collect();
    (!edits.is_empty()).then(|| Step { name: format!("smaller fuses: {}", names.join(", ")), edits })
}
