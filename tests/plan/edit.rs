//! Edits as text and their effect.

use coachwire::plan::edit::check;
use coachwire::plan::job::YesNo;
use coachwire::plan::{Edit, Id, Known, Plan, Record, Step, Value};
use proptest::prelude::*;

use super::{full, path, small};

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

fn back(plan: &Plan, edit: &Edit) -> Edit {
    let line = edit.to_string();
    assert!(!line.contains('\n'), "{line}");
    Edit::parse(plan, &line).unwrap_or_else(|e| panic!("{line}: {e}"))
}

#[test]
fn lines_are_what_a_person_could_type() {
    let plan = small();
    for (line, edit) in [
        ("runs.W2.gauge = 6 AWG", Edit::Set { at: path("runs.W2.gauge"), to: Value::Gauge("6 AWG".parse().unwrap()) }),
        (
            "runs.W2.legs.L1.length_m = 6.858 m",
            Edit::Set { at: path("runs.W2.legs.L1.length_m"), to: Value::Number(6.858) },
        ),
        ("job.coldest_c = -29 C", Edit::Set { at: path("job.coldest_c"), to: Value::Number(-29.0) }),
        ("runs.W2.gauge = ?", Edit::Set { at: path("runs.W2.gauge"), to: Value::Unknown }),
        ("runs.W2.legs.L1.gauge = ", Edit::Set { at: path("runs.W2.legs.L1.gauge"), to: Value::Nothing }),
        ("remove runs.W2", Edit::Remove { at: path("runs.W2") }),
        ("rename runs.W2 W9", Edit::Rename { at: path("runs.W2"), to: id("W9") }),
        ("move runs.W2.legs.L1 after L2", Edit::Move { at: path("runs.W2.legs.L1"), after: Some(id("L2")) }),
        ("move runs.W2.legs.L2 first", Edit::Move { at: path("runs.W2.legs.L2"), after: None }),
        (
            "insert loads after L1 (id: \"L2\", name: \"fan\")",
            Edit::Insert { list: path("loads"), after: Some(id("L1")), item: "(id: \"L2\", name: \"fan\")".into() },
        ),
    ] {
        assert_eq!(edit.to_string(), line);
        assert_eq!(Edit::parse(&plan, line).unwrap(), edit);
    }
    let typed = Edit::parse(&plan, "runs.W2.legs.L1.length_m=22'6\"").unwrap();
    assert_eq!(typed, Edit::Set { at: path("runs.W2.legs.L1.length_m"), to: Value::Number(6.858) });
}

#[test]
fn what_does_not_read_says_what_would() {
    let plan = small();
    for (line, says) in [
        ("", "write \"runs.W2.gauge = 6 AWG\""),
        ("delete runs.W2", "remove runs.W5"),
        ("remove runs.W7", "runs.W7: there is no such item"),
        ("remove", "remove runs.W5"),
        ("rename runs.W2 9.9", "cannot be a name"),
        ("move runs.W2 behind W1", "\"first\" or \"after\""),
        ("insert pumps first ()", "no such list"),
        ("insert loads first id: 3", "round brackets"),
        ("runs.W2.gauge = 7", "10, 8, 6"),
        ("runs.W2.color = red", "fields: from, to"),
    ] {
        let e = Edit::parse(&plan, line).unwrap_err().to_string();
        assert!(e.contains(says), "{line}: {e}");
    }
}

#[test]
fn every_field_of_a_full_plan_can_be_set_by_its_line() {
    for (length, temperature) in [("metres", "C"), ("feet", "F")] {
        let mut plan = full::plan();
        plan.job.set("length_unit", Value::Word(length)).unwrap();
        plan.job.set("temperature_unit", Value::Word(temperature)).unwrap();
        set_by_lines(&plan);
    }
}

/// The line of an edit means the same in every plan, whatever its units.
fn set_by_lines(plan: &Plan) {
    for at in full::fields(plan) {
        let meta = plan.meta(&at).unwrap();
        let mut values = vec![plan.get_at(&at).unwrap()];
        values.extend(meta.unknown.then_some(Value::Unknown));
        values.extend(meta.absent.then_some(Value::Nothing));
        for to in values {
            let edit = Edit::Set { at: at.clone(), to };
            assert_eq!(back(plan, &edit), edit, "{edit}");
        }
    }
}

#[test]
fn every_item_of_a_full_plan_can_be_taken_out_and_put_back_by_lines() {
    let mut plan = full::plan();
    plan.visits.iter_mut().for_each(|visit| visit.closed = YesNo::No);
    for name in ["stays", "panels", "arrays", "controllers", "loads", "runs", "visits", "milestones", "money.tasks"] {
        let list = plan.list_at(&path(name)).unwrap();
        let insert = Edit::Insert { list: path(name), after: None, item: list.ron_at(0).unwrap() };
        assert_eq!(back(&plan, &insert), insert);
        let remove = Edit::Remove { at: path(name).join(list.id_at(0).unwrap()) };
        let lines = [remove.to_string(), String::new(), insert.to_string()];
        let step = Step::parse(&plan, "there and back", &lines).unwrap();
        assert_eq!(plan.with(&step).unwrap(), plan, "{name}");
    }
    // Line breaks in an item's text and form do not break the line.
    let item = "(\n  id: \"L7\",\n  name: \"two\nlines\",\n)";
    let edit = Edit::Insert { list: path("loads"), after: None, item: item.into() };
    let after = plan.with(&Step::one("a", back(&plan, &edit))).unwrap();
    assert_eq!(after, plan.with(&Step::one("a", edit)).unwrap());
    assert_eq!(after.loads[0].name, "two\nlines");
}

#[test]
fn steps_are_all_or_nothing_and_references_follow_a_rename() {
    let plan = small();
    let lines: Vec<String> =
        ["rename controllers.C1 MPPT", "rename panels.P1 P7", "rename runs.W2.legs.L1 L9"].map(String::from).to_vec();
    let after = plan.with(&Step::parse(&plan, "names", &lines).unwrap()).unwrap();
    assert_eq!(after.runs[0].from, Known::Is(id("MPPT")));
    assert_eq!(after.arrays[0].controller, Known::Is(id("MPPT")));
    assert_eq!(after.arrays[0].strings.to_string(), "3S2P P7");
    assert!(plan.with(&Step::one("taken", Edit::parse(&plan, "rename controllers.C1 L1").unwrap())).is_err());
    let good = Edit::Set { at: path("job.title"), to: Value::Text("x".into()) };
    let bad = Edit::Set { at: path("runs.W2.measured_ohm"), to: Value::Number(f64::NAN) };
    let e = plan.with(&Step { name: "both".into(), edits: vec![good, bad] }).unwrap_err();
    assert_eq!(e.at, path("runs.W2.measured_ohm"));
    let outside = "insert runs first (id: \"W3\", measured_ohm: 1e9)";
    assert!(plan.with(&Step::one("o", Edit::parse(&plan, outside).unwrap())).is_err());
    let same_id = "insert runs first (id: \"W2\", measured_ohm: 1e9)";
    assert!(plan.with(&Step::one("o", Edit::parse(&plan, same_id).unwrap())).is_err());
}

/// Whatever else names an item by its text follows it: findings accepted, readings, lines of options.
#[test]
fn what_names_an_item_by_text_follows_a_rename() {
    let text = r#"(version: 1,
        panels: [(id: "P1"), (id: "P2")],
        arrays: [(id: "A1", strings: "1S2P P1", controller: "C1")],
        controllers: [(id: "C1")], loads: [(id: "L1"), (id: "W9")],
        runs: [(id: "W5", from: "C1", to: "BK", legs: [(id: "L1"), (id: "L2")], protection: [(id: "F1")]), (id: "W50", from: "BK", to: "L1"), (id: "W9")],
        options: [(id: "OPT1", edits: ["runs.W5.gauge=6", "runs.W50.gauge = 8 AWG", "runs.W50.from = C1", "move runs.W50 after W5",
            "insert runs after W5 (id: \"W7\", from: \"C1\", to: \"L1\")", "insert runs.W5.legs after L1 (id: \"L9\")",
            "runs.W5.protection.F1.leg = L1", "arrays.A1.strings = P1+P2", "no line W5", "runs.W5.no_such = 3", "remove runs.W5",
            "insert runs first (id: \"W5\", from: \"BK\")", "runs.W5.to = L1"])],
        visits: [(id: "V1", closed: "yes", readings: [(id: "R1", what: "W5.drop_v"), (id: "R2", what: "W50.drop_v"), (id: "R3", what: "C1.out_a"), (id: "R4", what: "W9.drop_v")])],
        accepted: [(id: "AC1", finding: "drop-over-target", subject: "runs.W5", reason: "old wire"),
            (id: "AC2", finding: "x", subject: "runs.W50", reason: "x"), (id: "AC3", finding: "x", subject: "runs.W5.legs.L1", reason: "x")])"#;
    let plan = Plan::from_text(text).unwrap();
    let after = |lines: &[&str]| {
        let lines: Vec<String> = lines.iter().map(ToString::to_string).collect();
        plan.with(&Step::parse(&plan, "names", &lines).unwrap()).unwrap()
    };
    let about = |p: &Plan| p.accepted.iter().map(|a| a.subject.clone()).collect::<Vec<_>>();
    let read = |p: &Plan| p.visits[0].readings.iter().map(|r| r.what.clone()).collect::<Vec<_>>();
    let run = after(&["rename runs.W5 W55"]);
    assert_eq!(about(&run), ["runs.W55", "runs.W50", "runs.W55.legs.L1"]);
    assert_eq!(read(&run), ["W55.drop_v", "W50.drop_v", "C1.out_a", "W9.drop_v"]);
    let (is, was) = (&run.options[0].edits.0, &plan.options[0].edits.0);
    let changed = [
        (0, "runs.W55.gauge=6"),
        (3, "move runs.W50 after W55"),
        (4, "insert runs after W55 (id: \"W7\", from: \"C1\", to: \"L1\")"),
        (5, "insert runs.W55.legs after L1 (id: \"L9\")"),
        (6, "runs.W55.protection.F1.leg = L1"),
        (9, "runs.W55.no_such = 3"),
        (10, "remove runs.W55"),
    ];
    for (i, (is, was)) in is.iter().zip(was).enumerate() {
        let want = changed.iter().find(|(at, _)| *at == i).map_or(was.as_str(), |(_, line)| *line);
        assert_eq!(is, want, "line {i}");
    }
    // A device, a panel and a leg: ends, strings and fuses in the lines.
    let others = after(&[
        "rename controllers.C1 MPPT",
        "rename panels.P1 P7",
        "rename runs.W5.legs.L1 L8",
        "rename runs.W9 W10",
    ]);
    let lines = &others.options[0].edits.0;
    assert_eq!(lines[2], "runs.W50.from = MPPT");
    assert!(lines[4].contains("from: \"MPPT\"") && lines[4].starts_with("insert runs after W5 "), "{}", lines[4]);
    assert_eq!(lines[5], "insert runs.W5.legs after L8 (id: \"L9\")");
    assert_eq!(lines[6], "runs.W5.protection.F1.leg = L8");
    assert_eq!(lines[7], "arrays.A1.strings = P7+P2");
    assert_eq!(about(&others)[2], "runs.W5.legs.L8");
    // Two things are named W9: which of them was read is not known, so the reading stays.
    assert_eq!(read(&others), ["W5.drop_v", "W50.drop_v", "MPPT.out_a", "W9.drop_v"]);
    // The names given back, everything stands as it did.
    let back = after(&["rename runs.W5 W55", "rename runs.W55 W5"]);
    assert_eq!(about(&back), about(&plan));
    assert_eq!(read(&back), read(&plan));
}

/// A closed visit is a record: nothing of it changes but by opening it again.
#[test]
fn a_closed_visit_stays() {
    let text = r#"(version: 1, visits: [(id: "V1", closed: "yes", readings: [(id: "R1", what: "A1.voc_v", value: 70.0)]),
        (id: "V2")])"#;
    let plan = Plan::from_text(text).unwrap();
    let set = |at: &str, to: Value| Edit::Set { at: path(at), to };
    let on = |edit: Edit| plan.with(&Step::one("x", edit));
    for edit in [
        set("visits.V1.readings.R1.value", Value::Number(71.0)),
        Edit::Remove { at: path("visits.V1.readings.R1") },
        Edit::Remove { at: path("visits.V1") },
        Edit::Rename { at: path("visits.V1"), to: id("V9") },
        Edit::Insert { list: path("visits.V1.readings"), after: None, item: r#"(id: "R2")"#.into() },
    ] {
        let refused = on(edit).unwrap_err();
        assert!(refused.why.contains("V1 is closed") && refused.why.contains("to no"), "{refused}");
    }
    let open = on(set("visits.V1.closed", Value::Word("no"))).unwrap();
    assert!(open.with(&Step::one("x", set("visits.V1.readings.R1.value", Value::Number(71.0)))).is_ok());
    assert!(on(Edit::Insert { list: path("visits.V2.readings"), after: None, item: r#"(id: "R1")"#.into() }).is_ok());
}

proptest! {
    #[test]
    fn any_text_goes_through_a_line(text in "[\\PC\n\t\"]{0,30}") {
        let plan = small();
        let to = Value::Text(text);
        let edit = Edit::Set { at: path("job.note"), to };
        prop_assert_eq!(back(&plan, &edit), edit);
    }

    #[test]
    fn any_number_goes_through_a_line(x in -60.0..30.0_f64, ohms in 0.0..100.0_f64) {
        let plan = small();
        let at = path("job.coldest_c");
        let to = Value::Number((x * 1e4).round() / 1e4);
        prop_assert!(check(plan.meta(&at).unwrap(), &to).is_ok());
        let edit = Edit::Set { at, to };
        prop_assert_eq!(back(&plan, &edit), edit);
        let edit = Edit::Set { at: path("runs.W2.measured_ohm"), to: Value::Number((ohms * 1e6).round() / 1e6) };
        prop_assert_eq!(back(&plan, &edit), edit);
    }

    #[test]
    fn no_line_panics(line in "(insert|remove|move|rename)? ?[a-zA-Z0-9. =()\"?:]{0,30}") {
        let plan = small();
        if let Ok(edit) = Edit::parse(&plan, &line) {
            let _ = plan.with(&Step::one("any", edit));
        }
    }
}
