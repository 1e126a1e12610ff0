//! Physics against published models and an independent library's numbers.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod battery;
mod diode;
mod flow;
mod light;
mod net;
mod roof;
mod shade;
mod small;
