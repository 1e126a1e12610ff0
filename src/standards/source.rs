//! Where a number comes from, and how far it can be trusted.

use std::fmt;

/// How well a figure is established.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Read in the document or in a public page that quotes it.
    Verified,
    /// Follows from a published formula, evaluated here.
    Computed,
    /// What careful technicians do; no document.
    CommonPractice,
    /// Decided by whoever plans, or assumed by this program for want of a figure; no document.
    Chosen,
    /// Recalled, not checked against paper.
    FromMemory,
}

/// One citation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// The document, e.g. `NEC 2014`.
    pub document: &'static str,
    /// Table, section or equation; empty where there is none.
    pub place: &'static str,
    /// How well it is established.
    pub standing: Standing,
}

impl Source {
    /// A citation as a constant.
    #[must_use]
    pub const fn new(document: &'static str, place: &'static str, standing: Standing) -> Self {
        Self { document, place, standing }
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.document)?;
        if !self.place.is_empty() {
            write!(f, " {}", self.place)?;
        }
        f.write_str(match self.standing {
            Standing::Verified | Standing::Chosen => "",
            Standing::Computed => " (computed)",
            Standing::CommonPractice if self.document == "common practice" => "",
            Standing::CommonPractice => " (common practice)",
            Standing::FromMemory => " (from memory)",
        })
    }
}

/// What careful technicians do.
pub const COMMON_PRACTICE: Source = Source::new("common practice", "", Standing::CommonPractice);
