//! What is drawn and cannot be meant so: a shunt on no run, a DC run to a load that the inverter feeds; and a run beside
//! another, whose share of its drop is that of its twin.

use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};

fn without(p: &Plan, run: &str) -> Plan {
    p.with(&Step::one("out", Edit::Remove { at: FieldPath::new(format!("runs.{run}")) })).expect("there")
}

/// A shunt that nobody wired measures nothing, and no bond goes there: it would leave the bank's negative unbonded.
/// Source: NEC 552.10(C)(4): the bond joins the battery's negative to the chassis.
#[test]
fn a_shunt_on_no_run_is_said_and_takes_no_bond() {
    let p = insert(&without(&sound(), "W7"), "devices", r#"(id: "SH", kind: "shunt")"#);
    let r = evaluate(&p);
    let said = found(&r, "shunt-without-run");
    assert_eq!(said.iter().map(|f| (f.level, f.subject.as_str())).collect::<Vec<_>>(), [(Level::Note, "devices.SH")]);
    let bond = |p: &Plan| -> Vec<String> {
        let r = evaluate(p);
        let missing = found(&r, "bond-missing");
        missing.iter().flat_map(|f| cures(p, "bond-missing", f.subject.as_str())).map(|step| step.name).collect()
    };
    let names = bond(&p);
    assert!(!names.is_empty() && names.iter().all(|name| name.contains("BK-") && !name.contains("SH ")), "{names:?}");
    // Wired between post and bus it measures, and the bond goes to it.
    let wired = insert(
        &p,
        "runs",
        r#"(id: "N1", from: "BK-", to: "SH", gauge: "4/0 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#,
    );
    assert!(!says(&evaluate(&wired), "shunt-without-run", "devices.SH"));
    let names = bond(&wired);
    assert!(names.iter().any(|name| name.starts_with("bond SH ")), "{names:?}");
}

/// A load moved to the inverter keeps the DC run that was drawn for it: both cannot be meant.
#[test]
fn a_dc_run_to_what_the_inverter_feeds_is_said() {
    let run = r#"(id: "W9", from: "FP", to: "L1", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 15.0, distance_m: 0.05)])"#;
    let dc = insert(&sound(), "runs", run);
    assert!(!says(&evaluate(&dc), "load-drawn-on-dc", "runs.W9"), "{}", texts(&evaluate(&dc)));
    let moved = with(&dc, &[("loads.L1.supply", word("inverter"))]);
    let r = evaluate(&moved);
    let said = found(&r, "load-drawn-on-dc");
    assert_eq!(said.iter().map(|f| (f.level, f.subject.as_str())).collect::<Vec<_>>(), [(Level::Caution, "runs.W9")]);
    is_curable(&moved, "load-drawn-on-dc", "runs.W9");
    apply_all(&moved);
    // A run from the inverter itself is its AC side.
    let ac = with(&moved, &[("runs.W9.from", Value::Id("INV".parse().expect("id")))]);
    assert!(!says(&evaluate(&ac), "load-drawn-on-dc", "runs.W9"));
}

/// Two equal runs side by side from an array lose the same volts of the same string: 2 x 20.8 V at the label's Vmp, not of
/// the bank's 12 V.
#[test]
fn a_run_beside_another_takes_its_share_of_the_same_volts() {
    let twin = r#"(id: "W8", from: "A1", to: "C1", gauge: "8 AWG", legs: [(id: "L1", length_m: 7.0, zone: "roof cavity",
        insulation_c: 90.0)])"#;
    let r = evaluate(&insert(&sound(), "runs", twin));
    let of = |id: &str| r.runs.iter().find(|x| x.id.as_str() == id).expect("run").clone();
    let (one, other) = (of("W1"), of("W8"));
    let volts = other.drop_v.clone().expect("known").0;
    assert!(volts > 0.05, "{volts}");
    near("share of the copy", other.drop_pct.clone(), volts / (2.0 * 20.8) * 100.0, 1e-6);
    near("share of the first", one.drop_pct.clone(), one.drop_v.clone().expect("known").0 / (2.0 * 20.8) * 100.0, 1e-6);
}

/// A charger wired to the inverter's posts, as is done: the wire is there, and a bar has to be drawn where the two meet.
#[test]
fn what_hangs_on_anothers_posts_is_told_to_be_drawn_at_a_bar() {
    let charger = r#"(id: "CH", kind: "shore", out_a: 40.0, efficiency_pct: 88.0, absorb_v: 14.2)"#;
    let p = insert(&sound(), "chargers", charger);
    let to = |end: &str| {
        let run = format!(
            r#"(id: "W9", from: "CH", to: "{end}", gauge: "4 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#
        );
        evaluate(&insert(&p, "runs", &run))
    };
    let r = to("INV");
    let said = found(&r, "meets-at-terminals");
    assert_eq!(said.iter().map(|f| (f.level, f.subject.as_str())).collect::<Vec<_>>(), [(Level::Note, "runs.W9")]);
    assert!(said[0].text().contains("CH and INV") && said[0].text().contains("bus bar"), "{}", said[0].text());
    assert!(found(&to("BUS"), "meets-at-terminals").is_empty());
}
