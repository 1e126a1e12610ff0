//! The twenty-five usual mistakes, each caught at design time with its number, each beside a right twin that says
//! nothing of the kind. Those of the roof stand in `roof.rs`: 15 (shadow in series), 16 (glued), 17 (feet and screws),
//! 18 (lids, exits, ways); of 24, the list of parts stands in `parts.rs`, prices and counts in `terminals.rs` and `stock_prices.rs`.

use super::samples::SOUND;
use super::{evaluate, found, near, plan, says, texts};
use coachwire::engine::{Engine, Level, Report};
use coachwire::plan::samples::sample;
use coachwire::plan::{Edit, FieldPath, ListPath, Plan, Step, Value};
use coachwire::stock::Stock;

pub(super) type Edits<'a> = &'a [(&'a str, Value)];

pub(super) fn with(p: &Plan, edits: Edits<'_>) -> Plan {
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() }).collect();
    p.with(&Step { name: "test".into(), edits }).unwrap_or_else(|e| panic!("{e}"))
}

pub(super) fn insert(p: &Plan, list: &str, item: &str) -> Plan {
    let at = ListPath::new(list);
    let last = p.list_at(&at).and_then(|l| l.len().checked_sub(1).and_then(|i| l.id_at(i))).cloned();
    let edit = Edit::Insert { list: at, after: last, item: item.into() };
    p.with(&Step::one("test", edit)).unwrap_or_else(|e| panic!("{e}"))
}

pub(super) fn sound() -> Plan {
    plan(SOUND)
}

fn n(x: f64) -> Value {
    Value::Number(x)
}

pub(super) fn word(w: &'static str) -> Value {
    Value::Word(w)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

fn id(text: &str) -> Value {
    Value::Id(text.parse().expect("id"))
}

/// The wrong plan has the finding; its right twin has none of that check, and no stop.
pub(super) fn caught(what: &str, wrong: &Plan, right: &Plan, level: Level, check: &str, subject: &str) -> Report {
    let r = evaluate(wrong);
    let here = r.findings.iter().any(|f| f.check.id == check && f.subject.as_str() == subject && f.level == level);
    assert!(here, "{what}: {level} {check} {subject} among\n{}{:?}", texts(&r), r.not_checked);
    assert!(found(&r, check).iter().all(|f| !f.source_said().is_empty()), "{what}: a source");
    let r2 = evaluate(right);
    assert!(found(&r2, check).is_empty(), "{what}, right twin:\n{}", texts(&r2));
    assert!(!r2.findings.iter().any(|f| f.level == Level::Stop), "{what}, right twin:\n{}", texts(&r2));
    // What is offered against any of it cures it and adds no stop.
    super::cures::apply_all(wrong);
    if level != Level::Note {
        super::cures::is_curable(wrong, check, subject);
    }
    r
}

fn one_edit(what: &str, wrong: Edits<'_>, right: Edits<'_>, level: Level, check: &str, subject: &str) -> Report {
    caught(what, &with(&sound(), wrong), &with(&sound(), right), level, check, subject)
}

#[test]
fn m01_string_over_the_controllers_volts_in_the_cold() {
    // Five of 24.9 V at -12 C, -0.28 %/K: 124.5 x (1 + 0.0028 x 37) = 137.4 V.
    let wrong = [("arrays.A1.strings", Value::Text("5S1P P1".into()))];
    let r = one_edit("1", &wrong, &[], Level::Stop, "cold-voc-over-limit", "arrays.A1");
    near("volts", Ok(found(&r, "cold-voc-over-limit")[0].n(0)), 137.4, 0.001);
}

#[test]
fn m02_the_way_there_and_back_counts() {
    // 8 AWG, 7 m one way, 14 m of copper: 0.6282 ohm/1000 ft at 20 C (NEC Chapter 9 Table 8, reduced by 234.5 + T).
    let ohm = coachwire::engine::conductors_ohm(&sound(), &"W1".parse().expect("id"), 20.0).expect("run");
    near("both ways", ohm.map(|o| o.0), 14.0 / 304.8 * 0.6405, 0.04);
    // Where nothing is drawn that brings the current back.
    let one_way = [("runs.W6.return_path", word("none"))];
    one_edit("2", &one_way, &[], Level::Caution, "return-not-drawn", "runs.W6");
}

/// Of the parts that are forgotten: lugs. 2 AWG on a 1/2 in stud is no lug that is usually made, on 3/8 in it is
/// (`lug_cable_to_stud.csv`). The list counts two lugs for the one end whose stud is known (common practice, one a pole).
#[test]
fn m24_lugs_that_are_not_made() {
    let on = |stud: &str| {
        let text = Value::Text(stud.into());
        let thin = [("runs.W5.gauge", gauge("2 AWG")), ("inverters.INV.watts_w", n(500.0))];
        with(&with(&sound(), &thin), &[("inverters.INV.ratings.stud", text)])
    };
    let r = caught("24", &on("1/2"), &on("3/8"), Level::Note, "lug-not-usual", "runs.W5");
    let f = found(&r, "lug-not-usual")[0];
    near("2 AWG, mm2", Ok(f.n(0)), 33.6, 0.01);
    super::cures::is_curable(&on("1/2"), "lug-not-usual", "runs.W5");
    for stud in ["1/2", "3/8"] {
        assert_eq!(evaluate(&on(stud)).price.lugs_not_counted, 2, "{stud}");
    }
}

#[test]
fn m03_controller_far_from_the_battery() {
    let far = [("runs.W2.legs.L1.length_m", n(4.5))];
    one_edit("3", &far, &[], Level::Caution, "drop-over-target", "runs.W2");
}

#[test]
fn m04_fuse_bigger_than_the_wire() {
    let wrong = [("runs.W6.gauge", gauge("10 AWG")), ("runs.W6.protection.F1.amps_a", n(80.0))];
    let right = [("runs.W6.gauge", gauge("10 AWG")), ("runs.W6.protection.F1.amps_a", n(30.0))];
    let r = one_edit("4", &wrong, &right, Level::Stop, "fuse-above-conductor", "runs.W6");
    assert_eq!(found(&r, "fuse-above-conductor")[0].n(1), 30.0);
}

#[test]
fn m05_fuse_at_the_wrong_end_or_too_far() {
    // 6 AWG, not protected by the 150 A ahead of it, fused at the controller.
    let wrong = [
        ("runs.W2.protection.F1.at", word("from")),
        ("runs.W2.legs.L1.length_m", n(1.5)),
        ("runs.W2.gauge", gauge("6 AWG")),
    ];
    one_edit("5, wrong end", &wrong, &[], Level::Stop, "fuse-far-from-source", "runs.W2");
    let far = [("runs.W3.protection.F1.distance_m", n(0.55))];
    one_edit("5, far", &far, &[], Level::Stop, "fuse-far-from-source", "runs.W3");
    let none = [("runs.W3.protection.F1.state", word("removed"))];
    one_edit("5, none", &none, &[], Level::Stop, "source-end-unfused", "runs.W3");
}

#[test]
fn m06_fuse_that_cannot_break_a_lithium_fault() {
    let wrong = [("runs.W3.protection.F1.family", word("ISO 8820-5 SF51"))];
    let r = one_edit("6", &wrong, &[], Level::Stop, "interrupt-below-fault", "runs.W3");
    near("three of 3 mohm", r.bank.fault_a.map(|a| a.0), 13_300.0, 0.001);
}

#[test]
fn m07_low_volt_device_on_the_array() {
    let wrong = [("runs.W1.protection.F1.volts_dc_v", n(32.0))];
    one_edit("7", &wrong, &[], Level::Stop, "fuse-volts-low", "runs.W1");
}

#[test]
fn m08_inverter_wire_too_thin() {
    let thin = [("runs.W5.gauge", gauge("6 AWG")), ("inverters.INV.watts_w", n(1400.0))];
    let right = [("inverters.INV.watts_w", n(1000.0))];
    let r = one_edit("8", &thin, &right, Level::Stop, "conductor-below-current", "runs.W5");
    near("amps", r.runs[4].design_a.clone().map(|a| a.0), 1400.0 / (12.0 * 0.88), 1e-6);
}

#[test]
fn m09_inverter_above_the_packs() {
    let limit = [("bank.max_discharge_a", n(30.0))];
    one_edit("9, continuous", &limit, &[], Level::Caution, "inverter-over-discharge-limit", "inverters.INV");
    let surge = [("inverters.INV.surge_w", n(4000.0)), ("bank.peak_a", n(100.0))];
    let right = [("inverters.INV.surge_w", n(3000.0)), ("bank.peak_a", n(100.0))];
    let r = one_edit("9, surge", &surge, &right, Level::Caution, "inverter-surge-over-peak", "inverters.INV");
    let f = found(&r, "inverter-surge-over-peak")[0];
    near("surge", Ok(f.n(0)), 4000.0 / (12.0 * 0.88), 1e-6);
    assert_eq!(f.n(1), 300.0);
    let cutoff = [("inverters.INV.cutoff_v", n(10.5)), ("bank.discharge_cutoff_v", n(10.8))];
    let right = [("inverters.INV.cutoff_v", n(11.6)), ("bank.discharge_cutoff_v", n(10.8))];
    one_edit("9, cut-off", &cutoff, &right, Level::Caution, "inverter-cut-off-low", "inverters.INV");
}

#[test]
fn m10_lead_settings_on_lithium() {
    let equalise = [("controllers.C1.equalise_v", n(15.8))];
    one_edit("10", &equalise, &[], Level::Stop, "equalise-not-allowed", "controllers.C1");
    let warm = [("controllers.C1.temp_comp_mv_k", n(-30.0))];
    one_edit("10", &warm, &[], Level::Stop, "compensation-on-lithium", "controllers.C1");
}

#[test]
fn m11_old_converter_kept() {
    let converter = r#"(id: "CV", kind: "converter", out_a: 45.0, efficiency_pct: 85.0, absorb_v: ABSORB,
        ac_source: "shore")"#;
    let wrong = insert(&sound(), "chargers", &converter.replace("ABSORB", "13.6"));
    let right = insert(&sound(), "chargers", &converter.replace("ABSORB", "14.2"));
    caught("11", &wrong, &right, Level::Caution, "profiles-disagree", "chargers.CV");
    // One that says nothing is not checked, never taken for right.
    let unknown = evaluate(&insert(&sound(), "chargers", r#"(id: "CV", kind: "converter")"#));
    assert!(unknown.not_checked.iter().any(|x| x.subject.as_str() == "chargers.CV"), "{:?}", unknown.not_checked);
}

#[test]
fn m12_cold_lithium_charged() {
    let wrong = [("bank.charge_cutoff_c", Value::Nothing)];
    one_edit("12", &wrong, &[], Level::Stop, "lithium-charged-cold", "bank");
}

/// A shunt, and negatives that pass it by: named at the post, as a run of its own, or by the chassis bond.
#[test]
fn m13_shunt_bypassed() {
    let shunt = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt")"#);
    let post = with(&shunt, &[("runs.W5.negative_to", id("BK-"))]);
    let right = with(&shunt, &[("runs.W5.negative_to", id("SHN"))]);
    caught("13, at the post", &post, &right, Level::Caution, "shunt-bypass", "runs.W5");
    let bank = with(&shunt, &[("runs.W5.negative_to", id("BK"))]);
    caught("13, at the bank", &bank, &right, Level::Caution, "shunt-bypass", "runs.W5");
    let main = r#"(id: "W9", from: "BK-", to: "TO", gauge: "4/0 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.3, insulation_c: 105.0)])"#;
    let wrong = insert(&shunt, "runs", &main.replace("TO", "BUS"));
    let right = insert(&shunt, "runs", &main.replace("TO", "SHN"));
    caught("13, a run", &wrong, &right, Level::Caution, "shunt-bypass", "runs.W9");
    let bond = with(&shunt, &[("runs.W7.from", id("BK-"))]);
    let right = with(&shunt, &[("runs.W7.from", id("SHN"))]);
    caught("13, the bond", &bond, &right, Level::Caution, "shunt-bypass", "runs.W7");
}

#[test]
fn m14_charger_fed_by_the_inverter() {
    let charger =
        r#"(id: "CV", kind: "converter", out_a: 45.0, efficiency_pct: 85.0, absorb_v: 14.2, ac_source: "AC")"#;
    let wrong = insert(&sound(), "chargers", &charger.replace("AC\"", "inverter\""));
    let right = insert(&sound(), "chargers", &charger.replace("AC\"", "shore\""));
    caught("14", &wrong, &right, Level::Stop, "inverter-feeds-charger", "chargers.CV");
    // On the coach's AC, which shore or inverter feeds: whenever the inverter runs. Rules, section 10.
    let either = insert(&sound(), "chargers", &charger.replace("AC\"", "shore or inverter\""));
    let locked = |to: Value| with(&either, &[("chargers.CV.locked_out", to)]);
    for wrong in [either.clone(), locked(word("no"))] {
        let r = caught("14", &wrong, &locked(word("yes")), Level::Stop, "inverter-feeds-charger", "chargers.CV");
        let text = found(&r, "inverter-feeds-charger")[0].text();
        assert!(text.contains("whenever the inverter runs, as nothing locks it out then"), "{text}");
    }
    let asked = evaluate(&locked(Value::Unknown));
    assert!(found(&asked, "inverter-feeds-charger").is_empty());
    assert!(
        asked.not_checked.iter().any(|c| c.waits_for.as_str() == "chargers.CV.locked_out"),
        "{:?}",
        asked.not_checked
    );
    // An outlet of the inverter's own is never locked out.
    let outlet = with(&wrong, &[("chargers.CV.locked_out", word("yes"))]);
    assert!(says(&evaluate(&outlet), "inverter-feeds-charger", "chargers.CV"));
}

/// Existing parts stand in the chain: 12 AWG prep wire, a breaker that closes by itself.
#[test]
fn m19_what_is_there_already_counts() {
    let prep = [("runs.W2.gauge", gauge("12 AWG")), ("runs.W2.legs.L1.state", word("existing"))];
    one_edit("19, wire", &prep, &[], Level::Stop, "conductor-below-current", "runs.W2");
    let reset = [("runs.W2.protection.F1.resets", word("automatic"))];
    let manual = [("runs.W2.protection.F1.resets", word("manual"))];
    one_edit("19, breaker", &reset, &manual, Level::Caution, "auto-reset-breaker", "runs.W2");
    let lead = with(&sound(), &[("bank.chemistry", word("AGM")), reset[0].clone()]);
    assert!(found(&evaluate(&lead), "auto-reset-breaker").is_empty(), "lead takes it");
    let breaker = insert(&sound(), "devices", r#"(id: "CB", kind: "resetting breaker", ratings: (amps_a: 80.0))"#);
    let wired = with(&breaker, &[("runs.W2.from", id("CB"))]);
    let wired = insert(
        &wired,
        "runs",
        r#"(id: "W9", from: "C1", to: "CB", gauge: "2 AWG", legs: [(id: "L1", length_m: 0.2, insulation_c: 90.0)])"#,
    );
    assert!(says(&evaluate(&wired), "auto-reset-breaker", "devices.CB"), "{}", texts(&evaluate(&wired)));
    super::cures::apply_all(&wired);
    super::cures::is_curable(&wired, "auto-reset-breaker", "devices.CB");
    // The fuse of W2 stays, and stands for the breaker that goes.
    let steps = super::cures::cures(&wired, "auto-reset-breaker", "devices.CB");
    assert_eq!(steps[0].name, "CB: a splice, the fuse beside it stays");
}

#[test]
fn m20_unlike_panels_in_a_string() {
    let other = r#"(id: "P2", pmax_w: 100.0, vmp_v: 18.0, imp_a: 5.56, voc_v: 22.0, isc_a: 6.0, cells: 36.0,
        alpha_pct_k: 0.05, beta_pct_k: -0.28, series_fuse_a: 15.0, weight_kg: 7.0)"#;
    let both = insert(&sound(), "panels", other);
    let wrong = with(&both, &[("arrays.A1.strings", Value::Text("P1+P2".into()))]);
    let r = caught("20", &wrong, &both, Level::Caution, "unlike-panels", "arrays.A1");
    // Imp 10.1 A and 5.56 A in one string: 45 % apart, over the 5 % of common practice.
    assert!(found(&r, "unlike-panels")[0].n(0) > 5.0, "{}", texts(&r));
    assert!(found(&evaluate(&both), "unlike-panels-loss").is_empty());
}

#[test]
fn m21_alternator_overdrawn_and_a_long_tow_line() {
    let mut p = insert(&sound(), "devices", r#"(id: "ALT", kind: "alternator", ratings: (amps_a: 80.0))"#);
    p = insert(&p, "devices", r#"(id: "SB", kind: "start battery")"#);
    p = insert(
        &p,
        "chargers",
        r#"(id: "DC", kind: "DC-DC", out_a: 40.0, efficiency_pct: 90.0, alternator: "ALT", absorb_v: 14.2,
        input_cutout_v: 11.5)"#,
    );
    p = insert(
        &p,
        "runs",
        r#"(id: "W9", from: "SB", to: "DC", gauge: "2 AWG", legs: [(id: "L1", length_m: 4.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 80.0, distance_m: 0.1)])"#,
    );
    let strong = [("devices.ALT.ratings.amps_a", n(180.0))];
    caught("21, alternator", &p, &with(&p, &strong), Level::Caution, "alternator-overdrawn", "chargers.DC");
    let long = [("runs.W9.gauge", gauge("8 AWG")), ("runs.W9.legs.L1.length_m", n(12.0)), strong[0].clone()];
    caught("21, line", &with(&p, &long), &with(&p, &strong), Level::Caution, "dc-dc-drops-out", "chargers.DC");
}

/// 160 W by PWM on 190 Ah: 8.65 A is 4.6 % of C20.
#[test]
fn m22_array_too_small_for_lead() {
    let p = Plan::from_text(sample("sorrel").expect("sample").text).unwrap_or_else(|e| panic!("{e}"));
    let right = with(&p, &[("bank.unit_ah", n(80.0))]);
    let r = caught("22", &p, &right, Level::Note, "array-small-for-lead", "bank");
    near("share", Ok(found(&r, "array-small-for-lead")[0].n(0)), 4.55, 0.005);
    assert!(found(&r, "array-small-for-lead")[0].text().contains("needs shore full charge weekly"));
    // Twice the panel on 190 Ah is 9.1 %: over the 5 % of C20 that common practice asks; that is on offer where the
    // controller takes it, and its step is what it says.
    let steps = super::cures::cures(&p, "array-small-for-lead", "bank");
    assert!(!steps.is_empty() && steps[0].name.contains("1 more panel where the roof has room"), "{steps:?}");
    let more = p.with(&steps[0]).expect("applies");
    assert_eq!(more.arrays[0].strings.panels(), 2 * p.arrays[0].strings.panels());
    assert!(found(&evaluate(&more), "array-small-for-lead").is_empty());
}

/// The bond is as thick as the 4/0 lead (NEC 552.10(C)(4)); a case's own bond is 8 AWG at least.
#[test]
fn m23_bond_missing_or_small() {
    let none = [("runs.W7.legs.L1.state", word("removed"))];
    one_edit("23, none", &none, &[], Level::Caution, "bond-missing", "devices.CHS");
    let thin = [("runs.W7.gauge", gauge("8 AWG"))];
    let r = one_edit("23, thin", &thin, &[], Level::Caution, "bond-small", "runs.W7");
    assert!(found(&r, "bond-small")[0].text().contains("4/0 AWG"), "{}", texts(&r));
    let case = r#"(id: "W9", from: "INV", to: "CHS", gauge: "8 AWG", return_path: "none",
        legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)])"#;
    assert!(found(&evaluate(&insert(&sound(), "runs", case)), "bond-small").is_empty());
    let thin_case = insert(&sound(), "runs", &case.replace("8 AWG", "10 AWG"));
    assert!(says(&evaluate(&thin_case), "bond-small", "runs.W9"));
    let mut undrawn = sound();
    undrawn.devices.retain(|d| d.id.as_str() != "CHS");
    undrawn.runs.retain(|r| r.id.as_str() != "W7");
    let r = evaluate(&undrawn);
    assert_eq!(found(&r, "bond-missing").iter().map(|f| f.level).collect::<Vec<_>>(), [Level::Note]);
}

/// Four panels of 12 kg and three batteries of 11 kg: 81 kg.
#[test]
fn m25_weight_and_room() {
    let heavy = [("job.cargo_margin_kg", n(70.0)), ("bank.weight_kg", n(11.0))];
    let right = [("job.cargo_margin_kg", n(90.0)), ("bank.weight_kg", n(11.0))];
    let r = one_edit("25, weight", &heavy, &right, Level::Note, "weight-over-margin", "job");
    near("kg", Ok(found(&r, "weight-over-margin")[0].n(0)), 81.0, 1e-9);
    super::cures::is_curable(&with(&sound(), &heavy), "weight-over-margin", "job");
    let text = found(&r, "weight-over-margin")[0].text();
    assert!(text.ends_with("70 kg more; heaviest: A1 48 kg, BK 33 kg"), "{text}");
    let space = |l: f64, h: f64| {
        [
            ("bank.space_l_m", n(l)),
            ("bank.space_w_m", n(0.34)),
            ("bank.space_h_m", n(h)),
            ("bank.unit_l_m", n(0.33)),
            ("bank.unit_w_m", n(0.17)),
            ("bank.unit_h_m", n(0.22)),
        ]
    };
    // 0.52 x 0.34: two along and one across; 22 cm and an inch over the terminals are 245 mm.
    one_edit("25, room", &space(0.49, 0.30), &space(0.52, 0.30), Level::Note, "battery-does-not-fit", "bank");
    super::cures::is_curable(&with(&sound(), &space(0.49, 0.30)), "battery-does-not-fit", "bank");
    let r = one_edit("25, height", &space(0.52, 0.24), &space(0.52, 0.25), Level::Note, "battery-does-not-fit", "bank");
    near("mm", Ok(found(&r, "battery-does-not-fit")[0].n(0)), 245.4, 1e-3);
}

/// Also: no string fuse with three in parallel, no disconnect, life safety behind a switch.
#[test]
fn also_strings_disconnects_and_life_safety() {
    let none = [("runs.W1.protection.F1.state", word("removed"))];
    one_edit("array", &none, &[], Level::Caution, "no-array-disconnect", "arrays.A1");
    let bus = [("devices.SW.kind", word("bus"))];
    one_edit("bank", &bus, &[], Level::Caution, "no-bank-disconnect", "bank");
    let three = [("arrays.A1.strings", Value::Text("1S3P P1".into())), ("runs.W1.gauge", gauge("6 AWG"))];
    assert!(says(&evaluate(&with(&sound(), &three)), "string-fuse-missing", "controllers.C1"));
}

/// NEC 690.8 and 690.9(B): 1.25 x 1.25 x 10.7 A = 16.7 A at least, the panel's maximum series fuse of 20 A at most.
#[test]
fn string_fuses_between_the_current_and_the_panels_limit() {
    let of = |amps: f64| {
        let fuse = format!(
            r#"(id: "F2", at: "from", family: "IEC 60269-6 gPV", amps_a: {amps:.1}, volts_dc_v: 1000.0, distance_m: 0.1)"#
        );
        let three =
            with(&sound(), &[("arrays.A1.strings", Value::Text("1S3P P1".into())), ("runs.W1.gauge", gauge("6 AWG"))]);
        evaluate(&insert(&three, "runs.W1.protection", &fuse))
    };
    for (amps, wrong) in [(15.0, true), (16.0, true), (20.0, false), (25.0, true)] {
        let r = of(amps);
        assert_eq!(says(&r, "string-fuse-rating", "runs.W1"), wrong, "{amps} A\n{}", texts(&r));
        assert!(found(&r, "string-fuse-missing").is_empty());
        if wrong {
            let f = found(&r, "string-fuse-rating")[0];
            near("least", Ok(f.n(1)), 16.72, 1e-3);
            assert!(f.level == Level::Stop && f.n(2) == 20.0);
        }
    }
}

pub(super) fn with_own_panel(load: &str) -> Plan {
    let p = insert(&sound(), "devices", r#"(id: "AON", kind: "fuse panel")"#);
    let p = insert(
        &p,
        "runs",
        r#"(id: "W8", from: "BK", to: "AON", gauge: "8 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 20.0, distance_m: 0.1)])"#,
    );
    let p = insert(&p, "loads", load);
    insert(
        &p,
        "runs",
        r#"(id: "W9", from: "AON", to: "L9", gauge: "14 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 90.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 3.0, distance_m: 0.05)])"#,
    )
}

/// 49 CFR 393.43(d) and common practice: nothing may switch them off, no inverter, no load output, no negative switch.
#[test]
fn life_safety_stays_alive() {
    let detector = r#"(id: "L9", name: "gas detector", watts_w: 1.4, hours_day: 24.0, life_safety: "yes")"#;
    let right = with_own_panel(detector);
    let inverter = with(&right, &[("loads.L9.supply", word("inverter"))]);
    caught("on the inverter", &inverter, &right, Level::Stop, "life-safety-behind-cut-off", "loads.L9");
    let output = with(&right, &[("runs.W9.from", id("C1"))]);
    caught("on the load output", &output, &right, Level::Stop, "life-safety-behind-cut-off", "loads.L9");
    let negative = with(&right, &[("runs.W9.negative_from", id("SW"))]);
    caught("negative", &negative, &right, Level::Stop, "life-safety-negative-switched", "loads.L9");
    let switched = with(&right, &[("runs.W8.from", id("BUS"))]);
    caught("behind the switch", &switched, &right, Level::Stop, "life-safety-behind-switch", "loads.L9");
    let brakes = detector.replace("gas detector", "breakaway brakes");
    let cuts = with(&with_own_panel(&brakes), &[("bank.discharge_cutoff_v", n(10.8))]);
    caught("brakes", &cuts, &with_own_panel(&brakes), Level::Caution, "breakaway-on-cut-off", "loads.L9");
}

/// By hand, IEC 62485-2: 225 Ah flooded at 12 V: 0.05 x 6 x 20 x 225/1000 = 1.35 m3/h, 28 x 1.35 = 37.8 cm2 each; a small
/// one needs the 1.7 in2 of NEC 552.10(D), 11 cm2. Nothing that sparks stands by the gas bottles (NFPA 1192).
#[test]
fn vents_and_the_gas_locker() {
    let of = |ah: f64, area: Value| {
        let p = with(
            &sound(),
            &[
                ("bank.chemistry", word("flooded")),
                ("bank.vented", word("yes")),
                ("bank.parallel", n(1.0)),
                ("bank.unit_v", n(12.0)),
                ("bank.unit_ah", n(ah)),
                ("bank.vent_area_cm2", area),
            ],
        );
        evaluate(&p)
    };
    let small = of(225.0, n(37.0));
    near("wanted", Ok(found(&small, "vents-small")[0].n(1)), 37.8, 1e-9);
    assert!(found(&of(225.0, n(38.0)), "vents-small").is_empty());
    near("least", Ok(found(&of(40.0, n(10.0)), "vents-small")[0].n(1)), 11.0, 1e-9);
    assert!(found(&of(40.0, n(11.0)), "vents-small").is_empty());
    assert!(of(40.0, Value::Unknown).unknown.iter().any(|p| p.as_str() == "bank.vent_area_cm2"));
    let locker = [("inverters.INV.zone", word("gas locker"))];
    let cabinet = [("inverters.INV.zone", word("cabinet"))];
    one_edit("gas", &locker, &cabinet, Level::Stop, "sparks-by-gas", "inverters.INV");
    let sealed = [locker[0].clone(), ("inverters.INV.ratings.sparks", word("no"))];
    assert!(found(&evaluate(&with(&sound(), &sealed)), "sparks-by-gas").is_empty(), "its sheet says it does not");
    let (by, boxed) = ([("bank.zone", word("gas locker"))], [("bank.zone", word("battery box"))]);
    one_edit("bank by gas", &by, &boxed, Level::Caution, "bank-by-gas", "bank");
}

/// A flooded bank in a vented box, which gives and takes what the sound plan asks of it.
pub(super) fn flooded_in_a_box() -> [(&'static str, Value); 7] {
    [
        ("bank.chemistry", word("flooded")),
        ("bank.vented", word("yes")),
        ("bank.zone", word("battery box")),
        ("bank.max_charge_a", n(100.0)),
        ("bank.max_discharge_a", n(200.0)),
        ("bank.cca_a", n(300.0)),
        ("inverters.INV.watts_w", n(800.0)),
    ]
}

#[test]
fn flooded_gas_heat_and_series() {
    let flooded = flooded_in_a_box();
    let mut wrong = flooded.to_vec();
    wrong.push(("inverters.INV.zone", word("battery box")));
    let mut right = flooded.to_vec();
    right.push(("inverters.INV.zone", word("basement")));
    one_edit("gas", &wrong, &right, Level::Stop, "sparks-by-battery", "inverters.INV");
    wrong.push(("inverters.INV.ratings.sparks", word("no")));
    assert!(found(&evaluate(&with(&sound(), &wrong)), "sparks-by-battery").is_empty(), "its sheet says it does not");
    let hot = [("inverters.INV.zone", word("engine bay")), ("inverters.INV.ratings.max_ambient_c", n(50.0))];
    let cool = [("inverters.INV.zone", word("cabinet")), ("inverters.INV.ratings.max_ambient_c", n(50.0))];
    one_edit("heat", &hot, &cool, Level::Caution, "device-too-hot", "inverters.INV");
    let series = |edits: Edits<'_>| evaluate(&with(&sound(), edits));
    let two = ("bank.series", n(2.0));
    assert!(says(&series(std::slice::from_ref(&two)), "series-over-limit", "bank"), "unknown limit");
    let r = series(&[two.clone(), ("bank.max_series", n(1.0))]);
    assert!(found(&r, "series-over-limit")[0].text().contains("allows 1"), "{}", texts(&r));
    assert!(!says(&series(&[two, ("bank.max_series", n(4.0))]), "series-over-limit", "bank"));
}

/// Three batteries of 3 mohm, each on its own 4/0 lead to the bus: with one lead of 3 m the split follows
/// g = 1/(R + 3 mohm), 4/0 at 20 C 0.049 ohm/1000 ft, both poles, joints 0.2 mohm, a class T of 0.06 V at 150 A.
#[test]
fn unequal_leads_share_unequally() {
    let lead = super::explained_raised::three_leads;
    let r = evaluate(&lead(3.0));
    let f = found(&r, "uneven-battery-leads");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    let ohm = |m: f64| 2.0 * m / 304.8 * 0.0491 + 0.0002 + 0.06 / 150.0 + 0.003;
    let (short, long) = (1.0 / ohm(0.6), 1.0 / ohm(3.0));
    near("the most", Ok(f[0].n(1)), short / (2.0 * short + long) * 100.0, 0.02);
    near("the least", Ok(f[0].n(2)), long / (2.0 * short + long) * 100.0, 0.02);
    assert_eq!(f[0].name(1), "X3");
    assert!(found(&evaluate(&lead(0.6)), "uneven-battery-leads").is_empty());
}

/// Mistake 25, the polarity of a port assumed: the home run is there already, the controller is new. Right: measured, or
/// all of it there already, or all of it new. Source: trade practice, polarity of prep wire is measured.
#[test]
fn polarity_of_wire_that_is_there_is_measured() {
    let old = ("runs.W1.legs.L1.state", word("existing"));
    let measured = [old.clone(), ("runs.W1.polarity_measured", word("yes"))];
    let r = one_edit("polarity", std::slice::from_ref(&old), &measured, Level::Caution, "polarity-assumed", "runs.W1");
    assert_eq!((found(&r, "polarity-assumed")[0].name(0), found(&r, "polarity-assumed")[0].name(1)), ("W1", "A1"));
    let works = [old, ("arrays.A1.state", word("existing")), ("controllers.C1.state", word("existing"))];
    assert!(found(&evaluate(&with(&sound(), &works)), "polarity-assumed").is_empty());
    assert!(found(&evaluate(&sound()), "polarity-assumed").is_empty());
}

/// The wrong plan as it comes with the program: each planted mistake with its number, each decoy silent.
#[test]
fn thistle_is_read_right() {
    let p = Plan::from_text(sample("thistle").expect("sample").text).unwrap_or_else(|e| panic!("{e}"));
    let r = evaluate(&p);
    let one = |check: &str, subject: &str| {
        let f = r.findings.iter().find(|f| f.check.id == check && f.subject.as_str() == subject);
        f.unwrap_or_else(|| panic!("{check} {subject}:\n{}", texts(&r)))
    };
    near("1: cold volts", Ok(one("cold-voc-over-limit", "arrays.A1").n(0)), 109.9, 0.001);
    let pvd = one("device-volts-low", "devices.PVD");
    assert_eq!(pvd.n(0), 32.0, "2");
    near("2: at least", Ok(pvd.n(1)), 109.9, 0.001);
    let fuse = one("fuse-above-conductor", "runs.W3");
    assert_eq!((fuse.n(0), fuse.n(1)), (80.0, 30.0), "3");
    near("4: wire ahead of the fuse", Ok(one("fuse-far-from-source", "runs.W3").n(0)), 15.0 * 0.3048, 1e-6);
    let cable = one("conductor-below-current", "runs.W5");
    near("5: amps", Ok(cable.n(0)), 189.4, 0.001);
    assert_eq!(cable.n(1), 121.8, "5: 4 AWG in the open, 140 A by NEC 310.17 at 90 C, x 0.87 at 45 C");
    near("6: at the posts", r.bank.fault_a.clone().map(|a| a.0), 13_300.0, 0.001);
    assert_eq!(one("interrupt-below-fault", "runs.W4").n(1), 6000.0, "6");
    assert_eq!(one("equalise-not-allowed", "controllers.C1").n(0), 15.8, "7");
    near("7: at 0 C", Ok(one("compensation-on-lithium", "controllers.C1").n(1)), 16.55, 0.001);
    one("lithium-charged-cold", "bank");
    one("shunt-bypass", "runs.W5");
    one("inverter-feeds-charger", "chargers.CH1");
    // Decoys: over-panelling, 4 AWG to a 30 A fuse, an 18 AWG sense lead at 1 A, negatives without fuses.
    for quiet in ["runs.W7", "runs.W11"] {
        assert!(!r.findings.iter().any(|f| f.subject.as_str() == quiet), "{quiet}:\n{}", texts(&r));
    }
    assert!(!says(&r, "isc-over-input", "controllers.C1"));
    assert!(!r.findings.iter().any(|f| f.check.id == "source-end-unfused" && f.name(1) == "SHN"));
}

/// What a step can cure has one: it removes its finding and adds no stop.
#[test]
fn cures_of_the_book() {
    let cured = |p: &Plan, check: &str| {
        let before = evaluate(p);
        let f = found(&before, check)[0].clone();
        let steps = Engine::default().cures(p, &Stock::default(), &f);
        assert!(!steps.is_empty(), "{check}: no cure for {}", f.text());
        for step in steps {
            let after = evaluate(&p.with(&step).unwrap_or_else(|e| panic!("{step:?}: {e}")));
            assert!(!after.findings.iter().any(|g| g.identity() == f.identity()), "{step:?}:\n{}", texts(&after));
            let stops = |r: &Report| r.findings.iter().filter(|f| f.level == Level::Stop).count();
            assert!(stops(&after) <= stops(&before), "{step:?}:\n{}", texts(&after));
        }
    };
    let shunt = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt")"#);
    cured(&with(&shunt, &[("runs.W5.negative_to", id("BK-"))]), "shunt-bypass");
    cured(&with(&shunt, &[("runs.W5.negative_from", id("BK-"))]), "shunt-bypass");
    cured(&with(&shunt, &[("runs.W7.from", id("BK-"))]), "shunt-bypass");
    cured(&with(&sound(), &[("runs.W7.gauge", gauge("8 AWG"))]), "bond-small");
    cured(&with(&sound(), &[("runs.W7.legs.L1.state", word("removed"))]), "bond-missing");
    let mut undrawn = sound();
    undrawn.devices.retain(|d| d.id.as_str() != "CHS");
    undrawn.runs.retain(|r| r.id.as_str() != "W7");
    cured(&undrawn, "bond-missing");
    cured(&with(&sound(), &[("runs.W2.protection.F1.resets", word("automatic"))]), "auto-reset-breaker");
    cured(&with(&sound(), &[("runs.W1.protection.F1.state", word("removed"))]), "no-array-disconnect");
    let low = [("inverters.INV.cutoff_v", n(10.5)), ("bank.discharge_cutoff_v", n(10.8))];
    cured(&with(&sound(), &low), "inverter-cut-off-low");
}
