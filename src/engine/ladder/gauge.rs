//! The ladder of a run's gauges: what the run and the plan become with each.

use crate::engine::circuit::Circuit;
use crate::engine::context::{Context, at};
use crate::engine::cures::{self, fuse_edits};
use crate::engine::price;
use crate::engine::report::{Report, RunFigures, none_yet};
use crate::engine::resistance::{leg_path, legs};
use crate::engine::runs::path_of;
use crate::engine::sizing::make::{Make, Takes, chosen_legs, made_of, makes, no_pair, takes};
use crate::engine::sizing::{fuse, left_for, line_of, make_edits};
use crate::engine::{Engine, Level};
use crate::plan::{Edit, Figure, Id, Leg, Plan, Run, Step, Value};
use crate::standards::conductor::{Gauge, area_mm2};
use crate::stock::Stock;
use crate::units::Number;

use super::{Columns, Drawn, Fit, GaugeColumns};

/// A row for every gauge of the run's system (the plan's, where the run has no gauge yet), and for two of a gauge where
/// the terminals take nothing thicker. Legs that exist keep their wire beside new ones.
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock, id: &Id) -> Vec<Drawn> {
    let Some(index) = plan.runs.iter().position(|r| r.id == *id) else { return Vec::new() };
    let Some(old) = plan.runs.get(index) else { return Vec::new() };
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &[]);
    let was = made_of(old).map_or("?".into(), |m| m.to_string());
    let before = engine.evaluate_wires(plan, stock);
    let together: Vec<usize> = std::iter::once(index).chain(cures::equals(plan, &c.circuit, index)).collect();
    let mut path = Judged::of(&before, index);
    let mut all = Vec::new();
    for make in makes(&c, index) {
        let own_step = Step { name: format!("{id} gauge {was} -> {make}"), edits: make_edits(old, make, true) };
        let step = cures::alike(plan, &c.circuit, own_step.clone());
        let Ok(with) = plan.with(&step) else { continue };
        let after = engine.evaluate_wires(&with, stock);
        let fused = with_fuse(engine, (&c, &before), stock, index, &own_step, &after);
        let sets_fuse = fused.is_some();
        let (step, with, after) = fused.unwrap_or((step, with, after));
        let Some(figures) = after.runs.get(index) else { continue };
        let mut columns = columns(make, figures, left_for(stock, chosen_legs(old), make.gauge));
        (columns.fuse, columns.sets_fuse) = (with.runs.get(index).and_then(fuse), sets_fuse);
        path = path.or_else(|| Judged::of(&after, index));
        columns.other_path = path.as_ref().and_then(|path| path.other(figures));
        // Nothing is unknown there: no current flows that could be held to it.
        let drops_out =
            after.findings.iter().any(|f| f.check.id == "dc-dc-drops-out" && line_of(&c, f).contains(&index));
        columns.drops_out = drops_out && figures.design_a.is_err();
        let runs = || together.iter().filter_map(|i| with.runs.get(*i));
        all.push(Drawn {
            current: has(old, make),
            columns: Columns::Gauge(Box::new(columns)),
            price: runs().map(|run| wire_price(plan, stock, run, make.gauge)).sum(),
            weight_kg: runs().map(|run| weight_kg(stock, run, make.gauge)).sum(),
            own: if drops_out {
                Fit::No("its charger drops out behind it".into())
            } else {
                own(&c, index, make, figures)
            },
            step,
            after,
        });
    }
    all
}

/// The path that a run is judged on: as the plan stands, or with the first row whose path is known.
struct Judged {
    end: Option<Id>,
}

impl Judged {
    fn of(report: &Report, index: usize) -> Option<Self> {
        let figures = report.runs.get(index).filter(|f| f.path_drop_pct.is_ok())?;
        Some(Self { end: figures.path_end.clone() })
    }

    /// The path that a run is judged on with these figures, where it is another one.
    fn other(&self, figures: &RunFigures) -> Option<(Id, f64, f64)> {
        let other = figures.path_end.clone().filter(|_| figures.path_end != self.end)?;
        Some((other, figures.path_drop_pct.clone().ok()?, figures.target_pct?))
    }
}

/// Findings about a run that another fuse in the place it has would cure.
const BY_FUSE: [&str; 6] = [
    "fuse-above-conductor",
    "fuse-below-design",
    "source-end-unfused",
    "charger-end-unfused",
    "interrupt-below-fault",
    "fuse-volts-low",
];

/// The gauge with the fuse that goes with it, where the one there is a stop or becomes a caution by it, and the other
/// leaves less to say.
fn with_fuse(
    engine: &mut Engine,
    (c, before): (&Context<'_>, &Report),
    stock: &Stock,
    index: usize,
    step: &Step,
    after: &Report,
) -> Option<(Step, Plan, Report)> {
    let plan = c.plan;
    let run = plan.runs.get(index)?;
    let path = path_of(run);
    let wrong = |r: &Report| {
        let own = r.findings.iter().filter(|f| f.subject == path && BY_FUSE.contains(&f.check.id));
        own.filter(|f| f.level == Level::Stop || f.level == Level::Caution && !before.says(f)).count()
    };
    let stops = |r: &Report| r.findings.iter().filter(|f| f.level == Level::Stop).count();
    if wrong(after) == 0 {
        return None;
    }
    let proposed = after.runs.get(index)?.proposed.as_ref()?;
    let mut step = step.clone();
    step.edits.extend(fuse_edits(run, proposed));
    step.name = format!("{}, fuse {} A {}", step.name, proposed.amps.0, proposed.family);
    let step = cures::alike(plan, &c.circuit, step);
    let with = plan.with(&step).ok()?;
    let fused = engine.evaluate_wires(&with, stock);
    (wrong(&fused) < wrong(after) && stops(&fused) <= stops(after)).then_some((step, with, fused))
}

/// Whether every leg that the ladder is about is made so.
fn has(run: &Run, make: Make) -> bool {
    let same = |l: &Leg| {
        l.gauge.as_ref().unwrap_or(&run.gauge).known() == Some(&make.gauge)
            && l.per_pole.known().is_some_and(|n| n.0 == f64::from(make.per_pole))
    };
    let none = chosen_legs(run).next().is_none();
    chosen_legs(run).all(same) && (!none || run.gauge.known() == Some(&make.gauge))
}

fn columns(make: Make, f: &RunFigures, on_truck_m: f64) -> GaugeColumns {
    let margin = || {
        let (carries, design) = (f.ampacity_a.clone()?.0, f.design_a.clone()?.0);
        if design > 0.0 { Ok((carries / design - 1.0) * 100.0) } else { none_yet() }
    };
    GaugeColumns {
        gauge: make.gauge,
        per_pole: make.per_pole,
        drop_v: f.drop_v.clone(),
        drop_pct: f.drop_pct.clone(),
        path_drop_pct: f.path_drop_pct.clone(),
        other_path: None,
        ampacity_a: f.ampacity_a.clone(),
        margin_pct: margin(),
        governs: f.governs,
        fuse_min_a: f.fuse_min_a.clone(),
        fuse_max_a: f.fuse_max_a.clone(),
        fuse: None,
        sets_fuse: false,
        drops_out: false,
        on_truck_m,
    }
}

/// Whether the wire itself may be: its terminals and its ampacity.
fn own(c: &Context<'_>, index: usize, make: Make, f: &RunFigures) -> Fit {
    let takes = takes(c, index, make);
    if let Takes::No(why) = &takes {
        return Fit::No(no_pair(c, index, make).map_or(why.clone(), |pair| format!("{why}, {pair}")));
    }
    let factor = c.rules.conductor_factor;
    match (&f.ampacity_a, &f.design_a) {
        (Ok(carries), Ok(design)) if carries.0 < design.0 * factor - 1e-9 => {
            Fit::No(format!("carries {:.1} A of {:.1} A", carries.0, design.0 * factor))
        }
        (Err(waits), _) | (_, Err(waits)) => Fit::Unknown(match waits.0.as_str() {
            "" => "its ampacity or current is not known".into(),
            path => format!("waits for {path}"),
        }),
        _ => match takes {
            Takes::Ask(what) => Fit::Unknown(what),
            Takes::Unsaid => Fit::Unknown("its terminals' largest wire is not known".into()),
            _ => Fit::Yes,
        },
    }
}

/// The legs that are chosen for, with the metres of wire in each.
fn following(run: &Run) -> impl Iterator<Item = (&Leg, Figure<f64>)> {
    chosen_legs(run).map(|leg| (leg, price::wire_m(run, leg)))
}

fn weight_kg(stock: &Stock, run: &Run, gauge: Gauge) -> Figure<f64> {
    following(run).map(|(leg, metres)| Ok(metres? * price::wire_kg_per_m(stock, gauge, leg))).sum()
}

/// Price of the wire with the plan's markup; none where the truck stock knows no price of some leg.
fn wire_price(plan: &Plan, stock: &Stock, run: &Run, gauge: Gauge) -> Figure<Number> {
    let mut cost = 0.0;
    for (leg, metres) in following(run) {
        match price::wire_cost_per_m(stock, gauge, leg) {
            Some(each) => cost += each * metres?,
            None => return none_yet(),
        }
    }
    Ok(Number(cost * price::markup(plan)?))
}

/// The step that gives a run a gauge; legs with a thinner one of their own lose it.
pub(in crate::engine) fn gauge_step(run: &Run, gauge: Gauge) -> Step {
    let mut edits = vec![Edit::Set { at: at("runs", &run.id, "gauge"), to: Value::Gauge(gauge) }];
    for leg in legs(run) {
        let thinner = leg.gauge.as_ref().and_then(|g| g.known()).is_some_and(|g| area_mm2(*g) < area_mm2(gauge));
        if thinner {
            edits.push(Edit::Set { at: leg_path(run, leg, "gauge"), to: Value::Nothing });
        }
    }
    Step { name: format!("{}: {gauge}", run.id), edits }
}
