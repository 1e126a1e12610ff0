//! Every test of the project's behaviour: one module an area.

mod climate;
mod hostile;
mod layers;
mod physics;
mod plan;
mod standards;
mod store;
mod support;
