//! Findings the technician accepted with a reason.

use crate::plan::Plan;

use super::finding::Finding;
use super::rule::Rules;

/// What a finding is about today, where an earlier program said it of something else.
fn subject_now<'a>(check: &str, subject: &'a str) -> &'a str {
    match (check, subject) {
        ("fault-current-assumed", "bank") => "bank.short_circuit_a",
        _ => subject,
    }
}

/// Puts the written reason on every finding that is accepted and has not worsened by more than the rule's share.
pub(super) fn apply(plan: &Plan, rules: &Rules, findings: &mut [Finding]) {
    for accepted in &plan.accepted {
        if accepted.reason.trim().is_empty() {
            continue;
        }
        for finding in findings.iter_mut() {
            let subject = subject_now(&accepted.finding, &accepted.subject);
            let same = finding.check.id == accepted.finding && finding.subject.as_str() == subject;
            let then = accepted.value.as_ref().and_then(|v| v.known()).map(|v| v.0);
            if same && !worsened(finding, then, rules.accepted_worsening_pct / 100.0) {
                finding.accepted = Some(accepted.reason.clone());
            }
        }
    }
}

/// Whether a finding's first number is worse than then by more than a share of it.
fn worsened(finding: &Finding, then: Option<f64>, share: f64) -> bool {
    let (Some(then), Some(now)) = (then, finding.numbers.first()) else { return false };
    let room = then.abs() * share;
    if finding.larger_is_worse { *now > then + room } else { *now < then - room }
}
