//! What the batteries stand: series, surge, cut-offs, breakers that close by themselves, a full charge for lead.

use crate::engine::Work;
use crate::engine::bank::dc_loads_a;
use crate::engine::circuit::{Link, Node, PathKind, Role, device_kind, is_start};
use crate::engine::context::at;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::links::limited_as;
use crate::engine::protection::fuse_factor;
use crate::engine::runs::path_of;
use crate::engine::starting::{StartBattery, is_of_house};
use crate::engine::vehicle::{is_inverter_of_bank, system_of};
use crate::plan::sources::{LABEL, SHEET};
use crate::plan::wiring::Resets;
use crate::plan::{Charger, Device, DeviceKind, FieldPath, Figure, Inverter, Known, Missing, Protection};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};
use crate::units::Amps;

use super::digits::{apart, rated};
use super::rule_value;

static LEAD_FINISH: Source = Source::new("common practice", "5-10 % of C20", Standing::CommonPractice);

static SERIES: Check = Check {
    id: "series-over-limit",
    safety: false,
    say: |f| {
        if f.n(1) > 0.0 {
            format!("BK: {:.0} batteries in series, their maker allows {:.0}", f.n(0), f.n(1))
        } else {
            format!("BK: {:.0} lithium batteries in series, and how many their maker allows is not known", f.n(0))
        }
    },
};
static SURGE: Check = Check {
    id: "inverter-surge-over-peak",
    safety: false,
    say: |f| {
        let (surge, peak) = apart(f.n(0), f.n(1), 0);
        let surges = match f.name(1) {
            "" => format!("{} surges to {surge} A", f.name(0)),
            others => format!("{}'s surge and {others} draw {surge} A together", f.name(0)),
        };
        format!("{surges}, the packs' peak together is {peak} A")
    },
};
static TOGETHER: Check = Check {
    id: "discharge-over-limit",
    safety: false,
    say: |f| {
        let (draws, gives) = apart(f.n(0), f.n(1), 0);
        let with = match f.name(0) {
            "" => String::new(),
            inverters => format!("{inverters} at rated watts and "),
        };
        format!("{with}the DC loads that run at once draw {draws} A, the bank gives {gives} A")
    },
};
static CUTOFF: Check = Check {
    id: "inverter-cut-off-low",
    safety: false,
    say: |f| {
        let (own, packs) = apart(f.n(0), f.n(1), 1);
        let when = if own == packs { "too" } else { "already" };
        format!("{} switches off at {own} V, the packs' own management {when} at {packs} V", f.name(0))
    },
};
static LARGE: Check = Check {
    id: "inverter-large-for-12v",
    safety: false,
    say: |f| {
        format!(
            "{}: {:.0} W draw {:.0} A at 12 V, over {:.0} W or {:.0} A; at 24 V or 48 V cable, fuses and losses shrink",
            f.name(0),
            f.n(0),
            f.n(1),
            f.n(2),
            f.n(3)
        )
    },
};
static AUTO_RESET: Check = Check {
    id: "auto-reset-breaker",
    safety: false,
    say: |f| {
        let amps = f.numbers.first().map_or(String::new(), |a| format!(" of {} A", rated(*a)));
        format!(
            "{}{amps} in {} closes by itself: on a lithium bank it cycles on and off until it welds",
            f.name(0),
            f.name(1)
        )
    },
};
static UNREGULATED: Check = Check {
    id: "alternator-on-lithium",
    safety: false,
    say: |f| {
        if !f.name(2).is_empty() {
            let unlike = if f.name(2) == f.name(3) { "" } else { "each is charged at the other's volts, and " };
            return format!(
                "{} ({}) is joined to the {} bank by {} with no charger between: {unlike}nothing but wire and fuses limits what \
                 one drives into the other",
                f.name(0),
                f.name(2),
                f.name(3),
                f.name(1)
            );
        }
        format!(
            "{} charges the lithium bank by {} with no DC-DC charger between: nothing limits the alternator's current or volts",
            f.name(0),
            f.name(1)
        )
    },
};
static UNLIKE: Check = Check {
    id: "batteries-unlike-volts",
    safety: true,
    say: |f| {
        format!(
            "{}, of {} V, is joined to the {} V bank by {} with no charger between: each drives into the other all that wire and \
             fuses let through",
            f.name(0),
            rated(f.n(0)),
            rated(f.n(1)),
            f.name(1)
        )
    },
};
static FINISH: Check = Check {
    id: "array-small-for-lead",
    safety: false,
    say: |f| {
        format!(
            "the arrays give {:.1} % of the bank's capacity in amps, under {:.0} %: needs shore full charge weekly",
            f.n(0),
            f.n(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if !plan.bank.state.stays() {
        return;
    }
    if plan.bank.max_series == Some(Known::Unknown) {
        out.wait("bank.max_series".into());
    }
    out.take(&SERIES, || "bank".into(), series(w));
    out.take(&TOGETHER, || "bank".into(), together(w));
    let of_bank = |i: &usize| is_inverter_of_bank(w.context, *i);
    for (i, inverter) in plan.inverters.iter().enumerate().filter(|(i, _)| of_bank(i)) {
        let path = || FieldPath::of(&["inverters", inverter.id.as_str()]);
        out.take(&LARGE, path, large(w, i, inverter));
        out.take(&SURGE, path, surge(w, inverter));
        out.take(&CUTOFF, path, cutoff(w, inverter));
    }
    auto_reset(w, out);
    unregulated(w, out);
    for (i, device) in plan.devices.iter().enumerate() {
        let starts = device.state.stays() && is_start(plan, Node::Device(i));
        let way = starts.then(|| w.context.circuit.straight_to_bank(plan, i)).flatten();
        if let Some(way) = way.filter(|way| !way.is_empty()) {
            out.take(&UNLIKE, || FieldPath::of(&["devices", device.id.as_str()]), unlike(w, device, &way));
        }
    }
    out.take(&FINISH, || "bank".into(), finish(w));
}

/// Lithium goes in series only where its maker allows it; a limit that is stated holds for any chemistry.
fn series(w: &Work<'_>) -> Outcome {
    let series = w.context.series()?;
    let limit = w.context.plan.bank.max_series.as_ref().and_then(|k| k.known()).map(|n| n.0);
    let over = match limit {
        Some(limit) => series > limit,
        None => series > 1.0 && w.context.chemistry()?.chemistry.is_lithium(),
    };
    Ok(over.then(|| Finding::new(&SERIES, Level::Caution, "bank".into(), &[series, limit.unwrap_or(0.0)], &SHEET)))
}

/// All that runs at once, as a run from the bank is held to it, against what the packs give. Inverters that draw more by
/// themselves are said as such.
fn together(w: &Work<'_>) -> Outcome {
    let limit = w.report.bank.discharge_limit_a.clone()?.0;
    let mut all = 0.0;
    let mut names = Vec::new();
    for (i, (inverter, pair)) in w.context.plan.inverters.iter().zip(&w.terminals.inverters).enumerate() {
        if is_inverter_of_bank(w.context, i) {
            all += pair.design_a.clone()?;
            names.push(inverter.id.as_str());
        }
    }
    if all > limit + 1e-9 {
        return Ok(None);
    }
    all += dc_loads_a(w.context, w.terminals, &w.report.loads)?;
    Ok((all > limit + 1e-9).then(|| {
        Finding::new(&TOGETHER, Level::Caution, "bank".into(), &[all, limit], &LABEL).named([names.join(" and ")])
    }))
}

/// Surge at low bank volts against the packs' peak, alone and while the other inverters draw their rated watts and the DC
/// loads run (common practice: two motors seldom start in one second); a bank that states no peak has no unit that would
/// trip.
fn surge(w: &Work<'_>, inverter: &Inverter) -> Outcome {
    let (Some(surge), Some(peak)) = (&inverter.surge_w, &w.context.plan.bank.peak_a) else { return Ok(None) };
    let path = |i: &Inverter, f: &str| at("inverters", &i.id, f);
    let low_v = w.context.low_v()?;
    let draws = |i: &Inverter, watts: f64| {
        let share = i.efficiency_pct.at(|| path(i, "efficiency_pct"))?.0 / 100.0;
        Ok::<f64, Missing>(watts / (low_v * share.max(0.01)).max(1e-9))
    };
    let alone = draws(inverter, surge.at(|| path(inverter, "surge_w"))?.0)?;
    let peak = peak.at(|| "bank.peak_a".into())?.0 * limited_as(w.context)?;
    let beside = |(i, x): &(usize, &Inverter)| x.id != inverter.id && is_inverter_of_bank(w.context, *i);
    let others: Vec<&Inverter> =
        w.context.plan.inverters.iter().enumerate().filter(beside).map(|(_, other)| other).collect();
    let together = || -> Figure<(f64, f64)> {
        let mut all = alone;
        for other in &others {
            all += draws(other, other.watts_w.at(|| path(other, "watts_w"))?.0)?;
        }
        let loads_a = dc_loads_a(w.context, w.terminals, &w.report.loads)?;
        Ok((all + loads_a, loads_a))
    };
    // What cures one that is too much by itself has to bear the rest beside it.
    let found = |amps: f64, all: f64, others: String| {
        let finding =
            Finding::new(&SURGE, Level::Caution, path_of_inverter(inverter), &[amps, peak, all, alone], &LABEL);
        Ok(Some(finding.named([inverter.id.to_string(), others])))
    };
    if alone > peak + 1e-9 {
        return found(alone, together().map_or(alone, |(all, _)| all), String::new());
    }
    let (all, loads_a) = together()?;
    if all <= peak + 1e-9 {
        return Ok(None);
    }
    let mut beside: Vec<String> = others.iter().map(|i| format!("the rated watts of {}", i.id)).collect();
    beside.extend((loads_a > 0.0).then(|| "the DC loads that run at once".into()));
    found(all, all, beside.join(" and "))
}

/// An inverter that a bank of more volts would suit better.
fn large(w: &Work<'_>, i: usize, inverter: &Inverter) -> Outcome {
    if w.context.twelves()? > 1.0 {
        return Ok(None);
    }
    let watts = inverter.watts_w.at(|| at("inverters", &inverter.id, "watts_w"))?.0;
    let amps = w.terminals.inverters.get(i).map_or(Ok(0.0), |p| p.design_a.clone())?;
    let (most_w, most_a) = (rule_value(w, "inverter-large-watts"), rule_value(w, "inverter-large-amps"));
    Ok((watts > most_w + 1e-9 || amps > most_a + 1e-9).then(|| {
        let numbers = [watts, amps, most_w, most_a];
        Finding::new(&LARGE, Level::Note, path_of_inverter(inverter), &numbers, &COMMON_PRACTICE).named([&inverter.id])
    }))
}

fn path_of_inverter(inverter: &Inverter) -> FieldPath {
    FieldPath::of(&["inverters", inverter.id.as_str()])
}

/// An inverter that outlasts the management unit makes the bank go dark without a warning.
fn cutoff(w: &Work<'_>, inverter: &Inverter) -> Outcome {
    let (Some(own), Some(packs)) = (&inverter.cutoff_v, &w.context.plan.bank.discharge_cutoff_v) else {
        return Ok(None);
    };
    let own = own.at(|| at("inverters", &inverter.id, "cutoff_v"))?.0;
    let packs = packs.at(|| "bank.discharge_cutoff_v".into())?.0 * w.context.series()?;
    Ok((own <= packs).then(|| {
        Finding::new(&CUTOFF, Level::Caution, path_of_inverter(inverter), &[own, packs], &COMMON_PRACTICE)
            .smaller_is_worse()
            .named([&inverter.id])
    }))
}

/// Breakers that close by themselves where a lithium bank is charged.
fn auto_reset(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if !w.context.chemistry().is_ok_and(|r| r.chemistry.is_lithium()) {
        return;
    }
    let found = |path: FieldPath, what: &str, place: &str, amps: Option<&Amps>| {
        let numbers: Vec<f64> = amps.map(|a| a.0).into_iter().collect();
        Finding::new(&AUTO_RESET, Level::Caution, path, &numbers, &COMMON_PRACTICE).named([what, place])
    };
    let charges = |role: Role| {
        matches!(
            role,
            Role::ControllerOutput | Role::ChargerOutput | Role::ChargerInput | Role::Shared | Role::BatteryLink
        )
    };
    let links = &w.context.circuit.links;
    // Behind the start battery a DC-DC charger limits what flows: one that carries that does not open.
    let carries = |i: usize, amps: Option<&Amps>| {
        let design = w.report.runs.get(i).and_then(|r| r.design_a.as_ref().ok()).map(|a| a.0);
        links.get(i).is_some_and(|l| l.role == Role::ChargerInput)
            && matches!((amps, design), (Some(amps), Some(design)) if amps.0 >= fuse_factor(w.context, i) * design)
    };
    for (i, (run, link)) in plan.runs.iter().zip(links).enumerate() {
        let resets = |p: &&Protection| p.state.stays() && p.resets == Resets::Automatic;
        let own = run.protection.iter().filter(resets).find(|p| !carries(i, p.amps_a.known()));
        if let (true, Some(p)) = (charges(link.role), own) {
            let found = found(path_of(run), p.id.as_str(), run.id.as_str(), p.amps_a.known());
            out.take(&AUTO_RESET, || path_of(run), Ok(Some(found)));
        }
    }
    let ways = || {
        let kinds = [PathKind::ControllerBank, PathKind::Charger, PathKind::ChargerInput];
        w.context.circuit.ways.iter().filter(move |x| kinds.contains(&x.kind))
    };
    for (i, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        let node = Node::Device(i);
        if device_kind(plan, node) != Some(DeviceKind::Breaker) {
            continue;
        }
        let touches = |l: &Link| l.from == Some(node) || l.to == Some(node);
        let on = |run: &&usize| links.get(**run).is_some_and(touches);
        let on_way = ways().find_map(|x| x.positives(&w.context.circuit).find(|i| on(&i)));
        let amps = device.ratings.amps_a.as_ref().and_then(|k| k.known());
        if on_way.is_some_and(|i| carries(i, amps)) {
            continue;
        }
        // A link from the start battery is on no charger's way.
        let run = on_way.or_else(|| links.iter().position(|l| charges(l.role) && touches(l)));
        if let Some(run) = run.and_then(|i| plan.runs.get(i)) {
            let path = || FieldPath::of(&["devices", device.id.as_str()]);
            let found = found(
                path(),
                device.id.as_str(),
                run.id.as_str(),
                device.ratings.amps_a.as_ref().and_then(|k| k.known()),
            );
            out.take(&AUTO_RESET, path, Ok(Some(found)));
        }
    }
}

/// An alternator that charges lithium with nothing between but wire, relays and breakers.
fn unregulated(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if !w.context.chemistry().is_ok_and(|r| r.chemistry.is_lithium()) {
        return;
    }
    for (i, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        if !is_start(plan, Node::Device(i)) {
            continue;
        }
        let Some(way) = w.context.circuit.straight_to_bank(plan, i).filter(|way| !way.is_empty()) else { continue };
        let runs: Vec<&str> = way.iter().filter_map(|i| plan.runs.get(*i)).map(|r| r.id.as_str()).collect();
        let subject = || FieldPath::of(&["devices", device.id.as_str()]);
        let mut names = vec![device.id.to_string(), runs.join(", ")];
        // No alternator charges it: what is wrong is that it lies beside the bank.
        if is_of_house(w.context, i)
            && let (Ok(own), Ok(bank)) = (StartBattery::of(w.context, i), w.context.chemistry())
        {
            names.extend([own.kind().to_string(), bank.chemistry.word().to_string()]);
        }
        let found = Finding::new(&UNREGULATED, Level::Caution, subject(), &[], &COMMON_PRACTICE).named(names);
        out.take(&UNREGULATED, subject, Ok(Some(found)));
    }
}

/// A vehicle's battery of other volts than the bank's, joined to it by wire, relays and switches alone.
///
/// Source: Kirchhoff: between two batteries in parallel nothing but their own ohms and the wire's holds the current.
fn unlike(w: &Work<'_>, device: &Device, way: &[usize]) -> Outcome {
    let bank_v = w.context.twelves()? * 12.0;
    let vehicle_v = match system_v(w, device) {
        Ok(volts) => volts,
        // No vehicle has more than 24 V; one of 12 V is what nobody needs to say.
        Err(_) if bank_v > 24.0 => 12.0,
        Err(_) if bank_v < 24.0 => return Ok(None),
        Err(missing) => return Err(missing),
    };
    Ok(((vehicle_v - bank_v).abs() > 1e-9).then(|| {
        let runs: Vec<&str> = way.iter().filter_map(|i| w.context.plan.runs.get(*i)).map(|r| r.id.as_str()).collect();
        let subject = FieldPath::of(&["devices", device.id.as_str()]);
        let found = Finding::new(&UNLIKE, Level::Stop, subject, &[vehicle_v, bank_v], &COMMON_PRACTICE);
        found.named([device.id.to_string(), runs.join(", ")])
    }))
}

/// The volts of a vehicle's system, 12 or 24: by what its battery or alternator is made for, by the low volts of what charges from
/// it, or of a connector, which is of 12 V.
fn system_v(w: &Work<'_>, device: &Device) -> Figure<f64> {
    let of = |volts: f64| system_of(volts) * 12.0;
    if device.kind.known() == Some(&DeviceKind::Tow) {
        return Ok(12.0);
    }
    let low = |ch: &Charger| Some(ch.alternator_low_v.as_ref()?.known()?.0);
    let chargers = w.context.plan.chargers.iter().filter(|ch| ch.state.stays());
    // A battery has its volts on its label, an alternator among its ratings.
    let field = match (&device.ratings.volts_dc_v, device.kind.known()) {
        (None, Some(DeviceKind::StartBattery)) => "unit_v",
        _ => "ratings.volts_dc_v",
    };
    let path = || at("devices", &device.id, field);
    if let Some(Known::Is(own)) = &device.unit_v {
        return Ok(of(own.0));
    }
    match (&device.ratings.volts_dc_v, chargers.filter_map(low).next()) {
        (Some(Known::Is(own)), _) => Ok(of(own.0)),
        (_, Some(low)) => Ok(of(low)),
        _ => Err(Missing(path())),
    }
}

/// Lead that is never filled sulphates: what the arrays give against its capacity.
fn finish(w: &Work<'_>) -> Outcome {
    let charges = |i: &usize| {
        let stays = w.context.plan.controllers.get(*i).is_some_and(|k| k.state.stays());
        let is_of_bank = w.context.circuit.beyond(Node::Controller(*i)).is_none();
        stays && is_of_bank && w.context.circuit.arrays_of(*i).next().is_some()
    };
    let mut arrays = w.terminals.controllers.iter().enumerate().filter(|(i, _)| charges(i)).peekable();
    if arrays.peek().is_none() || w.context.chemistry()?.chemistry.is_lithium() {
        return Ok(None);
    }
    let amps: f64 = arrays.map(|(_, pair)| pair.drop_a.clone()).sum::<Figure<f64>>()?;
    let capacity = w.report.bank.amp_hours.clone()?.0;
    let (pct, least) = (amps / capacity.max(1e-9) * 100.0, rule_value(w, "lead-finish-pct"));
    Ok((pct < least)
        .then(|| Finding::new(&FINISH, Level::Note, "bank".into(), &[pct, least], &LEAD_FINISH).smaller_is_worse()))
}
