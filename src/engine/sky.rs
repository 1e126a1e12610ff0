//! The sky stage: a stay's typical year as light on its panels, hour by hour.

use crate::climate::year::{MonthlyMeans, SkyHour, typical_months};
use crate::physics::sky::{Facing, Plane, Sky};

use super::sites::Site;

/// Share of light that the ground throws back. Source: common practice (0.2 for bare ground and grass).
const ALBEDO: f64 = 0.2;
/// Headings over which a tilted coach that may face anywhere is averaged.
const HEADINGS: usize = 8;

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
    let facings: Vec<Facing> = headings(site)
        .into_iter()
        .map(|azimuth_deg| Facing::new(Plane { tilt_deg: site.tilt_deg, azimuth_deg }))
        .collect();
    // Trees all round cut an evenly bright sky to the square of the cosine of their elevation.
    let (open_share, tree_sine) = (site.horizon_deg.to_radians().cos().powi(2), site.horizon_deg.to_radians().sin());
    let mut hours = Vec::with_capacity(year.sky.len());
    for month in 0..12_u8 {
        for lit in year.month(usize::from(month)) {
            hours.push(lit_hour(lit, month, site, &facings, open_share, tree_sine));
        }
    }
    SkyYear { hours, air_c: year.air_c, ghi_kwh_m2_day: site.ghi_kwh_m2_day }
}

fn headings(site: &Site) -> Vec<f64> {
    match site.heading_deg {
        Some(heading) => vec![heading],
        None if site.tilt_deg == 0.0 => vec![180.0],
        None => (0..HEADINGS).map(|k| 360.0 * k as f64 / HEADINGS as f64).collect(),
    }
}

fn lit_hour(lit: &SkyHour, month: u8, site: &Site, facings: &[Facing], open_share: f64, tree_sine: f64) -> LitHour {
    let sky = Sky {
        ghi_w_m2: lit.ghi_w_m2,
        dni_w_m2: lit.dni_w_m2,
        dhi_w_m2: lit.dhi_w_m2,
        extraterrestrial_w_m2: lit.extraterrestrial_normal_w_m2,
    };
    let sun = lit.sun();
    let beam_open = if lit.cos_zenith >= tree_sine { 1.0 } else { 0.0 };
    let clean = 1.0 - site.soiling_share;
    let (mut beam, mut diffuse, mut warming) = (0.0, 0.0, 0.0);
    for facing in facings {
        let mut light = facing.hay_davies(&sky, sun, ALBEDO);
        light.beam_w_m2 *= beam_open;
        light.sky_w_m2 *= open_share;
        let through = facing.through_glass_w_m2(&light, facing.cos_incidence(sun));
        let beam_alone = light.beam_w_m2 * crate::physics::sky::beam_modifier(facing.cos_incidence(sun));
        beam += beam_alone * clean;
        diffuse += (through - beam_alone) * clean;
        warming += light.total_w_m2();
    }
    let share = 1.0 / facings.len() as f64;
    LitHour {
        hour: lit.hour,
        month,
        beam_w_m2: beam * share,
        diffuse_w_m2: diffuse * share,
        warming_w_m2: warming * share,
        air_c: lit.air_c,
        wind_m_s: lit.wind_m_s,
        sun_azimuth_deg: lit.azimuth_deg,
        sun_tangent: lit.cos_zenith / lit.sun_east.hypot(lit.sun_north).max(1e-9),
    }
}
