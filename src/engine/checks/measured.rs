//! A loop that was measured far above what its wire and fittings come to: a joint is bad, and no wire mends that. And one
//! measured below its own copper, which nothing is.

use crate::engine::Work;
use crate::engine::circuit::{Role, Way};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::resistance::{conductors_ohm, legs, run_loop};
use crate::engine::runs::{current_on, path_of};
use crate::plan::Run;
use crate::plan::wiring::Return;
use crate::standards::source::COMMON_PRACTICE;

use super::wires::volts;

static BELOW: Check = Check {
    id: "measured-below-copper",
    safety: false,
    say: |f| {
        format!(
            "{} measures {:.1} mohm; its positive alone has {:.1} mohm of copper, and what comes back over the frame is \
             never none: measure again",
            f.name(0),
            f.n(0),
            f.n(1)
        )
    },
};

/// Below so many times its copper at 20 C nothing measures: at -30 C copper has it.
/// Source: IEC 60228, copper gains 0.393 % of its ohms at 20 C with each kelvin.
const LEAST: f64 = 0.8;
/// Source: IEC 60228, ohms are given at it.
const STANDARD_C: f64 = 20.0;

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for (link, run) in w.context.circuit.links.iter().zip(&w.context.plan.runs) {
        let Some(measured) = run.measured_ohm.as_ref().and_then(|ohm| ohm.known()) else { continue };
        if link.role == Role::Dead || run.return_path != Return::Chassis {
            continue;
        }
        let out_alone = Run { return_path: Return::None, measured_ohm: None, ..run.clone() };
        // What of its wire is not known is waited for by nothing here.
        let Ok(copper) = conductors_ohm(w.context, &out_alone, STANDARD_C) else { continue };
        if measured.0 < copper * LEAST {
            let numbers = [measured.0 * 1000.0, copper * 1000.0];
            let found = Finding::new(&BELOW, Level::Caution, path_of(run), &numbers, &COMMON_PRACTICE);
            out.take(&BELOW, || path_of(run), Ok(Some(found.named([run.id.as_str()]).smaller_is_worse())));
        }
    }
}

/// From so many times what the wire alone comes to on, the joints are to blame. Source: our own choice; lugs and fuses
/// are counted already, and tables of wire are within a few percent.
const TIMES: f64 = 1.5;

/// Of a way's measured loops the one that loses most beyond its own wire and fittings, in words; empty where none is far
/// above them.
pub(super) fn said(w: &Work<'_>, way: &Way) -> String {
    let worst = way.runs.iter().filter_map(|i| beyond(w, way, *i)).max_by(|a, b| a.0.total_cmp(&b.0));
    worst.map_or_else(
        || entered(w, way).unwrap_or_default(),
        |(volts, text)| {
            let cause = "a bad joint, splice or crimp on it wants mending, not thicker wire";
            format!("; {text}, {volts:.2} V of this: {cause}")
        },
    )
}

/// Share of a way's volts from which what is entered as extra ohms is to blame. Source: our own choice.
const MOST_OF_IT: f64 = 0.5;

/// In words, the splices and joints of a way whose ohms were entered, where they lose most of what it loses.
fn entered(w: &Work<'_>, way: &Way) -> Option<String> {
    let (mut lost, mut all, mut at) = (0.0, 0.0, Vec::new());
    for i in &way.runs {
        let run = w.context.plan.runs.get(*i)?;
        let mohm = extra_mohm(run);
        all += volts(w, way, *i);
        if mohm > 0.0 && run.measured_ohm.is_none() {
            lost += mohm / 1000.0 * current_on(way, w.found, *i).ok()?;
            at.push(format!("{mohm} mohm in {}", run.id));
        }
    }
    let said =
        || format!("; {lost:.2} V of it in splices and joints, {}: made anew they lose next to nothing", at.join(", "));
    (lost > all * MOST_OF_IT && lost > 0.0).then(said)
}

/// The ohms of splices and joints that were entered of a run's legs, in mohm.
fn extra_mohm(run: &Run) -> f64 {
    legs(run).filter_map(|l| Some(l.extra_mohm.as_ref()?.known()?.0)).sum()
}

/// Volts that a measured loop loses beyond its own wire and fittings, and the two side by side.
fn beyond(w: &Work<'_>, way: &Way, index: usize) -> Option<(f64, String)> {
    let (c, run) = (w.context, w.context.plan.runs.get(index)?);
    let measured = run.measured_ohm.as_ref()?.known()?.0;
    let amps = current_on(way, w.found, index).ok()?;
    let unmeasured = Run { measured_ohm: None, ..run.clone() };
    let own = run_loop(c, index, &unmeasured, amps, None).ok()?.ohm;
    let times = measured / own.max(1e-9);
    (times >= TIMES).then(|| {
        let (measured_m, own_m) = (measured * 1000.0, own * 1000.0);
        let id = &run.id;
        let text = format!(
            "{id} measures {measured_m:.1} mohm, {times:.1} times the {own_m:.1} mohm that its wire, fuses and lugs come to"
        );
        ((measured - own) * amps, text)
    })
}
