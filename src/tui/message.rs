//! What reaches the update loop, and what it asks the world to do.

use std::path::PathBuf;
use std::sync::Arc;

use crossterm::event::KeyEvent;

use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::{LadderOf, Rung};
use crate::plan::Plan;
use crate::stock::{Stock, Truck};
use crate::tui::shop::TruckFile;

/// Everything that can happen to the model: one closed list, one channel.
#[derive(Debug)]
pub enum Message {
    /// A key was pressed (never a release).
    Key(KeyEvent),
    /// The Esc just before was the beginning of the key that follows.
    NoEsc,
    /// Text was pasted; control characters are already stripped.
    Paste(String),
    /// The terminal has this many columns and rows now.
    Resize(u16, u16),
    /// A ladder's rungs, or part of them; dropped when the generation is not the newest asked for.
    Ladder { generation: u64, rungs: Vec<Rung>, complete: bool },
    /// What was asked beside the keys; dropped when it is no longer asked for.
    Looked { generation: u64, answer: Answer },
    /// A save ended: where the plan stands now, or what went wrong in words.
    Saved(Result<PathBuf, SaveFailure>),
    /// A plan was read, or what went wrong in words.
    Opened(Result<Box<Opened>, String>),
    /// Where the user stood in the plan when it was last left.
    Stood(String),
    /// The truck stock as its file has it.
    Truck(TruckFile),
    /// The truck stock was saved: what its file holds now, or what went wrong in words.
    TruckSaved(Result<Box<Truck>, TruckFailure>),
    /// The shelf was saved, or what went wrong in words.
    StockSaved(Result<(), String>),
    /// The recovery copy could not be written; shown until it can.
    RecoveryFailed(String),
    /// A further recovery copy is to be decided on: the plan, and what it is (time, file) in words.
    Recovery(Box<Copy>, String),
    /// After a failure the recovery copy is written again.
    RecoveryKept,
    /// The papers were written to a folder, or what went wrong.
    Written(Result<PathBuf, String>),
    /// That folder has papers: nothing is written before it was asked.
    PapersThere(PathBuf),
    /// The terminal is gone or the system asks to end: leave, keeping the recovery copy.
    HangUp,
    /// Back from suspension: draw everything anew.
    Resumed,
}

/// Why the truck stock was not saved.
#[derive(Clone, Debug)]
pub enum TruckFailure {
    /// Its file holds something else than it was read as: what it holds now, none where it is gone.
    Changed(Option<Box<Truck>>),
    /// In words.
    Failed(String),
}

/// A plan read from disk, with what the update loop needs to know of its file.
#[derive(Debug)]
pub struct Opened {
    pub plan: Plan,
    /// `None` for a sample or a blank plan that has no file yet.
    pub path: Option<PathBuf>,
    /// Who else has it open: then it is read only until taken over.
    pub locked_by: Option<String>,
    /// A recovery copy newer than the file, and what it is (time, size) in words.
    pub recovery: Option<(Box<Copy>, String)>,
    /// Said on the message line.
    pub remark: Option<String>,
}

/// A recovery copy: the plan, and the steps that led to it, newest first, each with the plan before it.
#[derive(Clone, Debug)]
pub struct Copy {
    pub plan: Plan,
    pub past: Vec<(String, Arc<Plan>)>,
    /// Steps taken back, next first, each with the plan after it.
    pub undone: Vec<(String, Arc<Plan>)>,
}

impl From<Plan> for Copy {
    fn from(plan: Plan) -> Self {
        Self { plan, past: Vec::new(), undone: Vec::new() }
    }
}

/// Why a plan was not saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SaveFailure {
    /// The file on disk is not the one that was opened: ask before replacing it. What the plan has otherwise, where it is one.
    ChangedOnDisk(PathBuf, Vec<String>),
    /// A file of that name exists: ask before replacing it. The same of it.
    Exists(PathBuf, Vec<String>),
    /// In words: what, where, what to do.
    Failed(PathBuf, String),
}

/// What the update loop asks for; performed outside, answered by a message.
#[derive(Debug)]
pub enum Effect {
    /// Leave the program. The recovery copy is removed when `clean`.
    Quit { clean: bool },
    /// Write the plan. `replace`: even if it changed on disk or exists.
    Save { plan: Arc<Plan>, path: PathBuf, replace: bool },
    /// Read a plan file, a sample by name, or a blank plan.
    Open(OpenWhat),
    /// Compute the harvest columns of a ladder on the worker.
    Ladder { generation: u64, shown: Shown, of: LadderOf, rungs: Vec<Rung> },
    /// Answer a question about what is shown, beside the keys.
    Look { generation: u64, shown: Shown, question: Question },
    /// Write the shelf.
    SaveStock(Arc<Stock>),
    /// Read the truck stock's file.
    OpenTruck,
    /// Write the truck stock, if its file still holds what it was read as.
    SaveTruck { truck: Box<Truck>, was: Option<Box<Truck>> },
    /// Write the papers of a plan of that name to a folder. `replace`: even if it has some.
    Papers { plan: Arc<Plan>, name: String, folder: PathBuf, replace: bool },
    /// Forget the recovery copy: declined.
    DropRecovery,
    /// The recovery copy is on screen: it is the plan's own from now on.
    TakenUp,
    /// Stop in the manner of job control.
    Suspend,
    /// Send every cell anew.
    Redraw,
}

/// What to open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OpenWhat {
    File(PathBuf),
    Sample(String),
    Blank,
}
