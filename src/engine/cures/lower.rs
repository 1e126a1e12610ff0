//! Chargers that are set to give less: those behind a device that passes too much, and all of them together.

use crate::engine::circuit::{Circuit, Node, Role, node_of};
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::plan::{Edit, FieldPath, Id, Plan, Step, Value};

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

/// All that charge a bank set lower by one share, where none of them alone can give up enough.
pub(super) fn together(plan: &Plan, finding: &Finding) -> Vec<Step> {
    let share = finding.n(1) / finding.n(0).max(1e-9);
    let chargers = plan.chargers.iter().filter(|c| c.state.stays()).map(|c| ("chargers", &c.id, &c.out_a));
    let controllers = plan.controllers.iter().filter(|c| c.state.stays()).map(|c| ("controllers", &c.id, &c.out_a));
    let all: Vec<(&str, &Id, f64)> =
        controllers.chain(chargers).filter_map(|(list, id, a)| Some((list, id, a.known()?.0))).collect();
    if all.len() < 2 {
        return Vec::new();
    }
    let of = |by: &f64| {
        let sizes = all.iter().map(|(list, id, now)| (*list, *id, (now * share * by).floor()));
        let sizes: Vec<(&str, &Id, f64)> = sizes.filter(|(.., amps)| *amps >= 1.0).collect();
        let names: Vec<String> = sizes.iter().map(|(_, id, amps)| format!("{id} {amps} A")).collect();
        let edits = sizes.iter().map(|(list, id, amps)| set(list, id, *amps)).collect();
        let name = format!("all set lower, where they can be: {}", names.join(", "));
        (sizes.len() == all.len()).then_some(Step { name, edits })
    };
    SHARES.iter().filter_map(of).collect()
}
