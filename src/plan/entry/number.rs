//! Numbers with units, as people type them: `22'6"`, `1 1/2in`, `6,5`, `1h30`, `-20c`.

/// One number and the unit written after it (lower case, without spaces; empty for a bare number).
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Part {
    pub(super) amount: f64,
    pub(super) unit: String,
    /// Written with a fraction bar.
    pub(super) fraction: bool,
}

/// A signed sum of parts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Typed {
    pub(super) negative: bool,
    pub(super) parts: Vec<Part>,
}

/// One spelling for what keyboards and copied text offer: primes, minus signs, degree signs, lower case.
pub(super) fn plain(text: &str) -> String {
    text.trim()
        .chars()
        .map(|c| match c {
            '\u{2032}' | '\u{2019}' | '\u{2018}' => '\'',
            '\u{2033}' | '\u{201d}' | '\u{201c}' => '"',
            '\u{2212}' | '\u{2013}' | '\u{2010}' | '\u{2011}' => '-',
            '\u{a0}' | '\u{202f}' | '\u{2009}' | '\t' => ' ',
            '\u{b2}' => '2',
            '\u{b5}' | '\u{3bc}' => 'u',
            _ => c,
        })
        .flat_map(char::to_lowercase)
        .collect::<String>()
        .replace("''", "\"")
        .replace(['\u{2126}', '\u{3c9}'], "ohm")
        .replace('\u{b0}', "deg")
}

/// Reads a typed quantity into signed parts.
///
/// # Errors
/// What is wrong; the caller adds what is accepted.
pub(super) fn read(text: &str) -> Result<Typed, String> {
    let (negative, mut rest) = match text.strip_prefix('-') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text).trim_start()),
    };
    if !rest.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',') {
        return Err(format!("{text:?} is no number"));
    }
    let mut parts = Vec::new();
    while !rest.is_empty() {
        let (amount, fraction, after) = amount(rest).ok_or_else(|| format!("{text:?} is no number"))?;
        let amount = amount?;
        let after = after.trim_start();
        // A unit may hold a digit (m2), so the whole rest is offered first by the caller's table; here a unit
        // ends where the next number starts after a letter or a quote.
        let end = unit_end(after);
        let (unit, next) = after.split_at(end);
        parts.push(Part { amount, unit: unit.chars().filter(|c| *c != ' ').collect(), fraction });
        rest = next.trim_start();
        if parts.len() > 4 {
            return Err(format!("{text:?} has too many parts"));
        }
    }
    Ok(Typed { negative, parts })
}

/// Where a unit ends: at the next digit, unless that digit belongs to the unit (`w/m2`).
fn unit_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut i = 0;
    while i < bytes.len() {
        let digit = bytes[i].is_ascii_digit() || (bytes[i] == b'.' && bytes.get(i + 1).is_some_and(u8::is_ascii_digit));
        let square = bytes[i] == b'2' && text[..i].ends_with('m') && !bytes.get(i + 1).is_some_and(u8::is_ascii_digit);
        if digit && !(square && text[..i].contains('/')) {
            break;
        }
        i += text[i..].chars().next().map_or(1, char::len_utf8);
    }
    i
}

type Amount<'a> = (Result<f64, String>, bool, &'a str);

/// A decimal, a fraction or a mixed number at the start of the text.
fn amount(text: &str) -> Option<Amount<'_>> {
    let (first, rest) = digits(text)?;
    let spaced = rest.trim_start();
    if let Some((below, after)) = spaced.strip_prefix('/').and_then(|r| digits(r.trim_start())) {
        return Some((quotient(first, below), true, after));
    }
    let mixed = rest.strip_prefix([' ', '-']).map(str::trim_start).and_then(|r| {
        let (above, r) = digits(r)?;
        let (below, after) = digits(r.trim_start().strip_prefix('/')?.trim_start())?;
        Some((above, below, after))
    });
    if let Some((above, below, after)) = mixed {
        let sum = decimal(first).and_then(|whole| Ok(whole + quotient(above, below)?));
        return Some((sum, true, after));
    }
    Some((decimal(first), false, rest))
}

fn quotient(above: &str, below: &str) -> Result<f64, String> {
    let (a, b) = (decimal(above)?, decimal(below)?);
    if b == 0.0 { Err(format!("{above}/{below} divides by nothing")) } else { Ok(a / b) }
}

/// Splits off digits with decimal marks, and an exponent.
fn digits(text: &str) -> Option<(&str, &str)> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(text.len());
    let (head, rest) = text.split_at(end);
    if !head.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let exponent = rest.strip_prefix('e').and_then(|r| {
        let sign = usize::from(r.starts_with(['+', '-']));
        let n = r[sign..].chars().take_while(char::is_ascii_digit).count();
        (n > 0).then_some(1 + sign + n)
    });
    Some(text.split_at(end + exponent.unwrap_or(0)))
}

/// A decimal with a point or a comma; what could be read in two ways is refused.
fn decimal(text: &str) -> Result<f64, String> {
    let (mantissa, exponent) = text.split_once('e').map_or((text, ""), |(m, e)| (m, e));
    let commas = mantissa.matches(',').count();
    let points = mantissa.matches('.').count();
    let grouped = |s: &str, mark: char| {
        let mut groups = s.split(mark);
        groups.next().is_some_and(|g| (1..=3).contains(&g.len())) && groups.all(|g| g.len() == 3)
    };
    let cleaned = match (commas, points) {
        (0, 0 | 1) => mantissa.to_string(),
        (1, 0) => {
            let (head, tail) = mantissa.split_once(',').unwrap_or((mantissa, ""));
            if tail.len() == 3 && (1..=3).contains(&head.len()) && !head.starts_with('0') {
                return Err(format!("{mantissa} could be {head}.{tail} or {head}{tail}; write one of them"));
            }
            format!("{head}.{tail}")
        }
        (_, 0) if grouped(mantissa, ',') => mantissa.replace(',', ""),
        (_, 1) if mantissa.split_once('.').is_some_and(|(head, tail)| grouped(head, ',') && !tail.contains(',')) => {
            mantissa.replace(',', "")
        }
        (1, _) if mantissa.split_once(',').is_some_and(|(head, tail)| grouped(head, '.') && !tail.contains('.')) => {
            mantissa.replace('.', "").replace(',', ".")
        }
        _ => return Err(format!("{mantissa:?} is no number")),
    };
    let whole = if exponent.is_empty() { cleaned } else { format!("{cleaned}e{exponent}") };
    match whole.parse::<f64>() {
        Ok(x) if x.is_finite() => Ok(x),
        Ok(_) => Err(format!("{text} is too large a number")),
        Err(_) => Err(format!("{text:?} is no number")),
    }
}
