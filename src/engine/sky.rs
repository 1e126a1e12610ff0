//! The sky stage: a stay's typical year as light on its panels, hour by hour.

mod facing;

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
    /// What of that comes from the bright ring round the sun, and goes where the sun goes.
    pub ring_w_m2: f64,
    /// All that warms the panel, W/m2.
    pub warming_w_m2: f64,
    pub air_c: f64,
    pub wind_m_s: f64,
    /// Bearing of the sun, degrees clockwise from north.
    pub sun_azimuth_deg: f64,
    /// Tangent of the sun's elevation.
    pub sun_tangent: f64,
}

impl LitHour {
    /// Share of the light that does not come from about the sun.
    #[must_use]
    pub fn sky_part(&self) -> f64 {
        let all_w_m2 = self.beam_w_m2 + self.diffuse_w_m2;
        if all_w_m2 > 0.0 { (self.diffuse_w_m2 - self.ring_w_m2) / all_w_m2 } else { 1.0 }
    }
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
        let ways = facing::ways(site, of_month, &trees);
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

/// An hour's light above the panels.
fn above(lit: &SkyHour) -> Sky {
    Sky {
        ghi_w_m2: lit.ghi_w_m2,
        dni_w_m2: lit.dni_w_m2,
        dhi_w_m2: lit.dhi_w_m2,
        extraterrestrial_w_m2: lit.extraterrestrial_normal_w_m2,
    }
}

fn lit_hour(lit: &SkyHour, month: u8, site: &Site, facing: &Facing, trees: &Skyline) -> LitHour {
    let (sky, sun) = (above(lit), lit.sun());
    let clean = 1.0 - site.soiling_share;
    let light = facing.hay_davies(&sky, sun, ALBEDO).over(trees, lit.cos_zenith);
    let through = facing.through_glass_w_m2(&light, facing.cos_incidence(sun));
    let beam_alone = light.beam_w_m2 * crate::physics::sky::beam_modifier(facing.cos_incidence(sun));
    LitHour {
        hour: lit.hour,
        month,
        beam_w_m2: beam_alone * clean,
        diffuse_w_m2: (through - beam_alone) * clean,
        ring_w_m2: facing.ring_through_glass_w_m2(&light) * clean,
        warming_w_m2: light.total_w_m2(),
        air_c: lit.air_c,
        wind_m_s: lit.wind_m_s,
        sun_azimuth_deg: lit.azimuth_deg,
        sun_tangent: lit.cos_zenith / lit.sun_east.hypot(lit.sun_north).max(1e-9),
    }
}
