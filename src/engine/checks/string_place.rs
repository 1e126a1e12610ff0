//! Where a string's fuse sits: at the combiner, where the other strings push into its lead.

use crate::engine::Work;
use crate::engine::circuit::Link;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Outcome;
use crate::engine::protection::distance_limits;
use crate::engine::resistance::fuse_distance_m;
use crate::engine::runs::{end_names, path_of};
use crate::plan::{Protection, Run};
use crate::standards::cited::STRING_FUSE;

use super::digits::apart;

pub(super) static PLACE: Check = Check {
    id: "string-fuse-wrong-end",
    safety: true,
    say: |f| {
        let (sits, most) = apart(f.n(2), f.n(3), 2);
        let (pushed, carries) = apart(f.n(0), f.n(1), 1);
        if f.level == Level::Caution {
            return format!(
                "{}: its string fuse sits {sits} m of wire from {}, at the panels' end: it protects them, and the lead only as \
                 that carries {carries} A by itself, the other strings {pushed} A",
                f.name(0),
                f.name(1)
            );
        }
        format!(
            "{}: its string fuse sits {sits} m of wire from {}, at most {most} m; the other strings push {pushed} A into it \
             from there, and it carries {carries} A",
            f.name(0),
            f.name(1)
        )
    },
};

/// A string's fuse belongs at the combiner. A lead that carries less than the other strings can push has no protection
/// against them with its fuse at the panels: a stop. One that carries it has, and the panels too: a caution, as wire or a
/// string more would change it, and the fuse sits where nobody gets at it.
///
/// Source: NEC 690.9(A): overcurrent protection at the source of the overcurrent, asked for where the ampacity is less;
/// common practice for the place of those that a label asks for.
pub(super) fn of(w: &Work<'_>, i: usize, run: &Run, link: &Link, fuse: &Protection, pushed_a: f64) -> Outcome {
    let Some(found) = w.found.get(i) else { return Ok(None) };
    let carries_a = found.capacity.as_ref().map_err(Clone::clone)?.weakest.amps;
    let (sits_m, (_, most_m)) = (fuse_distance_m(run, link.near_from, fuse)?, distance_limits(w.context, i, run));
    let level = if pushed_a <= carries_a + 1e-9 { Level::Caution } else { Level::Stop };
    Ok((sits_m > most_m + 1e-6).then(|| {
        let (from, to) = end_names(run);
        let end = if link.near_from { from } else { to };
        let numbers = [pushed_a, carries_a, sits_m, most_m];
        Finding::new(&PLACE, level, path_of(run), &numbers, STRING_FUSE.of(w.context.rules.basis))
            .named([run.id.to_string(), end])
    }))
}
