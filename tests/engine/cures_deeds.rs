//! What a cure says is what it does: what is there is replaced and never rated otherwise on paper, no other stop gets worse,
//! nothing is hidden, and what costs least comes first.

use super::cures::{apply_all, cures, is_curable, offer_all};
use super::explained_raised::three_leads;
use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::wiring::Resets;
use coachwire::plan::{Known, Plan, State, Step, Value};
use coachwire::standards::kinds::FuseFamily;
use coachwire::stock::Stock;

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn stops(r: &Report) -> usize {
    r.findings.iter().filter(|f| f.level == Level::Stop).count()
}

/// Every fuse that was there and is rated otherwise is bought, no breaker any more where it is said to be none, and named with
/// its run, what it is, and what it is in the place of.
fn deed_is_word(p: &Plan, step: &Step) -> usize {
    let after = p.with(step).expect("applies");
    let mut replaced = 0;
    for (run, then) in p.runs.iter().flat_map(|r| r.protection.iter().map(move |f| (r, f))) {
        let now =
            after.runs.iter().find(|r| r.id == run.id).and_then(|r| r.protection.iter().find(|f| f.id == then.id));
        let Some(now) = now.filter(|now| (now.family, now.amps_a) != (then.family, then.amps_a)) else { continue };
        let (Known::Is(family), Known::Is(amps)) = (now.family, now.amps_a) else { panic!("{step:?}") };
        assert!(step.name.contains(run.id.as_str()), "{step:?}");
        assert!(step.name.contains(&format!("{} A {family}", amps.0)), "{step:?}");
        assert!(family == FuseFamily::Breaker || now.resets == Resets::No, "{step:?}");
        if then.state == State::Existing {
            replaced += 1;
            assert_eq!(now.state, State::New, "{step:?}");
            let old = then.family.known().map(ToString::to_string).unwrap_or_default();
            assert!(step.name.contains("new in the place of the ") && step.name.contains(&old), "{step:?}");
        }
    }
    replaced
}

/// A coach's own breaker of 80 A, that closes by itself, in the lead of its alternator to an isolator; beyond it 8 AWG to the
/// batteries, fused there alone.
fn old_coach() -> Plan {
    let lead = [("bank.chemistry", word("AGM")), ("controllers.C1.absorb_v", n(14.4))];
    let p = insert(&with(&sound(), &lead), "devices", r#"(id: "ALT", kind: "alternator", state: "existing")"#);
    let p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator", state: "existing")"#);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W21", from: "ALT", to: "ISO", gauge: "4 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0,
            zone: "engine bay", state: "existing")], protection: [(id: "F1", at: "from", family: "DC breaker", amps_a: 80.0,
            distance_m: 0.15, volts_dc_v: 32.0, interrupt_a: 5000.0, resets: "automatic", state: "existing")])"#,
    );
    insert(
        &p,
        "runs",
        r#"(id: "W22", from: "ISO", to: "BK", gauge: "8 AWG", legs: [(id: "L1", length_m: 5.5, insulation_c: 105.0,
            state: "existing")], protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 40.0, distance_m: 0.15,
            state: "existing")])"#,
    )
}

#[test]
fn an_old_breaker_is_replaced_not_rated_otherwise() {
    let p = old_coach();
    let r = evaluate(&p);
    assert!(says(&r, "fuse-above-conductor", "runs.W21"), "{}", texts(&r));
    let mut replaced = 0;
    for f in r.findings.iter().filter(|f| f.subject.as_str().starts_with("runs.W2")) {
        for step in Engine::default().cures(&p, &Stock::default(), f) {
            replaced += deed_is_word(&p, &step);
        }
    }
    assert!(replaced >= 1, "{}", texts(&r));
    is_curable(&p, "fuse-above-conductor", "runs.W21");
    let far = r.findings.iter().find(|f| f.subject.as_str() == "runs.W22" && f.level == Level::Stop).expect("W22");
    let step = &cures(&p, far.check.id, "runs.W22")[0];
    assert!(step.name.starts_with("W22 fused at ISO: "), "{step:?}");
    let after = p.with(step).expect("applies");
    let of = |p: &Plan, run: &str| p.runs.iter().find(|r| r.id.as_str() == run).cloned().expect("run");
    assert_eq!(of(&after, "W21"), of(&p, "W21"));
    assert_eq!(of(&after, "W22").protection.len(), 2);
    apply_all(&p);
}

/// A switch put into the inverter's lead leaves its negative where it goes round the shunt, and that is still said.
#[test]
fn a_switch_hides_no_shunt_bypass() {
    let p = Plan::from_text(sample("thistle").expect("sample").text).expect("reads");
    let before = evaluate(&p);
    let bypass = |r: &Report| found(r, "shunt-bypass").iter().map(|f| f.subject.to_string()).collect::<Vec<_>>();
    assert!(!bypass(&before).is_empty());
    let steps = cures(&p, "no-bank-disconnect", "bank");
    assert!(!steps.is_empty());
    for step in &steps {
        assert_eq!(bypass(&evaluate(&p.with(step).expect("applies"))), bypass(&before), "{step:?}");
    }
    // And it is mended all the same, though its negative loses a little more by the shunt.
    is_curable(&p, "shunt-bypass", &bypass(&before)[0]);
}

/// 3 packs of 30 A x 0.9 give 81 A (0.9 of the rating, common practice), 1000 W draw 94.7 A: four packs, the fourth on a lead like the others',
/// or an inverter of 81 / 94.7 of its watts at most.
#[test]
fn too_large_an_inverter_has_a_cure_where_leads_are_drawn() {
    let fuses = ["X1", "X2", "X3"].map(|lead| (format!("runs.{lead}.protection.F1.amps_a"), n(60.0)));
    let fuses: Vec<(&str, Value)> = fuses.iter().map(|(at, to)| (at.as_str(), to.clone())).collect();
    let sound = with(&three_leads(0.6), &fuses);
    let p = with(&sound, &[("bank.max_discharge_a", n(30.0)), ("inverters.INV.state", word("existing"))]);
    let steps = cures(&p, "inverter-over-discharge-limit", "inverters.INV");
    let after = |i: usize| p.with(&steps[i]).unwrap_or_else(|e| panic!("{e}"));
    let more = after(0);
    assert_eq!((more.bank.parallel.known().map(|x| x.0), more.runs.len()), (Some(4.0), p.runs.len() + 1), "{steps:?}");
    assert!(steps[0].name.starts_with("batteries: 4 in parallel, "), "{steps:?}");
    let other = after(1);
    assert_eq!(other.inverters[0].watts_w.known().map(|w| w.0), Some(700.0), "{steps:?}");
    assert_eq!(other.inverters[0].state, State::New, "another is bought");
    apply_all(&p);
    let surge = [("inverters.INV.surge_w", n(4000.0)), ("bank.peak_a", n(100.0))];
    is_curable(&with(&sound, &surge), "inverter-surge-over-peak", "inverters.INV");
}

/// A breaker of 30 A that closes by itself between a charger of 60 A and the bus, on 12 AWG: a splice with wire and fuse for
/// the current. A larger breaker would leave the wire behind it with 80 A in place of 30 A ahead of it.
#[test]
fn no_cure_makes_another_stop_worse() {
    let charger =
        r#"(id: "CV", kind: "converter", out_a: 60.0, efficiency_pct: 85.0, absorb_v: 14.2, ac_source: "shore")"#;
    let p = insert(&sound(), "chargers", charger);
    let p = insert(
        &p,
        "devices",
        r#"(id: "ARB", kind: "resetting breaker", state: "existing", ratings: (amps_a: 30.0, volts_dc_v: 32.0,
            interrupt_a: 20000.0))"#,
    );
    let run = |p: &Plan, id: &str, from: &str, to: &str, m: f64| {
        let text = format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "12 AWG", legs: [(id: "L1", length_m: {m:?},
            insulation_c: 105.0, state: "existing")])"#
        );
        insert(p, "runs", &text)
    };
    let p = run(&run(&p, "W21", "CV", "ARB", 2.0), "W22", "ARB", "BUS", 0.5);
    let before = evaluate(&p);
    is_curable(&p, "auto-reset-breaker", "devices.ARB");
    is_curable(&p, "device-below-current", "devices.ARB");
    for f in &before.findings {
        for step in Engine::default().cures(&p, &Stock::default(), f) {
            let after = evaluate(&p.with(&step).expect("applies"));
            for was in before.findings.iter().filter(|g| g.check.id == "source-end-unfused") {
                let is = after.findings.iter().find(|g| g.identity() == was.identity());
                assert!(is.is_none_or(|is| is.n(0) <= was.n(0) * 1.01), "{}: {}", step.name, was.text());
            }
        }
    }
    offer_all(&p);
}

/// Of 200 W and 110 W in one string: all of the larger first, whichever stands last; of all the smaller it is said that they
/// harvest less.
#[test]
fn unlike_panels_become_the_better_kind_first() {
    let small = r#"(id: "P2", pmax_w: 110.0, vmp_v: 20.0, imp_a: 5.5, voc_v: 24.0, isc_a: 5.9, cells: 36.0,
        alpha_pct_k: 0.05, beta_pct_k: -0.28, series_fuse_a: 15.0, weight_kg: 7.0)"#;
    let both = insert(&sound(), "panels", small);
    for strings in ["P1+P2", "P2+P1"] {
        let p = with(&both, &[("arrays.A1.strings", Value::Text(strings.into()))]);
        let steps = cures(&p, "unlike-panels", "arrays.A1");
        assert!(steps[0].name.contains("2S1P P1"), "{steps:?}");
        let kwh = |p: &Plan| evaluate(p).year.lived.harvest_kwh.clone().expect("year");
        for step in &steps {
            let less = kwh(&p) - kwh(&p.with(step).expect("applies"));
            assert_eq!(step.name.contains("kWh a year less"), less >= 0.5, "{less} {step:?}");
        }
    }
}

/// Whatever is moved against a drop is moved by half a foot at least, in all: by less a route's length is not known.
/// Source: common practice.
#[test]
fn nothing_is_moved_by_less_than_is_worth_it() {
    let (mut moved, mut least) = (0, f64::MAX);
    for run in ["W2", "W5"] {
        for tenths in 4..=60 {
            let p = with(&sound(), &[(&format!("runs.{run}.legs.L1.length_m"), n(f64::from(tenths) / 10.0))]);
            let r = evaluate(&p);
            for f in found(&r, "drop-over-target") {
                let steps = cures(&p, "drop-over-target", f.subject.as_str());
                for step in steps.iter().filter(|s| s.name.contains(" nearer: ")) {
                    let after = p.with(step).expect("applies");
                    let metres = |p: &Plan| {
                        p.runs.iter().map(|r| r.legs[0].length_m.known().map_or(0.0, |m| m.0)).collect::<Vec<_>>()
                    };
                    let by_m: f64 = metres(&p).iter().zip(metres(&after)).map(|(was, is)| (was - is).max(0.0)).sum();
                    (moved, least) = (moved + 1, by_m.min(least));
                }
            }
        }
    }
    assert!(moved > 5 && least > 0.149, "{moved} {least}");
}

/// Common practice: the controller is moved before its wire gets out of all proportion, past a splice as well; what comes
/// from the panels is longer by as much.
#[test]
fn a_far_controller_is_moved_first() {
    let far = with(&sound(), &[("runs.W2.legs.L1.length_m", n(4.5))]);
    let steps = cures(&far, "drop-over-target", "runs.W2");
    assert!(steps[0].name.starts_with("C1 nearer: ") && steps[0].name.contains("W1 longer"), "{steps:?}");
    let p = insert(&sound(), "devices", r#"(id: "SPL", kind: "splice", state: "existing")"#);
    let old = [
        ("runs.W2.from", Value::Id("SPL".parse().expect("id"))),
        ("runs.W2.gauge", gauge("8 AWG")),
        ("runs.W2.legs.L1.length_m", n(2.0)),
        ("runs.W2.protection.F1.amps_a", n(40.0)),
        ("controllers.C1.out_a", n(30.0)),
    ];
    let p = insert(
        &with(&p, &old),
        "runs",
        r#"(id: "W21", from: "C1", to: "SPL", gauge: "8 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0)])"#,
    );
    let r = evaluate(&p);
    let drop = *found(&r, "drop-over-target").iter().find(|f| f.name(0) == "C1").expect("C1");
    let steps = cures(&p, "drop-over-target", drop.subject.as_str());
    assert!(steps[0].name.starts_with("C1 nearer: ") && steps[0].name.contains("W1 longer"), "{steps:?}");
    let after = p.with(&steps[0]).expect("applies");
    let metres = |p: &Plan, run: &str| {
        let run = p.runs.iter().find(|r| r.id.as_str() == run).expect("run");
        run.legs.iter().map(|l| l.length_m.known().expect("length").0).sum::<f64>()
    };
    let all = |p: &Plan| ["W1", "W2", "W21"].iter().map(|r| metres(p, r)).sum::<f64>();
    near("as long as before", Ok(all(&after)), all(&p), 0.001);
    apply_all(&p);
}

/// A trailer's charge line, drawn from its connector alone, straight onto lithium.
#[test]
fn a_tow_line_onto_lithium_is_said_without_an_alternator() {
    let p = insert(&sound(), "devices", r#"(id: "TOW", kind: "tow connector", state: "existing")"#);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W21", from: "TOW", to: "BUS", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0,
            state: "existing")], protection: [(id: "F1", at: "to", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#,
    );
    let r = evaluate(&p);
    assert!(says(&r, "alternator-on-lithium", "devices.TOW"), "{}", texts(&r));
    // What the vehicle has behind its connector is not judged, and no run is missing.
    assert_eq!(stops(&r), 0, "{}", texts(&r));
    assert!(!r.not_checked.iter().any(|x| x.waits_for.as_str() == "runs"), "{:?}", r.not_checked);
    is_curable(&p, "alternator-on-lithium", "devices.TOW");
    apply_all(&p);
    // A battery of the trailer's own, for its brakes, is no vehicle ahead of the connector, charged from it or not.
    let brakes = insert(&p, "loads", r#"(id: "LB", name: "breakaway brakes", watts_w: 180.0, life_safety: "yes")"#);
    let mut brakes = insert(&brakes, "devices", r#"(id: "BA", kind: "start battery")"#);
    for (id, from, to) in [("W22", "BA", "LB"), ("W23", "TOW", "BA")] {
        let run = format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0)],
                protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)])"#
        );
        brakes = insert(&brakes, "runs", &run);
        assert!(says(&evaluate(&brakes), "alternator-on-lithium", "devices.TOW"), "{}", texts(&evaluate(&brakes)));
    }
    // The car's own battery is: the connector itself is a source no more.
    let car = insert(&p, "devices", r#"(id: "SB", kind: "start battery")"#);
    let lead =
        r#"(id: "W22", from: "SB", to: "TOW", gauge: "10 AWG", legs: [(id: "L1", length_m: 3.0, insulation_c: 90.0)])"#;
    let r = evaluate(&insert(&car, "runs", lead));
    assert!(says(&r, "alternator-on-lithium", "devices.SB") && !says(&r, "alternator-on-lithium", "devices.TOW"));
    let lead = with(&p, &[("bank.chemistry", word("AGM")), ("controllers.C1.absorb_v", n(14.4))]);
    assert!(found(&evaluate(&lead), "alternator-on-lithium").is_empty());
    assert_eq!(stops(&evaluate(&lead)), 0, "{}", texts(&evaluate(&lead)));
}

/// 48 kg of panels and 39 kg of batteries: of 47 kg too many neither alone is enough. Where one of each is too heavy still, no
/// fewer of them are a cure, and the finding says so.
#[test]
fn too_heavy_for_one_kind_alone() {
    let of = |margin: f64| with(&sound(), &[("bank.weight_kg", n(13.0)), ("job.cargo_margin_kg", n(margin))]);
    let steps = cures(&of(40.0), "weight-over-margin", "job");
    let name = "batteries: 2 in parallel, 1 fewer; A1 without 3: 1S1P P1; costs: ";
    assert!(steps[0].name.starts_with(name), "{}", steps[0].name);
    apply_all(&of(40.0));
    assert!(cures(&of(20.0), "weight-over-margin", "job").is_empty());
    let text = found(&evaluate(&of(20.0)), "weight-over-margin")[0].text();
    assert!(text.contains("with one battery and one panel of it still 25 kg"), "{text}");
    let text = found(&evaluate(&of(40.0)), "weight-over-margin")[0].text();
    assert!(!text.contains("still"), "{text}");
}

/// 0.24 m and an inch over the terminals stand in no space of 0.25 m; on their side 0.17 m do, 0.265 m wide each with an inch
/// beside the terminals: three in 0.9 m, not in 0.7 m.
#[test]
fn too_high_for_its_space_lies_on_its_side() {
    let of = |long: f64| {
        let (space, unit) = (["space_l_m", "space_w_m", "space_h_m"], ["unit_l_m", "unit_w_m", "unit_h_m"]);
        let sizes = space.iter().zip([long, 0.5, 0.25]).chain(unit.iter().zip([0.33, 0.17, 0.24]));
        let all: Vec<(String, f64)> = sizes.map(|(field, m)| (format!("bank.{field}"), m)).collect();
        let edits: Vec<(&str, Value)> = all.iter().map(|(at, m)| (at.as_str(), n(*m))).collect();
        with(&sound(), &edits)
    };
    let steps = cures(&of(0.9), "battery-does-not-fit", "bank");
    assert_eq!(steps[0].name, "batteries on their side: where their maker allows it");
    apply_all(&of(0.9));
    assert!(cures(&of(0.7), "battery-does-not-fit", "bank").is_empty());
    let agm = with(&of(0.9), &[("bank.chemistry", word("AGM"))]);
    assert!(cures(&agm, "battery-does-not-fit", "bank").is_empty());
}

/// What the sheet of a fuse says it opens goes for its family's next rating too.
#[test]
fn a_fuse_keeps_its_family_where_a_rating_of_it_passes() {
    let p = insert(
        &with(&sound(), &[("loads.L1.watts_w", n(90.0))]),
        "runs",
        r#"(id: "W8", from: "FP", to: "L1", gauge: "12 AWG", legs: [(id: "L1", length_m: 2.0, insulation_c: 90.0)],
            protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 7.5, interrupt_a: 20000.0, distance_m: 0.1)])"#,
    );
    let steps = cures(&p, "fuse-below-design", "runs.W8");
    assert_eq!(steps[0].name, "W8 fuse: 10 A ISO 8820-3 C");
    apply_all(&p);
}

/// A converter of 13.6 V beside a controller of 14.4 V: set as that one, so that the two agree.
#[test]
fn a_setting_outside_is_set_as_the_other_source_has_it() {
    let both = [("controllers.C1.absorb_v", n(14.4)), ("controllers.C1.float_v", n(13.4))];
    let converter = r#"(id: "CV", kind: "converter", out_a: 45.0, efficiency_pct: 85.0, absorb_v: 13.6, float_v: 13.4,
        ac_source: "shore")"#;
    let p = insert(&with(&sound(), &both), "chargers", converter);
    let step = &cures(&p, "charge-volts-outside-window", "chargers.CV")[0];
    let after = evaluate(&p.with(step).expect("applies"));
    assert!(found(&after, "profiles-disagree").is_empty(), "{step:?}");
}

/// 24 m of 10 AWG, 1.24 ohm/1000 ft at 75 C (NEC Chapter 9 Table 8), at 60 C: 0.093 ohm; 13.2 V squared over four times that
/// are 469 W, and 60 A at 14.2 V, 90 %, ask for 947 W.
#[test]
fn a_line_that_cannot_carry_its_charger_is_said_with_its_numbers() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let charger =
        r#"(id: "DC", kind: "DC-DC", out_a: 60.0, efficiency_pct: 90.0, absorb_v: 14.2, alternator_low_v: 13.2)"#;
    let p = insert(&p, "chargers", charger);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W21", from: "SB", to: "DC", gauge: "10 AWG", legs: [(id: "L1", length_m: 12.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#,
    );
    let r = evaluate(&p);
    let f = found(&r, "dc-dc-drops-out")[0];
    near("asked", Ok(f.n(1)), 60.0 * 14.2 / 0.9, 1e-6);
    near("brought", Ok(f.n(2)), 469.0, 0.05);
    assert!(
        f.text().contains("asks for 947 W") && f.text().contains(&format!("{:.0} W at most", f.n(2))),
        "{}",
        f.text()
    );
}

/// Thin wire that a charger drops out on carries no current: its rows say so, and a gauge is chosen all the same.
#[test]
fn a_row_on_which_the_charger_drops_out_is_out_and_not_unknown() {
    let p = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let charger =
        r#"(id: "DC", kind: "DC-DC", out_a: 20.0, efficiency_pct: 90.0, absorb_v: 14.2, alternator_low_v: 13.2)"#;
    let p = insert(
        &insert(&p, "chargers", charger),
        "runs",
        r#"(id: "W21", from: "SB", to: "DC", gauge: "4 AWG", legs: [(id: "L1", length_m: 10.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 60.0, distance_m: 0.1)])"#,
    );
    let id = "W21".parse().expect("id");
    assert!(Engine::default().select(&p, &Stock::default(), &id).is_some(), "a choice");
    let rows = Engine::default().ladder(&p, &Stock::default(), &coachwire::engine::LadderOf::Gauge(id));
    let mut out = 0;
    for rung in &rows {
        let coachwire::engine::ladder::Columns::Gauge(c) = &rung.columns else { panic!("{rung:?}") };
        let drops = says(&evaluate(&p.with(&rung.step).expect("applies")), "dc-dc-drops-out", "chargers.DC");
        assert_eq!(c.drops_out, drops && c.drop_v.is_err(), "{}", c.gauge);
        out += usize::from(c.drops_out);
        assert!(!c.drops_out || matches!(rung.fit, coachwire::engine::ladder::Fit::No(_)), "{}", c.gauge);
    }
    assert!(out >= 1 && out < rows.len(), "{out} of {}", rows.len());
}

/// Six panels of 12 kg, a place each, and 39 kg of batteries, too heavy for what the coach may carry. Those that are left keep places of the
/// strings that are left, each string as many as it has panels.
#[test]
fn fewer_panels_leave_no_place_of_a_string_that_is_gone() {
    let of = |strings: &'static str, turns: bool| {
        let mut p = with(&sound(), &[("arrays.A1.strings", Value::Text(strings.into()))]);
        p.arrays[0].places.clear();
        let count = p.arrays[0].strings.panels();
        let series = p.arrays[0].strings.series();
        (0..count).fold(p, |p, i| {
            let string = if turns { String::new() } else { format!("string: {}.0, ", i / series + 1) };
            let at = format!(r#"(id: "PP{i}", {string}x_m: {:.1}, y_m: 0.1)"#, 0.2 + 1.7 * i as f64);
            insert(&p, "arrays.A1.places", &at)
        })
    };
    let weigh = |p: &Plan, margin_kg: f64| {
        let set =
            [("job.cargo_margin_kg", n(margin_kg)), ("bank.weight_kg", n(13.0)), ("controllers.C1.max_pv_v", n(250.0))];
        let p = with(p, &set);
        let steps = cures(&p, "weight-over-margin", "job");
        (p, steps)
    };
    let mut fewer = 0;
    for strings in ["3S2P P1", "2S3P P1"] {
        for turns in [false, true] {
            for margin_kg in [60.0, 80.0, 100.0] {
                let (p, steps) = weigh(&of(strings, turns), margin_kg);
                for step in steps.iter().filter(|s| s.name.contains("A1 without")) {
                    let after = p.with(step).expect("applies");
                    let (array, own) = (&after.arrays[0], evaluate(&after));
                    assert_eq!(array.places.len(), array.strings.panels(), "{strings} {turns}: {}", step.name);
                    assert!(found(&own, "place-string-not-there").is_empty(), "{}\n{}", step.name, texts(&own));
                    for k in 0..array.strings.0.len() {
                        let here = array.places.iter().enumerate().filter(|(i, place)| match &place.string {
                            Some(string) => string.known().is_some_and(|s| s.0 == (k + 1) as f64),
                            None => i / array.strings.series() == k,
                        });
                        assert_eq!(
                            here.count(),
                            array.strings.0[k].len(),
                            "{strings} {turns}, string {k}: {}",
                            step.name
                        );
                    }
                    fewer += 1;
                }
            }
        }
    }
    assert!(fewer >= 8, "{fewer} cures with fewer panels");
}
