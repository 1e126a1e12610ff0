//! Cures that were missing, and one that only hid what it did not cure.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Known, Plan, Value};
use coachwire::stock::Stock;
use coachwire::units::Number;

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

/// Two conductors in each pole on terminals that say nothing of how many they take: one of a larger size is offered, and
/// sizing all knows one that carries the current.
#[test]
fn a_run_drawn_with_two_conductors_may_be_one() {
    let two = |size: &str| {
        let mut p = with(&sound(), &[("runs.W4.gauge", gauge(size))]);
        p.runs[3].legs[0].per_pole = Known::Is(Number(2.0));
        p
    };
    let thin = two("18 AWG");
    assert!(says(&evaluate(&thin), "conductor-below-current", "runs.W4"));
    is_curable(&thin, "conductor-below-current", "runs.W4");
    for p in [two("2/0 AWG"), thin] {
        let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
        let row = proposal.rows.iter().find(|r| r.run.as_str() == "W4").expect("row");
        assert!(!row.why.contains("no gauge its terminals take"), "{}", row.why);
        let r = evaluate(&p.with(&proposal.step).expect("applies"));
        assert!(!r.findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&r));
    }
}

/// Insulation that stands the air, but has no column in the table there (NEC 310.16 and 310.17 end at 90 C), leaves what
/// was a stop unchecked: that is no cure.
#[test]
fn a_stop_that_nothing_checks_any_more_is_not_cured() {
    let p = with(&sound(), &[("runs.W2.legs.L1.zone", word("exhaust"))]);
    let before = evaluate(&p);
    let stops: Vec<_> = before.findings.iter().filter(|f| f.level == Level::Stop).collect();
    assert!(stops.len() >= 2, "{}", texts(&before));
    for f in &stops {
        for step in cures(&p, f.check.id, f.subject.as_str()) {
            let after = evaluate(&p.with(&step).expect("applies"));
            for was in &stops {
                let hidden =
                    |x: &&coachwire::engine::report::NotChecked| x.check == was.check.id && x.subject == was.subject;
                assert_eq!(after.not_checked.iter().find(hidden), None, "{}", step.name);
            }
        }
    }
}

/// A line from the start battery straight to the bank: what flows there is not derived, so its fuses are chosen for its
/// wire (common practice: at each battery, no more than the ampacity).
fn link(fuses: &str, is_measured: bool) -> Plan {
    let p = with(&sound(), &[("bank.chemistry", word("AGM")), ("controllers.C1.absorb_v", n(14.4))]);
    let p = insert(&p, "devices", r#"(id: "SB", kind: "start battery")"#);
    let run = format!(
        r#"(id: "W21", from: "SB", to: "BK", gauge: "8 AWG", design_override_a: 20.0, drop_override_a: 15.0,
            legs: [(id: "L1", length_m: 6.0, insulation_c: 105.0)], protection: [{fuses}])"#
    );
    let mut p = insert(&p, "runs", &run);
    let last = p.runs.last_mut().expect("W21");
    if !is_measured {
        (last.design_override_a, last.drop_override_a) = (None, None);
    }
    p
}

#[test]
fn a_link_between_batteries_is_fused_by_one_step() {
    for is_measured in [false, true] {
        let bare = link("", is_measured);
        assert!(says(&evaluate(&bare), "source-end-unfused", "runs.W21"), "{}", texts(&evaluate(&bare)));
        is_curable(&bare, "source-end-unfused", "runs.W21");
    }
    let large = link(
        r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1),
            (id: "F2", at: "to", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.1)"#,
        false,
    );
    let r = evaluate(&large);
    assert!(says(&r, "fuse-above-conductor", "runs.W21"), "{}", texts(&r));
    let steps = cures(&large, "fuse-above-conductor", "runs.W21");
    assert!(steps.iter().any(|s| s.name.starts_with("W21 F1 and W21 F2: ")), "{steps:?}");
}

/// 13.3 V / 2 mohm x 3 = 20 kA, times 1.1 is more than anything opens (class T: 20 kA); at a branch, past metres of wire,
/// less flows, and what opens that is offered.
#[test]
fn a_branch_fuse_is_offered_where_nothing_opens_the_main_fault() {
    let p = with(&sound(), &[("bank.ohmic_mohm", n(2.0))]);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W8", from: "FP", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.1)])"#,
    );
    let r = evaluate(&p);
    assert!(found(&r, "interrupt-below-fault").len() >= 2, "{}", texts(&r));
    assert!(says(&r, "interrupt-below-fault", "runs.W8"), "{}", texts(&r));
    is_curable(&p, "interrupt-below-fault", "runs.W8");
}

/// Where nothing cures it, what was tried is said: shade on a roof without a free place, and a drop that is in fuses and lugs.
#[test]
fn what_was_tried_in_vain_is_said() {
    let text = coachwire::plan::samples::sample("larkspur").expect("sample").text;
    let p = Plan::from_text(text).unwrap_or_else(|e| panic!("{e}"));
    let r = evaluate(&p);
    let tried = |check: &str, subject: &str| {
        let f = r.findings.iter().find(|f| f.check.id == check && f.subject.as_str() == subject).expect("found");
        let found = Engine::default().cures_tried(&p, &Stock::default(), f);
        assert_eq!(found.in_vain().is_empty(), !found.steps.is_empty(), "{}: {found:?}", f.text());
        found.in_vain()
    };
    // In a string of its own, its place with it, it holds back none.
    assert_eq!(tried("panel-in-shadow", "arrays.A2.places.PP8"), "");
    let drop = tried("drop-over-target", "runs.W7");
    assert!(drop.contains("BK and INV nearer: "), "{drop}");
    // Something cures it: nothing is said of what does not.
    assert_eq!(tried("breakaway-on-cut-off", "loads.L13"), "");
}
