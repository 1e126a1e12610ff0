//! Light, not plans: what an array that faces another way every day brings, against the mean of all ways, far north too.
//!
//! Source of truth: 24 fixed headings, 15 degrees apart; the trapezoidal rule on a circle.

use coachwire::climate::clock::Clock;
use coachwire::climate::grid::look;
use coachwire::engine::lit::{ArrayInput, Offer, StringsOf, offer};
use coachwire::engine::memo::Stage;
use coachwire::engine::sites::Site;
use coachwire::engine::sky::sky_year;
use coachwire::physics::module::{Label, Module, SILICON_EV};
use coachwire::standards::kinds::Mount;

/// A module of our own, 200 W.
fn module() -> Module {
    let label = Label {
        vmp_v: 20.4,
        imp_a: 9.8,
        voc_v: 24.3,
        isc_a: 10.4,
        alpha_pct_k: 0.05,
        beta_pct_k: -0.29,
        band_gap_ev: SILICON_EV,
    };
    Module::from_label(&label).unwrap()
}

fn site(latitude_deg: f64, longitude_deg: f64, tilt_deg: f64) -> Site {
    let climate = look(latitude_deg, longitude_deg, None).unwrap();
    Site {
        latitude_deg,
        clock: Some(Clock::nearest(longitude_deg)),
        ghi_kwh_m2_day: climate.ghi_kwh_m2_day,
        mean_c: climate.mean_c,
        daily_range_k: Some(std::array::from_fn(|m| climate.max_c[m] - climate.min_c[m])),
        wind_m_s: [2.0; 12],
        tilt_deg,
        heading_deg: None,
        horizon_deg: 0.0,
        soiling_share: 0.0,
        months: 0x0fff,
        seed: 1,
    }
}

/// Wh of months: at maximum power, straight into 13.2 V, and behind a controller that passes 120 W.
fn months(site: &Site) -> [[f64; 12]; 3] {
    let offer: Offer = offer(&ArrayInput {
        strings: vec![StringsOf { mount: Mount::Feet, parallel: 1, modules: vec![(module(), 2.0, 1)] }],
        sky: Stage::new(sky_year(site)),
        is_tilted: site.tilt_deg != 0.0,
        flat: None,
        shade: None,
    });
    let mut out = [offer.month_wh, [0.0; 12], [0.0; 12]];
    for hour in &offer.hours {
        out[1][usize::from(hour.month)] += hour.even.unwrap().current_at(13.2, 0.0).max(0.0) * 13.2;
        out[2][usize::from(hour.month)] += hour.best.power_w().min(120.0);
    }
    out
}

const PLACES: [(f64, f64); 12] = [
    (0.0, -60.0),
    (15.0, -90.0),
    (26.0, -98.0),
    (33.7, -114.2),
    (-33.0, -66.0),
    (39.0, -106.0),
    (45.5, -73.0),
    (52.5, 0.5),
    (57.0, -4.0),
    (59.5, -113.0),
    (62.0, 26.0),
    (66.0, 24.0),
];

/// The mean of 24 headings.
fn of_all_ways(any: &Site) -> [[f64; 12]; 3] {
    let mut mean = [[0.0; 12]; 3];
    for k in 0..24 {
        let one = months(&Site { heading_deg: Some(15.0 * f64::from(k)), ..any.clone() });
        for (sum, one) in mean.iter_mut().flatten().zip(one.iter().flatten()) {
            *sum += one / 24.0;
        }
    }
    mean
}

/// Most that a month may be off by, percent: array, what goes straight into a battery, and what a limit of three fifths of the
/// array lets through, of which the last has the sharpest bend.
const MOST_PCT: [f64; 3] = [0.7, 0.5, 3.0];
/// January, April, September and December.
const MONTHS: [usize; 4] = [0, 3, 8, 11];

#[test]
fn a_month_of_any_heading_is_the_mean_of_all_from_the_equator_to_the_polar_circle() {
    for (lat, lon) in PLACES {
        for tilt in [20.0, 45.0, 70.0] {
            let mask = MONTHS.iter().map(|m| 1 << m).sum();
            let any = Site { months: mask, ..site(lat, lon, tilt) };
            let (got, mean) = (months(&any), of_all_ways(&any));
            for (what, ((got, mean), most)) in got.iter().zip(&mean).zip(MOST_PCT).enumerate() {
                for m in MONTHS {
                    assert!(mean[m] > 0.0, "{lat} {tilt} month {m}");
                    let pct = (got[m] / mean[m] - 1.0) * 100.0;
                    assert!(pct.abs() <= most, "{lat} N, tilt {tilt}, month {m}, {what}: {pct:.2} %");
                }
            }
        }
    }
}

/// Every day of a month faces its own way, and none is told by the panels: with few days of sun, in the polar night's first
/// and last days, too.
#[test]
fn every_day_has_a_way_of_its_own() {
    for (lat, lon, tilt) in [(33.7, -114.2, 20.0), (57.0, -4.0, 50.0), (68.0, 24.0, 60.0)] {
        let sky = sky_year(&site(lat, lon, tilt));
        let ways = sky.heading_deg.as_ref().unwrap();
        let mut first = 0;
        for (m, days) in coachwire::climate::year::MONTH_DAYS.into_iter().enumerate() {
            let lit = |day: &usize| sky.clearness[*day] > 0.0;
            let mut here: Vec<f64> = (first..first + days).filter(lit).map(|day| ways[day]).collect();
            here.sort_by(f64::total_cmp);
            assert!(here.windows(2).all(|two| two[1] - two[0] > 1.0), "{lat} month {m}: {here:?}");
            assert!(here.iter().all(|way| (0.0..360.0).contains(way)), "{lat} month {m}: {here:?}");
            first += days;
        }
    }
}
