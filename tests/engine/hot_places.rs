//! Things in air that none of their kind is usually made for, wire that is there already on what is new, and loops that measure
//! below their own copper.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn waits(r: &Report, field: &str) -> bool {
    r.not_checked.iter().any(|w| w.check == "device-too-hot" && w.waits_for.as_str() == field)
        && r.unknown.iter().any(|u| u.as_str() == field)
}

/// Sheets of electronics end at 40 to 60 C of air (common practice); an engine's bay has 80 C, beside the exhaust 105 C.
#[test]
fn electronics_in_air_that_none_is_made_for_wait_for_their_sheet() {
    for (thing, zone) in [("inverters.INV", "engine bay"), ("controllers.C1", "exhaust"), ("controllers.C1", "roof")] {
        let (place, limit) = (format!("{thing}.zone"), format!("{thing}.ratings.max_ambient_c"));
        let hot = with(&sound(), &[(&place, word(zone))]);
        assert!(waits(&evaluate(&hot), &limit), "{thing} {zone}");
        // Entered, it is judged.
        let stands = evaluate(&with(&hot, &[(&limit, n(110.0))]));
        assert!(!waits(&stands, &limit) && found(&stands, "device-too-hot").is_empty(), "{}", texts(&stands));
        assert!(says(&evaluate(&with(&hot, &[(&limit, n(50.0))])), "device-too-hot", thing));
        for cool in ["cabinet", "basement", "roof cavity"] {
            let r = evaluate(&with(&sound(), &[(&place, word(cool))]));
            assert!(!waits(&r, &limit) && found(&r, "device-too-hot").is_empty(), "{thing} {cool}");
        }
    }
    // Bars and switches are made for where engines are.
    let bar = evaluate(&with(&sound(), &[("devices.BUS.zone", word("engine bay"))]));
    assert!(!waits(&bar, "devices.BUS.ratings.max_ambient_c"), "{:?}", bar.not_checked);
}

/// Lithium cells usually take no charge above 55 C and give none above 60 C (common practice).
#[test]
fn batteries_in_air_that_none_stands_are_said() {
    let limit = "bank.ratings.max_ambient_c";
    for (zone, air) in [("engine bay", 80.0), ("exhaust", 105.0)] {
        let hot = with(&sound(), &[("bank.zone", word(zone))]);
        let r = evaluate(&hot);
        let f = found(&r, "device-too-hot");
        assert_eq!((f.len(), f[0].level, f[0].n(0), f[0].n(1), f[0].n(2)), (1, Level::Caution, air, 55.0, 60.0));
        super::cures::is_curable(&hot, "device-too-hot", "bank");
        let asked = evaluate(&with(&hot, &[(limit, Value::Unknown)]));
        assert_eq!(found(&asked, "device-too-hot")[0].n(1), 55.0, "{}", super::texts(&asked));
        let lead = evaluate(&with(&hot, &[("bank.chemistry", word("AGM"))]));
        assert!(waits(&lead, limit), "{:?}", lead.not_checked);
    }
    for cool in ["cabinet", "basement", "battery box"] {
        for chemistry in ["LFP", "AGM"] {
            let r = evaluate(&with(&sound(), &[("bank.zone", word(cool)), ("bank.chemistry", word(chemistry))]));
            assert!(!waits(&r, limit) && found(&r, "device-too-hot").is_empty(), "{cool} {chemistry}");
        }
    }
}

/// A vehicle's charge line from its battery to the bar, and the feed of the coach's own panel.
fn lines(state: &str) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator", state: "existing")"#);
    let line = |id: &str, from: &str, to: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "6 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0,
            state: "{state}")], protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#
        )
    };
    insert(&insert(&p, "runs", &line("T1", "SB", "ISO")), "runs", &line("T2", "ISO", "BUS"))
}

/// Mistake 25, polarity assumed: which conductor of a wire that is there already is positive is measured before anything new is
/// joined to it, a charge line or a panel's feed as well. Source: trade practice.
#[test]
fn old_lines_on_a_new_bar_are_measured_first() {
    let polarity = "polarity-assumed";
    let r = evaluate(&lines("existing"));
    // What joins old to old works as it is.
    assert!(says(&r, polarity, "runs.T2") && !says(&r, polarity, "runs.T1"), "{}", texts(&r));
    super::cures::is_curable(&lines("existing"), polarity, "runs.T2");
    let measured = with(&lines("existing"), &[("runs.T2.polarity_measured", word("yes"))]);
    for right in [measured, lines("new"), with(&lines("existing"), &[("devices.BUS.state", word("existing"))])] {
        let r = evaluate(&right);
        assert!(found(&r, polarity).is_empty(), "{}", texts(&r));
    }
    let feed = [("runs.W6.legs.L1.state", word("existing")), ("devices.FP.state", word("existing"))];
    assert!(says(&evaluate(&with(&sound(), &feed)), polarity, "runs.W6"));
    // One conductor and the frame cannot be crossed.
    let frame =
        with(&with(&sound(), &feed), &[("runs.W6.return_path", word("chassis")), ("runs.W6.measured_ohm", n(0.02))]);
    assert!(!says(&evaluate(&frame), polarity, "runs.W6"));
}

/// 6 AWG has 1.34 ohm a kilometre at 20 C (NEC chapter 9 table 8: 1.61 at 75 C, less 0.393 %/K): 2 m of it 2.7 mohm, and the frame
/// is never none.
#[test]
fn a_loop_over_the_frame_below_its_own_copper_is_said() {
    let of = |ohm: f64| {
        evaluate(&with(&sound(), &[("runs.W6.return_path", word("chassis")), ("runs.W6.measured_ohm", n(ohm))]))
    };
    let check = "measured-below-copper";
    for ohm in [0.0, 0.001, 0.002] {
        let r = of(ohm);
        let f = found(&r, check);
        assert_eq!((f.len(), f[0].level, f[0].n(0)), (1, Level::Caution, ohm * 1000.0), "{}", texts(&r));
        near("its copper", Ok(f[0].n(1)), 2.68, 0.02);
    }
    for ohm in [0.003, 0.02] {
        assert!(found(&of(ohm), check).is_empty(), "{}", texts(&of(ohm)));
    }
    // Nobody knows it: waited for, not judged.
    let unknown = with(&sound(), &[("runs.W6.return_path", word("chassis")), ("runs.W6.measured_ohm", Value::Unknown)]);
    assert!(found(&evaluate(&unknown), check).is_empty());
}

/// A charger's old leads on a new bar as well: crossed they put the bank on them the wrong way. Source: trade practice.
#[test]
fn old_leads_of_a_charger_are_measured_first() {
    let charger =
        r#"(id: "CH1", kind: "converter", out_a: 30.0, efficiency_pct: 88.0, absorb_v: 14.2, state: "existing")"#;
    let line = |state: &str| {
        let run = format!(
            r#"(id: "W9", from: "CH1", to: "BUS", gauge: "8 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0,
            state: "{state}")], protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#
        );
        insert(&insert(&sound(), "chargers", charger), "runs", &run)
    };
    assert!(says(&evaluate(&line("existing")), "polarity-assumed", "runs.W9"));
    super::cures::is_curable(&line("existing"), "polarity-assumed", "runs.W9");
    assert!(!says(&evaluate(&line("new")), "polarity-assumed", "runs.W9"));
}
