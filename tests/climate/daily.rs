//! The sun by the day. Reference rows: pvlib 0.16.1 (Spencer 1971) and Duffie & Beckman eq. 1.10.3.

use std::f64::consts::PI;

use coachwire::physics::daily::{
    SunDay, day_length_h, declination_rad, extraterrestrial_normal_w_m2, horizontal_day_wh_m2, sunset_hour_angle_rad,
};

use crate::support::{near_rel, rows};

#[test]
fn days_agree_with_the_reference_rows() {
    for row in rows("physics/extraterrestrial.csv") {
        let day = row.num("doy") as u16;
        let lat = row.num("lat").to_radians();
        let declination = declination_rad(day);
        let normal = extraterrestrial_normal_w_m2(day);
        let sunset = sunset_hour_angle_rad(lat, declination);
        let what = format!("line {}", row.line);
        near_rel(&what, declination.to_degrees(), row.num("decl_deg"), 1e-6);
        near_rel(&what, normal, row.num("Gon_W_m2"), 1e-6);
        near_rel(&what, sunset.to_degrees(), row.num("ws_deg"), 1e-6);
        near_rel(&what, day_length_h(sunset), row.num("daylen_geom_h"), 1e-6);
        near_rel(&what, horizontal_day_wh_m2(lat, declination, normal) / 1000.0, row.num("H0_kWh_m2"), 1e-6);
        assert_eq!(SunDay::of(day), SunDay { declination_rad: declination, normal_w_m2: normal });
    }
}

#[test]
fn poles_have_their_long_day_and_night() {
    for (lat, midsummer) in [(90.0_f64, 172), (-90.0, 355), (80.0, 172), (-75.0, 355)] {
        let lat = lat.to_radians();
        let midwinter = (midsummer + 182) % 365;
        let (light, dark) = (declination_rad(midsummer), declination_rad(midwinter));
        assert_eq!(sunset_hour_angle_rad(lat, light), PI, "midnight sun");
        assert_eq!(sunset_hour_angle_rad(lat, dark), 0.0, "polar night");
        assert_eq!(horizontal_day_wh_m2(lat, dark, 1361.0), 0.0);
        // Sun above the horizon all day: the mean of its height is sin(lat) sin(declination).
        let plain = 24.0 * 1361.0 * lat.sin() * light.sin();
        near_rel("polar day", horizontal_day_wh_m2(lat, light, 1361.0), plain, 1e-12);
    }
}

#[test]
fn every_day_at_every_latitude_is_finite() {
    for day in 0..=u16::from(u8::MAX) * 2 {
        for lat in [-1e9, -90.0_f64, -66.5, -0.0, 23.4, 66.6, 89.999, 90.0, 1e9] {
            let (lat, declination) = (lat.to_radians(), declination_rad(day));
            let energy = horizontal_day_wh_m2(lat, declination, extraterrestrial_normal_w_m2(day));
            assert!(energy.is_finite() && (0.0..15_000.0).contains(&energy), "day {day} lat {lat}: {energy}");
        }
    }
}
