//! DC volts of devices and fuses against those of their circuit.

use crate::engine::Work;
use crate::engine::capacity::ratings;
use crate::engine::circuit::{Link, Node, Role, device_kind};
use crate::engine::converted::{CONVERTED_V, load_v};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::protection::{circuit_v, fuse_volts};
use crate::engine::resistance::fuses;
use crate::engine::runs::path_of;
use crate::engine::vehicle;
use crate::plan::wiring::Supply;
use crate::plan::{DeviceKind, FieldPath, Figure, Load, Missing};
use crate::standards::cited::{DC_VOLTS, PV_VOLTS};
use crate::units::Volts;

use super::digits::{apart, rated};

static DEVICE: Check = Check {
    id: "device-volts-low",
    safety: true,
    say: |f| {
        format!(
            "{} is made for {} V DC, its circuit reaches {} V{}",
            f.name(0),
            rated(f.n(0)),
            apart(f.n(0), f.n(1), 1).1,
            f.name(1)
        )
    },
};
static FUSE: Check = Check {
    id: "fuse-volts-low",
    safety: true,
    say: |f| {
        let (made, reaches) = (rated(f.n(0)), apart(f.n(0), f.n(1), 1).1);
        format!("{}: fuse {} is made for {made} V DC, its circuit reaches {reaches} V", f.name(0), f.name(1))
    },
};

static UNFIT: Check = Check {
    id: "device-volts-unfit",
    safety: true,
    say: |f| {
        format!("{} is made for {}, {} brings it {} V{}", f.name(0), f.name(1), f.name(2), rated(f.n(0)), f.name(3))
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let voc: Vec<Figure<Volts>> = w.report.arrays.iter().map(|a| a.voc_cold_v.clone()).collect();
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let Some(link) = w.context.circuit.links.get(i) else { continue };
        if matches!(link.role, Role::Dead | Role::Bond) {
            continue;
        }
        let cited = if link.role == Role::Array { &PV_VOLTS } else { &DC_VOLTS };
        for fuse in fuses(run) {
            let outcome = (|| {
                let (rated, circuit) = (fuse_volts(run, fuse)?, circuit_v(w.context, i, &voc)?);
                Ok((rated < circuit).then(|| {
                    Finding::new(&FUSE, Level::Stop, path_of(run), &[rated, circuit], cited.of(w.context.rules.basis))
                        .smaller_is_worse()
                        .named([&run.id, &fuse.id])
                }))
            })();
            out.take(&FUSE, || path_of(run), outcome);
        }
    }
    let plan = w.context.plan;
    let devices = plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()).map(|(i, _)| Node::Device(i));
    let inverters = plan.inverters.iter().enumerate().filter(|(_, i)| i.state.stays()).map(|(i, _)| Node::Inverter(i));
    let chargers = plan.chargers.iter().enumerate().filter(|(_, c)| c.state.stays()).map(|(i, _)| Node::Charger(i));
    let controllers = plan.controllers.iter().enumerate().filter(|(_, k)| k.state.stays());
    let controllers = controllers.map(|(i, _)| Node::Controller(i));
    let loads = plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays() && l.supply == Supply::Dc);
    let loads = loads.map(|(i, _)| Node::Load(i));
    for node in devices.chain(inverters).chain(chargers).chain(controllers).chain(loads) {
        if let Some((_, path)) = ratings(w.context, node) {
            out.take(&DEVICE, || owner(&path("ratings.volts_dc_v")), device_volts(w, &voc, node));
        }
        if let Node::Load(i) = node
            && let Some(load) = plan.loads.get(i)
        {
            out.take(&UNFIT, || FieldPath::of(&["loads", load.id.as_str()]), unfit(w, i, load));
        }
    }
}

/// A DC load's volts against the nominal ones of its circuit. On a bank of 12 V whatever is not entered is taken to fit, as
/// coach equipment does; on any other bank it is asked.
fn unfit(w: &Work<'_>, i: usize, load: &Load) -> Outcome {
    let field = || FieldPath::of(&["loads", load.id.as_str(), "made_for"]);
    let Some(made) = &load.made_for else {
        let higher = w.context.twelves().is_ok_and(|n| n > 1.0);
        return if higher && !load_v(w.context, i)?.is_empty() { Err(Missing(field())) } else { Ok(None) };
    };
    let made = made.at(field)?;
    let other = load_v(w.context, i)?.into_iter().find(|v| !made.fits(*v));
    Ok(other.map(|volts| {
        let subject = FieldPath::of(&["loads", load.id.as_str()]);
        let by = w.context.circuit.ways.iter().find(|x| x.end == Node::Load(i)).and_then(|x| x.runs.last());
        let by = by.and_then(|i| w.context.plan.runs.get(*i)).map_or("its circuit", |r| r.id.as_str());
        let cited = DC_VOLTS.of(w.context.rules.basis);
        // What can be put between gives 12 V.
        let no_way =
            "; converters here give 12 V: a load made for these volts, or one with a converter of its own, would do";
        let why = if made.fits(CONVERTED_V) { "" } else { no_way };
        Finding::new(&UNFIT, Level::Stop, subject, &[volts], cited).named([load.id.as_str(), made.word(), by, why])
    }))
}

/// What a field belongs to: `inverters.INV` of `inverters.INV.ratings.volts_dc_v`.
fn owner(field: &FieldPath) -> FieldPath {
    FieldPath::new(field.segments().take(2).collect::<Vec<_>>().join("."))
}

/// Whether a run brings a thing the volts that its rating is held to: of a controller those of its battery side, as its
/// PV side has a limit of its own; of a load that no run is drawn to, those of its panel.
fn brings(w: &Work<'_>, node: Node, link: &Link) -> bool {
    let at = match node {
        Node::Load(i) if w.context.circuit.undrawn.contains(&i) => w.context.circuit.panel.map(Node::Device),
        _ => Some(node),
    };
    let feeds = match node {
        Node::Controller(_) => link.role != Role::Array,
        _ => true,
    };
    feeds && at.is_some() && (link.from == at || link.to == at)
}

/// Whether a thing made for some volts stands those of every fuse panel alike, or of none: which of them a load hangs on
/// that no run is drawn to, nobody has said.
fn same_on_every_panel(w: &Work<'_>, voc: &[Figure<Volts>], made_v: f64) -> Figure<bool> {
    let (mut stands, mut falls) = (false, false);
    for (i, device) in w.context.plan.devices.iter().enumerate() {
        let node = Node::Device(i);
        if !device.state.stays() || device_kind(w.context.plan, node) != Some(DeviceKind::FusePanel) {
            continue;
        }
        let links = w.context.circuit.links.iter().enumerate();
        for (run, _) in links.filter(|(_, l)| l.far() == Some(node)) {
            let fits = circuit_v(w.context, run, voc)? <= made_v;
            (stands, falls) = (stands || fits, falls || !fits);
        }
    }
    Ok(!(stands && falls))
}

/// What is made for 12 and 24 V is made for so much; above that what opens a circuit, holds fuses, is a bar or draws must say its volts.
/// Source: ISO 8820-3, rated voltage of blade fuses for such systems, 32 V; of switches, panels, bars and inverters common practice.
const COACH_GEAR_V: f64 = 32.0;

/// Whether a bar holds its circuit's volts against what it is fixed to. One of negatives alone stands at the post's, and so does a
/// shunt, which sits in the negative: neither is asked for volts.
fn is_live_bar(w: &Work<'_>, node: Node) -> bool {
    let live = |l: &Link| {
        let negative = matches!(l.role, Role::NegativeMain | Role::Bond | Role::Sense | Role::Dead);
        brings(w, node, l) && !negative
    };
    device_kind(w.context.plan, node) == Some(DeviceKind::Bus) && w.context.circuit.links.iter().any(live)
}

/// Whether the volts of a run are those of a vehicle's line.
fn is_of_engine(w: &Work<'_>, run: usize, link: &Link) -> bool {
    matches!(link.role, Role::ChargerInput | Role::StartLead) || vehicle::from_start(w.context, run).is_some()
}

/// A device's DC volts against the highest circuit it stands in. What opens a PV circuit must say its volts, whatever they are.
fn device_volts(w: &Work<'_>, voc: &[Figure<Volts>], node: Node) -> Outcome {
    let Some((r, path)) = ratings(w.context, node) else { return Ok(None) };
    if let (Node::Load(i), Some(made)) = (node, r.volts_dc_v.as_ref().and_then(|v| v.known()))
        && w.context.circuit.undrawn.contains(&i)
        && !same_on_every_panel(w, voc, made.0)?
    {
        return Err(Missing(FieldPath::new("runs")));
    }
    // A vehicle's battery has its own volts on its label, and what charges it is made for it.
    if matches!(device_kind(w.context.plan, node), Some(DeviceKind::StartBattery | DeviceKind::Alternator)) {
        return Ok(None);
    }
    let mut circuit = 0.0_f64;
    let mut by_engine = false;
    let mut pv = false;
    let mut highest = &DC_VOLTS;
    let kind = device_kind(w.context.plan, node);
    let opens = matches!(kind, Some(DeviceKind::Disconnect | DeviceKind::Breaker | DeviceKind::Switch));
    let holds_fuses = matches!(kind, Some(DeviceKind::Combiner | DeviceKind::FusePanel));
    let must_say = opens || holds_fuses || is_live_bar(w, node) || matches!(node, Node::Inverter(_));
    if r.volts_dc_v.is_none() && !must_say {
        return Ok(None);
    }
    let circuit_of = &w.context.circuit;
    let links = || circuit_of.links.iter().enumerate().filter(|(_, l)| brings(w, node, l));
    // A bond on a bar of a vehicle's minus brings no volts of the bank's there.
    let of_line = links().any(|(i, _)| circuit_of.line_negatives_of(i).next().is_some());
    for (i, link) in links().filter(|(_, l)| !of_line || l.role != Role::Bond) {
        pv |= link.role == Role::Array;
        let volts = circuit_v(w.context, i, voc)?;
        if volts > circuit {
            circuit = volts;
            by_engine = is_of_engine(w, i, link);
            highest = if link.role == Role::Array { &PV_VOLTS } else { &DC_VOLTS };
        }
    }
    let rated = match &r.volts_dc_v {
        Some(v) => v.at(|| path("ratings.volts_dc_v"))?.0,
        None if pv && opens || must_say && circuit > COACH_GEAR_V => return Err(Missing(path("ratings.volts_dc_v"))),
        None => return Ok(None),
    };
    Ok((rated < circuit).then(|| {
        let subject = owner(&path("ratings.volts_dc_v"));
        let name = subject.split_last().1.to_string();
        // By its mark alone: the rule knows no exception for what is sold for vehicles.
        let why = match by_engine {
            true => " with the engine running; where its sheet gives more than its mark, enter that",
            false => "",
        };
        Finding::new(&DEVICE, Level::Stop, subject, &[rated, circuit], highest.of(w.context.rules.basis))
            .smaller_is_worse()
            .named([name.as_str(), why])
    }))
}
