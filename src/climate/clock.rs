//! Where the sun stands against the clock: declination and equation of time by the day.

use std::f64::consts::PI;
use std::sync::LazyLock;

use super::sequence::DAYS;
use crate::physics::sun::{days_since_j2000, position};

/// Year that the typical year's sun is taken from. Its equinox falls where it fell on average in the decades that
/// typical years and climate normals are made of (20.9 March against 20.8 for 1979 to 1982).
const YEAR: i32 = 2023;

/// Local standard time at a longitude. Without a clock the typical year runs in solar time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clock {
    /// East positive, degrees.
    pub longitude_deg: f64,
    /// Hours that the clock is ahead of universal time, without daylight saving.
    pub zone_h: f64,
}

impl Clock {
    /// The clock of the nearest whole-hour meridian.
    ///
    /// Source: the definition of nautical time zones; a legal zone may lie an hour off.
    #[must_use]
    pub fn nearest(longitude_deg: f64) -> Self {
        Self { longitude_deg, zone_h: (longitude_deg / 15.0).round() }
    }

    /// The clock of a place whose zone is known, else of the nearest whole-hour meridian.
    #[must_use]
    pub fn at(longitude_deg: f64, zone_h: Option<f64>) -> Self {
        zone_h.map_or_else(|| Self::nearest(longitude_deg), |zone_h| Self { longitude_deg, zone_h })
    }
}

/// The sun of one day at one longitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Noon {
    /// At solar noon, rad.
    pub declination: f64,
    /// Change of the declination, rad a day.
    pub drift: f64,
    /// Solar time less clock time, as an hour angle in rad, -pi..pi.
    pub ahead: f64,
}

/// Declination and equation of time (as an hour angle), rad, at 12 h universal time from the day before the year
/// to the day after it.
static TABLE: LazyLock<[(f64, f64); DAYS + 2]> = LazyLock::new(|| {
    let first = days_since_j2000(YEAR, 1, 1, 12.0) - 1.0;
    std::array::from_fn(|i| {
        // On the equator the parts of the vector to the sun are the sine of the declination and, times its cosine,
        // those of the hour angle; on the zero meridian at noon that is the equation of time.
        let [east, north, up] = position(first + i as f64, 12.0, 0.0, 0.0).vector();
        (north.clamp(-1.0, 1.0).asin(), (-east).atan2(up))
    })
});

/// The sun of a day of the year, counted from 0.
///
/// Source: Blanco, Milidonis & Bonanos 2020, once a day; straight lines between noons (within 0.001 degrees).
pub(super) fn noon(day: usize, clock: Option<Clock>) -> Noon {
    let longitude = clock.map_or(0.0, |c| c.longitude_deg);
    let longitude = if longitude.is_finite() { longitude.clamp(-180.0, 180.0) } else { 0.0 };
    // Solar noon comes this share of a day after noon of universal time.
    let later = -longitude / 360.0;
    let before = if later < 0.0 { day } else { day + 1 }.min(DAYS);
    let share = if later < 0.0 { 1.0 + later } else { later };
    let (from, to) = (TABLE[before], TABLE[before + 1]);
    let drift = to.0 - from.0;
    let equation = from.1 + share * (to.1 - from.1);
    let ahead = clock.map_or(0.0, |c| equation + (c.longitude_deg / 15.0 - c.zone_h) * PI / 12.0);
    let ahead = if ahead.is_finite() { (ahead + PI).rem_euclid(2.0 * PI) - PI } else { 0.0 };
    Noon { declination: from.0 + share * drift, drift, ahead }
}
