//! Findings the technician accepted with a reason.

use crate::plan::{Accepted, Plan};

use super::finding::{Finding, Level};
use super::rule::Rules;

/// What a finding is about today, where an earlier program said it of something else.
fn subject_now<'a>(check: &str, subject: &'a str) -> &'a str {
    match (check, subject) {
        ("fault-current-assumed", "bank") => "bank.short_circuit_a",
        _ => subject,
    }
}

/// Which way a number of a finding is the worse one.
#[derive(Clone, Copy)]
enum Way {
    Up,
    Down,
    /// Another number is another matter: it is looked at anew.
    Other,
    /// Goes with the numbers before it.
    Along,
}

/// Checks of whose numbers, after the first, more is known than that another is another matter.
const WAYS: [(&str, &[Way]); 15] = {
    use Way::{Along, Down, Other, Up};
    [
        ("conductor-below-current", &[Down, Other]),
        ("battery-link-below-current", &[Down, Along]),
        ("battery-link-below-fuse", &[Down, Along, Along]),
        ("uneven-battery-links", &[Along, Along, Along, Other, Other, Along, Along]),
        ("fuse-above-conductor", &[Down, Along, Down]),
        ("fuse-below-design", &[Up, Up]),
        ("interrupt-below-fault", &[Down, Up, Up, Other]),
        ("cold-voc-over-limit", &[Down, Along, Along, Along]),
        // As it is entered, by the stays, what stands there and what takes it.
        ("coldest-above-stays", &[Down, Up, Other]),
        ("charge-over-limit", &[Down]),
        ("weight-over-margin", &[Down, Along, Along, Along, Along, Along, Along, Along]),
        // Volts and percent of one loop; what of it is fittings and least wire explains it.
        ("drop-over-target", &[Along, Along, Other, Along, Along]),
        ("shortfall", &[Up, Up]),
        ("medical-not-served", &[Up]),
        ("charge-lost-to-cold", &[Up]),
    ]
};

/// Puts the written reason on every finding that is accepted and has not worsened since.
pub(super) fn apply(plan: &Plan, rules: &Rules, findings: &mut [Finding]) {
    for accepted in plan.accepted.iter().filter(|a| !a.reason.trim().is_empty()) {
        for finding in findings.iter_mut() {
            let subject = subject_now(&accepted.finding, &accepted.subject);
            if finding.check.id != accepted.finding || finding.subject.as_str() != subject {
                continue;
            }
            let reason = Some(accepted.reason.clone());
            if worsened(finding, accepted, rules.accepted_worsening_pct / 100.0) {
                finding.lapsed = reason;
            } else {
                finding.accepted = reason;
            }
        }
    }
}

/// Under what a finding was accepted, whether it still is or has lapsed; none where it never was.
#[must_use]
pub fn accepted_as<'a>(plan: &'a Plan, finding: &Finding) -> Option<&'a Accepted> {
    let reason = finding.accepted.as_ref().or(finding.lapsed.as_ref())?;
    plan.accepted.iter().rev().find(|a| {
        let subject = subject_now(&a.finding, &a.subject);
        finding.check.id == a.finding && finding.subject.as_str() == subject && a.reason == *reason
    })
}

/// The numbers of a finding as an accepted one keeps them: `80 70 94.7`.
#[must_use]
pub fn kept(finding: &Finding) -> String {
    finding.numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(" ")
}

/// Whether a finding that stays is graver than it was, or one of its numbers worse by more than a share of it.
pub(super) fn is_worse(then: &Finding, now: &Finding, share: f64) -> bool {
    let first = if now.larger_is_worse { Way::Up } else { Way::Down };
    let others = WAYS.iter().find(|(id, _)| *id == now.check.id).map_or(&[][..], |(_, ways)| *ways);
    let ways = std::iter::once(first).chain(others.iter().copied());
    let numbers = then.numbers.iter().zip(&now.numbers);
    now.level < then.level
        || numbers.zip(ways).any(|((then, now), way)| {
            let room = then.abs() * share + 1e-9;
            match way {
                Way::Up => *now > then + room,
                Way::Down => *now < then - room,
                Way::Other | Way::Along => false,
            }
        })
}

/// Whether a finding is graver than it was, one of its numbers worse by more than a share of it, or, where it has none,
/// another sentence. What an earlier program did not keep is not compared; a text that is no number is none of ours.
fn worsened(finding: &Finding, then: &Accepted, share: f64) -> bool {
    if then.level.parse().is_ok_and(|level: Level| finding.level < level) {
        return true;
    }
    if then.numbers.is_empty() && !then.said.is_empty() && finding.numbers.is_empty() {
        return finding.text() != then.said;
    }
    let all: Vec<Option<f64>> = match then.numbers.split_whitespace() {
        none if none.clone().next().is_none() => {
            then.value.iter().filter_map(|v| v.known()).map(|v| Some(v.0)).collect()
        }
        kept => kept.map(|n| n.parse().ok()).collect(),
    };
    let first = if finding.larger_is_worse { Way::Up } else { Way::Down };
    let others = WAYS.iter().find(|(id, _)| *id == finding.check.id).map(|(_, ways)| *ways);
    let way = |i: usize| match i.checked_sub(1) {
        None => first,
        Some(i) => others.map_or(Way::Other, |ways| ways.get(i).copied().unwrap_or(Way::Other)),
    };
    // One number more or less says another thing, where it does not just explain the ones before.
    let longer = all.len().max(finding.numbers.len());
    let is_other = !then.numbers.is_empty()
        && (all.len().min(finding.numbers.len())..longer).any(|i| !matches!(way(i), Way::Along));
    is_other
        || all.iter().zip(&finding.numbers).enumerate().any(|(i, (then, now))| {
            let Some(then) = then else { return true };
            let room = then.abs() * share;
            match way(i) {
                Way::Up => *now > then + room,
                Way::Down => *now < then - room,
                Way::Other => (now - then).abs() > room,
                Way::Along => false,
            }
        })
}
