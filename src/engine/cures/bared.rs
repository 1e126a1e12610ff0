//! What a step brings to light is no new stop: runs that no fuse protected before it either, and what stands too high in the stays'
//! own cold.

use crate::engine::Finding;
use crate::engine::circuit::Circuit;
use crate::engine::resistance::fuses;
use crate::plan::{FieldPath, Plan};

use super::UNFUSED;

/// Whether a finding is that of a run behind one without a fuse: once that one has its own, what it lets through is held
/// against the wire behind it. It was unprotected all along.
pub(super) fn unmasked(finding: &Finding, bare: &[FieldPath]) -> bool {
    let by_cold = || BY_COLD.contains(&finding.check.id) && bare.iter().any(|at| at.as_str() == COLDEST);
    (finding.check.id == UNFUSED && bare.contains(&finding.subject)) || by_cold()
}

const COLDEST: &str = "job.coldest_c";
/// What is judged by the coldest air.
const BY_COLD: [&str; 4] = ["cold-voc-over-limit", "device-volts-low", "fuse-volts-low", "lithium-charged-cold"];

/// Whether a finding is about the coldest air itself: with another one what it hid is found.
pub(super) fn is_of_cold(finding: &Finding) -> bool {
    finding.subject.as_str() == COLDEST
}

/// The runs without any fuse behind one that a finding says has none, and nothing ahead of it.
pub(super) fn bare_behind(plan: &Plan, circuit: &Circuit, finding: &Finding) -> Vec<FieldPath> {
    if is_of_cold(finding) {
        return vec![finding.subject.clone()];
    }
    if !is_bare(finding) {
        return Vec::new();
    }
    let index = plan.runs.iter().position(|r| finding.run() == Some(r.id.as_str()));
    let behind = plan.runs.iter().zip(&circuit.links);
    let behind = behind.filter(|(r, l)| index.is_some_and(|i| l.upstream.contains(&i)) && fuses(r).next().is_none());
    behind.map(|(r, _)| FieldPath::new(format!("runs.{}", r.id))).collect()
}

/// Whether a finding says that an end has no fuse, and nothing ahead of it either: no copper mends that.
pub(super) fn is_bare(finding: &Finding) -> bool {
    finding.check.id == UNFUSED && finding.numbers.is_empty()
}
