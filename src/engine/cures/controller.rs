//! Another controller in the place of one that its panels are too much for, or that loses what they bring; one more for arrays
//! that do not go together.

use crate::engine::Finding;
use crate::engine::circuit::{Circuit, Node, PathKind};
use crate::engine::report::Report;
use crate::engine::rule::Rules;
use crate::plan::format::item_text;
use crate::plan::{Controller, Edit, FieldPath, Known, ListPath, Plan, Run, State, Step, Value};
use crate::standards::kinds::ControllerKind;

/// Usual most open volts of controllers' inputs, V. Source: common practice, what is sold; from memory.
const TAKES_V: [f64; 8] = [50.0, 75.0, 100.0, 150.0, 200.0, 250.0, 450.0, 600.0];
/// Usual most short-circuit current of controllers' inputs, A. Source: common practice, what is sold; from memory.
const TAKES_A: [f64; 12] = [10.0, 15.0, 20.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 85.0, 100.0, 120.0];

/// The least volts that are sold and leave room over an array's open volts when cold.
fn takes_v(plan: &Plan, open_v: f64) -> Option<f64> {
    let most_pct = Rules::of(plan).voc_caution_pct;
    TAKES_V.into_iter().find(|v| open_v / v * 100.0 < most_pct)
}

/// Another controller against what a finding of panels says.
pub(super) fn another(plan: &Plan, finding: &Finding, before: &Report) -> Option<Step> {
    let by_array = finding.check.id != "isc-over-input";
    let id = finding.name(usize::from(by_array));
    let k = plan.controllers.iter().position(|k| k.id.as_str() == id)?;
    let set = |field: &str, to: Value| Edit::Set { at: FieldPath::new(format!("controllers.{id}.{field}")), to };
    let step = |what: String, edits: Vec<Edit>| Some(Step { name: format!("{id} exchanged: one {what}"), edits });
    match finding.check.id {
        "cold-voc-over-limit" => {
            let volts = takes_v(plan, finding.n(0))?;
            step(format!("that takes {volts} V of panels"), vec![set("max_pv_v", Value::Number(volts))])
        }
        "isc-over-input" => {
            let amps = TAKES_A.into_iter().find(|a| *a >= finding.n(0) - 1e-9)?;
            step(format!("that takes {amps} A of panels"), vec![set("max_pv_a", Value::Number(amps))])
        }
        "pwm-panel-volts-high" => {
            let (circuit, _) = Circuit::of(plan);
            let open = circuit.arrays_of(k).filter_map(|i| before.arrays.get(i)?.voc_cold_v.as_ref().ok());
            let open_v = open.map(|v| v.0).fold(0.0, f64::max);
            let mut edits = vec![set("kind", Value::Word(ControllerKind::Tracking.word()))];
            let now = plan.controllers.get(k)?.max_pv_v.known().map_or(0.0, |v| v.0);
            let mut what = "that tracks".to_string();
            if takes_v(plan, open_v).is_some_and(|v| v > now) {
                let volts = takes_v(plan, open_v)?;
                edits.push(set("max_pv_v", Value::Number(volts)));
                what.push_str(&format!(" and takes {volts} V of panels"));
            }
            step(what, edits)
        }
        _ => None,
    }
}

/// A controller like theirs for one of the arrays that it has together: the array's own run ends on it, and a run like the
/// controller's leads on from there. Where an array shares its wire with others, or comes down on several, none.
pub(super) fn of_its_own(plan: &Plan, id: &str) -> Vec<Step> {
    let (circuit, _) = Circuit::of(plan);
    let Some(k) = plan.controllers.iter().position(|k| k.id.as_str() == id) else { return Vec::new() };
    let out = circuit.way_of(PathKind::ControllerBank, Node::Controller(k)).and_then(|way| way.runs.first());
    let (Some(old), Some(out)) = (plan.controllers.get(k), out.and_then(|i| plan.runs.get(*i))) else {
        return Vec::new();
    };
    let (controllers, runs) = (ListPath::new("controllers"), ListPath::new("runs"));
    let new = Controller { id: plan.free_id(&controllers), state: State::New, note: String::new(), ..old.clone() };
    let mut lead = Run { id: plan.free_id(&runs), ..out.clone() };
    for end in [&mut lead.from, &mut lead.to] {
        if end.known() == Some(&old.id) {
            *end = Known::Is(new.id.clone());
        }
    }
    lead.legs.iter_mut().for_each(|leg| leg.state = State::New);
    lead.protection.retain(|fuse| fuse.state.stays());
    lead.protection.iter_mut().for_each(|fuse| fuse.state = State::New);
    let on = |i: usize| {
        let mut ways = circuit.ways.iter().filter(|w| w.kind == PathKind::Array && w.end == Node::Array(i));
        let last = *ways.next()?.runs.last().filter(|_| ways.next().is_none())?;
        let (link, home, array) = (circuit.links.get(last)?, plan.runs.get(last)?, plan.arrays.get(i)?);
        let end = if home.to.known() == Some(&old.id) { "to" } else { "from" };
        (link.away == [Node::Array(i)]).then_some(())?;
        let at = |path: String| Edit::Set { at: FieldPath::new(path), to: Value::Id(new.id.clone()) };
        Some(Step {
            name: format!(
                "{} on a controller of its own: {} like {}, {} like {}",
                array.id, new.id, id, lead.id, out.id
            ),
            edits: vec![
                Edit::Insert {
                    list: controllers.clone(),
                    after: plan.controllers.last().map(|k| k.id.clone()),
                    item: item_text(&new),
                },
                at(format!("arrays.{}.controller", array.id)),
                at(format!("runs.{}.{end}", home.id)),
                Edit::Insert { list: runs.clone(), after: Some(out.id.clone()), item: item_text(&lead) },
            ],
        })
    };
    circuit.arrays_of(k).skip(1).filter_map(on).collect()
}

/// Whether a step exchanges what is wired, instead of wiring it otherwise: that comes after what leaves it.
pub(super) fn exchanges(step: &Step) -> bool {
    let of = |e: &Edit| match e {
        Edit::Set { at, .. } => {
            let mut segments = at.segments();
            let list = segments.next().unwrap_or_default();
            let field = at.split_last().1;
            match list {
                "inverters" => field == "watts_w",
                "controllers" => ["max_pv_v", "max_pv_a", "kind"].contains(&field),
                _ => false,
            }
        }
        _ => false,
    };
    step.edits.iter().any(of)
}
