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
    is_curable(&wrong, "posts-joined", "runs.W21");
    // What only follows from it is told with it, that of the run itself too.
    let r = evaluate(&wrong);
    let others: Vec<_> = r.findings.iter().filter(|f| !evaluate(&sound()).says(f) && f.level != Level::Note).collect();
    assert!(others.len() == 1 && others[0].check.id == "posts-joined", "{}", texts(&r));
    // Between batteries in series it is their jumper.
    let series = with(&wrong, &[("bank.series", n(2.0)), ("bank.unit_v", n(6.4))]);
    assert!(found(&evaluate(&series), "posts-joined").is_empty());
}

/// The sound plan on 25.6 V, its panel behind a converter.
pub(super) fn on_24() -> Plan {
    let p = with(
        &sound(),
        &[
            ("bank.unit_v", n(25.6)),
            ("bank.ohmic_mohm", n(9.0)),
            ("controllers.C1.absorb_v", n(28.4)),
            ("runs.W6.to", id("CV")),
        ],
    );
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
    is_curable(&insert(&on_24(), "runs", &branch("W11", "BUS")), "rails-joined", "loads.L1");
}

#[test]
fn a_converter_with_two_feeds_is_said() {
    assert!(found(&evaluate(&on_24()), "converter-two-feeds").is_empty());
    let run =
        r#"(id: "W12", from: "BUS", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&on_24(), "runs", run));
    assert!(says(&r, "converter-two-feeds", "devices.CV"), "{}", texts(&r));
}

/// What joins two rails or feeds a converter twice is taken back by one key, and what only follows from it is gathered under
/// it: it is gone with the run. What stands without that run too stays listed.
#[test]
fn what_follows_from_a_second_feed_is_gathered_under_it() {
    let run = r#"(id: "W12", from: "BUS", to: "FP", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let wrong = insert(&on_24(), "runs", run);
    let r = evaluate(&wrong);
    let f = found(&r, "converter-two-feeds");
    assert_eq!((f.len(), f[0].level), (1, Level::Stop), "{}", texts(&r));
    assert!(f[0].text().contains(" from it and "), "{}", f[0].text());
    assert!(f[0].text().contains("not listed: "), "{}", f[0].text());
    let gathered = |r: &coachwire::engine::Report| r.findings.iter().filter(|f| f.level == Level::Stop).count();
    is_curable(&wrong, "converter-two-feeds", "devices.CV");
    let steps = super::cures::cures(&wrong, "converter-two-feeds", "devices.CV");
    assert_eq!(steps[0].name, "W12 removed: CV has its other run");
    assert_eq!(evaluate(&wrong.with(&steps[0]).expect("applies")).findings, evaluate(&on_24()).findings);

    // A stop that has nothing to do with it stays: a fuse too large for its branch.
    let also = with(&wrong, &[("runs.W10.protection.F1.amps_a", n(40.0))]);
    let both = evaluate(&also);
    assert!(says(&both, "fuse-above-conductor", "runs.W10"), "{}", texts(&both));
    assert_eq!(gathered(&both), gathered(&r) + 1, "{}", texts(&both));
    // Accepted, the cause hides nothing: what follows is listed.
    let reason = r#"(id: "AC1", finding: "converter-two-feeds", subject: "devices.CV", reason: "to be seen there")"#;
    let seen = evaluate(&insert(&wrong, "accepted", reason));
    assert!(seen.findings.len() > r.findings.len(), "{}", texts(&seen));
}

/// Two in series open at 55 V cold (49.8 V x 1.1036): the bus, made for 32 V, and all behind it follow from the panels' run; the
/// breaker of 16 V in the bank's own lead would be too low without it as well.
#[test]
fn what_follows_from_panels_on_the_bus_is_gathered_under_them() {
    let p = with(
        &sound(),
        &[
            ("devices.BUS.ratings.volts_dc_v", n(32.0)),
            ("devices.FP.ratings.volts_dc_v", n(32.0)),
            ("runs.W1.to", id("BUS")),
        ],
    );
    let r = evaluate(&p);
    let stops: Vec<&str> = r.findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.check.id).collect();
    assert_eq!(stops, ["panels-on-bank"], "{}", texts(&r));
    let text = found(&r, "panels-on-bank")[0].text();
    assert!(text.contains(" follow from it and are not listed: ") && text.contains("BUS"), "{text}");
    is_curable(&p, "panels-on-bank", "arrays.A1");
    let own = with(&p, &[("devices.SW.ratings.volts_dc_v", n(12.0))]);
    let r = evaluate(&own);
    assert!(says(&r, "device-volts-low", "devices.SW"), "{}", texts(&r));
}

/// A second converter beside the first on one panel: each has its own input, what the other gives is none. 360 W on 12 V are
/// 30 A, of which one of 20 A gives 20 A at most.
#[test]
fn two_converters_on_one_panel_are_no_second_feed() {
    let beside = |watts: f64| {
        let p = with(
            &on_24(),
            &[
                ("loads.L1.watts_w", n(watts)),
                ("runs.W10.gauge", Value::Gauge("8 AWG".parse().expect("gauge"))),
                ("runs.W10.protection.F1.amps_a", n(40.0)),
                ("runs.W10.protection.F1.family", word("UL 248-15 T")),
            ],
        );
        let p = insert(&p, "devices", r#"(id: "CV2", kind: "12 V converter", ratings: (amps_a: 20.0))"#);
        let feed = r#"(id: "W13", from: "BUS", to: "CV2", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#;
        let gives = r#"(id: "W14", from: "CV2", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
        insert(&insert(&p, "runs", feed), "runs", gives)
    };
    let r = evaluate(&beside(360.0));
    assert!(found(&r, "converter-two-feeds").is_empty() && found(&r, "loop").is_empty(), "{}", texts(&r));
    // Class T opens 20 kA, which 25.6 V of these batteries exceed.
    let stops = r.findings.iter().filter(|f| f.level == Level::Stop && f.check.id != "interrupt-below-fault");
    assert_eq!(stops.count(), 0, "{}", texts(&r));
    assert!(found(&r, "converter-over-limit").is_empty(), "{}", texts(&r));
    let design = |r: &coachwire::engine::Report, run: &str| {
        r.runs.iter().find(|x| x.id.as_str() == run).expect("run").design_a.clone().map(|a| a.0)
    };
    for (feed, gives) in [("W6", "W9"), ("W13", "W14")] {
        super::near(gives, design(&r, gives), 20.0, 1e-6);
        // Its 20 A at 12 V are 10 A of 24 V, and what is lost: a tenth where no sheet says (common practice).
        super::near(feed, design(&r, feed), 10.0 / 0.9, 1e-6);
    }
    // 50 A are more than both give: 25 A each.
    let r = evaluate(&beside(600.0));
    let over = found(&r, "converter-over-limit");
    assert_eq!(over.len(), 2, "{}", texts(&r));
    super::near("each", Ok(over[0].n(0)), 25.0, 1e-6);
    // The wrong twin: the panel on the bus as well.
    let run =
        r#"(id: "W12", from: "BUS", to: "FP", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&beside(360.0), "runs", run));
    assert!(
        says(&r, "converter-two-feeds", "devices.CV") || says(&r, "converter-two-feeds", "devices.CV2"),
        "{}",
        texts(&r)
    );
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

/// An inverter that switches off above where a full bank rests (13.3 V LFP, common practice).
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

/// The bank has a label too: 50 C at most, an engine bay at 80 C (common practice).
#[test]
fn a_bank_in_air_above_its_label_is_said() {
    let p = with(&sound(), &[("bank.ratings.max_ambient_c", n(50.0)), ("bank.zone", word("engine bay"))]);
    let r = evaluate(&p);
    let f = found(&r, "device-too-hot");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].n(0)), (1, "bank", 80.0), "{}", texts(&r));
    let cool = with(&p, &[("bank.zone", word("cabinet"))]);
    assert!(found(&evaluate(&cool), "device-too-hot").is_empty());
}

/// A start battery on the 12 V side of a converter from 24 V charges no bank: nothing comes up through it. On the bank's own bus
/// it does.
#[test]
fn nothing_charges_the_bank_through_a_converter_down() {
    let p = insert(&on_24(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let line = |to: &str| {
        let run = format!(
            r#"(id: "W21", from: "SB", to: "{to}", gauge: "4 AWG", legs: [(id: "L1", length_m: 4.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1),
                (id: "F2", at: "to", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#
        );
        evaluate(&insert(&p, "runs", &run))
    };
    assert!(found(&line("FP"), "alternator-on-lithium").is_empty(), "{}", texts(&line("FP")));
    assert!(says(&line("BUS"), "alternator-on-lithium", "devices.SB"), "{}", texts(&line("BUS")));
}
