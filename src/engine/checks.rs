//! Checks: one file a group. Each says pass, found, or the field it waits for.

use super::Work;
use super::gather::Gathered;

/// Every check.
pub(super) fn all(work: &Work<'_>, out: &mut Gathered) {
    let _ = (work, out);
}
