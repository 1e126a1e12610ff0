//! Where the current comes back: runs without a return, and negatives that lead nowhere.

use crate::engine::Work;
use crate::engine::circuit::{Link, Node, Role, name_of, path_at};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::runs::path_of;
use crate::standards::source::COMMON_PRACTICE;

static NOT_DRAWN: Check = Check {
    id: "return-not-drawn",
    safety: false,
    say: |f| {
        let lacks = match f.name(1) {
            "" => String::new(),
            thing => format!("{thing} lacks its minus: "),
        };
        format!(
            "{lacks}{} has no return, and no negative is drawn that its current comes back by: its drop is counted as if as much \
             of the same wire came back",
            f.name(0)
        )
    },
};
static NOWHERE: Check = Check {
    id: "negative-leads-nowhere",
    safety: false,
    say: |f| {
        if f.name(1).is_empty() {
            return format!(
                "{}: nothing leads from it back to the bank, and what ends on it has no way back",
                f.name(0)
            );
        }
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
    let mut bars: Vec<Node> = Vec::new();
    let drawn = circuit.links.iter().any(|l| l.role == Role::NegativeMain);
    let measured = |i: &usize| plan.runs.get(*i).is_some_and(|r| r.measured_ohm.is_some());
    for way in circuit.judged_ways() {
        let Some(mut lost) = circuit.lost(plan, way) else { continue };
        // Of a bar that all of them come to and none leads on from it is said once.
        if let Some(bar) = circuit.stuck(plan, way).filter(|_| drawn && !lost.by_frame && !lost.alone.is_empty()) {
            if !bars.contains(&bar) {
                bars.push(bar);
            }
            continue;
        }
        lost.alone.retain(|i| !measured(i));
        // What the frame brings back waits for its loop to be measured.
        for i in lost.alone.iter().filter(|_| !lost.by_frame) {
            let far = circuit.links.get(*i).and_then(Link::far).filter(|n| *n == circuit.hangs_on(way.end));
            add(w, out, &mut said, *i, &NOT_DRAWN, &far.map_or_else(String::new, |n| name_of(plan, n)));
        }
        // A start battery's minus is on the frame: where the bank's is bonded to it the current comes back by that.
        let by_frame = |n: Node| circuit.is_of_engine(n) && circuit.is_bonded();
        if let Some((i, node)) = lost.nowhere.filter(|(_, n)| lost.alone.is_empty() && !by_frame(*n)) {
            add(w, out, &mut said, i, &NOWHERE, &name_of(plan, node));
        }
    }
    for (converter, feed) in
        circuit.converters_lost(plan).filter(|(n, feed)| !circuit.is_on_frame(plan, *n) && !measured(feed))
    {
        match circuit.stuck_from(plan, converter) {
            Some(bar) if bars.contains(&bar) => {}
            Some(bar) => bars.push(bar),
            None => add(w, out, &mut said, feed, &NOT_DRAWN, &name_of(plan, converter)),
        }
    }
    for path in bars.into_iter().filter_map(|bar| path_at(plan, bar)) {
        let found = Finding::new(&NOWHERE, Level::Caution, path.clone(), &[], &COMMON_PRACTICE);
        let found = found.named([path.split_last().1]);
        out.take(&NOWHERE, || path, Ok(Some(found)));
    }
}

fn add(w: &Work<'_>, out: &mut Gathered, said: &mut Vec<usize>, i: usize, check: &'static Check, name: &str) {
    let Some(run) = w.context.plan.runs.get(i).filter(|_| !said.contains(&i)) else { return };
    said.push(i);
    let found = Finding::new(check, Level::Caution, path_of(run), &[], &COMMON_PRACTICE);
    out.take(check, || path_of(run), Ok(Some(found.named([run.id.as_str(), name]))));
}
