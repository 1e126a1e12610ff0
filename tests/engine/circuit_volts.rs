//! DC volts where they were not looked at: loads, the battery side of a controller, the vehicle's own lines.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The sound plan on 25.6 V: LFP is charged to 14.6 V per 12.8 V, so its circuits reach 29.2 V.
fn on_24(edits: &[(&str, Value)]) -> Plan {
    let p = with(&sound(), &[("bank.unit_v", n(25.6)), ("controllers.C1.absorb_v", n(28.4))]);
    let run = r#"(id: "W8", from: "FP", to: "L2", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.1)])"#;
    let p = insert(&p, "loads", r#"(id: "L2", watts_w: 40.0, hours_day: 2.0)"#);
    with(&insert(&p, "runs", run), edits)
}

/// Rating against the highest volts of the circuit (NEC 110.4): 16 V is too low on 29.2 V, 32 V is not.
#[test]
fn a_load_is_held_to_the_volts_of_its_circuit() {
    // L1 hangs on the panel without a run, L2 has its own.
    for load in ["L1", "L2"] {
        let at = format!("loads.{load}.ratings.volts_dc_v");
        let wrong = evaluate(&on_24(&[(&at, n(16.0))]));
        let f = found(&wrong, "device-volts-low");
        assert_eq!((f.len(), f[0].level, f[0].n(0), f[0].n(1)), (1, Level::Stop, 16.0, 29.2), "{}", texts(&wrong));
        let right = evaluate(&on_24(&[(&at, n(32.0))]));
        assert!(found(&right, "device-volts-low").is_empty(), "{}", texts(&right));
    }
    // What an inverter feeds has no DC volts.
    let ac = [("loads.L1.supply", Value::Word("inverter")), ("loads.L1.ratings.volts_dc_v", n(16.0))];
    assert!(found(&evaluate(&on_24(&ac)), "device-volts-low").is_empty());
}

#[test]
fn behind_a_converter_a_load_sees_its_volts() {
    let p = on_24(&[("runs.W6.to", Value::Id("CV".parse().expect("id"))), ("loads.L1.ratings.volts_dc_v", n(16.0))]);
    let p = insert(&p, "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 20.0, volts_dc_v: 32.0))"#);
    let run =
        r#"(id: "W9", from: "CV", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#;
    let r = evaluate(&insert(&p, "runs", run));
    assert!(found(&r, "device-volts-low").is_empty(), "{}", texts(&r));
}

/// A converter to 12 V regulates its output, 13.8 V at most (common practice), whatever the bank is charged to: a load of 14 V
/// stands that, one of 13 V does not; on the bank's own 29.2 V neither does.
#[test]
fn a_converter_is_held_to_its_own_output() {
    let behind = |made_v: f64, from: &str| {
        let load = [("loads.L2.ratings.volts_dc_v", n(made_v)), ("runs.W8.from", Value::Id(from.parse().expect("id")))];
        let p = on_24(&[("runs.W6.to", Value::Id("CV".parse().expect("id")))]);
        let p = insert(&p, "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 20.0))"#);
        let run = r#"(id: "W9", from: "CV", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#;
        evaluate(&with(&insert(&p, "runs", run), &load))
    };
    for (made_v, from, reaches) in [(14.0, "FP", None), (13.0, "FP", Some(13.8)), (14.0, "BUS", Some(29.2))] {
        let r = behind(made_v, from);
        let f = found(&r, "device-volts-low");
        assert_eq!(f.first().map(|f| f.n(1)), reaches, "{made_v} V on {from}\n{}", texts(&r));
    }
}

/// Where panels of two volts stand, nobody has said which of them a load without a run hangs on: one that stands the lower
/// alone is not checked, one that stands both or neither is.
#[test]
fn an_undrawn_load_beside_panels_of_two_volts_is_not_guessed() {
    let of = |made_v: f64, panels: bool| {
        let p = on_24(&[("loads.L1.ratings.volts_dc_v", n(made_v))]);
        if !panels {
            return evaluate(&p);
        }
        let p = insert(&p, "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 20.0))"#);
        let p = insert(&p, "devices", r#"(id: "FP12", kind: "fuse panel")"#);
        let feed = r#"(id: "W20", from: "BUS", to: "CV", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#;
        let run = r#"(id: "W21", from: "CV", to: "FP12", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#;
        evaluate(&insert(&insert(&p, "runs", feed), "runs", run))
    };
    let waits = |r: &coachwire::engine::Report| {
        let waits = |c: &coachwire::engine::report::NotChecked| {
            c.check == "device-volts-low" && c.subject.as_str() == "loads.L1"
        };
        r.not_checked.iter().any(waits)
    };
    for (made_v, panels, stop, asked) in
        [(16.0, true, false, true), (32.0, true, false, false), (12.0, true, true, false), (16.0, false, true, false)]
    {
        let r = of(made_v, panels);
        assert_eq!((says(&r, "device-volts-low", "loads.L1"), waits(&r)), (stop, asked), "{made_v} V\n{}", texts(&r));
    }
}

/// A controller's rating is of its battery side: its panels have a limit of their own. Two in series open at 55 V cold.
#[test]
fn a_controllers_battery_side_is_held_to_its_volts() {
    let at = "controllers.C1.ratings.volts_dc_v";
    let wrong = evaluate(&on_24(&[(at, n(16.0))]));
    assert!(says(&wrong, "device-volts-low", "controllers.C1"), "{}", texts(&wrong));
    assert!(found(&evaluate(&on_24(&[(at, n(32.0))])), "device-volts-low").is_empty());
}

/// A DC-DC charger's line, the bank on 51.2 V. Regulators hold 12 V vehicles at 15 V at most, 24 V ones at 30 V (common
/// practice): a device of 16 V stands the first, one of 32 V both, whatever the bank is charged to.
#[test]
fn a_line_from_the_vehicle_has_the_vehicles_volts() {
    let line = |low_v: f64, breaker_v: f64| {
        let p = with(&sound(), &[("bank.unit_v", n(51.2)), ("controllers.C1.absorb_v", n(56.8))]);
        let p = insert(&p, "devices", r#"(id: "SB", kind: "start battery")"#);
        let p = insert(
            &p,
            "chargers",
            &format!(
                r#"(id: "DC", kind: "DC-DC", out_a: 8.0, efficiency_pct: 90.0, absorb_v: 56.8, alternator_low_v: {low_v:?})"#
            ),
        );
        let p = insert(
            &p,
            "runs",
            r#"(id: "W23", from: "DC", to: "BUS", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#,
        );
        let run = format!(
            r#"(id: "W22", from: "SB", to: "DC", gauge: "2 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "DC breaker", amps_a: 60.0, volts_dc_v: {breaker_v:?},
                interrupt_a: 5000.0, distance_m: 0.1)])"#
        );
        evaluate(&insert(&p, "runs", &run))
    };
    assert!(!says(&line(13.2, 16.0), "fuse-volts-low", "runs.W22"));
    assert!(says(&line(26.4, 16.0), "fuse-volts-low", "runs.W22"));
    assert!(!says(&line(26.4, 32.0), "fuse-volts-low", "runs.W22"));
    let fault = |r: &coachwire::engine::Report| {
        let run = r.runs.iter().find(|r| r.id.as_str() == "W22").expect("line");
        (run.fuses[0].circuit_v.clone().expect("volts").0, run.fuses[0].fault_a.clone().expect("amps").0)
    };
    // Two start batteries in series drive more through the same cable, and the fuse stands at their volts.
    let (v12, a12) = fault(&line(13.2, 32.0));
    let (v24, a24) = fault(&line(26.4, 32.0));
    assert_eq!((v12, v24), (15.0, 30.0));
    assert!(a24 > a12, "{a12} {a24}");
}

/// Gear for 12 and 24 V is made for 32 V (ISO 8820-3). On 51.2 V, charged to 58.4 V, a switch, an inverter and a fuse panel of
/// which nobody has said what volts they stand are not checked; on 25.6 V, or said, they are.
#[test]
fn what_opens_more_than_coach_gear_stands_must_say_its_volts() {
    let on = |unit_v: f64, made: Value| {
        let absorb_v = unit_v / 12.8 * 14.2;
        let set = [("bank.unit_v", n(unit_v)), ("controllers.C1.absorb_v", n(absorb_v))];
        let own =
            ["inverters.INV", "devices.SW", "devices.FP", "devices.BUS"].map(|of| format!("{of}.ratings.volts_dc_v"));
        evaluate(&own.iter().fold(with(&sound(), &set), |p, at| with(&p, &[(at, made.clone())])))
    };
    let waits = |r: &coachwire::engine::Report| {
        let of = r.not_checked.iter().filter(|x| x.check == "device-volts-low");
        of.map(|x| x.waits_for.to_string()).collect::<Vec<_>>()
    };
    let all = ["inverters.INV", "devices.SW", "devices.FP", "devices.BUS"].map(|of| format!("{of}.ratings.volts_dc_v"));
    let r = on(51.2, Value::Nothing);
    assert!(all.iter().all(|at| waits(&r).contains(at)), "{:?}", waits(&r));
    for (unit_v, made) in [(25.6, Value::Nothing), (12.8, Value::Nothing), (51.2, n(60.0))] {
        let r = on(unit_v, made.clone());
        assert!(
            waits(&r).is_empty() && found(&r, "device-volts-low").is_empty(),
            "{unit_v} V, {made:?}: {}",
            texts(&r)
        );
    }
    assert_eq!(found(&on(51.2, n(48.0)), "device-volts-low").len(), 4);
}
