//! Where the current comes back: runs without a return, and negatives that lead nowhere.

use crate::engine::Work;
use crate::engine::circuit::{Circuit, Node, PathKind, Role, Way, is_thing};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::plan::wiring::Return;
use crate::standards::source::COMMON_PRACTICE;

static NOT_DRAWN: Check = Check {
    id: "return-not-drawn",
    safety: false,
    say: |f| {
        format!(
            "{} has no return, and no negative is drawn that its current comes back by: its drop is counted one way only",
            f.name(0)
        )
    },
};
static NOWHERE: Check = Check {
    id: "negative-leads-nowhere",
    safety: false,
    say: |f| {
        format!(
            "{}: no negative leads from {} to the bank's post, nothing that hangs on it has a way back",
            f.name(0),
            f.name(1)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let circuit = &w.context.circuit;
    let mut said: Vec<usize> = Vec::new();
    let of_bank = |way: &&Way| !matches!(way.kind, PathKind::Array | PathKind::ChargerInput);
    for way in circuit.ways.iter().filter(of_bank) {
        let hangs = circuit.hangs_on(way.end);
        if circuit.has_way_back(hangs) {
            // From a shunt that nothing joins to the post it is a wire that is missing, and the run there has none beside it.
            let first = first_of(circuit, way).filter(|i| circuit.has_gap(hangs) && is_alone(w, *i));
            first.into_iter().for_each(|i| add(w, out, &mut said, i, &NOT_DRAWN, ""));
            continue;
        }
        let Some(lost) = without(w, way) else { continue };
        for i in &lost.alone {
            add(w, out, &mut said, *i, &NOT_DRAWN, "");
        }
        // A start battery's minus is on the frame: where the bank's is bonded to it the current comes back by that.
        let by_frame = |n: Node| circuit.is_of_engine(n) && is_bonded(circuit);
        if let Some((i, node)) = lost.nowhere.filter(|(_, n)| lost.alone.is_empty() && !by_frame(*n)) {
            let name = crate::engine::circuit::path_at(w.context.plan, node);
            let name = name.map_or_else(String::new, |p| p.split_last().1.to_string());
            add(w, out, &mut said, i, &NOWHERE, &name);
        }
    }
}

/// Whether a bond joins the bank's negative to the frame.
fn is_bonded(circuit: &Circuit) -> bool {
    let bonds = circuit.links.iter().filter(|l| l.role == Role::Bond);
    bonds.flat_map(|l| [l.from, l.to]).flatten().any(|n| !is_thing(n) && (n == Node::Bank || circuit.has_way_back(n)))
}

/// The run of a way that the bank's positive post is at.
fn first_of(circuit: &Circuit, way: &Way) -> Option<usize> {
    let outward = !matches!(way.kind, PathKind::ControllerBank | PathKind::Charger);
    let mut positives = way.positives(circuit);
    if outward { positives.next() } else { positives.last() }
}

/// Whether a run has no return, and no measured loop.
fn is_alone(w: &Work<'_>, i: usize) -> bool {
    let run = w.context.plan.runs.get(i);
    let positive = w.context.circuit.links.get(i).is_some_and(|l| l.role != Role::NegativeMain);
    positive && run.is_some_and(|r| r.return_path == Return::None && r.measured_ohm.is_none())
}

fn add(w: &Work<'_>, out: &mut Gathered, said: &mut Vec<usize>, i: usize, check: &'static Check, name: &str) {
    let Some(run) = w.context.plan.runs.get(i).filter(|_| !said.contains(&i)) else { return };
    said.push(i);
    let found = Finding::new(check, Level::Caution, path_of(run), &[], &COMMON_PRACTICE);
    out.take(check, || path_of(run), Ok(Some(found.named([run.id.as_str(), name]))));
}

/// What of a way has no way back.
#[derive(Default)]
struct Lost {
    /// Runs without a return, and without a measured loop.
    alone: Vec<usize>,
    /// The pair nearest to the bank whose negative leads nowhere, and from where.
    nowhere: Option<(usize, Node)>,
}

/// The runs of a way from its end to the first place that a negative leads on from. None where its current comes back by
/// the chassis.
fn without(w: &Work<'_>, way: &Way) -> Option<Lost> {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let outward = !matches!(way.kind, PathKind::ControllerBank | PathKind::Charger);
    let mut runs = way.runs.clone();
    if outward {
        runs.reverse();
    }
    let (mut here, mut lost, mut drawn) = (circuit.hangs_on(way.end), Lost::default(), false);
    for i in runs {
        if circuit.has_way_back(here) {
            break;
        }
        let (run, link) = (plan.runs.get(i)?, circuit.links.get(i)?);
        // What else it feeds comes back: from there on negatives are drawn beside runs without a return.
        drawn |= link.away.iter().any(|n| is_thing(*n) && circuit.has_way_back(circuit.hangs_on(*n)));
        match run.return_path {
            Return::Chassis => return None,
            Return::None => lost.alone.extend((!drawn && is_alone(w, i)).then_some(i)),
            Return::Pair => {
                let near = circuit.negative_of(i).map(|(from, to)| if link.near_from { from } else { to });
                let near = near.filter(|n| !circuit.has_way_back(*n));
                lost.nowhere = near.map(|n| (i, n)).or(lost.nowhere);
            }
        }
        here = if link.from == Some(here) { link.to? } else { link.from? };
    }
    Some(lost)
}
