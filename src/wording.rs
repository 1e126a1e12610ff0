//! Plan and report in words: names, numbers, sentences and lists as a person reads them, the same on screen, from `check` and on
//! papers.

pub mod findings;
pub mod isolation;
pub mod lines;
pub mod links;
pub mod naming;
pub mod number;
pub mod parts;
pub mod run;
pub mod told;
