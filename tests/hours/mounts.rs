//! What each array's own mount makes of a stay's tilt: its light and how warm its cells get, alone and beside others on one
//! controller.
//!
//! Source of truth: an independent calculation in another language, by another hand, from the published parts alone: PSA
//! 2020 for the sun, the days and hours of a typical year as `synth_*.csv` define them (seed 1), Hay & Davies 1980, Martin & Ruiz
//! 2001, De Soto 2006. King 2004, table 1: open rack for what is tilted up, close roof mount for what is let down or on feet,
//! insulated back, flat on the roof, for what is glued down. Strings of unlike light on one controller: the highest point of
//! the sum of their currents over a scan of volts in steps of 0.03 V.

use coachwire::engine::Engine;
use coachwire::plan::{Edit, ListPath, Plan, Step, Value};
use coachwire::stock::Stock;

use super::{n, plan, with};
use crate::support::near_rel;

/// Most that a month may be off by, and the year, as shares: those of wooded months.
const MONTH: f64 = 0.01;
const YEAR: f64 = 0.005;

/// A panel of 330 W for each mount, all on one controller, at 44 N, soiled by 3 %, the stay's tilt toward the south.
fn coach(mounts: &[&'static str], tilt: f64) -> Plan {
    let label = [
        ("pmax_w", 330.2),
        ("vmp_v", 33.9),
        ("imp_a", 9.74),
        ("voc_v", 40.7),
        ("isc_a", 10.29),
        ("cells", 60.0),
        ("bypass_groups", 3.0),
        ("alpha_pct_k", 0.048),
        ("beta_pct_k", -0.29),
        ("gamma_pct_k", -0.37),
    ];
    let label: Vec<(String, f64)> = label.iter().map(|(key, x)| (format!("panels.P1.{key}"), *x)).collect();
    let mut edits: Vec<(&str, Value)> = label.iter().map(|(at, x)| (at.as_str(), n(*x))).collect();
    edits.extend([
        ("stays.ST1.latitude_deg", n(44.0)),
        ("stays.ST1.longitude_deg", n(-72.7)),
        ("stays.ST1.elevation_m", Value::Nothing),
        ("stays.ST1.tilt_deg", n(tilt)),
        ("stays.ST1.heading_deg", n(180.0)),
        ("stays.ST1.soiling_pct", n(3.0)),
        ("stays.ST1.months", Value::Text("all".into())),
        ("controllers.C1.max_pv_a", n(60.0)),
        ("controllers.C1.out_a", n(60.0)),
        ("arrays.A1.strings", Value::Text("1S1P P1".into())),
    ]);
    let mut plan = with(&plan("bramble"), &edits);
    // The calculation knows of no shade.
    plan.roof.obstacles.clear();
    for (k, mount) in mounts.iter().enumerate() {
        if k > 0 {
            let insert = |list: &str, item: String| Edit::Insert { list: ListPath::new(list), after: None, item };
            let array = format!("(id: \"A{0}\", strings: \"1S1P P1\", controller: \"C1\")", k + 1);
            let run = format!(
                "(id: \"R{0}\", from: \"A{0}\", to: \"C1\", gauge: \"10 AWG\", legs: [(id: \"L1\", length_m: 3.0, zone: \"roof\")])",
                k + 1
            );
            let edits = vec![insert("arrays", array), insert("runs", run)];
            plan = plan.with(&Step { name: "test".into(), edits }).unwrap_or_else(|e| panic!("{e}"));
        }
        plan = with(&plan, &[(&format!("arrays.A{}.mount", k + 1), Value::Word(mount))]);
    }
    plan
}

fn array_wh_day(plan: &Plan) -> [f64; 12] {
    let report = Engine::default().evaluate(plan, &Stock::default());
    std::array::from_fn(|m| report.year.months[m].array_wh_day.clone().unwrap_or_else(|m| panic!("waits: {}", m.0)).0)
}

fn agrees(what: &str, got: &[f64; 12], want: &[f64; 12]) {
    for (m, (got, want)) in got.iter().zip(want).enumerate() {
        assert!((got / want - 1.0).abs() < MONTH, "{what}, month {m}: {got:.1} Wh a day, {want:.1} calculated");
    }
    let sum = |months: &[f64; 12]| months.iter().sum::<f64>();
    assert!((sum(got) / sum(want) - 1.0).abs() < YEAR, "{what}: {:.1} {:.1}", sum(got), sum(want));
}

#[test]
fn each_mount_has_its_own_light_and_warmth() {
    for (mount, tilt, want) in [
        ("tilted", 30.0, [820.0, 1156.4, 1349.3, 1443.8, 1451.5, 1531.3, 1540.6, 1477.7, 1328.8, 992.0, 687.6, 671.7]),
        ("feet", 30.0, [794.3, 1112.9, 1294.9, 1384.0, 1391.9, 1465.5, 1471.6, 1410.8, 1270.9, 955.9, 667.6, 652.4]),
        // Glued down: flat on the roof.
        ("glued", 30.0, [466.1, 759.9, 1053.8, 1272.0, 1393.0, 1513.8, 1494.1, 1343.8, 1082.7, 724.9, 440.8, 371.0]),
        ("glued", 0.0, [466.1, 759.9, 1053.8, 1272.0, 1393.0, 1513.8, 1494.1, 1343.8, 1082.7, 724.9, 440.8, 371.0]),
        ("feet", 0.0, [469.4, 767.6, 1067.3, 1290.8, 1415.4, 1540.0, 1520.6, 1366.4, 1098.3, 732.5, 443.8, 373.2]),
        // Let down: as close to the roof as on feet.
        ("tilted", 0.0, [469.4, 767.6, 1067.3, 1290.8, 1415.4, 1540.0, 1520.6, 1366.4, 1098.3, 732.5, 443.8, 373.2]),
    ] {
        agrees(&format!("{mount} at {tilt}"), &array_wh_day(&coach(&[mount], tilt)), &want);
    }
}

#[test]
fn arrays_on_one_controller_keep_each_its_own() {
    for (mounts, tilt, want) in [
        (
            ["tilted", "glued"],
            30.0,
            [1284.5, 1912.3, 2392.9, 2698.0, 2820.3, 3015.4, 3005.5, 2798.9, 2399.1, 1712.2, 1126.9, 1041.5],
        ),
        (
            ["feet", "glued"],
            0.0,
            [935.3, 1526.9, 2119.9, 2561.0, 2806.2, 3051.3, 3012.1, 2708.1, 2179.6, 1456.9, 884.4, 744.1],
        ),
    ] {
        let [first, second] = mounts;
        let (one, other) = (array_wh_day(&coach(&[first, second], tilt)), array_wh_day(&coach(&[second, first], tilt)));
        agrees(&format!("{first} and {second}"), &one, &want);
        for (m, (one, other)) in one.iter().zip(&other).enumerate() {
            assert!((one / other - 1.0).abs() < 1e-9, "{first}, {second}, month {m}: in turn {one} and {other}");
        }
    }
}

/// The whole year, hours and wires and bank: which array stands first in the list changes nothing of it.
#[test]
fn the_order_of_arrays_changes_no_year() {
    let year =
        |mounts: &[&'static str]| Engine::default().evaluate(&coach(mounts, 30.0), &Stock::default()).year.clone();
    let (one, other) = (year(&["tilted", "glued", "feet"]), year(&["feet", "glued", "tilted"]));
    for (what, one, other) in [
        ("harvest", one.harvest_kwh.clone(), other.harvest_kwh.clone()),
        ("stored", one.stored_kwh.clone(), other.stored_kwh.clone()),
        ("unmet", one.unmet_pct.clone(), other.unmet_pct.clone()),
    ] {
        let (one, other) = (one.unwrap_or_else(|m| panic!("{}", m.0)), other.unwrap_or_else(|m| panic!("{}", m.0)));
        assert!(what == "unmet" || one > 0.0, "{what}");
        assert!((one - other).abs() <= 1e-7 * one.abs(), "{what}: {one} and {other}");
    }
}

/// Equal panels that lie alike are one array, however they are listed: let down, tilted ones lie as those on feet do.
/// Source: Kirchhoff's laws.
#[test]
fn arrays_that_lie_alike_are_one() {
    let two = array_wh_day(&coach(&["tilted", "feet"], 0.0));
    let one = array_wh_day(&with(&coach(&["feet"], 0.0), &[("arrays.A1.strings", Value::Text("1S2P P1".into()))]));
    assert_eq!(two, one);
}

/// What is glued down takes no notice of a tilt, nor of which way that faces; beside tilted panels the day's light is the mean
/// of both by rated watts.
#[test]
fn a_coach_that_is_glued_lies_flat() {
    let any = |tilt| with(&coach(&["glued"], tilt), &[("stays.ST1.heading_deg", Value::Nothing)]);
    let year = |plan: &Plan| Engine::default().evaluate(plan, &Stock::default()).year.harvest_kwh.clone();
    assert_eq!(year(&any(50.0)), year(&any(0.0)));
    assert_eq!(any(50.0).toward_any().count(), 0);
    assert_eq!(with(&any(50.0), &[("arrays.A1.mount", Value::Word("tilted"))]).toward_any().count(), 1);
    let sun = |mounts: &[&'static str]| -> Vec<f64> {
        let hours = Engine::default().trace(&coach(mounts, 50.0), &Stock::default(), 20, 1);
        hours.unwrap_or_else(|m| panic!("{}", m.0)).iter().map(|h| h.sun_w_m2).collect()
    };
    let (up, flat, both, turned) =
        (sun(&["tilted"]), sun(&["glued"]), sun(&["tilted", "glued"]), sun(&["glued", "tilted"]));
    assert!(up.iter().sum::<f64>() > 1.3 * flat.iter().sum::<f64>(), "{up:?} {flat:?}");
    for (((up, flat), both), turned) in up.iter().zip(&flat).zip(&both).zip(&turned) {
        assert!((both - (up + flat) / 2.0).abs() < 1e-9 && (both - turned).abs() < 1e-9, "{up} {flat} {both} {turned}");
    }
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("an id"))
}

/// Two equal arrays on a bare roof, tilted to the south by so many degrees where they can be, on two controllers or on one: what
/// shades one of them leaves them no longer equal.
fn on_larkspur(mounts: [&'static str; 2], tilt_deg: f64, on_one: bool) -> Plan {
    let mut set = vec![("arrays.A1.mount", Value::Word(mounts[0])), ("arrays.A2.mount", Value::Word(mounts[1]))];
    for stay in ["stays.ST1", "stays.ST2", "stays.ST3"] {
        set.extend([(stay, "tilt_deg", tilt_deg), (stay, "heading_deg", 180.0)].map(|(stay, key, x)| {
            let at: &'static str = Box::leak(format!("{stay}.{key}").into_boxed_str());
            (at, n(x))
        }));
    }
    if on_one {
        set.extend([("arrays.A2.controller", id("C1")), ("runs.W4.to", id("C1"))]);
    }
    let mut plan = with(&plan("larkspur"), &set);
    plan.roof.obstacles.clear();
    plan
}

/// On one controller each array has its own mount: which of the two is listed first changes nothing, and together they give what
/// they give on two controllers, but for the volts that unlike warmth and light cost, a percent at most.
/// Source: `models.md` 4, mounts by array; two controllers are two simulations of their own.
#[test]
fn arrays_on_one_controller_have_their_own_mounts() {
    for tilt_deg in [0.0, 30.0] {
        for mounts in [["feet", "glued"], ["tilted", "glued"], ["feet", "tilted"]] {
            let (one, swapped) =
                (on_larkspur(mounts, tilt_deg, true), on_larkspur([mounts[1], mounts[0]], tilt_deg, true));
            let (one, swapped, apart) =
                (array_wh_day(&one), array_wh_day(&swapped), array_wh_day(&on_larkspur(mounts, tilt_deg, false)));
            for m in 0..12 {
                let what = format!("{mounts:?} at {tilt_deg}, month {m}");
                near_rel(&what, one[m], swapped[m], 1e-9);
                assert!(
                    one[m] <= apart[m] * (1.0 + 1e-9) && one[m] > 0.985 * apart[m],
                    "{what}: {} {}",
                    one[m],
                    apart[m]
                );
            }
        }
    }
}

/// The same beneath what stands on the roof: which is listed first changes nothing, and on one controller, where strings in
/// shadow and strings in the sun share their volts, they give no more than on two, and lose no more than the unshaded ones of the
/// bound above and a twentieth. The tables of shade are within 1.2 % (`shaded.rs`).
/// Source: Kirchhoff's laws.
#[test]
fn shaded_arrays_on_one_controller_give_no_more_than_on_two() {
    let roof = plan("larkspur").roof;
    let shaded = |mounts, on_one| {
        let mut plan = on_larkspur(mounts, 0.0, on_one);
        plan.roof = roof.clone();
        array_wh_day(&plan)
    };
    for mounts in [["feet", "feet"], ["feet", "glued"]] {
        let (one, swapped, apart) = (shaded(mounts, true), shaded([mounts[1], mounts[0]], true), shaded(mounts, false));
        let bare = array_wh_day(&on_larkspur(mounts, 0.0, false));
        for m in 0..12 {
            let what = format!("{mounts:?}, month {m}: {} {} {} {}", one[m], swapped[m], apart[m], bare[m]);
            assert!(one[m] <= apart[m] * 1.002 && one[m] > 0.935 * apart[m], "{what}");
            assert!(apart[m] < 0.995 * bare[m], "{what}");
        }
    }
}

/// What is glued lies flat at every stay; what is let down lies over the roof like panels on feet; tilted up they are cooler than on
/// feet, and glued ones the warmest.
/// Source: geometry; `models.md` 4: glued warmer than on feet, those warmer than on an open rack.
#[test]
fn an_array_lies_as_its_mount_lets_it() {
    let both = |mount, tilt_deg| array_wh_day(&on_larkspur([mount, mount], tilt_deg, false));
    assert_eq!(both("glued", 30.0), both("glued", 0.0));
    assert_eq!(both("tilted", 0.0), both("feet", 0.0));
    let (glued, feet) = (both("glued", 0.0), both("feet", 0.0));
    let (tilted, propped) = (both("tilted", 30.0), both("feet", 30.0));
    for m in 0..12 {
        assert!(
            glued[m] < feet[m] && propped[m] < tilted[m],
            "month {m}: {} {} {} {}",
            glued[m],
            feet[m],
            propped[m],
            tilted[m]
        );
    }
}
