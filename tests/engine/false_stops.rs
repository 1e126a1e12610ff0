//! What is no mistake is no stop: a breaker nobody has read off, a fuse where the wire thins, the old run of panels that
//! are gone.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn stops(r: &Report) -> Vec<String> {
    let of = r.findings.iter().filter(|f| f.level == Level::Stop);
    of.map(|f| format!("{} {}", f.check.id, f.subject)).collect()
}

/// A link from the start battery, fused at it, through a breaker: its end at the breaker is protected by that, if it
/// is small enough.
fn link(amps: &str) -> Plan {
    let breaker = format!(r#"(id: "BR", kind: "resetting breaker", ratings: ({amps}))"#);
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let mut p = insert(&p, "devices", &breaker);
    for (id, from, to, metres, at) in [("W21", "SB", "BR", 1.0, "from"), ("W22", "BR", "BUS", 4.0, "to")] {
        let run = format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "2 AWG", design_override_a: 40.0, drop_override_a: 30.0,
                legs: [(id: "L1", length_m: {metres}, insulation_c: 105.0)],
                protection: [(id: "F1", at: "{at}", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#
        );
        p = insert(&p, "runs", &run);
    }
    p
}

#[test]
fn a_breaker_of_unknown_rating_is_not_checked() {
    assert_eq!(stops(&evaluate(&link("amps_a: 40.0"))), Vec::<String>::new());
    let waits = |r: &Report, run: &str| {
        let of = |w: &coachwire::engine::report::NotChecked| {
            w.subject.as_str() == run && w.waits_for.as_str() == "devices.BR.ratings.amps_a"
        };
        r.not_checked.iter().any(of)
    };
    for unread in ["", r#"amps_a: "?""#] {
        // The 60 A fuse at each source protects both runs, whatever the breaker is.
        let r = evaluate(&link(unread));
        assert_eq!(stops(&r), Vec::<String>::new(), "{}", texts(&r));
        assert!(!waits(&r, "runs.W21") && !waits(&r, "runs.W22"), "{unread}: {:?}", r.not_checked);
        // One that lets more through than the wire behind the breaker stands: then that decides.
        let r = evaluate(&with(&link(unread), &[("runs.W21.protection.F1.amps_a", n(300.0))]));
        assert_eq!(stops(&r), ["fuse-above-conductor runs.W21"], "{}", texts(&r));
        assert!(!waits(&r, "runs.W21") && waits(&r, "runs.W22"), "{unread}: {:?}", r.not_checked);
    }
    // One too large for the wire protects nothing: the fuse at the far end is too far.
    let large = [("runs.W21.protection.F1.amps_a", n(300.0))];
    let large = evaluate(&with(&link("amps_a: 300.0"), &large));
    assert!(stops(&large).contains(&"fuse-far-from-source runs.W22".to_string()), "{}", texts(&large));
}

/// The old home run of panels that were taken away carries nothing: what it ends on is said, nothing else.
#[test]
fn the_old_run_of_removed_panels_is_no_stop() {
    let gone = with(&sound(), &[("arrays.A1.state", word("removed"))]);
    let r = evaluate(&gone);
    assert_eq!(stops(&r), Vec::<String>::new(), "{}", texts(&r));
    assert!(says(&r, "end-on-removed", "runs.W1"), "{}", texts(&r));
    let about: Vec<&str> =
        r.findings.iter().filter(|f| f.subject.is_within(&"runs.W1".into())).map(|f| f.check.id).collect();
    assert_eq!(about, ["end-on-removed"]);
    assert!(!r.not_checked.iter().any(|w| w.subject.as_str() == "runs.W1"), "{:?}", r.not_checked);
    assert!(!r.unknown.iter().any(|u| u.as_str().starts_with("runs.W1.")), "{:?}", r.unknown);
    // What stays alive at its other end is no less checked: the feed of a panel that is gone hangs on the bus.
    let live = with(&sound(), &[("devices.FP.state", word("removed"))]);
    assert!(says(&evaluate(&live), "end-on-removed", "runs.W6"));
}

/// 4 AWG thinned to 10 AWG behind a 60 A fuse: a stop, unless a fuse of 30 A stands where it thins.
fn taper(second: &str) -> Plan {
    let p = with(
        &sound(),
        &[("runs.W6.gauge", Value::Gauge("4 AWG".parse().expect("gauge"))), ("runs.W6.protection.F1.amps_a", n(60.0))],
    );
    let p = insert(&p, "runs.W6.legs", r#"(id: "L2", length_m: 2.0, insulation_c: 105.0, gauge: "10 AWG")"#);
    if second.is_empty() { p } else { insert(&p, "runs.W6.protection", second) }
}

fn at_leg(amps: f64, leg: &str, metres: &str) -> String {
    format!(r#"(id: "F2", at: "leg", leg: "{leg}", family: "UL 248-15 T", amps_a: {amps}, distance_m: {metres})"#)
}

#[test]
fn a_taper_with_its_own_fuse_is_no_stop() {
    let above = |p: &Plan| -> Vec<String> {
        found(&evaluate(p), "fuse-above-conductor").iter().map(|f| format!("{} {}", f.level, f.name(1))).collect()
    };
    assert_eq!(above(&taper("")), ["stop F1"]);
    assert_eq!(above(&taper(&at_leg(30.0, "L2", "0.05"))), Vec::<String>::new());
    // Too large for the thin wire itself.
    assert_eq!(above(&taper(&at_leg(50.0, "L2", "0.05"))), ["stop F2"]);
    // Ahead of the taper it protects it as well; too far along the thin wire the first fuse has to.
    assert_eq!(above(&taper(&at_leg(30.0, "L1", "1.0"))), Vec::<String>::new());
    assert_eq!(above(&taper(&at_leg(30.0, "L2", "1.5"))), ["stop F1"]);
    // Where it sits is not known.
    let unknown = evaluate(&taper(&at_leg(30.0, "L2", "\"?\"")));
    assert!(found(&unknown, "fuse-above-conductor").is_empty(), "{}", texts(&unknown));
    let waits = |w: &coachwire::engine::report::NotChecked| {
        w.check == "fuse-above-conductor" && w.subject.as_str() == "runs.W6"
    };
    assert!(unknown.not_checked.iter().any(waits), "{:?}", unknown.not_checked);
    // What opens the negative leaves a fault to the chassis to the first fuse.
    let negative = at_leg(30.0, "L2", "0.05").replace("at: ", "pole: \"negative\", at: ");
    assert_eq!(above(&taper(&negative)), ["stop F1"]);
}

/// Air beside an exhaust at 105 C: 90 and 105 C insulation have nothing left (NEC 310.15(B), Tc - Ta). Insulation of
/// 125 C has sqrt(20/95) of what it carries at 30 C: under US RV of the 90 C column, the last of NEC 310.17, 8 AWG 80 A;
/// the boat law has a 125 C column, 90 A (33 CFR 183.425 Table 5).
#[test]
fn insulation_that_stands_its_air_is_no_stop() {
    let in_zone = |zone: &'static str, basis: &'static str, insulation_c: f64| {
        with(
            &sound(),
            &[
                ("job.basis", word(basis)),
                ("runs.W6.gauge", Value::Gauge("8 AWG".parse().expect("gauge"))),
                ("runs.W6.legs.L1.zone", word(zone)),
                ("runs.W6.legs.L1.insulation_c", n(insulation_c)),
            ],
        )
    };
    for (insulation_c, hot) in [(90.0, true), (105.0, true), (125.0, false)] {
        let r = evaluate(&in_zone("exhaust", "US RV", insulation_c));
        assert_eq!(says(&r, "ambient-over-insulation", "runs.W6"), hot, "{insulation_c}: {}", texts(&r));
        if hot {
            let text = found(&r, "ambient-over-insulation")[0].text();
            let own = format!("a conductor that may reach {insulation_c} C");
            assert!(text.contains(&own), "{text}");
        }
    }
    let carries = |basis, column_a: f64| {
        let r = evaluate(&in_zone("exhaust", basis, 125.0));
        assert!(!stops(&r).iter().any(|s| s.ends_with("ambient-over-insulation runs.W6")), "{}", texts(&r));
        assert!(found(&r, "ampacity-without-column").is_empty() && r.not_checked.is_empty(), "{:?}", r.not_checked);
        super::near(basis, r.runs[5].ampacity_a.clone().map(|a| a.0), column_a * (20.0_f64 / 95.0).sqrt(), 0.001);
        r
    };
    carries("marine", 90.0);
    let r = carries("US RV", 80.0);
    // 36.7 A of wire behind a fuse of more: found, where it was not checked.
    let fuse = r.runs[5].fuses[0].amps.clone().expect("amps").0;
    assert_eq!(says(&r, "fuse-above-conductor", "runs.W6"), fuse > 40.0, "{}", texts(&r));
    // Beside no engine the column governs: no figure above it, and none of it is taken for wrong.
    let hot = with(&in_zone("cabinet", "US RV", 125.0), &[("runs.W6.legs.L1.ambient_c", n(100.0))]);
    let r = evaluate(&hot);
    let said = found(&r, "ampacity-without-column");
    assert_eq!((said.len(), said[0].level, said[0].subject.as_str()), (1, Level::Note, "runs.W6"));
    for check in ["conductor-below-current", "fuse-above-conductor"] {
        let waits = |w: &coachwire::engine::report::NotChecked| w.check == check && w.subject.as_str() == "runs.W6";
        assert!(r.not_checked.iter().any(waits), "{check}: {:?}", r.not_checked);
    }
    assert!(r.runs[5].ampacity_a.is_err());
    assert!(found(&evaluate(&sound()), "ampacity-without-column").is_empty());
}

/// The first fuse on the way holds what is ahead of it as well: as much flows there. 150 A on 6 AWG, whose ampacity in free air
/// at 90 C is 105 A (NEC Table 310.17), and on 4/0 AWG of 405 A.
#[test]
fn wire_ahead_of_the_first_fuse_carries_it() {
    let p = insert(&sound(), "runs.W3.legs", r#"(id: "L2", length_m: 0.5, insulation_c: 105.0)"#);
    let moved = with(
        &p,
        &[
            ("runs.W3.legs.L1.length_m", n(0.1)),
            ("runs.W3.protection.F1.at", word("leg")),
            ("runs.W3.protection.F1.leg", Value::Id("L2".parse().expect("id"))),
            ("runs.W3.protection.F1.distance_m", n(0.05)),
        ],
    );
    let stops = |p: &Plan| -> Vec<String> {
        let r = evaluate(p);
        found(&r, "fuse-above-conductor").iter().map(|f| format!("{} {}", f.level, f.name(1))).collect()
    };
    assert_eq!(stops(&moved), Vec::<String>::new());
    let thin = with(&moved, &[("runs.W3.legs.L1.gauge", Value::Gauge("6 AWG".parse().expect("gauge")))]);
    assert_eq!(stops(&thin), ["stop F1"]);
    // Behind a fuse at the post the leg is that one's.
    let ahead = r#"(id: "F2", at: "from", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.05)"#;
    assert_eq!(stops(&insert(&thin, "runs.W3.protection", ahead)), Vec::<String>::new());
}
