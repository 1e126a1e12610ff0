//! Steps that wire an array otherwise: other strings, fewer panels, string fuses, and the wire and breaker they want then.

use crate::arrange::Arrange;
use crate::engine::arrays::string_sums;
use crate::engine::circuit::{Circuit, Node, PathKind};
use crate::engine::context::Context;
use crate::engine::report::Report;
use crate::engine::resistance::{fuse_path, fuses};
use crate::engine::roof::string_of;
use crate::engine::rule::Rules;
use crate::engine::sizing::make::made_of;
use crate::engine::sizing::make_edits;
use crate::engine::{Engine, Finding, Level};
use crate::plan::field::Leaf;
use crate::plan::wiring::{FuseAt, Protection};
use crate::plan::{Edit, FieldPath, Id, Known, Plan, Run, State, Step, Strings, Value};
use crate::standards::fuse::{ratings, smallest_at_least};
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;

use super::fitting::fitting;
use super::placed::restrung;
use super::{NEAR_M, bought, insert};

/// Most layouts with a panel less that are tried. Source: our own choice; each is a whole answer.
const MOST_LAYOUTS: usize = 6;

/// Most strings that are added. Source: our own choice; each is a whole answer.
const MOST_MORE: usize = 4;

/// The steps for a finding; none where this file knows none.
pub(super) fn steps(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    id: &str,
    finding: &Finding,
    before: &Report,
) -> Option<Vec<Step>> {
    let mut suit = |all: Vec<Step>| all.into_iter().map(|s| suited(engine, plan, stock, s, finding, before)).collect();
    Some(match finding.check.id {
        "cold-voc-over-limit" | "pwm-panel-volts-high" | "start-volts-low" => {
            let another = super::controller::another(plan, finding, before);
            suit(rewired(plan, id).into_iter().chain(another).chain(fewer(plan, id)).collect())
        }
        "unlike-panels" if finding.subject.as_str().starts_with("controllers.") => {
            let apart = super::controller::of_its_own(plan, id);
            suit(of_one_length(plan, id)).into_iter().chain(apart).collect()
        }
        "hot-vmp-low" => {
            // The volts that the wire loses may be all that lacks.
            let all: Vec<Step> = suit(rewired(plan, id).into_iter().chain(fewer(plan, id)).collect());
            let (circuit, _) = Circuit::of(plan);
            let c = Context::of(plan, circuit, &stock.truck.fuses);
            let wire = super::path::steps(engine, &c, stock, finding, before);
            // Copper out of proportion, and wire in the place of what lies there, after all else.
            let is_last = |s: &Step| super::nearer::is_heavy(&c, before, s) || super::path::replaces(plan, s);
            let (last, first): (Vec<Step>, Vec<Step>) = wire.into_iter().partition(is_last);
            let (alone, replaced) = super::path::alone(&c, finding, before);
            alone.into_iter().chain(first).chain(all).chain(replaced).chain(last).collect()
        }
        "isc-over-input" | "array-below-bank" => {
            let (circuit, _) = Circuit::of(plan);
            let k = plan.controllers.iter().position(|k| k.id.as_str() == id)?;
            let arrays = circuit.arrays_of(k).filter_map(|i| plan.arrays.get(i));
            // Volts that are too few are more in longer strings only; fewer panels give no more of them.
            let low = finding.check.id == "array-below-bank";
            let of = |a: &crate::plan::Array| {
                let all = rewired(plan, a.id.as_str()).into_iter();
                let rest = if low { longer(a) } else { fewer(plan, a.id.as_str()) };
                all.chain(rest).collect::<Vec<_>>()
            };
            let another = super::controller::another(plan, finding, before);
            suit(another.into_iter().chain(arrays.flat_map(of)).collect())
        }
        "panel-in-shadow" => {
            let array = finding.subject.segments().nth(1)?;
            let alone = rewired(plan, array).into_iter().next_back();
            let alone: Vec<Step> = alone.into_iter().map(|s| suited(engine, plan, stock, s, finding, before)).collect();
            exchanged(engine, plan, stock, finding, before).into_iter().chain(alone).collect()
        }
        "array-small-for-lead" => return Some(more_suited(engine, plan, stock, finding, before)),
        "string-fuse-missing" => {
            let fuses = string_fuses(plan, id, finding);
            let fits = smallest_at_least(FuseFamily::Gpv, finding.n(2)).is_some_and(|a| a <= finding.n(1) + 1e-9);
            if fits && !fuses.is_empty() {
                return Some(fuses);
            }
            // Where no fuse suits them all: fewer strings, or all of one kind, push no more into any than it stands.
            let all = of_controller(plan, id);
            let fewer: Vec<Step> = all.iter().flat_map(|a| fewer_strings(plan, a)).collect();
            let unlike = all.iter().filter(|_| !finding.name(1).is_empty());
            let one_kind = unlike.flat_map(|a| super::settings::alike(plan, a)).collect();
            let rewired: Vec<Step> = suit(fewer).into_iter().chain(suit(one_kind)).collect();
            fuses.into_iter().chain(rewired).collect()
        }
        "string-fuse-rating" => {
            let rated = string_rating(plan, id, finding);
            if !rated.is_empty() {
                // Where the wire is too thin for it, both at once.
                let wired = suit(rated.clone()).into_iter().filter(|s| !rated.contains(s)).collect::<Vec<_>>();
                return Some(rated.into_iter().chain(wired).collect());
            }
            let array = array_on(plan, id)?;
            suit(fewer_strings(plan, &array))
        }
        "series-fuse-unknown" => suit(of_controller(plan, id).iter().flat_map(|a| fewer_strings(plan, a)).collect()),
        _ => return None,
    })
}

/// The arrays of a controller, by name.
fn of_controller(plan: &Plan, controller: &str) -> Vec<String> {
    let on = |a: &&crate::plan::Array| a.controller.known().is_some_and(|id| id.as_str() == controller);
    plan.arrays.iter().filter(|a| a.state.stays()).filter(on).map(|a| a.id.to_string()).collect()
}

/// The array that a run leaves.
fn array_on(plan: &Plan, run: &str) -> Option<String> {
    let run = plan.runs.iter().find(|r| r.id.as_str() == run)?;
    let is = |id: &Known<Id>| plan.arrays.iter().find(|a| id.known() == Some(&a.id)).map(|a| a.id.to_string());
    is(&run.from).or_else(|| is(&run.to))
}

/// String fuses of the rating that their strings want: on all leads of an array that have the same wrong one, and on one.
fn string_rating(plan: &Plan, run: &str, finding: &Finding) -> Vec<Step> {
    let wrong =
        |p: &&Protection| p.state.stays() && p.amps_a.known().is_some_and(|a| (a.0 - finding.n(0)).abs() < 1e-9);
    let rated = |run: &Run| {
        let fuse = run.protection.iter().find(wrong)?;
        let all = ratings(fuse.family.known().copied()?).iter().copied();
        let amps = all.clone().find(|a| *a >= finding.n(1) - 1e-9 && *a <= finding.n(2) + 1e-9)?;
        Some((amps, Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(amps) }))
    };
    let Some(own) = plan.runs.iter().find(|r| r.id.as_str() == run) else { return Vec::new() };
    let Some((amps, edit)) = rated(own) else {
        // One that its label leaves no rating for, where the string wants none.
        let out = fuses(own).find(|f| f.id.as_str() == finding.name(1)).map(|f| out_of(own, f));
        return out.into_iter().collect();
    };
    let one = Step::one(format!("{run} string fuse: {amps} A"), edit);
    let (circuit, _) = Circuit::of(plan);
    let index = plan.runs.iter().position(|r| r.id.as_str() == run);
    let leads = index.and_then(|i| circuit.string_leads_of(plan, i)).map(|leads| leads.runs).unwrap_or_default();
    let beside = leads.iter().filter_map(|i| plan.runs.get(*i)).filter_map(|r| Some((r.id.as_str(), rated(r)?.1)));
    let (names, edits): (Vec<&str>, Vec<Edit>) = beside.unzip();
    let all = Step { name: format!("string fuses on {}: {amps} A", names.join(", ")), edits };
    if names.len() > 1 { vec![all, one] } else { vec![one] }
}

/// A step that leaves an array fewer strings than leads, with the leads that are over taken out, and their fuses where so few
/// strings want none.
fn on_fewer_leads(plan: &Plan, array: &str, mut step: Step) -> Step {
    let index = plan.arrays.iter().position(|a| a.id.as_str() == array);
    let leads = index.and_then(|i| Circuit::of(plan).0.string_leads(plan, i));
    let after = plan.with(&step).ok();
    let left = after.and_then(|p| p.arrays.iter().find(|a| a.id.as_str() == array).map(|a| a.strings.0.len()));
    let (Some(leads), Some(left)) = (leads, left) else { return step };
    let runs: Vec<&Run> = leads.runs.iter().filter_map(|i| plan.runs.get(*i)).collect();
    let (kept, over) = runs.split_at(left.min(runs.len()));
    if over.is_empty() {
        return step;
    }
    step.edits.extend(over.iter().flat_map(|run| super::serve::out(run, "").edits));
    let names: Vec<&str> = over.iter().map(|r| r.id.as_str()).collect();
    step.name.push_str(&format!(", without {}", names.join(" and ")));
    if left as f64 <= Rules::of(plan).unfused_strings {
        for run in kept {
            for fuse in fuses(run) {
                step.edits.push(fuse_out(run, fuse));
                step.name.push_str(&format!(", {} without {}", run.id, fuse.id));
            }
        }
    }
    step
}

/// A fuse taken out: one that is there is said to be.
fn fuse_out(run: &Run, fuse: &Protection) -> Edit {
    let own = FieldPath::of(&["runs", run.id.as_str(), "protection", fuse.id.as_str()]);
    match fuse.state {
        State::Existing => Edit::Set { at: own.join("state"), to: Value::Word(State::Removed.word()) },
        _ => Edit::Remove { at: own },
    }
}

/// The panels of an array in fewer, longer strings.
fn fewer_strings(plan: &Plan, array: &str) -> Vec<Step> {
    let now = plan.arrays.iter().find(|a| a.id.as_str() == array).map_or(0, |a| a.strings.0.len());
    let fewer = |step: &Step| {
        let with = plan.with(step).ok();
        with.and_then(|p| p.arrays.iter().find(|a| a.id.as_str() == array).map(|a| a.strings.0.len() < now))
    };
    let mut all: Vec<Step> = rewired(plan, array).into_iter().filter(|s| fewer(s) == Some(true)).collect();
    // The least that is changed first.
    all.reverse();
    all.into_iter().map(|step| on_fewer_leads(plan, array, step)).collect()
}

/// A fuse in an array's way that is no string's own, taken out: panels limit what they give.
///
/// Source: rules, section 4: an array's way is silent; NEC 690.9(A).
pub(super) fn unfused(plan: &Plan, run: &Run, finding: &Finding, before: &Report) -> Vec<Step> {
    let small = |f: &&Protection| finding.check.id == "fuse-below-design" && f.id.as_str() == finding.name(1);
    let Some(fuse) = fuses(run).find(small) else { return Vec::new() };
    // Where strings want fuses, it may have been meant for one of theirs.
    if before.findings.iter().any(|f| f.check.id == "string-fuse-missing") {
        return meant_for_each(plan, finding, before);
    }
    vec![out_of(run, fuse)]
}

/// Without a fuse that panels need none of.
pub(super) fn out_of(run: &Run, fuse: &Protection) -> Step {
    Step::one(format!("{} without {}: panels limit what they give", run.id, fuse.id), fuse_out(run, fuse))
}

/// More strings of the same panels, with what their ways want then.
pub(super) fn more_suited(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    more(plan).into_iter().map(|s| suited(engine, plan, stock, s, finding, before)).collect()
}

/// Fewer panels in series, more strings.
fn rewired(plan: &Plan, array: &str) -> Vec<Step> {
    let Some(a) = plan.arrays.iter().find(|a| a.id.as_str() == array) else { return Vec::new() };
    let Some(panel) = a.strings.alike() else { return Vec::new() };
    let (series, all) = (a.strings.series(), a.strings.panels());
    let layouts = (1..=all).rev().filter(|s| all % s == 0 && *s != series);
    layouts
        .map(|s| {
            let strings = Strings(vec![vec![panel.clone(); s]; all / s]);
            Step { name: format!("{array}: {strings}"), edits: super::placed::rewired(a, &strings) }
        })
        .collect()
}

/// More strings of the same panels on all arrays at once, with what their ways want then.
pub(super) fn more_on_all(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    finding: &Finding,
    before: &Report,
) -> Vec<Step> {
    let of_each = |by: usize| {
        let all = plan.arrays.iter().filter(|a| a.state.stays());
        let steps: Vec<Step> = all.filter_map(|a| grown(plan, a, by)).collect();
        let names: Vec<&str> = steps.iter().map(|s| s.name.as_str()).collect();
        (steps.len() > 1)
            .then(|| Step { name: names.join("; "), edits: steps.iter().flat_map(|s| s.edits.clone()).collect() })
    };
    let steps: Vec<Step> = (1..=MOST_MORE).filter_map(of_each).collect();
    steps.into_iter().map(|s| suited(engine, plan, stock, s, finding, before)).collect()
}

/// An array with so many strings more, as a step says it; none where its panels are unlike.
fn grown(plan: &Plan, array: &crate::plan::Array, by: usize) -> Option<Step> {
    let string = array.strings.0.first().filter(|_| array.strings.alike().is_some())?;
    let added = string.len() * by;
    let strings = Strings(array.strings.0.iter().cloned().chain(vec![string.clone(); by]).collect());
    let panels = if added == 1 { "panel" } else { "panels" };
    // Panels without a place are taken as lit.
    let lit = if plan.roof.obstacles.is_empty() { "" } else { " clear of shade" };
    let name = format!("{}: {strings}, {added} more {panels} where the roof has room{lit}", array.id);
    let at = FieldPath::of(&["arrays", array.id.as_str(), "strings"]);
    Some(Step::one(name, Edit::Set { at, to: strings.to_value() }))
}

/// More strings of the same panels beside those there are; whether the roof has room for them is to be measured.
fn more(plan: &Plan) -> Vec<Step> {
    let arrays = || plan.arrays.iter().filter(|a| a.state.stays());
    (1..=MOST_MORE).flat_map(|by| arrays().filter_map(move |a| grown(plan, a, by))).collect()
}

/// The same strings with more of their panels in each; whether the roof has room for them is to be measured.
fn longer(array: &crate::plan::Array) -> Vec<Step> {
    let Some(panel) = array.strings.alike() else { return Vec::new() };
    let (series, strings) = (array.strings.series(), array.strings.0.len());
    let step = |by: usize| {
        let grown = Strings(vec![vec![panel.clone(); series + by]; strings]);
        let panels = if by * strings == 1 { "panel" } else { "panels" };
        let name = format!("{}: {grown}, {} more {panels} where the roof has room", array.id, by * strings);
        Step { name, edits: restrung(array, &grown) }
    };
    (1..=MOST_MORE).map(step).collect()
}

/// The breaker or fuse of an array's run in a rating that its current wants, with wire for it where this wire is too thin.
pub(super) fn breaker(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (index, run): (usize, &Run),
    finding: &Finding,
    before: &Report,
) -> Option<Step> {
    let fuse = fuses(run).find(|f| f.id.as_str() == finding.name(1))?;
    let least = before.runs.get(index)?.fuse_min_a.as_ref().ok()?.0;
    let amps = smallest_at_least(*fuse.family.known()?, least)?;
    let at = fuse_path(run, fuse, "amps_a");
    let name = format!("{} {} rated: {amps} A", run.id, fuse.id);
    let mut step = Step::one(name, Edit::Set { at, to: Value::Number(amps) });
    wired(engine, plan, stock, (index, &mut step), finding, before);
    Some(step)
}

/// The same panels in fewer places: what is over stays off the roof, as few as may be.
fn fewer(plan: &Plan, array: &str) -> Vec<Step> {
    let Some(a) = plan.arrays.iter().find(|a| a.id.as_str() == array) else { return Vec::new() };
    let Some(panel) = a.strings.alike() else { return Vec::new() };
    let all = a.strings.panels();
    let mut layouts: Vec<(usize, usize)> = (1..all).map(|s| (s, (all - 1) / s)).filter(|(s, p)| s * p > 0).collect();
    layouts.arrange_by_key(|(s, p)| (all - s * p, *p));
    let step = |(s, p): (usize, usize)| {
        let strings = Strings(vec![vec![panel.clone(); s]; p]);
        Step { name: format!("{array} without {}: {strings}", all - s * p), edits: restrung(a, &strings) }
    };
    layouts.into_iter().take(MOST_LAYOUTS).map(step).collect()
}

/// The arrays of a controller in strings of one length, of every length that one of them has; whether the roof has room for
/// those that are more is to be measured. Of one kind of panel.
fn of_one_length(plan: &Plan, controller: &str) -> Vec<Step> {
    let ids = of_controller(plan, controller);
    let arrays: Vec<&crate::plan::Array> = plan.arrays.iter().filter(|a| ids.contains(&a.id.to_string())).collect();
    let kinds: Vec<Option<&Id>> = arrays.iter().map(|a| a.strings.alike()).collect();
    let Some(Some(panel)) = kinds.first().filter(|first| kinds.iter().all(|k| k == *first)) else { return Vec::new() };
    let mut lengths: Vec<usize> = arrays.iter().map(|a| a.strings.series()).filter(|s| *s > 0).collect();
    lengths.arrange_by(Ord::cmp);
    lengths.dedup();
    let of_length = |series: usize| {
        let (mut edits, mut names) = (Vec::new(), Vec::new());
        for array in arrays.iter().filter(|a| a.strings.0.iter().any(|s| s.len() != series)) {
            let strings = Strings(vec![vec![(*panel).clone(); series]; array.strings.0.len()]);
            let (now, then) = (array.strings.panels(), strings.panels());
            names.push(match then.checked_sub(now) {
                Some(0) => format!("{}: {strings}", array.id),
                Some(more) => format!("{}: {strings}, {more} more where the roof has room", array.id),
                None => format!("{} without {}: {strings}", array.id, now - then),
            });
            edits.extend(restrung(array, &strings));
        }
        Step { name: names.join("; "), edits }
    };
    lengths.into_iter().map(of_length).collect()
}

/// So many panels fewer of an array of one kind, in every layout of those that are left: strings as long as they are first.
pub(super) fn without(array: &crate::plan::Array, less: usize) -> Vec<Step> {
    let Some(panel) = array.strings.alike() else { return Vec::new() };
    let left = array.strings.panels().saturating_sub(less);
    let now = array.strings.series();
    let mut series: Vec<usize> = (1..=left).filter(|s| left.is_multiple_of(*s)).collect();
    series.arrange_by_key(|s| s.abs_diff(now));
    let step = |s: usize| {
        let strings = Strings(vec![vec![panel.clone(); s]; left / s]);
        Step { name: format!("{} without {less}: {strings}", array.id), edits: restrung(array, &strings) }
    };
    series.into_iter().map(step).collect()
}

/// A panel in another string in exchange for one of that, where fewer panels are held back then: what the same thing shades
/// at the same time belongs together. Of like panels in strings of one length.
fn exchanged(engine: &mut Engine, plan: &Plan, stock: &Stock, finding: &Finding, before: &Report) -> Vec<Step> {
    let mut segments = finding.subject.segments().skip(1);
    let (Some(array), Some(place)) = (segments.next(), segments.nth(1)) else { return Vec::new() };
    let Some(array) = plan.arrays.iter().find(|a| a.id.as_str() == array) else { return Vec::new() };
    let strings: Vec<Option<usize>> = (0..array.places.len()).map(|i| string_of(array, i)).collect();
    let own = array.places.iter().position(|p| p.id.as_str() == place);
    let Some((own, string)) = own.and_then(|i| Some((i, strings.get(i).copied()??))) else { return Vec::new() };
    let like = array.strings.alike().is_some() && array.strings.0.iter().all(|s| s.len() == array.strings.series());
    let held = |r: &Report| {
        let back = r.findings.iter().filter(|f| f.check.id == "panel-in-shadow" && f.level == Level::Caution);
        back.count()
    };
    let exchange = |(other, to): (usize, usize)| {
        let new = |i: usize, now: usize| {
            if i == own {
                to
            } else if i == other {
                string
            } else {
                now
            }
        };
        let each = array.places.iter().zip(&strings).enumerate();
        let edits = each.map(|(i, (place, now))| {
            let at = FieldPath::of(&["arrays", array.id.as_str(), "places", place.id.as_str(), "string"]);
            Some(Edit::Set { at, to: Value::Number((new(i, (*now)?) + 1) as f64) })
        });
        let name = format!("{place} strung in exchange for {}: it into string {}", array.places.get(other)?.id, to + 1);
        Some(Step { name, edits: edits.collect::<Option<_>>()? })
    };
    let others = strings.iter().enumerate().filter_map(|(i, s)| Some((i, (*s)?)));
    let others: Vec<(usize, usize)> = others.filter(|(_, s)| like && *s != string).collect();
    let steps = others.into_iter().filter_map(exchange);
    steps.filter(|s| plan.with(s).is_ok_and(|with| held(&engine.evaluate(&with, stock)) < held(before))).collect()
}

/// A step that wires an array otherwise, with the string fuses, the breaker and the wire that it wants then.
pub(super) fn suited(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    mut step: Step,
    finding: &Finding,
    before: &Report,
) -> Step {
    let Ok(with) = plan.with(&step) else { return step };
    let after = engine.evaluate_wires(&with, stock);
    let missing = after.findings.iter().filter(|f| f.check.id == "string-fuse-missing");
    let fused = missing.flat_map(|f| string_fuses(&with, f.subject.split_last().1, f)).next();
    if let Some(fused) = fused {
        step.edits.extend(fused.edits);
        step.name.push_str(", fused");
    }
    let (circuit, _) = Circuit::of(&with);
    let ways = circuit.ways.iter().filter(|w| w.kind == PathKind::Array && matches!(w.end, Node::Array(_)));
    for index in ways.flat_map(|w| w.runs.clone()) {
        wired(engine, plan, stock, (index, &mut step), finding, before);
    }
    step
}

/// A run of the array's way with a breaker for its new current, and wire for both, where a stop has come to it.
fn wired(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (index, step): (usize, &mut Step),
    finding: &Finding,
    before: &Report,
) {
    let stops = |r: &Report| {
        let of = |f: &&Finding| {
            f.level == Level::Stop
                && plan.runs.get(index).is_some_and(|x| f.subject.as_str() == format!("runs.{}", x.id))
        };
        r.findings.iter().filter(of).any(|f| !before.says(f) || f.identity() == finding.identity())
    };
    let mut evaluate =
        |step: &Step| Some((plan.with(step).ok()?, engine.evaluate_wires(&plan.with(step).ok()?, stock)));
    let Some((with, after)) = evaluate(step).filter(|(_, r)| stops(r)) else { return };
    let (Some(run), Some(figures)) = (with.runs.get(index), after.runs.get(index)) else { return };
    let least = figures.fuse_min_a.as_ref().map_or(0.0, |a| a.0);
    for f in fuses(run).filter(|f| f.family.known().is_some_and(|k| *k != FuseFamily::Gpv)) {
        let amps = f.family.known().and_then(|k| smallest_at_least(*k, least));
        if let Some(amps) = amps.filter(|a| f.amps_a.known().is_some_and(|now| now.0 < *a)) {
            step.edits.push(Edit::Set { at: fuse_path(run, f, "amps_a"), to: Value::Number(amps) });
            step.name.push_str(&format!(", {} {} {amps} A", run.id, f.id));
        }
    }
    let Some(now) = made_of(run) else { return };
    let (circuit, _) = Circuit::of(&with);
    let c = Context::of(&with, circuit, &stock.truck.fuses);
    for make in fitting(&c, index).into_iter().filter(|m| m.area_mm2() > now.area_mm2() - 1e-9) {
        let mut wider = step.clone();
        if make != now {
            wider.edits.extend(make_edits(run, make, true));
            wider.name.push_str(&format!(", {} {make}", run.id));
            wider = bought::wire(plan, wider);
        }
        if evaluate(&wider).is_some_and(|(_, r)| !stops(&r)) {
            *step = wider;
            return;
        }
    }
}

/// A fuse in every string, on the run that leaves each array.
pub(in crate::engine) fn string_fuses(plan: &Plan, controller: &str, finding: &Finding) -> Vec<Step> {
    // One rating cannot suit unlike strings on one run.
    if !finding.name(2).is_empty() {
        return Vec::new();
    }
    let (circuit, _) = Circuit::of(plan);
    let factor = Rules::of(plan).string_fuse_factor;
    let rating = |array: &crate::plan::Array| {
        let of = |string: &Vec<crate::plan::Id>| Some(string_sums(plan, array, string).ok()?.isc_a);
        let largest_a = array.strings.0.iter().filter_map(of).fold(0.0, f64::max);
        smallest_at_least(FuseFamily::Gpv, largest_a * factor)
    };
    let Some(k) = plan.controllers.iter().position(|k| k.id.as_str() == controller) else { return Vec::new() };
    let (mut edits, mut all, mut moved) = (Vec::new(), Vec::new(), Vec::new());
    for array in circuit.arrays_of(k) {
        let Some(amps) = plan.arrays.get(array).and_then(rating) else { return Vec::new() };
        let leads = circuit.string_leads(plan, array);
        let one = plan.arrays.get(array).is_some_and(|a| a.strings.0.len() == 1);
        let single = one || leads.as_ref().is_some_and(|leads| leads.each == Some(1));
        let first = circuit.way_of(PathKind::Array, Node::Array(array)).and_then(|w| w.runs.first().copied());
        for i in leads.map_or_else(|| first.into_iter().collect(), |leads| leads.runs) {
            let Some(run) = plan.runs.get(i).filter(|r| !single || fuses(r).next().is_none()) else { continue };
            // On a lead with one string at the combiner; before strings are joined at their own end.
            let near_from = circuit.links.get(i).is_some_and(|l| l.near_from);
            let at = if near_from == single { FuseAt::From } else { FuseAt::To };
            // One that is drawn where they are joined, and is of one string's size, was meant for one in each.
            let meant = |f: &&Protection| {
                let small = f.amps_a.known().is_some_and(|a| a.0 <= finding.n(1) + 1e-9);
                !single && small && f.family.known() == Some(&FuseFamily::Gpv) && !matches!(f.at, FuseAt::Leg)
            };
            if let Some(fuse) = fuses(run).find(meant).filter(|f| f.at != at) {
                let set = |field: &str, to: Value| Edit::Set { at: fuse_path(run, fuse, field), to };
                edits.extend([
                    set("at", Value::Word(at.word())),
                    set("amps_a", Value::Number(amps)),
                    set("distance_m", Value::Number(NEAR_M)),
                ]);
                moved.push(format!("{} {} as one in each string of {}", run.id, fuse.id, array_at(run, at)));
                continue;
            }
            edits.push(insert(run, at, FuseFamily::Gpv, amps));
        }
        if !all.contains(&amps) {
            all.push(amps);
        }
    }
    let amps = all.iter().map(|a| format!("{a} A")).collect::<Vec<_>>().join(" and ");
    let how = if moved.is_empty() {
        String::new()
    } else {
        format!(", {}, ahead of where they are joined", moved.join(", "))
    };
    let name = format!("{controller}: string fuses {amps}{how}");
    if edits.is_empty() { Vec::new() } else { vec![Step { name, edits }] }
}

/// The array at an end of a run, by name.
fn array_at(run: &Run, at: FuseAt) -> String {
    let end = if at == FuseAt::From { &run.from } else { &run.to };
    end.known().map_or_else(String::new, ToString::to_string)
}

/// The same where one fuse of a string's size is drawn for all strings of an array: it is told as too small for them, too.
fn meant_for_each(plan: &Plan, finding: &Finding, before: &Report) -> Vec<Step> {
    let about = |s: &Step| {
        let own = format!("runs.{}.protection.{}.at", finding.name(0), finding.name(1));
        s.edits.iter().any(|e| matches!(e, Edit::Set { at, .. } if at.as_str() == own))
    };
    let missing = before.findings.iter().filter(|f| f.check.id == "string-fuse-missing");
    let all = missing.flat_map(|f| string_fuses(plan, f.subject.segments().nth(1).unwrap_or_default(), f));
    all.filter(about).collect()
}
