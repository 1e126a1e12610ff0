//! More copper never harvests nor stores less.

use coachwire::engine::Engine;
use coachwire::plan::{Plan, Value};
use coachwire::standards::conductor::Gauge;
use coachwire::stock::Stock;

use super::{n, plan, with};

/// Six coaches, the run that is made thicker, and the controllers whose timers end absorption.
fn six() -> [(&'static str, Plan, &'static str); 6] {
    let hot = [("stays.ST1.latitude_deg", n(33.0)), ("stays.ST1.longitude_deg", n(-112.0))];
    let warm = [hot[0].clone(), hot[1].clone(), ("controllers.C1.run_headroom_v", n(4.0))];
    [
        ("tracking lithium", plan("bramble"), "W2"),
        ("PWM lead", plan("sorrel"), "W2"),
        ("DC-DC and tracking", plan("marram"), "W2"),
        ("two controllers on one run", plan("larkspur"), "W6"),
        ("hot 36 cells, PWM", with(&plan("sorrel"), &hot), "W1"),
        ("hot 36 cells, tracking with headroom", with(&plan("bramble"), &warm), "W1"),
    ]
}

/// What is left of a plan's charge stages.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Stages {
    AsSet,
    NoTimers,
    OneVoltage,
}

/// Loop resistance, harvest and stored energy of 60 steps of copper, most resistance first.
fn steps(plan: &Plan, run: &str, stages: Stages) -> Vec<(f64, f64, f64)> {
    let (stock, mut engine) = (Stock::default(), Engine::default());
    let mut plan = plan.clone();
    for controller in &mut plan.controllers {
        if stages != Stages::AsSet {
            controller.absorb_h = None;
        }
        if stages == Stages::OneVoltage {
            controller.float_v = None;
        }
    }
    for charger in plan.chargers.iter_mut().filter(|_| stages == Stages::OneVoltage) {
        charger.float_v = None;
    }
    let at = plan.runs.iter().position(|r| r.id.as_str() == run).expect("the run");
    let leg = plan.runs[at].legs[0].id.clone();
    let mut all = Vec::new();
    for size in 0..15 {
        for length_m in [1.0, 2.3, 4.1, 7.7] {
            let candidate = with(
                &plan,
                &[
                    (&format!("runs.{run}.gauge"), Value::Gauge(Gauge::Awg(size))),
                    (&format!("runs.{run}.legs.{leg}.length_m"), n(length_m)),
                ],
            );
            let report = engine.evaluate(&candidate, &stock);
            let (year, ohm) = (&report.year, report.runs[at].resistance_ohm.clone().expect("ohms").0);
            all.push((ohm, year.harvest_kwh.clone().expect("a year"), year.stored_kwh.clone().expect("a bank")));
        }
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all
}

fn worst(all: &[(f64, f64, f64)], of: fn(&(f64, f64, f64)) -> f64) -> (f64, usize) {
    let falls = |(i, pair): (usize, &[(f64, f64, f64)])| (1.0 - of(&pair[1]) / of(&pair[0]), i);
    all.windows(2).enumerate().map(falls).fold((0.0, 0), |a, b| if b.0 > a.0 { b } else { a })
}

/// Source: Ohm's law: less resistance leaves more. 59 steps of copper on each of six coaches.
#[test]
fn more_copper_never_harvests_less() {
    for (name, plan, run) in six() {
        for stages in [Stages::AsSet, Stages::NoTimers, Stages::OneVoltage] {
            let all = steps(&plan, run, stages);
            assert_eq!(all.len(), 60);
            assert!(all[59].1 > all[0].1, "{name}: copper matters at all");
            let (harvest, stored) = (worst(&all, |s| s.1), worst(&all, |s| s.2));
            println!("{name} {stages:?}: harvest falls {harvest:?}, stored falls {stored:?} {:?} {:?}", all[stored.1], all[stored.1 + 1]);
        }
    }
}
