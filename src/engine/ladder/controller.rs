//! The ladder of controllers: the one there is, and every one on the shelf.

use crate::engine::Engine;
use crate::engine::circuit::{Circuit, Link, Node, PathKind};
use crate::engine::context::at;
use crate::engine::report::{Report, RunFigures, none_yet};
use crate::engine::resistance::fuses;
use crate::engine::rule::Rules;
use crate::plan::{Controller, Edit, FieldPath, Figure, Id, Known, Plan, Step, Value};
use crate::stock::Stock;
use crate::units::{Amps, Volts};

use super::{Columns, ControllerColumns, Drawn, Fit};

/// What is set by hand on any controller: it stays where it is known.
const SETTINGS: [&str; 6] = ["absorb_v", "absorb_h", "float_v", "equalise_v", "temp_comp_mv_k", "note"];

/// The controller of the plan, then those of the shelf.
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock, id: &Id) -> Vec<Drawn> {
    let Some(index) = plan.controllers.iter().position(|k| k.id == *id) else { return Vec::new() };
    let Some(has) = plan.controllers.get(index) else { return Vec::new() };
    let nothing = Step { name: format!("{id} as it is"), edits: Vec::new() };
    let mut steps = vec![(nothing, false)];
    for found in stock.shelf.find(Some("controllers"), "") {
        let onto = FieldPath::from("controllers").join(id);
        if let Some(step) = stock.shelf.onto(&found, &onto) {
            steps.push((
                Step { name: format!("{id}: {}", found.name), edits: kept(has, id, step.edits) },
                found.typical,
            ));
        }
    }
    let mut all = Vec::new();
    for (n, (step, typical)) in steps.into_iter().enumerate() {
        let Ok(with) = plan.with(&step) else { continue };
        let after = engine.evaluate_wires(&with, stock);
        let Some(k) = with.controllers.get(index) else { continue };
        let columns = columns(k, (&with, &after), index, typical);
        all.push(Drawn {
            current: n == 0,
            own: own(&columns, Rules::of(plan).voc_stop_pct),
            price: k.price.as_ref().map_or_else(none_yet, |p| p.at(|| at("controllers", id, "price"))),
            weight_kg: k
                .weight_kg
                .as_ref()
                .map_or_else(none_yet, |w| w.at(|| at("controllers", id, "weight_kg")).map(|w| w.0)),
            columns: Columns::Controller(columns),
            step,
            after,
        });
    }
    all
}

/// The shelf's edits without those of settings that are known here; what takes the place of another is bought new.
fn kept(has: &Controller, id: &Id, edits: Vec<Edit>) -> Vec<Edit> {
    let field = |key: &str| at("controllers", id, key);
    let mut all: Vec<Edit> = edits
        .into_iter()
        .filter(|edit| match edit {
            Edit::Set { at: path, to } => {
                let setting = SETTINGS.iter().any(|key| *path == field(key));
                // An absorb voltage nobody has set yet may come with it.
                !setting || (*path == field("absorb_v") && has.absorb_v == Known::Unknown && *to != Value::Unknown)
            }
            _ => true,
        })
        .collect();
    all.push(Edit::Set { at: field("state"), to: Value::Word(crate::plan::State::New.word()) });
    all
}

fn columns(k: &Controller, (with, after): (&Plan, &Report), index: usize, typical: bool) -> ControllerColumns {
    let (circuit, _) = Circuit::of(with);
    let way = circuit.way_of(PathKind::ControllerBank, Node::Controller(index));
    let run = way.and_then(|w| w.runs.iter().find(|i| circuit.links.get(**i).is_some_and(|l| touches(l, index))));
    let figures = run.and_then(|i| after.runs.get(*i));
    let amps = |f: fn(&RunFigures) -> Figure<Amps>| figures.map_or_else(none_yet, f);
    let fuse = run.and_then(|i| fuses(with.runs.get(*i)?).next()?.amps_a.known().copied());
    let path = |key: &str| at("controllers", &k.id, key);
    let limit_v = k.max_pv_v.at(|| path("max_pv_v"));
    let cold = after.controllers.get(index).map_or_else(none_yet, |f| f.voc_cold_v.clone());
    let kind = k.kind.known().map_or("?", |kind| kind.word());
    ControllerColumns {
        id: k.id.clone(),
        name: if k.name.is_empty() { kind.to_string() } else { k.name.clone() },
        typical,
        out_a: k.out_a.at(|| path("out_a")),
        margin_v: (|| Ok(Volts(limit_v.clone()?.0 - cold.clone()?.0)))(),
        limit_v,
        path_drop_pct: figures.map_or_else(none_yet, |f| f.path_drop_pct.clone()),
        fuse_a: fuse,
        fuse_range_a: (amps(|f| f.fuse_min_a.clone()), amps(|f| f.fuse_max_a.clone())),
        clipped_kwh: none_yet(),
    }
}

fn touches(link: &Link, controller: usize) -> bool {
    [link.from, link.to].contains(&Some(Node::Controller(controller)))
}

fn own(columns: &ControllerColumns, stop_pct: f64) -> Fit {
    match (&columns.margin_v, &columns.limit_v) {
        (Ok(margin), Ok(limit)) if limit.0 - margin.0 > limit.0 * stop_pct / 100.0 => {
            Fit::No(format!("{:.1} V cold, it takes {:.0} V", limit.0 - margin.0, limit.0))
        }
        (Ok(_), Ok(_)) => Fit::Yes,
        (Err(waits), _) | (_, Err(waits)) => Fit::Unknown(match waits.0.as_str() {
            "" => "no array feeds it".into(),
            path => format!("waits for {path}"),
        }),
    }
}

/// What the controller loses to its output limit.
pub(super) fn clipped_kwh(columns: &ControllerColumns, after: &Report) -> Figure<f64> {
    after.controllers.iter().find(|k| k.id == columns.id).map_or_else(none_yet, |f| f.clipped_kwh.clone())
}
