//! Sentences about the plan in the plan's units: metres, millimetres, kilograms, newtons and Celsius become feet, inches, pounds
//! (of weight or of force) and Fahrenheit where it says so; what has a unit is never longer than four significant digits.

use super::Units;
use crate::plan::job::{LengthUnit, TemperatureUnit};
use crate::units::{KG_PER_POUND, METRES_PER_FOOT, METRES_PER_INCH, NEWTONS_PER_POUND};

/// Units whose figures are rounded and perhaps converted.
const UNITS: [&str; 19] = [
    "C", "m", "mm", "kg", "V", "mV", "A", "W", "Wh", "kWh", "Ah", "ohm", "mohm", "Wh/d", "Wh/day", "%", "N", "mm2", "h",
];

/// Words before a temperature that stands printed on jackets and terminals, in Celsius whatever the country.
const PRINTED: [&str; 4] = ["insulation", "terminal", "terminals", "jacket"];

/// Words between two numbers that share the unit after the second.
const SHARING: [&str; 5] = [" to ", " and ", " or ", "..", ", "];

/// A number in a sentence.
struct Found<'a> {
    text: &'a str,
    /// What stands after it: unit included.
    rest: &'a str,
}

/// The sentence in the plan's units. `exact`: its numbers before they were rounded into it.
#[must_use]
pub fn said(units: Units, sentence: &str, exact: &[f64]) -> String {
    let mut out = String::with_capacity(sentence.len() + 8);
    let mut rest = sentence;
    let mut used = vec![false; exact.len()];
    while let Some(c) = rest.chars().next() {
        let Some(found) = number(&out, rest) else {
            out.push(c);
            rest = rest.get(c.len_utf8()..).unwrap_or("");
            continue;
        };
        let own = unit_after(found.rest);
        let Some(unit) = own.map(|(unit, _)| unit).or_else(|| shared_unit(found.rest)) else {
            out.push_str(found.text);
            rest = found.rest;
            continue;
        };
        let Ok(rounded) = found.text.parse::<f64>() else {
            out.push_str(found.text);
            rest = found.rest;
            continue;
        };
        let x = exactly(rounded, found.text, exact, &mut used);
        let is_column = own.is_some_and(|(_, after)| after.starts_with(" column"));
        match converted(units, unit, x, &out).filter(|_| !is_column) {
            Some((number, new)) => {
                out.push_str(&number);
                rest = match own {
                    Some((_, after)) => {
                        out.push_str(new);
                        after
                    }
                    None if new == "\"" || new == "'" => {
                        out.push_str(new);
                        found.rest
                    }
                    None => found.rest,
                };
            }
            None => {
                out.push_str(&four_digits(rounded, found.text));
                rest = found.rest;
            }
        }
    }
    out
}

/// The number that a text begins with, unless it is part of a word, a section or a ratio.
fn number<'a>(before: &str, text: &'a str) -> Option<Found<'a>> {
    let joined = |c: char| c.is_alphanumeric() || matches!(c, '.' | '_' | '/' | '-' | '\'');
    if before.chars().next_back().is_some_and(|c| joined(c) && !before.ends_with("..")) {
        return None;
    }
    let sign = usize::from(text.starts_with('-'));
    let body = text.get(sign..)?;
    let whole = body.find(|c: char| !c.is_ascii_digit()).unwrap_or(body.len());
    if whole == 0 {
        return None;
    }
    let mut end = sign + whole;
    if let Some(fraction) = text.get(end..).and_then(|t| t.strip_prefix('.')) {
        let digits = fraction.find(|c: char| !c.is_ascii_digit()).unwrap_or(fraction.len());
        if digits > 0 {
            end += 1 + digits;
        }
    }
    let rest = text.get(end..)?;
    let ends = rest.chars().next().is_none_or(|c| !c.is_alphanumeric() && c != '/');
    ends.then_some(Found { text: text.get(..end)?, rest })
}

/// The unit after a space, and what follows it.
fn unit_after(rest: &str) -> Option<(&'static str, &str)> {
    let word = rest.strip_prefix(' ')?;
    let end = word.find(|c: char| !c.is_alphanumeric() && c != '%' && c != '/').unwrap_or(word.len());
    let (name, after) = (word.get(..end)?, word.get(end..)?);
    UNITS.iter().find(|u| **u == name).map(|u| (*u, after))
}

/// The unit that this number shares with the next one: `35 to 46 A`.
fn shared_unit(rest: &str) -> Option<&'static str> {
    let next = SHARING.iter().find_map(|s| rest.strip_prefix(s))?;
    let found = number("", next)?;
    unit_after(found.rest).map(|(unit, _)| unit).filter(|u| matches!(*u, "C" | "m" | "mm" | "kg"))
}

/// The number before it was rounded into the sentence, each taken once.
fn exactly(rounded: f64, text: &str, exact: &[f64], used: &mut [bool]) -> f64 {
    let decimals = text.split_once('.').map_or(0, |(_, d)| d.len());
    for (x, used) in exact.iter().zip(used) {
        if !*used && format!("{x:.decimals$}") == text {
            *used = true;
            return *x;
        }
    }
    rounded
}

/// The number and the unit with what stands between, where the plan has another unit.
fn converted(units: Units, unit: &str, x: f64, before: &str) -> Option<(String, &'static str)> {
    let feet = units.length == LengthUnit::Feet;
    match unit {
        "C" if units.temperature == TemperatureUnit::Fahrenheit && !is_printed(before) => {
            // Added to nothing, what rounds to it from below is no minus nothing.
            Some((format!("{:.0}", (x * 1.8 + 32.0).round() + 0.0), " F"))
        }
        "m" if feet && x.abs() < 3.0 * METRES_PER_FOOT => Some((inches(x / METRES_PER_INCH), "\"")),
        "m" if feet => Some((short(x / METRES_PER_FOOT, 3), "'")),
        "mm" if feet => Some((inches(x / 1000.0 / METRES_PER_INCH), "\"")),
        "kg" if feet => Some((short(x / KG_PER_POUND, 3), " lb")),
        "N" if feet => Some((short(x / NEWTONS_PER_POUND, 3), " lbf")),
        _ => None,
    }
}

fn is_printed(before: &str) -> bool {
    let mut words = before.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).rev().take(3);
    words.any(|w| PRINTED.contains(&w))
}

fn inches(x: f64) -> String {
    let text = format!("{:.1}", x);
    text.strip_suffix(".0").map_or(text.clone(), ToString::to_string)
}

/// So many significant digits, without zeros at the end.
fn short(x: f64, digits: i32) -> String {
    if x == 0.0 || !x.is_finite() {
        return "0".into();
    }
    let decimals = (digits - 1 - x.abs().log10().floor() as i32).clamp(0, 6) as usize;
    let text = format!("{x:.decimals$}");
    if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

/// The text as it stands, or rounded where it has more than four significant digits.
fn four_digits(x: f64, text: &str) -> String {
    let digits = text.chars().filter(char::is_ascii_digit).collect::<String>();
    if digits.trim_start_matches('0').len() <= 4 {
        return text.into();
    }
    if text.contains('.') && x.abs() < 1e4 {
        return short(x, 4);
    }
    let step = 10f64.powi(x.abs().max(1.0).log10().floor() as i32 - 3);
    format!("{:.0}", (x / step).round() * step)
}
