//! Where the sun stands.

/// Mean distance of the sun over the earth's radius, for parallax, as in the algorithm's paper.
const PARALLAX: f64 = 6371.01 / 149_597_870.7;

/// Position of the sun's centre, without refraction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunPosition {
    /// Angle from the vertical, degrees.
    pub zenith_deg: f64,
    /// Clockwise from north, 0..360 degrees.
    pub azimuth_deg: f64,
}

impl SunPosition {
    /// Unit vector towards the sun: east, north, up. Source: plain geometry.
    #[must_use]
    pub fn vector(&self) -> [f64; 3] {
        let (sin_z, cos_z) = self.zenith_deg.to_radians().sin_cos();
        let (sin_az, cos_az) = self.azimuth_deg.to_radians().sin_cos();
        [sin_z * sin_az, sin_z * cos_az, cos_z]
    }

    /// Zenith angle as seen through the air, degrees; unchanged where the disc is wholly below the horizon.
    /// Source: Reda & Andreas 2004, Solar Energy 76:577, eq. 42.
    #[must_use]
    pub fn apparent_zenith_deg(&self, pressure_mbar: f64, air_c: f64) -> f64 {
        let elevation_deg = 90.0 - self.zenith_deg;
        if elevation_deg < -0.8333 {
            return self.zenith_deg;
        }
        let air_k = (273.0 + air_c).max(1.0);
        let bend = (elevation_deg + 10.3 / (elevation_deg + 5.11)).to_radians().tan();
        self.zenith_deg - pressure_mbar / 1010.0 * (283.0 / air_k) * 1.02 / (60.0 * bend)
    }
}

/// Days from the epoch J2000.0 (1 January 2000, 12 h UT) to a Gregorian date and hour of universal time.
/// Source: Fliegel & Van Flandern 1968, Communications of the ACM 11:657.
#[must_use]
pub fn days_since_j2000(year: i32, month: u32, day: u32, ut_hour: f64) -> f64 {
    let (year, month, day) = (i64::from(year), i64::from(month), i64::from(day));
    let early = (month - 14) / 12;
    let julian_day = 1461 * (year + 4800 + early) / 4 + 367 * (month - 2 - 12 * early) / 12
        - 3 * ((year + 4900 + early) / 100) / 4
        + day
        - 32075;
    (julian_day - 2_451_545) as f64 - 0.5 + ut_hour / 24.0
}

/// Position of the sun for a moment and a place: fractional days since J2000.0, the hour of universal time of the
/// same moment, latitude (north positive) and longitude (east positive). Within 0.01 degree from 2000 to 2050.
/// Source: Blanco, Milidonis & Bonanos 2020, Solar Energy 212:339 (form of Blanco-Muriel et al. 2001, 70:431).
#[must_use]
pub fn position(days_j2000: f64, ut_hour: f64, lat_deg: f64, lon_deg: f64) -> SunPosition {
    let n = days_j2000;
    let omega = 2.267_127_827 - 9.300_339_267e-4 * n;
    let mean_longitude = 4.895_036_035 + 1.720_279_602e-2 * n;
    let mean_anomaly = 6.239_468_336 + 1.720_200_135e-2 * n;
    let ecliptic_longitude =
        mean_longitude + 3.338_320_972e-2 * mean_anomaly.sin() + 3.497_596_876e-4 * (2.0 * mean_anomaly).sin()
            - 1.544_353_226e-4
            - 8.689_729_360e-6 * omega.sin();
    let obliquity = 4.090_904_909e-1 - 6.213_605_399e-9 * n + 4.418_094_944e-5 * omega.cos();
    let (sin_lambda, cos_lambda) = ecliptic_longitude.sin_cos();
    let (sin_eps, cos_eps) = obliquity.sin_cos();
    let right_ascension = (cos_eps * sin_lambda).atan2(cos_lambda);
    let sin_dec = sin_eps * sin_lambda;
    let cos_dec = (1.0 - sin_dec * sin_dec).max(0.0).sqrt();
    let sidereal_h = 6.697_096_103 + 6.570_984_737e-2 * n + ut_hour;
    let hour_angle = (15.0 * sidereal_h + lon_deg).to_radians() - right_ascension;
    let (sin_ha, cos_ha) = hour_angle.sin_cos();
    let (sin_phi, cos_phi) = lat_deg.to_radians().sin_cos();
    let cos_zenith = (cos_phi * cos_ha * cos_dec + sin_dec * sin_phi).clamp(-1.0, 1.0);
    let zenith = cos_zenith.acos();
    let azimuth = (-sin_ha * cos_dec).atan2(sin_dec * cos_phi - sin_phi * cos_ha * cos_dec);
    SunPosition {
        zenith_deg: (zenith + PARALLAX * zenith.sin()).to_degrees(),
        azimuth_deg: azimuth.to_degrees().rem_euclid(360.0),
    }
}
