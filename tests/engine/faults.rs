//! Fault current at fuses that are not the bank's main.

use super::mistakes::{insert, sound};
use super::samples::SOUND;
use super::{evaluate, found, near, plan, says, texts};
use coachwire::engine::Report;
use coachwire::plan::Plan;

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

/// ABYC E-11, interrupting capacity by CCA: up to 650 CCA 1.5 kA, to 1100 3 kA, above 5 kA. At one of three batteries of
/// 600 the two others have 1200: 5 kA; at one of two of 900 there is 900 on either side: 3 kA; of two of 600: 1.5 kA.
#[test]
fn a_lead_batterys_own_fuse_goes_by_the_table_for_the_others() {
    for (count, cca, opens) in [
        (3.0, 600.0, 5_000.0),
        (2.0, 900.0, 3_000.0),
        (4.0, 500.0, 5_000.0),
        (2.0, 600.0, 1_500.0),
        (3.0, 300.0, 1_500.0),
    ] {
        let lead = SOUND
            .replace("chemistry: \"LFP\"", "chemistry: \"AGM\"")
            .replace("ohmic_mohm: 3.0,", &format!("cca_a: {cca:?}, fused_each: \"yes\","))
            .replace("parallel: 3.0", &format!("parallel: {count:?}"));
        let report = evaluate(&plan(&lead));
        let f = found(&report, "battery-own-fuse");
        assert_eq!(f.len(), 1, "{}", texts(&report));
        near("opens", Ok(f[0].n(0)), opens, 1e-9);
        // With leads drawn, of no length, no less.
        let mut drawn = insert(&plan(&lead), "devices", r#"(id: "BB", kind: "bus")"#);
        let first =
            drawn.runs.iter().position(|r| r.from.known().is_some_and(|id| id.as_str() == "BK")).expect("a lead");
        drawn.runs[first].from = coachwire::plan::Known::Is("BB".parse().expect("id"));
        for k in 1..=(count as usize) {
            let run = format!(
                r#"(id: "B{k}", from: "BK", to: "BB", gauge: "2 AWG", legs: [(id: "L1", length_m: 0.0001, insulation_c: 105.0)],
                    protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.0)])"#
            );
            drawn = insert(&drawn, "runs", &run);
        }
        let report = evaluate(&drawn);
        let f = found(&report, "battery-own-fuse");
        near("drawn", Ok(f[0].n(0)), opens, 0.02);
        let own = report.runs.iter().find(|r| r.id.as_str() == "B1").expect("lead");
        near("at it", own.fuses[0].fault_a.clone().map(|a| a.0), opens, 0.02);
    }
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

/// Three packs of 3 mOhm, each with its own 2/0 AWG lead to the bus: 67.4 mm2 (NEC Chapter 9 Table 8: 0.0967 ohm per
/// 1000 ft at 75 C, 0.0793 at 20 C), drawn there and back.
fn three_leads(length_m: f64) -> Report {
    let lead = |n: usize| {
        format!(
            r#"(id: "B{n}", from: "BK", to: "SW", gauge: "2/0 AWG", legs: [(id: "L1", length_m: {length_m:?}, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 150.0, distance_m: 0.0)]),"#
        )
    };
    let main = SOUND.find("(id: \"W3\"").expect("main");
    let end = SOUND.find("(id: \"W4\"").expect("next");
    let leads: String = (1..=3).map(lead).collect();
    evaluate(&plan(&format!("{}{leads}{}", &SOUND[..main], &SOUND[end..])))
}

/// By hand, 13.3 V: one pack alone 13.3/0.003 = 4433 A; the two others through their leads and back along this one.
#[test]
fn drawn_leads_count_at_a_batterys_own_fuse() {
    let r = three_leads(1.0);
    let lead = r.runs.iter().find(|x| x.id.as_str() == "B2").expect("lead");
    let ohm = 2.0 / 304.8 * 0.0793;
    let others = 13.3 / ((0.003 + ohm) / 2.0 + ohm);
    near("others", lead.fuses[0].fault_a.clone().map(|a| a.0), others, 0.01);
    assert!(others > 13.3 / 0.003);
    // Leads so long that the pack itself drives the most.
    let long = three_leads(3.0);
    let lead = long.runs.iter().find(|x| x.id.as_str() == "B2").expect("lead");
    near("own", lead.fuses[0].fault_a.clone().map(|a| a.0), 13.3 / 0.003, 1e-6);
}

/// Beyond the bus all three drive together, each through its own lead: more than through one lead of the three.
#[test]
fn beyond_the_bus_all_leads_feed_a_fault() {
    let r = three_leads(1.0);
    let inverter = r.runs.iter().find(|x| x.id.as_str() == "W5").expect("run");
    let ohm = 2.0 / 304.8 * 0.0793;
    // 0.3 m of 4/0 AWG, 0.0499 ohm per 1000 ft at 20 C, from the switch to the bus.
    let main = 0.6 / 304.8 * 0.0499;
    let all = 13.3 / ((0.003 + ohm) / 3.0 + main);
    near("all", inverter.fuses[0].fault_a.clone().map(|a| a.0), all, 0.03);
}

/// Where the length of a run is not known the fault cannot exceed that without any cable: a fuse that opens that
/// passes, another waits.
#[test]
fn an_unknown_length_counts_for_nothing_at_most() {
    let of = |family: &str| {
        let ron = SOUND
            .replace("legs: [(id: \"L1\", length_m: 0.6, insulation_c: 105.0)],\n            protection: [(id: \"F1\", at: \"from\", family: \"UL 248-15 T\", amps_a: 150.0, distance_m: 0.1)]", "legs: [(id: \"L1\", length_m: \"?\", insulation_c: 105.0)],\n            protection: [(id: \"F1\", at: \"from\", family: \"FAMILY\", amps_a: 150.0, distance_m: 0.1)]")
            .replace("FAMILY", family);
        assert!(ron.contains("length_m: \"?\""));
        evaluate(&plan(&ron))
    };
    let waits = |r: &Report| {
        r.not_checked.iter().any(|x| x.check == "interrupt-below-fault" && x.subject.as_str() == "runs.W3")
    };
    let strong = of("UL 248-15 T");
    assert!(!waits(&strong) && found(&strong, "interrupt-below-fault").is_empty(), "{:?}", strong.not_checked);
    let weak = of("ISO 8820-6");
    assert!(waits(&weak) && !says(&weak, "interrupt-below-fault", "runs.W3"), "{:?}", weak.not_checked);
}

/// A resetting breaker drawn as a device: 13.3 kA of the bank through 2 x 0.6 m of 4/0 and 2 x 0.3 m of 2 AWG, cold, are far
/// more than the 2 kA of its sheet; at the end of 15 m of 10 AWG it has 13.3 V / 0.1 ohm, 130 A, to open.
#[test]
fn a_breaker_of_its_own_opens_the_fault_at_its_place() {
    let of = |gauge: &str, m: f64, opens: &str| {
        let ratings =
            format!(r#"(id: "CB", kind: "resetting breaker", ratings: (amps_a: 40.0, interrupt_a: {opens}))"#);
        let p = insert(&sound(), "devices", &ratings);
        let p = insert(&p, "devices", r#"(id: "FP2", kind: "fuse panel")"#);
        let feed = format!(
            r#"(id: "W20", from: "BUS", to: "CB", gauge: "{gauge}", legs: [(id: "L1", length_m: {m:?}, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#
        );
        let on = r#"(id: "W21", from: "CB", to: "FP2", gauge: "2 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)])"#;
        insert(&insert(&p, "runs", &feed), "runs", on)
    };
    let near_bank = of("2 AWG", 0.3, "2000.0");
    let r = evaluate(&near_bank);
    let f = found(&r, "interrupt-below-fault");
    assert_eq!((f.len(), f[0].subject.as_str(), f[0].n(1)), (1, "devices.CB", 2000.0), "{}", texts(&r));
    // 4/0 0.0490, 2 AWG 0.156 ohm/1000 ft at 20 C (NEC Chapter 9 Table 8, 75 C figures reduced), two poles.
    let ohm = 0.001 + 2.0 * (0.9 / 304.8 * 0.0490 + 0.3 / 304.8 * 0.156);
    near("fault", Ok(f[0].n(0)), 13.3 / ohm, 0.03);
    assert!(f[0].text().starts_with("CB interrupts 2.0 kA at "), "{}", f[0].text());
    super::cures::is_curable(&near_bank, "interrupt-below-fault", "devices.CB");
    for right in [of("10 AWG", 15.0, "2000.0"), of("2 AWG", 0.3, "20000.0")] {
        let r = evaluate(&right);
        assert!(found(&r, "interrupt-below-fault").is_empty(), "{}", texts(&r));
    }
    let unread = evaluate(&of("2 AWG", 0.3, "\"?\""));
    let waits = |n: &coachwire::engine::report::NotChecked| n.waits_for.as_str() == "devices.CB.ratings.interrupt_a";
    assert!(unread.not_checked.iter().any(waits), "{:?}", unread.not_checked);
}

/// Drawn as pairs or with the negatives as runs of their own, a coach has the same faults. By hand, 13.3 V and four packs of
/// 3 mohm on 0.4 m of 2 AWG there and back, 0.156 ohm per 1000 ft at 20 C, then 0.6 m of two 2/0 AWG each way, 0.0793 (NEC
/// Chapter 9 Table 8, reduced by 234.5 + T), and 0.1 m of the same to the inverter's fuse.
#[test]
fn negatives_drawn_by_themselves_count_as_those_of_pairs() {
    let singly = Plan::from_text(include_str!("plans/four-packs.ron")).unwrap_or_else(|e| panic!("{e}"));
    let fault = |p: &Plan, run: &str| {
        let r = evaluate(p);
        let at = r.runs.iter().find(|x| x.id.as_str() == run).expect("run");
        at.fuses[0].fault_a.clone().map(|a| a.0)
    };
    let per_m = |ohm: f64| ohm / 304.8;
    let lead = 0.003 + 2.0 * 0.4 * per_m(0.156);
    let two = per_m(0.0793) / 2.0;
    near("inverter", fault(&singly, "W5"), 13.3 / (lead / 4.0 + 1.2 * two + 0.1 * two), 0.01);
    near("main", fault(&singly, "W4"), 13.3 / (lead / 4.0 + 0.1 * two), 0.01);
    // At one battery's own fuse the three others, back along the rest of its lead and its own negative.
    let own = lead / 3.0 + (0.3 + 0.3 / 0.4 * 0.4) * per_m(0.156);
    near("own", fault(&singly, "B1"), 13.3 / own, 0.01);
    // A long negative lets less through: 3 m in place of 0.3 m.
    let long = [("runs.N5.legs.L1.length_m", coachwire::plan::Value::Number(3.0))];
    let far = super::mistakes::with(&singly, &long);
    near("long", fault(&far, "W5"), 13.3 / (lead / 4.0 + 3.9 * two + 0.1 * two), 0.01);
    // Two side by side are half of one; a wider loop counts for nothing, as nobody knows what comes that way.
    let n5 = singly.runs.iter().find(|r| r.id.as_str() == "N5").expect("N5").clone();
    let mut beside = singly.clone();
    beside.runs.push(coachwire::plan::Run { id: "N51".parse().expect("id"), ..n5 });
    near("beside", fault(&beside, "W5"), 13.3 / (lead / 4.0 + (0.9 + 0.15) * two + 0.1 * two), 0.01);
    // What is said of the fuses of single batteries is what stands at them.
    let r = evaluate(&singly);
    let note = found(&r, "battery-own-fuse")[0];
    near("note", Ok(note.n(2)), fault(&singly, "B1").expect("amps"), 1e-9);
}
