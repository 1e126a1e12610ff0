//! `places`: the built-in list of places, by words.

use std::fmt::Write;

use super::output::{self, Failure};
use crate::climate::{coordinates, places, zones};

/// Lines shown at most; more words narrow it down.
const MOST: usize = 20;

/// Prints the places that fit.
pub(super) fn run(words: &str) -> Result<u8, Failure> {
    if let Some(Err(e)) = coordinates::parse(words) {
        return Err(Failure::usage(format!("{words:?}: {e}")));
    }
    let found = places::find(words, MOST);
    if found.is_empty() {
        return Err(Failure::usage(format!(
            "no place fits {words:?}; type parts of its name, its state or its country, or a position as 33.66,-114.23"
        )));
    }
    let mut out = String::new();
    for place in &found {
        let whole = [&place.name, &place.region, &place.country].map(String::as_str);
        let whole: Vec<&str> = whole.into_iter().filter(|part| !part.is_empty()).collect();
        let elevation = place.elevation_m.map_or(String::new(), |m| format!("{m:6.0} m"));
        let clock = zones::standard_h(place).map_or(String::new(), |zone_h| format!("  (UTC{zone_h:+})"));
        let (lat, lon, whole) = (place.lat_deg, place.lon_deg, whole.join(", "));
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{lat:8.2} {lon:9.2} {elevation:>8}  {whole}{clock}");
    }
    output::say(out.as_bytes())?;
    Ok(super::FINE)
}
