//! Numbers in sentences: no more digits than they need, and enough that two that differ read differently.

/// Most decimals of a number in a sentence.
const MOST: usize = 3;
/// Most digits of a number with a unit: what prints the sentences rounds off the rest.
const DIGITS: usize = 4;

/// A rating as it is printed on the device: `80`, `7.5`.
pub(super) fn rated(x: f64) -> String {
    if (x - x.round()).abs() < 0.05 { format!("{x:.0}") } else { format!("{x:.1}") }
}

/// Two numbers that a sentence compares, with so many decimals at least, and more where they would read the same and
/// more tell them apart.
pub(super) fn apart(a: f64, b: f64, least: usize) -> (String, String) {
    let with = |decimals: usize| (format!("{a:.decimals$}"), format!("{b:.decimals$}"));
    (least..=MOST).map(with).find(|(one, other)| one != other).unwrap_or_else(|| with(least))
}

/// Amps of a fault in kiloamperes.
pub(super) fn kilo(amps: f64, decimals: usize) -> String {
    format!("{:.decimals$} kA", amps / 1000.0)
}

/// A number over a limit and the limit: the limit as it is set, the number so that it reads above it.
pub(super) fn over(x: f64, limit: f64) -> (String, String) {
    let limit_text = rounded_off(limit);
    for decimals in 1..=MOST {
        let text = format!("{x:.decimals$}");
        let digits = text.chars().filter(char::is_ascii_digit).count();
        if digits > DIGITS {
            break;
        }
        if text.parse::<f64>().is_ok_and(|shown| shown > limit + 1e-9) {
            return (text, limit_text);
        }
    }
    // So large that no decimal is wanted.
    let whole = format!("{x:.0}");
    let is_over = whole.parse::<f64>().is_ok_and(|shown| shown > limit + 1e-9);
    (if is_over { whole } else { limit_text.clone() }, limit_text)
}

/// Without zeros at the end: `2`, `1.25`.
fn rounded_off(x: f64) -> String {
    let text = format!("{x:.2}");
    text.trim_end_matches('0').trim_end_matches('.').into()
}
