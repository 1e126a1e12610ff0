//! The hours of the simulated year: what holds in every one of them.

mod balance;
mod copper;
mod down;
mod facing;
mod headings;
mod inverter;
mod lead_by_hand;
mod mounts;
mod odd_copper;
mod part_hours;
mod roof_ways;
mod rules;
mod shaded;
mod start;
mod trees;
mod truths;
mod unlike_lit;
mod warmth;
mod ways;

use coachwire::engine::Engine;
use coachwire::engine::solve::{Flow, Moment, Posts};
use coachwire::engine::year::{Step, YearInput, run};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Plan, Value};
use coachwire::stock::Stock;

fn plan(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("a sample").text).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn with(plan: &Plan, edits: &[(&str, Value)]) -> Plan {
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() }).collect();
    plan.with(&coachwire::plan::Step { name: "test".into(), edits }).unwrap_or_else(|e| panic!("{e}"))
}

fn n(number: f64) -> Value {
    Value::Number(number)
}

/// The year of a plan with its bank simulated.
fn input(name: &str, plan: &Plan) -> YearInput {
    let input = Engine::default().year_input(plan, &Stock::default()).unwrap_or_else(|m| panic!("{name}: {}", m.0));
    assert!(matches!(input.circuit.posts, Posts::Bank(_)), "{name} has no bank");
    input
}

/// The samples, and what they lack: a cold place with a heater, one without, a lead bank that runs empty beside a
/// charger, unlike panels, an engine that drives while the sun shines.
fn coaches() -> Vec<(&'static str, YearInput)> {
    let cold = [("stays.ST1.latitude_deg", n(47.0)), ("stays.ST1.longitude_deg", n(-100.0))];
    let heater = [cold[0].clone(), cold[1].clone(), ("bank.heater_w", n(60.0))];
    let hungry = [("loads.L1.watts_w", n(150.0)), ("loads.L1.hours_day", n(20.0))];
    let drives =
        [("stays.ST1.drive_h_day", n(2.5)), ("loads.L1.watts_w", n(400.0)), ("loads.L1.medical", Value::Word("yes"))];
    let flat = [("bank.unit_ah", n(1.0))];
    let mut all: Vec<(&str, Plan)> =
        ["bramble", "sorrel", "marram", "larkspur"].into_iter().map(|name| (name, plan(name))).collect();
    all.push(("cold", with(&plan("bramble"), &cold)));
    all.push(("heated", with(&plan("bramble"), &heater)));
    all.push(("hungry lead", with(&plan("sorrel"), &hungry)));
    all.push(("driving", with(&plan("marram"), &drives)));
    all.push(("tiny bank", with(&plan("bramble"), &flat)));
    all.push(("tiny lead", with(&plan("sorrel"), &flat)));
    // Bursts of charge into a bank that is nearly empty.
    let bursts = [
        ("stays.ST1.soiling_pct", n(90.0)),
        ("stays.ST2.soiling_pct", n(90.0)),
        ("stays.ST1.drive_h_day", n(1.0)),
        ("bank.unit_ah", n(50.0)),
        ("bank.usable_pct", n(99.0)),
        ("loads.L1.watts_w", n(200.0)),
    ];
    all.push(("bursts", with(&plan("marram"), &bursts)));
    // A tracker that needs more above the bank than a hot array of 36 cells has.
    let low = [
        ("controllers.C1.kind", Value::Word("tracking")),
        ("controllers.C1.efficiency_pct", n(97.0)),
        ("controllers.C1.run_headroom_v", n(2.5)),
    ];
    all.push(("low array", with(&plan("sorrel"), &low)));
    let off = [
        ("inverters.INV.cutoff_v", n(12.95)),
        ("inverters.INV.restart_v", n(13.2)),
        ("loads.L1.medical", Value::Word("yes")),
    ];
    all.push(("inverter off at times", with(&plan("larkspur"), &off)));
    all.into_iter().map(|(name, plan)| (name, input(name, &plan))).collect()
}

/// Every counted hour of a year, one in which the engine runs for a part in two.
fn hours(input: &YearInput, mut see: impl FnMut(u16, &Moment<'_>, &Flow, &Step)) {
    let mut seen = 0.0;
    run(input, &mut |hour, moment, flow, step| {
        seen += step.hours;
        see(hour, moment, flow, step);
    });
    assert!((seen - 8760.0).abs() < 1e-6, "every hour of the year: {seen}");
}
