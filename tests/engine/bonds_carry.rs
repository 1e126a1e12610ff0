//! What comes back by the chassis, and past the shunt.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::plan::{Plan, Value};

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

/// The sound coach with its inverter or its panel's feeder on the chassis.
fn by_chassis(run: &str, bond: &str) -> Plan {
    let at = format!("runs.{run}.return_path");
    with(&sound(), &[(at.as_str(), word("chassis")), ("runs.W7.gauge", gauge(bond))])
}

/// An inverter of 1000 W at 12.0 V and 85 % is 98 A in the bond too: 10 AWG carries 30 to 40 A of it, 4/0 all.
#[test]
fn a_bond_carries_what_comes_back_by_the_chassis() {
    let r = evaluate(&by_chassis("W5", "10 AWG"));
    let amps = |run: &str| r.runs.iter().find(|x| x.id.as_str() == run).expect("run").design_a.clone().map(|a| a.0);
    near("bond", amps("W7"), amps("W5").expect("known"), 1e-9);
    assert!(says(&r, "conductor-below-current", "runs.W7"), "{}", texts(&r));
    let right = evaluate(&by_chassis("W5", "4/0 AWG"));
    assert!(!says(&right, "conductor-below-current", "runs.W7") && !says(&right, "fuse-above-conductor", "runs.W7"));
    // What the panel's fuse of 40 A lets through is more than 14 AWG may be fused for: 15 A (former NEC 551.10).
    let r = evaluate(&by_chassis("W6", "14 AWG"));
    assert!(says(&r, "fuse-above-conductor", "runs.W7"), "{}", texts(&r));
    assert!(!says(&evaluate(&by_chassis("W6", "4/0 AWG")), "fuse-above-conductor", "runs.W7"));
    // Nothing by the chassis: a bond in service carries nothing.
    let none = evaluate(&with(&sound(), &[("runs.W7.gauge", gauge("10 AWG"))]));
    assert!(!says(&none, "conductor-below-current", "runs.W7"));
}

fn single(id: &str, from: &str, to: &str) -> String {
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "4/0 AWG", return_path: "none",
            legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#
    )
}

/// Battery minus over a shunt to the bar of the negatives, where everything comes back and the chassis is bonded.
fn shunted(shunts: &[&str]) -> Plan {
    let mut p = insert(&sound(), "devices", r#"(id: "NEG", kind: "bus")"#);
    for (i, shunt) in shunts.iter().enumerate() {
        p = insert(&p, "devices", &format!(r#"(id: "{shunt}", kind: "shunt", ratings: (amps_a: 500.0))"#));
        p = insert(&p, "runs", &single(&format!("N{i}"), "BK-", shunt));
        p = insert(&p, "runs", &single(&format!("M{i}"), shunt, "NEG"));
    }
    let neg = || id("NEG");
    let ends = [
        ("runs.W2.negative_to", neg()),
        ("runs.W3.negative_from", neg()),
        ("runs.W5.negative_from", neg()),
        ("runs.W6.negative_from", neg()),
        ("runs.W7.from", neg()),
    ];
    with(&p, &ends)
}

const WINCH: &str = r#"(id: "W9", from: "BK", to: "L2", gauge: "4 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
    protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 70.0, distance_m: 0.1)])"#;

fn winch(p: &Plan, more: &[(&str, Value)]) -> Plan {
    let p = insert(p, "loads", r#"(id: "L2", watts_w: 600.0, hours_day: 0.1)"#);
    with(&insert(&p, "runs", WINCH), more)
}

/// Fused at the plus post and home by the chassis: the bond is beyond the shunt, so all is counted.
#[test]
fn a_chassis_return_passes_the_shunt_where_its_bond_does() {
    let p = winch(&shunted(&["SH"]), &[("runs.W9.return_path", word("chassis"))]);
    assert!(found(&evaluate(&p), "shunt-bypass").is_empty(), "{}", texts(&evaluate(&p)));
    let past = with(&p, &[("runs.W7.from", id("BK-"))]);
    assert!(says(&evaluate(&past), "shunt-bypass", "runs.W7"), "{}", texts(&evaluate(&past)));
    let pair = winch(&shunted(&["SH"]), &[("runs.W9.negative_from", id("BK-"))]);
    assert!(says(&evaluate(&pair), "shunt-bypass", "runs.W9"), "{}", texts(&evaluate(&pair)));
}

/// Two shunts beside each other count all that comes over either; what ends on the post passes both.
#[test]
fn of_several_shunts_none_is_passed_by() {
    let both = shunted(&["SH", "SH2"]);
    assert!(found(&evaluate(&both), "shunt-bypass").is_empty(), "{}", texts(&evaluate(&both)));
    let past = winch(&both, &[("runs.W9.negative_from", id("BK-"))]);
    let r = evaluate(&past);
    assert!(says(&r, "shunt-bypass", "runs.W9"), "{}", texts(&r));
    assert!(found(&r, "shunt-bypass")[0].text().contains("shunts SH, SH2"), "{}", texts(&r));
    super::cures::is_curable(&past, "shunt-bypass", "runs.W9");
    // One in the plus, listed first, does not hide the one in the minus.
    let plus = insert(&shunted(&["SH"]), "devices", r#"(id: "A0", kind: "shunt", ratings: (amps_a: 500.0))"#);
    let mut plus = winch(&plus, &[("runs.W9.negative_from", id("BK-"))]);
    let last = plus.devices.pop().expect("the shunt");
    plus.devices.insert(0, last);
    let plus = with(&plus, &[("runs.W4.to", id("A0"))]);
    let bar = single("W10", "A0", "BUS");
    let r = evaluate(&insert(&plus, "runs", &bar));
    assert!(says(&r, "shunt-bypass", "runs.W9"), "{}", texts(&r));
}

/// A shunt of one feeder, on the load side of the bank's own, counts that feeder alone: what passes the bank's own by is still
/// the one run that does, with the bond at its end, and not all that comes to the bar.
#[test]
fn a_shunt_behind_another_is_not_beside_it() {
    let p = insert(&shunted(&["SH"]), "devices", r#"(id: "SUB", kind: "shunt", ratings: (amps_a: 100.0))"#);
    let p = with(&insert(&p, "runs", &single("N9", "NEG", "SUB")), &[("runs.W6.negative_from", id("SUB"))]);
    assert!(found(&evaluate(&p), "shunt-bypass").is_empty(), "{}", texts(&evaluate(&p)));
    let r = evaluate(&insert(&p, "runs", &single("NB", "BK-", "NEG")));
    let past: Vec<&str> = found(&r, "shunt-bypass").iter().map(|f| f.subject.as_str()).collect();
    assert_eq!(past, ["runs.W7", "runs.NB"], "{}", texts(&r));
}
