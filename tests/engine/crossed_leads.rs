//! Two single leads exchanged: at the bank, at its bars, at a switch and a shunt, at what hangs on the bars.

use super::comes_back::{Drawn, NONE, fuse, wired};
use super::cures::cures;
use super::mistakes::{insert, with};
use super::{evaluate, found, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

const CHECK: &str = "leads-crossed";

/// Everything by single conductors on two bars, the mains straight or over a switch and a shunt.
fn by_singles(over_shunt: bool) -> Plan {
    let alone = |amps: f64| NONE.to_string() + &fuse(amps);
    let at_bar = |amps: f64| alone(amps).replace("\"from\"", "\"to\"");
    let (main, panel, source, branch) = (alone(150.0), alone(40.0), at_bar(40.0), fuse(15.0));
    let mut all: Vec<Drawn<'_>> = vec![
        ("W5", "BUS", "INV", "4/0 AWG", 0.5, main.as_str()),
        ("N5", "INV", "NB", "4/0 AWG", 0.5, NONE),
        ("W2", "C1", "BUS", "4 AWG", 0.5, source.as_str()),
        ("N4", "C1", "NB", "4 AWG", 0.5, NONE),
        ("W6", "BUS", "FP", "8 AWG", 2.0, panel.as_str()),
        ("N6", "FP", "NB", "8 AWG", 2.0, NONE),
        ("D2", "DC", "BUS", "4 AWG", 0.5, source.as_str()),
        ("D3", "DC", "NB", "4 AWG", 0.5, NONE),
        ("W8", "FP", "L1", "10 AWG", 3.0, branch.as_str()),
        ("W9", "FP", "L2", "10 AWG", 3.0, branch.as_str()),
    ];
    if over_shunt {
        all.extend([
            ("W3", "BK", "SW", "4/0 AWG", 0.3, main.as_str()),
            ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
            ("N1", "BK-", "SHN", "4/0 AWG", 0.3, NONE),
            ("N2", "SHN", "NB", "4/0 AWG", 0.3, NONE),
        ]);
    } else {
        all.extend([("W3", "BK", "BUS", "4/0 AWG", 0.6, main.as_str()), ("N1", "NB", "BK-", "4/0 AWG", 0.6, NONE)]);
    }
    let charger = r#"(id: "DC", kind: "DC-DC", out_a: 30.0, efficiency_pct: 90.0, absorb_v: 14.2)"#;
    let p = insert(&wired(&all), "chargers", charger);
    if over_shunt { p } else { with(&p, &[("runs.B1.from", Value::Id("NB".parse().expect("id")))]) }
}

/// The same with two ends exchanged, each as `runs.W3.from`.
fn exchanged(p: &Plan, one: &str, other: &str) -> Plan {
    let end = |at: &str| {
        let (id, field) = at.split_once('.').expect("a run and its field");
        let run = p.runs.iter().find(|r| r.id.as_str() == id).expect("drawn");
        let end = if field == "from" { &run.from } else { &run.to };
        let id = end.known().expect("known");
        Value::Id(id.clone())
    };
    let (first, second) = (format!("runs.{one}"), format!("runs.{other}"));
    with(p, &[(first.as_str(), end(other)), (second.as_str(), end(one))])
}

/// The overcurrent device stands in the ungrounded conductor (NEC 240.15(A)), and its plus lead on plus: where the fused lead of everything
/// is on minus, the two that are exchanged are told once, as a stop, and their exchange alone puts all of it right.
#[test]
fn exchanged_leads_are_told_once_and_exchanged() {
    for (over_shunt, one, other, name) in [
        (false, "W3.from", "N1.to", "W3 to BK, N1 to BK-: the two are crossed"),
        (false, "W3.to", "N1.from", "W3 to BUS, N1 to NB: the two are crossed"),
        (true, "W3.from", "N1.from", "W3 to BK, N1 to BK-: the two are crossed"),
        (true, "W3.to", "N1.to", "W3 to SW, N1 to SHN: the two are crossed"),
        (true, "W4.to", "N2.to", "W4 to BUS, N2 to NB: the two are crossed"),
        (false, "W5.from", "N5.to", "W5 to BUS, N5 to NB: the two are crossed"),
        (true, "W2.to", "N4.to", "W2 to BUS, N4 to NB: the two are crossed"),
        (false, "D2.to", "D3.to", "D2 to BUS, D3 to NB: the two are crossed"),
        (true, "W6.from", "N6.to", "W6 to BUS, N6 to NB: the two are crossed"),
    ] {
        let right = by_singles(over_shunt);
        let before = evaluate(&right);
        assert!(before.findings.iter().all(|f| f.level != Level::Stop), "{}", texts(&before));
        let wrong = exchanged(&right, one, other);
        let r = evaluate(&wrong);
        let stops: Vec<_> = r.findings.iter().filter(|f| f.level == Level::Stop).collect();
        let run = one.split_once('.').expect("a run").0;
        assert_eq!(stops.len(), 1, "{one} {other}: {}", texts(&r));
        assert_eq!((stops[0].check.id, stops[0].subject.as_str()), (CHECK, format!("runs.{run}").as_str()));
        assert!(stops[0].text().contains("are crossed"), "{}", stops[0].text());
        assert_eq!(stops[0].text().contains("main leads"), matches!(run, "W3" | "W4"), "{}", stops[0].text());
        let steps = cures(&wrong, "leads-crossed", &format!("runs.{run}"));
        assert_eq!(steps.len(), 1, "{one} {other}: {steps:?}");
        assert!(steps[0].name.starts_with(name), "{one} {other}: {}", steps[0].name);
        let after = evaluate(&wrong.with(&steps[0]).expect("applies"));
        assert!(after.findings.iter().all(|f| f.level != Level::Stop), "{one} {other}: {}", texts(&after));
    }
}

/// Nothing is said of leads that lie right, nor of mains that are both on plus, which is a short and told as one.
#[test]
fn leads_that_lie_right_are_not_called_crossed() {
    let short = with(&by_singles(false), &[("runs.N1.to", Value::Id("BK".parse().expect("id")))]);
    for p in [by_singles(false), by_singles(true), short] {
        assert!(found(&evaluate(&p), CHECK).is_empty(), "{}", texts(&evaluate(&p)));
    }
    for sample in coachwire::plan::samples::SAMPLES {
        let p = Plan::from_text(sample.text).expect("reads");
        let r = Engine::default().evaluate(&p, &Stock::default());
        assert!(found(&r, CHECK).is_empty(), "{}", sample.name);
    }
}

pub(super) fn raised() -> Vec<(&'static str, Plan)> {
    vec![(CHECK, exchanged(&by_singles(false), "W3.from", "N1.to"))]
}
