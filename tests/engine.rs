//! Behaviour of the engine on whole plans.
