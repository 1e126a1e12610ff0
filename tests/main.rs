//! Every test of the project's behaviour: one module an area.

mod climate;
mod engine;
mod headless;
mod incremental;
mod layers;
mod physics;
mod plan;
mod solve;
mod standards;
mod support;
mod year;
