//! Every test of the project's behaviour: one module an area.

mod climate;
mod layers;
mod physics;
mod plan;
mod screens;
mod sizes;
mod standards;
mod support;
