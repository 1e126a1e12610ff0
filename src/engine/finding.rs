//! Findings: the outcome of a check.

use crate::plan::entry::{self, Units};
use crate::plan::{FieldPath, Plan};
use crate::standards::Source;
use crate::words;

words! {
    /// How grave a finding is.
    Level {
        /// Do not build it like this.
        Stop = "stop",
        /// Look again.
        Caution = "caution",
        /// Worth knowing.
        Note = "note",
    }
}

/// A check: what its findings are called and how they are said.
#[derive(Debug)]
pub struct Check {
    /// Kebab-case; with the subject it is a finding's identity.
    pub id: &'static str,
    /// Whether a run of this check that waits for an unknown field is counted as *not checked*.
    pub safety: bool,
    /// The sentence, from the finding's numbers.
    pub say: fn(&Finding) -> String,
}

impl PartialEq for Check {
    fn eq(&self, other: &Self) -> bool {
        self.id == other.id
    }
}

/// One outcome of a check.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    pub check: &'static Check,
    pub level: Level,
    /// The field or item it is about.
    pub subject: FieldPath,
    /// Its numbers, in the order its sentence uses them; the first one is what it is about.
    pub numbers: Vec<f64>,
    /// Names its sentence uses.
    pub names: Vec<String>,
    pub source: &'static Source,
    /// Rules that this one rests on, beside those of its check.
    pub rules: &'static [&'static str],
    /// What else follows from it and is listed under it alone; empty where nothing does.
    pub follows: String,
    /// Why rule values that it rests on are not the standard ones; empty where they are.
    pub changed: String,
    /// Whether a larger first number is worse.
    pub larger_is_worse: bool,
    /// The written reason, where the technician accepted it and it has not worsened since.
    pub accepted: Option<String>,
    /// The written reason, where it was accepted and has worsened since: it stands open again.
    pub lapsed: Option<String>,
}

impl Finding {
    /// A finding of a check.
    #[must_use]
    pub fn new(
        check: &'static Check,
        level: Level,
        subject: FieldPath,
        numbers: &[f64],
        source: &'static Source,
    ) -> Self {
        Self {
            check,
            level,
            subject,
            numbers: numbers.to_vec(),
            names: Vec::new(),
            source,
            rules: &[],
            follows: String::new(),
            changed: String::new(),
            larger_is_worse: true,
            accepted: None,
            lapsed: None,
        }
    }

    /// With the names its sentence uses.
    #[must_use]
    pub fn named(mut self, names: impl IntoIterator<Item = impl ToString>) -> Self {
        self.names = names.into_iter().map(|n| n.to_string()).collect();
        self
    }

    /// A smaller first number is worse.
    #[must_use]
    pub fn smaller_is_worse(mut self) -> Self {
        self.larger_is_worse = false;
        self
    }

    /// Resting on these rules too.
    #[must_use]
    pub fn by_rules(mut self, rules: &'static [&'static str]) -> Self {
        self.rules = rules;
        self
    }

    /// The source, and why a value of it is changed in this plan.
    #[must_use]
    pub fn source_said(&self) -> String {
        if self.changed.is_empty() {
            self.source.to_string()
        } else {
            format!("{} (changed: {})", self.source, self.changed)
        }
    }

    /// The sentence.
    #[must_use]
    pub fn text(&self) -> String {
        (self.check.say)(self) + &self.follows
    }

    /// A number of the sentence; NaN never occurs, a missing one reads 0.
    #[must_use]
    pub fn n(&self, i: usize) -> f64 {
        self.numbers.get(i).copied().unwrap_or(0.0)
    }

    /// The sentence in a plan's units.
    #[must_use]
    pub fn text_in(&self, plan: &Plan) -> String {
        entry::said(Units::of(plan), &self.text(), &self.numbers)
    }

    /// A name of the sentence.
    #[must_use]
    pub fn name(&self, i: usize) -> &str {
        self.names.get(i).map_or("", String::as_str)
    }

    /// The run that more copper on would cure it: the one it is about, or of a path the one that loses most.
    #[must_use]
    pub fn run(&self) -> Option<&str> {
        let mut segments = self.subject.segments();
        let own = segments.next().filter(|list| *list == "runs").and_then(|_| segments.next());
        if self.check.id == "drop-over-target" { self.names.get(1).map(String::as_str) } else { own }
    }

    /// What makes it the same finding in another report.
    #[must_use]
    pub fn identity(&self) -> (&'static str, &FieldPath) {
        (self.check.id, &self.subject)
    }
}
