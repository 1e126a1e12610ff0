//! Two single leads exchanged: at the bank, at its bars, at a switch and a shunt, at what hangs on the bars.

use super::comes_back::{Drawn, NONE, fuse, singly, wired};
use super::cures::cures;
use super::mistakes::{insert, with};
use super::{evaluate, found, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

const CHECK: &str = "leads-crossed";

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

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

/// The ids of the runs that are told as crossed, nothing else being a stop.
fn crossed(p: &Plan) -> Vec<String> {
    let r = evaluate(p);
    let stops = r.findings.iter().filter(|f| f.level == Level::Stop);
    let told: Vec<String> = stops
        .map(|f| {
            assert_eq!(f.check.id, CHECK, "{}", texts(&r));
            f.subject.as_str().replace("runs.", "")
        })
        .collect();
    told
}

/// Each crossing is a mistake of its own (NEC 240.15(A), 110.7), told and cured by its own exchange, in whatever order the runs are drawn: of
/// several things, of a fuse panel and its bar of minus, of what hangs on a panel, of mains and a thing besides.
#[test]
fn several_crossings_are_told_each() {
    let on_converter = {
        let p = insert(&singly(), "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 40.0))"#);
        let volts = [
            ("bank.unit_v", Value::Number(25.6)),
            ("bank.ohmic_mohm", Value::Number(9.0)),
            ("controllers.C1.absorb_v", Value::Number(28.4)),
        ];
        let p = with(&with(&p, &volts), &[("runs.W6.to", id("CV"))]);
        let leg = r#"gauge: "8 AWG", return_path: "none", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)]"#;
        let p = insert(&p, "runs", &format!(r#"(id: "W7", from: "CV", to: "FP", {leg}, {})"#, fuse(40.0)));
        insert(&p, "runs", &format!(r#"(id: "N7", from: "NB", to: "CV", {leg})"#))
    };
    for (right, pairs, told) in [
        (by_singles(true), &[("W5.from", "N5.to"), ("W2.to", "N4.to")][..], &["W2", "W5"][..]),
        (by_singles(false), &[("W5.from", "N5.to"), ("W2.to", "N4.to"), ("D2.to", "D3.to")], &["D2", "W2", "W5"]),
        (singly(), &[("W6.to", "N6.to")], &["W6"]),
        (singly(), &[("W6.from", "N6.from")], &["W6"]),
        (singly(), &[("W8.from", "N8.to")], &["W8"]),
        (singly(), &[("W8.from", "N8.to"), ("W9.from", "N9.from")], &["W8", "W9"]),
        (singly(), &[("W3.from", "N1.from"), ("W8.from", "N8.to")], &["W3", "W8"]),
        (on_converter, &[("W7.to", "N6.to")], &["W7"]),
    ] {
        assert!(crossed(&right).is_empty(), "{}", texts(&evaluate(&right)));
        let wrong = pairs.iter().fold(right, |p, (one, other)| exchanged(&p, one, other));
        let mut turned = wrong.clone();
        turned.runs.reverse();
        for p in [&wrong, &turned] {
            let mut all = crossed(p);
            all.sort();
            assert_eq!(all, told, "{pairs:?}: {}", texts(&evaluate(p)));
        }
        let mut left = wrong;
        for n in (0..told.len()).rev() {
            let run = format!("runs.{}", told[n]);
            let steps = cures(&left, "leads-crossed", &run);
            assert_eq!(steps.len(), 1, "{pairs:?}: {steps:?}");
            assert!(steps[0].name.contains("the two are crossed"), "{}", steps[0].name);
            left = left.with(&steps[0]).expect("applies");
            let mut all = crossed(&left);
            all.sort();
            assert_eq!(all, told[..n], "{pairs:?}: {}", texts(&evaluate(&left)));
        }
    }
}

/// A second bare lead from plus to a thing is a dead short by way of it (NEC 110.7), on each thing that has one; so is a bare one from the bar of
/// minus to the bank's plus, and nothing else is wrong for it.
#[test]
fn bare_leads_to_plus_do_not_hide_each_other() {
    let leg = r#"gauge: "4 AWG", return_path: "none", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)]"#;
    let more = |p: &Plan, name: &str, from: &str, to: &str| {
        insert(p, "runs", &format!(r#"(id: "{name}", from: "{from}", to: "{to}", {leg})"#))
    };
    let right = by_singles(true);
    let two = more(&more(&right, "X1", "BUS", "C1"), "X2", "BUS", "INV");
    let short = more(&right, "X1", "NB", "BK");
    for (wrong, told) in [(two, &["runs.X1", "runs.X2"][..]), (short, &["runs.X1"])] {
        let mut turned = wrong.clone();
        turned.runs.reverse();
        for p in [&wrong, &turned] {
            let r = evaluate(p);
            let stops = r.findings.iter().filter(|f| f.level == Level::Stop);
            let mut stops: Vec<_> = stops.map(|f| (f.check.id, f.subject.as_str())).collect();
            stops.sort();
            let wanted: Vec<_> = told.iter().map(|run| ("poles-joined", *run)).collect();
            assert_eq!(stops, wanted, "{}", texts(&r));
        }
    }
}

/// A bare lead from a fuse panel to minus, where all that hangs on the panel has its minus there already: it may be the panel's own, or from
/// its plus a dead short (NEC 110.7). Nobody can tell from the drawing, so it is asked; what is measured, or brings something back, is not.
#[test]
fn a_panels_own_minus_that_brings_nothing_back_is_asked_for() {
    let leg = r#"gauge: "8 AWG", return_path: "none", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)]"#;
    let asked = insert(&singly(), "runs", &format!(r#"(id: "X1", from: "FP", to: "NB2", {leg})"#));
    let mut turned = asked.clone();
    turned.runs.reverse();
    for p in [&asked, &turned] {
        let r = evaluate(p);
        let f = found(&r, "read-as-negative");
        assert_eq!(f.len(), 1, "{}", texts(&r));
        assert_eq!((f[0].subject.as_str(), f[0].level), ("runs.X1", Level::Caution));
        assert!(f[0].text().contains("leads from the fuse panel FP to NB2"), "{}", f[0].text());
        assert!(crossed(p).is_empty());
    }
    super::cures::is_curable(&asked, "read-as-negative", "runs.X1");
    let measured = with(&asked, &[("runs.X1.polarity_measured", super::mistakes::word("yes"))]);
    let brings = by_singles(true);
    for p in [&measured, &brings, &singly()] {
        assert!(found(&evaluate(p), "read-as-negative").is_empty(), "{}", texts(&evaluate(p)));
    }
}

pub(super) fn raised() -> Vec<(&'static str, Plan)> {
    vec![(CHECK, exchanged(&by_singles(false), "W3.from", "N1.to"))]
}
