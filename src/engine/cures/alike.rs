//! Batteries in parallel on ways of their own: what is done to one way is done to those that are like it, and ways that
//! are unlike are made alike.

use crate::arrange::Arrange;
use crate::engine::circuit::Circuit;
use crate::engine::finding::Finding;
use crate::engine::resistance::{fuses, leg_path, legs, length_m};
use crate::engine::sizing::make::made_of;
use crate::plan::entry::{self, Units};
use crate::plan::format::item_text;
use crate::plan::wiring::{FuseAt, Protection, Return};
use crate::plan::{Edit, FieldPath, ListPath, Plan, Run, State, Step, Value};
use crate::standards::conductor::Gauge;

/// The step with its edits on one battery's way repeated on the others', wherever they had the same value before.
pub(in crate::engine) fn with(plan: &Plan, circuit: &Circuit, mut step: Step) -> Step {
    let mut names: Vec<&str> = Vec::new();
    let mut more = Vec::new();
    for (other, edit) in fuses_beside(plan, circuit, &step) {
        more.push(edit);
        names.push(other);
    }
    for edit in &step.edits {
        let Edit::Set { at, to } = edit else { continue };
        if takes_out(edit) {
            continue;
        }
        for other in others(plan, circuit, at).filter(|run| !is_out(&step, run)) {
            let Some(path) = in_place(plan, at, other) else { continue };
            let own = step.edits.iter().any(|e| matches!(e, Edit::Set { at, .. } if *at == path));
            if own || plan.get_at(&path) != plan.get_at(at) {
                continue;
            }
            more.push(Edit::Set { at: path, to: to.clone() });
            if !names.contains(&other.id.as_str()) {
                names.push(other.id.as_str());
            }
        }
    }
    if let Some((last, rest)) = names.split_last() {
        let all = if rest.is_empty() { (*last).to_string() } else { format!("{} and {last}", rest.join(", ")) };
        step.name = format!("{}; {all} alike", step.name);
        step.edits.extend(more);
    }
    step
}

/// The fuses that a step puts at the ends of one battery's lead which have none, at those of the others that have none either: one
/// with a fuse beside one without protects nothing that both feed.
fn fuses_beside<'a>(plan: &'a Plan, circuit: &Circuit, step: &Step) -> Vec<(&'a str, Edit)> {
    let put = |e: &Edit| match e {
        Edit::Insert { list, .. } => {
            let segments: Vec<&str> = list.segments().collect();
            let ["runs", id, "protection"] = segments.as_slice() else { return None };
            plan.runs.iter().position(|r| r.id.as_str() == *id)
        }
        _ => None,
    };
    let puts: Vec<usize> = step.edits.iter().filter_map(put).collect();
    let Some(&index) = puts.first().filter(|first| puts.iter().all(|i| i == *first)) else { return Vec::new() };
    let (Some(was), Ok(with)) = (plan.runs.get(index), plan.with(step)) else { return Vec::new() };
    let had = fuses(was).count();
    let new: Vec<Protection> = with.runs.get(index).into_iter().flat_map(fuses).skip(had).cloned().collect();
    let near = |i: usize| circuit.links.get(i).is_some_and(|l| l.near_from);
    let mut all = Vec::new();
    for i in equals(plan, circuit, index) {
        let Some(run) = plan.runs.get(i).filter(|run| fuses(run).count() == had && !is_out(step, run)) else {
            continue;
        };
        for fuse in &new {
            let other = if fuse.at == FuseAt::From { FuseAt::To } else { FuseAt::From };
            let at = if near(i) == near(index) { fuse.at } else { other };
            if fuses(run).any(|f| f.at == at) {
                continue;
            }
            let own = Protection { id: Protection::default().id, at, ..fuse.clone() };
            let list = ListPath::new(format!("runs.{}.protection", run.id));
            let after = run.protection.last().map(|p| p.id.clone());
            all.push((run.id.as_str(), Edit::Insert { list, after, item: item_text(&own) }));
        }
    }
    all
}

/// Whether an edit takes a leg out of its run: one battery's lead may go without the others.
fn takes_out(edit: &Edit) -> bool {
    let Edit::Set { at, to } = edit else { return false };
    let segments: Vec<&str> = at.segments().collect();
    matches!(segments.as_slice(), ["runs", _, "legs", _, "state"]) && *to == Value::Word(State::Removed.word())
}

/// Whether a step takes a run out: nothing more is done to it.
fn is_out(step: &Step, run: &Run) -> bool {
    let own = |at: &FieldPath| {
        let mut segments = at.segments();
        (segments.next(), segments.next()) == (Some("runs"), Some(run.id.as_str()))
    };
    step.edits.iter().any(|edit| match edit {
        Edit::Remove { at } => own(at) && at.segments().count() == 2,
        Edit::Set { at, .. } => own(at) && takes_out(edit),
        _ => false,
    })
}

/// The runs at the same place of the other batteries' ways as the run of a field.
fn others<'a>(plan: &'a Plan, circuit: &'a Circuit, at: &FieldPath) -> impl Iterator<Item = &'a Run> {
    let mut segments = at.segments();
    let run = match (segments.next(), segments.next()) {
        (Some("runs"), Some(id)) => plan.runs.iter().position(|r| r.id.as_str() == id),
        _ => None,
    };
    run.into_iter().flat_map(|run| same_place(circuit, run)).filter_map(|i| plan.runs.get(i))
}

/// The runs at the same place of the other batteries' ways.
fn same_place(circuit: &Circuit, run: usize) -> impl Iterator<Item = usize> {
    let ways = circuit.leads_beside(run);
    let place = ways.iter().find_map(|way| way.iter().position(|i| *i == run));
    let all = place.into_iter().flat_map(move |k| ways.iter().filter_map(move |way| way.get(k)));
    all.copied().filter(move |i| *i != run)
}

/// Those of them that are made of the same wire: a choice for one is one for all.
pub(in crate::engine) fn equals(plan: &Plan, circuit: &Circuit, run: usize) -> Vec<usize> {
    let made = |i: usize| plan.runs.get(i).and_then(made_of);
    same_place(circuit, run).filter(|i| made(*i) == made(run)).collect()
}

/// The fuse that the others at the same place of the other batteries' ways have, where they have one and the same, for a run that has
/// none.
pub(super) fn fuse_as_beside(plan: &Plan, circuit: &Circuit, index: usize, finding: &Finding) -> Option<Step> {
    let run = plan.runs.get(index).filter(|run| fuses(run).next().is_none())?;
    if finding.check.id != super::UNFUSED || super::looped::is_about_end(circuit, index, run, finding) {
        return None;
    }
    let beside: Vec<(usize, &Run)> = same_place(circuit, index).filter_map(|i| Some((i, plan.runs.get(i)?))).collect();
    let (i, other) = beside.first()?;
    let fuse = fuses(other).next()?;
    let (family, amps) = (*fuse.family.known()?, fuse.amps_a.known()?.0);
    let same =
        |(_, r): &(usize, &Run)| fuses(r).next().map(|f| (f.family, f.amps_a)) == Some((fuse.family, fuse.amps_a));
    let near = |i: usize| circuit.links.get(i).map(|l| l.near_from);
    let turned = near(*i) != near(index);
    let at = if (fuse.at == FuseAt::From) == turned { FuseAt::To } else { FuseAt::From };
    beside.iter().all(same).then(|| {
        let name = format!("{} fuse: {amps} A {family}, as {} has", run.id, other.id);
        Step::one(name, super::insert(run, at, family, amps))
    })
}

/// How many others at the same place of the other batteries' ways have a field as a run has it: a step that sets it there sets theirs.
pub(super) fn of_same(plan: &Plan, circuit: &Circuit, run: &Run, field: &str) -> usize {
    let at = FieldPath::of(&["runs", run.id.as_str(), field]);
    let own = plan.get_at(&at);
    let same = |other: &Run| in_place(plan, &at, other).is_some_and(|path| plan.get_at(&path) == own);
    others(plan, circuit, &at).filter(|other| same(other)).count()
}

/// The field of another run that stands where one does: legs and fuses by their order.
fn in_place(plan: &Plan, at: &FieldPath, other: &Run) -> Option<FieldPath> {
    let segments: Vec<&str> = at.segments().collect();
    let [_, id, rest @ ..] = segments.as_slice() else { return None };
    let run = plan.runs.iter().find(|r| r.id.as_str() == *id)?;
    let path = match rest {
        ["legs", leg, field] => {
            let k = run.legs.iter().position(|l| l.id.as_str() == *leg)?;
            format!("legs.{}.{field}", other.legs.get(k)?.id)
        }
        ["protection", fuse, field] => {
            let k = run.protection.iter().position(|p| p.id.as_str() == *fuse)?;
            format!("protection.{}.{field}", other.protection.get(k)?.id)
        }
        [field] => (*field).to_string(),
        _ => return None,
    };
    Some(FieldPath::new(format!("runs.{}.{path}", other.id)))
}

/// A lead so many times as long as most of them is an odd one, and not what the others are to be like. Source: our own choice.
const ODD: f64 = 2.0;

/// Leads of one run each made as long as the longest and as thick as the thickest of them, each side by itself; where one is
/// far longer than most, first as short as most.
pub(super) fn leads(plan: &Plan, circuit: &Circuit) -> Vec<Step> {
    [true, false].into_iter().filter_map(|short| leads_as(plan, circuit, short)).collect()
}

fn leads_as(plan: &Plan, circuit: &Circuit, short: bool) -> Option<Step> {
    let (mut edits, mut names, mut lengths, mut cut) = (Vec::new(), Vec::new(), Vec::new(), false);
    for (side, what) in [(&circuit.own_ways, "leads"), (&circuit.own_backs, "negatives")] {
        let alike = alike_on(plan, side, short).filter(|alike| !alike.edits.is_empty());
        let Some(alike) = alike else { continue };
        edits.extend(alike.edits);
        let how = if alike.cut { "short" } else { "alike" };
        names.push(format!("{what} {how}: each {:.2} m of {}", alike.each_m, alike.gauge));
        lengths.push(alike.each_m);
        cut |= alike.cut;
    }
    let name = names.join("; ");
    let step = Step { name: entry::said(Units::of(plan), &name, &lengths), edits };
    (!step.edits.is_empty() && cut == short).then_some(step)
}

/// What makes the ways of one side alike.
struct Alike {
    edits: Vec<Edit>,
    /// What each is then.
    each_m: f64,
    gauge: Gauge,
    /// Whether some are cut to what most of them are.
    cut: bool,
}

/// `short`: as short as most, where one is far longer; else as long as the longest.
fn alike_on(plan: &Plan, side: &[Vec<usize>], short: bool) -> Option<Alike> {
    let of_way = |way: &Vec<usize>| match way.as_slice() {
        [one] => plan.runs.get(*one).filter(|r| r.measured_ohm.is_none() && legs(r).count() == 1),
        _ => None,
    };
    let runs: Vec<&Run> = side.iter().map(of_way).collect::<Option<_>>()?;
    let mut lengths: Vec<f64> = runs.iter().map(|r| length_m(r).ok()).collect::<Option<_>>()?;
    lengths.arrange_by(f64::total_cmp);
    let (most_m, longest_m) = (*lengths.get(lengths.len().saturating_sub(1) / 2)?, *lengths.last()?);
    let cut = short && most_m * ODD < longest_m;
    let each_m = if cut { most_m } else { longest_m };
    let area = |r: &Run| r.gauge.known().map(|g| crate::standards::conductor::area_mm2(*g));
    let thickest =
        runs.iter().max_by(|a, b| area(a).unwrap_or(0.0).total_cmp(&area(b).unwrap_or(0.0)))?.gauge.known()?;
    // The negative of a pair is as long as its positive where nothing else is entered.
    let negative_m = |r: &&Run| r.negative_length_m.as_ref().map_or(Some(each_m), |k| k.known().map(|m| m.0));
    let pairs = || runs.iter().filter(|r| r.return_path == Return::Pair);
    let longest_back_m = pairs().map(negative_m).try_fold(0.0, |most, m| Some(f64::max(most, m?)))?;
    let back_m = if cut { each_m } else { longest_back_m };
    let mut edits = Vec::new();
    for run in &runs {
        if run.gauge.known() != Some(thickest) {
            edits.push(Edit::Set {
                at: FieldPath::of(&["runs", run.id.as_str(), "gauge"]),
                to: Value::Gauge(*thickest),
            });
        }
        for leg in legs(run).filter(|l| l.length_m.known().is_none_or(|m| (m.0 - each_m).abs() > 1e-9)) {
            edits.push(Edit::Set { at: leg_path(run, leg, "length_m"), to: Value::Number(each_m) });
        }
    }
    for run in pairs().filter(|r| negative_m(r).is_some_and(|m| (m - back_m).abs() > 1e-9)) {
        let at = FieldPath::of(&["runs", run.id.as_str(), "negative_length_m"]);
        edits.push(Edit::Set { at, to: Value::Number(back_m) });
    }
    Some(Alike { edits, each_m, gauge: *thickest, cut })
}

/// So many more leads of batteries, each like those that there are, and negatives where those are drawn by themselves, and what is said of them; none where the batteries have no
/// leads of their own, or ways of several runs.
pub(super) fn more_leads(plan: &Plan, circuit: &Circuit, by: usize) -> Option<(String, Vec<Edit>)> {
    let own = |side: &[Vec<usize>]| match side.first().map(Vec::as_slice) {
        Some([one]) => plan.runs.get(*one).map(|run| vec![run]),
        Some(_) => None,
        None => Some(Vec::new()),
    };
    let like = [own(&circuit.own_ways).filter(|all| !all.is_empty())?, own(&circuit.own_backs)?].concat();
    let runs = ListPath::new("runs");
    let (mut grown, mut edits, mut said) = (plan.clone(), Vec::new(), String::new());
    for first in like {
        let mut names = Vec::new();
        for _ in 0..by {
            let mut lead = first.clone();
            lead.id = grown.free_id(&runs);
            lead.legs.iter_mut().for_each(|leg| leg.state = State::New);
            lead.protection.retain(|fuse| fuse.state.stays());
            lead.protection.iter_mut().for_each(|fuse| fuse.state = State::New);
            let after = grown.runs.last().map(|r| r.id.clone());
            let edit = Edit::Insert { list: runs.clone(), after, item: item_text(&lead) };
            grown = grown.with(&Step::one("", edit.clone())).ok()?;
            names.push(lead.id.to_string());
            edits.push(edit);
        }
        said.push_str(&format!(", {} like {}", names.join(" and "), first.id));
    }
    Some((said, edits))
}
