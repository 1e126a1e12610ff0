//! Where the coach goes: the climate of each stay, the coldest and the hottest of it.

use crate::climate::clock::Clock;
use crate::climate::grid::{Climate, look};
use crate::climate::year::{DEFAULT_WIND_M_S, monthly_range_k};
use crate::physics::sky::Skyline;
use crate::plan::job::Sky;
use crate::plan::{FieldPath, Figure, Missing, Plan, Stay};
use crate::units::Celsius;

use super::memo::{Memo, Stage};

/// The months and climate of one stay, ready for the sky stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    pub latitude_deg: f64,
    /// Hours are those of the place, or of the nearest whole-hour meridian; `None`: solar time.
    pub clock: Option<Clock>,
    pub ghi_kwh_m2_day: [f64; 12],
    pub mean_c: [f64; 12],
    /// Mean daily maximum less minimum; `None` where the stay gives its own temperatures.
    pub daily_range_k: Option<[f64; 12]>,
    pub wind_m_s: [f64; 12],
    pub tilt_deg: f64,
    /// `None`: any; another one every day.
    pub heading_deg: Option<f64>,
    /// Elevation below which trees stand all round, degrees.
    pub horizon_deg: f64,
    pub soiling_share: f64,
    /// Months of the year that this stay gives; bit 0 is January.
    pub months: u16,
    /// Seed of the order of clear and dull days.
    pub seed: u64,
}

impl Site {
    /// The same with panels flat on the roof. A level panel faces nowhere: its heading must not make it another computation.
    pub(super) fn flat(&self) -> Self {
        Self { tilt_deg: 0.0, heading_deg: None, ..self.clone() }
    }
}

/// Seed of the year that is shown. Source: our own choice; other seeds are for reliability.
pub const SHOWN_SEED: u64 = 1;

/// Share of an evenly bright sky that what stands round a coach hides.
#[must_use]
pub fn hidden_share(sky: Sky) -> f64 {
    1.0 - Skyline::new(sky.horizon_deg()).open_share()
}

/// Where a stay is, and its climate by the built-in grid.
#[derive(Clone, Debug)]
pub struct Spot {
    latitude_deg: f64,
    longitude_deg: f64,
    climate: Stage<Option<Climate>>,
}

/// Places that were looked up: position and elevation.
pub type Looked = Memo<(f64, f64, Option<f64>), Option<Climate>>;

impl Spot {
    /// Whether the built-in climate knows the place.
    #[must_use]
    pub fn has_climate(&self) -> bool {
        self.climate.is_some()
    }

    /// North and east, degrees.
    #[must_use]
    pub fn degrees(&self) -> (f64, f64) {
        (self.latitude_deg, self.longitude_deg)
    }
}

/// The spots of a plan's stays, in their order.
#[must_use]
pub fn spots(plan: &Plan, looked: &mut Looked) -> Vec<Figure<Spot>> {
    plan.stays.iter().map(|stay| spot(stay, looked)).collect()
}

fn spot(stay: &Stay, looked: &mut Looked) -> Figure<Spot> {
    let field = |key: &str| FieldPath::of(&["stays", stay.id.as_str(), key]);
    let latitude_deg = stay.latitude_deg.at(|| field("latitude_deg"))?.0;
    let longitude_deg = stay.longitude_deg.at(|| field("longitude_deg"))?.0;
    let elevation_m = match &stay.elevation_m {
        None => None,
        Some(known) => Some(known.at(|| field("elevation_m"))?.0),
    };
    let climate = looked.get((latitude_deg, longitude_deg, elevation_m), |(lat, lon, up)| look(*lat, *lon, *up));
    Ok(Spot { latitude_deg, longitude_deg, climate })
}

/// The sun on level ground at a stay, whatever the panels there do, kWh/m2 a day.
///
/// # Errors
/// Where it is, if that is not known; a place without climate waits for its own sun.
pub fn sun(stay: &Stay, spot: &Figure<Spot>) -> Figure<[f64; 12]> {
    match (&stay.sun_kwh_m2_day, &*spot.as_ref().map_err(Clone::clone)?.climate) {
        (Some(monthly), _) => Ok(monthly.0),
        (None, Some(climate)) => Ok(climate.ghi_kwh_m2_day),
        (None, None) => Err(Missing(FieldPath::new(format!("stays.{}.sun_kwh_m2_day", stay.id)))),
    }
}

/// A stay's site for the months it is asked for. `lies_flat`: whether every panel does, whatever the tilt there.
///
/// # Errors
/// The unknown field that its climate waits for; a place without climate waits for its own sun.
pub fn site(stay: &Stay, spot: &Figure<Spot>, months: u16, lies_flat: bool) -> Figure<Site> {
    let field = |key: &str| FieldPath::of(&["stays", stay.id.as_str(), key]);
    let ghi = sun(stay, spot)?;
    let Spot { latitude_deg, longitude_deg, climate } = spot.clone()?;
    let climate = &*climate;
    let mean_c = mean_c(stay, spot)?;
    let daily_range_k = climate.as_ref().filter(|_| stay.mean_c.is_none());
    let daily_range_k = daily_range_k.map(|climate| std::array::from_fn(|m| climate.max_c[m] - climate.min_c[m]));
    let tilt_deg = if lies_flat { 0.0 } else { stay.tilt_deg.at(|| field("tilt_deg"))?.0 };
    // A level panel faces nowhere: its heading must not make it another computation.
    let heading_deg = match &stay.heading_deg {
        Some(known) if tilt_deg != 0.0 => Some(known.at(|| field("heading_deg"))?.0),
        _ => None,
    };
    let zone_h = match &stay.clock_h {
        None => None,
        Some(known) => Some(known.at(|| field("clock_h"))?.0),
    };
    Ok(Site {
        latitude_deg,
        clock: Some(Clock::at(longitude_deg, zone_h)),
        ghi_kwh_m2_day: ghi,
        mean_c,
        daily_range_k,
        wind_m_s: stay.wind_m_s.map_or([DEFAULT_WIND_M_S; 12], |w| w.0),
        tilt_deg,
        heading_deg,
        horizon_deg: stay.sky.horizon_deg(),
        soiling_share: stay.soiling_pct.at(|| field("soiling_pct"))?.0 / 100.0,
        months,
        seed: SHOWN_SEED,
    })
}

/// A stay's mean temperatures, month by month: its own, else by the climate there.
///
/// # Errors
/// Where it is, if that is not known; a place without climate waits for its own.
pub fn mean_c(stay: &Stay, spot: &Figure<Spot>) -> Figure<[f64; 12]> {
    match (&stay.mean_c, &*spot.as_ref().map_err(Clone::clone)?.climate) {
        (Some(monthly), _) => Ok(monthly.0),
        (None, Some(climate)) => Ok(climate.mean_c),
        (None, None) => Err(Missing(FieldPath::of(&["stays", stay.id.as_str(), "mean_c"]))),
    }
}

/// Which stay each month belongs to: the first that has it.
#[must_use]
pub fn stay_of_months(plan: &Plan) -> [Option<usize>; 12] {
    std::array::from_fn(|m| plan.stays.iter().position(|s| s.months.has(m)))
}

/// The coldest air that the coach's panels will see.
///
/// As entered; else the coldest mean extreme minimum of its stays, less `margin_k` for mountain valleys that the
/// modelled minimum misses; lower by as much as a stay's own coldest month lies under the climate's there,
/// and at least its mean daily minimum.
///
/// # Errors
/// The field it waits for.
pub fn coldest_c(plan: &Plan, spots: &[Figure<Spot>], margin_k: f64) -> Figure<Celsius> {
    if let Some(known) = &plan.job.coldest_c {
        return known.at(|| FieldPath::new("job.coldest_c"));
    }
    extreme(spots.iter().zip(&plan.stays), |spot, stay| stay_coldest_c(stay, spot, margin_k), f64::min)
}

/// The same of one stay, by its climate and its own means.
///
/// # Errors
/// A place without climate has none: what is entered for the whole coach stands for it.
fn stay_coldest_c(stay: &Stay, spot: &Spot, margin_k: f64) -> Figure<f64> {
    let least = |months: &[f64; 12]| months.iter().copied().fold(f64::MAX, f64::min);
    let climate = spot.climate.as_ref().ok_or_else(|| Missing(FieldPath::new("job.coldest_c")))?;
    let colder_k = stay.mean_c.as_ref().map_or(0.0, |own| (least(&own.0) - least(&climate.mean_c)).min(0.0));
    Ok((climate.extreme_min_c + colder_k - margin_k).min(own_low_c(spot, stay, climate)))
}

/// The coldest of the stays whose climate is known, with its stay, whatever is entered; and what the first of the others
/// waits for.
#[must_use]
pub fn coldest_stay(plan: &Plan, spots: &[Figure<Spot>], margin_k: f64) -> (Option<(f64, usize)>, Option<Missing>) {
    let (mut coldest, mut waits): (Option<(f64, usize)>, Option<Missing>) = (None, None);
    for (i, (spot, stay)) in spots.iter().zip(&plan.stays).enumerate() {
        match spot.as_ref().map_err(Clone::clone).and_then(|spot| stay_coldest_c(stay, spot, margin_k)) {
            Ok(c) if coldest.is_none_or(|(least, _)| c < least) => coldest = Some((c, i)),
            Ok(_) => {}
            Err(missing) => {
                waits.get_or_insert(missing);
            }
        }
    }
    (coldest, waits)
}

/// The coldest mean of the months that have a stay, and its month, as far as it is known.
#[must_use]
pub fn coldest_month(plan: &Plan, spots: &[Figure<Spot>]) -> Option<(f64, usize)> {
    let means = stay_of_months(plan).into_iter().enumerate().filter_map(|(m, stay)| {
        let (stay, spot) = stay.and_then(|i| plan.stays.get(i).zip(spots.get(i)))?;
        Some((mean_c(stay, spot).ok()?[m], m))
    });
    means.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The mean daily minimum of the coldest month by a stay's own means; infinite where it gives none.
///
/// Source: half the daily range by the month's sun under its mean, Erbs, Klein & Beckman 1983.
fn own_low_c(spot: &Spot, stay: &Stay, climate: &Climate) -> f64 {
    let Some(mean) = &stay.mean_c else { return f64::INFINITY };
    let sun = stay.sun_kwh_m2_day.as_ref().map_or(climate.ghi_kwh_m2_day, |own| own.0);
    let months = mean.0.iter().zip(&sun).enumerate();
    let lows = months.map(|(m, (mean, sun))| mean - monthly_range_k(*sun, spot.latitude_deg, m) / 2.0);
    lows.fold(f64::INFINITY, f64::min)
}

/// The mean daily maximum of the hottest month of those that are spent at its stays; of all months where none is. Where a stay gives mean temperatures of its own: of these, with
/// half the daily range of its sun above them, as in the year.
///
/// # Errors
/// The field it waits for.
pub fn hottest_mean_max_c(plan: &Plan, spots: &[Figure<Spot>]) -> Figure<Celsius> {
    let of_months = stay_of_months(plan);
    let is_nowhere = of_months.iter().all(Option::is_none);
    let lives = |stay: &Stay, m: usize| {
        let there = of_months.get(m).copied().flatten().and_then(|i| plan.stays.get(i));
        is_nowhere || there.is_some_and(|there| there.id == stay.id)
    };
    let hottest = |spot: &Spot, stay: &Stay| {
        let most = |of: &dyn Fn(usize) -> f64| (0..12).filter(|m| lives(stay, *m)).map(of).fold(f64::MIN, f64::max);
        let own = |key: &str| Missing(FieldPath::of(&["stays", stay.id.as_str(), key]));
        let mean = match (&stay.mean_c, &*spot.climate) {
            (Some(mean), _) => mean,
            (None, Some(climate)) => return Ok(most(&|m| climate.max_c[m])),
            (None, None) => return Err(own("mean_c")),
        };
        let sun = match (&stay.sun_kwh_m2_day, &*spot.climate) {
            (Some(sun), _) => sun.0,
            (None, Some(climate)) => climate.ghi_kwh_m2_day,
            (None, None) => return Err(own("sun_kwh_m2_day")),
        };
        Ok(most(&|m| mean.0[m] + monthly_range_k(sun[m], spot.latitude_deg, m) / 2.0))
    };
    let lived = spots.iter().zip(&plan.stays).filter(|(_, stay)| (0..12).any(|m| lives(stay, m)));
    extreme(lived, hottest, f64::max)
}

fn extreme<'a>(
    stays: impl Iterator<Item = (&'a Figure<Spot>, &'a Stay)>,
    of: impl Fn(&Spot, &Stay) -> Figure<f64>,
    pick: impl Fn(f64, f64) -> f64,
) -> Figure<Celsius> {
    let mut found: Option<f64> = None;
    for (spot, stay) in stays {
        let value = of(spot.as_ref().map_err(Clone::clone)?, stay)?;
        found = Some(found.map_or(value, |old| pick(old, value)));
    }
    found.map(Celsius).ok_or_else(|| Missing(FieldPath::new("stays")))
}
