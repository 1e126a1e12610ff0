//! What stands ahead of a run, and whose instructions limit it, is said in the sentence.

use super::mistakes::{sound, with};
use super::{evaluate, found, texts};
use coachwire::plan::Value;

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The inverter's instructions allow 100 A ahead of it; its 4/0 AWG carries far more than the main fuse's 150 A.
#[test]
fn the_instructions_that_limit_a_fuse_are_named() {
    let mut p = with(&sound(), &[("inverters.INV.ratings.max_fuse_a", n(100.0))]);
    p.runs[4].protection.clear();
    let r = evaluate(&p);
    let f = found(&r, "source-end-unfused");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert_eq!(f[0].text(), "W5 has no fuse at BUS, and the 150 A ahead of it is above the 100 A that INV allows");
    // The wire's own limit is the run's.
    let thin = with(
        &p,
        &[
            ("inverters.INV.ratings.max_fuse_a", Value::Nothing),
            ("runs.W5.gauge", Value::Gauge("4 AWG".parse().expect("gauge"))),
        ],
    );
    let r = evaluate(&thin);
    let f = found(&r, "source-end-unfused");
    assert_eq!((f.len(), f[0].n(0)), (1, 150.0), "{}", texts(&r));
    assert!(f[0].text().ends_with(" A it allows"), "{}", f[0].text());
}

/// A fuse at the far end is named together with the one ahead that is too large to make it needless.
#[test]
fn a_fuse_too_far_and_the_one_ahead_are_one_sentence() {
    let far = with(
        &sound(),
        &[("runs.W6.protection.F1.at", Value::Word("to")), ("runs.W6.protection.F1.distance_m", n(0.1))],
    );
    let r = evaluate(&far);
    let f = found(&r, "fuse-far-from-source");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert!(f[0].text().starts_with("W6: the 150 A ahead of it is above the "), "{}", f[0].text());
    assert!(f[0].text().contains(" it allows, and its fuse sits "), "{}", f[0].text());
    // With nothing ahead the distance is all there is to say.
    let main = with(
        &sound(),
        &[("runs.W3.protection.F1.at", Value::Word("to")), ("runs.W3.protection.F1.distance_m", n(0.0))],
    );
    let r = evaluate(&main);
    let f: Vec<_> = found(&r, "fuse-far-from-source").into_iter().filter(|f| f.subject.as_str() == "runs.W3").collect();
    assert!(f.iter().all(|f| f.text().starts_with("W3: its fuse sits ")), "{}", texts(&r));
    assert_eq!(f.len(), 1, "{}", texts(&r));
}

/// 6 AWG on terminals of 75 C carries 95 A (NEC 310.17): its own fuse and one ahead of it are held to the same 100 A, the
/// next rating up (NEC 240.4(B)).
#[test]
fn the_next_rating_up_is_said_of_a_fuse_as_of_one_ahead() {
    let wire = ("runs.W6.gauge", Value::Gauge("6 AWG".parse().expect("gauge")));
    let own = evaluate(&with(&sound(), &[wire.clone(), ("runs.W6.protection.F1.amps_a", n(200.0))]));
    let f = found(&own, "fuse-above-conductor");
    assert_eq!(f.len(), 1, "{}", texts(&own));
    let up = f[0].numbers.get(3).copied().expect("next rating");
    assert!(
        f[0].n(1) < up && f[0].text().ends_with(&format!(", {up:.0} A with the next rating up")),
        "{}",
        f[0].text()
    );
    let mut p = with(&sound(), &[wire, ("runs.W3.protection.F1.amps_a", n(200.0))]);
    p.runs[5].protection.clear();
    let ahead = evaluate(&p);
    let f = found(&ahead, "source-end-unfused");
    assert_eq!((f.len(), f[0].n(1)), (1, up), "{}", texts(&ahead));
}
