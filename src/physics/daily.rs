//! The sun by the day: what is needed of it before any hour is looked at.
//!
//! All angles are radians unless the name says `deg`; days of the year run from 1 (1 January) to 365.

use std::f64::consts::PI;

/// Solar constant, W/m2.
///
/// Source: total solar irradiance near solar minimum, Kopp & Lean 2011 (1360.8), rounded to 1361.
pub const SOLAR_CONSTANT_W_M2: f64 = 1361.0;

/// Day angle of Fourier series over the year.
fn day_angle(day_of_year: u16) -> f64 {
    2.0 * PI * (f64::from(day_of_year) - 1.0) / 365.0
}

/// Declination of the sun, rad, positive in the northern summer. Within about 0.05 degrees.
///
/// Source: Spencer 1971, Fourier series; Duffie & Beckman eq. 1.6.1b.
#[must_use]
pub fn declination_rad(day_of_year: u16) -> f64 {
    let x = day_angle(day_of_year);
    0.006_918 - 0.399_912 * x.cos() + 0.070_257 * x.sin() - 0.006_758 * (2.0 * x).cos() + 0.000_907 * (2.0 * x).sin()
        - 0.002_697 * (3.0 * x).cos()
        + 0.001_48 * (3.0 * x).sin()
}

/// Extraterrestrial irradiance on a plane facing the sun, W/m2.
///
/// Source: Spencer 1971, eccentricity series; Duffie & Beckman eq. 1.4.1b.
#[must_use]
pub fn extraterrestrial_normal_w_m2(day_of_year: u16) -> f64 {
    let x = day_angle(day_of_year);
    let series =
        1.000_11 + 0.034_221 * x.cos() + 0.001_28 * x.sin() + 0.000_719 * (2.0 * x).cos() + 0.000_077 * (2.0 * x).sin();
    SOLAR_CONSTANT_W_M2 * series
}

/// Sunset hour angle, rad: 0 in the polar night, pi in the polar day. Latitudes beyond the poles count as the pole.
///
/// Source: Duffie & Beckman eq. 1.6.10, geometric horizon (no refraction, no disc), clipped.
#[must_use]
pub fn sunset_hour_angle_rad(lat_rad: f64, declination_rad: f64) -> f64 {
    let lat = lat_rad.clamp(-PI / 2.0, PI / 2.0);
    (-lat.tan() * declination_rad.tan()).clamp(-1.0, 1.0).acos()
}

/// Extraterrestrial energy on the horizontal over one day, Wh/m2; never negative.
///
/// Source: Duffie & Beckman eq. 1.10.3.
#[must_use]
pub fn horizontal_day_wh_m2(lat_rad: f64, declination_rad: f64, normal_w_m2: f64) -> f64 {
    let lat = lat_rad.clamp(-PI / 2.0, PI / 2.0);
    let sunset = sunset_hour_angle_rad(lat, declination_rad);
    let swept = lat.cos() * declination_rad.cos() * sunset.sin() + sunset * lat.sin() * declination_rad.sin();
    (24.0 / PI * normal_w_m2 * swept).max(0.0)
}

/// Geometric day length, h, for a sunset hour angle in rad.
///
/// Source: Duffie & Beckman eq. 1.6.11.
#[must_use]
pub fn day_length_h(sunset_hour_angle_rad: f64) -> f64 {
    2.0 * sunset_hour_angle_rad.to_degrees() / 15.0
}

/// What one day of the year has in common for all latitudes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunDay {
    /// Declination, rad.
    pub declination_rad: f64,
    /// Extraterrestrial irradiance facing the sun, W/m2.
    pub normal_w_m2: f64,
}

impl SunDay {
    /// The sun on one day.
    ///
    /// Source: Spencer 1971, as [`declination_rad`] and [`extraterrestrial_normal_w_m2`].
    #[must_use]
    pub fn of(day_of_year: u16) -> Self {
        Self { declination_rad: declination_rad(day_of_year), normal_w_m2: extraterrestrial_normal_w_m2(day_of_year) }
    }
}
