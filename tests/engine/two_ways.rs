//! Circuits with more than one source or way: links between batteries, life safety fed twice, negatives in parts.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, Level, isolation};
use coachwire::plan::{Plan, Value};
use coachwire::stock::Stock;

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn with_all(p: &Plan, items: &[(&str, &str)]) -> Plan {
    items.iter().fold(p.clone(), |p, (list, item)| insert(&p, list, item))
}

/// A start battery joined to the bank by an isolator, the line fused at both batteries.
fn joined() -> Plan {
    with_all(
        &sound(),
        &[
            ("devices", r#"(id: "SB", kind: "start battery")"#),
            ("devices", r#"(id: "ISO", kind: "isolator")"#),
            (
                "runs",
                r#"(id: "W10", from: "SB", to: "ISO", gauge: "2 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.1)])"#,
            ),
            (
                "runs",
                r#"(id: "W11", from: "ISO", to: "BK", gauge: "2 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.1)])"#,
            ),
        ],
    )
}

/// Common practice: a run between two batteries is fused at each battery, and nowhere else.
#[test]
fn a_line_between_two_batteries_is_fused_at_each() {
    let right = evaluate(&joined());
    for check in ["fuse-far-from-source", "source-end-unfused"] {
        assert!(found(&right, check).is_empty(), "{}", texts(&right));
    }
    for run in ["W10", "W11"] {
        let bare = with(&joined(), &[(&format!("runs.{run}.protection.F1.state"), word("removed"))]);
        let r = evaluate(&bare);
        assert!(says(&r, "source-end-unfused", &format!("runs.{run}")), "{run}\n{}", texts(&r));
    }
    // The same line the other way round, and by one run with a fuse at each end.
    let turned = with(
        &joined(),
        &[("runs.W10.from", id("ISO")), ("runs.W10.to", id("SB")), ("runs.W10.protection.F1.at", word("to"))],
    );
    assert!(found(&evaluate(&turned), "fuse-far-from-source").is_empty(), "{}", texts(&evaluate(&turned)));
    let swapped = with(&joined(), &[("runs.W10.protection.F1.at", word("to"))]);
    assert!(says(&evaluate(&swapped), "fuse-far-from-source", "runs.W10"));
}

/// The line of a DC-DC charger: one fuse at each battery, none at the charger, whose output its wire stands.
#[test]
fn a_dc_dc_line_is_fused_at_each_battery() {
    let line = with_all(
        &sound(),
        &[
            ("devices", r#"(id: "SB", kind: "start battery")"#),
            ("devices", r#"(id: "ISW", kind: "switch")"#),
            (
                "chargers",
                r#"(id: "DC", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2, input_cutout_v: 10.5)"#,
            ),
            (
                "runs",
                r#"(id: "W10", from: "SB", to: "ISW", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#,
            ),
            (
                "runs",
                r#"(id: "W11", from: "ISW", to: "DC", gauge: "6 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0)])"#,
            ),
            (
                "runs",
                r#"(id: "W12", from: "DC", to: "BK", gauge: "6 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
                protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.1)])"#,
            ),
        ],
    );
    let r = evaluate(&line);
    for check in ["fuse-far-from-source", "source-end-unfused", "charger-end-unfused"] {
        assert!(found(&r, check).is_empty(), "{}", texts(&r));
    }
    let bare = evaluate(&with(&line, &[("runs.W12.protection.F1.state", word("removed"))]));
    assert!(says(&bare, "source-end-unfused", "runs.W12"), "{}", texts(&bare));
}

/// A detector on the switched panel and on an unswitched one as well.
fn twice_fed() -> Plan {
    with_all(
        &sound(),
        &[
            ("loads", r#"(id: "L9", name: "gas detector", watts_w: 1.4, hours_day: 24.0, life_safety: "yes")"#),
            (
                "runs",
                r#"(id: "W8", from: "FP", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.05)])"#,
            ),
            (
                "runs",
                r#"(id: "W9", from: "BK", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.5, insulation_c: 90.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.05)])"#,
            ),
        ],
    )
}

/// Only a switch that takes every battery from it is wrong.
#[test]
fn life_safety_fed_two_ways_survives_one_switch() {
    let right = evaluate(&twice_fed());
    assert!(found(&right, "life-safety-behind-switch").is_empty(), "{}", texts(&right));
    let once = with(&twice_fed(), &[("runs.W9.legs.L1.state", word("removed"))]);
    let r = evaluate(&once);
    assert_eq!(found(&r, "life-safety-behind-switch")[0].level, Level::Stop, "{}", texts(&r));
    // Both ways behind the same switch.
    let both = with(&twice_fed(), &[("runs.W9.from", id("BUS"))]);
    assert!(says(&evaluate(&both), "life-safety-behind-switch", "loads.L9"));
    // Shore power behind the switch is no supply that stays.
    let shore = insert(
        &once,
        "chargers",
        r#"(id: "CV", kind: "converter", out_a: 45.0, efficiency_pct: 85.0, absorb_v: 14.2, ac_source: "shore")"#,
    );
    let shore = insert(
        &shore,
        "runs",
        r#"(id: "W10", from: "CV", to: "BUS", gauge: "4 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#,
    );
    assert!(says(&evaluate(&shore), "life-safety-behind-switch", "loads.L9"));
    // Fed by a load output as well as by the bank: the output may cut off what it likes.
    let output = with(&twice_fed(), &[("runs.W8.from", id("C1"))]);
    assert!(found(&evaluate(&output), "life-safety-behind-cut-off").is_empty());
    // A switch in one of its two negatives.
    let negative = with(&twice_fed(), &[("runs.W8.negative_from", id("SW"))]);
    assert!(found(&evaluate(&negative), "life-safety-negative-switched").is_empty());
}

/// 49 CFR 393.43(d): brakes that a start battery feeds too do not hang on the bank's cut-off.
#[test]
fn brakes_with_a_second_battery_hold() {
    let brakes = with(
        &twice_fed(),
        &[("loads.L9.name", Value::Text("breakaway brakes".into())), ("bank.discharge_cutoff_v", Value::Number(10.8))],
    );
    assert!(says(&evaluate(&brakes), "breakaway-on-cut-off", "loads.L9"));
    let two = insert(&brakes, "devices", r#"(id: "SB", kind: "start battery")"#);
    let two = with(&two, &[("runs.W9.from", id("SB"))]);
    assert!(found(&evaluate(&two), "breakaway-on-cut-off").is_empty(), "{}", texts(&evaluate(&two)));
    let unknown = evaluate(&with(&brakes, &[("bank.discharge_cutoff_v", Value::Unknown)]));
    assert!(found(&unknown, "breakaway-on-cut-off").is_empty());
}

fn negative_run(name: &str, from: &str, to: &str) -> String {
    format!(
        r#"(id: "{name}", from: "{from}", to: "{to}", gauge: "4/0 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#
    )
}

/// Bank, disconnect, shunt in the main negative, in this order: nothing passes the shunt by.
pub(super) fn switched_negative() -> Plan {
    with_all(
        &sound(),
        &[
            ("devices", r#"(id: "SHN", kind: "shunt")"#),
            ("devices", r#"(id: "NSW", kind: "switch")"#),
            ("runs", &negative_run("W10", "BK-", "NSW")),
            ("runs", &negative_run("W11", "NSW", "SHN")),
        ],
    )
}

#[test]
fn a_disconnect_before_the_shunt_is_no_bypass() {
    let right = evaluate(&switched_negative());
    assert!(found(&right, "shunt-bypass").is_empty(), "{}", texts(&right));
    // Two loads' worth of what does pass it by: on the bank's side of the shunt, and past it altogether.
    let early = with(&switched_negative(), &[("runs.W5.negative_to", id("NSW"))]);
    assert!(says(&evaluate(&early), "shunt-bypass", "runs.W5"), "{}", texts(&evaluate(&early)));
    let early_report = evaluate(&early);
    let bypass = found(&early_report, "shunt-bypass")[0];
    let cures = Engine::default().cures(&early, &Stock::default(), bypass);
    assert!(cures.iter().any(|s| s.name == "W5: negative to SHN"), "{cures:?}");
    let late = with(&switched_negative(), &[("runs.W5.negative_to", id("SHN"))]);
    assert!(found(&evaluate(&late), "shunt-bypass").is_empty(), "{}", texts(&evaluate(&late)));
    let astray = with(&switched_negative(), &[("runs.W11.to", id("CHS"))]);
    assert!(says(&evaluate(&astray), "shunt-bypass", "runs.W10"), "{}", texts(&evaluate(&astray)));
}

/// A switch in the main negative takes the bank from all that hangs on it, but from what returns to the post itself.
#[test]
fn a_switch_in_the_main_negative_isolates() {
    let plan = switched_negative();
    let all = isolation(&plan);
    let nsw = all.iter().find(|i| i.name == "NSW").expect("opens");
    assert!(
        nsw.dead.iter().any(|x| x.as_str() == "INV")
            || nsw.live.iter().any(|(x, why)| x.as_str() == "INV" && !why.contains("bank")),
        "{nsw:?}"
    );
    let detector = with_all(
        &plan,
        &[
            ("loads", r#"(id: "L9", name: "gas detector", watts_w: 1.4, hours_day: 24.0, life_safety: "yes")"#),
            (
                "runs",
                r#"(id: "W9", from: "BK", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.5, insulation_c: 90.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.05)])"#,
            ),
        ],
    );
    assert!(says(&evaluate(&detector), "life-safety-negative-switched", "loads.L9"), "{}", texts(&evaluate(&detector)));
    let post = with(&detector, &[("runs.W9.negative_to", id("BK-"))]);
    assert!(found(&evaluate(&post), "life-safety-negative-switched").is_empty());
}
