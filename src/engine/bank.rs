//! Figures of the bank, the controllers and the inverters.

use crate::plan::{FieldPath, Figure, Id, Missing};
use crate::units::{AmpHours, Amps, Volts, WattHours};

use super::circuit::{Node, PathKind};
use super::context::{Context, at};
use super::currents::{Terminals, array_isc_a};
use super::dc_lines::fed_chargers;
use super::fault::Source;
use super::links::{self, limited_as};
use super::passed_on::from_vehicle;
use super::report::{ArrayFigures, BankFigures, ControllerFigures, InverterFigures, LoadFigures, none_yet};
use super::vehicle::is_inverter_of_bank;

/// A limit of one battery times those in parallel, or so many as they count for where one gives more than the others; an
/// absent one is none.
fn limit(c: &Context<'_>, each: Option<&crate::plan::Known<Amps>>, field: &str, share: f64) -> Figure<Amps> {
    match each {
        None => none_yet(),
        Some(known) => Ok(Amps(known.at(|| FieldPath::of(&["bank", field]))?.0 * limited_as(c)? * share)),
    }
}

/// All that charges the bank at once.
pub(super) struct Charged<'a> {
    /// Each source with its amps.
    pub(super) parts: Vec<(&'a Id, f64)>,
    /// The first field that tells what more there is.
    pub(super) waits: Option<Missing>,
}

impl Charged<'_> {
    /// What is known of it.
    pub(super) fn known_a(&self) -> f64 {
        self.parts.iter().map(|(_, amps)| amps).sum()
    }

    /// All of it.
    pub(super) fn all_a(&self) -> Figure<f64> {
        self.waits.clone().map_or_else(|| Ok(self.known_a()), Err)
    }
}

/// All that chargers and controllers push into the bank at once, and what each line from the vehicle brings, as entered for it. Where
/// nobody has entered that, it brings at least what charges the battery that it begins at, as that is joined to the bank. What no run
/// joins to it charges nothing, and is said for itself; before any run is drawn all count.
pub(super) fn charged<'a>(c: &Context<'a>, t: &Terminals) -> Figure<Charged<'a>> {
    let plan = c.plan;
    let mut all = Charged { parts: Vec::new(), waits: None };
    let mut over_start: Vec<(usize, &Id, &Figure<f64>)> = Vec::new();
    let controllers = t.controllers.iter().zip(&plan.controllers).enumerate();
    let controllers = controllers.filter(|(_, (_, k))| k.state.stays());
    let controllers =
        controllers.map(|(i, (p, k))| (PathKind::ControllerBank, Node::Controller(i), &k.id, &p.design_a));
    let chargers = t.chargers.iter().zip(&plan.chargers).enumerate().filter(|(_, (_, k))| k.state.stays());
    let chargers = chargers.map(|(i, (p, k))| (PathKind::Charger, Node::Charger(i), &k.id, &p.design_a));
    for (kind, node, id, amps) in controllers.chain(chargers) {
        if plan.runs.is_empty() || c.circuit.way_of(kind, node).is_some() {
            all.parts.push((id, amps.clone()?));
        } else if let Some((battery, _)) = c.circuit.start_batteries_of(node).find(|(_, joined)| *joined)
            && !c.circuit.is_fed_by_bank(node)
        {
            over_start.push((battery, id, amps));
        }
    }
    for (device, _) in &c.circuit.straight {
        let (Some(line), Some(own)) = (from_vehicle(c, Node::Device(*device)), plan.devices.get(*device)) else {
            continue;
        };
        match line.and_then(|line| line.design_a) {
            Ok(amps) => all.parts.push((&own.id, amps)),
            Err(missing) => {
                all.waits.get_or_insert(missing);
                let known = over_start.iter().filter(|(battery, ..)| battery == device);
                all.parts.extend(known.filter_map(|(_, id, amps)| Some((*id, amps.as_ref().ok().copied()?))));
            }
        }
    }
    Ok(all)
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
