//! What is entered counts for what it is worth: a heater by its watts, a current beside what the circuit comes to, each
//! path by its own drop.

use super::mistakes::{Edits, caught, insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn text(s: &str) -> Value {
    Value::Text(s.into())
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

/// A heater that is too weak prevents no charge on cold lithium. Steady state by hand: cubes of 1.28 kWh at 100 kWh/m3
/// have a side of 0.234 m and lose 3 W/m2K x 6 x 0.234^2 = 0.985 W/K; three of them 2.96 W/K.
#[test]
fn a_heater_counts_by_what_it_holds() {
    let cold = |watts: f64| with(&sound(), &[("bank.charge_cutoff_c", Value::Nothing), ("bank.heater_w", n(watts))]);
    // From -12 C: 1 W lifts by 0.3 K, 30 W by 10.2 K, 60 W by 17 K at most to its thermostat.
    for (watts, held) in [(0.0, -12.0), (1.0, -11.66), (30.0, -1.85)] {
        let r = caught("heater", &cold(watts), &cold(60.0), Level::Stop, "lithium-charged-cold", "bank");
        let f = found(&r, "lithium-charged-cold")[0];
        near("held", Ok(f.n(0)), held, 0.01);
        near("lost", Ok(f.n(4)), 2.957, 0.005);
        assert!(f.text().contains(&format!("heater of {watts:.0} W")), "{}", f.text());
    }
    // Insulation of its box is not in what it loses, and the working says so where there is some.
    for (insulated, is_said) in [("yes", true), ("no", false)] {
        let plan = with(&cold(1.0), &[("bank.insulated", word(insulated))]);
        let r = evaluate(&plan);
        let f = found(&r, "lithium-charged-cold")[0].clone();
        near("lost all the same", Ok(f.n(4)), 2.957, 0.005);
        let steps = coachwire::engine::Engine::default().explain(&plan, &r, &f);
        assert_eq!(steps.iter().any(|s| s.contains("insulation of its box is not counted")), is_said, "{steps:?}");
    }
    // A heated space holds 12 C, unless the plan's own rule says less.
    let inside = with(&cold(0.0), &[("bank.heated", word("yes")), ("bank.heater_w", Value::Nothing)]);
    assert!(found(&evaluate(&inside), "lithium-charged-cold").is_empty());
    let rule = r#"(id: "interior-least-c", value: -5.0, reason: "left alone in winter")"#;
    let r = evaluate(&insert(&inside, "rules", rule));
    assert_eq!(
        found(&r, "lithium-charged-cold")[0].text(),
        "BK: air down to -5 C and nothing stops charging below 0 C"
    );
    // One whose watts nobody knows, and batteries of unknown size, are not checked.
    for unknown in ["bank.heater_w", "bank.unit_ah"] {
        let r = evaluate(&with(&cold(1.0), &[(unknown, Value::Unknown)]));
        let waits = |w: &coachwire::engine::report::NotChecked| {
            w.check == "lithium-charged-cold" && w.waits_for.as_str() == unknown
        };
        assert!(r.not_checked.iter().any(waits), "{:?}", r.not_checked);
    }
}

fn overridden(r: &Report) -> Vec<String> {
    let of = r.findings.iter().filter(|f| f.check.id.starts_with("current-overridden"));
    of.map(|f| format!("{} {}: {}", f.level, f.subject, f.text())).collect()
}

/// An entered current is said beside what the circuit comes to: 1000 W at 12.0 V and 88 % are 94.7 A.
#[test]
fn an_entered_current_is_said() {
    assert_eq!(overridden(&evaluate(&sound())), Vec::<String>::new());
    let bare = with(&sound(), &[("runs.W5.design_override_a", n(40.0)), ("runs.W5.drop_override_a", n(5.0))]);
    let r = evaluate(&bare);
    let less = |what: &str, amps: &str| {
        format!("W5 {what} amps: {amps} A entered, less than the 94.7 A that its circuit comes to")
    };
    let none = ", and no reason is given";
    assert_eq!(
        overridden(&r),
        [
            format!("caution runs.W5.design_override_a: {}{none}", less("design", "40.0")),
            format!("caution runs.W5.drop_override_a: {}{none}", less("drop", "5.0")),
        ]
    );
    let because = with(&bare, &[("runs.W5.override_reason", text("inverter limited to 420 W"))]);
    let said = overridden(&evaluate(&because));
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said.iter().all(|s| s.starts_with("note ") && s.ends_with(": inverter limited to 420 W")), "{said:?}");
    // Above it, and where the circuit comes to nothing.
    let more = with(&sound(), &[("runs.W5.design_override_a", n(120.0)), ("runs.W5.override_reason", text("spare"))]);
    assert_eq!(
        overridden(&evaluate(&more)),
        ["note runs.W5.design_override_a: W5 design amps: 120.0 A entered instead of the 94.7 A that its circuit \
             comes to: spare"]
    );
    let unknown = with(&more, &[("inverters.INV.watts_w", Value::Unknown)]);
    assert_eq!(
        overridden(&evaluate(&unknown)),
        ["note runs.W5.design_override_a: W5 design amps: 120.0 A entered: spare"]
    );
    // A link between two batteries gives no current of its own: one is asked for.
    let asked = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let asked = insert(
        &asked,
        "runs",
        r#"(id: "W20", from: "SB", to: "BUS", gauge: "2 AWG", design_override_a: 40.0, drop_override_a: 30.0)"#,
    );
    assert_eq!(overridden(&evaluate(&asked)), Vec::<String>::new());
    // What is removed rests on nothing.
    let dead = with(&more, &[("runs.W5.legs.L1.state", word("removed"))]);
    assert_eq!(overridden(&evaluate(&dead)), Vec::<String>::new());
}

/// A second and a third load beside the panel feed, far away on thin wire.
fn far_loads() -> Plan {
    let mut p = sound();
    for (id, metres, size) in [("L2", 12.0, "14 AWG"), ("L3", 14.0, "16 AWG")] {
        p = insert(&p, "loads", &format!(r#"(id: "{id}", watts_w: 96.0, hours_day: 1.0)"#));
        p = insert(
            &p,
            "runs",
            &format!(
                r#"(id: "W{id}", from: "FP", to: "{id}", gauge: "{size}", legs: [(id: "L1", length_m: {metres},
                    insulation_c: 105.0)], protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0,
                    distance_m: 0.05)])"#
            ),
        );
    }
    p
}

fn drops(p: &Plan) -> Vec<(String, String)> {
    let r = evaluate(p);
    let of = found(&r, "drop-over-target");
    of.iter().map(|f| (f.name(0).to_string(), f.subject.to_string())).collect()
}

/// Every path over its target is said, each by its own end, also where all lose most on one and the same run.
#[test]
fn every_path_over_its_target_is_said() {
    let feed = |size: &str, metres: f64| {
        let edits: Edits<'_> = &[("runs.W6.gauge", gauge(size)), ("runs.W6.legs.L1.length_m", n(metres))];
        with(&far_loads(), edits)
    };
    let both = vec![("L2".to_string(), "runs.WL2".to_string()), ("L3".to_string(), "runs.WL3".to_string())];
    assert_eq!(drops(&feed("6 AWG", 2.0)), both);
    // The panel feed is thin and long: it has the most of all three paths, and each is still said.
    let thin = feed("12 AWG", 20.0);
    let r = evaluate(&thin);
    let said = found(&r, "drop-over-target");
    assert_eq!(said.len(), 3, "{}", texts(&r));
    assert!(said.iter().any(|f| f.name(0) == "L3" && f.name(1) == "W6" && f.run() == Some("W6")), "{}", texts(&r));
    assert!(says(&r, "drop-over-target", "runs.WL3"));
    // Thicker, gauge by gauge: none comes that was not there.
    let mut last = drops(&thin);
    for size in ["10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG", "1/0 AWG", "4/0 AWG"] {
        let now = drops(&feed(size, 20.0));
        assert!(now.iter().all(|d| last.contains(d)), "{size}: {now:?} after {last:?}");
        last = now;
    }
    assert_eq!(drops(&sound()), []);
}

/// Ends of negatives that lead to nothing are said by the field they stand in.
#[test]
fn a_negative_that_ends_on_nothing_is_said() {
    let ends = |p: &Plan| -> Vec<String> {
        let r = evaluate(p);
        let of = r.findings.iter().filter(|f| ["dangling-end", "end-on-removed"].contains(&f.check.id));
        of.map(|f| format!("{} {}: {}", f.level, f.subject, f.text())).collect()
    };
    let to = |field: &str, end: &str| {
        let edits = [(format!("runs.W5.{field}"), Value::Id(end.parse().expect("id")))];
        with(&sound(), &edits.each_ref().map(|(at, to)| (at.as_str(), to.clone())))
    };
    assert_eq!(
        ends(&to("negative_to", "NOPE")),
        ["caution runs.W5.negative_to: W5 negative to: NOPE is not in the plan"]
    );
    assert_eq!(
        ends(&to("negative_from", "BKminus")),
        ["caution runs.W5.negative_from: W5 negative from: BKminus is not in the plan"]
    );
    let gone = with(&to("negative_to", "SHN"), &[]);
    let gone =
        with(&insert(&gone, "devices", r#"(id: "SHN", kind: "shunt")"#), &[("devices.SHN.state", word("removed"))]);
    assert_eq!(ends(&gone), ["caution runs.W5.negative_to: W5 negative to: SHN is removed or dead"]);
    for right in ["BK-", "CHS", "BUS"] {
        assert_eq!(ends(&to("negative_to", right)), Vec::<String>::new(), "{right}");
    }
    let dead = with(&to("negative_to", "NOPE"), &[("runs.W5.legs.L1.state", word("removed"))]);
    assert_eq!(ends(&dead), Vec::<String>::new());
}
