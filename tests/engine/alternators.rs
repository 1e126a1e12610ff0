//! What charges from the engine: the alternator found by the circuit, the old charge line of a tow car, chargers that no
//! run joins to the bank.

use super::mistakes::{caught, insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn run(plan: &Plan, name: &str, from: &str, to: &str, fuse: &str) -> Plan {
    let text = format!(
        r#"(id: "{name}", from: "{from}", to: "{to}", gauge: "2 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0,
            state: "existing")], protection: [{fuse}])"#
    );
    insert(plan, "runs", &text)
}

fn fuse(at: &str, amps: f64) -> String {
    format!(r#"(id: "F{at}", at: "{at}", family: "UL 248-15 T", amps_a: {amps}, distance_m: 0.1)"#)
}

fn engine(amps: f64) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let alternator = format!(r#"(id: "ALT", kind: "alternator", state: "existing", ratings: (amps_a: {amps}))"#);
    let p = insert(&p, "devices", &alternator);
    run(&p, "W20", "ALT", "SB", "")
}

/// 30 A at 14.2 V and 90 % behind a short line: about 36 A at 13.2 V.
pub(super) fn dc_dc(amps: f64) -> Plan {
    let p = insert(
        &engine(amps),
        "chargers",
        r#"(id: "CH", kind: "DC-DC", out_a: 30.0, efficiency_pct: 90.0, absorb_v: 14.2, input_cutout_v: 11.0)"#,
    );
    let p = run(&p, "W21", "SB", "CH", &fuse("from", 60.0));
    run(&p, "W22", "CH", "BUS", &fuse("to", 60.0))
}

#[test]
fn the_alternator_is_found_by_the_circuit() {
    let named = |p: &Plan| with(p, &[("chargers.CH.alternator", id("ALT"))]);
    for (wrong, right) in [(dc_dc(60.0), dc_dc(120.0)), (named(&dc_dc(60.0)), named(&dc_dc(120.0)))] {
        let r = caught("overdrawn", &wrong, &right, Level::Caution, "alternator-overdrawn", "chargers.CH");
        // 30 x 14.2 / 0.9 = 473 W at a little under 13.2 V: 36 A, 60 % of 60 A.
        near("draws", Ok(found(&r, "alternator-overdrawn")[0].n(1)), 473.3 / 13.2, 0.02);
        assert!(found(&r, "alternator-not-found").is_empty());
    }
    // The only alternator of the plan, where its own lead is not drawn.
    let bare = dc_dc(60.0).with(&Step::one("out", Edit::Remove { at: FieldPath::new("runs.W20") })).expect("there");
    assert!(says(&evaluate(&bare), "alternator-overdrawn", "chargers.CH"));
    // No rating: it waits, and is no pass.
    let unrated = with(&dc_dc(60.0), &[("devices.ALT.ratings.amps_a", Value::Unknown)]);
    assert!(evaluate(&unrated).unknown.contains(&FieldPath::new("devices.ALT.ratings.amps_a")));
}

#[test]
fn a_name_that_is_no_alternator_is_said() {
    let said = |p: &Plan| -> Vec<String> {
        let r = evaluate(p);
        assert!(says(&r, "alternator-overdrawn", "chargers.CH"), "{}", texts(&r));
        assert!(found(&r, "no-such-name").is_empty(), "said once\n{}", texts(&r));
        found(&r, "alternator-not-found").iter().map(|f| format!("{} {}", f.subject, f.text())).collect()
    };
    let of = |name: &str| with(&dc_dc(60.0), &[("chargers.CH.alternator", id(name))]);
    let at = "chargers.CH.alternator CH alternator:";
    assert_eq!(said(&of("ALT")), Vec::<String>::new());
    assert_eq!(said(&of("ALTX")), [format!("{at} ALTX is not in the plan; the one on its line is ALT")]);
    assert_eq!(said(&of("BUS")), [format!("{at} BUS is no alternator; the one on its line is ALT")]);
    let gone = with(
        &insert(&of("OLD"), "devices", r#"(id: "OLD", kind: "alternator")"#),
        &[("devices.OLD.state", word("removed"))],
    );
    assert_eq!(said(&gone), [format!("{at} OLD is removed or dead; the one on its line is ALT")]);
}

fn tow(breaker: &str, state: &str) -> Plan {
    let mut p = insert(&engine(130.0), "devices", r#"(id: "TOW", kind: "tow connector", state: "existing")"#);
    p = run(&p, "W21", "SB", "TOW", &fuse("from", 40.0));
    if breaker == "device" {
        let item = format!(
            r#"(id: "BR", kind: "resetting breaker", state: "{state}", ratings: (amps_a: 40.0, volts_dc_v: 32.0))"#
        );
        p = insert(&p, "devices", &item);
        p = run(&p, "W22", "TOW", "BR", "");
        run(&p, "W23", "BR", "BUS", "")
    } else {
        run(&p, "W22", "TOW", "BUS", breaker)
    }
}

fn checks(r: &Report, id: &str) -> Vec<String> {
    found(r, id).iter().map(|f| format!("{} {}", f.level, f.subject)).collect()
}

/// The tow car's charge line straight onto lithium, its breaker drawn either way.
#[test]
fn a_charge_line_straight_onto_lithium_is_said() {
    let own = r#"(id: "F1", at: "to", family: "DC breaker", amps_a: 40.0, distance_m: 0.1, resets: "automatic",
        volts_dc_v: 32.0, interrupt_a: 20000.0)"#;
    let (device, on_run) = (evaluate(&tow("device", "existing")), evaluate(&tow(own, "")));
    assert_eq!(checks(&device, "auto-reset-breaker"), ["caution devices.BR"], "{}", texts(&device));
    assert_eq!(checks(&on_run, "auto-reset-breaker"), ["caution runs.W22"], "{}", texts(&on_run));
    for (r, way) in [(&device, "W21, W22, W23, W4, W3"), (&on_run, "W21, W22, W4, W3")] {
        assert_eq!(checks(r, "alternator-on-lithium"), ["caution devices.SB"], "{}", texts(r));
        let text = found(r, "alternator-on-lithium")[0].text();
        assert!(text.starts_with(&format!("SB charges the lithium bank by {way} with no DC-DC charger")), "{text}");
    }
    // A DC-DC charger between, lead batteries, or nothing joined: silent.
    let lead = with(&tow("device", "existing"), &[("bank.chemistry", word("AGM"))]);
    for right in [dc_dc(130.0), lead, engine(130.0), sound()] {
        let r = evaluate(&right);
        assert_eq!(checks(&r, "alternator-on-lithium"), Vec::<String>::new(), "{}", texts(&r));
        assert_eq!(checks(&r, "auto-reset-breaker"), Vec::<String>::new(), "{}", texts(&r));
    }
}

/// Three packs of 50 A take 150 A; the controller brings 52 A and a shore charger 110 A.
#[test]
fn a_charger_that_no_run_joins_charges_nothing() {
    let shore = r#"(id: "SH", kind: "shore", out_a: 110.0, efficiency_pct: 88.0, absorb_v: 14.2)"#;
    let loose = insert(&sound(), "chargers", shore);
    let joined = run(&loose, "W21", "SH", "BUS", &fuse("to", 150.0));
    let r = evaluate(&joined);
    near("together", Ok(found(&r, "charge-over-limit")[0].n(0)), 162.0, 0.001);
    let r = evaluate(&loose);
    assert!(
        found(&r, "charge-over-limit").is_empty() && says(&r, "charger-without-run", "chargers.SH"),
        "{}",
        texts(&r)
    );
}

/// Two chargers on one alternator draw together: 36 A each are 60 % of 120 A, though one alone is 30 %.
#[test]
fn chargers_on_one_alternator_draw_together() {
    let two = |amps: f64| {
        let p = insert(
            &dc_dc(amps),
            "chargers",
            r#"(id: "CK", kind: "DC-DC", out_a: 30.0, efficiency_pct: 90.0, absorb_v: 14.2, input_cutout_v: 11.0)"#,
        );
        let p = run(&p, "W31", "SB", "CK", &fuse("from", 60.0));
        run(&p, "W32", "CK", "BUS", &fuse("to", 60.0))
    };
    let r = caught("together", &two(120.0), &two(240.0), Level::Caution, "alternator-overdrawn", "chargers.CH");
    let all = found(&r, "alternator-overdrawn");
    assert_eq!(all.len(), 1, "{}", texts(&r));
    near("draw", Ok(all[0].n(1)), 2.0 * 473.3 / 13.2, 0.02);
    assert!(all[0].text().starts_with("CH and CK together draw 7"), "{}", all[0].text());
}

/// What an alternator brings at its rating is what its charger gets in any hour that it runs in, whether it would draw more or drop out
/// first with a full bank: in hours of a lower one it runs. By hand, 30 A at 14.2 V and 90 % are 473 W; of 13.2 V behind R it drops out under 11.0 V,
/// from 51 mohm on, at (13.2 - 11.0) / R = 40 A of 55 mohm. At a rating below that it gets rating x (13.2 - rating x R), at one above
/// all that the line brings; thicker wire never brings it less.
#[test]
fn no_charger_gets_more_than_its_alternator_is_rated_for() {
    let fed = |rated: f64, ohm: f64| {
        let p = with(
            &dc_dc(rated),
            &[("runs.W21.measured_ohm", Value::Number(ohm)), ("stays.ST1.drive_h_day", Value::Number(1.0))],
        );
        let input = coachwire::engine::Engine::default().year_input(&p, &coachwire::stock::Stock::default());
        let feeder = input.expect("a year").circuit.feeders[0].clone();
        (feeder.out_a, feeder.line.expect("a line").ohm)
    };
    for (rated, ohm) in [(20.0, 0.01), (30.0, 0.01), (30.0, 0.055), (38.0, 0.055)] {
        let (out_a, line_ohm) = fed(rated, ohm);
        assert!(line_ohm > ohm, "its own run's lies on it too: {line_ohm}");
        near("watts", Ok(out_a * 14.2 / 0.9), rated * (13.2 - rated * line_ohm), 1e-9);
    }
    assert_eq!((fed(45.0, 0.055).0, fed(45.0, 0.01).0), (30.0, 30.0));
    let mut before = 0.0;
    for step in (1..40).rev() {
        let out_a = fed(25.0, 0.0025 * f64::from(step)).0;
        // A line that brings less than the rating leaves it all of its own current, and drops out.
        if out_a < 30.0 {
            assert!(out_a >= before, "{step}: {out_a} A after {before} A");
            before = out_a;
        }
    }
    assert!(before > 15.0, "{before}");
}

/// A larger alternator never brings less: 30 A at 14.2 V and 90 % are 473 W, which a line of 0.052 ohm does not carry at the end of a
/// charge (456 W above 11.0 V, with its lead) and does before.
#[test]
fn a_larger_alternator_never_brings_less() {
    let brings = |rated: f64, ohm: f64| {
        let p = with(
            &dc_dc(rated),
            &[
                ("runs.W21.measured_ohm", Value::Number(ohm)),
                ("stays.ST1.drive_h_day", Value::Number(2.0)),
                ("loads.L1.watts_w", Value::Number(200.0)),
            ],
        );
        let year = evaluate(&p).year;
        year.months.iter().map(|m| m.other_wh_day.clone().expect("a year").0).sum::<f64>()
    };
    let ratings = [5.0, 12.0, 20.0, 30.0, 36.0, 40.0, 60.0, 200.0];
    let all: Vec<f64> = ratings.iter().map(|rated| brings(*rated, 0.052)).collect();
    // By whole hours a day's last one may be another.
    assert!(all.windows(2).all(|pair| pair[1] >= pair[0] * 0.999) && all[0] > 0.0, "{all:?}");
}
