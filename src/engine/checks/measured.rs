//! A loop that was measured far above what its wire and fittings come to: a joint is bad, and no wire mends that. And one
//! measured below its own copper, which nothing is.

use crate::engine::Work;
use crate::engine::circuit::{Role, Way};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::resistance::{conductors_ohm, run_loop};
use crate::engine::runs::{current_on, path_of};
use crate::plan::Run;
use crate::plan::wiring::Return;
use crate::standards::source::COMMON_PRACTICE;

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
    worst.map_or_else(String::new, |(volts, text)| {
        let cause = "a bad joint, splice or crimp on it wants mending, not thicker wire";
        format!("; {text}, {volts:.2} V of this: {cause}")
    })
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
