//! What the year says about the sources: clipping, arrays that fall below the bank, unlike panels.

use crate::engine::Work;
use crate::engine::arrays;
use crate::engine::circuit::tracking;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::plan::{Array, Controller, FieldPath, Figure, Missing};
use crate::standards::source::COMMON_PRACTICE;

use super::digits::rated;
use super::panels::{hot_vmp, unlike, unlike_arrays};

/// Energy below which a yearly loss is not worth a word, kWh. Source: common practice (the rounding of a year).
const WORTH_A_WORD_KWH: f64 = 1.0;

/// Rated watts of the panels over the controller's output from which that is said, whatever the year cuts off.
/// Source: common practice.
const PANELS_OVER_OUTPUT: f64 = 1.1;

fn a_year(months: &str) -> &str {
    if months.is_empty() { "a year" } else { months }
}

static CLIPPING: Check = Check {
    id: "clipping",
    safety: false,
    say: |f| {
        let limit = rated(f.n(1));
        let cuts = if f.n(0) >= WORTH_A_WORD_KWH {
            format!("cuts off {:.0} kWh {}, {:.1} % of what its panels offer", f.n(0), a_year(f.name(1)), f.n(2))
        } else {
            let when = a_year(f.name(1));
            format!("is under the {:.1} A of its panels' rated watts, and cuts off less than 1 kWh {when} here", f.n(3))
        };
        format!(
            "{}: its limit of {limit} A {cuts}; more panel than output, no mistake where the loads are served",
            f.name(0)
        )
    },
};
static LOW_VOLTS: Check = Check {
    id: "array-below-bank",
    safety: false,
    say: |f| {
        format!(
            "{}: hot, its panels' best volts lie below what the bank and the headroom ask; {:.0} Wh {} are lost, which more \
             panels in series, panels of more volts or a bank of fewer volts would not lose",
            f.name(0),
            f.n(0),
            a_year(f.name(1))
        )
    },
};
static UNLIKE_LOSS: Check = Check {
    id: "unlike-panels-loss",
    safety: false,
    say: |f| format!("{}: its panels together give {:.0} Wh a day less than each alone would", f.name(0), f.n(0)),
};

/// Every check on the year.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let circuit = &w.context.circuit;
    let charges = |i: usize| circuit.arrays_of(i).next().is_some() && circuit.elsewhere(w.context.plan, i).is_none();
    let controllers = w.context.plan.controllers.iter().enumerate().filter(|(_, k)| k.state.stays());
    for (i, k) in controllers.filter(|(i, _)| charges(*i)) {
        let subject = || FieldPath::of(&["controllers", k.id.as_str()]);
        out.take(&CLIPPING, subject, clipping(w, i, &subject));
        out.take(&LOW_VOLTS, subject, low_volts(w, i, &subject));
    }
    for (k, c) in w.context.plan.controllers.iter().enumerate().filter(|(_, k)| k.state.stays()) {
        unlike_loss(w, k, c, out);
    }
}

/// What the unlike panels of a controller cost, or alike ones in unlike light: said of its array, or of itself where it has
/// several.
fn unlike_loss(w: &Work<'_>, k: usize, c: &Controller, out: &mut Gathered) {
    let plan = w.context.plan;
    let all = w.context.circuit.arrays_of(k).filter_map(|i| Some((i, plan.arrays.get(i)?)));
    let all: Vec<(usize, &Array)> = all.filter(|(_, a)| a.state.stays()).collect();
    let (id, list) = match all.as_slice() {
        [] => return,
        [(_, one)] => (&one.id, "arrays"),
        _ => (&c.id, "controllers"),
    };
    let subject = || FieldPath::new(format!("{list}.{id}"));
    let own =
        all.iter().filter_map(|(i, _)| w.report.arrays.get(*i)).map(|a| of_year(w, &a.unlike_wh_day).map(|wh| wh.0));
    let outcome = own.sum::<Figure<f64>>().map(|wh| {
        (wh >= 1.0 && !all.iter().any(|(i, a)| unlike_said(w, *i, a)))
            .then(|| Finding::new(&UNLIKE_LOSS, Level::Note, subject(), &[wh], &COMMON_PRACTICE).named([id]))
    });
    out.take(&UNLIKE_LOSS, subject, outcome);
}

/// Whether a caution already names what its unlike panels cost.
fn unlike_said(w: &Work<'_>, i: usize, array: &Array) -> bool {
    let feeds = w.context.circuit.feeds.get(i).copied().flatten();
    let controller = feeds.and_then(|k| Some((k, w.context.plan.controllers.get(k)?)));
    matches!(unlike(w, i, array), Ok(Some(_)))
        || controller.is_some_and(|(k, c)| matches!(unlike_arrays(w, k, c), Ok(Some(_))))
}

/// Amps that the panels of a tracking controller would give at their rated watts and the bank's nominal volts.
/// Source: power balance; the efficiency is common practice.
fn rated_watts_a(w: &Work<'_>, i: usize) -> Figure<f64> {
    let plan = w.context.plan;
    if plan.controllers.get(i).is_none_or(|k| tracking(&k.kind) != Some(true)) {
        return Ok(0.0);
    }
    let mut watts = 0.0;
    for array in w.context.circuit.arrays_of(i).filter_map(|a| plan.arrays.get(a)) {
        watts += arrays::watts(plan, array)?;
    }
    Ok(watts * w.context.rules.tracking_efficiency / w.context.bank_v()?.max(1e-9))
}

/// A figure that comes of a whole year; where there is none, what the year waits for.
fn of_year<T: Clone>(w: &Work<'_>, figure: &Figure<T>) -> Figure<T> {
    let waits = |missing: Missing| match &w.report.year.lived.harvest_kwh {
        Err(waits) if missing.0.as_str().is_empty() => waits.clone(),
        _ => missing,
    };
    figure.clone().map_err(waits)
}

/// Empty where every month has a stay.
fn months(w: &Work<'_>) -> &'static str {
    if w.report.year.months.iter().all(|m| m.stay.is_some()) { "" } else { "in the months that have a stay" }
}

fn clipping(w: &Work<'_>, i: usize, subject: &dyn Fn() -> FieldPath) -> Outcome {
    let (Some(figures), Some(k)) = (w.report.controllers.get(i), w.context.plan.controllers.get(i)) else {
        return Ok(None);
    };
    let kwh = of_year(w, &figures.clipped_kwh)?;
    let rated_a = rated_watts_a(w, i)?;
    // What nobody knows of the output is an unknown of its own.
    if kwh < WORTH_A_WORD_KWH && k.out_a.known().is_none_or(|a| rated_a <= a.0 * PANELS_OVER_OUTPUT) {
        return Ok(None);
    }
    let most_a = k.out_a.at(|| subject().join("out_a"))?.0;
    let offered = of_year(w, &figures.offered_kwh)?.max(kwh);
    Ok(Some(
        Finding::new(
            &CLIPPING,
            Level::Note,
            subject(),
            &[kwh, most_a, kwh / offered.max(1e-9) * 100.0, rated_a],
            &COMMON_PRACTICE,
        )
        .named([k.id.as_str(), months(w)]),
    ))
}

fn low_volts(w: &Work<'_>, i: usize, subject: &dyn Fn() -> FieldPath) -> Outcome {
    let (Some(figures), Some(k)) = (w.report.controllers.get(i), w.context.plan.controllers.get(i)) else {
        return Ok(None);
    };
    let kwh = of_year(w, &figures.low_volts_kwh)?;
    // An array whose hot volts are too low says so itself, with this loss: one word for one cause.
    let said = |a: usize| w.context.plan.arrays.get(a).is_some_and(|x| matches!(hot_vmp(w, a, x, k), Ok(Some(_))));
    if w.context.circuit.arrays_of(i).any(said) {
        return Ok(None);
    }
    Ok((kwh >= WORTH_A_WORD_KWH).then(|| {
        Finding::new(&LOW_VOLTS, Level::Caution, subject(), &[kwh * 1000.0], &COMMON_PRACTICE)
            .named([k.id.as_str(), months(w)])
    }))
}
