//! Every test of the project's behaviour: one module an area.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod arrange;
mod climate;
mod engine;
mod headless;
mod hostile;
mod hours;
mod incremental;
mod layers;
mod papers;
mod physics;
mod plan;
mod screens;
mod sizes;
mod solve;
mod standards;
mod store;
mod support;
mod year;
