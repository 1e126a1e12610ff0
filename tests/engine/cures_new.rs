//! What a cure lays and buys, and what it must not bring: wire in the place of old wire is new, fuses keep near their rating,
//! nothing is cured by what brings it back.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::report::{Report, RunFigures};
use coachwire::engine::{Engine, Finding, LadderOf, Level};
use coachwire::plan::{Known, Plan, State, Step, Value};
use coachwire::standards::kinds::Metal;
use coachwire::stock::{Spool, Stock};
use coachwire::units::{Celsius, Metres, Number};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn after(p: &Plan, step: &Step) -> Plan {
    p.with(step).expect("applies")
}

fn run<'a>(r: &'a Report, id: &str) -> &'a RunFigures {
    r.runs.iter().find(|f| f.id.as_str() == id).expect("the run")
}

/// 12 AWG of 60 C that came with the coach, from a controller of 52 A.
fn prep() -> Plan {
    let old = [
        ("runs.W2.gauge", gauge("12 AWG")),
        ("runs.W2.legs.L1.state", word("existing")),
        ("runs.W2.legs.L1.insulation_c", n(60.0)),
    ];
    with(&sound(), &old)
}

/// The wire of the cure is bought, of the insulation that the plan's other new wire has, and leaves no stop without a cure.
#[test]
fn wire_in_the_place_of_old_wire_is_new() {
    let p = prep();
    let steps = cures(&p, "conductor-below-current", "runs.W2");
    assert!(steps[0].name.ends_with("; new wire in W2"), "{}", steps[0].name);
    for step in &steps {
        let then = after(&p, step);
        let leg = &then.runs[1].legs[0];
        assert_eq!(leg.state, State::New, "{}", step.name);
        assert_eq!(leg.insulation_c, Known::Is(Celsius(105.0)), "{}", step.name);
        // The other way round it would be free.
        assert!(evaluate(&then).price.unpriced > evaluate(&p).price.unpriced, "{}", step.name);
    }
    let then = after(&p, &steps[0]);
    for f in evaluate(&then).findings.iter().filter(|f| f.level == Level::Stop) {
        is_curable(&then, f.check.id, f.subject.as_str());
    }
    // With a spool of it the price is known, and moves.
    let mut stock = Stock::default();
    stock.truck.spools.push(Spool {
        gauge: then.runs[1].gauge,
        insulation_c: Known::Is(Celsius(105.0)),
        left_m: Known::Is(Metres(30.0)),
        price_per_metre: Some(Known::Is(Number(5.0))),
        ..Spool::default()
    });
    let parts = |p: &Plan| Engine::default().evaluate(p, &stock).price.known_parts.0;
    assert!(parts(&then) > parts(&p) + 1.0, "{} {}", parts(&then), parts(&p));
}

/// A row of the ladder, and a gauge that is corrected by hand, say what lies there: both leave it there.
#[test]
fn a_gauge_that_is_chosen_or_corrected_leaves_the_wire_there() {
    let p = prep();
    let id = "W2".parse().expect("id");
    let rungs = Engine::default().ladder(&p, &Stock::default(), &LadderOf::Gauge(id));
    assert!(rungs.len() > 5);
    for rung in &rungs {
        let state = after(&p, &rung.step).runs[1].legs[0].state;
        assert_eq!(state, State::Existing, "{}", rung.step.name);
    }
    let corrected = with(&p, &[("runs.W2.gauge", gauge("10 AWG"))]);
    assert_eq!(corrected.runs[1].legs[0].state, State::Existing);
}

/// Whatever cures a plan with copper-clad wire, no wire that a step lays is of it. Source: copper-clad aluminium is not listed
/// for such work by NEC 310 or ABYC E-11; common practice.
#[test]
fn no_cure_lays_copper_clad_wire() {
    for state in ["existing", "new"] {
        let clad = [
            ("runs.W5.legs.L1.metal", word("copper-clad")),
            ("runs.W5.legs.L1.state", word(state)),
            ("runs.W5.gauge", gauge("4 AWG")),
        ];
        let p = with(&sound(), &clad);
        let report = evaluate(&p);
        assert!(says(&report, "copper-clad", "runs.W5"), "{}", texts(&report));
        let mut laid = 0;
        for f in &report.findings {
            for step in Engine::default().cures(&p, &Stock::default(), f) {
                let then = after(&p, &step);
                let (was, is) = (&p.runs[4], &then.runs[4]);
                if was.gauge != is.gauge || was.legs[0].metal != is.legs[0].metal {
                    laid += 1;
                    assert_eq!((is.legs[0].metal, is.legs[0].state), (Metal::Plain, State::New), "{}", step.name);
                }
            }
        }
        assert!(laid >= 2, "{laid}");
    }
}

/// A branch of 14 AWG behind a blade fuse near a bank whose fault it does not open.
fn branch(amps: f64, surge: &str) -> Plan {
    let load = format!(r#"(id: "L2", name: "fridge", watts_w: 30.0, hours_day: 8.0{surge})"#);
    let wire = format!(
        r#"(id: "W8", from: "FP", to: "L2", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: {amps:?}, distance_m: 0.02)])"#
    );
    let p = insert(&insert(&sound(), "loads", &load), "runs", &wire);
    with(&p, &[("runs.W6.legs.L1.length_m", n(0.5)), ("bank.ohmic_mohm", n(1.0))])
}

/// Class T is made in 1, 3, 6, 10, 15 A (UL 248-15): the largest not above the old rating that carries 1.25 times 2.5 A, and what
/// the load takes to start, 120 W of 12 V; 14 AWG allows 15 A (NEC 240.4(D)).
#[test]
fn a_fuse_against_a_fault_stays_near_the_rating_that_stood() {
    let amps = |p: &Plan| {
        let steps = cures(p, "interrupt-below-fault", "runs.W8");
        let fuse = after(p, &steps[0]).runs.last().expect("W8").protection[0].clone();
        fuse.amps_a.known().expect("rated").0
    };
    assert_eq!(amps(&branch(7.5, "")), 6.0);
    assert_eq!(amps(&branch(15.0, "")), 15.0);
    assert_eq!(amps(&branch(5.0, "")), 6.0, "3 A is less than 1.25 times what flows");
    assert_eq!(amps(&branch(7.5, ", surge_w: 120.0")), 10.0);
    // Of three of 30 W one starts at a time: 60 W and twice 30 W of 12 V are 10 A, three times 60 W would be 15 A.
    assert_eq!(amps(&branch(10.0, ", quantity: 3.0, surge_w: 60.0")), 10.0);
}

/// Sizing all gives it the rating that the cure gives: a fridge that starts with 10 A keeps its 10 A.
#[test]
fn sizing_all_stays_near_the_rating_that_stood() {
    for (was, surge, sized) in [(7.5, "", 6.0), (15.0, "", 15.0), (7.5, ", surge_w: 120.0", 10.0)] {
        let p = branch(was, surge);
        let step = Engine::default().size_all(&p, &Stock::default(), false);
        let fuse = after(&p, &step).runs.last().expect("W8").protection[0].clone();
        assert_eq!(fuse.amps_a.known().expect("rated").0, sized, "{was} A{surge}");
    }
}

/// Twice the panels would bring 21.4 A to an input of 15 A (two in parallel of 10.7 A): that cure's own cure would bring the note back.
#[test]
fn no_cure_of_a_small_array_overloads_the_controllers_input() {
    let small = [
        ("bank.chemistry", word("AGM")),
        ("bank.unit_ah", n(400.0)),
        ("controllers.C1.kind", word("PWM")),
        ("controllers.C1.max_pv_a", n(15.0)),
        ("arrays.A1.strings", Value::Text("1S1P P1".into())),
    ];
    let p = with(&sound(), &small);
    let before = evaluate(&p);
    assert!(says(&before, "array-small-for-lead", "bank"), "{}", texts(&before));
    assert!(!says(&before, "isc-over-input", "controllers.C1"), "{}", texts(&before));
    for step in cures(&p, "array-small-for-lead", "bank") {
        let then = evaluate(&after(&p, &step));
        assert!(!says(&then, "isc-over-input", "controllers.C1"), "{}", step.name);
    }
}

/// Insulation is offered as far as wire for this work is sold; where the first step leaves the fuse above what the wire allows in
/// the engine's air, that has its own: by NEC 310.15 the same wire carries more in a cabinet.
#[test]
fn wire_in_hot_air_is_no_dead_end() {
    let hot = [
        ("runs.W3.legs.L1.zone", word("engine bay")),
        ("runs.W3.legs.L1.insulation_c", n(75.0)),
        ("runs.W3.legs.L1.ambient_c", n(80.0)),
        ("runs.W3.protection.F1.amps_a", n(350.0)),
        ("inverters.INV.watts_w", n(2000.0)),
        ("bank.max_discharge_a", n(200.0)),
    ];
    let p = with(&sound(), &hot);
    let report = evaluate(&p);
    let mut seen = 0;
    for f in report.findings.iter().filter(|f| f.run() == Some("W3")) {
        for step in Engine::default().cures(&p, &Stock::default(), f) {
            assert!(!step.name.contains("150 C"), "{}", step.name);
            let then = after(&p, &step);
            for left in evaluate(&then).findings.iter().filter(|f| f.level == Level::Stop && f.run() == Some("W3")) {
                seen += 1;
                is_curable(&then, left.check.id, left.subject.as_str());
            }
        }
    }
    assert!(seen > 0, "{}", texts(&report));
}

/// What a run loses, over what its path does.
fn share(r: &Report, id: &str) -> f64 {
    let f = run(r, id);
    f.drop_v.as_ref().map_or(1.0, |v| v.0) / f.path_drop_v.as_ref().map_or(1.0, |v| v.0)
}

/// A detector of 3 W behind long main leads: its own wire loses next to nothing, and is not what is made thicker.
#[test]
fn what_loses_next_to_nothing_is_not_made_thicker() {
    let p = insert(&sound(), "loads", r#"(id: "L2", watts_w: 3.0, hours_day: 24.0, critical: "yes")"#);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W8", from: "FP", to: "L2", gauge: "14 AWG", legs: [(id: "L1", length_m: 4.0, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.02)])"#,
    );
    let p = with(&p, &[("runs.W3.legs.L1.length_m", n(12.0)), ("runs.W3.gauge", gauge("2/0 AWG"))]);
    let report = evaluate(&p);
    let about: Vec<&Finding> = found(&report, "drop-over-target").into_iter().filter(|f| f.name(0) == "L2").collect();
    assert!(!about.is_empty() && share(&report, "W8") < 0.1, "{} {}", share(&report, "W8"), texts(&report));
    let mut steps = 0;
    for f in about {
        for step in Engine::default().cures(&p, &Stock::default(), f) {
            steps += 1;
            let then = after(&p, &step);
            assert_eq!((then.runs[7].gauge, &then.runs[7].legs), (p.runs[7].gauge, &p.runs[7].legs), "{}", step.name);
        }
    }
    assert!(steps > 0, "{}", texts(&report));
}

/// The maker's own lead is not judged, nor is the fuse that came with it; with a fuse put there both are.
#[test]
fn the_makers_lead_is_judged_whole_or_not_at_all() {
    let fused = |state: &str| {
        let thin = [("runs.W10.gauge", gauge("4 AWG")), ("runs.W10.legs.L1.zone", word("engine bay"))];
        let fuse =
            format!(r#"(id: "F1", at: "to", family: "open link", amps_a: 140.0, distance_m: 0.1, state: "{state}")"#);
        let rated = [("devices.ALT.ratings.amps_a", n(150.0))];
        evaluate(&insert(&with(&with(&super::lines::factory(false), &thin), &rated), "runs.W10.protection", &fuse))
    };
    let (there, put) = (fused("existing"), fused("new"));
    let by_wire = ["fuse-above-conductor", "fuse-below-design", "conductor-below-current"];
    assert!(says(&there, "makers-lead", "runs.W10"), "{}", texts(&there));
    assert!(by_wire.iter().all(|check| !says(&there, check, "runs.W10")), "{}", texts(&there));
    assert!(!says(&put, "makers-lead", "runs.W10"), "{}", texts(&put));
    assert!(by_wire.iter().all(|check| says(&put, check, "runs.W10")), "{}", texts(&put));
}

/// A breaker that closes by itself and is too small on a lithium bank: no other one of its kind comes first.
#[test]
fn no_breaker_that_closes_by_itself_is_bought() {
    let p = insert(
        &sound(),
        "devices",
        r#"(id: "CB", kind: "resetting breaker", state: "existing", ratings: (amps_a: 40.0))"#,
    );
    let p = with(&p, &[("runs.W2.from", Value::Id("CB".parse().expect("id")))]);
    let wire =
        r#"(id: "W9", from: "C1", to: "CB", gauge: "2 AWG", legs: [(id: "L1", length_m: 0.2, insulation_c: 90.0)])"#;
    let p = insert(&p, "runs", wire);
    let steps = cures(&p, "device-below-current", "devices.CB");
    assert!(steps[0].name.starts_with("CB: a splice"), "{steps:?}");
}

/// A large panel beside a small one in parallel: without the small one the large one works at its own volts again, so that no step
/// that harvests less is offered.
#[test]
fn of_unlike_panels_the_better_ones_stay() {
    let other = r#"(id: "P2", pmax_w: 100.0, vmp_v: 10.0, imp_a: 10.0, voc_v: 12.0, isc_a: 10.6, cells: 20.0,
        alpha_pct_k: 0.05, beta_pct_k: -0.28, gamma_pct_k: -0.35, series_fuse_a: 20.0, weight_kg: 7.0,
        length_m: 1.0, width_m: 0.6, thickness_m: 0.035)"#;
    let p = insert(&sound(), "panels", other);
    let p = with(&p, &[("arrays.A1.strings", Value::Text("P1+P1 | P2+P2".into()))]);
    let before = evaluate(&p);
    let kwh = |r: &Report| *r.year.lived.harvest_kwh.as_ref().expect("a year");
    let steps = cures(&p, "unlike-panels", "arrays.A1");
    assert!(steps.iter().any(|s| s.name.starts_with("A1 of its P1 alone")), "{steps:?}");
    let harvests: Vec<f64> = steps.iter().map(|s| kwh(&evaluate(&after(&p, s)))).collect();
    assert!(harvests.iter().all(|h| *h >= kwh(&before)), "{harvests:?} of {}", kwh(&before));
}
