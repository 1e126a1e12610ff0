//! The wrong plan: its planted mistakes are found, its decoys are silent.

use super::samples::WRONG;
use super::{evaluate, found, near, plan, says, texts};
use coachwire::engine::{Level, Report};

fn report() -> Report {
    evaluate(&plan(WRONG))
}

#[test]
fn string_over_the_controllers_volts() {
    let r = report();
    let f = found(&r, "cold-voc-over-limit");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert_eq!((f[0].level, f[0].subject.as_str()), (Level::Stop, "arrays.A1"));
    near("cold Voc", Ok(f[0].n(0)), 109.9, 0.001);
}

#[test]
fn low_volt_disconnect_on_the_array() {
    let r = report();
    let f = found(&r, "device-volts-low");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert_eq!((f[0].level, f[0].subject.as_str(), f[0].n(0)), (Level::Stop, "devices.PVD", 32.0));
}

#[test]
fn thin_controller_run_with_a_big_fuse_at_the_wrong_end() {
    let r = report();
    let f = found(&r, "fuse-above-conductor");
    assert_eq!(f.iter().map(|f| f.subject.as_str()).collect::<Vec<_>>(), ["runs.W3"], "{}", texts(&r));
    assert_eq!((f[0].n(0), f[0].n(1)), (80.0, 30.0));
    let far = found(&r, "fuse-far-from-source");
    assert_eq!(far.len(), 1, "{}", texts(&r));
    near("wire from the bank, m", Ok(far[0].n(0)), 15.0 * 0.3048, 1e-6);
    assert_eq!(far[0].level, Level::Stop);
    assert!(says(&r, "drop-over-target", "runs.W3"), "{}", texts(&r));
    let ohm = coachwire::engine::conductors_ohm(&plan(WRONG), &"W3".parse().expect("id"), 20.0);
    near("drop at 20 C", ohm.expect("run").map(|o| o.0 * 52.0), 1.66, 0.04);
    near("amps", r.runs[2].drop_at_a.clone().map(|a| a.0), 52.0, 1e-9);
}

#[test]
fn thin_inverter_cable() {
    let r = report();
    let f = found(&r, "conductor-below-current");
    let w4 = f.iter().find(|f| f.subject.as_str() == "runs.W4").unwrap_or_else(|| panic!("{}", texts(&r)));
    near("amps", Ok(w4.n(0)), 189.0, 0.005);
    near("4 AWG, 75 C terminals, open: NEC 310.17", Ok(w4.n(1)), 125.0, 1e-9);
    assert!(says(&r, "drop-over-target", "runs.W4"));
    assert!(says(&r, "source-end-unfused", "runs.W4"), "300 A ahead of 4 AWG: {}", texts(&r));
}

#[test]
fn main_fuse_that_cannot_open_the_fault() {
    let r = report();
    let f = found(&r, "interrupt-below-fault");
    let main = f.iter().find(|f| f.subject.as_str() == "runs.W5").unwrap_or_else(|| panic!("{}", texts(&r)));
    near("bank", r.bank.fault_a.clone().map(|a| a.0), 13_300.0, 0.001);
    assert!(main.n(0) > 12_000.0 && main.n(0) < 13_300.0, "cable ohms count a little: {}", main.n(0));
    assert_eq!(main.n(1), 6000.0);
}

#[test]
fn lead_settings_on_lithium() {
    let r = report();
    assert!(says(&r, "equalise-not-allowed", "controllers.C1"), "{}", texts(&r));
    let f = found(&r, "compensation-on-lithium");
    near("at 0 C", Ok(f[0].n(1)), 16.55, 0.001);
    assert!(says(&r, "lithium-charged-cold", "bank"));
}

#[test]
fn shunt_bypass_and_charge_loop() {
    let r = report();
    assert!(says(&r, "shunt-bypass", "runs.W4"), "{}", texts(&r));
    assert!(says(&r, "inverter-feeds-charger", "chargers.CV"), "{}", texts(&r));
}

/// Over-panelling, oversize wire on a small fuse, a thin sense lead, negatives without fuses.
#[test]
fn decoys_are_silent() {
    let r = report();
    for quiet in ["runs.W1", "runs.W2", "runs.W6", "runs.W7", "runs.W8"] {
        let loud: Vec<_> = r.findings.iter().filter(|f| f.subject.as_str() == quiet).map(|f| f.text()).collect();
        assert!(loud.is_empty(), "{quiet}: {loud:?}");
    }
    assert!(!says(&r, "isc-over-input", "controllers.C1"));
}
