//! Places that several ways feed: what comes there is what all of them bring together, in what hangs there and in the leads of
//! batteries in parallel.

use super::cures::{cures, is_curable};
use super::mistakes::with as set;
use super::samples::SOUND;
use super::{evaluate, found, near, plan, says, texts};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::wiring::FuseAt;
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

const UNFUSED: &str = "source-end-unfused";
const FED: &str = "battery-lead-fed-by-others";

/// A run of the cabinet, with fuses at its ends; one without a rating has it still to be read.
fn line(id: &str, from: &str, to: &str, gauge: &str, fuses: &[(&str, &str)]) -> String {
    let fuse = |(n, (at, amps)): (usize, &(&str, &str))| {
        format!(r#"(id: "F{}", at: "{at}", family: "UL 248-15 T", amps_a: {amps}, distance_m: 0.1),"#, n + 1)
    };
    let fuses: String = fuses.iter().enumerate().map(fuse).collect();
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}",
            legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)], protection: [{fuses}]),"#
    )
}

fn with(devices: &str, runs: &[String]) -> Plan {
    let text = SOUND
        .replace("devices: [", &format!("devices: [{devices}"))
        .replace("    ],\n)", &format!("{}],\n)", runs.concat()));
    let loads = r#"loads: [(id: "L2", watts_w: 30.0, hours_day: 1.0), (id: "L3", watts_w: 20.0, hours_day: 1.0), "#;
    plan(&text.replace("loads: [", loads))
}

fn of<'a>(r: &'a Report, run: &str) -> Vec<&'a Finding> {
    r.findings.iter().filter(|f| f.run() == Some(run) && f.check.id == UNFUSED).collect()
}

/// Two feeds to two splices that are tied, and what hangs on each.
fn two_feeds(fuses: [&str; 2], gauge: &str) -> Plan {
    let runs = [
        line("W10", "FP", "SP", "12 AWG", &[("from", fuses[0])]),
        line("W11", "FP", "SP2", "12 AWG", &[("from", fuses[1])]),
        line("W12", "SP", "SP2", "8 AWG", &[]),
        line("W13", "SP", "L2", gauge, &[]),
        line("W14", "SP2", "L3", "8 AWG", &[]),
    ];
    with(r#"(id: "SP", kind: "splice"), (id: "SP2", kind: "splice"),"#, &runs)
}

/// Two fuses of 20 A feed a wire that takes 20 A with 40 A for ever.
///
/// Source: Kirchhoff's current law; former NEC 551.10, 20 A on 12 AWG; NEC 240.21.
#[test]
fn two_feeds_bring_both_their_fuses() {
    let p = two_feeds(["20.0", "20.0"], "12 AWG");
    let r = evaluate(&p);
    let all = of(&r, "W13");
    assert_eq!((all.len(), all[0].level, all[0].name(1)), (1, Level::Stop, "SP"), "{}", texts(&r));
    near("both", Ok(all[0].n(0)), 40.0, 1e-12);
    near("one", Ok(all[0].n(1)), 20.0, 1e-12);
    let text = all[0].text();
    assert!(text.contains("fuse F1 of W10") && text.contains("fuse F1 of W11") && text.contains("together"), "{text}");
    let working = Engine::default().explain(&p, &r, all[0]).join("\n");
    assert!(working.contains("fuse F1 of W10") && working.contains("fuse F1 of W11"), "{working}");
    // 8 AWG carries both: 2 x 20 A are no more than its 40 A and over.
    assert!(of(&r, "W14").is_empty() && of(&r, "W12").is_empty(), "{}", texts(&r));
    // The right twin: no more than 20 A by both together.
    assert!(of(&evaluate(&two_feeds(["10.0", "10.0"], "12 AWG")), "W13").is_empty());
    assert!(!of(&evaluate(&two_feeds(["10.0", "15.0"], "12 AWG")), "W13").is_empty());
    // Each cure holds: a fuse of its own, or wire for the sum.
    let steps = cures(&p, UNFUSED, "runs.W13");
    assert!(steps.len() > 1, "{steps:?}");
    for step in steps {
        assert!(of(&evaluate(&p.with(&step).expect("applies")), "W13").is_empty(), "{}", step.name);
    }
    let sized = p.with(&Engine::default().size_all(&p, &Stock::default(), false)).expect("applies");
    for run in ["W10", "W11", "W12", "W13", "W14"] {
        assert!(of(&evaluate(&sized), run).is_empty(), "{run}:\n{}", texts(&evaluate(&sized)));
    }
}

/// A rating that nobody has read is waited for where it decides, and only there.
#[test]
fn an_unread_rating_waits_where_it_matters() {
    let waits = |p: &Plan| {
        let own = |n: &&coachwire::engine::report::NotChecked| n.check == UNFUSED && n.subject.as_str() == "runs.W13";
        evaluate(p).not_checked.iter().find(own).map(|n| n.waits_for.to_string())
    };
    let p = two_feeds([r#""?""#, "10.0"], "12 AWG");
    assert!(of(&evaluate(&p), "W13").is_empty());
    assert_eq!(waits(&p).as_deref(), Some("runs.W10.protection.F1.amps_a"));
    // What the other brings is too much already.
    let p = two_feeds([r#""?""#, "30.0"], "12 AWG");
    assert_eq!((of(&evaluate(&p), "W13").len(), waits(&p)), (1, None), "{}", texts(&evaluate(&p)));
    // The panel's own 40 A and no more, whatever the fuse behind it is.
    let p = two_feeds([r#""?""#, "10.0"], "6 AWG");
    assert_eq!((of(&evaluate(&p), "W13").len(), waits(&p)), (0, None), "{}", texts(&evaluate(&p)));
}

/// A bar that the bank feeds past 150 A and a start battery past another 300 A brings a branch 450 A.
///
/// Source: Kirchhoff's current law.
#[test]
fn a_start_battery_adds_to_the_bank() {
    let starts = |gauge: &str, amps: &str| {
        let runs = [
            line("W20", "SB", "BUS", gauge, &[("from", amps), ("to", amps)]),
            line("W21", "BUS", "B2", "4/0 AWG", &[]),
            line("W22", "B2", "L2", "14 AWG", &[("from", "5.0")]),
        ];
        with(r#"(id: "SB", kind: "start battery", cca_a: 700.0), (id: "B2", kind: "bus"),"#, &runs)
    };
    let r = evaluate(&starts("4/0 AWG", "300.0"));
    let all = of(&r, "W21");
    assert_eq!(all.len(), 1, "{}", texts(&r));
    near("both", Ok(all[0].n(0)), 450.0, 1e-12);
    assert!(all[0].text().contains("fuse F1 of W20"), "{}", all[0].text());
    assert!(
        of(&evaluate(&starts("6 AWG", "60.0")), "W21").is_empty(),
        "{}",
        texts(&evaluate(&starts("6 AWG", "60.0")))
    );
    // Its line lacks a fuse: that is said of the line alone.
    let mut bare = starts("6 AWG", "60.0");
    bare.runs.iter_mut().filter(|r| r.id.as_str() == "W20").for_each(|r| r.protection.clear());
    let r = evaluate(&bare);
    assert!(!of(&r, "W20").is_empty() && of(&r, "W21").is_empty(), "{}", texts(&r));
}

/// The sound plan with batteries on leads of their own, each fused at its post, to one bar.
fn leads(count: usize, gauge: &str, length_m: f64, amps: &[&str]) -> Plan {
    let lead = |n: usize| {
        let fuses = format!(
            r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: {}, distance_m: 0.1)"#,
            amps.get(n).or(amps.last()).expect("a rating")
        );
        format!(
            r#"(id: "B{}", from: "BK", to: "BB", gauge: "{gauge}", legs: [(id: "L1", length_m: {length_m:?}, insulation_c: 105.0)],
                protection: [{fuses}]),"#,
            n + 1
        )
    };
    let all: String = (0..count).map(lead).collect();
    let main = r#"(id: "W3", from: "BK", to: "SW","#;
    let text = SOUND
        .replace(main, &format!("{all}\n        {}", main.replace("BK", "BB")))
        .replace("devices: [", r#"devices: [(id: "BB", kind: "bus"),"#);
    let mut p = plan(&text);
    p.bank.parallel = coachwire::plan::Known::Is(coachwire::units::Number(count as f64));
    p
}

fn said<'a>(r: &'a Report, check: &str) -> Vec<&'a Finding> {
    r.findings.iter().filter(|f| f.check.id == check && f.run().is_some_and(|run| run.starts_with('B'))).collect()
}

/// A fault in one battery's lead is fed by the others over the bar, past nothing but their fuses. Two of one kind are right: what
/// protects the one protects the other. Of more the sum may be above what a lead carries: a caution as far as a tap may go, which
/// stands behind no more than three times its ampacity; beyond that a stop.
///
/// Source: Kirchhoff's current law; NEC 705.30, protection from all sources; NEC 240.21(B)(2), taps.
#[test]
fn the_other_batteries_feed_a_lead_from_the_bar() {
    let none = |p: &Plan| {
        let r = evaluate(p);
        assert!(said(&r, FED).is_empty() && said(&r, UNFUSED).is_empty(), "{}", texts(&r));
    };
    none(&leads(2, "2 AWG", 1.0, &["110.0"]));
    none(&leads(3, "2 AWG", 1.0, &["60.0"]));
    let p = leads(4, "2 AWG", 1.0, &["100.0"]);
    let r = evaluate(&p);
    let all = said(&r, FED);
    assert_eq!((all.len(), all[0].level, all[0].name(0)), (1, Level::Caution, "B1, B2, B3 and B4"), "{}", texts(&r));
    near("three", Ok(all[0].n(0)), 300.0, 1e-12);
    // The next standard rating above what 2 AWG carries in the open, NEC 240.6(A).
    let own = r.runs.iter().find(|x| x.id.as_str() == "B1").expect("a lead").ampacity_a.clone().expect("known").0;
    near("each carries", Ok(all[0].n(1)), 175.0, 1e-12);
    assert!(own > 150.0 && own < 175.0, "{own}");
    assert!(said(&r, UNFUSED).is_empty(), "{}", texts(&r));
    // So near to the bar the fuse at the post protects it from there as well: 18 in.
    none(&leads(4, "2 AWG", 0.5, &["100.0"]));
    // In an enclosed way it is worth knowing.
    let enclosed: Vec<(String, Value)> =
        (1..=4).map(|n| (format!("runs.B{n}.legs.L1.laid"), Value::Word("enclosed"))).collect();
    let enclosed: Vec<(&str, Value)> = enclosed.iter().map(|(at, v)| (at.as_str(), v.clone())).collect();
    let r = evaluate(&set(&p, &enclosed));
    assert!(said(&r, FED).iter().all(|f| f.level == Level::Note) && !said(&r, FED).is_empty(), "{}", texts(&r));
    // A fuse at the bar on each of them.
    is_curable(&p, "battery-lead-fed-by-others", "runs.B1");
    let cured = p.with(&cures(&p, FED, "runs.B1")[0]).expect("applies");
    for run in cured.runs.iter().filter(|r| r.id.as_str().starts_with('B')) {
        let ends: Vec<FuseAt> = run.protection.iter().map(|f| f.at).collect();
        assert_eq!(ends, [FuseAt::From, FuseAt::To], "{}", run.id);
    }
    none(&cured);
    // Of one thin lead beside thick ones: a stop at the bar, which a fuse there mends.
    let mut thin = leads(2, "4/0 AWG", 1.5, &["300.0", "60.0"]);
    thin.runs.iter_mut().filter(|r| r.id.as_str() == "B2").for_each(|r| {
        r.gauge = coachwire::plan::Known::Is("8 AWG".parse().expect("gauge"));
    });
    let r = evaluate(&thin);
    let all = said(&r, UNFUSED);
    assert_eq!((all.len(), all[0].run(), all[0].name(1)), (1, Some("B2"), "BB"), "{}", texts(&r));
    near("the other", Ok(all[0].n(0)), 300.0, 1e-12);
    is_curable(&thin, UNFUSED, "runs.B2");
    for step in cures(&thin, UNFUSED, "runs.B2") {
        let r = evaluate(&thin.with(&step).expect("applies"));
        assert!(said(&r, UNFUSED).is_empty(), "{}:\n{}", step.name, texts(&r));
    }
}

/// A battery whose lead has no fuse makes no stop of the others': it is said of that one.
#[test]
fn one_bare_lead_is_said_once() {
    let mut p = leads(3, "2 AWG", 1.0, &["60.0"]);
    p.runs.iter_mut().filter(|r| r.id.as_str() == "B2").for_each(|r| r.protection.clear());
    let r = evaluate(&p);
    let bare: Vec<_> = found(&r, UNFUSED).iter().filter_map(|f| f.run().map(str::to_string)).collect();
    assert_eq!(bare, ["B2"], "{}", texts(&r));
    assert!(!says(&r, FED, "runs.B1"), "{}", texts(&r));
}

/// A switch on each battery's way: the fuse at the post protects both its runs, and what the others bring is said once.
#[test]
fn a_switch_on_the_way_changes_nothing() {
    let way = |n: usize| {
        format!(
            r#"(id: "B{n}", from: "BK", to: "S{n}", gauge: "2 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.1)]),
            (id: "BX{n}", from: "S{n}", to: "BB", gauge: "2 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)]),"#
        )
    };
    let all: String = (1..=3).map(way).collect();
    let main = r#"(id: "W3", from: "BK", to: "SW","#;
    let switches: String = (1..=3).map(|n| format!(r#"(id: "S{n}", kind: "switch"),"#)).collect();
    let text = SOUND
        .replace(main, &format!("{all}\n        {}", main.replace("BK", "BB")))
        .replace("devices: [", &format!(r#"devices: [(id: "BB", kind: "bus"),{switches}"#));
    let p = plan(&text);
    let r = evaluate(&p);
    assert!(said(&r, UNFUSED).is_empty(), "{}", texts(&r));
    let all = said(&r, FED);
    assert_eq!((all.len(), all[0].name(0)), (1, "BX1, BX2 and BX3"), "{}", texts(&r));
    // What is too thin for a tap behind the others' fuses wants one at the bar.
    let thin = ["runs.B1.gauge", "runs.BX1.gauge"].map(|at| (at, Value::Gauge("10 AWG".parse().expect("gauge"))));
    let fuse = ("runs.B1.protection.F1.amps_a", Value::Number(30.0));
    let p = set(&p, &[&thin[..], &[fuse]].concat());
    let r = evaluate(&p);
    let all: Vec<_> = said(&r, UNFUSED).iter().map(|f| (f.run(), f.name(1))).collect();
    assert_eq!(all, [(Some("BX1"), "BB")], "{}", texts(&r));
}
