//! Pure functions of physical quantities. Knows no plan.

pub mod daily;
