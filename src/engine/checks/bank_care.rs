//! What the bank asks of the rest: surge, cut-offs, series, lead's finishing current, breakers that reset themselves,
//! brakes on a battery that can cut itself off, space and weight.

use crate::engine::Work;
use crate::engine::circuit::{Node, PathKind, device_kind};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::runs::path_of;
use crate::plan::wiring::Resets;
use crate::plan::{Bank, DeviceKind, FieldPath, Inverter, Known, YesNo};
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

static BRAKES: Source = Source::new("49 CFR", "393.43(d)", Standing::FromMemory);
/// Height kept free over a battery's terminals, m. Source: common practice (1 in).
const OVER_TERMINALS_M: f64 = 0.0254;
/// Least charge current that brings a lead bank to full by itself, of its 20 h capacity.
/// Source: common practice (5 to 10 % of C20).
const FINISH_SHARE: f64 = 0.05;

static SURGE: Check = Check {
    id: "surge-over-peak",
    safety: false,
    say: |f| {
        format!(
            "{}: its surge asks {:.0} A of the bank, whose packs give {:.0} A for a moment",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static CUTOFF: Check = Check {
    id: "cut-off-below-management",
    safety: false,
    say: |f| {
        format!(
            "{} switches off at {:.1} V, the bank's own management already at {:.1} V: everything else goes dark first",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};
static SERIES: Check = Check {
    id: "too-many-in-series",
    safety: false,
    say: |f| format!("BK: {:.0} batteries in series, its maker allows {:.0}", f.n(0), f.n(1)),
};
static FINISH: Check = Check {
    id: "weak-charge-for-lead",
    safety: false,
    say: |f| {
        format!(
            "BK: the sun gives at most {:.1} A, {:.1} % of its capacity; lead at under 5 % needs a full shore charge weekly",
            f.n(1),
            f.n(0)
        )
    },
};
static RESETS: Check = Check {
    id: "resetting-breaker-in-charge-path",
    safety: false,
    say: |f| {
        format!(
            "{} resets itself and sits in the charge path of a lithium bank, whose long full current makes it cycle",
            f.name(0)
        )
    },
};
static BREAKAWAY: Check = Check {
    id: "brakes-on-lithium-alone",
    safety: false,
    say: |f| {
        format!(
            "{}: its only source is a lithium bank that can cut itself off; brakes must hold for 15 minutes",
            f.name(0)
        )
    },
};
static ROOM: Check = Check {
    id: "bank-does-not-fit",
    safety: false,
    say: |f| format!("BK: {} of {:.0} mm, {:.0} mm are needed", f.name(0), f.n(1), f.n(0)),
};
static WEIGHT: Check = Check {
    id: "weight-over-margin",
    safety: false,
    say: |f| format!("new gear weighs {:.0} kg, the coach may still take {:.0} kg", f.n(0), f.n(1)),
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if !plan.bank.state.stays() {
        return;
    }
    let bank = || FieldPath::new("bank");
    for inverter in plan.inverters.iter().filter(|i| i.state.stays()) {
        let subject = || FieldPath::new(format!("inverters.{}", inverter.id));
        out.take(&SURGE, subject, surge(w, inverter, &subject()));
        out.take(&CUTOFF, subject, cutoff(w, inverter, &subject()));
    }
    out.take(&SERIES, bank, series(&plan.bank));
    out.take(&FINISH, bank, finish(w));
    resetting(w, out);
    breakaway(w, out);
    room(&plan.bank, out);
    out.take(&WEIGHT, || FieldPath::new("job.cargo_margin_kg"), weight(w));
}

fn surge(w: &Work<'_>, inverter: &Inverter, subject: &FieldPath) -> Outcome {
    let bank = &w.context.plan.bank;
    let (Some(surge), Some(peak)) = (&inverter.surge_w, &bank.peak_a) else { return Ok(None) };
    let share = inverter.efficiency_pct.at(|| subject.join("efficiency_pct"))?.0 / 100.0;
    let watts = surge.at(|| subject.join("surge_w"))?.0;
    let asked = watts / (w.context.low_v()? * share.max(1e-3));
    let given = peak.at(|| "bank.peak_a".into())?.0 * w.context.parallel()?;
    Ok((asked > given).then(|| {
        Finding::new(&SURGE, Level::Caution, subject.clone(), &[asked, given], &COMMON_PRACTICE).named([&inverter.id])
    }))
}

fn cutoff(w: &Work<'_>, inverter: &Inverter, subject: &FieldPath) -> Outcome {
    let bank = &w.context.plan.bank;
    let (Some(own), Some(management)) = (&inverter.cutoff_v, &bank.discharge_cutoff_v) else { return Ok(None) };
    let own = own.at(|| subject.join("cutoff_v"))?.0;
    let management = management.at(|| "bank.discharge_cutoff_v".into())?.0 * w.context.series()?;
    Ok((own <= management).then(|| {
        Finding::new(&CUTOFF, Level::Caution, subject.clone(), &[own, management], &COMMON_PRACTICE)
            .smaller_is_worse()
            .named([&inverter.id])
    }))
}

fn series(bank: &Bank) -> Outcome {
    let Some(most) = &bank.max_series else { return Ok(None) };
    let count = bank.series.at(|| "bank.series".into())?.0;
    if count <= 1.0 {
        return Ok(None);
    }
    let most = most.at(|| "bank.max_series".into())?.0;
    Ok((count > most)
        .then(|| Finding::new(&SERIES, Level::Caution, "bank.series".into(), &[count, most], &COMMON_PRACTICE)))
}

fn finish(w: &Work<'_>) -> Outcome {
    let report = w.report;
    if report.arrays.is_empty() || w.context.chemistry()?.chemistry.is_lithium() {
        return Ok(None);
    }
    let capacity = report.bank.amp_hours.clone()?.0;
    let mut amps = 0.0;
    for pair in &w.terminals.controllers {
        amps += pair.drop_a.clone()?;
    }
    let share = amps / capacity.max(1e-9);
    Ok((share < FINISH_SHARE).then(|| {
        Finding::new(&FINISH, Level::Note, "bank".into(), &[share * 100.0, amps], &COMMON_PRACTICE).smaller_is_worse()
    }))
}

/// Self-resetting breakers on the ways between sources and a lithium bank.
fn resetting(w: &Work<'_>, out: &mut Gathered) {
    if !w.context.chemistry().is_ok_and(|c| c.chemistry.is_lithium()) {
        return;
    }
    let plan = w.context.plan;
    let charging = |kind| matches!(kind, PathKind::ControllerBank | PathKind::Charger | PathKind::ChargerInput);
    let mut said: Vec<FieldPath> = Vec::new();
    let mut say = |subject: FieldPath, name: String, out: &mut Gathered| {
        if !said.contains(&subject) {
            said.push(subject.clone());
            let found = Finding::new(&RESETS, Level::Caution, subject.clone(), &[], &COMMON_PRACTICE).named([name]);
            out.take(&RESETS, || subject, Ok(Some(found)));
        }
    };
    for way in w.context.circuit.ways.iter().filter(|way| charging(way.kind)) {
        for i in &way.runs {
            let (Some(run), Some(link)) = (plan.runs.get(*i), w.context.circuit.links.get(*i)) else { continue };
            for fuse in run.protection.iter().filter(|f| f.resets == Resets::Automatic && f.state.stays()) {
                say(path_of(run), format!("{} {}", run.id, fuse.id), out);
            }
            for node in [link.from, link.to].into_iter().flatten() {
                if let (Some(DeviceKind::Breaker), Node::Device(d)) = (device_kind(plan, node), node)
                    && let Some(device) = plan.devices.get(d)
                {
                    say(FieldPath::new(format!("devices.{}", device.id)), device.id.to_string(), out);
                }
            }
        }
    }
}

/// Brakes of a trailer that hang on a lithium bank alone.
fn breakaway(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let cuts_off = plan.bank.discharge_cutoff_v.is_some() || plan.bank.charge_cutoff_c.is_some();
    if !cuts_off || !w.context.chemistry().is_ok_and(|c| c.chemistry.is_lithium()) {
        return;
    }
    for (i, load) in plan.loads.iter().enumerate() {
        let brakes = load.life_safety == YesNo::Yes && load.name.to_lowercase().contains("brake");
        let fed = w.context.circuit.ways.iter().any(|way| way.end == Node::Load(i));
        let other = w.context.circuit.links.iter().any(|l| {
            let ends = [l.from, l.to];
            ends.contains(&Some(Node::Load(i)))
                && ends.iter().flatten().any(|n| device_kind(plan, *n) == Some(DeviceKind::StartBattery))
        });
        if brakes && fed && !other && load.state.stays() {
            let subject = FieldPath::new(format!("loads.{}", load.id));
            let found = Finding::new(&BREAKAWAY, Level::Caution, subject.clone(), &[], &BRAKES).named([&load.name]);
            out.take(&BREAKAWAY, || subject, Ok(Some(found)));
        }
    }
}

/// Whether a bank of equal batteries stands in its space: height with room over the terminals, and the floor by area.
fn room(bank: &Bank, out: &mut Gathered) {
    let known = |a: &Option<Known<crate::units::Metres>>| a.as_ref().and_then(|k| k.known().map(|m| m.0));
    let subject = || FieldPath::new("bank.space_h_m");
    if let (Some(unit), Some(space)) = (known(&bank.unit_h_m), known(&bank.space_h_m))
        && unit + OVER_TERMINALS_M > space
    {
        let numbers = [(unit + OVER_TERMINALS_M) * 1000.0, space * 1000.0];
        let found = Finding::new(&ROOM, Level::Note, subject(), &numbers, &COMMON_PRACTICE).named(["a height"]);
        out.take(&ROOM, subject, Ok(Some(found)));
    }
    let count = match (bank.series.known(), bank.parallel.known()) {
        (Some(s), Some(p)) => s.0 * p.0,
        _ => return,
    };
    let floor = |l: &Option<_>, w: &Option<_>| Some(known(l)? * known(w)?);
    if let (Some(unit), Some(space)) = (floor(&bank.unit_l_m, &bank.unit_w_m), floor(&bank.space_l_m, &bank.space_w_m))
        && unit * count > space
    {
        let subject = || FieldPath::new("bank.space_l_m");
        let numbers = [(unit * count).sqrt() * 1000.0, space.sqrt() * 1000.0];
        let found =
            Finding::new(&ROOM, Level::Note, subject(), &numbers, &COMMON_PRACTICE).named(["a floor like a square"]);
        out.take(&ROOM, subject, Ok(Some(found)));
    }
}

/// Weight of what comes new against the coach's margin; only what says its weight counts.
fn weight(w: &Work<'_>) -> Outcome {
    let plan = w.context.plan;
    let Some(margin) = &plan.job.cargo_margin_kg else { return Ok(None) };
    let margin = margin.at(|| "job.cargo_margin_kg".into())?.0;
    let new = crate::plan::State::New;
    let kg = |k: Option<&Known<crate::units::Kilograms>>| k.and_then(|k| k.known()).map_or(0.0, |k| k.0);
    let mut sum = 0.0;
    for (array, figures) in plan.arrays.iter().zip(&w.report.arrays).filter(|(a, _)| a.state == new) {
        let _ = array;
        sum += figures.weight_kg.clone().unwrap_or(0.0);
    }
    sum += plan.controllers.iter().filter(|i| i.state == new).map(|i| kg(i.weight_kg.as_ref())).sum::<f64>();
    sum += plan.inverters.iter().filter(|i| i.state == new).map(|i| kg(i.weight_kg.as_ref())).sum::<f64>();
    sum += plan.chargers.iter().filter(|i| i.state == new).map(|i| kg(i.weight_kg.as_ref())).sum::<f64>();
    sum += plan.devices.iter().filter(|i| i.state == new).map(|i| kg(i.weight_kg.as_ref())).sum::<f64>();
    if let (true, Some(s), Some(p)) = (plan.bank.state == new, plan.bank.series.known(), plan.bank.parallel.known()) {
        sum += kg(plan.bank.weight_kg.as_ref()) * s.0 * p.0;
    }
    Ok((sum > margin)
        .then(|| Finding::new(&WEIGHT, Level::Note, "job.cargo_margin_kg".into(), &[sum, margin], &COMMON_PRACTICE)))
}
