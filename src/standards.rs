//! Published tables and rules as data, each row with its source and standing.

pub mod conductor;
pub mod kinds;
pub mod source;

pub use source::{Source, Standing};
