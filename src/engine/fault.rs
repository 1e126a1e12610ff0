//! Fault current: of the bank, and at every fuse's own place.

use crate::plan::{FieldPath, Figure, Known, Protection, Run};
use crate::standards::chemistry::lead_main_interrupt_a;
use crate::units::{Amps, Number};

use super::circuit::Role;
use super::context::{Context, finite};
use super::resistance::{conductors_ohm, fuse_distance_m, length_m};

/// The bank as a fault sees it.
#[derive(Clone, Debug)]
pub(super) struct Source {
    pub(super) volts: f64,
    pub(super) amps: f64,
    pub(super) how: &'static str,
    /// Whether the amps are an assumption, not a figure of these batteries.
    pub(super) assumed: bool,
}

impl Source {
    fn ohm(&self) -> f64 {
        if self.amps > 0.0 { self.volts / self.amps } else { f64::MAX }
    }
}

/// A figure that is there and known; an unknown one falls to the next best.
fn known<T: Copy>(field: Option<&Known<T>>) -> Option<T> {
    field.and_then(|k| k.known()).copied()
}

/// The bank's prospective fault current. Sag never enters; management units count for nothing.
///
/// Source: ABYC E-11 (20 kA where a lithium maker gives none, interrupting capacity by CCA); lead without CCA
/// 12.6 V / (4 mohm x 100/Ah), from memory.
pub(super) fn bank(c: &Context<'_>) -> Figure<Source> {
    let bank = &c.plan.bank;
    let row = c.chemistry()?;
    let (series, parallel, twelves) = (c.series()?, c.parallel()?, c.twelves()?);
    let lithium = row.chemistry.is_lithium();
    let per_12 = if lithium { c.rules.fault_volts_lfp } else { c.rules.fault_volts_lead };
    let volts = per_12 * twelves;
    let unit_v = volts / series.max(1.0);
    let each: Option<(f64, &'static str)> = known(bank.short_circuit_a.as_ref())
        .map(|Amps(a)| (a, "maker's short-circuit current x batteries in parallel"))
        .or_else(|| {
            known(bank.ohmic_mohm.as_ref())
                .map(|Number(m)| (unit_v / (m / 1000.0), "fault volts / ohmic resistance x batteries in parallel"))
        });
    let (amps, how, assumed) = match (each, lithium, known(bank.cca_a.as_ref())) {
        (Some((each, how)), ..) => (each * parallel, how, false),
        (None, true, _) => (c.rules.lfp_unknown_fault_a, "assumed: no short-circuit figure of this lithium bank", true),
        (None, false, Some(Amps(cca))) => {
            (lead_main_interrupt_a(cca * parallel), "table by cold cranking amps of all in parallel", false)
        }
        (None, false, None) => {
            let ah = bank.unit_ah.at(|| "bank.unit_ah".into())?.0;
            let unit_twelves = bank.unit_v.at(|| "bank.unit_v".into())?.0 / 12.0;
            let ohm = c.rules.lead_ohmic_mohm / 1000.0 * 100.0 / ah.max(1.0) * unit_twelves;
            (c.rules.lead_fault_volts * unit_twelves / ohm * parallel, "estimated from ampere-hours", false)
        }
    };
    Ok(Source { volts, amps: finite(amps, || FieldPath::new("bank.parallel"))?, how, assumed })
}

/// Fault current at a fuse: the bank through the cold cable up to it. None where the bank does not feed it.
///
/// Cable at 20 C; fuses, joints and management units count for nothing.
/// Source: Ohm's law; common practice for what counts.
pub(super) fn at_fuse(
    c: &Context<'_>,
    source: &Figure<Source>,
    index: usize,
    run: &Run,
    fuse: &Protection,
) -> Option<Figure<f64>> {
    let link = c.circuit.links.get(index)?;
    let fed = !matches!(link.role, Role::Array | Role::ChargerInput | Role::Dead | Role::Bond | Role::Open);
    let reached = !link.upstream.is_empty() || link.near() == Some(super::circuit::Node::Bank);
    (fed && reached).then(|| {
        let source = source.clone()?;
        let mut ohm = 0.0;
        for i in &link.upstream {
            if let Some(run) = c.plan.runs.get(*i) {
                ohm += conductors_ohm(c, run, c.rules.fault_cable_c)?;
            }
        }
        let distance = fuse_distance_m(run, link.near_from, fuse)?;
        if distance > 0.0 {
            let length = length_m(run)?;
            if length > 0.0 {
                ohm += conductors_ohm(c, run, c.rules.fault_cable_c)? * (distance / length).min(1.0);
            }
        }
        finite(source.volts / (source.ohm() + ohm), || FieldPath::new("bank.unit_v"))
    })
}
