//! The embedded grid against its source values, against weather stations, and at its edges.

use coachwire::climate::ATTRIBUTIONS;
use coachwire::climate::grid::{Climate, look, winter_factor};
use coachwire::climate::year::MONTH_DAYS;
use proptest::prelude::*;

use crate::support::{near_abs, near_rel, rows};

fn at(lat: f64, lon: f64, elevation: Option<f64>) -> Climate {
    look(lat, lon, elevation).expect("a climate on land")
}

/// Cells at their centres, with their own elevation. Source: NASA SSE 6.0 `22yr_swv_dwn` (sun, unmodified), ERA5
/// 2016-2025 (mean temperature); minimum, maximum and extreme as modelled.
#[test]
fn cells_hold_the_source_values() {
    type Known = (f64, f64, [f64; 12], [f64; 12], f64, f64, f64, f64);
    let known: [Known; 4] = [
        (
            33.5,
            -114.5,
            [3.17, 4.0, 5.35, 6.57, 7.37, 7.65, 7.04, 6.14, 5.48, 4.39, 3.49, 2.93],
            [13.3, 15.8, 18.9, 23.7, 27.3, 33.1, 36.0, 35.4, 31.4, 25.0, 17.9, 13.4],
            6.0,
            44.1,
            -1.0,
            281.0,
        ),
        (
            51.5,
            -0.5,
            [0.77, 1.39, 2.34, 3.59, 4.57, 4.84, 4.8, 4.23, 2.86, 1.73, 0.96, 0.6],
            [4.8, 6.0, 7.4, 9.4, 13.1, 16.4, 18.2, 17.7, 15.2, 11.9, 7.9, 6.5],
            2.2,
            23.2,
            -7.4,
            86.0,
        ),
        (
            -54.5,
            -68.5,
            [4.35, 3.63, 2.48, 1.39, 0.78, 0.52, 0.6, 1.12, 2.02, 3.28, 4.05, 4.64],
            [8.4, 8.3, 6.6, 4.1, 2.3, -0.1, -0.5, 0.5, 2.1, 4.1, 6.1, 7.5],
            4.7,
            1.9,
            -11.3,
            385.0,
        ),
        (
            74.5,
            -124.5,
            [0.0, 0.08, 0.86, 3.05, 5.19, 6.57, 6.07, 3.85, 1.68, 0.3, 0.0, 0.0],
            [-27.4, -28.0, -25.5, -17.5, -5.3, 1.7, 4.1, 2.1, -1.0, -8.8, -19.2, -25.7],
            -31.1,
            7.8,
            -52.7,
            8.0,
        ),
    ];
    for (lat, lon, ghi, mean, min_january, max_july, extreme, elevation) in known {
        let cell = at(lat, lon, None);
        for month in 0..12 {
            let plain = cell.ghi_kwh_m2_day[month] / winter_factor(lat, month + 1);
            near_abs(&format!("{lat} {lon} sun {month}"), plain, ghi[month], 1e-9);
            near_abs(&format!("{lat} {lon} mean {month}"), cell.mean_c[month], mean[month], 1e-9);
        }
        near_abs("extreme", cell.extreme_min_c, extreme, 1e-9);
        near_abs("elevation", cell.elevation_m, elevation, 1e-9);
        // Minimum and maximum are kept as mean and range: half a step of 0.1 K is lost.
        near_abs("minimum", cell.min_c[0], min_january, 0.051);
        near_abs("maximum", cell.max_c[6], max_july, 0.051);
    }
}

/// Between cells, coasts, both hemispheres, the date line. Source: an independent look-up in the unpacked table.
#[test]
fn sites_between_cells_agree_with_an_independent_look_up() {
    let quartzsite = at(33.664, -114.23, Some(268.0));
    let sun = [3.17, 4.02, 5.39, 6.64, 7.38, 7.64, 7.0, 6.12, 5.51, 4.42, 3.5, 2.93];
    let max = [20.38, 22.99, 26.55, 31.81, 35.74, 41.89, 44.01, 42.72, 39.23, 32.93, 25.95, 20.76];
    let christchurch = at(-43.53, 172.63, None);
    let southern = [5.9, 5.11, 4.04, 2.71, 1.73, 1.32, 1.5, 2.25, 3.41, 4.59, 5.64, 5.91];
    let reykjavik = at(64.13, -21.9, Some(20.0));
    let mean = [-0.95, 0.03, 0.89, 4.22, 7.1, 9.8, 11.81, 11.29, 8.32, 4.95, 1.9, -0.22];
    let date_line = at(-16.8, 179.97, None);
    let island = [6.04, 5.97, 5.49, 4.76, 4.31, 4.03, 4.21, 4.63, 5.23, 5.88, 6.12, 6.13];
    for m in 0..12 {
        near_abs("Quartzsite sun", quartzsite.ghi_kwh_m2_day[m], sun[m], 0.0051);
        near_abs("Quartzsite maximum", quartzsite.max_c[m], max[m], 0.056);
        near_abs("Christchurch sun", christchurch.ghi_kwh_m2_day[m], southern[m], 0.0051);
        near_abs("Reykjavik mean", reykjavik.mean_c[m], mean[m], 0.0051);
        near_abs("date line sun", date_line.ghi_kwh_m2_day[m], island[m], 0.0051);
    }
    near_abs("Quartzsite extreme", quartzsite.extreme_min_c, -1.484_754_3, 1e-6);
    near_abs("Christchurch extreme", christchurch.extreme_min_c, -5.087_500_179, 1e-6);
    near_abs("Christchurch elevation", christchurch.elevation_m, 188.742_131, 1e-5);
    near_abs("Reykjavik extreme", reykjavik.extreme_min_c, -18.275_133_346, 1e-6);
    near_abs("date line elevation", date_line.elevation_m, 130.102_918_388, 1e-5);
}

/// Typical years of US stations, TMY3 (NREL, public domain).
///
/// Bounds of the sun: a tenth of the yearly spread of 5 % between typical years of 42 stations leaves a bias within
/// 2 %. Temperature: the grid's years (2016-2025) are about 1 K warmer than the stations' (mostly 1976-2005), which is
/// the warming between them, so the bias must lie within 0..2 K; single months of a typical year are those of one
/// real year, hence the wide spread.
#[test]
fn stations_are_met_within_the_spread_of_typical_years() {
    let (mut sun, mut kelvin, mut months) = (Vec::new(), Vec::new(), Vec::new());
    for row in rows("climate/stations.csv") {
        let site = at(row.num("lat"), row.num("lon"), Some(row.num("elev")));
        let (mut got, mut want) = (0.0, 0.0);
        let mut misses = Vec::new();
        for (month, days) in MONTH_DAYS.into_iter().enumerate() {
            let days = days as f64;
            got += site.ghi_kwh_m2_day[month] * days;
            want += row.num(&format!("ghi_{:02}", month + 1)) * days;
            misses.push(site.mean_c[month] - row.num(&format!("t_{:02}", month + 1)));
        }
        sun.push(100.0 * (got / want - 1.0));
        kelvin.push(misses.iter().sum::<f64>() / 12.0);
        months.extend(misses);
    }
    assert_eq!(sun.len(), 42);
    let ((bias, sd), (warm, warm_sd), (_, month_sd)) = (spread(&sun), spread(&kelvin), spread(&months));
    assert!(bias.abs() <= 2.0 && sd <= 6.0, "yearly sun: bias {bias:.2} %, sd {sd:.2} %");
    assert!((0.0..2.0).contains(&warm) && warm_sd <= 1.0, "yearly temperature: bias {warm:.2} K, sd {warm_sd:.2} K");
    assert!(month_sd <= 2.0, "monthly temperature: sd {month_sd:.2} K");
    let worst = months.iter().fold(0.0, |worst: f64, miss| worst.max(miss.abs()));
    assert!(worst <= 7.0, "worst single month {worst:.2} K");
}

/// Mean and sample standard deviation.
fn spread(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt())
}

/// Without the correction the source is several per cent too sunny in the northern stations' winter; with it the
/// November to January sun of the stations above 40 degrees has a bias within 4 %. Source: TMY3 (NREL).
#[test]
fn winter_correction_takes_most_of_the_winter_bias() {
    let (mut with, mut without) = (Vec::new(), Vec::new());
    for row in rows("climate/stations.csv").iter().filter(|row| row.num("lat") > 40.0) {
        let site = at(row.num("lat"), row.num("lon"), Some(row.num("elev")));
        let months = [10, 11, 0];
        let want: f64 = months.iter().map(|m| row.num(&format!("ghi_{:02}", m + 1))).sum();
        let sum = |of: &dyn Fn(usize) -> f64| months.iter().map(|m| of(*m)).sum::<f64>();
        with.push(100.0 * (sum(&|m| site.ghi_kwh_m2_day[m]) / want - 1.0));
        without.push(100.0 * (sum(&|m| site.ghi_kwh_m2_day[m] / winter_factor(row.num("lat"), m + 1)) / want - 1.0));
    }
    let ((bias, _), (raw, _)) = (spread(&with), spread(&without));
    assert!(bias.abs() <= 4.0, "corrected {bias:.2} %, raw {raw:.2} %");
    assert!(raw - bias >= 5.0, "corrected {bias:.2} %, raw {raw:.2} %");
}

#[test]
fn winter_factor_follows_hemisphere_and_latitude() {
    assert_eq!(winter_factor(30.0, 12), 1.0);
    assert_eq!(winter_factor(-34.9, 6), 1.0);
    near_rel("full", winter_factor(60.0, 12), 1.0 / (1.0 + 1.15 * 0.13), 1e-12);
    near_rel("half", winter_factor(42.5, 1), 1.0 / (1.0 + 1.15 * 0.5 * 0.12), 1e-12);
    for month in 1..=12 {
        assert_eq!(winter_factor(-50.0, month), winter_factor(50.0, (month + 5) % 12 + 1), "month {month}");
    }
    assert_eq!(winter_factor(50.0, 6), 1.0);
    assert!(winter_factor(-50.0, 6) < 0.9);
}

/// The count of the table the file was packed from; a row that does not inflate would lose its cells.
#[test]
fn every_cell_is_there() {
    let centres = (0..135).flat_map(|row| (0..360).map(move |column| (row, column)));
    let land = centres.filter(|(row, column)| look(74.5 - f64::from(*row), f64::from(*column) - 179.5, None).is_some());
    assert_eq!(land.count(), 20_616);
}

/// The wording that the licences ask for.
#[test]
fn sources_are_named() {
    let lines = ATTRIBUTIONS.join("\n");
    for wording in [
        "These data were obtained from the NASA Langley Research Center (LaRC) POWER Project funded through the NASA \
         Earth Science/Applied Science Program",
        "Contains modified Copernicus Climate Change Service information (2026)",
        "Neither the European Commission nor ECMWF is responsible for any use of it.",
        "GeoNames, https://www.geonames.org/, CC BY 4.0",
        "Karger et al. 2017",
    ] {
        assert!(lines.contains(wording), "{wording}");
    }
}

#[test]
fn elevation_moves_temperature_and_nothing_else() {
    let (low, high) = (at(40.0, -105.3, Some(1600.0)), at(40.0, -105.3, Some(2600.0)));
    assert_eq!(low.ghi_kwh_m2_day, high.ghi_kwh_m2_day);
    for m in 0..12 {
        near_abs("mean", low.mean_c[m] - high.mean_c[m], 4.5, 1e-9);
        near_abs("minimum", low.min_c[m] - high.min_c[m], 4.5, 1e-9);
        near_abs("maximum", low.max_c[m] - high.max_c[m], 4.5, 1e-9);
    }
    near_abs("extreme", low.extreme_min_c - high.extreme_min_c, 4.5, 1e-9);
}

#[test]
fn there_is_no_climate_at_sea_or_nowhere() {
    for (lat, lon) in [
        (0.0, -30.0),
        (85.0, 0.0),
        (90.0, 0.0),
        (-90.0, 0.0),
        (-75.0, 100.0),
        (91.0, 10.0),
        (f64::NAN, 0.0),
        (40.0, f64::INFINITY),
        (f64::MAX, f64::MIN),
    ] {
        assert_eq!(look(lat, lon, None), None, "{lat} {lon}");
    }
    // Whole turns of longitude are the same place; an elevation that is no number is none.
    assert_eq!(at(33.5, -114.5, None), at(33.5, 245.5, None));
    assert_eq!(at(33.5, -114.5, None), at(33.5, -114.5, Some(f64::NAN)));
}

proptest! {
    #[test]
    fn every_climate_is_in_order(lat in -60.0..75.0_f64, lon in -200.0..400.0_f64) {
        if let Some(climate) = look(lat, lon, None) {
            for m in 0..12 {
                let sun = climate.ghi_kwh_m2_day[m];
                prop_assert!((0.0..10.0).contains(&sun), "sun {}", sun);
                prop_assert!(climate.min_c[m] < climate.mean_c[m] && climate.mean_c[m] < climate.max_c[m]);
                prop_assert!((-60.0..50.0).contains(&climate.min_c[m]) && climate.max_c[m] < 55.0);
            }
            prop_assert!((-65.0..30.0).contains(&climate.extreme_min_c));
            prop_assert!((-450.0..6000.0).contains(&climate.elevation_m));
        }
    }
}
