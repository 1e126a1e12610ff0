//! Sizing help: for every number of batteries the smallest array with which the loads are served all year. A table to
//! choose from; nothing is changed until a row is chosen, and no place on the roof is looked for.

use crate::climate::year::MONTH_DAYS;
use crate::engine::Engine;
use crate::engine::arrays;
use crate::engine::context::at;
use crate::engine::report::{Report, none_yet};
use crate::engine::rule::Rules;
use crate::plan::{Array, Edit, FieldPath, Figure, Id, Missing, Plan, Step, Strings, Value};
use crate::stock::Stock;
use crate::units::{WattHours, Watts};

use super::{Columns, Drawn, Fit, GoalColumns, Rung};

/// Most batteries in parallel and most strings that are looked at. Source: our own choice; more than a coach holds.
const MOST: usize = 8;

/// A row for every number of batteries in parallel, with the array as it is; `finish` finds the array.
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock) -> Vec<Drawn> {
    let Some(array) = grown(plan) else { return Vec::new() };
    let here = plan.bank.parallel.known().map_or(1, |n| n.0 as usize);
    let mut all = Vec::new();
    for batteries in 1..=MOST.max(here) {
        let step = step(plan, array, batteries, array.strings.0.len());
        let Ok(with) = plan.with(&step) else { continue };
        let after = engine.evaluate_wires(&with, stock);
        all.push(Drawn {
            current: batteries == here,
            columns: Columns::Goal(columns(&with, &after, &array.id, batteries)),
            price: none_yet(),
            weight_kg: none_yet(),
            own: Fit::Unknown("the year is being computed".into()),
            step,
            after,
        });
    }
    all
}

/// The array that is made larger or smaller: the first that stays and has a string.
fn grown(plan: &Plan) -> Option<&Array> {
    plan.arrays.iter().find(|a| a.state.stays() && !a.strings.0.is_empty())
}

/// So many batteries in parallel, and so many strings like the array's first.
fn step(plan: &Plan, array: &Array, batteries: usize, strings: usize) -> Step {
    let mut edits = Vec::new();
    if plan.bank.parallel.known().map(|n| n.0) != Some(batteries as f64) {
        let to = Value::Number(batteries as f64);
        edits.push(Edit::Set { at: FieldPath::new("bank.parallel"), to });
    }
    if strings != array.strings.0.len() {
        let first = array.strings.0.first().cloned().unwrap_or_default();
        let to = Value::Text(Strings(vec![first; strings]).to_string());
        edits.push(Edit::Set { at: at("arrays", &array.id, "strings"), to });
    }
    Step { name: format!("batteries {batteries}, strings on {} {strings}", array.id), edits }
}

fn columns(with: &Plan, after: &Report, grown: &Id, batteries: usize) -> GoalColumns {
    let all = || with.arrays.iter().filter(|a| a.state.stays());
    let array = all().find(|a| a.id == *grown);
    let watts = all().map(|a| arrays::watts(with, a)).try_fold(0.0, |sum, one| Ok::<f64, Missing>(sum + one?));
    let months = || after.year.months.iter().map(|m| m.days_without_sun.clone());
    GoalColumns {
        batteries,
        usable_wh: after.bank.usable_wh.clone(),
        array: grown.clone(),
        strings: array.map_or(0, |a| a.strings.0.len()),
        panels: all().map(|a| a.strings.panels()).sum(),
        watts: watts.map(Watts),
        short_days: after.year.shortfall_days.clone(),
        shortfall_wh: after
            .year
            .unmet_pct
            .clone()
            .and_then(|pct| after.year.load_kwh.clone().map(|kwh| WattHours(kwh * 1000.0 * pct / 100.0))),
        days_without_sun: months().try_fold(f64::INFINITY, |least: f64, d| Ok::<f64, Missing>(least.min(d?))),
    }
}

/// A choice with its whole year.
fn look(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (batteries, strings): (usize, usize),
) -> Option<(Step, GoalColumns, Report)> {
    let array = grown(plan)?;
    let step = step(plan, array, batteries, strings);
    let with = plan.with(&step).ok()?;
    let after = engine.evaluate_figures(&with, stock);
    let columns = columns(&with, &after, &array.id, batteries);
    Some((step, columns, after))
}

/// What choices come to, those that the plan refuses left out.
pub(super) fn all(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    choices: &[(usize, usize)],
    is_wanted: &dyn Fn() -> bool,
) -> Vec<GoalColumns> {
    let wanted = choices.iter().take_while(|_| is_wanted());
    wanted.filter_map(|choice| look(engine, plan, stock, *choice).map(|(_, columns, _)| columns)).collect()
}

/// The smallest array for a row's batteries, by halving: more panels never serve less. None of any size: the largest
/// stands, with what it lacks.
pub(super) fn finish(engine: &mut Engine, plan: &Plan, stock: &Stock, rung: &mut Rung, is_wanted: &dyn Fn() -> bool) {
    let (Columns::Goal(goal), Some(array)) = (&rung.columns, grown(plan)) else { return };
    let batteries = goal.batteries;
    let mut look = |strings: usize| look(engine, plan, stock, (batteries, strings));
    let serves = |found: &Option<(Step, GoalColumns, Report)>| {
        found.as_ref().is_some_and(|(_, c, _)| matches!(c.short_days, Ok(days) if days == 0.0))
    };
    let (mut low, mut high) = (0, MOST.max(array.strings.0.len()));
    let mut best = look(high);
    if let Some((_, GoalColumns { short_days: Err(waits), .. }, _)) = &best {
        // The array stays as it is.
        rung.fit = Fit::Unknown(format!("waits for {}", waits.0));
        return;
    }
    if serves(&best) {
        while high - low > 1 {
            if !is_wanted() {
                return;
            }
            let middle = usize::midpoint(low, high);
            let found = look(middle);
            if serves(&found) {
                (high, best) = (middle, found);
            } else {
                low = middle;
            }
        }
    }
    let Some((step, columns, after)) = best else { return };
    let wanted = Rules::of(plan).dull_days;
    rung.fit = fit(&columns, wanted, kept_out(&after));
    rung.price = after.price.parts.clone();
    (rung.step, rung.columns) = (step, Columns::Goal(columns));
}

/// Cold that keeps out more than this share of what goes short is worth a word. Source: our own choice.
const COLD_SHARE: f64 = 0.1;

/// What a bank too cold to charge keeps out in a year, kWh, where that is much of what goes short.
fn kept_out(after: &Report) -> Option<f64> {
    let (mut cold, mut short) = (0.0, 0.0);
    for (month, days) in after.year.months.iter().zip(MONTH_DAYS) {
        let of_day = month.losses.as_ref().ok()?.cold.as_ref().ok()?.0;
        // Only where it matters.
        let lacking = month.shortfall_wh_day.as_ref().ok()?.0;
        if lacking > 0.0 {
            cold += of_day * days as f64;
            short += lacking * days as f64;
        }
    }
    (cold > COLD_SHARE * short).then_some(cold / 1000.0)
}

fn fit(columns: &GoalColumns, wanted_days: f64, kept_out_kwh: Option<f64>) -> Fit {
    let judged: Figure<Fit> = (|| {
        let (short, days) = (columns.short_days.clone()?, columns.days_without_sun.clone()?);
        Ok(if short > 0.0 {
            let cold = kept_out_kwh.map_or(String::new(), |kwh| {
                format!("; a bank too cold to charge keeps out {kwh:.0} kWh of these months: warmth first, not panels")
            });
            Fit::No(format!(
                "{short:.0} days short with {} strings, the most that are looked at{cold}",
                columns.strings
            ))
        } else if days < wanted_days {
            Fit::No(format!("lasts {days:.1} days without sun, {wanted_days:.1} are wanted (rule dull-days)"))
        } else {
            Fit::Yes
        })
    })();
    judged.unwrap_or_else(|waits| Fit::Unknown(format!("waits for {}", waits.0)))
}
