//! Tables and rules against the published figures.

mod ampacity;
mod conductor;
mod examples;
mod fuse;
mod rules;
