//! What trees round a stay leave of the light, month by month.
//!
//! Source of truth: an independent calculation in another language, by another hand, from the published parts alone: PSA
//! 2020 for the sun, the days and hours of a typical year as `synth_*.csv` define them (seed 1), Hay & Davies 1980 for the
//! light, King 2004 (close roof mount or open rack, 2 m/s) for the cells, De Soto 2006 solved by a search for the highest point.
//! The sun's disc and the ring round it are gone while the sun's centre is below the trees, the even sky is taken times
//! the square of the cosine of their elevation, ground and albedo of 0.2 as in the open. It lets the ring through the
//! glass as the beam (Martin & Ruiz 2001), where this program lets it through as the rest of the sky.

use coachwire::engine::Engine;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

use super::{n, plan, with};

/// Most that a month may be off by, and the year, as shares. Under an open sky the two are within 0.5 % in each month.
const MONTH: f64 = 0.01;
const YEAR: f64 = 0.005;

/// One panel of 330 W, flat on feet or tilted toward the south, soiled by 3 %.
fn coach(latitude: f64, longitude: f64, tilt: f64, sky: &'static str) -> Plan {
    let label = [
        ("pmax_w", 330.2),
        ("vmp_v", 33.9),
        ("imp_a", 9.74),
        ("voc_v", 40.7),
        ("isc_a", 10.29),
        ("cells", 60.0),
        ("alpha_pct_k", 0.048),
        ("beta_pct_k", -0.29),
        ("gamma_pct_k", -0.37),
    ];
    let label: Vec<(String, f64)> = label.iter().map(|(key, x)| (format!("panels.P1.{key}"), *x)).collect();
    let mut edits: Vec<(&str, Value)> = label.iter().map(|(at, x)| (at.as_str(), n(*x))).collect();
    edits.extend([
        ("arrays.A1.strings", Value::Text("1S1P P1".into())),
        ("arrays.A1.mount", Value::Word(if tilt > 0.0 { "tilted" } else { "feet" })),
        ("stays.ST1.latitude_deg", n(latitude)),
        ("stays.ST1.longitude_deg", n(longitude)),
        ("stays.ST1.elevation_m", Value::Nothing),
        ("stays.ST1.tilt_deg", n(tilt)),
        ("stays.ST1.heading_deg", n(180.0)),
        ("stays.ST1.soiling_pct", n(3.0)),
        ("stays.ST1.months", Value::Text("all".into())),
        ("stays.ST1.sky", Value::Word(sky)),
    ]);
    with(&plan("bramble"), &edits)
}

fn array_wh_day(plan: &Plan) -> [f64; 12] {
    let report = Engine::default().evaluate(plan, &Stock::default());
    std::array::from_fn(|m| report.year.months[m].array_wh_day.clone().expect("sun").0)
}

/// Trees take light away and never give any: no hour of a month is brighter for them, and hours with the sun behind them
/// leave a level panel no more than what is left of an even sky. Source: the definition of a skyline; 0.75 behind 30 degrees.
#[test]
fn no_hour_is_brighter_for_trees() {
    use coachwire::engine::sky::sky_year;
    use coachwire::physics::sky::sky_modifier;
    let of = |tilt_deg: f64, horizon_deg: f64| {
        let site = coachwire::engine::sites::Site {
            latitude_deg: 44.0,
            clock: None,
            ghi_kwh_m2_day: [1.6, 2.5, 3.5, 4.3, 4.9, 5.5, 5.5, 4.9, 3.8, 2.5, 1.5, 1.3],
            mean_c: [5.0; 12],
            daily_range_k: None,
            wind_m_s: [2.0; 12],
            tilt_deg,
            heading_deg: (tilt_deg > 0.0).then_some(180.0),
            horizon_deg,
            soiling_share: 0.0,
            months: 0x0fff,
            seed: 1,
        };
        sky_year(&site).hours
    };
    for tilt in [0.0, 45.0] {
        let (open, wood) = (of(tilt, 0.0), of(tilt, 30.0));
        assert_eq!(open.len(), wood.len());
        let mut behind = 0;
        for (open, wood) in open.iter().zip(&wood) {
            assert!(wood.beam_w_m2 <= open.beam_w_m2 && wood.diffuse_w_m2 < open.diffuse_w_m2, "{open:?} {wood:?}");
            if wood.sun_tangent < 30.0_f64.to_radians().tan() && open.beam_w_m2 > 0.0 {
                behind += 1;
                assert_eq!(wood.beam_w_m2, 0.0);
                if tilt == 0.0 {
                    assert!(wood.diffuse_w_m2 <= 0.75 * open.diffuse_w_m2, "the ring is gone too: {open:?} {wood:?}");
                    assert!((wood.warming_w_m2 * sky_modifier(0.0) - wood.diffuse_w_m2).abs() < 1e-9, "{wood:?}");
                }
            }
        }
        assert!(behind > 1500, "{behind} hours with the sun behind the trees");
    }
}

#[test]
fn wooded_months_agree_with_an_independent_calculation() {
    for (latitude, longitude, tilt, sky, want) in [
        (
            44.0,
            -72.7,
            0.0,
            "trees",
            [151.7, 459.7, 819.9, 1064.8, 1184.4, 1311.7, 1286.1, 1128.5, 875.6, 515.9, 184.7, 137.6],
        ),
        (
            44.0,
            -72.7,
            45.0,
            "trees",
            [143.9, 660.7, 1056.7, 1194.7, 1183.4, 1247.8, 1259.7, 1214.7, 1070.0, 685.9, 180.1, 129.0],
        ),
        (
            47.6,
            10.3,
            0.0,
            "light trees",
            [324.8, 588.5, 932.0, 1230.5, 1464.8, 1480.3, 1477.5, 1278.8, 956.5, 609.0, 336.1, 237.2],
        ),
    ] {
        let got = array_wh_day(&coach(latitude, longitude, tilt, sky));
        for (m, (got, want)) in got.iter().zip(&want).enumerate() {
            let off = got / want - 1.0;
            assert!(off.abs() <= MONTH, "{sky} {tilt} month {}: {got:.1} of {want:.1} Wh, {:.2} %", m + 1, off * 100.0);
        }
        let off = got.iter().sum::<f64>() / want.iter().sum::<f64>() - 1.0;
        assert!(off.abs() <= YEAR, "{sky} {tilt} year: {:.2} %", off * 100.0);
    }
}
