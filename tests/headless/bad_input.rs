//! Drawings that cannot be meant and files that do not read, at the command line: each says what is wrong, the rest is
//! answered.

use super::program::{Home, Ran};

const DUNLIN: &str = include_str!("../screens/dunlin.ron");

fn check(home: &Home, name: &str, old: &str, new: &str) -> Ran {
    assert!(DUNLIN.contains(old), "{old}");
    home.run(&["check", &home.file(name, DUNLIN.replacen(old, new, 1).as_bytes())])
}

#[track_caller]
fn says(ran: &Ran, words: &[&str]) {
    let out = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in words {
        assert!(out.contains(word), "{word:?} not in\n{}{}", ran.out, ran.err);
    }
    // A stop of its own stays found.
    assert!(ran.code == 1 && out.contains("interrupt-below-fault"), "{}: {}", ran.code, ran.out);
}

#[test]
fn a_run_to_itself() {
    let home = Home::new();
    let ran = check(&home, "self.ron", r#"from: "BUS", to: "INV1""#, r#"from: "BUS", to: "BUS""#);
    says(&ran, &["run-to-itself W4 leaves BUS and ends on it again"]);
}

#[test]
fn two_devices_of_one_name() {
    let home = Home::new();
    let ran = check(&home, "two.ron", r#"id: "FP""#, r#"id: "BUS""#);
    says(&ran, &["duplicate-name BUS names two things; references mean the first"]);
    // Line and column of the second, as of any other trouble with a file; the file stays as it is.
    let text = DUNLIN.replacen(r#"id: "FP""#, r#"id: "BUS""#, 1);
    let place = |from: usize| {
        let byte = text[from..].find(r#""BUS""#).expect("there") + from;
        let before = &text[..byte];
        (before.matches('\n').count() + 1, before.rsplit('\n').next().expect("a line").chars().count() + 1, byte)
    };
    let devices = text.find("devices:").expect("there");
    let (first, _, byte) = place(devices);
    let (line, column, _) = place(byte + 5);
    let said = format!(
        "line {line}, column {column}: devices.BUS: a second BUS: what names BUS means the one of line {first};"
    );
    assert!(ran.err.contains(&said), "{said:?} not in {:?}", ran.err);
    assert_eq!(std::fs::read_to_string(home.path("two.ron")).unwrap(), text);
    let figures = home.run(&["figures", &home.file("two.ron", text.as_bytes())]);
    assert!(figures.code == 0 && figures.err.contains(&said), "{} {}", figures.code, figures.err);
    let fine = home.run(&["check", &home.file("fine.ron", DUNLIN.as_bytes())]);
    assert_eq!(fine.err, "");
}

#[test]
fn a_ring_of_runs() {
    let home = Home::new();
    let second = r#"(id: "W9", from: "BK", to: "FP", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)]), (id: "W6","#;
    let ran = check(&home, "ring.ron", r#"(id: "W6","#, second);
    says(&ran, &["runs.W9 loop", "W9 lies on a loop with W5 and W3"]);
}

/// A broken truck stock is named with its place; the plan is answered as with an empty van.
#[test]
fn a_broken_truck_stock() {
    let home = Home::new();
    let plan = home.file("plan.ron", DUNLIN.as_bytes());
    let without = home.run(&["check", &plan]);
    assert_eq!(without.err, "");
    std::fs::create_dir_all(home.path("data/coachwire")).unwrap();
    let place = |text: &str, words: &[&str]| {
        home.file("data/coachwire/truck.ron", text.as_bytes());
        for command in ["check", "figures"] {
            let ran = home.run(&[command, &plan]);
            for word in words {
                assert!(ran.err.contains(word), "{word:?} not in {:?}", ran.err);
            }
        }
        let ran = home.run(&["check", &plan]);
        assert_eq!((ran.code, ran.out), (without.code, without.out.clone()));
    };
    place(
        "(\n version: 1,\n spools: [\n  (gauge: \"9 AWG\"),\n ],\n)\n",
        &["truck.ron", "line 4", "spools.0.gauge", "9 AWG"],
    );
    place("(\n version: 1,\n lugs: [\n", &["truck.ron", "line"]);
    place("", &["truck.ron", "empty"]);
    place("(version: 99)", &["truck.ron", "version 99"]);
}
