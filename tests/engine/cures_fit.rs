//! Cures that somebody can build: wire that connectors and panels take, copper where the current is, no switch taken out of the way,
//! one rating for one fuse.

use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::sizing_whole::{BUS_24, FOUR_PACKS, read};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Run, Step, Value};
use coachwire::standards::conductor::{Gauge, area_mm2};
use coachwire::stock::Stock;

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn run<'a>(plan: &'a Plan, id: &str) -> &'a Run {
    plan.runs.iter().find(|r| r.id.as_str() == id).expect("run")
}

fn mm2(run: &Run) -> f64 {
    area_mm2(*run.gauge.known().expect("a gauge"))
}

/// One string on its panels' own leads: PV connectors are for cable of 2.5 to 10 mm2 (IEC 62852, from memory). Nothing thicker is
/// offered there, whatever the drop; what is offered cures it.
#[test]
fn wire_on_panels_leads_is_what_their_connectors_take() {
    let mut offered = 0;
    for length_m in [8.0, 12.0, 16.0, 24.0, 40.0] {
        let p = with(
            &sound(),
            &[
                ("arrays.A1.strings", Value::Text("1S1P P1".into())),
                ("runs.W1.gauge", gauge("14 AWG")),
                ("runs.W1.legs.L1.length_m", Value::Number(length_m)),
            ],
        );
        let r = evaluate(&p);
        assert!(says(&r, "drop-over-target", "runs.W1"), "{length_m} m: {}", texts(&r));
        for f in r.findings.iter().filter(|f| f.level != Level::Note) {
            for step in Engine::default().cures(&p, &Stock::default(), f) {
                offered += 1;
                let after = mm2(run(&p.with(&step).expect("applies"), "W1"));
                assert!(after <= 10.0, "{length_m} m, {after} mm2: {}", step.name);
            }
        }
    }
    assert!(offered > 4, "{offered}");
}

/// A critical load far off on a way of a fuse panel, behind a feeder of many amps.
fn far_load(feeder_m: f64, own_m: f64) -> Plan {
    let load = r#"(id: "L2", name: "sleeper's air pump", watts_w: 45.0, hours_day: 8.0, critical: "yes")"#;
    let wire = format!(
        r#"(id: "W8", from: "FP", to: "L2", gauge: "14 AWG", legs: [(id: "L1", length_m: {own_m:?}, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0, distance_m: 0.05, interrupt_a: 5000.0)])"#
    );
    let p = insert(&insert(&sound(), "loads", load), "runs", &wire);
    with(
        &p,
        &[
            ("loads.L1.watts_w", Value::Number(300.0)),
            ("runs.W6.gauge", gauge("6 AWG")),
            ("runs.W6.legs.L1.length_m", Value::Number(feeder_m)),
        ],
    )
}

/// A blade panel's way takes no more than 10 mm2 (8 AWG, common practice): no cure has more there.
#[test]
fn a_way_of_a_fuse_panel_takes_no_thick_wire() {
    let mut offered = 0;
    for (feeder_m, own_m) in [(3.0, 9.0), (4.0, 9.0), (5.0, 7.0), (6.0, 5.0)] {
        let p = far_load(feeder_m, own_m);
        for f in found(&evaluate(&p), "drop-over-target") {
            for step in Engine::default().cures(&p, &Stock::default(), f) {
                offered += 1;
                assert!(mm2(run(&p.with(&step).expect("applies"), "W8")) <= 10.0, "{}", step.name);
            }
        }
    }
    assert!(offered > 0);
}

/// The copper of feeder and branch, mm2 m.
fn copper(plan: &Plan) -> f64 {
    ["W1", "W2"].iter().map(|id| mm2(run(plan, id)) * run(plan, id).legs[0].length_m.known().expect("m").0).sum()
}

/// Copper lies where the many amps flow. Held against all pairs of AWG sizes tried one by one: what is offered for the whole way is
/// within one AWG number (1.26) of the least copper by weight.
#[test]
fn copper_of_a_whole_way_lies_where_the_current_is() {
    let mut whole = 0;
    for (feeder_m, other) in [(4.0, 200.0), (5.0, 120.0), (6.0, 200.0)] {
        let p = super::panel_fuses::panelled(feeder_m, r#"family: "UL 248-15 T", amps_a: 15.0"#, "");
        let p = insert(&p, "loads", &format!(r#"(id: "L2", watts_w: {other:?}, hours_day: 2.0)"#));
        let branch = r#"(id: "W3", from: "FP", to: "L2", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 105.0,
            ambient_c: 40.0)], protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.02)])"#;
        let set = [
            ("loads.LT.watts_w", Value::Number(100.0)),
            ("runs.W1.protection.F1.amps_a", Value::Number(50.0)),
            ("runs.W2.gauge", gauge("12 AWG")),
        ];
        let p = with(&insert(&p, "runs", branch), &set);
        let r = evaluate(&p);
        let finding = found(&r, "drop-over-target").into_iter().find(|f| f.name(0) == "LT").expect("over its target");
        let steps = Engine::default().cures(&p, &Stock::default(), finding);
        let plain = |s: &&Step| s.name.starts_with("whole way: ") && !s.name.contains("fuse");
        let Some(step) = steps.iter().find(plain) else { continue };
        whole += 1;
        let mut least = f64::MAX;
        let sizes: Vec<Gauge> = "12 AWG".parse::<Gauge>().expect("gauge").ladder().collect();
        for own in &sizes {
            for feeder in &sizes {
                let tried =
                    with(&p, &[("runs.W1.gauge", Value::Gauge(*feeder)), ("runs.W2.gauge", Value::Gauge(*own))]);
                let is_over = || evaluate(&tried).findings.iter().any(|f| f.identity() == finding.identity());
                if mm2(run(&tried, "W1")) >= 13.0 && copper(&tried) < least && !is_over() {
                    least = copper(&tried);
                }
            }
        }
        let offered = copper(&p.with(step).expect("applies"));
        assert!(offered <= 1.27 * least, "{offered} of {least} mm2 m: {}", step.name);
    }
    assert!(whole > 0, "some way is mended as a whole");
}

/// Lines of many metres for a few amps: no cure names more than nine AWG numbers (8.2 times) beyond what is there and the current
/// wants; where nothing less mends it, that is said.
#[test]
fn copper_that_nobody_lays_is_not_offered() {
    let p = with(&far_load(2.0, 60.0), &[("runs.W8.protection.F1.family", word("UL 248-15 T"))]);
    let r = evaluate(&p);
    let finding = found(&r, "drop-over-target").into_iter().find(|f| f.name(0) == "L2").expect("far over");
    let tried = Engine::default().cures_tried(&p, &Stock::default(), finding);
    for step in &tried.steps {
        let after = p.with(step).expect("applies");
        for was in &p.runs {
            let now = mm2(run(&after, was.id.as_str()));
            // 14 AWG, 2.08 mm2, is the least that carries 4 A and its fuse of 10 A here.
            assert!(now <= 8.2 * mm2(was).max(2.08) + 1e-9, "{now} mm2 in {}: {}", was.id, step.name);
        }
    }
    assert!(!tried.steps.is_empty() || !tried.in_vain().is_empty());
}

fn detector(from: &str) -> Plan {
    let load = r#"(id: "L9", name: "breakaway brakes", watts_w: 20.0, hours_day: 0.1, life_safety: "yes")"#;
    let wire = format!(
        r#"(id: "W9", from: "{from}", to: "L9", gauge: "12 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 15.0, distance_m: 0.1)])"#
    );
    let p = insert(&insert(&sound(), "loads", load), "runs", &wire);
    // Nothing is fed but the panel.
    with(&p, &[("inverters.INV.state", word("removed")), ("runs.W5.legs.L1.state", word("removed"))])
}

/// Brakes on the panel behind the switch: they alone go ahead of it. The panel with all that it feeds never does, as nothing would be
/// left that switches loads off (common practice: a load disconnect).
#[test]
fn life_safety_takes_no_panel_past_the_switch() {
    let p = detector("FP");
    assert!(says(&evaluate(&p), "life-safety-behind-switch", "loads.L9"), "{}", texts(&evaluate(&p)));
    let steps = cures(&p, "life-safety-behind-switch", "loads.L9");
    assert!(!steps.is_empty());
    for step in &steps {
        let after = p.with(step).expect("applies");
        assert_eq!(run(&after, "W6").from, run(&p, "W6").from, "{}", step.name);
        assert!(found(&evaluate(&after), "no-bank-disconnect").is_empty(), "{}", step.name);
    }
    is_curable(&p, "life-safety-behind-switch", "loads.L9");
}

/// The one panel of a coach drawn from the bank's own post, brakes among what it feeds: no load has a disconnect, which is said, and the
/// cure leaves the brakes without a switch. Its right twin, the brakes at the post and the panel behind the switch, is silent.
#[test]
fn loads_without_a_disconnect_are_said_beside_life_safety() {
    let id = |text: &str| Value::Id(text.parse().expect("id"));
    let past =
        with(&detector("FP"), &[("runs.W6.from", id("BK")), ("runs.W6.protection.F1.family", word("UL 248-15 T"))]);
    let r = evaluate(&past);
    assert!(says(&r, "no-bank-disconnect", "bank"), "{}", texts(&r));
    assert!(found(&r, "no-bank-disconnect")[0].text().contains("FP"), "{}", texts(&r));
    is_curable(&past, "no-bank-disconnect", "bank");
    for step in cures(&past, "no-bank-disconnect", "bank") {
        let after = evaluate(&past.with(&step).expect("applies"));
        assert!(found(&after, "life-safety-behind-switch").is_empty(), "{}", step.name);
    }
    apply_all(&past);
    // One lamp's own switch takes off the lamp, no other load.
    let lamp = insert(&past, "loads", r#"(id: "L8", name: "lamp", watts_w: 10.0, hours_day: 1.0)"#);
    let lamp = insert(&lamp, "devices", r#"(id: "S8", kind: "switch")"#);
    let leg = r#"gauge: "14 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)]"#;
    let fused = r#"protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 5.0, distance_m: 0.1)]"#;
    let lamp = insert(&lamp, "runs", &format!(r#"(id: "W81", from: "FP", to: "S8", {leg}, {fused})"#));
    let lamp = insert(&lamp, "runs", &format!(r#"(id: "W82", from: "S8", to: "L8", {leg})"#));
    let r = evaluate(&lamp);
    assert!(says(&r, "no-bank-disconnect", "bank"), "{}", texts(&r));
    let right = evaluate(&detector("BK"));
    assert!(found(&right, "no-bank-disconnect").is_empty(), "{}", texts(&right));
    assert!(found(&right, "life-safety-behind-switch").is_empty(), "{}", texts(&right));
}

/// One of two leads in parallel without its fuse gets the fuse that the other has, where that fits: 1/0 AWG carries 125 A plainly.
#[test]
fn one_lead_of_several_gets_the_fuse_of_its_sister() {
    let out = |run: &str| coachwire::plan::Edit::Remove { at: coachwire::plan::FieldPath::new(format!("runs.{run}")) };
    let p = read(FOUR_PACKS).with(&Step { name: "out".into(), edits: vec![out("B3"), out("B4")] }).expect("there");
    let mut p = with(
        &p,
        &[
            ("bank.parallel", Value::Number(2.0)),
            ("inverters.INV.watts_w", Value::Number(1000.0)),
            ("runs.B1.gauge", gauge("1/0 AWG")),
            ("runs.B2.gauge", gauge("1/0 AWG")),
        ],
    );
    p.runs.iter_mut().find(|r| r.id.as_str() == "B2").expect("lead").protection.clear();
    let steps = cures(&p, "source-end-unfused", "runs.B2");
    assert!(steps[0].name.starts_with("B2 fuse: 125 A UL 248-15 T, as B1 has"), "{}", steps[0].name);
    is_curable(&p, "source-end-unfused", "runs.B2");
}

/// A cure that is completed by another fuse on the same run names one rating for it: the one that it gets.
#[test]
fn one_fuse_has_one_rating_in_a_cure() {
    let mut completed = 0;
    for length_m in [0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0] {
        let p =
            with(&sound(), &[("runs.W2.gauge", gauge("4 AWG")), ("runs.W2.legs.L1.length_m", Value::Number(length_m))]);
        let mut p = with(&p, &[("bank.ohmic_mohm", Value::Number(20.0))]);
        p.runs[1].protection.clear();
        for f in evaluate(&p).findings.iter().filter(|f| f.check.id == "source-end-unfused") {
            for step in Engine::default().cures(&p, &Stock::default(), f) {
                let named = step.name.matches("W2 fuse: ").count() + step.name.matches("W2 with fuse: ").count();
                assert!(named <= 1, "{}", step.name);
                completed += usize::from(named == 1);
                let after = p.with(&step).expect("applies");
                let amps = run(&after, "W2").protection.first().and_then(|f| f.amps_a.known()).map_or(0.0, |a| a.0);
                assert!(named == 0 || step.name.contains(&format!("{amps} A ")), "{amps} A: {}", step.name);
            }
        }
    }
    assert!(completed > 0);
}

/// NEC 110.4: an inverter made for 16 V on a bank of 24 V is exchanged for one of the next usual rating.
#[test]
fn an_inverter_of_too_few_volts_is_exchanged() {
    let p = with(&read(BUS_24), &[("inverters.INV.ratings.volts_dc_v", Value::Number(16.0))]);
    let steps = cures(&p, "device-volts-low", "inverters.INV");
    assert!(steps[0].name.starts_with("INV: another, made for 32 V DC"), "{}", steps[0].name);
    is_curable(&p, "device-volts-low", "inverters.INV");
}

/// ABYC E-11 has 3 and 10 % for boats, which RV work goes by too; under metric rules no document with a target is known.
#[test]
fn a_load_drops_source_is_that_of_the_plans_rules() {
    for (basis, document) in [("US RV", "ABYC E-11"), ("marine", "ABYC E-11"), ("metric", "common practice")] {
        let p = with(&far_load(4.0, 9.0), &[("job.basis", word(basis))]);
        let r = evaluate(&p);
        let all = found(&r, "drop-over-target");
        let f = all.iter().find(|f| f.name(0) == "L2").expect("over its target");
        assert!(f.source_said().starts_with(document), "{basis}: {}", f.source_said());
    }
}

/// A DC-DC charger's line of no known gauge and no known insulation waits for its insulation: its current, which would follow from its
/// gauge, is found once wire can be chosen.
#[test]
fn a_line_without_insulation_waits_for_that() {
    use coachwire::plan::Known;
    let mut p = super::lines::dc_dc("8 AWG");
    let line = p.runs.iter_mut().find(|r| r.id.as_str() == "W10").expect("there");
    line.gauge = Known::Unknown;
    line.legs[0].insulation_c = Known::Unknown;
    line.protection[0].amps_a = Known::Unknown;
    let proposal = Engine::default().propose_sizes(&p, &Stock::default(), false);
    let why = &proposal.rows.iter().find(|r| r.run.as_str() == "W10").expect("a row").why;
    assert!(why.contains("waits for runs.W10.legs.L1.insulation_c"), "{why}");
    assert!(!why.contains("runs.W10.gauge"), "{why}");
    // In words, each field that is waited for.
    let text = format!("{why}; F1 left open: waits for runs.W10.legs.L1.length_m");
    let words = coachwire::wording::number::waits(&p, &text);
    assert!(!words.contains("runs.") && words.contains("W10 L1 insulation"), "{words}");
}

/// Two single leads of a controller crossed on the bars of plus and minus (polarity): no plus is drawn to the bar of minus, which would be
/// a dead short.
#[test]
fn no_plus_is_drawn_to_a_bar_of_minus() {
    let single = |id: &str, from: &str, to: &str, gauge: &str, m: f64, fuse: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", return_path: "none",
                legs: [(id: "L1", length_m: {m:?}, insulation_c: 105.0)]{fuse})"#
        )
    };
    let fuse = r#", protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 70.0, distance_m: 0.1)]"#;
    let build = |plus: &str, minus: &str| {
        let out =
            |run: &str| coachwire::plan::Edit::Remove { at: coachwire::plan::FieldPath::new(format!("runs.{run}")) };
        let p = sound().with(&Step { name: "out".into(), edits: vec![out("W2")] }).expect("there");
        let p = insert(&p, "devices", r#"(id: "NB", kind: "bus")"#);
        let mut p = insert(&p, "runs", &single("N1", "NB", "BK-", "4/0 AWG", 0.6, ""));
        for id in ["W3", "W4"] {
            let run = p.runs.iter_mut().find(|r| r.id.as_str() == id).expect("there");
            run.return_path = coachwire::plan::wiring::Return::None;
        }
        for id in ["W5", "W6"] {
            let run = p.runs.iter_mut().find(|r| r.id.as_str() == id).expect("there");
            run.negative_from = Some(coachwire::plan::Known::Is("NB".parse().expect("id")));
        }
        let chassis = p.runs.iter_mut().find(|r| r.id.as_str() == "W7").expect("there");
        chassis.from = coachwire::plan::Known::Is("NB".parse().expect("id"));
        let p = insert(&p, "runs", &single("K1", "C1", plus, "2 AWG", 0.3, fuse));
        insert(&p, "runs", &single("K2", "C1", minus, "2 AWG", 0.3, ""))
    };
    let (right, wrong) = (build("BUS", "NB"), build("NB", "BUS"));
    assert!(!evaluate(&right).findings.iter().any(|f| f.level == Level::Stop), "{}", texts(&evaluate(&right)));
    let r = evaluate(&wrong);
    let mut offered = 0;
    for f in &r.findings {
        for step in Engine::default().cures(&wrong, &Stock::default(), f) {
            let after = wrong.with(&step).expect("applies");
            let joins = |r: &&Run| {
                let ends = [&r.from, &r.to].map(|k| k.known().map(|id| id.to_string()).unwrap_or_default());
                ends.contains(&"NB".to_string()) && ends.contains(&"BUS".to_string())
            };
            assert_eq!(after.runs.iter().find(joins).map(|r| r.id.to_string()), None, "{}", step.name);
            offered += 1;
        }
    }
    assert!(offered > 0, "{}", texts(&r));
}
