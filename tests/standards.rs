//! Tables and rules against the published figures.
#![allow(clippy::unwrap_used, clippy::panic)]

mod ampacity;
mod conductor;
mod examples;
mod fuse;
mod lugs;
mod rules;
