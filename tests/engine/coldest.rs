//! The coldest air as entered, against what the plan's own stays have; a heater that holds just enough.

use super::mistakes::{with, word};
use super::{evaluate, found, near, texts};
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn named(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("a sample").text).unwrap_or_else(|e| panic!("{e}"))
}

/// What the program takes where nothing is entered.
fn by_stays(p: &Plan) -> f64 {
    evaluate(&with(p, &[("job.coldest_c", Value::Nothing)])).coldest_c.expect("by its stays").0
}

fn above(r: &Report) -> Option<(Level, f64, f64)> {
    let f = found(r, "coldest-above-stays");
    assert!(f.len() <= 1);
    f.first().map(|f| (f.level, f.n(0), f.n(1)))
}

/// A warm entry takes two stops away, and is said with both numbers; what the year has colder stops all the same.
/// Source: definition: left out, the coldest of the stays counts.
#[test]
fn a_warm_entry_is_said() {
    let thistle = named("thistle");
    let own = by_stays(&thistle);
    let warm = evaluate(&with(&thistle, &[("job.coldest_c", n(25.0))]));
    let (level, entered, stays) = above(&warm).unwrap_or_else(|| panic!("{}", texts(&warm)));
    assert!(level == Level::Caution && entered == 25.0, "{}", texts(&warm));
    near("by its stays", Ok(stays), own, 1e-9);
    assert!(found(&warm, "cold-voc-over-limit").is_empty());
    // The volts beside it are those that the program finds with nothing entered.
    let open = evaluate(&with(&thistle, &[("job.coldest_c", Value::Nothing)]));
    near("open", Ok(found(&warm, "coldest-above-stays")[0].n(2)), open.arrays[0].voc_cold_v.clone().unwrap().0, 1e-9);
    // Its January lies below freezing on the mean.
    let cold = found(&warm, "lithium-charged-cold");
    assert!(cold.len() == 1 && cold[0].level == Level::Stop, "{}", texts(&warm));
    assert!(!found(&warm, "charge-lost-to-cold").is_empty(), "{}", texts(&warm));
    // As cold as the stays, or colder, it is nobody's word.
    for entered in [own, own + 0.4, own - 10.0] {
        assert_eq!(above(&evaluate(&with(&thistle, &[("job.coldest_c", n(entered))]))), None);
    }
}

/// Where nothing changes by it, a note; with what only the stays' cold would charge, a caution.
#[test]
fn what_hangs_on_it_makes_it_a_caution() {
    let marram = named("marram");
    let note = evaluate(&marram);
    assert_eq!(above(&note).map(|(level, ..)| level), Some(Level::Note), "{}", texts(&note));
    // Lithium in the open at a place that is below freezing at night alone, and no month is on the mean.
    let bare = [
        ("stays.ST1.mean_c", Value::Text("6 8 10 12 15 20 22 21 17 12 8 6".into())),
        ("bank.heated", word("no")),
        ("bank.charge_cutoff_c", Value::Nothing),
        ("job.coldest_c", n(5.0)),
    ];
    let r = evaluate(&with(&named("bramble"), &bare));
    assert_eq!(above(&r).map(|(level, ..)| level), Some(Level::Caution), "{}", texts(&r));
    assert!(found(&r, "coldest-above-stays")[0].text().contains("lithium"), "{}", texts(&r));
    assert!(found(&r, "lithium-charged-cold").is_empty());
}

/// Whatever is entered, charge that the year keeps out of a bank without cut-off and heater is a stop.
#[test]
fn what_the_year_keeps_out_is_a_stop() {
    let mut seen = 0;
    for name in ["bramble", "larkspur", "marram", "thistle"] {
        for latitude in [25.0, 36.0, 40.0, 44.0, 47.0, 64.0] {
            let p = named(name);
            let bare = [
                ("job.coldest_c", n(25.0)),
                ("bank.heated", word("no")),
                ("bank.charge_cutoff_c", Value::Nothing),
                ("bank.heater_w", Value::Nothing),
            ];
            let mut p = with(&p, &bare);
            for stay in p.stays.clone() {
                let (north, east) =
                    (format!("stays.{}.latitude_deg", stay.id), format!("stays.{}.longitude_deg", stay.id));
                p = with(&p, &[(&north, n(latitude)), (&east, n(-100.0))]);
            }
            let r = evaluate(&p);
            if let Some(f) = found(&r, "charge-lost-to-cold").first() {
                seen += 1;
                assert!(!found(&r, "lithium-charged-cold").is_empty(), "{name} {latitude}: {}", f.text());
            }
        }
    }
    assert!(seen > 8, "{seen}");
}

/// An unknown coldest is no reason to keep back what the year has.
#[test]
fn an_unknown_coldest_hides_no_month() {
    let p = with(&named("thistle"), &[("job.coldest_c", Value::Unknown)]);
    let r = evaluate(&p);
    let f = found(&r, "lithium-charged-cold");
    assert!(f.len() == 1 && f[0].text().contains("on the mean of"), "{}", texts(&r));
    let steps = Engine::default().explain(&p, &r, f[0]);
    assert!(steps.iter().any(|s| s.contains("the year has it as cold as")), "{steps:?}");
}

/// A bank at -0.15 C on the mean and a heater of 1 W: it holds that 0.26 K higher, just over the cut-off, so that the year lets all
/// charge in; with a cut-off of its own nothing else would say how little that is.
/// Source: by hand, four cubes of 1.28 kWh lose 3 W/m2K x 6 x 0.234^2 m2 = 0.986 W/K each, 3.94 W/K; 1 / 3.94 = 0.254 K. On a day
/// 4 K colder it would stand at -3.9 C. From -0.15 C to the 5 C of its thermostat it takes 5.15 x 3.94 = 20.3 W; from
/// -4.15 C to the cut-off 16.4 W.
#[test]
fn a_heater_that_holds_just_enough_is_said() {
    let of = |watts: f64| {
        let edits = [
            ("stays.ST1.mean_c", Value::Text("-0.15 9 12 14 17 20 24 24 19 14 9 8".into())),
            ("bank.charge_cutoff_c", n(0.0)),
            ("bank.parallel", n(4.0)),
            ("bank.unit_ah", n(100.0)),
            ("bank.unit_v", n(12.8)),
            ("bank.heated", word("no")),
            ("bank.insulated", word("no")),
            ("bank.heater_w", n(watts)),
        ];
        let p = with(&named("bramble"), &edits);
        evaluate(&p)
    };
    for (watts, held) in [(1.0, -0.15 + 0.254), (5.0, -0.15 + 1.269), (15.0, -0.15 + 3.806)] {
        let r = of(watts);
        let f = found(&r, "cold-days-not-in-year");
        assert!(f.len() == 1 && f[0].name(0) == "Jan", "{watts}: {}", texts(&r));
        near("held", Ok(f[0].n(0)), held, 0.02);
        assert!(f[0].text().contains(&format!("heater of {watts:.0} W")), "{}", f[0].text());
        assert!(found(&r, "charge-lost-to-cold").is_empty(), "the year has no such days");
    }
    for watts in [20.0, 80.0] {
        assert!(found(&of(watts), "cold-days-not-in-year").is_empty(), "{watts}: {}", texts(&of(watts)));
    }
    // Too weak by a tenth of a kelvin it keeps all out.
    let none = found(&of(0.5), "charge-lost-to-cold").len();
    assert_eq!(none, 1, "0.5 W hold it at -0.02 C");
}
