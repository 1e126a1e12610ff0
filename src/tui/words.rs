//! Words and numbers as the screen alone shows them, beside those that are the same everywhere.

use crate::engine::{Level, Rules};
use crate::plan::entry::Units;
use crate::plan::job::LengthUnit;
use crate::plan::{Figure, Plan};
use crate::units::{KG_PER_POUND, METRES_PER_FOOT};

pub use crate::wording::naming::{path, path_in, section};
use crate::wording::number::grouped;
pub use crate::wording::number::{
    UNKNOWN, amps, awaited, figure, fixed, length, length_within, num, significant, temperature, waits,
};

/// The smallest screen the program draws on.
pub const LEAST_SIZE: (u16, u16) = (40, 12);

/// A whole number, thousands set apart as everywhere.
#[must_use]
pub fn set_apart(x: f64) -> String {
    grouped(&format!("{x:.0}"))
}

/// Whole numbers without gaps: columns are narrow, and a line must not break within a number.
#[must_use]
pub fn whole(w: f64) -> String {
    let text = format!("{w:.0}");
    if text == "-0" { "0".into() } else { text }
}

/// A whole number in so many columns: what is too long for them in thousands or millions, so that those beside it stay where
/// they are.
#[must_use]
pub fn narrow(x: f64, columns: usize) -> String {
    let of = |scale: f64, decimals: usize, unit: &str| format!("{:.decimals$}{unit}", x / scale);
    let forms = [(1e3, 1, "k"), (1e3, 0, "k"), (1e6, 1, "M"), (1e6, 0, "M")];
    let all = std::iter::once(whole(x)).chain(forms.map(|(scale, decimals, unit)| of(scale, decimals, unit)));
    all.into_iter().find(|text| text.len() <= columns).unwrap_or_else(|| ">".into())
}

/// A price in whole units; `?` while any part of it has none.
pub fn price(price: &Figure<crate::units::Number>) -> String {
    price.as_ref().map_or_else(|_| UNKNOWN.into(), |p| fixed(p.0, 0))
}

/// A change, with its sign; empty where there is none to show.
#[must_use]
pub fn change(now: Option<f64>, then: Option<f64>, decimals: usize) -> String {
    match (now, then) {
        (Some(a), Some(b)) => {
            let text = fixed(a - b, decimals);
            let nothing = text.chars().all(|c| matches!(c, '0' | '.'));
            if nothing {
                String::new()
            } else if text.starts_with('-') {
                text
            } else {
                format!("+{text}")
            }
        }
        (Some(_), None) => "was ?".into(),
        (None, Some(_)) => "now ?".into(),
        (None, None) => String::new(),
    }
}

/// The change of a figure that stands beside it: of the figures as they are shown, so that the two add up.
#[must_use]
pub fn change_shown(now: Option<f64>, then: Option<f64>, decimals: usize) -> String {
    let scale = 10f64.powi(i32::try_from(decimals).unwrap_or(0));
    let shown = |x: f64| (x * scale).round() / scale;
    change(now.map(shown), then.map(shown), decimals)
}

/// A weight in the plan's unit, and that unit: pounds where lengths are in feet.
#[must_use]
pub fn weight(units: Units, kilograms: f64) -> (f64, &'static str) {
    match units.length {
        LengthUnit::Feet => (kilograms / KG_PER_POUND, "lb"),
        LengthUnit::Metres => (kilograms, "kg"),
    }
}

/// A length of wire on a spool in the plan's unit, whole: `25 ft`, `8 m`.
#[must_use]
pub fn spool(units: Units, metres: f64) -> String {
    match units.length {
        LengthUnit::Feet => format!("{} ft", fixed(metres / METRES_PER_FOOT, 0)),
        LengthUnit::Metres => format!("{} m", fixed(metres, 0)),
    }
}

/// Behind a figure that hangs on a changed rule value; the header says that there are some.
#[must_use]
pub fn changed(why: &str) -> &'static str {
    if why.is_empty() { "" } else { "*" }
}

/// How many rule values of a plan are not the standard ones, for a header or a title; empty where all are.
#[must_use]
pub fn rules_changed(plan: &Plan) -> String {
    match Rules::changed(plan).len() {
        0 => String::new(),
        1 => ", 1 rule changed*".into(),
        n => format!(", {n} rules changed*"),
    }
}

/// The sign beside a level's word.
#[must_use]
pub fn level(level: Level) -> &'static str {
    match level {
        Level::Stop => "!stop",
        Level::Caution => "!caution",
        Level::Note => "note",
    }
}

/// The level's heading.
#[must_use]
pub fn levels(level: Level) -> &'static str {
    match level {
        Level::Stop => "STOP: do not build it like this",
        Level::Caution => "CAUTION: look again",
        Level::Note => "NOTE: worth knowing",
    }
}

/// One item of a list, in words: `wiring run`.
#[must_use]
pub fn one_of(list: &str) -> &str {
    match list.rsplit('.').next().unwrap_or(list) {
        "stays" => "stay",
        "panels" => "panel type",
        "arrays" => "array",
        "controllers" => "controller",
        "inverters" => "inverter",
        "chargers" => "charger",
        "loads" => "load",
        "devices" => "device",
        "runs" => "wiring run",
        "legs" => "leg",
        "protection" => "fuse",
        "options" => "option",
        "milestones" => "milestone",
        "visits" => "visit",
        "readings" => "reading",
        "rules" => "changed rule",
        "accepted" => "accepted finding",
        "places" => "place on the roof",
        "obstacles" => "obstacle",
        "taxes" => "tax",
        "tasks" => "labour line",
        other => other,
    }
}

/// So many stops that something brings.
#[must_use]
pub fn new_stops(count: usize) -> String {
    if count == 1 { "1 new stop".into() } else { format!("{count} new stops") }
}
