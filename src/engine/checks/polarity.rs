//! Wire and ports that are there already: which conductor is positive is measured, never read off a colour.

use crate::engine::Work;
use crate::engine::circuit::{Node, Role};
use crate::engine::exchanged::Exchanged;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::plan::ratings::State;
use crate::plan::wiring::Return;
use crate::plan::{FieldPath, Plan, YesNo};
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
            "{} and {}{} are crossed: minus is on the plus leads of {}, plus on the others",
            f.name(0),
            f.name(1),
            f.name(3),
            f.name(2)
        )
    },
};

/// One of these is found wherever leads are crossed.
const SIGNS: [&str; 5] =
    ["poles-joined", "bank-not-joined", "source-end-unfused", "return-not-drawn", "converter-two-feeds"];

static READ: Check = Check {
    id: "read-as-negative",
    safety: false,
    say: |f| {
        format!(
            "{} has neither a return nor a fuse, and {} brings its positive already: it is read as one more negative; as a second \
             positive it would want a fuse: see which it is, and enter that its polarity is measured",
            f.name(0),
            f.name(1)
        )
    },
};

/// Existing wire from panels, controllers, chargers or the engine's battery, or to a fuse panel, that something new is joined to. Where all of
/// it is there already it works as it is, and where all is new the technician lays it.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if out.has(&SIGNS)
        && let Some(crossed) = Exchanged::of(plan, &w.context.circuit)
        && let [Some(one), Some(other)] = crossed.runs.map(|i| plan.runs.get(i))
    {
        let leads = if crossed.are_mains { ", the main leads," } else { "" };
        let names = [one.id.to_string(), other.id.to_string(), crossed.things(plan), leads.to_string()];
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
