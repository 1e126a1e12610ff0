//! Life safety: what must stay alive whatever opens or cuts off.

use crate::engine::Work;
use crate::engine::circuit::Node;
use crate::engine::converted::Shares;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::isolation::Supplies;
use crate::plan::wiring::Supply;
use crate::plan::{FieldPath, Load, Missing};
use crate::standards::Source;
use crate::standards::cited::{BREAKAWAY, CO_DETECTOR, GAS_DETECTOR};
use crate::standards::kinds::Basis;
use crate::standards::source::COMMON_PRACTICE;

use super::rule_value;

static CUT_OFF: Check = Check {
    id: "life-safety-behind-cut-off",
    safety: true,
    say: |f| format!("{} hangs on {}, which may cut it off by itself", f.name(0), f.name(1)),
};
static PLUG: Check = Check {
    id: "life-safety-through-plug",
    safety: true,
    say: |f| {
        format!(
            "{} is fed through {} alone: what parts or is unhitched there takes its supply with it",
            f.name(0),
            f.name(1)
        )
    },
};
static BRAKES_ALONE: Check = Check {
    id: "breakaway-on-cut-off",
    safety: false,
    say: |f| {
        format!(
            "{} has only the lithium bank, which cuts itself off at {:.1} V: a battery of its own holds the brakes for {:.0} min",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};

/// What else may take the supply of one life-safety load.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered, i: usize, load: &Load, supplies: &Supplies) {
    let path = || FieldPath::of(&["loads", load.id.as_str()]);
    if let Some(device) = cut_off_by(w, i, load, supplies) {
        let found = Finding::new(&CUT_OFF, Level::Stop, path(), &[], cited(load, w.context.rules.basis))
            .named([load.id.to_string(), device]);
        out.take(&CUT_OFF, path, Ok(Some(found)));
    }
    if let Some(tow) = supplies.plug.and_then(|d| w.context.plan.devices.get(d)).filter(|_| load.supply == Supply::Dc) {
        let found = Finding::new(&PLUG, Level::Stop, path(), &[], cited(load, w.context.rules.basis))
            .named([&load.id, &tow.id]);
        out.take(&PLUG, path, Ok(Some(found)));
    }
    if is_breakaway(load) {
        out.take(&BRAKES_ALONE, path, breakaway(w, i, load, supplies));
    }
}

/// An inverter or a controller's load output that feeds it: each switches off when it likes.
fn cut_off_by(w: &Work<'_>, index: usize, load: &Load, supplies: &Supplies) -> Option<String> {
    let plan = w.context.plan;
    if load.supply == Supply::Inverter {
        let own = Shares::of(w.context).inverter(index).and_then(|i| plan.inverters.get(i));
        let inverter = own.or_else(|| plan.inverters.iter().find(|x| x.state.stays()));
        return Some(inverter.map_or_else(|| "an inverter".into(), |x| x.id.to_string()));
    }
    if !supplies.batteries.is_empty() {
        return None;
    }
    w.context.circuit.links.iter().find_map(|l| {
        let other = match (l.from, l.to) {
            (Some(Node::Load(i)), other) | (other, Some(Node::Load(i))) if i == index => other?,
            _ => return None,
        };
        match other {
            Node::Controller(i) => plan.controllers.get(i).map(|k| k.id.to_string()),
            Node::Inverter(i) => plan.inverters.get(i).map(|k| k.id.to_string()),
            _ => None,
        }
    })
}

/// What asks that a life-safety load stays alive, by what it is called. Interlocks of steps and slides, and whatever has
/// another name, stand on common practice.
pub(super) fn cited(load: &Load, basis: Basis) -> &'static Source {
    let name = load.name.to_ascii_lowercase();
    let mut words = name.split(|c: char| !c.is_ascii_alphanumeric());
    if is_breakaway(load) {
        return BREAKAWAY.of(basis);
    }
    if ["gas", "propane", "lpg", "lp"].iter().any(|w| words.clone().any(|x| x == *w)) {
        return GAS_DETECTOR.of(basis);
    }
    if words.any(|w| matches!(w, "co" | "monoxide")) { CO_DETECTOR.of(basis) } else { &COMMON_PRACTICE }
}

/// Whether a life-safety load is the brake supply of a trailer that breaks away, by what it is called.
fn is_breakaway(load: &Load) -> bool {
    let name = load.name.to_ascii_lowercase();
    name.contains("breakaway") || name.contains("break-away") || name.contains("brake")
}

/// Brakes whose only source is a lithium bank that can cut itself off. One without cut-off, or a start battery that
/// reaches them too, holds.
fn breakaway(w: &Work<'_>, index: usize, load: &Load, supplies: &Supplies) -> Outcome {
    let plan = w.context.plan;
    let Some(cutoff) = &plan.bank.discharge_cutoff_v else { return Ok(None) };
    if w.context.circuit.undrawn.contains(&index) {
        return Err(Missing("runs".into()));
    }
    if !w.context.chemistry()?.chemistry.is_lithium() || supplies.batteries != [Node::Bank] {
        return Ok(None);
    }
    let cutoff = cutoff.at(|| "bank.discharge_cutoff_v".into())?.0 * w.context.series()?;
    let path = FieldPath::of(&["loads", load.id.as_str()]);
    Ok(Some(
        Finding::new(
            &BRAKES_ALONE,
            Level::Caution,
            path,
            &[cutoff, rule_value(w, "life-safety-hold-min")],
            cited(load, w.context.rules.basis),
        )
        .named([&load.id]),
    ))
}
