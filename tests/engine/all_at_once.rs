//! Mistakes that one change alone does not mend: the step makes all that it takes at once.

use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::samples::WRONG;
use super::{evaluate, found, near, plan, texts};
use coachwire::engine::Level;
use coachwire::plan::samples::sample;
use coachwire::plan::{Known, Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

/// Inverter and fuse panel each on a lead of their own from the bank, as in the trade's wrong plan: a switch in one leaves the
/// other without. The right twin has one main ahead of both.
#[test]
fn each_way_from_the_bank_gets_its_switch() {
    for (run, others) in [("W4", ["W4", "W5"]), ("W6", ["W5", "W6"])] {
        let wrong = with(&plan(WRONG), &[(format!("runs.{run}.from").as_str(), id("BK"))]);
        is_curable(&wrong, "no-bank-disconnect", "bank");
        let steps = cures(&wrong, "no-bank-disconnect", "bank");
        for other in others {
            assert!(steps[0].name.contains(&format!("new battery switch in {other}: ")), "{steps:?}");
        }
        let with_switches = wrong.with(&steps[0]).expect("applies");
        let switches = with_switches.devices.iter().filter(|d| d.name == "battery switch").count();
        assert_eq!(switches, 2, "{steps:?}");
    }
    // One main switch does it where all hang on one bus.
    assert!(cures(&plan(WRONG), "no-bank-disconnect", "bank")[0].name.starts_with("new battery switch in W5: "));
    assert!(found(&evaluate(&sound()), "no-bank-disconnect").is_empty());
}

/// The sound plan on 25.6 V with a load made for 12 V on a branch of its own.
fn on_24(watts: f64, branch: bool) -> Plan {
    let p = with(
        &sound(),
        &[
            ("bank.unit_v", n(25.6)),
            ("bank.ohmic_mohm", n(9.0)),
            ("controllers.C1.absorb_v", n(28.4)),
            ("loads.L1.made_for", word("12 V")),
            ("loads.L1.watts_w", n(watts)),
        ],
    );
    let p = insert(&p, "loads", r#"(id: "L2", watts_w: 50.0, hours_day: 2.0, made_for: "24 V")"#);
    if !branch {
        return p;
    }
    let run = r#"(id: "W8", from: "FP", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 10.0, distance_m: 0.05)])"#;
    insert(&p, "runs", run)
}

/// A load of 12 V on a rail of 24 V: 60 W / 12 V = 5 A, x 1.25 for what runs for long (NEC 210.20(A)): a converter of 8 A;
/// 200 W / 12 V x 1.25 = 20.8 A: one of 25 A. Its label (made for) decides; a load for 12 or 24 V is right as it is.
#[test]
fn a_load_of_other_volts_gets_a_converter() {
    for (branch, watts, amps) in [(true, 60.0, 8.0), (true, 200.0 / 2.5, 10.0), (false, 200.0, 25.0)] {
        let wrong = on_24(watts, branch);
        is_curable(&wrong, "device-volts-unfit", "loads.L1");
        let steps = cures(&wrong, "device-volts-unfit", "loads.L1");
        let after = wrong.with(&steps[0]).expect("applies");
        let made = after.devices.last().expect("a converter");
        let rated = made.ratings.amps_a.and_then(|k| k.known().copied()).map(|a| a.0);
        assert_eq!(rated, Some(amps), "{}", steps[0].name);
        // What feeds it has a fuse.
        let feed = after.runs.iter().find(|r| r.to == Known::Is(made.id.clone())).expect("a feed");
        assert!(!feed.protection.is_empty(), "{}", steps[0].name);
        apply_all(&wrong);
        let right = with(&wrong, &[("loads.L1.made_for", word("12 or 24 V"))]);
        assert!(found(&evaluate(&right), "device-volts-unfit").is_empty(), "{}", texts(&evaluate(&right)));
    }
    // Where all of a panel is made for 12 V, one ahead of the panel.
    let all = with(&on_24(60.0, false), &[("loads.L2.made_for", word("12 V"))]);
    let steps = cures(&all, "device-volts-unfit", "loads.L1");
    assert!(steps[0].name.contains("ahead of FP: "), "{steps:?}");
    let r = evaluate(&all.with(&steps[0]).expect("applies"));
    assert!(found(&r, "device-volts-unfit").is_empty(), "{}", texts(&r));
    // Up to 24 V none can be drawn: it says so.
    let up = with(&sound(), &[("loads.L1.made_for", word("24 V"))]);
    let r = evaluate(&up);
    let text = found(&r, "device-volts-unfit")[0].text();
    assert!(
        text.ends_with(
            "converters here give 12 V: a load made for these volts, or one with a converter of its own, would do"
        ),
        "{text}"
    );
}

/// Branches whose blades open a fault that comes back by the negatives but not one by the bonded frame: class T does (20 kA,
/// UL 248-15), in a rating that the branch had, for all that leave one panel.
#[test]
fn fuses_that_open_a_fault_by_the_frame() {
    let p = Plan::from_text(sample("larkspur").expect("sample").text).unwrap_or_else(|e| panic!("{e}"));
    let r = evaluate(&p);
    let all = found(&r, "interrupt-below-frame-fault");
    assert!(!all.is_empty() && all.iter().all(|f| f.level != Level::Stop), "{}", texts(&r));
    for f in all {
        let steps = cures(&p, "interrupt-below-frame-fault", f.subject.as_str());
        assert!(steps[0].name.starts_with("UL 248-15 T, which opens it by the frame too: "), "{steps:?}");
        let after = evaluate(&p.with(&steps[0]).expect("applies"));
        assert!(
            found(&after, "interrupt-below-frame-fault").iter().all(|g| g.subject != f.subject),
            "{}",
            texts(&after)
        );
    }
}

/// Four packs of 12.8 V on two leads of 2 AWG: 3000 W / (12.0 V x 0.90) = 278 A and some for the loads may flow in either, as
/// the other may be left off. A lead and its fuse want a negative that brings as much back: all at once.
#[test]
fn a_lead_takes_its_negative_along() {
    let mut p = Plan::from_text(include_str!("plans/four-packs.ron")).unwrap_or_else(|e| panic!("{e}"));
    p.runs.retain(|r| !["B3", "B4", "N3", "N4"].contains(&r.id.as_str()));
    let r = evaluate(&p);
    let f = found(&r, "fuse-below-design");
    near("may flow", Ok(f[0].n(1)), 3000.0 / (12.0 * 0.90) + 124.0 / 12.0, 0.01);
    for run in ["B1", "B2"] {
        is_curable(&p, "fuse-below-design", &format!("runs.{run}"));
    }
    let steps = cures(&p, "fuse-below-design", "runs.B1");
    assert_eq!(steps[0].name, "B1 with fuse: 4/0 AWG, 400 A UL 248-15 T; N1 1 AWG; N2 1 AWG");
    let whole = Plan::from_text(include_str!("plans/four-packs.ron")).unwrap_or_else(|e| panic!("{e}"));
    assert!(found(&evaluate(&whole), "fuse-below-design").is_empty());
}
