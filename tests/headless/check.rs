//! `check`.

use super::program::{Home, sample};

#[test]
fn text_names_the_plan_the_rules_and_what_comes_first() {
    let home = Home::new();
    let ran = home.run(&["check", &sample("bramble")]);
    assert_eq!(ran.err, "");
    for words in ["bramble.ron", "US RV rules", "Gunnison country CO (all)", "coldest -13 F", "10 runs", "local code"] {
        assert!(ran.out.contains(words), "{words:?} not in\n{}", ran.out);
    }
    let low = ran.out.to_lowercase();
    assert!(!low.contains("compliant") && !low.contains(" is safe"), "{}", ran.out);
    assert!(ran.out.is_ascii() || ran.out.lines().all(|l| l.chars().count() < 80));
}

/// What trees are taken as is said where the places are, and nothing of an open sky.
#[test]
fn trees_are_said_with_their_place() {
    let plain = |name: &str| {
        let out = Home::new().run(&["check", &sample(name)]).out;
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let said = "Corvallis OR (May-Jun), light trees taken as 15 degrees high all round, our own assumption;";
    let larkspur = plain("larkspur");
    assert!(larkspur.contains(said) && larkspur.contains("Quartzsite AZ (Oct-Apr); "), "{larkspur}");
    assert!(!plain("bramble").contains("taken as"));
}

/// What a change would bring: the findings of the plan as changed, said to be so; the file stays as it is.
#[test]
fn a_field_can_be_changed_first() {
    let home = Home::new();
    let plan = sample("bramble");
    let before = std::fs::read(&plan).unwrap();
    let as_it_is = home.run(&["check", &plan]);
    let thin = home.run(&["check", &plan, "--set", "runs.W2.gauge=16 AWG"]);
    assert_eq!((as_it_is.code, thin.code), (0, 1), "{}", thin.out);
    assert!(thin.out.contains("with runs.W2.gauge=16 AWG") && thin.out.contains("runs.W2 "), "{}", thin.out);
    home.run(&["check", &plan, "--set", "runs.W2.gauge=7awg"]).refused(2, &["runs.W2.gauge", "sizes"]);
    assert_eq!(std::fs::read(&plan).unwrap(), before);
}

#[test]
fn standard_input_is_a_plan_too() {
    let home = Home::new();
    let text = std::fs::read(sample("sorrel")).unwrap();
    let piped = home.run_with(&["check", "-"], &text);
    let read = home.run(&["check", &sample("sorrel")]);
    assert_eq!(piped.code, read.code);
    assert!(piped.out.starts_with("plan    standard input\n"), "{}", piped.out);
    let body = |s: &str| s.split_once('\n').unwrap().1.to_owned();
    assert_eq!(body(&piped.out), body(&read.out));
}

#[test]
fn unreadable_plans_are_2_with_a_place() {
    let home = Home::new();
    let file = |name: &str, bytes: &[u8]| home.file(name, bytes);
    home.run(&["check", "nowhere.ron"]).refused(2, &["nowhere.ron", "no such file"]);
    home.run(&["check", home.path("").to_str().unwrap()]).refused(2, &["is a directory"]);
    home.run(&["check", &file("latin.ron", b"(\n  version: 1,\n  job: (title: \"caf\xe9\"),\n)")])
        .refused(2, &["latin.ron", "not UTF-8", "byte"]);
    home.run(&["check", &file("newer.ron", b"(\n    version: 99,\n    wings: 2,\n)\n")])
        .refused(2, &["newer.ron", "line 2", "version 99", "version 1"]);
    home.run(&["check", &file("empty.ron", b"")]).refused(2, &["empty.ron", "line 1", "empty"]);
    home.run(&["check", &file("typo.ron", b"(\n    version: 1,\n    jobb: (),\n)\n")])
        .refused(2, &["line 3", "jobb", "fields here"]);
    home.run(&["check", &file("bounds.ron", b"(\n    version: 1,\n    bank: (\n        unit_ah: -4,\n    ),\n)\n")])
        .refused(2, &["line 4", "bank.unit_ah", "-4 is outside 1 to 5000 Ah"]);
    home.run(&["check", &file("zero.ron", b"(version: 1, bank: (unit_ah: 0.0))")])
        .refused(2, &["line 1", "bank.unit_ah", "0 is outside 1 to 5000 Ah"]);
    home.run(&["check", &file("north.ron", b"(version: 1, stays: [(id: \"ST1\", latitude_deg: 90.5)])")])
        .refused(2, &["line 1", "stays.ST1.latitude_deg", "90.5 is outside -90 to 90 deg"]);
    home.run(&["check", &file("nan.ron", b"(version: 1, bank: (unit_ah: NaN))")]).refused(2, &["line 1"]);
    let deep = format!("(version: 1, job: {})", "(".repeat(100_000));
    home.run(&["check", &file("deep.ron", deep.as_bytes())]).refused(2, &["line 1"]);
}

#[test]
fn a_command_name_can_still_be_a_file() {
    let home = Home::new();
    home.file("check", &std::fs::read(sample("bramble")).unwrap());
    let ran = home.run(&["check", "./check"]);
    assert!(ran.out.starts_with("plan    ./check\n"), "{}{}", ran.out, ran.err);
}

/// The exit code says how grave it is: a stop, also an accepted one, before what could not be checked.
#[test]
fn the_exit_code_says_how_grave_it_is() {
    let home = Home::new();
    assert_eq!(home.run(&["check", &sample("bramble")]).code, 0);
    assert_eq!(home.run(&["check", &sample("thistle")]).code, 1);
    let text = std::fs::read_to_string(sample("thistle")).unwrap();
    let accepted = text.replacen(
        "version: 1,",
        "version: 1, accepted: [(id: \"AC1\", finding: \"cold-voc-over-limit\", subject: \"arrays.A1\", reason: \"x\")],",
        1,
    );
    assert_eq!(home.run(&["check", &home.file("accepted.ron", accepted.as_bytes())]).code, 1);
    // Without the panel's open-circuit volts no cold volts can be checked, and nothing else is wrong.
    let text = std::fs::read_to_string(sample("bramble")).unwrap();
    let line = text.lines().find(|l| l.contains("voc_v:")).unwrap();
    let unknown = text.replacen(line, "            voc_v: \"?\",", 1);
    let ran = home.run(&["check", &home.file("unknown.ron", unknown.as_bytes())]);
    assert_eq!(ran.code, 3, "{}", ran.out);
    assert!(ran.out.contains("cold-voc-over-limit") && ran.out.contains("panels.P1"), "{}", ran.out);
}

/// So many of a kind have their cures tried; of the rest it is said that they have not, and where they are.
#[test]
fn cures_of_many_of_a_kind_are_not_all_tried() {
    let text = String::from_utf8(std::fs::read(sample("larkspur")).unwrap()).unwrap();
    let with = |count: usize| {
        let run = |k: usize| {
            format!(
                "(id: \"X{k}\", from: \"BUS\", to: \"BX{k}\", gauge: \"10 AWG\", return_path: \"pair\", legs: [(zone: \
                 \"cabinet\", length_m: 1.0, laid: \"open\", insulation_c: 105.0)]),"
            )
        };
        let bar = |k: usize| format!("(id: \"BX{k}\", kind: \"bus\", state: \"new\"),");
        let text = text.replacen("runs: [", &format!("runs: [{}", (0..count).map(run).collect::<String>()), 1);
        text.replacen("devices: [", &format!("devices: [{}", (0..count).map(bar).collect::<String>()), 1)
    };
    let home = Home::new();
    let untried = |count: usize| {
        let path = home.file(&format!("many{count}.ron"), with(count).as_bytes());
        let out = home.run(&["check", &path]).out;
        assert!(out.contains("cure: X"), "{out}");
        out.matches("not tried here").count()
    };
    assert_eq!(untried(4), 0);
    let beyond = untried(24);
    assert!((4..24).contains(&beyond), "four are beyond the twenty that are tried: {beyond}");
}

/// What a plan's text would do to a terminal it does not do: it is shown as a space.
#[test]
fn nothing_in_a_plan_steers_the_terminal() {
    let text = std::fs::read_to_string(sample("bramble")).unwrap();
    let line = text.lines().find(|l| l.contains("title:")).unwrap();
    let title = text.replacen(line, "        title: \"red \\u{1b}[31m bell \\u{7} and \\u{9b}2J\",", 1);
    let name = text.lines().filter(|l| l.contains("name:")).nth(1).unwrap();
    let both = title.replacen(name, "            name: \"\\u{1b}]0;x\\u{7}\",", 1);
    let home = Home::new();
    let path = home.file("steers.ron", both.as_bytes());
    let ran = home.run(&["check", &path]);
    assert!(ran.out.contains("red") && ran.out.contains("[31m bell"), "{}", ran.out);
    let set = home.run(&["check", &path, "--set", "runs.W2.gauge=\u{1b}[31m"]);
    for out in [&ran.out, &ran.err, &set.out, &set.err] {
        assert!(!out.chars().any(|c| c.is_control() && c != '\n'), "{out:?}");
    }
}
