//! What was checked, found and not checked.

use coachwire::plan::samples::SAMPLES;
use coachwire::wording::findings::{entries, sentence};

use super::{flat, paper, printed, sampled, set, with};

const ACCEPTED: &str =
    r#"(id: "AC1", finding: "cold-voc-over-limit", subject: "arrays.A1", reason: "stored heated", date: "2026-06-03""#;

/// What stands under a level's heading.
fn level<'a>(checks: &'a str, heading: &str) -> &'a str {
    let from = checks.find(&format!("\n{heading} ")).expect("the heading");
    checks[from..].split("\n\n").next().unwrap()
}

#[test]
fn every_finding_of_every_sample_stands_on_it() {
    for sample in SAMPLES {
        let plan = sampled(sample.name);
        let (papers, report) = printed(&plan);
        let checks = flat(paper(&papers, "checks.txt"));
        assert!(!report.findings.is_empty(), "{}", sample.name);
        for finding in &report.findings {
            let named = format!("{} {}", finding.subject, finding.check.id);
            assert!(checks.contains(&named), "{}: {named} is not in\n{checks}", sample.name);
            let said = flat(&sentence(&plan, finding));
            assert!(checks.contains(&said), "{}: {said:?} is not in\n{checks}", sample.name);
            assert!(checks.contains(&format!("source: {}", flat(&finding.source_said()))), "{}: {named}", sample.name);
        }
    }
}

#[test]
fn what_was_accepted_stays_in_its_level_with_reason_and_date() {
    let (papers, report) = printed(&with("thistle", "accepted", &format!("{ACCEPTED})")));
    let found = report.findings.iter().find(|f| f.check.id == "cold-voc-over-limit").expect("it stays");
    assert_eq!(found.accepted.as_deref(), Some("stored heated"));
    let checks = paper(&papers, "checks.txt");
    let stops = flat(level(checks, "STOP"));
    assert!(stops.contains("arrays.A1 cold-voc-over-limit (accepted)"), "{stops}");
    assert!(stops.contains("accepted: stored heated (2026-06-03)"), "{stops}");
    assert!(checks.contains("\nSTOP 12 and 1 accepted:"), "{checks}");
}

/// Accepted at 100 V, it stands at 109.9 V.
#[test]
fn an_acceptance_that_lapsed_says_so() {
    let (papers, _) = printed(&with("thistle", "accepted", &format!("{ACCEPTED}, value: 100.0)")));
    let stops = flat(level(paper(&papers, "checks.txt"), "STOP"));
    let said = "accepted: no longer: it has changed since. The reason then (2026-06-03): stored heated";
    assert!(stops.contains(said), "{stops}");
    assert!(!stops.contains("(accepted)"), "{stops}");
}

/// With its reason, its standard value and where that stands: ABYC E-11 and practice are as the rule's own row says.
#[test]
fn a_changed_rule_value_stands_with_reason_standard_and_source() {
    let rules = r#"(id: "drop-inverter", value: 5.0, reason: "short bursts only"), (id: "uplift-factor", value: 3.0)"#;
    let plan = with("thistle", "rules", rules);
    let checks = flat(paper(&printed(&plan).0, "checks.txt"));
    let row = coachwire::standards::rules::rule("drop-inverter").unwrap();
    let (standard, source) = (row.value(plan.job.basis), row.source_of(plan.job.basis));
    assert!(checks.contains("RULE VALUES CHANGED IN THIS PLAN 2"), "{checks}");
    let said = format!("5 % in this plan; standard {standard} % [{source}]; reason: short bursts only");
    assert!(checks.contains(&format!("drop-inverter ({}): {said}", row.label)), "{checks}");
    assert!(checks.contains("reason: no reason given"), "{checks}");
    assert!(!flat(paper(&printed(&sampled("thistle")).0, "checks.txt")).contains("CHANGED IN THIS PLAN"));
}

/// Without the panel's open-circuit volts no cold volts can be checked: said on every sheet, with the field on this one.
#[test]
fn what_was_not_checked_is_said_on_every_sheet() {
    let plan = set(&sampled("bramble"), &[("panels.P1.voc_v", "?")]);
    let (papers, report) = printed(&plan);
    let count = report.not_checked.len();
    assert!(count >= 2, "{:?}", report.not_checked);
    for (name, said) in
        [("checks.txt", "see NOT CHECKED below"), ("wires.txt", "see checks"), ("isolation.txt", "see checks")]
    {
        let head: Vec<&str> = paper(&papers, name).lines().take(14).collect();
        let line = format!("{count} safety checks not run: {said}");
        assert!(head.iter().any(|l| l.contains(&line)), "{line:?} is not in {name}: {head:#?}");
    }
    let checks = paper(&papers, "checks.txt");
    let listed = flat(level(checks, "NOT CHECKED"));
    for waiting in &report.not_checked {
        assert!(listed.contains(&format!("{} waits for", waiting.check)), "{listed}");
        assert!(listed.contains(&format!("({})", waiting.waits_for)), "{listed}");
    }
    // Once, with its device.
    let unknown = flat(level(checks, "UNKNOWN"));
    assert_eq!(unknown.matches("Voc").count(), 1, "{unknown}");
    for paper in &printed(&sampled("bramble")).0 {
        assert!(paper.text.contains("every safety check ran"), "{}", paper.text);
    }
}

#[test]
fn it_says_what_it_is_of_and_what_it_rests_on() {
    let (papers, report) = printed(&sampled("thistle"));
    let checks = flat(paper(&papers, "checks.txt"));
    for said in [
        "plan x.ron job Thistle: a plan with ten mistakes",
        "coach travel trailer, 31', 2016 date surveyed 2026-06-02 basis US RV rules",
        "coldest 10 F checked 1 array, 1 controller, bank 12.8 V 300 Ah, 11 runs, 7 loads",
        "The equipment's instructions, the local code and a licensed person's judgement come before them.",
    ] {
        assert!(checks.contains(said), "{said:?} is not in\n{checks}");
    }
    let all = entries(&sampled("thistle"), &report).len();
    assert!(all >= report.findings.len());
}

#[test]
fn no_paper_calls_a_design_safe_or_compliant() {
    for sample in SAMPLES {
        for paper in printed(&sampled(sample.name)).0 {
            let low = flat(&paper.text).to_lowercase();
            let claims = ["compliant", " is safe", "safe to", "complies", "certified", "meets code"];
            let made: Vec<_> = claims.iter().filter(|claim| low.contains(**claim)).collect();
            assert!(made.is_empty(), "{} of {}: {made:?}", paper.name, sample.name);
        }
    }
}
