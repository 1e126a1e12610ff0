//! What pulls a panel off a roof, and what holds a screw in wood.

use crate::units::{METRES_PER_INCH, NEWTONS_PER_POUND};

/// Diameter of a wood screw of a number, m.
/// Source: ASME B18.6.1, 0.060 in and 0.013 in for every number.
#[must_use]
pub fn screw_diameter_m(number: f64) -> f64 {
    (0.060 + 0.013 * number.clamp(0.0, 30.0)) * METRES_PER_INCH
}

/// Pull that a wood screw withstands along its axis by allowable stress, N: 2850 G^2 D lbf for every inch of thread.
/// `gravity`: specific gravity of the wood; `thread_m`: thread in wood, tip excluded.
/// Source: NDS 2018 eq. 12.2-2, reference withdrawal of wood screws, no load-duration factor; from memory.
#[must_use]
pub fn withdrawal_n(gravity: f64, diameter_m: f64, thread_m: f64) -> f64 {
    2850.0 * gravity * gravity * (diameter_m / METRES_PER_INCH) * (thread_m / METRES_PER_INCH) * NEWTONS_PER_POUND
}

/// Suction on an area in a stream of air, N.
/// Source: dynamic pressure, F = 1/2 rho v^2 A Cp.
#[must_use]
pub fn uplift_n(air_kg_m3: f64, speed_m_s: f64, area_m2: f64, cp: f64) -> f64 {
    0.5 * air_kg_m3 * speed_m_s * speed_m_s * area_m2 * cp
}
