//! Steps for what the bank and the panels are too small for, for what the coach may not carry, and for runs that end on
//! nothing.

use crate::engine::checks::{rule_value_of, standing};
use crate::engine::circuit::{Circuit, Node, PathKind};
use crate::engine::finding::Finding;
use crate::engine::follows::too_many;
use crate::engine::report::{MonthFigures, Report};
use crate::engine::resistance::legs;
use crate::engine::sizing::{Make, make_edits};
use crate::engine::{Engine, cures};
use crate::plan::power::{AcSource, ChargerKind};
use crate::plan::{Charger, Edit, FieldPath, Id, Known, Plan, Run, State, Stay, Step, Value};
use crate::stock::Stock;
use crate::units::Metres;
use crate::words::counted;

use super::{battery, lower, strings, usual};

/// Days of shore power a month that are tried. Source: our own choice, up to five a week.
const SHORE_DAYS: [f64; 7] = [1.0, 2.0, 4.0, 8.0, 12.0, 16.0, 20.0];
/// Most batteries that are added. Source: our own choice; each is a whole year.
const MOST_MORE: usize = 4;
/// Most gauges that wire is made thicker by. Source: our own choice.
const MOST_THICKER: usize = 3;

/// The steps for a finding; none where this file knows none.
pub(super) fn steps(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    finding: &Finding,
    before: &Report,
) -> Option<Vec<Step>> {
    Some(match finding.check.id {
        "medical-not-served" => served(engine, plan, stock, finding, before),
        "charge-over-limit" => lower::charge(engine, plan, stock, finding, before),
        "loads-below-cut-off" => held_up(plan, finding),
        "weight-over-margin" => {
            let steps = lighter(plan, stock, finding).into_iter();
            steps.map(|s| battery::fused(engine, plan, stock, before, s)).collect()
        }
        // As many as stand in the space, where they are not too high for it.
        "battery-does-not-fit" if finding.n(2) <= 0.0 => {
            let rows = plan.bank.series.known().map(|n| (finding.n(1) / n.0.max(1.0)).floor());
            let fewer = rows.and_then(|rows| in_parallel(plan, rows)).into_iter();
            let others = battery::others(plan, stock, None).into_iter();
            fewer.chain(others.map(|s| battery::fused(engine, plan, stock, before, s))).collect()
        }
        "battery-does-not-fit" => {
            let others = battery::others(plan, stock, None).into_iter();
            let others = others.map(|s| battery::fused(engine, plan, stock, before, s));
            on_their_side(plan).into_iter().chain(others).collect()
        }
        "dangling-end" | "end-on-removed" => return loose(plan, finding),
        "posts-joined" => {
            let run = plan.runs.iter().find(|r| r.id.as_str() == finding.name(0))?;
            vec![out(run, "it joins the two posts")]
        }
        // Any of them may be the wrong one; the latest drawn is the likeliest.
        "converter-two-feeds" => {
            let all = too_many(plan, finding.name(0)).into_iter().rev();
            all.filter_map(|i| Some(out(plan.runs.get(i)?, &other_run(finding)))).collect()
        }
        "rails-joined" => {
            let is = |r: &&Run| [finding.name(1), finding.name(2)].contains(&r.id.as_str());
            plan.runs.iter().rev().filter(is).map(|r| out(r, &other_run(finding))).collect()
        }
        _ => return None,
    })
}

/// The fewest more batteries that serve the loads, the fewest more panels, the fewest days on shore power; where none does alone, the
/// fewest of two of them together; and where those do not either the most of each that was tried, so that it is said.
fn served(engine: &mut Engine, plan: &Plan, stock: &Stock, finding: &Finding, before: &Report) -> Vec<Step> {
    let batteries: Vec<Step> = (1..=MOST_MORE).filter_map(|n| more_batteries(plan, n as f64)).collect();
    let mut panels = strings::more_suited(engine, plan, stock, finding, before);
    panels.extend(strings::more_on_all(engine, plan, stock, finding, before));
    let on_shore = shore_days(plan, before);
    let shore: Vec<Step> = on_shore.iter().map(|shore| shore.step(plan)).collect();
    let wires = engine.evaluate_wires(plan, stock);
    let mut mends = |step: &Step| {
        let Some(with) = plan.with(step).ok().filter(|with| with != plan) else { return false };
        // A stop shows on the wires, for much less than a year.
        !cures::brings_stop(&wires, &engine.evaluate_wires(&with, stock), &[])
            && cures::cures(finding, before, &engine.evaluate(&with, stock), &[])
    };
    let alone = [&batteries, &panels, &shore];
    let bought = [&batteries, &panels].into_iter().filter_map(|all| all.iter().find(|s| mends(s)));
    let mut found: Vec<Step> = bought.cloned().collect();
    let days = on_shore.iter().zip(&shore).find(|(_, s)| mends(s));
    found.extend(days.map(|(shore, _)| shore.least(plan, &mut mends)));
    if !found.is_empty() {
        return found;
    }
    let both = |(one, other): (&Step, &Step)| Step {
        name: format!("{}; {}", one.name, other.name),
        edits: one.edits.iter().chain(&other.edits).cloned().collect(),
    };
    // As many of the one as of the other, fewest first: each try is a whole year.
    let pairs = [(&batteries, &panels), (&panels, &shore), (&batteries, &shore)];
    let pairs = pairs.map(|(a, b)| a.iter().zip(b).map(both).collect::<Vec<Step>>());
    let together = pairs.iter().find_map(|all| all.iter().find(|s| mends(s)));
    match together {
        Some(step) => vec![step.clone()],
        None => {
            let both = |s: &Step| Step { name: format!("together: {}", s.name), edits: s.edits.clone() };
            let most = alone.into_iter().filter_map(|all| all.last().cloned());
            most.chain(pairs.iter().filter_map(|all| all.last().map(both))).collect()
        }
    }
}

/// Wire to the inverter some gauges thicker, a lower cut-off, more batteries.
fn held_up(plan: &Plan, finding: &Finding) -> Vec<Step> {
    let id = finding.name(0);
    let inverter = plan.inverters.iter().position(|i| i.id.as_str() == id);
    let thicker = (1..=MOST_THICKER).filter_map(|by| thicker_to(plan, inverter?, by));
    let lower = usual::lower_cut_offs(plan, id, finding.n(1)).unwrap_or_default();
    thicker.chain(lower).chain((1..=MOST_MORE).filter_map(|n| more_batteries(plan, n as f64))).collect()
}

/// Every run between the bank and an inverter so many gauges thicker.
fn thicker_to(plan: &Plan, inverter: usize, by: usize) -> Option<Step> {
    let (circuit, _) = Circuit::of(plan);
    let way = circuit.way_of(PathKind::Inverter, Node::Inverter(inverter))?;
    let mut said = Vec::new();
    let mut edits = Vec::new();
    for run in way.runs.iter().filter_map(|i| plan.runs.get(*i)) {
        let gauge = (0..by).try_fold(*run.gauge.known()?, |gauge, _| gauge.thicker())?;
        said.push(format!("{} {gauge}", run.id));
        edits.extend(make_edits(run, Make::as_drawn(run, gauge), true));
    }
    (!said.is_empty()).then(|| Step { name: format!("wire to it: {}", said.join(", ")), edits })
}

/// So many days a month on shore power, in some stays.
#[derive(Clone)]
struct Shore {
    stays: Vec<usize>,
    days: f64,
}

impl Shore {
    fn step(&self, plan: &Plan) -> Step {
        let stays = || self.stays.iter().filter_map(|i| plan.stays.get(*i));
        let now = |stay: &Stay| stay.shore_days_month.as_ref().and_then(|k| k.known()).map_or(0.0, |d| d.0);
        let at = |stay: &Stay| FieldPath::new(format!("stays.{}.shore_days_month", stay.id));
        let fewer = stays().filter(|s| now(s) < self.days);
        let edits = fewer.map(|s| Edit::Set { at: at(s), to: Value::Number(self.days) }).collect();
        let ids: Vec<&str> = stays().map(|s| s.id.as_str()).collect();
        let where_to = if ids.len() == plan.stays.len() { "every stay".to_string() } else { ids.join(" and ") };
        let days = counted(self.days, "day");
        Step { name: format!("on shore power in {where_to}: {days} a month, if they can be had"), edits }
    }

    /// The least of it that serves: the fewest days, in no stay that does without.
    fn least(&self, plan: &Plan, mends: &mut dyn FnMut(&Step) -> bool) -> Step {
        let mut least = self.clone();
        let under = SHORE_DAYS.into_iter().rev().find(|days| *days < self.days).unwrap_or(0.0);
        let between = (1..).map(|n| under + f64::from(n)).take_while(|days| *days < self.days);
        let fewer = between.map(|days| Self { days, ..self.clone() }).find(|fewer| mends(&fewer.step(plan)));
        least = fewer.unwrap_or(least);
        for stay in &self.stays {
            let stays: Vec<usize> = least.stays.iter().copied().filter(|i| i != stay).collect();
            let without = Self { stays, ..least };
            if !without.stays.is_empty() && mends(&without.step(plan)) {
                least = without;
            }
        }
        least.step(plan)
    }
}

/// Days of shore power, where a charger runs on it: in the stays in whose months medical loads go short, and in every stay.
fn shore_days(plan: &Plan, before: &Report) -> Vec<Shore> {
    let on_shore = |c: &&Charger| {
        let fed = matches!(c.ac_source.as_ref().and_then(|k| k.known()), Some(AcSource::Shore | AcSource::Either));
        c.state.stays() && fed && matches!(c.kind.known(), Some(ChargerKind::Shore | ChargerKind::Converter))
    };
    if !plan.chargers.iter().any(|c| on_shore(&c)) {
        return Vec::new();
    }
    let goes_short = |m: &&MonthFigures| m.medical_short_wh_day.as_ref().is_ok_and(|wh| wh.0 > 0.0);
    let short: Vec<usize> = before.year.months.iter().filter(goes_short).filter_map(|m| m.stay).collect();
    let (few, all): (Vec<usize>, Vec<usize>) =
        ((0..plan.stays.len()).filter(|i| short.contains(i)).collect(), (0..plan.stays.len()).collect());
    let some = !few.is_empty() && few != all;
    let of = |stays: &[usize]| SHORE_DAYS.map(|days| Shore { stays: stays.to_vec(), days });
    if some { of(&few).into_iter().chain(of(&all)).collect() } else { of(&all).to_vec() }
}

/// So many more batteries in parallel. Those on leads of their own want another lead each, which is drawn first.
fn more_batteries(plan: &Plan, by: f64) -> Option<Step> {
    let own_leads = !Circuit::of(plan).0.own_ways.is_empty();
    let now = plan.bank.parallel.known().filter(|_| plan.bank.state.stays() && !own_leads)?.0;
    let edit = Edit::Set { at: FieldPath::new("bank.parallel"), to: Value::Number(now + by) };
    Some(Step::one(format!("batteries: {} in parallel", now + by), edit))
}

/// So many batteries or panels fewer, of those bought new, that what the job adds is within the margin; or other batteries
/// from the shelf, and where that is not enough, with fewer panels.
fn lighter(plan: &Plan, stock: &Stock, finding: &Finding) -> Vec<Step> {
    let over_kg = finding.n(0) - finding.n(1);
    let mut steps: Vec<Step> = fewer_batteries(plan, over_kg).into_iter().collect();
    for array in plan.arrays.iter().filter(|a| a.state == State::New) {
        let each_kg = array.strings.alike().and_then(|id| panel_kg(plan, id));
        let Some(less) = each_kg.map(|kg| (over_kg / kg.max(1e-9) - 1e-9).ceil()) else { continue };
        steps.extend(strings::without(array, less as usize));
    }
    if steps.is_empty() {
        steps = both_lighter(plan, over_kg);
    }
    if plan.bank.state == State::New {
        steps.extend(other_batteries(plan, stock, over_kg));
    }
    steps
}

/// Batteries from the shelf that are so much lighter; where none is, the lightest that leave most panels.
fn other_batteries(plan: &Plan, stock: &Stock, over_kg: f64) -> Vec<Step> {
    let bank_kg = || {
        let count = plan.bank.series.known()?.0 * plan.bank.parallel.known()?.0;
        Some(plan.bank.weight_kg.as_ref()?.known()?.0 * count)
    };
    let Some(may_kg) = bank_kg().map(|kg| kg - over_kg) else { return Vec::new() };
    let alone = battery::others(plan, stock, Some(may_kg));
    if !alone.is_empty() {
        return alone;
    }
    let mut steps = Vec::new();
    for array in plan.arrays.iter().filter(|a| a.state == State::New) {
        let Some(kg) = array.strings.alike().and_then(|id| panel_kg(plan, id)) else { continue };
        for less in 1..array.strings.panels() {
            let panels = strings::without(array, less);
            let batteries = battery::others(plan, stock, Some(may_kg + kg * less as f64));
            let both = |b: &Step, p: &Step| Step {
                name: format!("{}; {}", b.name, p.name),
                edits: b.edits.iter().chain(&p.edits).cloned().collect(),
            };
            steps.extend(batteries.iter().flat_map(|b| panels.iter().map(move |p| both(b, p))));
        }
    }
    steps
}

/// Batteries and panels fewer together, where neither alone is enough: as few batteries as may be.
fn both_lighter(plan: &Plan, over_kg: f64) -> Vec<Step> {
    let each = || Some(plan.bank.weight_kg.as_ref()?.known()?.0 * plan.bank.series.known()?.0);
    let (Some(each_kg), Some(now)) = (each(), plan.bank.parallel.known()) else { return Vec::new() };
    let mut steps = Vec::new();
    for fewer in (1..).map(f64::from).take_while(|n| *n < now.0) {
        let Some(batteries) = in_parallel(plan, now.0 - fewer) else { continue };
        for array in plan.arrays.iter().filter(|a| a.state == State::New) {
            let Some(kg) = array.strings.alike().and_then(|id| panel_kg(plan, id)) else { continue };
            let less = ((over_kg - fewer * each_kg) / kg.max(1e-9) - 1e-9).ceil().max(1.0);
            steps.extend(strings::without(array, less as usize).into_iter().map(|panels| Step {
                name: format!("{}; {}", batteries.name, panels.name),
                edits: batteries.edits.iter().chain(&panels.edits).cloned().collect(),
            }));
        }
    }
    steps
}

fn fewer_batteries(plan: &Plan, over_kg: f64) -> Option<Step> {
    let bank = &plan.bank;
    let each_kg = bank.weight_kg.as_ref()?.known()?.0 * bank.series.known()?.0;
    let now = bank.parallel.known()?.0;
    in_parallel(plan, now - (over_kg / each_kg.max(1e-9) - 1e-9).ceil())
}

/// Fewer new batteries in parallel.
fn in_parallel(plan: &Plan, left: f64) -> Option<Step> {
    let now = plan.bank.parallel.known()?.0;
    let edit = Edit::Set { at: FieldPath::new("bank.parallel"), to: Value::Number(left) };
    let may = plan.bank.state == State::New && left >= 1.0 && left < now;
    may.then(|| Step::one(format!("batteries: {left} in parallel, {} fewer", now - left), edit))
}

/// Lithium packs laid on their side, with room left beside their terminals as there is over them.
/// Source: common practice: many makers allow it, none of them all; the finding's own room over terminals.
fn on_their_side(plan: &Plan) -> Option<Step> {
    let bank = &plan.bank;
    let m = |k: &Option<Known<Metres>>| k.as_ref()?.known().map(|m| m.0);
    let (width, high) = (m(&bank.unit_w_m)?, m(&bank.unit_h_m)?);
    let room = rule_value_of(plan, "terminal-room-m");
    let floor = (m(&bank.space_l_m)?, m(&bank.space_w_m)?);
    let count = bank.series.known()?.0 * bank.parallel.known()?.0;
    let stand = standing(floor, (m(&bank.unit_l_m)?, high + room));
    let may = bank.chemistry.known().is_some_and(|k| k.is_lithium()) && count <= stand && width < high;
    let set = |field: &str, m: f64| Edit::Set { at: FieldPath::new(format!("bank.{field}")), to: Value::Number(m) };
    may.then(|| Step {
        name: "batteries on their side: where their maker allows it".into(),
        edits: vec![set("unit_w_m", high), set("unit_h_m", width)],
    })
}

fn panel_kg(plan: &Plan, id: &Id) -> Option<f64> {
    plan.panels.iter().find(|p| p.id == *id)?.weight_kg.known().map(|kg| kg.0)
}

/// Steps for a run whose end is on nothing that stays.
fn loose(plan: &Plan, finding: &Finding) -> Option<Vec<Step>> {
    let run = plan.runs.iter().find(|r| r.id.as_str() == finding.name(0))?;
    let wrong = finding.name(1);
    let (subject, own) = (&finding.subject, FieldPath::new(format!("runs.{}", run.id)));
    let negative = *subject != own;
    let ends = [("from", &run.from), ("to", &run.to)];
    let end = ends.into_iter().find(|(_, k)| k.known().is_some_and(|id| id.as_str() == wrong)).map(|(field, _)| field);
    let at = if negative { subject.clone() } else { own.join(end?) };
    let mut steps = Vec::new();
    if let Some(meant) = super::names::like(plan, wrong).filter(|_| finding.check.id == "dangling-end") {
        let field = at.split_last().1.replace('_', " ");
        steps.push(Step::one(
            format!("{} {field}: {meant}", run.id),
            Edit::Set { at: at.clone(), to: Value::Id(meant) },
        ));
    }
    if negative {
        let name = format!("{}: its negative lies beside its positive", run.id);
        steps.push(Step::one(name, Edit::Set { at, to: Value::Nothing }));
        return Some(steps);
    }
    steps.push(out(run, "it leads nowhere"));
    Some(steps)
}

fn other_run(finding: &Finding) -> String {
    format!("{} has its other run", finding.name(0))
}

/// Without a run: wire that is there is taken out; what is only planned is not drawn.
pub(super) fn out(run: &Run, why: &str) -> Step {
    let own = FieldPath::new(format!("runs.{}", run.id));
    let old = legs(run).any(|l| l.state == State::Existing);
    let taken = legs(run).map(|l| Edit::Set {
        at: own.join("legs").join(l.id.as_str()).join("state"),
        to: Value::Word(State::Removed.word()),
    });
    if old {
        Step { name: format!("{} taken out: {why}", run.id), edits: taken.collect() }
    } else {
        Step::one(format!("{} removed: {why}", run.id), Edit::Remove { at: own.clone() })
    }
}
