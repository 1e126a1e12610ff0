//! Truck stock, shelf and settings: data, no I/O.

/// What the technician keeps beside plans.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stock {}
