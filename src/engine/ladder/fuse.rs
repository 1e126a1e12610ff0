//! The ladder of a run's fuse: every rating its family is made in.

use crate::engine::circuit::{Circuit, Node};
use crate::engine::context::Context;
use crate::engine::cures::{self, fuse_edits};
use crate::engine::price;
use crate::engine::protection::is_string_fuse;
use crate::engine::report::{Proposed, Report, RunFigures, Why, none_yet};
use crate::engine::resistance::{drop_at_rating_v, fuse_path, fuses};
use crate::engine::{Engine, Level};
use crate::engine::{arrays, protection};
use crate::plan::{Edit, Figure, Id, Plan, Protection, Run, Step, Value};
use crate::standards::fuse::ratings;
use crate::standards::kinds::FuseFamily;
use crate::stock::Stock;
use crate::units::{Amps, Number, Volts};

use super::{Columns, Drawn, Fit, FuseColumns};

/// What a fuse of this run has to keep within.
struct Bounds {
    /// At least.
    least_a: Figure<f64>,
    /// At most.
    most_a: Figure<f64>,
    design_a: Figure<f64>,
}

/// A row for every rating of a family; without one, of the family the run has or should have. Empty where the run wants
/// no fuse and has none.
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock, id: &Id, family: Option<FuseFamily>) -> Vec<Drawn> {
    let Some(index) = plan.runs.iter().position(|r| r.id == *id) else { return Vec::new() };
    let Some(run) = plan.runs.get(index) else { return Vec::new() };
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &stock.truck.fuses);
    let has = fuses(run).next();
    if has.is_none() && !protection::wants_fuse(&c, index) {
        return Vec::new();
    }
    let before = engine.evaluate_wires(plan, stock);
    let proposed = before.runs.get(index).and_then(|r| r.proposed.clone());
    let had = has.and_then(|f| f.family.known().copied());
    // A wire too thin for any fuse that carries its load still has ratings to be seen, and what is wrong with each.
    let usual = || {
        let least_a = before.runs.get(index)?.fuse_min_a.clone().ok()?.0;
        Some(protection::usual_family(&c, index, least_a, c.bank_v().ok()?))
    };
    let family = family.or(had).or(proposed.as_ref().map(|p| p.family)).or_else(usual);
    let Some(family) = family else { return Vec::new() };
    let near_from = || c.circuit.links.get(index).is_none_or(|l| l.near_from);
    let at_from = proposed.as_ref().map_or_else(near_from, |p| p.at_from);
    let mut all = Vec::new();
    for amps in ratings(family).iter().copied() {
        let step = cures::alike(plan, &c.circuit, step(run, has, family, amps, at_from));
        let Ok(with) = plan.with(&step) else { continue };
        let after = engine.evaluate_wires(&with, stock);
        let (Some(fused), Some(figures)) = (with.runs.get(index), after.runs.get(index)) else { continue };
        let mut bounds = bounds(&c, index, fused, figures);
        let columns = columns(&c, stock, family, amps, (figures, &bounds));
        if is_rounded_up(&after, id) {
            bounds.most_a = Ok(amps);
        }
        all.push(Drawn {
            current: had == Some(family) && has.and_then(|f| f.amps_a.known()) == Some(&Amps(amps)),
            own: own(&columns, &bounds, cannot_open(&after, id)),
            price: fuse_price(plan, stock, family, amps),
            weight_kg: price::fuse_kg_of(stock, family, Amps(amps)).map_or_else(none_yet, Ok),
            columns: Columns::Fuse(columns),
            step,
            after,
        });
    }
    all
}

/// The rating, and the family where it is another; a fuse at the end that wants it where there is none.
fn step(run: &Run, has: Option<&Protection>, family: FuseFamily, amps: f64, at_from: bool) -> Step {
    let name = format!("{} fuse {amps} A {family}", run.id);
    let Some(fuse) = has else {
        let edits = fuse_edits(run, &Proposed { family, amps: Amps(amps), at_from, looped: false, why: Why::Said("") });
        return Step { name, edits };
    };
    let mut edits = vec![Edit::Set { at: fuse_path(run, fuse, "amps_a"), to: Value::Number(amps) }];
    if fuse.family.known() != Some(&family) {
        edits.push(Edit::Set { at: fuse_path(run, fuse, "family"), to: Value::Word(family.word()) });
        // What its own sheet said was of the other family.
        for (own, field) in [(fuse.volts_dc_v.is_some(), "volts_dc_v"), (fuse.interrupt_a.is_some(), "interrupt_a")] {
            if own {
                edits.push(Edit::Set { at: fuse_path(run, fuse, field), to: Value::Nothing });
            }
        }
    }
    // What is there already is not rated otherwise on paper: another is bought.
    edits.extend(cures::as_bought(run, fuse, &edits));
    Step { name, edits }
}

/// A string fuse is bound by its panels, any other by its wire.
///
/// Source: NEC 690.8, 690.9(B) for a string; 240.4 and the plan's rules otherwise, as the run's own limits.
fn bounds(c: &Context<'_>, index: usize, run: &Run, f: &RunFigures) -> Bounds {
    let string = fuses(run).next().is_some_and(|fuse| is_string_fuse(c, index, fuse));
    let array = c.circuit.links.get(index).and_then(|l| {
        [l.from, l.to].into_iter().flatten().find_map(|n| match n {
            Node::Array(i) => c.plan.arrays.get(i),
            _ => None,
        })
    });
    let (Some(array), true) = (array, string) else {
        return Bounds {
            least_a: f.fuse_min_a.clone().map(|a| a.0),
            most_a: f.fuse_max_a.clone().map(|a| a.0),
            design_a: f.design_a.clone().map(|a| a.0),
        };
    };
    let isc = array.strings.0.iter().try_fold(0.0_f64, |most, string| {
        Ok::<f64, crate::plan::Missing>(most.max(arrays::string_sums(c.plan, array, string)?.isc_a))
    });
    let series = array.strings.0.iter().flatten().try_fold(f64::MAX, |least, id| {
        let p = arrays::panel(c.plan, array, id)?;
        let own = p.series_fuse_a.at(|| crate::engine::context::at("panels", &p.id, "series_fuse_a"))?;
        Ok::<f64, crate::plan::Missing>(least.min(own.0))
    });
    Bounds {
        least_a: isc.clone().map(|a| a * c.rules.string_fuse_factor),
        most_a: series,
        design_a: isc.map(|a| a * c.rules.array_current_factor),
    }
}

fn columns(
    c: &Context<'_>,
    stock: &Stock,
    family: FuseFamily,
    amps: f64,
    (figures, bounds): (&RunFigures, &Bounds),
) -> FuseColumns {
    let same = |f: &&crate::stock::Fuse| f.family.known() == Some(&family) && f.amps_a.known() == Some(&Amps(amps));
    let fuse = figures.fuses.first();
    FuseColumns {
        family,
        amps,
        on_truck: stock.truck.fuses.iter().filter(same).filter_map(|f| f.count.known()).map(|n| n.0).sum(),
        margin_a: bounds.most_a.clone().map(|most| most - amps),
        times_design: bounds.design_a.clone().and_then(|d| if d > 0.0 { Ok(amps / d) } else { none_yet() }),
        drop_v: figures.drop_at_a.clone().map(|a| Volts(drop_at_rating_v(c, family) / amps * a.0)),
        interrupt_a: fuse.map_or_else(none_yet, |f| f.interrupt_a.clone()),
        fault_a: fuse.map_or_else(none_yet, |f| f.fault_a.clone()),
        margin: fuse.map_or(c.rules.interrupt_margin, |f| f.margin),
    }
}

/// Whether a fuse of this run cannot open the fault, by the check: against an assumed fault that is less than a stop.
fn cannot_open(after: &Report, run: &Id) -> bool {
    let path = format!("runs.{run}");
    let mut stops = after.findings.iter().filter(|f| f.level == Level::Stop && f.subject.as_str() == path);
    stops.any(|f| f.check.id == "interrupt-below-fault")
}

/// Whether a run's fuse stands on the next rating up, by the checks: a note says so then, and nothing says that it is too large.
///
/// Source: NEC 240.4(B), as the plan's rules have it.
fn is_rounded_up(after: &Report, run: &Id) -> bool {
    let about =
        |id: &'static str| after.findings.iter().filter(move |f| f.check.id == id && f.run() == Some(run.as_str()));
    about("next-rating-up").any(|f| f.name(2).is_empty()) && about("fuse-above-conductor").next().is_none()
}

fn own(columns: &FuseColumns, bounds: &Bounds, cannot_open: bool) -> Fit {
    let amps = columns.amps;
    match (&bounds.most_a, &bounds.least_a) {
        (Ok(most), _) if amps > most + 1e-9 => Fit::No(format!("above the {most:.1} A that it may have")),
        (_, Ok(least)) if amps < least - 1e-9 => Fit::No(format!("below {least:.1} A: it would open in use")),
        (Err(waits), _) | (_, Err(waits)) => Fit::Unknown(format!("waits for {}", waits.0)),
        _ => match (&columns.interrupt_a, &columns.fault_a) {
            (Ok(opens), Ok(fault)) if opens.0 < fault.0 * columns.margin - 1e-9 => {
                let why = format!("opens {:.0} A, {:.0} A are needed", opens.0, fault.0 * columns.margin);
                if cannot_open { Fit::No(why) } else { Fit::Unknown(why) }
            }
            _ => Fit::Yes,
        },
    }
}

/// What one costs with the plan's markup; none where the truck stock knows no price.
fn fuse_price(plan: &Plan, stock: &Stock, family: FuseFamily, amps: f64) -> Figure<Number> {
    match price::fuse_cost_of(stock, family, Amps(amps)) {
        Some(cost) => Ok(Number(cost * price::markup(plan)?)),
        None => none_yet(),
    }
}

/// Families that a run's fuse can be of: those that stand its volts.
#[must_use]
pub fn families(report: &Report, run: &Id) -> Vec<FuseFamily> {
    let volts = report.runs.iter().find(|r| r.id == *run).and_then(|r| r.fuses.first()?.circuit_v.clone().ok());
    let stands = |f: &FuseFamily| match (crate::standards::fuse::dc_volts(*f), volts) {
        (Some(most), Some(v)) => v.0 <= most,
        _ => true,
    };
    FuseFamily::ALL.iter().copied().filter(stands).collect()
}
