//! Saving, opening, leaving.

use std::path::PathBuf;
use std::sync::Arc;

use crate::tui::line_edit::LineEdit;
use crate::tui::message::{Copy, Effect, OpenWhat, SaveFailure};
use crate::tui::model::{After, Answer, Confirm, Model, Overlay, Prompt, PromptWhat, Then};
use crate::tui::offer;

/// Saves where the plan stands, or asks where.
pub(super) fn save(model: &mut Model) -> Option<Effect> {
    match (&model.path, &model.locked_by) {
        (Some(path), None) => {
            let path = path.clone();
            write(model, path, false)
        }
        _ => {
            save_as(model);
            None
        }
    }
}

/// Asks for a path.
pub(super) fn save_as(model: &mut Model) {
    let text = match &model.path {
        Some(path) => path.display().to_string(),
        None => suggested(model),
    };
    // Typed over as a whole; moving in it keeps it.
    let line = LineEdit::replacing(text);
    model.overlay = Some(Overlay::Prompt(Prompt { what: PromptWhat::SaveAs, line, problem: None }));
}

/// Asks for the folder of the papers.
pub(super) fn papers(model: &mut Model) {
    let plain = model.path.as_ref().map_or_else(|| suggested(model), |path| path.display().to_string());
    let line = LineEdit::replacing(format!("{}-papers", plain.strip_suffix(".ron").unwrap_or(&plain)));
    model.overlay = Some(Overlay::Prompt(Prompt { what: PromptWhat::Papers, line, problem: None }));
}

/// Writes the papers of the plan as it stands.
pub(super) fn write_papers(model: &mut Model, folder: PathBuf, replace: bool) -> Option<Effect> {
    let plan = Arc::clone(&model.document.as_ref()?.committed().plan);
    // The folders it lies in are nobody's business on paper.
    let file = model.path.as_ref().and_then(|path| path.file_name());
    let mut name = file.map_or_else(|| suggested(model), |file| file.to_string_lossy().into_owned());
    if !model.has_nothing_unsaved() {
        name.push_str(" with edits not saved");
    }
    model.say("the papers are being made; every key works meanwhile");
    Some(Effect::Papers { plan, name, folder, replace })
}

/// Asks whether papers are to be replaced.
pub(super) fn ask_papers(model: &mut Model, folder: PathBuf) -> Option<Effect> {
    model.overlay = Some(Overlay::Confirm(Confirm {
        question: format!("{} has papers already.", folder.display()),
        answers: vec![
            Answer { letter: 'f', words: "write to another folder", then: Then::Papers },
            Answer { letter: 'r', words: "replace them", then: Then::PapersOver(folder) },
            Answer { letter: 'k', words: "leave them", then: Then::Nothing },
        ],
        cursor: 0,
    }));
    None
}

/// The papers are written, or are not.
pub(super) fn written(model: &mut Model, result: Result<PathBuf, String>) -> Option<Effect> {
    let names = || crate::papers::names().collect::<Vec<_>>().join(", ");
    model.say(result.map_or_else(|why| why, |folder| format!("written: {} in {}", names(), folder.display())));
    None
}

fn suggested(model: &Model) -> String {
    let title = model.plan().map_or("", |p| p.job.title.as_str());
    let name: String = title
        .to_lowercase()
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect::<String>()
        .trim_matches('-')
        .to_string();
    format!("{}.ron", if name.is_empty() { "plan" } else { &name })
}

pub(super) fn write(model: &mut Model, path: PathBuf, replace: bool) -> Option<Effect> {
    let document = model.document.as_ref()?;
    model.saving = Some(document.revision());
    Some(Effect::Save { plan: Arc::clone(&document.committed().plan), path, replace })
}

/// A save ended.
pub(super) fn saved(model: &mut Model, result: Result<PathBuf, SaveFailure>) -> Option<Effect> {
    let revision = model.saving.take();
    match result {
        Ok(path) => {
            if let (Some(document), Some(revision)) = (&mut model.document, revision) {
                document.mark_saved_at(revision);
            }
            model.say(format!("saved: {}", path.display()));
            model.recent.retain(|p| *p != path);
            model.recent.insert(0, path.clone());
            model.path = Some(path);
            model.locked_by = None;
            match model.after.take() {
                Some(After::Quit) => leave(model),
                Some(After::Open(what)) => Some(Effect::Open(what)),
                None => None,
            }
        }
        Err(SaveFailure::ChangedOnDisk(path, lines)) => {
            ask_replace(model, format!("{} has changed on disk since it was opened.", path.display()), path, lines);
            None
        }
        Err(SaveFailure::Exists(path, lines)) => {
            let is_own = model.locked_by.is_some() && model.path.as_ref() == Some(&path);
            let what = if is_own {
                "is what this was read from, read only: whoever had it open may have saved edits there since"
            } else {
                "is there already"
            };
            ask_replace(model, format!("{} {what}.", path.display()), path, lines);
            None
        }
        Err(SaveFailure::Failed(path, why)) => {
            model.say(format!("NOT saved: {why}"));
            if model.path.as_ref() != Some(&path) && model.overlay.is_none() {
                // The name that was typed is there to be mended.
                let line = LineEdit::with(path.display().to_string());
                model.overlay = Some(Overlay::Prompt(Prompt { what: PromptWhat::SaveAs, line, problem: Some(why) }));
            } else {
                model.after = None;
            }
            None
        }
    }
}

/// Asks whether a file is to be replaced. `lines`: what this plan has otherwise than the file.
fn ask_replace(model: &mut Model, mut question: String, path: PathBuf, lines: Vec<String>) {
    if !lines.is_empty() {
        question.push_str(&offer::named(&lines, "of this plan from the file"));
    }
    let mut answers = vec![
        Answer { letter: 's', words: "save under another name", then: Then::SaveAs },
        Answer { letter: 'r', words: "replace it with this plan", then: Then::Save(path) },
    ];
    if lines.len() > offer::SHOWN {
        answers.push(Answer { letter: 'd', words: "read every difference first", then: Then::Read(lines) });
    }
    model.overlay = Some(Overlay::Confirm(Confirm { question, answers, cursor: 0 }));
}

fn leave(model: &mut Model) -> Option<Effect> {
    model.is_leaving = true;
    Some(Effect::Quit { clean: true })
}

fn is_dirty(model: &Model) -> bool {
    model.document.as_ref().is_some_and(crate::document::Document::is_dirty)
}

/// Leaves; asks where the plan is not saved.
pub(super) fn quit(model: &mut Model) -> Option<Effect> {
    if model.left_shop.as_ref().is_some_and(|left| left.is_unsaved) {
        model.overlay = Some(Overlay::Confirm(Confirm {
            question: "The truck stock's last change is not in its file. Leave?".into(),
            answers: vec![
                Answer { letter: 't', words: "show the truck stock; w there saves it", then: Then::OpenTruck },
                Answer { letter: 'x', words: "throw its change away", then: Then::DropTruck },
                Answer { letter: 'k', words: "stay here", then: Then::Nothing },
            ],
            cursor: 0,
        }));
        return None;
    }
    if !is_dirty(model) {
        return leave(model);
    }
    ask_unsaved(model, "Leave?", Then::SaveThenQuit, Then::Quit);
    None
}

/// Opens another plan; asks where this one is not saved.
pub(super) fn open(model: &mut Model, what: OpenWhat) -> Option<Effect> {
    if !is_dirty(model) {
        return Some(Effect::Open(what));
    }
    ask_unsaved(model, "Open another plan?", Then::SaveThenOpen(what.clone()), Then::Open(what));
    None
}

fn ask_unsaved(model: &mut Model, question: &str, save: Then, discard: Then) {
    model.overlay = Some(Overlay::Confirm(Confirm {
        question: format!("The plan is not saved. {question}"),
        answers: vec![
            Answer { letter: 's', words: "save it first", then: save },
            Answer { letter: 'x', words: "throw the changes away", then: discard },
            Answer { letter: 'k', words: "stay here", then: Then::Nothing },
        ],
        cursor: 0,
    }));
}

/// Does what an answer says.
pub(super) fn then(model: &mut Model, then: Then) -> Option<Effect> {
    match then {
        Then::Nothing => None,
        Then::Apply(step) if model.is_guided => {
            if super::items::apply(model, step) {
                super::walk::guide(model)
            } else {
                None
            }
        }
        Then::Apply(step) => {
            super::items::apply_answer(model, step);
            None
        }
        Then::Take(step) => {
            super::shelf::apply(model, step);
            None
        }
        Then::Climb(of, cursor, stay) => super::ladder::again(model, of, cursor, stay),
        Then::Pass(at) => {
            model.passed.push(at);
            super::walk::guide(model)
        }
        Then::Shelve(item) => super::shelf::save(model, &item),
        Then::Unshelve(found) => super::shelf::remove(model, &found),
        Then::OpenTruck => super::shop::open(model),
        Then::DropTruck => {
            model.left_shop = None;
            quit(model)
        }
        Then::TruckOver(now) => super::shop::over(model, now),
        Then::TruckFrom(now) => {
            super::shop::take_theirs(model, now);
            None
        }
        Then::Save(path) => write(model, path, true),
        Then::SaveAs => {
            save_as(model);
            None
        }
        Then::Papers => {
            papers(model);
            None
        }
        Then::PapersOver(folder) => write_papers(model, folder, true),
        Then::SaveThenQuit => {
            model.after = Some(After::Quit);
            save(model)
        }
        Then::SaveThenOpen(what) => {
            model.after = Some(After::Open(what));
            save(model)
        }
        Then::Quit => leave(model),
        Then::Open(what) => Some(Effect::Open(what)),
        Then::Recover(plan) => {
            recover(model, *plan);
            Some(Effect::TakenUp)
        }
        Then::DropRecovery => Some(Effect::DropRecovery),
        // Shown by the question itself, which stands again afterwards.
        Then::Read(_) => None,
    }
}

/// Puts the recovery copy on screen with the steps that were kept of it: over the plan of the file, which is held as the
/// baseline; alone where there is no file.
fn recover(model: &mut Model, copy: Copy) {
    let name = "take up the recovery copy".to_string();
    let mut goes = match copy.past.len() {
        0 => "goes back to the file".to_string(),
        1 => "takes its last step back".to_string(),
        n => format!("takes its last {n} steps back one by one"),
    };
    match copy.undone.len() {
        0 => {}
        1 => goes.push_str(", r does one taken back again"),
        n => goes.push_str(&format!(", r does {n} taken back again")),
    }
    match &mut model.document {
        Some(document) if model.path.is_some() => {
            document.hold_baseline();
            document.take_up(name, copy.plan, copy.past, copy.undone);
            model.say(format!("the recovery copy, not saved yet: w saves it, u {goes}; base: what the file has"));
        }
        _ => {
            let first = copy.past.last().map_or_else(|| copy.plan.clone(), |(_, plan)| (**plan).clone());
            let mut document = crate::document::Document::new(first, Arc::clone(&model.stock));
            document.mark_unsaved();
            document.take_up(name, copy.plan, copy.past, copy.undone);
            model.document = Some(document);
            model.say("the recovery copy is on screen, not saved yet: w saves it");
        }
    }
}
