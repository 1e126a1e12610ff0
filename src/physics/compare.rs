//! The larger and the smaller of two numbers of which none is NaN: one instruction each, where [`f64::max`] and [`f64::min`]
//! look for NaN with four more. For what an hour of the year goes through.

/// The larger one; the second where they are alike. Source: none needed, a comparison.
#[inline(always)]
#[must_use]
pub fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The smaller one; the second where they are alike. Source: none needed, a comparison.
#[inline(always)]
#[must_use]
pub fn smaller(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}
