//! A finding opened: its cures, its working, accepting it with a reason.

use std::sync::Arc;

use crate::engine::accept::kept;
use crate::engine::{Finding, Report, is_curable};
use crate::plan::format::item_text;
use crate::plan::ledger::Accepted;
use crate::plan::{Edit, FieldPath, Known, Plan, Step};
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::line_edit::LineEdit;
use crate::tui::model::{FindingView, Model, Overlay, Prompt, PromptWhat};
use crate::units::Number;
use crate::wording::findings::Entry;

use super::{browse, items, overlay, working};

/// Opens the focused finding with its cures; a check not run or an unknown leads to its field.
pub(super) fn open(model: &mut Model) {
    let Some(entry) = model.entry() else {
        model.say("there is no finding");
        return;
    };
    match entry.finding().cloned() {
        Some(finding) => {
            let found = model.document.as_mut().map(|d| d.cures(&finding)).unwrap_or_default();
            let (in_vain, cures) = (found.in_vain(), found.steps);
            let working = model.document.as_ref().map(|d| {
                let shown = d.shown();
                d.engine().explain(&shown.plan, &shown.report, &finding)
            });
            let view =
                FindingView { finding, cures, in_vain, working: working.unwrap_or_default(), cursor: 0, scroll: 0 };
            model.overlay = Some(Overlay::Finding(Box::new(view)));
        }
        None => {
            let at = entry.leads_to().clone();
            browse::go_to(model, &at);
        }
    }
}

/// Goes to what the focused finding is about, to where it is cured where it has a cure.
pub(super) fn go_to(model: &mut Model) {
    open(model);
    if let Some(Overlay::Finding(mut view)) = model.overlay.take() {
        act(model, &mut view, Action::GoTo);
    }
}

/// Opens the focused finding and applies its first cure; of one without a cure goes on to the next that has one, and opens that.
pub(super) fn open_and_cure(model: &mut Model) {
    if model.finding_at().is_none() {
        model.say("put the cursor on a finding first");
        return;
    }
    open(model);
    if let Some(Overlay::Finding(mut view)) = model.overlay.take()
        && !act(model, &mut view, Action::Apply)
    {
        model.overlay = Some(Overlay::Finding(view));
    }
}

/// Does an action on an opened finding; whether its box is done with.
pub(super) fn act(model: &mut Model, view: &mut FindingView, action: Action) -> bool {
    match action {
        // Enter opened the finding: once too often it must change nothing.
        Action::Enter => {
            let said = match view.cures.is_empty() {
                true => "no cure is known to the program: g goes to it, x accepts it with a reason",
                false => "a applies the marked cure; Esc closes",
            };
            model.say(said);
        }
        Action::Apply => match view.cures.get(view.cursor).cloned() {
            Some(step) => {
                let name = step.name.clone();
                if items::apply(model, step) {
                    model.say(format!("cure applied: {name}; u takes it back"));
                }
                return true;
            }
            None => return to_next_cured(model, &view.finding),
        },
        Action::Accept => {
            ask_reason_for(model, view.finding.clone());
            return true;
        }
        Action::GoTo => {
            let at = model.plan().map_or_else(|| view.finding.subject.clone(), |plan| cured_at(plan, view));
            browse::go_to(model, &at);
            return true;
        }
        Action::Rule => {
            super::rules::of_finding(model, &view.finding);
            return model.overlay.is_some() || model.field.is_some();
        }
        Action::Working => {
            working::open_for(model, &view.finding.subject);
            return model.overlay.is_some();
        }
        Action::PageUp | Action::PageDown | Action::First | Action::Last => {
            let lines = crate::tui::view::finding_lines(model, view);
            view.scroll = overlay::scrolled(action, view.scroll, lines, layout::overlay_rows(model.size));
        }
        _ => {
            view.cursor = overlay::scrolled(action, view.cursor, view.cures.len(), 1);
            view.scroll = 0;
        }
    }
    false
}

/// Opens the next finding that has a cure, from the marked one on and then from the first; whether there is one.
fn to_next_cured(model: &mut Model, without: &Finding) -> bool {
    let all: Vec<Option<Finding>> = model.entries().iter().map(|entry| entry.finding().cloned()).collect();
    let here = model.finding;
    let lines = (here + 1..all.len()).chain(0..here);
    let may = |line: &usize| {
        let f = all.get(*line).and_then(Option::as_ref);
        f.filter(|f| f.accepted.is_none() && is_curable(f.check.id)).map(|f| (*line, f))
    };
    let document = &mut model.document;
    let has_one = |(_, f): &(usize, &Finding)| document.as_mut().is_some_and(|d| !d.cures(f).steps.is_empty());
    let found = lines.filter_map(|line| may(&line)).find(has_one).map(|(line, _)| line);
    match found.filter(|_| model.is_on_findings()) {
        Some(line) => {
            model.finding = line;
            open(model);
            model.say(format!("no cure is known of {}: the next finding that has one; a applies it", without.check.id));
            true
        }
        None => {
            model.say("no cure is known to the program: g goes to it, x accepts it with a reason");
            false
        }
    }
}

/// Where to go for a finding: its own field; where it is about a whole thing, the field that the marked cure changes.
fn cured_at(plan: &Plan, view: &FindingView) -> FieldPath {
    let subject = &view.finding.subject;
    if plan.meta(subject).is_some() {
        return subject.clone();
    }
    let changed = view.cures.get(view.cursor).and_then(|cure| {
        cure.edits.iter().find_map(|edit| match edit {
            Edit::Set { at, .. } => Some(at.clone()).filter(|at| plan.meta(at).is_some()),
            _ => None,
        })
    });
    changed.unwrap_or_else(|| subject.clone())
}

pub(super) fn ask_reason(model: &mut Model) {
    match model.finding_at().cloned() {
        Some(finding) if model.is_on_findings() => ask_reason_for(model, finding),
        None if model.is_on_findings() => {
            model.say("this is no finding: what is not known is entered (Enter), not accepted")
        }
        _ => model.say("put the cursor on a finding first (5)"),
    }
}

fn ask_reason_for(model: &mut Model, finding: Finding) {
    let line = LineEdit::with(finding.accepted.clone().or_else(|| finding.lapsed.clone()).unwrap_or_default());
    let what = PromptWhat::Reason(Box::new(finding));
    model.overlay = Some(Overlay::Prompt(Prompt { what, line, problem: None }));
}

/// Accepts a finding with a reason.
pub(super) fn accept(model: &mut Model, finding: &Finding, reason: &str) -> Result<(), String> {
    let Some(plan) = model.plan() else { return Ok(()) };
    let list = FieldPath::from("accepted");
    let item = Accepted {
        id: plan.free_id(&list),
        finding: finding.check.id.into(),
        subject: finding.subject.to_string(),
        reason: reason.into(),
        date: model.today.clone(),
        value: finding.numbers.first().map(|n| Known::Is(Number(*n))),
        numbers: kept(finding),
        level: finding.level.word().into(),
        said: finding.text(),
    };
    // A reason given anew takes the place of the one before; an empty one takes it back.
    let same = |a: &&Accepted| a.finding == finding.check.id && a.subject == finding.subject.as_str();
    let old = plan.accepted.iter().filter(same).map(|a| Edit::Remove { at: list.join(&a.id) });
    let mut edits: Vec<Edit> = old.collect();
    let after = plan.accepted.iter().rfind(|a| !same(a)).map(|a| a.id.clone());
    let is_taken_back = reason.is_empty();
    if !is_taken_back {
        edits.push(Edit::Insert { list, after, item: item_text(&item) });
    }
    let name = format!("{} {}", if is_taken_back { "accept no longer" } else { "accept" }, finding.check.id);
    let Some(document) = &mut model.document else { return Ok(()) };
    document.apply(Step { name, edits }).map_err(|refused| refused.why)?;
    model.say(if is_taken_back {
        "no longer accepted"
    } else {
        "accepted: it stays in the list, marked, and comes back when it grows graver or a number of it worsens by more than 1 %"
    });
    Ok(())
}

/// The line of the findings that is marked: its number, what it is about, and the report it stands in.
pub(super) struct Marked {
    line: usize,
    is: (&'static str, FieldPath),
    of: Arc<Report>,
}

/// What is marked; none while the findings are not shown.
pub(super) fn marked(model: &Model) -> Option<Marked> {
    let document = model.document.as_ref().filter(|_| model.is_on_findings())?;
    let is = identity(&model.entry()?);
    Some(Marked { line: model.finding, is, of: Arc::clone(&document.shown().report) })
}

/// Keeps the mark on its line where an edit has put others before it; where it is gone the next one has the mark.
pub(super) fn follow(model: &mut Model, marked: Option<Marked>) {
    let Some(was) = marked.filter(|was| was.line == model.finding && model.is_on_findings()) else { return };
    if model.document.as_ref().is_none_or(|document| Arc::ptr_eq(&document.shown().report, &was.of)) {
        return;
    }
    if let Some(line) = model.entries().iter().position(|entry| identity(entry) == was.is) {
        model.finding = line;
    }
}

fn identity(entry: &Entry<'_>) -> (&'static str, FieldPath) {
    match entry.finding() {
        Some(finding) => (finding.check.id, finding.subject.clone()),
        None => ("", entry.leads_to().clone()),
    }
}
