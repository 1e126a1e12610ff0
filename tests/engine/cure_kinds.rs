//! Every kind of finding that the program has steps for: some test makes it, applies them and sees it go without a new stop.

use std::fs;
use std::path::Path;

use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{Edits, insert, sound, with, word};
use super::{evaluate, found, texts};
use coachwire::plan::{Edit, FieldPath, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn without(p: &Plan, run: &str) -> Plan {
    let edit = Edit::Remove { at: FieldPath::new(format!("runs.{run}")) };
    p.with(&Step::one("out", edit)).expect("there")
}

/// The first finding of a check is mended by what is offered first; whatever is offered against anything adds no stop.
#[track_caller]
pub(super) fn mended(what: &str, p: &Plan) {
    let r = evaluate(p);
    let all = found(&r, what);
    let first = all.first().unwrap_or_else(|| panic!("no {what}:\n{}", texts(&r)));
    is_curable(p, what, first.subject.as_str());
    apply_all(p);
}

/// The sound plan spoilt in one place, for what no other test mends by name.
#[test]
fn each_mistake_of_one_field_is_mended() {
    let spoilt: [(&str, Edits<'_>); 11] = [
        ("ambient-over-insulation", &[("runs.W6.legs.L1.ambient_c", n(95.0))]),
        ("charge-over-limit", &[("bank.max_charge_a", n(15.0))]),
        ("charge-volts-high", &[("controllers.C1.absorb_v", n(15.0))]),
        ("charge-volts-outside-window", &[("controllers.C1.absorb_v", n(13.5))]),
        ("fuse-below-design", &[("runs.W5.protection.F1.amps_a", n(80.0))]),
        ("next-rating-up", &[("runs.W6.protection.F1.amps_a", n(100.0))]),
        ("isc-over-input", &[("controllers.C1.max_pv_a", n(15.0))]),
        ("parallel-too-thin", &[("runs.W1.legs.L1.per_pole", n(2.0))]),
        ("start-volts-low", &[("controllers.C1.start_headroom_v", n(35.0))]),
        ("pwm-panel-volts-high", &[("controllers.C1.kind", word("PWM"))]),
        ("flooded-unvented", &[("bank.chemistry", word("flooded")), ("bank.vented", word("no"))]),
    ];
    for (check, edits) in spoilt {
        mended(check, &with(&sound(), edits));
        assert!(found(&evaluate(&sound()), check).is_empty(), "{check}: the right twin");
    }
}

#[test]
fn what_is_not_drawn_is_drawn() {
    mended("bank-without-run", &without(&sound(), "W3"));
    mended("panel-without-run", &insert(&sound(), "devices", r#"(id: "FP2", kind: "fuse panel")"#));
    mended("controller-without-run", &without(&sound(), "W2"));
    mended("array-without-run", &without(&sound(), "W1"));
    mended("inverter-unconnected", &without(&sound(), "W5"));
    for check in
        ["bank-without-run", "panel-without-run", "controller-without-run", "array-without-run", "inverter-unconnected"]
    {
        assert!(found(&evaluate(&sound()), check).is_empty(), "{check}: the right twin");
    }
}

#[test]
fn what_wants_more_than_one_field_to_be_wrong_is_mended() {
    let stray =
        r#"(id: "W20", from: "CHX", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)])"#;
    mended("load-without-supply", &insert(&sound(), "runs", stray));
    let three = [
        ("arrays.A1.strings", Value::Text("1S3P P1".into())),
        ("runs.W1.gauge", Value::Gauge("6 AWG".parse().expect("gauge"))),
    ];
    let fuse = |amps: f64| {
        format!(
            r#"(id: "F2", at: "from", family: "IEC 60269-6 gPV", amps_a: {amps:.1}, volts_dc_v: 1000.0, distance_m: 0.1)"#
        )
    };
    let strings = |amps: f64| insert(&with(&sound(), &three), "runs.W1.protection", &fuse(amps));
    mended("string-fuse-rating", &strings(15.0));
    assert!(found(&evaluate(&strings(20.0)), "string-fuse-rating").is_empty());
    // 300 W on 12 V are 25 A from a converter of 20 A.
    let loaded = |watts: f64| with(&super::misdrawn::on_24(), &[("loads.L1.watts_w", n(watts))]);
    mended("converter-over-limit", &loaded(300.0));
    assert!(found(&evaluate(&loaded(200.0)), "converter-over-limit").is_empty());
    // Montana's plains in an unheated box.
    let text = coachwire::plan::samples::sample("bramble").expect("sample").text;
    let p = Plan::from_text(text).unwrap_or_else(|e| panic!("{e}"));
    let cold = with(&p, &[("stays.ST1.latitude_deg", n(47.0)), ("stays.ST1.longitude_deg", n(-100.0))]);
    mended("charge-lost-to-cold", &cold);
    let heated = with(&cold, &[("bank.heater_w", n(60.0))]);
    assert!(found(&evaluate(&heated), "charge-lost-to-cold").is_empty());
}

/// Batteries in series beyond what their maker allows; and strings too short for such a bank, which longer ones mend where the
/// controller takes their volts. By hand: 20.8 V of one panel lie under 25.6 V x 14.6 / 12.8 = 29.2 V, two of 41.6 V do not.
#[test]
fn too_few_volts_and_too_many_batteries_are_mended() {
    let of = |series: f64| with(&sound(), &[("bank.series", n(series)), ("bank.max_series", n(1.0))]);
    mended("series-over-limit", &of(2.0));
    let steps = cures(&of(2.0), "series-over-limit", "bank");
    let deed = steps[0].name.split("; costs: ").next();
    assert_eq!(deed, Some("batteries: 1 in series, as their maker allows"), "{}", steps[0].name);
    assert!(found(&evaluate(&of(1.0)), "series-over-limit").is_empty());

    // The controller is set for half the bank's volts, so that its own check finds nothing amiss.
    let short =
        |strings: &str| with(&sound(), &[("bank.unit_v", n(25.6)), ("arrays.A1.strings", Value::Text(strings.into()))]);
    let r = evaluate(&short("1S1P P1"));
    let f = found(&r, "array-below-bank");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    assert!(
        f[0].text().contains("more panels in series, panels of more volts or a bank of fewer volts"),
        "{}",
        f[0].text()
    );
    assert!(found(&evaluate(&short("2S1P P1")), "array-below-bank").is_empty());
    let steps = cures(&short("1S1P P1"), "array-below-bank", "controllers.C1");
    assert!(steps.iter().any(|s| s.name == "A1: 2S1P P1, 1 more panel where the roof has room"), "{steps:?}");
    mended("array-below-bank", &short("1S1P P1"));
}

/// Every id that the steps are written for stands in a test that applies them.
#[test]
fn no_kind_of_cure_is_left_untried() {
    let read = |dir: &str| -> Vec<String> {
        let mut texts = Vec::new();
        let mut next = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join(dir)];
        while let Some(dir) = next.pop() {
            for entry in fs::read_dir(dir).expect("a folder").flatten() {
                if entry.path().is_dir() {
                    next.push(entry.path());
                } else {
                    texts.push(fs::read_to_string(entry.path()).expect("text"));
                }
            }
        }
        texts
    };
    // What findings are called, and which of them the steps name.
    let said = |text: &str| -> Vec<String> {
        let ids = text.split("id: \"").skip(1).filter_map(|rest| rest.split('"').next());
        ids.filter(|id| id.contains('-')).map(ToString::to_string).collect()
    };
    let checks: Vec<String> = read("src/engine").iter().flat_map(|t| said(t)).collect();
    let steps = read("src/engine/cures").concat()
        + &fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/engine/cures.rs")).expect("text");
    let tests = read("tests/engine");
    let bodies: Vec<&str> = tests.iter().flat_map(|t| t.split("#[test]")).collect();
    let applies = ["caught(", "one_edit(", "is_curable(", "cures(", "apply_all(", "mended("];
    let tried = |quoted: &str| bodies.iter().any(|b| b.contains(quoted) && applies.iter().any(|a| b.contains(a)));
    let quoted = |id: &String| format!("\"{id}\"");
    let curable: Vec<&String> = checks.iter().filter(|id| steps.contains(&quoted(id))).collect();
    assert!(curable.len() > 90, "{}", curable.len());
    let untried: Vec<&&String> = curable.iter().filter(|id| !tried(&quoted(id))).collect();
    assert!(untried.is_empty(), "{untried:?}");
}
