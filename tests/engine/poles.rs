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
    for (right, ends) in [(usual(), &["BUS", "SW", "BK"][..]), (pairs(), &["SW", "BK"])] {
        let r = evaluate(&right);
        assert!(found(&r, "bond-missing").is_empty() && found(&r, "poles-joined").is_empty(), "{}", texts(&r));
        for end in ends {
            let wrong = with(&right, &[("runs.B1.from", id(end))]);
            let text = joined(&wrong, "runs.B1");
            assert!(text.contains(&format!("joins {end}, on plus")) && text.contains("with the chassis"), "{text}");
            // One mistake, one word: that no bond is left is not said beside it.
            let r = evaluate(&wrong);
            assert!(found(&r, "bond-missing").is_empty(), "{}", texts(&r));
            assert!(found(&r, "shunt-bypass").is_empty() && found(&r, "bond-small").is_empty(), "{}", texts(&r));
            is_curable(&wrong, "poles-joined", "runs.B1");
            let cured = evaluate(&wrong.with(&cures(&wrong, "poles-joined", "runs.B1")[0]).expect("applies"));
            assert!(found(&cured, "bond-missing").is_empty(), "{}", texts(&cured));
        }
    }
    // Beside a right one it is taken out, not thickened.
    for (right, plus) in [(usual(), "BUS"), (pairs(), "SW")] {
        let both = insert(&right, "runs", &single(plus, "CHS", ""));
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
    let wrong = with(&usual(), &[("runs.W5.negative_from", id("BUS"))]);
    let text = joined(&wrong, "runs.W5");
    assert!(text.contains("the negative of INV"), "{text}");
    is_curable(&wrong, "poles-joined", "runs.W5");
    assert_eq!(cures(&wrong, "poles-joined", "runs.W5")[0].name, "W5: negative to NB");
    let wrong = with(&singly(), &[("runs.N5.to", id("BUS"))]);
    assert!(joined(&wrong, "runs.N5").contains("the negative of INV"));
}

/// A bar fed by a pair whose negative comes from the shunt and does not say where it ends at the bar: which pole a bond or a
/// lone run leaves it from nobody can tell. It is asked, and told either way. NEC 110.7, 552.10(C).
#[test]
fn a_bar_that_may_have_both_poles_is_asked() {
    let bonded = with(&pairs(), &[("runs.B1.from", id("BUS"))]);
    let lone = insert(&pairs(), "runs", &single("BUS", "SHN", ""));
    let said = with(&pairs(), &[("runs.W5.negative_from", id("BUS"))]);
    for (p, run) in [(bonded.clone(), "B1"), (lone, "LX"), (said, "W5")] {
        let r = evaluate(&p);
        assert!(found(&r, "poles-joined").is_empty(), "{}", texts(&r));
        let asks = |n: &&coachwire::engine::report::NotChecked| n.check == "poles-joined";
        let asked: Vec<_> = r.not_checked.iter().filter(asks).collect();
        assert_eq!(asked.len(), 1, "{:?}", r.not_checked);
        assert_eq!(
            (asked[0].subject.as_str(), asked[0].waits_for.as_str()),
            (format!("runs.{run}").as_str(), "runs.W4.negative_to")
        );
    }
    let told = |place: &str| evaluate(&with(&bonded, &[("runs.W4.negative_to", id(place))]));
    let r = told("BUS");
    assert!(found(&r, "poles-joined").is_empty() && !r.not_checked.iter().any(|n| n.check == "poles-joined"));
    // Where the pairs of the bar have their negatives on a bar of their own, the bond is from plus.
    let named = ["W2.negative_to", "W4.negative_to", "W5.negative_from", "W6.negative_from"];
    let paths: Vec<String> = named.iter().map(|field| format!("runs.{field}")).collect();
    let edits: Vec<(&str, Value)> = paths.iter().map(|at| (at.as_str(), id("NB2"))).collect();
    let r = evaluate(&with(&bonded, &edits));
    assert!(says(&r, "poles-joined", "runs.B1"), "{}", texts(&r));
}

/// A bar of both poles, a bar of grounds beside it, and the bond from that: NEC 552.10(C). The lead between the two is of the
/// negative and no thinner than the bond; a case on the bar is bonded by what a case wants. From a switch, the post or a bar that
/// has its negatives elsewhere it is plus, and a dead short (NEC 110.7).
#[test]
fn a_bar_of_grounds_beside_a_bar_of_both_poles() {
    let bar = |from: &str, gauge: &str| {
        let p = insert(&sound(), "devices", r#"(id: "GB", kind: "bus", ratings: (amps_a: 600.0))"#);
        let p = with(&p, &[("runs.W7.from", id("GB"))]);
        insert(&p, "runs", &single(from, "GB", "").replace("2 AWG", gauge))
    };
    let right = bar("BUS", "4/0 AWG");
    let case = insert(&right, "runs", &single("INV", "GB", "").replace("2 AWG", "8 AWG").replace("\"LX\"", "\"LC\""));
    let turned = with(&right, &[("runs.LX.from", id("GB")), ("runs.LX.to", id("BUS"))]);
    for p in [&right, &case, &turned, &with(&right, &[("runs.W4.negative_to", id("BUS"))])] {
        let r = evaluate(p);
        assert!(!r.findings.iter().any(|f| f.level != Level::Note), "{}", texts(&r));
        assert!(r.not_checked.is_empty(), "{:?}", r.not_checked);
    }
    let r = evaluate(&bar("BUS", "8 AWG"));
    assert_eq!(
        found(&r, "bond-small").iter().map(|f| f.subject.as_str()).collect::<Vec<_>>(),
        ["runs.LX"],
        "{}",
        texts(&r)
    );
    is_curable(&bar("BUS", "8 AWG"), "bond-small", "runs.LX");
    for plus in ["SW", "BK"] {
        let wrong = bar(plus, "4/0 AWG");
        assert!(says(&evaluate(&wrong), "poles-joined", "runs.W7"), "{plus}: {}", texts(&evaluate(&wrong)));
    }
    // On a bar of plus alone.
    let named = ["W2.negative_to", "W4.negative_to", "W5.negative_from", "W6.negative_from"];
    let paths: Vec<String> = named.iter().map(|field| format!("runs.{field}")).collect();
    let edits: Vec<(&str, Value)> = paths.iter().map(|at| (at.as_str(), id("NB"))).collect();
    let wrong = with(&insert(&right, "devices", r#"(id: "NB", kind: "bus")"#), &edits);
    assert!(says(&evaluate(&wrong), "poles-joined", "runs.W7"), "{}", texts(&evaluate(&wrong)));
}

/// The negative of a panel's feed goes straight to the panel where its positive passes a switch of its own on the way: the
/// panel has a bar for the negatives of its branches, and that is no short.
#[test]
fn a_panels_own_bar_of_negatives_is_none_of_plus() {
    let p = insert(&usual(), "devices", r#"(id: "SW2", kind: "switch")"#);
    let p = with(&p, &[("runs.W6.to", id("SW2")), ("runs.W6.negative_to", id("FP"))]);
    let p = insert(&p, "runs", &single("SW2", "FP", "").replace("LX", "W61"));
    assert!(found(&evaluate(&p), "poles-joined").is_empty(), "{}", texts(&evaluate(&p)));
}

/// A lone lead from plus to a shunt that the bank's negative hangs on is for the shunt's volts where it is thin or has the
/// small fuse of such leads; else it carries what the bank can drive (Ohm's law), and NEC 110.7 asks for it to be none.
#[test]
fn a_lead_to_a_shunt_is_told_by_what_it_can_carry() {
    let lead = |gauge: &str, fuse: &str| {
        let run = single("BUS", "SHN", fuse).replace("2 AWG", gauge).replace("\"LX\"", "\"LS\"");
        let r = evaluate(&insert(&usual(), "runs", &run));
        (says(&r, "poles-joined", "runs.LS"), texts(&r))
    };
    let fuse = super::comes_back::fuse;
    for (gauge, amps, short) in [
        ("18 AWG", Some(1.0), false),
        ("18 AWG", Some(3.0), false),
        ("10 AWG", Some(1.0), false),
        ("10 AWG", Some(30.0), true),
        ("6 AWG", Some(60.0), true),
    ] {
        let (says, texts) = lead(gauge, &amps.map_or(String::new(), &fuse));
        assert_eq!(says, short, "{gauge} {amps:?}\n{texts}");
    }
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
