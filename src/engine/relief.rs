//! What would serve the load that goes short: the same year asked anew, with one thing changed at a time. Where energy is
//! lost says nothing of that: what a full bank turns away on bright days no larger one may carry to the dull ones.

use crate::plan::job::YesNo;
use crate::plan::power::{ChargerKind, Controller};
use crate::plan::{Edit, FieldPath, Figure, Plan, Step, Strings, Value};
use crate::standards::kinds::ControllerKind;
use crate::stock::Stock;

use super::Engine;
use super::context::at;
use super::cures::all_usual;
use super::finding::Finding;
use super::report::{MonthFigures, Relief, Reliefs, Remedy, Report};
use super::rule::Rules;
use super::sizing::{Make, make_edits};

/// Less than this is nothing short, and nothing lost, Wh a mean day. Source: our own choice; it shows as 0.
const SHOWN_WH: f64 = 0.5;
/// Times the batteries, and the controllers' amps, that are tried: enough to show whether more of them helps at all.
/// Source: our own choice.
const TIMES: f64 = 2.0;
/// Hours of driving more a day that are tried. Source: our own choice.
const DRIVING_H: f64 = 1.0;

impl Engine {
    /// What each remedy would serve of the load that goes short, `before` being the answer to the plan as it is: a year
    /// for each; none where nothing goes short. Given up between two years as soon as it is no longer wanted.
    pub fn reliefs_while(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        before: &Report,
        is_wanted: impl Fn() -> bool,
    ) -> Option<Figure<Reliefs>> {
        let short = |report: &Report| -> [Figure<f64>; 12] {
            std::array::from_fn(|m| {
                let month = report.year.months.get(m).map(|month| month.shortfall_wh_day.clone());
                month.unwrap_or_else(|| Err(crate::plan::Missing("stays".into()))).map(|wh| wh.0)
            })
        };
        if let Err(waits) = &before.year.lived.unmet_pct {
            return Some(Err(waits.clone()));
        }
        let now = short(before);
        let mut all = Vec::new();
        if now.iter().flatten().any(|wh| *wh >= SHOWN_WH) {
            for (remedy, edits) in remedies(plan, before) {
                if !is_wanted() {
                    return None;
                }
                let Ok(with) = plan.with(&Step { name: String::new(), edits }) else { continue };
                let then = short(&self.evaluate_figures(&with, stock));
                let served = std::array::from_fn(|m| match (now.get(m), then.get(m)) {
                    (Some(Ok(now)), Some(Ok(then))) => Some(now - then),
                    _ => None,
                });
                all.push(Relief { remedy, served_wh_day: served });
            }
        }
        Some(Ok(Reliefs { each: all }))
    }

    /// The same, to the end.
    ///
    /// # Errors
    /// The field that the year or its bank waits for.
    pub fn reliefs(&mut self, plan: &Plan, stock: &Stock, before: &Report) -> Figure<Reliefs> {
        self.reliefs_while(plan, stock, before, || true).unwrap_or_else(|| Ok(Reliefs { each: Vec::new() }))
    }
}

/// What is tried, with the edits that make it. What nothing is lost to is not.
fn remedies(plan: &Plan, before: &Report) -> Vec<(Remedy, Vec<Edit>)> {
    let mut all: Vec<(Remedy, Vec<Edit>)> = Vec::new();
    for array in plan.arrays.iter().filter(|a| a.state.stays()) {
        let Some(first) = array.strings.0.first() else { continue };
        let strings = Strings(array.strings.0.iter().chain([first]).cloned().collect());
        let to = Value::Text(strings.to_string());
        all.push((Remedy::String(array.id.clone()), vec![Edit::Set { at: at("arrays", &array.id, "strings"), to }]));
    }
    if let Some(parallel) = plan.bank.parallel.known() {
        let to = Value::Number(parallel.0 * TIMES);
        all.push((Remedy::Batteries, vec![Edit::Set { at: FieldPath::new("bank.parallel"), to }]));
    }
    all.push((Remedy::Wire, thicker(plan)));
    let months = || before.year.months.iter();
    let loses = |of: fn(&MonthFigures) -> Option<f64>| months().filter_map(of).any(|wh| wh >= SHOWN_WH);
    if loses(|m| Some(m.losses.as_ref().ok()?.clipped.0)) {
        all.push((Remedy::Controllers, controllers(plan)));
    }
    if loses(|m| Some(m.losses.as_ref().ok()?.mismatch.0)) {
        all.push((Remedy::Tracking((tracking_pct(plan) * 10.0) as u32), tracking(plan)));
    }
    if loses(|m| Some(m.losses.as_ref().ok()?.full.as_ref().ok()?.0)) {
        all.push((Remedy::Settings, set_volts(plan, before)));
    }
    let cold = |m: &MonthFigures| {
        let sun = m.losses.as_ref().ok()?.cold.as_ref().ok()?.0;
        Some(sun + m.other_cold_wh_day.as_ref().map_or(0.0, |wh| wh.0))
    };
    if loses(cold) && plan.bank.heated.known() != Some(&YesNo::Yes) {
        let to = Value::Word("yes");
        all.push((Remedy::Warmth, vec![Edit::Set { at: FieldPath::new("bank.heated"), to }]));
    }
    if loses(|m| Some(m.cut_off_wh_day.as_ref()?.as_ref().ok()?.0)) {
        let inverters = plan.inverters.iter().filter(|i| i.state.stays() && i.cutoff_v.is_some());
        let none = |i: &crate::plan::Inverter| Edit::Set { at: at("inverters", &i.id, "cutoff_v"), to: Value::Nothing };
        all.push((Remedy::CutOff, inverters.map(none).collect()));
    }
    if loses(|m| Some(m.held_back_wh_day.as_ref().ok()?.0)) {
        let none = Edit::Set { at: FieldPath::new("bank.max_discharge_a"), to: Value::Nothing };
        all.push((Remedy::Discharge, vec![none]));
    }
    if plan.chargers.iter().any(|c| c.state.stays() && c.kind.known() == Some(&ChargerKind::DcDc)) {
        all.push((Remedy::Driving, driving(plan)));
    }
    all.retain(|(_, edits)| !edits.is_empty());
    all
}

/// Chargers that stop below what is usual for their battery, each setting that is outside that set to its middle.
/// Source: the window that the finding names.
fn set_volts(plan: &Plan, before: &Report) -> Vec<Edit> {
    let low = before.findings.iter().filter(|f| f.check.id == "charge-volts-outside-window" && f.n(1) < f.n(2));
    let edits = |f: &Finding| {
        if let Some(step) = all_usual(plan, f.name(0)).pop() {
            return step.edits;
        }
        let field = if f.name(1) == "float" { "float_v" } else { "absorb_v" };
        let volts = (f64::midpoint(f.n(2), f.n(3)) * 10.0).round() / 10.0;
        vec![Edit::Set { at: FieldPath::new(format!("{}.{field}", f.subject.as_str())), to: Value::Number(volts) }]
    };
    low.filter(|f| f.name(1) != "equalising").flat_map(edits).collect()
}

/// Every run a gauge thicker, where its resistance is computed from one.
fn thicker(plan: &Plan) -> Vec<Edit> {
    let runs = plan.runs.iter().filter(|r| r.measured_ohm.as_ref().is_none_or(|ohm| ohm.known().is_none()));
    let edits = runs.filter_map(|run| {
        let gauge = run.gauge.known()?.thicker()?;
        let edits = make_edits(run, Make::as_drawn(run, gauge), true);
        let step = Step { name: String::new(), edits };
        plan.with(&step).is_ok().then_some(step.edits)
    });
    edits.flatten().collect()
}

/// Controllers of twice the amps.
fn controllers(plan: &Plan) -> Vec<Edit> {
    let known = plan.controllers.iter().filter(|c| c.state.stays()).filter_map(|c| Some((&c.id, c.out_a.known()?.0)));
    known.map(|(id, amps)| Edit::Set { at: at("controllers", id, "out_a"), to: Value::Number(amps * TIMES) }).collect()
}

/// Trackers in the place of PWM controllers, of the rule's efficiency: what a PWM controller has is not theirs.
fn tracking(plan: &Plan) -> Vec<Edit> {
    let pwm = plan.controllers.iter().filter(|c| c.state.stays() && c.kind.known() == Some(&ControllerKind::Pwm));
    let (word, pct) = (ControllerKind::Tracking.word(), tracking_pct(plan));
    let edits = |c: &Controller| {
        let set = |field: &str, to: Value| Edit::Set { at: at("controllers", &c.id, field), to };
        [set("kind", Value::Word(word)), set("efficiency_pct", Value::Number(pct))]
    };
    pwm.flat_map(edits).collect()
}

/// Percent that a tracking controller passes on, by the plan's rule.
fn tracking_pct(plan: &Plan) -> f64 {
    (Rules::of(plan).tracking_efficiency * 1000.0).round() / 10.0
}

/// An hour of driving more a day, wherever the hours are known.
fn driving(plan: &Plan) -> Vec<Edit> {
    let hours = |stay: &crate::plan::Stay| match &stay.drive_h_day {
        None => Some(0.0),
        Some(known) => known.known().map(|h| h.0),
    };
    let known = plan.stays.iter().filter_map(|s| Some((&s.id, hours(s)?)));
    let more = |(id, h): (&crate::plan::Id, f64)| Edit::Set {
        at: at("stays", id, "drive_h_day"),
        to: Value::Number((h + DRIVING_H).min(24.0)),
    };
    known.map(more).collect()
}
