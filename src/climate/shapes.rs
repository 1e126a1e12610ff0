//! How a day's sun and temperature spread over its hours, and how much of the sun is diffuse.
//!
//! Angles in rad; hour angles from solar noon, afternoon positive.

use std::f64::consts::PI;

const SIXTY_DEG: f64 = PI / 3.0;

/// The two coefficients of the global shape for a sunset hour angle.
///
/// Source: Collares-Pereira & Rabl 1979, Solar Energy 22:155 (Duffie & Beckman eq. 2.13.2).
#[must_use]
pub fn global_coefficients(sunset: f64) -> (f64, f64) {
    let sine = (sunset - SIXTY_DEG).sin();
    (0.409 + 0.5016 * sine, 0.6609 - 0.4767 * sine)
}

/// Diffuse shape without its normaliser; zero while the sun is down.
///
/// Source: Liu & Jordan 1960, Solar Energy 4:1 (Duffie & Beckman eq. 2.13.4).
#[must_use]
pub fn diffuse_kernel(cos_hour_angle: f64, cos_sunset: f64) -> f64 {
    (cos_hour_angle - cos_sunset).max(0.0)
}

/// Global shape without its normaliser; zero while the sun is down.
///
/// Source: Collares-Pereira & Rabl 1979 (Duffie & Beckman eq. 2.13.1), clipped at zero.
#[must_use]
pub fn global_kernel(coefficients: (f64, f64), cos_hour_angle: f64, cos_sunset: f64) -> f64 {
    (coefficients.0 + coefficients.1 * cos_hour_angle).max(0.0) * diffuse_kernel(cos_hour_angle, cos_sunset)
}

/// What the kernels are multiplied with to give the share of the day's sum in one hour; zero without a day.
///
/// Source: Liu & Jordan 1960 (Duffie & Beckman eq. 2.13.1, 2.13.4).
#[must_use]
pub fn hourly_normaliser(sunset: f64) -> f64 {
    let swept = sunset.sin() - sunset * sunset.cos();
    if swept > 1e-12 { PI / 24.0 / swept } else { 0.0 }
}

/// Diffuse share of a day's global sun at clearness `kt` with the given sunset hour angle.
///
/// Source: Erbs, Klein & Duffie 1982, Solar Energy 28:293, daily (Duffie & Beckman eq. 2.11.1), seasons parted at
/// 81.4 degrees.
#[must_use]
pub fn daily_diffuse_share(kt: f64, sunset: f64) -> f64 {
    let k = kt.max(0.0);
    let share = if sunset < 81.4_f64.to_radians() {
        if k < 0.715 { 1.0 + k * (-0.2727 + k * (2.4495 + k * (-11.9514 + k * 9.3879))) } else { 0.143 }
    } else if k < 0.722 {
        1.0 + k * (0.2832 + k * (-2.5557 + k * 0.8448))
    } else {
        0.175
    };
    share.clamp(0.0, 1.0)
}

/// Amplitude and phase in rad of the daily temperature wave: once, twice, three and four times a day.
///
/// Source: Erbs, Klein & Beckman 1983, ASHRAE Journal 25(6):60 (Duffie & Beckman ch. 9).
pub const TEMPERATURE_HARMONICS: [(f64, f64); 4] = [(0.4632, 3.805), (0.0984, 0.360), (0.0168, 0.822), (0.0138, 3.513)];

/// Daily wave of air temperature about its mean at a solar time in h, as a share of the daily range.
///
/// Source: Erbs, Klein & Beckman 1983, as [`TEMPERATURE_HARMONICS`].
#[must_use]
pub fn temperature_wave(solar_time_h: f64) -> f64 {
    let t = 2.0 * PI * solar_time_h / 24.0;
    TEMPERATURE_HARMONICS.iter().zip(1..).map(|((size, phase), k)| size * (f64::from(k) * t - phase).cos()).sum()
}

/// Daily range of air temperature, K, where only the month's clearness is known.
///
/// Source: Erbs, Klein & Beckman 1983, amplitude 25.8 Kt - 5.21; clipped to 2..16 K.
#[must_use]
pub fn daily_range_k(kt: f64) -> f64 {
    (25.8 * kt - 5.21).clamp(2.0, 16.0)
}
