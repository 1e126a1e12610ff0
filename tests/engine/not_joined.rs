//! A plan being drawn shows no wrong stop: what hangs together without the bank is said once, and waits.
//!
//! Source: common practice: a run's current and the end its fuse belongs at follow from the bank; a safety
//! check that could not run is *not checked*.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};

fn of(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn without(p: &Plan, runs: &[&str]) -> Plan {
    let edits = runs.iter().map(|r| Edit::Remove { at: FieldPath::new(format!("runs.{r}")) });
    p.with(&Step { name: "out".into(), edits: edits.collect() }).expect("there")
}

fn stops(r: &Report) -> Vec<String> {
    r.findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.text()).collect()
}

/// What waits for a run, as `check subject`.
fn waiting(r: &Report) -> Vec<String> {
    let of = r.not_checked.iter().filter(|n| n.waits_for.as_str() == "runs");
    of.map(|n| format!("{} {}", n.check, n.subject)).collect()
}

fn said(r: &Report) -> Vec<String> {
    let of = |f: &&coachwire::engine::Finding| {
        f.check.id.contains("without") || f.check.id.contains("not-joined") || f.check.id.contains("unconnected")
    };
    r.findings.iter().filter(of).map(|f| format!("{} {} {}", f.level, f.check.id, f.subject)).collect()
}

/// The main run out, whichever part of it: one caution names what it would join, and four checks wait.
#[test]
fn a_bank_that_is_not_joined_is_one_finding() {
    for (plan, runs, want) in [
        ("marram", &["W3"][..], "BUS is not joined to the bank: no run leads from BK to C1, INV, CH1, CH2 and FP;"),
        ("marram", &["W4"], "BUS is not joined to the bank: no run leads from BK to C1, INV, CH1, CH2 and FP;"),
        ("larkspur", &["W3"], "BUS is not joined to the bank: no run leads from BK to C1, C2, INV, CH1 and FP;"),
        ("larkspur", &["W6"], "BUS is not joined to the bank: no run leads from BK to C1, C2, INV, CH1 and FP;"),
    ] {
        let whole = evaluate(&of(plan));
        assert_eq!((stops(&whole), said(&whole)), (Vec::new(), Vec::new()), "{plan}");
        let r = evaluate(&without(&of(plan), runs));
        assert_eq!(stops(&r), Vec::<String>::new(), "{plan} without {runs:?}");
        assert_eq!(said(&r), ["caution bank-not-joined devices.BUS"], "{plan} without {runs:?}\n{}", texts(&r));
        let text = found(&r, "bank-not-joined")[0].text();
        assert!(text.starts_with(want), "{text}");
        for check in ["conductor-below-current", "source-end-unfused", "fuse-below-design", "interrupt-below-fault"] {
            assert!(waiting(&r).contains(&format!("{check} devices.BUS")), "{check}: {:?}", r.not_checked);
        }
        // No inverter's current on a charger's lead: nothing is known there.
        let lead = r.runs.iter().find(|x| x.id.as_str() == "W8").expect("W8");
        assert!(lead.design_a.as_ref().is_err_and(|m| m.0.as_str() == "runs"), "{:?}", lead.design_a);
        assert!(lead.proposed.is_none());
        assert!(r.unknown.iter().any(|p| p.as_str() == "runs"));
    }
}

/// No run on the bank's posts at all is said of the bank, and once.
#[test]
fn no_run_on_the_bank_is_said_of_the_bank() {
    let r = evaluate(&without(&of("marram"), &["W3", "W4", "W14"]));
    assert_eq!(said(&r), ["caution bank-without-run bank"], "{}", texts(&r));
    assert_eq!(stops(&r), Vec::<String>::new());
    assert!(waiting(&r).contains(&"fuse-below-design bank".to_string()), "{:?}", r.not_checked);
}

/// A fuse panel and its branches, the feed out; a stray load keeps its own word; what is joined says nothing.
#[test]
fn each_part_that_is_not_joined_is_said_by_its_heart() {
    let r = evaluate(&without(&of("marram"), &["W9"]));
    assert_eq!(said(&r), ["caution bank-not-joined devices.FP"], "{}", texts(&r));
    let text = found(&r, "bank-not-joined")[0].text();
    assert!(text.starts_with("FP is not joined to the bank: no run leads from BK to L1, L2, L3 and L4;"), "{text}");
    // Two parts, two findings.
    let r = evaluate(&without(&of("larkspur"), &["W6", "W9"]));
    assert_eq!(
        said(&r),
        ["caution bank-not-joined devices.BUS", "caution bank-not-joined devices.FP"],
        "{}",
        texts(&r)
    );
    // A fuse above its own wire is wrong whatever it will be joined to: 10 AWG, 30 A (former NEC 551.10, from memory).
    let p = with(
        &without(&sound(), &["W3"]),
        &[
            ("runs.W6.gauge", Value::Gauge("10 AWG".parse().expect("gauge"))),
            ("runs.W6.protection.F1.amps_a", Value::Number(80.0)),
        ],
    );
    assert!(says(&evaluate(&p), "fuse-above-conductor", "runs.W6"), "{}", texts(&evaluate(&p)));
}

/// A DC-DC charger's output is not taken for its input while nothing stands at its other end yet.
#[test]
fn an_output_with_nothing_beyond_is_no_input() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(&p, "devices", r#"(id: "B2", kind: "bus")"#);
    let p = insert(&p, "chargers", r#"(id: "DC", kind: "DC-DC", out_a: 40.0, efficiency_pct: 90.0, absorb_v: 14.2)"#);
    let line = |from: &str, to: &str| {
        format!(
            r#"(id: "W20", from: "{from}", to: "{to}", gauge: "10 AWG", legs: [(id: "L1", length_m: 4.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#
        )
    };
    let r = evaluate(&insert(&p, "runs", &line("DC", "B2")));
    let out = r.runs.iter().find(|x| x.id.as_str() == "W20").expect("W20");
    assert!(out.design_a.as_ref().is_err_and(|m| m.0.as_str() == "runs"), "{:?}", out.design_a);
    assert!(says(&r, "bank-not-joined", "devices.B2"), "{}", texts(&r));
    // Drawn towards the charger, it is its input, at the current of its constant power.
    let r = evaluate(&insert(&p, "runs", &line("B2", "DC")));
    let input = r.runs.iter().find(|x| x.id.as_str() == "W20").expect("W20");
    assert!(input.design_a.as_ref().is_ok_and(|a| a.0 > 40.0), "{:?}", input.design_a);
}

/// A load that the start battery feeds, and one on a controller's own terminals, wait for no bank.
#[test]
fn other_sources_are_sources() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(&p, "loads", r#"(id: "L9", watts_w: 24.0, hours_day: 1.0)"#);
    let branch = |from: &str| {
        format!(
            r#"(id: "W20", from: "{from}", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.1)])"#
        )
    };
    for from in ["SB", "C1"] {
        let r = evaluate(&insert(&p, "runs", &branch(from)));
        // 24 W at 12 V of lithium: 2 A; the start battery is of lead, at 11 V.
        let run = r.runs.iter().find(|x| x.id.as_str() == "W20").expect("W20");
        let want = if from == "SB" { 24.0 / 11.0 } else { 2.0 };
        super::near(from, run.design_a.clone().map(|a| a.0), want, 1e-9);
        assert!(found(&r, "bank-not-joined").is_empty(), "{from}\n{}", texts(&r));
    }
}

/// Source: common practice: what could cut a detector off is not known before its run is drawn; a panel that only stands for
/// it says nothing.
#[test]
fn life_safety_waits_for_its_run() {
    let waits = |r: &Report| waiting(r).contains(&"life-safety-behind-switch loads.L1".to_string());
    let vital =
        with(&sound(), &[("loads.L1.life_safety", word("yes")), ("bank.discharge_cutoff_v", Value::Number(10.8))]);
    let brakes = with(&vital, &[("loads.L1.name", Value::Text("breakaway brakes".into()))]);
    for p in [&vital, &brakes] {
        let r = evaluate(p);
        assert!(waits(&r), "{:?}", r.not_checked);
        assert!(r.findings.iter().all(|f| f.subject.as_str() != "loads.L1"), "{}", texts(&r));
    }
    let drawn = with(&vital, &[("runs.W6.to", Value::Id("L1".parse().expect("id")))]);
    let r = evaluate(&drawn);
    assert!(!waits(&r) && says(&r, "life-safety-behind-switch", "loads.L1"), "{}", texts(&r));
    // Its path is not held to the 3 % of ABYC E-11 either.
    let r = evaluate(&without(&of("marram"), &["W15"]));
    assert!(found(&r, "drop-over-target").is_empty(), "{}", texts(&r));
}

/// From memory, BS EN 50272-2: flooded batteries want an area of 28 x 0.05 n I C/1000 cm2; one that nobody gave is not checked.
#[test]
fn vents_of_unknown_area_are_not_checked() {
    let flooded = |area: Value| {
        let edits = [
            ("bank.chemistry", word("flooded")),
            ("bank.vented", word("yes")),
            ("bank.parallel", Value::Number(1.0)),
            ("bank.unit_v", Value::Number(12.0)),
            ("bank.unit_ah", Value::Number(225.0)),
            ("bank.vent_area_cm2", area),
        ];
        evaluate(&with(&sound(), &edits))
    };
    let waits = |r: &Report| {
        r.not_checked.iter().any(|n| n.check == "vents-small" && n.waits_for.as_str() == "bank.vent_area_cm2")
    };
    assert!(waits(&flooded(Value::Nothing)) && waits(&flooded(Value::Unknown)));
    // 0.05 x 6 x 20 x 225/1000 = 1.35 m3/h, x 28 = 37.8 cm2: the formula governs, and is what is quoted.
    let small = flooded(Value::Number(20.0));
    assert!(!waits(&small));
    let source = found(&small, "vents-small")[0].source.to_string();
    assert!(source.starts_with("IEC 62485-2 28 x 0.05 n I C/1000"), "{source}");
    assert!(found(&flooded(Value::Number(38.0)), "vents-small").is_empty() && !waits(&flooded(Value::Number(38.0))));
    // 40 Ah: 6.7 cm2 by the formula, so that the 1.7 in2 of NEC 552.10(D) govern.
    let few = [
        ("bank.unit_ah", Value::Number(40.0)),
        ("bank.chemistry", word("flooded")),
        ("bank.vented", word("yes")),
        ("bank.parallel", Value::Number(1.0)),
        ("bank.vent_area_cm2", Value::Number(8.0)),
    ];
    let r = evaluate(&with(&sound(), &few));
    assert!(found(&r, "vents-small")[0].source.to_string().starts_with("NEC 552.10(D)"));
    // Lithium needs none.
    assert!(!evaluate(&sound()).not_checked.iter().any(|n| n.check == "vents-small"));
}

/// Source: NEC 552.10(E), 18 in; 7 in common practice: nothing up to 7 in, a note to 18 in, a stop beyond; the note names both.
#[test]
fn the_note_of_a_far_fuse_names_both_limits() {
    let at = |m: f64| {
        let p = with(
            &sound(),
            &[("runs.W3.protection.F1.distance_m", Value::Number(m)), ("job.length_unit", word("feet"))],
        );
        let r = evaluate(&p);
        let f = found(&r, "fuse-far-from-source").into_iter().next().cloned();
        f.map(|f| (f.level, coachwire::wording::findings::sentence(&p, &f)))
    };
    let (level, text) = at(0.3048).expect("12 in");
    assert_eq!(level, Level::Note);
    assert_eq!(text, "W3: its fuse sits 12\" of wire from BK, over 7\" but at most 18\"");
    let (level, text) = at(0.508).expect("20 in");
    assert_eq!(level, Level::Stop);
    assert_eq!(text, "W3: its fuse sits 20\" of wire from BK, at most 18\"");
    assert_eq!(at(0.1778), None);
}

/// Constant power over a line, Ohm's law: no real root of V2 - V E + P R = 0: 20 A x 14.2 V / 0.9 = 316 W at 13.2 V have none from
/// 0.138 ohm on; 24 m of 16 AWG are 0.33 ohm (NEC Chapter 9 Table 8). What the run waits for is its wire.
#[test]
fn a_line_without_a_solution_waits_for_its_gauge() {
    let thin = [
        ("runs.W10.gauge", Value::Gauge("16 AWG".parse().expect("gauge"))),
        ("runs.W10.legs.L1.length_m", Value::Number(12.0)),
    ];
    let p = with(&super::lines::dc_dc("6 AWG"), &thin);
    let r = evaluate(&p);
    assert!(says(&r, "dc-dc-drops-out", "chargers.DC"), "{}", texts(&r));
    let line = r.runs.iter().find(|x| x.id.as_str() == "W10").expect("W10");
    assert!(line.design_a.as_ref().is_err_and(|m| m.0.as_str() == "runs.W10.gauge"), "{:?}", line.design_a);
    // It is known, though, and no unknown.
    assert!(!r.unknown.iter().any(|p| p.as_str() == "runs.W10.gauge"), "{:?}", r.unknown);
    super::cures::is_curable(&p, "dc-dc-drops-out", "chargers.DC");
}

/// A drawing of a right plan in any of its unfinished states says no stop: any one run or two of it not drawn yet, its runs
/// drawn in their order, in the other, and from the ends inwards.
#[test]
fn an_unfinished_drawing_of_a_right_plan_has_no_stop() {
    let mut states = 0;
    for name in ["marram", "larkspur", "sorrel", "bramble"] {
        let whole = of(name);
        let ids: Vec<String> = whole.runs.iter().map(|r| r.id.to_string()).collect();
        let mut engine = coachwire::engine::Engine::default();
        let mut no_stop = |what: &str, out: &[&str]| {
            let r = engine.evaluate_wires(&without(&whole, out), &coachwire::stock::Stock::default());
            assert_eq!(stops(&r), Vec::<String>::new(), "{name} {what}: without {out:?}");
            states += 1;
        };
        for (i, a) in ids.iter().enumerate() {
            no_stop("one out", &[a]);
            for b in ids.iter().skip(i + 1) {
                no_stop("two out", &[a, b]);
            }
            let all: Vec<&str> = ids.iter().map(String::as_str).collect();
            no_stop("in order", &all[i..]);
            no_stop("backwards", &all[..=i]);
            no_stop("inwards", &all[i / 2..all.len() - i / 2]);
        }
    }
    assert!(states > 400, "{states}");
}
