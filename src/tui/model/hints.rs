//! What keys are worth now: what a letter begins, and which hints the footer shows.

use std::borrow::Cow;

use crate::document::Shown;
use crate::engine::LadderOf;
use crate::plan::edit::record_in;
use crate::plan::{FieldPath, Kind, Meta, Plan, Record, Step, Value, entry};
use crate::tui::form;
use crate::tui::keymap::Context;
use crate::tui::layout;
use crate::tui::view;

use super::{Ladder, Model, Overlay, Pane, Pick, PickWhat};

impl Model {
    /// Whether a letter begins typing: on the row of a text field that is empty yet and was not just left by Esc.
    #[must_use]
    pub fn takes_letters(&self) -> bool {
        self.text_row().is_some_and(|(at, is_empty)| is_empty && !self.is_left(&at))
    }

    /// Whether a capital begins typing, though small letters are commands: on the row of a text that stands.
    #[must_use]
    pub fn takes_capitals(&self) -> bool {
        self.text_row().is_some_and(|(at, is_empty)| !is_empty && !self.is_left(&at))
    }

    /// Whether a letter that is a command elsewhere begins typing here: a small one as above, a capital where it is the first
    /// of something that the focused row takes, wherever that has just been chosen or `n` led there, too; after Esc none.
    #[must_use]
    pub fn types(&self, c: char) -> bool {
        if !c.is_uppercase() {
            return self.takes_letters() || self.takes_words();
        }
        let is_first =
            |at: &FieldPath| !self.is_dropped(at) && self.root().is_some_and(|root| entry::begins(root, at, c));
        self.takes_letters()
            || self.takes_capitals()
            || matches!(self.any_row(), Some(form::Row::Field { at, .. }) if is_first(&at))
    }

    /// Whether Esc has just left a field.
    fn is_dropped(&self, at: &FieldPath) -> bool {
        self.left.as_ref().is_some_and(|left| left.by_esc && left.at == *at)
    }

    /// Whether small letters are commands on a field whatever it is.
    fn is_left(&self, at: &FieldPath) -> bool {
        self.left.as_ref().is_some_and(|left| left.at == *at)
    }

    /// Whether a small letter begins typing: on the row of something to choose, of a name or of months, until one has
    /// just chosen, left it by Esc, or come to it by the key that goes from unknown to unknown.
    #[must_use]
    pub fn takes_words(&self) -> bool {
        self.choice_row().is_some_and(|at| !self.is_left(&at))
    }

    /// Something to choose, a name or months whose row is focused.
    fn choice_row(&self) -> Option<FieldPath> {
        let form::Row::Field { at, meta } = self.any_row()? else { return None };
        let is_name = meta.kind == Kind::Text && meta.unknown;
        (is_name || matches!(meta.kind, Kind::Words(_) | Kind::Ref(_) | Kind::Months)).then_some(at)
    }

    /// The focused row of a form of the plan or of the stock.
    #[must_use]
    pub fn any_row(&self) -> Option<form::Row> {
        match self.context() {
            Context::Browsing => self.form_row(),
            Context::Shop => self.shop.as_ref().filter(|shop| shop.broken.is_none())?.row(),
            _ => None,
        }
    }

    /// Whether a digit begins typing: on a form's row that takes a number.
    fn takes_digits(&self) -> bool {
        matches!(self.any_row(), Some(form::Row::Field { meta, .. }) if matches!(meta.kind, Kind::Number { .. } | Kind::Gauge))
    }

    /// Whether the row of a text that stands is focused.
    #[must_use]
    pub fn holds_text(&self) -> bool {
        self.text_row().is_some_and(|(_, is_empty)| !is_empty)
    }

    /// The plan, or the stock while that is on screen.
    fn root(&self) -> Option<&dyn Record> {
        match &self.shop {
            Some(shop) => Some(&*shop.stock),
            None => self.plan().map(|plan| plan as &dyn Record),
        }
    }

    /// The text whose row is focused, and whether it is empty.
    fn text_row(&self) -> Option<(FieldPath, bool)> {
        let form::Row::Field { at, meta } = self.any_row()? else { return None };
        let (owner, key) = at.split_last();
        let is_text = matches!(meta.kind, Kind::Text | Kind::Lines) && !meta.unknown;
        match record_in(self.root()?, &owner)?.get(key) {
            Some(Value::Text(text)) if is_text => Some((at, text.trim().is_empty())),
            _ => None,
        }
    }

    /// What the shelf fills in or adds to, or the stay that the places fill in: on a list the list, on a form or on a
    /// line of the Bench the item. Nothing where neither has anything for what is focused.
    #[must_use]
    pub fn shelf_target(&self) -> Option<FieldPath> {
        let focus = self.focus()?;
        if focus.is_within(&"bank".into()) {
            return Some("bank".into());
        }
        let is_row = self.page().is_some()
            && matches!(self.form_row(), Some(form::Row::Item { .. } | form::Row::Link { .. } | form::Row::Add { .. }));
        let section = focus.segments().next().unwrap_or_default();
        let at = match section {
            "stays" => self.item().filter(|at| at.segments().count() == 2)?,
            _ if !form::SHELVED.contains(&section) => return None,
            _ if is_row => self.list()?,
            _ => self.item()?,
        };
        (at.segments().count() <= 2).then_some(at)
    }

    /// Whether a field is open that nothing was typed in yet and whose item the shelf or the places can fill in.
    fn is_shelf_field(&self) -> bool {
        let is_untouched = self.field.as_ref().is_some_and(|field| !field.touched);
        let is_one = |at: FieldPath| at.as_str() == "bank" || at.segments().count() == 2;
        is_untouched
            && self.context() == Context::Field
            && self.overlay.is_none()
            && self.shelf_target().is_some_and(is_one)
    }

    /// Whether the focused thing's choices are a ladder: gauges, wirings, controllers, batteries.
    fn has_ladder(&self) -> bool {
        let Some((focus, document)) = self.focus().zip(self.document.as_ref()) else { return false };
        let Shown { plan, report } = document.shown();
        let mut segments = focus.segments();
        let (list, id, field) = (segments.next(), segments.next().unwrap_or_default(), segments.next());
        match list {
            Some("bank") => plan.arrays.iter().any(|a| a.state.stays() && !a.strings.0.is_empty()),
            Some("arrays") => plan.arrays.iter().any(|a| a.id.as_str() == id && !a.strings.0.is_empty()),
            Some("controllers") => plan.controllers.iter().any(|c| c.id.as_str() == id),
            Some("runs") => plan.runs.iter().find(|run| run.id.as_str() == id).is_some_and(|run| {
                let has_known = || report.runs.iter().any(|r| r.id == run.id && r.fuse_min_a.is_ok());
                let is_wanted = || crate::engine::wants_fuse(plan, &run.id) && has_known();
                field != Some("protection") || !run.protection.is_empty() || is_wanted()
            }),
            _ => false,
        }
    }

    /// Whether what is open has more lines than are shown.
    fn has_more(&self) -> bool {
        let rows = layout::overlay_lines(self.size);
        match &self.overlay {
            Some(Overlay::Seasons(view)) => {
                let (lines, rows) = view::seasons_lines(self, view);
                lines > rows
            }
            Some(Overlay::Working(view)) => view::working_lines(self, view) > rows,
            Some(Overlay::Finding(view)) => view::finding_lines(self, view) > rows,
            Some(Overlay::Help { .. }) => view::help_lines(self) > rows,
            Some(Overlay::About { over, .. }) => view::about_lines(self, over) > rows,
            Some(Overlay::Messages { .. }) => view::message_lines(self) > rows,
            Some(over @ (Overlay::Ladder(_) | Overlay::Sizing(_) | Overlay::Isolation(_))) => {
                let (lines, room) = view::below_rows(self, over);
                lines > room
            }
            _ => false,
        }
    }

    /// Whether a hint is worth showing now.
    #[must_use]
    pub fn holds(&self, when: crate::tui::keymap::When) -> bool {
        use crate::tui::keymap::When;
        match when {
            When::Always => true,
            When::Never => false,
            When::OnRun => !self.is_on_findings() && self.run().is_some(),
            When::OnLadder => !self.is_on_findings() && self.has_ladder(),
            When::OnBench => !self.is_on_findings() && (self.run().is_some() || self.is_on_bench()),
            When::OnRuns => self.holds(When::OnBench) && self.plan().is_some_and(|plan| !plan.runs.is_empty()),
            When::OnUndo => self.document.as_ref().is_some_and(|d| d.undo_names().next().is_some()),
            When::OnUnknown => self.document.as_ref().is_some_and(|d| {
                let shown = d.shown();
                !form::unknowns(&shown.plan, &shown.report.unknown).is_empty()
            }),
            When::OnField => {
                self.focus().zip(self.plan()).is_some_and(|(at, plan)| match plan.meta(&at) {
                    Some(meta) => is_stepped(meta),
                    None => self.pages.is_empty(),
                }) && !self.is_on_findings()
                    && !(self.is_on_bench() && self.bench.pane != Pane::Runs)
            }
            When::OnLoad => self.item().is_some_and(|at| at.is_within(&"loads".into())),
            When::OnItem => self.item().is_some(),
            When::OnAddition => match self.is_on_findings() {
                true => self.is_cured(),
                false => self.item().is_some() || self.list().is_some(),
            },
            When::OnEmptyText => self.takes_letters(),
            When::OnText => self.takes_capitals() || self.choice_row().is_some_and(|at| !self.is_dropped(&at)),
            When::OnWords => self.takes_words(),
            When::OnDigits => self.takes_digits(),
            When::OnNumber => self.context() == Context::Browsing && self.is_on_number(),
            When::OnShelf => self.shelf_target().is_some(),
            When::OnShelfField => self.is_shelf_field(),
            When::OnShelfList => {
                matches!(&self.overlay, Some(Overlay::Pick(Pick { what: PickWhat::Shelf(_), .. })))
            }
            When::OnMore => self.has_more(),
            When::OnStays => self.plan().is_some_and(|plan| plan.stays.len() > 1),
            When::OnFuseLadder => {
                matches!(&self.overlay, Some(Overlay::Ladder(Ladder { of: LadderOf::Fuse(..), .. })))
            }
            When::OnFinding => match &self.overlay {
                None => self.is_on_findings() && self.finding_at().is_some(),
                Some(over) => matches!(over, Overlay::Finding(_)),
            },
            When::OnRunFinding => {
                matches!(&self.overlay, Some(Overlay::Finding(view)) if view.finding.subject.is_within(&"runs".into()))
            }
            When::OnRuleFinding => {
                matches!(&self.overlay, Some(Overlay::Finding(view)) if !crate::engine::rules_of(&view.finding).is_empty())
            }
            When::OnCure => matches!(&self.overlay, Some(Overlay::Finding(view)) if !view.cures.is_empty()),
            When::OnChoice => self.overlay.as_ref().is_some_and(Overlay::is_chosen_from),
            When::OnSubject => {
                matches!(self.overlay, Some(Overlay::Finding(_) | Overlay::Working(_) | Overlay::Isolation(_)))
            }
            When::OnSoundShop => self.shop.as_ref().is_some_and(|shop| shop.broken.is_none()),
            When::OnEmptyShop => self.shop.as_ref().is_some_and(|shop| shop.offers_starter()),
            When::OnRunLadder => matches!(
                &self.overlay,
                Some(Overlay::Ladder(Ladder { of: LadderOf::Gauge(_) | LadderOf::Fuse(..), .. }))
            ),
            When::OnGoal => matches!(&self.overlay, Some(Overlay::Ladder(Ladder { of: LadderOf::Goal(_), .. }))),
            When::OnGoalStays => self.holds(When::OnGoal) && self.holds(When::OnStays),
            When::OnSizing => matches!(self.overlay, Some(Overlay::Sizing(_))),
        }
    }

    /// The plan on screen; where the open field, or the focused cell of the Bench, is that of a thing which comes with what is
    /// typed, with that thing.
    #[must_use]
    pub fn whole_plan(&self) -> Option<Cow<'_, Plan>> {
        let plan = self.plan()?;
        let at = self.focus().filter(|at| plan.meta(at).is_none());
        let prelude = match (&self.field, at) {
            (Some(field), Some(_)) => field.prelude.clone(),
            (None, Some(_)) if self.is_on_bench() && self.bench.pane == Pane::Runs => self.cell()?.prelude,
            _ => Vec::new(),
        };
        let whole = Some(prelude).filter(|p| !p.is_empty());
        let whole = whole.and_then(|edits| plan.with(&Step { name: String::new(), edits }).ok());
        Some(whole.map_or(Cow::Borrowed(plan), Cow::Owned))
    }

    /// Whether leaving now would lose nothing, nor ask.
    #[must_use]
    pub fn has_nothing_unsaved(&self) -> bool {
        self.document.as_ref().is_none_or(|d| !d.is_dirty() && !d.is_draft())
    }
}

/// Whether a field has a next size at all.
fn is_stepped(meta: &Meta) -> bool {
    matches!(meta.kind, Kind::Gauge | Kind::Words(_) | Kind::Ref(_) | Kind::Number { .. })
}
