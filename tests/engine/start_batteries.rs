//! Start batteries beside the bank and beside one another: whose settings hold, whose volts, which drop; and what a report says
//! of them without contradicting itself.

use super::cures::{cures, is_curable};
use super::mistakes::{insert, sound, with, word};
use super::starts::{maintained, radio, run, truck, waits};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Finding, Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn of<'a>(r: &'a Report, check: &str, subject: &str) -> Vec<&'a Finding> {
    found(r, check).into_iter().filter(|f| f.subject.as_str() == subject).collect()
}

/// A charger with an output to the bank's bus and one to the start battery: `battery_chemistry.csv` has 14.8 V at most for 12 V of
/// lead, so that 28.4 V, right for the bank of 24 V, are twice what a battery of 12 V stands.
#[test]
fn a_charger_of_both_is_held_to_both() {
    let p = insert(&maintained("SB"), "runs", &run("W41", ("CH5", "BUS"), "to", "UL 248-15 T", 10.0));
    let set = |p: &Plan, absorb: f64, float: f64| {
        let edits = [
            ("chargers.CH5.absorb_v", n(absorb)),
            ("chargers.CH5.float_v", n(float)),
            ("chargers.CH5.temp_comp_mv_k", n(0.0)),
            ("chargers.CH5.ac_source", word("shore")),
            ("devices.SB.unit_v", n(12.0)),
        ];
        with(p, &edits)
    };
    let wrong = set(&p, 28.4, 27.0);
    let r = evaluate(&wrong);
    let high = of(&r, "charge-volts-high", "chargers.CH5");
    assert!(
        high.len() == 2 && high.iter().all(|f| f.text().contains("the start battery SB (lead) stands 14.80 V")),
        "{}",
        texts(&r)
    );
    let said = found(&r, "charges-start-battery");
    assert!(said.len() == 1 && said[0].text().contains("SB beside the bank"), "{}", texts(&r));
    let steps = cures(&wrong, "charge-volts-high", "chargers.CH5");
    let apart = steps.iter().find(|s| s.name.contains("SB wants a charger of its own")).expect("a cure");
    let after = evaluate(&wrong.with(apart).expect("applies"));
    assert!(of(&after, "charge-volts-high", "chargers.CH5").is_empty(), "{}", texts(&after));
    // On a bank of 12 V the same volts suit both.
    let twelve = with(&p, &[("bank.series", n(1.0)), ("controllers.C1.absorb_v", n(14.2))]);
    let r = evaluate(&set(&twelve, 14.2, 13.5));
    for check in ["charge-volts-high", "charge-volts-outside-window", "compensation-on-lithium"] {
        assert!(of(&r, check, "chargers.CH5").is_empty(), "{}", texts(&r));
    }
    // Compensation suits the start battery, and no bank of lithium.
    let compensated = with(&set(&twelve, 14.2, 13.5), &[("chargers.CH5.temp_comp_mv_k", n(-24.0))]);
    let r = evaluate(&compensated);
    let f = of(&r, "compensation-on-lithium", "chargers.CH5");
    assert!(f.len() == 1 && f[0].text().contains("compensation on lithium"), "{}", texts(&r));
}

/// A setting that is too high for the start battery is copied to no other source of it: another stop, though one of that charger's
/// settings is one already.
#[test]
fn a_cure_brings_no_other_setting_over() {
    let p = insert(&maintained("SB"), "runs", &run("W41", ("CH5", "BUS"), "to", "UL 248-15 T", 10.0));
    let other = r#"(id: "CH6", kind: "shore", out_a: 6.0, efficiency_pct: 90.0, ac_source: "shore", absorb_v: 14.4, float_v: 27.0)"#;
    let p = insert(&insert(&p, "chargers", other), "runs", &run("W42", ("CH6", "SB"), "to", "UL 248-15 T", 10.0));
    let edits = [
        ("chargers.CH5.absorb_v", n(28.4)),
        ("chargers.CH5.float_v", n(27.0)),
        ("chargers.CH5.temp_comp_mv_k", n(0.0)),
        ("devices.SB.unit_v", n(12.0)),
    ];
    let p = with(&p, &edits);
    assert!(says(&evaluate(&p), "profiles-disagree", "chargers.CH6"), "{}", texts(&evaluate(&p)));
    for step in cures(&p, "profiles-disagree", "chargers.CH6") {
        let after = p.with(&step).expect("applies");
        let high = |p: &Plan| of(&evaluate(p), "charge-volts-high", "chargers.CH6").len();
        assert!(high(&after) <= high(&p), "{}", step.name);
    }
}

/// Two start batteries of unlike kinds on one charger: what lead wants, lithium must not have.
#[test]
fn two_start_batteries_are_each_judged() {
    let second = |chemistry: &str| {
        let p = insert(
            &maintained("SB"),
            "devices",
            &format!(r#"(id: "SB2", kind: "start battery", chemistry: "{chemistry}", charge_cutoff_c: 0.0)"#),
        );
        insert(&p, "runs", &run("W41", ("CH5", "SB2"), "to", "UL 248-15 T", 10.0))
    };
    let r = evaluate(&second("LFP"));
    let f = of(&r, "compensation-on-lithium", "chargers.CH5");
    assert!(f.len() == 1 && f[0].text().contains("the start battery SB2 (LFP)"), "{}", texts(&r));
    let said = found(&r, "charges-start-battery");
    assert!(said.len() == 1 && said[0].text().contains("start batteries SB and SB2"), "{}", texts(&r));
    is_curable(&second("LFP"), "compensation-on-lithium", "chargers.CH5");
    assert!(of(&evaluate(&second("AGM")), "compensation-on-lithium", "chargers.CH5").is_empty());
}

fn in_parallel(first: &str, second: &str) -> Plan {
    let p = insert(&sound(), "devices", &format!(r#"(id: "SB", kind: "start battery"{first})"#));
    let p = insert(&p, "devices", &format!(r#"(id: "SB2", kind: "start battery", charge_cutoff_c: 0.0{second})"#));
    insert(&p, "runs", &run("W90", ("SB", "SB2"), "from", "UL 248-15 T", 30.0))
}

/// Kirchhoff: joined by wire two batteries have the same volts at every moment, and what charges the one charges the other.
#[test]
fn start_batteries_in_parallel_are_to_be_alike() {
    let level = |first: &str, second: &str, check: &str| {
        let r = evaluate(&in_parallel(first, second));
        of(&r, check, "devices.SB2").first().map(|f| f.level)
    };
    let (kinds, volts) = ("start-batteries-unlike", "start-batteries-unlike-volts");
    assert_eq!(level("", r#", chemistry: "LFP""#, kinds), Some(Level::Caution));
    assert_eq!(level(r#", chemistry: "AGM""#, r#", chemistry: "flooded""#, kinds), Some(Level::Note));
    for (first, second) in [("", ""), (r#", chemistry: "AGM""#, r#", chemistry: "AGM""#), ("", r#", chemistry: "AGM""#)]
    {
        assert_eq!((level(first, second, kinds), level(first, second, volts)), (None, None), "{first} {second}");
    }
    assert_eq!(level("", ", unit_v: 24.0", volts), Some(Level::Stop));
    assert_eq!(level(", unit_v: 24.0", ", unit_v: 24.0", volts), None);
    // What is led to the first charges the second.
    let charger =
        r#"(id: "CH5", kind: "shore", out_a: 6.0, efficiency_pct: 90.0, absorb_v: 14.4, temp_comp_mv_k: -24.0)"#;
    let p = insert(&in_parallel("", r#", chemistry: "LFP""#), "chargers", charger);
    let p = insert(&p, "runs", &run("W40", ("CH5", "SB"), "to", "UL 248-15 T", 10.0));
    let r = evaluate(&p);
    let f = of(&r, "compensation-on-lithium", "chargers.CH5");
    assert!(f.len() == 1 && f[0].text().contains("SB2 (LFP)"), "{}", texts(&r));
}

/// What an isolator joins to the bank is charged with it: compensation for a bank of lead is a stop for lithium behind it.
#[test]
fn what_is_joined_to_the_bank_is_charged_with_it() {
    let lead = [
        ("bank.chemistry", word("AGM")),
        ("bank.unit_v", n(12.0)),
        ("controllers.C1.absorb_v", n(14.4)),
        ("controllers.C1.temp_comp_mv_k", n(-24.0)),
    ];
    let p = insert(&with(&sound(), &lead), "devices", r#"(id: "SB", kind: "start battery", charge_cutoff_c: 0.0)"#);
    let p = insert(&p, "devices", r#"(id: "ISO", kind: "isolator")"#);
    let p = insert(&p, "runs", &run("W41", ("SB", "ISO"), "from", "UL 248-15 T", 30.0));
    let p = insert(&p, "runs", &run("W42", ("ISO", "BUS"), "to", "UL 248-15 T", 30.0));
    assert!(found(&evaluate(&p), "compensation-on-lithium").is_empty());
    let r = evaluate(&with(&p, &[("devices.SB.chemistry", word("LFP"))]));
    let f = of(&r, "compensation-on-lithium", "controllers.C1");
    assert!(f.len() == 1 && f[0].text().contains("SB (LFP)"), "{}", texts(&r));
    // A charger on that battery charges the bank through the isolator: it is not one that charges nothing.
    let charger = r#"(id: "CH9", kind: "shore", out_a: 6.0, efficiency_pct: 90.0, absorb_v: 14.4, float_v: 15.0)"#;
    let p = insert(&insert(&p, "chargers", charger), "runs", &run("W43", ("CH9", "SB"), "to", "UL 248-15 T", 10.0));
    let r = evaluate(&p);
    assert!(of(&r, "charger-without-run", "chargers.CH9").is_empty(), "{}", texts(&r));
    let said = of(&r, "charges-start-battery", "chargers.CH9");
    assert!(said.len() == 1 && said[0].text().contains("by what joins them the bank"), "{}", texts(&r));
    let float = of(&r, "float-above-absorption", "chargers.CH9");
    assert!(float.len() == 1 && !float[0].text().contains("the year"), "{}", texts(&r));
}

/// A report says of nothing both that the year has it and that it has not.
#[test]
fn the_year_has_it_or_has_it_not() {
    let float = with(&maintained("SB"), &[("chargers.CH5.float_v", n(14.6))]);
    let r = evaluate(&float);
    let f = of(&r, "float-above-absorption", "chargers.CH5");
    assert!(f.len() == 1 && !f[0].text().contains("the year"), "{}", texts(&r));
    let on_bank = evaluate(&with(&sound(), &[("controllers.C1.float_v", n(14.4))]));
    assert!(found(&on_bank, "float-above-absorption")[0].text().contains("the year charges on"));
    // An inverter on the start battery has its cut-off in no year; on the bank, over wire of unknown length, that is said.
    let cut = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery")"#);
    let cut = insert(&cut, "loads", r#"(id: "L9", watts_w: 100.0, hours_day: 3.0, supply: "inverter")"#);
    let cut = with(&cut, &[("inverters.INV.cutoff_v", n(11.0))]);
    let open = evaluate(&with(&cut, &[("runs.W5.legs.L1.length_m", Value::Unknown)]));
    assert!(says(&open, "inverter-cut-off-left-out", "inverters.INV"), "{}", texts(&open));
    let on_start =
        [("runs.W5.from", Value::Id("SB".parse().expect("id"))), ("runs.W5.legs.L1.length_m", Value::Unknown)];
    let r = evaluate(&with(&cut, &on_start));
    assert!(!says(&r, "inverter-cut-off-left-out", "inverters.INV"), "{}", texts(&r));
}

fn figures<'a>(r: &'a Report, id: &str) -> &'a coachwire::engine::report::RunFigures {
    r.runs.iter().find(|r| r.id.as_str() == id).expect("run")
}

/// 120 W of a battery of 12 V are 10 A; 10 AWG has 1.24 ohm/kft at 75 C (NEC Chapter 9, Table 8), 4.07 mohm/m, and 0.00323 of it less for
/// each kelvin below that. Out and back over 18 m at 50 C that is 1.35 V and with some 0.07 V of its fuse 11.8 % of 12 V, over the 10 % of
/// ABYC E-11; over 10 m 6.8 %, over its 3 % of what is critical.
#[test]
fn a_start_batterys_path_is_judged_from_its_own_posts() {
    let lit = |metres: f64, more: &str| {
        let load = format!(r#"(id: "L9", name: "work light", watts_w: 120.0, hours_day: 1.0{more})"#);
        let p = insert(&truck(), "loads", &load);
        let p = insert(&p, "runs", &run("W44", ("SB", "L9"), "from", "UL 248-15 T", 15.0));
        with(&p, &[("runs.W44.legs.L1.length_m", n(metres))])
    };
    let over =
        |p: &Plan, run: &str| of(&evaluate(p), "drop-over-target", run).first().map(|f| (f.level, f.n(2), f.n(3)));
    let r = evaluate(&lit(18.0, ""));
    let own = figures(&r, "W44");
    near("base", own.base_v.clone().map(|v| v.0), 12.0, 1e-9);
    let by_hand = (2.0 * 18.0 * 0.00407 * (1.0 - 0.00323 * 25.0) * 10.0 + 0.067) / 12.0 * 100.0;
    near("percent", own.path_drop_pct.clone(), by_hand, 0.05);
    assert_eq!(over(&lit(18.0, ""), "runs.W44"), Some((Level::Caution, 12.0, 10.0)), "{}", texts(&r));
    assert_eq!(over(&lit(10.0, ""), "runs.W44"), None);
    assert_eq!(over(&lit(10.0, r#", critical: "yes""#), "runs.W44"), Some((Level::Caution, 12.0, 3.0)));
    is_curable(&lit(18.0, ""), "drop-over-target", "runs.W44");
    // 6 A of a maintainer over 15 m lose 0.73 V and some, of 12 V 6 %; over 2 m 1 %. Chargers have 2 % (common practice).
    let far = |metres: f64| with(&maintained("SB"), &[("runs.W40.legs.L1.length_m", n(metres))]);
    assert_eq!(over(&far(15.0), "runs.W40"), Some((Level::Caution, 12.0, 2.0)), "{}", texts(&evaluate(&far(15.0))));
    assert_eq!(over(&far(2.0), "runs.W40"), None);
    is_curable(&far(15.0), "drop-over-target", "runs.W40");
    // What its maker sized for seconds of hundreds of amps has no target.
    let starter =
        with(&lit(18.0, ""), &[("loads.L9.name", Value::Text("starter".into())), ("loads.L9.watts_w", n(1800.0))]);
    let r = evaluate(&starter);
    assert!(
        of(&r, "drop-over-target", "runs.W44").is_empty() && figures(&r, "W44").target_pct.is_none(),
        "{}",
        texts(&r)
    );
}

/// Label volts and rated volts of a start battery are one fact: either tells that 28.4 V are too much for it.
#[test]
fn either_field_tells_a_start_batterys_volts() {
    let p = with(&maintained("SB"), &[("chargers.CH5.absorb_v", n(28.4)), ("chargers.CH5.temp_comp_mv_k", n(0.0))]);
    assert!(waits(&evaluate(&p), "charge-volts-high", "devices.SB.unit_v"));
    for field in ["devices.SB.unit_v", "devices.SB.ratings.volts_dc_v"] {
        let of_12 = evaluate(&with(&p, &[(field, n(12.0))]));
        assert!(says(&of_12, "charge-volts-high", "chargers.CH5"), "{field}: {}", texts(&of_12));
        let of_24 = evaluate(&with(&p, &[(field, n(24.0)), ("chargers.CH5.float_v", n(27.0))]));
        assert!(!says(&of_24, "charge-volts-high", "chargers.CH5"), "{field}: {}", texts(&of_24));
        assert!(!waits(&of_24, "charge-volts-high", "devices.SB.unit_v"), "{field}");
        near("base", figures(&of_24, "W40").base_v.clone().map(|v| v.0), 24.0, 1e-9);
    }
}

/// ISO 8820-3: gear of 12 and 24 V is made for 32 V; a bank of 51.2 V reaches 58.4 V. A bar of plus that says nothing is not checked,
/// one of negatives alone and a shunt stand at the post's volts and are not asked.
#[test]
fn a_bar_above_coach_volts_must_say_its_own() {
    let p = with(&sound(), &[("bank.unit_v", n(51.2)), ("controllers.C1.absorb_v", n(56.8))]);
    let p = insert(&p, "devices", r#"(id: "NB", kind: "bus")"#);
    let p = insert(&p, "devices", r#"(id: "SHN", kind: "shunt", ratings: (amps_a: 500.0))"#);
    let lead = |id: &str, from: &str, to: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "4/0 AWG", return_path: "none", legs: [(id: "L1", length_m: 0.5,
                insulation_c: 105.0)])"#
        )
    };
    let p = insert(&insert(&p, "runs", &lead("W80", "BK-", "SHN")), "runs", &lead("W81", "SHN", "NB"));
    let asked =
        |p: &Plan, id: &str| waits(&evaluate(p), "device-volts-low", &format!("devices.{id}.ratings.volts_dc_v"));
    assert!(asked(&p, "BUS") && asked(&p, "FP"), "{:?}", evaluate(&p).not_checked);
    assert!(!asked(&p, "NB") && !asked(&p, "SHN"), "{:?}", evaluate(&p).not_checked);
    let rated = |volts: f64| with(&p, &[("devices.BUS.ratings.volts_dc_v", n(volts))]);
    assert!(!asked(&rated(60.0), "BUS") && !says(&evaluate(&rated(60.0)), "device-volts-low", "devices.BUS"));
    assert!(says(&evaluate(&rated(32.0)), "device-volts-low", "devices.BUS"));
    assert!(!asked(&sound(), "BUS"));
}

/// Why another fuse than the usual one: a blade opens 1 kA (ISO 8820-3), by cold cranking amps 3 kA are asked (ABYC E-11).
#[test]
fn what_a_fuse_is_named_for_is_said_of_that_one() {
    let r = evaluate(&radio("ISO 8820-3 C", ""));
    let fuse = figures(&r, "W92").proposed.clone().expect("a fuse");
    assert_ne!(fuse.family.to_string(), "ISO 8820-3 C");
    assert!(
        fuse.why.to_string().starts_with("ISO 8820-3 C opens 1.00 kA at ")
            && fuse.why.to_string().ends_with(" needed here"),
        "{}",
        fuse.why
    );
}

/// What is led to a start battery that an isolator joins to the bank comes to the bank as well: 6 A beside the sun's. What is entered for
/// the line from the vehicle has it among it.
#[test]
fn what_charges_a_joined_battery_charges_the_bank() {
    let joined = |to: &str, more: &str| {
        let p = insert(&maintained(to), "devices", r#"(id: "ISO", kind: "isolator")"#);
        let first = run("W41", ("SB", "ISO"), "from", "UL 248-15 T", 30.0).replacen("(id", &format!("({more}id"), 1);
        let p = insert(&insert(&p, "runs", &first), "runs", &run("W42", ("ISO", "BUS"), "to", "UL 248-15 T", 30.0));
        with(&p, &[("devices.SB.unit_v", n(24.0))])
    };
    let sun_a = evaluate(&joined("SB", "")).controllers[0].design_a.clone().expect("known").0;
    let sum = |p: &Plan, limit: f64| {
        let p = with(p, &[("bank.max_charge_a", n(limit))]);
        found(&evaluate(&p), "charge-over-limit").first().map(|f| f.n(0))
    };
    let count = sound().bank.parallel.known().expect("known").0;
    let limit = (sun_a + 3.0) / count;
    near("joined", Ok(sum(&joined("SB", ""), limit).expect("over")), sun_a + 6.0, 1e-9);
    near("straight", Ok(sum(&joined("BUS", ""), limit).expect("over")), sun_a + 6.0, 1e-9);
    let entered = r#"design_override_a: 20.0, override_reason: "sheet", "#;
    near("entered", Ok(sum(&joined("SB", entered), limit).expect("over")), sun_a + 20.0, 1e-9);
    super::explained::all_worked(&with(&joined("SB", ""), &[("bank.max_charge_a", n(limit))]));
    // Apart from the bank it charges its battery alone; within the limit the line is still waited for.
    assert_eq!(sum(&maintained("SB"), limit), None);
    let wide = with(&joined("SB", ""), &[("bank.max_charge_a", n(500.0))]);
    let open = evaluate(&wide);
    let waits = open.waiting.iter().chain(&open.not_checked).find(|w| w.check == "charge-over-limit").expect("waits");
    assert_eq!(waits.waits_for.as_str(), "runs.W41.design_override_a");
}

/// A start battery of 24 V on a line whose alternator idles at 12.8 V, or beside one made for 14 V: one of the two is not so. 24 V
/// systems idle above 24 V, from memory. Left out, the line is reckoned with 13.2 V for each 12 V.
#[test]
fn volts_of_one_vehicle_that_differ_are_said() {
    let van = || super::alternator_lead::van("start battery");
    let differ = |p: &Plan| {
        let r = evaluate(p);
        let all =
            of(&r, "vehicle-volts-differ", "devices.SB").iter().map(|f| (f.level, f.n(0), f.n(1))).collect::<Vec<_>>();
        assert_eq!(found(&r, "vehicle-volts-differ").len(), all.len(), "{}", texts(&r));
        all
    };
    let set = |edits: &[(&str, Value)]| with(&van(), edits);
    let (own, low, made) = ("devices.SB.unit_v", "chargers.CH.alternator_low_v", "devices.ALT.ratings.volts_dc_v");
    assert_eq!(differ(&set(&[(own, n(24.0))])), [(Level::Stop, 24.0, 12.0)]);
    assert_eq!(differ(&set(&[("devices.SB.ratings.volts_dc_v", n(24.0))])), [(Level::Stop, 24.0, 12.0)]);
    assert_eq!(differ(&set(&[(own, n(12.0)), (low, n(26.0))])), [(Level::Stop, 12.0, 24.0)]);
    assert_eq!(differ(&set(&[(own, n(12.0)), (made, n(28.0))])), [(Level::Stop, 12.0, 24.0)]);
    assert_eq!(differ(&set(&[(own, n(24.0)), (low, Value::Nothing), (made, n(14.0))])), [(Level::Stop, 24.0, 12.0)]);
    assert_eq!(differ(&set(&[(own, n(6.0)), (low, Value::Nothing), (made, n(14.0))])), [(Level::Stop, 6.0, 12.0)]);
    for right in [
        set(&[]),
        set(&[(own, n(6.0)), (low, Value::Nothing)]),
        set(&[(own, n(12.0)), (made, n(14.0))]),
        set(&[(own, n(12.8)), ("devices.SB.chemistry", word("LFP"))]),
        set(&[(own, n(24.0)), (low, n(26.0)), (made, n(28.0))]),
        set(&[(own, n(24.0)), (low, Value::Nothing)]),
        set(&[(low, n(26.0))]),
    ] {
        assert_eq!(differ(&right), [], "{}", texts(&evaluate(&right)));
    }
    // The one or the other as its label says.
    for wrong in [set(&[(own, n(24.0))]), set(&[(own, n(24.0)), (low, Value::Nothing), (made, n(14.0))])] {
        super::cures::is_curable(&wrong, "vehicle-volts-differ", "devices.SB");
        for step in super::cures::cures(&wrong, "vehicle-volts-differ", "devices.SB") {
            assert_eq!(differ(&wrong.with(&step).expect("applies")), [], "{}", step.name);
        }
    }
    let wrong = set(&[(own, n(6.0)), (low, Value::Nothing), (made, n(14.0))]);
    let names: Vec<String> =
        super::cures::cures(&wrong, "vehicle-volts-differ", "devices.SB").into_iter().map(|s| s.name).collect();
    assert!(names.iter().any(|s| s.starts_with("SB: a battery of 12 V")), "{names:?}");
    // 626.7 W from 26.4 V over 30 mohm: V^2 - 26.4 V + 626.7 x 0.03 = 0, 25.67 V and 24.41 A.
    let r = evaluate(&set(&[(own, n(24.0)), (low, Value::Nothing)]));
    let line = r.runs.iter().find(|f| f.id.as_str() == "W21").expect("there").design_a.clone();
    near("line", line.map(|a| a.0), 24.41, 1e-3);
    super::explained::all_worked(&set(&[(own, n(24.0))]));
}

/// Each with what it brings up.
pub(super) fn raised() -> Vec<(&'static str, Plan)> {
    vec![
        ("start-batteries-unlike", in_parallel("", r#", chemistry: "LFP""#)),
        ("start-batteries-unlike-volts", in_parallel("", ", unit_v: 24.0")),
        (
            "vehicle-volts-differ",
            with(&super::alternator_lead::van("start battery"), &[("devices.SB.unit_v", n(24.0))]),
        ),
    ]
}

/// Label volts are used and said as typed: lead has 2 V a cell (IEC 60050-482), so that 8 V are four cells and 10 V five; 7 V are
/// no battery's.
#[test]
fn label_volts_of_a_start_battery_are_used_as_typed() {
    let p = super::alternator_lead::van("start battery");
    let of = |field: &str, volts: f64| evaluate(&with(&p, &[(field, n(volts))]));
    for (volts, said) in [(6.0, "6 V"), (8.0, "8 V"), (10.0, "10 V"), (24.0, "24 V"), (36.0, "36 V")] {
        let r = of("devices.SB.unit_v", volts);
        let f = found(&r, "vehicle-volts-differ");
        assert_eq!(f.len(), 1, "{volts}:\n{}", texts(&r));
        assert!((f[0].n(0) - volts).abs() < 1e-9, "{}", f[0].text());
        assert!(f[0].text().contains(&format!("SB is a battery of {said}")), "{}", f[0].text());
        // Five cells are used as typed and said as what no battery has.
        assert_eq!(found(&r, "start-battery-volts-unlikely").len(), usize::from(volts == 10.0), "{volts}");
    }
    assert!(found(&of("devices.SB.unit_v", 12.0), "vehicle-volts-differ").is_empty());
    let odd = of("devices.SB.unit_v", 7.0);
    let f = found(&odd, "start-battery-volts-unlikely");
    assert_eq!((f.len(), f[0].level, f[0].subject.as_str()), (1, Level::Caution, "devices.SB.unit_v"));
    assert!((f[0].n(2) - 1.75).abs() < 1e-9, "7 V of four cells: {}", f[0].text());
    // What it may see at most tells no less than its own volts.
    let r = of("devices.SB.ratings.volts_dc_v", 8.0);
    assert!((found(&r, "vehicle-volts-differ")[0].n(0) - 8.0).abs() < 1e-9, "{}", texts(&r));
}

/// A winch on the start battery, both its conductors drawn by themselves: by hand 240 W / 12 V = 20 A over 3 m of 8 AWG and 3 m of 18
/// AWG or 8 AWG back. NEC Chapter 9 Table 8 reduced by 234.5 + T: 0.6405 and 6.53 ohm per 1000 ft at 20 C, warmer in use by no more
/// than 90 C allow, a third. Drawn as a pair it loses the same. Over a bar in the negative, of as many metres, it does so too.
#[test]
fn a_negative_of_its_own_at_a_start_battery_counts_in_the_drop() {
    let base = insert(&sound(), "devices", r#"(id: "SB", kind: "start battery", state: "existing")"#);
    let base = insert(&base, "loads", r#"(id: "L9", name: "winch", watts_w: 240.0, hours_day: 0.1)"#);
    let wire = |id: &str, (from, to): (&str, &str), gauge: &str, metres: f64, more: &str| {
        format!(
            r#"(id: "{id}", from: "{from}", to: "{to}", gauge: "{gauge}", legs: [(id: "L1", length_m: {metres:?}, insulation_c: 90.0)]{more})"#
        )
    };
    let fuse = r#", protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 30.0, distance_m: 0.1)]"#;
    let none = r#", return_path: "none""#;
    let pair = insert(&base, "runs", &wire("W20", ("SB", "L9"), "8 AWG", 3.0, fuse));
    let singly = insert(&base, "runs", &wire("W20", ("SB", "L9"), "8 AWG", 3.0, &format!("{fuse}{none}")));
    let back = |gauge: &str| insert(&singly, "runs", &wire("W21", ("L9", "SB"), gauge, 3.0, none));
    let over_bar = insert(&singly, "devices", r#"(id: "NBS", kind: "bus")"#);
    let over_bar = insert(&over_bar, "runs", &wire("W21", ("L9", "NBS"), "8 AWG", 2.0, none));
    let over_bar = insert(&over_bar, "runs", &wire("W22", ("NBS", "SB"), "8 AWG", 1.0, none));
    let lost = |p: &Plan, run: &str| {
        let r = evaluate(p);
        let run = r.runs.iter().find(|x| x.id.as_str() == run).expect("run");
        run.path_drop_v.clone().unwrap_or_else(|m| panic!("waits for {}", m.0)).0
    };
    let fuse_v = 0.06 * 20.0 / 30.0;
    let cold = |back: f64| 20.0 * 3.0 / 304.8 * (0.6405 + back) + fuse_v;
    for (p, back) in [(back("8 AWG"), 0.6405), (back("18 AWG"), 6.53)] {
        let volts = lost(&p, "W20");
        assert!(volts > cold(back) && volts < 1.4 * cold(back), "{volts} of {}", cold(back));
        near("the same path", Ok(lost(&p, "W21")), volts, 1e-9);
    }
    // Each single conductor has its lugs, as each pole of a pair.
    near("as a pair", Ok(lost(&back("8 AWG"), "W20")), lost(&pair, "W20"), 0.02);
    near("over a bar", Ok(lost(&over_bar, "W20")), lost(&pair, "W20"), 0.02);
    let thin = evaluate(&back("18 AWG"));
    assert!(
        found(&thin, "drop-over-target").iter().any(|f| f.name(0).contains("L9") || f.n(1) > 1.0),
        "{}",
        texts(&thin)
    );
    assert!(found(&evaluate(&back("8 AWG")), "drop-over-target").is_empty());
}
