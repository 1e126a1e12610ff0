//! `fields`.

use super::program::Home;

#[test]
fn a_field_says_what_it_accepts() {
    let ran = Home::new().run(&["fields", "runs.ID.gauge"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.starts_with("runs.ID.gauge\n"), "{}", ran.out);
    assert!(ran.out.contains("16 mm2") && ran.out.contains("\"?\""), "{}", ran.out);
    assert!(ran.out.lines().all(|l| l.chars().count() < 80));
}

#[test]
fn every_section_is_listed() {
    let ran = Home::new().run(&["fields"]);
    for path in
        ["job.basis", "stays.ID.months", "runs.ID.legs.ID.length_m", "bank.ratings.amps_a", "roof.obstacles.ID.h_m"]
    {
        assert!(ran.out.lines().any(|l| l == path), "{path} is missing");
    }
    Home::new().run(&["fields", "zzzz"]).refused(2, &["zzzz"]);
}

/// Rules are listed by their names, with value and source by basis where they differ, and what a plan may set.
#[test]
fn rules_say_their_value_and_source_by_basis() {
    let ran = Home::new().run(&["fields", "rules.fuse-distance-m"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "rules.fuse-distance-m.value fuse distance, at most:",
        "0.4572 m by NEC 552.10(E)(4), 18 in (US RV);",
        "0.1778 m by 33 CFR 183.455 (b)(1), 7 in (marine);",
        "0.2 m by ISO 10133 200 mm (from memory) (metric).",
        "Accepts 0 to 2.",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let ran = Home::new().run(&["fields", "drop-array"]);
    assert!(ran.out.contains("drop, array to controller: 3 % by common practice."), "{}", ran.out);
    assert!(ran.out.lines().all(|l| l.chars().count() < 80));
}

/// A rule that the plan's file does not change yet is changed by naming it, and a reason is asked for; a slip in its
/// name is refused with the nearest names.
#[test]
fn a_rule_is_set_though_the_file_does_not_have_it() {
    let home = Home::new();
    let plan = coachwire::plan::samples::sample("thistle").unwrap().text;
    let path = home.file("rule.ron", plan.as_bytes());
    let path = path.as_str();
    let ran = home.run(&["check", path, "--set", "rules.drop-charger.value=5 %"]);
    assert!(ran.out.contains("drop-charger 5 % (2)"), "{}{}", ran.out, ran.err);
    assert!(ran.out.contains("rule-changed-without-reason"), "{}", ran.out);
    let both = ["--set", "rules.drop-charger.value=5", "--set", "rules.drop-charger.reason=long way"];
    let ran = home.run(&[&["check", path][..], &both].concat());
    assert!(!ran.out.contains("rule-changed-without-reason") && ran.out.contains("long way"), "{}", ran.out);
    let ran = home.run(&["check", path, "--set", "rules.drop-ch.value=5"]);
    ran.refused(2, &["drop-ch is no rule", "drop-charger"]);
}
