//! What a value has to fit beside its own bounds: the calendar, and the array that it is a part of.

use crate::plan::edit::record_in;
use crate::plan::field::{Kind, Meta, Record, Value};
use crate::plan::lists::Strings;
use crate::plan::path::FieldPath;

/// Refuses a day that no calendar has, and a string that its array has not.
///
/// # Errors
/// What is wrong and what is accepted.
pub(super) fn fits(root: &dyn Record, at: &FieldPath, meta: &Meta, value: &Value) -> Result<(), String> {
    // What a file says stays until it is changed.
    if record_in(root, &at.split_last().0).and_then(|owner| owner.get(meta.key)).as_ref() == Some(value) {
        return Ok(());
    }
    match (meta.key, value) {
        ("surveyed", Value::Text(text)) if meta.kind == Kind::Text && !is_date(text.trim()) => {
            Err(format!("{text:?} is no date; write it as 2026-11-26, or leave it empty"))
        }
        ("string", Value::Number(n)) => {
            let (places, _) = at.split_last().0.split_last();
            let (array, _) = places.split_last();
            let Some(Value::Text(strings)) = record_in(root, &array).and_then(|array| array.get("strings")) else {
                return Ok(());
            };
            let count = strings.parse::<Strings>().map_or(0, |strings| strings.0.len());
            // An array without panels yet may get any.
            if count == 0 || *n <= count as f64 {
                return Ok(());
            }
            let accepted = if count == 1 { "1".into() } else { format!("1 to {count}") };
            let (_, id) = array.split_last();
            Err(format!("{id} has no string {n}; accepted: {accepted} ({strings}), or empty where it is not said"))
        }
        _ => Ok(()),
    }
}

/// Whether a text is a day of the calendar as year, month, day; or empty.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let number = |part: &str, digits: usize| -> Option<u32> {
        (part.len() == digits && part.chars().all(|c| c.is_ascii_digit())).then(|| part.parse().ok()).flatten()
    };
    match parts.as_slice() {
        [""] => true,
        [year, month, day] => match (number(year, 4), number(month, 2), number(day, 2)) {
            (Some(year), Some(month), Some(day)) => (1..=days_in(year, month)).contains(&day),
            _ => false,
        },
        _ => false,
    }
}

/// Days of a month of the Gregorian calendar; none where there is no such month.
fn days_in(year: u32, month: u32) -> u32 {
    let is_leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 if is_leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    }
}
