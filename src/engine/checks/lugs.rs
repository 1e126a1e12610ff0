//! Lugs: whether one for this conductor and this stud is usually made.

use crate::engine::Work;
use crate::engine::circuit::Role;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::price::lug_ends;
use crate::engine::resistance::gauge_of;
use crate::engine::runs::path_of;
use crate::standards::conductor::area_mm2;
use crate::standards::lug::{USUAL_LUGS, usual_studs};

static LUG: Check = Check {
    id: "lug-not-usual",
    safety: false,
    say: |f| {
        format!(
            "{}: lugs for {} are not usually made for the {} stud of {}; usual: {}",
            f.name(0),
            f.name(1),
            f.name(2),
            f.name(3),
            f.name(4)
        )
    },
};

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for (i, run) in w.context.plan.runs.iter().enumerate() {
        let Some(link) = w.context.circuit.links.get(i) else { continue };
        if !matches!(link.role, Role::Dead | Role::Sense) {
            out.take(&LUG, || path_of(run), unusual(w, i));
        }
    }
}

fn unusual(w: &Work<'_>, index: usize) -> Outcome {
    let Some(run) = w.context.plan.runs.get(index) else { return Ok(None) };
    for end in lug_ends(w.context, index) {
        let gauge = gauge_of(run, end.leg)?;
        let Some(usual) = usual_studs(gauge).filter(|usual| !usual.contains(&end.stud)) else { continue };
        let usual: Vec<String> = usual.iter().map(ToString::to_string).collect();
        let found = Finding::new(&LUG, Level::Note, path_of(run), &[area_mm2(gauge)], &USUAL_LUGS);
        let names =
            [run.id.to_string(), gauge.to_string(), end.stud.to_string(), end.owner.to_string(), usual.join(", ")];
        return Ok(Some(found.named(names)));
    }
    Ok(None)
}
