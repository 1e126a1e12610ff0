//! Cures: the nearest and least first, what charges stays charging, and other devices last.

use super::comes_back::{NONE, fuse, wired};
use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::plan::{Edit, FieldPath, Known, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

fn text(text: &str) -> Value {
    Value::Text(text.into())
}

fn names(steps: &[Step]) -> Vec<&str> {
    steps.iter().map(|s| s.name.as_str()).collect()
}

/// The sound plan on 48 V, its panels strung as told, its controller's input of 150 V.
fn on_48_v(strings: &str, kind: &'static str) -> Plan {
    let edits = [
        ("bank.unit_v", n(51.2)),
        ("controllers.C1.kind", word(kind)),
        ("controllers.C1.absorb_v", n(56.8)),
        ("controllers.C1.max_pv_v", n(150.0)),
        ("arrays.A1.strings", text(strings)),
    ];
    let mut p = with(&sound(), &edits);
    p.arrays[0].places.clear();
    p
}

/// Six of 24.9 V at -12 C are 164.9 V, over 150. Three of 20.8 V, some 50 K over 25 C at about -0.35 %/K, are 52 V at most, under
/// the 56.8 V of absorption: no cure. Five, 137.4 V, are the one that loses least; a controller of 200 V comes after what
/// leaves it.
#[test]
fn strings_that_no_longer_charge_when_hot_are_no_cure() {
    let wrong = on_48_v("6S1P P1", "tracking");
    let steps = cures(&wrong, "cold-voc-over-limit", "arrays.A1");
    // A sixth of what the panels harvest goes with one of them, and is said.
    let is_least = |s: &coachwire::plan::Step| s.name.starts_with("A1 without 1: 5S1P P1; costs: ");
    assert!(steps.first().is_some_and(is_least), "{:?}", names(&steps));
    for step in &steps {
        let after = evaluate(&wrong.with(step).expect("applies"));
        assert!(!says(&after, "hot-vmp-low", "arrays.A1"), "{}", step.name);
    }
    let last = steps.last().expect("some");
    assert_eq!(last.name, "C1 exchanged: one that takes 200 V of panels");
    assert!(found(&evaluate(&on_48_v("5S1P P1", "tracking")), "cold-voc-over-limit").is_empty());
}

/// Five panels of 20.8 V, 104 V, on a PWM controller that holds them at 56.8 V: each alone would not charge 48 V at all.
#[test]
fn a_pwm_controller_for_a_long_string_is_exchanged_or_the_string_shortened() {
    let wrong = on_48_v("5S1P P1", "PWM");
    let steps = cures(&wrong, "pwm-panel-volts-high", "arrays.A1");
    assert!(!steps.iter().any(|s| s.name.starts_with("A1: 1S5P")), "{:?}", names(&steps));
    assert_eq!(steps.last().map(|s| s.name.as_str()), Some("C1 exchanged: one that tracks"), "{:?}", names(&steps));
    let after = evaluate(&wrong.with(steps.last().expect("some")).expect("applies"));
    assert!(found(&after, "pwm-panel-volts-high").is_empty() && found(&after, "hot-vmp-low").is_empty());
    assert!(found(&evaluate(&on_48_v("5S1P P1", "tracking")), "pwm-panel-volts-high").is_empty());
    apply_all(&wrong);
}

/// A second array of one string beside the first on the same controller: 2 x 10.7 A of short circuit on an input of 15 A.
fn two_strings(second: &str, most_a: f64) -> Plan {
    let edits = [("arrays.A1.strings", text("2S1P P1")), ("controllers.C1.max_pv_a", n(most_a))];
    let mut p = with(&sound(), &edits);
    p.arrays[0].places.clear();
    let p = insert(&p, "arrays", &format!(r#"(id: "A2", strings: "{second}", controller: "C1")"#));
    let run = r#"(id: "W30", from: "A2", to: "C1", gauge: "8 AWG", legs: [(id: "L1", length_m: 7.0, zone: "roof cavity",
        insulation_c: 90.0)])"#;
    insert(&p, "runs", run)
}

#[test]
fn too_much_current_for_an_input_is_cured_by_another_controller() {
    let wrong = two_strings("2S1P P1", 15.0);
    let steps = cures(&wrong, "isc-over-input", "controllers.C1");
    assert!(names(&steps).contains(&"C1 exchanged: one that takes 30 A of panels"), "{:?}", names(&steps));
    assert!(found(&evaluate(&two_strings("2S1P P1", 30.0)), "isc-over-input").is_empty());
    // A controller that is there already is a new one then.
    let mut there = wrong.clone();
    there.controllers[0].state = coachwire::plan::State::Existing;
    let steps = cures(&there, "isc-over-input", "controllers.C1");
    let step = steps.iter().find(|s| s.name.starts_with("C1 exchanged")).expect("offered");
    let after = there.with(step).expect("applies");
    assert_eq!(after.controllers[0].state, coachwire::plan::State::New);
}

/// Two panels in series beside three, on one controller.
#[test]
fn arrays_of_unlike_length_on_one_controller_are_made_alike() {
    let wrong = two_strings("3S1P P1", 60.0);
    is_curable(&wrong, "unlike-panels", "controllers.C1");
    let steps = cures(&wrong, "unlike-panels", "controllers.C1");
    let longer = "A1: 3S1P P1, 1 more where the roof has room";
    assert!(steps.iter().any(|s| s.name.starts_with(longer)), "{:?}", names(&steps));
    // Or the second array has a controller like the first's, on the same bar.
    let own = steps.iter().find(|s| s.name.starts_with("A2 on a controller of its own: C2 like C1, "));
    let after = wrong.with(own.unwrap_or_else(|| panic!("{:?}", names(&steps)))).expect("applies");
    let r = evaluate(&after);
    assert!(found(&r, "unlike-panels").is_empty(), "{}", texts(&r));
    assert_eq!(r.controllers.len(), 2);
    let out = after.runs.iter().find(|x| x.from.known().is_some_and(|id| id.as_str() == "C2")).expect("its run");
    assert_eq!((&out.to, &out.gauge), (&wrong.runs[1].to, &wrong.runs[1].gauge));
    // Arrays that come down on one wire cannot be parted so.
    let shared = with(
        &insert(&wrong, "devices", r#"(id: "CB", kind: "combiner")"#),
        &[("runs.W1.to", Value::Id("CB".parse().expect("id"))), ("runs.W30.to", Value::Id("CB".parse().expect("id")))],
    );
    let home =
        r#"(id: "W31", from: "CB", to: "C1", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)])"#;
    let shared = insert(&shared, "runs", home);
    let steps = cures(&shared, "unlike-panels", "controllers.C1");
    assert!(!steps.iter().any(|s| s.name.contains("of its own")), "{:?}", names(&steps));
    assert!(found(&evaluate(&two_strings("2S1P P1", 60.0)), "unlike-panels").is_empty());
}

/// Three leads fused 130 A each let 390 A through to an inverter, whose negative comes back by 2/0 AWG (NEC 310.17, 75 C column:
/// 265 A): smaller fuses in the leads, each enough for its own current, are what it carries.
#[test]
fn a_negative_too_thin_for_the_fuses_ahead_gets_smaller_fuses() {
    let of = |amps: f64| {
        let lead = NONE.to_string() + &fuse(amps);
        let bar = |more: &str| format!(r#"negative_from: "NB", {more}"#);
        wired(&[
            ("W1", "BK", "SW", "4/0 AWG", 0.5, &lead),
            ("W2", "BK", "SW", "4/0 AWG", 0.5, &lead),
            ("W3", "BK", "SW", "4/0 AWG", 0.5, &lead),
            ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
            ("W5", "BUS", "INV", "4/0 AWG", 1.0, &bar("")),
            ("W6", "BUS", "FP", "8 AWG", 2.0, &bar(&fuse(40.0))),
            ("N1", "BK-", "SHN", "2/0 AWG", 0.6, NONE),
            ("N2", "SHN", "NB", "2/0 AWG", 0.3, NONE),
        ])
    };
    let wrong = of(130.0);
    assert!(says(&evaluate(&wrong), "fuse-above-conductor", "runs.N2"), "{}", texts(&evaluate(&wrong)));
    let steps = cures(&wrong, "fuse-above-conductor", "runs.N2");
    assert!(steps.iter().any(|s| s.name.starts_with("smaller fuses: W1 ")), "{:?}", names(&steps));
    is_curable(&wrong, "fuse-above-conductor", "runs.N2");
    assert!(!says(&evaluate(&of(80.0)), "fuse-above-conductor", "runs.N2"));
}

/// 270 A past three fuses are within the next rating above the 265 A of a 2/0 AWG negative (NEC 240.4(B), 310.17 at 75 C): smaller
/// fuses or 3/0 AWG (310 A) lean on nothing.
#[test]
fn a_negative_on_the_next_rating_up_gets_smaller_fuses_or_more_copper() {
    let lead = |amps: f64| NONE.to_string() + &fuse(amps);
    let of = |amps: f64| {
        let lead = lead(amps);
        wired(&[
            ("W1", "BK", "SW", "4/0 AWG", 0.5, &lead),
            ("W2", "BK", "SW", "4/0 AWG", 0.5, &lead),
            ("W3", "BK", "SW", "4/0 AWG", 0.5, &lead),
            ("W4", "SW", "BUS", "4/0 AWG", 0.3, NONE),
            ("W5", "BUS", "INV", "4/0 AWG", 1.0, r#"negative_from: "NB", "#),
            ("N1", "BK-", "SHN", "4/0 AWG", 0.6, NONE),
            ("N2", "SHN", "NB", "2/0 AWG", 0.3, NONE),
        ])
    };
    let leaning = of(90.0);
    assert!(says(&evaluate(&leaning), "next-rating-up", "runs.N2"), "{}", texts(&evaluate(&leaning)));
    is_curable(&leaning, "next-rating-up", "runs.N2");
    let steps = cures(&leaning, "next-rating-up", "runs.N2");
    for name in ["smaller fuses: W1 ", "N2: 3/0 AWG"] {
        assert!(steps.iter().any(|s| s.name.starts_with(name)), "{name}: {:?}", names(&steps));
    }
    assert!(!says(&evaluate(&of(80.0)), "next-rating-up", "runs.N2"));
}

/// The main run taken out of a coach whose shunt counts all that comes back: the one that is drawn for it brings its own over
/// the shunt too.
#[test]
fn a_run_drawn_to_the_bank_is_no_way_round_the_shunt() {
    let p = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#);
    let p =
        insert(&p, "loads", r#"(id: "L9", name: "gas detector", watts_w: 2.0, hours_day: 24.0, life_safety: "yes")"#);
    let detector = r#"(id: "W9", from: "BK", to: "L9", gauge: "14 AWG", negative_from: "SHN", legs: [(id: "L1", length_m: 3.0,
        insulation_c: 90.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.1)])"#;
    let p = with(&insert(&p, "runs", detector), &[("runs.W7.from", id("SHN"))]);
    let out = |run: &str| Edit::Remove { at: FieldPath::new(format!("runs.{run}")) };
    let wrong = p.with(&Step { name: "out".into(), edits: vec![out("W3"), out("W4")] }).expect("there");
    let all = cures(&wrong, "bank-not-joined", "devices.BUS");
    let step = all.first().expect("offered");
    assert!(!step.name.contains("shunt-bypass"), "{}", step.name);
    let after = wrong.with(step).expect("applies");
    let drawn = after.runs.last().expect("drawn");
    assert_eq!(drawn.negative_from.as_ref().and_then(Known::known).map(|id| id.to_string()), Some("SHN".into()));
    let r = evaluate(&after);
    assert!(found(&r, "bank-not-joined").is_empty() && found(&r, "shunt-bypass").is_empty(), "{}", texts(&r));
}

/// A cure of a drop takes no fuse down: that loses more.
#[test]
fn against_a_drop_no_fuse_gets_smaller() {
    let of = |m: f64| {
        let edits =
            [("runs.W2.gauge", Value::Gauge("6 AWG".parse().expect("gauge"))), ("runs.W2.legs.L1.length_m", n(m))];
        with(&sound(), &edits)
    };
    let wrong = of(1.8);
    assert!(says(&evaluate(&wrong), "drop-over-target", "runs.W2"), "{}", texts(&evaluate(&wrong)));
    let rated = |p: &Plan, run: &str| {
        let run = p.runs.iter().find(|r| r.id.as_str() == run)?;
        run.protection.first()?.amps_a.known().map(|a| a.0)
    };
    for step in cures(&wrong, "drop-over-target", "runs.W2") {
        let after = wrong.with(&step).expect("applies");
        for run in ["W2", "W3"] {
            assert!(rated(&after, run) >= rated(&wrong, run), "{}", step.name);
        }
    }
    assert!(!says(&evaluate(&sound()), "drop-over-target", "runs.W2"));
}

/// 3000 W of 24 V draw some 142 A and want a fuse of 178: 200 A where the wire carries at least 175, by the next rating up too.
/// That is nearer at hand than another inverter.
#[test]
fn a_larger_fuse_comes_before_another_inverter() {
    let of = |air_c: f64| {
        let edits = [
            ("bank.unit_v", n(25.6)),
            ("controllers.C1.absorb_v", n(28.4)),
            ("inverters.INV.watts_w", n(3000.0)),
            ("runs.W3.protection.F1.amps_a", n(200.0)),
            ("runs.W5.gauge", Value::Gauge("2/0 AWG".parse().expect("gauge"))),
            ("runs.W5.legs.L1.ambient_c", n(air_c)),
            ("runs.W5.protection.F1.amps_a", n(175.0)),
        ];
        with(&sound(), &edits)
    };
    let mut leaning = 0;
    for air_c in (44..=84).step_by(4) {
        let p = of(f64::from(air_c));
        if !says(&evaluate(&p), "fuse-below-design", "runs.W5") {
            continue;
        }
        let steps = cures(&p, "fuse-below-design", "runs.W5");
        let place = |start: &str| steps.iter().position(|s| s.name.starts_with(start));
        let Some(fuse) = place("W5 fuse: 200 A") else { continue };
        assert!(place("INV: another").is_none_or(|other| fuse < other), "{:?}", names(&steps));
        let after = evaluate(&p.with(&steps[fuse]).expect("applies"));
        let leans = says(&after, "next-rating-up", "runs.W5") && place("INV: another").is_some();
        leaning += usize::from(leans);
    }
    assert!(leaning > 0);
}

/// Where no one fuse more is enough, several together are tried: 0.06 V at its rating each (class T), and the whole path within
/// its target with them.
#[test]
fn several_larger_fuses_mend_what_one_does_not() {
    let of = |m: f64| with(&sound(), &[("runs.W4.legs.L1.length_m", n(m))]);
    let drops = |p: &Plan| says(&evaluate(p), "drop-over-target", "runs.W5");
    assert!(!drops(&of(0.3)));
    let lengths = (3..60).map(|k| f64::from(k) * 0.1).filter(|m| drops(&of(*m)));
    let offered = lengths.take(8).find_map(|m| {
        let steps = cures(&of(m), "drop-over-target", "runs.W5");
        steps.into_iter().find(|s| s.name.starts_with("larger fuses: ")).map(|s| (m, s))
    });
    let (m, step) = offered.expect("some length that several mend");
    assert!(step.name.contains("W3 ") && step.name.contains("W5 "), "{}", step.name);
    assert!(!drops(&of(m).with(&step).expect("applies")), "{}", step.name);
}
