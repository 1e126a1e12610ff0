//! What always has a rating and of which nobody has entered it: asked for, as a `?` is.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, near, texts};
use coachwire::engine::Report;
use coachwire::plan::{Plan, Value};

/// What waits for the rating of a device, and how often it is counted.
fn waits(r: &Report, id: &str) -> (bool, usize) {
    let field = format!("devices.{id}.ratings.amps_a");
    let is_it = |c: &&coachwire::engine::report::NotChecked| {
        c.check == "device-below-current"
            && c.subject.as_str() == format!("devices.{id}")
            && c.waits_for.as_str() == field
    };
    (r.not_checked.iter().any(|c| is_it(&c)), r.unknown.iter().filter(|u| u.as_str() == field).count())
}

fn unrated(p: &Plan, id: &str) -> Plan {
    with(p, &[(&format!("devices.{id}.ratings.amps_a"), Value::Nothing)])
}

/// A rating that was left out is one that nobody has read yet: counted once and its check not run, as with a `?`. Source: common
/// practice, that each of these has its amps on its label.
#[test]
fn what_current_flows_through_is_asked_for_its_rating() {
    let right = evaluate(&sound());
    assert!(right.not_checked.is_empty() && right.unknown.is_empty(), "{:?}", right.unknown);
    for id in ["SW", "BUS", "FP"] {
        let r = evaluate(&unrated(&sound(), id));
        assert_eq!(waits(&r, id), (true, 1), "{id}: {:?}", r.not_checked);
        assert_eq!((r.unknown.len(), r.not_checked.len()), (1, 1), "{id}: {:?}", r.unknown);
        let asked = evaluate(&with(&sound(), &[(&format!("devices.{id}.ratings.amps_a"), Value::Unknown)]));
        assert_eq!(waits(&asked, id), (true, 1), "{id}");
    }
    // Whatever stands in the main switch's place.
    for kind in [
        "bus",
        "shunt",
        "switch",
        "isolator",
        "resetting breaker",
        "PV disconnect",
        "fuse panel",
        "combiner",
        "tow connector",
    ] {
        let p = with(&unrated(&sound(), "SW"), &[("devices.SW.kind", word(kind))]);
        assert_eq!(waits(&evaluate(&p), "SW"), (true, 1), "{kind}: {}", texts(&evaluate(&p)));
    }
    // A splice and a point of the frame have none.
    for kind in ["splice", "chassis point"] {
        let p = with(&unrated(&sound(), "SW"), &[("devices.SW.kind", word(kind))]);
        assert_eq!(waits(&evaluate(&p), "SW"), (false, 0), "{kind}");
    }
}

/// What nothing flows through waits for nothing: not drawn, on a bond alone, taken out.
#[test]
fn what_nothing_flows_through_is_not_asked() {
    let loose = insert(&sound(), "devices", r#"(id: "B2", kind: "bus")"#);
    assert_eq!(waits(&evaluate(&loose), "B2"), (false, 0));
    let bonded = with(&loose, &[("runs.W7.to", Value::Id("B2".parse().expect("id")))]);
    assert_eq!(waits(&evaluate(&bonded), "B2"), (false, 0), "{}", texts(&evaluate(&bonded)));
    let gone = with(&unrated(&sound(), "FP"), &[("devices.FP.state", word("removed"))]);
    assert_eq!(waits(&evaluate(&gone), "FP"), (false, 0));
}

/// Source: Ohm's law: 0.05 V at the rating (a shunt of the 50 mV class, from memory). Without its rating it is asked for, and what the
/// conductors lose is judged all the same: the shunt can only add to it.
#[test]
fn the_drop_of_a_shunt_goes_by_its_rating() {
    let p = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt")"#);
    let p = with(&p, &[("runs.W3.negative_to", Value::Id("SHN".parse().expect("id")))]);
    let of = |p: &Plan| {
        let r = evaluate(p);
        r.runs.iter().find(|x| x.id.as_str() == "W3").expect("W3").clone()
    };
    let lost = |r: &coachwire::engine::report::RunFigures| r.drop_v.clone().expect("known").0;
    assert_eq!(waits(&evaluate(&p), "SHN"), (true, 1));
    let rated = |amps: f64| of(&with(&p, &[("devices.SHN.ratings.amps_a", Value::Number(amps))]));
    let (small, large) = (rated(200.0), rated(400.0));
    let flows = small.drop_at_a.clone().expect("known").0;
    near("shunt", Ok(lost(&small) - lost(&large)), (0.05 / 200.0 - 0.05 / 400.0) * flows, 0.01);
    near("the conductors alone", Ok(lost(&small) - lost(&of(&p))), 0.05 / 200.0 * flows, 0.01);
}
