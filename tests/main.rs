//! Every test of the project's behaviour: one module an area.

mod engine;
mod physics;
mod standards;
mod climate;
mod layers;
mod physics;
mod plan;
mod support;
mod support;
