//! What a picking list offers for the text typed so far.

use std::path::PathBuf;

use crate::arrange::Arrange;
use crate::document::usual::{self, Addition};
use crate::plan::Step;
use crate::standards::rules::Rule;
use crate::stock::Found;
use crate::tui::keymap::{self, Action};
use crate::tui::message::OpenWhat;
use crate::tui::model::{Model, Pick, PickWhat};

/// What choosing a row does.
#[derive(Clone, Debug)]
pub enum Chosen {
    Act(Action),
    Add(Addition),
    /// A place's fields onto the stay.
    Apply(Step),
    /// A thing of the shelf into the plan.
    Take(Found, Step),
    Open(OpenWhat),
    /// A rule to be changed in the plan.
    Rule(&'static Rule),
}

/// A row of a picking list.
#[derive(Clone, Debug)]
pub struct Choice {
    pub label: String,
    /// Right of the label: a key, a path, a remark.
    pub detail: String,
    pub does: Chosen,
}

/// Rows shown at most.
const MOST: usize = 200;

/// The rows for what is typed.
#[must_use]
pub fn choices(model: &Model, pick: &Pick) -> Vec<Choice> {
    let wanted = pick.line.text();
    let mut rows = match &pick.what {
        PickWhat::Action => actions(wanted),
        PickWhat::Add => additions(model, wanted),
        PickWhat::Place(stay) => super::overlay::places(model, stay, wanted),
        PickWhat::Shelf(item) => super::shelf::rows(model, item, wanted),
        PickWhat::Rule(only) => super::rules::rows(model, only, wanted),
        PickWhat::Plan => plans(model, wanted),
    };
    rows.truncate(MOST);
    rows
}

/// Whether every word of the wanted text occurs; upper and lower case are alike.
#[must_use]
pub fn matches(text: &str, wanted: &str) -> bool {
    let text = text.to_lowercase();
    wanted.to_lowercase().split_whitespace().all(|word| text.contains(word))
}

fn actions(wanted: &str) -> Vec<Choice> {
    let mut found: Vec<Choice> = keymap::listed()
        .filter(|b| matches(&format!("{} {}", b.label, b.help), wanted))
        .map(|b| Choice {
            label: b.help.to_string(),
            detail: format!("{}  {}", b.label, keymap::key_names(b)),
            does: Chosen::Act(b.action),
        })
        .collect();
    // What is named so comes before what only speaks of it.
    let low = wanted.to_lowercase();
    found.arrange_by_key(|c| !c.detail.to_lowercase().starts_with(low.trim()));
    found
}

fn additions(model: &Model, wanted: &str) -> Vec<Choice> {
    let mut found: Vec<Choice> = Addition::all()
        .into_iter()
        .filter(|what| matches(&what.words(), wanted))
        .map(|what| Choice { label: what.words(), detail: what.list().to_string(), does: Chosen::Add(what) })
        .collect();
    let low = wanted.trim().to_lowercase();
    found.arrange_by_key(|c| !c.label.to_lowercase().starts_with(&low));
    // All at once, where several have none.
    if let Some(plan) = model.plan() {
        let step = usual::missing_load_runs(plan);
        let label = format!("usual runs of the loads without one: {}", usual::loads_without_runs(plan).join(" "));
        if !step.edits.is_empty() && matches(&label, wanted) {
            found.push(Choice { label, detail: "runs".into(), does: Chosen::Apply(step) });
        }
    }
    found
}

fn plans(model: &Model, wanted: &str) -> Vec<Choice> {
    let typed = (!wanted.trim().is_empty()).then(|| Choice {
        label: wanted.trim().to_string(),
        detail: "as typed".into(),
        does: Chosen::Open(OpenWhat::File(PathBuf::from(wanted.trim()))),
    });
    let known = model
        .start_choices()
        .into_iter()
        .filter(|(name, about, _)| matches(&format!("{name} {about}"), wanted))
        .map(|(name, about, what)| Choice { label: name, detail: about, does: Chosen::Open(what) });
    typed.into_iter().chain(known).collect()
}
