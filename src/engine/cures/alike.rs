//! Batteries in parallel on ways of their own: what is done to one way is done to those that are like it, and ways that
//! are unlike are made alike.

use crate::engine::circuit::Circuit;
use crate::engine::resistance::{leg_path, legs, length_m};
use crate::engine::sizing::make::made_of;
use crate::plan::entry::{self, Units};
use crate::plan::format::item_text;
use crate::plan::{Edit, FieldPath, ListPath, Plan, Run, State, Step, Value};

/// The step with its edits on one battery's way repeated on the others', wherever they had the same value before.
pub(in crate::engine) fn with(plan: &Plan, circuit: &Circuit, mut step: Step) -> Step {
    let mut names: Vec<&str> = Vec::new();
    let mut more = Vec::new();
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

/// Leads of one run each made as long as the longest and as thick as the thickest of them; where that one is far longer than
/// most, first as short as most.
pub(super) fn leads(plan: &Plan, circuit: &Circuit) -> Vec<Step> {
    let of_way = |way: &Vec<usize>| match way.as_slice() {
        [one] => plan.runs.get(*one).filter(|r| r.measured_ohm.is_none() && legs(r).count() == 1),
        _ => None,
    };
    let Some(runs) = circuit.own_ways.iter().map(of_way).collect::<Option<Vec<&Run>>>() else { return Vec::new() };
    let lengths = runs.iter().map(|r| length_m(r).ok()).collect::<Option<Vec<f64>>>();
    let Some(mut lengths) = lengths.filter(|all| !all.is_empty()) else { return Vec::new() };
    lengths.sort_by(f64::total_cmp);
    let longest_m = lengths.last().copied().unwrap_or(0.0);
    let most_m = lengths.get((lengths.len() - 1) / 2).copied().unwrap_or(longest_m);
    let short = (most_m * ODD < longest_m).then(|| leads_of(plan, &runs, most_m, "leads short")).flatten();
    short.into_iter().chain(leads_of(plan, &runs, longest_m, "leads alike")).collect()
}

/// Leads of so many metres each, of the thickest of them.
fn leads_of(plan: &Plan, runs: &[&Run], each_m: f64, what: &str) -> Option<Step> {
    let area = |r: &Run| r.gauge.known().map(|g| crate::standards::conductor::area_mm2(*g));
    let thickest =
        runs.iter().max_by(|a, b| area(a).unwrap_or(0.0).total_cmp(&area(b).unwrap_or(0.0)))?.gauge.known()?;
    let mut edits = Vec::new();
    for run in runs {
        if run.gauge.known() != Some(thickest) {
            edits.push(Edit::Set { at: FieldPath::new(format!("runs.{}.gauge", run.id)), to: Value::Gauge(*thickest) });
        }
        for leg in legs(run).filter(|l| l.length_m.known().is_none_or(|m| (m.0 - each_m).abs() > 1e-9)) {
            edits.push(Edit::Set { at: leg_path(run, leg, "length_m"), to: Value::Number(each_m) });
        }
    }
    let name = format!("{what}: each {each_m:.2} m of {thickest}");
    (!edits.is_empty()).then(|| Step { name: entry::said(Units::of(plan), &name, &[each_m]), edits })
}

/// So many more leads of batteries, each like those that there are, and what is said of them; none where the batteries have no
/// leads of their own, or ways of several runs.
pub(super) fn more_leads(plan: &Plan, circuit: &Circuit, by: usize) -> Option<(String, Vec<Edit>)> {
    let first = match circuit.own_ways.first()?.as_slice() {
        [one] => plan.runs.get(*one)?,
        _ => return None,
    };
    let runs = ListPath::new("runs");
    let (mut grown, mut edits, mut names) = (plan.clone(), Vec::new(), Vec::new());
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
    Some((format!(", {} like {}", names.join(" and "), first.id), edits))
}
