//! What stays in the plan and hangs on no run: nothing of its wiring can be judged.

use crate::engine::Work;
use crate::engine::circuit::{Node, PathKind, device_kind};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::isolation::battery_nodes;
use crate::plan::wiring::Supply;
use crate::plan::{DeviceKind, FieldPath, Id, Known, Missing};
use crate::standards::source::COMMON_PRACTICE;

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
static ARRAY: Check = Check {
    id: "array-without-run",
    safety: false,
    say: |f| format!("{}: no run leads from it to a controller; its wire and fuses are not checked", f.name(0)),
};
static CONTROLLER: Check = Check {
    id: "controller-without-run",
    safety: false,
    say: |f| format!("{}: no run leads from it to the bank; its wire and fuse are not checked", f.name(0)),
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

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let circuit = &w.context.circuit;
    let on_posts = |end: &Known<Id>| end.known().is_some_and(|id| matches!(id.as_str(), "BK" | "BK+"));
    let drawn_to_bank = plan.runs.iter().any(|r| on_posts(&r.from) || on_posts(&r.to));
    if plan.bank.state.stays() && !plan.runs.is_empty() && !drawn_to_bank {
        let found = Finding::new(&BANK, Level::Caution, "bank".into(), &[], &COMMON_PRACTICE);
        out.take(&BANK, || "bank".into(), Ok(Some(found)));
        wait(out, &"bank".into());
    }
    let mut say = |check: &'static Check, list: &str, id: &Id| {
        let subject = FieldPath::new(format!("{list}.{id}"));
        let found = Finding::new(check, Level::Caution, subject.clone(), &[], &COMMON_PRACTICE).named([id]);
        out.take(check, || subject.clone(), Ok(Some(found)));
        wait(out, &subject);
    };
    let drawn = |kind: PathKind, node: Node| circuit.way_of(kind, node).is_some();
    for (i, x) in plan.arrays.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        if !drawn(PathKind::Array, Node::Array(i)) {
            say(&ARRAY, "arrays", &x.id);
        }
    }
    for (i, x) in plan.controllers.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        if !drawn(PathKind::ControllerBank, Node::Controller(i)) {
            say(&CONTROLLER, "controllers", &x.id);
        }
    }
    // One that loads hang on is said with its loads, as long as no inverter is fed.
    let served = plan.loads.iter().any(|l| l.state.stays() && l.supply == Supply::Inverter);
    let stays = || plan.inverters.iter().enumerate().filter(|(_, x)| x.state.stays());
    let fed = stays().any(|(i, _)| drawn(PathKind::Inverter, Node::Inverter(i)));
    let said = stays().next().map(|(i, _)| i).filter(|_| served && !fed);
    for (i, x) in stays() {
        if !drawn(PathKind::Inverter, Node::Inverter(i)) && said != Some(i) {
            say(&INVERTER, "inverters", &x.id);
        }
    }
    for (i, x) in plan.devices.iter().enumerate().filter(|(_, x)| x.state.stays()) {
        let node = Node::Device(i);
        if device_kind(plan, node) == Some(DeviceKind::FusePanel) && !circuit.fed(plan, node) {
            say(&PANEL, "devices", &x.id);
        }
    }
    for (i, x) in plan.loads.iter().enumerate().filter(|(_, x)| x.state.stays() && x.supply == Supply::Dc) {
        if !circuit.undrawn.contains(&i) && battery_nodes(plan, circuit, i).is_empty() {
            say(&LOAD, "loads", &x.id);
        }
    }
    loads(w, out);
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
    let Some(first) = circuit.undrawn.first().and_then(|i| w.context.plan.loads.get(*i)) else { return };
    if circuit.panel.is_none() {
        let numbers = [circuit.undrawn.len() as f64];
        let subject = FieldPath::new("loads");
        let found = Finding::new(&LOADS, Level::Note, subject.clone(), &numbers, &COMMON_PRACTICE).named([&first.id]);
        out.take(&LOADS, || subject, Ok(Some(found)));
    }
}
