//! coachwire.

pub mod climate;
pub mod physics;
pub mod standards;
pub mod units;
pub mod words;
