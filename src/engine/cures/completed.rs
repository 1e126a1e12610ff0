//! A step that cures and brings cautions about wire: completed by a step more for each of them, where nothing new is left then.

use crate::engine::Engine;
use crate::engine::circuit::Circuit;
use crate::engine::finding::{Finding, Level};
use crate::engine::report::Report;
use crate::plan::{Plan, Step};
use crate::stock::Stock;

use super::{alike, bought, candidates, cures, order, worse};

/// What a step more of wire mends. What would want other equipment is left to whoever chooses the step.
const BY_WIRE: [&str; 3] = ["drop-over-target", "return-not-drawn", "bond-small"];
/// Most steps more, and most that are tried for each. Source: our own choice; each is a whole answer.
const MOST: (usize, usize) = (3, 8);

/// What an answer has that was not there, but for notes and what was to be cured.
fn brought<'a>(finding: &Finding, before: &Report, after: &'a Report) -> Vec<&'a Finding> {
    let new = |f: &&Finding| f.level != Level::Note && f.identity() != finding.identity() && !before.says(f);
    after.findings.iter().filter(new).collect()
}

/// The step with what completes it; none where it brings nothing, or something is left.
pub(super) fn with(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    step: &Step,
) -> Option<Step> {
    let mut now = step.clone();
    for _ in 0..=MOST.0 {
        let with = plan.with(&now).ok()?;
        let report = engine.evaluate_wires(&with, stock);
        let new = brought(finding, before, &report);
        let Some(first) = new.first() else { return (now != *step).then_some(now) };
        if !new.iter().all(|f| f.level == Level::Caution && BY_WIRE.contains(&f.check.id)) {
            return None;
        }
        let mut all = candidates(engine, &with, stock, first, &report);
        order::by_rank(&with, first, &mut all);
        let (circuit, _) = Circuit::of(&with);
        now = all.into_iter().take(MOST.1).find_map(|more| {
            let more = alike::with(&with, &circuit, bought::step(&with, more));
            let both =
                Step { name: format!("{}; {}", now.name, more.name), edits: [now.edits.clone(), more.edits].concat() };
            let own = engine.evaluate_wires(&plan.with(&both).ok()?, stock);
            let left = brought(finding, before, &own);
            let is_less = left.len() < new.len() && left.iter().all(|f| report.says(f));
            let is_cure = cures(finding, before, &own, &[]) && worse::by(plan, finding, before, &own).is_none();
            (is_less && is_cure).then_some(both)
        })?;
    }
    None
}
