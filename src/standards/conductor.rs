//! Conductor sizes.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A conductor size, in the system it is sold in.
///
/// Written `"10 AWG"`, `"2/0 AWG"`, `"16 mm2"`. Only sizes that have a row in the tables exist:
/// AWG 18 to 4/0, IEC 60228 class 5 0.75 to 120 mm2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Gauge {
    /// Index into [`AWG`], thinnest first.
    Awg(u8),
    /// Index into [`MM2`], thinnest first.
    Mm2(u8),
}

/// AWG sizes, thinnest first.
/// Source: NEC Chapter 9 Table 8 (sizes 18 to 4/0, without those the trade does not stock).
pub const AWG: [&str; 15] = ["18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"];

/// Metric sizes, thinnest first.
/// Source: IEC 60228 class 5.
pub const MM2: [&str; 14] = ["0.75", "1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120"];

impl Gauge {
    /// Every size of the same system, thinnest first.
    pub fn ladder(self) -> impl DoubleEndedIterator<Item = Self> + Clone {
        let (awg, n) = match self {
            Self::Awg(_) => (true, AWG.len()),
            Self::Mm2(_) => (false, MM2.len()),
        };
        (0..n as u8).map(move |i| if awg { Self::Awg(i) } else { Self::Mm2(i) })
    }

    /// The next thicker size of the same system, if there is one.
    #[must_use]
    pub fn thicker(self) -> Option<Self> {
        self.ladder().find(|g| *g > self)
    }

    /// The next thinner size of the same system, if there is one.
    #[must_use]
    pub fn thinner(self) -> Option<Self> {
        self.ladder().rev().find(|g| *g < self)
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Awg(i) => f.pad(&format!("{} AWG", AWG[usize::from(*i)])),
            Self::Mm2(i) => f.pad(&format!("{} mm2", MM2[usize::from(*i)])),
        }
    }
}

impl FromStr for Gauge {
    type Err = String;

    /// Reads `10 AWG`, `10awg`, `2/0 awg`, `16 mm2`, `16mm2`; the system must be said.
    fn from_str(s: &str) -> Result<Self, String> {
        let low = s.trim().to_ascii_lowercase();
        let find = |table: &[&str], size: &str| table.iter().position(|t| *t == size.trim()).map(|i| i as u8);
        if let Some(size) = low.strip_suffix("awg") {
            find(&AWG, size)
                .map(Self::Awg)
                .ok_or_else(|| format!("{s:?} is no AWG size known here; sizes: {}", AWG.join(", ")))
        } else if let Some(size) = low.strip_suffix("mm2").or_else(|| low.strip_suffix("mm²")) {
            find(&MM2, size)
                .map(Self::Mm2)
                .ok_or_else(|| format!("{s:?} is no metric size known here; sizes in mm2: {}", MM2.join(", ")))
        } else {
            Err(format!("{s:?} does not say its system; write \"10 AWG\" or \"16 mm2\""))
        }
    }
}

impl Serialize for Gauge {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Gauge {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let s = <std::borrow::Cow<'de, str>>::deserialize(d)?;
        s.parse().map_err(serde::de::Error::custom)
    }
}
