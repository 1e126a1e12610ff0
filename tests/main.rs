//! Every test of the project's behaviour: one module an area.

mod hostile;
mod plan;
mod store;
