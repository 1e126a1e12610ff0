//! Sizing help: for every number of batteries the smallest array with which a goal is met, no load short at some stays and
//! so many days without sun. A table to choose from; nothing is changed until a row is chosen, and no place on the roof
//! is looked for.

use crate::words::counted;
use std::cmp::Ordering;
use std::collections::BTreeMap;

use crate::arrange::Arrange;
use crate::climate::year::MONTH_DAYS;
use crate::engine::Engine;
use crate::engine::arrays;
use crate::engine::context::{at, missing};
use crate::engine::report::{MonthFigures, Report};
use crate::engine::rule::Rules;
use crate::plan::{Array, Edit, FieldPath, Figure, Id, Known, Missing, Plan, State, Step, Strings, Value};
use crate::stock::Stock;
use crate::units::{Kilograms, Number, WattHours, Watts};

use super::{Columns, Drawn, Fit, GoalColumns, Rung};

/// Most days without sun that a goal may ask, in tenths. Source: our own choice.
const MOST_TENTHS: u32 = 300;
/// What a step changes them by, in tenths: half a day. Source: our own choice.
const STEP_TENTHS: u32 = 5;

/// What is to be reached.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Goal {
    /// Stays at which load may go short.
    pub without: Vec<Id>,
    /// Days without sun that the bank is to last, in tenths of a day; left out: by rule `dull-days`.
    pub dull_tenths: Option<u32>,
}

impl Goal {
    /// Most batteries in parallel and most strings that are looked at, unless the plan has more.
    /// Source: our own choice; more than a coach holds.
    pub const MOST: usize = 8;

    /// Days without sun that the bank is to last.
    #[must_use]
    pub fn dull_days(&self, plan: &Plan) -> f64 {
        self.dull_tenths.map_or(Rules::of(plan).dull_days, |tenths| f64::from(tenths) / 10.0)
    }

    /// The same with half a day more, or less.
    #[must_use]
    pub fn stepped(&self, plan: &Plan, more: bool) -> Self {
        // No rule is as many days as that.
        let now = (self.dull_days(plan) * 10.0).round().clamp(0.0, f64::from(MOST_TENTHS)) as u32;
        let then = if more { (now + STEP_TENTHS).min(MOST_TENTHS) } else { now.saturating_sub(STEP_TENTHS) };
        Self { dull_tenths: Some(then), ..self.clone() }
    }

    /// Whether load at a stay must not go short.
    #[must_use]
    pub fn counts(&self, stay: &Id) -> bool {
        !self.without.contains(stay)
    }

    /// The same with a stay put in or left out.
    #[must_use]
    pub fn turned(&self, stay: &Id) -> Self {
        let mut without = self.without.clone();
        if self.counts(stay) {
            without.push(stay.clone());
        } else {
            without.retain(|id| id != stay);
        }
        Self { without, ..self.clone() }
    }

    /// The months that it is about, each with its days.
    fn months<'a>(&'a self, plan: &'a Plan, report: &'a Report) -> impl Iterator<Item = (&'a MonthFigures, f64)> {
        let days = MONTH_DAYS.iter().map(|days| *days as f64);
        report
            .year
            .months
            .iter()
            .zip(days)
            .filter(|(month, _)| month.stay.and_then(|s| plan.stays.get(s)).is_some_and(|stay| self.counts(&stay.id)))
    }

    /// A sum over them.
    fn sum(&self, plan: &Plan, report: &Report, of: impl Fn(&MonthFigures) -> Figure<f64>) -> Figure<f64> {
        let each = self.months(plan, report).map(|(month, days)| of(month).map(|x| x * days));
        each.reduce(|sum, one| Ok(sum? + one?)).unwrap_or_else(|| Err(missing("stays")))
    }
}

/// The plan as it stands, and a row for every number of batteries in parallel with the array as it is; `finish` finds the
/// array.
pub(super) fn rows(engine: &mut Engine, plan: &Plan, stock: &Stock, goal: &Goal) -> Vec<Drawn> {
    let Some(array) = grown(plan) else { return Vec::new() };
    let here = plan.bank.parallel.known().map_or(1, |n| n.0 as usize);
    let as_it_stands = Step { name: "the plan as it stands".into(), edits: Vec::new() };
    let steps =
        (1..=Goal::MOST.max(here)).map(|batteries| (batteries, step(plan, array, batteries, array.strings.0.len())));
    let mut all = Vec::new();
    for (batteries, step) in std::iter::once((here, as_it_stands)).chain(steps) {
        let is_plan = all.is_empty();
        let Ok(with) = plan.with(&step) else { continue };
        let after = engine.evaluate_wires(&with, stock);
        let columns = columns(plan, &with, &after, goal, Row { grown: &array.id, batteries, is_plan });
        all.push(Drawn {
            current: is_plan,
            price: Ok(Number(columns.more.price)),
            weight_kg: Ok(columns.more.kg),
            columns: Columns::Goal(columns),
            own: Fit::Unknown("the year is being computed".into()),
            step,
            after,
        });
    }
    all
}

/// The array whose strings a row shows before its year is there: the first that stays and has a string.
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
    let series = plan.bank.series.known().map_or(1.0, |n| n.0);
    let each = if series > 1.0 { format!(" x {series} in series") } else { String::new() };
    Step { name: format!("batteries {batteries}{each}, strings on {} {strings}", array.id), edits }
}

/// What a row is about.
#[derive(Clone, Copy)]
struct Row<'a> {
    grown: &'a Id,
    batteries: usize,
    is_plan: bool,
}

fn columns(plan: &Plan, with: &Plan, after: &Report, goal: &Goal, row: Row<'_>) -> GoalColumns {
    let all = || with.arrays.iter().filter(|a| a.state.stays());
    let array = all().find(|a| a.id == *row.grown);
    let watts = all().map(|a| arrays::watts(with, a)).try_fold(0.0, |sum, one| Ok::<f64, Missing>(sum + one?));
    let lasts = goal.months(with, after).map(|(month, _)| month.days_without_sun.clone());
    let least = lasts.reduce(|least, one| Ok(f64::min(least?, one?)));
    GoalColumns {
        goal: goal.clone(),
        is_plan: row.is_plan,
        batteries: row.batteries,
        usable_wh: after.bank.usable_wh.clone(),
        array: row.grown.clone(),
        strings: array.map_or(0, |a| a.strings.0.len()),
        panels: all().map(|a| a.strings.panels()).sum(),
        watts: watts.map(Watts),
        short_days: goal.sum(with, after, |m| m.short_days_share.clone()),
        shortfall_wh: goal.sum(with, after, |m| m.shortfall_wh_day.clone().map(|wh| wh.0)).map(WattHours),
        days_without_sun: least.unwrap_or_else(|| Err(missing("stays"))),
        more: More::between(plan, with),
    }
}

/// What batteries and panels of one plan cost and weigh more than those of another.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct More {
    /// Of what has a price; existing ones that go give nothing back.
    pub price: f64,
    /// Parts more, or less, whose price nobody knows.
    pub unpriced: usize,
    /// Of what has a weight, kg.
    pub kg: f64,
    /// Parts more, or less, whose weight nobody knows.
    pub unweighed: usize,
}

impl More {
    fn between(before: &Plan, after: &Plan) -> Self {
        let mut more = Self::default();
        let (was, now) = (panels(before), panels(after));
        for panel in &after.panels {
            let count = |of: &BTreeMap<(&Id, State), i64>, state| of.get(&(&panel.id, state)).copied().unwrap_or(0);
            for state in [State::New, State::Existing] {
                let change = count(&now, state) - count(&was, state);
                more.add(change, state, panel.price.as_ref(), Some(&panel.weight_kg));
            }
        }
        let bank = &after.bank;
        let units = |plan: &Plan| Some((plan.bank.series.known()?.0 * plan.bank.parallel.known()?.0) as i64);
        match (units(before), units(after)) {
            (Some(was), Some(now)) => more.add(now - was, bank.state, bank.price.as_ref(), bank.weight_kg.as_ref()),
            _ => (more.unpriced, more.unweighed) = (more.unpriced + 1, more.unweighed + 1),
        }
        more
    }

    fn add(&mut self, change: i64, state: State, price: Option<&Known<Number>>, weight: Option<&Known<Kilograms>>) {
        let parts = usize::try_from(change.unsigned_abs()).unwrap_or(0);
        match weight.and_then(Known::known) {
            Some(kg) => self.kg += kg.0 * change as f64,
            None => self.unweighed += parts,
        }
        // What is there already has been paid.
        if change < 0 && state != State::New {
            return;
        }
        match price.and_then(Known::known) {
            Some(price) => self.price += price.0 * change as f64,
            None => self.unpriced += parts,
        }
    }
}

/// How many panels of each kind are on arrays that stay, new ones and existing ones apart.
fn panels(plan: &Plan) -> BTreeMap<(&Id, State), i64> {
    let mut all = BTreeMap::new();
    for array in plan.arrays.iter().filter(|a| a.state.stays()) {
        for id in array.strings.0.iter().flatten() {
            *all.entry((id, array.state)).or_insert(0) += 1;
        }
    }
    all
}

/// A step with its whole year.
fn look(engine: &mut Engine, (plan, stock): (&Plan, &Stock), goal: &Goal, row: Row<'_>, step: Step) -> Option<Looked> {
    let with = plan.with(&step).ok()?;
    let after = engine.evaluate_figures(&with, stock);
    let columns = columns(plan, &with, &after, goal, row);
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
    let (Some(array), goal) = (grown(plan), Goal::default()) else { return Vec::new() };
    let wanted = choices.iter().take_while(|_| is_wanted());
    let each = wanted.filter_map(|(batteries, strings)| {
        let row = Row { grown: &array.id, batteries: *batteries, is_plan: false };
        look(engine, (plan, stock), &goal, row, step(plan, array, *batteries, *strings))
    });
    each.map(|(_, columns, _)| columns).collect()
}

/// Which arrays may be grown or made smaller, to how many strings, and the watts that this brings: the least in all first. The plan's
/// own strings are one choice, of the first array.
fn choices(plan: &Plan) -> Vec<(&Array, usize, f64)> {
    let all = || plan.arrays.iter().filter(|a| a.state.stays() && !a.strings.0.is_empty());
    let of_strings = |a: &Array, strings: usize| {
        let own = arrays::watts(plan, a).unwrap_or(f64::MAX) / a.strings.0.len() as f64;
        own * (strings as f64 - a.strings.0.len() as f64)
    };
    let counts = |a: &Array| 1..=Goal::MOST.max(a.strings.0.len());
    let each = all().enumerate().flat_map(|(i, a)| counts(a).map(move |strings| (i, a, strings)));
    let anew = each.filter(|(i, a, strings)| *i == 0 || *strings != a.strings.0.len());
    let mut each: Vec<_> = anew.map(|(_, a, strings)| (a, strings, of_strings(a, strings))).collect();
    each.arrange_by(|a, b| a.2.total_cmp(&b.2));
    each
}

/// Watts that differ by less are as many. Source: rounding of labels' sums.
const SAME_WATTS: f64 = 1e-6;

type Looked = (Step, GoalColumns, Report);

/// Of two arrays of as many watts that serve: one of fewer unpriced parts, else one that costs less, else one that brings more
/// harvest is better.
fn is_better((_, one, year): &Looked, (_, other, than): &Looked) -> bool {
    let kwh = |report: &Report| report.year.harvest_kwh.as_ref().map_or(0.0, |kwh| *kwh);
    let (more, than_more) = (one.more, other.more);
    match more.unpriced.cmp(&than_more.unpriced).then(more.price.total_cmp(&than_more.price)) {
        Ordering::Equal => kwh(year) > kwh(than),
        order => order.is_lt(),
    }
}

/// The smallest array for a row's batteries, one array of the plan grown and the others as they are, the least watts first: more
/// panels may serve less, where a timer ends absorption. Of as many watts the better one. Where none serves, the one that leaves
/// least short stands, with what it lacks. The row of the plan is judged as it is.
pub(super) fn finish(engine: &mut Engine, plan: &Plan, stock: &Stock, rung: &mut Rung, is_wanted: &dyn Fn() -> bool) {
    let (Columns::Goal(drawn), Some(first)) = (&rung.columns, grown(plan)) else { return };
    let (goal, batteries, is_plan) = (&drawn.goal.clone(), drawn.batteries, drawn.is_plan);
    let mut best: Option<Looked> = None;
    // Watts of the one that serves.
    let mut serves_w = f64::INFINITY;
    let choices = if is_plan { vec![(first, first.strings.0.len(), 0.0)] } else { choices(plan) };
    for (array, strings, watts) in choices {
        if watts > serves_w + SAME_WATTS {
            break;
        }
        if best.is_some() && !is_wanted() {
            return;
        }
        let step = if is_plan { rung.step.clone() } else { step(plan, array, batteries, strings) };
        let row = Row { grown: &array.id, batteries, is_plan };
        let Some(found) = look(engine, (plan, stock), goal, row, step) else { continue };
        let (short_days, short_wh) = match (&found.1.short_days, &found.1.shortfall_wh) {
            (Ok(days), Ok(wh)) => (*days, wh.0),
            (Err(waits), _) | (_, Err(waits)) => {
                // The array stays as it is.
                rung.fit = waiting(plan, goal, &found.2, waits);
                return;
            }
        };
        let is_kept = match &best {
            Some(kept) if serves_w < f64::INFINITY => short_days == 0.0 && is_better(&found, kept),
            kept => {
                let before =
                    kept.as_ref().and_then(|(_, c, _)| c.shortfall_wh.as_ref().ok()).map_or(f64::MAX, |wh| wh.0);
                short_days == 0.0 || short_wh < before
            }
        };
        if short_days == 0.0 {
            serves_w = watts;
        }
        if is_kept {
            best = Some(found);
        }
    }
    let Some((step, columns, after)) = best else { return };
    rung.fit = fit(&columns, goal.dull_days(plan), kept_out(plan, goal, &after));
    rung.price = Ok(Number(columns.more.price));
    rung.weight_kg = Ok(columns.more.kg);
    (rung.step, rung.columns) = (step, Columns::Goal(columns));
}

/// What a row waits for whose days short nobody knows.
fn waiting(plan: &Plan, goal: &Goal, after: &Report, waits: &Missing) -> Fit {
    Fit::Unknown(match () {
        () if plan.stays.is_empty() || goal.months(plan, after).next().is_some() => format!("waits for {}", waits.0),
        () if plan.stays.iter().any(|stay| goal.counts(&stay.id)) => {
            "no month is spent at the stays of the goal".into()
        }
        () => "every stay is left out of the goal".into(),
    })
}

/// Cold that keeps out more than this share of what goes short is worth a word. Source: our own choice.
const COLD_SHARE: f64 = 0.1;

/// What a bank too cold to charge keeps out in a year, kWh, where that is much of what goes short.
fn kept_out(plan: &Plan, goal: &Goal, after: &Report) -> Option<f64> {
    let (mut cold, mut short) = (0.0, 0.0);
    for (month, days) in goal.months(plan, after) {
        let of_day = month.losses.as_ref().ok()?.cold.as_ref().ok()?.0;
        // Only where it matters.
        let lacking = month.shortfall_wh_day.as_ref().ok()?.0;
        if lacking > 0.0 {
            cold += of_day * days;
            short += lacking * days;
        }
    }
    (cold > COLD_SHARE * short).then_some(cold / 1000.0)
}

/// How far rows looked that all miss their goal: the most batteries in parallel and strings of an array; none where one meets it, or
/// is not known yet.
#[must_use]
pub fn met_by_none(plan: &Plan, rows: &[Rung]) -> Option<(usize, usize)> {
    let misses = |row: &Rung| match (&row.columns, &row.fit) {
        (Columns::Goal(columns), Fit::No(_)) => Some(columns.batteries),
        _ => None,
    };
    let batteries = rows.iter().map(misses).try_fold(0, |most, one| Some(usize::max(most, one?)))?;
    if rows.is_empty() {
        return None;
    }
    let strings = plan.arrays.iter().filter(|a| a.state.stays()).map(|a| a.strings.0.len()).max()?;
    Some((batteries, strings.max(Goal::MOST)))
}

/// Decimals with which days that fall short of those wanted do not read as these: one, more where that rounds up to them.
#[must_use]
pub fn short_of(days: f64, wanted_days: f64) -> usize {
    let reads = |decimals: usize| format!("{days:.decimals$}").parse().is_ok_and(|said: f64| said >= wanted_days);
    (1..9).find(|decimals| days >= wanted_days || !reads(*decimals)).unwrap_or(9)
}

/// Whether the goal is met; what else wants to be changed to build it is another matter.
fn fit(columns: &GoalColumns, wanted_days: f64, kept_out_kwh: Option<f64>) -> Fit {
    let judged: Figure<Fit> = (|| {
        let (short, days) = (columns.short_days.clone()?, columns.days_without_sun.clone()?);
        Ok(if short > 0.0 {
            let cold = kept_out_kwh.map_or(String::new(), |kwh| {
                format!("; a bank too cold to charge keeps out {kwh:.0} kWh of these months: warmth first, not panels")
            });
            let most = match columns.strings >= Goal::MOST {
                _ if columns.is_plan => "",
                true => ", the most that are looked at",
                false => ", the best that is looked at",
            };
            let strings = format!("strings on {}: {}", columns.array, columns.strings);
            Fit::No(format!("{} short with {strings}{most}{cold}", counted(short.round(), "day")))
        } else if days < wanted_days {
            let more = if !columns.is_plan && columns.batteries >= Goal::MOST {
                "; more in parallel are not looked at"
            } else {
                ""
            };
            let decimals = short_of(days, wanted_days);
            Fit::No(format!("lasts {days:.decimals$} days without sun, {wanted_days} are wanted{more}"))
        } else {
            Fit::Yes
        })
    })();
    judged.unwrap_or_else(|waits| Fit::Unknown(format!("waits for {}", waits.0)))
}
