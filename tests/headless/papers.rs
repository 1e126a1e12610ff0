//! `papers`.

use std::fs;
use std::path::Path;

use coachwire::plan::samples::SAMPLES;

use super::program::{Home, sample};

const NAMES: [&str; 3] = ["checks.txt", "isolation.txt", "wires.txt"];

fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    all.sort();
    all
}

#[test]
fn they_are_written_to_a_folder_that_is_made() {
    let home = Home::new();
    let ran = home.run(&["papers", &sample("bramble"), "--to", "jobs/bramble/papers"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let folder = home.path("jobs/bramble/papers");
    assert_eq!(names(&folder), NAMES);
    let mut said: Vec<&str> = ran.out.lines().collect();
    said.sort_unstable();
    assert_eq!(said, NAMES.map(|name| format!("jobs/bramble/papers/{name}")));
    for name in NAMES {
        let text = fs::read_to_string(folder.join(name)).unwrap();
        assert!(text.contains("\nplan      bramble.ron\n"), "the file alone: {text}");
    }
}

/// Whatever is found: a plan with stops has papers too.
#[test]
fn what_check_says_stands_on_them() {
    let home = Home::new();
    for sampled in SAMPLES {
        let plan = sample(sampled.name);
        let ran = home.run(&["papers", &plan, "--to", sampled.name]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let checks = fs::read_to_string(home.path(sampled.name).join("checks.txt")).unwrap();
        let said = home.run(&["check", &plan]).out;
        let (from, to) = (said.find("\n\n").expect("findings"), said.find("\nThese are checks").expect("the caution"));
        assert!(checks.contains(&said[from..to]), "{}\nis not in\n{checks}", &said[from..to]);
    }
}

#[test]
fn ours_are_replaced_and_nothing_else_is_touched() {
    let home = Home::new();
    fs::create_dir(home.path("out")).unwrap();
    home.file("out/notes.txt", b"mine");
    home.file("out/checks.txt", b"of last week");
    assert_eq!(home.run(&["papers", &sample("sorrel"), "--to", "out"]).code, 0);
    let first = fs::read(home.path("out/checks.txt")).unwrap();
    assert!(first.starts_with(b"CHECKS"));
    assert_eq!(home.run(&["papers", &sample("sorrel"), "--to", "out"]).code, 0);
    assert_eq!(fs::read(home.path("out/checks.txt")).unwrap(), first, "the same plan, the same paper");
    assert_eq!(fs::read(home.path("out/notes.txt")).unwrap(), b"mine");
    assert_eq!(names(&home.path("out")), ["checks.txt", "isolation.txt", "notes.txt", "wires.txt"]);
}

#[test]
fn standard_input_is_a_plan_too() {
    let home = Home::new();
    let ran = home.run_with(&["papers", "-", "--to", "out"], &fs::read(sample("marram")).unwrap());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = fs::read_to_string(home.path("out/wires.txt")).unwrap();
    assert!(text.contains("\nplan      standard input\n"), "{text}");
}

/// The shop is on every paper, where it has said who it is.
#[test]
fn they_are_the_shops() {
    let home = Home::new();
    fs::create_dir_all(home.path("data/coachwire")).unwrap();
    let settings = "(version: 1, shop_name: \"Creek Street Coach Electric\", shop_licence: \"EC 1234\")";
    home.file("data/coachwire/settings.ron", settings.as_bytes());
    let ran = home.run(&["papers", &sample("bramble"), "--to", "out"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    for name in NAMES {
        let text = fs::read_to_string(home.path("out").join(name)).unwrap();
        assert!(text.contains("\nshop      Creek Street Coach Electric, EC 1234\n"), "{text}");
    }
}

#[test]
fn unreadable_plans_and_wrong_usage_are_2_and_write_nothing() {
    let home = Home::new();
    home.run(&["papers", "nowhere.ron", "--to", "out"]).refused(2, &["nowhere.ron", "no such file"]);
    let wrong = home.file("wrong.ron", b"(\n    version: 1,\n    jobb: (),\n)\n");
    home.run(&["papers", &wrong, "--to", "out"]).refused(2, &["line 3", "jobb", "fields here"]);
    home.run(&["papers", &sample("bramble")]).refused(2, &["--to"]);
    home.run(&["papers", "--to", "out"]).refused(2, &["PLAN"]);
    assert!(!home.path("out").exists());
}

#[test]
fn what_cannot_be_written_is_4_and_leaves_what_was_there() {
    let home = Home::new();
    let file = home.file("plain", b"mine");
    home.run(&["papers", &sample("bramble"), "--to", &file]).refused(4, &["plain", "is a file, not a folder"]);
    // Below a regular file nothing can be written, whoever asks.
    home.run(&["papers", &sample("bramble"), "--to", &format!("{file}/out")]).refused(4, &["plain/out"]);
    assert_eq!(fs::read(home.path("plain")).unwrap(), b"mine");
    // One name is taken by a folder: none of the others is written.
    fs::create_dir_all(home.path("out/isolation.txt")).unwrap();
    home.file("out/checks.txt", b"of last week");
    home.run(&["papers", &sample("bramble"), "--to", "out"]).refused(4, &["isolation.txt", "is a folder"]);
    assert_eq!(fs::read(home.path("out/checks.txt")).unwrap(), b"of last week");
    assert_eq!(names(&home.path("out")), ["checks.txt", "isolation.txt"]);
}
