//! Two single conductors side by side between the same places, one of each pole: no loop, and the pair of them is what a pair would be.

use super::mistakes::{insert, sound};
use super::{evaluate, found, texts};
use coachwire::engine::Report;
use coachwire::plan::Plan;

/// A run of 3 m; `more`: its return and its fuses.
fn run(id: &str, from: &str, to: &str, more: &str) -> String {
    format!(
        r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "10 AWG", {more} legs: [(id: "L1", length_m: 3.0,
            insulation_c: 105.0, zone: "cabinet", laid: "open")])"#
    )
}

fn fused(amps: f64, family: &str) -> String {
    format!(r#"protection: [(id: "F1", at: "from", family: "{family}", amps_a: {amps:?}, distance_m: 0.1)],"#)
}

const SINGLE: &str = r#"return_path: "none","#;

/// A line from the vehicle's battery to a DC-DC charger whose output fuse is larger than what the line carries, as a pair or as two
/// single conductors, in either order.
fn line(runs: &[String]) -> Plan {
    let charger = r#"(id: "DC9", kind: "DC-DC", out_a: 18.0, efficiency_pct: 90.0, absorb_v: 14.4, alternator_low_v: 13.2,
        input_cutout_v: 11.0)"#;
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let p = insert(&p, "chargers", charger);
    let out = r#"(id: "D9", from: "DC9", to: "BUS", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0,
        zone: "cabinet", laid: "open")], protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 50.0, distance_m: 0.1)])"#;
    runs.iter().fold(insert(&p, "runs", out), |p, run| insert(&p, "runs", run))
}

fn of_fuses(r: &Report) -> Vec<String> {
    let about = |check: &str| {
        check.ends_with("-unfused") || check.starts_with("interrupt-") || check == "loop" || check == "return-not-drawn"
    };
    r.findings.iter().filter(|f| about(f.check.id)).map(|f| format!("{} {}", f.check.id, f.subject)).collect()
}

/// Fused at their battery only (ABYC E-11 11.10.1, rules of fuse places): a charger from one battery to another sends nothing back.
#[test]
fn a_line_to_a_dc_dc_charger_is_the_same_in_two_single_conductors() {
    let plus = |pole: &str| run("D1", "SB", "DC9", &format!("{pole} {}", fused(30.0, "ISO 8820-6")));
    let pair = evaluate(&line(&[plus("")]));
    assert_eq!(of_fuses(&pair), Vec::<String>::new(), "{}", texts(&pair));
    let minus = run("D2", "SB", "DC9", SINGLE);
    for runs in [[plus(SINGLE), minus.clone()], [minus, plus(SINGLE)]] {
        let r = evaluate(&line(&runs));
        assert_eq!(of_fuses(&r), Vec::<String>::new(), "{}", texts(&r));
        assert!(r.runs.iter().any(|f| f.id.as_str() == "D2" && f.is_minus), "{}", texts(&r));
    }
}

/// A panel's feed in two single conductors: what a fault behind it comes back by has both of them, as that of a pair.
/// Source: Ohm's law over both conductors.
#[test]
fn a_fault_behind_a_panel_fed_by_two_single_conductors_comes_back_by_one_of_them() {
    let feed = |pole: &str| run("W30", "BUS", "FP9", &format!("{pole} {}", fused(30.0, "UL 248-15 T")));
    let branch = run("W31", "FP9", "L9", &fused(10.0, "UL 248-15 T"));
    let coach = |runs: &[String]| {
        let p = insert(&sound(), "devices", r#"(id: "FP9", kind: "fuse panel")"#);
        let p = insert(&p, "loads", r#"(id: "L9", watts_w: 50.0, hours_day: 4.0)"#);
        runs.iter().fold(p, |p, run| insert(&p, "runs", run))
    };
    let fault_a = |r: &Report| {
        let run = r.runs.iter().find(|f| f.id.as_str() == "W31").expect("drawn");
        run.fuses[0].fault_a.clone().unwrap_or_else(|e| panic!("{e:?} {}", texts(r))).0
    };
    let pair = evaluate(&coach(&[feed(""), branch.clone()]));
    let twins = evaluate(&coach(&[feed(SINGLE), run("W30n", "BUS", "FP9", SINGLE), branch]));
    assert!((fault_a(&twins) / fault_a(&pair) - 1.0).abs() < 1e-6, "{} {}", fault_a(&twins), fault_a(&pair));
    assert_eq!(of_fuses(&twins), of_fuses(&pair), "{}", texts(&twins));
    assert!(found(&twins, "loop").is_empty());
}

/// What a 24 to 12 V converter gives to a fuse panel of pairs by two bare conductors: the one plus, the other its minus.
#[test]
fn a_converters_output_in_two_bare_conductors_is_one_of_each_pole() {
    use super::comes_back::{Drawn, NONE, fuse, wired};
    use super::mistakes::with;
    use coachwire::plan::Value;
    let (c1, main, ahead, branch) = (fuse(40.0).replace("\"from\"", "\"to\""), fuse(150.0), fuse(30.0), fuse(15.0));
    let main_over = format!(r#"negative_to: "SHN", {main}"#);
    let mut runs: Vec<Drawn<'_>> = vec![
        ("W2", "C1", "BUS", "4 AWG", 0.5, &c1),
        ("W3", "BK", "SW", "4/0 AWG", 0.6, &main_over),
        ("W4", "SW", "BUS", "4/0 AWG", 0.3, r#"negative_from: "SHN""#),
        ("W5", "BUS", "INV", "4/0 AWG", 1.0, &main),
        ("W6", "BUS", "CV", "8 AWG", 1.0, &ahead),
        ("W7", "CV", "FP", "8 AWG", 0.5, NONE),
        ("W7n", "CV", "FP", "8 AWG", 0.5, NONE),
        ("W8", "FP", "L1", "10 AWG", 3.0, &branch),
        ("W9", "FP", "L2", "10 AWG", 4.0, &branch),
    ];
    let coach = |runs: &[Drawn<'_>]| {
        let cv = r#"(id: "CV", kind: "12 V converter", efficiency_pct: 92.0, ratings: (amps_a: 20.0))"#;
        let p = insert(&wired(runs), "devices", cv);
        with(&p, &[("bank.unit_v", Value::Number(25.6)), ("controllers.C1.absorb_v", Value::Number(28.4))])
    };
    for _ in 0..2 {
        let r = evaluate(&coach(&runs));
        assert!(found(&r, "return-not-drawn").is_empty() && found(&r, "loop").is_empty(), "{}", texts(&r));
        let minus: Vec<&str> = r.runs.iter().filter(|f| f.is_minus).map(|f| f.id.as_str()).collect();
        assert_eq!(minus, ["W7n", "B1"], "{}", texts(&r));
        runs.swap(5, 6);
    }
    // Without the second one there is no minus.
    runs.retain(|run| run.0 != "W7n");
    assert_eq!(found(&evaluate(&coach(&runs)), "return-not-drawn").len(), 1);
}
