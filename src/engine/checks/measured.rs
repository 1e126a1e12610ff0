//! A loop that was measured far above what its wire and fittings come to: a joint is bad, and no wire mends that.

use crate::engine::Work;
use crate::engine::circuit::Way;
use crate::engine::resistance::run_loop;
use crate::engine::runs::current_on;

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
    let unmeasured = crate::plan::Run { measured_ohm: None, ..run.clone() };
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
