//! The sample jobs worked by hand, against the engine.
//!
//! Source of every expected figure: worked by hand with pure copper at 20 C (10 AWG 0.999, 8 AWG 0.628, 6 AWG 0.395,
//! 4 AWG 0.2485, 2/0 0.0779, 4/0 0.0490 ohm a 1000 ft, IEC 60028 copper over ASTM B258 areas), there and back, wire
//! alone, percent of 12 V or of the string's Vmp; Voc by the label's coefficient from 25 C. Tables of stranded wire and
//! the warmth of the current itself differ a little: 4 %.

use coachwire::engine::report::RunFigures;
use coachwire::engine::{Engine, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Known, Plan, RuleChange, Step, entry};
use coachwire::stock::Stock;
use coachwire::units::{Celsius, Number};

use crate::support::near_rel;

const WITHIN: f64 = 0.04;

/// Everything on a path that is not wire.
const NOT_WIRE: [&str; 7] = [
    "fuse-drop-v",
    "class-t-drop-v",
    "breaker-drop-v",
    "shunt-drop-v",
    "battery-switch-mohm",
    "lugged-joint-mohm",
    "pv-connector-mohm",
];

/// A sample with fields changed as typed, and everything that is not copper at 20 C left out.
fn bare(name: &str, sets: &[(&str, &str)]) -> Report {
    let mut plan = Plan::from_text(sample(name).unwrap().text).unwrap();
    for (path, text) in sets {
        let at = FieldPath::new(*path);
        let to = entry::parse(&plan, &at, text).unwrap().value;
        plan = plan.with(&Step::one("", Edit::Set { at, to })).unwrap();
    }
    for leg in plan.runs.iter_mut().flat_map(|r| &mut r.legs) {
        leg.ambient_c = Some(Known::Is(Celsius(20.0)));
    }
    for id in NOT_WIRE {
        let reason = "wire alone".into();
        plan.rules.push(RuleChange { id: id.parse().unwrap(), value: Known::Is(Number(0.0)), reason });
    }
    Engine::default().evaluate(&plan, &Stock::default())
}

fn run<'a>(report: &'a Report, id: &str) -> &'a RunFigures {
    report.runs.iter().find(|r| r.id.as_str() == id).unwrap()
}

/// Volts and percent lost in a run, and the amps that lose them.
#[track_caller]
fn loses(report: &Report, id: &str, at_a: f64, drop_v: f64, pct: f64) {
    let run = run(report, id);
    near_rel(&format!("{id} amps"), run.drop_at_a.clone().unwrap().0, at_a, 0.01);
    near_rel(&format!("{id} volts"), run.drop_v.clone().unwrap().0, drop_v, WITHIN);
    // Percent are given to one or two digits.
    let got = run.drop_pct.clone().unwrap();
    assert!((got - pct).abs() <= 0.05 + WITHIN * pct, "{id}: got {got} %, want {pct} %");
}

#[track_caller]
fn voc(report: &Report, array: &str, want: f64) {
    let array = report.arrays.iter().find(|a| a.id.as_str() == array).unwrap();
    near_rel("cold Voc", array.voc_cold_v.clone().unwrap().0, want, 0.002);
}

#[test]
fn the_teardrop() {
    let report = bare("bramble", &[]);
    voc(&report, "A1", 26.45);
    loses(&report, "W1", 6.05, 0.133, 0.7);
    loses(&report, "W2", 8.7, 0.070, 0.6);
    near_rel("1.5625 Isc", run(&report, "W1").fuse_min_a.clone().unwrap().0, 10.1, 0.005);
    let usable = report.bank.usable_wh.clone().unwrap().0;
    let load = report.loads.wh_day[6].clone().unwrap().0;
    near_rel("usable Wh", usable, 1152.0, 0.001);
    near_rel("load Wh a day", load, 633.0, 0.01);
    near_rel("days without sun", usable / load, 1.8, 0.02);
}

#[test]
fn the_fifth_wheel() {
    let three_in_series = [
        ("arrays.A1.strings", "3S1P P1"),
        ("controllers.C1.out_a", "52"),
        ("runs.W1.gauge", "10 AWG"),
        ("bank.short_circuit_a", ""),
        ("bank.ohmic_mohm", "2"),
        // The job was worked with 5 ft of main cable.
        ("runs.W3.legs.L1.length_m", "1'6\""),
        ("runs.W6.legs.L1.length_m", "1'"),
        ("runs.W7.legs.L1.length_m", "2'6\""),
    ];
    let report = bare("larkspur", &three_in_series);
    voc(&report, "A1", 85.0);
    loses(&report, "W1", 10.68, 0.51, 0.8);
    near_rel("controller amps", run(&report, "W2").drop_at_a.clone().unwrap().0, 50.0, 0.01);
    near_rel("inverter amps", run(&report, "W7").design_a.clone().unwrap().0, 284.0, 0.01);
    near_rel("fault amps", report.bank.fault_a.clone().unwrap().0, 26_600.0, 0.005);
    near_rel("load Wh a day", report.loads.wh_day[11].clone().unwrap().0, 5705.0, 0.01);
    let main = |report: &Report| -> f64 {
        let ohms: f64 = ["W3", "W6", "W7"].iter().map(|id| run(report, id).resistance_ohm.clone().unwrap().0).sum();
        284.0 * ohms
    };
    // At 300 A the cable warms well above 20 C: the share of that is taken out by its own temperature.
    let warm = |report: &Report, id: &str| (234.5 + run(report, id).wire_c.clone().unwrap().0) / 254.5;
    let cold = main(&report) / warm(&report, "W3");
    assert!((cold - 0.139).abs() < 0.139 * WITHIN, "5 ft of 4/0: {cold} V");
    near_rel("percent of 12 V", cold / 12.0 * 100.0, 1.2, 0.05);
}

#[test]
fn the_class_c() {
    // The job was worked with 9 ft of 10 AWG to the bank.
    let as_worked =
        [("runs.W2.gauge", "10 AWG"), ("runs.W2.legs.L1.length_m", "6'"), ("runs.W2.legs.L2.length_m", "3'")];
    let report = bare("sorrel", &as_worked);
    loses(&report, "W1", 8.65, 0.31, 1.7);
    loses(&report, "W2", 8.65, 0.156, 1.3);
    near_rel("1.5625 Isc", run(&report, "W2").fuse_min_a.clone().unwrap().0, 14.3, 0.005);
    // At 12.5 V.
    near_rel("load Ah a day", report.loads.wh_day[0].clone().unwrap().0 / 12.5, 60.7, 0.005);
}

/// A controller's run of an upgraded trailer at 43.2 A: thicker wire does not cure what a shorter one does.
#[test]
fn moving_the_controller_beats_thicker_wire() {
    for (feet, gauge, pct) in [("14'", "8 AWG", 6.3), ("14'", "4 AWG", 2.5), ("4'", "6 AWG", 1.14)] {
        let sets = [
            ("runs.W2.gauge", gauge),
            ("runs.W2.legs.L1.length_m", feet),
            ("runs.W2.legs.L1.per_pole", "1"),
            ("runs.W2.drop_override_a", "43.2"),
        ];
        let report = bare("bramble", &sets);
        let run = run(&report, "W2");
        let warm = (234.5 + run.wire_c.clone().unwrap().0) / 254.5;
        near_rel(&format!("{feet} of {gauge}"), run.drop_pct.clone().unwrap() / warm, pct, WITHIN);
    }
}

#[test]
fn the_wrong_plan() {
    let report = bare("thistle", &[]);
    voc(&report, "A1", 109.9);
    near_rel("fault amps", report.bank.fault_a.clone().unwrap().0, 13_300.0, 0.005);
    near_rel("inverter amps", run(&report, "W5").design_a.clone().unwrap().0, 189.0, 0.01);
    for (id, amps, pct) in [("W3", 52.0, 13.9), ("W5", 189.4, 7.1)] {
        let run = run(&report, id);
        near_rel(id, run.drop_at_a.clone().unwrap().0, amps, 0.01);
        let warm = (234.5 + run.wire_c.clone().unwrap().0) / 254.5;
        near_rel(id, run.drop_pct.clone().unwrap() / warm, pct, WITHIN);
    }
}
