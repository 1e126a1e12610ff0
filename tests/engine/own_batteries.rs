//! What hangs on a battery that is not the bank: protected by the fuse at it, cut off by what opens its positive, and gone
//! with the plug that brings it.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, with_own_panel};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Known, Plan, Value};

fn run(id: &str, from: &str, to: &str, gauge: &str, fuse: &str) -> String {
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0,
            zone: "cabinet")], protection: [{fuse}])"#
    )
}

fn blade(amps: f64) -> String {
    format!(
        r#"(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: {amps:?}, distance_m: 0.05, volts_dc_v: 32.0,
            interrupt_a: 6000.0)"#
    )
}

/// Brakes on a battery of their own, through a place in between.
fn brakes(kind: &str, amps: f64, beyond: &str) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "BA", kind: "start battery")"#);
    let p = insert(&p, "devices", &format!(r#"(id: "MID", kind: "{kind}")"#));
    let load =
        r#"(id: "L9", name: "breakaway brakes", watts_w: 180.0, quantity: 1.0, hours_day: 0.01, life_safety: "yes")"#;
    let p = insert(&p, "loads", load);
    let p = insert(&p, "runs", &run("W31", "BA", "MID", "10 AWG", &blade(amps)));
    insert(&p, "runs", &run("W32", "MID", "L9", beyond, ""))
}

/// Former NEC 551.10: 30 A at most on 10 AWG, 15 A on 14 AWG. A fuse of 25 A at the battery protects 10 AWG behind a splice.
#[test]
fn a_fuse_at_any_battery_protects_what_is_behind_it() {
    let unfused = |p: &Plan| says(&evaluate(p), "source-end-unfused", "runs.W32");
    assert!(!unfused(&brakes("splice", 25.0, "10 AWG")), "{}", texts(&evaluate(&brakes("splice", 25.0, "10 AWG"))));
    assert!(unfused(&brakes("splice", 25.0, "14 AWG")));
    assert!(unfused(&brakes("splice", 60.0, "10 AWG")));
    let mut bare = brakes("splice", 25.0, "10 AWG");
    bare.runs.iter_mut().find(|r| r.id.as_str() == "W31").expect("drawn").protection.clear();
    assert!(unfused(&bare), "{}", texts(&evaluate(&bare)));
}

/// A switch in the positive takes the supply, not the negative; the lead moved to the battery cures it.
#[test]
fn a_switch_behind_a_battery_of_its_own_opens_the_positive() {
    let p = brakes("switch", 25.0, "10 AWG");
    let r = evaluate(&p);
    assert!(says(&r, "life-safety-behind-switch", "loads.L9"), "{}", texts(&r));
    assert!(!says(&r, "life-safety-negative-switched", "loads.L9"));
    is_curable(&p, "life-safety-behind-switch", "loads.L9");
    assert!(!says(&evaluate(&brakes("splice", 25.0, "10 AWG")), "life-safety-behind-switch", "loads.L9"));
}

/// 49 CFR 393.43(d): brakes hold after breakaway, so their supply cannot come over the plug that parts.
#[test]
fn brakes_fed_over_the_plug_alone_are_a_stop() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(&p, "devices", r#"(id: "TOW", kind: "tow connector")"#);
    let load =
        r#"(id: "L9", name: "breakaway brakes", watts_w: 180.0, quantity: 1.0, hours_day: 0.01, life_safety: "yes")"#;
    let p = insert(&p, "loads", load);
    let p = insert(&p, "runs", &run("W31", "SB", "TOW", "10 AWG", &blade(25.0)));
    let p = insert(&p, "runs", &run("W32", "TOW", "L9", "10 AWG", ""));
    let r = evaluate(&p);
    let f = found(&r, "life-safety-through-plug");
    assert!(f.len() == 1 && f[0].level == Level::Stop && f[0].name(1) == "TOW", "{}", texts(&r));
    assert!(!says(&r, "bank-not-joined", "devices.TOW"), "{}", texts(&r));
    is_curable(&p, "life-safety-through-plug", "loads.L9");
    let alone =
        r#"(id: "L9", name: "breakaway brakes", watts_w: 180.0, quantity: 1.0, hours_day: 0.01, life_safety: "yes")"#;
    // The plan may end at the plug.
    let end = insert(&insert(&sound(), "devices", r#"(id: "TOW", kind: "tow connector")"#), "loads", alone);
    let end = insert(&end, "runs", &run("W32", "TOW", "L9", "10 AWG", ""));
    assert!(says(&evaluate(&end), "life-safety-through-plug", "loads.L9"), "{}", texts(&evaluate(&end)));
    // A battery of its own beside it holds.
    let held = insert(
        &insert(&p, "devices", r#"(id: "BA", kind: "start battery")"#),
        "runs",
        &run("W33", "BA", "L9", "10 AWG", &blade(25.0)),
    );
    assert!(!says(&evaluate(&held), "life-safety-through-plug", "loads.L9"), "{}", texts(&evaluate(&held)));
}

/// Taken off the inverter a life-safety load gets a run of its own: with none it could not be checked.
#[test]
fn no_cure_leaves_life_safety_without_a_run() {
    let load = r#"(id: "L9", name: "gas detector", watts_w: 3.0, quantity: 1.0, hours_day: 24.0, life_safety: "yes", supply: "inverter")"#;
    let p = insert(&sound(), "loads", load);
    let steps = cures(&p, "life-safety-behind-cut-off", "loads.L9");
    assert!(!steps.is_empty(), "{}", texts(&evaluate(&p)));
    for step in steps {
        let with = p.with(&step).expect("applies");
        let r = evaluate(&with);
        let waits = |w: &coachwire::engine::report::NotChecked| w.check == "life-safety-behind-switch";
        assert!(!r.not_checked.iter().any(waits), "{}: {:?}", step.name, r.not_checked);
    }
}

/// NEC 552.10(C)(4): the bond is not smaller than the ungrounded battery lead; where packs have leads of their own that is
/// the one they feed together.
#[test]
fn a_bond_follows_the_lead_that_all_packs_feed() {
    let mut p = sound();
    let count = p.bank.parallel.known().expect("entered").0 as usize;
    let main = p.runs.iter().position(|r| r.from.known().is_some_and(|id| id.as_str() == "BK")).expect("a lead");
    let size = p.runs[main].gauge;
    p = insert(&p, "devices", r#"(id: "BB", kind: "bus")"#);
    p.runs[main].from = Known::Is("BB".parse().expect("id"));
    for k in 1..=count {
        let fuse = r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.1)"#;
        p = insert(&p, "runs", &run(&format!("B{k}"), "BK", "BB", "6 AWG", fuse));
    }
    let bond = p.runs.iter().position(|r| {
        let chassis = |id: &coachwire::plan::Id| {
            p.devices.iter().any(|d| d.id == *id && d.kind.known().is_some_and(|k| k.to_string() == "chassis point"))
        };
        [&r.from, &r.to].into_iter().any(|e| e.known().is_some_and(chassis))
    });
    let bond = p.runs[bond.expect("a bond")].id.to_string();
    let thin = with(&p, &[(&format!("runs.{bond}.gauge"), Value::Gauge("6 AWG".parse().expect("gauge")))]);
    let path = format!("runs.{bond}");
    assert!(says(&evaluate(&thin), "bond-small", &path), "{}", texts(&evaluate(&thin)));
    let size = size.known().expect("entered").to_string();
    let thick = with(&p, &[(&format!("runs.{bond}.gauge"), Value::Gauge(size.parse().expect("gauge")))]);
    assert!(!says(&evaluate(&thick), "bond-small", &path), "{}", texts(&evaluate(&thick)));
}

/// Two equal packs with equal leads carry equal parts (Kirchhoff), of a load behind a converter of 80 % as well.
#[test]
fn equal_leads_carry_equal_parts_of_a_converters_load() {
    let mut p = sound();
    let count = p.bank.parallel.known().expect("entered").0 as usize;
    assert!(count >= 2, "a case that tells");
    let main = p.runs.iter().position(|r| r.from.known().is_some_and(|id| id.as_str() == "BK")).expect("a lead");
    p = insert(&p, "devices", r#"(id: "BB", kind: "bus")"#);
    p = insert(&p, "devices", r#"(id: "CV", kind: "12 V converter", efficiency_pct: 80.0, ratings: (amps_a: 60.0))"#);
    p.runs[main].from = Known::Is("BB".parse().expect("id"));
    for k in 1..=count {
        let fuse = r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.1)"#;
        p = insert(&p, "runs", &run(&format!("B{k}"), "BK", "BB", "2 AWG", fuse));
    }
    p = insert(&p, "loads", r#"(id: "L8", name: "pump", watts_w: 400.0, quantity: 1.0, hours_day: 1.0)"#);
    p = insert(&p, "runs", &run("W41", "BUS", "CV", "6 AWG", ""));
    p = insert(&p, "runs", &run("W42", "CV", "L8", "6 AWG", ""));
    let r = evaluate(&p);
    let of = |id: &str| r.runs.iter().find(|x| x.id.as_str() == id).expect("drawn").design_a.clone().map(|a| a.0);
    let first = of("B1").expect("known");
    for k in 2..=count {
        near("a pack's part", of(&format!("B{k}")), first, 1e-9);
    }
}

/// A start battery over an isolator keeps nothing alive once the engine is off: the isolator is open then, and the switch takes the
/// bank. 49 CFR 393.43(d) and common practice: nothing may switch life safety off.
#[test]
fn an_isolator_keeps_nothing_alive_behind_a_switch() {
    let detector = r#"(id: "L9", name: "gas detector", watts_w: 1.4, hours_day: 24.0, life_safety: "yes")"#;
    let right = with_own_panel(detector);
    let switched = with(&right, &[("runs.W8.from", Value::Id("BUS".parse().expect("id")))]);
    let isolated = |p: &Plan| {
        let p = insert(p, "devices", r#"(id: "SB", kind: "start battery")"#);
        let p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator")"#);
        let p = insert(&p, "runs", &run("X1", "SB", "ISO", "2/0 AWG", &blade(150.0)));
        insert(&p, "runs", &run("X2", "ISO", "BUS", "2/0 AWG", &blade(150.0)))
    };
    for (p, said) in [(&right, false), (&switched, true), (&isolated(&right), false), (&isolated(&switched), true)] {
        let r = evaluate(p);
        assert_eq!(says(&r, "life-safety-behind-switch", "loads.L9"), said, "{}", texts(&r));
    }
}
