//! Climate: grid, places, positions, the sun's day and the typical year.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod coordinates;
mod daily;
mod grid;
mod places;
mod sequence;
mod shapes;
mod year;
mod zones;
