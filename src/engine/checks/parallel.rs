//! Batteries in parallel whose leads are drawn: what each one carries.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::resistance::run_loop;
use crate::plan::{FieldPath, Figure};
use crate::standards::source::COMMON_PRACTICE;

use super::rule_value;

static UNEVEN: Check = Check {
    id: "uneven-battery-leads",
    safety: false,
    say: |f| {
        format!(
            "of {:.0} batteries in parallel the one on {} carries {:.0} % and the one on {} {:.0} %; equal leads would \
             give each {:.0} %",
            f.n(4),
            f.name(0),
            f.n(1),
            f.name(1),
            f.n(2),
            f.n(3)
        )
    },
};

/// Runs from the bank to one and the same place, as many as there are batteries in parallel, are each battery's own.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let parallel = w.context.plan.bank.parallel.known().map_or(1.0, |n| n.0);
    if parallel < 2.0 || !w.context.plan.bank.state.stays() {
        return;
    }
    let circuit = &w.context.circuit;
    for i in 0..circuit.links.len() {
        let own = circuit.own_leads(i, parallel).filter(|own| own.first() == Some(&i));
        if let Some(own) = own {
            out.take(&UNEVEN, || FieldPath::new("bank"), uneven(w, &own));
        }
    }
}

/// Ohms of one string of batteries: the low figure, with which leads matter most.
fn battery_ohm(w: &Work<'_>) -> Figure<f64> {
    let bank = &w.context.plan.bank;
    let series = w.context.series()?;
    let each = match (&bank.ohmic_mohm, &bank.short_circuit_a, &bank.sag_mohm) {
        (Some(known), _, _) => known.at(|| "bank.ohmic_mohm".into())?.0 / 1000.0,
        (None, Some(amps), _) => {
            let volts = w.source.as_ref().map(|s| s.volts).map_err(Clone::clone)? / series.max(1.0);
            volts / amps.at(|| "bank.short_circuit_a".into())?.0.max(1e-9)
        }
        (None, None, Some(known)) => known.at(|| "bank.sag_mohm".into())?.0 / 1000.0,
        (None, None, None) => {
            let row = w.context.chemistry()?;
            let ah = bank.unit_ah.at(|| "bank.unit_ah".into())?.0.max(1.0);
            let twelves = bank.unit_v.at(|| "bank.unit_v".into())?.0 / 12.0;
            row.ohmic_mohm_100ah / 1000.0 * 100.0 / ah * twelves
        }
    };
    Ok(each * series)
}

/// The split of the bank's current by conductance: each battery behind its own lead, cold.
/// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
fn uneven(w: &Work<'_>, leads: &[usize]) -> Outcome {
    let own = battery_ohm(w)?;
    let mut conductances = Vec::with_capacity(leads.len());
    for i in leads {
        let Some(run) = w.context.plan.runs.get(*i) else { return Ok(None) };
        let ohm = run_loop(w.context, *i, run, 0.0, Some(w.context.rules.fault_cable_c))?.ohm + own;
        conductances.push((1.0 / ohm.max(1e-9), &run.id));
    }
    let total: f64 = conductances.iter().map(|(g, _)| g).sum();
    let by = |a: &&(f64, &crate::plan::Id), b: &&(f64, &crate::plan::Id)| a.0.total_cmp(&b.0);
    let (Some(most), Some(least)) = (conductances.iter().max_by(by), conductances.iter().min_by(by)) else {
        return Ok(None);
    };
    let equal = 100.0 / conductances.len() as f64;
    let (most_pct, least_pct) = (most.0 / total * 100.0, least.0 / total * 100.0);
    let apart = ((most_pct - equal).max(equal - least_pct)) / equal * 100.0;
    Ok((apart > rule_value(w, "uneven-battery-pct") + 1e-9).then(|| {
        let numbers = [apart, most_pct, least_pct, equal, conductances.len() as f64];
        Finding::new(&UNEVEN, Level::Caution, "bank".into(), &numbers, &COMMON_PRACTICE).named([most.1, least.1])
    }))
}
