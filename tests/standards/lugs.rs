//! Lugs by gauge and stud.

use coachwire::standards::conductor::Gauge;
use coachwire::standards::lug::{Stud, usual_studs};

use crate::support::rows;

/// Source: the usual ranges of lug makers, as listed from memory, row by row.
#[test]
fn usual_studs_whole() {
    let table = rows("standards/lug_cable_to_stud.csv");
    assert_eq!(table.len(), 7);
    for gauge in Gauge::Awg(0).ladder() {
        let name = gauge.to_string();
        let row = table.iter().find(|r| format!("{} AWG", r.text("awg")) == name);
        let listed = row.map(|r| r.text("usual_stud_sizes").split(',').filter_map(Stud::named).collect::<Vec<_>>());
        assert_eq!(usual_studs(gauge), listed, "{name}");
        assert!(listed.is_none_or(|l| l.len() >= 3), "{name}");
    }
}

/// Source: generic torque table: studs that share a row are one size.
#[test]
fn studs_by_either_name() {
    let table = rows("standards/lug_torque_generic.csv");
    for row in &table {
        let (inch, metric) = row.text("stud").split_once(" / ").expect("two names");
        assert_eq!(Stud::named(inch), Stud::named(metric), "{inch}");
        assert!(Stud::named(inch).is_some(), "{inch}");
    }
    assert_eq!(Stud::named("5/16-18 studs"), Some(Stud::FiveSixteenths));
    assert_eq!(Stud::named("two m10 bolts"), Some(Stud::ThreeEighths));
    for other in ["", "M7", "clamp", "screws 14/3", "M80"] {
        assert_eq!(Stud::named(other), None, "{other}");
    }
}
