//! Words and numbers as the screen shows them: at most four significant digits, `?` for what is missing.

use crate::engine::{Level, Rules};
use crate::plan::entry::{self, Units};
use crate::plan::job::{LengthUnit, TemperatureUnit};
use crate::plan::{FieldPath, Figure, Plan, Value};
use crate::units::{KG_PER_POUND, METRES_PER_FOOT, METRES_PER_INCH};

pub use crate::document::naming::{path, path_in, section};

/// What stands where a figure is missing.
pub const UNKNOWN: &str = "?";

/// The smallest screen the program draws on.
pub const LEAST_SIZE: (u16, u16) = (40, 12);

/// A number with at most four significant digits, thousands set apart.
#[must_use]
pub fn num(x: f64) -> String {
    significant(x, 4)
}

/// A number with so many significant digits, thousands set apart, without trailing zeros.
#[must_use]
pub fn significant(x: f64, digits: i32) -> String {
    if !x.is_finite() {
        return UNKNOWN.into();
    }
    if x == 0.0 {
        return "0".into();
    }
    let magnitude = x.abs().log10().floor() as i32;
    let decimals = (digits - 1 - magnitude).clamp(0, 6) as usize;
    let beyond = magnitude - digits + 1;
    let rounded = if beyond > 0 {
        let step = 10f64.powi(beyond);
        (x / step).round() * step
    } else {
        x
    };
    let text = format!("{rounded:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" || text.is_empty() { "0".into() } else { grouped(text) }
}

/// A number with a fixed count of decimals, fewer where four significant digits are full.
#[must_use]
pub fn fixed(x: f64, decimals: usize) -> String {
    if !x.is_finite() {
        return UNKNOWN.into();
    }
    let whole = if x.abs() < 1.0 { 1 } else { x.abs().log10().floor() as usize + 1 };
    if whole > 4 {
        return num(x);
    }
    let text = format!("{x:.*}", decimals.min(4 - whole));
    if text.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.')) {
        text.trim_start_matches('-').into()
    } else {
        grouped(&text)
    }
}

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

/// Sets thousands apart from 10 000 up, and from 1000 up where nothing follows the point.
fn grouped(text: &str) -> String {
    let (sign, body) = text.strip_prefix('-').map_or(("", text), |b| ("-", b));
    let (whole, rest) = body.find('.').map_or((body, ""), |i| body.split_at(i));
    if whole.len() < 4 {
        return text.into();
    }
    let mut out = String::new();
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            out.push(' ');
        }
        out.push(c);
    }
    format!("{sign}{out}{rest}")
}

/// A figure by a formatter; `?` where it waits for a field, `-` where there is none to wait for.
pub fn figure<T>(figure: &Figure<T>, show: impl FnOnce(&T) -> String) -> String {
    match figure {
        Ok(value) => show(value),
        Err(waits) if waits.0.as_str().is_empty() => "-".into(),
        Err(_) => UNKNOWN.into(),
    }
}

/// A price in whole units; `?` while any part of it has none.
pub fn price(price: &Figure<crate::units::Number>) -> String {
    price.as_ref().map_or_else(|_| UNKNOWN.into(), |p| fixed(p.0, 0))
}

/// The field that a figure waits for, in words. Set volts that are entered cannot be those of the bank: other ones are waited for.
#[must_use]
pub fn awaited(plan: &Plan, at: &FieldPath) -> String {
    let (owner, key) = at.split_last();
    let of_source = ["controllers.", "chargers."].iter().any(|list| owner.as_str().starts_with(list));
    let is_set = of_source && matches!(key, "absorb_v" | "float_v");
    match (is_set, plan.get_at(at)) {
        (true, Some(Value::Number(_))) => {
            let shown = entry::show_at(plan, at).unwrap_or_default();
            format!("another {}: {shown} is not for this bank", path(plan, at))
        }
        _ => path(plan, at),
    }
}

/// A text in which a field is waited for, the field in words: `waits for W3 L1 length`.
#[must_use]
pub fn waits(plan: &Plan, text: &str) -> String {
    const WAITS: &str = "waits for ";
    let Some((before, after)) = text.split_once(WAITS) else { return text.into() };
    let end = after.find([';', ',', ' ', ')']).unwrap_or(after.len());
    let (at, rest) = after.split_at(end);
    format!("{before}{WAITS}{}{rest}", path(plan, &FieldPath::new(at)))
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

/// A length in the plan's unit, short enough for a column: `22'6"`, `8"`, `6.86 m`. Inches are whole from ten feet up.
#[must_use]
pub fn length(units: Units, metres: f64) -> String {
    if units.length == LengthUnit::Metres {
        let decimals = if metres.abs() < 9.99995 { 4 } else { 3 };
        return format!("{} m", bare(metres, decimals));
    }
    let (decimals, parts) = match metres.abs() / METRES_PER_FOOT {
        feet if feet < 10.0 => (2, 100.0),
        feet if feet < 100.0 => (1, 10.0),
        _ => (0, 1.0),
    };
    let all = (metres.abs() / METRES_PER_INCH * parts).round() / parts;
    let feet = (all / 12.0 + 1e-9).floor();
    let inches = bare(all - 12.0 * feet, decimals);
    let sign = if metres < 0.0 && all > 0.0 { "-" } else { "" };
    match (feet == 0.0, inches.as_str()) {
        (true, "0") => "0'".into(),
        (true, _) => format!("{sign}{inches}\""),
        (false, "0") => format!("{sign}{}'", bare(feet, 0)),
        (false, _) => format!("{sign}{}'{inches}\"", bare(feet, 0)),
    }
}

/// So many decimals at most, without zeros at the end.
fn bare(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.into() }
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

/// A temperature in the plan's unit: `-29 C`, `-20 F`.
#[must_use]
pub fn temperature(units: Units, celsius: f64) -> String {
    match units.temperature {
        TemperatureUnit::Fahrenheit => format!("{} F", fixed(celsius * 9.0 / 5.0 + 32.0, 0)),
        TemperatureUnit::Celsius => format!("{} C", fixed(celsius, 0)),
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
    match Rules::changed(plan).iter().filter(|c| c.value != c.standard).count() {
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
