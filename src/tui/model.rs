//! Everything the full screen remembers. Only `update` changes it; `view` reads it.

mod closed;
mod hints;
mod over;
mod stood;

use std::path::PathBuf;
use std::sync::Arc;

use crate::document::Document;
use crate::engine::Finding;
use crate::plan::{Edit, FieldPath, Id, ItemPath, ListPath, Plan};
use crate::stock::Stock;
use crate::tui::bench::{self, Column};
use crate::tui::choice::ChoiceList;
use crate::tui::form::{self, Page};
use crate::tui::keymap::Context;
use crate::tui::late::Late;
use crate::tui::line_edit::LineEdit;
use crate::tui::message::{OpenWhat, Opened};
use crate::tui::offer;
use crate::tui::shop::Shop;
use crate::tui::theme::{Palette, Theme};
use crate::wording::findings::{self, Entry};

pub use closed::Closed;
pub use over::{
    After, Answer, Awaited, Confirm, FindingView, IsolationView, Ladder, Overlay, Pick, PickWhat, Prompt, PromptWhat,
    Sizing, Then, WorkingView,
};

/// What the program starts with.
#[derive(Debug, Default)]
pub struct Start {
    /// The plan named on the command line.
    pub opened: Option<Opened>,
    /// Plans opened lately, latest first.
    pub recent: Vec<PathBuf>,
    /// Samples: name and a sentence about each.
    pub samples: Vec<(String, String)>,
    pub stock: Arc<Stock>,
    pub palette: Option<Palette>,
    /// Lines in ASCII.
    pub ascii: bool,
    /// Columns and rows of the terminal.
    pub size: (u16, u16),
    /// Today's date, as written into accepted findings; empty where not known.
    pub today: String,
}

/// The panes of the Bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pane {
    Equipment,
    Results,
    Runs,
}

/// Where the cursor stands on the Bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BenchState {
    pub pane: Pane,
    /// Row of the equipment.
    pub equipment: usize,
    /// First line of the results shown.
    pub results: usize,
    /// Row of the runs.
    pub run: usize,
    pub column: Column,
}

/// A field being typed in.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenField {
    pub at: FieldPath,
    /// Edits that make the field exist (a leg for a length, a fuse for its rating).
    pub prelude: Vec<Edit>,
    pub line: LineEdit,
    /// Whether anything was typed.
    pub touched: bool,
    /// Whether it is a rule's value that became a changed one by being opened.
    pub is_new_rule: bool,
    /// Whether Enter was refused for the text that stands.
    pub is_refused: bool,
    /// How the text is understood, or why it is not.
    pub said: Result<String, String>,
    /// The list to pick from, where the field has many choices.
    pub list: Option<ChoiceList>,
}

/// A field that was left, or come to by a letter: letters are commands there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Left {
    pub at: FieldPath,
    /// Whether Esc left it: capitals are commands too then.
    pub by_esc: bool,
}

impl OpenField {
    /// What was typed, if anything: else the line still shows the value as it is.
    #[must_use]
    pub fn typed(&self) -> Option<&str> {
        (!self.line.is_fresh()).then(|| self.line.text())
    }

    /// The text that counts: the marked choice, else the line.
    #[must_use]
    pub fn meant(&self) -> String {
        let marked = self.list.as_ref().and_then(|list| list.marked(self.typed()));
        marked.unwrap_or_else(|| self.line.text().to_string())
    }
}

/// The model.
pub struct Model {
    pub document: Option<Document>,
    pub path: Option<PathBuf>,
    /// Who else has the plan open.
    pub locked_by: Option<String>,
    /// The numbered screen; 0 is the whole plan.
    pub screen: u8,
    pub bench: BenchState,
    /// Row of the findings, checks not run and unknowns.
    pub finding: usize,
    /// Pages of the form that stand over the screen, last on top.
    pub pages: Vec<Page>,
    pub field: Option<OpenField>,
    pub overlay: Option<Overlay>,
    /// What was said, newest last.
    pub messages: Vec<String>,
    /// Whether the newest message has been left behind by a later key.
    pub is_message_stale: bool,
    pub theme: Theme,
    pub size: (u16, u16),
    pub stock: Arc<Stock>,
    pub recent: Vec<PathBuf>,
    pub samples: Vec<(String, String)>,
    pub today: String,
    /// Row of the start screen.
    pub start: usize,
    /// Whether the walk-round goes on by itself after each answer.
    pub is_guided: bool,
    /// Fields that the walk-round has asked for and that were left unknown.
    pub passed: Vec<FieldPath>,
    /// The truck stock, while it is on screen.
    pub shop: Option<Shop>,
    /// The same as it was left: what undo goes back to. Where its last change is not in its file it is shown again, and
    /// asked about before the program is left.
    pub left_shop: Option<Shop>,
    /// Sizes for all runs that are worked out beside the keys.
    pub sizing: Option<Awaited>,
    /// What the key before, an Esc, may have closed.
    pub closed: Option<Box<Closed>>,
    /// The field where letters are commands until the cursor moves on.
    pub left: Option<Left>,
    /// Digits typed over a number's cell of the Bench, each of which has shown a screen.
    pub digits: String,
    /// Whether Tab walks only the unknowns.
    pub is_tab_on_unknowns: bool,
    /// Whether prices are hidden.
    pub are_prices_hidden: bool,
    /// The newest question asked of a worker.
    pub generation: u64,
    /// What was asked beside the keys.
    pub late: Late,
    /// Revision that is being saved.
    pub saving: Option<u64>,
    /// What follows a save.
    pub after: Option<After>,
    /// Said until a recovery copy can be written again.
    pub recovery_trouble: Option<String>,
    /// Whether the program has been asked to end.
    pub is_leaving: bool,
}

/// Messages kept.
const MESSAGES_KEPT: usize = 200;

impl Model {
    /// The model at the start.
    #[must_use]
    pub fn new(start: Start) -> Self {
        let mut model = Self {
            document: None,
            path: None,
            locked_by: None,
            screen: 1,
            bench: BenchState { pane: Pane::Runs, equipment: 0, results: 0, run: 0, column: Column::Gauge },
            finding: 0,
            pages: Vec::new(),
            field: None,
            overlay: None,
            messages: Vec::new(),
            is_message_stale: false,
            theme: Theme { palette: start.palette.unwrap_or(Palette::Plain), ascii: start.ascii },
            size: start.size,
            stock: start.stock,
            recent: start.recent,
            samples: start.samples,
            today: start.today,
            start: 0,
            is_guided: false,
            passed: Vec::new(),
            shop: None,
            left_shop: None,
            sizing: None,
            left: None,
            closed: None,
            digits: String::new(),
            is_tab_on_unknowns: false,
            are_prices_hidden: false,
            generation: 0,
            late: Late::default(),
            saving: None,
            after: None,
            recovery_trouble: None,
            is_leaving: false,
        };
        if let Some(opened) = start.opened {
            model.take(opened);
        }
        model
    }

    /// Puts an opened plan on screen.
    pub fn take(&mut self, opened: Opened) {
        let is_blank = opened.path.is_none() && opened.plan == self.stock.settings.blank_plan();
        self.document = Some(Document::new(opened.plan, Arc::clone(&self.stock)));
        self.path = opened.path;
        self.locked_by = opened.locked_by;
        self.screen = 1;
        self.pages.clear();
        self.field = None;
        self.overlay = None;
        self.finding = 0;
        self.bench = BenchState { pane: Pane::Runs, equipment: 0, results: 0, run: 0, column: Column::Gauge };
        self.is_guided = false;
        self.passed.clear();
        self.sizing = None;
        self.shop = None;
        if is_blank {
            self.bench.pane = Pane::Equipment;
            if opened.recovery.is_none() {
                self.say("g leads to the first answer: place, battery, panel, controller, array, wires");
            }
        }
        if let Some(path) = &self.path {
            self.recent.retain(|p| p != path);
            self.recent.insert(0, path.clone());
        }
        if let Some(remark) = &opened.remark {
            self.say(remark.clone());
        }
        if let Some(who) = &self.locked_by {
            self.say(format!("read only: open elsewhere ({who}); W saves a copy under another name"));
        }
        if let Some((copy, what)) = opened.recovery {
            offer::ask_of(self, copy, &what, opened.remark.as_deref());
        }
    }

    /// Says something on the message line.
    pub fn say(&mut self, text: impl Into<String>) {
        self.messages.push(text.into());
        if self.messages.len() > MESSAGES_KEPT {
            self.messages.remove(0);
        }
        self.is_message_stale = false;
    }

    /// What keys mean now.
    #[must_use]
    pub fn context(&self) -> Context {
        match &self.overlay {
            Some(Overlay::Pick(_) | Overlay::Prompt(_)) => Context::Typing,
            Some(Overlay::Confirm(_)) => Context::Asking,
            Some(Overlay::Seasons(_)) if self.field.is_some() => Context::Field,
            Some(Overlay::Seasons(_)) => Context::Year,
            Some(_) => Context::Overlay,
            None if self.shop.as_ref().is_some_and(|shop| shop.field.is_some()) => Context::Field,
            None if self.shop.is_some() => Context::Shop,
            None if self.document.is_none() => Context::Start,
            None if self.field.is_some() => Context::Field,
            None => Context::Browsing,
        }
    }

    /// The plan shown: the draft where there is one.
    #[must_use]
    pub fn plan(&self) -> Option<&Plan> {
        self.document.as_ref().map(|d| &*d.shown().plan)
    }

    /// The page of the form on top, if one is.
    #[must_use]
    pub fn page(&self) -> Option<&Page> {
        self.pages.last()
    }

    /// Whether the Bench itself is shown.
    #[must_use]
    pub fn is_on_bench(&self) -> bool {
        self.screen == 1 && self.pages.is_empty()
    }

    /// Whether a cell of a run is focused on the Bench.
    #[must_use]
    pub fn is_on_cell(&self) -> bool {
        self.is_on_bench() && self.bench.pane == Pane::Runs && self.bench.column != Column::Id
    }

    /// Whether that is the cell of a number: a length, a gauge, a fuse.
    #[must_use]
    pub fn is_on_number(&self) -> bool {
        self.is_on_cell() && self.bench.column >= Column::Length && self.run().is_some()
    }

    /// Whether the findings themselves are shown.
    #[must_use]
    pub fn is_on_findings(&self) -> bool {
        self.screen == 5 && self.pages.is_empty()
    }

    /// The focused row of the form, if a form is shown.
    #[must_use]
    pub fn form_row(&self) -> Option<form::Row> {
        let page = self.page()?;
        form::rows(self.plan()?, &page.place).into_iter().nth(page.cursor)
    }

    /// The field or item that is focused.
    #[must_use]
    pub fn focus(&self) -> Option<FieldPath> {
        if let Some(field) = &self.field {
            return Some(field.at.clone());
        }
        let plan = self.plan()?;
        if let Some(Overlay::Seasons(view) | Overlay::Help { over: Some(view), .. }) = &self.overlay {
            return view.focus(plan);
        }
        if self.page().is_some() {
            return self.form_row()?.path().cloned();
        }
        if self.is_on_findings() {
            return self.entry().map(|e| e.leads_to().clone());
        }
        match self.bench.pane {
            Pane::Equipment => bench::equipment(plan).get(self.bench.equipment).map(|e| e.at.clone()),
            Pane::Results => None,
            Pane::Runs => Some(self.cell()?.at),
        }
    }

    /// The field behind the cell that is marked on the Bench.
    #[must_use]
    pub fn cell(&self) -> Option<bench::Cell> {
        let run = self.plan()?.runs.get(self.bench.run)?;
        let is_minus =
            self.document.as_ref().and_then(|d| d.shown().report.runs.get(self.bench.run)).is_some_and(|f| f.is_minus);
        Some(bench::cell(self.plan()?, (run, is_minus), self.bench.column))
    }

    /// The item that is focused, for copying, moving, renaming, deleting.
    #[must_use]
    pub fn item(&self) -> Option<ItemPath> {
        let plan = self.plan()?;
        if let Some(page) = self.page() {
            return match self.form_row()? {
                form::Row::Item { at, .. } => Some(at),
                form::Row::Link { .. } | form::Row::Add { .. } => None,
                _ => match &page.place {
                    form::Place::Record(at) if at.segments().count() > 1 => Some(at.clone()),
                    _ => None,
                },
            };
        }
        match self.bench.pane {
            _ if !self.is_on_bench() => None,
            Pane::Equipment => bench::equipment(plan)
                .get(self.bench.equipment)
                .map(|e| e.at.clone())
                .filter(|at| at.as_str() != "bank"),
            Pane::Results => None,
            Pane::Runs => plan.runs.get(self.bench.run).map(|r| FieldPath::from("runs").join(&r.id)),
        }
    }

    /// The list that `add` adds to, where it is clear.
    #[must_use]
    pub fn list(&self) -> Option<ListPath> {
        if let Some(page) = self.page() {
            return match (self.form_row(), &page.place) {
                (Some(form::Row::Item { at, .. }), _) => Some(at.split_last().0),
                (Some(form::Row::Add { list }), _) => Some(list),
                (Some(form::Row::Link { place: form::Place::List(list), .. }), _) => Some(list),
                (_, form::Place::List(list)) => Some(list.clone()),
                (_, form::Place::Record(at)) if at.segments().count() > 1 => Some(at.split_last().0),
                _ => None,
            };
        }
        (self.is_on_bench() && self.bench.pane == Pane::Runs).then(|| FieldPath::from("runs"))
    }

    /// The run that is focused or that the focused field belongs to.
    #[must_use]
    pub fn run(&self) -> Option<Id> {
        let plan = self.plan()?;
        if self.is_on_bench() && self.bench.pane != Pane::Runs {
            return None;
        }
        let focus = self.focus()?;
        let mut segments = focus.segments();
        (segments.next() == Some("runs"))
            .then(|| segments.next())??
            .parse()
            .ok()
            .filter(|id| plan.runs.iter().any(|r| r.id == *id))
    }

    /// What the checks say, in the order of the screen.
    #[must_use]
    pub fn entries(&self) -> Vec<Entry<'_>> {
        let Some(document) = &self.document else { return Vec::new() };
        findings::entries(&document.shown().plan, &document.shown().report)
    }

    /// The focused line of the findings.
    #[must_use]
    pub fn entry(&self) -> Option<Entry<'_>> {
        self.entries().into_iter().nth(self.finding)
    }

    /// The focused finding.
    #[must_use]
    pub fn finding_at(&self) -> Option<&Finding> {
        self.entry()?.finding()
    }

    /// Which action a step on the start screen's row is: what it opens.
    #[must_use]
    pub fn start_choices(&self) -> Vec<(String, String, OpenWhat)> {
        let recent = self.recent.iter().map(|p| {
            let name = p.file_name().unwrap_or_default().to_string_lossy().into_owned();
            (name, p.display().to_string(), OpenWhat::File(p.clone()))
        });
        let samples = self.samples.iter().map(|(n, about)| (n.clone(), about.clone(), OpenWhat::Sample(n.clone())));
        let blank = (
            "blank plan".to_string(),
            "g leads through the walk-round to the first answer".to_string(),
            OpenWhat::Blank,
        );
        recent.chain(samples).chain([blank]).collect()
    }
}
