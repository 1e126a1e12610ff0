//! Changed rules: chosen by typing a part of their words, then value and reason asked for.

use crate::engine::{Finding, rules_of};
use crate::plan::{Edit, FieldPath, Plan, Step, Value, rules};
use crate::standards::rules::{Rule, rule};
use crate::tui::form::{self, Page, Place};
use crate::tui::line_edit::LineEdit;
use crate::tui::model::{Model, Overlay, Pick, PickWhat};

use super::pick::{Choice, Chosen};
use super::{browse, field, items};

/// Opens the list of rules: all of them, or those named.
pub(super) fn open(model: &mut Model, only: Vec<&'static str>) {
    model.overlay = Some(Overlay::Pick(Pick { what: PickWhat::Rule(only), line: LineEdit::default(), cursor: 0 }));
}

/// The rules that fit what is typed, each with its value and, where the plan changes it, what it was.
pub(super) fn rows(model: &Model, only: &[&'static str], wanted: &str) -> Vec<Choice> {
    let Some(plan) = model.plan() else { return Vec::new() };
    let is_meant = |r: &&'static Rule| only.is_empty() || only.contains(&r.id);
    let row = |r: &'static Rule| Choice {
        label: format!("{}  {}", r.id, r.label),
        detail: value_said(plan, r),
        does: Chosen::Rule(r),
    };
    rules::found(wanted).into_iter().filter(is_meant).map(row).collect()
}

fn value_said(plan: &Plan, rule: &Rule) -> String {
    let standard = rules::with_unit(rule, rule.value(plan.job.basis));
    let own = plan.rules.iter().rev().find(|r| r.id.as_str() == rule.id).and_then(|r| r.value.known());
    match own {
        Some(own) if own.0 != rule.value(plan.job.basis) => {
            format!("{}, changed from {standard}", rules::with_unit(rule, own.0))
        }
        _ => standard,
    }
}

/// About a marked rule: what it decides, its standard value, its bounds, its source.
#[must_use]
pub(crate) fn about(plan: &Plan, rule: &Rule) -> String {
    let basis = plan.job.basis;
    format!(
        "{} Standard: {} ({basis}); accepted: {}. [{}]",
        rule.help,
        rules::with_unit(rule, rule.value(basis)),
        rules::accepted(rule),
        rule.source_of(basis)
    )
}

/// Makes a rule a changed one, at its standard value, and opens that value; one that is changed already is gone to.
pub(super) fn change(model: &mut Model, rule: &'static Rule) {
    let Some(plan) = model.plan() else { return };
    let edit = rules::change(plan, rule);
    let is_new_rule = edit.is_some();
    if let Some(edit) = edit
        && !items::apply(model, Step::one(name_of(rule), edit))
    {
        return;
    }
    let value = FieldPath::from(rules::LIST).join(rule.id).join("value");
    go_to(model, &value);
    field::open(model, &value, Vec::new());
    if let Some(field) = &mut model.field {
        field.is_new_rule = is_new_rule;
    }
    model.say(format!("{}: type its value, Enter, then why; Esc leaves it as it is", rule.label));
}

fn name_of(rule: &Rule) -> String {
    format!("change rule {}", rule.id)
}

/// Esc on the value of a rule that became a changed one by being looked at: it is none.
pub(super) fn leave(model: &mut Model, at: &FieldPath) {
    let (_, key) = at.split_last();
    let Some(rule) = rules::rule_at(at).filter(|_| key == "value") else { return };
    if let Some(document) = &mut model.document
        && document.forget(&name_of(rule))
    {
        model.pages.pop();
        model.say(format!("{} stays as it was", rule.label));
    }
}

/// A changed rule whose standard value has just been committed is none any more, in that one step; whether that was so.
fn set_back(model: &mut Model, rule: &Rule, at: &FieldPath) -> bool {
    let Some(document) = &mut model.document else { return false };
    let Some((name, before)) = document.past().next() else { return false };
    let was = before.get_at(at).filter(|was| Some(was) != document.committed().plan.get_at(at).as_ref());
    if was.is_none() || !document.forget(&name) {
        return false;
    }
    let name = format!("rule {} as it is by standard", rule.id);
    if items::apply(model, Step::one(name, Edit::Remove { at: at.split_last().0 })) {
        model.pages.pop();
        model.say(format!("{}: the standard value again, no changed rule any more", rule.label));
    }
    true
}

/// A rule that became a changed one for the value just committed: both are one step, so that undo leaves no changed rule behind.
fn as_one(model: &mut Model, rule: &Rule, at: &FieldPath) {
    let Some(document) = &mut model.document else { return };
    let mut past = document.past();
    let (Some((name, _)), Some((first, before))) = (past.next(), past.next()) else { return };
    drop(past);
    let value = document.committed().plan.get_at(at);
    if let (true, Some(edit), Some(to)) = (first == name_of(rule), rules::change(&before, rule), value)
        && document.forget(&name)
        && document.forget(&first)
    {
        items::apply(model, Step { name, edits: vec![edit, Edit::Set { at: at.clone(), to }] });
    }
}

fn go_to(model: &mut Model, at: &FieldPath) {
    if matches!(model.screen, 1 | 5) {
        return browse::go_to(model, at);
    }
    let Some(page) = model.plan().and_then(|plan| form::page_for(plan, at)) else { return };
    model.pages.truncate(1);
    let list = Place::List(rules::LIST.into());
    if model.page().is_none_or(|root| root.place != list) {
        model.pages.push(Page::new(list));
    }
    model.pages.push(page);
}

/// After a rule's value is committed: its reason, where none is given yet. The value there is anyway changes nothing and wants none;
/// a rule that only became a changed one by being looked at is none again.
pub(super) fn ask_reason(model: &mut Model, at: &FieldPath) {
    let (item, key) = at.split_last();
    let is_standard = |rule: &&Rule| {
        let plan = model.plan()?;
        Some(plan.get_at(at)? == Value::Number(rule.value(plan.job.basis)))
    };
    let rule = rules::rule_at(at).filter(|_| key == "value");
    if let Some(rule) = rule.filter(|rule| is_standard(rule) == Some(true)) {
        if !set_back(model, rule, at) {
            leave(model, at);
            model.say(format!("{}: that is the standard value; nothing is changed", rule.label));
        }
        return;
    }
    if let Some(rule) = rule {
        as_one(model, rule, at);
    }
    let reason = item.join("reason");
    let is_open = |plan: &Plan| plan.get_at(&reason) == Some(Value::Text(String::new()));
    if key != "value" || rules::rule_at(at).is_none() || !model.plan().is_some_and(is_open) {
        return;
    }
    let row = model.page().zip(model.plan()).and_then(|(page, p)| form::row_of(&form::rows(p, &page.place), &reason));
    if let (Some(row), Some(page)) = (row, model.pages.last_mut()) {
        page.cursor = row;
        field::open(model, &reason, Vec::new());
        model.say("why is another value right here? It is printed beside every finding that rests on it");
    }
}

/// From a finding to the rule that it rests on: straight there where it is one, by a list where there are several.
pub(super) fn of_finding(model: &mut Model, finding: &Finding) {
    let mut named: Vec<&'static str> = rules_of(finding);
    if let Some(own) = rules::rule_at(&finding.subject)
        && !named.contains(&own.id)
    {
        named.push(own.id);
    }
    match named.as_slice() {
        [] => model.say("no rule value decides this finding: it follows from what is drawn or entered"),
        [only] => {
            if let Some(rule) = rule(only) {
                change(model, rule);
            }
        }
        _ => open(model, named),
    }
}
