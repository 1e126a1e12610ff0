//! Lines from the vehicle's battery that more hangs on than a DC-DC charger, and batteries of unlike volts.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Report;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn run(id: &str, from: &str, to: &str, more: &str) -> String {
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "6 AWG", measured_ohm: 0.01, legs: [(id: "L1", length_m: 3.0,
            insulation_c: 105.0, zone: "cabinet", laid: "open")], protection: [{more}])"#
    )
}

fn fuse(amps: f64) -> String {
    format!(r#"(id: "F1", at: "from", family: "UL 248-15 T", amps_a: {amps:?}, distance_m: 0.1)"#)
}

/// A start battery's line over a bar to a DC-DC charger of 30 A at 14.4 V, 88 %, and to a load of so many watts.
fn line(load_w: f64, amps: f64) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(&p, "devices", r#"(id: "IB", kind: "bus")"#);
    let charger = r#"(id: "DC9", kind: "DC-DC", out_a: 30.0, efficiency_pct: 88.0, absorb_v: 14.4, alternator_low_v: 13.2,
        input_cutout_v: 11.0)"#;
    let p = insert(&p, "chargers", charger);
    let p = insert(&p, "loads", &format!(r#"(id: "L9", watts_w: {load_w:?}, hours_day: 1.0)"#));
    let p = insert(&p, "runs", &run("D1", "SB", "IB", &fuse(amps)));
    let p = insert(&p, "runs", &run("D2", "IB", "DC9", ""));
    insert(&p, "runs", &run("D3", "IB", "L9", &fuse(20.0)))
}

fn design_a(r: &Report, id: &str) -> f64 {
    let run = r.runs.iter().find(|x| x.id.as_str() == id).expect("run");
    run.design_a.clone().unwrap_or_else(|e| panic!("{id} waits for {e:?}\n{}", texts(r))).0
}

/// V^2 - V E + P R = 0 with E = 13.2 V less what the load loses on the shared 10 mohm, P = 30 x 14.4 / 0.88, R = 20 mohm; the
/// load at 11.0 V, the low volts of lead for each 12 V (rules of design currents).
#[test]
fn a_load_on_the_chargers_line_counts_in_its_current_and_drop() {
    for load_w in [120.0, 240.0, 600.0] {
        let r = evaluate(&line(load_w, 60.0));
        let load_a = load_w / 11.0;
        let (e, p, ohm) = (13.2 - 0.01 * load_a, 30.0 * 14.4 / 0.88, 0.02);
        let volts = f64::midpoint(e, (e * e - 4.0 * p * ohm).sqrt());
        near("charger alone", Ok(design_a(&r, "D2")), p / volts, 0.001);
        near("both", Ok(design_a(&r, "D1")), p / volts + load_a, 0.001);
        near("load", Ok(design_a(&r, "D3")), load_a, 0.001);
    }
    // 38.6 + 10.9 A times 1.25 is 62 A: a fuse of 60 A is too small, which it is not for the charger alone.
    assert!(
        says(&evaluate(&line(120.0, 60.0)), "fuse-below-design", "runs.D1"),
        "{}",
        texts(&evaluate(&line(120.0, 60.0)))
    );
    assert!(!says(&evaluate(&line(0.0, 60.0)), "fuse-below-design", "runs.D1"));
    assert!(!says(&evaluate(&line(120.0, 70.0)), "fuse-below-design", "runs.D1"));
}

/// The start battery tied to the bank by a relay.
fn tied(bank_v: f64, more: &[(&str, Value)]) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator")"#);
    let p = insert(&p, "runs", &run("D1", "SB", "ISO", &fuse(60.0)));
    let back = r#"(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)"#;
    let p = insert(&p, "runs", &run("D2", "ISO", "BUS", back));
    let p = with(
        &p,
        &[
            ("bank.unit_v", n(bank_v)),
            ("bank.chemistry", word("LFP")),
            ("controllers.C1.absorb_v", n(14.2 * bank_v / 12.8)),
        ],
    );
    more.iter().fold(p, |p, edit| with(&p, std::slice::from_ref(edit)))
}

/// Batteries of unlike volts in parallel are a stop, of whatever bank; of 24 V both may be of the same volts, and that is asked.
#[test]
fn a_start_battery_of_other_volts_is_not_tied_to_the_bank() {
    let check = "batteries-unlike-volts";
    assert!(found(&evaluate(&tied(12.8, &[])), check).is_empty());
    let r = evaluate(&tied(51.2, &[]));
    assert!(says(&r, check, "devices.SB"), "{}", texts(&r));
    let r = evaluate(&tied(25.6, &[]));
    assert!(found(&r, check).is_empty() && r.not_checked.iter().any(|c| c.check == check), "{:?}", r.not_checked);
    let label = |v: f64| [("devices.SB.ratings.volts_dc_v", n(v))];
    assert!(says(&evaluate(&tied(25.6, &label(12.0))), check, "devices.SB"));
    let r = evaluate(&tied(25.6, &label(24.0)));
    assert!(found(&r, check).is_empty() && !r.not_checked.iter().any(|c| c.check == check), "{}", texts(&r));
    // What its label says is no rating that its circuit could be over.
    assert!(!says(&r, "device-volts-low", "devices.SB"));
    let step = &super::cures::cures(&tied(25.6, &label(12.0)), check, "devices.SB")[0];
    assert!(step.name.contains("DC-DC"), "{}", step.name);
}

/// Loads on a vehicle's battery have its volts, not the bank's: 60 W at 11.0 V beside a bank of 51.2 V.
#[test]
fn loads_on_the_start_battery_are_reckoned_at_its_volts() {
    let mut p = with(&line(60.0, 60.0), &[("bank.unit_v", n(51.2))]);
    p.chargers.retain(|c| c.id.as_str() != "DC9");
    p.runs.retain(|r| r.id.as_str() != "D2");
    near("load", Ok(design_a(&evaluate(&p), "D3")), 60.0 / 11.0, 0.001);
}

/// An inverter on the start battery: 600 W at 11.0 V and 90 % are 60.6 A, whatever the house bank is; and a charger that takes its
/// AC from it feeds nothing back into the bank that it came from.
#[test]
fn an_inverter_on_the_start_battery_has_its_volts() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let mut p = insert(&p, "inverters", r#"(id: "INV2", watts_w: 600.0, efficiency_pct: 90.0)"#);
    p = insert(&p, "runs", &run("WI", "SB", "INV2", &fuse(80.0)));
    near("inverter", Ok(design_a(&evaluate(&p), "WI")), 600.0 / (11.0 * 0.9), 0.001);
    let charger =
        r#"(id: "CV", kind: "converter", out_a: 30.0, efficiency_pct: 85.0, absorb_v: 14.2, ac_source: "inverter")"#;
    let charged = insert(&insert(&p, "chargers", charger), "runs", &run("WC", "CV", "BUS", ""));
    assert!(says(&evaluate(&charged), "inverter-feeds-charger", "chargers.CV"), "one on the bank is left");
    let mut alone = charged.clone();
    alone.inverters.retain(|i| i.id.as_str() != "INV");
    alone.runs.retain(|r| r.id.as_str() != "W5");
    assert!(found(&evaluate(&alone), "inverter-feeds-charger").is_empty(), "{}", texts(&evaluate(&alone)));
}

/// What an alternator sends over an isolator flows on to the bank: with 80 A entered of the link the main carries them with all that
/// charges else; with nothing entered nobody knows how much may flow there.
#[test]
fn what_comes_over_a_link_counts_toward_the_bank() {
    let p = with(&tied(12.8, &[]), &[("inverters.INV.watts_w", n(200.0))]);
    let main = |p: &Plan| {
        let r = evaluate(p);
        r.runs.iter().find(|x| x.id.as_str() == "W3").expect("W3").design_a.clone().map(|a| a.0)
    };
    assert!(main(&p).is_err());
    let entered =
        [("runs.D2.design_override_a", n(80.0)), ("runs.D2.override_reason", Value::Text("its sheet".into()))];
    let (with_link, without) = (main(&with(&p, &entered)).expect("known"), {
        let mut p = p.clone();
        p.runs.retain(|r| !["D1", "D2"].contains(&r.id.as_str()));
        let r = evaluate(&p);
        r.runs.iter().find(|x| x.id.as_str() == "W2").expect("W2").design_a.clone().expect("known").0
    });
    // The controller's own most beside it.
    near("both", Ok(with_link), 80.0 + without, 0.001);
}
