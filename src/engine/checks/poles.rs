//! Plus on the negative side or on the chassis, with no load and no source between.

use super::misdrawn::named;
use crate::engine::Work;
use crate::engine::circuit::{Circuit, Minus, Node, Role, device_kind, is_thing, name_of};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::plan::{DeviceKind, Missing, Plan};
use crate::standards::cited::NO_SHORT;

static JOINED: Check = Check {
    id: "poles-joined",
    safety: true,
    say: |f| format!("{} joins {}, on plus{}, with {}: {}", f.name(0), f.name(1), f.name(2), f.name(3), f.name(4)),
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let plus = circuit.plus_places(plan);
    for (i, run) in plan.runs.iter().enumerate() {
        let Some((place, minus)) = circuit.joins_poles(plan, &plus, i) else {
            if let Some(field) = circuit.asks_pole(plan, &plus, i) {
                out.take(&JOINED, || path_of(run), Err(Missing(field)));
            }
            continue;
        };
        let by = match named(w, &circuit.plus_way(place, i)) {
            runs if runs.is_empty() => String::new(),
            runs => format!(" by {runs}"),
        };
        let (with, so) = match minus {
            Minus::Chassis => ("the chassis".to_string(), on_chassis(w, &plus, i)),
            Minus::Place(n) => (format!("{}, on the negative side", name_of(plan, n)), "a dead short".into()),
            Minus::Thing(n) => {
                let thing = name_of(plan, n);
                (format!("the negative of {thing}"), format!("{thing} has plus on both, and nothing brings it back"))
            }
        };
        let names = [run.id.to_string(), name_of(plan, place), by, with, so];
        let source = NO_SHORT.of(w.context.rules.basis);
        let found = Finding::new(&JOINED, Level::Stop, path_of(run), &[], source).named(names);
        out.take(&JOINED, || path_of(run), Ok(Some(found)));
    }
}

/// What plus on the chassis comes to: a dead short where the negative is bonded to it.
fn on_chassis(w: &Work<'_>, plus: &[bool], run: usize) -> String {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let others: Vec<usize> =
        (0..plan.runs.len()).filter(|i| *i != run && bonds_negative(plan, circuit, plus, *i)).collect();
    if others.is_empty() {
        "all its metal stands on plus, and the first way from there to the negative is a dead short".into()
    } else {
        format!("with the bond {} a dead short", named(w, &others))
    }
}

/// Whether a run bonds the negative side to the chassis.
pub(super) fn bonds_negative(plan: &Plan, circuit: &Circuit, plus: &[bool], run: usize) -> bool {
    let Some(link) = circuit.links.get(run).filter(|l| l.role == Role::Bond) else { return false };
    let chassis = |n: &Node| device_kind(plan, *n) == Some(DeviceKind::Chassis);
    let Some(end) = [link.from, link.to].into_iter().flatten().find(|n| !chassis(n)) else { return false };
    // Of a drawing without negatives nothing says that this one is not theirs.
    let untold = || {
        let things = circuit.ways.iter().map(|way| circuit.hangs_on(way.end));
        !things.into_iter().any(|n| circuit.has_way_back(n))
    };
    let place = matches!(end, Node::Device(_)) && !crate::engine::circuit::is_start(plan, end) && !is_thing(end);
    let shunt = device_kind(plan, end) == Some(DeviceKind::Shunt);
    let negative = end == Node::BankMinus || (place && (shunt || circuit.has_way_back(end) || untold()));
    negative && circuit.joins_poles(plan, plus, run).is_none()
}
