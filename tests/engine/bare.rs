//! Runs without any fuse between them and the bank, what mends them, and what a cure leaves as it was.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Level, isolation};
use coachwire::plan::{Known, Plan, Value};
use coachwire::units::Metres;

const UNFUSED: &str = "source-end-unfused";

/// A branch from the panel, behind the panel's feed, the main and the switch: with fuses or without any of them.
fn branch(gauge: &str, fused: bool) -> Plan {
    let fuse = if fused {
        r#", protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)]"#
    } else {
        ""
    };
    let run = format!(
        r#"(id: "W8", from: "FP", to: "L1", gauge: {gauge}, legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)]{fuse})"#
    );
    let mut p = insert(&sound(), "runs", &run);
    if !fused {
        for id in ["W3", "W6"] {
            p.runs.iter_mut().find(|r| r.id.as_str() == id).expect("run").protection.clear();
        }
    }
    p
}

/// A list of fuses that is empty is none, not an unknown: no branch of a bare feed is left unjudged, and each is mended by
/// a fuse, whatever else there is. With all of them there is nothing to say.
///
/// Source: NEC 552.10(E), fuse at the source end.
#[test]
fn a_branch_behind_a_bare_feed_is_a_stop() {
    let bare = branch(r#""14 AWG""#, false);
    let r = evaluate(&bare);
    assert!(!r.not_checked.iter().any(|n| n.check == UNFUSED), "{:?}", r.not_checked);
    for run in ["W3", "W8"] {
        let subject = format!("runs.{run}");
        assert!(says(&r, UNFUSED, &subject), "{run}:\n{}", texts(&r));
        let steps = cures(&bare, UNFUSED, &subject);
        assert!(steps.first().is_some_and(|s| s.name.contains("fuse")), "{run}: {steps:?}");
        for step in &steps {
            let after = bare.with(step).expect("applies");
            let own = |p: &Plan| p.runs.iter().find(|r| r.id.as_str() == run).map_or(0, |r| r.protection.len());
            assert!(own(&after) > own(&bare), "{run} is as bare as it was: {}", step.name);
        }
    }
    let r = evaluate(&branch(r#""14 AWG""#, true));
    assert!(found(&r, UNFUSED).is_empty() && !r.not_checked.iter().any(|n| n.check == UNFUSED), "{}", texts(&r));
}

/// Without a gauge the missing fuse is a stop all the same, what its rating waits for is said, and its place can be taken.
#[test]
fn a_bare_run_without_a_gauge_says_what_its_fuse_waits_for() {
    let bare = branch(r#""14 AWG""#, false);
    let bare = Plan {
        runs: bare
            .runs
            .into_iter()
            .map(|mut r| {
                if r.id.as_str() == "W8" {
                    r.gauge = Known::Unknown;
                }
                r
            })
            .collect(),
        ..bare
    };
    let r = evaluate(&bare);
    let said = found(&r, UNFUSED).into_iter().find(|f| f.subject.as_str() == "runs.W8").expect("a stop").text();
    assert!(said.contains("waits for its gauge"), "{said}");
    is_curable(&bare, UNFUSED, "runs.W8");
}

/// A disconnect cuts the array's run in two, of the same wire, going and coming back as before. How long the piece beyond it is
/// nobody has measured: it is asked for, and nothing is filled in.
#[test]
fn a_pv_disconnect_leaves_the_wire_as_it_was() {
    let mut p = sound();
    p.runs[0].protection.clear();
    let metres = |p: &Plan| -> f64 {
        let ends = |r: &&coachwire::plan::Run| {
            ["A1", "C1"].iter().any(|e| r.from.known().is_some_and(|x| x.as_str() == *e))
                && r.to.known().is_none_or(|x| x.as_str() != "BUS")
                || r.to.known().is_some_and(|x| x.as_str() == "C1")
        };
        p.runs.iter().filter(ends).flat_map(|r| &r.legs).filter_map(|l| l.length_m.known()).map(|Metres(m)| m).sum()
    };
    let before = evaluate(&p);
    assert!(says(&before, "no-array-disconnect", "arrays.A1"), "{}", texts(&before));
    let steps = cures(&p, "no-array-disconnect", "arrays.A1");
    let step = steps.iter().find(|s| s.name.contains("disconnect")).expect("a disconnect");
    let after = p.with(step).expect("applies");
    assert!((metres(&after) - metres(&p)).abs() < 1e-9, "{} of {} m", metres(&after), metres(&p));
    let piece = after.runs.iter().find(|r| !p.runs.iter().any(|own| own.id == r.id)).expect("a piece");
    assert!(piece.legs[0].length_m.known().is_none(), "{piece:?}");
    let asked = format!("runs.{}.legs.L1.length_m", piece.id);
    assert!(evaluate(&after).unknown.iter().any(|at| at.as_str() == asked));
    let r = evaluate(&after);
    let new = |f: &&coachwire::engine::Finding| f.level != Level::Note && !before.says(f);
    assert!(!r.findings.iter().any(|f| new(&f)), "{}", texts(&r));
    // What the controller takes, so that a colder stay asks for no other.
    let device = after.devices.iter().find(|d| d.name.contains("disconnect")).expect("device");
    let volts = device.ratings.volts_dc_v.and_then(|k| k.known().copied()).expect("volts").0;
    assert!(volts >= 105.0, "{volts} V");
}

/// A place of a string that the array does not have.
#[test]
fn a_place_names_a_string_that_is_there() {
    let at = |n: f64| with(&sound(), &[("arrays.A1.places.PP2.string", Value::Number(n))]);
    assert!(says(&evaluate(&at(33.0)), "place-string-not-there", "arrays.A1.places.PP2"));
    // The string is there; what it has no panel for is the last of its places.
    assert!(!says(&evaluate(&at(2.0)), "place-string-not-there", "arrays.A1.places.PP2"));
}

/// What can run together waits for a load's start, and so it is among the unknown.
#[test]
fn a_start_nobody_knows_is_an_unknown() {
    let p = with(&sound(), &[("loads.L1.surge_w", Value::Unknown)]);
    let waits = |p: &Plan| evaluate(p).unknown.iter().any(|at| at.as_str() == "loads.L1.surge_w");
    assert!(waits(&p));
    assert!(!waits(&with(&sound(), &[("loads.L1.surge_w", Value::Number(90.0))])));
}

/// A second load, with its run or without one, beside the first that has its run.
#[test]
fn a_load_without_a_run_is_said_where_others_have_theirs() {
    let p = insert(&branch(r#""14 AWG""#, true), "loads", r#"(id: "L2", watts_w: 10.0, hours_day: 2.0, state: "new")"#);
    assert!(says(&evaluate(&p), "load-without-run", "loads.L2"), "{}", texts(&evaluate(&p)));
    is_curable(&p, "load-without-run", "loads.L2");
    let run = r#"(id: "W9", from: "FP", to: "L2", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#;
    assert!(found(&evaluate(&insert(&p, "runs", run)), "load-without-run").is_empty());
    assert!(found(&evaluate(&sound()), "load-without-run").is_empty(), "none has a run");
}

/// What stands in the coach has the coach's own wire, whatever panel it hangs on and whatever else is drawn; one whose wire
/// is drawn and taken out has none any more.
#[test]
fn an_existing_load_is_said_where_its_run_is_taken_out() {
    let old = r#"(id: "L2", watts_w: 10.0, hours_day: 2.0, state: "existing")"#;
    let run = r#"(id: "W9", from: "FP", to: "L2", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#;
    let without = insert(&branch(r#""14 AWG""#, true), "loads", old);
    for panel in ["new", "existing"] {
        let p = with(&without, &[("devices.FP.state", word(panel))]);
        assert!(found(&evaluate(&p), "load-without-run").is_empty(), "{panel}");
    }
    let drawn = insert(&without, "runs", run);
    assert!(found(&evaluate(&drawn), "load-without-run").is_empty());
    for state in ["removed", "abandoned"] {
        let gone = with(&drawn, &[("runs.W9.legs.L1.state", word(state))]);
        let r = evaluate(&gone);
        let f = found(&r, "load-without-run");
        assert_eq!((f.len(), f[0].subject.as_str()), (1, "loads.L2"), "{}", texts(&r));
        assert!(texts(&r).contains("L2: its run is taken out"), "{}", texts(&r));
        is_curable(&gone, "load-without-run", "loads.L2");
        // Another in its place, or the load gone with it.
        let again = insert(&gone, "runs", &run.replace("W9", "W10"));
        assert!(found(&evaluate(&again), "load-without-run").is_empty(), "{state}");
        let both = with(&gone, &[("loads.L2.state", word("removed"))]);
        assert!(found(&evaluate(&both), "load-without-run").is_empty(), "{state}");
    }
}

/// A load on a controller's load output is fed; one on a controller that is not joined to the bank is not.
#[test]
fn a_load_output_leads_to_the_battery() {
    let run =
        r#"(id: "W8", from: "C1", to: "L1", gauge: "14 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)])"#;
    let p = insert(&sound(), "runs", run);
    let r = evaluate(&p);
    assert!(found(&r, "load-without-supply").is_empty(), "{}", texts(&r));
    assert!(says(&r, "load-on-controller", "loads.L1"));
    let mut cut = p;
    cut.runs.retain(|r| r.id.as_str() != "W2");
    assert!(found(&evaluate(&cut), "load-on-controller").is_empty());
}

/// A battery chosen as lithium asks for its cold cut-off: `?`, and not checked, rather than a stop nobody was asked about. One that
/// is said to have none is a stop, and lead has no such question.
#[test]
fn a_lithium_bank_begins_without_an_answer_about_cold() {
    use coachwire::document::usual::with_cold_cut_off;
    use coachwire::plan::{Edit, Step};
    let chosen = |chemistry: &'static str| {
        let mut p = sound();
        (p.bank.chemistry, p.bank.charge_cutoff_c) = (Known::Unknown, None);
        let to = Value::Word(chemistry);
        let step = with_cold_cut_off(&p, Step::one("", Edit::Set { at: "bank.chemistry".into(), to }));
        p.with(&step).expect("applies")
    };
    let asked = chosen("LFP");
    let r = evaluate(&asked);
    assert!(!says(&r, "lithium-charged-cold", "bank"), "{}", texts(&r));
    assert!(r.not_checked.iter().any(|n| n.check == "lithium-charged-cold"), "{:?}", r.not_checked);
    assert!(r.unknown.iter().any(|at| at.as_str() == "bank.charge_cutoff_c"));
    let none = with(&asked, &[("bank.charge_cutoff_c", Value::Nothing)]);
    assert!(says(&evaluate(&none), "lithium-charged-cold", "bank"));
    assert_eq!(chosen("AGM").bank.charge_cutoff_c, None);
}

/// Settings of a 12 V bank on one of 24 V: absorption and float are mended in one step.
#[test]
fn both_settings_are_mended_at_once() {
    let n = Value::Number;
    let wrong = with(&sound(), &[("controllers.C1.absorb_v", n(13.0)), ("controllers.C1.float_v", n(12.0))]);
    assert!(says(&evaluate(&wrong), "charge-volts-outside-window", "controllers.C1"), "{}", texts(&evaluate(&wrong)));
    is_curable(&wrong, "charge-volts-outside-window", "controllers.C1");
}

/// The same on 24 V: set as for 12 V, absorption and float are brought into this bank's window together (14.2 to 14.6 V and
/// 13.5 to 13.8 V for 12 V, twice).
#[test]
fn both_settings_are_mended_on_24_v() {
    let n = Value::Number;
    let p = super::misdrawn::on_24();
    let wrong = with(&p, &[("controllers.C1.absorb_v", n(14.2)), ("controllers.C1.float_v", n(13.5))]);
    assert!(says(&evaluate(&wrong), "charge-volts-outside-window", "controllers.C1"), "{}", texts(&evaluate(&wrong)));
    let steps = cures(&wrong, "charge-volts-outside-window", "controllers.C1");
    let after = wrong.with(steps.first().expect("a cure")).expect("applies");
    assert!(found(&evaluate(&after), "charge-volts-outside-window").is_empty(), "{}", texts(&evaluate(&after)));
    let set = |k: &Known<coachwire::units::Volts>| k.known().expect("volts").0;
    let (absorb, float) = (set(&after.controllers[0].absorb_v), after.controllers[0].float_v.as_ref().map(set));
    assert!((26.0..=29.3).contains(&absorb), "{absorb}");
    assert!(float.is_none_or(|v| v > 26.0 && v <= absorb), "{float:?}");
}

/// A van with a DC-DC charger: with the main switch open the bus is alive as long as the engine runs, and no longer.
#[test]
fn a_dc_dc_charger_holds_up_while_the_engine_runs() {
    let p = super::lines::dc_dc("4 AWG");
    let all = isolation(&p);
    for i in &all {
        for (id, why) in i.live.iter().filter(|(_, why)| why.contains("through CH")) {
            assert!(i.held.contains(id), "{} of {}: {why}", id, i.name);
            assert!(i.holders.iter().any(|h| h.contains("the engine")), "{:?}", i.holders);
        }
    }
}

/// No family of fuses opens some 30 kA at 58 V: what would help is said; where one does, nothing.
#[test]
fn a_fault_beyond_every_family_says_what_would_help() {
    let p = |mohm: f64| with(&sound(), &[("bank.ohmic_mohm", Value::Number(mohm))]);
    let said = |p: &Plan| found(&evaluate(p), "interrupt-below-fault").iter().map(|f| f.text()).collect::<Vec<_>>();
    let beyond = said(&p(1.0));
    assert!(beyond.iter().any(|t| t.contains("no family in the table opens more")), "{beyond:?}");
    let within = said(&p(3.0));
    assert!(!within.iter().any(|t| t.contains("no family")), "{within:?}");
}

/// Every check that the cures know is in their list, and no other: by it a screen says whether there may be a cure.
#[test]
fn the_list_of_curable_checks_is_that_of_the_cures() {
    let read = |dir: &str| -> String {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(dir);
        let mut all = String::new();
        let mut open = vec![root];
        while let Some(at) = open.pop() {
            if at.is_dir() {
                open.extend(std::fs::read_dir(&at).expect("reads").map(|e| e.expect("entry").path()));
            } else if !at.ends_with("kinds.rs") {
                all.push_str(&std::fs::read_to_string(&at).expect("reads"));
            }
        }
        all
    };
    let (checks, steps) = (
        read("src/engine/checks") + &read("src/engine/circuit"),
        read("src/engine/cures") + &read("src/engine/cures.rs"),
    );
    let ids: Vec<&str> = checks.split("\n    id: \"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(ids.len() > 100, "{}", ids.len());
    for id in ids {
        assert_eq!(coachwire::engine::is_curable(id), steps.contains(&format!("\"{id}\"")), "{id}");
    }
}
