//! Runs without a return whose current no negative is drawn to bring back: counted there and back, and asked for; over the frame they
//! wait to be measured.

use super::cures::is_curable;
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Report;
use coachwire::plan::{Plan, Value};

const CHECK: &str = "return-not-drawn";

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// A DC-DC charger of 40 A at 14.2 V, 90 %, at the end of 8 m from a start battery; it gives to the bar by a pair.
fn on_line(back: &str) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let charger = r#"(id: "DC", kind: "DC-DC", out_a: 40.0, efficiency_pct: 90.0, absorb_v: 14.2, alternator_low_v: 13.2,
        input_cutout_v: 11.5)"#;
    let line = format!(
        r#"(id: "W9", from: "SB", to: "DC", gauge: "2 AWG", return_path: "{back}", legs: [(id: "L1", length_m: 8.0,
        insulation_c: 105.0, ambient_c: 30.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)])"#
    );
    let out = r#"(id: "W10", from: "DC", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#;
    insert(&insert(&insert(&p, "chargers", charger), "runs", &line), "runs", out)
}

fn figures(r: &Report) -> (f64, f64) {
    let run = r.runs.iter().find(|x| x.id.as_str() == "W9").expect("drawn");
    let known = |x: Result<f64, coachwire::plan::Missing>| x.unwrap_or_else(|m| panic!("{}", m.0));
    (known(run.design_a.clone().map(|a| a.0)), known(run.path_drop_v.clone().map(|v| v.0)))
}

/// One conductor with nothing drawn that leads back loses, draws and drops out as a pair of it does, and that is said.
/// Source: Kirchhoff's current law; 16 m of 2 AWG, 0.194 ohm/1000 ft at 75 C brought to 60 C (NEC Chapter 9 Table 8, copper as
/// 234.5 + T), a fuse of 0.06 V at 80 A and four lugs of 0.05 mohm; V^2 - V E + P R = 0.
#[test]
fn a_line_without_a_return_is_counted_there_and_back() {
    let (pair, none) = (evaluate(&on_line("pair")), evaluate(&on_line("none")));
    let ohm = 16.0 * 0.194 / 304.8 * (234.5 + 60.0) / (234.5 + 75.0) + 0.06 / 80.0 + 4.0 * 0.05e-3;
    let watts = 40.0 * 14.2 / 0.9;
    let amps = watts / f64::midpoint(13.2, (13.2_f64 * 13.2 - 4.0 * watts * ohm).sqrt());
    near("amps", Ok(figures(&none).0), amps, 0.01);
    assert_eq!(figures(&pair), figures(&none));
    assert!(says(&none, CHECK, "runs.W9") && found(&pair, CHECK).is_empty(), "{}", texts(&none));
    for check in ["drop-over-target", "dc-dc-drops-out"] {
        assert_eq!(found(&pair, check).len(), found(&none, check).len(), "{check}\n{}", texts(&none));
    }
    // 26 m bring it to 11.4 V there and back, under its cut-out; one way alone to 12.3 V, and it would run on.
    let long = with(&on_line("none"), &[("runs.W9.legs.L1.length_m", n(26.0))]);
    assert!(says(&evaluate(&long), "dc-dc-drops-out", "chargers.DC"), "{}", texts(&evaluate(&long)));
    is_curable(&on_line("none"), CHECK, "runs.W9");
    // A negative of its own to the battery is what brings it back.
    let own = insert(
        &on_line("none"),
        "runs",
        r#"(id: "W11", from: "DC", to: "SB", gauge: "2 AWG", return_path: "none", legs: [(id: "L1", length_m: 8.0,
        insulation_c: 105.0, ambient_c: 30.0)])"#,
    );
    let own = evaluate(&own);
    assert!(found(&own, CHECK).is_empty(), "{}", texts(&own));
    near("amps with its own negative", Ok(figures(&own).0), figures(&pair).0, 1e-3);
}

/// Where the charger's negative is on the frame, what the frame loses is known once the loop is measured, and not before: what it
/// draws waits, and a loop of a pair's ohms gives a pair's current. Source: common practice, a chassis return is measured.
#[test]
fn a_line_over_the_frame_waits_for_its_loop() {
    let p = insert(&on_line("none"), "devices", r#"(id: "CH9", kind: "chassis point", state: "existing")"#);
    let lead = r#"(id: "W11", from: "DC", to: "CH9", gauge: "2 AWG", return_path: "none", legs: [(id: "L1", length_m: 1.0,
        insulation_c: 105.0)])"#;
    let p = insert(&p, "runs", lead);
    let r = evaluate(&p);
    assert!(found(&r, CHECK).is_empty(), "{}", texts(&r));
    let waits = |check: &str| {
        let all = r.not_checked.iter().filter(|x| x.check == check);
        all.filter(|x| x.subject.as_str() == "runs.W9").map(|x| x.waits_for.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(waits("conductor-below-current"), ["runs.W9.measured_ohm"]);
    assert_eq!(waits("fuse-below-design"), ["runs.W9.measured_ohm"]);
    // As a run that is said to return by the chassis does.
    let chassis = evaluate(&on_line("chassis"));
    assert!(chassis.not_checked.iter().any(|x| x.waits_for.as_str() == "runs.W9.measured_ohm"));
    let measured = |ohm: f64| evaluate(&with(&p, &[("runs.W9.measured_ohm", n(ohm))]));
    let watts = 40.0 * 14.2 / 0.9;
    let volts = f64::midpoint(13.2, (13.2_f64 * 13.2 - 4.0 * watts * 0.011).sqrt());
    near("amps", Ok(figures(&measured(0.011)).0), watts / volts, 1e-6);
}

/// Every path alike: what an inverter's single positive loses is what the pair of it does. A load with its minus on the frame waits.
/// Source: Kirchhoff's current law.
#[test]
fn an_ordinary_run_without_a_return_is_counted_so_too() {
    let drop = |p: &Plan, run: &str| {
        let r = evaluate(p);
        r.runs.iter().find(|x| x.id.as_str() == run).expect("drawn").path_drop_v.clone().map(|v| v.0)
    };
    let single = with(&sound(), &[("runs.W5.return_path", word("none"))]);
    near("volts", drop(&single, "W5"), drop(&sound(), "W5").expect("known"), 1e-9);
    let text = found(&evaluate(&single), CHECK)[0].text();
    assert!(text.ends_with("its drop is counted as if as much of the same wire came back"), "{text}");
    let load = r#"(id: "W8", from: "FP", to: "L1", gauge: "12 AWG", return_path: "none", legs: [(id: "L1", length_m: 3.0,
        insulation_c: 105.0)], protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.03)])"#;
    let p = insert(&sound(), "runs", load);
    assert!(says(&evaluate(&p), CHECK, "runs.W8") && drop(&p, "W8").is_ok(), "{}", texts(&evaluate(&p)));
    let chassis = p.devices.iter().find(|d| d.kind.known() == Some(&coachwire::plan::DeviceKind::Chassis));
    let point = chassis.expect("a chassis point").id.clone();
    let lead = format!(
        r#"(id: "W9", from: "L1", to: "{point}", gauge: "12 AWG", return_path: "none", legs: [(id: "L1", length_m: 1.0,
        insulation_c: 105.0)])"#
    );
    let p = insert(&p, "runs", &lead);
    assert!(found(&evaluate(&p), CHECK).is_empty(), "{}", texts(&evaluate(&p)));
    assert_eq!(drop(&p, "W8").map_err(|m| m.0.to_string()), Err("runs.W8.measured_ohm".into()));
}

/// Of two alike beside each other, in one piece or in several, each brings half and loses what a pair does.
/// Source: Kirchhoff's laws.
#[test]
fn two_beside_each_other_are_counted_alike() {
    let of = |back: &'static str, in_two: bool| {
        let mut p = with(&sound(), &[("runs.W3.return_path", word(back))]);
        let mut second = p.runs.iter().find(|r| r.id.as_str() == "W3").expect("drawn").clone();
        second.id = "W15".parse().expect("id");
        if in_two {
            p = insert(&p, "devices", r#"(id: "J1", kind: "splice")"#);
            let mut third = second.clone();
            third.id = "W16".parse().expect("id");
            third.protection.clear();
            let middle = coachwire::plan::Known::Is("J1".parse().expect("id"));
            (second.to, third.from) = (middle.clone(), middle);
            p.runs.push(third);
        }
        p.runs.push(second);
        let r = evaluate(&p);
        let all = ["W3", "W15", "W16"]
            .map(|id| r.runs.iter().find(|x| x.id.as_str() == id).map(|x| x.resistance_ohm.clone()));
        all.map(|ohm| ohm.map(|ohm| ohm.expect("known").0))
    };
    for in_two in [false, true] {
        let (pair, none) = (of("pair", in_two), of("none", in_two));
        assert!(pair[1].is_some() && pair[2].is_some() == in_two);
        assert_eq!(pair, none);
    }
}
