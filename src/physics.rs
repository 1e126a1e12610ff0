//! Pure functions of physical quantities. Knows no plan.

//Xpub mod array;
pub mod cell;
pub mod controller;
pub mod daily;
mod label;
pub mod module;
pub mod sky;
pub mod sun;
pub mod supply;
pub mod wire;
