//! Help, version, wrong usage, completions, the man page, closed pipes.

use std::io::Read;
use std::process::Stdio;

use super::program::{Home, sample};

#[test]
fn help_and_version_need_no_plan() {
    let home = Home::new();
    let help = home.run(&["--help"]);
    assert_eq!((help.code, help.err.as_str()), (0, ""));
    for word in ["check", "figures", "papers", "new", "places", "Exit codes"] {
        assert!(help.out.contains(word), "{word}: {}", help.out);
    }
    assert!(help.out.lines().all(|l| l.chars().count() < 80), "fits a dumb terminal");
    assert!(!help.out.contains("completions"), "hidden");
    let version = home.run(&["--version"]);
    assert_eq!((version.code, version.out.trim()), (0, concat!("coachwire ", env!("CARGO_PKG_VERSION"))));
}

#[test]
fn wrong_usage_is_2_and_says_what_is_accepted() {
    let home = Home::new();
    home.run(&["check"]).refused(2, &["PLAN"]);
    home.run(&["figures", "x.ron", "--sett", "a=b"]).refused(2, &["--sett", "--set"]);
    home.run(&["new", "x.ron", "--from", "nothing-like-it"]).refused(2, &["nothing-like-it", "bramble"]);
    home.run(&["places"]).refused(2, &["WORDS"]);
}

#[test]
fn completions_and_man_page_come_from_the_same_arguments() {
    let home = Home::new();
    for shell in ["bash", "zsh", "fish"] {
        let ran = home.run(&["completions", shell]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(ran.out.contains("figures") && ran.out.contains("coachwire"), "{shell}");
    }
    let man = home.run(&["man"]);
    assert_eq!(man.code, 0, "{}", man.err);
    assert!(man.out.contains(".TH coachwire"), "{}", man.out);
    home.run(&["completions", "dos"]).refused(2, &["dos", "bash"]);
}

#[test]
fn a_closed_pipe_is_quiet() {
    let home = Home::new();
    for command in [vec!["figures"], vec!["check"]] {
        let mut child = home
            .command()
            .args(&command)
            .arg("-")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // The reader is gone before the program knows what to say.
        drop(child.stdout.take());
        let mut input = child.stdin.take().unwrap();
        std::io::Write::write_all(&mut input, &std::fs::read(sample("larkspur")).unwrap()).unwrap();
        drop(input);
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        assert_eq!(err, "", "{command:?}");
        assert!(child.wait().unwrap().code().is_some(), "not by a signal");
    }
}
