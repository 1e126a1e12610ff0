//! Drawings that cannot be meant: each says what is wrong with it, and everything else still answers.

use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn text(r: &Report, check: &str, subject: &str) -> String {
    let f = r.findings.iter().find(|f| f.check.id == check && f.subject.as_str() == subject);
    f.unwrap_or_else(|| panic!("{check} {subject} among\n{}", texts(r))).text()
}

fn no_stop(r: &Report) {
    assert!(r.findings.iter().all(|f| f.level != Level::Stop), "{}", texts(r));
}

#[test]
fn a_run_from_a_device_to_itself() {
    let r = evaluate(&with(&sound(), &[("runs.W4.to", id("SW"))]));
    assert_eq!(text(&r, "run-to-itself", "runs.W4"), "W4 leaves SW and ends on it again");
    assert!(found(&evaluate(&sound()), "run-to-itself").is_empty());
}

/// Negatives that lead to a thing, over which nothing leads on, included.
#[test]
fn any_run_of_any_sample_to_itself() {
    for sample in coachwire::plan::samples::SAMPLES {
        let plan = Plan::from_text(sample.text).expect("a sample");
        for (i, run) in plan.runs.iter().enumerate() {
            for to_from in [true, false] {
                let mut p = plan.clone();
                let r = &mut p.runs[i];
                if to_from {
                    r.to = r.from.clone()
                } else {
                    r.from = r.to.clone()
                }
                let subject = format!("runs.{}", run.id);
                assert!(says(&evaluate(&p), "run-to-itself", &subject), "{} {subject}", sample.name);
            }
        }
    }
}

#[test]
fn two_devices_with_one_id() {
    let mut p = sound();
    p.devices[2].id = "BUS".parse().expect("id");
    let r = evaluate(&p);
    assert_eq!(text(&r, "duplicate-name", "devices.BUS"), "BUS names two things; references mean the first");
    let mut p = sound();
    p.loads[0].id = "C1".parse().expect("id");
    assert_eq!(text(&evaluate(&p), "duplicate-name", "loads.C1"), "C1 names two things; references mean the first");
    let mut p = sound();
    p.runs[1].id = "W1".parse().expect("id");
    assert!(says(&evaluate(&p), "duplicate-name", "runs.W1"));
    assert!(found(&evaluate(&sound()), "duplicate-name").is_empty());
}

fn second_bus() -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "B2", kind: "bus")"#);
    insert(
        &p,
        "runs",
        r#"(id: "W9", from: "BUS", to: "B2", gauge: "6 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#,
    )
}

/// A ring on the bank's side: each of its runs says so, and none of them is called unfused.
#[test]
fn a_ring_of_runs() {
    let ring = with(&second_bus(), &[("runs.W6.legs.L1.length_m", Value::Number(1.0))]);
    let ring = insert(
        &ring,
        "runs",
        r#"(id: "W10", from: "B2", to: "FP", gauge: "6 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 90.0)])"#,
    );
    let r = evaluate(&ring);
    for run in ["W6", "W9", "W10"] {
        assert!(text(&r, "loop", &format!("runs.{run}")).contains(" lies on a loop with "), "{}", texts(&r));
    }
    assert!(found(&evaluate(&second_bus()), "loop").is_empty());
    no_stop(&evaluate(&second_bus()));
}

/// A ring on the panels' side, and two runs side by side.
#[test]
fn a_ring_before_the_controller() {
    let p = insert(&sound(), "devices", r#"(id: "CMB", kind: "bus")"#);
    // One string: two of them on two leads would be a lead each.
    let p = with(&p, &[("runs.W1.from", id("CMB")), ("arrays.A1.strings", Value::Text("2S1P P1".into()))]);
    let lead = |name: &str| {
        format!(
            r#"(id: "{name}", from: "A1", to: "CMB", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#
        )
    };
    let one = insert(&p, "runs", &lead("W8"));
    assert!(found(&evaluate(&one), "loop").is_empty());
    no_stop(&evaluate(&one));
    let two = evaluate(&insert(&one, "runs", &lead("W9")));
    for run in ["runs.W8", "runs.W9"] {
        assert!(text(&two, "loop", run).contains(" lies on a loop with "));
    }
    no_stop(&two);
}

/// Two arrays that meet at a combiner are no ring: every lead carries its own array, the home run both.
#[test]
fn arrays_meet_at_a_combiner() {
    let p = insert(&sound(), "devices", r#"(id: "CMB", kind: "bus")"#);
    let p = with(&p, &[("runs.W1.from", id("CMB")), ("arrays.A1.strings", Value::Text("2S1P P1".into()))]);
    let p = insert(&p, "arrays", r#"(id: "A2", strings: "2S1P P1", controller: "C1")"#);
    let lead = |array: &str, name: &str| {
        format!(
            r#"(id: "{name}", from: "{array}", to: "CMB", gauge: "10 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#
        )
    };
    let p = insert(&insert(&p, "runs", &lead("A1", "W8")), "runs", &lead("A2", "W9"));
    let r = evaluate(&p);
    no_stop(&r);
    assert!(found(&r, "loop").is_empty(), "{}", texts(&r));
    let design = |run: &str| r.runs.iter().find(|x| x.id.as_str() == run).and_then(|x| x.design_a.clone().ok());
    // 1.25 x 10.7 A for each string.
    assert!(
        (design("W8").expect("amps").0 - 13.375).abs() < 1e-9 && (design("W9").expect("amps").0 - 13.375).abs() < 1e-9
    );
    assert!((design("W1").expect("amps").0 - 26.75).abs() < 1e-9);
}

#[test]
fn an_end_that_is_not_there() {
    let r = evaluate(&with(&sound(), &[("runs.W6.to", id("NOWHERE"))]));
    assert_eq!(text(&r, "dangling-end", "runs.W6"), "W6 ends on NOWHERE, which is not in the plan");
}

/// No file and no field lets these in; a plan made by other means must still be answered, without a number that is none.
#[test]
fn a_bank_of_nothing_and_a_place_off_the_globe_are_still_answered() {
    use coachwire::plan::Known;
    use coachwire::units::{AmpHours, Number};
    let mut p = sound();
    p.bank.unit_ah = Known::Is(AmpHours(0.0));
    let r = evaluate(&p);
    assert_eq!(r.bank.usable_wh.clone().map(|w| w.0), Ok(0.0));
    assert_eq!(r.year.harvest_kwh.clone().expect_err("no year on nothing").0.as_str(), "bank.unit_ah");
    assert!(r.year.months.iter().all(|m| m.days_without_sun.as_ref().is_ok_and(|d| *d == 0.0)));
    let mut p = sound();
    p.stays[0].latitude_deg = Known::Is(Number(91.0));
    for m in evaluate(&p).year.months.clone() {
        assert!(m.harvest_wh_day.map_or(0.0, |w| w.0).is_finite() && m.array_wh_day.map_or(0.0, |w| w.0).is_finite());
    }
}

/// What a field refuses is said with what it takes, and the plan stays as it was.
#[test]
fn out_of_bounds_is_refused_by_name() {
    use coachwire::plan::{Edit, FieldPath, Step};
    for (at, value, says) in [
        ("stays.ST1.latitude_deg", 90.1, "-90"),
        ("stays.ST1.tilt_deg", 91.0, "90"),
        ("stays.ST1.drive_h_day", 25.0, "24"),
        ("bank.unit_ah", 0.0, "5000"),
        ("loads.L1.hours_day", 24.5, "24"),
    ] {
        let edit = Edit::Set { at: FieldPath::new(at), to: Value::Number(value) };
        let why = sound().with(&Step::one("test", edit)).expect_err(at).to_string();
        assert!(why.contains(says), "{at}: {why}");
    }
}
