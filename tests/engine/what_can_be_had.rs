//! Cures that can be had, and are where the fault is: panels led to their controller, the fuse in the panel's own feed.

use super::cures::cures;
use super::mistakes::{sound, with};
use super::{evaluate, found, texts};
use coachwire::engine::Level;
use coachwire::plan::Value;

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

/// Panels drawn to an inverter: no inverter of a 12 V bank is made for their volts, and a second run would leave them on it (common
/// practice; the equipment's instructions). Their run is led to the controller.
#[test]
fn panels_on_an_inverter_are_led_to_their_controller() {
    let wrong = with(&sound(), &[("runs.W1.to", id("INV")), ("inverters.INV.ratings.volts_dc_v", Value::Number(32.0))]);
    let mut told = 0;
    for f in evaluate(&wrong).findings.iter().filter(|f| f.level != Level::Note) {
        if !["array-without-run", "device-volts-low"].contains(&f.check.id) {
            continue;
        }
        let steps = cures(&wrong, f.check.id, f.subject.as_str());
        assert!(steps.iter().all(|s| !s.name.contains("another")), "{}: {steps:?}", f.text());
        let first = steps.first().unwrap_or_else(|| panic!("{}: no cure", f.text()));
        assert_eq!(first.name, "W1: to C1", "{}", f.text());
        assert_eq!(wrong.with(first).expect("applies").runs, sound().runs);
        told += 1;
    }
    assert!(told > 0, "{}", texts(&evaluate(&wrong)));
}

/// A panel of 60 A whose feed has a fuse larger than that, behind a main fuse that is too: it is the one in the feed that is made smaller
/// (NEC 408.36, the panel's overcurrent device on its supply side), the main one stays.
#[test]
fn a_panels_feed_gets_the_panels_fuse() {
    let edits = [
        ("devices.FP.ratings.amps_a", Value::Number(60.0)),
        ("runs.W6.gauge", Value::Gauge("4/0 AWG".parse().expect("gauge"))),
        ("runs.W6.protection.F1.amps_a", Value::Number(200.0)),
    ];
    let wrong = with(&sound(), &edits);
    let steps = cures(&wrong, "panel-below-fuse", "devices.FP");
    assert!(steps.first().is_some_and(|s| s.name.starts_with("W6 fuse: 60 A")), "{steps:?}");
    let after = evaluate(&wrong.with(&steps[0]).expect("applies"));
    assert!(found(&after, "panel-below-fuse").is_empty(), "{}", texts(&after));
}
