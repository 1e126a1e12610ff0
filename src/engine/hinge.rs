//! Which findings hang on a rule value that a plan changes: those that would not be there, or would read otherwise, by
//! the standard one. What a check compares with by name is marked beside it (`checks/judged.rs`); this finds the rest.

use crate::plan::{FieldPath, Plan};
use crate::standards::rules::Rule;
use crate::stock::Stock;

use super::checks::rests_on;
use super::finding::{Finding, Level};
use super::report::{ByChanged, Report, RunFigures};
use super::{Asked, Changed, Engine, Rules, Weather, legs_worked};

/// A figure of a run that a rule value may bear on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Design,
    Working,
    /// What the run itself loses.
    Drop,
    /// What its path loses.
    Path,
    Target,
    /// That of its weakest leg.
    Ampacity,
    /// What one leg carries and what that comes from, by its place among those that stay.
    Leg(usize),
    /// Which fuses fit.
    Fits,
    /// What a fuse can open and has to, by its place in the report.
    Fault(usize),
    /// What is found about it, the year aside.
    Found,
}

/// A changed rule value and the figures that would be others by the standard one.
#[derive(Clone, Debug, PartialEq)]
pub struct Bearing {
    pub rule: &'static Rule,
    /// In the order of the runs.
    pub runs: Vec<Vec<Part>>,
}

impl Engine {
    /// What of every run each changed rule value bears on. For paper: it takes an evaluation of the wires for each.
    #[must_use]
    pub fn bearings(&mut self, plan: &Plan, stock: &Stock) -> Vec<Bearing> {
        let changed: Vec<Changed<'_>> = Rules::changed(plan);
        if changed.is_empty() {
            return Vec::new();
        }
        let (own, own_legs) = (self.evaluate_wires(plan, stock), legs_worked(plan));
        let bearing = |c: &Changed<'_>| {
            let by_standard = without(plan, c);
            let (by, by_legs) = (self.evaluate_wires(&by_standard, stock), legs_worked(&by_standard));
            let runs = own.runs.iter().zip(&by.runs).map(|(a, b)| borne(a, b));
            let legs = own_legs.iter().zip(&by_legs).map(|(a, b)| {
                let other = a.iter().zip(b).enumerate().filter(|(_, (a, b))| a != b);
                other.map(|(i, _)| Part::Leg(i)).collect::<Vec<Part>>()
            });
            let found = plan.runs.iter().map(|run| {
                let item = FieldPath::from("runs").join(&run.id);
                if found_at(&own, &item) == found_at(&by, &item) { Vec::new() } else { vec![Part::Found] }
            });
            let runs = runs.zip(legs).zip(found).map(|((parts, legs), found)| [parts, legs, found].concat()).collect();
            Bearing { rule: c.rule, runs }
        };
        changed.iter().map(bearing).collect()
    }

    /// Marks the findings of a report, and the limits of its runs, with the reasons of every changed rule that they hang on.
    pub(super) fn mark_changed(&mut self, plan: &Plan, stock: &Stock, weather: Option<&Weather>, report: &mut Report) {
        let changed: Vec<Changed<'_>> = Rules::changed(plan);
        if changed.is_empty() {
            return;
        }
        let own = self.answer(plan, stock, weather, Asked::Wires);
        let standard: Vec<Report> =
            changed.iter().map(|c| self.answer(&without(plan, c), stock, weather, Asked::Wires)).collect();
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

/// The plan with a rule at its standard value.
fn without(plan: &Plan, changed: &Changed<'_>) -> Plan {
    let mut by_standard = plan.clone();
    by_standard.rules.retain(|rule| rule.id.as_str() != changed.rule.id);
    by_standard
}

/// What is found at an item and what lies in it.
fn found_at<'a>(report: &'a Report, item: &FieldPath) -> Vec<(&'static str, Level, &'a [f64])> {
    let own = report.findings.iter().filter(|f| f.subject.is_within(item));
    own.map(|f| (f.check.id, f.level, f.numbers.as_slice())).collect()
}

/// Which figures of a run's line differ, its legs aside.
fn borne(a: &RunFigures, b: &RunFigures) -> Vec<Part> {
    let all = [
        (Part::Design, a.design_a != b.design_a),
        (Part::Working, a.drop_at_a != b.drop_at_a),
        (Part::Drop, (&a.drop_v, &a.drop_pct, &a.wire_c) != (&b.drop_v, &b.drop_pct, &b.wire_c)),
        (Part::Path, (&a.path_drop_v, &a.path_drop_pct, &a.path) != (&b.path_drop_v, &b.path_drop_pct, &b.path)),
        (Part::Target, a.target_pct != b.target_pct),
        (Part::Ampacity, (&a.ampacity_a, &a.weakest_leg) != (&b.ampacity_a, &b.weakest_leg)),
        (Part::Fits, (&a.fuse_min_a, &a.fuse_max_a, &a.proposed) != (&b.fuse_min_a, &b.fuse_max_a, &b.proposed)),
    ];
    let faults = a.fuses.iter().zip(&b.fuses).enumerate().map(|(i, (a, b))| (Part::Fault(i), a != b));
    all.into_iter().chain(faults).filter(|(_, differs)| *differs).map(|(part, _)| part).collect()
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
