//! Every test of the project's behaviour: one module an area.

mod physics;
mod support;
mod plan;
