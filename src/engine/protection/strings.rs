//! Fuses drawn where an array's strings come together.

use crate::engine::arrays::string_sums;
use crate::engine::circuit::{Node, device_kind};
use crate::engine::context::Context;
use crate::plan::{DeviceKind, Protection};

/// Whether a fuse at a combiner, at the end of the one run that is drawn for all of an array's strings, is one in each string: the
/// strings are joined in the combiner, behind their fuses. One that is made for what all of them give together is one for all.
///
/// Source: NEC 690.9(A): at the end where the other strings' current comes back; 690.9(B) for the rating.
pub(super) fn is_in_each(c: &Context<'_>, array: Node, far: Option<Node>, fuse: &Protection) -> bool {
    let combines = far.is_some_and(|n| device_kind(c.plan, n) == Some(DeviceKind::Combiner));
    let Node::Array(index) = array else { return false };
    let (Some(array), Some(amps)) = (c.plan.arrays.get(index).filter(|_| combines), fuse.amps_a.known()) else {
        return false;
    };
    let all = array.strings.0.iter().map(|s| string_sums(c.plan, array, s).map(|sums| sums.isc_a));
    let all: Result<f64, _> = all.sum();
    all.is_ok_and(|isc_a| amps.0 < isc_a * c.rules.string_fuse_factor - 1e-9)
}
