//! Which findings hang on a rule value that a plan changes: those that would not be there, or would read otherwise, by
//! the standard one. What a check compares with by name is marked beside it (`checks/judged.rs`); this finds the rest.

use crate::plan::Plan;
use crate::stock::Stock;

use super::checks::rests_on;
use super::finding::Finding;
use super::report::{ByChanged, Report, RunFigures};
use super::{Asked, Changed, Engine, Rules, Weather};

impl Engine {
    /// Marks the findings of a report, and the limits of its runs, with the reasons of every changed rule that they hang on.
    pub(super) fn mark_changed(&mut self, plan: &Plan, stock: &Stock, weather: Option<&Weather>, report: &mut Report) {
        let changed: Vec<Changed<'_>> = Rules::changed(plan).into_iter().filter(|c| c.value != c.standard).collect();
        if changed.is_empty() {
            return;
        }
        let own = self.answer(plan, stock, weather, Asked::Wires);
        let standard: Vec<Report> = changed
            .iter()
            .map(|c| {
                let mut by_standard = plan.clone();
                by_standard.rules.retain(|rule| rule.id.as_str() != c.rule.id);
                self.answer(&by_standard, stock, weather, Asked::Wires)
            })
            .collect();
        for finding in &mut report.findings {
            let hangs = |c: &Changed<'_>, by: &Report| rests_on(plan, finding, c) || hangs_on(finding, &own, by);
            let all = changed.iter().zip(&standard).filter(|(c, by)| hangs(c, by));
            let said: Vec<&str> = all.map(|(c, _)| c.said()).collect();
            finding.changed = said.join("; ");
        }
        for (i, run) in report.runs.iter_mut().enumerate() {
            let differs = |is: fn(&RunFigures, &RunFigures) -> bool| {
                let pairs = changed.iter().zip(&standard);
                let hangs = |by: &Report| own.runs.get(i).zip(by.runs.get(i)).is_some_and(|(a, b)| is(a, b));
                pairs.filter(|(_, by)| hangs(by)).map(|(c, _)| c.said()).collect::<Vec<_>>().join("; ")
            };
            run.changed = ByChanged {
                target: differs(|a, b| a.target_pct != b.target_pct),
                ampacity: differs(|a, b| a.ampacity_a != b.ampacity_a),
                fuse: differs(|a, b| (&a.fuse_min_a, &a.fuse_max_a) != (&b.fuse_min_a, &b.fuse_max_a)),
            };
        }
    }
}

/// Whether a finding reads otherwise in the answer by a standard value. One that the year brings is in neither.
fn hangs_on(finding: &Finding, own: &Report, standard: &Report) -> bool {
    // What says that a rule is changed says so itself.
    if finding.check.id.starts_with("rule-") {
        return false;
    }
    let same = |a: &Finding, b: &Finding| a.identity() == b.identity() && a.names == b.names;
    let reads = |f: &&Finding| same(f, finding);
    own.findings
        .iter()
        .find(reads)
        .is_some_and(|f| !standard.findings.iter().any(|g| same(f, g) && f.level == g.level && f.numbers == g.numbers))
}
