//! How the numbers of a finding come about: the formula with this plan's numbers put in, step by step, by the functions that
//! the check itself calls. Worked out when a finding is opened, never on an edit's way.

mod arrays;
mod bank;
mod closing;
mod day;
mod decided;
mod links;
mod plain;
mod rest;
mod roof;
mod year;

use crate::plan::{FieldPath, Figure, Plan, Value, entry};
use crate::standards::rules::rule;

use super::arrays::Weather;
use super::checks::{rule_value_of, rules_of};
use super::circuit::Circuit;
use super::context::Context;
use super::currents::Terminals;
use super::finding::Finding;
use super::report::Report;
use super::rule::Rules;
use super::starting::{StartBattery, charged_in};
use super::{Engine, sites};

/// What an explanation reads and the lines it has so far.
struct Explain<'a> {
    c: &'a Context<'a>,
    t: &'a Terminals,
    report: &'a Report,
    /// Coldest air that limits are taken at.
    coldest_c: Figure<f64>,
    finding: &'a Finding,
    out: Vec<String>,
}

impl Engine {
    /// The steps to the numbers of a finding, in metres, Celsius, kilograms; with the rule values that they rest on and
    /// what is entered about its subject where no formula stands behind it. Never empty.
    #[must_use]
    pub fn explain(&mut self, plan: &Plan, report: &Report, finding: &Finding) -> Vec<String> {
        let spots = sites::spots(plan, &mut self.stages.looked);
        let rules = Rules::of(plan);
        let weather = Weather::of(plan, &spots, rules.cold_margin_k);
        let (circuit, _) = Circuit::of(plan);
        let context = Context { plan, rules, circuit, van_fuses: &[] };
        let terminals = Terminals::of(&context);
        let (c, coldest_c) = (&context, weather.coldest_c.clone());
        let mut e = Explain { c, t: &terminals, report, coldest_c, finding, out: Vec::new() };
        // Where a value on the way is not known the steps up to it stand.
        let _ = arrays::say(&mut e)
            .or_else(|| day::say(&mut e))
            .or_else(|| bank::say(&mut e))
            .or_else(|| roof::say(&mut e));
        if e.out.is_empty() {
            let _ = year::say(&mut e).or_else(|| decided::say(&mut e)).or_else(|| links::say(&mut e));
        }
        if e.out.is_empty() {
            let _ = plain::say(&mut e);
        }
        if e.out.is_empty() {
            let _ = rest::say(&mut e);
        }
        closing::say(&mut e);
        e.rules();
        if e.out.is_empty() {
            e.entered();
        }
        if e.out.is_empty() {
            e.say(format!("this follows from what is drawn, not from a number: {}", finding.source));
        }
        e.out
    }
}

impl<'a> Explain<'a> {
    /// The start battery that a finding about charge settings is about.
    fn start(&self) -> Option<StartBattery<'a>> {
        StartBattery::of(self.c, charged_in(self.c, self.finding)?).ok()
    }
}

impl Explain<'_> {
    fn say(&mut self, text: impl Into<String>) {
        self.out.push(text.into());
    }

    fn is(&self, check: &str) -> bool {
        self.finding.check.id == check
    }

    /// The name of the item that the finding is about.
    fn item(&self, list: &str) -> Option<&str> {
        let mut segments = self.finding.subject.segments();
        (segments.next() == Some(list)).then(|| segments.next())?
    }

    /// A rule's value in force.
    fn rule(&self, id: &str) -> f64 {
        rule_value_of(self.c.plan, id)
    }

    /// The rule values that the finding rests on, each with where it stands.
    fn rules(&mut self) {
        for row in rules_of(self.finding).into_iter().filter_map(rule) {
            let basis = self.c.rules.basis;
            let (value, unit) = (self.rule(row.id), row.unit);
            let is_changed = (value - row.value(basis)).abs() > 1e-12;
            let changed = if is_changed { format!(", changed from {}", row.value(basis)) } else { String::new() };
            self.say(format!("rule {}: {} {} {unit}{changed} [{}]", row.id, row.label, n(value), row.source_of(basis)));
        }
    }

    /// What is entered about the subject: the facts that a finding without a formula follows from.
    fn entered(&mut self) {
        let plan = self.c.plan;
        let depth = if self.finding.subject.segments().next() == Some("bank") { 1 } else { 2 };
        let item = FieldPath::new(self.finding.subject.segments().take(depth).collect::<Vec<_>>().join("."));
        let Some(record) = plan.record(&item) else { return };
        let mut said = Vec::new();
        for meta in record.metas() {
            match record.get(meta.key) {
                None | Some(Value::Nothing | Value::Word("no")) => {}
                Some(Value::Text(text)) if text.is_empty() => {}
                Some(value) => {
                    said.push(format!("{} {}", meta.label, entry::show(entry::Units::of(plan), meta, &value)));
                }
            }
        }
        if !said.is_empty() {
            self.say(format!("as entered: {}", said.join(", ")));
        }
    }
}

/// A number as a person reads it: four significant digits, no zeros at the end.
fn n(x: f64) -> String {
    let decimals = match x.abs() {
        0.0 => 0,
        x if x >= 1000.0 => 0,
        x if x >= 100.0 => 1,
        x if x >= 10.0 => 2,
        x if x >= 1.0 => 3,
        x if x >= 0.01 => 4,
        _ => 6,
    };
    let text = format!("{x:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}
