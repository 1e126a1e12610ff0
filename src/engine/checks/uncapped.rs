//! Terminals of a lower limit than their wire's, on a basis that has no cap by it: said, and not judged.

use crate::engine::Work;
use crate::engine::capacity::{case, derating, entered_terminal_c};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::resistance::legs;
use crate::engine::runs::{Found, path_of};
use crate::plan::Run;
use crate::standards::ampacity::at_terminals_a;
use crate::standards::kinds::Basis;
use crate::standards::rules::rule;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::{apart, rated};

static UNCAPPED: Check = Check {
    id: "terminals-not-counted",
    safety: false,
    say: |f| {
        let (flows, carries) = apart(f.n(0), f.n(1), 1);
        format!(
            "{}: {flows} A may flow, and with terminals of {} C RV work would hold leg {} to {carries} A; {} rules have no such \
             cap, and what the terminals stand is not checked",
            f.name(0),
            rated(f.n(2)),
            f.name(1),
            f.name(2)
        )
    },
};
pub(super) fn take(w: &Work<'_>, out: &mut Gathered, i: usize, run: &Run, f: &Found) {
    out.take(&UNCAPPED, || path_of(run), Ok(over_terminals(w, i, run, f)));
}

/// What would be over the limit of a terminal that somebody entered, on a basis that has no cap by it.
fn over_terminals(w: &Work<'_>, i: usize, run: &Run, f: &Found) -> Option<Finding> {
    let rules = &w.context.rules;
    let limit_c = entered_terminal_c(w.context, i).filter(|_| rules.basis != Basis::UsRv)?;
    let needs = f.currents.wire_a().ok()? * rules.conductor_factor;
    let capped = |leg| {
        Some((at_terminals_a(&case(w.context, run, leg, limit_c, rules.basis).ok()?, &derating(w.context))?, leg))
    };
    let (most, leg) = legs(run).filter_map(capped).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let source = rule("terminal-c").map_or(&COMMON_PRACTICE, |r| r.source_of(rules.basis));
    let numbers = [needs, most, limit_c];
    let found = Finding::new(&UNCAPPED, Level::Note, path_of(run), &numbers, source);
    (needs > most + 1e-9).then(|| found.named([run.id.as_str(), leg.id.as_str(), rules.basis.word()]))
}
