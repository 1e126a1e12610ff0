//! What the plan puts in place of what the program would take: rule values, each with a reason, within what the rule
//! allows, of a rule that exists; and currents of runs, each with a reason.

use crate::engine::Work;
use crate::engine::circuit::Role;
use crate::engine::currents::derived;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::field_of;
use crate::plan::FieldPath;
use crate::plan::rules::{nearest, on_or_off, rule_at};
use crate::standards::rules::rule;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::apart;

static CHANGED: Check = Check {
    id: "rule-changed",
    safety: false,
    say: |f| format!("{} is taken as {} instead of {}: {}", f.name(0), value(f, 0), value(f, 1), f.name(1)),
};
static NO_REASON: Check = Check {
    id: "rule-changed-without-reason",
    safety: false,
    say: |f| format!("{} is taken as {} instead of {}, and no reason is given", f.name(0), value(f, 0), value(f, 1)),
};
static OUT_OF_BOUNDS: Check = Check {
    id: "rule-out-of-bounds",
    safety: false,
    say: |f| format!("{}: {} is outside {} to {}; the nearest bound is used", f.name(0), f.n(0), f.n(1), f.n(2)),
};
static NO_SUCH: Check = Check {
    id: "rule-not-known",
    safety: false,
    say: |f| {
        let (name, near) = (f.name(0), f.name(1));
        format!("{name} is no rule of this program; it changes nothing, and is kept as it is; the nearest are {near}")
    },
};

static TWICE: Check = Check {
    id: "rule-changed-twice",
    safety: false,
    say: |f| {
        let (name, this, taken) = (f.name(0), value(f, 0), value(f, 1));
        format!("{name} is changed more than once: {this} is not used, the last one, {taken}, is; take one out")
    },
};

static OVERRIDDEN: Check =
    Check { id: "current-overridden", safety: false, say: |f| format!("{}: {}", override_said(f), f.name(2)) };
static NO_REASON_FOR: Check = Check {
    id: "current-overridden-without-reason",
    safety: false,
    say: |f| format!("{}, and no reason is given", override_said(f)),
};

/// A rule's value in a finding's sentence.
fn value(f: &Finding, i: usize) -> String {
    match rule_at(&f.subject) {
        Some(rule) if rule.unit == "on/off" => on_or_off(f.n(i)).into(),
        _ => f.n(i).to_string(),
    }
}

/// What is entered, and what the circuit comes to where that is known.
fn override_said(f: &Finding) -> String {
    let (run, what) = (f.name(0), f.name(1));
    let Some(found) = f.numbers.get(1) else {
        return format!("{run} {what}: {:.1} A entered", f.n(0));
    };
    let (entered, comes_to) = apart(f.n(0), *found, 1);
    let below = if f.n(0) < *found - 1e-9 { ", less than" } else { " instead of" };
    format!("{run} {what}: {entered} A entered{below} the {comes_to} A that its circuit comes to")
}

/// Currents of runs that are entered in place of the computed ones: what rests on them is not what the circuit says.
fn overrides(w: &Work<'_>, out: &mut Gathered) {
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let Some(link) = w.context.circuit.links.get(i).filter(|l| l.role != Role::Dead) else { continue };
        let entered = [
            ("design_override_a", "design amps", &run.design_override_a),
            ("drop_override_a", "drop amps", &run.drop_override_a),
        ];
        if entered.iter().all(|(.., own)| own.is_none()) {
            continue;
        }
        let derived = derived(w.context, w.terminals, i, run).pair;
        for ((field, what, own), found) in entered.into_iter().zip([derived.design_a, derived.drop_a]) {
            let Some(amps) = own.as_ref().and_then(|k| k.known()).map(|a| a.0) else { continue };
            // Where a circuit gives no current of its own one is asked for, and nothing is overridden.
            if found.is_err() && matches!(link.role, Role::BatteryLink | Role::Open) {
                continue;
            }
            let (check, level) = if run.override_reason.trim().is_empty() {
                (&NO_REASON_FOR, Level::Caution)
            } else {
                (&OVERRIDDEN, Level::Note)
            };
            let numbers: Vec<f64> = [Some(amps), found.ok()].into_iter().flatten().collect();
            let names = [run.id.as_str(), what, run.override_reason.trim()];
            let finding = Finding::new(check, level, field_of(run, field), &numbers, &COMMON_PRACTICE).named(names);
            out.take(check, || field_of(run, field), Ok(Some(finding.smaller_is_worse())));
        }
    }
}

/// Every changed rule value is said, so that whoever reads the figures knows what they rest on.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    overrides(w, out);
    let basis = w.context.plan.job.basis;
    for (i, change) in w.context.plan.rules.iter().enumerate() {
        let subject = FieldPath::of(&["rules", change.id.as_str()]);
        let Some(row) = rule(change.id.as_str()) else {
            let found = Finding::new(&NO_SUCH, Level::Caution, subject.clone(), &[], &COMMON_PRACTICE)
                .named([change.id.to_string(), nearest(change.id.as_str())]);
            out.take(&NO_SUCH, || subject, Ok(Some(found)));
            continue;
        };
        let Some(value) = change.value.known().map(|n| n.0) else {
            out.wait(subject.join("value"));
            continue;
        };
        let mut take = |check: &'static Check, level: Level, numbers: &[f64]| {
            let found = Finding::new(check, level, subject.clone(), numbers, row.source_of(basis))
                .named([row.label, change.reason.trim()]);
            out.take(check, || subject.clone(), Ok(Some(found)));
        };
        // The last of several changes is the one that holds.
        let later = w.context.plan.rules.iter().skip(i + 1).filter(|other| other.id == change.id);
        if let Some(taken) = later.filter_map(|other| other.value.known()).next_back() {
            take(&TWICE, Level::Caution, &[value, taken.0]);
            continue;
        }
        if value < row.least || value > row.most {
            take(&OUT_OF_BOUNDS, Level::Caution, &[value, row.least, row.most]);
        }
        let used = value.clamp(row.least, row.most);
        // The value there is anyway changes nothing.
        if used == row.value(basis) {
            continue;
        }
        if change.reason.trim().is_empty() {
            take(&NO_REASON, Level::Caution, &[used, row.value(basis)]);
        } else {
            take(&CHANGED, Level::Note, &[used, row.value(basis)]);
        }
    }
}
