//! What stands over the screen: lists, questions, texts, a finding, the history.

use crate::plan::job::LengthUnit;
use crate::plan::{Edit, FieldPath, Id, ItemPath, Plan, Step, Value};
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::line_edit::LineEdit;
use crate::tui::message::Effect;
use crate::tui::model::{Answer, Confirm, Model, Overlay, Pick, PickWhat, Prompt, PromptWhat, Then};
use crate::tui::offer::LinesView;
use crate::units::METRES_PER_FOOT;

use super::pick::{self, Choice, Chosen};
use super::{field, file, findings, isolation, items, ladder, rules, seasons, shelf, sizing, walk, working};

pub(super) fn act(model: &mut Model, action: Action) -> Option<Effect> {
    if action == Action::Back {
        model.is_guided = false;
        model.after = None;
        if matches!(model.overlay, Some(Overlay::Sizing(_))) {
            sizing::discard(model);
        }
        let is_recovery = |a: &Answer| matches!(a.then, Then::Recover(_));
        if matches!(&model.overlay, Some(Overlay::Confirm(asked)) if asked.answers.iter().any(is_recovery)) {
            let again = if model.path.is_some() { "next opening" } else { "next start without a plan" };
            model.say(format!("not decided: the recovery copy stays as it is, and the {again} asks again"));
        }
        model.overlay = match model.overlay.take() {
            Some(Overlay::Help { over: Some(year), .. }) => Some(Overlay::Seasons(year)),
            Some(Overlay::About { over, .. }) => Some(*over),
            Some(Overlay::Lines(view)) => Some(Overlay::Confirm(*view.asked)),
            closed => {
                if let Some(kept) = &mut model.closed {
                    kept.overlay = closed;
                }
                None
            }
        };
        if matches!(model.overlay, Some(Overlay::Sizing(_))) {
            sizing::arrives(model);
        }
        return None;
    }
    if action == Action::Help && !matches!(model.overlay, Some(Overlay::Seasons(_))) {
        model.overlay = match model.overlay.take() {
            Some(help @ (Overlay::Help { .. } | Overlay::About { .. })) => Some(help),
            over => over.map(|over| Overlay::About { scroll: 0, over: Box::new(over) }),
        };
        return None;
    }
    if matches!(model.overlay, Some(Overlay::Seasons(_))) {
        return seasons::act(model, action);
    }
    let is_rows = matches!(model.overlay, Some(Overlay::Ladder(_) | Overlay::Sizing(_) | Overlay::Isolation(_)));
    let action = if action == Action::More && !is_rows { Action::PageDown } else { action };
    match model.overlay.take() {
        Some(Overlay::Pick(pick)) => act_pick(model, pick, action),
        Some(Overlay::Prompt(prompt)) => act_prompt(model, prompt, action),
        Some(Overlay::Confirm(confirm)) => act_confirm(model, confirm, action),
        Some(Overlay::Ladder(l)) => ladder::act(model, l, action),
        Some(Overlay::Sizing(s)) => {
            sizing::act(model, s, action);
            None
        }
        Some(other) => act_list(model, other, action),
        None => None,
    }
}

fn act_confirm(model: &mut Model, mut confirm: Confirm, action: Action) -> Option<Effect> {
    let last = confirm.answers.len().saturating_sub(1);
    let by_arrows = confirm.answers.iter().all(|a| a.letter == Answer::BY_ARROWS);
    let chosen = match action {
        Action::Up => {
            confirm.cursor = confirm.cursor.saturating_sub(1);
            None
        }
        Action::Down => {
            confirm.cursor = (confirm.cursor + 1).min(last);
            None
        }
        Action::Enter => Some(confirm.cursor),
        Action::Type(_) if by_arrows => return typed_ahead(model, confirm, action),
        Action::Type(c) => confirm.answers.iter().position(|a| a.letter == c.to_ascii_lowercase()),
        _ => None,
    };
    match chosen.and_then(|i| confirm.answers.get(i)) {
        Some(Answer { then: Then::Read(lines), .. }) => {
            let (lines, asked) = (lines.clone(), Box::new(confirm));
            model.overlay = Some(Overlay::Lines(LinesView { lines, scroll: 0, asked }));
            None
        }
        Some(answer) => file::then(model, answer.then.clone()),
        None => {
            model.overlay = Some(Overlay::Confirm(confirm));
            None
        }
    }
}

/// A character at a question that arrows answer: on the walk-round it begins the answer to the next one, and this one is left as it is.
fn typed_ahead(model: &mut Model, confirm: Confirm, action: Action) -> Option<Effect> {
    let first = confirm.answers.first().filter(|_| model.is_guided).map(|answer| answer.then.clone());
    let Some(then) = first else {
        model.say("arrows and Enter answer here: a letter chooses nothing");
        model.overlay = Some(Overlay::Confirm(confirm));
        return None;
    };
    let effect = file::then(model, then);
    if model.field.is_some() {
        field::act(model, action);
    }
    effect
}

fn act_pick(model: &mut Model, mut pick: Pick, action: Action) -> Option<Effect> {
    let rows = pick::choices(model, &pick);
    let page = layout::overlay_rows(model.size);
    match action {
        Action::Up | Action::Down | Action::PageUp | Action::PageDown => {
            pick.cursor = scrolled(action, pick.cursor, rows.len(), page);
        }
        Action::NextPane => {
            if let Some(row) = rows.get(pick.cursor) {
                let text = match &row.does {
                    Chosen::Rule(rule) => rule.id.to_string(),
                    _ => row.label.clone(),
                };
                pick.line = LineEdit::with(text);
                pick.cursor = 0;
            }
        }
        Action::Delete => match rows.into_iter().nth(pick.cursor).map(|row| row.does) {
            Some(Chosen::Take(found, _)) => {
                shelf::ask_removal(model, found);
                return None;
            }
            _ => model.say("nothing of the shelf is marked"),
        },
        Action::Enter => {
            let Some(row) = rows.into_iter().nth(pick.cursor) else {
                model.overlay = Some(Overlay::Pick(pick));
                return None;
            };
            return match row.does {
                Chosen::Act(action) => super::act(model, action),
                Chosen::Add(what) => {
                    items::add_known(model, what);
                    None
                }
                Chosen::Take(_, step) if !model.is_guided && shelf::ask_runs(model, &step) => None,
                Chosen::Apply(step) | Chosen::Take(_, step) => {
                    let done = shelf::apply(model, step);
                    if done && model.is_guided { walk::guide(model) } else { None }
                }
                Chosen::Rule(rule) => {
                    rules::change(model, rule);
                    None
                }
                Chosen::Open(what) => file::open(model, what),
            };
        }
        _ => {
            let before = pick.line.text().to_string();
            field::apply_to_line(&mut pick.line, action);
            if pick.line.text() != before {
                pick.cursor = 0;
            }
        }
    }
    model.overlay = Some(Overlay::Pick(pick));
    None
}

fn act_prompt(model: &mut Model, mut prompt: Prompt, action: Action) -> Option<Effect> {
    if action != Action::Enter {
        field::apply_to_line(&mut prompt.line, action);
        prompt.problem = None;
        model.overlay = Some(Overlay::Prompt(prompt));
        return None;
    }
    let text = prompt.line.text().trim().to_string();
    let done = match prompt.what.clone() {
        PromptWhat::SaveAs if text.is_empty() => Err("type the path of a file, for instance larkspur.ron".to_string()),
        PromptWhat::SaveAs => {
            let path = std::path::PathBuf::from(&text);
            let is_same = model.path.as_ref() == Some(&path);
            return file::write(model, path, is_same && model.locked_by.is_none());
        }
        PromptWhat::Papers if text.is_empty() => Err("type a folder; it is made where it is missing".to_string()),
        PromptWhat::Papers => return file::write_papers(model, std::path::PathBuf::from(&text), false),
        PromptWhat::Rename(at) => rename(model, &at, &text),
        PromptWhat::Reason(f) if text.is_empty() && f.accepted.is_none() && f.lapsed.is_none() => {
            Err("a reason is needed: why this is acceptable here".into())
        }
        PromptWhat::Reason(finding) => findings::accept(model, &finding, &text),
    };
    if let Err(problem) = done {
        prompt.problem = Some(problem);
        model.overlay = Some(Overlay::Prompt(prompt));
    }
    None
}

fn rename(model: &mut Model, at: &ItemPath, text: &str) -> Result<(), String> {
    let to: Id = text.parse()?;
    let (list, from) = at.split_last();
    if from == to.as_str() {
        return Ok(());
    }
    if let Some(other) = model.plan().and_then(|plan| namesake(plan, at, to.as_str())) {
        return Err(format!("{other}: on paper the two could not be told apart; give it another name"));
    }
    let step = Step::one(format!("rename {from} to {to}"), Edit::Rename { at: at.clone(), to: to.clone() });
    let Some(document) = &mut model.document else { return Ok(()) };
    document.apply(step).map_err(|refused| refused.why)?;
    for page in &mut model.pages {
        use crate::tui::form::Place;
        if let Place::Record(place) | Place::List(place) = &mut page.place
            && place.is_within(at)
        {
            let rest = place.as_str().get(at.as_str().len()..).unwrap_or("").to_string();
            *place = FieldPath::new(format!("{}{rest}", list.join(&to)));
        }
    }
    model.say(format!("renamed {from} to {to}; every reference follows"));
    Ok(())
}

/// What else has this name, or one that differs only in capitals, among the things that figures and findings name alone.
fn namesake(plan: &Plan, at: &ItemPath, name: &str) -> Option<String> {
    const NAMED: [&str; 8] = ["stays", "panels", "arrays", "controllers", "inverters", "chargers", "devices", "runs"];
    let (own, _) = at.split_last();
    if !NAMED.contains(&own.as_str()) && own.as_str() != "loads" {
        return None;
    }
    if name.eq_ignore_ascii_case(crate::plan::BANK_ID) {
        return Some(format!("{} is the battery bank", crate::plan::BANK_ID));
    }
    NAMED.into_iter().chain(["loads"]).find_map(|list| {
        let list = FieldPath::from(list);
        let ids = plan.list_at(&list)?;
        let mut ids = (0..ids.len()).filter_map(|i| ids.id_at(i)).filter(|id| list.join(id) != *at);
        let same = ids.find(|id| id.as_str().eq_ignore_ascii_case(name))?;
        Some(format!("{same} is a {} already", crate::tui::words::one_of(list.as_str())))
    })
}

pub(super) fn scrolled(action: Action, at: usize, count: usize, page: usize) -> usize {
    let last = count.saturating_sub(1);
    match action {
        Action::Up => at.min(last).saturating_sub(1),
        Action::Down => at.saturating_add(1),
        Action::PageUp => at.min(last).saturating_sub(page),
        Action::PageDown => at.saturating_add(page),
        Action::First => 0,
        Action::Last => last,
        _ => at,
    }
    .min(last)
}

fn act_list(model: &mut Model, mut overlay: Overlay, action: Action) -> Option<Effect> {
    let page = layout::overlay_rows(model.size);
    let is_done = match &mut overlay {
        Overlay::Working(view) => working::act(model, view, action),
        Overlay::Isolation(view) => isolation::act(model, view, action),
        Overlay::Finding(view) => findings::act(model, view, action),
        _ => false,
    };
    if is_done {
        return None;
    }
    match &mut overlay {
        Overlay::Help { scroll, over } => {
            // What it says hangs on where it was asked for.
            model.overlay = Some(Overlay::Help { scroll: 0, over: *over });
            let lines = crate::tui::view::help_lines(model);
            *scroll = scrolled(action, (*scroll).min(lines), lines, page);
        }
        Overlay::About { scroll, over } => {
            let lines = crate::tui::view::about_lines(model, over);
            *scroll = scrolled(action, (*scroll).min(lines), lines, page);
        }
        Overlay::Messages { scroll } => {
            let lines = crate::tui::view::message_lines(model);
            *scroll = scrolled(action, (*scroll).min(lines), lines, page);
        }
        Overlay::Lines(view) => {
            let lines = crate::tui::view::difference_lines(model, view);
            view.scroll = scrolled(action, view.scroll, lines, page);
        }
        Overlay::History { cursor } => {
            if action == Action::Enter {
                travel(model, *cursor);
                return None;
            }
            *cursor = scrolled(action, *cursor, history_rows(model).len(), page);
        }
        _ => {}
    }
    model.overlay = Some(overlay);
    None
}

pub(super) fn open_actions(model: &mut Model) {
    model.overlay = Some(Overlay::Pick(Pick { what: PickWhat::Action, line: LineEdit::default(), cursor: 0 }));
}

pub(super) fn open_plan(model: &mut Model) {
    model.overlay = Some(Overlay::Pick(Pick { what: PickWhat::Plan, line: LineEdit::default(), cursor: 0 }));
}

/// The places for a stay.
pub(super) fn pick_place(model: &mut Model, stay: ItemPath) {
    model.overlay = Some(Overlay::Pick(Pick { what: PickWhat::Place(stay), line: LineEdit::default(), cursor: 0 }));
}

/// The same for a name that has been typed.
pub(super) fn pick_place_named(model: &mut Model, stay: ItemPath, name: &str) {
    model.overlay =
        Some(Overlay::Pick(Pick { what: PickWhat::Place(stay), line: LineEdit::with(name.to_string()), cursor: 0 }));
}

/// Places offered at most.
const PLACES_SHOWN: usize = 50;

/// Degrees to four places: ten metres.
fn rounded(degrees: f64) -> f64 {
    (degrees * 1e4).round() / 1e4
}

/// An elevation in whole units of the plan: a place's is not known more closely.
fn whole(plan: &Plan, metres: f64) -> f64 {
    match plan.job.length_unit {
        LengthUnit::Feet => ((metres / METRES_PER_FOOT).round() * METRES_PER_FOOT * 1e4).round() / 1e4,
        LengthUnit::Metres => metres.round(),
    }
}

/// Places whose name begins with or holds what is typed.
pub(super) fn places(model: &Model, stay: &ItemPath, wanted: &str) -> Vec<Choice> {
    let Some(plan) = model.plan().filter(|plan| !wanted.trim().is_empty() && plan.record(stay).is_some()) else {
        return Vec::new();
    };
    crate::climate::places::find(wanted, PLACES_SHOWN)
        .into_iter()
        .map(|place| {
            let region = if place.region_code.chars().all(|c| c.is_ascii_alphabetic()) && !place.region_code.is_empty()
            {
                place.region_code.clone()
            } else {
                place.region.clone()
            };
            let short =
                [place.name.as_str(), region.as_str()].iter().filter(|s| !s.is_empty()).copied().collect::<Vec<_>>();
            let name = short.join(" ");
            let set = |key: &str, to: Value| Edit::Set { at: stay.join(key), to };
            let mut edits = vec![
                set("place", Value::Text(name.clone())),
                set("latitude_deg", Value::Number(rounded(place.lat_deg))),
                set("longitude_deg", Value::Number(rounded(place.lon_deg))),
            ];
            let clock_h = crate::climate::zones::standard_h(&place);
            edits.push(set("clock_h", clock_h.map_or(Value::Nothing, Value::Number)));
            edits.push(set("elevation_m", place.elevation_m.map_or(Value::Nothing, |m| Value::Number(whole(plan, m)))));
            let (_, id) = stay.split_last();
            Choice {
                label: format!("{name}, {}", place.country).trim_end_matches(", ").to_string(),
                detail: format!("{:.2} {:.2}", place.lat_deg, place.lon_deg),
                does: Chosen::Apply(Step { name: format!("{id} place {name}"), edits }),
            }
        })
        .collect()
}

/// Steps that can be travelled to, the furthest redo first: name, and whether it is done now.
#[must_use]
pub(super) fn history_rows(model: &Model) -> Vec<(String, bool)> {
    let Some(document) = &model.document else { return Vec::new() };
    let redo: Vec<&str> = document.redo_names().collect();
    let mut rows: Vec<(String, bool)> = redo.into_iter().rev().map(|n| (n.to_string(), false)).collect();
    rows.extend(document.undo_names().map(|n| (n.to_string(), true)));
    rows.push(("as opened".into(), true));
    rows
}

pub(super) fn open_history(model: &mut Model) {
    let now = history_rows(model).iter().position(|(_, done)| *done).unwrap_or(0);
    model.overlay = Some(Overlay::History { cursor: now });
}

/// Undoes or redoes until the chosen step is the last one done.
fn travel(model: &mut Model, to: usize) {
    let rows = history_rows(model);
    let now = rows.iter().position(|(_, done)| *done).unwrap_or(0);
    let Some(document) = &mut model.document else { return };
    for _ in to..now {
        document.redo();
    }
    for _ in now..to {
        document.undo();
    }
    if let Some((name, _)) = rows.get(to) {
        model.say(format!("back at: {name}"));
    }
}
