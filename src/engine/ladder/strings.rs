//! The ladder of an array's wiring: every number in series that its panels divide into.

use crate::engine::Engine;
use crate::engine::arrays;
use crate::engine::circuit::{Circuit, Node, PathKind};
use crate::engine::context::{Context, at};
use crate::engine::cures::string_fuses;
use crate::engine::report::{Report, none_yet};
use crate::engine::rule::Rules;
use crate::plan::{Array, Edit, Figure, Id, Missing, Plan, Step, Strings, Value};
use crate::standards::fuse::smallest_at_least;
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::{Amps, Number, Volts};

use super::{Columns, Drawn, Fit, StringsColumns};

/// A row for every wiring, all in parallel first.
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock, id: &Id) -> Vec<Drawn> {
    let Some(index) = plan.arrays.iter().position(|a| a.id == *id) else { return Vec::new() };
    let Some(array) = plan.arrays.get(index) else { return Vec::new() };
    let panels: Vec<Id> = array.strings.0.iter().flatten().cloned().collect();
    let mut all = Vec::new();
    for series in (1..=panels.len()).filter(|s| panels.len().is_multiple_of(*s)) {
        let strings = Strings(panels.chunks(series).map(<[Id]>::to_vec).collect());
        let current = strings == array.strings;
        let mut step = step(array, &strings, series);
        let Ok(mut with) = plan.with(&step) else { continue };
        let mut after = engine.evaluate_wires(&with, stock);
        let fuses = fuse_edits(&with, &after, index);
        let mut price = none_yet();
        if !fuses.is_empty() {
            let before = after.price.clone();
            step.edits.extend(fuses);
            let Ok(fused) = plan.with(&step) else { continue };
            after = engine.evaluate_wires(&fused, stock);
            with = fused;
            // What the fuses cost, where all of them have a price.
            if before.unpriced == after.price.unpriced {
                price = Ok(Number(after.price.known_parts.0 - before.known_parts.0));
            }
        }
        let columns = columns(&with, &after, index);
        all.push(Drawn {
            current,
            own: own(&columns, Rules::of(plan).voc_stop_pct),
            columns: Columns::Strings(columns),
            // The panels are the same ones.
            price,
            weight_kg: none_yet(),
            step,
            after,
        });
    }
    all
}

/// The strings; panels whose string is told by their place on the roof go with them, in order.
fn step(array: &Array, strings: &Strings, series: usize) -> Step {
    let to = Value::Text(strings.to_string());
    let mut edits = vec![Edit::Set { at: at("arrays", &array.id, "strings"), to }];
    if array.places.len() == strings.panels() {
        for (n, place) in array.places.iter().enumerate().filter(|(_, p)| p.string.is_some()) {
            let at = at("arrays", &array.id, &format!("places.{}.string", place.id));
            edits.push(Edit::Set { at, to: Value::Number((n / series.max(1) + 1) as f64) });
        }
    }
    Step { name: format!("{} strings {} -> {strings}", array.id, array.strings), edits }
}

/// String fuses that this wiring needs and does not have: added where there are none, of another rating where what is
/// there does not suit.
fn fuse_edits(with: &Plan, after: &Report, index: usize) -> Vec<Edit> {
    let (circuit, _) = Circuit::of(with);
    let Some(k) = circuit.feeds.get(index).copied().flatten() else { return Vec::new() };
    let Some(controller) = with.controllers.get(k) else { return Vec::new() };
    let subject = format!("controllers.{}", controller.id);
    let missing = after.findings.iter().find(|f| f.check.id == "string-fuse-missing" && f.subject.as_str() == subject);
    let steps = missing.map(|f| string_fuses(with, controller.id.as_str(), f)).unwrap_or_default();
    steps.into_iter().flat_map(|s| s.edits).collect()
}

fn columns(with: &Plan, after: &Report, index: usize) -> StringsColumns {
    let (circuit, _) = Circuit::of(with);
    let c = Context { plan: with, rules: Rules::of(with), circuit, van_fuses: &[] };
    let layout =
        with.arrays.get(index).map_or_else(String::new, |a| format!("{}S{}P", a.strings.series(), a.strings.0.len()));
    let controller = c.circuit.feeds.get(index).copied().flatten().and_then(|k| with.controllers.get(k));
    let run = c.circuit.way_of(PathKind::Array, Node::Array(index)).and_then(|w| w.runs.first());
    let path_drop_pct = run.and_then(|i| after.runs.get(*i)).map(|r| r.path_drop_pct.clone());
    let figures = after.arrays.get(index);
    let of = |f: fn(&crate::engine::report::ArrayFigures) -> Figure<Volts>| figures.map_or_else(none_yet, f);
    StringsColumns {
        layout,
        voc_cold_v: of(|a| a.voc_cold_v.clone()),
        vmp_hot_v: of(|a| a.vmp_hot_v.clone()),
        limit_v: controller.map_or_else(none_yet, |k| k.max_pv_v.at(|| at("controllers", &k.id, "max_pv_v"))),
        imp_a: figures.map_or_else(none_yet, |a| a.imp_a.clone()),
        isc_a: figures.map_or_else(none_yet, |a| a.isc_a.clone()),
        path_drop_pct: path_drop_pct.unwrap_or_else(none_yet),
        string_fuse_a: string_fuse(&c, index),
    }
}

/// The fuse that every string needs, where the others can push more into one than its panels stand.
///
/// Source: NEC 690.9(A) for the need, 690.8 and 690.9(B) for the rating; ratings as gPV fuses are made.
fn string_fuse(c: &Context<'_>, index: usize) -> Figure<Option<Amps>> {
    let Some(k) = c.circuit.feeds.get(index).copied().flatten() else { return none_yet() };
    let (mut total, mut smallest, mut largest, mut count) = (0.0_f64, f64::MAX, 0.0_f64, 0_usize);
    let mut series = Ok(f64::MAX);
    for array in c.circuit.arrays_of(k).filter_map(|i| c.plan.arrays.get(i)) {
        for string in &array.strings.0 {
            let isc = arrays::string_sums(c.plan, array, string)?.isc_a;
            (total, smallest, largest, count) = (total + isc, smallest.min(isc), largest.max(isc), count + 1);
            for id in string {
                let p = arrays::panel(c.plan, array, id)?;
                let own = p.series_fuse_a.at(|| at("panels", &p.id, "series_fuse_a"));
                series = series.and_then(|least: f64| Ok::<f64, Missing>(least.min(own?.0)));
            }
        }
    }
    if count as f64 <= c.rules.unfused_strings {
        return Ok(None);
    }
    let needed = (total - smallest) * c.rules.array_current_factor > series?;
    let rating = smallest_at_least(FuseFamily::Gpv, largest * c.rules.string_fuse_factor);
    Ok(needed.then_some(rating).flatten().map(Amps))
}

fn own(columns: &StringsColumns, stop_pct: f64) -> Fit {
    match (&columns.voc_cold_v, &columns.limit_v) {
        (Ok(cold), Ok(limit)) if cold.0 > limit.0 * stop_pct / 100.0 => {
            Fit::No(format!("{:.1} V cold, the controller takes {:.0} V", cold.0, limit.0))
        }
        (Ok(_), Ok(_)) => Fit::Yes,
        (Err(waits), _) | (_, Err(waits)) => Fit::Unknown(match waits.0.as_str() {
            "" => "it has no controller".into(),
            path => format!("waits for {path}"),
        }),
    }
}
