//! Every test of the project's behaviour: one module an area.

mod layers;
mod physics;
mod support;
