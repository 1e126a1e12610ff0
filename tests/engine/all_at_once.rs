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
    // The panel's fuse could not open its fault before either, and thicker leads let more through: it goes along.
    let name = "B1 with fuse: 4/0 AWG, 400 A UL 248-15 T; N1 1 AWG; N2 1 AWG; W7 fuse 15 A UL 248-15 T; \
                W7's in a holder of its own outside FP";
    assert_eq!(steps[0].name, name);
    let whole = Plan::from_text(include_str!("plans/four-packs.ron")).unwrap_or_else(|e| panic!("{e}"));
    assert!(found(&evaluate(&whole), "fuse-below-design").is_empty());
}

/// The four packs on an inverter of 1000 W: mains of two 2/0 AWG, 134.9 mm2 (NEC Chapter 9 Table 8), and no gauge so thick.
fn doubled(bond: bool) -> Plan {
    let mut p = Plan::from_text(include_str!("plans/four-packs.ron")).unwrap_or_else(|e| panic!("{e}"));
    let gauge = |g: &str| Value::Gauge(g.parse().expect("gauge"));
    p = with(
        &p,
        &[
            ("inverters.INV.watts_w", n(1000.0)),
            ("inverters.INV.surge_w", n(2000.0)),
            ("runs.W4.protection.F1.amps_a", n(300.0)),
            ("runs.W5.protection.F1.amps_a", n(200.0)),
            ("runs.W3.gauge", gauge("1/0 AWG")),
            ("runs.W9.gauge", gauge("1/0 AWG")),
        ],
    );
    p.runs.retain(|r| bond || r.id.as_str() != "WB");
    p
}

/// NEC 552.10(C)(4): the bond is as thick as the largest battery lead. Where no gauge is, it is two conductors, or the leads
/// are made of one, which carries what flows, and the bond of that.
#[test]
fn a_bond_for_doubled_leads_is_doubled_or_they_are_one() {
    let missing = doubled(false);
    let r = evaluate(&missing);
    near("wanted", Ok(found(&r, "bond-missing")[0].n(0)), 2.0 * 67.43, 0.001);
    is_curable(&missing, "bond-missing", "devices.CHS");
    let steps = cures(&missing, "bond-missing", "devices.CHS");
    assert_eq!(steps[0].name, "bond SHN to CHS: 2 x 2/0 AWG");
    let bond = missing.with(&steps[0]).expect("applies").runs.last().cloned().expect("a run");
    assert_eq!(bond.legs[0].per_pole.known().map(|x| x.0), Some(2.0));
    let small = doubled(true);
    let r = evaluate(&small);
    near("4/0", Ok(found(&r, "bond-small")[0].n(0)), 107.2, 0.001);
    let steps = cures(&small, "bond-small", "runs.WB");
    assert_eq!(steps[0].name, "WB: 2 x 2/0 AWG");
    let one = steps.iter().find(|s| s.name.starts_with("leads in one: ")).unwrap_or_else(|| panic!("{steps:?}"));
    let after = small.with(one).expect("applies");
    let mains = after.runs.iter().filter(|r| ["W4", "W4b", "N5", "N6", "W5", "WB"].contains(&r.id.as_str()));
    assert!(
        mains.clone().count() == 6 && mains.clone().all(|r| r.legs[0].per_pole.known().is_some_and(|x| x.0 == 1.0))
    );
    assert!(found(&evaluate(&after), "bond-small").is_empty());
    apply_all(&small);
}

/// A fuse has its volts at its rating, 0.06 V of class T (from memory): a larger one within what its wire allows loses less, and
/// is offered against a drop that it alone mends.
#[test]
fn a_larger_fuse_mends_a_drop_by_a_hair() {
    let of = |m: f64| with(&sound(), &[("runs.W5.legs.L1.length_m", n(m))]);
    let over = |p: &Plan| found(&evaluate(p), "drop-over-target").into_iter().any(|f| f.name(0) == "INV");
    let m = (0..60).map(|k| 1.0 + 0.05 * f64::from(k)).find(|m| over(&of(*m))).expect("over its target somewhere");
    let (right, wrong) = (of(m - 0.05), of(m));
    assert!(!over(&right));
    let r = evaluate(&wrong);
    let f = found(&r, "drop-over-target").into_iter().find(|f| f.name(0) == "INV").expect("over").clone();
    let steps = cures(&wrong, "drop-over-target", f.subject.as_str());
    let step = steps.iter().find(|s| s.name.contains("which loses less")).unwrap_or_else(|| panic!("{steps:?}"));
    assert!(!over(&wrong.with(step).expect("applies")), "{}", step.name);
    let small =
        step.edits.iter().all(|e| matches!(e, coachwire::plan::Edit::Set { to: Value::Number(a), .. } if *a > 150.0));
    assert!(small, "{step:?}");
}

/// The sound plan with an inverter of 1300 W and no gauge or rating entered behind the bank: the least fuses that 1.25 x its
/// current asks for (NEC 210.20(A)) lose so much that no gauge meets the inverter's 2 %; larger ones, on wire that
/// carries them, do. Where none does, 2500 W, no copper is bought for it: 4/0 AWG, which 330 A ask for anyway, at most.
#[test]
fn sizing_takes_a_larger_fuse_where_its_target_wants_it() {
    let of = |watts: f64| {
        let mut p = with(&sound(), &[("inverters.INV.watts_w", n(watts))]);
        for run in p.runs.iter_mut().skip(2) {
            run.gauge = Known::Unknown;
            run.protection.iter_mut().for_each(|f| f.amps_a = Known::Unknown);
        }
        let step = coachwire::engine::Engine::default().size_all(&p, &coachwire::stock::Stock::default(), false);
        p.with(&step).expect("applies")
    };
    let sized = of(1300.0);
    let r = evaluate(&sized);
    assert!(found(&r, "drop-over-target").is_empty(), "{}", texts(&r));
    assert!(!r.findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&r));
    let fuse_a = |p: &Plan, run: &str| {
        let run = p.runs.iter().find(|r| r.id.as_str() == run).expect("run");
        run.protection[0].amps_a.known().expect("sized").0
    };
    let design_a = r.runs.iter().find(|x| x.id.as_str() == "W5").expect("run").design_a.clone().expect("amps").0;
    let least =
        coachwire::standards::fuse::smallest_at_least(coachwire::standards::kinds::FuseFamily::ClassT, design_a * 1.25);
    assert!(fuse_a(&sized, "W5") > least.expect("one"), "{} {least:?}", fuse_a(&sized, "W5"));
    for run in &r.runs {
        if let (Ok(carries), Some(fuse)) = (&run.ampacity_a, sized.runs.iter().find(|x| x.id == run.id)) {
            assert!(
                fuse.protection.iter().all(|f| f.amps_a.known().is_none_or(|a| a.0 <= carries.0 + 1e-9)),
                "{}",
                run.id
            );
        }
    }
    let stock = coachwire::stock::Stock::default();
    let again = coachwire::engine::Engine::default().size_all(&sized, &stock, false);
    assert!(again.edits.is_empty(), "{:?}", again.edits);
    // Beyond all fuses: the least that the current asks for.
    let far = of(2500.0);
    let r = evaluate(&far);
    let design_a = r.runs.iter().find(|x| x.id.as_str() == "W5").expect("run").design_a.clone().expect("amps").0;
    let least =
        coachwire::standards::fuse::smallest_at_least(coachwire::standards::kinds::FuseFamily::ClassT, design_a * 1.25);
    assert_eq!(Some(fuse_a(&far, "W5")), least, "{}", texts(&r));
}
