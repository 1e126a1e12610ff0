//! Small composite leaves: months, twelve numbers, strings of panels, lines of text.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::field::{Leaf, Value};
use super::path::Id;

/// English month abbreviations.
pub const MONTH_NAMES: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// A set of months; bit 0 is January.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Months(pub u16);

impl Months {
    /// All twelve.
    pub const ALL: Self = Self(0x0fff);

    /// The same seasons on the other side of the equator: half a year on.
    #[must_use]
    pub fn half_a_year_on(self) -> Self {
        Self((self.0 << 6 | self.0 >> 6) & Self::ALL.0)
    }

    /// Whether a month (0 = January) is in the set.
    #[must_use]
    pub fn has(self, month: usize) -> bool {
        self.0 & (1 << month) != 0
    }
}

impl Default for Months {
    fn default() -> Self {
        Self::ALL
    }
}

impl fmt::Display for Months {
    /// `all`, `none`, or runs joined by commas: `Nov-Mar, Jul`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if *self == Self::ALL {
            return f.pad("all");
        }
        if self.0 == 0 {
            return f.pad("none");
        }
        let mut runs = Vec::new();
        for (start, name) in MONTH_NAMES.iter().enumerate() {
            if self.has(start) && !self.has((start + 11) % 12) {
                let length = (1..12).find(|n| !self.has((start + n) % 12)).unwrap_or(12);
                let last = (start + length - 1) % 12;
                runs.push(match length {
                    1 => (*name).to_string(),
                    _ => format!("{name}-{}", MONTH_NAMES[last]),
                });
            }
        }
        f.pad(&runs.join(", "))
    }
}

impl FromStr for Months {
    type Err = String;

    fn from_str(s: &str) -> Result<Self, String> {
        const ACCEPTED: &str = "months as \"Nov-Mar\", \"11-3\", \"Jun Jul\", \"6 7 8\", \"all\" or \"none\"";
        let low = s.trim().to_ascii_lowercase().replace(" to ", "-").replace('\u{2013}', "-");
        let low = low.split('-').map(str::trim).collect::<Vec<_>>().join("-");
        match low.as_str() {
            "all" => return Ok(Self::ALL),
            "none" => return Ok(Self(0)),
            "" => return Err(format!("write {ACCEPTED}")),
            _ => {}
        }
        let month = |word: &str| -> Result<usize, String> {
            if let Ok(n) = word.parse::<usize>() {
                return if (1..=12).contains(&n) {
                    Ok(n - 1)
                } else {
                    Err(format!("{word:?} is no month; write {ACCEPTED}"))
                };
            }
            MONTH_NAMES
                .iter()
                .position(|m| word.len() >= 3 && word.starts_with(&m.to_ascii_lowercase()))
                .ok_or_else(|| format!("{word:?} is no month; write {ACCEPTED}"))
        };
        let mut bits = 0;
        for part in low.split([',', ' ', ';']).filter(|p| !p.is_empty()) {
            let (first, last) = match part.split_once('-') {
                Some((a, b)) => (month(a)?, month(b)?),
                None => (month(part)?, month(part)?),
            };
            let length = (last + 12 - first) % 12;
            for n in 0..=length {
                bits |= 1 << ((first + n) % 12);
            }
        }
        Ok(Self(bits))
    }
}

/// Twelve numbers, January first.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Monthly(pub [f64; 12]);

impl fmt::Display for Monthly {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0.map(|x| x.to_string()).join(" "))
    }
}

impl FromStr for Monthly {
    type Err = String;

    fn from_str(s: &str) -> Result<Self, String> {
        let mut out = [0.0; 12];
        let words: Vec<&str> = s.split([' ', ',', ';']).filter(|w| !w.is_empty()).collect();
        if words.len() != 12 {
            return Err(format!("twelve numbers, January first, are needed; {} found", words.len()));
        }
        for (slot, word) in out.iter_mut().zip(&words) {
            *slot = word.parse::<f64>().map_err(|_| format!("{word:?} is no number; twelve numbers, January first"))?;
            if !(*slot).is_finite() {
                return Err(format!("{word:?} is not finite; twelve numbers, January first"));
            }
        }
        Ok(Self(out))
    }
}

/// The strings of an array, each a list of panel types in series.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Strings(pub Vec<Vec<Id>>);

impl Strings {
    /// Panels in all.
    #[must_use]
    pub fn panels(&self) -> usize {
        self.0.iter().map(Vec::len).sum()
    }

    /// Panels in the longest string.
    #[must_use]
    pub fn series(&self) -> usize {
        self.0.iter().map(Vec::len).max().unwrap_or(0)
    }

    /// Whether every string is the same number of the same panel.
    #[must_use]
    pub fn alike(&self) -> Option<&Id> {
        let first = self.0.first()?.first()?;
        let n = self.0.first()?.len();
        self.0.iter().all(|s| s.len() == n && s.iter().all(|p| p == first)).then_some(first)
    }
}

impl fmt::Display for Strings {
    /// `3S2P P1` where all are alike, else `P1+P1 | P1+P2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(panel) = self.alike() {
            return f.pad(&format!("{}S{}P {panel}", self.series(), self.0.len()));
        }
        let strings: Vec<String> =
            self.0.iter().map(|s| s.iter().map(Id::as_str).collect::<Vec<_>>().join("+")).collect();
        f.pad(&strings.join(" | "))
    }
}

impl FromStr for Strings {
    type Err = String;

    fn from_str(s: &str) -> Result<Self, String> {
        const ACCEPTED: &str = "strings as \"3S2P P1\" (series, parallel, panel), or \"P1+P1 | P1+P2\"";
        let text = s.trim();
        if text.is_empty() {
            return Ok(Self::default());
        }
        if let Some((layout, panel)) = text.split_once(' ')
            && let Some((series, parallel)) = short_layout(layout)
        {
            let panel: Id = panel.trim().parse()?;
            return Ok(Self(vec![vec![panel; series]; parallel]));
        }
        if short_layout(text).is_some() {
            return Err(format!("{text:?} does not say which panel; write {ACCEPTED}"));
        }
        if let Some((layout, panel)) = text.split_once(' ')
            && layout.starts_with(|c: char| c.is_ascii_digit())
            && !panel.contains(['|', '+'])
            && layout.chars().all(|c| c.is_ascii_digit() || matches!(c, 's' | 'S' | 'p' | 'P'))
        {
            return Err(format!(
                "{layout:?} is no layout: 1 to 200 in series and in parallel, 200 panels at most; write {ACCEPTED}"
            ));
        }
        let strings = text
            .split('|')
            .map(|string| string.split('+').map(|p| p.trim().parse::<Id>()).collect::<Result<Vec<_>, _>>())
            .collect::<Result<Vec<_>, _>>()
            .map_err(|e| format!("{e}; write {ACCEPTED}"))?;
        if strings.iter().map(Vec::len).sum::<usize>() > 200 {
            return Err("at most 200 panels in an array".into());
        }
        Ok(Self(strings))
    }
}

/// Series and parallel counts of `3S2P`, `4S`, `4P`, at most 200 panels; none of nothing.
pub fn short_layout(text: &str) -> Option<(usize, usize)> {
    if text.is_empty() {
        return None;
    }
    let low = text.to_ascii_lowercase();
    let (series, rest) = match low.split_once('s') {
        Some((n, rest)) => (n.parse().ok()?, rest),
        None => (1, low.as_str()),
    };
    let parallel = if rest.is_empty() { 1 } else { rest.strip_suffix('p')?.parse().ok()? };
    ((1..=200).contains(&series) && (1..=200).contains(&parallel) && series * parallel <= 200)
        .then_some((series, parallel))
}

/// Lines of text.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Lines(pub Vec<String>);

macro_rules! text_leaves {
    ($($t:ty, $left_out:expr;)*) => {$(
        impl Serialize for $t {
            fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> { s.collect_str(self) }
        }
        impl<'de> Deserialize<'de> for $t {
            fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let s = <std::borrow::Cow<'de, str>>::deserialize(d)?;
                s.parse().map_err(serde::de::Error::custom)
            }
        }
        impl Leaf for $t {
            fn to_value(&self) -> Value { Value::Text(self.to_string()) }
            fn from_value(value: Value) -> Result<Self, String> {
                match value {
                    Value::Text(s) => s.parse(),
                    _ => Err("text is needed here".into()),
                }
            }
            fn left_out(&self) -> bool { $left_out(self) }
        }
    )*};
}
text_leaves! {
    Months, |_: &Months| false;
    Monthly, |_: &Monthly| false;
    Strings, |_: &Strings| false;
}

impl Leaf for Lines {
    fn to_value(&self) -> Value {
        Value::Text(self.0.join("\n"))
    }
    fn from_value(value: Value) -> Result<Self, String> {
        match value {
            Value::Text(s) if s.is_empty() => Ok(Self::default()),
            Value::Text(s) => Ok(Self(s.split('\n').map(str::to_string).collect())),
            _ => Err("lines of text are needed here".into()),
        }
    }
    fn left_out(&self) -> bool {
        self.0.is_empty()
    }
}
