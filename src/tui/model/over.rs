//! What stands over the screen: lists, questions, texts, ladders, a finding, the year.

use std::path::PathBuf;

use crate::engine::sizing::{Proposal, Totals};
use crate::engine::{Finding, Isolation, LadderOf, Rung, Selection, Worked};
use crate::plan::{FieldPath, ItemPath, Step};
use crate::stock::{Found, Truck};
use crate::tui::line_edit::LineEdit;
use crate::tui::message::{Copy, OpenWhat};
use crate::tui::offer::LinesView;
use crate::tui::seasons::SeasonsView;

/// What stands over the screen.
#[derive(Clone, Debug)]
pub enum Overlay {
    /// `over`: the opened year that it was asked for from, and goes back to.
    Help {
        scroll: usize,
        over: Option<SeasonsView>,
    },
    /// What a box is about, over that box, and back to it.
    About {
        scroll: usize,
        over: Box<Overlay>,
    },
    Messages {
        scroll: usize,
    },
    Lines(LinesView),
    Pick(Pick),
    Prompt(Prompt),
    Confirm(Confirm),
    Ladder(Ladder),
    Sizing(Box<Sizing>),
    Finding(Box<FindingView>),
    Working(Box<WorkingView>),
    Isolation(IsolationView),
    Seasons(SeasonsView),
    History {
        cursor: usize,
    },
}

/// A list to pick from by typing.
#[derive(Clone, Debug)]
pub struct Pick {
    pub what: PickWhat,
    pub line: LineEdit,
    pub cursor: usize,
}

/// What is picked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PickWhat {
    /// An action.
    Action,
    /// What to add to the plan.
    Add,
    /// A rule to be changed: of those named, or of all where none is.
    Rule(Vec<&'static str>),
    /// A place for a stay.
    Place(ItemPath),
    /// A row of the shelf for an item, for a list, or, where the path is empty, for the plan.
    Shelf(FieldPath),
    /// A plan to open; the text itself is a path.
    Plan,
}

/// A text asked for.
#[derive(Clone, Debug)]
pub struct Prompt {
    pub what: PromptWhat,
    pub line: LineEdit,
    /// Why the text cannot be taken.
    pub problem: Option<String>,
}

/// What a text is asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum PromptWhat {
    SaveAs,
    /// The folder of the papers.
    Papers,
    Rename(ItemPath),
    /// Why a finding is accepted.
    Reason(Box<Finding>),
}

/// A question with a few answers.
#[derive(Clone, Debug)]
pub struct Confirm {
    pub question: String,
    pub answers: Vec<Answer>,
    pub cursor: usize,
}

/// An answer: its letter, its words, and what it does.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The answer's own key; [`Answer::BY_ARROWS`] where it has none.
    pub letter: char,
    pub words: &'static str,
    pub then: Then,
}

impl Answer {
    /// No key of its own: arrows mark it and Enter takes it, so that what is typed ahead does not choose it.
    pub const BY_ARROWS: char = '\0';
}

/// What an answer does.
#[derive(Clone, Debug)]
pub enum Then {
    Nothing,
    /// In the walk-round: applies, and goes on.
    Apply(Step),
    /// Puts a thing of the shelf into the plan, the cursor on its line, so that the next one is added below it.
    Take(Step),
    /// A ladder again, with its row and its stay.
    Climb(LadderOf, usize, usize),
    /// The walk-round goes on without an answer for a field.
    Pass(FieldPath),
    /// Puts equipment on the shelf.
    Shelve(ItemPath),
    /// Takes it off the shelf.
    Unshelve(Found),
    Save(PathBuf),
    SaveAs,
    /// Asks for a folder of the papers.
    Papers,
    /// Writes the papers over those of a folder.
    PapersOver(PathBuf),
    SaveThenQuit,
    SaveThenOpen(OpenWhat),
    Quit,
    Open(OpenWhat),
    Recover(Box<Copy>),
    /// Shows lines; the question stands again when they are closed.
    Read(Vec<String>),
    DropRecovery,
    /// Shows the truck stock that is not in its file yet.
    OpenTruck,
    /// Leaves without the truck stock's last change.
    DropTruck,
    /// Writes the truck stock over what its file holds now.
    TruckOver(Option<Box<Truck>>),
    /// Takes what the truck stock's file holds now; undo brings back what was on screen.
    TruckFrom(Option<Box<Truck>>),
}

/// What happens once the plan is saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum After {
    Quit,
    Open(OpenWhat),
}

/// A ladder: choices for one thing as rows.
#[derive(Clone, Debug)]
pub struct Ladder {
    pub of: LadderOf,
    pub generation: u64,
    pub rungs: Vec<Rung>,
    pub cursor: usize,
    /// Of sizing help: the stay that is put in or left out next, by its place in the plan.
    pub stay: usize,
    /// Whether every harvest has arrived.
    pub complete: bool,
    /// First line shown of what is said of the marked row.
    pub more: usize,
}

/// The sizing of all runs, shown as the document's draft.
#[derive(Clone, Debug)]
pub struct Sizing {
    pub proposal: Proposal,
    /// Of the baseline, where one is held.
    pub base: Option<Totals>,
    pub now: Totals,
    pub then: Totals,
    /// What the sized plan has against it that this one has not; empty where it has nothing new.
    pub brings: String,
    /// Whether only what is on the truck is proposed.
    pub truck_only: bool,
    pub cursor: usize,
    /// First line shown of what is said of the marked row.
    pub more: usize,
}

/// Sizes for all runs that are worked out beside the keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Awaited {
    /// Whether from the truck alone.
    pub truck_only: bool,
    /// Whether other keys were pressed since: they are not shown then before they are asked for.
    pub is_left: bool,
    /// Whether they are there.
    pub is_ready: bool,
}

/// A finding opened.
#[derive(Clone, Debug)]
pub struct FindingView {
    pub finding: Finding,
    pub cures: Vec<Step>,
    /// What was tried where nothing cures it; empty where nothing was.
    pub in_vain: String,
    /// The steps to its numbers, worked out when it was opened.
    pub working: Vec<String>,
    pub cursor: usize,
    /// First line shown.
    pub scroll: usize,
}

/// How a run's figures come about.
#[derive(Clone, Debug)]
pub struct WorkingView {
    pub worked: Worked,
    /// What the program would choose, and why.
    pub selection: Option<Selection>,
    pub scroll: usize,
}

/// Every switch and line fuse with what it makes dead.
#[derive(Clone, Debug)]
pub struct IsolationView {
    pub all: Vec<Isolation>,
    pub cursor: usize,
    /// First line shown of what is said of the marked one.
    pub more: usize,
}

impl Overlay {
    /// Whether Enter chooses something of it; an opened finding is cured by its own key.
    #[must_use]
    pub fn is_chosen_from(&self) -> bool {
        !matches!(
            self,
            Self::Finding(_)
                | Self::Help { .. }
                | Self::About { .. }
                | Self::Messages { .. }
                | Self::Lines(_)
                | Self::Working(_)
                | Self::Isolation(_)
        )
    }
}
