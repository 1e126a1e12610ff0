//! Wire and ports that are there already: which conductor is positive is measured, never read off a colour.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role, device_kind, is_thing, name_of};
use crate::engine::exchanged::Exchanged;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::resistance::fuses;
use crate::engine::runs::path_of;
use crate::plan::ratings::State;
use crate::plan::wiring::Return;
use crate::plan::{DeviceKind, FieldPath, Plan, Run, YesNo};
use crate::standards::cited::NO_SHORT;
use crate::standards::source::COMMON_PRACTICE;

static ASSUMED: Check = Check {
    id: "polarity-assumed",
    safety: false,
    say: |f| {
        format!(
            "{} is there already and {} is to be joined to it: measure which of its conductors is positive first, and \
             enter that",
            f.name(0),
            f.name(1)
        )
    },
};

static CROSSED: Check = Check {
    id: "leads-crossed",
    safety: true,
    say: |f| {
        format!(
            "{} and {}{} are crossed: {}minus is on the plus leads of {}, plus on the others",
            f.name(0),
            f.name(1),
            f.name(3),
            f.name(4),
            f.name(2)
        )
    },
};

/// One of these is found wherever leads are crossed.
const SIGNS: [&str; 6] = [
    "poles-joined",
    "bank-not-joined",
    "source-end-unfused",
    "return-not-drawn",
    "converter-two-feeds",
    "source-behind-converter",
];

static READ: Check = Check {
    id: "read-as-negative",
    safety: false,
    say: |f| {
        let run = f.name(0);
        if !f.name(2).is_empty() {
            return format!(
                "{run} has no fuse and leads from the fuse panel {} to {}, on minus, where all that hangs on the panel has its \
                 own minus: it is read as that of the panel itself; from where its fuses stand it is a dead short: see which it is, \
                 and enter that its polarity is measured",
                f.name(1),
                f.name(2)
            );
        }
        format!(
            "{run} has neither a return nor a fuse, and {} brings its positive already: it is read as one more negative; as a second \
             positive it would want a fuse: see which it is, and enter that its polarity is measured",
            f.name(1)
        )
    },
};

/// Existing wire from panels, controllers, chargers or the engine's battery, or to a fuse panel, that something new is joined to. Where all of
/// it is there already it works as it is, and where all is new the technician lays it.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let crossed = if out.has(&SIGNS) { Exchanged::all(plan, &w.context.circuit) } else { Vec::new() };
    for crossed in crossed {
        let [Some(one), Some(other)] = crossed.runs.map(|i| plan.runs.get(i)) else { continue };
        let leads = if crossed.are_mains { ", the main leads," } else { "" };
        let once = if crossed.is_hidden { "once the others are put right " } else { "" };
        let names = [one.id.to_string(), other.id.to_string(), crossed.things(plan), leads.into(), once.into()];
        let found =
            Finding::new(&CROSSED, Level::Stop, path_of(one), &[], NO_SHORT.of(w.context.rules.basis)).named(names);
        out.take(&CROSSED, || path_of(one), Ok(Some(found)));
    }
    for (i, pair) in &w.context.circuit.read_negative {
        let (Some(run), Some(pair)) = (plan.runs.get(*i), plan.runs.get(*pair)) else { continue };
        if run.polarity_measured == YesNo::Yes {
            continue;
        }
        let path = || FieldPath::of(&["runs", run.id.as_str()]);
        let found = Finding::new(&READ, Level::Caution, path(), &[], &COMMON_PRACTICE).named([&run.id, &pair.id]);
        out.take(&READ, path, Ok(Some(found)));
    }
    for (i, run) in plan.runs.iter().enumerate().filter(|(_, r)| r.polarity_measured != YesNo::Yes) {
        let Some((panel, far)) = idle_minus(w, i, run) else { continue };
        let path = || path_of(run);
        let names = [run.id.to_string(), name_of(plan, panel), name_of(plan, far)];
        let found = Finding::new(&READ, Level::Caution, path(), &[], &COMMON_PRACTICE).named(names);
        out.take(&READ, path, Ok(Some(found)));
    }
    for (link, run) in w.context.circuit.links.iter().zip(&plan.runs) {
        let is_old = run.legs.iter().any(|l| l.state == State::Existing);
        let may_be_crossed = match link.role {
            Role::Array | Role::ControllerOutput | Role::ChargerInput => true,
            // Of one conductor and the frame nothing can be crossed.
            Role::BatteryLink | Role::StartLead | Role::PanelFeed | Role::ChargerOutput => {
                run.return_path == Return::Pair
            }
            _ => false,
        };
        if !is_old || !may_be_crossed || run.polarity_measured == YesNo::Yes {
            continue;
        }
        let Some(joined) = [link.from, link.to].into_iter().flatten().find_map(|n| new_at(plan, n)) else { continue };
        let path = || FieldPath::of(&["runs", run.id.as_str()]);
        let found =
            Finding::new(&ASSUMED, Level::Caution, path(), &[], &COMMON_PRACTICE).named([run.id.as_str(), joined]);
        out.take(&ASSUMED, path, Ok(Some(found)));
    }
}

/// Of a bare lead that is read as a fuse panel's own minus, the panel and where it leads to, where nothing comes back by it: all that hangs
/// there has its minus elsewhere.
fn idle_minus(w: &Work<'_>, i: usize, run: &Run) -> Option<(Node, Node)> {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let link = circuit.links.get(i).filter(|l| l.role == Role::NegativeMain && run.return_path == Return::None)?;
    let is_panel = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::FusePanel);
    let panel = [link.from, link.to].into_iter().flatten().find(is_panel)?;
    let far = circuit.other(i, panel).filter(|n| !is_thing(*n))?;
    let hosts = matches!(panel, Node::Device(d) if circuit.panel == Some(d)) && !circuit.undrawn.is_empty();
    if hosts || fuses(run).next().is_some() {
        return None;
    }
    let is_negative = |j: &usize| circuit.links.get(*j).is_some_and(|l| l.role == Role::NegativeMain);
    let mut any = false;
    for j in circuit.at(panel).iter().copied().filter(|j| !is_negative(j)) {
        let (Some(on), Some(thing)) = (plan.runs.get(j), circuit.other(j, panel)) else { continue };
        // Another panel, a bar or a switch may have loads of its own behind it.
        if !is_thing(thing) && circuit.links.get(j).is_some_and(|l| l.near() == Some(panel)) {
            return None;
        }
        let own =
            || circuit.at(thing).iter().filter(|k| is_negative(k)).any(|k| circuit.other(*k, thing) != Some(panel));
        let elsewhere = match on.return_path {
            _ if !is_thing(thing) => continue,
            Return::None => own(),
            Return::Pair => circuit.negative_of(j).is_some_and(|(a, b)| ![a, b].contains(&panel)),
            Return::Chassis => false,
        };
        if !elsewhere {
            return None;
        }
        any = true;
    }
    any.then_some((panel, far))
}

/// The name of what stands at a node, if it is bought new.
fn new_at(plan: &Plan, node: Node) -> Option<&str> {
    let (state, id) = match node {
        Node::Array(i) => plan.arrays.get(i).map(|x| (x.state, x.id.as_str()))?,
        Node::Controller(i) => plan.controllers.get(i).map(|x| (x.state, x.id.as_str()))?,
        Node::Charger(i) => plan.chargers.get(i).map(|x| (x.state, x.id.as_str()))?,
        Node::Device(i) => plan.devices.get(i).map(|x| (x.state, x.id.as_str()))?,
        Node::Bank | Node::BankMinus | Node::Inverter(_) | Node::Load(_) => return None,
    };
    (state == State::New).then_some(id)
}
