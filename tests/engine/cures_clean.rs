//! Cures that leave nothing behind: no new stop, what they bring said and offered last, what a technician does first offered first.

use super::cures::{cures, offer_all};
use super::mistakes::{insert, sound, with};
use super::{evaluate, texts};
use coachwire::engine::{Finding, Level, Report};
use coachwire::plan::{Plan, Value};

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
