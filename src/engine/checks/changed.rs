//! Rule values changed in the plan: each one that exists, with a reason, within its bounds.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::plan::FieldPath;
use crate::plan::sources::CHOICE;
use crate::standards::rules::rule;

static NO_SUCH: Check = Check {
    id: "no-such-rule",
    safety: false,
    say: |f| format!("there is no rule {}; its value changes nothing", f.name(0)),
};
static NO_REASON: Check = Check {
    id: "rule-changed-without-reason",
    safety: false,
    say: |f| format!("rule {} is {} in this plan instead of {}, and no reason is written", f.name(0), f.n(1), f.n(2)),
};
static HELD: Check = Check {
    id: "rule-value-held",
    safety: false,
    say: |f| format!("rule {}: {} is outside what it may be; {} is used", f.name(0), f.n(1), f.n(2)),
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for change in &plan.rules {
        let id = change.id.as_str();
        let path = || FieldPath::new(format!("rules.{id}"));
        let found = |check, level, numbers: &[f64]| Finding::new(check, level, path(), numbers, &CHOICE).named([id]);
        let Some(row) = rule(id) else {
            out.take(&NO_SUCH, path, Ok(Some(found(&NO_SUCH, Level::Caution, &[]))));
            continue;
        };
        let Some(value) = change.value.known().map(|v| v.0) else {
            out.wait(path().join("value"));
            continue;
        };
        let (standard, held) = (row.value(plan.job.basis), value.clamp(row.least, row.most));
        if change.reason.trim().is_empty() && held != standard {
            let numbers = [(held - standard).abs(), held, standard];
            out.take(&NO_REASON, path, Ok(Some(found(&NO_REASON, Level::Caution, &numbers))));
        }
        if held != value {
            let numbers = [(value - held).abs(), value, held];
            out.take(&HELD, path, Ok(Some(found(&HELD, Level::Note, &numbers))));
        }
    }
}
