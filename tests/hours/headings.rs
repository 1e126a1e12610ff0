//! A tilted coach that may face anywhere brings what coaches that face all ways bring together.
//!
//! Source of truth: 24 coaches with fixed headings, 15 degrees apart; the trapezoidal rule on a circle.

use coachwire::climate::year::MONTH_DAYS;
use coachwire::engine::Engine;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

use super::{n, plan, with};

/// Most that a month may be off by, array and harvest, which hangs on the bank beside, and the year, percent.
const MONTH_PCT: [f64; 2] = [0.7, 1.5];
const YEAR_PCT: f64 = 0.3;

/// Array, harvest and what the controllers cut off, month by month, Wh a day.
fn months(plan: &Plan) -> [[f64; 12]; 3] {
    let report = Engine::default().evaluate(plan, &Stock::default());
    let of = |m: usize| &report.year.months[m];
    [
        std::array::from_fn(|m| of(m).array_wh_day.clone().expect("sun").0),
        std::array::from_fn(|m| of(m).harvest_wh_day.clone().expect("sun").0),
        std::array::from_fn(|m| of(m).losses.clone().expect("sun").clipped.0),
    ]
}

fn of_year(months: &[f64; 12]) -> f64 {
    months.iter().zip(MONTH_DAYS).map(|(wh, days)| wh * days as f64).sum()
}

/// Six panels on a controller of 16 A: facing the sun it cuts off a third of a January, facing away nothing.
fn clipping() -> [(&'static str, Value); 2] {
    [("controllers.C1.out_a", n(16.0)), ("arrays.A1.strings", Value::Text("2S3P P1".into()))]
}

#[test]
fn any_heading_is_the_mean_of_all() {
    let clips = clipping();
    for (name, latitude, edits) in [
        ("bramble", 39.0, &[][..]),
        ("bramble", 52.0, &[]),
        ("bramble", -33.0, &[]),
        ("bramble", 33.0, &clips),
        ("sorrel", 33.0, &[]),
    ] {
        for tilt in [30.0, 60.0] {
            let mut edits = edits.to_vec();
            edits.push(("stays.ST1.tilt_deg", n(tilt)));
            edits.push(("stays.ST1.latitude_deg", n(latitude)));
            // Argentina is inland there too.
            edits.push(("stays.ST1.longitude_deg", n(if latitude < 0.0 { -66.0 } else { -106.0 })));
            let any = with(&plan(name), &edits);
            let got = months(&any);
            let mut mean = [[0.0; 12]; 3];
            for k in 0..24 {
                let one = months(&with(&any, &[("stays.ST1.heading_deg", n(15.0 * f64::from(k)))]));
                for (sum, one) in mean.iter_mut().flatten().zip(one.iter().flatten()) {
                    *sum += one / 24.0;
                }
            }
            let kinds = ["array", "harvest"].iter().zip(MONTH_PCT);
            for ((what, most), (got, mean)) in kinds.zip(got.iter().zip(&mean)) {
                for (m, (got, mean)) in got.iter().zip(mean).enumerate() {
                    let pct = (got / mean - 1.0) * 100.0;
                    assert!(pct.abs() <= most, "{name} {latitude} {tilt} {what} of month {m}: {pct:.2} %");
                }
                let pct = (of_year(got) / of_year(mean) - 1.0) * 100.0;
                assert!(pct.abs() <= YEAR_PCT, "{name} {latitude} {tilt} {what}: {pct:.2} %");
            }
            // What is cut off is the small difference of large ones.
            let (cut, all) = (of_year(&got[2]), of_year(&mean[2]));
            assert!((cut - all).abs() <= 0.1 * all + 0.01 * of_year(&mean[0]), "{name} {tilt}: cut off {cut} of {all}");
            assert_eq!(all > 0.0, latitude == 33.0 && name == "bramble", "{name} {tilt}: {all} cut off");
        }
    }
}

/// A level panel faces nowhere: nothing of its year hangs on a heading, to the last bit.
#[test]
fn level_panels_face_nowhere() {
    let flat = with(&plan("bramble"), &[("stays.ST1.tilt_deg", n(0.0))]);
    let any = months(&flat);
    for heading in [0.0, 77.0, 180.0] {
        assert_eq!(months(&with(&flat, &[("stays.ST1.heading_deg", n(heading))])), any);
    }
}
