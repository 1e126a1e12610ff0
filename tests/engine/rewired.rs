//! Places go along where panels are wired otherwise; another fuse before copper; one step for two findings of one fuse.

use super::cures::{cures, is_curable};
use super::mistakes::with;
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, LadderOf, Level};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

fn plan(text: &str) -> Plan {
    Plan::from_text(text).unwrap_or_else(|e| panic!("{e}"))
}

fn trailer() -> Plan {
    plan(include_str!("plans/trailer-drop.ron"))
}

fn blades() -> Plan {
    plan(include_str!("plans/coach-blades.ron"))
}

fn strung(strings: &str, of: [f64; 3]) -> Plan {
    let place = |n: usize| format!("arrays.A1.places.PP{n}.string");
    let at = [place(1), place(2), place(3)];
    let mut edits = vec![("arrays.A1.strings", Value::Text(strings.into()))];
    edits.extend(at.iter().zip(of).map(|(at, n)| (at.as_str(), Value::Number(n))));
    with(&trailer(), &edits)
}

fn places(p: &Plan) -> Vec<f64> {
    p.arrays[0].places.iter().map(|p| p.string.as_ref().and_then(|s| s.known()).expect("known").0).collect()
}

fn names(p: &Plan, check: &str, subject: &str) -> Vec<String> {
    cures(p, check, subject).into_iter().map(|s| s.name).collect()
}

/// Three panels of 19.8 V in parallel lack volts in the heat; in series they have three times as many, none is left off and no place
/// names a string that is gone. Copper far beyond 20 A comes after it, and says so.
#[test]
fn places_go_along_into_one_string() {
    let p = strung("1S3P P1", [1.0, 2.0, 3.0]);
    let steps = cures(&p, "hot-vmp-low", "arrays.A1");
    let all: Vec<&str> = steps.iter().map(|s| s.name.as_str()).collect();
    // PP3 lies in the shade of the vent: that is said.
    assert!(all[0].starts_with("A1: 3S1P P1") && !all[0].contains("place-string-not-there"), "{all:?}");
    let after = p.with(&steps[0]).expect("applies");
    assert_eq!(places(&after), [1.0, 1.0, 1.0]);
    let heavy = |s: &&&str| s.contains("4/0 AWG");
    assert!(all.iter().filter(heavy).all(|s| s.contains("far more copper")), "{all:?}");
}

/// As many rows as ways to divide three panels; in each every string has as many places as panels.
#[test]
fn a_row_of_the_ladder_takes_the_places_along() {
    let p = strung("3S1P P1", [1.0; 3]);
    let rows = Engine::default().ladder(&p, &Stock::default(), &LadderOf::Strings("A1".parse().expect("id")));
    let row = rows.iter().find(|r| r.step.name.ends_with("1S3P P1")).expect("row");
    let after = p.with(&row.step).expect("applies");
    assert_eq!(places(&after), [1.0, 2.0, 3.0]);
    assert!(found(&evaluate(&after), "place-string-not-there").is_empty());
}

/// Two places in a string of one panel.
#[test]
fn a_string_has_no_more_places_than_panels() {
    let p = strung("1S3P P1", [1.0, 1.0, 3.0]);
    let r = evaluate(&p);
    assert!(says(&r, "place-string-not-there", "arrays.A1.places.PP2"), "{}", texts(&r));
    assert_eq!(found(&r, "place-string-not-there").len(), 1);
    is_curable(&p, "place-string-not-there", "arrays.A1.places.PP2");
    let after = p.with(&cures(&p, "place-string-not-there", "arrays.A1.places.PP2")[0]).expect("applies");
    assert_eq!(places(&after), [1.0, 2.0, 3.0]);
    // All strings have theirs: one place is too many.
    let full = with(&strung("1S2P P1", [1.0, 2.0, 1.0]), &[]);
    is_curable(&full, "place-string-not-there", "arrays.A1.places.PP3");
}

/// 40 A of a controller over 2 ft of 2 AWG and a stud fuse of 60 A: a larger one loses less, the wire stays.
/// Source: volts of a fuse at its rating over that rating are its ohms, so that these fall as the rating rises.
#[test]
fn a_fuse_that_loses_less_comes_before_copper() {
    let steps = cures(&trailer(), "drop-over-target", "runs.W3");
    let first = &steps[0];
    assert!(first.name.starts_with("W3 fuse: ") && first.name.ends_with(", which loses less"), "{steps:?}");
    let after = trailer().with(first).expect("applies");
    assert_eq!(
        after.runs.iter().map(|r| r.gauge).collect::<Vec<_>>(),
        trailer().runs.iter().map(|r| r.gauge).collect::<Vec<_>>()
    );
    is_curable(&trailer(), "drop-over-target", "runs.W3");
}

/// A breakaway supply without watts: its blade fuse does not open the fault, and another is put though nothing is known to flow.
/// Source: NEC 110.9.
#[test]
fn a_run_without_current_gets_a_fuse_that_opens() {
    let p = blades();
    assert!(says(&evaluate(&p), "interrupt-below-fault", "runs.W9"));
    let sized = Engine::default().size_all(&p, &Stock::default(), false);
    let step = coachwire::plan::Step { name: String::new(), edits: sized.edits };
    let after = evaluate(&p.with(&step).expect("applies"));
    assert!(!says(&after, "interrupt-below-fault", "runs.W9"), "{}", texts(&after));
}

/// One fuse too small that cannot open its fault either: one step for both, whichever is asked.
#[test]
fn one_fuse_has_one_cure() {
    let p = blades();
    for check in ["interrupt-below-fault", "fuse-below-design"] {
        let step = &cures(&p, check, "runs.W16")[0];
        let after = evaluate(&p.with(step).expect("applies"));
        for gone in ["interrupt-below-fault", "fuse-below-design"] {
            assert!(!says(&after, gone, "runs.W16"), "{check}: {}", step.name);
        }
    }
}

/// Of two wires against a lead without a fuse the one whose own drop is within what the way may lose as well.
#[test]
fn the_wire_that_leaves_nothing_comes_first() {
    let p = plan(include_str!("plans/van-stud.ron"));
    let said = names(&p, "source-end-unfused", "runs.W5b");
    assert_eq!(said[0], "W5b: 3/0 AWG", "{said:?}");
    let after = p.with(&cures(&p, "source-end-unfused", "runs.W5b")[0]).expect("applies");
    let r = evaluate(&after);
    let own = r.findings.iter().filter(|f| f.run() == Some("W5b") && f.level != Level::Note);
    assert_eq!(own.count(), 0, "{}", texts(&r));
    // What else the way loses, most of it in M1, has a cure of its own.
    for f in found(&r, "drop-over-target") {
        is_curable(&after, "drop-over-target", f.subject.as_str());
    }
}
