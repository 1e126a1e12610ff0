//! Rule values: chosen by typing a part of their words, typed in their own unit, reached from a finding, marked.

use super::{DUNLIN, Screen};
use coachwire::engine::Engine;
use coachwire::plan::job::TemperatureUnit;
use coachwire::plan::{Edit, Known, Plan, RuleChange, Step};
use coachwire::stock::Stock;
use coachwire::tui::model::Overlay;
use coachwire::units::Number;
use coachwire::wording::findings::sentence;

const THISTLE: &str = include_str!("../../plans/thistle.ron");

fn plan(text: &str) -> Plan {
    Plan::from_text(text).expect("the sample reads")
}

/// Without a name by heart: `v`, a word of it, Enter; then its value in its own unit, then why.
#[test]
fn a_rule_is_chosen_by_its_words_then_value_and_reason_are_asked_for() {
    let mut screen = Screen::dunlin();
    screen.keys("vcharger");
    assert!(screen.text().contains("drop-charger"), "{}", screen.text());
    // The marked one's standard value, bounds and source stand below the list.
    assert!(screen.text().contains("Standard: ") && screen.text().contains("accepted: "), "{}", screen.text());
    insta::assert_snapshot!("rules_to_choose_80x24", screen.picture());
    screen.keys("<C-u>drop-charger<Enter>");
    assert_eq!(screen.model.field.as_ref().map(|f| f.at.to_string()), Some("rules.drop-charger.value".into()));
    // common practice: 2 % to a charger, as `fields` has it.
    assert_eq!(screen.plan().rules.iter().map(|r| r.value).collect::<Vec<_>>(), [Known::Is(Number(2.0))]);
    screen.keys("5 %<Enter>long way<Enter>");
    let rules = screen.plan().rules.clone();
    assert_eq!(rules.len(), 1);
    assert_eq!((rules[0].value, rules[0].reason.as_str()), (Known::Is(Number(5.0)), "long way"));
    // The same rule again leads to the one there is.
    screen.keys("<Esc>1vdrop-charger<Enter><Esc>");
    assert_eq!(screen.plan().rules.len(), 1);
    screen.keys("1");
    assert!(screen.text().contains("1 rule changed*"), "{}", screen.text());
}

/// Looked at and left, from a finding too: no changed rule, no step in the history, nothing to save.
#[test]
fn a_rule_that_is_only_looked_at_is_not_changed() {
    for keys in ["vdrop-charger<Enter>", "5vdrop-charger<Enter>"] {
        let mut screen = Screen::dunlin();
        let before = screen.plan().clone();
        screen.keys(keys);
        assert!(screen.model.field.is_some(), "{}", screen.text());
        screen.keys("<Esc>");
        assert_eq!(screen.plan(), before);
        let document = screen.model.document.as_ref().expect("a plan");
        assert_eq!((document.is_dirty(), document.undo_names().count()), (false, 0));
        assert!(screen.text().contains("stays as it was"), "{}", screen.text());
    }
}

/// A changed rule that is opened again and left, nothing typed: Esc closes it and takes nothing back, not the step that made it a
/// changed one either.
#[test]
fn esc_over_a_changed_rule_takes_nothing_back() {
    // Its standard value left by Tab, no reason given: a row of its standard value, and the newest step.
    let mut screen = Screen::dunlin();
    screen.keys("vdrop-charger<Enter><Tab><Esc>");
    let (kept, steps) = (screen.plan(), screen.undo_names());
    assert_eq!((kept.rules.len(), steps.len()), (1, 1));
    for _ in 0..2 {
        screen.keys("<Esc>1vdrop-charger<Enter>");
        let at = screen.model.field.as_ref().map(|f| f.at.to_string());
        assert_eq!(at.as_deref(), Some("rules.drop-charger.value"), "{}", screen.text());
        screen.keys("<Esc>");
        assert!(screen.model.field.is_none(), "{}", screen.text());
        assert_eq!((screen.plan(), screen.undo_names()), (kept.clone(), steps.clone()), "{}", screen.text());
    }
}

/// What is typed is held to the rule's own bounds, and says them.
#[test]
fn a_value_has_the_bounds_and_the_unit_of_its_rule() {
    let mut screen = Screen::on(DUNLIN, (120, 40));
    screen.keys("vdrop-charger<Enter>");
    assert!(screen.text().contains("2 %"), "{}", screen.text());
    screen.keys("900<Enter>");
    assert!(screen.model.field.is_some(), "it stays open");
    assert!(screen.said().contains("outside what is accepted") && screen.said().contains('%'), "{}", screen.said());
    screen.keys("5 V<Enter>");
    assert!(screen.model.field.is_some(), "volts are no percent: {}", screen.said());
    screen.keys("<C-u>5 %<Enter><Esc><Up>?");
    assert!(screen.text().contains("Standard: 2 %"), "{}", screen.text());
}

/// A name that is no rule's is refused where it is typed, with the nearest names.
#[test]
fn a_slip_in_a_rules_name_is_refused_with_the_nearest() {
    let mut screen = Screen::dunlin();
    screen.keys("vdrop-charger<Enter>5 %<Enter><Esc>");
    screen.keys("Rdrop-ch<Enter>");
    let Some(Overlay::Prompt(prompt)) = &screen.model.overlay else { panic!("it stays open\n{}", screen.text()) };
    let why = prompt.problem.clone().unwrap_or_default();
    assert!(why.contains("drop-ch is no rule") && why.contains("drop-charger"), "{why}");
    assert_eq!(screen.plan().rules[0].id.as_str(), "drop-charger");
}

/// From a finding to the rule it rests on: one rule at once, several by a list of those alone.
#[test]
fn a_key_leads_from_a_finding_to_its_rule() {
    let of = |screen: &Screen, check: &str| {
        let entries = screen.model.entries();
        entries.iter().position(|e| e.finding().is_some_and(|f| f.check.id == check)).expect("the plan has it")
    };
    let mut screen = Screen::on(THISTLE, (120, 40));
    screen.keys("5");
    screen.model.finding = of(&screen, "drop-over-target");
    screen.keys("<Enter>v");
    let at = screen.model.field.as_ref().map(|f| f.at.to_string()).unwrap_or_default();
    assert!(at.starts_with("rules.drop-") && at.ends_with(".value"), "{at}");
    let mut screen = Screen::on(THISTLE, (120, 40));
    screen.keys("5");
    screen.model.finding = of(&screen, "fuse-far-from-source");
    screen.keys("v");
    let text = screen.text();
    assert!(
        text.contains("fuse-distance-m ") && text.contains("fuse-distance-note-m") && !text.contains("drop-array"),
        "{text}"
    );
}

/// What was changed is marked where it matters: target, fuse range, ampacity, the terminal's limit in the working.
#[test]
fn changed_values_are_marked_where_they_matter() {
    let mut changed = plan(THISTLE);
    for (id, value) in [("drop-charger", 5.0), ("terminal-c", 60.0), ("small-wire-limits", 0.0)] {
        let id = id.parse().unwrap();
        changed.rules.push(RuleChange { id, value: Known::Is(Number(value)), reason: "agreed".into() });
    }
    let stock = Stock::default();
    let (by, plain) =
        (Engine::default().evaluate(&changed, &stock), Engine::default().evaluate(&plan(THISTLE), &stock));
    let mut seen = [false; 3];
    for (a, b) in by.runs.iter().zip(&plain.runs) {
        let pairs = [
            (a.target_pct != b.target_pct, &a.changed.target),
            (a.ampacity_a != b.ampacity_a, &a.changed.ampacity),
            ((&a.fuse_min_a, &a.fuse_max_a) != (&b.fuse_min_a, &b.fuse_max_a), &a.changed.fuse),
        ];
        for ((differs, why), seen) in pairs.into_iter().zip(&mut seen) {
            assert!(!differs || !why.is_empty(), "{}: a changed figure without a mark", a.id);
            *seen |= differs;
        }
        assert!(b.changed == Default::default(), "{}: nothing is changed there", b.id);
    }
    assert_eq!(seen, [true; 3], "each of them changes something in this plan");
    let run = by.runs.iter().position(|r| !r.changed.ampacity.is_empty() && !r.changed.fuse.is_empty()).unwrap();
    let text = changed.to_text();
    let mut screen = Screen::on(&text, (120, 40));
    screen.model.bench.pane = coachwire::tui::model::Pane::Runs;
    screen.model.bench.run = run;
    let bench = screen.text();
    assert!(bench.contains("3 rules changed*") && bench.contains(" A*"), "{bench}");
    screen.keys("e");
    let worked = screen.text();
    assert!(worked.contains("(changed rule: agreed)"), "{worked}");
}

/// A reason that speaks of 60 C stays as it was written in a plan that shows Fahrenheit; the program's own words do not.
#[test]
fn what_a_technician_wrote_is_not_turned_into_other_units() {
    let mut changed = plan(THISTLE);
    changed.job.temperature_unit = TemperatureUnit::Fahrenheit;
    let reason = "old fuse block, 60 C, 3 m away";
    let id = "terminal-c".parse().unwrap();
    changed.rules.push(RuleChange { id, value: Known::Is(Number(60.0)), reason: reason.into() });
    let report = Engine::default().evaluate(&changed, &Stock::default());
    let note = report.findings.iter().find(|f| f.check.id == "rule-changed").unwrap();
    assert!(sentence(&changed, note).contains(reason), "{}", sentence(&changed, note));
    let cold = report.findings.iter().find(|f| f.check.id == "cold-voc-over-limit").unwrap();
    assert!(sentence(&changed, cold).contains(" F"), "{}", sentence(&changed, cold));
}

/// An edit by text makes the changed rule it names.
#[test]
fn an_edit_by_text_makes_the_rule_it_names() {
    let plan = plan(DUNLIN);
    let step = Step::parse(&plan, "test", &["rules.drop-charger.value = 5".into()]).unwrap();
    assert!(matches!(step.edits.as_slice(), [Edit::Insert { .. }, Edit::Set { .. }]), "{step:?}");
    let with = plan.with(&step).unwrap();
    assert_eq!(
        with.rules.iter().map(|r| (r.id.as_str(), r.value)).collect::<Vec<_>>(),
        [("drop-charger", Known::Is(Number(5.0)))]
    );
    let refused = Step::parse(&plan, "test", &["rules.drop-ch.value = 5".into()]).unwrap_err();
    assert!(refused.why.contains("no rule") && refused.why.contains("drop-charger"), "{refused}");
}

/// Looking at a rule takes nothing back from what redo would do again, from the list and from a finding; a rule that is changed does.
#[test]
fn a_rule_that_is_only_looked_at_keeps_what_redo_does() {
    for keys in ["vdrop-charger<Enter>", "5vdrop-charger<Enter>"] {
        let mut screen = Screen::dunlin();
        screen.keys("++");
        let thick = screen.plan();
        screen.keys("u");
        let before = screen.plan();
        assert_ne!(before, thick);
        screen.keys(keys).keys("<Esc><Esc>1");
        assert_eq!(screen.plan(), before, "{}", screen.text());
        let redo = |screen: &Screen| screen.model.document.as_ref().expect("a plan").redo_names().count();
        assert_eq!(redo(&screen), 1, "{keys}");
        screen.keys("r");
        assert_eq!(screen.plan(), thick, "{}", screen.text());
        screen.keys("u").keys("vdrop-charger<Enter>5 %<Enter>long way<Enter>");
        assert_eq!((redo(&screen), screen.plan().rules.len()), (0, 1), "what is changed is a step of its own");
    }
}

/// A rule that is on or off is so in every place: field, list, history, findings, the line of the basis, the fields' list.
#[test]
fn on_and_off_are_words_everywhere() {
    let mut screen = Screen::on(THISTLE, (120, 40));
    screen.keys("vnext-rating-up<Enter>");
    assert_eq!(screen.model.field.as_ref().map(|f| f.line.text().to_string()).as_deref(), Some("on"));
    screen.keys("off<Enter>house rule<Enter>");
    assert_eq!(screen.plan().rules[0].value, Known::Is(Number(0.0)));
    assert!(screen.undo_names().iter().any(|name| name.ends_with(" on -> off")), "{:?}", screen.undo_names());
    let plan = screen.plan();
    let report = Engine::default().evaluate(&plan, &Stock::default());
    let note = report.findings.iter().find(|f| f.check.id == "rule-changed").expect("said");
    assert_eq!(sentence(&plan, note), "next rating up allowed is taken as off instead of on: house rule");
    let working = Engine::default().explain(&plan, &report, note);
    assert!(working.iter().any(|step| step == "this plan takes off instead of on"), "{working:?}");
    assert!(coachwire::wording::told::changed_rules(&plan).ends_with("next-rating-up off (on)"));
    let between = coachwire::document::difference::between(&Plan::from_text(THISTLE).unwrap(), &plan);
    assert!(!between.is_empty());
    let mut again = plan.clone();
    std::sync::Arc::make_mut(&mut again).rules[0].value = Known::Is(Number(1.0));
    let between = coachwire::document::difference::between(&plan, &again);
    assert!(between.len() == 1 && between[0].ends_with(" off -> on"), "{between:?}");
    screen.keys("<Esc>1vnext-rating");
    assert!(screen.text().contains("off, changed from on"), "{}", screen.text());
    assert!(screen.text().contains("accepted: on or off"), "{}", screen.text());
}

/// Typed at the value that it has anyway a rule is no changed one: nothing is kept, asked or counted, and redo has what it had. One
/// that a file has so changes nothing either.
#[test]
fn a_rule_typed_at_its_standard_value_is_not_changed() {
    let mut screen = Screen::dunlin();
    screen.keys("++u");
    let before = screen.plan();
    screen.keys("vdrop-charger<Enter>2 %<Enter>");
    assert_eq!(screen.plan(), before);
    assert!(screen.model.field.is_none() && screen.said().contains("nothing is changed"), "{}", screen.said());
    assert_eq!(screen.model.document.as_ref().expect("a plan").redo_names().count(), 1);
    let mut plan = plan(THISTLE);
    let on =
        RuleChange { id: "next-rating-up".parse().unwrap(), value: Known::Is(Number(1.0)), reason: "house".into() };
    plan.rules.push(on);
    assert_eq!(coachwire::wording::told::changed_rules(&plan), "");
    plan.rules[0].value = Known::Is(Number(0.0));
    assert!(coachwire::wording::told::changed_rules(&plan).ends_with("next-rating-up off (on)"));
}

/// A changed rule that is set back to its standard value is a changed one no more: gone from its list, in one step of the history, which
/// undo takes back; from its own row as well as by its name.
#[test]
fn a_rule_set_back_is_no_changed_rule_any_more() {
    for back in ["<Esc>1vdrop-charger<Enter>2 %<Enter>", "<Esc>vdrop-charger<Enter>2 %<Enter>"] {
        let mut screen = Screen::dunlin();
        screen.keys("vdrop-charger<Enter>5 %<Enter>long way<Enter>");
        let (changed, steps) = (screen.plan(), screen.undo_names().len());
        assert_eq!(changed.rules.len(), 1);
        screen.keys(back);
        assert!(screen.plan().rules.is_empty() && screen.model.field.is_none(), "{}", screen.text());
        assert!(screen.said().contains("standard value again"), "{}", screen.said());
        assert_eq!(screen.undo_names().len(), steps + 1, "{:?}", screen.undo_names());
        screen.keys("<Esc>1");
        assert!(!screen.text().contains("rule changed"), "{}", screen.text());
        screen.keys("u");
        assert_eq!(screen.plan(), changed);
    }
}

/// A rule and the value that it is changed to are one step: undone there is no changed rule, nor one at its standard value.
#[test]
fn undoing_a_rules_value_leaves_no_changed_rule() {
    let mut screen = Screen::dunlin();
    let before = screen.plan();
    screen.keys("vdrop-charger<Enter>5 %<Enter>long way<Enter><Esc>1");
    assert_eq!((screen.plan().rules.len(), screen.undo_names().len()), (1, 2), "{:?}", screen.undo_names());
    screen.keys("uu");
    assert_eq!(screen.plan(), before);
    screen.keys("r");
    assert_eq!(screen.plan().rules[0].value, Known::Is(Number(5.0)));
}
