//! The vehicle's own battery and alternator: volts of their lines, which the bank's do not touch.

use super::circuit::{Link, Node, Role};
use super::context::Context;

/// Highest volts of a 12 V vehicle's battery with the engine running.
/// Source: common practice: regulators hold 14.4 V, up to 15 V in the cold and where the engine computer sets them.
const RUNNING_V: f64 = 15.0;

/// Above these volts at idle an alternator is one of a 24 V vehicle. Source: our own choice, between the two systems.
const OVER_12_V: f64 = 20.0;

/// Whether the alternator that a charger draws on is one of a 24 V vehicle, by its low volts.
pub(super) fn is_24_v(c: &Context<'_>, charger: usize) -> bool {
    let low = c.plan.chargers.get(charger).and_then(|ch| ch.alternator_low_v.as_ref()).and_then(|v| v.known());
    low.is_some_and(|v| v.0 > OVER_12_V)
}

/// Batteries of 12 V in series behind a line from the vehicle: 1 or 2.
pub(super) fn twelves(c: &Context<'_>, run: usize) -> f64 {
    let link = c.circuit.links.get(run);
    let behind = |charger: &usize| match link {
        Some(Link { role: Role::ChargerInput, away, .. }) => away.contains(&Node::Charger(*charger)),
        // The alternator's own lead serves every charger that draws on it; a link to the bank has its volts.
        Some(Link { role: Role::StartLead, .. }) => true,
        _ => false,
    };
    if (0..c.plan.chargers.len()).filter(behind).any(|i| is_24_v(c, i)) { 2.0 } else { 1.0 }
}

/// Highest volts of a line from the vehicle.
pub(super) fn highest_v(c: &Context<'_>, run: usize) -> f64 {
    RUNNING_V * twelves(c, run)
}
