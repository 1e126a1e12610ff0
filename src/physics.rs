//! Pure functions of physical quantities. Knows no plan.

pub mod array;
pub mod battery;
mod bracket;
pub mod cell;
pub mod charging;
pub mod compare;
pub mod controller;
pub mod daily;
pub mod flow;
pub mod hold;
mod humps;
mod label;
mod law;
pub mod lead;
pub mod links;
pub mod lithium;
pub mod module;
pub mod net;
pub mod shadow;
pub mod sky;
mod strand;
pub mod strings;
pub mod sun;
pub mod supply;
pub mod warmth;
pub mod wire;
