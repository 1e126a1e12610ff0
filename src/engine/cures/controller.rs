//! Another controller in the place of one that its panels are too much for, or that loses what they bring.

use crate::engine::Finding;
use crate::engine::circuit::Circuit;
use crate::engine::report::Report;
use crate::engine::rule::Rules;
use crate::plan::{Edit, FieldPath, Plan, Step, Value};
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
