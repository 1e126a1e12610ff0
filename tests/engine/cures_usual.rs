//! Cures that set what is known or usual, and those that mend two things at once; each beside a right twin.

use super::cures::{cures, is_curable, offer_all};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Leg, Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn raised(check: &str) -> Plan {
    super::explained_raised::raised().into_iter().find(|(id, _)| *id == check).expect("raised").1
}

fn names(p: &Plan, check: &str, subject: &str) -> Vec<String> {
    cures(p, check, subject).into_iter().map(|s| s.name).collect()
}

/// 114 W is 7.6 h behind universal time: a clock of +7 h has the wrong sign, one of +1 h is another place's.
#[test]
fn a_clock_far_from_its_longitude_is_set_right() {
    let of = |h: f64| with(&sound(), &[("stays.ST1.clock_h", n(h))]);
    is_curable(&of(7.0), "clock-off-longitude", "stays.ST1");
    let said = names(&of(7.0), "clock-off-longitude", "stays.ST1");
    assert_eq!(said, ["ST1 clock: -7.0 h, the other sign", "ST1 clock of its longitude: -8 h"]);
    assert_eq!(names(&of(1.0), "clock-off-longitude", "stays.ST1").len(), 1);
    assert!(found(&evaluate(&of(-7.0)), "clock-off-longitude").is_empty());
}

#[test]
fn an_inverters_thresholds_are_set_as_they_usually_are() {
    let p = raised("inverter-restart-volts");
    is_curable(&p, "inverter-restart-volts", "inverters.INV");
    let said = names(&p, "inverter-restart-volts", "inverters.INV");
    // It then waits longer after it went off, which the year finds.
    assert_eq!(said[0], "INV: starts again at 12.6 V, as is usual; brings: inverter-cuts-off INV");
    // One that goes off while its bank could serve it: lower volts, where those serve.
    let p = raised("inverter-cuts-off");
    is_curable(&p, "inverter-cuts-off", "inverters.INV");
    let said = names(&p, "inverter-cuts-off", "inverters.INV");
    assert!(said[0].starts_with("INV: off at "), "{said:?}");
}

#[test]
fn shore_days_that_nothing_takes_and_strings_that_are_not_there_are_taken_back() {
    let p = with(&sound(), &[("stays.ST1.shore_days_month", n(5.0))]);
    is_curable(&p, "shore-without-charger", "stays.ST1");
    let p = with(&sound(), &[("arrays.A1.places.PP2.string", n(33.0))]);
    is_curable(&p, "place-string-not-there", "arrays.A1.places.PP2");
    for check in ["shore-without-charger", "place-string-not-there"] {
        assert!(found(&evaluate(&sound()), check).is_empty(), "{check}");
    }
}

/// What names the one of two that was meant, the first, goes along with its new name: nothing else changes.
#[test]
fn one_of_two_of_a_name_gets_another() {
    let mut p = sound();
    let again: Leg = p.runs[5].legs[0].clone();
    p.runs[5].legs.push(again);
    let r = evaluate(&p);
    assert!(says(&r, "duplicate-name", "runs.W6.legs.L1"), "{}", texts(&r));
    is_curable(&p, "duplicate-name", "runs.W6.legs.L1");
    assert_eq!(names(&p, "duplicate-name", "runs.W6.legs.L1"), ["the first L1 of runs.W6.legs named L2"]);
    // A load of the controller's name, which comes after it: the runs go on ending on the controller.
    let mut p = sound();
    p.loads[0].id = "C1".parse().expect("id");
    is_curable(&p, "duplicate-name", "loads.C1");
    let after = p.with(&cures(&p, "duplicate-name", "loads.C1")[0]).expect("applies");
    assert_eq!(after.runs, p.runs);
    assert_eq!(after.loads[0].id.as_str(), "L1");
}

/// Source: NEC 690.9(A): three strings of unknown label; with two, the others push no more into one than its own current.
#[test]
fn strings_of_unknown_label_are_fewer() {
    let p = raised("series-fuse-unknown");
    is_curable(&p, "series-fuse-unknown", "controllers.C1");
    assert_eq!(names(&p, "series-fuse-unknown", "controllers.C1")[0], "A1: 3S1P P1");
}

/// Two unlike strings on one run: 1.25 x 10.7 A into panels that stand 10 A (NEC 690.9(A)). No fuse suits both; all of one
/// kind do without.
#[test]
fn unlike_strings_become_alike_where_no_fuse_suits_them() {
    let small = r#"(id: "P2", pmax_w: 105.0, vmp_v: 20.8, imp_a: 5.05, voc_v: 24.9, isc_a: 5.4, cells: 36.0,
        alpha_pct_k: 0.05, beta_pct_k: -0.28, series_fuse_a: 10.0, weight_kg: 8.0)"#;
    let p = insert(&sound(), "panels", small);
    let p = with(&p, &[("arrays.A1.strings", Value::Text("P1+P1 | P2+P2".into()))]);
    let r = evaluate(&p);
    assert!(says(&r, "string-fuse-missing", "controllers.C1"), "{}", texts(&r));
    is_curable(&p, "string-fuse-missing", "controllers.C1");
    let said = names(&p, "string-fuse-missing", "controllers.C1");
    assert!(said.iter().any(|s| s.starts_with("A1 of P1 alone: ")), "{said:?}");
}

/// A fuse in an array's way that no rule asks for and that is too small goes.
#[test]
fn a_small_fuse_in_an_arrays_way_is_taken_out() {
    let fuse = r#"(id: "F2", at: "to", family: "IEC 60269-6 gPV", amps_a: 20.0, volts_dc_v: 1000.0, distance_m: 0.1)"#;
    let p = insert(&sound(), "runs.W1.protection", fuse);
    let r = evaluate(&p);
    assert!(says(&r, "fuse-below-design", "runs.W1"), "{}", texts(&r));
    is_curable(&p, "fuse-below-design", "runs.W1");
    let said = names(&p, "fuse-below-design", "runs.W1");
    assert!(said.iter().any(|s| s == "W1 without F2: panels limit what they give"), "{said:?}");
}

/// 60 W / 12 V are 5 A, times 1.25 is 6.25 A. A blade opens 1 kA; the bolt-down family that opens more begins at 30 A
/// (ISO 8820-6), class T has ratings near what flows.
#[test]
fn a_branch_fuse_against_a_fault_is_rated_near_what_flows() {
    let branch = r#"(id: "W8", from: "FP", to: "L1", gauge: "8 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.1)])"#;
    let p = insert(&sound(), "runs", branch);
    let r = evaluate(&p);
    assert!(says(&r, "interrupt-below-fault", "runs.W8"), "{}", texts(&r));
    is_curable(&p, "interrupt-below-fault", "runs.W8");
    let after = p.with(&cures(&p, "interrupt-below-fault", "runs.W8")[0]).expect("applies");
    let amps = after.runs.last().expect("W8").protection[0].amps_a.known().expect("rated").0;
    assert!((6.25..=15.0).contains(&amps), "{amps} A");
}

/// Air that leaves the wire nothing: what cures that cures the fuse above it as well.
#[test]
fn insulation_that_stands_the_air_cures_the_fuse_too() {
    let p = with(&sound(), &[("runs.W6.legs.L1.ambient_c", n(95.0))]);
    let r = evaluate(&p);
    for check in ["ambient-over-insulation", "fuse-above-conductor"] {
        assert!(says(&r, check, "runs.W6"), "{check}: {}", texts(&r));
        is_curable(&p, check, "runs.W6");
    }
}

/// No place is cool enough for 35 C in a coach of 40 C cabinets: another that stands more, bought new.
#[test]
fn gear_that_no_place_is_cool_enough_for_is_another() {
    let hot = [
        ("inverters.INV.zone", word("cabinet")),
        ("inverters.INV.ratings.max_ambient_c", n(35.0)),
        ("inverters.INV.state", word("existing")),
    ];
    let p = with(&sound(), &hot);
    is_curable(&p, "device-too-hot", "inverters.INV");
    let step =
        cures(&p, "device-too-hot", "inverters.INV").into_iter().find(|s| s.name.contains("another")).expect("one");
    let after = p.with(&step).expect("applies");
    assert_eq!(after.inverters[0].state, coachwire::plan::State::New, "{}", step.name);
}

/// 25 A asked of a line too long for it: thicker wire, or a charger that asks for less.
#[test]
fn a_charger_that_drops_out_may_be_a_smaller_one() {
    let p = raised("dc-dc-drops-out");
    let r = evaluate(&p);
    let subject = found(&r, "dc-dc-drops-out")[0].subject.as_str().to_string();
    is_curable(&p, "dc-dc-drops-out", &subject);
    let said = names(&p, "dc-dc-drops-out", &subject);
    assert!(said.iter().any(|s| s.contains("another or set lower")), "{said:?}");
}

/// 1000 W / (11 V x 0.88) and 60 W / 11 V are 108.8 A, times 1.25 is 136 A: a breaker of 150 A in place of 90 A. The 4 AWG on
/// both its sides stands 125 A at most (NEC Table 310.17, 75 C). Neither alone mends it.
#[test]
fn a_breaker_goes_with_the_wire_on_both_its_sides() {
    let breaker = r#"(id: "MB", kind: "resetting breaker", ratings: (amps_a: 90.0, interrupt_a: 20000.0))"#;
    // On lithium a breaker that closes by itself goes altogether.
    let lead = [("bank.chemistry", word("AGM")), ("bank.unit_v", n(12.0)), ("controllers.C1.absorb_v", n(14.4))];
    let mut p = insert(&with(&sound(), &lead), "devices", breaker);
    p.runs[2].protection.clear();
    let run =
        r#"(id: "W0", from: "BK", to: "MB", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.1, insulation_c: 105.0)])"#;
    p = insert(&p, "runs", run);
    let thin = Value::Gauge("4 AWG".parse().expect("gauge"));
    let p = with(&p, &[("runs.W3.from", Value::Id("MB".parse().expect("id"))), ("runs.W3.gauge", thin)]);
    let r = evaluate(&p);
    assert!(says(&r, "device-below-current", "devices.MB"), "{}", texts(&r));
    is_curable(&p, "device-below-current", "devices.MB");
    let said = names(&p, "device-below-current", "devices.MB");
    assert!(said.iter().any(|s| s.starts_with("MB: another, of 150 A, ") && s.contains("AWG")), "{said:?}");
    offer_all(&p);
}

/// The negative of life safety taken round a switch that lies on the bank's side of the shunt passes that as well: said where it is more
/// than a note, as 60 W all day are; the 33.6 Wh of a detector are a note.
#[test]
fn a_cure_that_passes_the_shunt_says_so() {
    passes_the_shunt(60.0, Level::Caution);
    passes_the_shunt(1.4, Level::Note);
}

fn passes_the_shunt(watts: f64, level: Level) {
    let detector =
        &format!(r#"(id: "L9", name: "gas detector", watts_w: {watts:?}, hours_day: 24.0, life_safety: "yes")"#);
    let run = r#"(id: "W9", from: "BK", to: "L9", gauge: "14 AWG", negative_from: "SHN",
        legs: [(id: "L1", length_m: 1.5, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 10.0, distance_m: 0.05)])"#;
    let p = insert(&insert(&super::two_ways::switched_negative(), "loads", detector), "runs", run);
    let r = evaluate(&p);
    assert!(
        says(&r, "life-safety-negative-switched", "loads.L9") && found(&r, "shunt-bypass").is_empty(),
        "{}",
        texts(&r)
    );
    is_curable(&p, "life-safety-negative-switched", "loads.L9");
    let step = cures(&p, "life-safety-negative-switched", "loads.L9").remove(0);
    let after = evaluate(&p.with(&step).expect("applies"));
    assert_eq!(found(&after, "shunt-bypass").iter().map(|f| f.level).collect::<Vec<_>>(), [level], "{}", texts(&after));
    assert_eq!(step.name.contains("; brings: shunt-bypass "), level == Level::Caution, "{}", step.name);
}

/// Two unlike strings that come down on a lead each: which is on which nothing says, until each is an array of its own.
#[test]
fn strings_with_a_lead_each_are_drawn_apart() {
    let mut p = super::string_leads::one(2, "10 AWG", "");
    p.arrays[0].strings = "P1+P1 | P1".parse().expect("strings");
    let r = evaluate(&p);
    let f = found(&r, "string-leads-unshared");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    let tried = coachwire::engine::Engine::default().cures_tried(&p, &coachwire::stock::Stock::default(), f[0]);
    let names: Vec<&str> = tried.steps.iter().map(|step| step.name.as_str()).collect();
    super::cures::is_curable(&p, "string-leads-unshared", "arrays.A1");
    let deeds: Vec<&str> = names.iter().filter_map(|name| name.split("; brings: ").next()).collect();
    assert_eq!(deeds, ["A1 drawn apart: A1, A2, a string each"], "in vain: {:?}, {}", tried.in_vain(), texts(&r));
    let after = evaluate(&p.with(&tried.steps[0]).expect("applies"));
    assert!(found(&after, "string-leads-unshared").is_empty(), "{}", texts(&after));
    for (run, string_a) in [("S1", 1.25), ("S2", 1.25)] {
        let own = after.runs.iter().find(|x| x.id.as_str() == run).expect("run");
        let isc_a = p.panels[0].isc_a.known().expect("label").0;
        super::near(run, own.design_a.clone().map(|a| a.0), string_a * isc_a, 1e-9);
    }
}

/// Two 24 V batteries that no maker allows in series: the same volts of others from the shelf.
#[test]
fn batteries_that_may_not_stand_in_series_are_others() {
    let shelf = coachwire::stock::Shelf::typical();
    let stock = coachwire::stock::Stock { shelf, ..coachwire::stock::Stock::default() };
    let p = with(&sound(), &[("bank.unit_v", n(25.6)), ("bank.series", n(2.0)), ("bank.max_series", n(1.0))]);
    let r = evaluate(&p);
    let f = found(&r, "series-over-limit");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    let steps = coachwire::engine::Engine::default().cures(&p, &stock, f[0]);
    assert!(!steps.is_empty());
    for step in steps {
        let after = evaluate(&p.with(&step).expect("applies"));
        assert!(found(&after, "series-over-limit").is_empty(), "{}", step.name);
    }
}
