//! Cures over a whole way: two cables in the place of one, plus and minus moved together, more batteries with the fuses that their
//! fault wants; and those of what the words of a finding name.

use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{flooded_in_a_box, insert, sound, with, word};
use super::singles::coach;
use super::{evaluate, found, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn names(steps: &[Step]) -> Vec<&str> {
    steps.iter().map(|s| s.name.as_str()).collect()
}

fn stops(r: &Report) -> Vec<String> {
    r.findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.text()).collect()
}

/// 1000 W from 12 V lose over 2 % in 9 m of one 4/0 AWG (0.0608 ohm/kft, NEC Ch. 9 Table 8: 18 m x 0.2 mohm/m x 94.7 A = 0.34 V of
/// 0.24 V); 2 x 3/0 AWG have half of its ohms and a quarter. Whether the inverter takes two lugs is to be asked; where its sheet says
/// that it takes one, two are not offered.
#[test]
fn a_whole_way_is_doubled_where_no_single_cable_does() {
    let long = with(&sound(), &[("runs.W5.legs.L1.length_m", n(9.0))]);
    let steps = cures(&long, "drop-over-target", "runs.W5");
    let two = steps.iter().find(|s| s.name.contains("2 x ")).unwrap_or_else(|| panic!("{:?}", names(&steps)));
    assert!(two.name.contains("whether INV takes 2 in one terminal is not known"), "{}", two.name);
    let after = evaluate(&long.with(two).expect("applies"));
    assert!(found(&after, "drop-over-target").is_empty() && stops(&after).is_empty(), "{}", texts(&after));
    apply_all(&long);
    // Its right twin is short; one more whose terminal takes one cable alone gets no second one.
    assert!(found(&evaluate(&sound()), "drop-over-target").is_empty());
    let one = with(&long, &[("inverters.INV.ratings.wires_each", n(1.0))]);
    let steps = cures(&one, "drop-over-target", "runs.W5");
    assert!(steps.iter().all(|s| !s.name.contains("2 x ")), "{:?}", names(&steps));
    let two = with(&long, &[("inverters.INV.ratings.wires_each", n(2.0))]);
    let steps = cures(&two, "drop-over-target", "runs.W5");
    assert!(steps.iter().any(|s| s.name.contains("2 x ") && !s.name.contains("not known")), "{:?}", names(&steps));
}

/// A branch with a blade fuse, which opens 1 kA (ISO 8820-3, from memory), so far from one battery that it opens its fault, and not that of two.
fn with_branch(parallel: f64) -> Plan {
    let branch = r#"(id: "W8", from: "FP", to: "L1", gauge: "10 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.05)])"#;
    let edits = [
        ("bank.parallel", n(parallel)),
        ("bank.max_charge_a", n(150.0)),
        ("runs.W6.gauge", Value::Gauge("8 AWG".parse().expect("gauge"))),
        ("runs.W6.legs.L1.length_m", n(2.9)),
    ];
    with(&insert(&sound(), "runs", branch), &edits)
}

/// One battery gives 90 A (0.9 of 100 A, common practice), 1000 W draw 94.7 A: two do, and their fault of more than 1 kA wants
/// another fuse on the branch, which comes along in the same step.
#[test]
fn more_batteries_bring_the_fuses_that_their_fault_wants() {
    let p = with_branch(1.0);
    assert!(stops(&evaluate(&p)).is_empty(), "{:?}", stops(&evaluate(&p)));
    let more = with_branch(2.0);
    let behind = evaluate(&more);
    assert!(!found(&behind, "interrupt-below-fault").is_empty(), "{}", texts(&behind));
    let steps = cures(&p, "inverter-over-discharge-limit", "inverters.INV");
    assert!(steps[0].name.starts_with("batteries: 2 in parallel, W8 fuse "), "{:?}", names(&steps));
    let after = evaluate(&p.with(&steps[0]).expect("applies"));
    assert!(found(&after, "inverter-over-discharge-limit").is_empty() && stops(&after).is_empty(), "{}", texts(&after));
    apply_all(&p);
    assert!(found(&behind, "inverter-over-discharge-limit").is_empty());
}

/// A fuse of less than its current wants loses volts of its own (0.1 V at its rating, from memory): one that stands in wire which is too
/// thin for the right one is exchanged together with the wire.
#[test]
fn wire_and_fuse_of_a_drop_are_sized_together() {
    let thin = [
        ("runs.W2.gauge", Value::Gauge("10 AWG".parse().expect("gauge"))),
        ("runs.W2.protection.F1.amps_a", n(6.0)),
        ("runs.W2.legs.L1.length_m", n(2.0)),
    ];
    let p = with(&sound(), &thin);
    let steps = cures(&p, "drop-over-target", "runs.W2");
    assert!(!steps.is_empty(), "{}", texts(&evaluate(&p)));
    let after = evaluate(&p.with(&steps[0]).expect("applies"));
    let left = found(&after, "fuse-below-design").len() + found(&after, "drop-over-target").len();
    assert!(left == 0 && stops(&after).is_empty(), "{:?}\n{}", steps[0].name, texts(&after));
    apply_all(&p);
}

/// A switch beside gassing batteries (NEC 552.10(D)): moved, or one that is ignition protected. Where its sheet is not entered that is
/// said; where it says that it does not spark nothing is.
#[test]
fn what_sparks_beside_gas_is_moved_or_sealed() {
    let p = with(&with(&sound(), &flooded_in_a_box()), &[("devices.SW.zone", word("battery box"))]);
    let text = found(&evaluate(&p), "sparks-by-battery")[0].text();
    assert!(text.contains("unless its sheet says otherwise"), "{text}");
    is_curable(&p, "sparks-by-battery", "devices.SW");
    let steps = cures(&p, "sparks-by-battery", "devices.SW");
    assert!(steps.iter().any(|s| s.name == "SW: one whose sheet says ignition protected"), "{:?}", names(&steps));
    let said = with(&p, &[("devices.SW.ratings.sparks", word("yes"))]);
    let text = found(&evaluate(&said), "sparks-by-battery")[0].text();
    assert!(text.starts_with("SW can spark and stands in the battery box"), "{text}");
    let sealed = with(&p, &[("devices.SW.ratings.sparks", word("no"))]);
    assert!(found(&evaluate(&sealed), "sparks-by-battery").is_empty());
    // No inverter is made so: it is moved.
    let near = with(&p, &[("inverters.INV.zone", word("battery box"))]);
    let steps = cures(&near, "sparks-by-battery", "inverters.INV");
    assert!(!steps.is_empty() && steps.iter().all(|s| s.name.contains(" moved: ")), "{:?}", names(&steps));
}

/// A splice of 20 mohm (entered) on 94.7 A loses 1.9 V: it is named, and made anew; without it nothing is said.
#[test]
fn a_splice_that_loses_most_is_named_and_made_anew() {
    let p = with(&sound(), &[("runs.W5.legs.L1.extra_mohm", n(20.0))]);
    let text = found(&evaluate(&p), "drop-over-target")[0].text();
    assert!(text.contains("1.89 V of it in splices and joints, 20 mohm in W5: made anew"), "{text}");
    assert!(!text.contains("a bank of more volts"), "{text}");
    let steps = cures(&p, "drop-over-target", "runs.W5");
    assert_eq!(names(&steps)[0], "joints made anew: W5 L1");
    is_curable(&p, "drop-over-target", "runs.W5");
}

/// Panels on feet where a tilt is entered: of a mount that is tilted, or no tilt; the twin without a tilt says nothing.
#[test]
fn feet_that_are_tilted_are_of_another_mount_or_flat() {
    let p = with(&sound(), &[("stays.ST1.tilt_deg", n(30.0))]);
    is_curable(&p, "feet-tilted", "arrays.A1.mount");
    let steps = cures(&p, "feet-tilted", "arrays.A1.mount");
    for step in &steps {
        assert!(found(&evaluate(&p.with(step).expect("applies")), "feet-tilted").is_empty(), "{}", step.name);
    }
    assert_eq!(steps.len(), 2, "{:?}", names(&steps));
    assert!(found(&evaluate(&sound()), "feet-tilted").is_empty());
}

/// A shunt that nothing leads to: the bank's negatives go over it, and none goes past it then. Beside single conductors the lead from
/// the post to it is drawn as well.
#[test]
fn a_shunt_on_no_run_gets_the_negatives() {
    let shunt = r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 300.0))"#;
    let p = insert(&sound(), "devices", shunt);
    is_curable(&p, "shunt-without-run", "devices.SHN");
    let after = p.with(&cures(&p, "shunt-without-run", "devices.SHN")[0]).expect("applies");
    let r = evaluate(&after);
    for check in ["shunt-without-run", "shunt-bypass", "negative-leads-nowhere"] {
        assert!(found(&r, check).is_empty(), "{}", texts(&r));
    }
    let main = after.runs.iter().find(|r| r.id.as_str() == "W3").expect("W3");
    assert_eq!(main.negative_from.as_ref().and_then(|k| k.known()).map(|id| id.as_str()), Some("SHN"));
    assert!(found(&evaluate(&sound()), "shunt-without-run").is_empty());
}

/// The same in single conductors: the one on the post is led from the shunt on, and one from the post to it is drawn, to be measured.
#[test]
fn a_shunt_beside_single_conductors_gets_its_own_lead() {
    let (main, bond) = (("N1", "BK-", "NB", "4/0 AWG", 0.6, 0.0), ("B1", "NB", "CHS", "4/0 AWG", 0.6, 0.0));
    let p = coach(&["N1", "N2", "B1"], &[main, bond]);
    is_curable(&p, "shunt-without-run", "devices.SHN");
    let after = p.with(&cures(&p, "shunt-without-run", "devices.SHN")[0]).expect("applies");
    let ends = |id: &str| {
        let run = after.runs.iter().find(|r| r.id.as_str() == id).expect("the run");
        [&run.from, &run.to].map(|k| k.known().map(ToString::to_string).unwrap_or_default())
    };
    let new = after.runs.last().expect("runs").id.to_string();
    assert_eq!((ends("N1"), ends(&new)), (["SHN", "NB"].map(String::from), ["BK-", "SHN"].map(String::from)));
    assert!(found(&evaluate(&after), "shunt-bypass").is_empty());
}

/// 45 A over 5 m of plus and 5 m of minus of 4 AWG (0.321 ohm/kft, NEC Ch. 9 Table 8) lose 0.47 V, 3.9 % of 12 V: a charger in single
/// conductors is moved with both of them.
#[test]
fn plus_and_minus_are_as_long_once_a_charger_is_moved() {
    let (plus, minus) = (("W7", "PB", "CH", "4 AWG", 5.0, 60.0), ("N7", "CH", "NB", "4 AWG", 5.0, 0.0));
    let p = coach(&["W7", "N7"], &[plus, minus]);
    let r = evaluate(&p);
    let at = found(&r, "drop-over-target")[0].subject.to_string();
    let steps = cures(&p, "drop-over-target", &at);
    let both = |s: &&Step| s.name.starts_with("CH nearer: ") && s.name.contains("W7") && s.name.contains("N7");
    let moved = steps.iter().find(both).unwrap_or_else(|| panic!("{:?}", names(&steps)));
    let after = p.with(moved).expect("applies");
    let long = |id: &str| after.runs.iter().find(|r| r.id.as_str() == id).map(|r| r.legs[0].length_m);
    assert_eq!(long("W7"), long("N7"));
    assert!(found(&evaluate(&after), "drop-over-target").is_empty(), "{}", moved.name);
    assert!(found(&evaluate(&coach(&[], &[])), "drop-over-target").is_empty());
}

/// A fuse larger than need be may stay where its wire carries it: what would fit is called the smallest.
#[test]
fn the_smallest_fuse_that_would_fit_is_called_so() {
    // 94.7 A x 1.25 = 118.4 A: 125 A is the next rating; 4/0 AWG carries more than 150 A.
    let of = |amps: f64| {
        let r = evaluate(&with(&sound(), &[("runs.W5.protection.F1.amps_a", n(amps))]));
        let run = r.runs.iter().find(|r| r.id.as_str() == "W5").expect("W5");
        assert_eq!(run.proposed.as_ref().map(|p| p.amps.0), Some(125.0));
        run.would_fit()
    };
    assert_eq!((of(150.0), of(125.0), of(80.0)), ("smallest that would fit:", "would fit", "would fit"));
}
