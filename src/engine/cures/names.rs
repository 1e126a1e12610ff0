//! A name that stands for nothing: the one that was most likely meant; and what a step's name says besides.

use crate::arrange::Arrange;
use crate::engine::circuit::Circuit;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::protection::{goes_in_panel, panel_of};
use crate::engine::resistance::{fuse_path, fuses, legs};
use crate::plan::field::{Leaf, Record};
use crate::plan::{BANK_ID, ENDS, Edit, FieldPath, Id, Known, Plan, Run, Step, Value};

/// Letters that a name may differ by. Source: our own choice, a slip of the hand.
const MOST_APART: usize = 2;

/// The names that there are in place of one that there is not, the one that was most likely meant first.
pub(super) fn steps(plan: &Plan, finding: &Finding) -> Vec<Step> {
    let (owner, what, wrong) = (finding.name(0), finding.name(1), finding.name(2));
    let mut have: Vec<Id> = finding.name(3).split(", ").filter_map(|id| id.parse().ok()).collect();
    have.arrange_by_key(|id| apart(id.as_str(), wrong));
    let array = plan.arrays.iter().find(|a| finding.subject.as_str() == format!("arrays.{}", a.id));
    let edit = |id: &Id| {
        let (field, to) = match (what, array) {
            ("controller", Some(_)) => (finding.subject.join("controller"), Value::Id(id.clone())),
            ("panel", Some(array)) => {
                let mut strings = array.strings.clone();
                strings.0.iter_mut().flatten().filter(|x| x.as_str() == wrong).for_each(|x| *x = id.clone());
                (finding.subject.join("strings"), strings.to_value())
            }
            _ => {
                let fuse = owner.split(' ').next()?;
                let at: FieldPath = finding.subject.join("protection").join(fuse).join("leg");
                (at, Value::Id(id.clone()))
            }
        };
        Some(Step::one(format!("{owner} {what} {id}: in place of {wrong}"), Edit::Set { at: field, to }))
    };
    have.iter().filter_map(edit).collect()
}

/// What a run can end on whose name is nearest to one that is not there: none where none is near, or several are.
pub(super) fn like(plan: &Plan, wrong: &str) -> Option<Id> {
    let lists = ENDS.iter().filter_map(|section| plan.list(section));
    let ids = lists.flat_map(|list| (0..list.len()).filter_map(|i| list.id_at(i).cloned()).collect::<Vec<_>>());
    let posts = [BANK_ID, "BK+", "BK-"].into_iter().filter_map(|id| id.parse().ok());
    nearest(ids.chain(posts), wrong)
}

/// The one name that is nearest.
pub(super) fn nearest(names: impl Iterator<Item = Id>, wrong: &str) -> Option<Id> {
    let mut all: Vec<(usize, Id)> = names.map(|id| (apart(id.as_str(), wrong), id)).collect();
    all.arrange_by_key(|(letters, _)| *letters);
    all.dedup();
    let may = |letters: usize| letters <= MOST_APART && letters < wrong.chars().count();
    match all.as_slice() {
        [(a, id), (b, _), ..] if may(*a) && a < b => Some(id.clone()),
        [(a, id)] if may(*a) => Some(id.clone()),
        _ => None,
    }
}

/// Letters to put in, take out or change to make one word of another, capitals aside.
///
/// Source: the edit distance of Levenshtein, row by row.
fn apart(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.to_uppercase().chars().collect(), b.to_uppercase().chars().collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut next = vec![i + 1];
        for (j, y) in b.iter().enumerate() {
            let of = |k: usize| row.get(k).copied().unwrap_or(usize::MAX - 1);
            let left = next.last().copied().unwrap_or(usize::MAX - 1);
            next.push((of(j) + usize::from(x != y)).min(of(j + 1) + 1).min(left + 1));
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

/// Names the runs whose wire is laid anew in the place of what is there, and the fuses that their panel does not take.
pub(super) fn say_new_wire(plan: &Plan, step: &mut Step) {
    let runs = super::bought::relaid(plan, step);
    if !runs.is_empty() {
        step.name.push_str(&format!("; new wire in {}", runs.join(", ")));
    }
    say_outside(plan, step);
}

/// Names the figures of a fuse's own sheet that go with it where another of the same type takes its place.
pub(super) fn say_sheet(plan: &Plan, step: &mut Step) {
    let goes = |e: &Edit, field: &FieldPath| matches!(e, Edit::Set { at, to: Value::Nothing } if at == field);
    let mut said = Vec::new();
    for (run, fuse) in plan.runs.iter().flat_map(|run| fuses(run).map(move |fuse| (run, fuse))) {
        let path = |field: &str| fuse_path(run, fuse, field);
        let stays = step.edits.iter().all(|e| match e {
            Edit::Set { at, to } if *at == path("family") || *at == path("amps_a") => {
                plan.get_at(at).as_ref() == Some(to)
            }
            _ => true,
        });
        let own = [
            (fuse.interrupt_a.as_ref().and_then(Known::known).map(|a| format!("{} kA", a.0 / 1000.0)), "interrupt_a"),
            (fuse.volts_dc_v.as_ref().and_then(Known::known).map(|v| format!("{} V", v.0)), "volts_dc_v"),
        ];
        let gone = own.into_iter().filter(|(_, field)| step.edits.iter().any(|e| goes(e, &path(field))));
        let gone: Vec<String> = gone.filter_map(|(value, _)| value).collect();
        if stays && !gone.is_empty() {
            said.push(format!("{} {} of {}", run.id, fuse.id, gone.join(" and ")));
        }
    }
    if !said.is_empty() {
        step.name.push_str(&format!("; another one, as its type is made, in place of {}", said.join(", ")));
    }
}

/// Names the panels that the fuses of a step do not go into: such a one has a holder of its own outside.
fn say_outside(plan: &Plan, step: &mut Step) {
    let Ok(with) = plan.with(step) else { return };
    let (circuit, _) = Circuit::of(&with);
    let c = Context::of(&with, circuit, &[]);
    let family = |run: &Run| fuses(run).next().and_then(|f| f.family.known().copied());
    let mut said: Vec<String> = Vec::new();
    for (i, now) in with.runs.iter().enumerate() {
        let was = plan.runs.iter().find(|r| r.id == now.id).and_then(family);
        let Some(panel) = panel_of(&c, i) else { continue };
        if family(now).is_some_and(|f| was != Some(f) && !goes_in_panel(f)) {
            said.push(format!("{}'s in a holder of its own outside {panel}", now.id));
        }
    }
    if !said.is_empty() {
        step.name.push_str(&format!("; {}", said.join(", ")));
    }
}

/// Names what was taken for want of an answer of a run that a step puts a gauge or a fuse on.
pub(super) fn say_taken(plan: &Plan, step: &mut Step) {
    let about = |run: &Run| {
        let path = FieldPath::from("runs").join(&run.id);
        step.edits
            .iter()
            .any(|edit| matches!(edit, Edit::Set { at, .. } | Edit::Insert { list: at, .. } if at.is_within(&path)))
    };
    let open = plan.runs.iter().filter(|run| legs(run).any(|l| l.laid == Known::Unknown) && about(run));
    let names: Vec<&str> = open.map(|run| run.id.as_str()).collect();
    if !names.is_empty() {
        step.name.push_str(&format!("; {} taken as laid enclosed: not entered", names.join(" ")));
    }
}
