//! What must not be joined is one sentence with the cause: panels on the bank, two posts, two rails, a second feed.

use super::cures::is_curable;
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

#[test]
fn panels_straight_on_the_bank_are_a_stop() {
    let wrong = with(&sound(), &[("runs.W1.to", id("BK"))]);
    let r = evaluate(&wrong);
    let f = found(&r, "panels-on-bank");
    assert_eq!((f.len(), f[0].level, f[0].subject.as_str()), (1, Level::Stop, "arrays.A1"), "{}", texts(&r));
    assert!(f[0].text().contains("by W1 with no controller"), "{}", f[0].text());
    is_curable(&wrong, "panels-on-bank", "arrays.A1");
    // On the bus the run of the panels is moved, not the bank's own.
    let bus = with(&sound(), &[("runs.W1.to", id("BUS"))]);
    is_curable(&bus, "panels-on-bank", "arrays.A1");
    assert_eq!(super::cures::cures(&bus, "panels-on-bank", "arrays.A1")[0].name, "W1: to C1");
    assert!(found(&evaluate(&sound()), "panels-on-bank").is_empty());
}

/// The wire decides which controller the cold volts reach. 2S of 24.9 V at -12 C: 49.8 V x 1.1036 = 55 V, over 50 V.
#[test]
fn an_array_is_judged_on_the_controller_its_runs_lead_to() {
    let other = r#"(id: "C2", kind: "tracking", max_pv_v: 250.0, max_pv_a: 60.0, out_a: 52.0, run_headroom_v: 1.0,
        start_headroom_v: 5.0, absorb_v: 14.2)"#;
    let p = with(&insert(&sound(), "controllers", other), &[("controllers.C1.max_pv_v", n(50.0))]);
    for named in ["C2", "ZZ"] {
        let wrong = with(&p, &[("arrays.A1.controller", id(named))]);
        let r = evaluate(&wrong);
        assert!(says(&r, "cold-voc-over-limit", "arrays.A1"), "{named}:\n{}", texts(&r));
        let f = found(&r, "array-controller-differs");
        assert_eq!((f.len(), f[0].name(1), f[0].name(2)), (1, named, "C1"), "{}", texts(&r));
        is_curable(&wrong, "array-controller-differs", "arrays.A1");
    }
    assert!(found(&evaluate(&sound()), "array-controller-differs").is_empty());
    // With no run drawn the name is all there is.
    let mut bare = with(&p, &[("arrays.A1.controller", id("C2"))]);
    bare.runs.remove(0);
    let r = evaluate(&bare);
    assert!(found(&r, "array-controller-differs").is_empty(), "{}", texts(&r));
    assert!(!says(&r, "cold-voc-over-limit", "arrays.A1"), "{}", texts(&r));
}

#[test]
fn a_run_between_the_two_posts_is_a_dead_short() {
    let run = r#"(id: "W21", from: "BK", to: "BK-", gauge: "4/0 AWG", legs: [(id: "L1", length_m: 0.2, insulation_c: 105.0)])"#;
    let wrong = insert(&sound(), "runs", run);
    assert!(says(&evaluate(&wrong), "posts-joined", "runs.W21"), "{}", texts(&evaluate(&wrong)));
    // Between batteries in series it is their jumper.
    let series = with(&wrong, &[("bank.series", n(2.0)), ("bank.unit_v", n(6.4))]);
    assert!(found(&evaluate(&series), "posts-joined").is_empty());
}

/// The sound plan on 25.6 V, its panel behind a converter.
fn on_24() -> Plan {
    let p = with(&sound(), &[("bank.unit_v", n(25.6)), ("controllers.C1.absorb_v", n(28.4)), ("runs.W6.to", id("CV"))]);
    let p = insert(&p, "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 20.0))"#);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W9", from: "CV", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#,
    );
    insert(&p, "runs", &branch("W10", "FP"))
}

fn branch(name: &str, from: &str) -> String {
    format!(
        r#"(id: "{name}", from: "{from}", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.1)])"#
    )
}

#[test]
fn one_load_on_both_sides_of_a_converter_joins_them() {
    assert!(found(&evaluate(&on_24()), "rails-joined").is_empty());
    let r = evaluate(&insert(&on_24(), "runs", &branch("W11", "BUS")));
    let f = found(&r, "rails-joined");
    assert_eq!((f.len(), f[0].level, f[0].subject.as_str()), (1, Level::Stop, "loads.L1"), "{}", texts(&r));
    // Two ways from the same side are none.
    let r = evaluate(&insert(&on_24(), "runs", &branch("W11", "FP")));
    assert!(found(&r, "rails-joined").is_empty(), "{}", texts(&r));
}

#[test]
fn a_converter_with_two_feeds_is_said() {
    assert!(found(&evaluate(&on_24()), "converter-two-feeds").is_empty());
    let run =
        r#"(id: "W12", from: "BUS", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&on_24(), "runs", run));
    assert!(says(&r, "converter-two-feeds", "devices.CV"), "{}", texts(&r));
}

/// 1000 W from an inverter are 8 A on 120 V, not 83 A on 12 V.
#[test]
fn a_branch_on_ac_is_left_out() {
    let p = with(&sound(), &[("loads.L1.supply", word("inverter"))]);
    let run =
        r#"(id: "W21", from: "INV", to: "L1", gauge: "14 AWG", legs: [(id: "L1", length_m: 5.0, insulation_c: 90.0)])"#;
    let r = evaluate(&insert(&p, "runs", run));
    let said: Vec<&str> = r.findings.iter().filter(|f| f.subject.as_str() == "runs.W21").map(|f| f.check.id).collect();
    assert_eq!(said, ["run-on-ac"], "{}", texts(&r));
    assert!(found(&evaluate(&p), "run-on-ac").is_empty());
}

/// An inverter that switches off above where a full bank rests (13.3 V LFP, the volts of a fault in rules.md section 7).
#[test]
fn an_inverter_for_more_volts_is_said() {
    for (volts, want) in [(21.0, true), (13.5, true), (11.0, false), (12.0, false)] {
        let p = with(&sound(), &[("inverters.INV.cutoff_v", n(volts))]);
        assert_eq!(says(&evaluate(&p), "inverter-cut-off-high", "inverters.INV"), want, "{volts}");
        if want {
            is_curable(&p, "inverter-cut-off-high", "inverters.INV");
        }
    }
}

/// The bank has a label too: 50 C at most, an engine bay at 80 C (rules.md section 2).
#[test]
fn a_bank_in_air_above_its_label_is_said() {
    let p = with(&sound(), &[("bank.ratings.max_ambient_c", n(50.0)), ("bank.zone", word("engine bay"))]);
    let r = evaluate(&p);
    let f = found(&r, "device-too-hot");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].n(0)), (1, "bank", 80.0), "{}", texts(&r));
    let cool = with(&p, &[("bank.zone", word("cabinet"))]);
    assert!(found(&evaluate(&cool), "device-too-hot").is_empty());
}
