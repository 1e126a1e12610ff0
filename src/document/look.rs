//! Questions about a plan that take longer than a key may, each with its own answer.

use std::sync::Arc;

use crate::engine::Engine;
use crate::engine::report::{HourFigures, MadeUp, Reliefs, Repeats, Ways, Worth};
use crate::engine::sizing::Proposal;
use crate::plan::{FieldPath, Figure, Id, Step};
use crate::stock::Stock;

use super::Shown;

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Question {
    /// The hours of a day of the year, 0 = the first of January.
    Day(usize),
    /// The plan under other skies.
    Repeats,
    /// What the next gauge up of a run brings.
    Worth(Id),
    /// The plan standing one way, where it is tilted toward any.
    Ways,
    /// What would serve the load that goes short.
    Reliefs,
    /// Hours of driving or generator that make up what goes short.
    MadeUp,
    /// What cures a finding, by its check and subject.
    Cures(&'static str, FieldPath),
    /// Sizes for all runs; whether from the truck alone.
    Sizes(bool),
}

/// Its answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    Day(Figure<Vec<HourFigures>>),
    Repeats(Figure<Repeats>),
    Worth(Figure<Worth>),
    Ways(Figure<Ways>),
    Reliefs(Figure<Reliefs>),
    MadeUp(Figure<MadeUp>),
    Cures(Vec<Step>),
    Sizes(Proposal),
}

impl Question {
    /// Questions of one kind take each other's place.
    #[must_use]
    pub fn kind(&self) -> usize {
        match self {
            Self::Day(_) => 0,
            Self::Repeats => 1,
            Self::Worth(_) => 2,
            Self::Ways => 3,
            Self::Reliefs => 4,
            Self::Cures(..) => 5,
            Self::MadeUp => 6,
            Self::Sizes(_) => 7,
        }
    }

    /// How many kinds there are.
    pub const KINDS: usize = 8;
}

/// A question with all it needs.
pub struct Look {
    /// Counts questions; an older one of the same kind is given up for a newer.
    pub generation: u64,
    /// A fork of the document's engine.
    pub engine: Engine,
    pub shown: Shown,
    pub stock: Arc<Stock>,
    pub question: Question,
}

impl Look {
    /// The answer; none where it is no longer wanted.
    pub fn answer(mut self, is_wanted: impl Fn() -> bool + Send + Sync + 'static) -> Option<Answer> {
        if !is_wanted() {
            return None;
        }
        let plan = &self.shown.plan;
        Some(match &self.question {
            Question::Day(day) => Answer::Day(self.engine.trace(plan, &self.stock, *day, 1)),
            Question::Repeats => Answer::Repeats(self.engine.repeats_while(plan, &self.stock, is_wanted)?),
            Question::Ways => Answer::Ways(self.engine.ways_while(plan, &self.stock, is_wanted)?),
            Question::Reliefs => {
                Answer::Reliefs(self.engine.reliefs_while(plan, &self.stock, &self.shown.report, is_wanted)?)
            }
            Question::MadeUp => {
                Answer::MadeUp(self.engine.made_up_while(plan, &self.stock, &self.shown.report, is_wanted)?)
            }
            Question::Cures(check, subject) => {
                let finding = self.shown.report.findings.iter().find(|f| f.identity() == (*check, subject))?;
                Answer::Cures(self.engine.cures_while(plan, &self.stock, finding, is_wanted)?)
            }
            Question::Sizes(truck_only) => {
                Answer::Sizes(self.engine.propose_sizes_while(plan, &self.stock, *truck_only, Arc::new(is_wanted))?)
            }
            Question::Worth(run) => Answer::Worth(self.engine.worth(plan, &self.stock, &self.shown.report, run)),
        })
    }
}
