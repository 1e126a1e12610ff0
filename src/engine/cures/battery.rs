//! Another battery from the shelf in the place of one that is too heavy or does not fit: of the same bank volts, with the
//! charge settings that follow.

use crate::arrange::Arrange;
use crate::engine::Engine;
use crate::engine::checks::{rule_value_of, standing};
use crate::engine::circuit::Circuit;
use crate::engine::context::Context;
use crate::engine::finding::Finding;
use crate::engine::report::Report;
use crate::plan::entry::{self, Units};
use crate::plan::{Bank, Edit, FieldPath, Known, Plan, State, Step, Value, YesNo};
use crate::standards::chemistry::chemistry;
use crate::stock::{Found, Stock};
use crate::units::Metres;

use super::profiles;

/// A battery of the shelf as the plan's bank would be made of it.
struct Pick {
    found: Found,
    series: f64,
    parallel: f64,
    amp_hours: f64,
    all_kg: Option<f64>,
    high_m: Option<f64>,
}

impl Pick {
    /// How many there are.
    fn count(&self) -> f64 {
        self.series * self.parallel
    }
}

/// Batteries of at most so many kilograms in all, where that is asked, that stand in the plan's space where that is known:
/// of the most capacity first, of that the plan has now at most.
pub(super) fn others(plan: &Plan, stock: &Stock, most_kg: Option<f64>) -> Vec<Step> {
    let bank = &plan.bank;
    let now = (|| Some((bank_12s(bank)?, bank.unit_ah.known()?.0 * bank.parallel.known()?.0)))();
    let Some((twelves, now_ah)) = now.filter(|_| bank.state.stays()) else { return Vec::new() };
    let leads = match Circuit::of(plan).0.own_ways.len() {
        0 => f64::MAX,
        leads => leads as f64,
    };
    let of = |item: &crate::stock::shelf::ShelfBattery| {
        let b = &item.battery;
        let (chemistry, unit_v, unit_ah) = (*b.chemistry.known()?, b.unit_v.known()?.0, b.unit_ah.known()?.0);
        let series = whole(twelves / self::chemistry(chemistry).twelves(unit_v))?;
        let allowed = match b.max_series.as_ref().and_then(Known::known) {
            Some(most) => series <= most.0,
            // Lithium goes in series only where its maker says so.
            None => !chemistry.is_lithium() || series <= 1.0,
        };
        if !allowed {
            return None;
        }
        let each_kg = b.weight_kg.as_ref().and_then(Known::known).map(|kg| kg.0 * series);
        let by_kg = match most_kg {
            Some(most) => (most / each_kg?.max(1e-9) + 1e-9).floor(),
            None => f64::MAX,
        };
        let by_room = (stand(plan, b)? / series).floor();
        // No more than have leads, where each has its own.
        let parallel = by_kg.min(by_room).min(leads).min((now_ah / unit_ah.max(1e-9) - 1e-9).ceil());
        let name = if b.name.is_empty() { "battery".to_string() } else { b.name.clone() };
        let found = Found { list: "batteries", id: item.id.clone(), name, typical: item.typical == YesNo::Yes };
        (parallel >= 1.0).then(|| Pick {
            found,
            series,
            parallel,
            amp_hours: unit_ah * parallel,
            all_kg: each_kg.map(|kg| kg * parallel),
            high_m: m(&b.unit_h_m),
        })
    };
    let mut picks: Vec<Pick> = stock.shelf.batteries.iter().filter_map(of).collect();
    picks.arrange_by(|a, b| b.amp_hours.total_cmp(&a.amp_hours).then(a.found.typical.cmp(&b.found.typical)));
    picks.iter().filter_map(|pick| exchanged(plan, stock, pick, now_ah)).collect()
}

/// Times 12 V that a bank has.
fn bank_12s(bank: &Bank) -> Option<f64> {
    whole(chemistry(*bank.chemistry.known()?).twelves(bank.unit_v.known()?.0) * bank.series.known()?.0)
}

/// A whole number of batteries or of times 12 V: fifteen cells of lithium are told as 48 V.
/// Source: common practice, banks are named by 12, 24 and 48 V.
fn whole(ratio: f64) -> Option<f64> {
    let number = ratio.round();
    (number >= 1.0 && (ratio / number - 1.0).abs() < 0.08).then_some(number)
}

fn m(known: &Option<Known<Metres>>) -> Option<f64> {
    known.as_ref()?.known().map(|m| m.0)
}

/// How many of a battery stand in the plan's space, with room over their terminals; as many as one likes where no space is
/// known, none to be said of a battery whose size is not.
fn stand(plan: &Plan, of: &Bank) -> Option<f64> {
    let space = [&plan.bank.space_l_m, &plan.bank.space_w_m, &plan.bank.space_h_m].map(m);
    let [Some(long), Some(wide), Some(high)] = space else { return Some(f64::MAX) };
    let tall = m(&of.unit_h_m)? + rule_value_of(plan, "terminal-room-m");
    let floor = standing((long, wide), (m(&of.unit_l_m)?, m(&of.unit_w_m)?));
    Some(if tall > high + 1e-6 { 0.0 } else { floor })
}

/// The bank made of another battery. What the new chemistry may not be charged at goes with it.
fn exchanged(plan: &Plan, stock: &Stock, pick: &Pick, now_ah: f64) -> Option<Step> {
    let bank = FieldPath::new("bank");
    let mut step = stock.shelf.onto(&pick.found, &bank)?;
    let set = |field: &str, to: Value| Edit::Set { at: bank.join(field), to };
    step.edits.extend([set("series", Value::Number(pick.series)), set("parallel", Value::Number(pick.parallel))]);
    if plan.bank.state == State::Existing {
        step.edits.push(set("state", Value::Word(State::New.word())));
    }
    let count = pick.count();
    let mut name = match count {
        1.0 => format!("{} from the shelf: ", pick.found.name),
        _ => format!("{count} x {} from the shelf: ", pick.found.name),
    };
    let mut numbers = Vec::new();
    name.push_str(&format!("{} Ah in place of {now_ah} Ah", pick.amp_hours));
    if let Some(kg) = pick.all_kg {
        name.push_str(&format!(", {kg:.1} kg"));
        numbers.push(kg);
    }
    if let Some(high_m) = pick.high_m {
        name.push_str(&format!(", {:.0} mm high", high_m * 1000.0));
        numbers.push(high_m * 1000.0);
    }
    if pick.found.typical {
        name.push_str(", typical figures until its label is read");
    }
    step.edits.extend(leads_out(plan, pick.parallel, &mut name)?);
    let with = plan.with(&step).ok()?;
    if with.bank.chemistry != plan.bank.chemistry {
        let (edits, said) = profiles::of_chemistry(&with)?;
        step.edits.extend(edits);
        name.push_str(&said);
    }
    step.name = entry::said(Units::of(plan), &name, &numbers);
    Some(step)
}

/// The leads of batteries that are there no more, where each has one of its own.
fn leads_out(plan: &Plan, parallel: f64, name: &mut String) -> Option<Vec<Edit>> {
    let (circuit, _) = Circuit::of(plan);
    let ways = &circuit.own_ways;
    let (mut edits, mut names) = (Vec::new(), Vec::new());
    if ways.is_empty() {
        return Some(edits);
    }
    for way in ways.iter().skip(parallel as usize) {
        let [one] = way.as_slice() else { return None };
        let run = plan.runs.get(*one)?;
        edits.extend(super::serve::out(run, "").edits);
        names.push(run.id.to_string());
    }
    if !names.is_empty() {
        name.push_str(&format!("; without {}", names.join(" and ")));
    }
    Some(edits)
}

/// Steps of more batteries or of other ones, each with the fuses that their fault wants.
pub(super) fn all_fused(
    engine: &mut Engine,
    plan: &Plan,
    stock: &Stock,
    (finding, before): (&Finding, &Report),
    mut steps: Vec<Step>,
) -> Vec<Step> {
    let mut fuse =
        |steps: Vec<Step>| -> Vec<Step> { steps.into_iter().map(|s| fused(engine, plan, stock, before, s)).collect() };
    match finding.check.id {
        "discharge-over-limit" | "inverter-over-discharge-limit" | "inverter-surge-over-peak" => fuse(steps),
        "series-over-limit" => {
            let others = fuse(others(plan, stock, None));
            steps.extend(others);
            steps
        }
        _ => steps,
    }
}

/// The step with another fuse wherever the batteries it leaves want one.
pub(super) fn fused(engine: &mut Engine, plan: &Plan, stock: &Stock, before: &Report, step: Step) -> Step {
    let (circuit, _) = Circuit::of(plan);
    let c = Context::of(plan, circuit, &stock.truck.fuses);
    super::path::fused(engine, &c, stock, before, step)
}
