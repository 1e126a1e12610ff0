//! Plus joined with the negative side or the chassis: a stop, and a bond from plus is none. Runs of a bus of both poles, chassis
//! returns, series banks and converters are no short.

use super::comes_back::{NONE, one_apart, pairs, singly, usual};
use super::cures::{cures, is_curable};
use super::misdrawn::on_24;
use super::mistakes::{insert, sound, with, word};
use super::negatives::apart;
use super::{evaluate, found, says, texts};
use coachwire::engine::Level;
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Plan, Value};

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn single(from: &str, to: &str, more: &str) -> String {
    format!(
        r#"(id: "LX", from: "{from}", to: "{to}", gauge: "2 AWG", {NONE} legs: [(id: "L1", length_m: 0.2,
        insulation_c: 105.0)], {more})"#
    )
}

fn joined(p: &Plan, subject: &str) -> String {
    let r = evaluate(p);
    let all = found(&r, "poles-joined");
    assert_eq!(all.iter().map(|f| f.subject.as_str()).collect::<Vec<_>>(), [subject], "{}", texts(&r));
    assert_eq!(all[0].level, Level::Stop);
    all[0].text()
}

/// A cable from plus to minus has nothing in it but its own ohms (Ohm's law): NEC 110.7, free from short circuits. The right
/// twin is the plan without it, and taking it out brings that back.
#[test]
fn a_cable_between_the_poles_is_a_dead_short() {
    let fuse = super::comes_back::fuse(100.0);
    for (right, plus, minus, more) in [
        (usual(), "BUS", "NB", ""),
        (usual(), "BUS", "NB", fuse.as_str()),
        (usual(), "SW", "SHN", ""),
        (usual(), "BUS", "BK-", ""),
        (usual(), "BK", "NB", ""),
        (singly(), "BUS", "NB2", ""),
        (pairs(), "BUS", "SHN", ""),
        (pairs(), "SW", "SHN", ""),
    ] {
        for (from, to) in [(plus, minus), (minus, plus)] {
            let more = if from == plus { more.to_string() } else { more.replace("\"from\"", "\"to\"") };
            let wrong = insert(&right, "runs", &single(from, to, &more));
            let text = joined(&wrong, "runs.LX");
            assert!(text.contains(&format!("joins {plus}, on plus")) && text.contains(minus), "{text}");
            assert!(text.contains("a dead short"), "{text}");
        }
        assert!(found(&evaluate(&right), "poles-joined").is_empty(), "{plus} {minus}");
    }
    let wrong = insert(&usual(), "runs", &single("BUS", "NB", ""));
    is_curable(&wrong, "poles-joined", "runs.LX");
    let steps = cures(&wrong, "poles-joined", "runs.LX");
    assert_eq!(steps[0].name, "LX removed: it joins plus and minus");
    assert_eq!(evaluate(&wrong.with(&steps[0]).expect("applies")).findings, evaluate(&usual()).findings);
}

/// NEC 552.10(C): the grounded conductor is bonded to the chassis; plus on it is no bond, and nothing to be thickened.
#[test]
fn a_bond_from_plus_is_none() {
    for (right, ends) in [(usual(), &["BUS", "SW", "BK"][..]), (pairs(), &["BUS", "SW", "BK"])] {
        let r = evaluate(&right);
        assert!(found(&r, "bond-missing").is_empty() && found(&r, "poles-joined").is_empty(), "{}", texts(&r));
        for end in ends {
            let wrong = with(&right, &[("runs.B1.from", id(end))]);
            let text = joined(&wrong, "runs.B1");
            assert!(text.contains(&format!("joins {end}, on plus")) && text.contains("with the chassis"), "{text}");
            let r = evaluate(&wrong);
            assert!(says(&r, "bond-missing", "devices.CHS"), "{}", texts(&r));
            assert!(found(&r, "shunt-bypass").is_empty() && found(&r, "bond-small").is_empty(), "{}", texts(&r));
            is_curable(&wrong, "poles-joined", "runs.B1");
            let cured = evaluate(&wrong.with(&cures(&wrong, "poles-joined", "runs.B1")[0]).expect("applies"));
            assert!(found(&cured, "bond-missing").is_empty(), "{}", texts(&cured));
        }
    }
    // Beside a right one it is taken out, not thickened.
    for right in [usual(), pairs()] {
        let both = insert(&right, "runs", &single("BUS", "CHS", ""));
        let text = joined(&both, "runs.LX");
        assert!(text.contains("with the bond B1 a dead short"), "{text}");
        assert!(found(&evaluate(&both), "bond-small").is_empty(), "{}", texts(&evaluate(&both)));
        assert_eq!(cures(&both, "poles-joined", "runs.LX")[0].name, "LX removed: it joins plus and minus");
    }
    // What joins no negative is none either: a bar that nothing leads to.
    let r = evaluate(&with(&usual(), &[("runs.B1.from", id("NB2"))]));
    assert!(says(&r, "bond-missing", "devices.CHS"), "{}", texts(&r));
}

/// A negative that is said to end on plus.
#[test]
fn a_negative_on_plus_is_said() {
    for (right, negative) in [(usual(), "NB"), (pairs(), "SHN")] {
        let wrong = with(&right, &[("runs.W5.negative_from", id("BUS"))]);
        let text = joined(&wrong, "runs.W5");
        assert!(text.contains("the negative of INV"), "{text}");
        is_curable(&wrong, "poles-joined", "runs.W5");
        assert_eq!(cures(&wrong, "poles-joined", "runs.W5")[0].name, format!("W5: negative to {negative}"));
    }
    let wrong = with(&singly(), &[("runs.N5.to", id("BUS"))]);
    assert!(joined(&wrong, "runs.N5").contains("the negative of INV"));
}

/// No false alarm.
#[test]
fn what_is_right_is_no_short() {
    let chassis = |p: Plan| with(&p, &[("runs.W8.return_path", word("chassis"))]);
    let on_24_v = |p: Plan| with(&p, &[("bank.unit_v", Value::Number(25.6))]);
    let in_series = |p: Plan| {
        let p = with(&p, &[("bank.series", Value::Number(2.0)), ("bank.unit_v", Value::Number(6.4))]);
        insert(&p, "runs", &single("BK", "BK-", ""))
    };
    let of_switch = with(&sound(), &[("runs.W5.negative_from", id("SW"))]);
    let mut all = vec![sound(), of_switch, apart("4/0 AWG", 0.5), on_24()];
    for p in [pairs(), usual(), singly()] {
        all.extend([chassis(p.clone()), on_24_v(p.clone()), in_series(p.clone()), p]);
    }
    for (from, to) in [("L1", "SHN"), ("L1", "BUS"), ("SHN", "L1"), ("BUS", "L1")] {
        all.push(one_apart(from, to));
    }
    // The lead of a shunt's own supply, fused where it leaves plus.
    let lead = single("BUS", "SHN", &super::comes_back::fuse(1.0)).replace("2 AWG", "18 AWG");
    all.push(insert(&usual(), "runs", &lead));
    all.extend(SAMPLES.iter().map(|s| Plan::from_text(s.text).expect("reads")));
    for p in all {
        let r = evaluate(&p);
        assert!(found(&r, "poles-joined").is_empty(), "{}:\n{}", p.job.title, texts(&r));
    }
}
