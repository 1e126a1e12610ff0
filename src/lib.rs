//! coachwire: one plan for solar, battery and DC wiring work on coaches; every edit is at once a new answer.

pub mod arrange;
pub mod cli;
pub mod climate;
pub mod document;
pub mod engine;
pub mod figures;
pub mod packed;
pub mod papers;
pub mod physics;
pub mod plan;
pub mod standards;
pub mod stock;
pub mod store;
pub mod tui;
pub mod units;
pub mod wording;
pub mod words;
