//! Batteries in parallel, each on a lead of its own: what part of the bank's current goes over each lead.

use crate::plan::{Figure, Missing};

use super::circuit::Role;
use super::context::Context;
use super::resistance::run_loop;

/// The leads of one bank.
#[derive(Clone, Debug)]
pub(super) struct Leads {
    pub(super) runs: Vec<usize>,
    /// Of each lead alone.
    ohms: Vec<f64>,
    /// Of each battery behind its lead.
    battery_ohm: f64,
}

/// The runs that are each one battery's own lead, this run among them.
pub(super) fn group(c: &Context<'_>, run: usize) -> Option<Vec<usize>> {
    let bank = &c.plan.bank;
    let parallel = bank.parallel.known().map_or(1.0, |n| n.0);
    if parallel < 2.0 || !bank.state.stays() {
        return None;
    }
    c.circuit.own_leads(run, parallel).filter(|own| own.iter().all(|i| carries(c, *i)))
}

fn carries(c: &Context<'_>, run: usize) -> bool {
    c.circuit.links.get(run).is_some_and(|l| !matches!(l.role, Role::Open | Role::BatteryLink))
}

impl Leads {
    /// The leads that a run is one of, each with ohms as told. None where it is none.
    pub(super) fn of(c: &Context<'_>, run: usize, ohm: impl Fn(usize) -> Figure<f64>) -> Option<Figure<Self>> {
        let runs = group(c, run)?;
        Some((|| {
            let ohms: Vec<f64> = runs.iter().map(|i| ohm(*i)).collect::<Figure<_>>()?;
            Ok(Self { ohms, battery_ohm: battery_ohm(c)?, runs })
        })())
    }

    /// The same, cold: what decides how batteries share before any lead has warmed.
    pub(super) fn cold(c: &Context<'_>, run: usize) -> Option<Figure<Self>> {
        Self::of(c, run, |i| {
            let run = c.plan.runs.get(i).ok_or_else(|| Missing("runs".into()))?;
            Ok(run_loop(c, i, run, 0.0, Some(c.rules.fault_cable_c))?.ohm)
        })
    }

    fn conductances(&self) -> impl Iterator<Item = f64> + '_ {
        self.ohms.iter().map(|ohm| (ohm + self.battery_ohm).max(1e-9).recip())
    }

    /// Part of the bank's current on each lead.
    /// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
    pub(super) fn shares(&self) -> Vec<f64> {
        let total: f64 = self.conductances().sum();
        self.conductances().map(|g| g / total).collect()
    }

    /// Ohms that the leads together add to those of the batteries together, never below none.
    /// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
    pub(super) fn added_ohm(&self) -> f64 {
        let together = self.conductances().sum::<f64>().recip();
        (together - self.battery_ohm / self.ohms.len() as f64).max(0.0)
    }

    /// Part of the leads' loss in each of them; equal parts where nothing is lost.
    /// Source: Joule's law.
    pub(super) fn loss_parts(&self) -> Vec<f64> {
        let lost: Vec<f64> = self.shares().iter().zip(&self.ohms).map(|(share, ohm)| share * share * ohm).collect();
        let total: f64 = lost.iter().sum();
        let equal = 1.0 / lost.len() as f64;
        lost.iter().map(|x| if total > 0.0 { x / total } else { equal }).collect()
    }
}

/// Ohms of one string of batteries: the low figure, with which leads matter most.
fn battery_ohm(c: &Context<'_>) -> Figure<f64> {
    let bank = &c.plan.bank;
    let series = c.series()?;
    let row = c.chemistry()?;
    let each = match (&bank.ohmic_mohm, &bank.short_circuit_a, &bank.sag_mohm) {
        (Some(known), _, _) => known.at(|| "bank.ohmic_mohm".into())?.0 / 1000.0,
        (None, Some(amps), _) => {
            let lithium = row.chemistry.is_lithium();
            let per_12 = if lithium { c.rules.fault_volts_lfp } else { c.rules.fault_volts_lead };
            per_12 * c.twelves()? / series.max(1.0) / amps.at(|| "bank.short_circuit_a".into())?.0.max(1e-9)
        }
        (None, None, Some(known)) => known.at(|| "bank.sag_mohm".into())?.0 / 1000.0,
        (None, None, None) => {
            let ah = bank.unit_ah.at(|| "bank.unit_ah".into())?.0.max(1.0);
            let twelves = bank.unit_v.at(|| "bank.unit_v".into())?.0 / 12.0;
            row.ohmic_mohm_100ah / 1000.0 * 100.0 / ah * twelves
        }
    };
    Ok(each * series)
}
