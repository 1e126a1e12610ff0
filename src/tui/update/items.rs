//! Items of lists: add, copy, move, rename, delete.

use crate::document::usual::{self, Addition};
use crate::plan::power::ChargerKind;
use crate::plan::{Edit, FieldPath, ItemPath, Step, Value, rules as plan_rules};
use crate::tui::form::{self, Page, Place};
use crate::tui::keymap::Action;
use crate::tui::line_edit::LineEdit;
use crate::tui::model::{Answer, Confirm, Model, Overlay, Pane, Pick, PickWhat, Prompt, PromptWhat, Then};
use crate::tui::words;

use super::{findings, rules};

pub(super) fn act(model: &mut Model, action: Action) {
    if action == Action::Add {
        return add(model);
    }
    let Some(at) = model.item() else {
        model.say("nothing here can be copied, moved, renamed or deleted");
        return;
    };
    match action {
        // A rule is changed once.
        Action::Duplicate if at.split_last().0.as_str() == plan_rules::LIST => rules::open(model, Vec::new()),
        Action::Duplicate if is_on_field(model) => ask_copy(model, &at),
        Action::Duplicate => duplicate(model, &at),
        Action::Earlier | Action::Later => reorder(model, &at, action == Action::Later),
        Action::Rename => {
            let (_, id) = at.split_last();
            let line = LineEdit::replacing(id);
            let what = PromptWhat::Rename(at.clone());
            model.overlay = Some(Overlay::Prompt(Prompt { what, line, problem: None }));
        }
        Action::Delete => ask_delete(model, &at),
        _ => {}
    }
}

/// Whether a field's row of a form is focused: there a letter is likely to be text gone astray.
fn is_on_field(model: &Model) -> bool {
    matches!(model.form_row(), Some(form::Row::Field { .. }))
}

/// On a field's row of a form copying is asked about: what would be copied is the whole item.
fn ask_copy(model: &mut Model, at: &ItemPath) {
    let Some(step) = copy_step(model, at) else { return };
    ask_once(model, format!("{}, the whole of it?", step.name), "copy it", Then::Apply(step));
}

fn ask_once(model: &mut Model, question: String, words: &'static str, then: Then) {
    let no = Answer { letter: '2', words: "no", then: Then::Nothing };
    let answers = vec![Answer { letter: '1', words, then }, no];
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers, cursor: 0 }));
}

/// Applies a step and says what was done or why not; whether it was done.
pub(super) fn apply(model: &mut Model, step: Step) -> bool {
    let Some(document) = &mut model.document else { return false };
    if step.edits.is_empty() {
        model.say("nothing changes: the plan has it so");
        return false;
    }
    let (name, before) = (step.name.clone(), document.revision());
    let done = document.apply(step);
    let is_done = done.is_ok();
    let is_same = is_done && document.revision() == before;
    let name = if is_same { format!("nothing changes: the plan has it so ({name})") } else { name };
    model.say(done.map_or_else(|refused| format!("not done: {refused}"), |()| name));
    is_done
}

/// Applies a step that adds something and puts the cursor on it.
pub(super) fn apply_and_go(model: &mut Model, step: Step, at: &FieldPath) {
    apply(model, step);
    go_to_item(model, at);
}

fn go_to_item(model: &mut Model, at: &ItemPath) {
    let Some(plan) = model.plan() else { return };
    let (list, id) = at.split_last();
    if model.is_on_bench() && list.as_str() == "runs" {
        if let Some(i) = plan.runs.iter().position(|r| r.id.as_str() == id) {
            model.bench.run = i;
            model.bench.pane = Pane::Runs;
        }
        return;
    }
    let line = crate::tui::bench::equipment(plan).iter().position(|e| e.at == *at).filter(|_| model.is_on_bench());
    let row = model.page().and_then(|page| form::row_of(&form::rows(plan, &page.place), at));
    let exists = plan.record(at).is_some();
    // Below the form that opens, so that the next key is about the same thing.
    model.bench.equipment = line.unwrap_or(model.bench.equipment);
    match (row, model.pages.last_mut()) {
        (Some(row), Some(page)) => page.cursor = row,
        _ if exists => {
            leave_sibling(model, at);
            model.pages.push(Page::new(Place::Record(at.clone())));
        }
        _ => {}
    }
}

/// From the form of an item to that of another of its list: Esc then leads to what has both.
fn leave_sibling(model: &mut Model, at: &ItemPath) {
    let (list, _) = at.split_last();
    let is_sibling = matches!(model.page(), Some(Page { place: Place::Record(here), .. }) if here != at && here.split_last().0 == list);
    if is_sibling && model.pages.len() > 1 {
        model.pages.pop();
    }
}

/// Opens the form of what was just added, below the list that it stands in now, and its name for typing.
fn open_added(model: &mut Model, at: &ItemPath) {
    go_to_item(model, at);
    let on_form = matches!(model.page(), Some(page) if page.place == Place::Record(at.clone()));
    let exists = model.plan().is_some_and(|plan| plan.record(at).is_some());
    if !on_form && exists && !model.is_on_bench() {
        leave_sibling(model, at);
        model.pages.push(Page::new(Place::Record(at.clone())));
    }
    let name = at.join("name");
    if !model.is_on_bench() && model.plan().is_some_and(|plan| plan.meta(&name).is_some()) {
        let row = model.page().zip(model.plan()).and_then(|(page, p)| form::row_of(&form::rows(p, &page.place), &name));
        if let (Some(row), Some(page)) = (row, model.pages.last_mut()) {
            page.cursor = row;
        }
        super::field::open(model, &name, Vec::new());
    }
}

fn add(model: &mut Model) {
    if model.is_on_findings() {
        findings::open_and_cure(model);
        return;
    }
    match model.list() {
        // Rules, chargers and devices are asked about by their lists.
        Some(list) if is_on_field(model) && !matches!(list.as_str(), "chargers" | "devices" | plan_rules::LIST) => {
            let Some(step) = new_step(model, &list) else { return };
            ask_once(model, format!("{}?", step.name), "add it", Then::Apply(step));
        }
        Some(list) if list.as_str() == plan_rules::LIST => rules::open(model, Vec::new()),
        Some(list) if list.as_str() == "chargers" || list.as_str() == "devices" => pick_addition(model),
        Some(list) => match Addition::of_list(list.as_str()) {
            Some(what) => add_known(model, what),
            None => add_blank(model, &list),
        },
        None => pick_addition(model),
    }
}

fn pick_addition(model: &mut Model) {
    model.overlay = Some(Overlay::Pick(Pick { what: PickWhat::Add, line: LineEdit::default(), cursor: 0 }));
}

/// Adds something; where runs usually come with it, offers them.
pub(super) fn add_known(model: &mut Model, what: Addition) {
    let Some(plan) = model.plan() else { return };
    let (alone, at) = usual::add(plan, what);
    if !what.has_runs() {
        if apply(model, alone) {
            open_added(model, &at);
            if what == Addition::Run && model.is_on_bench() {
                super::quick::open_ends(model);
            }
        }
        return;
    }
    let (with_runs, _) = usual::add_with_runs(plan, what);
    let ends = usual::run_ends(plan, &with_runs);
    let is_dc_dc = what == Addition::Charger(ChargerKind::DcDc);
    let lacks_engine = is_dc_dc && plan.with(&alone).is_ok_and(|plan| usual::lacks_engine(&plan));
    let mut question = format!("{}: {ends}?  Lengths stay ? until you measure them.", with_runs.name);
    let usual_runs = match is_dc_dc {
        true => "with its usual runs, fused where they belong",
        false => "with its usual run, fused where it belongs",
    };
    let mut choices = vec![(usual_runs, with_runs), ("only the device", alone)];
    if lacks_engine {
        question.push_str("  It draws on the engine's side, which the plan lacks.");
        let (whole, _) = usual::add_with_engine(plan, what);
        choices.insert(0, ("with its runs, the start battery and the alternator (existing)", whole));
        if let Some((words, _)) = choices.get_mut(1) {
            *words = "with its runs; where its input comes from stays ?";
        }
    }
    let answers = ('1'..).zip(choices).map(|(letter, (words, step))| Answer { letter, words, then: Then::Apply(step) });
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers: answers.collect(), cursor: 0 }));
}

fn add_blank(model: &mut Model, list: &FieldPath) {
    let (Some(step), Some(plan)) = (new_step(model, list), model.plan()) else { return };
    let at = list.join(plan.free_id(list));
    if apply(model, step) {
        open_added(model, &at);
    }
}

/// A new item at the end of a list.
fn new_step(model: &Model, list: &FieldPath) -> Option<Step> {
    let plan = model.plan()?;
    let items = plan.list_at(list)?;
    let id = plan.free_id(list);
    let name = format!("add {} {id}", words::one_of(list.as_str()));
    if let Some(what) = Addition::of_list(list.as_str()) {
        let (step, _) = usual::add(plan, what);
        return Some(Step { name, ..step });
    }
    let after = items.len().checked_sub(1).and_then(|i| items.id_at(i)).cloned();
    let mut edits = vec![Edit::Insert { list: list.clone(), after, item: items.blank_ron(id.clone()) }];
    if list.split_last().1 == "legs" {
        // Nobody has said where it lies; what is left out of a file is the milder case.
        let at = list.join(&id);
        edits.extend(["zone", "laid"].map(|key| Edit::Set { at: at.join(key), to: Value::Unknown }));
    }
    Some(Step { name, edits })
}

fn duplicate(model: &mut Model, at: &ItemPath) {
    let (Some(step), Some(plan)) = (copy_step(model, at), model.plan()) else { return };
    let (list, _) = at.split_last();
    let copy = list.join(plan.free_id(&list));
    apply_and_go(model, step, &copy);
}

fn copy_step(model: &Model, at: &ItemPath) -> Option<Step> {
    let plan = model.plan()?;
    let (list, id) = at.split_last();
    let items = plan.list_at(&list)?;
    let item = items.ron_at(items.position(id)?)?;
    let name = format!("copy {id} to {}", plan.free_id(&list));
    Some(Step::one(name, Edit::Insert { list, after: Some(id.parse().ok()?), item }))
}

fn reorder(model: &mut Model, at: &ItemPath, later: bool) {
    let Some(plan) = model.plan() else { return };
    let (list, id) = at.split_last();
    let Some(items) = plan.list_at(&list) else { return };
    let Some(i) = items.position(id) else { return };
    let after = if later {
        match items.id_at(i + 1) {
            Some(next) => Some(next.clone()),
            None => return model.say("it is the last of its list"),
        }
    } else {
        match i {
            0 => return model.say("it is the first of its list"),
            1 => None,
            _ => items.id_at(i - 2).cloned(),
        }
    };
    let name = format!("move {id} {}", if later { "down" } else { "up" });
    let step = Step::one(name, Edit::Move { at: at.clone(), after });
    apply_and_go(model, step, at);
    if model.is_on_bench()
        && model.bench.pane == Pane::Equipment
        && let Some(plan) = model.plan()
        && let Some(row) = crate::tui::bench::equipment(plan).iter().position(|e| e.at == *at)
    {
        model.bench.equipment = row;
    }
}

/// Deleting asks, and says what would be left pointing at nothing.
fn ask_delete(model: &mut Model, at: &ItemPath) {
    let Some(plan) = model.plan() else { return };
    let (list, id) = at.split_last();
    let runs: Vec<&crate::plan::Run> = plan
        .runs
        .iter()
        .filter(|r| [&r.from, &r.to].iter().any(|end| end.known().is_some_and(|e| e.as_str() == id)))
        .collect();
    let is_end = crate::plan::ENDS.contains(&list.as_str()) && !runs.is_empty();
    let what = words::one_of(list.as_str());
    let alone = Step::one(format!("delete {id}"), Edit::Remove { at: at.clone() });
    let mut answers = Vec::new();
    let mut question = format!("Delete {what} {id}?");
    if is_end {
        let names: Vec<&str> = runs.iter().map(|r| r.id.as_str()).collect();
        question = format!("Delete {what} {id}? Runs end on it: {}.", names.join(" "));
        let mut edits = vec![Edit::Remove { at: at.clone() }];
        edits.extend(runs.iter().map(|r| Edit::Remove { at: FieldPath::from("runs").join(&r.id) }));
        let step = Step { name: format!("delete {id} and its runs"), edits };
        answers.push(Answer { letter: 'r', words: "delete it and its runs", then: Then::Apply(step) });
        answers.push(Answer { letter: 'd', words: "delete it, keep the runs", then: Then::Apply(alone) });
    } else {
        answers.push(Answer { letter: 'd', words: "delete it (u brings it back)", then: Then::Apply(alone) });
    }
    answers.push(Answer { letter: 'k', words: "keep it", then: Then::Nothing });
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers, cursor: 0 }));
}

/// After a deletion or an addition from a question: the cursor goes to what was added.
pub(super) fn apply_answer(model: &mut Model, step: Step) {
    let added = step.edits.iter().find_map(|edit| match edit {
        Edit::Insert { list, .. } => model.plan().map(|plan| list.join(plan.free_id(list))),
        _ => None,
    });
    if apply(model, step)
        && let Some(at) = added
    {
        open_added(model, &at);
    }
}
