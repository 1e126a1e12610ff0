//! What stands behind a converter to 12 V charges nothing of the bank; what hangs on a battery there is of that battery's volts.

use super::cures::{apply_all, cures, is_curable};
use super::misdrawn::on_24;
use super::mistakes::{insert, with};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::report::RunFigures;
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::{Edit, Plan, Value};
use coachwire::stock::Stock;

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn run<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|x| x.id.as_str() == id).unwrap_or_else(|| panic!("{id}"))
}

fn design_a(r: &Report, id: &str) -> f64 {
    run(r, id).design_a.clone().unwrap_or_else(|m| panic!("{id} waits for {}", m.0)).0
}

/// The bank of 24 or 48 V with its panel behind a converter, and room for more on it.
fn stepped(unit_v: f64) -> Plan {
    let absorb_v = if unit_v > 30.0 { 56.8 } else { 28.4 };
    let made_for = ("loads.L1.made_for", Value::Word("12 V"));
    with(&on_24(), &[("bank.unit_v", n(unit_v)), ("controllers.C1.absorb_v", n(absorb_v)), made_for])
}

/// The same with the coach's old 12 V charger left on the panel.
pub(super) fn with_charger(unit_v: f64, absorb_v: f64) -> Plan {
    let charger = format!(
        r#"(id: "CH2", kind: "converter", out_a: 25.0, efficiency_pct: 85.0, ac_source: "shore", absorb_v: {absorb_v:.1},
            float_v: {absorb_v:.1}, temp_comp_mv_k: 0.0)"#
    );
    let p = insert(&stepped(unit_v), "chargers", &charger);
    let lead = r#"(id: "WQ", from: "CH2", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "ISO 8820-3 C", amps_a: 40.0, distance_m: 0.1)])"#;
    insert(&p, "runs", lead)
}

/// A converter passes current one way (common practice for step-down converters): 25 A at 12 V are 25 A in its own lead, nothing in
/// the converter's feed and its output, and nothing in the bank. What charges the bank is told from what stands there.
#[test]
fn a_charger_behind_a_converter_charges_nothing_of_the_bank() {
    for (unit_v, bank_v) in [(25.6, 25.6), (51.2, 51.2)] {
        let (p, without) = (with_charger(unit_v, 13.6), evaluate(&stepped(unit_v)));
        let r = evaluate(&p);
        let f = found(&r, "source-behind-converter");
        assert!(f.len() == 1 && f[0].level == Level::Caution, "{}", texts(&r));
        assert_eq!((f[0].subject.as_str(), f[0].n(0), f[0].n(1)), ("chargers.CH2", 25.0, bank_v));
        assert!(f[0].text().contains("charges nothing of the bank"), "{}", f[0].text());
        for check in ["charge-volts-outside-window", "profiles-disagree", "charger-without-run", "fuse-below-design"] {
            assert!(found(&r, check).is_empty(), "{check}: {}", texts(&r));
        }
        near("its own lead", Ok(design_a(&r, "WQ")), 25.0, 1e-12);
        for id in ["W3", "W4", "W6", "W9", "W10"] {
            near(id, Ok(design_a(&r, id)), design_a(&without, id), 1e-12);
        }
        assert_eq!(r.year.harvest_kwh, without.year.harvest_kwh);
        assert_eq!(r.not_checked, without.not_checked);
        // The bank's charge is what the controller gives it, 4 x 210 W x 1.25 x 0.97 at low volts, 12.0 V per 12.8 V.
        let small = |p: &Plan| evaluate(&with(p, &[("bank.max_charge_a", n(1.0))]));
        let pushed = |r: &Report| found(r, "charge-over-limit").first().expect("over").n(0);
        let all_a = pushed(&small(&p));
        near("charge", Ok(all_a), pushed(&small(&stepped(unit_v))), 1e-12);
        near("charge", Ok(all_a), (840.0 * 1.25 * 0.97 / (12.0 * bank_v / 12.8)).min(52.0), 1e-9);
        apply_all(&p);
    }
}

/// No cure of anything gives it the bank's volts: what hangs there is made for 12 V.
#[test]
fn no_cure_gives_what_stands_behind_a_converter_the_banks_volts() {
    let p =
        with(&with_charger(25.6, 13.6), &[("controllers.C1.absorb_v", n(27.0)), ("controllers.C1.float_v", n(30.0))]);
    let spoilt =
        [p.clone(), with(&p, &[("bank.chemistry", Value::Word("AGM"))]), with(&p, &[("bank.max_charge_a", n(1.0))])];
    let mut offered = 0;
    for p in &spoilt {
        for finding in &evaluate(p).findings {
            for step in Engine::default().cures(p, &Stock::default(), finding) {
                offered += 1;
                let own = |e: &&Edit| matches!(e, Edit::Set { at, .. } if at.as_str().starts_with("chargers.CH2."));
                assert_eq!(step.edits.iter().find(own), None, "{}: {}", finding.check.id, step.name);
            }
        }
    }
    assert!(offered > 3, "{offered}");
    // One that is set so is a stop: 15 V is the most that regulators of 12 V vehicles hold (common practice).
    let high = with_charger(25.6, 28.4);
    let r = evaluate(&high);
    let f = found(&r, "volts-behind-converter");
    assert!(f.len() == 1 && f[0].level == Level::Stop && f[0].n(0) == 28.4, "{}", texts(&r));
    is_curable(&high, "volts-behind-converter", "chargers.CH2");
    let step = cures(&high, "volts-behind-converter", "chargers.CH2").remove(0);
    let cured = high.with(&step).expect("applies");
    let charger = cured.chargers.iter().find(|c| c.id.as_str() == "CH2").expect("there");
    assert!(charger.absorb_v.known().is_some_and(|v| v.0 < 15.0), "{step:?}");
    apply_all(&high);
    let open = with(&high, &[("chargers.CH2.absorb_v", Value::Unknown), ("chargers.CH2.float_v", n(13.6))]);
    let waits = evaluate(&open);
    assert!(waits.not_checked.iter().any(|w| w.check == "volts-behind-converter"), "{:?}", waits.not_checked);
}

/// Of a tracking controller there: 210 W x 1.25 x 0.97 at the 12.0 V of that side (LFP, 12 V per 12.8 V of the bank) are 21.2 A; its
/// array is none of the bank's harvest. Ahead of the converter it charges the bank, at half of that.
#[test]
fn a_controller_behind_a_converter_gives_at_the_volts_there() {
    let more = |to: &str| {
        let array = r#"(id: "A2", strings: "1S1P P1", controller: "C2", places: [(id: "PP1", x_m: 3.4, y_m: 0.2)])"#;
        let controller = r#"(id: "C2", kind: "tracking", max_pv_v: 105.0, max_pv_a: 30.0, out_a: 40.0, run_headroom_v: 1.0,
            start_headroom_v: 5.0, absorb_v: 14.2)"#;
        let leg = r#"legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)]"#;
        let p = insert(&insert(&stepped(25.6), "arrays", array), "controllers", controller);
        let p = insert(&p, "runs", &format!(r#"(id: "WX", from: "A2", to: "C2", gauge: "8 AWG", {leg})"#));
        let fuse = r#"protection: [(id: "F1", at: "to", family: "ISO 8820-3 C", amps_a: 30.0, distance_m: 0.1)]"#;
        insert(&p, "runs", &format!(r#"(id: "WY", from: "C2", to: "{to}", gauge: "8 AWG", {leg}, {fuse})"#))
    };
    let (behind, ahead) = (evaluate(&more("FP")), evaluate(&more("BUS")));
    near("behind", Ok(design_a(&behind, "WY")), 210.0 * 1.25 * 0.97 / 12.0, 1e-9);
    near("ahead", Ok(design_a(&ahead, "WY")), 210.0 * 1.25 * 0.97 / 24.0, 1e-9);
    assert!(says(&behind, "source-behind-converter", "controllers.C2"), "{}", texts(&behind));
    assert!(found(&ahead, "source-behind-converter").is_empty());
    for check in ["charge-volts-outside-window", "profiles-disagree", "controller-without-run"] {
        assert!(!says(&behind, check, "controllers.C2"), "{check}: {}", texts(&behind));
    }
    assert!(says(&ahead, "charge-volts-outside-window", "controllers.C2"), "{}", texts(&ahead));
    assert_eq!(behind.year.harvest_kwh, evaluate(&stepped(25.6)).year.harvest_kwh);
    assert!(behind.not_checked.is_empty(), "{:?}", behind.not_checked);
    apply_all(&more("FP"));
}

/// A lead battery on the panel behind the converter, with 600 W on it.
fn with_battery(unit_v: f64, joined: bool) -> Plan {
    let battery = r#"(id: "SB", kind: "start battery", chemistry: "AGM", unit_v: 12.0, cca_a: 500.0)"#;
    let p =
        insert(&insert(&stepped(unit_v), "devices", battery), "loads", r#"(id: "LJ", watts_w: 600.0, hours_day: 0.1)"#);
    let jacks = r#"(id: "WJ", from: "SB", to: "LJ", gauge: "4 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)])"#;
    let p = insert(&p, "runs", jacks);
    let link = r#"(id: "WB", from: "SB", to: "FP", gauge: "6 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#;
    if joined { insert(&p, "runs", link) } else { p }
}

/// 600 W at the low volts of lead, 11.0 V, are 54.5 A, whatever the bank is and whether it is joined with the 12 V panel or not.
#[test]
fn a_battery_behind_a_converter_feeds_at_its_own_volts() {
    for unit_v in [25.6, 51.2] {
        let (joined, apart) = (evaluate(&with_battery(unit_v, true)), evaluate(&with_battery(unit_v, false)));
        for r in [&joined, &apart] {
            near("jacks", Ok(design_a(r, "WJ")), 600.0 / 11.0, 1e-9);
            for check in ["fuse-below-design", "conductor-below-current", "drop-over-target"] {
                assert!(!says(r, check, "runs.WJ"), "{check}: {}", texts(r));
            }
        }
        let pct = |r: &Report| run(r, "WJ").drop_pct.clone();
        assert_eq!(pct(&joined), pct(&apart));
        assert!(pct(&joined).is_ok());
    }
}

/// 25 A at 12 V over 8 AWG there and back: 0.6282 ohm/1000 ft at 20 C (NEC Chapter 9 Table 8 by 234.5 + T) and a fuse of 0.1 V at its
/// rating, of 12 V, whatever the bank is; over the 2 % of common practice it is told and can be cured.
#[test]
fn a_charger_behind_a_converter_has_a_drop_of_its_own() {
    for unit_v in [25.6, 51.2] {
        let of = |metres: f64| with(&with_charger(unit_v, 13.6), &[("runs.WQ.legs.L1.length_m", n(metres))]);
        let (near_by, far) = (evaluate(&of(0.8)), evaluate(&of(6.0)));
        let least_v = 25.0 * (12.0 * 0.6282 / 304.8 + 0.1 / 40.0);
        let own = run(&far, "WQ");
        let volts = own.path_drop_v.clone().expect("judged").0;
        assert!(volts > least_v && volts < 1.25 * least_v, "{volts} {least_v}");
        near("of 12 V", own.path_drop_pct.clone(), volts / 12.0 * 100.0, 1e-9);
        assert!(says(&far, "drop-over-target", "runs.WQ"), "{}", texts(&far));
        assert!(!says(&near_by, "drop-over-target", "runs.WQ"), "{}", texts(&near_by));
        is_curable(&of(6.0), "drop-over-target", "runs.WQ");
        let text = found(&far, "source-behind-converter")[0].text();
        assert!(text.contains("the year counts none of that"), "{text}");
    }
}

/// A fault on the panel behind the converter is driven by the battery there, 12.8 V behind its row of the table (ABYC E-11: 1.5 kA up to 650 A
/// of cold cranking, 3 kA up to 1100 A) and 4 m of 6 AWG, 0.4905 ohm/1000 ft at 75 C, cold: blade fuses open 1 kA.
#[test]
fn a_fuse_behind_a_converter_opens_what_the_battery_there_drives() {
    let of = |cca: f64, joined: bool| {
        let branch = r#"(id: "W15", from: "FP", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 15.0, distance_m: 0.01)])"#;
        let p = insert(&with_battery(25.6, joined), "runs", branch);
        evaluate(&with(&p, &[("devices.SB.cca_a", n(cca))]))
    };
    let fault = |r: &Report| run(r, "W15").fuses[0].fault_a.clone().map(|a| a.0);
    let by_hand = |row_a: f64| {
        let cold = 4.0 * 0.4905 / 304.8 * (234.5 + 20.0) / (234.5 + 75.0);
        12.8 / (12.8 / row_a + cold)
    };
    let (large, small, none) = (of(900.0, true), of(500.0, true), of(900.0, false));
    near("3 kA", fault(&large), by_hand(3000.0), 0.03);
    near("1.5 kA", fault(&small), by_hand(1500.0), 0.03);
    assert!(by_hand(3000.0) > 1000.0 && by_hand(1500.0) < 1000.0);
    assert!(says(&large, "interrupt-below-fault", "runs.W15"), "{}", texts(&large));
    for r in [&small, &none] {
        assert!(!says(r, "interrupt-below-fault", "runs.W15"), "{}", texts(r));
    }
}
