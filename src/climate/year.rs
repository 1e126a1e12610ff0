//! The typical year made of twelve monthly means: 8760 hours, of which those with sun are kept.

use std::f64::consts::PI;
use std::ops::Range;
use std::sync::LazyLock;

use super::clock::{Clock, Noon, noon};
use super::sequence::{DAYS, daily_clearness, in_order_of, walk};
use super::shapes::{
    TEMPERATURE_HARMONICS, daily_diffuse_share, daily_range_k, diffuse_kernel, global_coefficients, global_kernel,
};
use crate::physics::daily::{SunDay, horizontal_day_wh_m2, sunset_hour_angle_rad};

/// Hours of the year.
pub const HOURS: usize = 24 * DAYS;
/// Days of the months, January first; the typical year has no 29 February.
pub const MONTH_DAYS: [usize; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
/// The months mask that asks for the whole year.
pub const ALL_MONTHS: u16 = 0x0FFF;
/// Wind at 10 m where nothing better is known, m/s.
///
/// Source: common practice; parked and sheltered.
pub const DEFAULT_WIND_M_S: f64 = 2.0;

/// Share of the extraterrestrial beam that the beam at the ground never exceeds.
///
/// Source: common practice in hourly synthesis; the clearest measured hours pass about 0.8.
const MOST_BEAM: f64 = 0.9;
/// Cosine of the zenith angle at mid-hour at or below which an hour has no beam: a sun 1.1 degrees high. Lower, the
/// little beam of a part of an hour would be thrown on tilted planes with the ratio of a grazing sun.
///
/// Source: common practice in hourly synthesis, limits of 88 to 89 degrees of zenith angle.
const LEAST_BEAM_COS: f64 = 0.02;
/// What stands for the height of a sun that is up in an hour, but not at its middle.
const HORIZON_COS: f64 = 1e-9;
/// Midpoints per hour that the day's shape is summed at.
const STEPS: usize = 6;
/// Smallest sunset hour angle that surely reaches a midpoint, rad.
const LEAST_SUNSET: f64 = PI / 24.0 / STEPS as f64 * (1.0 + 1e-6);
/// More than the cosine of the hour angle can change in half an hour.
const HALF_HOUR_COS: f64 = 0.131;

/// What is known of a place: monthly means, January first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MonthlyMeans {
    /// Global horizontal irradiation, kWh/m2 a day. Below zero counts as zero.
    pub ghi_kwh_m2_day: [f64; 12],
    /// Mean air temperature of day and night, C.
    pub mean_c: [f64; 12],
    /// Mean daily maximum less mean daily minimum, K; estimated from the clearness where absent.
    pub daily_range_k: Option<[f64; 12]>,
    /// Mean wind at 10 m, m/s.
    pub wind_m_s: [f64; 12],
}

/// One hour with sun. `ghi = dni * cos_zenith + dhi` holds exactly; light is the mean of the hour, the sun stands where
/// it is at mid-hour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SkyHour {
    /// Hour of the year, 0..8760, by the clock; in solar time hour 12 begins at noon of 1 January.
    pub hour: u16,
    /// Global horizontal irradiance, W/m2.
    pub ghi_w_m2: f64,
    /// Beam irradiance facing the sun, W/m2.
    pub dni_w_m2: f64,
    /// Diffuse horizontal irradiance, W/m2.
    pub dhi_w_m2: f64,
    /// Cosine of the zenith angle at mid-hour, without refraction; a hair above zero where the sun is down by then.
    pub cos_zenith: f64,
    /// Azimuth of the sun, degrees clockwise from north (east 90, south 180, west 270), 0..360. In the southern
    /// hemisphere noon is at 0.
    pub azimuth_deg: f64,
    /// East part of the unit vector to the sun; with `sun_north` and `cos_zenith` its length is one.
    pub sun_east: f64,
    /// North part of the unit vector to the sun.
    pub sun_north: f64,
    /// Extraterrestrial irradiance facing the sun, W/m2.
    pub extraterrestrial_normal_w_m2: f64,
    /// Air temperature, C.
    pub air_c: f64,
    /// Wind at 10 m, m/s.
    pub wind_m_s: f64,
}

/// Sun on the level above the air on a mean day of a month (0 = January), kWh/m2: no place has more.
///
/// Source: Duffie & Beckman eq. 1.10.3, the mean of the month's days.
#[must_use]
pub fn top_of_air_kwh_m2_day(latitude_deg: f64, month: usize) -> f64 {
    let first: usize = MONTH_DAYS.iter().take(month).sum();
    let days = MONTH_DAYS.get(month).copied().unwrap_or(0);
    let of = |day: usize| {
        let sun = SunDay::of(u16::try_from(day + 1).unwrap_or(1));
        horizontal_day_wh_m2(latitude_deg.to_radians(), sun.declination_rad, sun.normal_w_m2) / 1000.0
    };
    (first..first + days).map(of).sum::<f64>() / days.max(1) as f64
}

impl SkyHour {
    /// Unit vector to the sun: east, north, up.
    #[must_use]
    pub fn sun(&self) -> [f64; 3] {
        [self.sun_east, self.sun_north, self.cos_zenith]
    }
}

/// A typical year, or the asked-for months of one.
#[derive(Clone, Debug, PartialEq)]
pub struct TypicalYear {
    /// Hours with sun, in order, of the months asked for.
    pub sky: Vec<SkyHour>,
    /// Air temperature of all 8760 hours, C, whatever months were asked for.
    pub air_c: Box<[f64]>,
    /// Where each month lies in `sky`.
    pub months: [Range<usize>; 12],
}

impl TypicalYear {
    /// The hours with sun of a month, 0 for January; none for a month that was not asked for.
    #[must_use]
    pub fn month(&self, month: usize) -> &[SkyHour] {
        self.months.get(month).and_then(|range| self.sky.get(range.clone())).unwrap_or_default()
    }
}

/// The whole typical year at a latitude, in solar time. The monthly means of the sun come out exactly as entered for every seed,
/// wherever the sun rises in that month at all; the seed sets the order of clear and dull days.
///
/// Source: daily clearness Bendt et al. 1981, order Graham et al. 1988, hours Collares-Pereira & Rabl 1979 and Liu &
/// Jordan 1960, diffuse share Erbs et al. 1982, temperature Erbs et al. 1983; each cited where it is written.
#[must_use]
pub fn typical_year(means: &MonthlyMeans, lat_deg: f64, seed: u64) -> TypicalYear {
    typical_months(means, lat_deg, seed, ALL_MONTHS, None)
}

/// Daily range of air temperature in a month (0 January), K, where only its sun in kWh/m2 a day is known.
///
/// Source: as [`daily_range_k`], of the month's clearness.
#[must_use]
pub fn monthly_range_k(ghi_kwh_m2_day: f64, lat_deg: f64, month: usize) -> f64 {
    let lat = if lat_deg.is_finite() { lat_deg.clamp(-90.0, 90.0).to_radians() } else { 0.0 };
    let first = MONTH_DAYS.iter().take(month).sum::<usize>();
    let days = MONTH_DAYS.get(month).copied().unwrap_or(0);
    let top_wh_m2 = (first..first + days).map(|d| Day::of(d, lat).top_wh_m2).sum::<f64>();
    let made_wh_m2 = (ghi_kwh_m2_day * 1000.0).max(0.0) * days as f64;
    daily_range_k(if top_wh_m2 > 0.0 { made_wh_m2 / top_wh_m2 } else { 0.0 })
}

/// As [`typical_year`], with the sun of only the months in the mask (bit 0 January), and by a clock if there is one.
/// The hours are the same as the whole year's: the order of days is that of the whole year.
///
/// Source: as [`typical_year`].
#[must_use]
pub fn typical_months(means: &MonthlyMeans, lat_deg: f64, seed: u64, months: u16, clock: Option<Clock>) -> TypicalYear {
    let variates = walk(seed);
    let lat = if lat_deg.is_finite() { lat_deg.clamp(-90.0, 90.0).to_radians() } else { 0.0 };
    let mut sky = Vec::with_capacity(DAYS * 13 * (months & ALL_MONTHS).count_ones() as usize / 12);
    let mut air = Vec::with_capacity(HOURS);
    let mut ranges = [const { 0..0 }; 12];
    let mut first = 0;
    for (month, days) in MONTH_DAYS.into_iter().enumerate() {
        let asked = months & 1 << month != 0;
        let start = sky.len();
        let range_known = means.daily_range_k.map(|range| range[month]);
        let suns: Vec<Day> = if asked || range_known.is_none() {
            (first..first + days).map(|d| Day::of(d, lat)).collect()
        } else {
            vec![]
        };
        let mean_top = suns.iter().map(|day| day.top_wh_m2).sum::<f64>() / days as f64;
        let wanted = (means.ghi_kwh_m2_day[month] * 1000.0).max(0.0);
        let kt = if mean_top > 0.0 { wanted / mean_top } else { 0.0 };
        let range = range_known.unwrap_or_else(|| daily_range_k(kt)).max(0.0);
        let noons: Vec<Noon> = (first..first + days).map(|d| noon(d, clock)).collect();
        for noon in &noons {
            air.extend(daily_wave(noon.ahead).map(|wave| means.mean_c[month] + range * wave));
        }
        if asked && kt > 0.0 {
            let clearness = in_order_of(&variates[first..first + days], &daily_clearness(kt, days));
            let made: f64 = suns.iter().zip(&clearness).map(|(day, k)| k * day.top_wh_m2).sum();
            let closing = if made > 0.0 { wanted * days as f64 / made } else { 0.0 };
            for ((day, k), noon) in suns.iter().zip(&clearness).zip(&noons) {
                let weather = Weather { air: &air[24 * day.index..], wind_m_s: means.wind_m_s[month] };
                // The closed clearness, so that the diffuse share belongs to the day as it is made.
                day.hours(k * closing, noon, &weather, &mut sky);
            }
        }
        ranges[month] = start..sky.len();
        first += days;
    }
    TypicalYear { sky, air_c: air.into_boxed_slice(), months: ranges }
}

/// What is the same for every place and year: cosine and sine of angles by the hour of the clock, to which the day's
/// lead of solar time is then added.
struct Tables {
    sun: Vec<SunDay>,
    /// Of the hour angle at the midpoints of each hour's steps.
    steps: [[(f64, f64); STEPS]; 24],
    /// Of the hour angle at mid-hour.
    middles: [(f64, f64); 24],
    /// Of the harmonics of the day at the hour's beginning.
    harmonics: [[(f64, f64); TEMPERATURE_HARMONICS.len()]; 24],
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    let parts = |angle: f64| (angle.cos(), angle.sin());
    let angle = |hour: f64| (hour - 12.0) * PI / 12.0;
    Tables {
        sun: (1..=DAYS as u16).map(SunDay::of).collect(),
        steps: std::array::from_fn(|h| {
            std::array::from_fn(|s| parts(angle(h as f64 + (s as f64 + 0.5) / STEPS as f64)))
        }),
        middles: std::array::from_fn(|h| parts(angle(h as f64 + 0.5))),
        harmonics: std::array::from_fn(|h| std::array::from_fn(|k| parts((k + 1) as f64 * h as f64 * PI / 12.0))),
    }
});

/// The daily temperature wave in each hour of a clock that solar time is `ahead` of, rad. The wave's hours are numbered
/// by their ends, 1 for the one that ends at 1 in the morning, and number t has the angle 2 pi (t - 1) / 24: that of
/// its beginning.
///
/// Source: Erbs, Klein & Beckman 1983, the numbering from memory.
fn daily_wave(ahead: f64) -> [f64; 24] {
    let mut turn = 0.0;
    let turned = TEMPERATURE_HARMONICS.map(|(size, phase)| {
        turn += ahead;
        let (sin, cos) = (turn - phase).sin_cos();
        (size * cos, size * sin)
    });
    TABLES.harmonics.map(|hour| hour.iter().zip(&turned).map(|(h, t)| h.0 * t.0 - h.1 * t.1).sum())
}

struct Weather<'a> {
    /// From the first hour of the day on.
    air: &'a [f64],
    wind_m_s: f64,
}

/// The sun over one place on one day.
struct Day {
    /// Day of the year from 0.
    index: usize,
    sunset: f64,
    normal_w_m2: f64,
    /// Extraterrestrial energy on the horizontal, Wh/m2.
    top_wh_m2: f64,
    /// Sine and cosine of the latitude.
    lat: (f64, f64),
}

impl Day {
    /// The daily models (clearness, diffuse share, shapes) were fitted with Spencer's declination and are given it;
    /// it lags the present sun by up to 0.4 degrees, so that the sun's place by the hour is worked out apart.
    fn of(index: usize, lat: f64) -> Self {
        let sun = TABLES.sun.get(index).copied().unwrap_or_else(|| SunDay::of(1));
        let (lat_parts, declination) = (lat.sin_cos(), sun.declination_rad.sin_cos());
        let sunset = sunset_hour_angle_rad(lat, sun.declination_rad);
        let swept = lat_parts.1 * declination.1 * sunset.sin() + sunset * lat_parts.0 * declination.0;
        let lit = sunset > LEAST_SUNSET;
        let top_wh_m2 = if lit { (24.0 / PI * sun.normal_w_m2 * swept).max(0.0) } else { 0.0 };
        Self { index, sunset, normal_w_m2: sun.normal_w_m2, top_wh_m2, lat: lat_parts }
    }

    /// Share of the day's global and diffuse light in each hour of the clock; `None` for a day without sun.
    fn shares(&self, ahead: (f64, f64)) -> Option<[(f64, f64); 24]> {
        let (cos_sunset, coefficients) = (self.sunset.cos(), global_coefficients(self.sunset));
        let mut shares = [(0.0, 0.0); 24];
        let mut sums = (0.0, 0.0);
        for ((share, steps), middle) in shares.iter_mut().zip(&TABLES.steps).zip(&TABLES.middles) {
            if turned(*middle, ahead).0 + HALF_HOUR_COS < cos_sunset {
                continue;
            }
            for step in steps {
                let cos = step.0 * ahead.0 - step.1 * ahead.1;
                share.0 += global_kernel(coefficients, cos, cos_sunset);
                share.1 += diffuse_kernel(cos, cos_sunset);
            }
            sums.0 += share.0;
            sums.1 += share.1;
        }
        (sums.0 > 0.0 && sums.1 > 0.0).then(|| shares.map(|share| (share.0 / sums.0, share.1 / sums.1)))
    }

    /// Adds the day's hours with sun.
    fn hours(&self, clearness: f64, noon: &Noon, weather: &Weather, sky: &mut Vec<SkyHour>) {
        let day_wh = clearness * self.top_wh_m2;
        let ahead = (noon.ahead.cos(), noon.ahead.sin());
        let Some(shares) = (if day_wh > 0.0 { self.shares(ahead) } else { None }) else { return };
        let diffuse_wh = day_wh * daily_diffuse_share(clearness, self.sunset);
        let declination = noon.declination.sin_cos();
        for (of_day, ((global, diffuse), air_c)) in shares.into_iter().zip(weather.air).enumerate() {
            if global <= 0.0 {
                continue;
            }
            let angle = turned(TABLES.middles[of_day], ahead);
            // The day's drift of the declination to this hour, to first order.
            let drift = noon.drift * ((of_day as f64 - 11.5) / 24.0 + noon.ahead / (2.0 * PI));
            let parts = (declination.0 + declination.1 * drift, declination.1 - declination.0 * drift);
            let place = self.place(angle, parts);
            // The hour's mean height where that is the larger: around sunrise the middle misses most of the sun.
            let mean = self.top_wh_m2 * diffuse / self.normal_w_m2;
            let ghi_w_m2 = day_wh * global;
            let beam = ghi_w_m2 - (diffuse_wh * diffuse).min(ghi_w_m2);
            let dni_w_m2 = if place.up > LEAST_BEAM_COS {
                (beam / place.up.max(mean)).min(MOST_BEAM * self.normal_w_m2)
            } else {
                0.0
            };
            sky.push(SkyHour {
                hour: (self.index * 24 + of_day) as u16,
                ghi_w_m2,
                dni_w_m2,
                // What is left, so that a level plane gets the global light.
                dhi_w_m2: (ghi_w_m2 - dni_w_m2 * place.up).max(0.0),
                cos_zenith: place.up,
                azimuth_deg: place.azimuth_deg,
                sun_east: place.east,
                sun_north: place.north,
                extraterrestrial_normal_w_m2: self.normal_w_m2,
                air_c: *air_c,
                wind_m_s: weather.wind_m_s,
            });
        }
    }

    /// Where the sun stands at an hour angle (cosine and sine) and declination (sine and cosine); on the horizon where
    /// it is below.
    fn place(&self, (cos_angle, sin_angle): (f64, f64), (sin_declination, cos_declination): (f64, f64)) -> Place {
        let (sin_lat, cos_lat) = self.lat;
        let height = cos_lat * cos_declination * cos_angle + sin_lat * sin_declination;
        let up = height.clamp(HORIZON_COS, 1.0);
        let east = -cos_declination * sin_angle;
        let north = sin_declination * cos_lat - cos_declination * sin_lat * cos_angle;
        let flat = east.hypot(north);
        let along = if flat > 1e-12 { (1.0 - up * up).max(0.0).sqrt() / flat } else { 0.0 };
        let azimuth_deg = east.atan2(north).to_degrees().rem_euclid(360.0);
        Place {
            up,
            azimuth_deg: if azimuth_deg < 360.0 { azimuth_deg } else { 0.0 },
            east: east * along,
            north: north * along,
        }
    }
}

/// Cosine and sine of an angle to which another is added, both given as (cosine, sine).
fn turned(angle: (f64, f64), by: (f64, f64)) -> (f64, f64) {
    (angle.0 * by.0 - angle.1 * by.1, angle.1 * by.0 + angle.0 * by.1)
}

struct Place {
    up: f64,
    azimuth_deg: f64,
    east: f64,
    north: f64,
}
