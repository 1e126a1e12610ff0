//! What hangs on no run is said once; what is named twice in a list, and which runs close a loop.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::format::options;
use coachwire::plan::{Edit, FieldPath, ListPath, Plan, Step, Value};

/// Checks that say a missing run.
const FAMILY: [&str; 9] = [
    "array-without-run",
    "controller-without-run",
    "charger-without-run",
    "charger-without-input",
    "inverter-without-run",
    "inverter-unconnected",
    "panel-without-run",
    "load-without-supply",
    "loads-without-run",
];

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn without(p: &Plan, at: &str) -> Plan {
    p.with(&Step::one("out", Edit::Remove { at: FieldPath::new(at) })).expect("there")
}

fn family(r: &Report) -> Vec<String> {
    let of = r.findings.iter().filter(|f| FAMILY.contains(&f.check.id));
    of.map(|f| format!("{} {} {}", f.level, f.check.id, f.subject)).collect()
}

#[test]
fn right_plans_hang_on_their_runs() {
    assert_eq!(family(&evaluate(&sound())), Vec::<String>::new());
    for sample in coachwire::plan::samples::SAMPLES {
        let p = Plan::from_text(sample.text).expect("reads");
        assert_eq!(family(&evaluate(&p)), Vec::<String>::new(), "{}", sample.name);
    }
}

/// Each removed run leaves one sentence about what hung on it, and no second.
#[test]
fn every_missing_run_is_said_once() {
    for (run, said) in [
        ("W1", "caution array-without-run arrays.A1"),
        ("W2", "caution controller-without-run controllers.C1"),
        ("W5", "caution inverter-unconnected inverters.INV"),
        ("W6", "caution panel-without-run devices.FP"),
    ] {
        let r = evaluate(&without(&sound(), &format!("runs.{run}")));
        assert_eq!(family(&r), [said], "{run}\n{}", texts(&r));
    }
    // With loads on it the inverter is still said once.
    let served = with(&without(&sound(), "runs.W5"), &[("loads.L1.supply", word("inverter"))]);
    assert_eq!(family(&evaluate(&served)), ["caution inverter-without-run inverters.INV"]);
    // What is removed or dead wants no run.
    let gone = with(&without(&sound(), "runs.W5"), &[("inverters.INV.state", word("removed"))]);
    assert_eq!(family(&evaluate(&gone)), Vec::<String>::new());
}

/// A charger that nothing drives yet is on no run all the same.
#[test]
fn chargers_without_a_run_are_said() {
    for kind in ["shore", "DC-DC", "generator", "converter"] {
        let item = format!(r#"(id: "CH", kind: "{kind}", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2)"#);
        let r = evaluate(&insert(&sound(), "chargers", &item));
        assert_eq!(family(&r), ["caution charger-without-run chargers.CH"], "{kind}\n{}", texts(&r));
    }
}

#[test]
fn loads_without_run_or_panel_are_one_note() {
    let mut p = without(&without(&sound(), "runs.W6"), "devices.FP");
    for n in 2..6 {
        p = insert(&p, "loads", &format!(r#"(id: "L{n}", watts_w: 10.0, hours_day: 1.0)"#));
    }
    let r = evaluate(&p);
    assert_eq!(family(&r), ["note loads-without-run loads"], "{}", texts(&r));
    assert!(found(&r, "loads-without-run")[0].text().starts_with("L1 and 4 more:"));
    // A load with a run that leads to no battery is said by itself.
    let stray = insert(
        &sound(),
        "runs",
        r#"(id: "W20", from: "CHX", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0)])"#,
    );
    assert!(says(&evaluate(&stray), "load-without-supply", "loads.L1"));
}

/// Three runs round: each names the other two, in the order one walks them.
#[test]
fn a_loop_names_its_runs() {
    let looped = insert(
        &insert(
            &sound(),
            "runs",
            r#"(id: "W20", from: "SW", to: "FP", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#,
        ),
        "devices",
        r#"(id: "SP", kind: "splice")"#,
    );
    let r = evaluate(&looped);
    let text = |run: &str| {
        let of = found(&r, "loop").into_iter().find(|f| f.subject.as_str() == format!("runs.{run}"));
        of.map(coachwire::engine::Finding::text).unwrap_or_default()
    };
    assert!(text("W4").starts_with("W4 lies on a loop with W6 and W20:"), "{}", texts(&r));
    assert!(text("W6").starts_with("W6 lies on a loop with W20 and W4:"), "{}", texts(&r));
    assert!(text("W20").starts_with("W20 lies on a loop with W6 and W4:"), "{}", texts(&r));
    assert!(found(&evaluate(&sound()), "loop").is_empty());
}

/// Two runs side by side.
#[test]
fn two_runs_between_the_same_ends_close_a_loop() {
    let p = insert(
        &sound(),
        "runs",
        r#"(id: "W20", from: "SW", to: "BUS", gauge: "4/0 AWG", legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#,
    );
    let r = evaluate(&p);
    let texts: Vec<String> = found(&r, "loop").iter().map(|f| f.text()).collect();
    assert!(texts.iter().any(|t| t.starts_with("W4 lies on a loop with W20:")), "{texts:?}");
    assert!(texts.iter().any(|t| t.starts_with("W20 lies on a loop with W4:")), "{texts:?}");
}

/// A file can say a name twice in a nested list; an edit cannot.
#[test]
fn names_that_stand_twice_in_a_nested_list_are_said() {
    let nested = r#"legs: [(id: "L1", length_m: 7.0, zone: "roof cavity",
            insulation_c: 90.0)]"#;
    let doubled = super::samples::SOUND
        .replace(nested, &format!("{}, (id: \"L1\", length_m: 1.0)]", nested.trim_end_matches(']')));
    let p: Plan = options().from_str(&doubled).expect("reads");
    let r = evaluate(&p);
    let said = found(&r, "duplicate-name");
    assert_eq!(said.len(), 1, "{}", texts(&r));
    assert_eq!(said[0].subject.as_str(), "runs.W1.legs.L1");
    assert_eq!(said[0].level, Level::Caution);
    assert_eq!(said[0].text(), "L1 stands twice in runs.W1.legs; references mean the first");
    let tasks = r#"job: (coldest_c: -12.0), money: (tasks: [(id: "T1"), (id: "T1")])"#;
    let money: Plan =
        options().from_str(&super::samples::SOUND.replace("job: (coldest_c: -12.0)", tasks)).expect("reads");
    assert!(says(&evaluate(&money), "duplicate-name", "money.tasks.T1"));
    let panel = r#"panels: [(id: "P1"), "#;
    let panels: Plan = options().from_str(&super::samples::SOUND.replace("panels: [", panel)).expect("reads");
    assert!(says(&evaluate(&panels), "duplicate-name", "panels.P1"));
    // Edits: a rename to a taken name is refused, an insert gets the next free one.
    let two = insert(&sound(), "runs.W1.legs", r#"(id: "L1", length_m: 1.0)"#);
    assert!(found(&evaluate(&two), "duplicate-name").is_empty());
    let rename = Edit::Rename { at: FieldPath::new("runs.W1.legs.L2"), to: "L1".parse().expect("id") };
    assert!(two.with(&Step::one("twice", rename)).is_err());
    assert_eq!(two.list_at(&ListPath::new("runs.W1.legs")).map(|l| l.len()), Some(2));
}

/// Odd drawings: nothing panics, and each is said.
#[test]
fn odd_drawings_are_said() {
    let itself = with(&sound(), &[("runs.W5.to", id("BUS"))]);
    assert!(says(&evaluate(&itself), "run-to-itself", "runs.W5"));
    assert!(says(&evaluate(&itself), "inverter-unconnected", "inverters.INV"));
    let removed = with(&sound(), &[("devices.FP.state", word("removed"))]);
    assert!(says(&evaluate(&removed), "end-on-removed", "runs.W6"));
    assert!(says(&evaluate(&removed), "loads-without-run", "loads"));
    let fed_twice = insert(
        &sound(),
        "runs",
        r#"(id: "W20", from: "BK", to: "FP", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#,
    );
    let r = evaluate(&fed_twice);
    assert!(says(&r, "source-end-unfused", "runs.W20"), "{}", texts(&r));
    assert!(says(&r, "loop", "runs.W20"), "{}", texts(&r));
    super::cures::apply_all(&fed_twice);
    super::cures::apply_all(&itself);
}

/// A second controller that tops up the start battery, or whose only run leads to a load, brings the bank nothing and takes none
/// of its figures: the year is that of the coach without it, and that is said. Without a run at all nobody knows yet where it
/// leads, and the year waits.
/// Source: Kirchhoff's current law.
#[test]
fn a_controller_on_another_battery_or_a_load_leaves_the_year_standing() {
    let larkspur =
        Plan::from_text(coachwire::plan::samples::sample("larkspur").expect("a sample").text).expect("reads");
    let run = larkspur.runs.iter().find(|r| r.from.known().is_some_and(|id| id.as_str() == "C2")).expect("from C2");
    let to = |p: &Plan, end: &str| with(p, &[(&format!("runs.{}.to", run.id), id(end))]);
    let battery = to(&insert(&larkspur, "devices", r#"(id: "SB", kind: "start battery")"#), "SB");
    let fan = |p: &Plan| insert(p, "loads", r#"(id: "L90", watts_w: 30.0, hours_day: 4.0)"#);
    let load = to(&fan(&larkspur), "L90");
    let gone = larkspur
        .runs
        .iter()
        .filter(|r| [&r.from, &r.to].iter().any(|e| e.known().is_some_and(|id| id.as_str() == "C2")));
    let without_it = gone.fold(larkspur.clone(), |p, r| without(&p, &format!("runs.{}", r.id)));
    let without_it = without(&without(&without_it, "arrays.A2"), "controllers.C2");
    let of = |r: &Report| {
        let year = &r.year;
        let mut all: Vec<f64> = [&year.harvest_kwh, &year.unmet_pct, &year.stored_kwh, &year.load_kwh]
            .map(|figure| figure.clone().expect("a year"))
            .to_vec();
        for m in &year.months {
            all.extend(
                [&m.array_wh_day, &m.harvest_wh_day, &m.shortfall_wh_day].map(|wh| wh.clone().expect("a year").0),
            );
        }
        all
    };
    for (other, alone, words) in [
        (battery, without_it.clone(), "it charges another battery"),
        (load, fan(&without_it), "its runs lead to loads alone"),
    ] {
        let (with_it, alone) = (evaluate(&other), evaluate(&alone));
        assert!(alone.year.harvest_kwh.clone().is_ok_and(|kwh| kwh > 100.0));
        for (a, b) in of(&with_it).into_iter().zip(of(&alone)) {
            // A load on the controller does not warm the fuse panel's wire, as it does where no run is drawn.
            let same = if words.contains("loads") { (a / b - 1.0).abs() < 1e-5 } else { a == b };
            assert!(same, "{words}: {a} {b}");
        }
        let said = found(&with_it, "controller-without-run");
        assert!(said.len() == 1 && said[0].text().contains(words), "{}", texts(&with_it));
        assert!(said[0].text().contains("what its array gives is not in"), "{}", said[0].text());
    }
    let undrawn = evaluate(&without(&larkspur, &format!("runs.{}", run.id)));
    let said = found(&undrawn, "controller-without-run");
    assert!(undrawn.year.harvest_kwh.is_err() && !said[0].text().contains("not in"), "{}", said[0].text());
}
