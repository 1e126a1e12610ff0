//! The negative side: a shunt's volts on every way, negatives drawn as runs of their own, negatives that lead nowhere or
//! round the shunt.

use super::cures::is_curable;
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::circuit::{Circuit, Node, PathKind, Role};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

/// The sound plan with a shunt between the bank's post and what comes from the switch.
fn shunted(amps: f64) -> Plan {
    let shunt = format!(r#"(id: "SHN", kind: "shunt", ratings: (amps_a: {amps:?}))"#);
    let p = insert(&sound(), "devices", &shunt);
    let negative = [("runs.W3.negative_to", id("SHN")), ("runs.W4.negative_from", id("SHN"))];
    with(&with(&p, &negative), &[("runs.W7.from", id("SHN"))])
}

fn volts(r: &Report, run: &str) -> f64 {
    let run = r.runs.iter().find(|r| r.id.as_str() == run).expect("run");
    run.path_drop_v.clone().expect("drop").0
}

/// 0.05 V at its rating (from memory): 100 A of it carry the inverter's 1000 W / (12 V x 0.88) = 94.7 A and 60 W
/// of loads, once on the way, whichever of its ends names it.
#[test]
fn a_shunt_is_on_every_way_once() {
    let without = evaluate(&sound());
    for (a, b) in [("W3", "W4"), ("W4", "W3")] {
        // Named by the negatives of both runs, or of either alone.
        let mut p = shunted(500.0);
        let alone = match b {
            "W4" => ("runs.W4.negative_from", "runs.W3.negative_to"),
            _ => ("runs.W3.negative_to", "runs.W4.negative_from"),
        };
        let both = evaluate(&p);
        p = with(&p, &[(alone.0, Value::Nothing)]);
        let one = evaluate(&p);
        let added = volts(&both, "W5") - volts(&without, "W5");
        let flows = both.runs[2].drop_at_a.clone().expect("amps").0;
        assert!((added - 0.05 / 500.0 * flows).abs() < 1e-4, "{a} {b}: {added} V at {flows} A");
        assert!((volts(&one, "W5") - volts(&both, "W5")).abs() < 1e-4, "{a} {b}");
    }
    let small = evaluate(&shunted(250.0));
    assert!(volts(&small, "W5") > volts(&evaluate(&shunted(500.0)), "W5") + 0.005);
}

/// The main negative as two runs of their own, over a shunt, the positives with no return of their own.
pub(super) fn apart(gauge: &str, metres: f64) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#);
    let mut p = with(&p, &[("runs.W3.return_path", word("none")), ("runs.W4.return_path", word("none"))]);
    for (id, from, to) in [("N1", "BK-", "SHN"), ("N2", "SHN", "BUS")] {
        let run = format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", return_path: "none",
                legs: [(id: "L1", length_m: {metres:?}, insulation_c: 105.0)])"#
        );
        p = insert(&p, "runs", &run);
    }
    p
}

/// Kirchhoff: what goes out comes back. Both halves carry the whole current and lose their part of the volts; drawn
/// apart with the lengths of the pairs the way loses what the pairs lost.
#[test]
fn negatives_drawn_apart_are_part_of_the_way() {
    let pairs = evaluate(&shunted(500.0));
    let mut p = apart("4/0 AWG", 0.6);
    p.runs.last_mut().expect("N2").legs[0].length_m = coachwire::plan::Known::Is(coachwire::units::Metres(0.3));
    let r = evaluate(&p);
    let (one, two) = (volts(&pairs, "W5"), volts(&r, "W5"));
    assert!((one - two).abs() < 0.002, "{one} {two}");
    let (circuit, _) = Circuit::of(&p);
    let roles: Vec<Role> = p
        .runs
        .iter()
        .zip(&circuit.links)
        .filter(|(r, _)| r.id.as_str().starts_with('N'))
        .map(|(_, l)| l.role)
        .collect();
    assert_eq!(roles, [Role::NegativeMain, Role::NegativeMain]);
    for end in [Node::Inverter(0), Node::Controller(0)] {
        let kind = if end == Node::Inverter(0) { PathKind::Inverter } else { PathKind::ControllerBank };
        let way = circuit.way_of(kind, end).expect("way");
        let names: Vec<&str> = way.runs.iter().map(|i| p.runs[*i].id.as_str()).collect();
        assert!(names.contains(&"N1") && names.contains(&"N2"), "{names:?}");
    }
    near("N2's current", r.runs.last().expect("N2").design_a.clone().map(|a| a.0), 99.7, 0.01);
    assert!(!r.findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&r));
    // Four metres each: 8 m of 4/0 AWG at 0.16 mohm/m lose 0.13 V of 12 V more.
    assert!(volts(&evaluate(&apart("4/0 AWG", 4.0)), "W5") > two + 0.1);
}

/// The first pair's negative ends on the shunt, and one of its own goes on from there: half the shunt is half its volts,
/// counted once.
#[test]
fn a_shunt_before_the_first_pair_counts_once() {
    let drawn = |amps: f64| {
        let shunt = format!(r#"(id: "SHN", kind: "shunt", ratings: (amps_a: {amps:?}))"#);
        let p = with(&insert(&sound(), "devices", &shunt), &[("runs.W3.negative_from", id("SHN"))]);
        let run = r#"(id: "N1", from: "BK-", to: "SHN", gauge: "4/0 AWG", return_path: "none",
            legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#;
        evaluate(&insert(&p, "runs", run))
    };
    let (small, large) = (drawn(250.0), drawn(500.0));
    let flows = large.runs[2].drop_at_a.clone().expect("amps").0;
    let more = volts(&small, "W5") - volts(&large, "W5");
    assert!((more - (0.05 / 250.0 - 0.05 / 500.0) * flows).abs() < 1e-5, "{more} V at {flows} A");
}

/// A negative carries the current, and wants no fuse: 18 AWG is too thin for 99.7 A, and that is what is said.
#[test]
fn a_thin_negative_drawn_apart_is_too_thin_not_unfused() {
    let r =
        evaluate(&with(&apart("4/0 AWG", 0.5), &[("runs.N2.gauge", Value::Gauge("18 AWG".parse().expect("gauge")))]));
    assert!(says(&r, "conductor-below-current", "runs.N2"), "{}", texts(&r));
    assert!(!says(&r, "source-end-unfused", "runs.N2"), "{}", texts(&r));
}

/// A return that is drawn nowhere leaves half of the loop out.
#[test]
fn a_run_without_a_return_is_said() {
    let wrong = with(&sound(), &[("runs.W5.return_path", word("none"))]);
    let r = evaluate(&wrong);
    let f = found(&r, "return-not-drawn");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].level), (1, "runs.W5", Level::Caution), "{}", texts(&r));
    is_curable(&wrong, "return-not-drawn", "runs.W5");
    // A bond has none, and none is missed; nor where the negatives are drawn.
    for right in [sound(), apart("4/0 AWG", 0.5)] {
        assert!(found(&evaluate(&right), "return-not-drawn").is_empty());
    }
    let measured = with(&wrong, &[("runs.W5.measured_ohm", n(0.001))]);
    assert!(found(&evaluate(&measured), "return-not-drawn").is_empty());
}

/// W3's negative goes to the shunt, W4's comes from the switch, where none is: nothing behind it has a way back.
#[test]
fn a_negative_that_leads_nowhere_is_said() {
    let wrong = with(&shunted(500.0), &[("runs.W4.negative_from", Value::Nothing)]);
    let r = evaluate(&wrong);
    let f = found(&r, "negative-leads-nowhere");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].name(1)), (1, "runs.W4", "SW"), "{}", texts(&r));
    is_curable(&wrong, "negative-leads-nowhere", "runs.W4");
    for right in [shunted(500.0), sound(), apart("4/0 AWG", 0.5)] {
        let r = evaluate(&right);
        assert!(found(&r, "negative-leads-nowhere").is_empty(), "{}", texts(&r));
    }
    // One run from the bank to a bus whose negative is the shunt.
    let mut straight = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#);
    straight = with(&straight, &[("runs.W3.to", id("BUS")), ("runs.W3.negative_to", id("SHN"))]);
    straight.runs.remove(3);
    assert!(found(&evaluate(&straight), "negative-leads-nowhere").is_empty(), "{}", texts(&evaluate(&straight)));
}

/// Mistake 13 of the usual ones: what reaches the bank's post by a pair is not counted by the shunt.
#[test]
fn a_pair_that_ends_on_the_bank_goes_round_the_shunt() {
    let mut wrong = insert(
        &shunted(500.0),
        "chargers",
        r#"(id: "CH", kind: "shore", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2)"#,
    );
    wrong = insert(
        &wrong,
        "runs",
        r#"(id: "W21", from: "CH", to: "BK", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#,
    );
    let r = evaluate(&wrong);
    let f = found(&r, "shunt-bypass");
    assert_eq!((f.len(), f[0].subject.as_str()), (1, "runs.W21"), "{}", texts(&r));
    is_curable(&wrong, "shunt-bypass", "runs.W21");
    for right in [("runs.W21.negative_to", id("SHN")), ("runs.W21.to", id("BUS"))] {
        let r = evaluate(&with(&wrong, &[right]));
        assert!(found(&r, "shunt-bypass").is_empty(), "{}", texts(&r));
    }
}

/// The terminals of the shunt take what ends on them by its negative too.
#[test]
fn the_terminal_that_a_negative_ends_on_is_looked_at() {
    let small = [("devices.SHN.ratings.largest_wire", Value::Gauge("2 AWG".parse().expect("gauge")))];
    let r = evaluate(&with(&shunted(500.0), &small));
    for run in ["runs.W3", "runs.W4"] {
        assert!(says(&r, "terminal-does-not-take", run), "{run}:\n{}", texts(&r));
    }
    assert!(found(&evaluate(&shunted(500.0)), "terminal-does-not-take").is_empty());
}

/// An isolator's line and a panels' run whose negatives are said to end on the bank's own post: what flows there the shunt
/// does not count (Kirchhoff's current law). At the shunt they are right.
#[test]
fn isolators_and_panels_past_the_shunt_are_said() {
    use super::comes_back::usual;
    let p = insert(&usual(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator")"#);
    let line = |name: &str, from: &str, to: &str, more: &str| {
        format!(
            r#"(id: "{name}", from: "{from}", to: "{to}", gauge: "4 AWG", {more} legs: [(id: "L1", length_m: 2.0,
            insulation_c: 105.0)], protection: [(id: "F1", at: "{}", family: "UL 248-15 T", amps_a: 60.0,
            distance_m: 0.1)])"#,
            if name == "D1" { "from" } else { "to" }
        )
    };
    let p = insert(&p, "runs", &line("D1", "SB", "ISO", ""));
    let of = |post: &str| insert(&p, "runs", &line("D2", "ISO", "BUS", &format!(r#"negative_to: "{post}","#)));
    let past = |p: &Plan, run: &str| super::says(&evaluate(p), "shunt-bypass", &format!("runs.{run}"));
    for post in ["BK-", "BK"] {
        assert!(past(&of(post), "D2"), "{post}\n{}", texts(&evaluate(&of(post))));
        super::cures::is_curable(&of(post), "shunt-bypass", "runs.D2");
    }
    for right in ["SHN", "NB"] {
        assert!(!past(&of(right), "D2"), "{right}\n{}", texts(&evaluate(&of(right))));
    }
    let array = |post: &str| {
        let at = Value::Id(post.parse().expect("id"));
        with(&apart("4/0 AWG", 0.6), &[("runs.W1.negative_to", at)])
    };
    assert!(past(&array("BK-"), "W1"), "{}", texts(&evaluate(&array("BK-"))));
    assert!(!past(&apart("4/0 AWG", 0.6), "W1"));
}

/// Batteries whose leads have their negatives at the shunt: the bar that their positives lead to has its own from there, as it has
/// where one lead alone is drawn so.
#[test]
fn leads_with_their_negatives_at_the_shunt_leave_the_bar_its_way_back() {
    let shunt = |p: &Plan| insert(p, "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#);
    let one = with(&shunt(&sound()), &[("runs.W3.negative_from", id("SHN"))]);
    let three = shunt(&super::explained_raised::three_leads(0.6));
    let leads = ["X1", "X2", "X3"].map(|lead| format!("runs.{lead}.negative_from"));
    let three = leads.iter().fold(three, |p, at| with(&p, &[(at, id("SHN"))]));
    for p in [&one, &three] {
        let r = evaluate(p);
        for check in ["negative-leads-nowhere", "return-not-drawn", "shunt-bypass"] {
            assert!(found(&r, check).is_empty(), "{}", texts(&r));
        }
    }
    // One whose negative is at the post passes the shunt by.
    let past = with(&three, &[("runs.X2.negative_from", id("BK-"))]);
    assert!(!found(&evaluate(&past), "shunt-bypass").is_empty(), "{}", texts(&evaluate(&past)));
}

/// A lamp between the house's plus and the start battery's minus has no way back to the bank, unless the frame is one that the bank
/// is bonded to (Kirchhoff's current law: what leaves a battery's plus comes back to its minus).
#[test]
fn a_negative_on_the_start_battery_alone_leads_nowhere() {
    let p = super::mistakes::insert(&super::mistakes::sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let branch = |negative: &str| {
        format!(
            r#"(id: "W20", from: "FP", to: "L1", gauge: "12 AWG", {negative} legs: [(id: "L1", length_m: 1.0,
            insulation_c: 90.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.0)])"#
        )
    };
    let without_bond = |p: &Plan| {
        let mut p = p.clone();
        p.runs.retain(|r| r.id.as_str() != "W7");
        p
    };
    let of = |negative: &str| super::mistakes::insert(&p, "runs", &branch(negative));
    let wrong = without_bond(&of(r#"negative_from: "SB","#));
    let r = evaluate(&wrong);
    assert!(says(&r, "negative-leads-nowhere", "runs.W20"), "{}", texts(&r));
    assert!(found(&r, "negative-leads-nowhere")[0].text().contains("from SB"), "{}", texts(&r));
    super::cures::is_curable(&wrong, "negative-leads-nowhere", "runs.W20");
    for right in [without_bond(&of("")), of(r#"negative_from: "SB","#)] {
        let r = evaluate(&right);
        assert!(found(&r, "negative-leads-nowhere").is_empty(), "{}", texts(&r));
    }
}

/// What only life safety draws ahead of the shunt is the same wiring whether its negative is named at the post or left unsaid: a note with
/// what it draws of a day, a caution where that is more than monitors do (1 A of 12 V on the mean), nothing where it draws on demand alone.
/// By hand: 1.4 W x 24 h = 33.6 Wh, 60 W x 24 h = 1440 Wh. Behind the shunt it is counted.
#[test]
fn life_safety_ahead_of_the_shunt_is_told_alike_however_it_is_drawn() {
    let id = |text: &str| Value::Id(text.parse().expect("id"));
    let of = |watts: f64, hours: f64, named: Option<&str>| {
        let load = format!(
            r#"(id: "L9", name: "gas detector", watts_w: {watts:?}, hours_day: {hours:?}, life_safety: "yes")"#
        );
        let p = insert(&super::mistakes::with_own_panel(&load), "devices", r#"(id: "SHN", kind: "shunt")"#);
        let mut edits = vec![("runs.W3.negative_to", id("SHN")), ("runs.W4.negative_from", id("SHN"))];
        edits.extend(named.map(|place| ("runs.W8.negative_from", id(place))));
        evaluate(&with(&p, &edits))
    };
    for (watts, hours, level, wh) in [
        (1.4, 24.0, Some(coachwire::engine::Level::Note), 33.6),
        (60.0, 24.0, Some(coachwire::engine::Level::Caution), 1440.0),
        (75.0, 0.0, None, 0.0),
    ] {
        for named in [None, Some("BK"), Some("BK-")] {
            let r = of(watts, hours, named);
            let f = found(&r, "shunt-bypass");
            assert_eq!(f.first().map(|f| f.level), level, "{watts} W, {named:?}\n{}", texts(&r));
            if let Some(f) = f.first() {
                assert!((f.n(0) - wh).abs() < 1e-9 && (f.n(1) - wh / 24.0).abs() < 1e-9, "{}", f.text());
                assert!(f.text().contains(&format!("the {wh:.0} Wh a day of its life safety")), "{}", f.text());
                assert_eq!(f.subject.as_str(), "runs.W8");
            }
        }
        assert!(found(&of(watts, hours, Some("SHN")), "shunt-bypass").is_empty());
    }
}
