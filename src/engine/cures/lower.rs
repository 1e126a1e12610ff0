//! Chargers that are set to give less: those behind a device that passes too much; and what a bank is charged with, by what each
//! costs the year.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::circuit::{Circuit, Node, Role, node_of};
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::engine::starting::source_of;
use crate::plan::{Edit, FieldPath, Id, Plan, Step, Value};
use crate::stock::Stock;

use super::{links, settings};

/// Whole amperes above the proportion that are tried first: less output asks for less than its share of input, as the line loses
/// less. Source: constant power over a line, V^2 - V E + P R = 0.
const ABOVE: u32 = 3;
/// Whole amperes that are tried from there down. Source: our own choice.
const TRIED: u32 = 6;
/// Shares of what brings the sum down to the limit: a controller that its panels do not fill gives less than it is set to.
const SHARES: [f64; 3] = [1.0, 0.85, 0.7];

fn set(list: &str, id: &Id, amps: f64) -> Edit {
    Edit::Set { at: FieldPath::new(format!("{list}.{id}.out_a")), to: Value::Number(amps) }
}

/// The charger whose input passes a device, set to the largest whole ampere that the device passes.
pub(super) fn behind_device(plan: &Plan, device: &str, before: &Report) -> Vec<Step> {
    let (circuit, _) = Circuit::of(plan);
    let (Some(node), Some(own)) = (node_of(plan, device), plan.devices.iter().find(|d| d.id.as_str() == device)) else {
        return Vec::new();
    };
    let Some(rated) = own.ratings.amps_a.as_ref().and_then(|a| a.known()) else { return Vec::new() };
    let inputs = circuit.links.iter().enumerate().filter(|(_, l)| l.role == Role::ChargerInput);
    let mut all: Vec<Step> = Vec::new();
    for (i, link) in inputs.filter(|(_, l)| [l.from, l.to].contains(&Some(node))) {
        let Some(figures) = before.runs.get(i) else { continue };
        let (Ok(design), Ok(least)) = (&figures.design_a, &figures.fuse_min_a) else { continue };
        let wants_a = least.0.max(design.0);
        for charger in &link.away {
            let Node::Charger(charger) = charger else { continue };
            let Some(charger) = plan.chargers.get(*charger) else { continue };
            let Some(now) = charger.out_a.known().map(|a| a.0).filter(|_| wants_a > rated.0) else { continue };
            let most = (now * rated.0 / wants_a).floor() + f64::from(ABOVE);
            let sizes = (0..TRIED).map(|n| most - f64::from(n)).filter(|a| *a >= 1.0 && *a < now - 1e-9);
            let id = &charger.id;
            let step =
                |amps: f64| Step::one(format!("{id}: {amps} A, another or set lower"), set("chargers", id, amps));
            all.extend(sizes.map(step));
        }
    }
    all
}

/// Something that charges, and the amperes that it is set to.
type Source<'a> = (&'static str, &'a Id, f64);

/// Solar controllers and chargers that stay; what a converter parts from the bank is none of its.
fn sources(plan: &Plan) -> Vec<Source<'_>> {
    let (circuit, _) = Circuit::of(plan);
    let charges = |id: &Id| source_of(plan, id.as_str()).is_none_or(|n| circuit.beyond(n).is_none());
    let chargers = plan.chargers.iter().filter(|c| c.state.stays()).map(|c| ("chargers", &c.id, &c.out_a));
    let controllers = plan.controllers.iter().filter(|c| c.state.stays()).map(|c| ("controllers", &c.id, &c.out_a));
    let all = controllers.chain(chargers).filter(|(_, id, _)| charges(id));
    all.filter_map(|(list, id, a)| Some((list, id, a.known()?.0))).collect()
}

/// Against more charge than a bank takes: one or more of what charges it set lower, what costs the year least first; then more
/// batteries, and what brings them nearer to even parts.
pub(super) fn charge(engine: &mut Engine, plan: &Plan, stock: &Stock, finding: &Finding, before: &Report) -> Vec<Step> {
    let (over, share) = (finding.n(0) - finding.n(1), finding.n(1) / finding.n(0).max(1e-9));
    let all = sources(plan);
    let mut tried: Vec<Vec<(Source<'_>, f64)>> = Vec::new();
    for (i, one) in all.iter().enumerate() {
        tried.push(vec![(*one, step_below(one.2 - over))]);
        tried.extend(all.iter().skip(i + 1).filter_map(|other| of_two(*one, *other, over)));
    }
    if all.len() > 1 {
        tried.extend(SHARES.iter().map(|by| all.iter().map(|s| (*s, (s.2 * share * by).floor())).collect()));
    }
    tried.retain(|step| step.iter().all(|(_, amps)| *amps >= 1.0));
    let by_one = all.len();
    let mut found: Vec<((i64, i64, i64), Step)> = Vec::new();
    for sizes in tried {
        // One share for all is enough.
        if sizes.len() == by_one && by_one > 2 && found.iter().any(|(_, s)| s.edits.len() == by_one) {
            continue;
        }
        let step = set_lower(&sizes);
        let Ok(with) = plan.with(&step) else { continue };
        let after = engine.evaluate_wires(&with, stock);
        if after.findings.iter().any(|f| f.identity() == finding.identity()) {
            continue;
        }
        let deepest = sizes.iter().map(|((.., now), amps)| 1.0 - amps / now.max(1e-9)).fold(0.0, f64::max);
        found.push((cost(before, &engine.evaluate_figures(&with, stock), deepest), step));
    }
    found.arrange_by_key(|(cost, _)| *cost);
    let steps = found.into_iter().map(|(_, step)| step).chain(settings::more_batteries(plan, finding)).collect();
    links::before(plan, finding, steps)
}

/// The next step of an output that is no more than so much, A; none where that is not even the smallest.
fn step_below(amps: f64) -> f64 {
    (amps / settings::CHARGER_STEP_A + 1e-9).floor() * settings::CHARGER_STEP_A
}

/// Two of them lower by so much together, each by its part; none where they do not give up so much.
fn of_two<'a>(one: Source<'a>, other: Source<'a>, over: f64) -> Option<Vec<(Source<'a>, f64)>> {
    let left = one.2 + other.2 - over;
    let first = step_below(left * one.2 / (one.2 + other.2).max(1e-9)).max(settings::CHARGER_STEP_A);
    let second = step_below(left - first).min(step_below(other.2));
    (first < one.2 && (settings::CHARGER_STEP_A..other.2).contains(&second))
        .then(|| vec![(one, first), (other, second)])
}

fn set_lower(sizes: &[(Source<'_>, f64)]) -> Step {
    let edits = sizes.iter().map(|((list, id, _), amps)| set(list, id, *amps)).collect();
    let name = match sizes {
        [((_, id, _), amps)] => format!("{id}: {amps} A, another or set lower"),
        [((_, a, _), a_amps), ((_, b, _), b_amps)] => {
            format!("{a} and {b}: {a_amps} A and {b_amps} A, others or set lower")
        }
        all => {
            let each: Vec<String> = all.iter().map(|((_, id, _), amps)| format!("{id} {amps} A")).collect();
            format!("all set lower, where they can be: {}", each.join(", "))
        }
    };
    Step { name, edits }
}

/// What a step costs the year, the gravest first: loads that go short, in tenths of a kWh, harvest in kWh; and of like ones by how
/// much of itself the one that is set lowest loses, in percent.
fn cost(before: &Report, after: &Report, deepest: f64) -> (i64, i64, i64) {
    let (was, now) = (&before.year.lived, &after.year.lived);
    let more = |a: Option<f64>, b: Option<f64>| a.zip(b).map_or(0.0, |(a, b)| (b - a).max(0.0));
    let short = more(was.short_kwh().ok(), now.short_kwh().ok());
    let harvest = more(now.harvest_kwh.clone().ok(), was.harvest_kwh.clone().ok());
    ((short * 10.0).round() as i64, harvest.round() as i64, (deepest * 100.0).round() as i64)
}
