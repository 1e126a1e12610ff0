//! Runs that start at a fuse panel: what goes into its ways.

use crate::engine::circuit::Node;
use crate::engine::context::Context;
use crate::plan::{DeviceKind, Known};
use crate::standards::kinds::FuseFamily;

/// The fuse panel that a run starts at, where it does.
pub(in crate::engine) fn panel_of<'a>(c: &'a Context<'_>, index: usize) -> Option<&'a str> {
    let Node::Device(i) = c.circuit.links.get(index)?.near()? else { return None };
    let device = c.plan.devices.get(i).filter(|d| d.kind == Known::Is(DeviceKind::FusePanel))?;
    Some(device.id.as_str())
}

/// Whether a fuse of a family goes into the ways of a fuse panel: blades as sold, or a breaker of that shape.
///
/// Source: common practice; ISO 8820-3 is the blade that such panels are made for.
pub(in crate::engine) fn goes_in_panel(family: FuseFamily) -> bool {
    matches!(family, FuseFamily::BladeC | FuseFamily::BladeE | FuseFamily::Breaker)
}
