//! The coldest air as entered, against what the plan's own stays have; a heater that holds just enough.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::accept::kept;
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Accepted, Plan, Value};

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

/// A warm entry takes two stops away, and is a stop itself, with both numbers; what the year has colder stops all the same.
/// Source: definition: left out, the coldest of the stays counts; NEC 690.7, volts at the lowest expected temperature.
#[test]
fn a_warm_entry_that_hides_a_stop_is_one() {
    let thistle = named("thistle");
    let own = by_stays(&thistle);
    let warm_plan = with(&thistle, &[("job.coldest_c", n(25.0))]);
    let warm = evaluate(&warm_plan);
    let (level, entered, stays) = above(&warm).unwrap_or_else(|| panic!("{}", texts(&warm)));
    assert!(level == Level::Stop && entered == 25.0, "{}", texts(&warm));
    near("by its stays", Ok(stays), own, 1e-9);
    assert!(found(&warm, "cold-voc-over-limit").is_empty());
    // The volts beside it are those that the program finds with nothing entered.
    let open = evaluate(&with(&thistle, &[("job.coldest_c", Value::Nothing)]));
    near("open", Ok(found(&warm, "coldest-above-stays")[0].n(2)), open.arrays[0].voc_cold_v.clone().unwrap().0, 1e-9);
    // Its January lies below freezing on the mean.
    let cold = found(&warm, "lithium-charged-cold");
    assert!(cold.len() == 1 && cold[0].level == Level::Stop, "{}", texts(&warm));
    assert!(!found(&warm, "charge-lost-to-cold").is_empty(), "{}", texts(&warm));
    // One key takes what is entered out: then the volts themselves are the stop.
    let steps = cures(&warm_plan, "coldest-above-stays", "job.coldest_c");
    assert_eq!(steps.len(), 1, "{steps:?}");
    let after = evaluate(&warm_plan.with(&steps[0]).expect("applies"));
    assert!(above(&after).is_none() && says(&after, "cold-voc-over-limit", "arrays.A1"), "{}", texts(&after));
    // A written reason holds until it worsens.
    let f = found(&warm, "coldest-above-stays")[0];
    let accepted = Accepted {
        finding: f.check.id.into(),
        subject: f.subject.to_string(),
        reason: "kept in a heated hall from November".into(),
        numbers: kept(f),
        ..Accepted::default()
    };
    let mut p = warm_plan.clone();
    p.accepted.push(accepted);
    let is_accepted = |p: &Plan| found(&evaluate(p), "coldest-above-stays")[0].accepted.is_some();
    assert!(is_accepted(&p) && !is_accepted(&with(&p, &[("job.coldest_c", n(30.0))])));
    // As cold as the stays, or colder, it is nobody's word.
    for entered in [own, own + 0.4, own - 10.0] {
        assert_eq!(above(&evaluate(&with(&thistle, &[("job.coldest_c", n(entered))]))), None);
    }
}

/// Cold volts by NEC 690.7: Voc x (1 + beta x (T - 25)). Two of 24.9 V at -0.28 %/K stand at 49.8 V x 1.1036 = 54.96 V at -12 C; the finding
/// goes by what the stays' own cold makes of it: over 100 % of a rating a stop, from 95 % a caution, else nothing.
#[test]
fn it_is_as_grave_as_what_it_hides() {
    let own = by_stays(&sound());
    let volts = 49.8 * (1.0 - 0.0028 * (own - 25.0));
    let of = |edits: &[(&str, Value)]| {
        let r = evaluate(&with(&with(&sound(), &[("job.coldest_c", n(25.0))]), edits));
        let others = ["cold-voc-over-limit", "fuse-volts-low"].iter().map(|id| found(&r, id).len()).sum::<usize>();
        assert_eq!(others, 0, "{}", texts(&r));
        above(&r).map(|(level, ..)| level)
    };
    // What it is entered as leaves room: 49.8 V at 25 C are under 95 % of each of them.
    assert!(volts * 0.99 * 0.95 > 49.8, "{volts}");
    let takes = |share: f64| of(&[("controllers.C1.max_pv_v", n(volts * share))]);
    assert_eq!(takes(0.99), Some(Level::Stop));
    assert_eq!(takes(1.02), Some(Level::Caution));
    assert_eq!(takes(1.06), None);
    // The breaker of the home run has its own volts.
    let breaker = |share: f64| of(&[("runs.W1.protection.F1.volts_dc_v", n(volts * share))]);
    assert_eq!(breaker(0.99), Some(Level::Stop));
    assert_eq!(breaker(1.02), None);
}

/// A caution that what is left out makes a stop is brought by the cure, and not made worse beside that; and a rating that is exceeded by
/// less than half a percent reads as exceeded.
#[test]
fn what_a_cure_brings_is_said_once_and_with_enough_digits() {
    let own = by_stays(&sound());
    let volts = |c: f64| 49.8 * (1.0 - 0.0028 * (c - 25.0));
    let of = |entered: f64, takes: f64| {
        with(&sound(), &[("job.coldest_c", n(entered)), ("controllers.C1.max_pv_v", n(takes))])
    };
    let p = of(own + 3.0, volts(own) / 1.002);
    let r = evaluate(&p);
    let (there, text) = (found(&r, "cold-voc-over-limit"), found(&r, "coldest-above-stays")[0].text());
    assert!(there.len() == 1 && there[0].level == Level::Caution, "{}", texts(&r));
    assert!(text.contains("(100.2 %)"), "{text}");
    let steps = cures(&p, "coldest-above-stays", "job.coldest_c");
    let name = &steps.first().expect("offered").name;
    assert!(name.contains("brings: cold-voc-over-limit A1") && !name.contains("makes worse"), "{name}");
}

/// Where no answer changes by it there is nothing to say; what only the stays' cold would charge is a stop.
#[test]
fn what_hangs_on_it_makes_it_grave() {
    let marram = named("marram");
    assert!(marram.job.coldest_c.is_some() && by_stays(&marram) < -16.0);
    assert_eq!(above(&evaluate(&marram)), None);
    // Lithium in the open at a place that is below freezing at night alone, and no month is on the mean.
    let bare = [
        ("stays.ST1.mean_c", Value::Text("6 8 10 12 15 20 22 21 17 12 8 6".into())),
        ("bank.heated", word("no")),
        ("bank.charge_cutoff_c", Value::Nothing),
        ("job.coldest_c", n(5.0)),
    ];
    let p = with(&named("bramble"), &bare);
    let r = evaluate(&p);
    assert_eq!(above(&r).map(|(level, ..)| level), Some(Level::Stop), "{}", texts(&r));
    assert!(found(&r, "coldest-above-stays")[0].text().contains("lithium"), "{}", texts(&r));
    assert!(found(&r, "lithium-charged-cold").is_empty());
    is_curable(&p, "coldest-above-stays", "job.coldest_c");
    // A start battery is held to the same air.
    let kept = with(&p, &[("bank.heated", word("yes"))]);
    assert_eq!(above(&evaluate(&kept)), None);
    let start = insert(&kept, "devices", r#"(id: "SB9", kind: "start battery", chemistry: "LFP")"#);
    let r = evaluate(&start);
    assert!(above(&r).is_some_and(|(level, ..)| level == Level::Stop), "{}", texts(&r));
    assert!(found(&r, "coldest-above-stays")[0].text().contains("SB9"), "{}", texts(&r));
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

/// The coldest place counts whatever months are spent there, or none: that is where the coach is stored. Source: by the climate of the
/// place alone, whose coldest comes in no month that is entered.
#[test]
fn a_place_counts_in_the_cold_whatever_its_months() {
    let north = [("stays.ST1.latitude_deg", n(64.8)), ("stays.ST1.longitude_deg", n(-147.7))];
    let mut plan = named("bramble");
    plan.job.coldest_c = None;
    let mild = by_stays(&plan);
    let there = with(&plan, &north);
    let cold = by_stays(&there);
    assert!(cold < mild - 10.0, "{cold} and {mild}");
    let volts = |p: &Plan| super::evaluate(p).arrays[0].voc_cold_v.clone().expect("known").0;
    for months in ["Jun-Aug", "none"] {
        let lived = with(&there, &[("stays.ST1.months", Value::Text(months.into()))]);
        assert_eq!((by_stays(&lived), volts(&lived)), (cold, volts(&there)), "{months}");
    }
    // Stored in the north, lived in at a milder place all year.
    let mut stored = plan.clone();
    let mut north = there.stays[0].clone();
    north.id = "ST2".parse().expect("id");
    north.months = "none".parse().expect("none");
    stored.stays.push(north);
    assert_eq!((by_stays(&stored), volts(&stored)), (cold, volts(&there)));
    assert!(volts(&stored) > volts(&plan));
    // What the hot volts are taken at is lived in.
    let hot = |p: &Plan| super::evaluate(p).arrays[0].vmp_hot_v.clone().expect("known").0;
    assert_eq!(hot(&stored), hot(&plan));
}
