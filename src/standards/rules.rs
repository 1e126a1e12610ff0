//! Every value a check compares with, as data: editable per plan with a reason.

use super::kinds::{Basis, Zone};
use super::source::{Source, Standing};

mod battery;
mod currents;
mod elsewhere;
mod protection;
mod roof;
mod wiring;

/// One rule value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Name in a plan's `rules`, kebab-case.
    pub id: &'static str,
    /// What it is called on screen.
    pub label: &'static str,
    /// Unit; `on/off` is 1 or 0.
    pub unit: &'static str,
    /// Value in US RV work.
    pub us_rv: f64,
    /// Value in marine practice.
    pub marine: f64,
    /// Value in metric work.
    pub metric: f64,
    /// Smallest value a plan may set.
    pub least: f64,
    /// Largest value a plan may set.
    pub most: f64,
    /// Where it stands in US RV work; under another basis as [`Self::source_of`] says.
    pub source: Source,
    /// What it decides.
    pub help: &'static str,
}

impl Rule {
    /// The value on a rule basis.
    #[must_use]
    pub const fn value(&self, basis: Basis) -> f64 {
        match basis {
            Basis::UsRv => self.us_rv,
            Basis::Marine => self.marine,
            Basis::Metric => self.metric,
        }
    }

    /// Where it stands under a rule basis.
    #[must_use]
    pub fn source_of(&self, basis: Basis) -> &Source {
        elsewhere::source(self.id, basis).unwrap_or(&self.source)
    }
}

const fn practice(place: &'static str) -> Source {
    Source::new("common practice", place, Standing::CommonPractice)
}

const fn memory(document: &'static str, place: &'static str) -> Source {
    Source::new(document, place, Standing::FromMemory)
}

const fn read(document: &'static str, place: &'static str) -> Source {
    Source::new(document, place, Standing::Verified)
}

/// One rule a line pair: id, label, unit, `value` or `[US RV, marine, metric]`, bounds, source; help.
macro_rules! rules {
    (@value [$us:expr, $marine:expr, $metric:expr]) => { ($us, $marine, $metric) };
    (@value ($all:expr)) => { ($all, $all, $all) };
    ($($id:literal $label:literal $unit:literal $value:tt $least:literal..$most:literal $source:expr; $help:literal)*) => {
        &[$({
            let (us_rv, marine, metric) = rules!(@value $value);
            Rule { id: $id, label: $label, unit: $unit, us_rv, marine, metric, least: $least, most: $most, source: $source, help: $help }
        }),*]
    };
}
use rules;

/// The rules by subject, in the order shown.
/// Source: as each row says.
pub static GROUPS: [(&str, &[Rule]); 5] = [
    ("currents and volts", currents::RULES),
    ("wiring", wiring::RULES),
    ("protection", protection::RULES),
    ("batteries", battery::RULES),
    ("roof", roof::RULES),
];

/// Every rule.
pub fn all() -> impl Iterator<Item = &'static Rule> {
    GROUPS.iter().flat_map(|(_, rules)| rules.iter())
}

/// A rule by its id.
#[must_use]
pub fn rule(id: &str) -> Option<&'static Rule> {
    all().find(|r| r.id == id)
}

/// Id of the rule that holds a zone's ambient.
#[must_use]
pub const fn ambient_rule_id(zone: Zone) -> &'static str {
    match zone {
        Zone::Roof => "ambient-roof",
        Zone::RoofCavity => "ambient-roof-cavity",
        Zone::Refrigerator => "ambient-refrigerator",
        Zone::Cabinet => "ambient-cabinet",
        Zone::Basement => "ambient-basement",
        Zone::BatteryBox => "ambient-battery-box",
        Zone::EngineBay => "ambient-engine-bay",
        Zone::Exhaust => "ambient-exhaust",
        Zone::GasLocker => "ambient-gas-locker",
    }
}

/// Ambient of a zone before any plan changes it, C.
/// Source: common practice, as the zone's rule says.
#[must_use]
pub fn ambient_c(zone: Zone, basis: Basis) -> f64 {
    // Every zone has its rule (tested); the hottest stands in if one were lost.
    rule(ambient_rule_id(zone)).map_or(105.0, |r| r.value(basis))
}
