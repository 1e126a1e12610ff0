//! Numbers as a person reads them: at most four significant digits, `?` for what is missing.

use crate::plan::entry::{self, Units};
use crate::plan::job::{LengthUnit, TemperatureUnit};
use crate::plan::{FieldPath, Figure, Plan, Value};
use crate::units::{METRES_PER_FOOT, METRES_PER_INCH};

use super::naming::path;

/// What stands where a figure is missing.
pub const UNKNOWN: &str = "?";

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

/// Sets thousands apart from 10 000 up, and from 1000 up where nothing follows the point.
#[must_use]
pub(crate) fn grouped(text: &str) -> String {
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

/// A text in which fields are waited for, each in words: `waits for W3 L1 length`.
#[must_use]
pub fn waits(plan: &Plan, text: &str) -> String {
    const WAITS: &str = "waits for ";
    let Some((before, after)) = text.split_once(WAITS) else { return text.into() };
    let end = after.find([';', ',', ' ', ')']).unwrap_or(after.len());
    let (at, rest) = after.split_at(end);
    format!("{before}{WAITS}{}{}", path(plan, &FieldPath::new(at)), waits(plan, rest))
}

/// A length in the plan's unit, short enough for a column: `22'6"`, `8"`, `6.86 m`. Inches are whole from ten feet up.
#[must_use]
pub fn length(units: Units, metres: f64) -> String {
    length_to(units, metres, 4)
}

/// The same in so many columns: rounded where it is longer.
#[must_use]
pub fn length_within(units: Units, metres: f64, columns: usize) -> String {
    let mut all = (0..=4).rev().map(|most| length_to(units, metres, most));
    all.find(|text| text.len() <= columns).unwrap_or_else(|| match units.length {
        LengthUnit::Metres => format!("{metres:.0}m"),
        LengthUnit::Feet => format!("{:.0}'", metres / METRES_PER_FOOT),
    })
}

/// With so many decimals at most.
fn length_to(units: Units, metres: f64, most: usize) -> String {
    if units.length == LengthUnit::Metres {
        let decimals = if metres.abs() < 9.99995 { 4 } else { 3 };
        return format!("{} m", bare(metres, decimals.min(most)));
    }
    let decimals = match metres.abs() / METRES_PER_FOOT {
        feet if feet < 10.0 => 2,
        feet if feet < 100.0 => 1,
        _ => 0,
    };
    let decimals = decimals.min(most);
    let parts = [1.0, 10.0, 100.0].get(decimals).copied().unwrap_or(1.0);
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

/// A temperature in the plan's unit: `-29 C`, `-20 F`.
#[must_use]
pub fn temperature(units: Units, celsius: f64) -> String {
    match units.temperature {
        TemperatureUnit::Fahrenheit => format!("{} F", fixed(celsius * 9.0 / 5.0 + 32.0, 0)),
        TemperatureUnit::Celsius => format!("{} C", fixed(celsius, 0)),
    }
}

/// A current: three digits are enough to read.
#[must_use]
pub fn amps(x: f64) -> String {
    match x.abs() {
        a if a >= 100.0 => fixed(x, 0),
        a if a >= 10.0 => fixed(x, 1),
        _ => fixed(x, 2),
    }
}
