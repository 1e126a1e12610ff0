//! What reaches the input of a DC-DC charger: whether it drops out, and how near it is to that.

use crate::engine::Work;
use crate::engine::context::{Context, at};
use crate::engine::dc_lines::{Shared, dc_line, twelves};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Outcome;
use crate::plan::{FieldPath, Known};
use crate::standards::source::COMMON_PRACTICE;

use super::digits::apart;

static INPUT_LOW: Check = Check {
    id: "dc-dc-input-low",
    safety: false,
    say: |f| {
        let (id, volts, amps, usual_v) = (f.name(0), f.n(0), f.n(1), f.n(2));
        format!(
            "{id}: {volts:.1} V at its input drawing {amps:.1} A, and where it stops is not entered; many stop below \
             {usual_v:.0} V: read its input cut-out off its sheet"
        )
    },
};
static SAGS: Check = Check {
    id: "dc-dc-input-sags",
    safety: false,
    say: |f| {
        let (id, volts, amps, cutout) = (f.name(0), f.n(0), f.n(1), f.n(2));
        let stops = match cutout > 0.0 {
            true => format!(", {:.1} V above where it stops", volts - cutout),
            false => String::new(),
        };
        format!(
            "{id}: {volts:.1} V at its input drawing {amps:.1} A{stops}; its line loses {:.1} V of {:.1} V, {:.1} % of the \
             nominal volts: it has no target, but thicker or shorter wire keeps it charging as joints age",
            f.n(3) - volts,
            f.n(3),
            f.n(4)
        )
    },
};
pub(super) static DROPS_OUT: Check = Check {
    id: "dc-dc-drops-out",
    safety: false,
    say: |f| {
        let (id, (volts, amps, cutout)) = (f.name(0), (f.n(0), f.n(1), f.n(2)));
        let beside = match f.name(1) {
            "" => String::new(),
            others => format!(" while {others} draws on the same line"),
        };
        let uncounted =
            if f.name(1).is_empty() { "; the year counts no charge while it does, by whole hours" } else { "" };
        if volts > 0.0 {
            let ((volts, cutout), ohm) = (apart(volts, cutout, 1), f.n(3));
            return format!(
                "{id} will cycle or drop out: {volts} V at its input drawing {amps:.1} A{beside} over a line of {ohm:.4} ohm, \
                 it stops below {cutout} V{uncounted}"
            );
        }
        let (watts, most_w, ohm, source_v) = (f.n(1), f.n(2), f.n(3), f.n(4));
        match f.name(1) {
            "" => format!(
                "{id} will cycle or drop out: it asks for {watts:.0} W, and its line of {ohm:.3} ohm from {source_v:.1} V \
                 brings {most_w:.0} W at most{uncounted}"
            ),
            others => format!(
                "{id} will cycle or drop out: with {others} on the same line {watts:.0} W are asked of it, and from \
                 {source_v:.1} V it brings {most_w:.0} W at most"
            ),
        }
    },
};

/// Input volts, for every 12 V, under which many DC-DC chargers stop.
/// Source: common practice: their sheets name 10.5 to 12.5 V, where they name one.
const CUTOUT_USUAL_V: f64 = 12.0;

/// A charger of which nobody knows where it stops, with less at its input than many go on with.
fn input_low(c: &Context<'_>, index: usize, running: &Shared) -> Option<Finding> {
    let ch = c.plan.chargers.get(index).filter(|ch| ch.input_cutout_v.as_ref().is_none_or(|v| v.known().is_none()))?;
    let (volts, amps) = running.at(index)?;
    let usual_v = CUTOUT_USUAL_V * twelves(c, index);
    (volts < usual_v - 1e-9).then(|| {
        let subject = FieldPath::of(&["chargers", ch.id.as_str()]);
        let numbers = [volts, amps, usual_v];
        Finding::new(&INPUT_LOW, Level::Note, subject, &numbers, &COMMON_PRACTICE).smaller_is_worse().named([&ch.id])
    })
}

/// Volts over its cut-out, for every 12 V, at which a charger's input is worth a word.
/// Source: common practice: about what a lug that has aged, or a colder engine idling, takes.
const NEAR_CUTOUT_V: f64 = 0.5;
/// The part of the nominal volts that a line without a target of its own may lose without a word, percent.
/// Source: common practice: the most that loads which stand it are given (ABYC E-11).
const SAG_PCT: f64 = 10.0;

/// A charger that runs on, but hardly above its cut-out, or behind a line that loses much, which no target judges.
fn sags(c: &Context<'_>, index: usize, running: &Shared) -> Option<Finding> {
    let ch = c.plan.chargers.get(index)?;
    let (volts, amps) = running.at(index)?;
    let cutout = ch.input_cutout_v.as_ref().and_then(Known::known).map_or(0.0, |v| v.0);
    let (source_v, twelves) = (dc_line(c, index).ok()?.source_v, twelves(c, index));
    let lost_pct = (source_v - volts) / (12.0 * twelves) * 100.0;
    let is_near = cutout > 0.0 && volts - cutout < NEAR_CUTOUT_V * twelves - 1e-9;
    (is_near || lost_pct > SAG_PCT + 1e-9).then(|| {
        let subject = FieldPath::of(&["chargers", ch.id.as_str()]);
        let numbers = [volts, amps, cutout, source_v, lost_pct];
        Finding::new(&SAGS, Level::Note, subject, &numbers, &COMMON_PRACTICE).smaller_is_worse().named([&ch.id])
    })
}

/// A charger whose input stands too low while all on its line draw; of several the lowest drops out first, and the others
/// are judged without it.
///
/// Source: V^2 - V E + P R = 0: no real root, or its upper root under the unit's input cut-out.
pub(super) fn drops_out(w: &Work<'_>, index: usize) -> Outcome {
    let c = w.context;
    let Some(ch) = c.plan.chargers.get(index) else { return Ok(None) };
    let path = FieldPath::of(&["chargers", ch.id.as_str()]);
    let then = match Shared::of(c, index)?.when_it_drops(c, index)? {
        Ok(then) => then,
        // It keeps running, as far as its cut-out is known.
        Err(running) => {
            let known = |v: &Known<_>| v.at(|| at("chargers", &ch.id, "input_cutout_v")).map(drop);
            return match input_low(c, index, &running).or_else(|| sags(c, index, &running)) {
                Some(found) => Ok(Some(found)),
                None => ch.input_cutout_v.as_ref().map_or(Ok(()), known).map(|()| None),
            };
        }
    };
    let numbers = match then.at(index) {
        None => {
            let line = dc_line(c, index)?;
            let (watts, most_w) = then.watts();
            vec![0.0, watts, most_w, line.ohm, line.source_v]
        }
        Some((volts, amps)) => {
            let cutout = ch.input_cutout_v.as_ref().and_then(Known::known).map_or(0.0, |v| v.0);
            vec![volts, amps, cutout, then.ohm_of(index, index), c.rules.alternator_loop_c]
        }
    };
    let found = Finding::new(&DROPS_OUT, Level::Caution, path, &numbers, &COMMON_PRACTICE).smaller_is_worse();
    Ok(Some(found.named([ch.id.as_str(), then.beside(c, index).as_str()])))
}
