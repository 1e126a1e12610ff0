//! Every test of the project's behaviour: one module an area.

mod physics;
mod standards;
mod climate;
mod support;
