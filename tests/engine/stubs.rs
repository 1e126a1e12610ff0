//! Runs from the bank that lead nowhere yet: live, so fused; their current waits for the run that leads on.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::plan::{Plan, Value};

fn stub(fuse: &str) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SW2", kind: "switch")"#);
    let run = r#"(id: "W20", from: "BK", to: "SW2", gauge: "2 AWG",
        legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)], protection: [FUSE])"#;
    insert(&p, "runs", &run.replace("FUSE", fuse))
}

const FUSED: &str = r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)"#;

/// Rules, section 4: the battery end of anything is always fused, whatever hangs on it.
#[test]
fn a_run_to_a_switch_with_nothing_beyond_is_live() {
    let bare = evaluate(&stub(""));
    assert!(says(&bare, "source-end-unfused", "runs.W20"), "{}", texts(&bare));
    super::cures::is_curable(&stub(""), "source-end-unfused", "runs.W20");
    // 13.3 kA stand behind it (3 x 3 mohm at 13.3 V): a bolted fuse of 2 kA does not open that, class T does.
    let weak = evaluate(&with(&stub(FUSED), &[("runs.W20.protection.F1.family", Value::Word("ISO 8820-5 SF51"))]));
    assert!(says(&weak, "interrupt-below-fault", "runs.W20"), "{}", texts(&weak));
    let fused = evaluate(&stub(FUSED));
    assert!(found(&fused, "interrupt-below-fault").is_empty(), "{}", texts(&fused));
    assert!(found(&fused, "source-end-unfused").is_empty(), "{}", texts(&fused));
    // 2 AWG carries less than 300 A: held to its wire, whatever will flow.
    let large = evaluate(&with(&stub(FUSED), &[("runs.W20.protection.F1.amps_a", Value::Number(300.0))]));
    assert!(says(&large, "fuse-above-conductor", "runs.W20"), "{}", texts(&large));
    // A link of one battery, a negative drawn by itself, stay silent.
    let negative = r#"(id: "W21", from: "NB", to: "SHN", gauge: "4/0 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#;
    let p = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt")"#);
    let p = insert(&insert(&p, "devices", r#"(id: "NB", kind: "bus")"#), "runs", negative);
    assert!(found(&evaluate(&p), "source-end-unfused").is_empty(), "{}", texts(&evaluate(&p)));
}

/// It waits for the run that is missing, not for a current that the technician would have to make up; where its own end is
/// not said, for that. A current entered in its place is taken.
#[test]
fn its_current_waits_for_what_is_missing() {
    let waits = |p: &Plan| -> Vec<String> {
        let r = evaluate(p);
        let own = r.not_checked.iter().filter(|n| n.subject.as_str() == "runs.W20");
        let mut all: Vec<String> = own.map(|n| n.waits_for.to_string()).collect();
        all.dedup();
        all
    };
    assert_eq!(waits(&stub(FUSED)), ["runs"]);
    assert_eq!(waits(&with(&stub(FUSED), &[("runs.W20.to", Value::Unknown)])), ["runs.W20.to"]);
    let spare =
        [("runs.W20.design_override_a", Value::Number(50.0)), ("runs.W20.drop_override_a", Value::Number(40.0))];
    let entered = with(&stub(FUSED), &spare);
    assert_eq!(waits(&entered), Vec::<String>::new());
    assert!(!says(&evaluate(&entered), "conductor-below-current", "runs.W20"));
}
