//! Rule values that the plan changes: each with a reason, within what the rule allows, of a rule that exists.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::plan::FieldPath;
use crate::standards::rules::rule;
use crate::standards::source::COMMON_PRACTICE;

static CHANGED: Check = Check {
    id: "rule-changed",
    safety: false,
    say: |f| format!("{} is taken as {} instead of {}: {}", f.name(0), f.n(0), f.n(1), f.name(1)),
};
static NO_REASON: Check = Check {
    id: "rule-changed-without-reason",
    safety: false,
    say: |f| format!("{} is taken as {} instead of {}, and no reason is given", f.name(0), f.n(0), f.n(1)),
};
static OUT_OF_BOUNDS: Check = Check {
    id: "rule-out-of-bounds",
    safety: false,
    say: |f| format!("{}: {} is outside {} to {}; the nearest bound is used", f.name(0), f.n(0), f.n(1), f.n(2)),
};
static NO_SUCH: Check = Check {
    id: "rule-not-known",
    safety: false,
    say: |f| format!("{} is no rule of this program; it changes nothing", f.name(0)),
};

/// Every changed rule value is said, so that whoever reads the figures knows what they rest on.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let basis = w.context.plan.job.basis;
    for change in &w.context.plan.rules {
        let subject = FieldPath::new(format!("rules.{}", change.id));
        let Some(row) = rule(change.id.as_str()) else {
            let found =
                Finding::new(&NO_SUCH, Level::Caution, subject.clone(), &[], &COMMON_PRACTICE).named([&change.id]);
            out.take(&NO_SUCH, || subject, Ok(Some(found)));
            continue;
        };
        let Some(value) = change.value.known().map(|n| n.0) else {
            out.wait(subject.join("value"));
            continue;
        };
        let mut take = |check: &'static Check, level: Level, numbers: &[f64]| {
            let found = Finding::new(check, level, subject.clone(), numbers, &row.source)
                .named([row.label, change.reason.trim()]);
            out.take(check, || subject.clone(), Ok(Some(found)));
        };
        if value < row.least || value > row.most {
            take(&OUT_OF_BOUNDS, Level::Caution, &[value, row.least, row.most]);
        }
        let used = value.clamp(row.least, row.most);
        if change.reason.trim().is_empty() {
            take(&NO_REASON, Level::Caution, &[used, row.value(basis)]);
        } else {
            take(&CHANGED, Level::Note, &[used, row.value(basis)]);
        }
    }
}
