//! Every test of the project's behaviour: one module an area.

mod climate;
mod engine;
mod headless;
mod incremental;
mod incremental;
mod headless;
mod physics;
mod plan;
mod engine;
mod physics;
mod hostile;
mod layers;
mod physics;
mod plan;
mod solve;
mod screens;
mod sizes;
mod standards;
mod store;
mod support;
mod year;
