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

/// Pull that a lag screw withstands along its axis by allowable stress, N: 1800 G^1.5 D^0.75 lbf for every inch of thread.
/// Source: NDS 2018 eq. 12.2-1 and Table 12.2A, reference withdrawal of lag screws, no load-duration factor.
#[must_use]
pub fn lag_withdrawal_n(gravity: f64, diameter_m: f64, thread_m: f64) -> f64 {
    let inches = diameter_m.max(0.0) / METRES_PER_INCH;
    1800.0 * gravity.max(0.0).powf(1.5) * inches.powf(0.75) * (thread_m / METRES_PER_INCH) * NEWTONS_PER_POUND
}

/// Pressure of a stream of air, Pa.
/// Source: dynamic pressure, q = 1/2 rho v^2.
#[must_use]
pub fn dynamic_pressure_pa(air_kg_m3: f64, speed_m_s: f64) -> f64 {
    0.5 * air_kg_m3 * speed_m_s * speed_m_s
}

/// Pressure on a face less that behind it, in the unit of the dynamic pressure.
/// Source: ASCE 7-05 eq. 6-17, p = q G Cp - q (GCpi).
#[must_use]
pub fn net_pressure(dynamic: f64, gust: f64, outside: f64, inside: f64) -> f64 {
    dynamic * (gust * outside - inside)
}

/// Suction on an area in a stream of air, N; `cp` is that of both faces together, no gust beyond the speed.
/// Source: dynamic pressure, F = 1/2 rho v^2 A Cp.
#[must_use]
pub fn uplift_n(air_kg_m3: f64, speed_m_s: f64, area_m2: f64, cp: f64) -> f64 {
    net_pressure(dynamic_pressure_pa(air_kg_m3, speed_m_s), 1.0, cp, 0.0) * area_m2
}
