//! Sun, sky, glass. Source of every reference number: pvlib 0.16.1 (an independent library).

use coachwire::physics::daily::{SOLAR_CONSTANT_W_M2, extraterrestrial_normal_w_m2};
use coachwire::physics::sky::{self, Facing, Light, Plane, Sky, Skyline};
use coachwire::physics::sun::{self, SunPosition};
use proptest::prelude::*;

use crate::support::{near_abs, near_rel, rows};

/// Days since J2000.0 and hour of a moment written `2000-03-20T02:34:03Z`.
fn moment(utc: &str) -> (f64, f64) {
    let part = |from: usize, to: usize| utc[from..to].parse::<u32>().unwrap_or_else(|e| panic!("{utc}: {e}"));
    let hour = f64::from(part(11, 13)) + f64::from(part(14, 16)) / 60.0 + f64::from(part(17, 19)) / 3600.0;
    (sun::days_since_j2000(part(0, 4) as i32, part(5, 7), part(8, 10), hour), hour)
}

#[test]
fn days_count_from_the_epoch() {
    // Source: definition of J2000.0 (JD 2451545.0); Meeus, Astronomical Algorithms, ch. 7: 4 Oct 1957 is JD 2436116.31.
    near_abs("epoch", sun::days_since_j2000(2000, 1, 1, 12.0), 0.0, 1e-12);
    near_abs("1957", sun::days_since_j2000(1957, 10, 4, 0.81 * 24.0), 2_436_116.31 - 2_451_545.0, 1e-6);
}

/// Source: SPA (Reda & Andreas 2004) as computed by pvlib 0.16.1.
#[test]
fn sun_stands_where_the_solar_position_algorithm_puts_it() {
    for row in rows("physics/solar_position.csv") {
        let (days, hour) = moment(row.text("utc"));
        let got = sun::position(days, hour, row.num("lat"), row.num("lon"));
        let want = SunPosition { zenith_deg: row.num("zenith"), azimuth_deg: row.num("azimuth") };
        let (a, b) = (got.vector(), want.vector());
        let chord = ((a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2) + (a[2] - b[2]).powi(2)).sqrt();
        let apart_deg = (2.0 * (chord / 2.0).asin()).to_degrees();
        assert!(apart_deg < 0.01, "{}: {apart_deg} degrees apart, got {got:?}", row.text("utc"));
        let apparent_deg = got.apparent_zenith_deg(1013.25, 12.0);
        near_abs(row.text("utc"), apparent_deg, row.num("apparent_zenith"), 0.02);
    }
}

/// Source: Ineichen & Perez 2002 and Kasten & Young 1989 as computed by pvlib 0.16.1.
#[test]
fn clear_sky_agrees() {
    for row in rows("physics/clearsky_ineichen.csv") {
        let (zenith_deg, altitude_m) = (row.num("app_zenith"), row.num("alt_m"));
        let relative = sky::relative_air_mass(zenith_deg);
        near_rel("relative air mass", relative, row.num("am_rel"), 1e-6);
        near_rel("air mass", relative * sky::pressure_ratio(altitude_m), row.num("am_abs"), 1e-6);
        let got = sky::clear_sky(zenith_deg, altitude_m, row.num("TL"), row.num("I0"));
        near_rel("global", got.ghi_w_m2, row.num("ghi"), 1e-6);
        near_rel("direct", got.dni_w_m2, row.num("dni"), 1e-6);
        near_rel("diffuse", got.dhi_w_m2, row.num("dhi"), 1e-6);
    }
}

/// Source: Liu & Jordan 1963 and Hay & Davies 1980 as computed by pvlib 0.16.1.
#[test]
fn light_on_planes_agrees() {
    for row in rows("physics/transposition.csv") {
        let facing = Facing::new(Plane { tilt_deg: row.num("tilt"), azimuth_deg: row.num("surf_az") });
        let sun = SunPosition { zenith_deg: row.num("zenith"), azimuth_deg: row.num("azimuth") }.vector();
        let sky = Sky {
            ghi_w_m2: row.num("ghi"),
            dni_w_m2: row.num("dni"),
            dhi_w_m2: row.num("dhi"),
            extraterrestrial_w_m2: row.num("dni_extra"),
        };
        near_rel("air mass", sky::relative_air_mass(row.num("zenith")), row.num("am_rel"), 1e-6);
        near_abs("incidence", facing.cos_incidence(sun), row.num("aoi").to_radians().cos(), 1e-8);
        let albedo = row.num("albedo");
        let light = facing.hay_davies(&sky, sun, albedo);
        near_rel("beam", light.beam_w_m2, row.num("poa_beam"), 1e-6);
        near_rel("ground", light.ground_w_m2, row.num("poa_ground"), 1e-6);
        near_rel("anisotropic", light.total_w_m2(), row.num("poa_haydavies"), 1e-6);
        let light = facing.isotropic(&sky, sun, albedo);
        near_rel("isotropic", light.total_w_m2(), row.num("poa_isotropic"), 1e-6);
    }
}

/// Source: Erbs, Klein & Duffie 1982 as computed by pvlib 0.16.1 (its solar constant is 1366.1 W/m2, ours 1361).
#[test]
fn measured_hours_are_split_as_published() {
    for row in rows("physics/erbs_hourly.csv") {
        let day = row.num("doy") as u16;
        let above = extraterrestrial_normal_w_m2(day) * 1366.1 / SOLAR_CONSTANT_W_M2;
        let (ghi, zenith_deg) = (row.num("ghi"), row.num("zenith"));
        near_rel("share", sky::hourly_diffuse_share(row.num("kt")), row.num("kd"), 1e-6);
        let got = sky::split_hour(ghi, zenith_deg, above);
        near_rel("diffuse", got.dhi_w_m2, row.num("dhi"), 1e-6);
        near_rel("direct", got.dni_w_m2, row.num("dni"), 1e-6);
    }
    // Near sunrise there is no telling apart.
    let low = sky::split_hour(20.0, 88.0, 1400.0);
    assert_eq!((low.dni_w_m2, low.dhi_w_m2), (0.0, 20.0));
}

/// What is left over trees, from an independent library's totals: its evenly bright sky, less the share that Hay & Davies
/// 1980 give to the ring round the sun, is the even part, and the rest of its anisotropic sky is the ring.
/// Source: Liu & Jordan 1963 and Hay & Davies 1980 as computed by pvlib 0.16.1; a level plane's view of the sky above an
/// even skyline is the square of the cosine of its elevation: 0.75 over 30 degrees.
#[test]
fn light_over_trees_is_made_of_the_published_parts() {
    let (mut over, mut behind) = (0, 0);
    for row in rows("physics/transposition.csv") {
        let facing = Facing::new(Plane { tilt_deg: row.num("tilt"), azimuth_deg: row.num("surf_az") });
        let sun = SunPosition { zenith_deg: row.num("zenith"), azimuth_deg: row.num("azimuth") }.vector();
        let sky = Sky {
            ghi_w_m2: row.num("ghi"),
            dni_w_m2: row.num("dni"),
            dhi_w_m2: row.num("dhi"),
            extraterrestrial_w_m2: row.num("dni_extra"),
        };
        let (beam, ground) = (row.num("poa_beam"), row.num("poa_ground"));
        let transmittance = row.num("dni") / row.num("dni_extra");
        let even = (row.num("poa_isotropic") - beam - ground) * (1.0 - transmittance);
        let ring = row.num("poa_haydavies") - beam - ground - even;
        let open = facing.hay_davies(&sky, sun, row.num("albedo"));
        near_abs("ring", open.ring_w_m2, ring, 1e-6 * row.num("poa_haydavies"));
        near_abs("even", open.sky_w_m2, even, 1e-6 * row.num("poa_haydavies"));
        let is_over = row.num("zenith") < 60.0;
        let want = if is_over { beam + ring + 0.75 * even + ground } else { 0.75 * even + ground };
        near_rel("over trees", open.over(&Skyline::new(30.0), sun[2]).total_w_m2(), want, 1e-6);
        near_rel("in the open", open.over(&Skyline::new(0.0), sun[2]).total_w_m2(), row.num("poa_haydavies"), 1e-6);
        *(if is_over { &mut over } else { &mut behind }) += 1;
    }
    assert!(over >= 5 && behind >= 5, "{over} hours with the sun over the trees, {behind} without");
}

/// One hour by hand. Source: Duffie & Beckman, Solar Engineering of Thermal Processes, section 2.16 (Hay & Davies):
/// Id (Ai Rb + (1 - Ai)(1 + cos b)/2). A level panel (Rb = 1), the sun 20 degrees up (sine 0.34202), 600 W/m2 towards it
/// of 1400 outside the air (Ai = 0.428571), 100 W/m2 diffuse: ring 42.857, the rest of the sky 57.143, beam 205.212.
/// Over 15 degrees of trees (cosine squared 0.933013) 205.212 + 42.857 + 53.315 are left, behind 30 degrees only
/// 0.75 x 57.143 = 42.857.
#[test]
fn an_hour_over_and_behind_trees_by_hand() {
    let up = 20.0_f64.to_radians();
    let (ghi_w_m2, sun) = (100.0 + 600.0 * up.sin(), [0.0, -up.cos(), up.sin()]);
    let sky = Sky { ghi_w_m2, dni_w_m2: 600.0, dhi_w_m2: 100.0, extraterrestrial_w_m2: 1400.0 };
    let open = Facing::new(Plane { tilt_deg: 0.0, azimuth_deg: 180.0 }).hay_davies(&sky, sun, 0.2);
    for (trees_deg, watts) in [(0.0, 305.212), (15.0, 301.384), (30.0, 42.857)] {
        near_abs("light", open.over(&Skyline::new(trees_deg), sun[2]).total_w_m2(), watts, 1e-3);
    }
}

/// Source: Martin & Ruiz 2001 as computed by pvlib 0.16.1.
#[test]
fn glass_takes_its_share_of_the_beam() {
    for row in rows("physics/iam.csv") {
        near_rel("beam", sky::beam_modifier(row.num("aoi").to_radians().cos()), row.num("martin_ruiz"), 1e-6);
    }
}

/// Source: Martin & Ruiz 2001 with the 2013 corrigendum as computed by pvlib 0.16.1.
#[test]
fn glass_takes_its_share_of_diffuse_light() {
    for row in rows("physics/iam_diffuse.csv") {
        near_rel("sky", sky::sky_modifier(row.num("tilt")), row.num("iam_sky"), 1e-6);
        near_rel("ground", sky::ground_modifier(row.num("tilt")), row.num("iam_ground"), 1e-6);
    }
}

/// The closed form goes to its limits without a step. Source: l'Hopital's rule on eq. 5 of Martin & Ruiz 2001.
#[test]
fn level_and_upside_down_planes_are_limits() {
    assert_eq!(sky::ground_modifier(0.0), 0.0);
    assert_eq!(sky::sky_modifier(180.0), 0.0);
    near_abs("mirror", sky::sky_modifier(180.0 - 25.0), sky::ground_modifier(25.0), 1e-12);
    let edge_deg = 1e-4_f64.to_degrees();
    near_rel("edge", sky::ground_modifier(edge_deg * 0.999_999), sky::ground_modifier(edge_deg * 1.000_001), 1e-5);
}

proptest! {
    #[test]
    fn light_stays_finite(
        tilt_deg in 0.0..180.0, azimuth_deg in -720.0..720.0, zenith_deg in 0.0..180.0, sun_deg in 0.0..360.0,
        ghi in 0.0..1400.0, dni in 0.0..1200.0, dhi in 0.0..800.0, extra in prop_oneof![Just(0.0), 1300.0..1420.0],
    ) {
        let facing = Facing::new(Plane { tilt_deg, azimuth_deg });
        let sun = SunPosition { zenith_deg, azimuth_deg: sun_deg }.vector();
        let sky = Sky { ghi_w_m2: ghi, dni_w_m2: dni, dhi_w_m2: dhi, extraterrestrial_w_m2: extra };
        let Light { beam_w_m2, ring_w_m2, sky_w_m2, ground_w_m2 } = facing.hay_davies(&sky, sun, 0.2);
        for part in [beam_w_m2, ring_w_m2, sky_w_m2, ground_w_m2] {
            prop_assert!(part.is_finite() && part >= 0.0);
        }
        let light = facing.hay_davies(&sky, sun, 0.2);
        let through = facing.through_glass_w_m2(&light, facing.cos_incidence(sun));
        prop_assert!(through >= 0.0 && through <= light.total_w_m2() * (1.0 + 1e-12));
    }

    #[test]
    fn sun_and_clear_sky_stay_finite(
        days in -40_000.0..40_000.0, hour in 0.0..24.0, lat in -90.0..=90.0, lon in -180.0..=180.0,
        altitude in -400.0..8000.0, turbidity in 1.0..12.0,
    ) {
        let position = sun::position(days, hour, lat, lon);
        prop_assert!((0.0..=180.1).contains(&position.zenith_deg));
        prop_assert!((0.0..=360.0).contains(&position.azimuth_deg));
        let apparent_deg = position.apparent_zenith_deg(1013.25, 12.0);
        prop_assert!(apparent_deg.is_finite() && apparent_deg <= position.zenith_deg + 1e-9);
        let sky = sky::clear_sky(apparent_deg, altitude, turbidity, 1361.0);
        prop_assert!(sky.ghi_w_m2.is_finite() && sky.dni_w_m2.is_finite() && sky.dhi_w_m2.is_finite());
    }
}
