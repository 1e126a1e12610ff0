//! Cures take the least that serves, from where it costs least, and say what they cost; a fuse goes where it is asked for and is no
//! larger than a label allows; figures are those of copper that its insulation stands.

use super::cures::cures;
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, texts};
use coachwire::engine::Report;
use coachwire::plan::{Edit, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The sound plan with a shore charger of 45 A beside its controller of 52 A.
fn on_shore() -> Plan {
    let charger = r#"(id: "CA", kind: "shore", out_a: 45.0, absorb_v: 14.2, efficiency_pct: 88.0, ac_source: "shore")"#;
    let run = r#"(id: "V1", from: "CA", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#;
    insert(&insert(&sound(), "chargers", charger), "runs", run)
}

fn harvest_kwh(r: &Report) -> f64 {
    *r.year.lived.harvest_kwh.as_ref().expect("a year")
}

/// Whether a step sets a field.
fn sets(step: &Step, field: &str) -> bool {
    step.edits.iter().any(|e| matches!(e, Edit::Set { at, .. } if at.as_str() == field))
}

/// 97 A on a bank that takes 75 A: the shore charger set lower costs no sun and comes first; the controller set lower costs harvest, and
/// its name says how much, which is what the plan with it harvests less.
#[test]
fn charge_is_given_up_where_the_year_loses_least() {
    let p = with(&on_shore(), &[("bank.max_charge_a", n(25.0))]);
    let before = evaluate(&p);
    let steps = cures(&p, "charge-over-limit", "bank");
    let first = &steps[0];
    assert!(sets(first, "chargers.CA.out_a") && !sets(first, "controllers.C1.out_a"), "{steps:?}");
    assert!(!first.name.contains("costs"), "{}", first.name);
    let harvests = |step: &Step| harvest_kwh(&evaluate(&p.with(step).expect("applies")));
    assert!((harvests(first) - harvest_kwh(&before)).abs() < 1.0, "{} {}", harvests(first), harvest_kwh(&before));
    let solar = steps.iter().find(|s| s.edits.len() == 1 && sets(s, "controllers.C1.out_a")).expect("offered");
    let less = harvest_kwh(&before) - harvests(solar);
    assert!(less > 50.0 && solar.name.contains(&format!("; costs: {less:.0} kWh of ")), "{less} {}", solar.name);
}

/// Where one alone cannot give up enough two do together, and days on which loads go short then are said.
#[test]
fn several_give_up_charge_together_and_short_days_are_said() {
    let p = with(&on_shore(), &[("bank.max_charge_a", n(10.0)), ("loads.L1.hours_day", n(24.0))]);
    let steps = cures(&p, "charge-over-limit", "bank");
    let first = &steps[0];
    assert!(sets(first, "chargers.CA.out_a") && sets(first, "controllers.C1.out_a"), "{steps:?}");
    let after = evaluate(&p.with(first).expect("applies"));
    assert!(found(&after, "charge-over-limit").is_empty(), "{}", texts(&after));
    let days = after.year.lived.short_days.clone().expect("a year").round();
    assert!(
        days > 20.0 && first.name.contains(&format!("loads go short on {days} days instead of ")),
        "{}",
        first.name
    );
}
