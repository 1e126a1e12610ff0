//! What flows over the chassis and the bond, what is entered for a run and counts elsewhere, which batteries a fault is of.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Report;
use coachwire::engine::report::RunFigures;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn of<'a>(r: &'a Report, run: &str) -> &'a RunFigures {
    r.runs.iter().find(|x| x.id.as_str() == run).expect("run")
}

fn design(r: &Report, run: &str) -> f64 {
    of(r, run).design_a.clone().unwrap_or_else(|e| panic!("{run}: {e:?}\n{}", texts(r))).0
}

/// A van whose 20 A DC-DC charger is fed from the start battery over the chassis, its own negative on the house's.
fn van(input: &str, output: &str, bond: &str) -> Plan {
    let mut p = with(&sound(), &[("runs.W7.gauge", gauge(bond))]);
    p = insert(&p, "devices", r#"(id: "SB", kind: "start battery")"#);
    p = insert(
        &p,
        "chargers",
        r#"(id: "DD", kind: "DC-DC", out_a: 20.0, absorb_v: 14.2, efficiency_pct: 90.0, alternator_low_v: 13.2)"#,
    );
    for (id, from, to, back, fuses) in [
        ("D1", "SB", "DD", input, r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)"#),
        ("D2", "DD", "BUS", output, r#"(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)"#),
    ] {
        p = insert(
            &p,
            "runs",
            &format!(
                r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2 AWG", return_path: "{back}", measured_ohm: 0.01,
                    legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)], protection: [{fuses}])"#
            ),
        );
    }
    p
}

/// A start battery that an isolator joins to the bus, by X1 and X2; what more is entered of the two, and their fuses' amps.
fn isolated(p: &Plan, more: [&str; 2], fuse_a: f64) -> Plan {
    let p = insert(p, "devices", r#"(id: "SB", kind: "start battery")"#);
    let mut p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator")"#);
    for ((id, from, to, at), more) in [("X1", "SB", "ISO", "from"), ("X2", "ISO", "BUS", "to")].into_iter().zip(more) {
        let run = format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2/0 AWG", {more}
                legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
                protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: {fuse_a:?}, distance_m: 0.1)])"#
        );
        p = insert(&p, "runs", &run);
    }
    p
}

/// By hand: V^2 - 13.2 V V + P R = 0 with P = 20 A x 14.2 V / 0.9 and R = 0.01 ohm; the current is P / V. It comes to the house's
/// negative by the charger's own, and home to the engine over bond and chassis (Kirchhoff's current law at the bar).
#[test]
fn what_a_dc_dc_charger_draws_over_the_chassis_is_on_the_bond() {
    let watts = 20.0 * 14.2 / 0.9;
    let input_a = watts / ((13.2 + f64::sqrt(13.2 * 13.2 - 4.0 * watts * 0.01)) / 2.0);
    let r = evaluate(&van("chassis", "pair", "4 AWG"));
    near("line", Ok(design(&r, "D1")), input_a, 1e-6);
    near("bond", Ok(design(&r, "W7")), input_a, 1e-6);
    // Too thin for it, and for the line's fuse of 60 A: 14 AWG may be fused for 15 A (former NEC 551.10).
    let thin = evaluate(&van("chassis", "pair", "14 AWG"));
    assert!(says(&thin, "fuse-above-conductor", "runs.W7"), "{}", texts(&thin));
    assert!(!says(&r, "fuse-above-conductor", "runs.W7"), "{}", texts(&r));
    // By a wire of its own nothing of it is on the bond.
    near("by wire", Ok(design(&evaluate(&van("pair", "pair", "4 AWG")), "W7")), 0.0, 1e-12);
    // With its own negative on the chassis too, what it draws goes home straight, and what it gives comes over the bond.
    near("both", Ok(design(&evaluate(&van("chassis", "chassis", "4 AWG")), "W7")), 20.0, 1e-9);
    // What a load brings back flows against it: the larger counts. 60 W at 12.0 V low volts of LFP are 5 A.
    let both = with(&van("chassis", "pair", "4 AWG"), &[("runs.W6.return_path", word("chassis"))]);
    near("against", Ok(design(&evaluate(&both), "W7")), input_a, 1e-6);
}

/// A second charger whose own negative is on the chassis: what it gives comes over the bond the same way as what the first draws,
/// and both are on the second's path while driving. By hand the bond's volts are those of its own ohms at the sum.
#[test]
fn chargers_that_run_together_are_on_the_bond_together() {
    let mut p = van("chassis", "pair", "4 AWG");
    p = insert(
        &p,
        "chargers",
        r#"(id: "D9", kind: "DC-DC", out_a: 20.0, absorb_v: 14.2, efficiency_pct: 90.0, alternator_low_v: 13.2)"#,
    );
    for (id, from, to, fuse) in [("D3", "SB", "D9", "from"), ("D4", "D9", "BUS", "to")] {
        p = insert(
            &p,
            "runs",
            &format!(
                r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2 AWG", return_path: "chassis", measured_ohm: 0.01,
                    legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
                    protection: [(id: "F1", at: "{fuse}", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#
            ),
        );
    }
    let r = evaluate(&p);
    let bond_a = 20.0 + design(&r, "D1");
    near("bond", Ok(design(&r, "W7")), bond_a, 1e-9);
    let bond = of(&r, "W7");
    let bond_v = bond.resistance_ohm.clone().expect("known").0 * bond_a;
    let path = of(&r, "D4").path_drop_v.clone().expect("known").0;
    // The charger's own loop of 10 mohm at 20 A, the mains at both chargers' 40 A, the bond.
    let mains: f64 = ["W3", "W4"].iter().map(|run| of(&r, run).resistance_ohm.clone().expect("known").0 * 40.0).sum();
    near("path", Ok(path), 0.2 + mains + bond_v, 1e-6);
}

/// A combiner's line charges the bank over the chassis: what is entered for it is on the bond.
#[test]
fn what_the_vehicle_brings_over_the_chassis_is_on_the_bond() {
    let line = |back: &str, amps: &str| {
        let more = format!(r#"return_path: "{back}", {amps}"#);
        evaluate(&isolated(&with(&sound(), &[("runs.W7.gauge", gauge("4 AWG"))]), [&more, &more], 150.0))
    };
    near(
        "entered",
        Ok(design(&line("chassis", "design_override_a: 80.0, override_reason: \"sheet\","), "W7")),
        80.0,
        1e-9,
    );
    near(
        "by wire",
        Ok(design(&line("pair", "design_override_a: 80.0, override_reason: \"sheet\","), "W7")),
        0.0,
        1e-12,
    );
    // As long as nobody has entered it, the bond waits for it.
    let open = line("chassis", "");
    let waits = of(&open, "W7").design_a.clone().expect_err("not known");
    assert_eq!(waits.0.as_str(), "runs.X1.design_override_a");
}

/// What is entered for one run of a line flows in all of it (Kirchhoff's current law at the isolator); without a working current
/// it is the largest. Nothing of the line waits then, and nothing is said to be overridden but what is.
#[test]
fn what_is_entered_for_one_run_of_a_line_is_that_of_the_other() {
    let p = isolated(&sound(), ["", r#"design_override_a: 80.0, override_reason: "sheet","#], 90.0);
    let r = evaluate(&p);
    for run in ["X1", "X2"] {
        near(run, Ok(design(&r, run)), 80.0, 1e-9);
        near(run, of(&r, run).drop_at_a.clone().map(|a| a.0), 80.0, 1e-9);
        // 1.25 x 80 A are more than 90.
        assert!(says(&r, "fuse-below-design", &format!("runs.{run}")), "{}", texts(&r));
    }
    assert!(!r.not_checked.iter().any(|x| x.subject.as_str().starts_with("runs.X")), "{:?}", r.not_checked);
    assert!(!r.findings.iter().any(|f| f.check.id.starts_with("current-overridden")), "{}", texts(&r));
    let working = evaluate(&with(&p, &[("runs.X2.drop_override_a", n(60.0))]));
    near("working", of(&working, "X1").drop_at_a.clone().map(|a| a.0), 60.0, 1e-9);
    near("largest", Ok(design(&working, "X1")), 80.0, 1e-9);
}

/// 5 A over the chassis: the path is that of the positive to the panel and on, the measured loop of 20 mohm, and the bond.
#[test]
fn a_bond_that_brings_current_back_is_on_the_path() {
    let chassis: &[(&str, Value)] = &[
        ("runs.W6.return_path", word("chassis")),
        ("runs.W6.measured_ohm", n(0.02)),
        ("runs.W7.gauge", gauge("8 AWG")),
    ];
    let short = with(&sound(), chassis);
    let long = with(&short, &[("runs.W7.legs.L1.length_m", n(5.0))]);
    let (r, far) = (evaluate(&short), evaluate(&long));
    let path = |r: &Report| of(r, "W6").path_drop_v.clone().expect("known").0;
    let lost = |r: &Report| of(r, "W7").drop_v.clone().expect("known").0;
    assert!(of(&r, "W6").path.iter().any(|id| id.as_str() == "W7"), "{:?}", of(&r, "W6").path);
    near("what the bond adds", Ok(path(&far) - path(&r)), lost(&far) - lost(&r), 1e-9);
    // 8 AWG: 0.7640 ohm per 1000 ft of stranded copper at 75 C (NEC Ch. 9 Table 8: 0.778), less at 40 C and little load.
    let amps = of(&far, "W7").drop_at_a.clone().expect("known").0;
    let hand = 5.0 / 304.8 * 0.778 * (234.5 + 40.0) / (234.5 + 75.0) * amps;
    near("bond", Ok(lost(&far)), hand, 0.05);
    // Bonded at the bar it comes back beside the positives, as a pair's would.
    let pairs = evaluate(&with(&sound(), &[("runs.W6.measured_ohm", n(0.02))]));
    near("at the bar", Ok(path(&r) - lost(&r)), path(&pairs), 1e-9);
    // Bonded at the post it comes back by none of the negatives of 0.6 and 0.3 m: 4/0 AWG, 0.0499 ohm per 1000 ft at 20 C (NEC
    // Ch. 9 Table 8 reduced by 234.5 + T), at 41 C, two lugs of 0.05 mohm on each, and the inverter's 94.7 A with the load's 4.7.
    let post = evaluate(&with(&short, &[("runs.W7.from", Value::Id("BK-".parse().expect("id")))]));
    let negatives = 99.384 * (0.9 / 304.8 * 0.0499 * (234.5 + 41.0) / (234.5 + 20.0) + 4.0 * 0.05e-3);
    near("at the post", Ok(path(&pairs) - (path(&post) - lost(&post))), negatives, 0.03);
}

/// The main negative and the shunt's place carry what comes over the chassis to the bar that it is bonded at.
#[test]
fn what_comes_over_the_bond_goes_on_by_the_main_negative() {
    let mut p = insert(&sound(), "devices", r#"(id: "NEG", kind: "bus")"#);
    p = insert(
        &p,
        "runs",
        r#"(id: "NM", from: "BK-", to: "NEG", gauge: "4/0 AWG", return_path: "none", legs: [(id: "L1", length_m: 0.3,
            insulation_c: 105.0)])"#,
    );
    let neg = || Value::Id("NEG".parse().expect("id"));
    let ends = ["runs.W2.negative_to", "runs.W3.negative_from", "runs.W5.negative_from", "runs.W6.negative_from"];
    let p = with(&p, &ends.map(|at| (at, neg())));
    let p = with(&p, &[("runs.W7.from", neg()), ("runs.W7.gauge", gauge("4/0 AWG"))]);
    let winch = |back: &str| {
        insert(
            &insert(&p, "loads", r#"(id: "L2", watts_w: 600.0, hours_day: 0.1)"#),
            "runs",
            &format!(
                r#"(id: "W9", from: "BK", to: "L2", gauge: "4 AWG", return_path: "{back}", measured_ohm: 0.005,
                    legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
                    protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 70.0, distance_m: 0.1)])"#
            ),
        )
    };
    // 600 W at 12.0 V are 50 A more.
    let more = design(&evaluate(&winch("chassis")), "NM") - design(&evaluate(&p), "NM");
    near("main negative", Ok(more), 50.0, 1e-6);
}

/// On a bank of 24 V the 10 A that a converter gives at 12 V come back over the bond as they are: what it loses is on its other
/// side. 120 W at 24 V and 90 % are 5.6 A there.
#[test]
fn what_a_converter_gives_comes_over_the_bond_without_its_loss() {
    let r = evaluate(&super::plan(
        r#"(bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: 200.0, series: 2.0, parallel: 1.0, ohmic_mohm: 3.0),
        devices: [(id: "CV", kind: "12 V converter", ratings: (amps_a: 30.0), efficiency_pct: 90.0), (id: "FP", kind: "fuse panel"),
            (id: "CHS", kind: "chassis point")],
        loads: [(id: "L1", watts_w: 120.0, hours_day: 1.0, made_for: "12 V")],
        runs: [(id: "W1", from: "BK", to: "CV", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)]),
            (id: "W2", from: "CV", to: "FP", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)]),
            (id: "W3", from: "FP", to: "L1", gauge: "10 AWG", return_path: "chassis", measured_ohm: 0.01,
                legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 30.0, distance_m: 0.1)]),
            (id: "BD", from: "BK-", to: "CHS", gauge: "8 AWG", return_path: "none",
                legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)])])"#,
    ));
    near("load", Ok(design(&r, "W3")), 10.0, 1e-9);
    near("bond", Ok(design(&r, "BD")), 10.0, 1e-9);
    near("input", Ok(design(&r, "W1")), 120.0 / 24.0 / 0.9, 1e-9);
}

/// A charger's input line entered at more than its own 23 A counts on the line that it branches off; what is entered as less
/// changes the run itself alone.
#[test]
fn what_is_entered_for_a_dc_dc_line_reaches_the_batterys_own() {
    let mut p = van("pair", "pair", "4 AWG");
    p = insert(&p, "devices", r#"(id: "VB", kind: "bus")"#);
    p = with(&p, &[("runs.D1.from", Value::Id("VB".parse().expect("id")))]);
    p = insert(
        &p,
        "runs",
        r#"(id: "D0", from: "SB", to: "VB", gauge: "2 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#,
    );
    let own = design(&evaluate(&p), "D0");
    near("one charger", Ok(own), design(&evaluate(&p), "D1"), 1e-9);
    let entered = |amps: f64| {
        let edits = [("runs.D1.design_override_a", n(amps)), ("runs.D1.override_reason", Value::Text("sheet".into()))];
        evaluate(&with(&p, &edits))
    };
    let r = entered(55.0);
    near("line", Ok(design(&r, "D0")), 55.0, 1e-6);
    // A fuse of 60 A is less than 1.25 x 55.
    assert!(says(&r, "fuse-below-design", "runs.D0"), "{}", texts(&r));
    let r = entered(5.0);
    near("less", Ok(design(&r, "D0")), own, 1e-9);
    near("its own", Ok(design(&r, "D1")), 5.0, 1e-9);
    // Nor does it reach the bank's side.
    near("output", Ok(design(&entered(55.0), "D2")), 20.0, 1e-9);
    near("main", Ok(design(&entered(55.0), "W3")), design(&evaluate(&p), "W3"), 1e-9);
}

/// A working current entered as more is drawn over all that feeds it (Kirchhoff); one entered as less is not taken off it.
#[test]
fn a_working_current_entered_as_more_counts_upstream() {
    let r = |amps: Option<f64>| {
        let edits = amps
            .map(|a| [("runs.W6.drop_override_a", n(a)), ("runs.W6.override_reason", Value::Text("measured".into()))]);
        evaluate(&edits.map_or_else(sound, |e| with(&sound(), &e)))
    };
    let main = |r: &Report| of(r, "W3").drop_at_a.clone().expect("known").0;
    let own = of(&r(None), "W6").drop_at_a.clone().expect("known").0;
    near("more", Ok(main(&r(Some(own + 20.0))) - main(&r(None))), 20.0, 1e-6);
    near("less", Ok(main(&r(Some(own - 1.0)))), main(&r(None)), 1e-9);
}

/// The sentence names the start battery whose amps are in the figure, and the bank where that joins a start battery's fault.
#[test]
fn a_fault_of_several_batteries_names_them() {
    let mut p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator")"#);
    for (id, from, to, at) in [("X1", "SB", "ISO", "from"), ("X2", "ISO", "BUS", "to")] {
        p = insert(
            &p,
            "runs",
            &format!(
                r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2/0 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
                    protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)])"#
            ),
        );
    }
    let weak = |p: &Plan, run: &str| with(p, &[(format!("runs.{run}.protection.F1.interrupt_a").as_str(), n(1000.0))]);
    let said = |p: &Plan, run: &str| {
        let r = evaluate(p);
        let at = format!("runs.{run}");
        let all = found(&r, "interrupt-below-fault");
        all.iter().find(|f| f.subject.as_str() == at).unwrap_or_else(|| panic!("{}", texts(&r))).text()
    };
    assert!(said(&weak(&p, "W5"), "W5").contains("the fault there with SB is "), "{}", said(&weak(&p, "W5"), "W5"));
    // Without it, and at the bank's own post, where it has no part in it.
    assert!(!said(&weak(&sound(), "W5"), "W5").contains(" with "));
    assert!(!said(&weak(&p, "W3"), "W3").contains("with SB"), "{}", said(&weak(&p, "W3"), "W3"));
}
