//! The typical year made of twelve monthly means: 8760 hours of solar time, of which those with sun are kept.

use std::f64::consts::PI;
use std::ops::Range;
use std::sync::LazyLock;

use super::sequence::{DAYS, daily_clearness, in_order_of, walk};
use super::shapes::{
    daily_diffuse_share, daily_range_k, diffuse_kernel, global_coefficients, global_kernel, temperature_wave,
};
use crate::physics::daily::{SunDay, sunset_hour_angle_rad};

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
/// Midpoints per hour that the day's shape is summed at.
const STEPS: usize = 6;
/// Smallest sunset hour angle that reaches a midpoint, rad.
const LEAST_SUNSET: f64 = PI / 24.0 / STEPS as f64;

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

/// One hour with sun. `ghi = dni * cos_zenith + dhi` holds exactly; all are means over the hour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SkyHour {
    /// Hour of the year, 0..8760, in solar time: hour 12 begins at solar noon of 1 January.
    pub hour: u16,
    /// Global horizontal irradiance, W/m2.
    pub ghi_w_m2: f64,
    /// Beam irradiance facing the sun, W/m2.
    pub dni_w_m2: f64,
    /// Diffuse horizontal irradiance, W/m2.
    pub dhi_w_m2: f64,
    /// Cosine of the zenith angle: the larger of the hour's mean and its midpoint's; above zero.
    pub cos_zenith: f64,
    /// Azimuth of the sun at mid-hour, degrees clockwise from north (east 90, south 180, west 270), 0..360. In the
    /// southern hemisphere noon is at 0.
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

/// The whole typical year at a latitude. The monthly means of the sun come out exactly as entered for every seed,
/// wherever the sun rises in that month at all; the seed sets the order of clear and dull days.
///
/// Source: daily clearness Bendt et al. 1981, order Graham et al. 1988, hours Collares-Pereira & Rabl 1979 and Liu &
/// Jordan 1960, diffuse share Erbs et al. 1982, temperature Erbs et al. 1983; each cited where it is written.
#[must_use]
pub fn typical_year(means: &MonthlyMeans, lat_deg: f64, seed: u64) -> TypicalYear {
    typical_months(means, lat_deg, seed, ALL_MONTHS)
}

/// As [`typical_year`], with the sun of only the months in the mask (bit 0 January). The hours are the same as the
/// whole year's: the order of days is that of the whole year.
///
/// Source: as [`typical_year`].
#[must_use]
pub fn typical_months(means: &MonthlyMeans, lat_deg: f64, seed: u64, months: u16) -> TypicalYear {
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
        let wave: [f64; 24] = std::array::from_fn(|h| means.mean_c[month] + range * TABLES.wave[h]);
        (0..days).for_each(|_| air.extend_from_slice(&wave));
        if asked && kt > 0.0 {
            let clearness = in_order_of(&variates[first..first + days], &daily_clearness(kt, days));
            let made: f64 = suns.iter().zip(&clearness).map(|(day, k)| k * day.top_wh_m2).sum();
            let closing = if made > 0.0 { wanted * days as f64 / made } else { 0.0 };
            let weather = Weather { air: &wave, wind_m_s: means.wind_m_s[month] };
            for (day, k) in suns.iter().zip(&clearness) {
                day.hours(*k, closing, &weather, &mut sky);
            }
        }
        ranges[month] = start..sky.len();
        first += days;
    }
    TypicalYear { sky, air_c: air.into_boxed_slice(), months: ranges }
}

/// What is the same for every place and year.
struct Tables {
    sun: Vec<SunDay>,
    /// Cosines of the hour angle at the midpoints of the twelve hours before noon; the afternoon mirrors them.
    steps: [[f64; STEPS]; 12],
    /// Sine and cosine of the hour angle at mid-hour, before noon.
    middles: [(f64, f64); 12],
    wave: [f64; 24],
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    let angle = |hour: f64| (hour - 12.0) * PI / 12.0;
    Tables {
        sun: (1..=DAYS as u16).map(SunDay::of).collect(),
        steps: std::array::from_fn(|h| {
            std::array::from_fn(|s| angle(h as f64 + (s as f64 + 0.5) / STEPS as f64).cos())
        }),
        middles: std::array::from_fn(|h| angle(h as f64 + 0.5).sin_cos()),
        wave: std::array::from_fn(|h| temperature_wave(h as f64 + 0.5)),
    }
});

struct Weather<'a> {
    air: &'a [f64; 24],
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
    /// Sine and cosine of the latitude, then of the declination.
    lat: (f64, f64),
    declination: (f64, f64),
}

impl Day {
    fn of(index: usize, lat: f64) -> Self {
        let sun = TABLES.sun.get(index).copied().unwrap_or_else(|| SunDay::of(1));
        let (lat_parts, declination) = (lat.sin_cos(), sun.declination_rad.sin_cos());
        let sunset = sunset_hour_angle_rad(lat, sun.declination_rad);
        let swept = lat_parts.1 * declination.1 * sunset.sin() + sunset * lat_parts.0 * declination.0;
        let lit = sunset > LEAST_SUNSET;
        let top_wh_m2 = if lit { (24.0 / PI * sun.normal_w_m2 * swept).max(0.0) } else { 0.0 };
        Self { index, sunset, normal_w_m2: sun.normal_w_m2, top_wh_m2, lat: lat_parts, declination }
    }

    /// Adds the day's hours with sun. `closing` takes the clearness to the month's exact mean.
    fn hours(&self, clearness: f64, closing: f64, weather: &Weather, sky: &mut Vec<SkyHour>) {
        // The closed clearness, so that the diffuse share belongs to the day as it is made.
        let clearness = clearness * closing;
        let day_wh = clearness * self.top_wh_m2;
        let (cos_sunset, coefficients) = (self.sunset.cos(), global_coefficients(self.sunset));
        let mut shapes = [(0.0, 0.0); 12];
        let mut sums = (0.0, 0.0);
        for (shape, steps) in shapes.iter_mut().zip(&TABLES.steps) {
            for cos in steps {
                shape.0 += global_kernel(coefficients, *cos, cos_sunset);
                shape.1 += diffuse_kernel(*cos, cos_sunset);
            }
            sums.0 += 2.0 * shape.0;
            sums.1 += 2.0 * shape.1;
        }
        if !(day_wh > 0.0 && sums.0 > 0.0 && sums.1 > 0.0) {
            return;
        }
        let diffuse_wh = day_wh * daily_diffuse_share(clearness, self.sunset);
        let morning: [Option<Hour>; 12] = std::array::from_fn(|h| {
            let (global, diffuse) = (shapes[h].0 / sums.0, shapes[h].1 / sums.1);
            (global > 0.0).then(|| self.hour(h, day_wh * global, diffuse_wh * diffuse, diffuse))
        });
        for of_day in 0..24 {
            let before_noon = of_day < 12;
            let Some(hour) = &morning[if before_noon { of_day } else { 23 - of_day }] else { continue };
            sky.push(SkyHour {
                hour: (self.index * 24 + of_day) as u16,
                ghi_w_m2: hour.ghi,
                dni_w_m2: hour.dni,
                dhi_w_m2: hour.dhi,
                cos_zenith: hour.cos_zenith,
                azimuth_deg: if before_noon { hour.azimuth_deg } else { (360.0 - hour.azimuth_deg) % 360.0 },
                sun_east: if before_noon { hour.east } else { -hour.east },
                sun_north: hour.north,
                extraterrestrial_normal_w_m2: self.normal_w_m2,
                air_c: weather.air[of_day],
                wind_m_s: weather.wind_m_s,
            });
        }
    }

    /// An hour before noon from its global and diffuse energy and its share of the extraterrestrial day.
    fn hour(&self, hour: usize, ghi: f64, diffuse: f64, share: f64) -> Hour {
        let (sin_angle, cos_angle) = TABLES.middles[hour];
        let (sin_lat, cos_lat) = self.lat;
        let (sin_declination, cos_declination) = self.declination;
        let middle = cos_lat * cos_declination * cos_angle + sin_lat * sin_declination;
        let mean = self.top_wh_m2 * share / self.normal_w_m2;
        let cos_zenith = middle.max(mean).clamp(1e-9, 1.0);
        let dni = ((ghi - diffuse.min(ghi)) / cos_zenith).min(MOST_BEAM * self.normal_w_m2);
        let dhi = (ghi - dni * cos_zenith).max(0.0);
        let east = -cos_declination * sin_angle;
        let north = sin_declination * cos_lat - cos_declination * sin_lat * cos_angle;
        let flat = east.hypot(north);
        let along = if flat > 1e-12 { (1.0 - cos_zenith * cos_zenith).max(0.0).sqrt() / flat } else { 0.0 };
        let azimuth_deg = east.atan2(north).to_degrees().rem_euclid(360.0);
        Hour { ghi, dni, dhi, cos_zenith, azimuth_deg, east: east * along, north: north * along }
    }
}

struct Hour {
    ghi: f64,
    dni: f64,
    dhi: f64,
    cos_zenith: f64,
    azimuth_deg: f64,
    east: f64,
    north: f64,
}
