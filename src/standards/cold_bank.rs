//! What a bank gives in the cold by the figures that the trade plans by, beside what the year reckons.

use super::source::{Source, Standing};

/// How much more capacity of lead is wanted in the cold.
/// Source: worksheet of off-grid battery sizing, battery temperature multiplier, 80 to 20 F.
pub static WORKSHEET: Source =
    Source::new("battery sizing worksheet", "battery temperature multiplier, 80 to 20 F", Standing::Verified);

/// What lithium gives in the cold.
/// Source: common practice: 85 to 95 % at 0 C, 60 to 75 % at -20 C.
pub static LITHIUM_IN_COLD: Source =
    Source::new("lithium in the cold", "85 to 95 % of its Ah at 0 C, 60 to 75 % at -20 C", Standing::CommonPractice);

/// Degrees F and how many times the capacity of a warm bank is wanted.
/// Source: [`WORKSHEET`].
static LEAD_NEED: [(f64, f64); 7] =
    [(80.0, 1.0), (70.0, 1.04), (60.0, 1.11), (50.0, 1.19), (40.0, 1.3), (30.0, 1.4), (20.0, 1.59)];

/// State of charge and degrees C at which the acid of a lead battery freezes, specific gravity 1.120 to 1.265.
/// Source: battery handbooks, freezing point of electrolyte by its specific gravity; from memory.
static LEAD_FREEZES: [(f64, f64); 5] = [(0.0, -8.0), (0.25, -15.0), (0.5, -23.0), (0.75, -37.0), (1.0, -57.0)];

/// The coldest that it tells of, C: 20 F.
/// Source: [`WORKSHEET`].
pub const LEAD_ENDS_C: f64 = -60.0 / 9.0;

/// The same of lithium, C.
/// Source: [`LITHIUM_IN_COLD`].
pub const LITHIUM_ENDS_C: f64 = -20.0;

/// Degrees C and the least and the most that lithium gives of its Ah there.
/// Source: [`LITHIUM_IN_COLD`].
static LITHIUM: [(f64, f64, f64); 2] = [(0.0, 0.85, 0.95), (LITHIUM_ENDS_C, 0.60, 0.75)];

/// How many times the capacity of a warm lead bank is wanted at a temperature: between the rows in a straight line, beyond
/// them what the last row says.
/// Source: worksheet of off-grid battery sizing, battery temperature multiplier, 80 to 20 F.
#[must_use]
pub fn lead_need(battery_c: f64) -> f64 {
    let fahrenheit = battery_c * 9.0 / 5.0 + 32.0;
    let mut need = 1.0;
    for ((warm, low), (cold, high)) in LEAD_NEED.iter().zip(LEAD_NEED.iter().skip(1)) {
        let part = ((warm - fahrenheit) / (warm - cold)).clamp(0.0, 1.0);
        need += part * (high - low);
    }
    need
}

/// Degrees C at which the acid of a lead battery freezes at a state of charge: between the rows in a straight line.
/// Source: battery handbooks, freezing point of electrolyte by its specific gravity; from memory.
#[must_use]
pub fn lead_freezes_c(soc: f64) -> f64 {
    let mut freezes_c = -8.0;
    for ((low, mild_c), (high, cold_c)) in LEAD_FREEZES.iter().zip(LEAD_FREEZES.iter().skip(1)) {
        freezes_c += ((soc - low) / (high - low)).clamp(0.0, 1.0) * (cold_c - mild_c);
    }
    freezes_c
}

/// The least and the most that lithium gives of its Ah at a temperature of 0 C or less, shares: in a straight line from what is
/// said of 0 C to what is said of -20 C, and no colder.
/// Source: common practice: 85 to 95 % at 0 C, 60 to 75 % at -20 C.
#[must_use]
pub fn lithium_gives(battery_c: f64) -> (f64, f64) {
    let [(mild_c, least, most), (cold_c, cold_least, cold_most)] = LITHIUM;
    let part = ((mild_c - battery_c) / (mild_c - cold_c)).clamp(0.0, 1.0);
    (least + part * (cold_least - least), most + part * (cold_most - most))
}
