//! String fuses: needed where the other strings can push more into one than its panels or its lead stand.

use crate::engine::Work;
use crate::engine::arrays;
use crate::engine::circuit::{Node, PathKind, Role};
use crate::engine::context::at;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::resistance::{fuse_path, fuses};
use crate::plan::{Controller, FieldPath, Figure, Missing, Protection, Run};
use crate::standards::cited::{INSTRUCTIONS, STRING_FUSE};
use crate::standards::fuse::smallest_at_least;
use crate::standards::kinds::FuseFamily;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::{apart, rated};

static STRING_FUSES: Check = Check {
    id: "string-fuse-missing",
    safety: true,
    say: |f| {
        let like = f.name(1).is_empty();
        let who = match (f.name(3), like) {
            ("", true) => "every string needs".to_string(),
            ("", false) => "that one needs".to_string(),
            (bare, _) if bare.contains(' ') => format!("those on {bare}, which have none, need each"),
            (bare, _) => format!("the one on {bare}, which has none, needs"),
        };
        let wanted = match string_fuse_span(f.n(2), f.n(1)) {
            Ok(span) => format!("{who} a fuse of {span}"),
            Err(none) => {
                format!("{who} a fuse, {none}; fewer strings, or panels and leads that stand more, would do")
            }
        };
        let (pushes, stands) = apart(f.n(0), f.n(1), 1);
        let one = if like { "one that".to_string() } else { format!("that of {}, which", f.name(1)) };
        let apart = match f.name(2) {
            "" => String::new(),
            array => format!("; each string of {array} drawn as an array of its own can have a fuse of its own"),
        };
        let also = match f.name(4) {
            "" => String::new(),
            panels => format!("; so do those of {panels}, into which the others push more than they stand"),
        };
        format!(
            "{}: the other strings can push {pushes} A into {one} stands {stands} A; {wanted}{also}{apart}",
            f.name(0)
        )
    },
};
static STRING_RATING: Check = Check {
    id: "string-fuse-rating",
    safety: true,
    say: |f| {
        let wanted = match string_fuse_span(f.n(1), f.n(2)) {
            Ok(span) => format!("wanted {span}"),
            Err(none) => format!("wanted {none}"),
        };
        if !f.name(1).is_empty() {
            let (run, fuse, most) = (f.name(0), f.name(1), rated(f.n(2)));
            return format!(
                "{run}: {fuse} of {} A in the lead of one string, whose panels' label allows {most} A at most; {wanted}",
                rated(f.n(0))
            );
        }
        format!("{}: string fuse of {} A, {wanted}", f.name(0), rated(f.n(0)))
    },
};
static UNSHARED: Check = Check {
    id: "string-leads-unshared",
    safety: false,
    say: |f| {
        format!(
            "{}: its {:.0} strings come down on {:.0} runs, {}, and nothing says which string is on which: what flows in each is \
             not checked; draw each string as an array of its own",
            f.name(0),
            f.n(0),
            f.n(1),
            f.name(1)
        )
    },
};
static SERIES_UNKNOWN: Check = Check {
    id: "series-fuse-unknown",
    safety: false,
    say: |f| format!("{}: {:.0} strings and the panel's maximum series fuse is not known", f.name(0), f.n(0)),
};

/// What a string fuse may be, from and to; or that there is none.
fn string_fuse_span(least_a: f64, most_a: f64) -> Result<String, String> {
    // At least so much: a rounded limit must not fall under it.
    let (least, most) = (format!("{:.1}", (least_a * 10.0 - 1e-6).ceil() / 10.0), rated(most_a));
    if least_a > most_a + 1e-9 {
        return Err(format!("of {least} A at least and {most} A at most: none fits"));
    }
    let made = smallest_at_least(FuseFamily::Gpv, least_a).is_some_and(|a| a <= most_a + 1e-9);
    let span = format!("{least} A to {most} A");
    if made { Ok(span) } else { Err(format!("of {span}: no PV fuse is made there")) }
}

/// One string of a controller.
struct One {
    array: usize,
    isc_a: f64,
    /// Smallest maximum series fuse of its panels; none where one is unknown.
    series_a: Option<f64>,
    /// Of what panels it is.
    panels: String,
}

fn strings_of(w: &Work<'_>, controller: usize) -> Figure<Vec<One>> {
    let plan = w.context.plan;
    let mut all = Vec::new();
    for index in w.context.circuit.arrays_of(controller) {
        let Some(array) = plan.arrays.get(index) else { continue };
        for string in &array.strings.0 {
            let isc_a = arrays::string_sums(plan, array, string)?.isc_a;
            let mut one = One { array: index, isc_a, series_a: Some(f64::MAX), panels: String::new() };
            for id in string {
                let series = arrays::panel(plan, array, id)?.series_fuse_a.known().map(|a| a.0);
                one.series_a = one.series_a.and_then(|least| series.map(|x| least.min(x)));
                if one.panels.is_empty() {
                    one.panels = id.to_string();
                }
            }
            all.push(one);
        }
    }
    Ok(all)
}

/// Of three strings and more, unknown labels are asked for; of two what is known is judged, as unlike ones can be more than
/// the smaller stands.
///
/// Source: NEC 690.9(A); 690.8 and 690.9(B) for the rating.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered, i: usize, k: &Controller) {
    let path = || FieldPath::new(format!("controllers.{}", k.id));
    let strings = match strings_of(w, i) {
        Ok(all) => all,
        Err(missing) => return out.take(&STRING_FUSES, path, Err(missing)),
    };
    let told: Vec<bool> = w.context.circuit.arrays_of(i).map(|array| shared_out(w, out, array)).collect();
    if told.contains(&false) {
        return;
    }
    let spared = strings.len() as f64 <= w.context.rules.unfused_strings;
    let factor = w.context.rules.array_current_factor;
    let total_a: f64 = strings.iter().map(|s| s.isc_a).sum();
    let wants = |s: &One| s.series_a.is_some_and(|a| (total_a - s.isc_a) * factor > a + 1e-9);
    if strings.len() < 2 || (spared && !strings.iter().any(wants)) {
        labelled(w, out, i);
    }
    if strings.len() < 2 || (spared && strings.len() > 2) {
        return;
    }
    if !spared && strings.iter().any(|s| s.series_a.is_none()) {
        return unknown(w, out, i, k, strings.len());
    }
    let mut worst: Option<(f64, f64, &One)> = None;
    let mut wanting: Vec<&str> = Vec::new();
    for s in &strings {
        let Some((back_a, series_a)) = s.series_a.map(|a| ((total_a - s.isc_a) * factor, a)) else { continue };
        let stands_a = lead_ampacity_a(w, s.array).map_or(series_a, |lead| lead.min(series_a));
        let over = |(back, stands, _): &(f64, f64, &One)| back / stands.max(1e-9);
        let next = (back_a, stands_a, s);
        if is_fused(w, s.array) || back_a <= stands_a + 1e-9 {
            continue;
        }
        if !wanting.contains(&s.panels.as_str()) {
            wanting.push(&s.panels);
        }
        if worst.as_ref().is_none_or(|worst| over(&next) > over(worst)) {
            worst = Some(next);
        }
    }
    for array in w.context.circuit.arrays_of(i) {
        fitted(w, out, k, array, &strings, spared);
    }
    if let Some((back_a, stands_a, s)) = worst {
        let like = strings.iter().all(|x| (x.isc_a - s.isc_a).abs() < 1e-9);
        let own = |x: &&One| x.array == s.array && !like;
        let beside = strings.iter().filter(own).count() > 1;
        let array = w.context.plan.arrays.get(s.array).filter(|_| beside).map_or("", |a| a.id.as_str());
        let least_a = s.isc_a * w.context.rules.string_fuse_factor;
        let numbers = [back_a, stands_a, least_a];
        let found = Finding::new(&STRING_FUSES, Level::Stop, path(), &numbers, STRING_FUSE.of(w.context.rules.basis));
        let panels = if like { "" } else { s.panels.as_str() };
        let bare = if like { bare_leads(w, i) } else { String::new() };
        // Of like strings all are meant.
        wanting.retain(|other| !like && *other != s.panels);
        let also = wanting.join(" and ");
        out.take(
            &STRING_FUSES,
            path,
            Ok(Some(found.named([k.id.as_str(), panels, array, bare.as_str(), also.as_str()]))),
        );
    }
}

/// Strings on leads of their own where nothing says which is on which: what flows in each lead, and what could be pushed
/// into it, waits.
fn shared_out(w: &Work<'_>, out: &mut Gathered, array: usize) -> bool {
    let plan = w.context.plan;
    let leads = w.context.circuit.string_leads(plan, array).filter(|leads| leads.each.is_none());
    let (Some(leads), Some(array)) = (leads, plan.arrays.get(array)) else { return true };
    let path = || arrays::path_of(array);
    let names: Vec<&str> = leads.runs.iter().filter_map(|i| plan.runs.get(*i)).map(|r| r.id.as_str()).collect();
    let numbers = [leads.strings as f64, leads.runs.len() as f64];
    let found = Finding::new(&UNSHARED, Level::Caution, path(), &numbers, &COMMON_PRACTICE);
    out.take(&UNSHARED, path, Ok(Some(found.named([array.id.to_string(), names.join(", ")]))));
    out.take(&STRING_FUSES, path, Err(Missing(path().join("strings"))));
    false
}

/// The labels nobody has entered.
fn unknown(w: &Work<'_>, out: &mut Gathered, i: usize, k: &Controller, count: usize) {
    let path = || FieldPath::new(format!("controllers.{}", k.id));
    for array in w.context.circuit.arrays_of(i).filter_map(|a| w.context.plan.arrays.get(a)) {
        let panels = array.strings.0.iter().flatten().filter_map(|id| arrays::panel(w.context.plan, array, id).ok());
        for panel in panels.filter(|p| p.series_fuse_a.known().is_none()) {
            out.wait(at("panels", &panel.id, "series_fuse_a"));
        }
    }
    let source = STRING_FUSE.of(w.context.rules.basis);
    let found = Finding::new(&SERIES_UNKNOWN, Level::Caution, path(), &[count as f64], source);
    out.take(&SERIES_UNKNOWN, path, Ok(Some(found.named([&k.id]))));
}

/// The string fuses of an array: their place and their rating, by the strings that they are in.
fn fitted(w: &Work<'_>, out: &mut Gathered, k: &Controller, array: usize, strings: &[One], spared: bool) {
    let path = || FieldPath::new(format!("controllers.{}", k.id));
    let own = || strings.iter().filter(|s| s.array == array);
    let total_a: f64 = strings.iter().map(|s| s.isc_a).sum();
    let smallest_a = own().map(|s| s.isc_a).fold(f64::MAX, f64::min);
    let back_a = (total_a - smallest_a) * w.context.rules.array_current_factor;
    let leads = leads(w, array);
    for (index, run, fuse) in leads.runs.iter().filter_map(|i| string_fuse(w, &leads, *i)) {
        if let Some(link) = w.context.circuit.links.get(index).filter(|_| leads.single && !spared) {
            let placed = super::string_place::of(w, index, run, link, fuse, back_a);
            out.take(&super::string_place::PLACE, path, placed);
        }
        // What is in the lead of one of two strings that need no string fuses is none.
        let Some(series_a) = own().map(|s| s.series_a).min_by(smaller).flatten() else { continue };
        if spared && back_a <= series_a + 1e-9 {
            continue;
        }
        let least_a = own().map(|s| s.isc_a).fold(0.0, f64::max) * w.context.rules.string_fuse_factor;
        let outcome = fuse.amps_a.at(|| fuse_path(run, fuse, "amps_a")).map(|a| {
            let wrong = a.0 < least_a - 1e-9 || a.0 > series_a + 1e-9;
            wrong.then(|| {
                let subject = FieldPath::new(format!("runs.{}", run.id));
                let source = STRING_FUSE.of(w.context.rules.basis);
                Finding::new(&STRING_RATING, Level::Stop, subject, &[a.0, least_a, series_a], source).named([&run.id])
            })
        });
        out.take(&STRING_RATING, path, outcome);
    }
}

/// A fuse in the lead of one string that wants none for the sake of others: its panels' label has a most for it all the same. A
/// breaker is the array's disconnect there.
///
/// Source: NEC 110.3(B), the panel's label: maximum series fuse.
fn labelled(w: &Work<'_>, out: &mut Gathered, controller: usize) {
    let (plan, circuit, rules) = (w.context.plan, &w.context.circuit, &w.context.rules);
    let own = |i: usize| {
        circuit
            .links
            .get(i)
            .is_some_and(|l| circuit.arrays_of(controller).any(|array| l.away.contains(&Node::Array(array))))
    };
    for (i, run) in plan.runs.iter().enumerate() {
        let Some(array) = arrays::alone_on(plan, circuit, i).filter(|_| own(i)) else { continue };
        let Some(most_a) = arrays::series_fuse_a(plan, array) else { continue };
        let least_a = arrays::string_fuse_least_a(plan, array, rules.string_fuse_factor);
        let is_large = |f: &&Protection| {
            f.family.known() != Some(&FuseFamily::Breaker) && f.amps_a.known().is_some_and(|a| a.0 > most_a + 1e-9)
        };
        for fuse in fuses(run).filter(is_large) {
            let numbers = [fuse.amps_a.known().map_or(0.0, |a| a.0), least_a, most_a];
            let subject = || FieldPath::new(format!("runs.{}", run.id));
            let found = Finding::new(&STRING_RATING, Level::Caution, subject(), &numbers, INSTRUCTIONS.of(rules.basis));
            out.take(&STRING_RATING, subject, Ok(Some(found.named([run.id.as_str(), fuse.id.as_str()]))));
        }
    }
}

/// An unknown one is the smallest.
fn smaller(a: &Option<f64>, b: &Option<f64>) -> std::cmp::Ordering {
    a.unwrap_or(f64::MIN).total_cmp(&b.unwrap_or(f64::MIN))
}

/// The runs that leave an array.
struct Leads {
    runs: Vec<usize>,
    /// Whether each of them carries one string.
    single: bool,
}

/// The run that leaves an array, or those that its strings come down on.
fn leads(w: &Work<'_>, array: usize) -> Leads {
    let (plan, circuit) = (w.context.plan, &w.context.circuit);
    if let Some(leads) = circuit.string_leads(plan, array) {
        return Leads { single: leads.each == Some(1), runs: leads.runs };
    }
    let first = circuit.way_of(PathKind::Array, Node::Array(array)).and_then(|way| way.runs.first().copied());
    let single = plan.arrays.get(array).is_some_and(|a| a.strings.0.len() == 1);
    Leads { runs: first.into_iter().collect(), single }
}

/// Smallest ampacity of an array's leads where each carries one string.
fn lead_ampacity_a(w: &Work<'_>, array: usize) -> Option<f64> {
    let leads = leads(w, array);
    let carries = |i: &usize| Some(w.found.get(*i)?.capacity.as_ref().ok()?.weakest.amps);
    leads
        .runs
        .iter()
        .filter(|_| leads.single)
        .map(carries)
        .try_fold(f64::MAX, |least, a| Some(least.min(a?)))
        .filter(|a| *a < f64::MAX)
}

/// Whether every string of an array has a fuse.
fn is_fused(w: &Work<'_>, array: usize) -> bool {
    let leads = leads(w, array);
    !leads.runs.is_empty() && leads.runs.iter().all(|i| string_fuse(w, &leads, *i).is_some())
}

/// The leads with a string each that have no fuse, where others have one; none where all are bare.
fn bare_leads(w: &Work<'_>, controller: usize) -> String {
    let all: Vec<Leads> = w.context.circuit.arrays_of(controller).map(|array| leads(w, array)).collect();
    if all.iter().any(|l| !l.single) {
        return String::new();
    }
    let of = |l: &Leads| l.runs.iter().map(|i| (*i, string_fuse(w, l, *i).is_some())).collect::<Vec<_>>();
    let (fused, bare): (Vec<_>, Vec<_>) = all.iter().flat_map(of).partition(|(_, fused)| *fused);
    let names: Vec<&str> = bare.iter().filter_map(|(i, _)| Some(w.context.plan.runs.get(*i)?.id.as_str())).collect();
    match names.split_last() {
        Some((last, [])) if !fused.is_empty() => (*last).to_string(),
        Some((last, rest)) if !fused.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => String::new(),
    }
}

/// The fuse in each string that is on a run which leaves an array.
fn string_fuse<'a>(w: &'a Work<'_>, leads: &Leads, index: usize) -> Option<(usize, &'a Run, &'a Protection)> {
    let link = w.context.circuit.links.get(index)?;
    let run = w.context.plan.runs.get(index)?;
    let own = link.role == Role::Array;
    fuses(run)
        .find(|f| own && (leads.single || crate::engine::protection::is_string_fuse(w.context, index, f)))
        .map(|f| (index, run, f))
}
