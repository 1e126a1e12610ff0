//! What sizing and ladders put in is bought, comes off the truck, and goes where there is room for it.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, near, texts};
use coachwire::engine::sizing::Totals;
use coachwire::engine::{Engine, LadderOf};
use coachwire::plan::{Known, Plan, State, Value};
use coachwire::stock::{Lug, Spool, Stock};
use coachwire::units::{Celsius, Kilograms, Metres, Number};

fn spool(gauge: &str) -> Spool {
    Spool {
        gauge: Known::Is(gauge.parse().expect("gauge")),
        insulation_c: Known::Is(Celsius(105.0)),
        left_m: Known::Is(Metres(100.0)),
        ..Spool::default()
    }
}

fn sized(p: &Plan, stock: &Stock, only_van: bool) -> Plan {
    let proposal = Engine::default().propose_sizes(p, stock, only_van);
    p.with(&proposal.step).expect("applies")
}

/// The fuse of W2 is there already, its rating unread; or 60 A, which another rating stands in for.
#[test]
fn a_fuse_that_is_there_and_gets_another_rating_is_a_new_one() {
    let state = |p: &Plan| p.runs[1].protection[0].state;
    let old = with(&sound(), &[("runs.W2.protection.F1.state", word("existing"))]);
    let unread = with(&old, &[("runs.W2.protection.F1.amps_a", Value::Unknown)]);
    let after = sized(&unread, &Stock::default(), false);
    assert!(after.runs[1].protection[0].amps_a.known().is_some());
    assert_eq!(state(&after), State::New);
    assert_eq!(evaluate(&after).price.unpriced, evaluate(&old).price.unpriced + 1, "it is bought, and has no price");
    // What is there and stays as it is stays there.
    assert_eq!(state(&sized(&old, &Stock::default(), false)), State::Existing);
    // Each row of the ladder that is another fuse; the one that it is stays.
    let rungs = Engine::default().ladder(&old, &Stock::default(), &LadderOf::Fuse("W2".parse().expect("id"), None));
    let mut others = 0;
    for rung in &rungs {
        let after = old.with(&rung.step).expect("applies");
        let same = after.runs[1].protection[0].amps_a == old.runs[1].protection[0].amps_a
            && after.runs[1].protection[0].family == old.runs[1].protection[0].family;
        assert_eq!(state(&after) == State::New, !same, "{}", rung.step.name);
        others += usize::from(!same);
    }
    assert!(others > 0);
}

/// The bond follows a 4/0 lead; the truck has 2/0 and 4/0, or 2/0 alone: then it stays open.
#[test]
fn from_the_truck_alone_a_bond_is_of_what_the_truck_has() {
    let open = with(&sound(), &[("runs.W7.gauge", Value::Unknown)]);
    let of = |gauges: &[&str]| {
        let mut stock = Stock::default();
        stock.truck.spools.extend(gauges.iter().map(|g| spool(g)));
        sized(&open, &stock, true).runs[6].gauge
    };
    assert_eq!(of(&["2/0 AWG", "4/0 AWG"]), Known::Is("4/0 AWG".parse().expect("gauge")));
    for none in [&["6 AWG"][..], &[]] {
        let gauge = of(none);
        let there = |g: &coachwire::standards::conductor::Gauge| none.iter().any(|n| n.parse() == Ok(*g));
        assert!(gauge.known().is_none_or(there), "{gauge:?} is on no spool");
    }
}

/// Two lugs of 0.05 kg at the one end of W5 on a known stud: 0.1 kg more.
#[test]
fn lugs_weigh_with_the_wire() {
    let p = with(&sound(), &[("inverters.INV.ratings.stud", Value::Text("3/8".into()))]);
    let kg = |stock: &Stock| Totals::of(&p, stock, &Engine::default().evaluate(&p, stock)).wire_kg;
    let mut stock = Stock::default();
    let bare = kg(&stock).expect("known");
    stock.truck.lugs.push(Lug {
        gauge: Known::Is("4/0 AWG".parse().expect("gauge")),
        stud: "3/8".into(),
        count: Known::Is(Number(4.0)),
        weight_kg: Some(Known::Is(Kilograms(0.05))),
        ..Lug::default()
    });
    near("kg", kg(&stock), bare + 0.1, 1e-9);
}

/// Of two fuse panels the one with fewer runs on it takes another load, whichever is drawn first.
#[test]
fn a_load_goes_on_the_panel_with_a_way_free() {
    let run = |id: &str, from: &str, to: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "12 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#
        )
    };
    let p = insert(&sound(), "devices", r#"(id: "FP2", kind: "fuse panel")"#);
    let p = insert(&p, "loads", r#"(id: "L2", watts_w: 10.0, hours_day: 2.0, state: "new")"#);
    let p = insert(&p, "runs", &run("W8", "FP", "L1"));
    let p = insert(&p, "runs", &run("W9", "BUS", "FP2"));
    let steps = super::cures::cures(&p, "load-without-run", "loads.L2");
    assert!(steps[0].name.contains("from FP2 to L2"), "{steps:?}\n{}", texts(&evaluate(&p)));
    // Once that has more on it, the other.
    let mut full = p.clone();
    for (n, id) in ["L3", "L4"].iter().enumerate() {
        full = insert(&full, "loads", &format!(r#"(id: "{id}", watts_w: 10.0, hours_day: 2.0, state: "new")"#));
        full = insert(&full, "runs", &run(&format!("W{}", 10 + n), "FP2", id));
    }
    let steps = super::cures::cures(&full, "load-without-run", "loads.L2");
    assert!(steps[0].name.contains("from FP to L2"), "{steps:?}");
}
