//! The main minus as the way home of a fault at the bars, which the main fuse alone is ahead of.

use super::comes_back::{NONE, fuse, wired};
use super::mistakes::{insert, with};
use super::{evaluate, found, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

const CHECK: &str = "fuse-above-conductor";

/// Bars of plus and minus behind a main fuse of 200 A, an inverter on 125 A and a panel on 30 A.
fn bars(minus: &str, own: &str) -> Plan {
    let alone = |amps: f64| NONE.to_string() + &fuse(amps);
    let (main, inverter, panel, branch) = (alone(200.0), alone(125.0), alone(30.0), fuse(15.0));
    let p = wired(&[
        ("W3", "BK", "BUS", "4/0 AWG", 0.5, &main),
        ("N1", "NB", "BK-", minus, 0.5, NONE),
        ("W5", "BUS", "INV", "2/0 AWG", 0.5, &inverter),
        ("N5", "INV", "NB", own, 0.5, NONE),
        ("W6", "BUS", "FP", "8 AWG", 1.0, &panel),
        ("N6", "FP", "NB", "8 AWG", 1.0, NONE),
        ("W8", "FP", "L1", "10 AWG", 2.0, &branch),
        ("W9", "FP", "L2", "10 AWG", 2.0, &branch),
    ]);
    with(&p, &[("runs.B1.from", Value::Id("NB".parse().expect("id")))])
}

/// 2 AWG of 105 C insulation in open air, its terminals of 75 C: 170 A (NEC 310.17), the next standard rating above 175 A (NEC 240.6(A)).
/// The branches' fuses together let 155 A back by it, a fault at the bar of plus the main fuse's 200 A (NEC 240.4). What brings back
/// one branch alone is held to that branch's fuse: a fault at the bar does not come by it.
#[test]
fn a_main_minus_bears_what_the_main_fuse_lets_through() {
    let thin = bars("2 AWG", "2 AWG");
    let r = evaluate(&thin);
    let all = found(&r, CHECK);
    assert_eq!(all.len(), 1, "{}", texts(&r));
    let f = all[0];
    assert_eq!((f.subject.as_str(), f.level), ("runs.N1", Level::Caution));
    assert_eq!((f.n(0), f.n(1), f.n(3)), (200.0, 170.0, 175.0), "{}", f.text());
    assert!(f.text().contains("F1 of W3, whose current a fault at BUS brings back by it"), "{}", f.text());
    super::cures::is_curable(&thin, "fuse-above-conductor", "runs.N1");
    super::cures::apply_all(&thin);
    // As the positive, or with a main fuse that it bears.
    for right in [bars("4/0 AWG", "2 AWG"), with(&thin, &[("runs.W3.protection.F1.amps_a", Value::Number(175.0))])] {
        let r = evaluate(&right);
        assert!(found(&r, CHECK).is_empty(), "{}", texts(&r));
    }
}

/// Two converters of 30 A side by side on one bar of 12 V, each with its minus to the bar of minus: neither brings back more than it can
/// give, whatever both do together (Kirchhoff's current law). 600 W and 120 W at 12.0 V are 60 A.
#[test]
fn the_minus_of_one_of_two_converters_carries_its_own() {
    let alone = |amps: f64| NONE.to_string() + &fuse(amps);
    let (main, feed, panel, branch) = (alone(80.0), alone(40.0), alone(80.0), fuse(60.0));
    let p = wired(&[
        ("W3", "BK", "BUS", "2 AWG", 0.5, &main),
        ("N1", "NB", "BK-", "2 AWG", 0.5, NONE),
        ("W11", "BUS", "CV1", "8 AWG", 0.5, &feed),
        ("N11", "CV1", "NB", "8 AWG", 0.5, NONE),
        ("W12", "BUS", "CV2", "8 AWG", 0.5, &feed),
        ("N12", "CV2", "NB", "8 AWG", 0.5, NONE),
        ("W21", "CV1", "FB", "8 AWG", 0.5, NONE),
        ("W22", "CV2", "FB", "8 AWG", 0.5, NONE),
        ("W4", "FB", "FP", "4 AWG", 0.5, &panel),
        ("N4", "FP", "NB", "4 AWG", 0.5, NONE),
        ("W8", "FP", "L1", "6 AWG", 1.0, &branch),
        ("W9", "FP", "L2", "6 AWG", 1.0, &branch),
    ]);
    let p = ["CV1", "CV2"].into_iter().fold(p, |p, id| {
        insert(&p, "devices", &format!(r#"(id: "{id}", kind: "12 V converter", ratings: (amps_a: 30.0))"#))
    });
    let p = insert(&p, "devices", r#"(id: "FB", kind: "bus")"#);
    let n = Value::Number;
    let watts = [("bank.unit_v", n(25.6)), ("loads.L1.watts_w", n(600.0)), ("loads.L2.watts_w", n(120.0))];
    let r = evaluate(&with(&p, &watts));
    for (id, most) in [("W21", 30.0), ("W22", 30.0), ("N11", 30.0), ("N12", 30.0), ("N4", 60.0)] {
        let run = r.runs.iter().find(|x| x.id.as_str() == id).expect("drawn");
        super::near(id, run.design_a.clone().map(|a| a.0), most, 1e-9);
    }
}
