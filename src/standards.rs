//! Published tables and rules as data, each row with its source and standing.

pub mod ampacity;
pub mod chemistry;
pub mod cited;
pub mod cold;
pub mod cold_bank;
pub mod conductor;
pub mod correction;
pub mod fuse;
pub mod kinds;
pub mod lug;
pub mod rules;
pub mod small_wire;
pub mod source;

pub use source::{Source, Standing};
