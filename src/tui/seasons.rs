//! The opened year: which page, which month, and what has arrived for it.

use crate::engine::report::{HourFigures, Repeats};
use crate::plan::Figure;

/// A page of the year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum YearPage {
    Table,
    Picture,
    Limits,
    TypicalDay,
    DarkDay,
    DullSpell,
}

impl YearPage {
    const ALL: [Self; 6] = [Self::Table, Self::Picture, Self::Limits, Self::TypicalDay, Self::DarkDay, Self::DullSpell];

    /// The page after this one, or before; they go round.
    #[must_use]
    pub fn beside(self, next: bool) -> Self {
        let here = Self::ALL.iter().position(|p| *p == self).unwrap_or(0);
        let step = if next { 1 } else { Self::ALL.len() - 1 };
        Self::ALL.get((here + step) % Self::ALL.len()).copied().unwrap_or(self)
    }

    /// What it shows.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Table => "months",
            Self::Picture => "harvest and load",
            Self::Limits => "what limits it",
            Self::TypicalDay => "typical day",
            Self::DarkDay => "dark day",
            Self::DullSpell => "dull spell",
        }
    }
}

/// The year opened.
#[derive(Clone, Debug)]
pub struct SeasonsView {
    pub page: YearPage,
    /// The month whose days are looked at.
    pub month: usize,
    pub hours: Figure<Vec<HourFigures>>,
    pub scroll: usize,
    pub generation: u64,
    /// None: not arrived yet.
    pub repeats: Option<Figure<Repeats>>,
}
