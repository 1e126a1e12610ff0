//! What the year takes of a charger's settings: volts that such a bank can be charged at, compensation where something tells the
//! charger how warm the bank is.

use crate::plan::job::YesNo;
use crate::plan::{Bank, FieldPath, Figure, Missing};
use crate::standards::kinds::Zone;

use super::context::Context;

/// Times the chemistry's charge limit up to which volts are a setting for the bank at all, equalising and compensation in the
/// cold included. Source: our own choice; what is set for a bank of twice the volts lies above it.
pub(super) const SETTING_MOST: f64 = 1.25;

/// Set volts; waits for their field where no bank of these cells is charged at them.
pub(super) fn of_bank(context: &Context<'_>, volts: f64, field: impl FnOnce() -> FieldPath) -> Figure<f64> {
    let most = context.high_v().map_or(f64::MAX, |high_v| high_v * SETTING_MOST);
    if volts > most { Err(Missing(field())) } else { Ok(volts) }
}

/// The coldest that a bank is reckoned with, C; compensation goes no further. Source: [`crate::physics::charging::ChargeSettings`].
pub(super) const COLDEST_C: f64 = -40.0;

/// Volts that a setting comes to in the coldest, by a compensation in V per K.
/// Source: linear compensation about 25 C, as makers' sheets give it.
pub(super) fn coldest_v(volts: f64, by_k: f64) -> f64 {
    volts + by_k * (COLDEST_C - 25.0)
}

/// Whose warmth a source's compensation goes by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Senses {
    /// The bank's, by a sensor or beside it.
    Bank,
    /// That of its own place, which is not the bank's.
    Elsewhere,
    /// Where it or the bank stands is not entered.
    Unsaid,
}

/// A source with a sensor at the bank goes by the bank; one without by what it has in itself, which is as warm as the bank
/// where both stand in the same place or in the heated living space.
/// Source: common practice: the sensor's lead goes to the bank; how warm other places are in the year nothing tells.
pub(super) fn senses(bank: &Bank, sensor: YesNo, zone: Option<Zone>) -> Senses {
    let heated = bank.heated.known() == Some(&YesNo::Yes);
    match (sensor, zone, bank.zone) {
        (YesNo::Yes, ..) => Senses::Bank,
        (_, Some(Zone::Cabinet), _) if heated => Senses::Bank,
        (_, Some(own), Some(other)) if own == other => Senses::Bank,
        (_, Some(_), Some(_)) => Senses::Elsewhere,
        _ => Senses::Unsaid,
    }
}
