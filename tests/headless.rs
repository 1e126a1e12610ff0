//! The real program on a dumb terminal: output, exit codes, and the sample plans it ships.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod bad_input;
mod check;
mod create;
mod fields;
mod figures;
mod papers;
mod places;
mod program;
mod samples;
mod scenarios;
mod usage;
