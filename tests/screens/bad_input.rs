//! What no coach can be: each is said, by a finding or where it is typed, and every screen still answers without a number that is none.

use super::Screen;
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};

fn plan(name: &str, edits: &[(&str, Value)]) -> Plan {
    let plan = Plan::from_text(sample(name).expect("sample").text).expect("reads");
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() });
    plan.with(&Step { name: "bad".into(), edits: edits.collect() }).unwrap_or_else(|e| panic!("{e}"))
}

fn without_run(mut plan: Plan, id: &str) -> Plan {
    plan.runs.retain(|run| run.id.as_str() != id);
    plan
}

/// A charger, and the DC-DC charger's way to the bank; the wired plan has no such finding.
fn bad() -> Vec<(Plan, &'static [&'static str])> {
    let (n, t) = (Value::Number, |text: &str| Value::Text(text.into()));
    let far = |latitude: f64, longitude: f64| {
        [("stays.ST1.latitude_deg", n(latitude)), ("stays.ST1.longitude_deg", n(longitude))]
    };
    vec![
        (plan("marram", &[("stays.ST2.months", t("all"))]), &["months-in-two-stays"]),
        (plan("marram", &[("stays.ST2.months", t("Jun"))]), &["months-without-stay"]),
        (plan("marram", &[("stays.ST1.months", t("none")), ("stays.ST2.months", t("none"))]), &["months-without-stay"]),
        // Polar night: from late November to mid-January no sun rises there (almanac).
        (plan("bramble", &far(69.65, 18.96)), &["month-without-sun"]),
        // The south pole's shore and both poles: a grid that ends before them says so.
        (plan("bramble", &far(90.0, 0.0)), &["place-without-climate"]),
        (plan("sorrel", &far(-90.0, 0.0)), &["place-without-climate"]),
        (without_run(plan("marram", &[]), "W7"), &["charger-without-run"]),
        (without_run(plan("marram", &[]), "W8"), &["charger-without-run"]),
        (plan("larkspur", &[("inverters.INV.watts_w", n(100.0))]), &["shortfall"]),
        (plan("larkspur", &[("bank.unit_ah", n(1.0))]), &["shortfall"]),
    ]
}

/// A word of a screen that is no number.
fn is_none(word: &str) -> bool {
    let bare = word.trim_matches(|c: char| !c.is_ascii_alphanumeric()).to_ascii_lowercase();
    matches!(bare.as_str(), "nan" | "inf" | "infinity") || word == "-0"
}

#[track_caller]
fn whole(screen: &Screen, keys: &str) {
    let text = screen.text();
    assert!(!text.split_whitespace().any(is_none), "{keys}: {text}");
    assert_eq!(text.lines().count(), 24, "{keys}");
}

/// Each on every screen at 80x24, every page of the year on each of its months, ladders, sizing help, sizes and isolation.
#[test]
fn every_screen_answers_what_no_coach_can_be() {
    for (plan, checks) in bad() {
        let mut screen = Screen::on(&plan.to_text(), (80, 24));
        let report = screen.model.document.as_ref().expect("a plan").shown().report.clone();
        for check in checks {
            let found = report.findings.iter().any(|f| f.check.id == *check);
            assert!(found, "{check} is not among {:?}", report.findings.iter().map(|f| f.check.id).collect::<Vec<_>>());
        }
        for keys in ["1", "2", "3", "4", "5", "6", "7"] {
            screen.keys(keys).look();
            whole(&screen, keys);
            screen.keys("<PgDn>");
            whole(&screen, keys);
        }
        screen.keys("1");
        for keys in ["l", "G", "z", "e", "i"] {
            screen.keys(keys).look().climb();
            whole(&screen, keys);
            screen.keys("<Esc>");
        }
        screen.keys("y").look();
        for page in 0..6 {
            for keys in ["", "m", "mmmmm", "<PgDn>"] {
                screen.keys(keys).look();
                whole(&screen, &format!("year, page {page}, {keys}"));
            }
            screen.keys("<Right>");
        }
    }
}

/// The wired coaches that the bad ones come from have none of these findings.
#[test]
fn sound_coaches_are_not_called_so() {
    for name in ["marram", "bramble", "sorrel", "larkspur"] {
        let screen = Screen::on(sample(name).expect("sample").text, (80, 24));
        let report = screen.model.document.as_ref().expect("a plan").shown().report.clone();
        for check in [
            "months-in-two-stays",
            "months-without-stay",
            "month-without-sun",
            "place-without-climate",
            "charger-without-run",
        ] {
            assert!(report.findings.iter().all(|f| f.check.id != check), "{name}: {check}");
        }
    }
}

/// By keys: what is out of bounds is refused with the bounds, in its field, and the plan stays.
#[test]
fn what_is_out_of_bounds_is_refused_where_it_is_typed() {
    for (screen_key, at, typed, says) in [
        ("3", "stays.ST1.latitude_deg", "95", "95 deg is outside what is accepted: -90 deg to 90 deg"),
        ("3", "stays.ST1.latitude_deg", "NaN", "\"NaN\" is no number; write 34.5, 34deg30'"),
        ("2", "bank.unit_ah", "0", "0 Ah is outside what is accepted: 1 Ah to 5000 Ah"),
        ("2", "inverters.INV.watts_w", "0", "0 W is outside what is accepted: 10 W to 30000 W"),
    ] {
        let mut screen = Screen::on(sample("larkspur").expect("sample").text, (80, 24));
        let before = screen.plan();
        screen.keys(screen_key);
        let at = FieldPath::new(at);
        let (item, _) = at.split_last();
        let page = coachwire::tui::form::page_for(&before, &at).unwrap_or_else(|| panic!("no form of {item}"));
        screen.model.pages.truncate(1);
        screen.model.pages.push(page);
        assert_eq!(screen.model.focus(), Some(at.clone()), "{}", screen.text());
        screen.keys("<Enter><C-u>").keys(typed).keys("<Enter>");
        let text = screen.text();
        let flowing = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flowing.contains(says) && screen.said().contains(says), "{says:?}: {text}");
        assert_eq!(screen.plan(), before);
        screen.keys("<Esc>");
        assert_eq!((screen.plan(), screen.shown()), (before.clone(), before));
    }
}

/// A stay at which no month is spent: the month that is looked at is marked as none of its own.
#[test]
fn a_month_is_marked_as_of_the_shown_stay_or_not() {
    let plan = plan("larkspur", &[("stays.ST2.months", Value::Text("none".into()))]);
    let mut screen = Screen::on(&plan.to_text(), (80, 24));
    let marks = |screen: &Screen| -> String {
        let text = screen.text();
        let rows =
            text.lines().filter_map(|l| l.strip_prefix(" | ")).map(|row| row.chars().take(4).collect::<String>());
        let is_month =
            |row: &String| ["Jan", "Feb", "Mar", "Apr", "Oct", "Nov", "Dec"].contains(&row.get(1..).unwrap_or(""));
        rows.filter(is_month).map(|row| row.chars().take(1).collect::<String>()).collect()
    };
    screen.keys("y");
    // December, of the first stay from October to April.
    assert_eq!(marks(&screen), "******>", "{}", screen.text());
    screen.keys("s");
    assert!(screen.said().contains("no month is spent at this stay"), "{}", screen.said());
    assert_eq!(marks(&screen), "      -", "{}", screen.text());
}

/// A filled fuse and gauge steps by the page keys as it stands and as one has emptied it.
#[test]
fn an_emptied_size_steps_from_what_stood_there() {
    let text = include_str!("../../plans/bramble.ron");
    for keys in ["<Right><Enter><PgUp>", "<Right><Enter><C-u><PgUp>"] {
        let mut screen = Screen::on(text, (80, 24));
        screen.keys(keys);
        assert_eq!(
            screen.model.field.as_ref().map(|f| f.at.to_string()).as_deref(),
            Some("runs.W1.protection.F1.amps_a"),
            "{}",
            screen.text()
        );
        // ISO 8820-3: 15 A, then 20 A.
        assert_eq!(screen.model.field.as_ref().map(|f| f.line.text().to_string()).as_deref(), Some("20 A"), "{keys}");
        screen.keys("<Enter>");
        assert_eq!(screen.plan().runs[0].protection[0].amps_a.known().map(|a| a.0), Some(20.0));
    }
}

/// What is typed after a choice was refused is another try.
#[test]
fn a_refused_choice_is_typed_anew() {
    let mut screen = Screen::on(include_str!("../../plans/bramble.ron"), (80, 24));
    screen.keys("fqqq<Enter>");
    assert!(screen.model.field.is_some(), "{}", screen.text());
    screen.keys("stud");
    assert_eq!(screen.model.field.as_ref().map(|f| f.line.text().to_string()).as_deref(), Some("stud"));
    screen.keys("<Enter>");
    assert_eq!(screen.plan().runs[0].protection[0].family.known().map(|f| f.word()), Some("ISO 8820-6"));
}
