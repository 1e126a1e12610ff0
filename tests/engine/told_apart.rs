//! Single conductors told apart: what brings plus, and what brings it back.

use super::comes_back::{Drawn, NONE, fuse, usual, wired};
use super::cures::cures;
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::circuit::{Circuit, Role};
use coachwire::engine::{Engine, Finding, Level, Report};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

const READ: &str = "read-as-negative";

fn design_a(r: &Report, id: &str) -> f64 {
    let run = r.runs.iter().find(|x| x.id.as_str() == id).unwrap_or_else(|| panic!("{id}"));
    run.design_a.clone().unwrap_or_else(|m| panic!("{id} waits for {}", m.0)).0
}

fn circuit_roles(p: &Plan, ids: &[&str]) -> Vec<Role> {
    let circuit = Circuit::of(p).0;
    let role = |id: &&str| circuit.links[p.runs.iter().position(|r| r.id.as_str() == *id).expect("drawn")].role;
    ids.iter().map(role).collect()
}

fn no_stop(r: &Report) {
    assert!(r.findings.iter().all(|f| f.level != Level::Stop), "{}", texts(r));
}

/// A charger on the bar by a fused pair, and one conductor more.
fn one_more(p: &Plan, pair: &str, lone: &str) -> Plan {
    let charger = r#"(id: "CH", kind: "shore", out_a: 30.0, efficiency_pct: 88.0, absorb_v: 14.2)"#;
    let leg = r#"gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)]"#;
    let fused = fuse(40.0).replace("\"from\"", "\"to\"");
    let p =
        insert(&insert(p, "chargers", charger), "runs", &format!(r#"(id: "X1", from: "CH", {leg}, {fused}, {pair})"#));
    insert(&p, "runs", &format!(r#"(id: "X2", from: "CH", {leg}, {lone})"#))
}

/// Its positive is drawn, so that what has no fuse is a negative, which wants none (NEC 240.15(A), overcurrent devices stand in the
/// ungrounded conductor); that it is read so is said. With a fuse it is a positive, and to a bar of plus alone it can be nothing else.
#[test]
fn a_lone_conductor_beside_a_pair_to_a_bar_of_both_poles_is_a_negative() {
    let lone = format!(r#"to: "BUS", {NONE}"#);
    let right = one_more(&sound(), r#"to: "BUS""#, &lone);
    let r = evaluate(&right);
    no_stop(&r);
    let f = found(&r, READ);
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].level), (1, "runs.X2", Level::Caution), "{}", texts(&r));
    assert!(f[0].text().contains("X1 brings its positive already"), "{}", f[0].text());
    assert_eq!(circuit_roles(&right, &["X1", "X2"]), [Role::ChargerOutput, Role::NegativeMain]);
    super::cures::is_curable(&right, "read-as-negative", "runs.X2");
    let measured = with(&right, &[("runs.X2.polarity_measured", super::mistakes::word("yes"))]);
    assert!(found(&evaluate(&measured), READ).is_empty());
    // It brings back what the fuse of the positive lets through: 18 AWG is for 6 A of fuse (former NEC 551.10).
    let thin = with(&right, &[("runs.X2.gauge", Value::Gauge("18 AWG".parse().expect("gauge")))]);
    let r = evaluate(&thin);
    assert!(r.findings.iter().any(|f| f.level == Level::Stop && f.subject.as_str() == "runs.X2"), "{}", texts(&r));
    let fused = one_more(&sound(), r#"to: "BUS""#, &format!("{lone} {}", fuse(40.0).replace("\"from\"", "\"to\"")));
    assert!(found(&evaluate(&fused), READ).is_empty());
    assert_eq!(circuit_roles(&fused, &["X2"]), [Role::ChargerOutput]);
    // A bar that every pair has its negative elsewhere of.
    let wrong = one_more(&usual(), r#"to: "BUS", negative_to: "NB""#, &lone);
    let r = evaluate(&wrong);
    assert!(says(&r, "source-end-unfused", "runs.X2") && found(&r, READ).is_empty(), "{}", texts(&r));
    // What a load has beside its pair may be for its memory alone.
    let load = r#"(id: "W8", from: "FP", to: "L1", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.03)])"#;
    let memory = r#"(id: "X2", from: "BUS", to: "L1", gauge: "14 AWG", return_path: "none", legs: [(id: "L1", length_m: 1.0,
        insulation_c: 105.0)])"#;
    let r = evaluate(&insert(&insert(&sound(), "runs", load), "runs", memory));
    assert!(says(&r, "source-end-unfused", "runs.X2") && found(&r, READ).is_empty(), "{}", texts(&r));
}

pub(super) fn raised() -> Vec<(&'static str, Plan)> {
    vec![(READ, one_more(&sound(), r#"to: "BUS""#, &format!(r#"to: "BUS", {NONE}"#)))]
}

const MAINS: [Drawn<'static>; 2] = [("N3", "NB", "BK-", "4/0 AWG", 0.6, NONE), ("N6", "FP", "NB", "8 AWG", 2.0, NONE)];

/// A bar of plus and a bar of minus, a panel between the two by single conductors and its loads by pairs.
fn panel(more: &[Drawn<'_>]) -> Plan {
    let alone = |amps: f64| NONE.to_string() + &fuse(amps);
    let (main, feed, branch) = (alone(150.0), alone(40.0), fuse(15.0));
    let mut all = vec![
        ("W3", "BK", "BUS", "4/0 AWG", 0.6, main.as_str()),
        ("W6", "BUS", "FP", "8 AWG", 2.0, feed.as_str()),
        ("W8", "FP", "L1", "10 AWG", 3.0, branch.as_str()),
    ];
    all.extend(MAINS);
    all.extend(more);
    wired(&all)
}

/// 60 W and 30 W of loads at 12.0 V are 7.5 A, there and back (Kirchhoff's current law); what an inverter on the same bars draws is none of it.
#[test]
fn a_panel_between_two_bars_carries_its_own_loads() {
    let fused = NONE.to_string() + &fuse(150.0);
    let inverter = [("W5", "BUS", "INV", "4/0 AWG", 1.0, fused.as_str()), ("N5", "INV", "NB", "4/0 AWG", 1.0, NONE)];
    let r = evaluate(&panel(&inverter));
    for (id, watts) in [("W6", 90.0), ("N6", 90.0), ("W8", 60.0)] {
        near(id, Ok(design_a(&r, id)), watts / 12.0, 1e-9);
    }
    near("N5", Ok(design_a(&r, "N5")), design_a(&r, "W5"), 1e-9);
    assert!(design_a(&r, "W5") > 80.0);
    no_stop(&r);
    // Behind a converter of the same bars, on 24 V: nothing of the inverter's comes back at 12 V.
    let p = behind_a_converter(&inverter);
    let r = evaluate(&p);
    near("N5", Ok(design_a(&r, "N5")), design_a(&r, "W5"), 1e-9);
    near("W10", Ok(design_a(&r, "W10")), 30.0 / 12.0, 1e-9);
    assert!(design_a(&r, "W9") < 30.0 / 12.0, "{}", texts(&r));
}

/// A second panel straight from the bank, its minus on the bar that a shunt joins to the post: what leaves a panel bare is no
/// positive, and no dead short where it ends.
#[test]
fn a_panels_bare_conductor_to_the_bar_of_negatives_is_its_minus() {
    let feed = NONE.to_string() + &fuse(15.0);
    let more = [
        ("W7", "BK", "AON", "10 AWG", 1.0, feed.as_str()),
        ("N7", "AON", "NB", "10 AWG", 1.0, NONE),
        ("W9", "AON", "L2", "14 AWG", 2.0, ""),
        ("N8", "BK-", "SHN", "4/0 AWG", 0.3, NONE),
    ];
    let p = insert(&panel(&more), "devices", r#"(id: "AON", kind: "fuse panel")"#);
    let p = with(&p, &[("runs.N3.to", Value::Id("SHN".parse().expect("id")))]);
    let r = evaluate(&p);
    for check in ["poles-joined", "return-not-drawn", "bank-not-joined", "uneven-battery-leads"] {
        assert!(found(&r, check).is_empty(), "{check}: {}", texts(&r));
    }
    near("W7", Ok(design_a(&r, "W7")), 30.0 / 12.0, 1e-9);
    near("N7", Ok(design_a(&r, "N7")), 30.0 / 12.0, 1e-9);
    near("N3", Ok(design_a(&r, "N3")), 90.0 / 12.0, 1e-9);
    // With plus on it by a cable of its own the bar is a dead short still.
    let wrong = insert(
        &p,
        "runs",
        r#"(id: "LX", from: "BUS", to: "NB", gauge: "2 AWG", return_path: "none", legs: [(id: "L1", length_m: 0.2)])"#,
    );
    let r = evaluate(&wrong);
    assert!(!found(&r, "poles-joined").is_empty(), "{}", texts(&r));
}

/// A charger whose two leads are crossed at a bar of plus and a bar of minus: the two are exchanged, and no run is drawn from plus to the
/// bar of negatives, which would be a dead short (NEC 110.7).
#[test]
fn crossed_leads_are_exchanged_and_nothing_is_drawn_to_the_bar_of_negatives() {
    let charger = r#"(id: "CH", kind: "shore", out_a: 20.0, efficiency_pct: 88.0, absorb_v: 14.2)"#;
    let of = |plus: &str, minus: &str| {
        let fused = NONE.to_string() + &fuse(40.0).replace("\"from\"", "\"to\"");
        let alone = |amps: f64| NONE.to_string() + &fuse(amps);
        let (main, branch) = (alone(150.0), alone(15.0));
        let p = wired(&[
            ("W3", "BK", "BUS", "4/0 AWG", 0.6, &main),
            ("W8", "BUS", "L1", "10 AWG", 3.0, &branch),
            ("W9", "BUS", "L2", "10 AWG", 3.0, &branch),
            ("N8", "L1", "NB", "10 AWG", 3.0, NONE),
            ("N9", "L2", "NB", "10 AWG", 3.0, NONE),
            ("N3", "NB", "BK-", "4/0 AWG", 0.6, NONE),
            ("X1", "CH", plus, "6 AWG", 1.0, &fused),
            ("X2", "CH", minus, "6 AWG", 1.0, NONE),
        ]);
        insert(&p, "chargers", charger)
    };
    let (right, wrong) = (of("BUS", "NB"), of("NB", "BUS"));
    for check in ["poles-joined", "bank-not-joined"] {
        assert!(found(&evaluate(&right), check).is_empty());
    }
    let r = evaluate(&wrong);
    // Plus on the charger's negative and the bar that nothing feeds follow from it, and are not told again.
    let stops = r.findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.check.id);
    assert_eq!(stops.collect::<Vec<_>>(), ["leads-crossed"], "{}", texts(&r));
    assert!(!says(&r, "bank-not-joined", "devices.NB"), "{}", texts(&r));
    let steps = cures(&wrong, "leads-crossed", "runs.X1");
    assert_eq!(steps.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(), ["X1 to BUS, X2 to NB: the two are crossed"]);
    assert_eq!(evaluate(&wrong.with(&steps[0]).expect("applies")).findings, evaluate(&right).findings);
}

/// An inverter, a second panel behind bars of its own, and those bars, beside an always-on panel; `crossed` has its two leads exchanged.
fn three_by_bars(crossed: &str) -> Plan {
    let alone = |amps: f64| NONE.to_string() + &fuse(amps);
    let (inverter, sub, feed, post, branch) = (alone(150.0), alone(40.0), alone(30.0), alone(15.0), fuse(10.0));
    let ends = |id: &str, plus, minus| if crossed == id { (minus, plus) } else { (plus, minus) };
    let (of_inv, of_bars, of_panel) = (ends("INV", "BUS", "NB"), ends("PB2", "BUS", "NB"), ends("FP2", "PB2", "NB2"));
    let more = [
        ("W5", of_inv.0, "INV", "4/0 AWG", 1.0, inverter.as_str()),
        ("N5", "INV", of_inv.1, "4/0 AWG", 1.0, NONE),
        ("W7", "BK", "AON", "10 AWG", 1.0, post.as_str()),
        ("N7", "AON", "NB", "10 AWG", 1.0, NONE),
        ("W9", "AON", "L2", "14 AWG", 2.0, branch.as_str()),
        ("W10", of_bars.0, "PB2", "8 AWG", 1.0, sub.as_str()),
        ("N10", "NB2", of_bars.1, "8 AWG", 1.0, NONE),
        ("W11", of_panel.0, "FP2", "10 AWG", 1.0, feed.as_str()),
        ("N11", "FP2", of_panel.1, "10 AWG", 1.0, NONE),
        ("W12", "FP2", "L9", "14 AWG", 2.0, branch.as_str()),
    ];
    let mut p = panel(&more);
    for (id, kind) in [("AON", "fuse panel"), ("FP2", "fuse panel"), ("PB2", "bus"), ("NB2", "bus")] {
        p = insert(&p, "devices", &format!(r#"(id: "{id}", kind: "{kind}")"#));
    }
    insert(&p, "loads", r#"(id: "L9", name: "pump", watts_w: 20.0, hours_day: 1.0)"#)
}

/// Two leads crossed on bars of plus and minus, the one with the fuse on that of minus, where it does not belong (NEC 240.15(A): in the
/// ungrounded conductor): what is told of that is cured by their exchange alone. A run less, a minus moved or a fuse in the minus would
/// leave plus on the bar of minus (NEC 110.7).
#[test]
fn what_crossed_leads_bring_is_cured_by_their_exchange_alone() {
    let right = evaluate(&three_by_bars(""));
    no_stop(&right);
    for (thing, name) in [
        ("INV", "W5 to BUS, N5 to NB: the two are crossed"),
        ("FP2", "W11 to PB2, N11 to NB2: the two are crossed"),
        ("PB2", "W10 to BUS, N10 to NB: the two are crossed"),
    ] {
        let wrong = three_by_bars(thing);
        let r = evaluate(&wrong);
        let is_new = |f: &&Finding| f.level != Level::Note && !says(&right, f.check.id, f.subject.as_str());
        let mut exchanged = 0;
        for f in r.findings.iter().filter(is_new) {
            let steps = Engine::default().cures(&wrong, &Stock::default(), f);
            let names: Vec<&str> = steps.iter().map(|s| s.name.as_str()).collect();
            for deed in [" removed", "negative to ", " fused", "a pair"] {
                assert!(!names.iter().any(|n| n.contains(deed)), "{thing}: {}: {names:?}", f.text());
            }
            if names.first().is_some_and(|n| n.starts_with(name)) {
                assert_eq!(names.len(), 1, "{thing}: {}: {names:?}", f.text());
                assert_eq!(evaluate(&wrong.with(&steps[0]).expect("applies")).findings, right.findings);
                exchanged += 1;
            }
        }
        assert!(exchanged > 0, "{thing}: {}", texts(&r));
    }
}

/// The same on 24 V with a converter by single conductors on the two bars, and a panel behind it.
fn behind_a_converter(more: &[Drawn<'_>]) -> Plan {
    let feed = NONE.to_string() + &fuse(30.0);
    let mut all = more.to_vec();
    all.extend([
        ("W9", "BUS", "CV", "8 AWG", 1.0, feed.as_str()),
        ("N9", "CV", "NB", "8 AWG", 1.0, NONE),
        ("W10", "CV", "FP2", "8 AWG", 1.0, ""),
        ("W11", "FP2", "L2", "10 AWG", 1.0, ""),
    ]);
    let p = insert(&panel(&all), "devices", r#"(id: "CV", kind: "12 V converter", ratings: (amps_a: 30.0))"#);
    let p = insert(&p, "devices", r#"(id: "FP2", kind: "fuse panel")"#);
    with(&p, &[("bank.unit_v", Value::Number(25.6))])
}

/// The main minus of a coach with a converter brings back what the fuses let through all the same, the load's 15 A and the 30 A of the
/// converter's feed: 10 AWG is for 30 A of fuse (former NEC 551.10). The converter's own minus does what its feed's fuse lets through.
#[test]
fn a_converter_hides_no_fuse_from_the_negative() {
    let p = behind_a_converter(&[]);
    let above = |p: &Plan, run: &str| {
        let r = evaluate(p);
        let f = r.findings.iter().find(|f| f.check.id == "fuse-above-conductor" && f.subject.as_str() == run);
        f.map(|f| f.n(0))
    };
    let thin = |run: &'static str, size: &str| with(&p, &[(run, Value::Gauge(size.parse().expect("gauge")))]);
    assert_eq!(above(&p, "runs.N3"), None);
    assert_eq!(above(&thin("runs.N3.gauge", "10 AWG"), "runs.N3"), Some(45.0));
    assert_eq!(above(&p, "runs.N9"), None);
    assert_eq!(above(&thin("runs.N9.gauge", "14 AWG"), "runs.N9"), Some(30.0));
}

/// What is left of a broken drawing says so once: a run from a bar to itself carries nothing and lacks no fuse; a lead at a shunt
/// whose other end nobody has entered may be a negative, which wants none (NEC 240.15(A)).
#[test]
fn nothing_follows_from_a_run_that_leads_nowhere() {
    let itself =
        r#"(id: "WX", from: "BUS", to: "BUS", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
    let (r, without) = (evaluate(&insert(&sound(), "runs", itself)), evaluate(&sound()));
    let own: Vec<_> = r.findings.iter().filter(|f| f.subject.as_str() == "runs.WX").map(|f| f.check.id).collect();
    assert_eq!(own, ["run-to-itself"]);
    assert_eq!(r.not_checked, without.not_checked);
    assert_eq!(r.unknown, without.unknown);
    let p = with(&usual(), &[("runs.N1.from", Value::Unknown)]);
    let r = evaluate(&p);
    assert!(!says(&r, "source-end-unfused", "runs.N1"), "{}", texts(&r));
    let waits = r.not_checked.iter().any(|w| w.waits_for.as_str() == "runs.N1.from");
    assert!(waits, "{:?}", r.not_checked);
    let run = r.runs.iter().find(|x| x.id.as_str() == "N1").expect("drawn");
    assert!(run.proposed.is_none());
}
