//! Pure functions of physical quantities. Knows no plan.

pub mod array;
mod bracket;
pub mod cell;
pub mod controller;
pub mod daily;
mod label;
pub mod module;
pub mod sky;
mod strand;
pub mod sun;
pub mod supply;
pub mod wire;
