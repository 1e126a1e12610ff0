//! How papers come out whatever the plan: pictures of two samples, lines that fit, nothing that moves a printer.

use coachwire::plan::{Edit, FieldPath, Id, Plan, Step};
use proptest::prelude::*;
use unicode_width::UnicodeWidthStr;

use super::{flat, paper, printed, printed_with, sampled};

/// Columns of paper.
const COLUMNS: usize = 80;

#[test]
fn of_a_wrong_plan_and_of_a_metric_one() {
    for name in ["thistle", "marram"] {
        for paper in printed_with(&sampled(name), true).0 {
            let sheet = paper.name.trim_end_matches(".txt");
            let settings = insta::Settings::clone_current();
            settings.bind(|| {
                insta::with_settings!({ snapshot_path => "snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
                    insta::assert_snapshot!(format!("{name}__{sheet}"), paper.text);
                });
            });
        }
    }
}

#[track_caller]
fn fits(plan: &Plan) {
    for paper in printed(plan).0 {
        assert!(paper.text.ends_with('\n') && !paper.text.ends_with("\n\n"), "{}", paper.name);
        for line in paper.text.lines() {
            assert!(line.width() <= COLUMNS, "{} columns in {}: {line:?}", line.width(), paper.name);
            assert!(!line.chars().any(char::is_control), "{line:?}");
            assert!(!line.ends_with(' '), "{line:?}");
        }
    }
}

#[test]
fn of_an_empty_plan_and_of_one_without_runs() {
    let mut bare = sampled("bramble");
    bare.runs.clear();
    for plan in [Plan::default(), Plan::blank(), bare] {
        fits(&plan);
        let papers = printed(&plan).0;
        assert!(paper(&papers, "wires.txt").contains("The plan has no wiring runs."));
        let isolation = flat(paper(&papers, "isolation.txt"));
        let none = "The plan has no switch, disconnect, breaker or line fuse: nothing in it can be opened.";
        assert_eq!(isolation.contains(none), plan.devices.is_empty(), "{isolation}");
    }
    let papers = printed(&Plan::blank()).0;
    let checks = flat(paper(&papers, "checks.txt"));
    assert!(checks.contains("coach ? (job.coach_kind) date ? (job.surveyed)"), "{checks}");
}

#[test]
fn of_three_hundred_runs() {
    let text = coachwire::plan::samples::sample("larkspur").unwrap().text.as_str();
    let run = |k: usize| {
        let fuse = format!(
            "protection: [(id: \"F1\", at: \"from\", family: \"ISO 8820-3 C\", amps_a: 15.0, distance_m: 0.{k:03})]"
        );
        format!(
            "(id: \"X{k}\", from: \"BUS\", to: \"BX{k}\", gauge: \"10 AWG\", return_path: \"pair\", legs: [(zone: \
             \"cabinet\", length_m: 1.0, laid: \"open\", insulation_c: 105.0)], {fuse}),"
        )
    };
    let bar = |k: usize| format!("(id: \"BX{k}\", kind: \"bus\", state: \"new\"),");
    let text = text.replacen("runs: [", &format!("runs: [{}", (0..300).map(run).collect::<String>()), 1);
    let text = text.replacen("devices: [", &format!("devices: [{}", (0..300).map(bar).collect::<String>()), 1);
    let plan = Plan::from_text(&text).unwrap();
    fits(&plan);
    let papers = printed(&plan).0;
    let wires = paper(&papers, "wires.txt");
    for run in &plan.runs {
        assert!(wires.contains(&format!("\n{} ", run.id)), "{}", run.id);
    }
    assert_eq!(wires.matches("\n  currents  design").count(), plan.runs.len());
}

/// A long name, of letters of one or two columns, without a space to break at or with all sorts of them.
fn name() -> impl Strategy<Value = String> {
    prop_oneof!["[a-z]{60,200}", "[漢字仮名交]{60,120}", "\\PC{0,200}", "[a-z \u{1f469}\u{200d}\u{1f527}é]{0,200}"]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn no_line_is_wider_than_paper(names in proptest::collection::vec(name(), 8), id in "[A-Z][A-Za-z0-9_+-]{23}") {
        let [title, coach, customer, date, device, load, reason, place] = <[String; 8]>::try_from(names).unwrap();
        let mut plan = super::with("thistle", "rules", r#"(id: "drop-inverter", value: 5.0)"#);
        let to: Id = id.parse().unwrap();
        let at = FieldPath::from("runs").join(&plan.runs.first().unwrap().id);
        plan = plan.with(&Step::one("rename", Edit::Rename { at, to })).unwrap();
        plan.job.title = title;
        plan.job.coach_kind = coach;
        plan.job.customer = customer;
        plan.job.surveyed = date;
        plan.devices.iter_mut().for_each(|d| d.name = device.clone());
        plan.loads.iter_mut().for_each(|l| l.name = load.clone());
        plan.rules.iter_mut().for_each(|r| r.reason = reason.clone());
        plan.stays.iter_mut().for_each(|s| s.place = place.clone());
        fits(&plan);
    }
}

/// 13 390 A, a line break within it, is a fault of 13 A to whoever reads one line.
#[test]
fn no_line_ends_within_a_number_or_before_its_unit() {
    for pad in 0..30 {
        let mut out = String::new();
        coachwire::wording::lines::wrap(
            &mut out,
            "  ",
            &format!("{} {}13 390 A x 1.1", "word ".repeat(12), "x".repeat(pad)),
        );
        let whole = if pad == 0 { "13 390 A" } else { " 390 A" };
        assert!(pad > 0 || out.lines().any(|line| line.contains(whole)), "{out}");
        assert_eq!(flat(&out), flat(&format!("{} {}13 390 A x 1.1", "word ".repeat(12), "x".repeat(pad))));
    }
    let mut out = String::new();
    let words = "stands at";
    coachwire::wording::lines::wrap(&mut out, "", &format!("{} 13 390 A, no more", [words; 8].join(" ")));
    assert!(out.contains("\n13 390 A, no more"), "{out}");
}
