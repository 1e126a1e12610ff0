//! Fault current at fuses that are not the bank's main.

use super::samples::SOUND;
use super::{evaluate, found, near, plan, says};
use coachwire::engine::Report;

/// SOUND with a DC-DC charger on a start battery, its line fused at the battery.
fn line(family: &str) -> String {
    SOUND
        .replace(
            "devices: [",
            r#"chargers: [(id: "DC", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2,
        input_cutout_v: 10.5)],
    devices: [(id: "SB", kind: "start battery"), "#,
        )
        .replace(
            "    runs: [\n",
            &format!(
                r#"    runs: [
        (id: "W7", from: "SB", to: "DC", gauge: "4 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "{family}", amps_a: 40.0, distance_m: 0.0)]),
        (id: "W8", from: "DC", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
            protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)]),
"#
            ),
        )
}

fn with_line(family: &str) -> Report {
    evaluate(&plan(&line(family)))
}

/// 800 CCA: 3 kA at the main (ABYC E-11 table, 651 to 1100 CCA). A bolted strip fuse opens 2 kA, one on the stud 10 kA.
#[test]
fn the_fuse_of_a_start_battery_opens_what_it_can_drive() {
    let strip = with_line("ISO 8820-5 SF30");
    near("fault", strip.runs[0].fuses[0].fault_a.clone().map(|a| a.0), 3000.0, 1e-9);
    assert!(says(&strip, "interrupt-below-fault", "runs.W7"));
    assert!(!says(&with_line("ISO 8820-6"), "interrupt-below-fault", "runs.W7"));
}

/// Three packs of 3 mOhm at 13.3 V: 4433 A each. Its own fuse sees the two others: 8867 A, times 1.1.
#[test]
fn a_packs_own_fuse_sees_all_the_others() {
    let each = SOUND.replace("vented: \"no\"", "vented: \"no\", fused_each: \"yes\"");
    let report = evaluate(&plan(&each));
    near("opens", Ok(found(&report, "battery-own-fuse")[0].n(0)), 2.0 * 13.3 / 0.003 * 1.1, 1e-9);
    let two = evaluate(&plan(&each.replace("parallel: 3.0", "parallel: 2.0")));
    near("opens", Ok(found(&two, "battery-own-fuse")[0].n(0)), 13.3 / 0.003 * 1.1, 1e-9);
    let one = evaluate(&plan(&each.replace("parallel: 3.0", "parallel: 1.0")));
    assert!(found(&one, "battery-own-fuse").is_empty());
}

/// ABYC E-11: 20 kA for a lithium bank of which nothing is known, whatever the count of packs; said once.
#[test]
fn an_unknown_lithium_bank_is_assumed_once() {
    for parallel in ["1.0", "3.0", "6.0"] {
        let ron = SOUND.replace("ohmic_mohm: 3.0,", "").replace("parallel: 3.0", &format!("parallel: {parallel}"));
        let report = evaluate(&plan(&ron));
        assert_eq!(found(&report, "fault-current-assumed").len(), 1);
        near("bank", report.bank.fault_a.clone().map(|a| a.0), 20_000.0, 1e-12);
    }
    assert!(found(&evaluate(&plan(SOUND)), "fault-current-assumed").is_empty());
}

/// 20 A out at 14.2 V and 0.90 from 13.2 V asks about 24 A: 60 % of 40 A, 30 % of 80 A; half is the most (common practice).
#[test]
fn an_alternator_gives_half_of_its_rating() {
    let of = |rating: &str| {
        let ron = line("ISO 8820-6")
            .replace("absorb_v: 14.2,\n        input", "absorb_v: 14.2, alternator: \"ALT\",\n        input")
            .replace(
                "devices: [",
                &format!("devices: [(id: \"ALT\", kind: \"alternator\", ratings: (amps_a: {rating})), "),
            );
        evaluate(&plan(&ron))
    };
    let small = of("40.0");
    let share = found(&small, "alternator-overdrawn")[0].n(0);
    assert!((58.0..68.0).contains(&share), "{share}");
    assert!(found(&of("80.0"), "alternator-overdrawn").is_empty());
}
