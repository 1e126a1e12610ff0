//! The ladder of an array's wiring: every number in series that its panels divide into.

use crate::engine::Engine;
use crate::engine::arrays;
use crate::engine::circuit::{Circuit, Node, PathKind};
use crate::engine::context::{Context, at, missing};
use crate::engine::cures::{rewired, string_fuses};
use crate::engine::price;
use crate::engine::protection::{fuses_of, is_string_fuse};
use crate::engine::report::{Report, RunFigures, none_yet};
use crate::engine::resistance::fuses;
use crate::engine::rule::Rules;
use crate::engine::sizing::make::{Make, made_of};
use crate::physics::array::{self, Group};
use crate::physics::controller::Source as _;
use crate::plan::{Array, Edit, Figure, Id, Missing, Plan, State, Step, Strings};
use crate::standards::fuse::smallest_at_least;
use crate::standards::kinds::ControllerKind;
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::{Amps, Number, Volts};

use super::{Columns, Drawn, Fit, HomeRun, StringsColumns};

/// A row for every wiring, all in parallel first.
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock, id: &Id) -> Vec<Drawn> {
    let Some(index) = plan.arrays.iter().position(|a| a.id == *id) else { return Vec::new() };
    let Some(array) = plan.arrays.get(index) else { return Vec::new() };
    let panels: Vec<Id> = array.strings.0.iter().flatten().cloned().collect();
    let mut all = Vec::new();
    for series in (1..=panels.len()).filter(|s| panels.len().is_multiple_of(*s)) {
        let strings = Strings(panels.chunks(series).map(<[Id]>::to_vec).collect());
        let current = strings == array.strings;
        let mut step = step(array, &strings);
        if current {
            // Nothing to choose: what its wiring lacks is a finding with a cure of its own.
            step.edits.clear();
        }
        let Ok(mut with) = plan.with(&step) else { continue };
        let mut after = engine.evaluate_wires(&with, stock);
        let fuses = if current { Vec::new() } else { fuse_edits(&with, &after, index) };
        if !fuses.is_empty() {
            step.edits.extend(fuses);
            let Ok(fused) = plan.with(&step) else { continue };
            after = engine.evaluate_wires(&fused, stock);
            with = fused;
        }
        let mut columns = columns(&with, &after, index);
        columns.shaded_pct = shaded_pct(engine, &with, index);
        columns.home = home(engine, &with, stock, index);
        let bought = bought(&with, stock, index);
        (columns.fuses_price, columns.fuses_unweighed) = (bought.fuses_price, bought.fuses_unweighed);
        all.push(Drawn {
            current,
            own: own(&columns, Rules::of(plan).voc_stop_pct),
            columns: Columns::Strings(columns),
            // The panels are the same ones.
            price: bought.price,
            weight_kg: bought.weight_kg,
            step,
            after,
        });
    }
    all
}

/// The strings; the panels' places go with them.
fn step(array: &Array, strings: &Strings) -> Step {
    Step { name: format!("{} strings {} -> {strings}", array.id, array.strings), edits: rewired(array, strings) }
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
    let c = Context::of(with, circuit, &[]);
    let layout =
        with.arrays.get(index).map_or_else(String::new, |a| format!("{}S{}P", a.strings.series(), a.strings.0.len()));
    let controller = c.circuit.feeds.get(index).copied().flatten().and_then(|k| with.controllers.get(k));
    let run = c.circuit.way_of(PathKind::Array, Node::Array(index)).and_then(|w| w.runs.first());
    let path_drop_pct = run.and_then(|i| after.runs.get(*i)).map(|r| r.path_drop_pct.clone());
    let way = c.circuit.way_of(PathKind::Array, Node::Array(index));
    let runs = way.iter().flat_map(|w| &w.runs).filter_map(|i| after.runs.get(*i));
    let spare = |r: &RunFigures| Ok((r.ampacity_a.clone()?.0 / r.design_a.clone()?.0.max(1e-9) - 1.0) * 100.0);
    let least = |a: Figure<f64>, b: Figure<f64>| Ok(a?.min(b?));
    let spare_pct = runs.map(spare).reduce(least).unwrap_or_else(none_yet);
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
        spare_pct,
        string_fuse_a: string_fuse(&c, index),
        shaded_pct: none_yet(),
        home: None,
        fuses_price: none_yet(),
        fuses_unweighed: false,
    }
}

/// The first run at the panels: what it is drawn with, and what this wiring wants of it.
fn home(engine: &mut Engine, with: &Plan, stock: &Stock, index: usize) -> Option<HomeRun> {
    let (circuit, _) = Circuit::of(with);
    let run = with.runs.get(*circuit.way_of(PathKind::Array, Node::Array(index))?.runs.first()?)?;
    let is_new = run.legs.iter().any(|l| l.state == State::New);
    let wants = if is_new { engine.select(with, stock, &run.id) } else { None };
    Some(HomeRun {
        run: run.id.clone(),
        drawn: made_of(run),
        meets_target: wants.as_ref().is_some_and(|s| s.meets_target),
        wants: wants.map(|s| Make { gauge: s.gauge, per_pole: s.per_pole }),
    })
}

/// What is bought for a wiring between panels and controller.
struct Bought {
    price: Figure<Number>,
    fuses_price: Figure<Number>,
    weight_kg: Figure<f64>,
    fuses_unweighed: bool,
}

/// New wire as it is drawn and string fuses; no price where one of them has none.
fn bought(with: &Plan, stock: &Stock, index: usize) -> Bought {
    let (circuit, _) = Circuit::of(with);
    let c = Context::of(with, circuit, &[]);
    let Some(way) = c.circuit.way_of(PathKind::Array, Node::Array(index)) else {
        let (price, fuses_price, weight_kg) = (none_yet(), none_yet(), none_yet());
        return Bought { price, fuses_price, weight_kg, fuses_unweighed: false };
    };
    let (mut wire, mut string_fuses) = (Some(0.0), Some(0.0));
    let (mut weight_kg, mut fuses_unweighed, mut any_fuse) = (Ok(0.0), false, false);
    for (i, run) in way.runs.iter().filter_map(|i| Some((*i, with.runs.get(*i)?))) {
        let own = price::new_wire(stock, run);
        wire = wire.and_then(|sum| Some(sum + own.as_ref().ok()?.0?));
        weight_kg = weight_kg.and_then(|sum: f64| Ok(sum + own?.1));
        for fuse in fuses(run).filter(|f| f.state == State::New && is_string_fuse(&c, i, f)) {
            let kind = fuse.family.known().copied().zip(fuse.amps_a.known().copied());
            let count = fuses_of(&c, i, fuse);
            let each = kind.and_then(|(family, amps)| price::fuse_cost_of(stock, family, amps));
            string_fuses = string_fuses.and_then(|sum| Some(sum + each? * count));
            any_fuse = true;
            match kind.and_then(|(family, amps)| price::fuse_kg_of(stock, family, amps)) {
                Some(each) => weight_kg = weight_kg.map(|sum| sum + each * count),
                None => fuses_unweighed = true,
            }
        }
    }
    let sold = |cost: Option<f64>| match cost {
        Some(cost) => price::markup(with).map(|factor| Number(cost * factor)),
        None => none_yet(),
    };
    let price = sold(wire.zip(string_fuses).map(|(wire, fuses)| wire + fuses));
    Bought { price, fuses_price: sold(string_fuses.filter(|_| any_fuse)), weight_kg, fuses_unweighed }
}

/// Light on a panel in shade over that on the others. Source: our own choice: about the sky's own light beside a vent
/// or under a branch.
const SHADE: f64 = 0.1;
/// The others' light and the cells' warmth in which it is judged. Source: standard test conditions, IEC 60904-3.
const BRIGHT: (f64, f64) = (1000.0, 25.0);

/// What one shaded panel leaves of an array's power: its string's bypass diodes carry the rest past it, or the strings
/// beside it go on without it, as the volts have it.
///
/// Source: Bishop 1988, Solar Cells 25:73, strings of unlike cells with bypass diodes in parallel.
fn shaded_pct(engine: &mut Engine, plan: &Plan, index: usize) -> Figure<f64> {
    let array = plan.arrays.get(index).ok_or_else(|| missing("arrays"))?;
    let (circuit, _) = Circuit::of(plan);
    let controller = circuit.feeds.get(index).copied().flatten().and_then(|k| plan.controllers.get(k));
    let controller = controller.ok_or_else(|| missing(at("arrays", &array.id, "controller")))?;
    let kind = controller.kind.at(|| at("controllers", &controller.id, "kind"))?;
    let context = Context::of(plan, circuit, &[]);
    let (bank_v, usual_beta_pct_k) = (context.bank_v(), context.rules.beta_fallback);
    let mut power = |shade: f64| -> Figure<f64> {
        let mut lit = array::Array::default();
        let mut first = true;
        for string in &array.strings.0 {
            let mut groups = Vec::new();
            for id in string {
                let panel = arrays::panel(plan, array, id)?;
                let light = if std::mem::take(&mut first) { BRIGHT.0 * shade } else { BRIGHT.0 };
                let cell = arrays::module(&mut engine.stages.module, panel, usual_beta_pct_k)?.at(light, BRIGHT.1);
                let parts = panel.bypass_groups.known().map_or(1.0, |g| g.0);
                groups.push(Group::of(&cell, 1.0 / parts, parts));
            }
            lit.add_string(1.0, &groups);
        }
        Ok(match kind {
            ControllerKind::Tracking => lit.max_power(0.0).power_w(),
            ControllerKind::Pwm => lit.current_at(bank_v.clone()?, 0.0).max(0.0),
        })
    };
    let (all, left) = (power(1.0)?, power(SHADE)?);
    if all > 0.0 { Ok(100.0 * left / all) } else { Err(missing(at("arrays", &array.id, "strings"))) }
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
    let spared = count as f64 <= c.rules.unfused_strings;
    if count < 2 || (spared && (count > 2 || series.is_err())) {
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
