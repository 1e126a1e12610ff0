//! Several conductors in each pole: what their lugs and wires lose side by side.

use super::mistakes::{insert, sound, with};
use super::{evaluate, near};
use coachwire::plan::{Plan, Value};

/// The sound plan with the inverter's feed of so many conductors in each pole, leg by leg, and lugs of so many milliohms.
fn feed(legs: &[f64], lug_mohm: f64) -> Plan {
    let rule = format!(r#"(id: "lugged-joint-mohm", value: {lug_mohm:?}, reason: "a test of its place")"#);
    let mut p = insert(&sound(), "rules", &rule);
    for (n, per_pole) in legs.iter().enumerate().skip(1) {
        let leg = format!(r#"(id: "L{}", length_m: 1.0, insulation_c: 105.0, per_pole: {per_pole:?})"#, n + 1);
        p = insert(&p, "runs.W5.legs", &leg);
    }
    with(&p, &[("runs.W5.legs.L1.per_pole", Value::Number(legs[0]))])
}

/// Source: resistances in parallel. Lugs of 1.05 milliohm against 0.05, at both ends of both poles: one cable a pole adds
/// 4 x 1, two 4 x 1/2; two that go on as one, or as three, add 2 x (1/2 + 1) and 2 x (1/2 + 1/3).
#[test]
fn lugs_side_by_side_are_in_parallel() {
    let ohm = |legs: &[f64], lug: f64| {
        let r = evaluate(&feed(legs, lug));
        let run = r.runs.iter().find(|r| r.id.as_str() == "W5").expect("W5");
        run.resistance_ohm.clone().expect("ohm").0
    };
    let cases: [(&[f64], f64); 4] =
        [(&[1.0], 4.0), (&[2.0], 2.0), (&[2.0, 1.0], 3.0), (&[2.0, 3.0], 2.0 * (0.5 + 1.0 / 3.0))];
    for (legs, mohm) in cases {
        near("lugs", Ok(ohm(legs, 1.05) - ohm(legs, 0.05)), mohm / 1000.0, 1e-9);
    }
}

/// The working names all lugs, and loses what the run loses.
#[test]
fn the_working_names_every_lug() {
    use coachwire::engine::worked::{PartOf, worked};
    let p = feed(&[2.0], 0.05);
    let worked = worked(&p, &"W5".parse().expect("id")).expect("W5");
    let parts = worked.parts.expect("parts");
    assert!(parts.iter().any(|x| x.what == PartOf::Joints(8.0, 2.0)), "{parts:?}");
    let whole = evaluate(&p).runs[4].resistance_ohm.clone().expect("ohm").0;
    near("sum", Ok(parts.iter().map(|x| x.ohm).sum()), whole, 1e-12);
}
