//! The order of the plan, for sorting findings and unknowns.

use crate::plan::field::Record;
use crate::plan::{FieldPath, Plan};

/// Section and item of a path: cheap, for findings.
pub(super) fn place(plan: &Plan, path: &FieldPath) -> (usize, usize) {
    let mut segments = path.segments();
    let Some(section) = segments.next() else { return (usize::MAX, 0) };
    let parts = plan.part_names();
    if let Some(i) = parts.iter().position(|p| *p == section) {
        return (i, 0);
    }
    let Some(i) = plan.list_names().iter().position(|l| *l == section) else { return (usize::MAX, 0) };
    let item = segments.next().and_then(|id| plan.list(section)?.position(id)).unwrap_or(0);
    (parts.len() + i, item)
}

/// Full place of a field, down to its row.
pub(super) fn full(plan: &Plan, path: &FieldPath) -> [usize; 6] {
    let mut key = [0; 6];
    let mut slots = key.iter_mut();
    let mut record: &dyn Record = plan;
    let mut segments = path.segments();
    while let Some(name) = segments.next() {
        let metas = record.metas();
        let (parts, lists) = (record.part_names(), record.list_names());
        let mut put = |x: usize| {
            if let Some(slot) = slots.next() {
                *slot = x + 1;
            }
        };
        if let Some(i) = metas.iter().position(|m| m.key == name) {
            put(i);
            break;
        } else if let Some(i) = parts.iter().position(|p| *p == name) {
            put(metas.len() + i);
            let Some(part) = record.part(name) else { break };
            record = part;
        } else if let (Some(i), Some(list)) = (lists.iter().position(|l| *l == name), record.list(name)) {
            put(metas.len() + parts.len() + i);
            let Some(at) = segments.next().and_then(|id| list.position(id)) else { break };
            put(at);
            let Some(item) = list.at(at) else { break };
            record = item;
        } else {
            break;
        }
    }
    key
}
