//! Lugs: which holes they are usually made with, by the conductor they take.

use std::fmt;

use super::conductor::Gauge;
use super::source::{Source, Standing};

/// Holes that lugs are usually made with.
/// Source: makers' usual ranges, from memory.
pub static USUAL_LUGS: Source = Source::new("lugs", "gauge and usual stud", Standing::FromMemory);

/// A stud or screw of a terminal, by its diameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stud {
    No8,
    No10,
    Quarter,
    FiveSixteenths,
    ThreeEighths,
    Half,
}

/// Names of studs: in inches, then the metric size that shares its lugs.
/// Source: common practice: #8 and M4, #10 and M5, 1/4 and M6, 5/16 and M8, 3/8 and M10, 1/2 and M12.
const STUDS: [(Stud, &str, &str); 6] = [
    (Stud::No8, "#8", "M4"),
    (Stud::No10, "#10", "M5"),
    (Stud::Quarter, "1/4", "M6"),
    (Stud::FiveSixteenths, "5/16", "M8"),
    (Stud::ThreeEighths, "3/8", "M10"),
    (Stud::Half, "1/2", "M12"),
];

/// Smallest and largest stud that lugs of a gauge are usually made for; every one between them is usual too.
/// Source: makers' usual ranges, from memory ([`USUAL_LUGS`]).
const USUAL: [(Gauge, Stud, Stud); 7] = [
    // 8 AWG
    (Gauge::Awg(5), Stud::No10, Stud::FiveSixteenths),
    // 6 AWG
    (Gauge::Awg(6), Stud::No10, Stud::ThreeEighths),
    // 4 AWG
    (Gauge::Awg(7), Stud::Quarter, Stud::ThreeEighths),
    // 2 AWG
    (Gauge::Awg(9), Stud::Quarter, Stud::ThreeEighths),
    // 1/0 AWG
    (Gauge::Awg(11), Stud::FiveSixteenths, Stud::Half),
    // 2/0 AWG
    (Gauge::Awg(12), Stud::FiveSixteenths, Stud::Half),
    // 4/0 AWG
    (Gauge::Awg(14), Stud::FiveSixteenths, Stud::Half),
];

impl Stud {
    /// The stud a text names: `M8`, `5/16`, `5/16-18 studs`, `3/8"`. None where it names none of these.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        if text.is_empty() {
            return None;
        }
        let words = text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '/' || c == '#'));
        let of = |word: &str| STUDS.iter().find(|(_, inch, metric)| word == *inch || word.eq_ignore_ascii_case(metric));
        words.filter_map(of).map(|(stud, ..)| *stud).next()
    }
}

impl fmt::Display for Stud {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match STUDS.iter().find(|(stud, ..)| stud == self) {
            Some((_, inch, metric)) => write!(f, "{inch} ({metric})"),
            None => Ok(()),
        }
    }
}

/// Studs that lugs for a conductor are usually made for, smallest first. None where the table has no row for it: thin
/// wire, metric sizes and sizes between.
///
/// Source: makers' usual ranges, from memory ([`USUAL_LUGS`]).
#[must_use]
pub fn usual_studs(gauge: Gauge) -> Option<Vec<Stud>> {
    let row = USUAL.iter().find(|(of, ..)| *of == gauge)?;
    Some(STUDS.iter().map(|(stud, ..)| *stud).filter(|s| (row.1..=row.2).contains(s)).collect())
}
