//! Plus on the negative side or on the chassis, with no load and no source between.

use super::misdrawn::named;
use crate::engine::Work;
use crate::engine::circuit::{Minus, name_of};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::plan::Missing;
use crate::standards::cited::NO_SHORT;

static JOINED: Check = Check {
    id: "poles-joined",
    safety: true,
    say: |f| format!("{} joins {}, on plus{}, with {}: {}", f.name(0), f.name(1), f.name(2), f.name(3), f.name(4)),
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let plus = circuit.plus.as_slice();
    for (i, run) in plan.runs.iter().enumerate() {
        let Some((place, minus)) = circuit.joins_poles(plan, plus, i) else {
            if let Some(field) = circuit.asks_pole(plan, plus, i) {
                out.take(&JOINED, || path_of(run), Err(Missing(field)));
            }
            continue;
        };
        let by = match named(w, &circuit.plus_way(place, i)) {
            runs if runs.is_empty() => String::new(),
            runs => format!(" by {runs}"),
        };
        let (with, so) = match minus {
            Minus::Chassis => ("the chassis".to_string(), on_chassis(w, plus, i)),
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
        (0..plan.runs.len()).filter(|i| *i != run && circuit.bonds_negative(plan, plus, *i)).collect();
    if others.is_empty() {
        "all its metal stands on plus, and the first way from there to the negative is a dead short".into()
    } else {
        format!("with the bond {} a dead short", named(w, &others))
    }
}
