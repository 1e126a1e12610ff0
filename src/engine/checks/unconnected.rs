//! What stays in the plan and hangs on no run: nothing of its wiring can be judged.

use crate::engine::Work;
use crate::engine::circuit::{Elsewhere, Island, Node, PathKind, Role, device_kind, is_post, path_at};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::resistance::fuses;
use crate::engine::runs::path_of;
use crate::engine::vehicle::on_start;
use crate::plan::wiring::Supply;
use crate::plan::{DeviceKind, FieldPath, Id, Known, Load, Missing, Run, State, YesNo};
use crate::standards::source::COMMON_PRACTICE;
use crate::words::counted;

use super::fuses::{OPENS, SMALL};
use super::place::UNFUSED;
use super::wires::BELOW;

static BANK: Check = Check {
    id: "bank-without-run",
    safety: false,
    say: |_| {
        "BK: no run leads to its posts; what seems to feed the rest is not the bank, and no current or fuse behind can be \
         trusted before it is drawn"
            .into()
    },
};
static NOT_JOINED: Check = Check {
    id: "bank-not-joined",
    safety: false,
    say: |f| {
        let (heart, others) = (f.name(0), f.name(1));
        let so = "their currents, wire and fuses are not checked";
        match f.name(2) {
            "" => format!("{heart} is not joined to the bank: no run leads from BK to {others}; {so}"),
            _ => format!(
                "no plus leads from the bank to {others}: what is drawn to it begins on {heart}, a bar of minus; {so}"
            ),
        }
    },
};
static ARRAY: Check = Check {
    id: "array-without-run",
    safety: false,
    say: |f| format!("{}: no run leads from it to a controller; its wire and fuses are not checked", f.name(0)),
};
static CONTROLLER: Check = Check {
    id: "controller-without-run",
    safety: false,
    say: |f| {
        let year = match f.name(1) {
            "" => "",
            "loads" => {
                "; its runs lead to loads alone, and without a battery between nobody can foretell what they get: what its array \
                 gives is not in the year"
            }
            _ => {
                return format!(
                    "{}: no run leads from it to the bank; it charges another battery, which the year knows nothing of: what its \
                     array gives is not in it",
                    f.name(0)
                );
            }
        };
        format!("{}: no run leads from it to the bank{year}; its wire and fuse are not checked", f.name(0))
    },
};
static INVERTER: Check = Check {
    id: "inverter-unconnected",
    safety: false,
    say: |f| format!("{}: no run leads to it from the bank; its wire and fuse are not checked", f.name(0)),
};
static PANEL: Check = Check {
    id: "panel-without-run",
    safety: false,
    say: |f| format!("{}: no run leads to it from the bank; its wire and fuse are not checked", f.name(0)),
};
static LOAD: Check = Check {
    id: "load-without-supply",
    safety: false,
    say: |f| format!("{}: its run leads to no battery; its wire and fuse are not checked", f.name(0)),
};
static LOADS: Check = Check {
    id: "loads-without-run",
    safety: false,
    say: |f| {
        let rest = match f.n(0) as usize {
            0..=1 => String::new(),
            n => format!(" and {} more", n - 1),
        };
        format!("{}{rest}: no run and no fuse panel; drops and fuses of these loads are not checked", f.name(0))
    },
};

static ON_OUTPUT: Check = Check {
    id: "load-on-controller",
    safety: false,
    say: |f| {
        format!(
            "{} hangs on {}, as its load output gives and switches it; what that gives is on its sheet alone, and wire and \
             fuse are not checked against it",
            f.name(0),
            f.name(1)
        )
    },
};
static SHUNT: Check = Check {
    id: "shunt-without-run",
    safety: false,
    say: |f| format!("{}: no run leads to it; it measures nothing, and no negative comes back over it", f.name(0)),
};
static POSTS: Check = Check {
    id: "meets-at-terminals",
    safety: false,
    say: |f| {
        let (run, one, other) = (f.name(0), f.name(1), f.name(2));
        if f.name(3) == "post" {
            return format!(
                "{run} joins {one} and {other} at their terminals: those are taken as one post that carries both; where the sheet \
                 does not say that they may, a bus bar is wanted"
            );
        }
        format!(
            "{run} joins {one} and {other} at their terminals: nothing is reckoned through the terminals of another; where \
             their wires meet on one post, draw a bus bar and lead both to it"
        )
    },
};
static ON_DC: Check = Check {
    id: "load-drawn-on-dc",
    safety: false,
    say: |f| {
        let (load, run) = (f.name(0), f.name(1));
        format!(
            "{load} is fed by the inverter, and {run} leads to it on DC: its current is counted on the inverter alone"
        )
    },
};
static FIRST_PANEL: Check = Check {
    id: "loads-on-first-panel",
    safety: false,
    say: |f| {
        format!(
            "{} without a run drawn: taken as on {}, the first of {}; what would be drawn on the others is not counted there",
            counted(f.n(0), "DC load"),
            f.name(0),
            counted(f.n(1), "fuse panel")
        )
    },
};
static SAFETY: Check = Check {
    id: "life-safety-without-run",
    safety: false,
    say: |f| {
        let why =
            if f.name(1) == "gone" { "its run is taken out and no other is drawn" } else { "no run is drawn to it" };
        format!("{}: {why}: nothing says what feeds it, and what could cut it off is not checked", f.name(0))
    },
};
static ASSUMED: Check = Check {
    id: "load-without-run",
    safety: false,
    say: |f| {
        let rest = match f.n(0) as usize {
            0..=1 => String::new(),
            n => format!(" and {} more", n - 1),
        };
        if f.name(2) == "gone" {
            return format!(
                "{}: its run is taken out and no other is drawn; taken as on {}, its drop and fuse are not checked",
                f.name(0),
                f.name(1)
            );
        }
        format!(
            "{}{rest}: no run, where other loads have theirs; taken as on {}, drops and fuses of what has none are not checked",
            f.name(0),
            f.name(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let circuit = &w.context.circuit;
    let on_posts = |end: &Known<Id>| end.known().is_some_and(|id| matches!(id.as_str(), "BK" | "BK+"));
    let drawn_to_bank = plan.runs.iter().any(|r| on_posts(&r.from) || on_posts(&r.to));
    if plan.bank.state.stays() && !plan.runs.is_empty() && !drawn_to_bank {
        let found = Finding::new(&BANK, Level::Caution, "bank".into(), &[], &COMMON_PRACTICE);
        out.take(&BANK, || "bank".into(), Ok(Some(found)));
        wait(out, &"bank".into());
        circuit.islands.iter().for_each(|island| island_waits(w, out, island, &"bank".into()));
    } else {
        circuit.islands.iter().for_each(|island| not_joined(w, out, island));
    }
    contradicted(w, out);
    at_terminals(w, out);
    let mut say = |check: &'static Check, list: &str, id: &Id, more: &str| {
        let subject = FieldPath::new(format!("{list}.{id}"));
        let found = Finding::new(check, Level::Caution, subject.clone(), &[], &COMMON_PRACTICE);
        let found = found.named([id.as_str(), more].into_iter().filter(|name| !name.is_empty()));
        out.take(check, || subject.clone(), Ok(Some(found)));
        wait(out, &subject);
    };
    let drawn = |kind: PathKind, node: Node| {
        circuit.way_of(kind, node).is_some() || circuit.beyond(node).is_some() || said_with_bank(w, node)
    };
    for (i, x) in plan.arrays.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        if !drawn(PathKind::Array, Node::Array(i)) {
            say(&ARRAY, "arrays", &x.id, "");
        }
    }
    let mut others = Vec::new();
    for (i, x) in plan.controllers.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        if !drawn(PathKind::ControllerBank, Node::Controller(i)) {
            let more = match circuit.elsewhere(plan, i) {
                // As right as a charger there: said, not a fault.
                Some(Elsewhere::Battery) => {
                    others.push(charges_another(&x.id));
                    continue;
                }
                Some(Elsewhere::Loads) => "loads",
                None => "",
            };
            say(&CONTROLLER, "controllers", &x.id, more);
        }
    }
    // One that loads hang on is said with its loads, as long as no inverter is fed.
    let served = plan.loads.iter().any(|l| l.state.stays() && l.supply == Supply::Inverter);
    let stays = || plan.inverters.iter().enumerate().filter(|(_, x)| x.state.stays());
    let fed = stays().any(|(i, _)| drawn(PathKind::Inverter, Node::Inverter(i)));
    let said = stays().next().map(|(i, _)| i).filter(|_| served && !fed);
    for (i, x) in stays() {
        let of_vehicle = on_start(w.context, Node::Inverter(i)).is_some();
        if !drawn(PathKind::Inverter, Node::Inverter(i)) && said != Some(i) && !of_vehicle {
            say(&INVERTER, "inverters", &x.id, "");
        }
    }
    for (i, x) in plan.devices.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        let node = Node::Device(i);
        let panel = device_kind(plan, node) == Some(DeviceKind::FusePanel);
        if panel && !circuit.fed(plan, node) && !said_with_bank(w, node) {
            say(&PANEL, "devices", &x.id, "");
        }
    }
    for (i, x) in plan.loads.iter().enumerate().filter(|(_, x)| x.state.stays() && x.supply == Supply::Dc) {
        let hangs = circuit.undrawn.contains(&i) || said_with_bank(w, Node::Load(i));
        if !hangs && !on_battery(w, i) && on_output(w, i).is_none() {
            say(&LOAD, "loads", &x.id, "");
        }
    }
    for (subject, found) in others {
        out.take(&CONTROLLER, || subject, Ok(Some(found)));
    }
    on_outputs(w, out);
    loads(w, out);
}

/// Loads on a controller's own output.
fn on_outputs(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for (i, x) in plan.loads.iter().enumerate() {
        if let Some((run, controller)) = on_output(w, i) {
            let subject = FieldPath::of(&["loads", x.id.as_str()]);
            let found = Finding::new(&ON_OUTPUT, Level::Note, subject.clone(), &[], &COMMON_PRACTICE);
            out.take(&ON_OUTPUT, || subject.clone(), Ok(Some(found.named([&x.id, controller]))));
            let at = || FieldPath::of(&["runs", run.id.as_str()]);
            for check in [&BELOW, &UNFUSED] {
                out.take(check, at, Err(Missing(at().join("design_override_a"))));
            }
        }
    }
}

/// That a controller charges another battery than the bank.
fn charges_another(id: &Id) -> (FieldPath, Finding) {
    let subject = FieldPath::new(format!("controllers.{id}"));
    let found = Finding::new(&CONTROLLER, Level::Note, subject.clone(), &[], &COMMON_PRACTICE);
    (subject, found.named([id.as_str(), "another battery"]))
}

/// Whether the bank or a start battery reaches a load by wire.
fn on_battery(w: &Work<'_>, load: usize) -> bool {
    w.supplies.get(load).is_some_and(|x| !x.batteries.is_empty())
}

/// The run from a controller's load output to a load, and that controller, where it is itself joined to the bank.
fn on_output<'a>(w: &'a Work<'_>, load: usize) -> Option<(&'a Run, &'a Id)> {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let x = plan.loads.get(load).filter(|x| x.state.stays() && x.supply == Supply::Dc)?;
    let node = Some(Node::Load(load));
    let mut runs = circuit.links.iter().enumerate().filter(|(_, l)| l.from == node || l.to == node);
    let (i, other) = runs.find_map(|(i, l)| match if l.from == node { l.to } else { l.from } {
        Some(Node::Controller(k)) => Some((i, k)),
        _ => None,
    })?;
    circuit.way_of(PathKind::ControllerBank, Node::Controller(other))?;
    (x.life_safety != YesNo::Yes && !on_battery(w, load))
        .then_some((plan.runs.get(i)?, &plan.controllers.get(other)?.id))
}

/// Whether a thing that hangs on nothing is said with the bank that is not joined to it.
pub(super) fn said_with_bank(w: &Work<'_>, node: Node) -> bool {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let of = |island: &&Island| island.nodes.contains(&node);
    let said = |island: &Island| !island.members(plan, circuit, island.heart(plan, circuit)).is_empty();
    plan.bank.state.stays() && circuit.islands.iter().find(of).is_some_and(said)
}

/// Runs that hang together without the bank: one thing to say, whatever hangs on them.
fn not_joined(w: &Work<'_>, out: &mut Gathered, island: &Island) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let heart = island.heart(plan, circuit);
    let subject = heart.and_then(|n| path_at(plan, n)).or_else(|| Some(path_of(plan.runs.get(*island.runs.first()?)?)));
    let Some(subject) = subject else { return };
    let name = |n: Node| path_at(plan, n).map(|p| p.split_last().1.to_string());
    let members: Vec<String> = island.members(plan, circuit, heart).into_iter().filter_map(name).collect();
    if plan.bank.state.stays() && !members.is_empty() {
        let is_minus = heart.is_some_and(|n| circuit.is_minus_bar(plan, n));
        let of_minus = if is_minus { "minus" } else { "" };
        let names = [subject.split_last().1.to_string(), listed(&members), of_minus.to_string()];
        let found = Finding::new(&NOT_JOINED, Level::Caution, subject.clone(), &[], &COMMON_PRACTICE).named(names);
        out.take(&NOT_JOINED, || subject.clone(), Ok(Some(found)));
    }
    wait(out, &subject);
    island_waits(w, out, island, &subject);
}

/// Inverters, chargers and controllers that hang on one another's terminals. Through those of inverters and plain chargers is
/// reckoned; of what has two sides nothing says which is meant, and the run waits for one that does.
fn at_terminals(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    for (run, link) in plan.runs.iter().zip(&w.context.circuit.links).filter(|(_, l)| l.role != Role::Dead) {
        let own = |node: Option<Node>| match node {
            Some(Node::Inverter(i)) => plan.inverters.get(i).map(|x| &x.id),
            Some(Node::Charger(i)) => plan.chargers.get(i).map(|x| &x.id),
            Some(Node::Controller(i)) => plan.controllers.get(i).map(|x| &x.id),
            _ => None,
        };
        let (Some(one), Some(other)) = (own(link.from), own(link.to)) else { continue };
        if one == other {
            continue;
        }
        let ends = || [link.from, link.to].into_iter().flatten();
        let controller = |n: Node| matches!(n, Node::Controller(_));
        let posts = ends().all(|n| is_post(plan, n) || controller(n)) && !ends().all(controller);
        let found = Finding::new(&POSTS, Level::Note, path_of(run), &[], &COMMON_PRACTICE);
        let how = if posts { "post" } else { "" };
        out.take(&POSTS, || path_of(run), Ok(Some(found.named([run.id.as_str(), one.as_str(), other.as_str(), how]))));
        if !posts {
            wait(out, &path_of(run));
        }
    }
}

/// Shunts on no run, and runs that lead on DC to a load which the inverter feeds.
fn contradicted(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let shunts = plan.devices.iter().filter(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::Shunt));
    for shunt in shunts.filter(|d| !plan.runs.is_empty() && !plan.runs.iter().any(|r| r.touches(&d.id))) {
        let subject = FieldPath::of(&["devices", shunt.id.as_str()]);
        let found = Finding::new(&SHUNT, Level::Note, subject.clone(), &[], &COMMON_PRACTICE).named([&shunt.id]);
        out.take(&SHUNT, || subject, Ok(Some(found)));
    }
    for (run, link) in plan.runs.iter().zip(&w.context.circuit.links).filter(|(_, l)| l.role != Role::Dead) {
        let on_inverter = |node: Option<Node>| match node {
            Some(Node::Load(i)) => plan.loads.get(i).filter(|x| x.state.stays() && x.supply == Supply::Inverter),
            _ => None,
        };
        let from_inverter = [link.from, link.to].iter().any(|n| matches!(n, Some(Node::Inverter(_))));
        let Some(load) = on_inverter(link.from).or_else(|| on_inverter(link.to)).filter(|_| !from_inverter) else {
            continue;
        };
        let found = Finding::new(&ON_DC, Level::Caution, path_of(run), &[], &COMMON_PRACTICE);
        out.take(&ON_DC, || path_of(run), Ok(Some(found.named([&load.id, &run.id]))));
    }
}

/// What the fuses of runs without the bank wait for.
fn island_waits(w: &Work<'_>, out: &mut Gathered, island: &Island, subject: &FieldPath) {
    let mut runs = island.runs.iter().filter_map(|i| w.context.plan.runs.get(*i));
    if runs.any(|r| fuses(r).next().is_some()) {
        for check in [&SMALL, &OPENS] {
            out.take(check, || subject.clone(), Err(Missing("runs".into())));
        }
    }
}

/// `C1, INV, CH1 and 3 more`.
fn listed(names: &[String]) -> String {
    const MOST: usize = 6;
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] if names.len() <= MOST => format!("{} and {last}", rest.join(", ")),
        all => format!("{} and {} more", all.get(..MOST).unwrap_or(all).join(", "), all.len() - MOST),
    }
}

/// What cannot be checked of a thing before its runs are drawn.
fn wait(out: &mut Gathered, subject: &FieldPath) {
    for check in [&BELOW, &UNFUSED] {
        out.take(check, || subject.clone(), Err(Missing("runs".into())));
    }
}

/// Loads on no run where no fuse panel stands for them, in one sentence.
fn loads(w: &Work<'_>, out: &mut Gathered) {
    let circuit = &w.context.circuit;
    for (load, why) in unfed(w) {
        let subject = FieldPath::of(&["loads", load.id.as_str()]);
        let source = super::life::cited(load, w.context.rules.basis);
        let found = Finding::new(&SAFETY, Level::Caution, subject.clone(), &[], source);
        out.take(&SAFETY, || subject, Ok(Some(found.named([load.id.as_str(), why]))));
    }
    let Some(first) = circuit.undrawn.first().and_then(|i| w.context.plan.loads.get(*i)) else { return };
    if circuit.panel.is_none() {
        let numbers = [circuit.undrawn.len() as f64];
        let subject = FieldPath::new("loads");
        let found = Finding::new(&LOADS, Level::Note, subject.clone(), &numbers, &COMMON_PRACTICE).named([&first.id]);
        out.take(&LOADS, || subject, Ok(Some(found)));
        return;
    }
    first_panel(w, out);
    let plan = w.context.plan;
    let drawn = |(i, x): (usize, &crate::plan::Load)| {
        x.state.stays() && x.supply == Supply::Dc && !circuit.undrawn.contains(&i)
    };
    // What stands in the coach already has the coach's own wire, unless that is drawn, and taken out.
    let undrawn = || circuit.undrawn.iter().filter_map(|i| plan.loads.get(*i));
    let gone = |x: &&crate::plan::Load| {
        let id = Known::Is(x.id.clone());
        plan.runs.iter().any(|r| r.from == id || r.to == id)
    };
    let Some(panel) = circuit.panel.and_then(|i| plan.devices.get(i)) else { return };
    let mut say = |first: &Id, count: usize, gone: &str| {
        let subject = FieldPath::new(format!("loads.{first}"));
        let found = Finding::new(&ASSUMED, Level::Note, subject.clone(), &[count as f64], &COMMON_PRACTICE);
        out.take(&ASSUMED, || subject, Ok(Some(found.named([first.as_str(), panel.id.as_str(), gone]))));
    };
    for load in undrawn().filter(gone).filter(|x| x.life_safety != YesNo::Yes) {
        say(&load.id, 1, "gone");
    }
    let fresh = undrawn().filter(|x| x.state == State::New && !gone(x) && x.life_safety != YesNo::Yes);
    let fresh: Vec<&Id> = fresh.map(|x| &x.id).collect();
    if let Some(first) = fresh.first().filter(|_| plan.loads.iter().enumerate().any(drawn)) {
        say(first, fresh.len(), "");
    }
}

/// Which of several panels loads hang on that have no run, nobody has said.
fn first_panel(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let is = |d: &&crate::plan::Device| d.state.stays() && d.kind.known() == Some(&DeviceKind::FusePanel);
    let panels = plan.devices.iter().filter(is).count();
    let Some(panel) = circuit.panel.and_then(|i| plan.devices.get(i)).filter(|_| panels > 1) else { return };
    let numbers = [circuit.undrawn.len() as f64, panels as f64];
    let subject = FieldPath::new("loads");
    let found = Finding::new(&FIRST_PANEL, Level::Note, subject.clone(), &numbers, &COMMON_PRACTICE);
    out.take(&FIRST_PANEL, || subject, Ok(Some(found.named([&panel.id]))));
}

/// Life safety on no run, where other loads have theirs, and why: one that is taken out, or none for what is new. What
/// stands in the coach already has the coach's own wire.
fn unfed<'a>(w: &'a Work<'_>) -> Vec<(&'a Load, &'static str)> {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let on_dc = |x: &Load| x.state.stays() && x.supply == Supply::Dc;
    let drawn = plan.loads.iter().enumerate().any(|(i, x)| on_dc(x) && !circuit.undrawn.contains(&i));
    let safety = circuit.undrawn.iter().filter_map(|i| plan.loads.get(*i)).filter(|x| x.life_safety == YesNo::Yes);
    let why = |x: &'a Load| {
        let id = Known::Is(x.id.clone());
        let gone = plan.runs.iter().any(|r| r.from == id || r.to == id);
        (gone || (drawn && x.state == State::New)).then_some((x, if gone { "gone" } else { "" }))
    };
    safety.filter_map(why).collect()
}
