//! Behind a converter its own limit flows, whatever fuse stands ahead of it on the higher volts.

use super::cures::is_curable;
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, says, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

/// The sound plan on 51.2 V, its fuse panel behind a converter by W9, 15 A ahead of the converter.
fn behind(converter: &str, gauge: &str, fuse: &str) -> Plan {
    let n = Value::Number;
    let p = with(
        &sound(),
        &[
            ("bank.unit_v", n(51.2)),
            ("controllers.C1.absorb_v", n(56.8)),
            ("runs.W6.to", Value::Id("CV".parse().expect("id"))),
            ("runs.W6.protection.F1.amps_a", n(15.0)),
        ],
    );
    let p = insert(&p, "devices", &format!(r#"(id: "CV", kind: "12 V converter", ratings: ({converter}))"#));
    let run = format!(
        r#"(id: "W9", from: "CV", to: "FP", gauge: "{gauge}", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [{fuse}])"#
    );
    insert(&p, "runs", &run)
}

/// 15 A at 51 V are 60 A at 12 V: the fuse ahead limits nothing there, the converter gives its 40 A for ever. 14 AWG of
/// 105 C in 40 C air carries less (NEC 310.17: 35 A at 30 C in the 90 C column; 75 C terminals), 8 AWG more.
#[test]
fn a_lead_behind_a_converter_carries_what_that_gives_or_is_fused() {
    let thin = behind("amps_a: 40.0", "14 AWG", "");
    let r = evaluate(&thin);
    let f = found(&r, "source-end-unfused");
    assert_eq!(
        (f.len(), f[0].level, f[0].subject.as_str(), f[0].n(0)),
        (1, Level::Stop, "runs.W9", 40.0),
        "{}",
        texts(&r)
    );
    assert!(f[0].text().contains("CV can give 40 A"), "{}", f[0].text());
    is_curable(&thin, "source-end-unfused", "runs.W9");

    let fuse = r#"(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 15.0, distance_m: 0.1)"#;
    for right in [
        behind("amps_a: 40.0", "8 AWG", ""),
        behind("amps_a: 40.0", "14 AWG", fuse),
        behind("amps_a: 15.0", "14 AWG", ""),
        // Above what 10 AWG may be fused with stands nothing here but what it carries.
        behind("amps_a: 30.0", "10 AWG", ""),
    ] {
        let r = evaluate(&right);
        assert!(!says(&r, "source-end-unfused", "runs.W9"), "{}", texts(&r));
    }
}

/// The fuse ahead lets 5 A of 58.4 V through (51.2 V of LFP at 14.6 V per 12.8 V): 292 W, 24.3 A at 12 V, which the 14 AWG
/// carries (25 A and more, NEC 310.17); 10 A are 48.7 A, of which the converter gives its 40 A.
#[test]
fn a_small_fuse_ahead_limits_what_a_converter_gives() {
    let ahead = |amps: f64| {
        with(&behind("amps_a: 40.0", "14 AWG", ""), &[("runs.W6.protection.F1.amps_a", Value::Number(amps))])
    };
    let r = evaluate(&ahead(5.0));
    assert!(!says(&r, "source-end-unfused", "runs.W9"), "{}", texts(&r));
    let r = evaluate(&ahead(7.5));
    let f = found(&r, "source-end-unfused");
    super::near("by volts", Ok(f[0].n(0)), 7.5 * 58.4 / 12.0, 1e-9);
    assert!(f[0].text().contains("CV can give 36.5 A behind the 7.5 A ahead of it"), "{}", f[0].text());
    let f = evaluate(&ahead(10.0));
    assert_eq!(found(&f, "source-end-unfused")[0].n(0), 40.0, "{}", texts(&f));
}

#[test]
fn a_converter_of_unknown_amps_leaves_its_lead_unchecked() {
    for converter in ["", r#"amps_a: "?""#] {
        let r = evaluate(&behind(converter, "8 AWG", ""));
        let waits = |w: &&coachwire::engine::report::NotChecked| {
            w.subject.as_str() == "runs.W9" && w.waits_for.as_str() == "devices.CV.ratings.amps_a"
        };
        assert!(r.not_checked.iter().any(|w| waits(&w)), "{converter}: {:?}", r.not_checked);
    }
}

/// The panel's instructions allow 20 A ahead of it: a converter of 30 A exceeds that with any wire.
#[test]
fn what_a_panel_allows_ahead_of_it_holds_for_a_converter() {
    let p = with(&behind("amps_a: 30.0", "6 AWG", ""), &[("devices.FP.ratings.max_fuse_a", Value::Number(20.0))]);
    let r = evaluate(&p);
    let f = found(&r, "source-end-unfused");
    assert_eq!((f.len(), f[0].n(0), f[0].n(1)), (1, 30.0, 20.0), "{}", texts(&r));
    assert!(f[0].text().contains("that FP allows"), "{}", f[0].text());
}

/// On 24 V the same: what the fuse ahead allows on its own side says nothing of the wire behind.
#[test]
fn a_large_fuse_ahead_of_a_small_converter_is_no_stop() {
    let n = Value::Number;
    let p = with(&behind("amps_a: 30.0", "10 AWG", ""), &[("runs.W6.protection.F1.amps_a", n(60.0))]);
    assert!(!says(&evaluate(&p), "source-end-unfused", "runs.W9"));
    let bare = {
        let mut p = behind("amps_a: 30.0", "10 AWG", "");
        p.runs[5].protection.clear();
        p
    };
    assert!(!says(&evaluate(&bare), "source-end-unfused", "runs.W9"), "{}", texts(&evaluate(&bare)));
}
