//! Minus leads behind a converter, drawn by themselves: what fuses they are held to, and a converter's own minus that is forgotten or led
//! past the shunt.
//!
//! 18 AWG may have 6 A, 14 AWG 15 A, 12 AWG 20 A and 10 AWG 30 A at most (former NEC 551.10); without a fuse 14 AWG carries 30 A at 75 C
//! terminals, 18 AWG 14 A or less (NEC 310.17).

use super::comes_back::{Drawn, NONE, fuse, wired};
use super::cures::is_curable;
use super::mistakes::{insert, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

/// How the 12 V side is wired: fuses of the panel's feed and its branches, gauges of the minus leads.
#[derive(Clone, Copy)]
struct Side<'a> {
    feed_a: f64,
    branches_a: [f64; 2],
    /// Of the panel's bar, and of the first load.
    minus: [&'a str; 2],
    amps: &'a str,
}

const RIGHT: Side<'_> =
    Side { feed_a: 40.0, branches_a: [20.0, 10.0], minus: ["8 AWG", "10 AWG"], amps: "amps_a: 30.0" };

/// A van of single conductors: loads on a panel behind a converter, their minus on a bar of its own, NB2, that leads to the bank's.
fn van(unit_v: f64, side: Side<'_>, but: &str) -> Plan {
    let alone = |amps: f64| if amps > 0.0 { NONE.to_string() + &fuse(amps) } else { NONE.to_string() };
    let (c1, main, feed, ahead) =
        (alone(40.0).replace("\"from\"", "\"to\""), alone(150.0), alone(side.feed_a), alone(30.0));
    let branches = side.branches_a.map(alone);
    let runs: [Drawn<'_>; 14] = [
        ("W2", "C1", "BUS", "4 AWG", 0.5, &c1),
        ("W3", "BK", "SW", "4/0 AWG", 0.6, &main),
        ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &main),
        ("W6", "BUS", "CV", "8 AWG", 1.0, &ahead),
        ("W7", "CV", "FP", "8 AWG", 0.5, &feed),
        ("W8", "FP", "L1", "10 AWG", 3.0, &branches[0]),
        ("W9", "FP", "L2", "10 AWG", 4.0, &branches[1]),
        ("N1", "BK-", "SHN", "4/0 AWG", 0.6, NONE),
        ("N2", "SHN", "NB", "4/0 AWG", 0.3, NONE),
        ("N3", "NB", "C1", "4 AWG", 0.5, NONE),
        ("N5", "INV", "NB", "4/0 AWG", 1.0, NONE),
        ("N8", "L1", "NB2", side.minus[1], 3.0, NONE),
        ("N9", "NB2", "L2", "10 AWG", 4.0, NONE),
    ];
    let minus = [("N6", "CV", "NB", "8 AWG", 1.0, NONE), ("N7", "NB", "NB2", side.minus[0], 0.5, NONE)];
    let all: Vec<Drawn<'_>> = runs.into_iter().chain(minus).filter(|run| run.0 != but).collect();
    let cv = format!(r#"(id: "CV", kind: "12 V converter", efficiency_pct: 92.0, ratings: ({}))"#, side.amps);
    let p = insert(&wired(&all), "devices", &cv);
    let absorb_v = Value::Number(14.2 * unit_v / 12.8);
    with(
        &p,
        &[("bank.unit_v", Value::Number(unit_v)), ("controllers.C1.absorb_v", absorb_v), ("runs.B1.from", id("NB"))],
    )
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

const ABOVE: &str = "fuse-above-conductor";

/// The amps that a run's wire is told to be too thin for, if it is.
fn told(p: &Plan, run: &str) -> Option<f64> {
    let r = evaluate(p);
    let of_run = found(&r, ABOVE).into_iter().find(|f| f.run() == Some(run));
    of_run.map(|f| {
        assert_eq!(f.level, Level::Stop, "{}", f.text());
        f.n(0)
    })
}

/// Its bar's minus brings back what the branches let through, 30 A; a load's what its own fuse does, 20 A. As on a bank of 12 V.
#[test]
fn a_minus_behind_a_converter_is_held_to_the_fuses_there() {
    for volts in [25.6, 51.2] {
        let right = van(volts, RIGHT, "");
        assert!(found(&evaluate(&right), ABOVE).is_empty(), "{}", texts(&evaluate(&right)));
        let of = |bar, load| van(volts, Side { minus: [bar, load], ..RIGHT }, "");
        for bar in ["18 AWG", "12 AWG"] {
            assert_eq!(told(&of(bar, "10 AWG"), "N7"), Some(30.0), "{bar}");
        }
        for load in ["18 AWG", "14 AWG"] {
            assert_eq!(told(&of("8 AWG", load), "N8"), Some(20.0), "{load}");
            assert_eq!(told(&of("8 AWG", load), "N7"), None, "{load}");
        }
        assert_eq!(told(&of("10 AWG", "12 AWG"), "N7"), None);
        assert_eq!(told(&of("10 AWG", "12 AWG"), "N8"), None);
        is_curable(&of("18 AWG", "10 AWG"), "fuse-above-conductor", "runs.N7");
        is_curable(&of("8 AWG", "18 AWG"), "fuse-above-conductor", "runs.N8");
    }
}

/// Led to the converter's own minus it carries the same.
#[test]
fn a_minus_led_to_the_converter_itself_is_held_to_them_too() {
    let of = |bar| with(&van(25.6, Side { minus: [bar, "10 AWG"], ..RIGHT }, ""), &[("runs.N7.from", id("CV"))]);
    assert_eq!(told(&of("18 AWG"), "N7"), Some(30.0));
    assert_eq!(told(&of("10 AWG"), "N7"), None, "{}", texts(&evaluate(&of("10 AWG"))));
}

/// Without a fuse, or with larger ones, it is what the converter gives, 30 A for as long as it likes: what carries that wants no more, as
/// the plus beside it does not. What it gives is waited for where no fuse says it.
#[test]
fn without_a_fuse_it_is_what_the_converter_gives() {
    let of = |feed_a, branches_a, bar, amps| van(25.6, Side { feed_a, branches_a, minus: [bar, "10 AWG"], amps }, "");
    for (feed_a, branches_a) in [(0.0, [0.0, 0.0]), (0.0, [30.0, 30.0]), (40.0, [30.0, 30.0]), (40.0, [0.0, 0.0])] {
        let thin = of(feed_a, branches_a, "18 AWG", RIGHT.amps);
        assert_eq!(told(&thin, "N7"), Some(30.0), "{feed_a} {branches_a:?}");
        let text = found(&evaluate(&thin), ABOVE).iter().find(|f| f.run() == Some("N7")).map(|f| f.text());
        let text = text.expect("told");
        assert!(text.starts_with("N7: CV, whose current it brings back, gives 30 A, its conductor allows 1"), "{text}");
        is_curable(&thin, "fuse-above-conductor", "runs.N7");
        assert_eq!(told(&of(feed_a, branches_a, "14 AWG", RIGHT.amps), "N7"), None, "{feed_a} {branches_a:?}");
    }
    // Branches of 20 A on a bare feed: 10 AWG carries the 30 A that there can be.
    assert_eq!(told(&of(0.0, [20.0, 20.0], "10 AWG", RIGHT.amps), "N7"), None);
    let waits = |p: &Plan| {
        let waits = evaluate(p).not_checked;
        waits.iter().any(|x| x.check == ABOVE && x.waits_for.as_str() == "devices.CV.ratings.amps_a")
    };
    assert!(waits(&of(0.0, [0.0, 0.0], "18 AWG", "")) && !waits(&van(25.6, Side { amps: "", ..RIGHT }, "")));
}

/// A converter without a minus does nothing, whatever else is drawn: told as of any thing, with its lead. One that has it by the panel's
/// bar has it.
#[test]
fn a_converter_without_a_minus_is_told() {
    for volts in [25.6, 51.2] {
        let none = van(volts, RIGHT, "N6");
        let r = evaluate(&none);
        let f = found(&r, "return-not-drawn");
        assert_eq!((f.len(), f[0].subject.as_str()), (1, "runs.W6"), "{}", texts(&r));
        assert!(f[0].text().starts_with("CV lacks its minus"), "{}", f[0].text());
        is_curable(&none, "return-not-drawn", "runs.W6");
        let led = with(&van(volts, RIGHT, ""), &[("runs.N6.to", id("NB2"))]);
        for right in [van(volts, RIGHT, ""), led, with(&van(volts, RIGHT, ""), &[("runs.N7.from", id("CV"))])] {
            assert!(found(&evaluate(&right), "return-not-drawn").is_empty(), "{}", texts(&evaluate(&right)));
        }
    }
}

/// Past the shunt it brings there what the shunt then counts too much: the loads come back over it, the converter's part does not.
#[test]
fn a_converters_minus_past_the_shunt_is_told() {
    let right = van(25.6, RIGHT, "");
    assert!(!says(&evaluate(&right), "shunt-bypass", "runs.N6"), "{}", texts(&evaluate(&right)));
    let past = with(&right, &[("runs.N6.to", id("BK-"))]);
    assert!(says(&evaluate(&past), "shunt-bypass", "runs.N6"), "{}", texts(&evaluate(&past)));
    is_curable(&past, "shunt-bypass", "runs.N6");
}
