//! Light on a plane: transposition, reflection losses, clear sky.

use std::f64::consts::PI;

/// Angular loss coefficient of clean glass in air. Source: Martin & Ruiz 2001, Sol. Energy Mater. Sol. Cells 70:25.
const ANGULAR_LOSS: f64 = 0.16;
/// First coefficient of the diffuse form, 4 / (3 pi) to four digits as it is used in the field.
/// Source: Martin & Ruiz 2001, Sol. Energy Mater. Sol. Cells 70:25.
const DIFFUSE_C1: f64 = 0.4244;
/// Least cosine of the zenith angle that an hour's clearness is taken at, and the largest zenith angle at which its direct
/// light is told from its diffuse light. Source: common practice for measured hours near sunrise.
const CLEARNESS_LEAST_COS: f64 = 0.065;
const SPLIT_MOST_ZENITH_DEG: f64 = 87.0;
/// Cosine of 89 degrees: keeps the beam ratio finite at sunrise. Source: common practice.
const LEAST_COS_ZENITH: f64 = 0.01745;

/// Irradiance on the horizontal and towards the sun, W/m2.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sky {
    /// Global horizontal.
    pub ghi_w_m2: f64,
    /// Direct normal.
    pub dni_w_m2: f64,
    /// Diffuse horizontal.
    pub dhi_w_m2: f64,
    /// Extraterrestrial normal.
    pub extraterrestrial_w_m2: f64,
}

/// Irradiance on a plane by where it comes from, W/m2.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Light {
    /// From the sun's disc.
    pub beam_w_m2: f64,
    /// From the bright ring round the sun.
    pub ring_w_m2: f64,
    /// From the rest of the sky, evenly bright.
    pub sky_w_m2: f64,
    /// Reflected by the ground.
    pub ground_w_m2: f64,
}

impl Light {
    /// All of it. Source: sum of the parts.
    #[must_use]
    pub fn total_w_m2(&self) -> f64 {
        self.beam_w_m2 + self.ring_w_m2 + self.sky_w_m2 + self.ground_w_m2
    }

    /// What of it comes over a skyline, the sun given by the cosine of its zenith angle. The ring goes behind the
    /// skyline with the sun's disc; the ground is left as bright as in the open.
    /// Source: Hay & Davies 1980: circumsolar light comes from the sun's direction, the rest evenly from all the sky.
    #[must_use]
    pub fn over(self, skyline: &Skyline, cos_zenith: f64) -> Self {
        let sun = if cos_zenith >= skyline.sine { 1.0 } else { 0.0 };
        Self {
            beam_w_m2: self.beam_w_m2 * sun,
            ring_w_m2: self.ring_w_m2 * sun,
            sky_w_m2: self.sky_w_m2 * skyline.open_share,
            ground_w_m2: self.ground_w_m2,
        }
    }
}

/// Something equally high all round, such as trees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skyline {
    sine: f64,
    open_share: f64,
}

impl Skyline {
    /// All round up to an elevation of 0 to 90 degrees.
    /// Source: plain geometry: the view factor from a level plane to the sky above it is the square of the cosine.
    #[must_use]
    pub fn new(elevation_deg: f64) -> Self {
        let (sine, cosine) = elevation_deg.to_radians().sin_cos();
        Self { sine, open_share: cosine * cosine }
    }

    /// Share of an evenly bright sky that is left. Source: as for `new`.
    #[must_use]
    pub fn open_share(&self) -> f64 {
        self.open_share
    }
}

/// How a plane lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// 0 level, 90 upright.
    pub tilt_deg: f64,
    /// Direction it faces, clockwise from north.
    pub azimuth_deg: f64,
}

/// A plane with everything worked out that does not depend on the sun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facing {
    /// Unit normal: east, north, up.
    normal: [f64; 3],
    sky_share: f64,
    ground_share: f64,
    sky_modifier: f64,
    ground_modifier: f64,
}

impl Facing {
    /// Prepares a plane.
    /// Source: Liu & Jordan 1963 view factors; Martin & Ruiz 2001 and corrigendum 2013 for the modifiers.
    #[must_use]
    pub fn new(plane: Plane) -> Self {
        let (sin_tilt, cos_tilt) = plane.tilt_deg.to_radians().sin_cos();
        let (sin_az, cos_az) = plane.azimuth_deg.to_radians().sin_cos();
        Self {
            normal: [sin_tilt * sin_az, sin_tilt * cos_az, cos_tilt],
            sky_share: (1.0 + cos_tilt) / 2.0,
            ground_share: (1.0 - cos_tilt) / 2.0,
            sky_modifier: sky_modifier(plane.tilt_deg),
            ground_modifier: ground_modifier(plane.tilt_deg),
        }
    }

    /// Cosine of the angle between the plane's normal and the sun given as (east, north, up).
    /// Source: plain geometry.
    #[must_use]
    pub fn cos_incidence(&self, sun: [f64; 3]) -> f64 {
        self.normal[0] * sun[0] + self.normal[1] * sun[1] + self.normal[2] * sun[2]
    }

    /// Light on the plane with the bright ring round the sun.
    /// Source: Hay & Davies 1980, Proc. First Canadian Solar Radiation Data Workshop, 59; isotropic ground.
    #[must_use]
    pub fn hay_davies(&self, sky: &Sky, sun: [f64; 3], albedo: f64) -> Light {
        let cos_incidence = self.cos_incidence(sun).max(0.0);
        let transmittance =
            if sky.extraterrestrial_w_m2 > 0.0 { sky.dni_w_m2 / sky.extraterrestrial_w_m2 } else { 0.0 };
        let beam_ratio = cos_incidence / sun[2].max(LEAST_COS_ZENITH);
        Light {
            beam_w_m2: sky.dni_w_m2 * cos_incidence,
            ring_w_m2: sky.dhi_w_m2 * transmittance * beam_ratio,
            sky_w_m2: (sky.dhi_w_m2 * (1.0 - transmittance) * self.sky_share).max(0.0),
            ground_w_m2: sky.ghi_w_m2 * albedo * self.ground_share,
        }
    }

    /// Light on the plane under an evenly bright sky.
    /// Source: Liu & Jordan 1963, Solar Energy 7:53.
    #[must_use]
    pub fn isotropic(&self, sky: &Sky, sun: [f64; 3], albedo: f64) -> Light {
        Light {
            beam_w_m2: sky.dni_w_m2 * self.cos_incidence(sun).max(0.0),
            ring_w_m2: 0.0,
            sky_w_m2: sky.dhi_w_m2 * self.sky_share,
            ground_w_m2: sky.ghi_w_m2 * albedo * self.ground_share,
        }
    }

    /// What of the light reaches the cells through the glass, W/m2; the ring as the rest of the sky.
    /// Source: Martin & Ruiz 2001, Sol. Energy Mater. Sol. Cells 70:25; corrigendum 2013, 110:154.
    #[must_use]
    pub fn through_glass_w_m2(&self, light: &Light, cos_incidence: f64) -> f64 {
        light.beam_w_m2 * beam_modifier(cos_incidence)
            + (light.ring_w_m2 + light.sky_w_m2) * self.sky_modifier
            + light.ground_w_m2 * self.ground_modifier
    }

    /// What of it comes from the bright ring round the sun, W/m2. Source: as [`Facing::through_glass_w_m2`].
    #[must_use]
    pub fn ring_through_glass_w_m2(&self, light: &Light) -> f64 {
        light.ring_w_m2 * self.sky_modifier
    }
}

/// Share of the beam that passes the glass, 1 at normal incidence, 0 from behind.
/// Source: Martin & Ruiz 2001, Sol. Energy Mater. Sol. Cells 70:25, eq. 4 with a_r = 0.16.
#[must_use]
pub fn beam_modifier(cos_incidence: f64) -> f64 {
    let cos = cos_incidence.clamp(0.0, 1.0);
    (-cos / ANGULAR_LOSS).exp_m1() / (-1.0 / ANGULAR_LOSS).exp_m1()
}

/// Share of even sky light that passes the glass of a plane tilted 0..180 degrees.
/// Source: Martin & Ruiz 2001, eq. 5a; corrigendum 2013, Sol. Energy Mater. Sol. Cells 110:154.
#[must_use]
pub fn sky_modifier(tilt_deg: f64) -> f64 {
    let tilt = tilt_deg.to_radians().clamp(0.0, PI);
    diffuse_modifier(PI - tilt)
}

/// Share of ground light that passes the glass of a plane tilted 0..180 degrees; 0 where level, which sees none.
/// Source: Martin & Ruiz 2001, eq. 5b; corrigendum 2013, Sol. Energy Mater. Sol. Cells 110:154.
#[must_use]
pub fn ground_modifier(tilt_deg: f64) -> f64 {
    diffuse_modifier(tilt_deg.to_radians().clamp(0.0, PI))
}

/// The closed form for light from a wedge of the hemisphere that opens `opening` radians.
fn diffuse_modifier(opening: f64) -> f64 {
    let c2 = 0.5 * ANGULAR_LOSS - 0.154;
    // The quotient is 0/0 at a closed wedge and goes there as opening / 3.
    let quotient = if opening < 1e-4 { opening / 3.0 } else { (opening - opening.sin()) / (1.0 - opening.cos()) };
    let term = opening.sin() + quotient;
    -(-(DIFFUSE_C1 + c2 * term) * term / ANGULAR_LOSS).exp_m1()
}

/// Share of an hour's global light that is diffuse, by its clearness: global over extraterrestrial on the level.
/// Source: Erbs, Klein & Duffie 1982, Solar Energy 28:293; Duffie & Beckman eq. 2.10.1.
#[must_use]
pub fn hourly_diffuse_share(clearness: f64) -> f64 {
    match clearness.clamp(0.0, 1.0) {
        k if k <= 0.22 => 1.0 - 0.09 * k,
        k if k <= 0.8 => 0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336))),
        _ => 0.165,
    }
}

/// A measured hour's global light told apart into direct and diffuse light. It is for measured hours: the typical year is
/// split by days, since this overstates the diffuse light of hours that have no clouds of their own.
/// Source: Erbs, Klein & Duffie 1982, as `hourly_diffuse_share`.
#[must_use]
pub fn split_hour(ghi_w_m2: f64, zenith_deg: f64, extraterrestrial_w_m2: f64) -> Sky {
    let cos_zenith = zenith_deg.to_radians().cos();
    let above_w_m2 = extraterrestrial_w_m2 * cos_zenith.max(CLEARNESS_LEAST_COS);
    let clearness = if above_w_m2 > 0.0 { ghi_w_m2.max(0.0) / above_w_m2 } else { 0.0 };
    let dhi_w_m2 = ghi_w_m2 * hourly_diffuse_share(clearness);
    if ghi_w_m2 <= 0.0 || zenith_deg > SPLIT_MOST_ZENITH_DEG {
        return Sky { ghi_w_m2, dni_w_m2: 0.0, dhi_w_m2: ghi_w_m2, extraterrestrial_w_m2 };
    }
    Sky { ghi_w_m2, dni_w_m2: (ghi_w_m2 - dhi_w_m2) / cos_zenith, dhi_w_m2, extraterrestrial_w_m2 }
}

/// Optical path through the air relative to the vertical; held at the horizon's value below it.
/// Source: Kasten & Young 1989, Applied Optics 28:4735.
#[must_use]
pub fn relative_air_mass(apparent_zenith_deg: f64) -> f64 {
    let zenith_deg = apparent_zenith_deg.clamp(0.0, 90.0);
    1.0 / (zenith_deg.to_radians().cos() + 0.50572 * (96.07995 - zenith_deg).powf(-1.6364))
}

/// Air pressure at an altitude over that at the sea.
/// Source: U.S. Standard Atmosphere 1976, the usual closed form.
#[must_use]
pub fn pressure_ratio(altitude_m: f64) -> f64 {
    let altitude_m = altitude_m.clamp(-1000.0, 40_000.0);
    100.0 * ((44_331.514 - altitude_m) / 11_880.516).powf(1.0 / 0.190_263_2) / 101_325.0
}

/// Light under a cloudless sky of a given haziness (Linke turbidity at air mass 2).
/// Source: Ineichen & Perez 2002, Solar Energy 73:151, without the high-turbidity correction of the global.
#[must_use]
pub fn clear_sky(apparent_zenith_deg: f64, altitude_m: f64, turbidity: f64, extraterrestrial_w_m2: f64) -> Sky {
    let cos_zenith = apparent_zenith_deg.to_radians().cos();
    if cos_zenith <= 0.0 || apparent_zenith_deg >= 90.0 {
        return Sky { extraterrestrial_w_m2, ..Sky::default() };
    }
    let air_mass = relative_air_mass(apparent_zenith_deg) * pressure_ratio(altitude_m);
    let f1 = (-altitude_m / 8000.0).exp();
    let f2 = (-altitude_m / 1250.0).exp();
    let c1 = 5.09e-5 * altitude_m + 0.868;
    let c2 = 3.92e-5 * altitude_m + 0.0387;
    let ghi_w_m2 =
        c1 * extraterrestrial_w_m2 * cos_zenith * (-c2 * air_mass * (f1 + f2 * (turbidity - 1.0))).exp().max(0.0);
    let b = 0.664 + 0.163 / f1;
    let normal = extraterrestrial_w_m2 * (b * (-0.09 * air_mass * (turbidity - 1.0)).exp()).max(0.0);
    let diffuse_share = (0.1 - 0.2 * (-turbidity).exp()) / (0.1 + 0.882 / f1);
    let most = ghi_w_m2 * ((1.0 - diffuse_share) / cos_zenith).max(0.0);
    let dni_w_m2 = normal.min(most);
    Sky { ghi_w_m2, dni_w_m2, dhi_w_m2: ghi_w_m2 - dni_w_m2 * cos_zenith, extraterrestrial_w_m2 }
}
