//! Sizing all gives a gauge to what has none, and a rating to fuses of unknown rating.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, texts};
use coachwire::engine::sizing::Proposal;
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Known, Plan, State, Value};
use coachwire::stock::Stock;

fn of(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("sample").text).unwrap_or_else(|e| panic!("{e}"))
}

fn without_gauges(p: &Plan) -> Plan {
    let mut p = p.clone();
    for run in &mut p.runs {
        run.gauge = Known::Unknown;
        run.legs.iter_mut().for_each(|l| l.gauge = None);
    }
    p
}

fn without_ratings(p: &Plan) -> Plan {
    let mut p = p.clone();
    p.runs.iter_mut().flat_map(|r| &mut r.protection).for_each(|f| f.amps_a = Known::Unknown);
    p
}

fn proposed(p: &Plan) -> (Plan, Proposal) {
    let proposal = Engine::default().propose_sizes(p, &Stock::default(), false);
    (p.with(&proposal.step).expect("applies"), proposal)
}

fn stops(r: &Report) -> Vec<String> {
    r.findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.text()).collect()
}

/// Every gauge is there, nothing waits for one, no stop came, and sizing again changes nothing.
fn complete(what: &str, p: &Plan) -> (Plan, Report) {
    let before = evaluate(p);
    let (after_plan, proposal) = proposed(p);
    for (run, row) in after_plan.runs.iter().zip(&proposal.rows) {
        assert!(run.gauge.known().is_some(), "{what} {}: {}", run.id, row.why);
    }
    let after = evaluate(&after_plan);
    let new: Vec<String> = stops(&after).into_iter().filter(|s| !stops(&before).contains(s)).collect();
    assert!(new.is_empty(), "{what}: {new:?}");
    let waits = |n: &&coachwire::engine::report::NotChecked| n.waits_for.as_str().starts_with("runs.");
    assert_eq!(after.not_checked.iter().find(waits), None, "{what}");
    let again = proposed(&after_plan).1;
    assert!(again.step.edits.is_empty(), "{what}: sized again {:?}", again.step.edits);
    (after_plan, after)
}

/// A panel over the chassis, whose bond is on its path and has no gauge either: all is sized, and stays so when it is sized again.
#[test]
fn a_path_over_the_chassis_is_sized_with_its_bond() {
    for end in ["BK-", "BUS"] {
        let edits = [
            ("runs.W6.return_path", word("chassis")),
            ("runs.W6.measured_ohm", Value::Number(0.004)),
            ("runs.W7.from", Value::Id(end.parse().expect("id"))),
        ];
        let p = with(&sound(), &edits);
        // What was measured stays the wire that it is.
        let open = with(&without_gauges(&p), &[("runs.W6.gauge", Value::Gauge("6 AWG".parse().expect("gauge")))]);
        for wrong in [open, p] {
            let (_, r) = complete(end, &wrong);
            let feed = r.runs.iter().find(|x| x.id.as_str() == "W6").expect("there");
            assert!(feed.path.iter().any(|run| run.as_str() == "W7"), "{:?}", feed.path);
            let thin = |f: &&coachwire::engine::Finding| f.check.id == "drop-over-target";
            assert_eq!(r.findings.iter().find(thin).map(|f| f.text()), None);
        }
    }
}

#[test]
fn a_plan_without_any_gauge_is_sized_whole() {
    for name in ["marram", "bramble"] {
        let (_, r) = complete(name, &without_gauges(&of(name)));
        let thin = |f: &&coachwire::engine::Finding| f.check.id == "drop-over-target";
        assert_eq!(r.findings.iter().filter(thin).count(), 0, "{name}\n{}", texts(&r));
    }
    complete("sound", &without_gauges(&sound()));
}

/// Source: NEC 210.20(A), 240.4: a fuse is at least 1.25 x the continuous current; at most what its wire carries, or the
/// next standard rating above it.
#[test]
fn fuses_of_unknown_rating_get_one() {
    for (what, p) in [("marram", of("marram")), ("bramble", of("bramble")), ("sound", sound())] {
        for bare in [without_ratings(&p), without_gauges(&without_ratings(&p))] {
            let (plan, r) = complete(what, &bare);
            for (run, figures) in plan.runs.iter().zip(&r.runs) {
                let Some(fuse) = run.protection.first() else { continue };
                let amps = fuse.amps_a.known().expect("a rating").0;
                let (design, most) = (figures.design_a.clone().expect("amps").0, figures.fuse_max_a.clone());
                assert!(amps >= 1.25 * design - 1e-6, "{what} {}: {amps} A for {design} A", run.id);
                assert!(most.is_ok_and(|most| amps <= most.0 + 1e-6), "{what} {}: {amps} A", run.id);
            }
        }
    }
    // Fuses whose rating is known stay as they are.
    let (plan, _) = proposed(&without_gauges(&of("marram")));
    for (run, old) in plan.runs.iter().zip(&of("marram").runs) {
        assert_eq!(run.protection, old.protection, "{}", run.id);
    }
}

/// Each new run of a sample without its gauge, in turn: it gets one, and no other loses by it.
#[test]
fn one_run_without_a_gauge_is_sized_with_the_others() {
    for name in ["marram", "larkspur"] {
        let p = of(name);
        let before = evaluate(&p);
        for index in 0..p.runs.len() {
            if p.runs[index].legs.iter().any(|l| l.state != State::New) {
                continue;
            }
            let mut bare = p.clone();
            bare.runs[index].gauge = Known::Unknown;
            let (plan, proposal) = proposed(&bare);
            let run = &plan.runs[index];
            assert!(run.gauge.known().is_some(), "{name} {}: {}", run.id, proposal.rows[index].why);
            let after = evaluate(&plan);
            for f in after.findings.iter().filter(|f| f.level != Level::Note) {
                assert!(
                    before.findings.iter().any(|b| b.identity() == f.identity()),
                    "{name} {}: {}",
                    run.id,
                    f.text()
                );
            }
        }
    }
}

/// 40 A of charge over 3 m, 2 % of 12 V: 0.24 V. Loop of 6 m stranded copper at 45 C (NEC Chapter 9 Table 8, 75 C
/// figures less 0.323 % a kelvin): 4 AWG 0.308 ohm/kft gives 0.22 V, and the class T fuse of 60 A 0.04 V more, too much;
/// 3 AWG 0.254 ohm/kft gives 0.18 V, with the fuse 0.22 V.
#[test]
fn the_gauge_is_that_of_the_hand_calculation() {
    let p =
        insert(&sound(), "chargers", r#"(id: "CH", kind: "shore", out_a: 40.0, efficiency_pct: 90.0, absorb_v: 14.2)"#);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W9", from: "BK", to: "CH", gauge: "?", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0, ambient_c: 30.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#,
    );
    let (plan, proposal) = proposed(&p);
    let run = plan.runs.iter().find(|r| r.id.as_str() == "W9").expect("W9");
    assert_eq!(run.gauge.known().map(ToString::to_string).as_deref(), Some("3 AWG"), "{:?}", proposal.rows.last());
}

/// Wire that is there and whose gauge nobody read off is held and says so; what lies beside it on the path is sized.
#[test]
fn existing_wire_of_unknown_gauge_stalls_nobody() {
    let old = [("runs.W3.gauge", Value::Unknown), ("runs.W3.legs.L1.state", word("existing"))];
    let p = without_gauges(&with(&of("marram"), &old));
    let (plan, proposal) = proposed(&p);
    for (run, row) in plan.runs.iter().zip(&proposal.rows) {
        match run.id.as_str() {
            "W3" => {
                assert!(row.why.starts_with("held: existing wire stays; its gauge is to be read off"), "{}", row.why)
            }
            // The bond follows the battery lead, which nobody knows.
            "W16" => assert_eq!(row.gauge.1, None),
            _ => assert!(row.gauge.1.is_some(), "{}: {}", run.id, row.why),
        }
    }
    assert!(stops(&evaluate(&plan)).is_empty(), "{}", texts(&evaluate(&plan)));
}

/// The main run out, drawn again by its cure, its length measured: sizing all makes the rest of it, fuse and all, and the plan
/// is without a stop and without a check that waits.
#[test]
fn a_run_that_was_drawn_by_its_cure_is_sized_whole() {
    for (name, run, check) in [
        ("marram", "W3", "bank-not-joined"),
        ("marram", "W2", "controller-without-run"),
        ("larkspur", "W9", "bank-not-joined"),
    ] {
        let at = coachwire::plan::FieldPath::new(format!("runs.{run}"));
        let out = coachwire::plan::Edit::Remove { at };
        let p = of(name).with(&coachwire::plan::Step::one("out", out)).expect("there");
        let r = evaluate(&p);
        let finding = r.findings.iter().find(|f| f.check.id == check).unwrap_or_else(|| panic!("{}", texts(&r)));
        let cure = Engine::default().cures(&p, &Stock::default(), finding).remove(0);
        let drawn = p.with(&cure).expect("applies");
        let new = drawn.runs.iter().find(|r| !p.runs.contains(r)).expect("a run").id.clone();
        let leg = format!("runs.{new}.legs.L1");
        let measured = with(
            &drawn,
            &[(&format!("{leg}.length_m"), Value::Number(0.4)), (&format!("{leg}.insulation_c"), Value::Number(105.0))],
        );
        let (plan, proposal) = proposed(&measured);
        let made = plan.runs.iter().find(|r| r.id == new).expect("the run");
        let why = &proposal.rows.iter().find(|r| r.run == new).expect("a row").why;
        assert!(made.gauge.known().is_some(), "{name} {run}: {why}");
        let fuse = &made.protection[0];
        assert!(fuse.amps_a.known().is_some() && fuse.family.known().is_some(), "{name} {run}: {why}");
        let after = evaluate(&plan);
        assert!(stops(&after).is_empty(), "{name} {run}\n{}", texts(&after));
        assert_eq!(after.not_checked, [], "{name} {run}");
    }
}

/// A run of old and new wire: the new leg of unknown gauge is sized beside the old one that was read off; where the old one
/// was not, its row says which leg that is.
#[test]
fn a_new_leg_beside_an_old_one_is_sized() {
    let mixed = |old: &str| {
        let mut p = sound();
        p.runs.retain(|r| r.id.as_str() != "W2");
        let run = r#"(id: "W2", from: "C1", to: "BUS", gauge: "?", legs: [
            (id: "L1", length_m: 0.2, insulation_c: 105.0, gauge: OLD, state: "existing"),
            (id: "L2", length_m: 0.2, insulation_c: 105.0, gauge: "?")],
            protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)])"#;
        insert(&p, "runs", &run.replace("OLD", old))
    };
    let row = |p: &Plan| {
        let (after, proposal) = proposed(p);
        let row = proposal.rows.into_iter().find(|r| r.run.as_str() == "W2").expect("a row");
        let run = after.runs.iter().find(|r| r.id.as_str() == "W2").expect("there").clone();
        (run, row)
    };
    let (run, _) = row(&mixed("\"2 AWG\""));
    let gauge = |leg: usize| run.legs[leg].gauge.as_ref().and_then(|k| k.known()).map(ToString::to_string);
    assert!(gauge(0).as_deref() == Some("2 AWG") && gauge(1).is_some(), "{run:?}");
    assert!(Engine::default().select(&mixed("\"2 AWG\""), &Stock::default(), &"W2".parse().expect("id")).is_some());
    let (_, unread) = row(&mixed("\"?\""));
    assert_eq!(unread.why, "not sized: waits for runs.W2.legs.L1.gauge");
    // The old wire is too thin for the fuse: no new leg mends that, and it is said.
    let (run, held) = row(&mixed("\"8 AWG\""));
    assert!(run.legs[1].gauge.as_ref().is_some_and(|k| k.known().is_none()));
    assert!(held.why.contains("fuse F1 of 80 A, its conductor allows"), "{}", held.why);
}

/// What one run waits for holds up no other: with the insulation of one unknown, and another run of old wire whose gauge is
/// to be read off, all others get theirs; each of the two says what it lacks.
#[test]
fn what_one_run_lacks_holds_up_no_other() {
    let mut p = without_ratings(&without_gauges(&sound()));
    p.runs[1].legs[0].insulation_c = Known::Unknown;
    p.runs[5].legs[0].state = State::Existing;
    let (after, proposal) = proposed(&p);
    let why = |run: &str| proposal.rows.iter().find(|r| r.run.as_str() == run).expect("a row").why.clone();
    assert!(why("W2").contains("waits for runs.W2.legs.L1.insulation_c"), "{}", why("W2"));
    assert!(why("W6").contains("its gauge is to be read off it"), "{}", why("W6"));
    for run in after.runs.iter().filter(|r| !["W2", "W6"].contains(&r.id.as_str())) {
        assert!(run.gauge.known().is_some(), "{}: {}", run.id, why(run.id.as_str()));
    }
    assert_eq!(proposed(&after).1.step.edits, []);
}

/// A fuse that sits too far from its source is a stop whatever its rating, once the one ahead has its own: both are left
/// open, with that for a reason. The gauges of all runs are found all the same, and all other ratings.
#[test]
fn a_fuse_that_brings_a_stop_holds_up_no_gauge() {
    let mut p = without_ratings(&without_gauges(&sound()));
    let fuse = &mut p.runs[5].protection[0];
    fuse.distance_m = Known::Is(coachwire::units::Metres(1.5));
    let (after, proposal) = proposed(&p);
    for (run, row) in after.runs.iter().zip(&proposal.rows) {
        assert!(run.gauge.known().is_some(), "{}: {}", run.id, row.why);
        let open = run.protection.iter().any(|f| f.amps_a.known().is_none());
        assert_eq!(open, ["W3", "W6"].contains(&run.id.as_str()), "{}: {}", run.id, row.why);
        let far = row.why.contains("left open: with the") && row.why.contains("W6: the");
        assert!(!open || far, "{}: {}", run.id, row.why);
    }
    assert_eq!(stops(&evaluate(&after)), Vec::<String>::new());
    assert_eq!(proposed(&after).1.step.edits, []);
}

/// A fuse whose rating would leave an old unfused branch behind it above its wire stays open, with that for a reason; and
/// nothing on a path of which a loss is not known gets thinner meanwhile.
#[test]
fn a_fuse_left_open_says_why() {
    let mut p = with(
        &sound(),
        &[("runs.W3.protection.F1.amps_a", Value::Unknown), ("runs.W6.legs.L1.state", word("existing"))],
    );
    p.runs.iter_mut().find(|r| r.id.as_str() == "W6").expect("there").protection.clear();
    let (after, proposal) = proposed(&p);
    let row = proposal.rows.iter().find(|r| r.run.as_str() == "W3").expect("a row");
    assert_eq!(row.fuse.1, None);
    let why =
        "F1 left open: with the 125 A that it wants, W6 has no fuse at BUS, and the 125 A ahead of it is above the";
    assert!(row.why.contains(why), "{}", row.why);
    for (old, new) in p.runs.iter().zip(&after.runs) {
        assert_eq!(old.gauge, new.gauge, "{}", old.id);
    }
    // With a fuse of its own the branch needs none ahead, and the main one gets its rating.
    let right = with(&sound(), &[("runs.W3.protection.F1.amps_a", Value::Unknown)]);
    let (_, proposal) = proposed(&right);
    let row = proposal.rows.iter().find(|r| r.run.as_str() == "W3").expect("a row");
    assert!(row.fuse.1.is_some() && !row.why.contains("left open"), "{}", row.why);
}
