//! Whether what must be serviced can still be come to.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::report::PlaceAccess;
use crate::plan::FieldPath;
use crate::standards::source::COMMON_PRACTICE;

static BLOCKED: Check = Check {
    id: "service-way-blocked",
    safety: false,
    say: |f| {
        if f.n(0) < 0.0 {
            format!("{} must come off to service {}: it lies over it", f.name(0), f.name(1))
        } else if f.n(2) > 0.0 {
            format!(
                "{} must come off to service {}: no way {:.0} mm wide is left from the roof's edge to one of its long sides",
                f.name(0),
                f.name(1),
                f.n(1) * 1000.0
            )
        } else {
            format!(
                "{} must come off to service {}: it leaves {:.0} mm, {:.0} mm are wanted on every side",
                f.name(0),
                f.name(1),
                f.n(0) * 1000.0,
                f.n(1) * 1000.0
            )
        }
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for access in &w.report.roof.access {
        out.take(&BLOCKED, || "roof".into(), Ok(blocked(w, access)));
    }
}

fn blocked(w: &Work<'_>, access: &PlaceAccess) -> Option<Finding> {
    let (plan, rules) = (w.context.plan, &w.context.rules);
    let numbers = if !access.has_way {
        [access.gap_m, rules.access_way_m, 1.0]
    } else if access.gap_m < rules.access_gap_m - 1e-3 {
        [access.gap_m, rules.access_gap_m, 0.0]
    } else {
        return None;
    };
    let thing = &plan.roof.obstacles.get(access.thing)?.id;
    let array = plan.arrays.get(access.nearest.0)?;
    let panel = format!("{} {}", array.id, array.places.get(access.nearest.1)?.id);
    let path = FieldPath::new(format!("roof.obstacles.{thing}"));
    let found = Finding::new(&BLOCKED, Level::Caution, path, &numbers, &COMMON_PRACTICE);
    Some(found.named([panel.as_str(), thing.as_str()]).smaller_is_worse())
}
