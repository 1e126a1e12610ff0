//! From an edit to its answer. Every turn edits to a value not seen before, so that no turn answers from memory.
//!
//! Budgets of a release build: an edit in a charging circuit 1 ms (tracking, lithium) or 3 ms (two PWM arrays on
//! lead), any other edit 0.1 ms, from scratch 8 ms with up to six places, a ladder's 15 gauges with harvest 15 ms on
//! two threads (30 ms PWM on lead).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use coachwire::engine::ladder::Goal;
use coachwire::engine::year::{year, year_on};
use coachwire::engine::{Engine, LadderOf, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, Id, Known, Plan, Step, Value};
use coachwire::stock::Stock;
use divan::Bencher;
use divan::counter::ItemsCount;

fn main() {
    divan::main();
}

fn plan(name: &str) -> Plan {
    Plan::from_text(sample(name).expect("a sample").text).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// The lead sample with its array, controller and their runs twice.
fn two_pwm_arrays() -> Plan {
    let mut plan = plan("sorrel");
    let id = |text: &str| text.parse::<Id>().unwrap();
    let mut array = plan.arrays[0].clone();
    let mut controller = plan.controllers[0].clone();
    (array.id, controller.id) = (id("A2"), id("C2"));
    array.controller = Known::Is(id("C2"));
    let mut home = plan.runs[0].clone();
    let mut feed = plan.runs[1].clone();
    (home.id, home.from, home.to) = (id("W91"), Known::Is(id("A2")), Known::Is(id("C2")));
    (feed.id, feed.from) = (id("W92"), Known::Is(id("C2")));
    plan.arrays.push(array);
    plan.controllers.push(controller);
    plan.runs.extend([home, feed]);
    plan
}

/// The plan with a number field at a value of its own for every turn.
fn turned(plan: &Plan, field: &str, value: f64) -> Plan {
    let edit = Edit::Set { at: FieldPath::new(field), to: Value::Number(value) };
    plan.with(&Step::one("turn", edit)).unwrap_or_else(|e| panic!("{e}"))
}

/// Answers edits of one field, each to a new value, after the plan itself was answered.
/// Years run on all threads, as on screen.
fn edits(bencher: Bencher<'_, '_>, plan: &Plan, field: &str) {
    let stock = Stock::default();
    let mut engine = Engine::on_all_threads();
    engine.evaluate(plan, &stock);
    let mut turn = 0.0;
    bencher
        .with_inputs(|| {
            turn += 1.0;
            turned(plan, field, 1.0 + turn * 1e-4)
        })
        .bench_local_values(|plan| -> Report { engine.evaluate(&plan, &stock) });
}

#[divan::bench]
fn edit_charging_run_tracking_lithium(bencher: Bencher<'_, '_>) {
    edits(bencher, &plan("larkspur"), "runs.W2.legs.L1.length_m");
}

#[divan::bench]
fn edit_array_run_tracking_lithium(bencher: Bencher<'_, '_>) {
    edits(bencher, &plan("larkspur"), "runs.W1.legs.L1.length_m");
}

#[divan::bench]
fn edit_charging_run_two_pwm_lead(bencher: Bencher<'_, '_>) {
    edits(bencher, &two_pwm_arrays(), "runs.W2.legs.L1.length_m");
}

#[divan::bench]
fn edit_load_run(bencher: Bencher<'_, '_>) {
    edits(bencher, &plan("larkspur"), "runs.W12.legs.L1.length_m");
}

#[divan::bench]
fn edit_price(bencher: Bencher<'_, '_>) {
    edits(bencher, &plan("larkspur"), "controllers.C1.price");
}

#[divan::bench]
fn edit_load_hours(bencher: Bencher<'_, '_>) {
    edits(bencher, &plan("larkspur"), "loads.L7.hours_day");
}

#[divan::bench]
fn nothing_changed(bencher: Bencher<'_, '_>) {
    let (plan, stock, mut engine) = (plan("larkspur"), Stock::default(), Engine::default());
    engine.evaluate(&plan, &stock);
    bencher.bench_local(|| engine.evaluate(&plan, &stock));
}

#[divan::bench(args = ["bramble", "sorrel", "marram", "larkspur"])]
fn from_scratch(bencher: Bencher<'_, '_>, name: &str) {
    let (plan, stock) = (plan(name), Stock::default());
    bencher.bench_local(|| Engine::on_all_threads().evaluate(&plan, &stock));
}

#[divan::bench]
fn from_scratch_six_places(bencher: Bencher<'_, '_>) {
    let mut plan = plan("larkspur");
    let first = plan.stays[0].clone();
    let months = ["Jan Feb", "Mar Apr", "May Jun", "Jul Aug", "Sep Oct", "Nov Dec"];
    plan.stays = (0_u8..)
        .zip(months)
        .map(|(n, months)| {
            let mut stay = first.clone();
            stay.id = format!("ST{}", n + 1).parse().unwrap();
            stay.latitude_deg = Known::Is(coachwire::units::Number(30.0 + 3.0 * f64::from(n)));
            stay.months = months.parse().unwrap();
            stay
        })
        .collect();
    let stock = Stock::default();
    bencher.bench_local(|| Engine::on_all_threads().evaluate(&plan, &stock));
}

#[divan::bench]
fn ladder_wire_columns(bencher: Bencher<'_, '_>) {
    let (plan, stock, mut engine) = (plan("larkspur"), Stock::default(), Engine::default());
    engine.evaluate(&plan, &stock);
    let run: Id = "W2".parse().unwrap();
    bencher.bench_local(|| engine.ladder(&plan, &stock, &LadderOf::Gauge(run.clone())));
}

/// The harvest of 15 gauges on two threads, as the worker of the screen does it, from an engine that has answered the plan.
fn ladder_harvest(bencher: Bencher<'_, '_>, plan: &Plan) {
    let stock = Stock::default();
    let mut engine = Engine::default();
    engine.evaluate(plan, &stock);
    let at = FieldPath::new("runs.W2.gauge");
    let gauge = *plan.runs[1].gauge.known().expect("a gauge");
    let rungs: Vec<Plan> = gauge
        .ladder()
        .map(|g| plan.with(&Step::one("", Edit::Set { at: at.clone(), to: Value::Gauge(g) })).unwrap())
        .collect();
    let half = |first: usize| {
        let mut fork = engine.fork();
        rungs.iter().skip(first).step_by(2).map(|rung| fork.evaluate(rung, &stock)).collect::<Vec<Report>>()
    };
    bencher.bench_local(|| {
        std::thread::scope(|scope| {
            let other = scope.spawn(|| half(1));
            (half(0), other.join().expect("reports"))
        })
    });
}

#[divan::bench]
fn ladder_harvest_tracking_lithium(bencher: Bencher<'_, '_>) {
    ladder_harvest(bencher, &plan("larkspur"));
}

#[divan::bench]
fn ladder_harvest_two_pwm_lead(bencher: Bencher<'_, '_>) {
    ladder_harvest(bencher, &two_pwm_arrays());
}

#[divan::bench]
fn engine_fork(bencher: Bencher<'_, '_>) {
    let (plan, stock, mut engine) = (plan("larkspur"), Stock::default(), Engine::default());
    engine.evaluate(&plan, &stock);
    bencher.bench_local(|| engine.fork());
}

/// Every run of the largest sample sized anew; budget 50 ms.
#[divan::bench]
fn size_all(bencher: Bencher<'_, '_>) {
    let (plan, stock) = (plan("larkspur"), Stock::default());
    let mut engine = Engine::default();
    bencher.bench_local(|| engine.size_all(&plan, &stock, false));
}

/// A year alone, everything before it prepared. Budget 250 ns a simulated hour with sun: the 4,400 or so of a year and
/// the uncounted December's 300. Measured, fastest of 400 on a two-core x86-64 machine, rustc 1.95, over all 9504 hours (of
/// which some 600 of December are not run twice): 140 ns an hour with one tracker on lithium, 168 with two, 242 with PWM on
/// lead, 304 with two; on both of its cores (`year_on_all_threads`) 88 with two trackers and 166 with two PWM, when they are
/// free.
fn year_alone(bencher: Bencher<'_, '_>, plan: &Plan) {
    let input = Engine::default().year_input(plan, &Stock::default()).unwrap_or_else(|m| panic!("{}", m.0));
    bencher.counter(ItemsCount::new(HOURS)).bench_local(|| year(&input));
}

/// Hours that a year simulates: its own and those of the December before. One over the items a second that a bench
/// prints is the time of one.
const HOURS: usize = 8760 + 744;

#[divan::bench]
fn year_alone_tracking_lithium(bencher: Bencher<'_, '_>) {
    year_alone(bencher, &plan("larkspur"));
}

#[divan::bench]
fn year_alone_one_tracking_lithium(bencher: Bencher<'_, '_>) {
    year_alone(bencher, &plan("bramble"));
}

#[divan::bench]
fn year_alone_pwm_lead(bencher: Bencher<'_, '_>) {
    year_alone(bencher, &plan("sorrel"));
}

#[divan::bench]
fn year_alone_two_pwm_lead(bencher: Bencher<'_, '_>) {
    year_alone(bencher, &two_pwm_arrays());
}

/// Ten years under other skies, each begun by a whole one, from an engine that has not seen the plan.
#[divan::bench(args = ["larkspur", "sorrel"])]
fn repeats(bencher: Bencher<'_, '_>, name: &str) {
    let (plan, stock) = (plan(name), Stock::default());
    bencher.bench_local(|| Engine::default().repeats(&plan, &stock));
}

/// A ladder's columns without the year, from an engine that has answered the plan.
fn ladder_of(bencher: Bencher<'_, '_>, of: &LadderOf) {
    let (plan, stock, mut engine) = (plan("larkspur"), Stock::default(), Engine::default());
    engine.evaluate(&plan, &stock);
    bencher.bench_local(|| engine.ladder(&plan, &stock, of));
}

#[divan::bench]
fn ladder_fuse(bencher: Bencher<'_, '_>) {
    ladder_of(bencher, &LadderOf::Fuse("W2".parse().unwrap(), None));
}

#[divan::bench]
fn ladder_strings(bencher: Bencher<'_, '_>) {
    ladder_of(bencher, &LadderOf::Strings("A1".parse().unwrap()));
}

#[divan::bench]
fn ladder_controller(bencher: Bencher<'_, '_>) {
    ladder_of(bencher, &LadderOf::Controller("C1".parse().unwrap()));
}

/// The table of all sizes with a reason for each run; budget 50 ms.
#[divan::bench]
fn propose_sizes(bencher: Bencher<'_, '_>) {
    let (plan, stock) = (plan("larkspur"), Stock::default());
    let mut engine = Engine::default();
    bencher.bench_local(|| engine.propose_sizes(&plan, &stock, false));
}

/// Sizing help on two threads, as the worker of the screen does it, from an engine that has answered the plan: eight
/// numbers of batteries, each with the smallest of eight arrays that serves the year, the smallest first. Budget 1 s on lithium,
/// 2 s on lead.
fn sizing_help(bencher: Bencher<'_, '_>, plan: &Plan) {
    let stock = Stock::default();
    let mut engine = Engine::default();
    let before = engine.evaluate(plan, &stock);
    let rows = engine.ladder(plan, &stock, &LadderOf::Goal(Goal::default()));
    assert!(rows.len() >= 8, "{} rows", rows.len());
    let half = |first: usize| {
        let mut fork = engine.fork();
        let mut own: Vec<_> = rows.iter().skip(first).step_by(2).cloned().collect();
        own.iter_mut().for_each(|rung| fork.finish(plan, &stock, &before, rung));
        own
    };
    bencher.bench_local(|| {
        std::thread::scope(|scope| {
            let other = scope.spawn(|| half(1));
            (half(0), other.join().expect("rows"))
        })
    });
}

#[divan::bench]
fn sizing_help_tracking_lithium(bencher: Bencher<'_, '_>) {
    sizing_help(bencher, &plan("larkspur"));
}

#[divan::bench]
fn sizing_help_two_pwm_lead(bencher: Bencher<'_, '_>) {
    sizing_help(bencher, &two_pwm_arrays());
}

/// 1,000 candidates of the sizing search, each with its whole year, on two threads from an engine that has answered the
/// plan: all that the search looks at, eight numbers of batteries with eight of strings, for 16 sizes of battery from half
/// the plan's to twice that. Budget 1 s on lithium with trackers, 2 s with PWM on lead. Measured on that machine: 0.84 s
/// with one tracker, 1.01 with two, 1.54 with PWM on lead and 2.85 with two of these; a superseded search ends within 2 ms or so.
fn candidates(bencher: Bencher<'_, '_>, plan: &Plan) {
    let mut engine = Engine::default();
    engine.evaluate(plan, &Stock::default());
    bencher.bench_local(|| {
        std::thread::scope(|scope| {
            let other = scope.spawn(|| goals(engine.fork(), plan, 1, &|| true));
            assert_eq!(goals(engine.fork(), plan, 0, &|| true) + other.join().expect("choices"), CANDIDATES);
        })
    });
}

const CANDIDATES: usize = 1000;

/// Every other size of battery, each with its numbers of batteries and strings; how many choices were looked at.
fn goals(mut engine: Engine, plan: &Plan, first: u8, is_wanted: &dyn Fn() -> bool) -> usize {
    let all: Vec<(usize, usize)> = (1..=8).flat_map(|strings| (1..=8).map(move |n| (n, strings))).collect();
    let unit_ah = plan.bank.unit_ah.known().expect("a label").0;
    let sizes = (first..16).step_by(2).map(|k| turned(plan, "bank.unit_ah", unit_ah * (0.5 + 0.1 * f64::from(k))));
    let mut left = CANDIDATES / 2;
    for plan in sizes {
        let choices = all.get(..left.min(all.len())).unwrap_or_default();
        let found = engine.goals_while(&plan, &Stock::default(), choices, is_wanted);
        assert!(found.iter().all(|goal| goal.short_days.is_ok() && goal.days_without_sun.is_ok()));
        left -= found.len();
    }
    CANDIDATES / 2 - left
}

#[divan::bench(sample_count = 10)]
fn thousand_candidates_one_tracking_lithium(bencher: Bencher<'_, '_>) {
    candidates(bencher, &plan("bramble"));
}

#[divan::bench(sample_count = 10)]
fn thousand_candidates_tracking_lithium(bencher: Bencher<'_, '_>) {
    candidates(bencher, &plan("larkspur"));
}

#[divan::bench(sample_count = 10)]
fn thousand_candidates_pwm_lead(bencher: Bencher<'_, '_>) {
    candidates(bencher, &plan("sorrel"));
}

#[divan::bench(sample_count = 10)]
fn thousand_candidates_two_pwm_lead(bencher: Bencher<'_, '_>) {
    candidates(bencher, &two_pwm_arrays());
}

/// How long that search still runs on both threads once a newer question has been asked.
#[divan::bench(sample_count = 20, args = ["larkspur", "sorrel"])]
fn superseded_search_ends(bencher: Bencher<'_, '_>, name: &str) {
    let (plan, stock) = (Arc::new(plan(name)), Stock::default());
    let mut engine = Engine::default();
    engine.evaluate(&plan, &stock);
    bencher
        .with_inputs(|| {
            let wanted = Arc::new(AtomicBool::new(true));
            let halves = [0, 1].map(|first| {
                let (engine, plan, wanted) = (engine.fork(), Arc::clone(&plan), Arc::clone(&wanted));
                std::thread::spawn(move || goals(engine, &plan, first, &|| wanted.load(Ordering::Relaxed)))
            });
            std::thread::sleep(Duration::from_millis(60));
            (wanted, halves)
        })
        .bench_local_values(|(wanted, halves)| {
            wanted.store(false, Ordering::Relaxed);
            halves.map(|half| assert!(half.join().expect("choices") < CANDIDATES / 2))
        });
}

/// The same year on all threads.
fn year_on_all_threads(bencher: Bencher<'_, '_>, plan: &Plan) {
    let input = Engine::default().year_input(plan, &Stock::default()).unwrap_or_else(|m| panic!("{}", m.0));
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    bencher.counter(ItemsCount::new(HOURS)).bench_local(|| year_on(&input, threads));
}

#[divan::bench]
fn year_on_all_threads_tracking_lithium(bencher: Bencher<'_, '_>) {
    year_on_all_threads(bencher, &plan("larkspur"));
}

#[divan::bench]
fn year_on_all_threads_two_pwm_lead(bencher: Bencher<'_, '_>) {
    year_on_all_threads(bencher, &two_pwm_arrays());
}
