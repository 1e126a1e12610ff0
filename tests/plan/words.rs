//! Words in place of numbers, and what is said of words that are none.

use coachwire::plan::entry::{self, step};
use coachwire::plan::{Edit, Plan, Value};

use super::entry::{refusal, value};
use super::{path, small};

fn edited(plan: &Plan, edit: Edit) -> Plan {
    plan.with(&coachwire::plan::Step::one("test", edit)).unwrap()
}

/// A rule that is on or off is read in these words too, and in no others.
#[test]
fn a_rule_is_turned_on_and_off_in_words() {
    let item = r#"(id: "next-rating-up", value: 1, reason: "local code")"#;
    let plan = edited(&small(), Edit::Insert { list: "rules".into(), after: None, item: item.into() });
    let at = "rules.next-rating-up.value";
    for (text, means) in [("on", 1.0), ("Off", 0.0), (" no ", 0.0), ("YES", 1.0), ("0", 0.0)] {
        assert_eq!(value(&plan, at, text), Value::Number(means), "{text:?}");
    }
    for text in ["maybe", "0.5", "2"] {
        let why = refusal(&plan, at, text);
        assert!(why.contains(&format!("{text:?} is neither on nor off; write on or off, or ?")), "{why}");
    }
    let shown = |x: f64| {
        let plan = edited(&plan, Edit::Set { at: path(at), to: Value::Number(x) });
        (entry::show_at(&plan, &path(at)), entry::seen_at(&plan, &path(at)))
    };
    assert_eq!(shown(1.0), (Some("on".into()), Some("on".into())));
    assert_eq!(shown(0.0), (Some("off".into()), Some("off".into())));
    // A size key turns it over.
    assert_eq!(step(&plan, &path(at), false), Some(Value::Number(0.0)));
    assert_eq!(step(&plan, &path(at), true), None);
    let item = r#"(id: "accepted-worsening-pct", value: 1, reason: "local code")"#;
    let other = edited(&small(), Edit::Insert { list: "rules".into(), after: None, item: item.into() });
    assert!(refusal(&other, "rules.accepted-worsening-pct.value", "on").contains("is no number"));
}

/// What is no number is quoted as it was typed, whatever its last letter means elsewhere in the field.
#[test]
fn what_is_no_number_is_quoted_whole() {
    let plan = edited(&small(), Edit::Insert { list: "stays".into(), after: None, item: r#"(id: "ST1")"#.into() });
    for (at, text) in [
        ("stays.ST1.latitude_deg", "NaN"),
        ("stays.ST1.latitude_deg", "Aspen"),
        ("stays.ST1.longitude_deg", "here"),
        ("stays.ST1.heading_deg", "up"),
        ("bank.unit_ah", "Inf"),
    ] {
        let why = refusal(&plan, at, text);
        assert!(why.contains(at) && why.contains(&format!("{text:?} is no number; write ")), "{why}");
    }
    assert_eq!(value(&plan, "stays.ST1.heading_deg", "SW"), Value::Number(225.0));
    assert_eq!(value(&plan, "stays.ST1.latitude_deg", "33.5 S"), Value::Number(-33.5));
}
