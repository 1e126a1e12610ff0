//! Figures of the bank, the controllers and the inverters.

use crate::plan::{FieldPath, Figure, Missing};
use crate::units::{AmpHours, Amps, Volts, WattHours};

use super::circuit::{Node, PathKind};
use super::context::{Context, at};
use super::currents::{Terminals, array_isc_a};
use super::dc_lines::fed_chargers;
use super::fault::Source;
use super::links::{self, limited_as};
use super::report::{ArrayFigures, BankFigures, ControllerFigures, InverterFigures, LoadFigures, none_yet};
use super::vehicle::is_inverter_of_bank;

/// A limit of one battery times those in parallel, or so many as they count for where one gives more than the others; an
/// absent one is none.
fn limit(c: &Context<'_>, each: Option<&crate::plan::Known<Amps>>, field: &str, share: f64) -> Figure<Amps> {
    match each {
        None => none_yet(),
        Some(known) => Ok(Amps(known.at(|| FieldPath::new(format!("bank.{field}")))?.0 * limited_as(c)? * share)),
    }
}

/// All that chargers and controllers push into the bank at once, the vehicle's own line left out. What no run joins to it
/// charges nothing, and is said for itself; before any run is drawn all count.
pub(super) fn charged_a(c: &Context<'_>, t: &Terminals) -> Figure<f64> {
    let plan = c.plan;
    let joined = |kind, node| plan.runs.is_empty() || c.circuit.way_of(kind, node).is_some();
    let mut sum = 0.0;
    for (i, (p, k)) in t.controllers.iter().zip(&plan.controllers).enumerate() {
        let counts = k.state.stays() && joined(PathKind::ControllerBank, Node::Controller(i));
        sum += if counts { p.design_a.clone()? } else { 0.0 };
    }
    for (i, (p, k)) in t.chargers.iter().zip(&plan.chargers).enumerate() {
        let counts = k.state.stays() && joined(PathKind::Charger, Node::Charger(i));
        sum += if counts { p.design_a.clone()? } else { 0.0 };
    }
    Ok(sum)
}

/// What DC loads that run at once draw of the bank at low volts, what converters lose with it, and DC-DC chargers that it feeds.
pub(super) fn dc_loads_a(c: &Context<'_>, t: &Terminals, loads: &LoadFigures) -> Figure<f64> {
    let loads_a = loads.dc_simultaneous_w.clone()?.0 / c.low_v()?.max(1e-9);
    Ok(loads_a + fed_chargers(c, t).map(|(_, amps)| amps).sum::<Figure<f64>>()?)
}

/// All that is drawn of the bank at once: its inverters at rated watts, and that.
pub(super) fn drawn_a(c: &Context<'_>, t: &Terminals, loads: &LoadFigures) -> Figure<f64> {
    let of_bank = t.inverters.iter().enumerate().filter(|(i, _)| is_inverter_of_bank(c, *i));
    Ok(of_bank.map(|(_, p)| p.design_a.clone()).sum::<Figure<f64>>()? + dc_loads_a(c, t, loads)?)
}

pub(super) fn figures(c: &Context<'_>, t: &Terminals, loads: &LoadFigures, source: &Figure<Source>) -> BankFigures {
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
        links: links::figures(c, t, loads),
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
