//! The sky stage: a stay's typical year as light on its panels, hour by hour.

use std::f64::consts::TAU;

use crate::climate::sequence::DAYS;
use crate::climate::year::{MonthlyMeans, SkyHour, typical_months};
use crate::physics::sky::{Facing, Plane, Sky, Skyline};

use super::sites::Site;

/// Share of light that the ground throws back. Source: common practice (0.2 for bare ground and grass).
const ALBEDO: f64 = 0.2;

/// Light on the panels in one daylight hour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LitHour {
    /// Hour of the year, 0 = the first of January.
    pub hour: u16,
    pub month: u8,
    /// From the sun's disc, after glass and dirt, W/m2.
    pub beam_w_m2: f64,
    /// From sky and ground, after glass and dirt, W/m2.
    pub diffuse_w_m2: f64,
    /// All that warms the panel, W/m2.
    pub warming_w_m2: f64,
    pub air_c: f64,
    pub wind_m_s: f64,
    /// Bearing of the sun, degrees clockwise from north.
    pub sun_azimuth_deg: f64,
    /// Tangent of the sun's elevation.
    pub sun_tangent: f64,
}

/// The sky stage's result.
#[derive(Clone, Debug, PartialEq)]
pub struct SkyYear {
    pub hours: Vec<LitHour>,
    /// Air of all hours of the year, C.
    pub air_c: Box<[f64]>,
    /// As given, January first.
    pub ghi_kwh_m2_day: [f64; 12],
    /// What each day's sky lets through of the light above the air, a share; 0 on days of other stays and without sun.
    pub clearness: Box<[f64]>,
    /// Which way tilted panels that may look anywhere look on each day, degrees clockwise from north.
    pub heading_deg: Option<Box<[f64]>>,
}

/// Light on the panels of one stay, in the months it gives.
#[must_use]
pub fn sky_year(site: &Site) -> SkyYear {
    let means = MonthlyMeans {
        ghi_kwh_m2_day: site.ghi_kwh_m2_day,
        mean_c: site.mean_c,
        daily_range_k: site.daily_range_k,
        wind_m_s: site.wind_m_s,
    };
    let year = typical_months(&means, site.latitude_deg, site.seed, site.months, site.clock);
    let trees = Skyline::new(site.horizon_deg);
    let mut hours = Vec::with_capacity(year.sky.len());
    let mut heading_deg = vec![0.0; DAYS].into_boxed_slice();
    let mut clearness = vec![0.0; DAYS].into_boxed_slice();
    for month in 0..12_u8 {
        let of_month = year.month(usize::from(month));
        let ways = ways(site, of_month);
        for (today, way_deg) in of_month.chunk_by(|a, b| a.hour / 24 == b.hour / 24).zip(ways) {
            let facing = Facing::new(Plane { tilt_deg: site.tilt_deg, azimuth_deg: way_deg });
            hours.extend(today.iter().map(|lit| lit_hour(lit, month, site, &facing, &trees)));
            let day = today.first().map_or(0, |lit| usize::from(lit.hour) / 24);
            if let Some(slot) = heading_deg.get_mut(day) {
                *slot = way_deg;
            }
            if let Some(slot) = clearness.get_mut(day) {
                *slot = clearness_of(today);
            }
        }
    }
    let heading_deg = (site.tilt_deg != 0.0 && site.heading_deg.is_none()).then_some(heading_deg);
    SkyYear { hours, air_c: year.air_c, ghi_kwh_m2_day: site.ghi_kwh_m2_day, clearness, heading_deg }
}

/// A day's clearness index: light on level ground over that above the air. Source: Liu and Jordan 1960.
fn clearness_of(today: &[SkyHour]) -> f64 {
    let sum = |of: fn(&SkyHour) -> f64| today.iter().map(of).sum::<f64>();
    let above = sum(|hour| hour.extraterrestrial_normal_w_m2 * hour.cos_zenith.max(0.0));
    if above > 0.0 { sum(|hour| hour.ghi_w_m2) / above } else { 0.0 }
}

/// Which way the panels look on each day of a month that has sun. A coach that may stand any way stands another way
/// every day, so that all that follows, clipping and full banks included, is of a coach that faces somewhere. Its ways
/// are as many as the days and lie evenly round the circle. The days take them in the order of their light, each step
/// about 0.38 of a turn, so that dull days and bright ones face all ways alike; then pairs change places until the
/// month's direct sun falls on all sides alike.
///
/// Source: quadrature by good lattice points in two dimensions (Korobov; Niederreiter 1992, ch. 5).
fn ways(site: &Site, of_month: &[SkyHour]) -> Vec<f64> {
    let days = of_month.chunk_by(|a, b| a.hour / 24 == b.hour / 24);
    let fixed = if site.tilt_deg == 0.0 { Some(180.0) } else { site.heading_deg };
    if let Some(heading) = fixed {
        return vec![heading; days.count()];
    }
    let light =
        |of: fn(&SkyHour) -> f64| -> Vec<f64> { days.clone().map(|today| today.iter().map(of).sum()).collect() };
    let all = light(|hour| hour.ghi_w_m2);
    let n = all.len();
    let stride = stride(n);
    let mut order: Vec<usize> = (0..n).collect();
    let of = |day: &usize| all.get(*day).copied().unwrap_or(0.0);
    order.sort_by(|a, b| of(a).total_cmp(&of(b)));
    let mut ways = vec![0; n];
    for (rank, day) in order.into_iter().enumerate() {
        if let Some(way) = ways.get_mut(day) {
            *way = rank * stride % n;
        }
    }
    even_out(&mut ways, &light(|hour| hour.dni_w_m2));
    ways.into_iter().map(|way| 360.0 * way as f64 / n as f64).collect()
}

/// Swings round the circle that are evened out: what a panel takes by its heading has hardly a fourth.
const SWINGS: usize = 3;
/// Rounds of changing places, at most. Source: our own choice; two or three do.
const ROUNDS: usize = 8;

/// Lets days change ways as long as their light, as a pull towards each of the ways, comes nearer to none at all.
fn even_out(ways: &mut [usize], light: &[f64]) {
    let n = ways.len();
    let units: Vec<[(f64, f64); SWINGS]> = (0..n)
        .map(|way| {
            std::array::from_fn(|k| {
                let (sin, cos) = (TAU * ((k + 1) * way) as f64 / n as f64).sin_cos();
                (cos, sin)
            })
        })
        .collect();
    let unit = |way: usize| units.get(way).copied().unwrap_or_default();
    let mut pull = [(0.0, 0.0); SWINGS];
    for (way, light) in ways.iter().zip(light) {
        for (pull, (x, y)) in pull.iter_mut().zip(unit(*way)) {
            *pull = (pull.0 + light * x, pull.1 + light * y);
        }
    }
    let size = |pull: &[(f64, f64); SWINGS]| pull.iter().map(|(x, y)| x * x + y * y).sum::<f64>();
    for _ in 0..ROUNDS {
        let before = size(&pull);
        for i in 0..n {
            for j in i + 1..n {
                let (Some(a), Some(b), Some(x), Some(y)) = (ways.get(i), ways.get(j), light.get(i), light.get(j))
                else {
                    continue;
                };
                let (a, b, more) = (unit(*a), unit(*b), x - y);
                let after = std::array::from_fn(|k| {
                    let ((px, py), (ax, ay), (bx, by)) = (pull[k], a[k], b[k]);
                    (px + more * (bx - ax), py + more * (by - ay))
                });
                if size(&after) < size(&pull) {
                    pull = after;
                    ways.swap(i, j);
                }
            }
        }
        if size(&pull) >= before {
            break;
        }
    }
}

/// The number nearest to 0.382 of `n` that has no factor in common with it: 11 of 28 and of 30, 12 of 31.
fn stride(n: usize) -> usize {
    let gcd = |mut a: usize, mut b: usize| {
        while b > 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    let off = |a: &usize| (*a as f64 - 0.381_966 * n as f64).abs();
    (1..n).filter(|a| gcd(*a, n) == 1).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(1)
}

fn lit_hour(lit: &SkyHour, month: u8, site: &Site, facing: &Facing, trees: &Skyline) -> LitHour {
    let sky = Sky {
        ghi_w_m2: lit.ghi_w_m2,
        dni_w_m2: lit.dni_w_m2,
        dhi_w_m2: lit.dhi_w_m2,
        extraterrestrial_w_m2: lit.extraterrestrial_normal_w_m2,
    };
    let sun = lit.sun();
    let clean = 1.0 - site.soiling_share;
    let light = facing.hay_davies(&sky, sun, ALBEDO).over(trees, lit.cos_zenith);
    let through = facing.through_glass_w_m2(&light, facing.cos_incidence(sun));
    let beam_alone = light.beam_w_m2 * crate::physics::sky::beam_modifier(facing.cos_incidence(sun));
    LitHour {
        hour: lit.hour,
        month,
        beam_w_m2: beam_alone * clean,
        diffuse_w_m2: (through - beam_alone) * clean,
        warming_w_m2: light.total_w_m2(),
        air_c: lit.air_c,
        wind_m_s: lit.wind_m_s,
        sun_azimuth_deg: lit.azimuth_deg,
        sun_tangent: lit.cos_zenith / lit.sun_east.hypot(lit.sun_north).max(1e-9),
    }
}
