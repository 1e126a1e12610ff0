//! Odd drawings against circuits solved by hand: batteries with a negative each, shunts that several negatives meet on, what
//! each run of a path loses.

use super::comes_back::{NONE, fuse, one_apart, pairs, singly, usual, wired};
use super::mistakes::{insert, with};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::report::RunFigures;
use coachwire::engine::{Level, Report, worked};
use coachwire::plan::{Known, Plan, Value};
use coachwire::units::Ohms;

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn run<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|x| x.id.as_str() == id).expect("run")
}

fn amps(r: &Report, id: &str) -> f64 {
    run(r, id).design_a.clone().expect("amps").0
}

fn path_v(r: &Report, id: &str) -> f64 {
    run(r, id).path_drop_v.clone().expect("drop").0
}

fn without(p: &Plan, gone: &[&str]) -> Plan {
    let mut p = p.clone();
    p.runs.retain(|r| !gone.contains(&r.id.as_str()));
    p
}

/// The inverter straight from the post, its negative to the shunt, and by W3's negative from there to the post.
fn over_another() -> Plan {
    with(&pairs(), &[("runs.W5.from", id("BK")), ("runs.W5.negative_from", id("SHN"))])
}

/// The usual van, its three batteries with a negative each of so many milliohms, and positives too where told.
fn three(negative: [f64; 3], positive: Option<[f64; 3]>) -> Plan {
    let mut p = without(&usual(), &["N1"]);
    let mut add = |name: String, from: &str, to: &str, mohm: f64, more: &str| {
        p = insert(
            &p,
            "runs",
            &format!(
                r#"(id: "{name}", from: "{from}", to: "{to}", gauge: "2/0 AWG", return_path: "none", {more}
                measured_ohm: {:?}, legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)])"#,
                mohm / 1000.0
            ),
        );
    };
    for (n, mohm) in negative.into_iter().enumerate() {
        add(format!("N1{n}"), "BK-", "SHN", mohm, "");
    }
    for (n, mohm) in positive.into_iter().flatten().enumerate() {
        add(format!("P1{n}"), "BK", "BUS", mohm, &(fuse(60.0) + ","));
    }
    if positive.is_some() { without(&p, &["W3", "W4"]) } else { p }
}

/// Source: Kirchhoff's laws by hand: batteries of 3 mohm on negatives of 1, 2 and 5 mohm share as 1/4 : 1/5 : 1/8; with
/// positives of 4, 3 and 1 mohm beside them as 1/8 : 1/8 : 1/9.
#[test]
fn each_negative_carries_its_batterys_part() {
    let cases = [(None, [4.0, 5.0, 8.0]), (Some([4.0, 3.0, 1.0]), [8.0, 8.0, 9.0])];
    for (positive, ohms) in cases {
        let r = evaluate(&three([1.0, 2.0, 5.0], positive));
        let whole = amps(&r, "N2");
        assert!(whole > 90.0, "{whole}");
        let sum: f64 = ohms.iter().map(|o| 1.0 / o).sum();
        for (n, ohm) in ohms.iter().enumerate() {
            near("negative", Ok(amps(&r, &format!("N1{n}"))), whole / ohm / sum, 1e-9);
            if positive.is_some() {
                near("positive", Ok(amps(&r, &format!("P1{n}"))), whole / ohm / sum, 1e-9);
            }
        }
        let uneven = 100.0 / ohms[0] / sum;
        let said = found(&r, "uneven-battery-leads");
        if positive.is_none() {
            near("most", Ok(said[0].n(1)), uneven, 1e-9);
        } else {
            // 33.95, 33.95 and 32.1 % of it, and a third is even enough.
            assert!(said.is_empty(), "{}", texts(&r));
        }
    }
}

/// Source: resistances in parallel: three negatives of 3 mohm are one of 1 mohm, to every path's drop. What was
/// measured has its shunt in it: here that loses nothing.
#[test]
fn three_negatives_are_one_of_a_third() {
    let one = {
        let mut p = with(&usual(), &[("devices.SHN.ratings.amps_a", Value::Nothing)]);
        p.runs.iter_mut().find(|r| r.id.as_str() == "N1").expect("N1").measured_ohm = Some(Known::Is(Ohms(0.001)));
        evaluate(&p)
    };
    let three = with(&three([3.0; 3], None), &[("devices.SHN.ratings.amps_a", Value::Nothing)]);
    let three = evaluate(&three);
    for id in ["W2", "W5", "W8", "W9"] {
        near(id, Ok(path_v(&three, id)), path_v(&one, id), 1e-9);
    }
    for n in ["N10", "N11", "N12"] {
        near(n, Ok(amps(&three, n)), amps(&one, "N1") / 3.0, 1e-9);
        assert_eq!(run(&three, n).path_drop_pct, run(&three, "N10").path_drop_pct, "{n}");
    }
    for check in ["loop", "uneven-battery-leads", "shunt-bypass", "return-not-drawn", "conductor-below-current"] {
        assert!(found(&three, check).is_empty(), "{}", texts(&three));
    }
    assert!(!three.findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&three));
}

/// The same to the year: what is harvested, and what the negatives lose together.
#[test]
fn the_year_takes_them_as_one() {
    let shunt = [("devices.SHN.ratings.amps_a", Value::Nothing)];
    let of = |mohm: f64, count: usize| {
        let mut p = with(&super::negatives::apart("4/0 AWG", 0.6), &shunt);
        let n1 = p.runs.iter().position(|r| r.id.as_str() == "N1").expect("N1");
        p.runs[n1].measured_ohm = Some(Known::Is(Ohms(mohm / 1000.0)));
        for n in 1..count {
            let mut more = p.runs[n1].clone();
            more.id = format!("N1{n}").parse().expect("id");
            p.runs.push(more);
        }
        evaluate(&p)
    };
    let (one, three) = (of(1.0, 1), of(3.0, 3));
    near("harvest", three.year.harvest_kwh.clone(), one.year.harvest_kwh.clone().unwrap(), 1e-12);
    let lost = |r: &Report, ids: &[&str]| ids.iter().map(|i| run(r, i).loss_wh_day.clone().unwrap().0).sum::<f64>();
    assert!(lost(&one, &["N1"]) > 0.0);
    near("loss", Ok(lost(&three, &["N1", "N11", "N12"])), lost(&one, &["N1"]), 1e-9);
    near("alike", Ok(lost(&three, &["N11"])), lost(&three, &["N1"]), 1e-9);
}

/// Two negatives for three batteries are nobody's own: either may be left alone with all of it.
#[test]
fn negatives_that_are_not_one_a_battery_bear_all() {
    let r = evaluate(&without(&three([3.0; 3], None), &["N12"]));
    for n in ["N10", "N11"] {
        near(n, Ok(amps(&r, n)), amps(&r, "N2"), 1e-9);
    }
}

/// Source: Ohm's law, volts along a path add up: what the working shows of its runs is the drop of the path, whatever comes
/// back by whose negative.
#[test]
fn the_runs_of_a_path_lose_what_the_path_loses() {
    let ohms = Some([4.0, 3.0, 1.0]);
    let plans = [
        ("pairs", pairs()),
        ("usual", usual()),
        ("singly", singly()),
        ("to the shunt", one_apart("L1", "SHN")),
        ("to the bus", one_apart("L1", "BUS")),
        ("over another", over_another()),
        ("three negatives", three([1.0, 2.0, 5.0], None)),
        ("three of both", three([1.0, 2.0, 5.0], ohms)),
    ];
    for (what, p) in plans {
        let r = evaluate(&p);
        for line in r.runs.iter().filter(|line| !line.path.is_empty()) {
            let worked = worked(&p, &line.id).expect("run");
            let sum: f64 = worked.path.iter().map(|s| s.ohm.clone().unwrap() * s.amps.clone().unwrap()).sum();
            near(&format!("{what} {}", line.id), Ok(sum), line.path_drop_v.clone().unwrap().0, 1e-9);
        }
    }
}

/// The same of the runs' own lines where nothing charges and one load is all there is beside the inverter: each run shows
/// what it loses, in either conductor at what flows there.
#[test]
fn shares_of_a_path_add_up_to_it() {
    for (what, p) in [("pairs", pairs()), ("usual", usual()), ("singly", singly()), ("over another", over_another())] {
        let r = evaluate(&without(&p, &["W2", "N3"]));
        let path = run(&r, "W8").path.clone();
        assert_eq!(run(&r, "W8").path_end.as_ref().map(|i| i.as_str()), Some("L1"));
        let sum: f64 = path.iter().map(|i| run(&r, i.as_str()).drop_v.clone().unwrap().0).sum();
        near(what, Ok(sum), path_v(&r, "W8"), 1e-9);
    }
}

/// Source: Kirchhoff's current law: 1000 W by the inverter's pair and 90 W by the mains meet on the shunt. One rated for
/// either alone, and not for both, is too small.
#[test]
fn a_shunt_bears_all_that_comes_back_over_it() {
    let straight = wired(&[
        ("W5", "BK", "INV", "4/0 AWG", 1.0, &format!(r#"negative_from: "SHN", {}"#, fuse(150.0))),
        ("W6", "BK", "FP", "8 AWG", 2.0, &format!(r#"negative_from: "SHN", {}"#, fuse(40.0))),
        ("W8", "FP", "L1", "10 AWG", 3.0, &fuse(15.0)),
        ("W9", "FP", "L2", "10 AWG", 4.0, &fuse(15.0)),
    ]);
    for (what, p) in [("over another", over_another()), ("straight", straight)] {
        let r = evaluate(&p);
        let all = amps(&r, "W5") + 90.0 / 12.0;
        let rated = |amps: f64| evaluate(&with(&p, &[("devices.SHN.ratings.amps_a", Value::Number(amps))]));
        let small = rated(amps(&r, "W5") + 2.0);
        let f = found(&small, "device-below-current");
        assert_eq!((f.len(), f[0].subject.as_str()), (1, "devices.SHN"), "{what}\n{}", texts(&small));
        near(what, Ok(f[0].n(0)), all, 1e-6);
        assert!(!says(&rated(all + 1.0), "device-below-current", "devices.SHN"), "{what}");
    }
    // One in the post of one battery alone bears that battery's part.
    let r = evaluate(&three([3.0; 3], None));
    assert!(found(&r, "device-below-current").is_empty(), "{}", texts(&r));
}

/// A run from a thing to itself carries nothing, and changes nothing of the others.
#[test]
fn a_run_to_itself_changes_no_other() {
    for p in [pairs(), usual(), singly()] {
        let before = evaluate(&p);
        for end in ["BUS", "NB", "BK", "BK-", "SHN", "FP", "INV"] {
            let r = evaluate(&insert(
                &p,
                "runs",
                &format!(
                    r#"(id: "W0", from: "{end}", to: "{end}", gauge: "8 AWG", {NONE}
                    legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#
                ),
            ));
            assert!(says(&r, "run-to-itself", "runs.W0"), "{end}\n{}", texts(&r));
            for (a, b) in before.runs.iter().zip(r.runs.iter()) {
                assert_eq!(
                    (&a.design_a, &a.path_drop_v, &a.drop_v),
                    (&b.design_a, &b.path_drop_v, &b.drop_v),
                    "{end} {}",
                    a.id
                );
            }
        }
    }
}

/// Each battery's own pair with its negative to the shunt, and nothing drawn from there to the bar of the positives.
fn leads_to_the_shunt(shunt: bool) -> Plan {
    let lead = format!(r#"negative_from: "SHN", {}"#, fuse(125.0));
    let p = wired(&[
        ("P1", "BK", "BUS", "2 AWG", 0.4, &lead),
        ("P2", "BK", "BUS", "2 AWG", 0.4, &lead),
        ("P3", "BK", "BUS", "2 AWG", 0.4, &lead),
        ("W2", "C1", "BUS", "4 AWG", 0.5, &fuse(40.0).replace("\"from\"", "\"to\"")),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &fuse(150.0)),
        ("W6", "BUS", "FP", "8 AWG", 2.0, &fuse(40.0)),
        ("W8", "FP", "L1", "10 AWG", 3.0, &fuse(15.0)),
        ("W9", "FP", "L2", "10 AWG", 4.0, &fuse(15.0)),
    ]);
    if shunt { p } else { with(&p, &[("devices.SHN.ratings.amps_a", Value::Nothing)]) }
}

/// Source: Ohm's law: 0.05 V at the 200 A of the shunt is 0.25 mohm, at what all three batteries give together, not at one
/// battery's third of it; as a drawing has it with one main over the shunt.
#[test]
fn a_shunt_that_own_negatives_meet_on_passes_what_all_give() {
    let (with_it, without_it) = (evaluate(&leads_to_the_shunt(true)), evaluate(&leads_to_the_shunt(false)));
    let all: f64 = ["P1", "P2", "P3"].iter().map(|id| run(&with_it, id).drop_at_a.clone().expect("amps").0).sum();
    assert!(all > 90.0, "{all}");
    let lost = path_v(&with_it, "W5") - path_v(&without_it, "W5");
    near("shunt", Ok(lost), 0.05 / 200.0 * all, 0.01);
    // Its own rating is held to all of it, too.
    let small = with(&leads_to_the_shunt(true), &[("devices.SHN.ratings.amps_a", Value::Number(50.0))]);
    let f = found(&evaluate(&small), "device-below-current")[0].clone();
    let design: f64 = ["P1", "P2", "P3"].iter().map(|id| amps(&with_it, id)).sum();
    near("over the shunt", Ok(f.n(0)), design, 1e-9);
    assert!(f.subject.as_str() == "devices.SHN" && f.text().contains("P1, P2, P3"), "{}", f.text());
    // What each battery gives does not hang on it.
    for id in ["P1", "P3"] {
        near(id, Ok(amps(&with_it, id)), amps(&without_it, id), 1e-12);
    }
}
