//! Where the current comes back: runs without a return, and negatives that lead nowhere.

use crate::engine::Work;
use crate::engine::circuit::Node;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::standards::source::COMMON_PRACTICE;

static NOT_DRAWN: Check = Check {
    id: "return-not-drawn",
    safety: false,
    say: |f| {
        format!(
            "{} has no return, and no negative is drawn that its current comes back by: its drop is counted as if as much of the \
             same wire came back",
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
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    let mut said: Vec<usize> = Vec::new();
    let measured = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.measured_ohm.is_some());
    for way in circuit.judged_ways() {
        let Some(mut lost) = circuit.lost(plan, way) else { continue };
        lost.alone.retain(|i| !measured(i));
        // What the frame brings back waits for its loop to be measured.
        for i in lost.alone.iter().filter(|_| !lost.by_frame) {
            add(w, out, &mut said, *i, &NOT_DRAWN, "");
        }
        // A start battery's minus is on the frame: where the bank's is bonded to it the current comes back by that.
        let by_frame = |n: Node| circuit.is_of_engine(n) && circuit.is_bonded();
        if let Some((i, node)) = lost.nowhere.filter(|(_, n)| lost.alone.is_empty() && !by_frame(*n)) {
            let name = crate::engine::circuit::path_at(plan, node);
            let name = name.map_or_else(String::new, |p| p.split_last().1.to_string());
            add(w, out, &mut said, i, &NOWHERE, &name);
        }
    }
}

fn add(w: &Work<'_>, out: &mut Gathered, said: &mut Vec<usize>, i: usize, check: &'static Check, name: &str) {
    let Some(run) = w.context.plan.runs.get(i).filter(|_| !said.contains(&i)) else { return };
    said.push(i);
    let found = Finding::new(check, Level::Caution, path_of(run), &[], &COMMON_PRACTICE);
    out.take(check, || path_of(run), Ok(Some(found.named([run.id.as_str(), name]))));
}
