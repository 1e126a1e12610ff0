//! Overcurrent limits for small wire, and the standard ratings.

use super::conductor::{Gauge, area_mm2};
use super::source::{Source, Standing};

/// The fuse limits of low-voltage RV wiring.
/// Source: former NEC 551.10, NEC 552.10(E)(1); that the table exists was read, its figures are from memory.
pub static SMALL_WIRE: Source = Source::new("former NEC 551.10, NEC 552.10(E)(1)", "", Standing::FromMemory);
/// The general small-conductor limits.
/// Source: NEC 240.4(D).
pub static NEC_240_4_D: Source = Source::new("NEC", "240.4(D)", Standing::Verified);
/// The standard ratings.
/// Source: NEC 240.6(A), read up to 600 A; above and below 15 A from memory.
pub static NEC_240_6_A: Source = Source::new("NEC", "240.6(A)", Standing::Verified);
/// The next-larger-rating rule.
/// Source: NEC 240.4(B).
pub static NEC_240_4_B: Source = Source::new("NEC", "240.4(B)", Standing::FromMemory);

/// AWG index, amps: 18, 16, 14, 12, 10 AWG.
/// Source: former NEC 551.10, NEC 552.10(E)(1), from memory.
static RV_LIMITS: [f64; 5] = [6.0, 8.0, 15.0, 20.0, 30.0];

/// AWG index, amps: 18, 16, 14, 12, 10 AWG.
/// Source: NEC 240.4(D).
static GENERAL_LIMITS: [f64; 5] = [7.0, 10.0, 15.0, 20.0, 30.0];

/// Standard ampere ratings of fuses and breakers, rising.
/// Source: NEC 240.6(A); 1, 3, 6, 10 A (extra fuse sizes) and those above 600 A from memory.
pub static STANDARD_RATINGS: [f64; 34] = [
    1.0, 3.0, 6.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 125.0,
    150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0, 600.0, 700.0, 800.0, 1000.0, 1200.0,
];

/// The largest fuse for 18 to 10 AWG in RV low-voltage wiring, amps; none for thicker wire.
///
/// A metric size takes the limit of the thickest listed AWG size it is not thinner than; 0.75 mm2 takes that of 18 AWG
/// by its share of the area.
/// Source: former NEC 551.10, NEC 552.10(E)(1), from memory. Limits the fuse, not an unfused run.
#[must_use]
pub fn small_wire_fuse_limit_a(gauge: Gauge) -> Option<f64> {
    limit(&RV_LIMITS, gauge)
}

/// The largest overcurrent device for 18 to 10 AWG by the general rule, amps; none for thicker wire.
/// Source: NEC 240.4(D).
#[must_use]
pub fn general_fuse_limit_a(gauge: Gauge) -> Option<f64> {
    limit(&GENERAL_LIMITS, gauge)
}

/// Source: the table handed in.
fn limit(table: &[f64], gauge: Gauge) -> Option<f64> {
    match gauge {
        Gauge::Awg(i) => table.get(usize::from(i)).copied(),
        Gauge::Mm2(_) => {
            let area = area_mm2(gauge);
            let size = Gauge::Awg(0).ladder().rev().find(|&g| area_mm2(g) <= area);
            match size {
                Some(Gauge::Awg(i)) => table.get(usize::from(i)).copied(),
                _ => table.first().map(|a| a * area / area_mm2(Gauge::Awg(0))),
            }
        }
    }
}

/// The smallest standard rating at or above an ampacity: the ceiling where the next rating up is allowed.
/// Source: NEC 240.4(B) with 240.6(A).
#[must_use]
pub fn next_standard_rating_a(ampacity_a: f64) -> Option<f64> {
    STANDARD_RATINGS.iter().copied().find(|r| *r >= ampacity_a)
}
