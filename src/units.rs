//! Quantities: newtypes over `f64`, and only the products that exist.
//!
//! A quantity read from a file is finite by construction: deserialising refuses NaN and infinities, so a plan
//! can never carry one into the engine.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use serde::de::{Deserialize, Deserializer, Error};
use serde::{Serialize, Serializer};

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident $symbol:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl $name {
            /// The unit's symbol.
            pub const SYMBOL: &'static str = $symbol;

            /// The larger of two.
            #[must_use]
            pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }

            /// The smaller of two.
            #[must_use]
            pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }

            /// Without its sign.
            #[must_use]
            pub fn abs(self) -> Self { Self(self.0.abs()) }
        }

        impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl AddAssign for $name { fn add_assign(&mut self, o: Self) { self.0 += o.0; } }
        impl SubAssign for $name { fn sub_assign(&mut self, o: Self) { self.0 -= o.0; } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl Mul<$name> for f64 { type Output = $name; fn mul(self, q: $name) -> $name { $name(self * q.0) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
        impl Sum for $name { fn sum<I: Iterator<Item = Self>>(i: I) -> Self { Self(i.map(|q| q.0).sum()) } }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)?;
                f.write_str(concat!(" ", $symbol))
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> { s.serialize_f64(self.0) }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let x = f64::deserialize(d)?;
                if x.is_finite() { Ok(Self(x)) } else { Err(D::Error::custom("a finite number is needed here")) }
            }
        }
    )*};
}

quantities! {
    /// Electric potential.
    Volts "V";
    /// Electric current.
    Amps "A";
    /// Resistance.
    Ohms "ohm";
    /// Power.
    Watts "W";
    /// Energy.
    WattHours "Wh";
    /// Charge.
    AmpHours "Ah";
    /// Length.
    Metres "m";
    /// Cross-section.
    SquareMm "mm2";
    /// Temperature, and differences of temperature.
    Celsius "C";
    /// Time.
    Hours "h";
    /// Mass.
    Kilograms "kg";
    /// A plain finite number: a count, a share, a percentage, an amount of money, or a figure whose unit its
    /// field name says.
    Number "";
}

macro_rules! products {
    ($($a:ident * $b:ident = $c:ident;)*) => {$(
        impl Mul<$b> for $a { type Output = $c; fn mul(self, o: $b) -> $c { $c(self.0 * o.0) } }
        impl Mul<$a> for $b { type Output = $c; fn mul(self, o: $a) -> $c { $c(self.0 * o.0) } }
        impl Div<$a> for $c { type Output = $b; fn div(self, o: $a) -> $b { $b(self.0 / o.0) } }
        impl Div<$b> for $c { type Output = $a; fn div(self, o: $b) -> $a { $a(self.0 / o.0) } }
    )*};
}

products! {
    Amps * Ohms = Volts;
    Volts * Amps = Watts;
    Watts * Hours = WattHours;
    Amps * Hours = AmpHours;
    Volts * AmpHours = WattHours;
}

/// Metres in one foot. Source: international foot, NIST SP 811 (exact).
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Metres in one inch. Source: international inch, NIST SP 811 (exact).
pub const METRES_PER_INCH: f64 = 0.0254;
/// Kilograms in one pound. Source: avoirdupois pound, NIST SP 811 (exact).
pub const KG_PER_POUND: f64 = 0.453_592_37;
/// Newtons in one pound of force. Source: NIST SP 811, the pound at 9.80665 m/s2 (exact).
pub const NEWTONS_PER_POUND: f64 = 4.448_221_615_260_5;
