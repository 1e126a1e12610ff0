//! Shapes of the day. Reference rows: the published formulas with pvlib 0.16.1's Spencer declination.

use coachwire::climate::shapes::{
    daily_diffuse_share, daily_range_k, diffuse_kernel, global_coefficients, global_kernel, hourly_normaliser,
    temperature_wave,
};
use coachwire::physics::daily::{declination_rad, sunset_hour_angle_rad};

use crate::support::{near_abs, rows};

#[test]
fn shapes_agree_with_the_reference_rows() {
    for row in rows("physics/synth_shapes.csv") {
        let sunset = sunset_hour_angle_rad(row.num("lat").to_radians(), declination_rad(row.num("doy") as u16));
        let coefficients = global_coefficients(sunset);
        let (cos_angle, scale) = (row.num("w_deg").to_radians().cos(), hourly_normaliser(sunset));
        let all = [
            ("a", coefficients.0),
            ("b", coefficients.1),
            ("rt", scale * global_kernel(coefficients, cos_angle, sunset.cos())),
            ("rd", scale * diffuse_kernel(cos_angle, sunset.cos())),
            ("Hd_over_H", daily_diffuse_share(row.num("KT_day"), sunset)),
            ("T_shape", temperature_wave(row.num("t_solar_h"))),
        ];
        for (column, got) in all {
            near_abs(&format!("line {} {column}", row.line), got, row.num(column), 1e-7);
        }
        near_abs("ws_deg", sunset.to_degrees(), row.num("ws_deg"), 1e-6);
    }
}

#[test]
fn temperature_wave_has_no_mean_and_peaks_in_the_afternoon() {
    let hours: Vec<f64> = (0..24).map(|h| temperature_wave(f64::from(h) + 0.5)).collect();
    near_abs("mean", hours.iter().sum::<f64>() / 24.0, 0.0, 1e-12);
    let warmest = (0..24).max_by(|a, b| hours[*a].total_cmp(&hours[*b])).unwrap();
    let coldest = (0..24).min_by(|a, b| hours[*a].total_cmp(&hours[*b])).unwrap();
    assert!((13..16).contains(&warmest) && (3..7).contains(&coldest), "{warmest} {coldest}");
    // Erbs et al. 1983: the wave is a share of the daily range, so from trough to crest it is about one.
    near_abs("range", hours[warmest] - hours[coldest], 1.0, 0.05);
}

#[test]
fn shares_stay_shares() {
    for k in -20..=200 {
        for sunset in 0..=180 {
            let share = daily_diffuse_share(f64::from(k) / 100.0, f64::from(sunset).to_radians());
            assert!((0.0..=1.0).contains(&share), "kt {k} % sunset {sunset}: {share}");
        }
        assert!((2.0..=16.0).contains(&daily_range_k(f64::from(k) / 100.0)));
    }
}
