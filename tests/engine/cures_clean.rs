//! Cures that leave nothing behind: no new stop, what they bring said and offered last, what a technician does first offered first.

use super::cures::{cures, offer_all};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

const UNFUSED: &str = "source-end-unfused";

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn stops(r: &Report) -> Vec<&Finding> {
    r.findings.iter().filter(|f| f.level == Level::Stop).collect()
}

/// Two batteries on leads of their own to one switch, none with a fuse, and nothing behind them.
fn bare_leads() -> Plan {
    let mut p = with(
        &sound(),
        &[("bank.parallel", n(2.0)), ("runs.W3.gauge", Value::Gauge("1/0 AWG".parse().expect("gauge")))],
    );
    for id in ["W3", "W5"] {
        p.runs.iter_mut().find(|r| r.id.as_str() == id).expect("run").protection.clear();
    }
    let lead =
        r#"(id: "W8", from: "SW", to: "BK", gauge: "1/0 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 105.0)])"#;
    insert(&p, "runs", lead)
}

/// A fuse on one of two leads protects nothing that both feed: the other battery still does without any. Both get one at once, each at
/// its own battery's end, and nothing behind comes up that was not there. Source: Kirchhoff's current law; NEC 552.10(E).
#[test]
fn a_cure_fuses_all_bare_leads_of_a_bank() {
    let p = bare_leads();
    let before = evaluate(&p);
    for (run, other) in [("W3", "W8"), ("W8", "W3")] {
        let subject = format!("runs.{run}");
        let steps = cures(&p, UNFUSED, &subject);
        assert!(!steps.is_empty(), "{run}:\n{}", texts(&before));
        for step in steps {
            let after = p.with(&step).expect("applies");
            let fuse = |id: &str| {
                let run = after.runs.iter().find(|r| r.id.as_str() == id).expect("run");
                let [fuse] = run.protection.as_slice() else { panic!("{}: {:?}", step.name, run.protection) };
                let end = if fuse.at.word() == "from" { &run.from } else { &run.to };
                assert_eq!(end.known().map(|id| id.as_str()), Some("BK"), "{}", step.name);
                (fuse.amps_a, fuse.family)
            };
            assert_eq!(fuse(run), fuse(other), "{}", step.name);
            let r = evaluate(&after);
            assert!(stops(&r).iter().all(|f| before.says(f)), "{}:\n{}", step.name, texts(&r));
            assert!(stops(&r).len() < stops(&before).len(), "{}:\n{}", step.name, texts(&r));
        }
    }
    offer_all(&p);
}

/// 28.4 V and 27 V on a lead battery of 12 V: one setting alone leaves the other, both go at once, to what lead takes: 14.0 to 14.8
/// and 13.05 to 13.8 V (common practice, `battery_chemistry.csv`).
#[test]
fn two_wrong_settings_of_a_charger_go_at_once() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", unit_v: 12.0)"#);
    let p = insert(
        &p,
        "chargers",
        r#"(id: "CH5", kind: "shore", out_a: 6.0, absorb_v: 28.4, float_v: 27.0, efficiency_pct: 85.0)"#,
    );
    let p = insert(
        &p,
        "runs",
        r#"(id: "W9", from: "SB", to: "CH5", gauge: "10 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 15.0, distance_m: 0.05)])"#,
    );
    let before = evaluate(&p);
    assert_eq!(found(&before, "charge-volts-high").len(), 2, "{}", texts(&before));
    let steps = cures(&p, "charge-volts-high", "chargers.CH5");
    let step = steps.first().unwrap_or_else(|| panic!("none:\n{}", texts(&before)));
    let after = p.with(step).expect("applies");
    let ch = after.chargers.iter().find(|c| c.id.as_str() == "CH5").expect("charger");
    let (absorb, float) = (ch.absorb_v.known().expect("volts").0, ch.float_v.expect("some").known().expect("volts").0);
    assert!((14.0..=14.8).contains(&absorb) && (13.05..=13.8).contains(&float), "{}: {absorb} {float}", step.name);
    let r = evaluate(&after);
    assert!(found(&r, "charge-volts-high").is_empty() && found(&r, "charge-volts-outside-window").is_empty());
    // The fuse there cannot open its fault either: that another setting stays wrong beside it does not keep its cure away.
    if says(&before, "interrupt-below-fault", "runs.W9") {
        assert!(!cures(&p, "interrupt-below-fault", "runs.W9").is_empty());
    }
}

/// On the bank the other source of the same battery is what it is set like. 16 V and 15 V on 12.8 V of lithium.
#[test]
fn both_settings_go_by_the_banks_own_volts() {
    let ch = r#"(id: "CH", kind: "shore", out_a: 20.0, absorb_v: 16.0, float_v: 15.0, efficiency_pct: 90.0)"#;
    let run = r#"(id: "W9", from: "BUS", to: "CH", gauge: "8 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#;
    let p = insert(&insert(&with(&sound(), &[("controllers.C1.float_v", n(13.5))]), "chargers", ch), "runs", run);
    let steps = cures(&p, "charge-volts-high", "chargers.CH");
    let step = steps.first().unwrap_or_else(|| panic!("none:\n{}", texts(&evaluate(&p))));
    let r = evaluate(&p.with(step).expect("applies"));
    for check in ["charge-volts-high", "charge-volts-outside-window", "profiles-disagree"] {
        assert!(found(&r, check).is_empty(), "{}:\n{}", step.name, texts(&r));
    }
    // Equalising beside absorption, on flooded lead.
    let lead = [("bank.chemistry", word("flooded")), ("bank.unit_v", n(12.0)), ("bank.vented", word("yes"))];
    let high = [
        ("controllers.C1.absorb_v", n(16.5)),
        ("controllers.C1.float_v", Value::Nothing),
        ("controllers.C1.equalise_v", n(17.5)),
    ];
    let p = with(&with(&sound(), &lead), &high);
    let steps = cures(&p, "charge-volts-high", "controllers.C1");
    let step = steps.first().unwrap_or_else(|| panic!("none:\n{}", texts(&evaluate(&p))));
    let after = evaluate(&p.with(step).expect("applies"));
    assert!(found(&after, "charge-volts-high").is_empty(), "{}:\n{}", step.name, texts(&after));
}

/// 38 A on 8 AWG that lies there and carries 46.9 A in 53 C: 47.5 A of fuse are wanted, and 50 A is the next standard rating above
/// what the wire carries (NEC 240.4(B), 240.6(A)). Sizing all takes it, as no other fits, and leaves it so; where the wire is new
/// thicker wire does without.
#[test]
fn sizing_takes_the_next_rating_up_where_no_other_fits() {
    let ch = r#"(id: "CH", kind: "shore", out_a: 38.0, absorb_v: 14.2, efficiency_pct: 90.0)"#;
    let run = |state: &str| {
        format!(
            r#"(id: "W8", from: "CH", to: "BUS", gauge: "8 AWG", legs: [(id: "L1", length_m: 0.6, insulation_c: 75.0,
                ambient_c: 53.0, state: "{state}")],
                protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 45.0, distance_m: 0.1)])"#
        )
    };
    let sized = |state: &str| {
        let p = insert(&insert(&sound(), "chargers", ch), "runs", &run(state));
        assert!(says(&evaluate(&p), "fuse-below-design", "runs.W8"), "{}", texts(&evaluate(&p)));
        let after = p.with(&Engine::default().size_all(&p, &Stock::default(), false)).expect("applies");
        let again = Engine::default().size_all(&after, &Stock::default(), false).edits;
        assert!(again.is_empty(), "{state}: {again:?}");
        after
    };
    let old = sized("existing");
    let fuse = |p: &Plan| p.runs.iter().find(|r| r.id.as_str() == "W8").expect("run").protection[0].amps_a;
    assert_eq!(fuse(&old).known().map(|a| a.0), Some(50.0));
    let r = evaluate(&old);
    assert!(says(&r, "next-rating-up", "runs.W8") && !says(&r, "fuse-below-design", "runs.W8"), "{}", texts(&r));
    let r = evaluate(&sized("new"));
    assert!(!says(&r, "next-rating-up", "runs.W8") && !says(&r, "fuse-below-design", "runs.W8"), "{}", texts(&r));
}
