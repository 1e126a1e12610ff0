//! Text to value and back: the one place for `22'6"`.

use super::field::Quantity;

/// The stored unit of a quantity, with a space before it, as written after a number.
#[must_use]
pub fn unit_suffix(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Length | Quantity::Size => " m",
        Quantity::Temperature => " C",
        Quantity::Volts => " V",
        Quantity::Amps => " A",
        Quantity::Watts => " W",
        Quantity::WattHours => " Wh",
        Quantity::AmpHours => " Ah",
        Quantity::Ohms => " ohm",
        Quantity::Milliohms => " mohm",
        Quantity::Hours => " h",
        Quantity::Mass => " kg",
        Quantity::Percent => " %",
        Quantity::PercentPerK => " %/K",
        Quantity::MillivoltsPerK => " mV/K",
        Quantity::Degrees => " deg",
        Quantity::MetresPerSecond => " m/s",
        Quantity::NewtonMetres => " N m",
        Quantity::Irradiance => " W/m2",
        Quantity::Years => " years",
        Quantity::Count | Quantity::Money | Quantity::Plain => "",
    }
}
