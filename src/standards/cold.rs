//! Open-circuit volts in the cold, where the panel's own coefficient is not known.

use super::source::{Source, Standing};

/// Cold factors for crystalline silicon.
/// Source: NEC Table 690.7(A), 2008 and later, from memory; agrees with the coarser 2005 bands, which were read.
pub static NEC_690_7_A: Source = Source::new("NEC", "Table 690.7(A)", Standing::FromMemory);

/// Bottom of the band in degrees C, factor on the Voc at 25 C.
/// Source: NEC Table 690.7(A), 2008 and later, from memory.
static BANDS: [(f64, f64); 14] = [
    (25.0, 1.0),
    (20.0, 1.02),
    (15.0, 1.04),
    (10.0, 1.06),
    (5.0, 1.08),
    (0.0, 1.1),
    (-5.0, 1.12),
    (-10.0, 1.14),
    (-15.0, 1.16),
    (-20.0, 1.18),
    (-25.0, 1.2),
    (-30.0, 1.21),
    (-35.0, 1.23),
    (-40.0, 1.25),
];

/// Voltage coefficient assumed for the HARVEST where the label's is not known, share per K. Never for a limit.
/// Source: common practice, crystalline silicon.
pub const FALLBACK_BETA_PER_K: f64 = -0.0030;

/// Factor on Voc at the lowest expected temperature in C; none below -40 C, where the table ends. Between printed whole
/// degrees the colder band counts.
/// Source: NEC Table 690.7(A), 2008 and later, from memory.
#[must_use]
pub fn voc_factor(lowest_c: f64) -> Option<f64> {
    BANDS.iter().find(|(bottom_c, _)| lowest_c >= *bottom_c).map(|(_, factor)| *factor)
}
