//! Positions typed as text: `33.66,-114.23` or `33.66N 114.23W`.

use thiserror::Error;

/// Why a text is no position.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum CoordinateError {
    /// One number, or more than two.
    #[error("{0} numbers given: a position is latitude and longitude, as 33.66,-114.23 or 33.66N 114.23W")]
    Count(usize),
    /// Something that reads as no number.
    #[error("`{0}` is no number of degrees: write decimal degrees, as 33.66")]
    NoNumber(String),
    /// Letters that do not pair with the numbers.
    #[error("give both numbers a letter or neither: one of N or S, one of E or W")]
    Letters,
    /// A minus sign together with a letter.
    #[error("{0} has both a sign and a letter: south and west are either minus or S and W")]
    SignAndLetter(f64),
    /// Beyond the poles.
    #[error("latitude {0} is beyond the poles: it lies within -90 and 90, and comes first")]
    Latitude(f64),
    /// More than half around the Earth.
    #[error("longitude {0} is out of range: it lies within -180 and 180, west negative")]
    Longitude(f64),
}

/// A number as typed with the letter that belongs to it.
type Part = (f64, Option<char>);

/// Latitude and longitude in degrees, north and east positive; `None` where the text does not look like a position.
///
/// # Errors
/// Where it looks like a position and is none.
pub fn parse(text: &str) -> Option<Result<(f64, f64), CoordinateError>> {
    let belongs = |c: char| c.is_ascii_digit() || c.is_whitespace() || ".,;+-\u{2212}\u{b0}NSEWnsew".contains(c);
    let looks = text.chars().any(|c| c.is_ascii_digit()) && text.chars().all(belongs);
    looks.then(|| parts(text).and_then(|parts| position(&parts)))
}

/// Splits the text into numbers with their letters; letters stand all before or all after their numbers.
fn parts(text: &str) -> Result<Vec<Part>, CoordinateError> {
    let spaced: String = text
        .chars()
        .flat_map(|c| match c.to_ascii_uppercase() {
            '\u{2212}' => vec!['-'],
            ',' | ';' | '\u{b0}' => vec![' '],
            letter @ ('N' | 'S' | 'E' | 'W') => vec![' ', letter, ' '],
            other => vec![other],
        })
        .collect();
    let mut numbers: Vec<Part> = Vec::new();
    let mut waiting = None;
    let before = spaced.trim_start().starts_with(|c: char| c.is_ascii_alphabetic());
    for token in spaced.split_whitespace() {
        let letter = token.chars().next().filter(char::is_ascii_alphabetic);
        match letter {
            Some(letter) if before => {
                if waiting.replace(letter).is_some() {
                    return Err(CoordinateError::Letters);
                }
            }
            Some(letter) => match numbers.last_mut() {
                Some((_, slot @ None)) => *slot = Some(letter),
                _ => return Err(CoordinateError::Letters),
            },
            None => {
                let number = token.parse().map_err(|_| CoordinateError::NoNumber(token.to_owned()))?;
                numbers.push((number, waiting.take()));
            }
        }
    }
    if waiting.is_some() { Err(CoordinateError::Letters) } else { Ok(numbers) }
}

fn position(parts: &[Part]) -> Result<(f64, f64), CoordinateError> {
    let &[first, second] = parts else { return Err(CoordinateError::Count(parts.len())) };
    let north_south = |part: Part| matches!(part.1, Some('N' | 'S'));
    let (lat, lon) = match (first.1, second.1) {
        (None, None) => (first.0, second.0),
        (Some(_), Some(_)) if north_south(first) != north_south(second) => {
            let (lat, lon) = if north_south(first) { (first, second) } else { (second, first) };
            (signed(lat)?, signed(lon)?)
        }
        _ => return Err(CoordinateError::Letters),
    };
    if lat.abs() > 90.0 {
        Err(CoordinateError::Latitude(lat))
    } else if lon.abs() > 180.0 {
        Err(CoordinateError::Longitude(lon))
    } else {
        Ok((lat, lon))
    }
}

fn signed(part: Part) -> Result<f64, CoordinateError> {
    match part {
        (number, Some(_)) if number < 0.0 => Err(CoordinateError::SignAndLetter(number)),
        (number, Some('S' | 'W')) => Ok(-number),
        (number, _) => Ok(number),
    }
}

/// A position as it is shown, e.g. `33.66 N 114.23 W`.
#[must_use]
pub fn show(lat_deg: f64, lon_deg: f64) -> String {
    let (ns, ew) = (if lat_deg < 0.0 { 'S' } else { 'N' }, if lon_deg < 0.0 { 'W' } else { 'E' });
    format!("{:.2} {ns} {:.2} {ew}", lat_deg.abs(), lon_deg.abs())
}
