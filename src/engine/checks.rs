//! Checks: one file a group. Each says pass, found, or the field it waits for.

mod bank_care;
mod changed;
mod charging;
mod fuses;
mod ground;
mod harvest;
mod panels;
mod place;
mod safety;
mod volts;
mod wires;

use super::Work;
use super::gather::Gathered;

/// Every check.
pub(super) fn all(work: &Work<'_>, out: &mut Gathered) {
    panels::all(work, out);
    volts::all(work, out);
    wires::all(work, out);
    fuses::all(work, out);
    place::all(work, out);
    charging::all(work, out);
    harvest::all(work, out);
    bank_care::all(work, out);
    ground::all(work, out);
    changed::all(work, out);
    safety::all(work, out);
}
