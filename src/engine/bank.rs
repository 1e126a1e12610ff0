//! Figures of the bank, the controllers and the inverters.

use crate::plan::{FieldPath, Figure, Missing};
use crate::units::{AmpHours, Amps, Volts, WattHours};

use super::context::{Context, at};
use super::currents::{Terminals, array_isc_a};
use super::fault::Source;
use super::report::{ArrayFigures, BankFigures, ControllerFigures, InverterFigures, none_yet};

/// A limit of one battery times those in parallel; an absent one is none.
fn limit(c: &Context<'_>, each: Option<&crate::plan::Known<Amps>>, field: &str, share: f64) -> Figure<Amps> {
    match each {
        None => none_yet(),
        Some(known) => Ok(Amps(known.at(|| FieldPath::new(format!("bank.{field}")))?.0 * c.parallel()? * share)),
    }
}

pub(super) fn figures(c: &Context<'_>, source: &Figure<Source>) -> BankFigures {
    let bank = &c.plan.bank;
    let amp_hours = (|| Ok::<f64, Missing>(bank.unit_ah.at(|| "bank.unit_ah".into())?.0 * c.parallel()?))();
    let usable = (|| Ok::<f64, Missing>(c.bank_v()? * amp_hours.clone()? * c.usable_share()?))();
    BankFigures {
        volts: c.bank_v().map(Volts),
        amp_hours: amp_hours.map(AmpHours),
        usable_wh: usable.map(WattHours),
        fault_a: source.as_ref().map(|s| Amps(s.amps)).map_err(Clone::clone),
        fault_how: source.as_ref().map_or("", |s| s.how),
        discharge_limit_a: limit(c, bank.max_discharge_a.as_ref(), "max_discharge_a", c.rules.discharge_share),
        charge_limit_a: limit(c, bank.max_charge_a.as_ref(), "max_charge_a", 1.0),
        low_v: c.low_v().map(Volts),
    }
}

pub(super) fn controllers(c: &Context<'_>, t: &Terminals, arrays: &[ArrayFigures]) -> Vec<ControllerFigures> {
    let mut all = Vec::with_capacity(c.plan.controllers.len());
    for (i, k) in c.plan.controllers.iter().enumerate() {
        let voc = c
            .circuit
            .arrays_of(i)
            .filter_map(|a| arrays.get(a))
            .map(|a| a.voc_cold_v.clone())
            .reduce(|a, b| Ok(a?.max(b?)));
        all.push(ControllerFigures {
            id: k.id.clone(),
            voc_cold_v: voc.unwrap_or_else(none_yet),
            isc_a: array_isc_a(c, i).map(Amps),
            design_a: t.controllers.get(i).map_or_else(none_yet, |p| p.design_a.clone().map(Amps)),
            offered_kwh: none_yet(),
            clipped_kwh: none_yet(),
            low_volts_kwh: none_yet(),
        });
    }
    all
}

pub(super) fn inverters(c: &Context<'_>, t: &Terminals) -> Vec<InverterFigures> {
    let mut all = Vec::with_capacity(c.plan.inverters.len());
    for (i, inv) in c.plan.inverters.iter().enumerate() {
        let design = t.inverters.get(i).map_or_else(none_yet, |p| p.design_a.clone());
        let cutoff_a = inv.cutoff_v.as_ref().map(|v| {
            let volts = v.at(|| at("inverters", &inv.id, "cutoff_v"))?.0.max(0.1);
            Ok(Amps(design.clone()? * c.low_v()? / volts))
        });
        all.push(InverterFigures { id: inv.id.clone(), design_a: design.map(Amps), cutoff_a });
    }
    all
}
