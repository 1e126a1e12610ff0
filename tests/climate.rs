//! Climate: grid, places, positions, the sun's day and the typical year.

mod coordinates;
mod daily;
mod grid;
mod places;
mod sequence;
mod shapes;
mod year;
