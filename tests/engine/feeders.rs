//! A feeder's fuse and those behind it.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The sound plan with a light of 60 W on a branch of its own behind the panel, its fuse of 15 A, and a pump of 60 W in other
/// months than the light.
fn branched(feeder_a: f64) -> Plan {
    let p = with(
        &sound(),
        &[("runs.W6.protection.F1.amps_a", n(feeder_a)), ("loads.L1.months", Value::Text("1-6".into()))],
    );
    let p = insert(&p, "loads", r#"(id: "L2", watts_w: 60.0, hours_day: 2.0, months: "7-12")"#);
    let branch = |p: &Plan, id: &str, load: &str, amps: f64| {
        let run = format!(
            r#"(id: "{id}", from: "FP", to: "{load}", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: {amps:?}, distance_m: 0.05)])"#
        );
        insert(p, "runs", &run)
    };
    branch(&branch(&p, "W8", "L1", 15.0), "W9", "L2", 6.25)
}

/// 60 W / 12 V of light or of pump: 10 A on the feeder are 1.25 times what runs together, and still less than the 15 A of one
/// branch: a fault there may open the feeder first. With as much as that, or more, nothing is said.
#[test]
fn a_feeder_smaller_than_a_fuse_behind_it_is_said() {
    let r = evaluate(&branched(10.0));
    let f = found(&r, "feeder-fuse-below-branches");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert_eq!((f[0].level, f[0].subject.as_str(), f[0].n(0), f[0].n(1)), (Level::Note, "runs.W6", 10.0, 15.0));
    assert!(f[0].text().starts_with("W6: fuse F1 of 10 A is smaller than the 15 A of W8 behind it"), "{}", f[0].text());
    super::explained::all_worked(&branched(10.0));
    for amps in [15.0, 40.0] {
        assert!(found(&evaluate(&branched(amps)), "feeder-fuse-below-branches").is_empty());
    }
}

/// Branches of small fuses that draw in other months: 5.5 A each at the bank's low volts (60 W / 11 V, or 12 V on lithium), 10 A
/// together, more than a feeder of 8 A, though never at once.
#[test]
fn branches_that_together_ask_for_more_are_said() {
    let p = with(&branched(8.0), &[("runs.W8.protection.F1.amps_a", n(6.25))]);
    let r = evaluate(&p);
    let f = found(&r, "feeder-fuse-below-branches");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert!((f[0].n(1) - 2.0 * 60.0 / 12.0).abs() < 0.01, "{}", f[0].n(1));
    assert!(f[0].text().contains("W8, W9 behind it ask for 10"), "{}", f[0].text());
}

/// What the program would fit on a feeder is no smaller than what is behind it, as far as its wire has room: 6.25 A are 1.25 x
/// 60 W / 12 V, 15 A the largest branch.
#[test]
fn a_proposed_feeder_is_no_smaller_than_what_is_behind_it() {
    let proposed = |p: &Plan| {
        let r = evaluate(p);
        let figures = r.runs.iter().find(|f| f.id.as_str() == "W6").expect("run");
        (figures.proposed.clone().expect("one").amps.0, figures.fuse_min_a.clone().expect("known").0)
    };
    let (amps, least) = proposed(&branched(40.0));
    assert!(amps >= 15.0 && least < 7.0, "{amps} {least}");
    let thin = with(&branched(40.0), &[("runs.W6.gauge", Value::Gauge("18 AWG".parse().expect("gauge")))]);
    let small = evaluate(&thin).runs.iter().find(|f| f.id.as_str() == "W6").and_then(|f| f.proposed.clone());
    assert!(small.is_none_or(|p| p.amps.0 <= 6.0), "no more than 18 AWG takes");
}

/// One branch alone asks, and several ask; of one nothing is said of at once.
#[test]
fn one_branch_asks_for_itself() {
    let mut p =
        with(&branched(4.0), &[("runs.W8.protection.F1.amps_a", n(3.0)), ("runs.W9.protection.F1.amps_a", n(3.0))]);
    p.runs.retain(|r| r.id.as_str() != "W9");
    let r = evaluate(&p);
    let f = found(&r, "feeder-fuse-below-branches");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert!(f[0].text().ends_with("W8 behind it asks for 5.0 A"), "{}", f[0].text());
}

/// Over a converter amps are not those of its other side: 6 A of 24 V feed 12 A of 12 V, and a fuse of 15 A behind it is no larger
/// than the feeder's; what the converter gives is limited by itself. Behind a wire of the same volts the same fuse is said.
#[test]
fn a_feeder_ends_at_a_converter() {
    let volts = [("bank.unit_v", n(25.6)), ("controllers.C1.absorb_v", n(28.4))];
    let (ahead, bus) = ("W6", Value::Id("CV".parse().expect("id")));
    let device = r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 20.0))"#;
    let p = with(&insert(&with(&branched(6.0), &volts), "devices", device), &[("runs.W6.to", bus)]);
    let behind = r#"(id: "W10", from: "CV", to: "FP", gauge: "10 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.05)])"#;
    let small = insert(&p, "runs", behind);
    let converter = small.devices.iter().position(|d| d.id.as_str() == "CV").expect("a converter");
    let said = |p: &Plan| {
        let r = evaluate(p);
        found(&r, "feeder-fuse-below-branches").iter().any(|f| f.subject.as_str() == format!("runs.{ahead}"))
    };
    assert!(!said(&small), "{}", texts(&evaluate(&small)));
    // The same drawing with a bar in the converter's place.
    let mut bar = small.clone();
    bar.devices[converter].kind = coachwire::plan::Known::Is(coachwire::plan::DeviceKind::Bus);
    assert!(said(&bar), "{}", texts(&evaluate(&bar)));
}
