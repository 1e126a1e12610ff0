//! A breaker that stands between runs as a device of its own protects as one on a run does, and is held to the same:
//! it must open the fault at its place, and carry what flows with a margin.

use super::cures::is_curable;
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

/// The sound plan with its main fuse replaced by breaker MB, 0.1 m from the bank.
fn behind(ratings: &str, fuse: &str) -> Plan {
    let breaker = format!(r#"(id: "MB", kind: "resetting breaker", ratings: ({ratings}))"#);
    let mut p = insert(&sound(), "devices", &breaker);
    p.runs[2].protection.clear();
    let run = format!(
        r#"(id: "W0", from: "BK", to: "MB", gauge: "4/0 AWG", legs: [(id: "L1", length_m: 0.1, insulation_c: 105.0)],
            protection: [{fuse}])"#
    );
    p = insert(&p, "runs", &run);
    with(&p, &[("runs.W3.from", Value::Id("MB".parse().expect("id")))])
}

fn level(r: &Report, check: &str) -> Option<Level> {
    found(r, check).into_iter().find(|f| f.subject.as_str() == "devices.MB").map(|f| f.level)
}

/// 3 mohm each, three in parallel: 13.3 V / 1 mohm = 13.3 kA, times 1.1 is 14.6 kA (NEC 110.9; the margin by common
/// practice). 1000 W / (12 V x 0.88) and 60 W / 12 V are 99.7 A, times 1.25 is 124.6 A (fuses loaded to 80 %).
#[test]
fn a_breaker_drawn_as_a_device_is_held_to_what_one_on_a_run_is() {
    let weak = behind("amps_a: 150.0, interrupt_a: 1000.0", "");
    let r = evaluate(&weak);
    let f = found(&r, "interrupt-below-fault");
    assert_eq!((f.len(), f[0].level), (1, Level::Stop), "{}", texts(&r));
    assert!((12_000.0..13_300.0).contains(&f[0].n(0)), "{}", f[0].text());
    is_curable(&weak, "interrupt-below-fault", "devices.MB");

    let right = evaluate(&behind("amps_a: 150.0, interrupt_a: 20000.0", ""));
    assert!(!right.findings.iter().any(|f| f.subject.as_str() == "devices.MB" && f.level == Level::Stop));
    assert_eq!(level(&right, "device-below-current"), None, "{}", texts(&right));

    for (amps, want) in [(90.0, Level::Stop), (110.0, Level::Caution)] {
        let small = behind(&format!("amps_a: {amps:?}, interrupt_a: 20000.0"), "");
        assert_eq!(level(&evaluate(&small), "device-below-current"), Some(want), "{amps}");
        is_curable(&small, "device-below-current", "devices.MB");
    }
}

/// What nobody has entered is not checked, unless a fuse that opens the fault stands ahead of it.
#[test]
fn a_breaker_of_unknown_interrupt_rating_is_not_checked() {
    let waits = |r: &Report| r.not_checked.iter().any(|w| w.waits_for.as_str() == "devices.MB.ratings.interrupt_a");
    assert!(waits(&evaluate(&behind("amps_a: 150.0", ""))));
    let fuse = r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.05)"#;
    assert!(!waits(&evaluate(&behind("amps_a: 150.0", fuse))));
    // One that is known to be too weak is said behind a fuse too, as one on a run is.
    assert!(says(
        &evaluate(&behind("amps_a: 150.0, interrupt_a: 1000.0", fuse)),
        "interrupt-below-fault",
        "devices.MB"
    ));
}

/// A DC-DC charger limits what it draws: a breaker on its input that carries that by 1.25 times does not cycle.
#[test]
fn a_resetting_breaker_on_a_dc_dc_input_cycles_only_where_it_is_too_small() {
    let line = |amps: f64| {
        let mut p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
        p = insert(&p, "devices", &format!(r#"(id: "RB", kind: "resetting breaker", ratings: (amps_a: {amps:?}))"#));
        p = insert(&p, "chargers", r#"(id: "DC", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2)"#);
        for (id, from, to, metres, fuse) in [
            ("W21", "SB", "RB", 0.3, r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)"#),
            ("W22", "RB", "DC", 3.0, ""),
            ("W23", "DC", "BUS", 1.0, r#"(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)"#),
        ] {
            let run = format!(
                r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "4 AWG",
                    legs: [(id: "L1", length_m: {metres:?}, insulation_c: 105.0)], protection: [{fuse}])"#
            );
            p = insert(&p, "runs", &run);
        }
        evaluate(&p)
    };
    // 20 A at 14.2 V and 90 % from 13.2 V at idle: about 24.5 A, times 1.25 about 31 A.
    let right = line(40.0);
    assert!(!says(&right, "auto-reset-breaker", "devices.RB"), "{}", texts(&right));
    assert!(says(&line(25.0), "auto-reset-breaker", "devices.RB"));
}

/// The same breaker entered on the line itself, at the same place: 31 A are wanted of it.
#[test]
fn a_resetting_breaker_on_the_line_itself_is_held_to_the_same() {
    let line = |amps: f64, resets: &str| {
        let mut p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
        p = insert(&p, "chargers", r#"(id: "DC", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2)"#);
        let own = format!(
            r#"(id: "F1", at: "from", family: "DC breaker", amps_a: {amps:?}, volts_dc_v: 32.0, interrupt_a: 20000.0,
                distance_m: 0.1, resets: "{resets}")"#
        );
        for (id, from, to, fuse) in [
            ("W22", "SB", "DC", own.as_str()),
            ("W23", "DC", "BUS", r#"(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)"#),
        ] {
            let run = format!(
                r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "4 AWG",
                    legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)], protection: [{fuse}])"#
            );
            p = insert(&p, "runs", &run);
        }
        p
    };
    let said = |p: &Plan| says(&evaluate(p), "auto-reset-breaker", "runs.W22");
    assert!(!said(&line(40.0, "automatic")), "{}", texts(&evaluate(&line(40.0, "automatic"))));
    assert!(said(&line(25.0, "automatic")) && !said(&line(25.0, "manual")));
    is_curable(&line(25.0, "automatic"), "auto-reset-breaker", "runs.W22");
}

/// Panels of 11.2 A in two strings drive 1.25 x 2 x 11.2 = 28.0 A (NEC 690.8(A)), and what opens that is to open 1.1 times as much, 30.8 A: by a
/// fuse on their run as by a breaker that is a device there.
#[test]
fn what_stands_on_the_panels_run_opens_what_they_drive() {
    let larkspur = coachwire::plan::samples::sample("larkspur").expect("sample").text;
    let p = Plan::from_text(larkspur).expect("reads");
    for (opens_a, is_told) in [(0.5, true), (30.0, true), (31.0, false), (1000.0, false)] {
        let p = with(&p, &[("runs.W1.protection.F1.interrupt_a", Value::Number(opens_a))]);
        let r = evaluate(&p);
        let told: Vec<_> = found(&r, "interrupt-below-fault").into_iter().filter(|f| f.level == Level::Stop).collect();
        assert_eq!(told.len(), usize::from(is_told), "{opens_a}: {}", texts(&r));
        for f in told {
            assert_eq!(f.subject.as_str(), "runs.W1");
            assert!((f.n(0) - 28.0).abs() < 1e-9 && (f.n(3) - 30.8).abs() < 1e-9, "{}", f.text());
            assert!(f.text().contains("the panels drive 28.0 A x 1.1"), "{}", f.text());
        }
        let breaker = format!(r#"(id: "PB", kind: "breaker", ratings: (amps_a: 40.0, interrupt_a: {opens_a:?}))"#);
        let breaker = breaker.replace("\"breaker\"", "\"resetting breaker\"");
        let device = with(&insert(&p, "devices", &breaker), &[("runs.W1.to", Value::Id("PB".parse().expect("id")))]);
        let leg = r#"gauge: "8 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)]"#;
        let device = insert(&device, "runs", &format!(r#"(id: "W0", from: "PB", to: "C1", {leg})"#));
        assert_eq!(says(&evaluate(&device), "interrupt-below-fault", "devices.PB"), is_told, "{opens_a}");
    }
}
