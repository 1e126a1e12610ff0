//! Every test of the project's behaviour: one module an area.

mod climate;
mod incremental;
mod headless;
mod physics;
mod plan;
mod engine;
mod hostile;
mod layers;
mod solve;
mod standards;
mod store;
mod support;
mod year;
