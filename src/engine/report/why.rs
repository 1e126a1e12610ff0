//! Why a proposed fuse is of its family, put into words where somebody reads it.

use std::fmt::{Display, Formatter, Result};

use crate::standards::kinds::FuseFamily;

/// Why a proposed fuse is of its family.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// In words as they are.
    Said(&'static str),
    /// The usual family is not made for the volts.
    NotMade { usual: FuseFamily, volts: f64 },
    /// It opens less than is needed.
    OpensLess { usual: FuseFamily, volts: f64, opens_a: f64, needed_a: f64 },
    /// It has no rating within the limits.
    NoRating { usual: FuseFamily, least_a: f64, most_a: f64 },
    /// Stud fuses end below what is needed.
    StudEnds { most_a: f64, needed_a: f64 },
    /// The stud fuse opens less than is needed.
    StudOpensLess { volts: f64, opens_a: f64, needed_a: f64 },
    /// It opens no more than that.
    StudOpens { volts: f64, opens_a: f64 },
    /// It is not made for the volts.
    StudNotMade { volts: f64 },
}

impl Display for Why {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let kilo = |amps: f64| amps / 1000.0;
        match *self {
            Self::Said(words) => f.write_str(words),
            Self::NotMade { usual, volts } => write!(f, "{usual} is not made for {volts:.1} V"),
            Self::OpensLess { usual, volts, opens_a, needed_a } => {
                let (opens, needed) = (kilo(opens_a), kilo(needed_a));
                write!(f, "{usual} opens {opens:.2} kA at {volts:.1} V, {needed:.2} kA needed here")
            }
            Self::NoRating { usual, least_a, most_a } => {
                write!(f, "{usual} has no rating from {least_a:.1} to {most_a:.1} A")
            }
            Self::StudEnds { most_a, needed_a } => {
                write!(f, "stud fuses end at {most_a:.0} A, {needed_a:.0} A needed")
            }
            Self::StudOpensLess { volts, opens_a, needed_a } => {
                let (opens, needed) = (kilo(opens_a), kilo(needed_a));
                write!(f, "the stud fuse opens {opens:.1} kA at {volts:.1} V, {needed:.1} kA needed")
            }
            Self::StudOpens { volts, opens_a } => {
                write!(f, "at {volts:.1} V a stud fuse opens no more than {:.1} kA", kilo(opens_a))
            }
            Self::StudNotMade { volts } => write!(f, "the stud fuse is not made for {volts:.1} V"),
        }
    }
}
