//! Every test of the project's behaviour: one module an area.

mod climate;
mod physics;
mod standards;
mod support;
mod year;
mod solve;
