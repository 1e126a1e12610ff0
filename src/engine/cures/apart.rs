//! Strings of one array that come down on runs of their own, where nothing says which is on which: a run for each of them, as
//! many on each run, or arrays of their own. Only so each has its own current and fuse.

use crate::plan::field::Leaf;
use crate::plan::format::item_text;
use crate::plan::{Array, Edit, FieldPath, Id, Known, ListPath, PanelPlace, Plan, Run, State, Step, Strings, Value};
use crate::units::Number;

use super::serve;

/// A run more for each string that has none; fewer runs with as many strings on each; else arrays of their own, one a run.
pub(super) fn steps(plan: &Plan, id: &str) -> Vec<Step> {
    let Some(array) = plan.arrays.iter().find(|a| a.id.as_str() == id) else { return Vec::new() };
    let alike = array.strings.0.iter().all(|s| Some(s) == array.strings.0.first());
    let more = more_runs(plan, array).and_then(|more| match alike {
        true => Some(more),
        // Unlike strings want arrays of their own as well.
        false => {
            let with = plan.with(&more).ok()?;
            let apart = drawn_apart(&with, with.arrays.iter().find(|a| a.id == array.id)?)?;
            let name = format!("{}; {}", more.name, apart.name);
            Some(Step { name, edits: [more.edits, apart.edits].concat() })
        }
    });
    let fewer = fewer_runs(plan, array).filter(|_| alike);
    [more, fewer, drawn_apart(plan, array)].into_iter().flatten().collect()
}

/// The runs that end on an array, each with the field that it does by.
fn leads<'a>(plan: &'a Plan, array: &Array) -> Vec<(&'a Run, &'static str)> {
    let is = |k: &Known<Id>| k.known() == Some(&array.id);
    let ends = |r: &Run| [(is(&r.from), "from"), (is(&r.to), "to")].into_iter().find(|(is, _)| *is).map(|e| e.1);
    plan.runs.iter().filter_map(|r| Some((r, ends(r)?))).collect()
}

/// Runs like the first for the strings that have none of their own.
fn more_runs(plan: &Plan, array: &Array) -> Option<Step> {
    let leads = leads(plan, array);
    let missing = array.strings.0.len().checked_sub(leads.len()).filter(|n| *n > 0)?;
    let (first, _) = leads.first()?;
    let list = ListPath::new("runs");
    let (mut grown, mut edits, mut names) = (plan.clone(), Vec::new(), Vec::new());
    let mut after = leads.last().map(|(r, _)| r.id.clone());
    for _ in 0..missing {
        let mut lead = Run { id: grown.free_id(&list), ..(*first).clone() };
        lead.legs.iter_mut().for_each(|leg| leg.state = State::New);
        lead.protection.retain(|fuse| fuse.state.stays());
        lead.protection.iter_mut().for_each(|fuse| fuse.state = State::New);
        edits.push(Edit::Insert { list: list.clone(), after: after.clone(), item: item_text(&lead) });
        grown = grown.with(&Step::one("", edits.last()?.clone())).ok()?;
        after = Some(lead.id.clone());
        names.push(lead.id.to_string());
    }
    Some(Step {
        name: format!("{}: a run for each string, {} like {}", array.id, names.join(" and "), first.id),
        edits,
    })
}

/// As many strings on each run, with the runs that are over taken out.
fn fewer_runs(plan: &Plan, array: &Array) -> Option<Step> {
    let (leads, strings) = (leads(plan, array), array.strings.0.len());
    let keep = (1..leads.len()).rev().find(|n| strings.is_multiple_of(*n))?;
    let (kept, over) = leads.split_at_checked(keep)?;
    let names = |of: &[(&Run, &str)]| of.iter().map(|(r, _)| r.id.to_string()).collect::<Vec<_>>().join(", ");
    let edits = over.iter().flat_map(|(run, _)| serve::out(run, "").edits).collect();
    let name = match keep {
        1 => format!("{} on {}: all {strings} strings, without {}", array.id, names(kept), names(over)),
        _ => format!("{} on {}: {} strings on each, without {}", array.id, names(kept), strings / keep, names(over)),
    };
    Some(Step { name, edits })
}

/// An array as so many arrays as runs lead from it: a string each, or, of fewer runs than strings, two on the first of them.
fn drawn_apart(plan: &Plan, array: &Array) -> Option<Step> {
    let (leads, strings) = (leads(plan, array), &array.strings.0);
    let (each, over) = (strings.len().checked_div(leads.len())?, strings.len().checked_rem(leads.len())?);
    if each == 0 || leads.len() < 2 {
        return None;
    }
    let list = ListPath::new("arrays");
    let own = FieldPath::of(&["arrays", array.id.as_str()]);
    let string_of = |p: &PanelPlace| p.string.as_ref().and_then(Known::known).map_or(1, |s| s.0 as usize);
    let (mut edits, mut ids, mut said) = (Vec::new(), vec![array.id.clone()], Vec::new());
    let (mut with, mut first) = (plan.clone(), 0);
    for (n, (run, end)) in leads.iter().enumerate() {
        let count = each + usize::from(n < over);
        let own_strings = Strings(strings.get(first..first + count)?.to_vec());
        // The places of its strings, numbered anew.
        let mut places: Vec<PanelPlace> = array.places.clone();
        places.retain(|p| (first + 1..=first + count).contains(&string_of(p)));
        let renumbered = |p: &mut PanelPlace| p.string = Some(Known::Is(Number((string_of(p) - first) as f64)));
        places.iter_mut().for_each(renumbered);
        first += count;
        if n == 0 {
            edits.push(Edit::Set { at: own.join("strings"), to: own_strings.to_value() });
            said.push(format!("{} ({count} on {})", array.id, run.id));
            continue;
        }
        let apart = Array { id: with.free_id(&list), strings: own_strings, places, ..array.clone() };
        edits.extend(apart.places.iter().map(|p| Edit::Remove { at: own.join("places").join(&p.id) }));
        edits.push(Edit::Insert { list: list.clone(), after: ids.last().cloned(), item: item_text(&apart) });
        let at = FieldPath::of(&["runs", run.id.as_str(), end]);
        edits.push(Edit::Set { at, to: Value::Id(apart.id.clone()) });
        said.push(format!("{} ({count} on {})", apart.id, run.id));
        ids.push(apart.id.clone());
        with.arrays.push(apart);
    }
    let names: Vec<&str> = ids.iter().map(Id::as_str).collect();
    let name = match (each, over) {
        (1, 0) => format!("{} drawn apart: {}, a string each", array.id, names.join(", ")),
        _ => format!("{} drawn apart: {}; which is on which to be looked up", array.id, said.join(", ")),
    };
    Some(Step { name, edits })
}
