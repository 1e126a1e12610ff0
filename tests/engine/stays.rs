//! What the year says about stays, charging and loads; each with its silent twin. And input at the edge of a year.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};
use coachwire::stock::Stock;

use crate::support::{near_abs, near_rel};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn months(text: &str) -> Value {
    Value::Text(text.into())
}

fn named(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("a sample").text).unwrap_or_else(|e| panic!("{e}"))
}

const SECOND: &str = r#"(id: "ST2", latitude_deg: 40.0, longitude_deg: -106.0, months: "6 7 8")"#;

#[test]
fn months_in_two_stays_and_in_none() {
    let both = insert(&sound(), "stays", SECOND);
    let r = evaluate(&both);
    let f = found(&r, "months-in-two-stays");
    assert!(f.len() == 1 && f[0].subject.as_str() == "stays.ST2" && f[0].level == Level::Caution, "{}", texts(&r));
    assert_eq!(f[0].text(), "ST2: Jun, Jul, Aug in ST1 too; the year counts them there");
    assert!(found(&r, "months-without-stay").is_empty());
    let right = evaluate(&with(&both, &[("stays.ST1.months", months("9 10 11 12 1 2 3 4 5"))]));
    assert!(found(&right, "months-in-two-stays").is_empty() && found(&right, "months-without-stay").is_empty());
    let gap = evaluate(&with(&both, &[("stays.ST1.months", months("9 10 11 12 1 2"))]));
    let f = found(&gap, "months-without-stay");
    assert!(
        f.len() == 1
            && f[0].text()
                == "no stay in Mar, Apr, May; the year's sums wait for one; Jun begins with what is in the bank when Feb ends",
        "{}",
        texts(&gap)
    );
    let nowhere = evaluate(&with(&sound(), &[("stays.ST1.months", months("none"))]));
    let said = found(&nowhere, "months-without-stay")[0].text();
    assert!(said.ends_with("Dec; the year's sums wait for one"), "{said}");
}

/// Where loads ask for more than an inverter carries in every month, as much can run in each: what is named is the month that asks for most.
/// Source: by hand, 1800 W more from May on.
#[test]
fn most_at_once_is_the_month_that_asks_for_most() {
    let mut plan = named("larkspur");
    plan.loads.iter_mut().for_each(|load| load.months = Default::default());
    let heavy = r#"(id: "LX", name: "kettle", watts_w: 3200.0, quantity: 1.0, hours_day: 0.1, supply: "inverter", months: "all")"#;
    let plan = insert(&plan, "loads", heavy);
    let all_year = evaluate(&plan).loads.together.clone().expect("known");
    let cool = r#"(id: "LY", name: "air conditioner", watts_w: 1800.0, quantity: 1.0, hours_day: 1.0, supply: "inverter", months: "5 6 7 8 9")"#;
    let summer = evaluate(&insert(&plan, "loads", cool)).loads.together.clone().expect("known");
    assert!(all_year.is_capped && summer.is_capped, "{all_year:?} {summer:?}");
    assert_eq!((all_year.month, summer.month), (0, 4), "{summer:?}");
    near_rel("asked", summer.ac_w - all_year.ac_w, 1800.0, 1e-9);
    near_rel("at the bank", summer.watts.0, all_year.watts.0, 1e-9);
}

/// What is glued down cannot be tilted: a note, where a stay says a tilt; another on feet, none flat and none where the mount
/// tilts.
#[test]
fn a_tilt_that_glue_holds_down() {
    let tilted = with(&sound(), &[("stays.ST1.tilt_deg", n(25.0))]);
    let glued = with(&tilted, &[("arrays.A1.mount", word("glued"))]);
    let r = evaluate(&glued);
    let f = found(&r, "tilt-not-counted");
    assert!(f.len() == 1 && f[0].level == Level::Note && f[0].subject.as_str() == "arrays.A1.mount", "{}", texts(&r));
    assert_eq!(f[0].text(), "A1: glued down it lies flat; the tilt of up to 25 degrees at ST1 is not counted for it");
    assert!(found(&r, "feet-tilted").is_empty());
    let feet = evaluate(&tilted);
    assert!(found(&feet, "tilt-not-counted").is_empty());
    let f = found(&feet, "feet-tilted");
    assert!(
        f.len() == 1 && f[0].level == Level::Note && f[0].subject.as_str() == "arrays.A1.mount",
        "{}",
        texts(&feet)
    );
    assert!(
        f[0].text().starts_with("A1: feet are fixed, but at ST1 a tilt of up to 25 degrees is entered"),
        "{}",
        f[0].text()
    );
    // The figures are what it says: those of the tilt.
    let kwh = |p: &Plan| evaluate(p).year.harvest_kwh.clone().expect("a year");
    assert!((kwh(&tilted) / kwh(&sound()) - 1.0).abs() > 0.01, "the tilt counts");
    assert!((kwh(&glued) / kwh(&with(&glued, &[("stays.ST1.tilt_deg", n(0.0))])) - 1.0).abs() < 1e-12);
    assert!(found(&evaluate(&with(&tilted, &[("arrays.A1.mount", word("tilted"))])), "feet-tilted").is_empty());
    assert!(found(&evaluate(&sound()), "feet-tilted").is_empty());
    let flat = with(&glued, &[("stays.ST1.tilt_deg", n(0.0))]);
    assert!(found(&evaluate(&flat), "tilt-not-counted").is_empty());
}

/// A tilt, a heading or dirt that nobody knows takes away what hangs on them alone: the sun on level ground stays, and on
/// glued panels, which lie flat, so does everything; a level panel faces nowhere.
#[test]
fn an_unknown_tilt_leaves_what_does_not_hang_on_it() {
    let known = evaluate(&sound());
    let sun = |r: &Report| r.year.months.clone().map(|m| m.ghi_kwh_m2_day);
    for field in ["tilt_deg", "soiling_pct"] {
        let at = format!("stays.ST1.{field}");
        let r = evaluate(&with(&sound(), &[(&at, Value::Unknown)]));
        assert!(sun(&r).iter().all(Result::is_ok) && sun(&r) == sun(&known), "{field}");
        assert_eq!(r.year.harvest_kwh.clone().expect_err("waits").0.as_str(), at);
        assert_eq!(r.year.months[0].array_wh_day.clone().expect_err("waits").0.as_str(), at);
        assert!(r.unknown.iter().any(|field| field.as_str() == at), "{field}");
    }
    let glued = with(&sound(), &[("arrays.A1.mount", word("glued"))]);
    let (flat, open) = (evaluate(&glued), evaluate(&with(&glued, &[("stays.ST1.tilt_deg", Value::Unknown)])));
    assert!(open.year == flat.year && flat.year.harvest_kwh.is_ok());
    let faces = evaluate(&with(&sound(), &[("stays.ST1.heading_deg", Value::Unknown)]));
    assert!(faces.year == known.year);
    let tilted = with(&sound(), &[("stays.ST1.heading_deg", Value::Unknown), ("stays.ST1.tilt_deg", n(30.0))]);
    let tilted = evaluate(&tilted);
    assert_eq!(tilted.year.harvest_kwh.clone().expect_err("waits").0.as_str(), "stays.ST1.heading_deg");
    assert!(sun(&tilted) == sun(&known));
}

/// What glued panels lose to warmth is of their own part of what their controller is offered: beside as many on feet, half.
/// And what unlike light costs is said once, of the controller, whichever array stands first.
#[test]
fn a_glued_array_beside_one_on_feet() {
    let glued = with(&sound(), &[("arrays.A1.mount", word("glued")), ("panels.P1.gamma_pct_k", n(-0.4))]);
    let array = r#"(id: "A2", strings: "2S1P P1", mount: "feet", controller: "C1")"#;
    let run = r#"(id: "W99", from: "A2", to: "C1", gauge: "10 AWG", legs: [(id: "L1", length_m: 2.0, zone: "roof")])"#;
    let strings = |p: &Plan| with(p, &[("arrays.A1.strings", Value::Text("2S1P P1".into()))]);
    let both = insert(&insert(&strings(&glued), "arrays", array), "runs", run);
    let r = evaluate(&both);
    let f = &found(&r, "glued-runs-warm")[0];
    let offered_wh = r.controllers[0].offered_kwh.clone().unwrap_or_else(|m| panic!("{}", m.0)) * 1000.0 / 365.0;
    near_rel("half", f.n(2), 0.5 * offered_wh * f.n(0) / (100.0 - f.n(0)), 1e-9);

    let tilted = with(&both, &[("stays.ST1.tilt_deg", n(60.0)), ("stays.ST1.heading_deg", n(0.0))]);
    let r = evaluate(&tilted);
    let own: Vec<f64> =
        r.arrays.iter().map(|a| a.unlike_wh_day.clone().unwrap_or_else(|m| panic!("{}", m.0)).0).collect();
    assert!(own[0] > 0.5, "{own:?}");
    near_rel("alike", own[0], own[1], 1e-9);
    let f = found(&r, "unlike-panels-loss");
    assert!(f.len() == 1 && f[0].subject.as_str() == "controllers.C1", "{}", texts(&r));
    near_rel("together", f[0].n(0), own[0] + own[1], 1e-9);
}

/// Means of a stay's own: hot volts go by them as the year does, and the coldest air is no warmer than the mean daily minimum of their
/// coldest month. By hand: in the tropics the grid's extreme lies but a few kelvins under its coldest month, so that with a day's range of
/// 16 K, the most there is, half of it governs. Source: daily range, Erbs, Klein & Beckman 1983, 25.8 Kt - 5.21 within 2 to 16 K.
#[test]
fn own_temperatures_count_in_the_heat_and_in_a_dry_sky() {
    let (lat, lon) = (4.0, -52.5);
    let grid = coachwire::climate::grid::look(lat, lon, None).expect("land");
    let of = |shift_k: f64, sun: f64| {
        let own = grid.mean_c.map(|c| format!("{:.3}", c + shift_k)).join(" ");
        let set = [
            ("stays.ST1.latitude_deg", n(lat)),
            ("stays.ST1.longitude_deg", n(lon)),
            ("stays.ST1.elevation_m", Value::Nothing),
            ("stays.ST1.mean_c", Value::Text(own)),
            ("stays.ST1.sun_kwh_m2_day", Value::Text(vec![sun.to_string(); 12].join(" "))),
            ("job.coldest_c", Value::Nothing),
        ];
        let r = evaluate(&with(&named("bramble"), &set));
        let hot = r.arrays[0].vmp_hot_v.clone().unwrap_or_else(|m| panic!("{}", m.0)).0;
        (r.coldest_c.expect("known").0, hot)
    };
    let coldest = grid.mean_c.iter().copied().fold(f64::MAX, f64::min);
    let gap_k = coldest - grid.extreme_min_c + 3.0;
    // Where the sky is so clear that the range is the most, and where it is so dull that it is the least.
    let ((clear, clear_hot), (dull, dull_hot)) = (of(-4.0, 8.5), of(-4.0, 1.5));
    near_abs("clear", clear, coldest - 4.0 - gap_k.max(8.0), 1e-3);
    near_abs("dull", dull, coldest - 4.0 - gap_k, 1e-3);
    let (_, warm_hot) = of(4.0, 1.5);
    assert!(clear_hot < dull_hot && warm_hot < dull_hot, "hotter air, fewer volts: {clear_hot} {dull_hot} {warm_hot}");
}

#[test]
fn a_charger_that_would_run_needs_a_run() {
    let charger = |kind: &str| {
        format!(r#"(id: "CH1", kind: "{kind}", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2, ac_source: "shore")"#)
    };
    for (kind, field) in [("DC-DC", "drive_h_day"), ("shore", "shore_days_month")] {
        let idle = insert(&sound(), "chargers", &charger(kind));
        let said = found(&evaluate(&idle), "charger-without-run").iter().map(|f| f.text()).collect::<Vec<_>>();
        assert_eq!(said, ["CH1: no run leads from it to the bank; it charges nothing"], "{kind}: it never runs");
        let used = with(&idle, &[(&format!("stays.ST1.{field}"), n(2.0))]);
        let r = evaluate(&used);
        assert!(says(&r, "charger-without-run", "chargers.CH1"), "{kind}\n{}", texts(&r));
        let drawn = insert(
            &used,
            "runs",
            r#"(id: "W9", from: "CH1", to: "BUS", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0)])"#,
        );
        assert!(found(&evaluate(&drawn), "charger-without-run").is_empty(), "{kind}");
    }
}

#[test]
fn loads_that_go_without_are_counted() {
    let heavy = with(&sound(), &[("loads.L1.watts_w", n(900.0)), ("loads.L1.hours_day", n(20.0))]);
    let r = evaluate(&heavy);
    let f = found(&r, "shortfall");
    assert!(f.len() == 1 && f[0].level == Level::Note && f[0].subject.as_str() == "bank", "{}", texts(&r));
    let days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    let sum: f64 = r.year.months.iter().zip(days).map(|(m, d)| m.shortfall_wh_day.clone().expect("a bank").0 * d).sum();
    let load = r.year.load_kwh.clone().expect("loads") * 1000.0;
    assert!((f[0].n(0) - sum).abs() < 1e-6 * sum && sum > 1000.0);
    // The controller's own watts are among what is asked for in the year, not among the loads.
    let unmet = r.year.unmet_pct.clone().expect("a bank");
    assert!((sum / load * 100.0 / unmet - 1.0).abs() < 0.01, "{sum} Wh of {load}, {unmet} %");
    assert!((f[0].n(1) - r.year.shortfall_days.clone().expect("a bank")).abs() < 1e-6);
    assert!(found(&r, "medical-not-served").is_empty(), "nobody's health hangs on it");
    assert!(found(&evaluate(&sound()), "shortfall").is_empty(), "{}", texts(&evaluate(&sound())));
    let medical = with(&heavy, &[("loads.L1.medical", word("yes"))]);
    let r = evaluate(&medical);
    let f = found(&r, "medical-not-served");
    assert!(f.len() == 1 && f[0].level == Level::Caution && f[0].n(0) > 1000.0, "{}", texts(&r));
    let served = evaluate(&with(&sound(), &[("loads.L1.medical", word("yes"))]));
    assert!(found(&served, "medical-not-served").is_empty());
}

#[test]
fn loads_over_the_inverter() {
    let of = |watts: f64, quantity: f64| {
        let edits = [
            ("loads.L1.watts_w", n(watts)),
            ("loads.L1.quantity", n(quantity)),
            ("loads.L1.hours_day", n(0.1)),
            ("loads.L1.supply", word("inverter")),
            ("inverters.INV.efficiency_pct", n(90.0)),
        ];
        evaluate(&with(&sound(), &edits))
    };
    assert!(found(&of(500.0, 2.0), "loads-over-inverter").is_empty(), "1000 W on 1000 W");
    let turns = of(500.0, 3.0);
    let f = found(&turns, "loads-over-inverter");
    assert!(f[0].level == Level::Note && f[0].text().starts_with("loads of 1500 W"), "{}", texts(&turns));
    let never = of(1200.0, 1.0);
    let f = found(&never, "loads-over-inverter");
    assert!(f[0].level == Level::Caution && f[0].text().starts_with("L1 alone takes 1200 W"), "{}", texts(&never));
    assert!(f[0].text().contains("asked for and not served"), "{}", texts(&never));
    // What never runs asks for nothing.
    for edit in [("quantity", n(0.0)), ("hours_day", n(0.0)), ("duty_pct", n(0.0)), ("months", months("none"))] {
        let idle = with(&sound(), &[("loads.L1.watts_w", n(1200.0)), ("loads.L1.supply", word("inverter"))]);
        let idle = evaluate(&with(&idle, &[(&*format!("loads.L1.{}", edit.0), edit.1)]));
        assert!(found(&idle, "loads-over-inverter").is_empty(), "{}: {}", edit.0, texts(&idle));
    }
    // On the bank directly the inverter has no part in it.
    let direct = evaluate(&with(&sound(), &[("loads.L1.watts_w", n(1200.0)), ("loads.L1.hours_day", n(0.1))]));
    assert!(found(&direct, "loads-over-inverter").is_empty());
}

/// Montana's plains in an unheated box, and the same with a heater.
#[test]
fn charge_lost_to_cold_is_counted() {
    let place = [("stays.ST1.latitude_deg", n(47.0)), ("stays.ST1.longitude_deg", n(-100.0))];
    let bare = with(&named("bramble"), &place);
    let r = evaluate(&bare);
    let f = found(&r, "charge-lost-to-cold");
    assert!(f.len() == 1 && f[0].level == Level::Caution && f[0].n(0) > 5000.0, "{}", texts(&r));
    let heated = evaluate(&with(&bare, &[("bank.heater_w", n(60.0))]));
    let f = found(&heated, "charge-lost-to-cold");
    assert!(f.is_empty(), "{}", texts(&heated));
    // Lead takes charge in any cold.
    assert!(found(&evaluate(&named("sorrel")), "charge-lost-to-cold").is_empty());
}

/// A month that is a little above the cut-off on the mean loses nothing in the year, and it is said that real days do.
/// Source: January of two places by its own mean, 2 K above 0 C and 6 K above, and 1 K under.
#[test]
fn a_mean_just_above_the_cut_off() {
    let at = |january_c: f64| {
        let means = format!("{january_c} 9 12 14 17 20 24 24 19 14 9 8");
        evaluate(&with(
            &named("bramble"),
            &[("stays.ST1.mean_c", Value::Text(means)), ("bank.charge_cutoff_c", n(0.0))],
        ))
    };
    let r = at(2.0);
    let f = found(&r, "cold-days-not-in-year");
    assert!(f.len() == 1 && f[0].level == Level::Note && f[0].name(0) == "Jan", "{}", texts(&r));
    assert!((f[0].n(0), f[0].n(1)) == (2.0, 0.0) && f[0].n(2) > 100.0, "{}", f[0].text());
    assert!(found(&r, "charge-lost-to-cold").is_empty());
    assert!(found(&at(6.0), "cold-days-not-in-year").is_empty());
    // An insulated box stands 3 K over the air.
    let boxed = |january_c: f64| {
        let means = format!("{january_c} 9 12 14 17 20 24 24 19 14 9 8");
        let edits = [("stays.ST1.mean_c", Value::Text(means)), ("bank.charge_cutoff_c", n(0.0))];
        let more = [("bank.heated", Value::Word("no")), ("bank.insulated", Value::Word("yes"))];
        evaluate(&with(&with(&named("bramble"), &edits), &more))
    };
    assert!(found(&boxed(-2.9), "charge-lost-to-cold").is_empty(), "{}", texts(&boxed(-2.9)));
    assert!(!found(&boxed(-3.1), "charge-lost-to-cold").is_empty());
    let under = at(-1.0);
    assert!(found(&under, "cold-days-not-in-year").is_empty() && !found(&under, "charge-lost-to-cold").is_empty());
}

/// Beyond the polar circle, with a sun of its own that stays below the horizon in December.
#[test]
fn a_polar_night_is_said_and_harms_nothing() {
    let north = with(
        &sound(),
        &[
            ("stays.ST1.latitude_deg", n(78.0)),
            ("stays.ST1.longitude_deg", n(15.0)),
            ("stays.ST1.sun_kwh_m2_day", Value::Text("0 0.1 1 3 5 5.5 4.5 2.5 1 0.2 0 0".into())),
        ],
    );
    let r = evaluate(&north);
    let f = found(&r, "month-without-sun");
    assert!(f.len() == 1 && f[0].subject.as_str() == "stays.ST1", "{}", texts(&r));
    assert_eq!(f[0].text(), "ST1: no sun in Jan, Nov, Dec; only other charging fills the bank then");
    for (m, figures) in r.year.months.iter().enumerate() {
        let (array, harvest) =
            (figures.array_wh_day.clone().expect("sun").0, figures.harvest_wh_day.clone().expect("sun").0);
        assert!(array.is_finite() && harvest.is_finite() && array >= harvest && harvest >= 0.0, "month {}", m + 1);
        if [0, 10, 11].contains(&m) {
            assert_eq!((array, harvest), (0.0, 0.0));
        }
    }
    assert!(r.year.months[5].harvest_wh_day.clone().expect("sun").0 > 1000.0);
    let mut engine = Engine::default();
    let hours = engine.trace(&north, &Stock::default(), 354, 2).expect("hours");
    assert!(hours.len() == 48 && hours.iter().all(|h| h.array_w == 0.0 && h.posts_v.is_finite()));
    assert!(found(&evaluate(&sound()), "month-without-sun").is_empty());
    // As little as shows as nothing is not none.
    let faint = Value::Text("0 0.006 1 3 5 5.5 4.5 2.5 1 0.2 0.009 0".into());
    let r = evaluate(&with(&north, &[("stays.ST1.sun_kwh_m2_day", faint)]));
    let said = found(&r, "month-without-sun")[0].text();
    assert_eq!(said, "ST1: no sun in Jan, Dec, next to none in Feb, Nov; only other charging fills the bank then");
    let faint = Value::Text("0.1 0.1 1 3 5 5.5 4.5 2.5 1 0.2 0.1 0.007".into());
    let south = [("stays.ST1.latitude_deg", n(60.0)), ("stays.ST1.sun_kwh_m2_day", faint)];
    let said = found(&evaluate(&with(&north, &south)), "month-without-sun")[0].text();
    assert_eq!(said, "ST1: next to no sun in Dec; only other charging fills the bank then");
    // Sun where there can be none gives no light and no fright either.
    let claimed = with(&north, &[("stays.ST1.sun_kwh_m2_day", Value::Text("2 2 2 2 2 2 2 2 2 2 2 2".into()))]);
    assert!(evaluate(&claimed).year.harvest_kwh.clone().is_ok_and(f64::is_finite));
}

/// Refused with the field's own bounds, in the words of the field table.
#[test]
fn an_empty_battery_and_a_place_beyond_the_pole_are_refused() {
    for (field, value, bounds) in [
        ("bank.unit_ah", 0.0, ["1", "5000"]),
        ("stays.ST1.latitude_deg", 95.0, ["-90", "90"]),
        ("stays.ST1.latitude_deg", -90.5, ["-90", "90"]),
        ("stays.ST1.drive_h_day", 25.0, ["0", "24"]),
        ("stays.ST1.shore_days_month", 32.0, ["0", "31"]),
    ] {
        let edit = Edit::Set { at: FieldPath::new(field), to: n(value) };
        let said = sound().with(&Step::one("test", edit)).expect_err(field).to_string();
        assert!(bounds.iter().all(|b| said.contains(b)), "{field} {value}: {said}");
        let text = named("bramble").to_text();
        let name = field.rsplit('.').next().expect("a field");
        let line = text.lines().find(|l| l.trim_start().starts_with(&format!("{name}:")));
        let Some(line) = line else { continue };
        let wrong = text.replace(line, &format!("{name}: {value:?},"));
        let said = Plan::from_text(&wrong).expect_err(field).to_string();
        assert!(said.contains(name) && bounds.iter().all(|b| said.contains(b)), "{field} {value} in a file: {said}");
    }
}

/// A valley that is colder than the climate's grid by its own months makes the coldest colder by as much, and cold volts higher; one that
/// is warmer makes nothing warmer.
/// Source: by hand, the difference of the two coldest months; Voc rises in the cold.
#[test]
fn own_temperatures_count_in_the_cold() {
    let of = |mean_c: Option<f64>| {
        let own = mean_c.map_or(Value::Nothing, |c| Value::Text(vec![c.to_string(); 12].join(" ")));
        let at = [("stays.ST1.latitude_deg", n(48.0)), ("stays.ST1.longitude_deg", n(-100.0))];
        let r = evaluate(&with(
            &with(&named("bramble"), &at),
            &[("stays.ST1.mean_c", own), ("job.coldest_c", Value::Nothing)],
        ));
        (r.coldest_c.expect("known").0, r.arrays[0].voc_cold_v.clone().expect("known").0)
    };
    let grid = coachwire::climate::grid::look(48.0, -100.0, None).expect("land");
    let coldest = grid.mean_c.iter().copied().fold(f64::MAX, f64::min);
    let (by_grid, volts) = of(None);
    let (warm, warm_volts) = of(Some(10.0));
    assert_eq!((warm, warm_volts), (by_grid, volts));
    let (cold, cold_volts) = of(Some(-25.0));
    assert!(coldest > -25.0 && (by_grid - cold - (coldest + 25.0)).abs() < 1e-9, "{by_grid} {cold} {coldest}");
    assert!(cold_volts > volts, "{cold_volts} {volts}");
}
