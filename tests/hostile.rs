//! Broken, foreign, absurd and enormous files: each ends in a message, never in a panic or a wrong plan.

use std::fs;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use coachwire::plan::{Plan, Value};
use coachwire::store::{Fault, RealDisk, Store};
use proptest::prelude::*;

use crate::plan::{path, small};

/// A small plan as a person could write it.
const TINY: &str = r#"(
    version: 1, // the first
    job: (title: "Larkspur \"two\"", basis: "US RV", coldest_c: -29.5),
    bank: (chemistry: "LFP", unit_v: 12.8, unit_ah: "?"),
    stays: [(id: "ST1", months: "Nov-Mar", mean_c: "1 2 3 4 5 6 7 8 9 10 11 12")],
    runs: [(id: "W2", from: "BK", gauge: "6 AWG", legs: [(id: "L1", length_m: 2.0), (id: "L2", gauge: "8 AWG")])],
    options: [(id: "OPT1", edits: ["runs.W2.gauge = 4 AWG"])],
)"#;

fn store() -> Store {
    Store::new(Arc::new(RealDisk), None)
}

fn fault(path: &Path) -> Fault {
    store().load(path).unwrap_err().fault
}

/// How many random cases: more on request.
fn cases() -> u32 {
    std::env::var("COACHWIRE_FUZZ_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(64)
}

#[test]
fn a_plan_cut_at_any_byte_is_refused_with_a_place() {
    assert_eq!(Plan::from_text(TINY).map(|p| p.runs.len()), Ok(1));
    for cut in 0..TINY.len() {
        let Some(part) = TINY.get(..cut) else { continue };
        let e = Plan::from_text(part).expect_err("a cut plan");
        assert!(e.line >= 1 && e.line <= part.matches('\n').count() + 1, "cut at {cut}: {e}");
        assert!(!e.message.is_empty());
    }
}

#[test]
fn a_plan_with_any_byte_changed_loads_within_bounds_or_is_refused() {
    for at in 0..TINY.len() {
        for byte in *b"?\"()[]{}-9en \n/*\\,:.#'\0" {
            let mut bytes = TINY.as_bytes().to_vec();
            bytes[at] = byte;
            if let Ok(plan) = Plan::from_text(&String::from_utf8(bytes).unwrap()) {
                assert_eq!(Plan::from_text(&plan.to_text()).as_ref(), Ok(&plan), "byte {at} is {byte}");
            }
        }
    }
}

#[test]
fn absurd_numbers_are_refused_with_the_field_named() {
    let text = small().to_text();
    assert!(text.contains("length_m: 2.0"));
    for number in [
        "-2.0", "1e300", "-1e300", "1e999", "-1e999", "NaN", "-NaN", "inf", "-inf", "60.0001", "\"two\"", "()", "[]",
        "true",
    ] {
        let e = Plan::from_text(&text.replacen("length_m: 2.0", &format!("length_m: {number}"), 1)).expect_err(number);
        assert_eq!(e.field, Some(path("runs.W2.legs.L1.length_m")), "{number}: {e}");
        assert!(!e.message.is_empty(), "{number}");
    }
    for (word, says) in [("\"7 AWG\"", "10, 8, 6"), ("\"6\"", "\"10 AWG\""), ("6", ""), ("\"6 AWG \\u{0}\"", "")] {
        let e = Plan::from_text(&text.replacen("\"6 AWG\"", word, 1)).expect_err(word);
        assert_eq!(e.field, Some(path("runs.W2.gauge")), "{word}: {e}");
        assert!(e.message.contains(says), "{word}: {e}");
    }
}

#[test]
fn a_run_to_nothing_and_ids_twice_load() {
    let text = small().to_text().replacen("to: \"BK\"", "to: \"GONE\"", 1).replacen("id: \"L2\"", "id: \"L1\"", 1);
    let plan = Plan::from_text(&text).unwrap();
    assert_eq!(plan.get_at(&path("runs.W2.to")), Some(Value::Id("GONE".parse().unwrap())));
    assert!(plan.end("GONE").is_none());
    assert_eq!(plan.runs[0].legs[0].id, plan.runs[0].legs[1].id);
    assert_eq!(Plan::from_text(&plan.to_text()).unwrap(), plan);
}

#[test]
fn unknown_fields_and_newer_versions_say_so() {
    let e = Plan::from_text(&small().to_text().replacen("pmax_w", "wattage", 1)).unwrap_err();
    assert!(e.message.contains("unknown field \"wattage\"") && e.message.contains("pmax_w"), "{e}");
    assert_eq!(e.field, Some(path("panels.P1.wattage")));
    let e = Plan::from_text(&small().to_text().replacen("version: 1", "version: 7", 1)).unwrap_err();
    assert!(e.message.contains("newer coachwire (version 7)"), "{e}");
}

#[test]
fn files_that_are_no_plans_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("x.ron");
    assert_eq!(fault(&file), Fault::Missing);
    assert_eq!(fault(folder.path()), Fault::Directory);
    fs::write(&file, "").unwrap();
    assert_eq!(fault(&file), Fault::NotPlan);
    assert!(store().load(&file).unwrap_err().to_string().contains("empty"));
    fs::write(&file, b"(version: 1, job: (title: \"\xc3\x28\"))").unwrap();
    let e = store().load(&file).unwrap_err();
    assert_eq!(e.fault, Fault::NotText);
    assert!(e.to_string().contains("byte 27"), "{e}");
    fs::write(&file, [0_u8; 4096]).unwrap();
    assert_eq!(fault(&file), Fault::NotPlan);
    assert_eq!(fault(&file.join("below")), Fault::Missing);
    let socket = folder.path().join("socket");
    let _listener = UnixListener::bind(&socket).unwrap();
    assert_eq!(fault(&socket), Fault::NotAFile);
    assert_eq!(store().save(&socket, &small(), None).unwrap_err().fault, Fault::NotAFile);
    assert_eq!(store().save(folder.path(), &small(), None).unwrap_err().fault, Fault::Directory);
}

#[test]
fn an_enormous_file_is_refused_without_reading_it() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("huge.ron");
    fs::File::create(&file).unwrap().set_len(1 << 30).unwrap();
    let start = Instant::now();
    let e = store().load(&file).unwrap_err();
    assert_eq!(e.fault, Fault::TooLarge);
    assert!(e.to_string().contains("1073741824 bytes is too large"), "{e}");
    // Reading a gigabyte takes far longer on any disk.
    assert!(start.elapsed().as_millis() < 100, "{:?}", start.elapsed());
    // Just within the limit it is read, and refused for what it is.
    fs::File::create(&file).unwrap().set_len(4 << 20).unwrap();
    assert_eq!(fault(&file), Fault::NotPlan);
}

#[test]
fn a_folder_that_cannot_be_written_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, "x").unwrap();
    let e = store().save(&file.join("plan.ron"), &small(), None).unwrap_err();
    assert!(matches!(e.fault, Fault::Missing | Fault::Other), "{e}");
    assert!(e.to_string().contains("plan.ron"), "{e}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "x");
    let e = store().save(&folder.path().join("no/such/plan.ron"), &small(), None).unwrap_err();
    assert_eq!(e.fault, Fault::Missing);
    assert!(e.to_string().contains("folder"), "{e}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases()))]

    #[test]
    fn no_text_panics(text in "\\PC{0,200}") {
        prop_assert!(Plan::from_text(&text).is_err());
    }

    #[test]
    fn no_text_that_begins_like_a_plan_panics(text in "[(){}\\[\\]\"',:?a-z0-9_./*\\\\# \n-]{0,200}") {
        if let Ok(plan) = Plan::from_text(&format!("(version: 1, {text}")) {
            prop_assert_eq!(Plan::from_text(&plan.to_text()), Ok(plan));
        }
    }

    #[test]
    fn no_damage_panics(cuts in proptest::collection::vec((0_usize..100_000, 0_usize..40, "\\PC{0,6}"), 1..4)) {
        let mut text = crate::plan::full::plan().to_text();
        for (at, len, new) in cuts {
            let at = at % text.len();
            let end = (at + len).min(text.len());
            if text.is_char_boundary(at) && text.is_char_boundary(end) {
                text.replace_range(at..end, &new);
            }
        }
        match Plan::from_text(&text) {
            Ok(plan) => prop_assert_eq!(Plan::from_text(&plan.to_text()), Ok(plan)),
            Err(e) => prop_assert!(e.line >= 1 && e.column >= 1 && !e.message.is_empty()),
        }
    }
}
