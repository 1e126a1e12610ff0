//! The shelf: equipment into the plan by typing a part of its name, and from the plan onto the shelf.

use std::sync::Arc;

use crate::document::usual;
use crate::plan::wiring::DeviceKind;
use crate::plan::{Edit, FieldPath, ItemPath, Step};
use crate::stock::{Found, Shelf, Stock};
use crate::tui::form;
use crate::tui::line_edit::LineEdit;
use crate::tui::message::Effect;
use crate::tui::model::{Answer, Confirm, Model, Overlay, Pick, PickWhat, Then};

use super::items;
use super::pick::{Choice, Chosen};

/// The shelf for a piece of equipment or for a list of it, the places for a stay; else all of the shelf.
pub(super) fn open(model: &mut Model) {
    let target = model.shelf_target().unwrap_or_else(|| FieldPath::new(""));
    let what = if target.as_str().starts_with("stays.") { PickWhat::Place(target) } else { PickWhat::Shelf(target) };
    model.overlay = Some(Overlay::Pick(Pick { what, line: LineEdit::default(), cursor: 0 }));
}

/// The shelf or the places from a field that nothing was typed in yet: what is picked fills the whole item.
pub(super) fn open_from_field(model: &mut Model) {
    let target = model.shelf_target();
    model.field = None;
    if let Some(document) = &mut model.document {
        document.drop_draft();
    }
    if target.is_some() {
        open(model);
    }
}

/// What choosing a row of the shelf will do, as the title of its box.
pub(crate) fn title(target: &FieldPath) -> String {
    let does = match target.segments().collect::<Vec<_>>().as_slice() {
        [] => "adds to the plan".to_string(),
        ["bank"] => "fills in the bank's battery".to_string(),
        [list] => format!("adds a {}", crate::tui::words::one_of(list)),
        [_, id, ..] => format!("fills in {id}"),
    };
    format!("SHELF: {does}; type a part of the name")
}

/// Applies what was picked; on a list the cursor goes to what was added, so that the next one is added below it.
pub(super) fn apply(model: &mut Model, step: Step) -> bool {
    let added = step.edits.iter().find_map(|edit| match edit {
        Edit::Insert { list, .. } => model.plan().map(|plan| list.join(plan.free_id(list))),
        _ => None,
    });
    let done = items::apply(model, step);
    if let (true, Some(at), Some(plan)) = (done, added, model.plan()) {
        let row = model.page().and_then(|page| form::row_of(&form::rows(plan, &page.place), &at));
        if let (Some(row), Some(page)) = (row, model.pages.last_mut()) {
            page.cursor = row;
        }
    }
    done
}

/// Asks whether what is taken from the shelf shall come with its usual runs, and a load with those of all loads that have
/// none; whether it asks.
pub(super) fn ask_runs(model: &mut Model, step: &Step) -> bool {
    // Where nothing is wired yet it is an audit of loads, or a list of gear.
    let Some(plan) = model.plan().filter(|plan| !plan.runs.is_empty()) else { return false };
    let Some(with_runs) = usual::with_usual_runs(plan, step) else { return false };
    let ends = usual::run_ends(plan, &with_runs);
    let mut answers = vec![
        Answer { letter: '1', words: "with that, fused where it belongs", then: Then::Take(with_runs.clone()) },
        Answer { letter: '2', words: "only the thing itself", then: Then::Take(step.clone()) },
    ];
    let engine = [DeviceKind::StartBattery, DeviceKind::Alternator];
    let sources: [(char, &'static str, &[DeviceKind]); 2] = [
        ('3', "with that, from a start battery and an alternator, both existing", &engine),
        ('4', "with that, from a tow plug, existing", &[DeviceKind::Tow]),
    ];
    for (letter, words, kinds) in sources {
        if let Some(step) = usual::with_source(plan, &with_runs, kinds) {
            answers.push(Answer { letter, words, then: Then::Take(step) });
        }
    }
    let mut question = format!("{}, with its usual run: {ends}?  Lengths stay ? until you measure them.", step.name);
    if step.edits.iter().any(|edit| matches!(edit, Edit::Insert { list, .. } if list.as_str() == "loads")) {
        let others = usual::missing_load_runs(plan);
        let open = usual::loads_without_runs(plan);
        if let (false, Ok(after)) = (others.edits.is_empty(), plan.with(step)) {
            let all = usual::missing_load_runs(&after);
            let mut edits = step.edits.clone();
            edits.extend(all.edits);
            let have = if open.len() == 1 { "has" } else { "have" };
            question.push_str(&format!("  {} {have} none yet either.", open.join(" ")));
            let name = format!("{} and the runs of {} loads", step.name, open.len() + 1);
            answers.push(Answer { letter: '3', words: "with that and theirs", then: Then::Take(Step { name, edits }) });
        }
    }
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers, cursor: 0 }));
    true
}

/// Rows of the shelf that fit an item, or all of it where no item is meant.
pub(super) fn rows(model: &Model, item: &ItemPath, wanted: &str) -> Vec<Choice> {
    let Some(document) = &model.document else { return Vec::new() };
    let plan = &document.committed().plan;
    let section = item.segments().next();
    let kind = if section == Some("bank") { Some("batteries") } else { section };
    let shelf = &document.stock().shelf;
    let rows = shelf.find(kind, wanted).into_iter().filter_map(|found| {
        let step = shelf.take(plan, &found)?;
        let is_list = item.segments().count() < 2;
        let step = usual::with_cold_cut_off(plan, if is_list { step } else { onto(step, item) });
        let detail = if found.typical { "typical, check the label" } else { "from your shelf" };
        Some(Choice { label: found.name.clone(), detail: detail.into(), does: Chosen::Take(found, step) })
    });
    rows.collect()
}

/// The step on an item that is there, in place of a new one.
fn onto(step: Step, item: &ItemPath) -> Step {
    let fresh = step.edits.iter().find_map(|edit| match edit {
        Edit::Set { at, .. } => {
            let mut segments = at.segments();
            Some(FieldPath::from(segments.next()?).join(segments.next()?))
        }
        _ => None,
    });
    let Some(fresh) = fresh else { return step };
    let moved = |at: &FieldPath| {
        let rest = at.as_str().get(fresh.as_str().len() + 1..).unwrap_or("");
        item.join(rest)
    };
    let edits = step.edits.into_iter().filter_map(|edit| match edit {
        Edit::Set { at, to } => Some(Edit::Set { at: moved(&at), to }),
        _ => None,
    });
    Step { edits: edits.collect(), name: step.name }
}

/// Asks whether the focused equipment shall go onto the shelf: that is another file, which undo does not reach.
pub(super) fn ask(model: &mut Model) {
    let focus = model.focus();
    let bank = focus.filter(|at| at.is_within(&"bank".into())).map(|_| FieldPath::from("bank"));
    let Some(item) = model.item().or(bank) else {
        model.say("put the cursor on a panel, a controller or another piece of equipment first");
        return;
    };
    let Some(document) = &model.document else { return };
    let mut stock = Stock::clone(document.stock());
    if let Err(why) = stock.shelf.save(&document.committed().plan, &item) {
        return model.say(why);
    }
    let (_, id) = item.split_last();
    model.overlay = Some(Overlay::Confirm(Confirm {
        question: format!(
            "Put {id} on the shelf, as it stands here, to be picked in other plans? u does not take it off."
        ),
        answers: vec![
            Answer { letter: '1', words: "put it on the shelf", then: Then::Shelve(item) },
            Answer { letter: '2', words: "no", then: Then::Nothing },
        ],
        cursor: 1,
    }));
}

/// Asks whether a thing shall go off the shelf.
pub(super) fn ask_removal(model: &mut Model, found: Found) {
    model.overlay = Some(Overlay::Confirm(Confirm {
        question: format!("Take {} off the shelf? Plans that have it keep it; u does not bring it back.", found.name),
        answers: vec![
            Answer { letter: '1', words: "take it off the shelf", then: Then::Unshelve(found) },
            Answer { letter: '2', words: "no", then: Then::Nothing },
        ],
        cursor: 1,
    }));
}

/// Puts equipment on the shelf.
pub(super) fn save(model: &mut Model, item: &ItemPath) -> Option<Effect> {
    let plan = model.plan()?.clone();
    change(model, |shelf| Ok(format!("on the shelf as {}; s takes it from there", shelf.save(&plan, item)?)))
}

/// Takes a thing off the shelf.
pub(super) fn remove(model: &mut Model, found: &Found) -> Option<Effect> {
    change(model, |shelf| shelf.remove(found).map(|()| format!("{} is off the shelf", found.name)))
}

/// Makes a change to the shelf and saves it.
fn change(model: &mut Model, make: impl FnOnce(&mut Shelf) -> Result<String, String>) -> Option<Effect> {
    let document = model.document.as_mut()?;
    let mut stock = Stock::clone(document.stock());
    match make(&mut stock.shelf) {
        Ok(said) => {
            let stock = Arc::new(stock);
            document.set_stock(Arc::clone(&stock));
            model.stock = Arc::clone(&stock);
            model.say(said);
            Some(Effect::SaveStock(stock))
        }
        Err(why) => {
            model.say(why);
            None
        }
    }
}
