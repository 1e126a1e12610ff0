//! A feeder's fuse against what hangs behind it.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::protection::{branches, largest_behind};
use crate::engine::resistance::fuses;
use crate::engine::runs::path_of;
use crate::plan::Run;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::apart;
use super::fuses::compared;

static FEEDER: Check = Check {
    id: "feeder-fuse-below-branches",
    safety: false,
    say: |f| {
        let (run, fuse, behind) = (f.name(0), f.name(1), f.name(2));
        match f.name(3) {
            "" => {
                let (amps, larger) = compared(f.n(0), f.n(1));
                format!(
                    "{run}: fuse {fuse} of {amps} A is smaller than the {larger} A of {behind} behind it: a fault there may \
                     open this one, and all that it feeds is without"
                )
            }
            _ => {
                let (amps, asked) = apart(f.n(0), f.n(1), 1);
                let (ask, at_once) = if behind.contains(',') { ("ask", " if all draw at once") } else { ("asks", "") };
                format!("{run}: fuse {fuse} of {amps} A, and {behind} behind it {ask} for {asked} A{at_once}")
            }
        }
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let found = below(w, i, run);
        out.take(&FEEDER, || path_of(run), Ok(found));
    }
}

/// The sum of what the branches of a feeder may draw, and the largest fuse on them, whichever is more, above its own fuse.
/// What nobody has entered yet is left out: their own checks wait for it.
///
/// Source: common practice; by the rules the load that runs together decides the rating, so that it is no more than a note.
fn below(w: &Work<'_>, i: usize, run: &Run) -> Option<Finding> {
    let fuse = fuses(run).next()?;
    let amps = fuse.amps_a.known()?.0;
    let of = |(j, _): &(usize, &Run)| w.found.get(*j)?.currents.pair.design_a.as_ref().ok().copied();
    let behind: Vec<(usize, &Run)> = branches(w.context, i).collect();
    let asked_a: f64 = behind.iter().filter_map(of).sum();
    let larger = largest_behind(w.context, i).filter(|(larger_a, _)| *larger_a >= asked_a);
    let (least_a, who, sum) = match larger {
        Some((larger_a, branch)) => (larger_a, branch.id.to_string(), ""),
        None => (asked_a, behind.iter().map(|(_, r)| r.id.as_str()).collect::<Vec<_>>().join(", "), "sum"),
    };
    (amps < least_a - 1e-9).then(|| {
        let found = Finding::new(&FEEDER, Level::Note, path_of(run), &[amps, least_a], &COMMON_PRACTICE);
        found.smaller_is_worse().named([run.id.as_str(), fuse.id.as_str(), who.as_str(), sum])
    })
}
