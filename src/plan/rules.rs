//! Rules as a person changes them: found by a part of their words, made with their standard value, typed in their own unit.

use std::sync::LazyLock;

use super::Plan;
use super::edit::Edit;
use super::field::{Kind, Meta, Quantity, Record};
use super::format::item_text;
use super::known::Known;
use super::ledger::RuleChange;
use super::path::FieldPath;
use crate::arrange::Arrange;
use crate::standards::kinds::Basis;
use crate::standards::rules::{Rule, all, rule};
use crate::units::Number;

/// The list of changed rules.
pub const LIST: &str = "rules";

/// The rule that a path is about: `rules.drop-charger`, `rules.drop-charger.value`.
#[must_use]
pub fn rule_at(at: &FieldPath) -> Option<&'static Rule> {
    let mut segments = at.segments();
    (segments.next() == Some(LIST)).then(|| segments.next().and_then(rule))?
}

/// The rules whose name, words or unit hold every word typed; what is named so or begins so comes first.
#[must_use]
pub fn found(typed: &str) -> Vec<&'static Rule> {
    let low = typed.trim().to_lowercase();
    let text = |r: &Rule| format!("{} {} {} {}", r.id, r.label, r.unit, r.help).to_lowercase();
    let rank = |r: &Rule| match () {
        () if r.id == low => 0,
        () if r.id.starts_with(&low) || r.label.to_lowercase().starts_with(&low) => 1,
        () if r.id.contains(&low) || r.label.to_lowercase().contains(&low) => 2,
        () => 3,
    };
    let mut rows: Vec<_> = all().filter(|r| low.split_whitespace().all(|word| text(r).contains(word))).collect();
    rows.arrange_by_key(|r| rank(r));
    rows
}

/// Why a name is no rule's, with those that come nearest.
#[must_use]
pub fn unknown(name: &str) -> String {
    format!("{name} is no rule of this program; the nearest are {}; `coachwire fields rules` lists all", nearest(name))
}

/// The names of rules that come nearest to one that is none.
#[must_use]
pub fn nearest(name: &str) -> String {
    let typed = name.to_lowercase().replace(['_', ' '], "-");
    let mut near: Vec<(usize, &str)> = all().map(|r| (apart(&typed, r.id), r.id)).collect();
    near.arrange_by(Ord::cmp);
    let near: Vec<&str> = near.into_iter().take(4).map(|(_, id)| id).collect();
    near.join(", ")
}

/// Why a path to a changed rule leads nowhere, where it is the rule's name that is wrong or the plan has it unchanged.
#[must_use]
pub fn no_change(at: &FieldPath) -> Option<String> {
    let mut segments = at.segments();
    let name = (segments.next() == Some(LIST)).then(|| segments.next())??;
    match (rule(name), segments.next()) {
        (None, Some("value" | "reason")) => Some(unknown(name)),
        _ => None,
    }
}

/// How far two names are apart: letters to put in, take out or exchange; fewer where one begins with or holds the other.
/// Source: definition (edit distance).
fn apart(typed: &str, name: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (typed.chars().collect(), name.chars().collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut next = vec![i + 1];
        for (j, y) in b.iter().enumerate() {
            let of = |row: &[usize], at: usize| row.get(at).copied().unwrap_or(usize::MAX / 2);
            next.push((of(&row, j) + usize::from(x != y)).min(of(&row, j + 1) + 1).min(of(&next, j) + 1));
        }
        row = next;
    }
    let distance = row.last().copied().unwrap_or(0);
    if !typed.is_empty() && name.contains(typed) { distance / 3 } else { distance }
}

/// The unit of a rule that is on or off.
const ON_OFF: &str = "on/off";

/// The word of such a rule's number.
#[must_use]
pub fn on_or_off(x: f64) -> &'static str {
    if x == 0.0 { "off" } else { "on" }
}

/// A number with a rule's unit: `3 %`, `1.25 x`, `on`.
#[must_use]
pub fn with_unit(rule: &Rule, x: f64) -> String {
    match rule.unit {
        "" => format!("{x}"),
        ON_OFF => on_or_off(x).into(),
        unit => format!("{x} {unit}"),
    }
}

/// The numbers that a rule accepts, in words.
#[must_use]
pub fn accepted(rule: &Rule) -> String {
    match rule.unit {
        ON_OFF => "on or off".into(),
        _ => format!("{} to {}", with_unit(rule, rule.least), with_unit(rule, rule.most)),
    }
}

/// The edit that makes a rule a changed one, at its standard value; none where the plan has it already.
#[must_use]
pub fn change(plan: &Plan, rule: &Rule) -> Option<Edit> {
    if plan.rules.iter().any(|own| own.id.as_str() == rule.id) {
        return None;
    }
    let value = Known::Is(Number(rule.value(plan.job.basis)));
    let item = RuleChange { id: rule.id.parse().ok()?, value, reason: String::new() };
    Some(Edit::Insert {
        list: LIST.into(),
        after: plan.rules.last().map(|last| last.id.clone()),
        item: item_text(&item),
    })
}

fn quantity(unit: &str) -> Quantity {
    match unit {
        "%" => Quantity::Percent,
        "A" => Quantity::Amps,
        "C" => Quantity::Temperature,
        "V" => Quantity::Volts,
        "W" => Quantity::Watts,
        "W/m2" => Quantity::Irradiance,
        "m" => Quantity::Length,
        "m/s" => Quantity::MetresPerSecond,
        "mohm" => Quantity::Milliohms,
        ON_OFF => Quantity::OnOff,
        _ => Quantity::Plain,
    }
}

/// The value's row of the field table for each rule, in the order of the rules: its own unit, bounds, help and source.
static VALUES: LazyLock<Vec<(&'static str, Meta)>> = LazyLock::new(|| all().map(|r| (r.id, value_of(r))).collect());

fn value_of(rule: &'static Rule) -> Meta {
    let quantity = quantity(rule.unit);
    let label = match (quantity, rule.unit) {
        (Quantity::Plain | Quantity::OnOff, unit) if !unit.is_empty() => format!("value, {unit}"),
        _ => "value".into(),
    };
    let of = |basis: &Basis| with_unit(rule, rule.value(*basis));
    let standard = if Basis::ALL.iter().all(|b| rule.value(*b) == rule.us_rv) {
        of(&Basis::UsRv)
    } else {
        Basis::ALL.iter().map(|b| format!("{} {b}", of(b))).collect::<Vec<_>>().join(", ")
    };
    Meta {
        key: "value",
        // Once for each rule in the life of the program.
        label: Box::leak(label.into_boxed_str()),
        kind: Kind::Number { quantity, least: rule.least, most: rule.most },
        help: Box::leak(
            format!("{}. {} Standard: {standard}; accepted: {}.", capital(rule.label), rule.help, accepted(rule))
                .into_boxed_str(),
        ),
        source: &rule.source,
        unknown: true,
        absent: false,
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// The row of a field of a record: that of a rule's value where it is one.
#[must_use]
pub fn meta_of(owner: &dyn Record, key: &str) -> Option<&'static Meta> {
    own_value(owner, key).or_else(|| owner.metas().into_iter().find(|m| m.key == key))
}

/// The row of the value of a rule that there is.
#[must_use]
pub fn own_value(owner: &dyn Record, key: &str) -> Option<&'static Meta> {
    let id = owner.item_id().filter(|_| key == "value" && owner.what() == "rule")?;
    VALUES.iter().find(|(rule, _)| *rule == id.as_str()).map(|(_, meta)| meta)
}
