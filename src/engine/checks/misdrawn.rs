//! Runs that join what may not be joined: panels to the bank, two posts, two rails; what is no DC run at all.

use crate::engine::Work;
use crate::engine::circuit::{Node, PathKind, Role, device_kind, path_at, tracking};
use crate::engine::converted::{settings_v, sources};
use crate::engine::currents::converter_ahead;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::engine::vehicle::RUNNING_V;
use crate::plan::{DeviceKind, FieldPath, Missing, Plan};
use crate::standards::cited::INSTRUCTIONS;
use crate::standards::source::COMMON_PRACTICE;

static PANELS: Check = Check {
    id: "panels-on-bank",
    safety: true,
    say: |f| {
        format!(
            "{} reaches the bank by {} with no controller between: nothing limits its charge volts",
            f.name(0),
            f.name(1)
        )
    },
};
static DIFFERS: Check = Check {
    id: "array-controller-differs",
    safety: false,
    say: |f| {
        format!(
            "{} names {} as its controller, its runs lead to {}: it is judged on what they lead to",
            f.name(0),
            f.name(1),
            f.name(2)
        )
    },
};
static TWO_TRACKERS: Check = Check {
    id: "array-feeds-two-controllers",
    safety: false,
    say: |f| {
        format!(
            "{} and {} are fed by the same panels ({}): each searches for their best volts and moves those of the other; each \
             wants strings of its own, or makers' word that their inputs may be joined",
            f.name(1),
            f.name(0),
            f.name(2)
        )
    },
};
static SHORT: Check = Check {
    id: "posts-joined",
    safety: true,
    say: |f| format!("{} joins the two posts of the bank: a dead short", f.name(0)),
};
static RAILS: Check = Check {
    id: "rails-joined",
    safety: true,
    say: |f| {
        format!(
            "{} hangs on {} behind a converter and on {} ahead of it: through it the bank's volts stand on the 12 V side",
            f.name(0),
            f.name(1),
            f.name(2)
        )
    },
};
static TWO_FEEDS: Check = Check {
    id: "converter-two-feeds",
    safety: true,
    say: |f| {
        format!(
            "{} is joined to the bank by {} and by {}: what is drawn does not say which is its input, and nothing behind it \
             can be judged",
            f.name(0),
            f.name(1),
            f.name(2)
        )
    },
};
static BEYOND: Check = Check {
    id: "source-behind-converter",
    safety: false,
    say: |f| {
        let serves = match f.name(2) {
            "" => format!("it only serves what hangs there, beside {}, and the year counts none of that", f.name(1)),
            battery => format!("it charges {battery} alone and serves what hangs there, beside {}", f.name(1)),
        };
        let gives = if f.n(0) > 0.0 { format!("; it gives {:.1} A at 12 V", f.n(0)) } else { String::new() };
        format!(
            "{} stands behind {}, through which nothing comes back: it charges nothing of the bank; {serves}{gives}. What is to \
             charge the bank is made for its {:.1} V and stands ahead of {}",
            f.name(0),
            f.name(1),
            f.n(1),
            f.name(1)
        )
    },
};
static BEYOND_VOLTS: Check = Check {
    id: "volts-behind-converter",
    safety: true,
    say: |f| {
        format!(
            "{} is set to {:.2} V and stands behind {}: what hangs there is made for 12 V, {:.1} V at most",
            f.name(0),
            f.n(0),
            f.name(1),
            f.n(1)
        )
    },
};
static AC_RUN: Check = Check {
    id: "run-on-ac",
    safety: false,
    say: |f| {
        format!(
            "{} joins {} and {}, which is on AC: only DC runs are judged here, it is left out",
            f.name(0),
            f.name(1),
            f.name(2)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    arrays(w, out);
    posts(w, out);
    rails(w, out);
    converters(w, out);
    beyond(w, out);
    on_ac(w, out);
    trackers(w, out);
}

/// Sources behind a converter: what they charge not, and volts that nothing there stands.
fn beyond(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    for node in sources(plan) {
        let Some(converter) = circuit.beyond(node).and_then(|i| plan.devices.get(i)) else { continue };
        let Some(path) = path_at(plan, node) else { continue };
        let id = path.split_last().1.to_string();
        let pair = match node {
            Node::Controller(i) => w.terminals.controllers.get(i),
            Node::Charger(i) => w.terminals.chargers.get(i),
            _ => None,
        };
        let amps = pair.and_then(|p| p.design_a.as_ref().ok().copied()).unwrap_or(0.0);
        let battery = circuit.charges_start(node).and_then(|i| plan.devices.get(i));
        // As right as any other charger of a battery: said, not a fault.
        let level = if battery.is_some() { Level::Note } else { Level::Caution };
        let found = w.context.bank_v().map(|bank_v| {
            let names = [id.as_str(), converter.id.as_str(), battery.map_or("", |b| b.id.as_str())];
            Some(Finding::new(&BEYOND, level, path.clone(), &[amps, bank_v], &COMMON_PRACTICE).named(names))
        });
        out.take(&BEYOND, || path.clone(), found);
        let most = settings_v(plan, node).fold(0.0, f64::max);
        let is_over = most > RUNNING_V + 1e-6;
        let too_high = || {
            Finding::new(&BEYOND_VOLTS, Level::Stop, path.clone(), &[most, RUNNING_V], &COMMON_PRACTICE)
                .named([id.as_str(), converter.id.as_str()])
        };
        let unknown = if is_over { None } else { unset(plan, node) };
        out.take(&BEYOND_VOLTS, || path.clone(), unknown.map_or_else(|| Ok(is_over.then(too_high)), Err));
    }
}

/// The setting of a source that nobody knows.
fn unset(plan: &Plan, node: Node) -> Option<Missing> {
    let absorb_v = match node {
        Node::Controller(i) => plan.controllers.get(i).map(|k| k.absorb_v),
        Node::Charger(i) => plan.chargers.get(i).map(|k| k.absorb_v),
        _ => None,
    };
    absorb_v?.known().is_none().then(|| Some(Missing(path_at(plan, node)?.join("absorb_v"))))?
}

/// Controllers that search for the best volts of the same panels.
fn trackers(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let searches =
        |i: usize| plan.controllers.get(i).is_some_and(|k| k.state.stays() && tracking(&k.kind) != Some(false));
    for (i, controller) in plan.controllers.iter().enumerate().filter(|(i, _)| searches(*i)) {
        let beside = w.context.circuit.beside_on_panels(Node::Controller(i));
        let first = beside.controllers.iter().copied().filter(|j| *j < i && searches(*j)).min();
        let Some(other) = first.and_then(|j| plan.controllers.get(j)) else { continue };
        let arrays: Vec<&str> =
            beside.arrays.iter().filter_map(|j| plan.arrays.get(*j)).map(|a| a.id.as_str()).collect();
        let subject = || FieldPath::of(&["controllers", controller.id.as_str()]);
        let source = INSTRUCTIONS.of(w.context.rules.basis);
        let names = [controller.id.to_string(), other.id.to_string(), arrays.join(", ")];
        let found = Finding::new(&TWO_TRACKERS, Level::Caution, subject(), &[], source).named(names);
        out.take(&TWO_TRACKERS, subject, Ok(Some(found)));
    }
}

/// Names of runs, as a sentence lists them.
pub(super) fn named(w: &Work<'_>, runs: &[usize]) -> String {
    let names: Vec<&str> = runs.iter().filter_map(|i| w.context.plan.runs.get(*i)).map(|r| r.id.as_str()).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        Some((last, _)) => (*last).to_string(),
        None => String::new(),
    }
}

fn arrays(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    for (i, array) in plan.arrays.iter().enumerate().filter(|(_, a)| a.state.stays()) {
        let path = || FieldPath::of(&["arrays", array.id.as_str()]);
        if let Some(runs) = circuit.panels_to_bank(i) {
            let source = INSTRUCTIONS.of(w.context.rules.basis);
            let found = Finding::new(&PANELS, Level::Stop, path(), &[], source);
            let names = [array.id.to_string(), named(w, &runs)];
            out.take(&PANELS, path, Ok(Some(found.named(names))));
        }
        let drawn = circuit.feeds.get(i).copied().flatten().and_then(|k| plan.controllers.get(k));
        let way = circuit.way_of(PathKind::Array, Node::Array(i)).is_some();
        let (Some(drawn), Some(field), true) = (drawn, array.controller.known(), way) else { continue };
        if drawn.id != *field {
            let found = Finding::new(&DIFFERS, Level::Caution, path(), &[], &COMMON_PRACTICE);
            out.take(&DIFFERS, path, Ok(Some(found.named([&array.id, field, &drawn.id]))));
        }
    }
}

/// A run from one post of the bank to the other. Of batteries in series it may be the jumper between two.
fn posts(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if plan.bank.series.known().is_none_or(|n| n.0 > 1.0) {
        return;
    }
    for (run, link) in plan.runs.iter().zip(&w.context.circuit.links).filter(|(_, l)| l.role != Role::Dead) {
        let ends = [link.from, link.to];
        if ends.contains(&Some(Node::Bank)) && ends.contains(&Some(Node::BankMinus)) {
            let found = Finding::new(&SHORT, Level::Stop, path_of(run), &[], &COMMON_PRACTICE).named([&run.id]);
            out.take(&SHORT, || path_of(run), Ok(Some(found)));
        }
    }
}

/// A load that is fed from both sides of a converter.
fn rails(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    if w.context.twelves().is_ok_and(|n| n <= 1.0) {
        return;
    }
    for (i, load) in plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays()) {
        let node = Some(Node::Load(i));
        let (mut behind, mut ahead) = (None, None);
        for (j, link) in w.context.circuit.links.iter().enumerate() {
            let feeds = (link.from == node || link.to == node)
                && !matches!(link.role, Role::Dead | Role::Bond | Role::NegativeMain | Role::Sense);
            if feeds {
                let side = if converter_ahead(w.context, j).is_some() { &mut behind } else { &mut ahead };
                side.get_or_insert(j);
            }
        }
        if let (Some(behind), Some(ahead)) = (behind, ahead) {
            let path = || FieldPath::of(&["loads", load.id.as_str()]);
            let names = [load.id.to_string(), named(w, &[behind]), named(w, &[ahead])];
            let found = Finding::new(&RAILS, Level::Stop, path(), &[], &COMMON_PRACTICE).named(names);
            out.take(&RAILS, path, Ok(Some(found)));
        }
    }
}

/// A converter that two of its own runs join to the bank.
fn converters(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    for (i, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.state.stays()) {
        let node = Node::Device(i);
        if device_kind(plan, node) != Some(DeviceKind::Converter) {
            continue;
        }
        let feeds: Vec<usize> = (0..circuit.links.len()).filter(|j| circuit.feeds_from_bank(plan, *j, node)).collect();
        if let [first, second, ..] = feeds.as_slice() {
            let path = || FieldPath::of(&["devices", device.id.as_str()]);
            let names = [device.id.to_string(), named(w, &[*first]), named(w, &[*second])];
            let found = Finding::new(&TWO_FEEDS, Level::Stop, path(), &[], &COMMON_PRACTICE).named(names);
            out.take(&TWO_FEEDS, path, Ok(Some(found)));
        }
    }
}

/// A run that the circuit leaves out, as it is drawn between an inverter and what that feeds.
fn on_ac(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for (run, link) in plan.runs.iter().zip(&w.context.circuit.links) {
        if crate::engine::circuit::is_on_ac(plan, link.from, link.to) {
            let (from, to) = crate::engine::runs::end_names(run);
            let ends = if matches!(link.from, Some(Node::Inverter(_))) { [from, to] } else { [to, from] };
            let [inverter, load] = ends;
            let found = Finding::new(&AC_RUN, Level::Note, path_of(run), &[], &COMMON_PRACTICE);
            out.take(&AC_RUN, || path_of(run), Ok(Some(found.named([run.id.to_string(), inverter, load]))));
        }
    }
}
