//! A run's working opened.

use crate::engine::worked;
use crate::plan::{FieldPath, Id};
use crate::tui::bench;
use crate::tui::keymap::Action;
use crate::tui::layout;
use crate::tui::model::{Model, Overlay, Pane, WorkingView};

use super::{browse, overlay};

/// Opens the working of the selected run; on Findings that of the run the finding is about.
pub(super) fn open(model: &mut Model) {
    if is_on_links(model) {
        // The bank's detail has them whole; on a small screen the help is where it stands.
        model.overlay = Some(Overlay::Help { scroll: 0, over: None });
        return;
    }
    match model.run().or_else(|| model.entry().filter(|_| model.is_on_findings()).and_then(|e| run_of(&e.subject))) {
        Some(run) => open_run(model, &run),
        None => model.say("put the cursor on a run (Tab leads to RUNS), or on a finding about one"),
    }
}

/// Whether the bank is focused on the Bench, and links join its batteries.
fn is_on_links(model: &Model) -> bool {
    let Some(shown) = model.document.as_ref().map(|document| document.shown()) else { return false };
    let line = bench::equipment(&shown.plan).into_iter().nth(model.bench.equipment);
    model.is_on_bench()
        && model.bench.pane == Pane::Equipment
        && shown.report.bank.links.is_some()
        && line.is_some_and(|line| line.at.as_str() == "bank")
}

/// Opens the working of the run that a path lies in.
pub(super) fn open_for(model: &mut Model, subject: &FieldPath) {
    match run_of(subject) {
        Some(run) => open_run(model, &run),
        None => model.say("only what is about a run has a working of its own"),
    }
}

fn run_of(subject: &FieldPath) -> Option<Id> {
    let mut segments = subject.segments();
    (segments.next() == Some("runs")).then(|| segments.next())??.parse().ok()
}

fn open_run(model: &mut Model, run: &Id) {
    let Some(document) = &model.document else { return };
    let plan = std::sync::Arc::clone(&document.committed().plan);
    let Some(worked) = worked(&plan, run) else {
        model.say(format!("{run} is no run of the plan"));
        return;
    };
    let selection = document.engine().select(&plan, document.stock(), run);
    model.overlay = Some(Overlay::Working(Box::new(WorkingView { worked, selection, scroll: 0 })));
}

/// Does an action on an opened working; whether its box is done with.
pub(super) fn act(model: &mut Model, view: &mut WorkingView, action: Action) -> bool {
    if action == Action::GoTo {
        browse::go_to(model, &FieldPath::from("runs").join(&view.worked.run));
        return true;
    }
    let page = layout::overlay_rows(model.size);
    let lines = crate::tui::view::working_lines(model, view);
    // The last line need not come to the top.
    let last = lines.saturating_sub(layout::overlay_lines(model.size));
    view.scroll = overlay::scrolled(action, view.scroll, last + 1, page);
    false
}
