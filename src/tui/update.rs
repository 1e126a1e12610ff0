//! One message in, the model changed, at most one effect out. No I/O here.

mod browse;
mod field;
mod file;
mod findings;
mod isolation;
mod items;
mod ladder;
mod overlay;
pub mod pick;
mod quick;
pub(crate) mod rules;
mod seasons;
pub(crate) mod shelf;
pub mod shop;
mod sizing;
mod step;
mod walk;
mod working;

use crossterm::event::KeyCode;

use crate::document::Shown;
use crate::document::look::Question;
use crate::tui::form;
use crate::tui::keymap::{self, Action, Context};
use crate::tui::layout;
use crate::tui::message::{Effect, Message};
use crate::tui::model::{Model, Overlay};

/// Takes one message.
pub fn update(model: &mut Model, message: Message) -> Option<Effect> {
    let marked = findings::marked(model);
    let stood = (model.bench.run, model.bench.equipment);
    match &message {
        Message::Key(key) if key.code == KeyCode::Esc => model.keep_open(),
        Message::Key(_) | Message::Paste(_) => model.closed = None,
        _ => {}
    }
    let effect = taken(model, message);
    settle(model);
    if (model.bench.run, model.bench.equipment) != stood {
        // Of another thing the results that matter most come first.
        model.bench.results = 0;
    }
    findings::follow(model, marked);
    effect
}

fn taken(model: &mut Model, message: Message) -> Option<Effect> {
    match message {
        Message::Key(_) | Message::Paste(_) if !layout::is_large_enough(model.size.0, model.size.1) => {
            unseen(model, &message)
        }
        Message::Key(key) if field::goes_on(model, key) || field::begins(model, key) => None,
        Message::Key(key) => {
            let action = keymap::resolve(model.context(), key)?;
            act(model, action)
        }
        Message::NoEsc => {
            model.open_again();
            None
        }
        Message::Paste(text) => {
            field::paste(model, &text);
            None
        }
        Message::Resize(columns, rows) => {
            model.size = (columns, rows);
            None
        }
        Message::Ladder { generation, rungs, complete } => {
            ladder::arrives(model, generation, rungs, complete);
            None
        }
        Message::Looked { generation, answer } => {
            model.late.arrives(generation, answer);
            sizing::arrives(model);
            None
        }
        Message::Saved(result) => file::saved(model, result),
        Message::Opened(Ok(opened)) => {
            model.take(*opened);
            None
        }
        Message::Opened(Err(why)) => {
            model.say(why);
            None
        }
        Message::Stood(stood) => {
            browse::stand(model, &stood);
            None
        }
        Message::Truck(file) => {
            shop::arrives(model, file);
            None
        }
        Message::TruckSaved(result) => {
            shop::saved(model, result);
            None
        }
        Message::StockSaved(Ok(())) => None,
        Message::StockSaved(Err(why)) => {
            model.say(why);
            None
        }
        Message::Written(result) => file::written(model, result),
        Message::PapersThere(folder) => file::ask_papers(model, folder),
        Message::RecoveryFailed(why) => {
            model.recovery_trouble = Some(why);
            None
        }
        Message::RecoveryKept => {
            model.recovery_trouble = None;
            None
        }
        Message::Recovery(copy, what) => {
            super::offer::ask(model, copy, &what);
            None
        }
        Message::HangUp => {
            model.is_leaving = true;
            Some(Effect::Quit { clean: false })
        }
        Message::Resumed => Some(Effect::Redraw),
    }
}

/// A key while the screen is too small to show anything: only what needs no eyes is done.
fn unseen(model: &mut Model, message: &Message) -> Option<Effect> {
    let Message::Key(key) = message else { return None };
    match keymap::resolve(Context::Browsing, *key)? {
        Action::Quit if model.has_nothing_unsaved() => file::quit(model),
        Action::Redraw => Some(Effect::Redraw),
        Action::Suspend => Some(Effect::Suspend),
        _ => None,
    }
}

/// What the screen shows beside what the keys compute, as a question for a worker; none where it was asked already.
pub fn late(model: &mut Model) -> Option<Effect> {
    let sizes = sizes(model);
    let shown = model.answered().cloned();
    let open = shown.and_then(|shown| Some((shown, model.question()?)));
    sizes.into_iter().chain(open).find_map(|(shown, question)| {
        model.generation += 1;
        let generation = model.generation;
        model.late.ask(generation, &shown, &question).then_some(Effect::Look { generation, shown, question })
    })
}

/// The sizes that are waited for, of the plan as it stands by now; those that were there of an earlier one are dropped.
fn sizes(model: &mut Model) -> Option<(Shown, Question)> {
    let awaited = model.sizing?;
    let (shown, question) = (model.document.as_ref()?.committed().clone(), Question::Sizes(awaited.truck_only));
    if awaited.is_ready && model.late.answer(&shown, &question).is_none() {
        model.sizing = None;
        return None;
    }
    Some((shown, question))
}

/// Does an action in the context of now.
pub fn act(model: &mut Model, action: Action) -> Option<Effect> {
    let context = model.context();
    model.is_message_stale = true;
    if sizing::given_up(model, action) {
        return None;
    }
    if !matches!(action, Action::Larger | Action::Smaller | Action::Save)
        && let Some(document) = &mut model.document
    {
        document.end_stepping();
    }
    match action {
        Action::Redraw => return Some(Effect::Redraw),
        Action::Suspend => return Some(Effect::Suspend),
        _ => {}
    }
    match context {
        Context::Browsing => {
            // Where nothing is to be gone to its key leads on.
            let action = if action == Action::GoTo && !model.is_on_findings() { Action::Guide } else { action };
            model.is_guided = action == Action::Guide;
            browse::act(model, action)
        }
        // A stroke is text but on a field that nothing was typed in and that the shelf has something for.
        Context::Field if action == Action::Pick => {
            if model.holds(keymap::When::OnShelfField) {
                shelf::open_from_field(model);
                return None;
            }
            act(model, Action::Type('/'))
        }
        Context::Field if model.shop.is_some() => shop::field_act(model, action),
        Context::Shop => shop::act(model, action),
        Context::Field => field::act(model, action),
        Context::Overlay | Context::Typing | Context::Asking | Context::Year => overlay::act(model, action),
        Context::Start => start(model, action),
    }
}

/// No plan is open.
fn start(model: &mut Model, action: Action) -> Option<Effect> {
    let choices = model.start_choices();
    let last = choices.len().saturating_sub(1);
    match action {
        Action::Up => model.start = model.start.saturating_sub(1),
        Action::Down => model.start = (model.start + 1).min(last),
        Action::First => model.start = 0,
        Action::Last => model.start = last,
        Action::Enter => return choices.into_iter().nth(model.start).map(|(_, _, what)| Effect::Open(what)),
        Action::OpenFile => overlay::open_plan(model),
        Action::Shop => return shop::open(model),
        Action::Palette => browse::palette(model),
        Action::Borders => model.theme.ascii = !model.theme.ascii,
        Action::Help => model.overlay = Some(Overlay::Help { scroll: 0, over: None }),
        Action::Quit => return file::quit(model),
        _ => {}
    }
    None
}

/// Steps that can be travelled to, the furthest redo first: name, and whether it is done now.
#[must_use]
pub fn history(model: &Model) -> Vec<(String, bool)> {
    overlay::history_rows(model)
}

/// Puts every cursor back onto something that exists.
pub(crate) fn settle(model: &mut Model) {
    let Some(document) = &model.document else { return };
    let shown = document.shown();
    let plan = &shown.plan;
    let findings = crate::wording::findings::entries(plan, &shown.report).len();
    model.finding = model.finding.min(findings.saturating_sub(1));
    let gone = model.pages.iter().position(|page| !form::exists(plan, &page.place));
    if let Some(first) = gone {
        model.pages.truncate(first);
    }
    for page in &mut model.pages {
        let rows = form::rows(plan, &page.place);
        page.cursor = form::stop_at(&rows, page.cursor.min(rows.len().saturating_sub(1)));
    }
    if model.pages.is_empty() && !matches!(model.screen, 1 | 5) {
        model.pages.push(form::Page::new(form::root(model.screen)));
    }
    if let Some(Overlay::Seasons(view)) = &mut model.overlay {
        view.stay = view.stay.min(plan.stays.len().saturating_sub(1));
    }
    let lines = super::bench::equipment(plan).len();
    model.bench.equipment = model.bench.equipment.min(lines.saturating_sub(1));
    model.bench.run = model.bench.run.min(plan.runs.len().saturating_sub(1));
}
