//! Cures that take more than one fuse: all of a way at once, one at each battery, and the one that a thicker wire asks for.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// Two batteries whose fault together is more than a class T fuse opens, and alone is not: 13.3 V / 1.2 mohm is 11.1 kA each.
fn strong(parallel: f64) -> Plan {
    with(&sound(), &[("bank.parallel", n(parallel)), ("bank.ohmic_mohm", n(1.2))])
}

#[test]
fn where_no_family_opens_the_bank_each_battery_gets_a_fuse() {
    let r = evaluate(&strong(2.0));
    // 22.2 kA x 1.1 = 24.4 kA, class T opens 20 kA (UL 248-15).
    assert!(says(&r, "interrupt-below-fault", "runs.W3"), "{}", texts(&r));
    is_curable(&strong(2.0), "interrupt-below-fault", "runs.W3");
    let steps = cures(&strong(2.0), "interrupt-below-fault", "runs.W3");
    assert!(steps[0].name.contains("a fuse of its own for each of 2 batteries"), "{}", steps[0].name);
    let after = evaluate(&strong(2.0).with(&steps[0]).expect("applies"));
    assert!(found(&after, "interrupt-below-fault").is_empty(), "{}", texts(&after));
}

/// A thicker wire lets more fault current through a link that could not open it before: the step brings the fuse that does.
#[test]
fn no_cure_leaves_a_fault_worse_at_another_fuse() {
    let link = [
        ("runs.W3.protection.F1.family", Value::Word("open link")),
        ("runs.W4.gauge", Value::Gauge("2 AWG".parse().expect("gauge"))),
        ("runs.W5.legs.L1.length_m", n(4.0)),
    ];
    let p = with(&sound(), &link);
    let r = evaluate(&p);
    for f in r.findings.iter().filter(|f| f.level != coachwire::engine::Level::Note) {
        for step in cures(&p, f.check.id, f.subject.as_str()) {
            let after = evaluate(&p.with(&step).expect("applies"));
            for was in found(&r, "interrupt-below-fault") {
                let now = after.findings.iter().find(|g| g.identity() == was.identity());
                let worse = now.is_some_and(|g| g.n(0) > was.n(0) * 1.01);
                assert!(!worse || was.identity() == f.identity(), "{}: {}", step.name, texts(&after));
            }
        }
    }
}

/// Three fuses in one way, each 0.06 V at its rating: one larger rating alone does not bring it under its target, all do.
#[test]
fn all_fuses_of_a_way_are_raised_at_once() {
    let fused = r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 125.0, distance_m: 0.1)"#;
    let p = insert(&sound(), "runs.W4.protection", fused);
    let amps = [("runs.W3.protection.F1.amps_a", n(125.0)), ("runs.W5.protection.F1.amps_a", n(125.0))];
    let p = with(&p, &amps);
    let offered = |target: f64| {
        let rule = format!(r#"(id: "drop-inverter", value: {target:?}, reason: "agreed")"#);
        let p = insert(&p, "rules", &rule);
        let all = found(&evaluate(&p), "drop-over-target").iter().any(|f| f.subject.as_str() == "runs.W5");
        if all { cures(&p, "drop-over-target", "runs.W5") } else { Vec::new() }
    };
    let pct = {
        let r = evaluate(&p);
        r.runs.iter().find(|x| x.id.as_str() == "W5").expect("run").path_drop_pct.clone().expect("known")
    };
    // Just below what it loses the first larger rating does; further down all have to go.
    let some = (1..=12).map(|k| pct * (1.0 - 0.02 * f64::from(k)));
    let names: Vec<String> = some.flat_map(offered).map(|s| s.name).collect();
    assert!(names.iter().any(|name| name.contains("larger fuses")), "{names:?}");
}
