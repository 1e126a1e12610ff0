//! Links between batteries in parallel: leads taken off at opposite corners, thicker links, links of two cables; and a link that
//! is drawn as a run entered where it counts.

use crate::engine::checks::rule_value_of;
use crate::engine::circuit::Circuit;
use crate::engine::finding::Finding;
use crate::engine::resistance::{legs, length_m};
use crate::plan::entry::{self, Units};
use crate::plan::power::Joined;
use crate::plan::{Edit, FieldPath, Known, Plan, Run, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};

use super::alike;

fn set(field: &str, to: Value) -> Edit {
    Edit::Set { at: FieldPath::from("bank").join(field), to }
}

/// The steps for a finding about links; none where this file knows none.
pub(super) fn steps(plan: &Plan, finding: &Finding) -> Vec<Step> {
    match finding.check.id {
        "batteries-joined-twice" => {
            let edit = set("joined", Value::Word(Joined::Leads.word()));
            vec![Step::one("batteries: joined by the leads that are drawn, without links", edit)]
        }
        "battery-link-below-current" | "battery-link-below-fuse" | "parallel-too-thin" => thicker(plan, None),
        _ => evener(plan),
    }
}

/// What brings each battery nearer to an even part, the least trouble first; nothing where no links join them.
pub(super) fn evener(plan: &Plan) -> Vec<Step> {
    let bank = &plan.bank;
    let joined = bank.joined.as_ref().and_then(Known::known);
    let has_links = bank.parallel.known().is_some_and(|n| n.0 > 1.0);
    if !has_links || !matches!(joined, Some(Joined::OneEnd | Joined::Corners)) {
        return Vec::new();
    }
    let corners = (joined == Some(&Joined::OneEnd)).then(|| {
        let edit = set("joined", Value::Word(Joined::Corners.word()));
        Step::one("bank leads at opposite corners: plus at the first battery, minus at the last", edit)
    });
    let both = corners.as_ref().map_or_else(Vec::new, |corners| thicker(plan, Some(corners)));
    // What the trade does where links are not even enough: as on a plan without links, all meet at one bar.
    let edits = vec![set("joined", Value::Word(Joined::Leads.word())), set("link_gauge", Value::Nothing)];
    let apart = Step { name: "batteries: an equal lead from each to one bar, no links".into(), edits };
    corners.into_iter().chain(thicker(plan, None)).chain(both).chain([apart]).collect()
}

/// Limits of the bank that one battery of several comes to before the others.
const LIMITS: [&str; 4] =
    ["discharge-over-limit", "inverter-over-discharge-limit", "inverter-surge-over-peak", "charge-over-limit"];

/// The steps for a finding, ahead of them what brings batteries nearer to even parts, where it is a limit of theirs.
pub(super) fn before(plan: &Plan, finding: &Finding, steps: Vec<Step>) -> Vec<Step> {
    if !LIMITS.contains(&finding.check.id) {
        return steps;
    }
    let leads = alike::leads(plan, &Circuit::of(plan).0);
    leads.into_iter().chain(evener(plan)).chain(steps).collect()
}

/// Links of every thicker gauge that the posts are known to take, then of two cables, where those may share; beside a step.
fn thicker(plan: &Plan, beside: Option<&Step>) -> Vec<Step> {
    let bank = &plan.bank;
    let Some(gauge) = bank.link_gauge.as_ref().and_then(Known::known).copied() else { return Vec::new() };
    let largest = bank.ratings.largest_wire.as_ref().and_then(Known::known).copied();
    let fits = |g: &Gauge| largest.is_none_or(|most| area_mm2(*g) <= area_mm2(most) + 1e-9);
    let with = |name: String, edits: Vec<Edit>| match beside {
        Some(other) => {
            let first = other.name.split(':').next().unwrap_or_default();
            Step { name: format!("{first} and {name}"), edits: [other.edits.clone(), edits].concat() }
        }
        None => Step { name, edits },
    };
    let each = bank.links_each.as_ref().and_then(Known::known).map_or(1.0, |n| n.0);
    let least_mm2 = rule_value_of(plan, "parallel-least-mm2");
    let enough = |g: &Gauge| area_mm2(*g) >= least_mm2 - 1e-9;
    // Of cables that may not share one counts: a single one takes their place.
    let was_thin = each > 1.0 && !enough(&gauge);
    let single = gauge.ladder().filter(|g| *g > gauge || was_thin && *g == gauge).filter(fits);
    let one = single.map(|g| {
        if each > 1.0 && !enough(&g) {
            let edits = vec![set("link_gauge", Value::Gauge(g)), set("links_each", Value::Nothing)];
            return with(format!("bank links of one cable: {g}"), edits);
        }
        with(format!("bank links thicker: {g}"), vec![set("link_gauge", Value::Gauge(g))])
    });
    let double = gauge.ladder().filter(|g| *g >= gauge).filter(fits).filter(|g| each < 2.0 && enough(g));
    let two = double.map(|g| {
        let edits = vec![set("link_gauge", Value::Gauge(g)), set("links_each", Value::Number(2.0))];
        with(format!("bank links of two cables: 2 x {g}, where the posts take both lugs"), edits)
    });
    one.chain(two).collect()
}

/// A run from the bank to itself, as what it is: of batteries in parallel a link, entered at the bank; of batteries in series
/// alone it stays; with one battery it leads nowhere.
pub(super) fn of_run(plan: &Plan, run: &Run) -> Option<Step> {
    let bank = &plan.bank;
    let count = |k: &Known<crate::units::Number>| k.known().map_or(1.0, |n| n.0);
    let out = Edit::Remove { at: FieldPath::of(&["runs", run.id.as_str()]) };
    if count(&bank.parallel) < 2.0 {
        let nowhere = || Step::one(format!("{} removed: it leads nowhere", run.id), out);
        return (count(&bank.series) < 2.0).then(nowhere);
    }
    if bank.link_gauge.is_some() {
        return Some(Step::one(format!("{} removed: the bank's own links are entered", run.id), out));
    }
    let gauge = run.gauge.known()?;
    let mut edits = vec![set("link_gauge", Value::Gauge(*gauge))];
    let mut said = format!("{} taken into the bank: links of {gauge}", run.id);
    let mut numbers = Vec::new();
    if let Ok(long) = length_m(run) {
        edits.push(set("link_length_m", Value::Number(long)));
        said.push_str(&format!(", {:.0} mm each", long * 1000.0));
        numbers.push(long * 1000.0);
    }
    if let Some(leg) = legs(run).next() {
        if let Known::Is(c) = leg.insulation_c {
            edits.push(set("link_insulation_c", Value::Number(c.0)));
        }
        if let Some(each) = leg.per_pole.known().filter(|n| n.0 > 1.0) {
            edits.push(set("links_each", Value::Number(each.0)));
        }
    }
    if bank.joined.is_none() {
        edits.push(set("joined", Value::Unknown));
        said.push_str("; where the leads are taken off is asked");
    }
    edits.push(out);
    Some(Step { name: entry::said(Units::of(plan), &said, &numbers), edits })
}
