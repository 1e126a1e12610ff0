//! Leads of batteries in parallel: where they meet each is fed by all the others, past whose fuses it has none of its own.

use crate::engine::Work;
use crate::engine::circuit::Link;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::inflow::{Caps, Comes, comes_in, stands};
use crate::engine::protection::distance_limits_at;
use crate::engine::resistance::legs;
use crate::engine::runs::{end_names, path_of};
use crate::plan::{Figure, Known, Run};
use crate::standards::Source;
use crate::standards::kinds::{Basis, Laid};
use crate::standards::source::Standing;

use super::digits::{apart, rated};
use super::looped::{Lacking, caps_of};
use super::place::{allowed, nearest_m};

pub(super) static FED: Check = Check {
    id: "battery-lead-fed-by-others",
    safety: true,
    say: |f| {
        let (amps, carries) = (rated(f.n(0)), apart(f.n(0), f.n(1), 0).1);
        let (has, each) = if f.name(0).contains(' ') { ("have", "each") } else { ("has", "it") };
        let by = match f.level {
            Level::Note => "as a tap in an enclosed way may be",
            _ => "its fuse at the battery opens nothing of that",
        };
        let named = if f.name(5).is_empty() { String::new() } else { format!(" ({})", f.name(5)) };
        format!(
            "{} {has} no fuse at {}, where the other batteries feed a fault in it past {amps} A of fuses{named}; {each} carries \
             {carries} A: {by}",
            f.name(0),
            f.name(1)
        )
    },
};

/// Conductors fed from several sources; taps. Outside RVs the American rule of taps is taken over: no clause of those codes says how
/// much more a lead may have ahead, and batteries in parallel with a fuse each are common practice there too.
/// Source: NEC 705.30, protection from all sources; NEC 240.21(B)(2), taps in a raceway or its like; from memory.
static ALL_SOURCES: Source = Source::new("NEC", "705.30, from all sources; taps 240.21(B)(2)", Standing::FromMemory);
static TAKEN_OVER: Source = Source::new("NEC", "705.30; taps 240.21(B)(2), taken over from RVs", Standing::FromMemory);

/// A lead that lacks a fuse there.
struct Lead {
    id: String,
    place: String,
    /// What the others bring, and what it carries.
    numbers: [f64; 2],
    level: Level,
    path: crate::plan::FieldPath,
    by: String,
}

/// Such leads, alike ones as one: of each way the run next to where all meet that lacks one.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered, caps: &mut Lacking) {
    let mut found: Vec<Lead> = Vec::new();
    for way in &w.context.circuit.own_ways {
        for &i in way.iter().rev() {
            let (Some(run), Some(link)) = (w.context.plan.runs.get(i), w.context.circuit.links.get(i)) else {
                continue;
            };
            match lacking(w, (i, run, link), caps) {
                Ok(None) => {}
                Ok(Some(lead)) => {
                    found.push(lead);
                    break;
                }
                Err(waits) => out.take(&FED, || path_of(run), Err(waits)),
            }
        }
    }
    while !found.is_empty() {
        let (first, level) = (found.remove(0), |l: &Lead| l.level);
        let same = |l: &Lead| l.place == first.place && level(l) == first.level && l.numbers == first.numbers;
        let (alike, others): (Vec<Lead>, Vec<Lead>) = found.into_iter().partition(same);
        found = others;
        let ids: Vec<&str> = std::iter::once(&first).chain(&alike).map(|l| l.id.as_str()).collect();
        let names = match ids.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => first.id.clone(),
        };
        let source = if w.context.rules.basis == Basis::UsRv { &ALL_SOURCES } else { &TAKEN_OVER };
        let (path, blank) = (first.path.clone(), String::new);
        let said = Finding::new(&FED, first.level, first.path.clone(), &first.numbers, source);
        // Of several each has the others' fuses ahead, and not its own.
        let by = if alike.is_empty() { first.by.clone() } else { String::new() };
        let said = said.named([names, first.place.clone(), blank(), blank(), blank(), by]);
        out.take(&FED, || path, Outcome::Ok(Some(said)));
    }
}

fn lacking(w: &Work<'_>, (i, run, link): (usize, &Run, &Link), caps: &mut Lacking) -> Figure<Option<Lead>> {
    let (c, from) = (w.context, !link.near_from);
    let Ok(limits) = allowed(w, i, run) else { return Ok(None) };
    let stands = stands(c, i, from, &limits);
    let come = |caps: Option<&Caps>| comes_in(c, i, from, caps, Some(stands.carries_a));
    if !come(None)?.is_over(stands.carries_a) {
        return Ok(None);
    }
    let Comes::Behind(ahead) = come(Some(caps_of(w, caps)))? else { return Ok(None) };
    // What is more than a tap may have ahead is the end's own stop.
    if ahead.amps <= stands.carries_a + 1e-9 || ahead.amps > stands.most_a + 1e-9 {
        return Ok(None);
    }
    let (_, most_m) = distance_limits_at(c, run, if from { link.from } else { link.to });
    match nearest_m(w, run, link, from) {
        (Some(m), _) if m <= most_m + 1e-6 => return Ok(None),
        (_, Some(waits)) => return Err(waits),
        _ => {}
    }
    let enclosed = legs(run).all(|l| l.laid == Known::Is(Laid::Enclosed));
    let (own, other) = end_names(run);
    Ok(Some(Lead {
        id: run.id.to_string(),
        place: if from { own } else { other },
        numbers: [ahead.amps, stands.carries_a],
        level: if enclosed { Level::Note } else { Level::Caution },
        path: path_of(run),
        by: ahead.name,
    }))
}
