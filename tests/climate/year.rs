//! The typical year: exact means, energy closure, the sun's path, the edges of the world.

use coachwire::climate::grid::look;
use coachwire::climate::year::{
    ALL_MONTHS, DEFAULT_WIND_M_S, HOURS, MONTH_DAYS, MonthlyMeans, SkyHour, TypicalYear, typical_months, typical_year,
};
use coachwire::physics::daily::SOLAR_CONSTANT_W_M2;
use proptest::prelude::*;

use crate::support::{near_abs, near_rel, rows};

fn means(ghi: [f64; 12]) -> MonthlyMeans {
    MonthlyMeans { ghi_kwh_m2_day: ghi, mean_c: [15.0; 12], daily_range_k: None, wind_m_s: [DEFAULT_WIND_M_S; 12] }
}

/// Sums of a month's hours as kWh/m2 a day.
fn month_sums(year: &TypicalYear) -> [f64; 12] {
    std::array::from_fn(|m| year.month(m).iter().map(|h| h.ghi_w_m2).sum::<f64>() / 1000.0 / MONTH_DAYS[m] as f64)
}

fn assert_sound(hour: &SkyHour) {
    let all = [
        hour.ghi_w_m2,
        hour.dni_w_m2,
        hour.dhi_w_m2,
        hour.cos_zenith,
        hour.azimuth_deg,
        hour.sun_east,
        hour.sun_north,
        hour.extraterrestrial_normal_w_m2,
        hour.air_c,
        hour.wind_m_s,
    ];
    assert!(all.iter().all(|x| x.is_finite()), "{hour:?}");
    assert!(hour.ghi_w_m2 > 0.0 && hour.dni_w_m2 >= 0.0 && hour.dhi_w_m2 >= 0.0, "{hour:?}");
    assert!(hour.dni_w_m2 <= 0.9 * hour.extraterrestrial_normal_w_m2 + 1e-9, "{hour:?}");
    assert!(hour.cos_zenith > 0.0 && hour.cos_zenith <= 1.0, "{hour:?}");
    assert!((0.0..360.0).contains(&hour.azimuth_deg), "{hour:?}");
    near_rel("closure", hour.dni_w_m2 * hour.cos_zenith + hour.dhi_w_m2, hour.ghi_w_m2, 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Any place where the sun rises every day, any clearness that weather has, any seed.
    #[test]
    fn monthly_means_come_out_as_entered(
        lat in -64.0..64.0_f64,
        ghi in proptest::array::uniform12(0.05..9.0_f64),
        mean_c in proptest::array::uniform12(-40.0..40.0_f64),
        seed: u64,
    ) {
        let year = typical_year(&MonthlyMeans { mean_c, ..means(ghi) }, lat, seed);
        for (m, (got, want)) in month_sums(&year).into_iter().zip(ghi).enumerate() {
            near_rel(&format!("lat {lat} month {m}"), got, want, 1e-9);
        }
        let mut first = 0;
        for (m, days) in MONTH_DAYS.into_iter().enumerate() {
            let air = &year.air_c[24 * first..24 * (first + days)];
            near_abs("mean temperature", air.iter().sum::<f64>() / air.len() as f64, mean_c[m], 1e-9);
            first += days;
        }
        year.sky.iter().for_each(assert_sound);
        prop_assert!(year.sky.windows(2).all(|w| w[0].hour < w[1].hour));
    }

    /// Any numbers at all, poles included: nothing but finite hours, and the entered sun wherever it can rise.
    #[test]
    fn any_finite_input_gives_finite_hours(
        lat in prop_oneof![-90.0..=90.0_f64, Just(90.0), Just(-90.0), Just(1e300), -67.0..-65.0_f64, 65.0..68.0_f64],
        ghi in proptest::array::uniform12(prop_oneof![-1.0..12.0_f64, Just(0.0), Just(1e-9), Just(1e6)]),
        seed: u64,
        mask: u16,
    ) {
        let year = typical_months(&means(ghi), lat, seed, mask);
        year.sky.iter().for_each(assert_sound);
        prop_assert_eq!(year.air_c.len(), HOURS);
        prop_assert!(year.air_c.iter().all(|t| t.is_finite()));
        for (m, (got, want)) in month_sums(&year).into_iter().zip(ghi).enumerate() {
            if !year.month(m).is_empty() {
                near_rel("sum", got, want, 1e-9);
            }
        }
    }

    #[test]
    fn asked_for_months_are_those_of_the_whole_year(seed: u64, mask: u16, lat in -70.0..70.0_f64) {
        let whole = typical_year(&means([3.0; 12]), lat, seed);
        let part = typical_months(&means([3.0; 12]), lat, seed, mask);
        for m in 0..12 {
            let asked = mask & ALL_MONTHS & 1 << m != 0;
            prop_assert_eq!(part.month(m), if asked { whole.month(m) } else { &[] });
        }
        prop_assert_eq!(&part.air_c, &whole.air_c);
        prop_assert!(part.month(12).is_empty());
    }
}

/// The order of days changes with the seed, the energy of a month does not.
#[test]
fn the_seed_orders_days_and_nothing_else() {
    let ghi = [2.4, 3.1, 4.3, 5.4, 5.6, 6.3, 6.1, 5.6, 4.4, 3.6, 2.4, 2.2];
    let (one, again, other) =
        (typical_year(&means(ghi), 36.1, 1), typical_year(&means(ghi), 36.1, 1), typical_year(&means(ghi), 36.1, 2));
    assert_eq!(one, again);
    assert_ne!(one, other);
    for m in 0..12 {
        near_rel("energy", month_sums(&one)[m], month_sums(&other)[m], 1e-12);
    }
}

/// Where the sun stands: south at noon in the north, north at noon in the south, rising in the east everywhere.
#[test]
fn sun_passes_on_the_right_side() {
    for (lat, noon_north) in [(51.5, -1.0), (36.1, -1.0), (-33.9, 1.0), (-54.5, 1.0)] {
        let year = typical_year(&means([3.0; 12]), lat, 7);
        for hour in &year.sky {
            let of_day = hour.hour % 24;
            assert!(if of_day < 12 { hour.sun_east > 0.0 } else { hour.sun_east < 0.0 }, "{lat}: {hour:?}");
            if of_day == 11 || of_day == 12 {
                assert_eq!(hour.sun_north.signum(), noon_north, "{lat}: {hour:?}");
            }
            let [east, north, up] = hour.sun();
            near_abs("unit vector", east * east + north * north + up * up, 1.0, 1e-12);
            let azimuth = east.atan2(north).to_degrees().rem_euclid(360.0);
            near_abs("azimuth", hour.azimuth_deg, azimuth, 1e-9);
        }
    }
    // At the equinox the sun rises due east; half an hour before noon at 40 N its height is known from
    // cos z = cos(lat) cos(w) with no declination (Duffie & Beckman eq. 1.6.5).
    let year = typical_year(&means([4.0; 12]), 40.0, 1);
    let equinox = year.sky.iter().find(|h| h.hour == 79 * 24 + 11).unwrap();
    near_abs("height", equinox.cos_zenith, 40.0_f64.to_radians().cos() * 7.5_f64.to_radians().cos(), 0.01);
}

#[test]
fn south_is_north_half_a_year_later() {
    let year = |lat: f64| typical_year(&means([4.0; 12]), lat, 1).sky.len();
    let (north, south) = (year(45.0), year(-45.0));
    assert!(north.abs_diff(south) < 60, "hours with sun: {north} {south}");
    let summer = typical_year(&means([4.0; 12]), -45.0, 1);
    assert!(summer.month(11).len() > summer.month(5).len() + 150);
}

#[test]
fn polar_night_has_no_hours_and_polar_day_has_all() {
    for (lat, dark, light) in [(80.0, [0, 11], 5), (-80.0, [5, 6], 11), (90.0, [0, 11], 5), (-90.0, [5, 6], 11)] {
        let year = typical_year(&means([2.0; 12]), lat, 3);
        for month in dark {
            assert!(year.month(month).is_empty(), "lat {lat} month {month}");
        }
        assert_eq!(year.month(light).len(), 24 * MONTH_DAYS[light], "lat {lat}");
        assert_eq!(year.air_c.len(), HOURS);
    }
    assert!(typical_year(&means([0.0; 12]), 40.0, 1).sky.is_empty(), "no sun entered, none made");
}

/// Erbs, Klein & Beckman 1983: coldest before sunrise, warmest after noon, the given range between them.
#[test]
fn given_daily_range_is_used() {
    let input = MonthlyMeans { daily_range_k: Some([12.0; 12]), ..means([4.0; 12]) };
    let year = typical_year(&input, 40.0, 1);
    let day = &year.air_c[..24];
    let (low, high) = day.iter().fold((f64::MAX, f64::MIN), |(l, h), t| (l.min(*t), h.max(*t)));
    near_abs("range", high - low, 12.0, 0.6);
    let noon = year.month(0).iter().find(|h| h.hour == 12).unwrap();
    assert_eq!(noon.air_c, year.air_c[12]);
}

/// Light on a plane facing south, Hay & Davies 1980 with ground reflectance 0.2, kWh/m2.
fn on_plane(hours: &[SkyHour], tilt_deg: f64) -> f64 {
    let (sin, cos) = tilt_deg.to_radians().sin_cos();
    let one = |h: &SkyHour| {
        let incidence = (h.cos_zenith * cos - h.sun_north * sin).max(0.0);
        let ring = h.dni_w_m2 / h.extraterrestrial_normal_w_m2;
        let ratio = incidence / h.cos_zenith.max(0.01745);
        h.dni_w_m2 * incidence
            + h.dhi_w_m2 * (ring * ratio + (1.0 - ring) * (1.0 + cos) / 2.0)
            + h.ghi_w_m2 * 0.2 * (1.0 - cos) / 2.0
    };
    hours.iter().map(one).sum::<f64>() / 1000.0
}

/// Against hourly truth and an independent synthesis (seed 1) for three sites. Source: TMY3 723170, TMY2 12839, IWEC
/// EPW 062400; transposition by pvlib 0.16.1. Bounds of the truth: 3 % a month flat, 10 % tilted (4 % a year).
#[test]
fn light_on_a_plane_agrees_with_hourly_truth() {
    let table = rows("physics/year_monthly.csv");
    for site in ["greensboro", "miami", "amsterdam"] {
        for tilt in [0.0, 30.0] {
            let months: Vec<_> = table
                .iter()
                .filter(|r| r.text("site") == site && r.text("module") == "perc200" && r.num("tilt") == tilt)
                .collect();
            assert_eq!(months.len(), 12);
            let column = |name: &str| std::array::from_fn(|m| months[m].num(name));
            let input = MonthlyMeans { mean_c: column("t_mean_C"), ..means(column("ghi_kWh_m2_d")) };
            let year = typical_year(&input, months[0].num("lat"), 1);
            let (mut got_year, mut want_year) = (0.0, 0.0);
            for (m, row) in months.iter().enumerate() {
                let got = on_plane(year.month(m), tilt);
                let what = format!("{site} tilt {tilt} month {}", m + 1);
                near_rel(&what, got, row.num("poa_true_kWh_m2"), if tilt > 0.0 { 0.10 } else { 0.03 });
                got_year += got;
                want_year += row.num("poa_true_kWh_m2");
            }
            near_rel(site, got_year, want_year, if tilt > 0.0 { 0.04 } else { 0.01 });
        }
    }
}

/// The grid's climate makes a year without more ado.
#[test]
fn a_place_on_the_grid_has_a_year() {
    let climate = look(33.664, -114.23, Some(268.0)).unwrap();
    let year = typical_year(&climate.means([DEFAULT_WIND_M_S; 12]), 33.664, 1);
    for (got, want) in month_sums(&year).into_iter().zip(climate.ghi_kwh_m2_day) {
        near_rel("sun", got, want, 1e-9);
    }
    let brightest = year.sky.iter().map(|h| h.ghi_w_m2).fold(0.0, f64::max);
    assert!(brightest > 800.0 && brightest < SOLAR_CONSTANT_W_M2, "{brightest}");
    let (low, high) = year.air_c.iter().fold((f64::MAX, f64::MIN), |(l, h), t| (l.min(*t), h.max(*t)));
    near_abs("coldest mean hour", low, climate.min_c[0].min(climate.min_c[11]), 1.0);
    near_abs("warmest mean hour", high, climate.max_c[6], 1.0);
}
