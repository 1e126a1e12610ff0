//! The file: round trip, every leaf has a row, refusals with their place.

use std::collections::BTreeSet;

use coachwire::plan::edit::check;
use coachwire::plan::format::{LoadError, locate};
use coachwire::plan::job::YesNo;
use coachwire::plan::{FieldPath, Plan, Value};
use proptest::prelude::*;

use super::{full, path, small};

fn refusal(text: &str) -> LoadError {
    Plan::from_text(text).expect_err(text)
}

/// The field names of a text, found without the program's own scanner: every `name:` at the start of a line.
fn leaves(text: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut open: Vec<String> = Vec::new();
    for line in text.lines().map(str::trim) {
        if let Some((name, value)) = line.split_once(": ") {
            let name = name.to_string();
            if matches!(value, "(" | "[") {
                open.push(name);
                continue;
            }
            let lists: Vec<&str> = open.iter().map(String::as_str).filter(|o| !o.is_empty()).collect();
            found.insert([lists.as_slice(), &[&name]].concat().join("."));
            if value == "[" || value == "(" {
                open.push(name);
            }
        } else if line == "(" {
            open.push(String::new());
        } else if line.starts_with([')', ']']) {
            open.pop();
        }
    }
    found
}

/// A path without the ids of items.
fn shape(plan: &Plan, at: &FieldPath) -> String {
    let mut segments: Vec<String> = at.segments().map(str::to_string).collect();
    let mut i = 0;
    let mut prefix = String::new();
    while i < segments.len() {
        prefix = if prefix.is_empty() { segments[i].clone() } else { format!("{prefix}.{}", segments[i]) };
        if plan.list_at(&path(&prefix)).is_some() {
            prefix = format!("{prefix}.{}", segments[i + 1]);
            segments.remove(i + 1);
        }
        i += 1;
    }
    segments.join(".")
}

#[test]
fn every_leaf_of_the_file_has_a_row_and_every_row_a_leaf() {
    let plan = full::plan();
    let rows: BTreeSet<String> = full::fields(&plan).iter().map(|at| shape(&plan, at)).collect();
    let mut file = leaves(&plan.to_text());
    assert!(file.remove("version"));
    file.retain(|leaf| leaf != "id" && !leaf.ends_with(".id"));
    // Lines of text are written as a list of quoted lines: opened and closed without a leaf of their own.
    let lines: BTreeSet<String> =
        ["options.edits", "milestones.totals", "milestones.plan"].iter().map(|s| (*s).to_string()).collect();
    let rows: BTreeSet<String> = rows.difference(&lines).cloned().collect();
    assert_eq!(file, rows);
    for line in &lines {
        let key = line.rsplit('.').next().unwrap();
        assert!(plan.to_text().contains(&format!("{key}: [\n")), "{key}");
    }
    assert!(rows.len() > 250, "{} rows", rows.len());
}

#[test]
fn a_full_plan_comes_back_equal_and_the_same_text() {
    let plan = full::plan();
    let text = plan.to_text();
    assert!(text.starts_with("(\n    version: 1,\n    job: ("), "{}", &text[..80]);
    let back = Plan::from_text(&text).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(back, plan);
    assert_eq!(back.to_text(), text);
    let blank = Plan::default();
    assert_eq!(Plan::from_text(&blank.to_text()).unwrap(), blank);
    assert_eq!(Plan::from_text("(version: 1)").unwrap(), blank);
    assert_eq!(Plan::from_text("\u{feff}// mine\n(version: 1, /* a */ )").unwrap(), blank);
    assert!(!blank.to_text().contains("note"));
}

#[test]
fn what_is_missing_is_unknown_and_what_points_nowhere_loads() {
    let text =
        r#"(version: 1, runs: [(id: "W1", from: "X9", legs: [(id: "L1"), (id: "L1", length_m: 2)]), (id: "W1")])"#;
    let plan = Plan::from_text(text).unwrap();
    assert_eq!(plan.get_at(&path("runs.W1.gauge")), Some(Value::Unknown));
    assert_eq!(plan.get_at(&path("runs.W1.legs.L1.gauge")), Some(Value::Nothing));
    assert_eq!(plan.runs.len(), 2);
    assert_eq!(plan.runs[0].legs.len(), 2);
}

#[test]
fn refusals_name_place_field_and_what_is_accepted() {
    let head = "(\n  version: 1,\n";
    for (body, line, column, field, says) in [
        ("  bank: (unit_v: ?),\n)", 3, 18, "bank.unit_v", "\"?\", with quotes"),
        ("  bank: (\n    unit_v:\n ?,\n),\n)", 5, 2, "bank.unit_v", "\"?\", with quotes"),
        ("  bank: (unit_v: NaN),\n)", 3, 18, "bank.unit_v", "finite"),
        ("  bank: (unit_v: inf),\n)", 3, 18, "bank.unit_v", "finite"),
        ("  bank: (unit_v: -12.0),\n)", 3, 18, "bank.unit_v", "2 to 60 V"),
        ("  bank: (unit_v: 1e300),\n)", 3, 18, "bank.unit_v", "2 to 60 V"),
        ("  bank: (unit_v: 1e999),\n)", 3, 18, "bank.unit_v", "finite"),
        ("  bank: (series: 2.5),\n)", 3, 18, "bank.series", "whole number"),
        ("  bank: (chemistry: \"zinc\"),\n)", 3, 21, "bank.chemistry", "flooded, AGM, gel, LFP"),
        ("  bank: (voltage: 12),\n)", 3, 10, "bank.voltage", "unit_v"),
        ("  runs: [(id: \"W1\", gauge: \"7 AWG\")],\n)", 3, 28, "runs.W1.gauge", "10, 8, 6"),
        (
            "  runs: [(id: \"W1\"), (id: \"W2\", legs: [(id: \"L1\", length_m: 70)])],\n)",
            3,
            61,
            "runs.W2.legs.L1.length_m",
            "0 to 60 m",
        ),
        ("  runs: [(id: \"W1\"), (id: \"W1\", measured_ohm: -1)],\n)", 3, 47, "runs.W1.measured_ohm", "0 to 100 ohm"),
        ("  runs: [(id: \"a b\")],\n)", 3, 15, "runs.a b.id", "a-z, A-Z, digits"),
        ("  stays: [(id: \"ST1\", months: \"Juli-Foo\")],\n)", 3, 31, "stays.ST1.months", "Nov-Mar"),
        ("  stays: [(id: \"ST1\", mean_c: [1, 2, 3])],\n)", 3, 31, "stays.ST1.mean_c", "twelve numbers, January first"),
        ("  stays: [(id: \"ST1\", latitude_deg: [1])],\n)", 3, 37, "stays.ST1.latitude_deg", "write a number"),
    ] {
        let text = format!("{head}{body}");
        let e = refusal(&text);
        assert!(e.message.contains(says), "{body}: {e}");
        assert_eq!(e.field.as_ref().map(FieldPath::as_str), Some(field), "{body}: {e}");
        assert_eq!((e.line, e.column), (line, column), "{body}: {e}");
    }
}

/// A name that stands twice reads, and is said with the place of the second: of what runs end on in the whole plan, else in
/// its list; once for each of them.
#[test]
fn names_that_stand_twice_are_said_with_their_place() {
    use coachwire::plan::format::doubled;
    let of = |body: &str| -> Vec<String> {
        let text = format!("(version: 1,\n{body}\n)");
        assert!(Plan::from_text(&text).is_ok(), "{text}");
        doubled(&text).iter().map(ToString::to_string).collect()
    };
    let second = |place: &str, field: &str, name: &str, line: usize| {
        format!(
            "{place}: {field}: a second {name}: what names {name} means the one of line {line}; give this one a name of its own"
        )
    };
    assert_eq!(
        of("devices: [(id: \"A\"),\n (id: \"A\"),\n (id: \"A\")]"),
        [second("line 3, column 7", "devices.A", "A", 2), second("line 4, column 7", "devices.A", "A", 2)]
    );
    assert_eq!(
        of("loads: [(id: \"C1\")],\ncontrollers: [(id: \"C1\")]"),
        [second("line 3, column 20", "controllers.C1", "C1", 2)]
    );
    assert_eq!(
        of("runs: [(id: \"W1\", legs: [(id: \"L1\"), (id: \"L1\")]), (id: \"W2\", legs: [(id: \"L1\")])]"),
        [second("line 2, column 43", "runs.W1.legs.L1", "L1", 2)]
    );
    assert!(of("devices: [(id: \"BK\")]")[0].contains("devices.BK: a second BK: what names BK means the bank;"));
    // One name in two lists that nothing ends on, or in none at all, is no trouble.
    assert_eq!(
        of("panels: [(id: \"P1\")], runs: [(id: \"P1\")], rules: [(id: \"drop-array\"), (id: \"drop-array\")]"),
        Vec::<String>::new()
    );
    assert_eq!(of("runs: [(), ()]"), Vec::<String>::new());
}

#[test]
fn versions_are_read_first_and_alone() {
    let newer = refusal("(\n  version: 2,\n  anything: { new = 'kind of' } [\n");
    assert_eq!(newer.message, "written by a newer coachwire (version 2); this one reads up to version 1");
    assert_eq!((newer.line, newer.column), (2, 12));
    assert!(refusal("(version: 0)").message.contains("no version 0"));
    assert!(refusal("(version: \"one\")").message.contains("whole number"));
    assert!(refusal("(version: 99999999999)").message.contains("whole number"));
    assert!(refusal("(version: 1.0)").message.contains("whole number"));
    assert!(refusal("(job: (), version: 1)").message.contains("version: 1"));
    assert!(refusal("").message.contains("empty"));
    assert!(refusal("PK\u{3}\u{4}").message.contains("not a plan"));
    assert!(refusal(&" ".repeat(4 * 1024 * 1024 + 1)).message.contains("4 MiB"));
    let deep = format!("(version: 1, runs: {}", "[(legs: ".repeat(100_000));
    assert!(!refusal(&deep).message.is_empty());
    let deep = format!("(version: 1, runs: {}", "[".repeat(2_000_000));
    assert!(!refusal(&deep).message.is_empty());
}

#[test]
fn a_field_is_located_in_its_text() {
    let plan = small();
    let text = plan.to_text();
    for at in full::fields(&plan) {
        let (line, column) = locate(&text, &at).unwrap_or((0, 0));
        let present =
            !matches!(plan.get_at(&at), Some(Value::Nothing)) && plan.get_at(&at) != Some(Value::Text(String::new()));
        if !present {
            continue;
        }
        let line = text.lines().nth(line - 1).unwrap();
        let key = at.split_last().1.to_string();
        assert!(line.trim_start().starts_with(&format!("{key}: ")), "{at}: {line}");
        assert_eq!(line.find(": ").unwrap() + 3, column, "{at}: {line}");
    }
    // What is not in the text is placed at what holds it.
    let (line, _) = locate(&text, &path("runs.W2.legs.L1.gauge")).unwrap();
    assert_eq!(text.lines().nth(line - 1).unwrap().trim(), "(");
    assert_eq!(locate(&text, &path("nothing.here")), None);
}

/// The full plan with some fields unknown, absent or changed, by the numbers given.
fn varied(picks: &[(usize, u8)]) -> Plan {
    let mut plan = full::plan();
    // A closed visit would take no other change.
    plan.visits.iter_mut().for_each(|visit| visit.closed = YesNo::No);
    let mut fields = full::fields(&plan);
    fields.retain(|at| !at.as_str().ends_with(".closed"));
    for (pick, how) in picks {
        let at = &fields[pick % fields.len()];
        let meta = plan.meta(at).unwrap();
        let value = match how % 3 {
            0 if meta.unknown => Value::Unknown,
            1 if meta.absent => Value::Nothing,
            _ => full::other_value(meta, &plan.get_at(at).unwrap()),
        };
        assert!(check(meta, &value).is_ok());
        let edit = coachwire::plan::Edit::Set { at: at.clone(), to: value };
        plan = plan.with(&coachwire::plan::Step::one("vary", edit)).unwrap();
    }
    plan
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn varied_plans_come_back_equal(picks in proptest::collection::vec((0_usize..100_000, 0_u8..3), 0..40)) {
        let plan = varied(&picks);
        let back = Plan::from_text(&plan.to_text());
        prop_assert_eq!(back.as_ref().ok(), Some(&plan), "{:?}", back.as_ref().err());
    }

    #[test]
    fn any_text_in_a_note_comes_back(note in "\\PC{0,60}") {
        let mut plan = small();
        plan.job.note = note;
        prop_assert_eq!(Plan::from_text(&plan.to_text()).unwrap(), plan);
    }
}

/// A file that a copy broke off: whichever line is its last, what is said is that it ends, not what the parser hoped for.
#[test]
fn a_text_cut_between_its_lines_is_said_to_end_too_early() {
    let text = coachwire::plan::samples::sample("marram").expect("a sample").text.to_string();
    let ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at + 1).collect();
    for end in ends.iter().skip(2).step_by(7).filter(|end| **end + 3 < text.len()) {
        let why = Plan::from_text(&text[..*end]).expect_err("half a plan").to_string();
        assert!(why.contains("the text ends too early"), "cut at byte {end}: {why}");
    }
    // Within a field's name, too: what is left of it is no other field.
    for (name, _) in text.match_indices("gauge:").step_by(5) {
        for end in [name + 1, name + 3] {
            let why = Plan::from_text(&text[..end]).expect_err("half a plan").to_string();
            assert!(why.contains("the text ends too early"), "cut at byte {end}: {why}");
        }
    }
}
