//! What the year says: clipping, arrays below the bank, unlike panels; each with its silent twin.

use super::samples::SOUND;
use super::{evaluate, plan};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Edit, FieldPath, Step, Value};

fn report(edits: &[(&str, Value)]) -> Report {
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() }).collect();
    evaluate(&plan(SOUND).with(&Step { name: "test".into(), edits }).unwrap_or_else(|e| panic!("{e}")))
}

/// A controller that may pass 12 A of what would be more: the year's own sum of what was cut off is the number.
#[test]
fn clipping_is_a_note_with_its_energy() {
    let free = report(&[]);
    assert!(free.findings.iter().all(|f| f.check.id != "clipping"));
    let r = report(&[("controllers.C1.out_a", Value::Number(12.0))]);
    let found = r.findings.iter().find(|f| f.check.id == "clipping").expect("clipping");
    assert_eq!(found.level, Level::Note);
    let lost = free.year.harvest_kwh.clone().unwrap() - r.year.harvest_kwh.clone().unwrap();
    // What the posts miss is what was cut off at the controller, less the wire's loss on it.
    assert!(found.n(0) > lost && found.n(0) < lost * 1.1, "{} cut off, {lost} missing", found.n(0));
}

/// A headroom the hot array cannot keep is lost energy.
#[test]
fn an_array_below_the_bank_costs_what_the_finding_says() {
    let free = report(&[]);
    assert!(free.findings.iter().all(|f| f.check.id != "array-below-bank"));
    let short =
        [("arrays.A1.strings", Value::Text("1S2P P1".into())), ("controllers.C1.run_headroom_v", Value::Number(4.5))];
    let r = report(&short);
    let found = r.findings.iter().find(|f| f.check.id == "array-below-bank").expect("array-below-bank");
    assert_eq!(found.level, Level::Caution);
    let ideal = report(&[short[0].clone(), ("controllers.C1.run_headroom_v", Value::Number(0.0))]);
    let lost = ideal.year.harvest_kwh.clone().unwrap() - r.year.harvest_kwh.clone().unwrap();
    assert!(lost > 1.0, "the headroom costs {lost} kWh");
}
