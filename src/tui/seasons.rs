//! The opened year: which page, which stay and month, and which of the stay's fields is marked.

use crate::document::look::Question;
use crate::engine::Report;
use crate::engine::report::MonthFigures;
use crate::plan::{FieldPath, Plan};

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
        beside(&Self::ALL, self, next)
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

    /// Its place among the pages, from 1, and how many there are.
    #[must_use]
    pub fn place(self) -> (usize, usize) {
        (Self::ALL.iter().position(|p| *p == self).unwrap_or(0) + 1, Self::ALL.len())
    }
}

/// A field of the stay that can be changed on the year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhatIf {
    Tilt,
    Heading,
    Driving,
}

impl WhatIf {
    /// In the order shown.
    pub const ALL: [Self; 3] = [Self::Tilt, Self::Heading, Self::Driving];

    /// The field after this one, or before; they go round.
    #[must_use]
    pub fn beside(self, next: bool) -> Self {
        beside(&Self::ALL, self, next)
    }

    /// Its key in the stay, its label, and what is said where it is left out.
    #[must_use]
    pub fn about(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Self::Tilt => ("tilt_deg", "tilt", "0"),
            Self::Heading => ("heading_deg", "toward", "any"),
            Self::Driving => ("drive_h_day", "driving", "none"),
        }
    }
}

/// The one after, or before, of some that go round.
fn beside<T: Copy + PartialEq>(all: &[T], here: T, next: bool) -> T {
    let at = all.iter().position(|x| *x == here).unwrap_or(0);
    let step = if next { 1 } else { all.len().saturating_sub(1) };
    all.get((at + step) % all.len().max(1)).copied().unwrap_or(here)
}

/// The year opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SeasonsView {
    pub page: YearPage,
    /// The stay whose fields can be changed, by its place in the plan.
    pub stay: usize,
    /// The field that is marked.
    pub field: WhatIf,
    /// The month whose days are looked at.
    pub month: usize,
    /// First line shown.
    pub scroll: usize,
}

impl SeasonsView {
    /// The field that is marked.
    #[must_use]
    pub fn focus(&self, plan: &Plan) -> Option<FieldPath> {
        let stay = plan.stays.get(self.stay)?;
        Some(FieldPath::from("stays").join(&stay.id).join(self.field.about().0))
    }

    /// What the page needs beside the report, one after the other.
    #[must_use]
    pub fn questions(&self, plan: &Plan, report: &Report) -> Vec<Question> {
        let spread = || report.year.months.get(self.month)?.spread_wh_day.as_ref().ok();
        let asked = match self.page {
            YearPage::TypicalDay => spread().map(|s| Question::Day(s.typical_day)),
            YearPage::DarkDay => spread().map(|s| Question::Day(s.dull_day)),
            YearPage::DullSpell => Some(Question::Repeats),
            YearPage::Table => {
                let ways = plan.toward_any().next().is_some().then_some(Question::Ways);
                return [may_be_made_up(plan, report).then_some(Question::MadeUp), ways]
                    .into_iter()
                    .flatten()
                    .collect();
            }
            YearPage::Limits => Some(Question::Reliefs),
            YearPage::Picture => None,
        };
        asked.into_iter().collect()
    }
}

/// Whether some load goes short in a plan with a charger that is not the sun's.
#[must_use]
pub fn may_be_made_up(plan: &Plan, report: &Report) -> bool {
    let short = |m: &MonthFigures| m.shortfall_wh_day.as_ref().is_ok_and(|wh| wh.0 >= 0.5);
    plan.chargers.iter().any(|c| c.state.stays()) && report.year.months.iter().any(short)
}

/// The month with the largest shortfall of those wanted, or else the darkest; none where none is wanted.
#[must_use]
pub fn worst_month(report: &Report, wanted: impl Fn(&MonthFigures) -> bool) -> Option<usize> {
    let months = || report.year.months.iter().enumerate().filter(|(_, m)| wanted(m));
    let short = |m: &MonthFigures| m.shortfall_wh_day.as_ref().map_or(0.0, |w| w.0);
    let dark = |m: &MonthFigures| m.harvest_wh_day.as_ref().map_or(0.0, |w| -w.0);
    let lacks = months().any(|(_, m)| short(m) > 0.0);
    let of = |m: &MonthFigures| if lacks { short(m) } else { dark(m) };
    months().max_by(|a, b| of(a.1).total_cmp(&of(b.1))).map(|(i, _)| i)
}
