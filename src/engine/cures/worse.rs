//! Whether a step leaves another stop or caution of the plan worse than it was: that is no cure. A fault at a fuse that could
//! not open it before grows with every copper ahead of it: such a step brings along the fuse that opens it.

use crate::engine::accept;
use crate::engine::finding::{Finding, Level};
use crate::engine::report::Report;
use crate::engine::rule::Rules;
use crate::engine::{Engine, cures::fuse_edits};
use crate::plan::{FieldPath, Figure, Plan, Step};
use crate::stock::Stock;
use crate::words::counted;

use super::rating;

/// The check of a fuse that does not open its fault.
const OPENS: &str = "interrupt-below-fault";

/// What is left worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    /// A caution: what thicker wire, another fuse or a shunt in the way brings with it. For where nothing else cures, and
    /// beside what does where a stop is cured.
    Lesser,
    /// A stop.
    Stop,
}

/// The findings of one answer that are worse in another, by more than an accepted finding may worsen.
fn of<'a>(
    plan: &Plan,
    finding: &'a Finding,
    before: &'a Report,
    after: &'a Report,
) -> impl Iterator<Item = &'a Finding> {
    let share = Rules::of(plan).accepted_worsening_pct / 100.0;
    let stands = move |f: &&Finding| f.level != Level::Note && f.identity() != finding.identity();
    // A thing may have several of one check, of a source each setting and each battery: the same of them, and where its words have
    // changed the worst of them then against the worst of them now.
    let worst = |r: &'a Report, f: &Finding| {
        let same = r.findings.iter().filter(|g| g.identity() == f.identity());
        let grave = |g: &Finding| if g.larger_is_worse { g.n(0) } else { -g.n(0) };
        same.max_by(|a, b| grave(a).total_cmp(&grave(b)))
    };
    let is_worse = move |f: &&'a Finding| {
        let alike = after.findings.iter().find(|g| g.identity() == f.identity() && g.names == f.names);
        let (was, now) = if alike.is_some() { (Some(*f), alike) } else { (worst(before, f), worst(after, f)) };
        was.zip(now).is_some_and(|(was, now)| accept::is_worse(was, now, share))
    };
    before.findings.iter().filter(stands).filter(is_worse)
}

/// The stops of another answer that were less grave in the one before.
pub(super) fn stops<'a>(plan: &Plan, finding: &Finding, before: &Report, after: &'a Report) -> Vec<&'a Finding> {
    let worse: Vec<&Finding> = of(plan, finding, before, after).filter(|f| f.level == Level::Stop).collect();
    let is_one = |f: &&Finding| worse.iter().any(|w| w.identity() == f.identity());
    after.findings.iter().filter(is_one).collect()
}

/// What another answer has worse than the one before.
pub(super) fn by(plan: &Plan, finding: &Finding, before: &Report, after: &Report) -> Option<By> {
    let by = |f: &Finding| if f.level == Level::Stop { By::Stop } else { By::Lesser };
    of(plan, finding, before, after).map(by).max_by_key(|by| *by == By::Stop)
}

/// What a step brings that was not there, in the year too, and what it leaves worse, by check and by what each is about; nothing where
/// it does neither.
pub(super) fn said(
    plan: &Plan,
    finding: &Finding,
    (before, after): (&Report, &Report),
    (year, year_after): (&Report, &Report),
) -> String {
    let is_new =
        |f: &Finding, before: &Report| f.level != Level::Note && f.identity() != finding.identity() && !before.says(f);
    let new: Vec<&Finding> = after.findings.iter().filter(|f| is_new(f, before)).collect();
    // What has come to be a stop is said once.
    let stays = |f: &&Finding| new.iter().all(|g| g.identity() != f.identity());
    let worse = listed(of(plan, finding, before, after).filter(stays));
    let by_year = year_after.findings.iter().filter(|f| is_new(f, year));
    let new = listed(new.iter().copied().chain(by_year));
    let part = |what: &str, all: String| if all.is_empty() { all } else { format!("; {what}: {all}") };
    part("brings", new) + &part("makes worse", worse)
}

/// What a step costs the year, to the kWh and the day: harvest, and days on which loads go short; nothing where it costs neither. Of unlike
/// panels its name has it already.
pub(super) fn costs(finding: &Finding, before: &Report, after: &Report) -> String {
    let (was, now) = (&before.year.lived, &after.year.lived);
    let mut all = Vec::new();
    let whole = |before: &Figure<f64>, after: &Figure<f64>| {
        before.as_ref().ok().zip(after.as_ref().ok()).map(|(before, after)| (before.round(), after.round()))
    };
    if let Some((had, has)) = whole(&was.harvest_kwh, &now.harvest_kwh)
        && has < had
        && finding.check.id != "unlike-panels"
    {
        all.push(format!("{} kWh of {had} of harvest {}", had - has, was.when()));
    }
    if let Some((had, has)) = whole(&was.short_days, &now.short_days)
        && has > had
    {
        let than = if had < 1.0 { "none".to_string() } else { had.to_string() };
        all.push(format!("loads go short on {} instead of {than}", counted(has, "day")));
    }
    if all.is_empty() { String::new() } else { format!("; costs: {}", all.join("; ")) }
}

/// The item that a subject is of, or has a field of: the innermost by its name.
fn item_of(subject: &FieldPath) -> &str {
    let in_list = |list: &str| list == "protection" || (list.ends_with('s') && list != "ratings");
    let pairs = subject.segments().zip(subject.segments().skip(1));
    let named = pairs.filter(|(list, _)| in_list(list)).last().map(|(_, name)| name);
    named.or_else(|| subject.segments().next()).unwrap_or_default()
}

/// Findings by check, each check with what it is about: `drop-over-target W2, W13`.
pub(in crate::engine) fn listed<'a>(findings: impl Iterator<Item = &'a Finding>) -> String {
    let mut all: Vec<(&str, Vec<String>)> = Vec::new();
    for f in findings {
        let about = item_of(&f.subject);
        match all.iter_mut().find(|(check, _)| *check == f.check.id) {
            Some((_, subjects)) if subjects.iter().any(|s| s == about) => {}
            Some((_, subjects)) => subjects.push(about.into()),
            None => all.push((f.check.id, vec![about.into()])),
        }
    }
    all.into_iter().map(|(check, about)| format!("{check} {}", about.join(", "))).collect::<Vec<_>>().join(" and ")
}

/// A step that makes the fault larger at a fuse which could not open it before, with one that does.
pub(super) fn with_fuses(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    (step, after, own): (Step, Plan, Report),
) -> (Step, Plan, Report) {
    let mut more = step.clone();
    for f in of(plan, finding, before, &own).filter(|f| f.level == Level::Stop && f.check.id == OPENS) {
        let Some(i) = after.runs.iter().position(|r| f.run() == Some(r.id.as_str())) else { continue };
        let figures = own.runs.get(i).and_then(|r| r.proposed.as_ref());
        let (Some(run), Some(p)) = (after.runs.get(i), figures) else { continue };
        // In the rating nearest to the one that it has: a smaller one would lose more, a larger one surprises.
        let near = rating::nearest(&after, run, own.runs.get(i), p).unwrap_or_else(|| p.clone());
        more.edits.extend(fuse_edits(run, &near));
        more.name.push_str(&format!("; {} fuse {} A {}", run.id, near.amps.0, near.family));
    }
    if more == step {
        return (step, after, own);
    }
    match plan.with(&more) {
        Ok(with) => {
            let report = engine.evaluate_wires(&with, stock);
            (more, with, report)
        }
        Err(_) => (step, after, own),
    }
}
