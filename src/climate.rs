//! Climate: the embedded grid, the places, and the typical year made from monthly means.
