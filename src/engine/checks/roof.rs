//! The roof: what holds the panels, what they lie over, what shades them, how warm they run.

mod access;
mod read;

use crate::engine::Work;
use crate::engine::arrays;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::lit::mounting;
use crate::engine::roof::{self, GLUED_FLAT, Hold, Placed, Thing, place_path};
use crate::physics::shadow::Rect;
use crate::plan::arrays::Build;
use crate::plan::lists::MONTH_NAMES;
use crate::plan::roof::{Fastener, ObstacleKind};
use crate::plan::{Array, Plan};
use crate::standards::kinds::Mount;
use crate::standards::source::{COMMON_PRACTICE, Source, Standing};

use super::digits::rated;

pub(in crate::engine) use read::Read;

static MEMBRANE: Source = Source::new("adhesive makers' design guides", "rubber membranes", Standing::FromMemory);
static NDS: Source = Source::new("NDS 2018", "12.2.2 withdrawal of wood screws", Standing::FromMemory);
static NDS_LAG: Source = Source::new("NDS 2018", "12.2.1 withdrawal of lag screws, Table 12.2A", Standing::Verified);
static GLUE: Source =
    Source::new("adhesive makers' design guides", "pull tested on the skin at hand", Standing::FromMemory);
static EXITS: Source = Source::new("NFPA 1192", "means of escape; vents of gas appliances", Standing::FromMemory);

static GLUED: Check = Check {
    id: "adhesive-on-membrane",
    safety: true,
    say: |f| {
        let (foot_n, panel_n) = (f.n(1), f.n(2));
        let pull = if panel_n > 0.0 && f.name(0) == GLUED_FLAT {
            format!(", the stream pulls {panel_n:.0} N at a panel")
        } else if panel_n > 0.0 {
            format!(", the stream pulls {panel_n:.0} N at a panel and {foot_n:.0} N at its worst foot")
        } else {
            String::new()
        };
        format!(
            "adhesive is all that holds the panels, and the membrane under it is only laid on: credit 0 N{pull}; screws in \
             wood, toggles or bolts have to hold them"
        )
    },
};
static UPLIFT: Check = Check {
    id: "uplift-factor-low",
    safety: true,
    say: |f| {
        if f.name(2) == GLUED_FLAT {
            format!(
                "{}: glued flat, the adhesive under a panel holds {:.0} N by its test, the stream pulls {:.0} N at it: {:.2} times, \
                 {:.1} wanted; a bound, not a certificate",
                f.name(0),
                f.n(2),
                f.n(4),
                f.n(0),
                f.n(1)
            )
        } else if f.n(2) > 0.0 {
            let rafters = if f.n(5) > 0.0 {
                format!(", with {:.1} mm of every screw taken to be in a rafter", f.n(5) * 1000.0)
            } else {
                String::new()
            };
            format!(
                "{}: its worst foot holds {:.0} N{rafters}, the stream pulls {:.0} N at it (panel {:.0} N): {:.2} times, {:.1} \
                 wanted; a bound, not a certificate",
                f.name(0),
                f.n(2),
                f.n(3),
                f.n(4),
                // Not rounded up to what is wanted.
                (f.n(0) * 100.0).floor() / 100.0,
                f.n(1)
            )
        } else {
            format!(
                "{}: 0 N are counted for {} until it is tested; the stream pulls {:.0} N at its worst foot (panel {:.0} N), {:.1} times \
                 that is wanted: {}",
                f.name(0),
                f.name(1),
                f.n(3),
                f.n(4),
                f.n(1),
                f.name(2)
            )
        }
    },
};
static RAFTERS: Check = Check {
    id: "feet-on-rafters",
    safety: false,
    say: |f| {
        let without = if f.n(2) > 0.0 { format!("{:.2} times", f.n(2)) } else { "nothing that counts".to_string() };
        format!(
            "{}: its feet hold {:.2} times the pull with {:.1} mm of every screw in a rafter; the deck alone holds {without}, \
             {:.1} times wanted: every foot belongs on a rafter, or on backing",
            f.name(0),
            f.n(0),
            f.n(1) * 1000.0,
            f.n(3)
        )
    },
};
static OVER: Check = Check {
    id: "panel-over-opening",
    safety: true,
    say: |f| format!("{} lies {:.0} mm over {}, {}", f.name(0), f.n(0) * 1000.0, f.name(1), f.name(2)),
};
static ON: Check = Check {
    id: "panel-on-obstacle",
    safety: false,
    say: |f| format!("{} lies {:.0} mm into {}", f.name(0), f.n(0) * 1000.0, f.name(1)),
};
static OFF: Check = Check {
    id: "panel-off-roof",
    safety: false,
    say: |f| {
        format!("{} reaches {:.0} mm into the strip along the roof's edge, or over it", f.name(0), f.n(0) * 1000.0)
    },
};
static SHADOW: Check = Check {
    id: "panel-in-shadow",
    safety: false,
    say: |f| {
        let with = if f.name(3).is_empty() {
            String::new()
        } else {
            let several = f.name(3).contains(',');
            let held = if several { "stand lit and are" } else { "stands lit and is" };
            format!(
                "; through {:.0} % of that sun {} in series with it {held} held back, which in a string of its own, or clear of \
                 that shade, would not be",
                f.n(1),
                f.name(3)
            )
        };
        let taken = if f.n(2) < 0.5 { "less than 1".into() } else { format!("{:.0}", f.n(2)) };
        format!(
            "{}: what stands on the roof, {} most of all, shades some of it for {:.0} % of the direct sun of {}, the coach facing \
             anywhere{with}; all shade on the roof takes {taken} Wh a day of the arrays then",
            f.name(0),
            f.name(1),
            f.n(0),
            f.name(2)
        )
    },
};
static WARM: Check = Check {
    id: "glued-runs-warm",
    safety: false,
    say: |f| {
        let wh = if f.n(2) > 0.0 { format!(", about {:.0} Wh a day", f.n(2)) } else { String::new() };
        format!(
            "{}: glued flat its cells run {:.0} K warmer than on feet and give {:.1} % less{wh}",
            f.name(0),
            f.n(1),
            f.n(0)
        )
    },
};

static GAP: Check = Check {
    id: "panel-gap-small",
    safety: false,
    say: |f| {
        let less = if f.n(3) > 0.0 { format!(", and give {:.1} % less", f.n(3)) } else { String::new() };
        format!(
            "{}: {} mm of air under its frames, {:.0} mm at least let it pass: its cells may run up to {:.0} K warmer than \
             the year takes them{less}",
            f.name(0),
            rated(f.n(0)),
            f.n(1),
            f.n(2)
        )
    },
};

/// Air under the frames that lets some pass, m. Source: common practice, about an inch.
const GAP_M: f64 = 0.025;

/// Remembered by what it reads: an edit of a wire changes none of that.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let said = out.roof.seek(|read| read.is(w));
    let said = said.unwrap_or_else(|| {
        let mut own = Gathered::default();
        find(w, &mut own);
        out.roof.keep(Read::of(w), |_| own)
    });
    out.add(&said);
}

fn find(w: &Work<'_>, out: &mut Gathered) {
    let plan = w.context.plan;
    let all = plan.arrays.iter().enumerate().filter(|(_, a)| a.state.stays() && a.strings.panels() > 0);
    let all: Vec<(usize, &Array)> = all.collect();
    if all.is_empty() {
        return;
    }
    let glued = roof::glued_to_membrane(plan);
    let is_glued = glued == Ok(true);
    let panels = all.iter().flat_map(|(_, a)| a.strings.0.iter().flatten());
    let panels = panels.filter_map(|id| plan.panels.iter().find(|p| p.id == *id));
    let pulls = panels.filter_map(|p| roof::pull_n(plan, &w.context.rules, p).ok());
    let (foot_n, panel_n) = pulls.fold((0.0, 0.0), |most, pull| if pull.1 > most.1 { pull } else { most });
    let hangs = |a: &Array| roof::only_adhesive(plan, a) == Ok(true);
    let flat = all.iter().filter(|(_, a)| hangs(a)).all(|(_, a)| a.mount == Mount::Glued);
    let how = if flat { GLUED_FLAT } else { "" };
    let stop = || {
        let numbers = [0.0, foot_n, panel_n];
        Finding::new(&GLUED, Level::Stop, "roof.fastener".into(), &numbers, &MEMBRANE).named([how])
    };
    out.take(&GLUED, || "roof".into(), glued.map(|bad| bad.then(stop)));
    for (i, array) in &all {
        let path = || arrays::path_of(array);
        // What the stop above is about needs no second word.
        if !(is_glued && roof::only_adhesive(plan, array) == Ok(true)) {
            out.take(&UPLIFT, path, uplift(w, array));
        }
        if array.mount == Mount::Glued {
            out.take(&WARM, path, warm(w, *i, array));
        } else {
            out.take(&GAP, path, Ok(gap(w, array)));
        }
    }
    places(w, &all, out);
    for shade in &w.report.roof.shade {
        out.take(&SHADOW, || "roof".into(), Ok(shadow(w, shade)));
    }
}

/// The panel of an array whose foot holds least over its pull.
fn uplift(w: &Work<'_>, array: &Array) -> Outcome {
    let (plan, rules) = (w.context.plan, &w.context.rules);
    // The fastener is that of feet: a panel glued flat has none.
    if array.mount == Mount::Glued {
        return glued_flat(w, array);
    }
    let hold = roof::hold(plan, rules)?;
    let mut worst: Option<(f64, f64)> = None;
    for id in array.strings.0.iter().flatten() {
        let Some(panel) = plan.panels.iter().find(|p| p.id == *id) else { continue };
        let pull = roof::pull_n(plan, rules, panel)?;
        worst = Some(worst.map_or(pull, |old| if pull.0 > old.0 { pull } else { old }));
    }
    let Some((foot_n, all_n)) = worst else { return Ok(None) };
    let held_n = match hold {
        Hold::Newtons(n) => n,
        Hold::NotCredited => 0.0,
    };
    let factor = held_n / foot_n.max(1e-9);
    let rafter_m = roof::in_rafter_m(plan, rules).unwrap_or(0.0);
    if factor >= rules.uplift_factor {
        let alone = if rafter_m > 0.0 { roof::hold_in_deck_n(plan, rules) / foot_n.max(1e-9) } else { factor };
        let path = arrays::path_of(array);
        let numbers = [factor, rafter_m, alone, rules.uplift_factor];
        return Ok((alone < rules.uplift_factor)
            .then(|| Finding::new(&RAFTERS, Level::Note, path, &numbers, &NDS).named([&array.id])));
    }
    let fastener = plan.roof.fastener.known();
    let source = match fastener {
        Some(Fastener::Adhesive) => &GLUE,
        Some(Fastener::LagScrews) => &NDS_LAG,
        _ => &NDS,
    };
    let numbers = [factor, rules.uplift_factor, held_n, foot_n, all_n, rafter_m];
    let found = Finding::new(&UPLIFT, Level::Caution, arrays::path_of(array), &numbers, source);
    let (what, instead) = uncredited(plan);
    Ok(Some(found.named([array.id.to_string(), what, instead.to_string()]).smaller_is_worse()))
}

/// What holds the feet and counts for nothing, in words, and what would count.
fn uncredited(plan: &Plan) -> (String, &'static str) {
    let word = |known: Option<&'static str>| known.unwrap_or("?");
    let by = word(plan.roof.fastener.known().map(|f| f.word()));
    if plan.roof.fastener.known() == Some(&Fastener::Adhesive) {
        let skin = word(plan.roof.skin.known().map(|s| s.word()));
        return (format!("{by} on {skin}"), "a tested pull of one foot, or screws in wood, toggles or bolts");
    }
    let deck = word(plan.roof.deck.known().map(|d| d.word()));
    let wood = roof::rafters_are_wood(plan);
    let instead =
        if wood { "rafters, backing, toggles, or a tested pull" } else { "backing, toggles, or a tested pull" };
    (format!("{by} in {deck}"), instead)
}

/// The largest panel of an array that is glued flat, against its adhesive as tested.
fn glued_flat(w: &Work<'_>, array: &Array) -> Outcome {
    let (plan, rules) = (w.context.plan, &w.context.rules);
    let mut all_n = 0.0_f64;
    for id in array.strings.0.iter().flatten() {
        let Some(panel) = plan.panels.iter().find(|p| p.id == *id) else { continue };
        all_n = all_n.max(roof::panel_pull_n(rules, panel)?);
    }
    let held_n = roof::glue_n(plan)?;
    let factor = held_n / all_n.max(1e-9);
    let numbers = [factor, rules.uplift_factor, held_n, all_n, all_n, 0.0];
    Ok((factor < rules.uplift_factor && all_n > 0.0).then(|| {
        let found = Finding::new(&UPLIFT, Level::Caution, arrays::path_of(array), &numbers, &GLUE);
        found.named([array.id.as_str(), Fastener::Adhesive.word(), GLUED_FLAT]).smaller_is_worse()
    }))
}

/// What gluing flat costs against feet, in full sun and still air.
fn warm(w: &Work<'_>, i: usize, array: &Array) -> Outcome {
    let gamma = arrays::gamma_pct_k(w.context.plan, array)?;
    let rise_k = flat_rise_k();
    let less_pct = rise_k * gamma.abs();
    let wh_day = offered_wh_day(w, i).unwrap_or(0.0) * less_pct / (100.0 - less_pct);
    // A sheet that bends has no feet.
    let panels = array.strings.0.iter().flatten().filter_map(|id| w.context.plan.panels.iter().find(|p| p.id == *id));
    let bends = panels.map(|p| p.build).all(|build| build == Build::Flexible);
    let level = if bends { Level::Note } else { Level::Caution };
    let path = arrays::path_of(array);
    Ok(Some(Finding::new(&WARM, level, path, &[less_pct, rise_k, wh_day], &COMMON_PRACTICE).named([&array.id])))
}

/// What an array has of a mean day's offer to its controller: its part by rated watts.
fn offered_wh_day(w: &Work<'_>, i: usize) -> Option<f64> {
    let circuit = &w.context.circuit;
    let k = circuit.feeds.get(i).copied().flatten()?;
    let kwh = w.report.controllers.get(k)?.offered_kwh.as_ref().ok()?;
    let stays = |i: &usize| w.context.plan.arrays.get(*i).is_some_and(|a| a.state.stays());
    let all: Vec<usize> = circuit.arrays_of(k).filter(stays).collect();
    let part = *arrays::parts(w.context.plan, &all).get(all.iter().position(|a| *a == i)?)?;
    Some(kwh * 1000.0 / 365.0 * part)
}

/// How much warmer cells run glued flat than on feet, K.
///
/// 800 W/m2 and 1 m/s: the middle of what a panel works in. Source: IEC 61853-1 nominal operating conditions.
fn flat_rise_k() -> f64 {
    let cell_c = |mount| mounting(mount, false).cell_c(800.0, 20.0, 1.0);
    cell_c(Mount::Glued) - cell_c(Mount::Feet)
}

/// Feet too low for air to pass: at the worst the panel is as warm as one glued flat.
fn gap(w: &Work<'_>, array: &Array) -> Option<Finding> {
    let plan = w.context.plan;
    let gap_m = plan.roof.foot_height_m.known().map(|m| m.0).filter(|m| *m < GAP_M - 1e-9)?;
    let gamma = arrays::gamma_pct_k(plan, array).unwrap_or(0.0);
    let rise_k = flat_rise_k();
    let numbers = [gap_m * 1000.0, GAP_M * 1000.0, rise_k, rise_k * gamma.abs()];
    let found = Finding::new(&GAP, Level::Caution, arrays::path_of(array), &numbers, &COMMON_PRACTICE);
    Some(found.smaller_is_worse().named([&array.id]))
}

/// What each panel lies over.
fn places(w: &Work<'_>, of: &[(usize, &Array)], out: &mut Gathered) {
    let plan = w.context.plan;
    let mut all: Vec<Placed<'_>> = Vec::new();
    for (number, array) in of {
        match roof::placed(plan, *number) {
            Ok(placed) => all.extend(placed),
            Err(missing) => out.take(&OVER, || arrays::path_of(array), Err(missing)),
        }
    }
    let things = match roof::things(plan) {
        Ok(things) => things,
        Err(missing) => {
            out.take(&OVER, || "roof".into(), Err(missing));
            return;
        }
    };
    for (i, p) in all.iter().enumerate() {
        let path = || place_path(p.array, p.place);
        // The worst of each, so that a place has one finding of a kind.
        let (mut worst_over, mut worst_on): (Option<Finding>, Option<Finding>) = (None, None);
        let mut keep = |f: Finding| {
            let slot = if f.check == &OVER { &mut worst_over } else { &mut worst_on };
            if slot.as_ref().is_none_or(|old| f.n(0) > old.n(0)) {
                *slot = Some(f);
            }
        };
        for thing in &things {
            match over(plan, p, thing) {
                Ok(found) => found.into_iter().for_each(&mut keep),
                Err(missing) => out.take(&OVER, path, Err(missing)),
            }
        }
        all.iter().take(i).filter_map(|other| onto(p, &other.rect, || other.label())).for_each(&mut keep);
        out.take(&OVER, path, Ok(worst_over));
        out.take(&ON, path, Ok(worst_on));
        out.take(&OFF, path, off(plan, p));
    }
    access::all(w, out);
}

/// Rounding of an inch is no overlap, m.
const TOUCHING_M: f64 = 1e-3;

fn onto(p: &Placed<'_>, other: &Rect, name: impl FnOnce() -> String) -> Option<Finding> {
    let depth_m = p.rect.depth_m(other);
    (depth_m > TOUCHING_M).then(|| {
        let path = place_path(p.array, p.place);
        Finding::new(&ON, Level::Caution, path, &[depth_m], &COMMON_PRACTICE).named([p.label(), name()])
    })
}

/// A panel over a lid's swing, an exit or a gas vent, or one that runs into something.
fn over(plan: &Plan, p: &Placed<'_>, thing: &Thing<'_>) -> Outcome {
    let depth_m = p.rect.depth_m(&thing.rect.wider(thing.swing_m));
    if depth_m <= TOUCHING_M {
        return Ok(None);
    }
    let what = match thing.kind {
        ObstacleKind::Hatch => "an exit",
        ObstacleKind::RefrigeratorVent => "a vent of a gas appliance",
        ObstacleKind::Pipe => "a vent of the drains",
        ObstacleKind::Vent => "whose lid opens",
        _ if thing.swing_m > 0.0 => "within the swing of its lid or arm",
        // A low one may lie under a panel on feet.
        _ => {
            let is_under = thing.height_m <= roof::heights_m(plan, p.panel)?.0;
            return Ok(if is_under { None } else { onto(p, &thing.rect, || thing.obstacle.id.to_string()) });
        }
    };
    let name = format!("{} ({})", thing.obstacle.id, thing.kind.word());
    let found = Finding::new(&OVER, Level::Stop, place_path(p.array, p.place), &[depth_m], &EXITS);
    Ok(Some(found.named([p.label().as_str(), &name, what])))
}

fn off(plan: &Plan, p: &Placed<'_>) -> Outcome {
    let (roof, edge_m) = roof::outline(plan)?;
    let (right_m, back_m) = (p.rect.y_m + p.rect.w_m, p.rect.x_m + p.rect.l_m);
    let beyond = [edge_m - p.rect.x_m, edge_m - p.rect.y_m, back_m - roof.l_m + edge_m, right_m - roof.w_m + edge_m];
    let most_m = beyond.into_iter().fold(0.0, f64::max);
    Ok((most_m > TOUCHING_M).then(|| {
        Finding::new(&OFF, Level::Caution, place_path(p.array, p.place), &[most_m], &COMMON_PRACTICE).named([p.label()])
    }))
}

/// A shaded panel: a caution beside others in series that stand in the sun.
fn shadow(w: &Work<'_>, shade: &crate::engine::report::PlaceShade) -> Option<Finding> {
    let plan = w.context.plan;
    let least = w.context.rules.shadow_share_pct / 100.0;
    if shade.share <= least {
        return None;
    }
    let (array, here) = (plan.arrays.get(shade.array)?, shade.place);
    let string = roof::string_of(array, here);
    let others = (0..array.places.len()).filter(|i| *i != here && roof::string_of(array, *i) == string);
    let drags = shade.alone > least;
    let names: Vec<&str> =
        others.filter_map(|i| array.places.get(i)).map(|p| p.id.as_str()).filter(|_| drags).collect();
    let level = if names.is_empty() { Level::Note } else { Level::Caution };
    let place = array.places.get(here)?;
    let label = format!("{} {}", array.id, place.id);
    let month = MONTH_NAMES.get(shade.month).copied().unwrap_or("");
    let taken = w.report.roof.shade_taken.get(shade.month);
    let found = Finding::new(
        &SHADOW,
        level,
        place_path(array, place),
        &[shade.share * 100.0, shade.alone * 100.0, taken.map_or(0.0, |taken| taken.wh_day)],
        &COMMON_PRACTICE,
    );
    Some(found.named([label.as_str(), plan.roof.obstacles.get(shade.thing)?.id.as_str(), month, &names.join(", ")]))
}
