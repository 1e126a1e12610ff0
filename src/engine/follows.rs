//! What only follows from a run that is drawn wrong: judged again without that run, and gathered under it.

use crate::arrange::Arrange;
use crate::plan::wiring::Return;
use crate::plan::{Edit, FieldPath, Id, Plan, Step, Value};
use crate::stock::Stock;

use super::circuit::{Circuit, Node, joining_run};
use super::exchanged::Exchanged;
use super::finding::{Finding, Level};
use super::report::Report;
use super::{Asked, Engine, Weather};

/// Findings that say of a drawing that what lies around it cannot be judged.
/// Crossed leads come first: joined poles may follow from them.
const CAUSES: [&str; 6] =
    [CROSSED, "panels-on-bank", "converter-two-feeds", "rails-joined", "posts-joined", "poles-joined"];
const CROSSED: &str = "leads-crossed";
/// Most names that are said of what follows. Source: our own choice, what a line holds.
const MOST: usize = 6;

/// A plan with one such run taken back, and the run that is no longer in it.
struct Without {
    plan: Plan,
    run: Option<String>,
}

impl Engine {
    /// Takes what is gone as soon as a wrong run is taken back out of the list, and says under the cause that it was there.
    /// What stays with any of the ways to take it back is no consequence, and stays listed.
    pub(super) fn gather_consequences(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        weather: Option<&Weather>,
        report: &mut Report,
    ) {
        // An accepted cause stands: what follows from it is as it is.
        let is_cause = |f: &Finding| CAUSES.contains(&f.check.id) && f.accepted.is_none();
        let mut causes: Vec<Finding> = report.findings.iter().filter(|f| is_cause(f)).cloned().collect();
        if causes.is_empty() {
            return;
        }
        // What the year brings is in no answer on wires alone.
        let own = self.found(plan, stock, weather, Asked::Wires);
        causes.arrange_by_key(|f| f.check.id != CROSSED);
        for cause in causes {
            if !report.says(&cause) {
                continue;
            }
            let judged = taken_back(plan, &cause)
                .into_iter()
                .map(|w| (w.run, self.found(&w.plan, stock, weather, Asked::Wires)));
            let mends = |(_, r): &(Option<String>, Report)| !r.says(&cause);
            let mut without: Vec<(Option<String>, Report)> = judged.filter(mends).collect();
            // Taken back where it was right, a run leaves other things wrong.
            let brings = |r: &Report| r.findings.iter().any(|f| f.level == Level::Stop && !own.says(f));
            if without.iter().any(|(_, r)| !brings(r)) {
                without.retain(|(_, r)| !brings(r));
            }
            let follows = |f: &Finding| {
                let is_own = |run: &Option<String>| run.is_some() && run.as_deref() == own_run(f);
                let mut judged = without.iter().filter(|(run, _)| !is_own(run)).peekable();
                f.level != Level::Note
                    && f.accepted.is_none()
                    && (!CAUSES.contains(&f.check.id) || (cause.check.id == CROSSED && f.check.id != CROSSED))
                    && own.findings.iter().any(|o| o.identity() == f.identity())
                    && judged.peek().is_some()
                    && judged.all(|(_, r)| !stands(r, f))
            };
            let (gone, stay): (Vec<Finding>, Vec<Finding>) =
                std::mem::take(&mut report.findings).into_iter().partition(follows);
            report.findings = stay;
            // Nothing of the run itself waits for others: it is to go.
            report.not_checked.retain(|n| n.subject != cause.subject || n.waits_for.as_str() != "runs");
            if let Some(f) = report.findings.iter_mut().find(|f| f.identity() == cause.identity()) {
                f.follows = said(&gone);
            }
        }
    }
}

/// The run that a finding is about, by its id.
fn own_run(finding: &Finding) -> Option<&str> {
    let mut segments = finding.subject.segments();
    segments.next().filter(|list| *list == "runs").and_then(|_| segments.next())
}

fn stands(report: &Report, finding: &Finding) -> bool {
    report.findings.iter().any(|f| f.identity() == finding.identity() && f.level != Level::Note)
}

/// The plan with the wrong run taken back, in each way there is.
fn taken_back(plan: &Plan, cause: &Finding) -> Vec<Without> {
    let id = cause.subject.split_last().1;
    let without = |run: &str| {
        let edit = Edit::Remove { at: FieldPath::new(format!("runs.{run}")) };
        Some(Without { plan: plan.with(&Step::one("without", edit)).ok()?, run: Some(run.to_string()) })
    };
    match cause.check.id {
        "converter-two-feeds" => {
            return too_many(plan, id).into_iter().filter_map(|i| without(plan.runs.get(i)?.id.as_str())).collect();
        }
        // It belongs nowhere: what is said of itself goes with it.
        CROSSED => {
            let all = Exchanged::all(plan, &Circuit::of(plan).0);
            let edits = all.iter().filter_map(|crossed| crossed.step(plan)).flat_map(|step| step.edits).collect();
            let plan = plan.with(&Step { name: "exchanged".into(), edits }).ok();
            return plan.map(|plan| Without { plan, run: None }).into_iter().collect();
        }
        "posts-joined" => return without(id).map(|w| Without { run: None, ..w }).into_iter().collect(),
        "poles-joined" => return apart(plan, id).into_iter().collect(),
        "rails-joined" => return [cause.name(1), cause.name(2)].into_iter().filter_map(without).collect(),
        _ => {}
    }
    let Some((run, field)) = joining_run(plan, id) else { return Vec::new() };
    let named = plan.arrays.iter().find(|a| a.id.as_str() == id).and_then(|a| a.controller.known());
    let there = |k: &Id| plan.controllers.iter().any(|c| c.id == *k && c.state.stays());
    let led = named.filter(|k| there(k)).and_then(|k| {
        let at = FieldPath::new(format!("runs.{run}.{field}"));
        let plan = plan.with(&Step::one("led", Edit::Set { at, to: Value::Id(k.clone()) })).ok()?;
        Some(Without { plan, run: None })
    });
    led.or_else(|| without(&run)).into_iter().collect()
}

/// The plan without a run that joins plus and minus; of a pair, with its negative beside its positive.
fn apart(plan: &Plan, run: &str) -> Option<Without> {
    let drawn = plan.runs.iter().find(|r| r.id.as_str() == run)?;
    let own = FieldPath::new(format!("runs.{run}"));
    let edits = if drawn.return_path == Return::None {
        vec![Edit::Remove { at: own }]
    } else {
        let fields = ["negative_from", "negative_to"].map(|f| FieldPath::new(format!("runs.{run}.{f}")));
        fields.into_iter().map(|at| Edit::Set { at, to: Value::Nothing }).collect()
    };
    let plan = plan.with(&Step { name: "apart".into(), edits }).ok()?;
    Some(Without { plan, run: None })
}

/// The runs of which one is too many at a device.
pub(super) fn too_many(plan: &Plan, device: &str) -> Vec<usize> {
    let node = plan.devices.iter().position(|d| d.id.as_str() == device).map(Node::Device);
    node.map_or_else(Vec::new, |node| Circuit::of(plan).0.one_too_many(plan, node))
}

/// `; 8 stops and a caution follow from it and are not listed: W8, W12 and 3 more`.
fn said(gone: &[Finding]) -> String {
    let count = |level: Level, one: &str, many: &str| match gone.iter().filter(|f| f.level == level).count() {
        0 => None,
        1 => Some(one.to_string()),
        n => Some(format!("{n} {many}")),
    };
    let counts: Vec<String> = [count(Level::Stop, "a stop", "stops"), count(Level::Caution, "a caution", "cautions")]
        .into_iter()
        .flatten()
        .collect();
    if counts.is_empty() {
        return String::new();
    }
    let mut names: Vec<&str> = Vec::new();
    for f in gone {
        // Of a bank's field the bank is meant.
        let name = f.subject.segments().nth(1).unwrap_or(f.subject.as_str());
        let name = if f.subject.segments().next() == Some("bank") { crate::plan::BANK_ID } else { name };
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let more = names.len().saturating_sub(MOST);
    let (verb, are) = if gone.len() == 1 { ("follows", "is") } else { ("follow", "are") };
    let shown = names.get(..MOST.min(names.len())).unwrap_or_default().join(", ");
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("; {} {verb} from it and {are} not listed: {shown}{rest}", counts.join(" and "))
}
