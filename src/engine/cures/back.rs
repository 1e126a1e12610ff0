//! Smaller fuses ahead of a negative that is too thin for what they let through together.

use crate::arrange::Arrange;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::let_through;
use crate::engine::report::Report;
use crate::engine::resistance::{fuse_path, fuses};
use crate::plan::wiring::Protection;
use crate::plan::{Edit, Run, Step, Value};
use crate::standards::fuse::ratings;

/// A fuse whose current comes back there, and the ratings that it may have, the largest first.
struct Ahead<'a> {
    run: &'a Run,
    fuse: &'a Protection,
    ratings: Vec<f64>,
}

/// The largest ratings of those fuses, each enough for its own run, that together are what the negative carries.
pub(super) fn smaller(c: &Context<'_>, index: usize, finding: &Finding, before: &Report) -> Option<Step> {
    let is_above = ["fuse-above-conductor", "next-rating-up"].contains(&finding.check.id);
    let through = let_through::back(c, index).ok()?.filter(|_| is_above)?;
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
