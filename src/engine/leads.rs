//! Batteries in parallel, each on a way of its own: what part of the bank's current goes over each.

use crate::plan::{Figure, Missing};

use super::context::Context;
use super::resistance::{common_shunts, run_loop};

/// The own ways of one bank's batteries.
#[derive(Clone, Debug)]
pub(super) struct Leads {
    /// Of each way its runs, each with its ohms.
    ways: Vec<Vec<(usize, f64)>>,
    /// Of each battery behind its way.
    battery_ohm: f64,
    /// Of a shunt on which all ways meet, beside them.
    common_ohm: f64,
}

impl Leads {
    /// The ways that a run is on one of, each run with ohms as told. None where it is on none.
    pub(super) fn of(c: &Context<'_>, run: usize, ohm: impl Fn(usize) -> Figure<f64>) -> Option<Figure<Self>> {
        c.circuit.is_lead(run).then_some(())?;
        Some((|| {
            let loops = c.circuit.own_loops();
            // What each battery gives does not hang on a shunt that all meet on. What was measured has its shunt in it.
            let met = common_shunts(c)?;
            let measured = |i: usize| c.plan.runs.get(i).is_some_and(|r| r.measured_ohm.is_some());
            let on = |i: usize| met.iter().filter(move |(leads, _)| leads.contains(&i) && !measured(i));
            let count = loops.len().max(1) as f64;
            let apart = |i: usize| Ok((i, (ohm(i)? - on(i).map(|(_, x)| x * count).sum::<f64>()).max(0.0)));
            let of_way = |way: &Vec<usize>| way.iter().map(|i| apart(*i)).collect::<Figure<Vec<_>>>();
            let ways = loops.iter().map(of_way).collect::<Figure<_>>()?;
            let counted = met.iter().filter(|(leads, _)| leads.iter().any(|i| !measured(*i)));
            Ok(Self { ways, battery_ohm: battery_ohm(c)?, common_ohm: counted.map(|(_, x)| x).sum() })
        })())
    }

    /// The same, cold: what decides how batteries share before any wire has warmed.
    pub(super) fn cold(c: &Context<'_>, run: usize) -> Option<Figure<Self>> {
        Self::of(c, run, |i| {
            let run = c.plan.runs.get(i).ok_or_else(|| Missing("runs".into()))?;
            Ok(run_loop(c, i, run, 0.0, Some(c.rules.fault_cable_c))?.ohm)
        })
    }

    fn conductances(&self) -> impl Iterator<Item = f64> + '_ {
        let ohm = |way: &Vec<(usize, f64)>| way.iter().map(|(_, ohm)| ohm).sum::<f64>();
        self.ways.iter().map(move |way| (ohm(way) + self.battery_ohm).max(1e-9).recip())
    }

    /// Ohms of each way.
    pub(super) fn ohms(&self) -> Vec<f64> {
        self.ways.iter().map(|way| way.iter().map(|(_, ohm)| ohm).sum()).collect()
    }

    /// Ohms of one string of batteries.
    pub(super) fn battery_ohm(&self) -> f64 {
        self.battery_ohm
    }

    /// Part of the bank's current on each way.
    /// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
    pub(super) fn shares(&self) -> Vec<f64> {
        let total: f64 = self.conductances().sum();
        self.conductances().map(|g| g / total).collect()
    }

    /// Part of the bank's current on a run.
    pub(super) fn share_of(&self, run: usize) -> Option<f64> {
        let place = self.ways.iter().position(|way| way.iter().any(|(i, _)| *i == run))?;
        self.shares().get(place).copied()
    }

    /// Part of the current that hangs inside one of the ways, behind so many of its runs, which that way's battery gives, and
    /// the part that another way's does.
    /// Source: Kirchhoff's laws: the nearer battery over the piece ahead of the place, all others over the rest of the way.
    pub(super) fn aside(&self, way: usize, ahead: &[usize], other: usize) -> f64 {
        let g: Vec<f64> = self.conductances().collect();
        let Some(runs) = self.ways.get(way) else { return 0.0 };
        let before: f64 = runs.iter().filter(|(i, _)| ahead.contains(i)).map(|(_, ohm)| ohm).sum();
        let rest: f64 = runs.iter().filter(|(i, _)| !ahead.contains(i)).map(|(_, ohm)| ohm).sum();
        let others: f64 = g.iter().enumerate().filter(|(k, _)| *k != way).map(|(_, g)| g).sum();
        let (near, far) = ((before + self.battery_ohm).max(1e-9), rest + others.max(1e-9).recip());
        let own = far / (near + far);
        match g.get(other) {
            _ if other == way => own,
            Some(part) => (1.0 - own) * part / others.max(1e-9),
            None => 0.0,
        }
    }

    /// The first run of each way.
    pub(super) fn firsts(&self) -> impl Iterator<Item = usize> + '_ {
        self.ways.iter().filter_map(|way| way.first().map(|(i, _)| *i))
    }

    /// Ohms that the ways together add to those of the batteries together, never below none.
    /// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
    pub(super) fn added_ohm(&self) -> f64 {
        let together = self.conductances().sum::<f64>().recip();
        (together - self.battery_ohm / self.ways.len() as f64).max(0.0) + self.common_ohm
    }

    /// Part of the ways' loss in each of their runs; equal parts where nothing is lost.
    /// Source: Joule's law.
    pub(super) fn loss_parts(&self) -> Vec<(usize, f64)> {
        let of_way = |(way, share): (&Vec<(usize, f64)>, f64)| {
            way.iter().map(|(i, ohm)| (*i, share * share * ohm)).collect::<Vec<_>>()
        };
        let mut lost: Vec<(usize, f64)> = self.ways.iter().zip(self.shares()).flat_map(of_way).collect();
        let (total, equal) = (lost.iter().map(|(_, x)| x).sum::<f64>(), 1.0 / lost.len() as f64);
        lost.iter_mut().for_each(|(_, x)| *x = if total > 0.0 { *x / total } else { equal });
        lost
    }
}

/// Ohms of one string of batteries: the low figure, with which leads matter most.
pub(super) fn battery_ohm(c: &Context<'_>) -> Figure<f64> {
    let bank = &c.plan.bank;
    let series = c.series()?;
    let row = c.chemistry()?;
    let each = match (&bank.ohmic_mohm, &bank.short_circuit_a, &bank.sag_mohm) {
        (Some(known), _, _) => known.at(|| "bank.ohmic_mohm".into())?.0 / 1000.0,
        (None, Some(amps), _) => {
            let lithium = row.chemistry.is_lithium();
            let per_12 = if lithium { c.rules.fault_volts_lfp } else { c.rules.fault_volts_lead };
            per_12 * c.by_cells()? / series.max(1.0) / amps.at(|| "bank.short_circuit_a".into())?.0.max(1e-9)
        }
        (None, None, Some(known)) => known.at(|| "bank.sag_mohm".into())?.0 / 1000.0,
        (None, None, None) => {
            let ah = bank.unit_ah.at(|| "bank.unit_ah".into())?.0.max(1.0);
            let twelves = row.twelves(bank.unit_v.at(|| "bank.unit_v".into())?.0);
            row.ohmic_mohm_100ah / 1000.0 * 100.0 / ah * twelves
        }
    };
    Ok(each * series)
}
