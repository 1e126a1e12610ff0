//! Resistance of pure copper in closed form.

use std::f64::consts::PI;

/// Resistivity of annealed copper at 20 C, ohm mm2/m. Source: IEC 60028.
pub const COPPER_OHM_MM2_M: f64 = 0.017_241_4;
/// Temperature coefficient of annealed copper at 20 C, 1/K. Source: IEC 60028.
pub const COPPER_PER_K: f64 = 0.003_93;

/// Area of a solid gauge; 0 is 1/0, -1 is 2/0 and so on.
/// Source: ASTM B258 (definition of the American wire gauge).
#[must_use]
pub fn gauge_area_mm2(gauge: i32) -> f64 {
    let diameter_mm = 0.127 * 92_f64.powf((36.0 - f64::from(gauge)) / 39.0);
    PI / 4.0 * diameter_mm * diameter_mm
}

/// Resistance of copper per metre of one conductor at a temperature; infinite for no area.
/// Source: IEC 60028.
#[must_use]
pub fn ohm_per_m(area_mm2: f64, copper_c: f64) -> f64 {
    if area_mm2 > 0.0 { COPPER_OHM_MM2_M * (1.0 + COPPER_PER_K * (copper_c - 20.0)) / area_mm2 } else { f64::INFINITY }
}

/// Resistance of a pair, out and back, of a one-way length.
/// Source: R = 2 L rho / A with IEC 60028 copper.
#[must_use]
pub fn loop_ohm(area_mm2: f64, one_way_m: f64, copper_c: f64) -> f64 {
    if one_way_m <= 0.0 { 0.0 } else { 2.0 * one_way_m * ohm_per_m(area_mm2, copper_c) }
}

/// Volts lost in a pair.
/// Source: Ohm's law.
#[must_use]
pub fn drop_v(loop_ohm: f64, current_a: f64) -> f64 {
    loop_ohm * current_a
}

/// Power lost in a pair.
/// Source: Joule's law.
#[must_use]
pub fn loss_w(loop_ohm: f64, current_a: f64) -> f64 {
    loop_ohm * current_a * current_a
}

/// Least area of a pair whose drop stays within a limit; infinite where the limit is not above zero.
/// Source: A = 2 L rho I / dV with IEC 60028 copper.
#[must_use]
pub fn area_for_drop_mm2(one_way_m: f64, current_a: f64, copper_c: f64, limit_v: f64) -> f64 {
    if limit_v > 0.0 { loop_ohm(1.0, one_way_m, copper_c) * current_a.abs() / limit_v } else { f64::INFINITY }
}
