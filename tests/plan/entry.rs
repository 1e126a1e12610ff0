//! Text to value and back.

use coachwire::plan::entry::{self, Units, parse, show, show_at, step};
use coachwire::plan::{Edit, FieldPath, Kind, Known, Plan, Quantity, Record, Step, Value};
use proptest::prelude::*;

use super::{path, small};

const LENGTH: &str = "runs.W2.legs.L1.length_m";
const GAUGE: &str = "runs.W2.gauge";

fn metric() -> Plan {
    let mut plan = small();
    for (key, word) in [("gauge_system", "mm2"), ("length_unit", "metres"), ("temperature_unit", "C")] {
        plan.job.set(key, Value::Word(word)).unwrap();
    }
    plan
}

pub(super) fn value(plan: &Plan, at: &str, text: &str) -> Value {
    parse(plan, &path(at), text).unwrap_or_else(|e| panic!("{text:?}: {e}")).value
}

pub(super) fn refusal(plan: &Plan, at: &str, text: &str) -> String {
    match parse(plan, &path(at), text) {
        Ok(parsed) => panic!("{text:?} in {at} was read as {parsed:?}"),
        Err(e) => e.to_string(),
    }
}

#[test]
fn lengths_are_read_as_people_type_them() {
    let plan = small();
    // The inch is 25.4 mm and the foot 304.8 mm (NIST SP 811), rounded to 0.1 mm.
    for (text, metres) in [
        ("22'6\"", 6.858),
        ("22' 6\"", 6.858),
        ("22'6", 6.858),
        ("22 ft 6 in", 6.858),
        ("22\u{2032}6\u{2033}", 6.858),
        ("22''", 0.5588),
        ("27in", 0.6858),
        ("27\"", 0.6858),
        ("1 1/2in", 0.0381),
        ("1-1/2 in", 0.0381),
        ("3/8in", 0.0095),
        ("6.5m", 6.5),
        ("6,5 m", 6.5),
        ("650cm", 6.5),
        ("6 m 50 cm", 6.5),
        ("650 mm", 0.65),
        (".5m", 0.5),
        ("10", 3.048),
        ("2e1'", 6.096),
        ("1,000mm", 0.0),
    ] {
        if metres == 0.0 {
            assert!(refusal(&plan, LENGTH, text).contains("could be"), "{text}");
        } else {
            assert_eq!(value(&plan, LENGTH, text), Value::Number(metres), "{text}");
        }
    }
    assert_eq!(value(&metric(), LENGTH, "6,5"), Value::Number(6.5));
    assert_eq!(value(&plan, "roof.deck_m", "3/8"), Value::Number(0.0095));
    assert_eq!(value(&metric(), "roof.deck_m", "12"), Value::Number(0.012));
    assert_eq!(value(&metric(), "roof.deck_m", "3/8"), Value::Number(0.0095));
}

#[test]
fn the_unit_understood_is_said() {
    let said = |plan: &Plan, at: &str, text: &str| parse(plan, &path(at), text).unwrap().understood;
    assert_eq!(said(&small(), LENGTH, "22'6\""), "22'6\" = 6.858 m");
    assert_eq!(said(&metric(), LENGTH, "22'6\""), "6.858 m = 22'6\"", "the plan's own unit first");
    assert_eq!(said(&small(), LENGTH, "10"), "10' = 3.048 m (a bare number is feet here)");
    assert_eq!(said(&small(), GAUGE, "8"), "8 AWG");
    assert_eq!(said(&metric(), GAUGE, "16"), "16 mm2");
    assert_eq!(said(&small(), "job.coldest_c", "14f"), "14 F = -10 C");
    assert_eq!(said(&small(), "arrays.A1.strings", "2S1P"), "2 panels: 2S1P P1 (P1 understood)");
}

#[test]
fn other_quantities_are_read_as_people_type_them() {
    let plan = small();
    for (at, text, want) in [
        ("panels.P1.vmp_v", "13.8v", 13.8),
        ("panels.P1.vmp_v", "13.8 V", 13.8),
        ("controllers.C1.out_a", "20a", 20.0),
        ("bank.unit_ah", "100ah", 100.0),
        ("loads.L1.watts_w", "1.2kw", 1200.0),
        ("loads.L1.hours_day", "45min", 0.75),
        ("loads.L1.hours_day", "1h30", 1.5),
        ("loads.L1.hours_day", "1:30", 1.5),
        ("loads.L1.duty_pct", "30%", 30.0),
        ("loads.L1.quantity", "3", 3.0),
        ("job.coldest_c", "-20c", -20.0),
        ("job.coldest_c", "14f", -10.0),
        ("job.coldest_c", "14", -10.0),
        ("runs.W2.legs.L1.insulation_c", "105", 105.0),
        ("bank.link_insulation_c", "105", 105.0),
        ("bank.sag_mohm", "2.5", 2.5),
        ("bank.sag_mohm", "0.0025 ohm", 2.5),
        ("runs.W2.measured_ohm", "12mohm", 0.012),
        ("bank.weight_kg", "10 lb", 4.535_9),
        ("money.labour_rate", "$1,250.50", 1250.5),
        ("money.labour_rate", "95 USD", 95.0),
        ("panels.P1.beta_pct_k", "-0.29%/K", -0.29),
        ("panels.P1.beta_pct_k", "0.29 %/\u{b0}C", -0.29),
        // 62 mV of 22.5 V is 0.27556 %.
        ("panels.P1.beta_pct_k", "-62mV/K", -0.2756),
        ("panels.P1.beta_pct_k", "0.062 V/K", -0.2756),
        ("panels.P1.alpha_pct_k", "0.05", 0.05),
        ("controllers.C1.temp_comp_mv_k", "24mV/K", -24.0),
    ] {
        assert_eq!(value(&plan, at, text), Value::Number(want), "{at} {text}");
    }
}

/// One pound is 0.45359237 kg (NIST SP 811, exact); weights are kept to 0.1 g.
#[test]
fn weights_are_pounds_where_lengths_are_feet() {
    let (us, metric) = (small(), metric());
    let at = FieldPath::from("bank.weight_kg");
    assert_eq!(value(&us, "bank.weight_kg", "27"), Value::Number(12.247));
    assert_eq!(value(&metric, "bank.weight_kg", "27"), Value::Number(27.0));
    let shown = |plan: &Plan, kg: f64| show(Units::of(plan), plan.meta(&at).unwrap(), &Value::Number(kg));
    assert_eq!(shown(&us, 12.247), "27 lb");
    assert_eq!(shown(&us, 6.3049), "13.9 lb");
    // A label in kilograms stays as it was printed.
    assert_eq!(shown(&us, 11.4), "11.4 kg");
    assert_eq!(shown(&metric, 12.247), "12.247 kg");
}

/// One pound of force is 4.4482216152605 N (NIST SP 811, exact), one kilogram of force 9.80665 N.
#[test]
fn forces_are_pounds_where_lengths_are_feet() {
    let (us, metric) = (small(), metric());
    let at = "roof.tested_n";
    for (plan, text, newtons) in [
        (&us, "186", 827.3692),
        (&us, "186 lbf", 827.3692),
        (&us, "186 lb", 827.3692),
        (&us, "2400 N", 2400.0),
        (&metric, "186", 186.0),
        (&metric, "100 kgf", 980.665),
        (&metric, "2.4kN", 2400.0),
    ] {
        assert_eq!(value(plan, at, text), Value::Number(newtons), "{text}");
    }
    let shown = |plan: &Plan, n: f64| show(Units::of(plan), plan.meta(&path(at)).unwrap(), &Value::Number(n));
    assert_eq!((shown(&us, 827.3692), shown(&us, 2400.0)), ("186 lbf".into(), "2400 N".into()));
    assert_eq!(shown(&metric, 827.3692), "827.3692 N");
    let parsed = parse(&us, &path(at), "186").unwrap();
    assert!(parsed.understood.contains("186 lbf = 827.3692 N"), "{}", parsed.understood);
}

#[test]
fn fuses_are_found_by_what_the_trade_calls_them() {
    let plan = small();
    for (typed, word) in [
        ("blade", "ISO 8820-3 C"),
        ("large blade", "ISO 8820-3 E"),
        ("stud", "ISO 8820-6"),
        ("class t", "UL 248-15 T"),
        ("circuit breaker", "DC breaker"),
    ] {
        assert_eq!(value(&plan, "runs.W2.protection.F1.family", typed), Value::Word(word), "{typed}");
    }
    let why = refusal(&plan, "runs.W2.protection.F1.family", "bolt-down");
    assert!(why.contains("ISO 8820-5 SF30 (bolt-down strip, 30 mm)") && why.contains("SF51"), "{why}");
}

#[test]
fn chemistries_and_controllers_have_other_names_too() {
    let plan = Plan::from_text(r#"(version: 1, controllers: [(id: "C1")])"#).unwrap();
    for (at, typed, word) in [
        ("bank.chemistry", "lifepo4", "LFP"),
        ("bank.chemistry", "lithium", "LFP"),
        ("bank.chemistry", "lith", "LFP"),
        ("controllers.C1.kind", "mppt", "tracking"),
        ("controllers.C1.kind", "PWM", "PWM"),
    ] {
        assert_eq!(value(&plan, at, typed), Value::Word(word), "{typed}");
    }
    assert!(refusal(&plan, "bank.chemistry", "lead").contains("flooded, AGM, gel, LFP"));
}

#[test]
fn gauges_words_and_names_are_found() {
    let plan = small();
    let gauge = |text: &str| value(&plan, GAUGE, text).clone();
    for (text, want) in [
        ("8awg", "8 AWG"),
        ("8 AWG", "8 AWG"),
        ("#8", "8 AWG"),
        ("2/0", "2/0 AWG"),
        ("2/0awg", "2/0 AWG"),
        ("00", "2/0 AWG"),
        ("16mm2", "16 mm2"),
        ("16 mm\u{b2}", "16 mm2"),
        ("2,5 mm2", "2.5 mm2"),
    ] {
        assert_eq!(gauge(text), Value::Gauge(want.parse().unwrap()), "{text}");
    }
    assert_eq!(value(&metric(), GAUGE, "2/0"), Value::Gauge("2/0 AWG".parse().unwrap()));
    assert!(refusal(&plan, GAUGE, "7").contains("10, 8, 6"));
    assert!(refusal(&plan, GAUGE, "16 mm").contains("diameter"));
    assert_eq!(value(&plan, "bank.chemistry", "lfp"), Value::Word("LFP"));
    assert_eq!(value(&plan, "bank.chemistry", "fl"), Value::Word("flooded"));
    assert!(refusal(&plan, "runs.W2.protection.F1.family", "iso").contains("could be any of"));
    assert!(refusal(&plan, "bank.chemistry", "nickel").contains("flooded, AGM, gel, LFP"));
    assert_eq!(value(&plan, "runs.W2.to", "bk+"), Value::Id("BK+".parse().unwrap()));
    let missing = refusal(&plan, "runs.W2.to", "INV7");
    assert!(missing.contains("A1, C1, BK") && missing.contains("runs.W2.to"), "{missing}");
    assert_eq!(value(&plan, "runs.W2.protection.F1.leg", "l2"), Value::Id("L2".parse().unwrap()));
    assert_eq!(value(&plan, "loads.L1.months", "nov-mar"), Value::Text("Nov-Mar".into()));
    assert_eq!(value(&plan, "loads.L1.months", "sept, december - febr."), Value::Text("Sep, Dec-Feb".into()));
    for no_month in ["novmar", "nov/mar", "nov..mar", "decjan", "junk", "marble", "ma", "."] {
        let said = refusal(&plan, "loads.L1.months", no_month);
        assert!(said.contains("is no month"), "{no_month}: {said}");
    }
    assert!(refusal(&plan, "arrays.A1.strings", "2S P9").contains("P1"));
}

#[test]
fn unknown_and_absent_are_read_only_where_legal() {
    let plan = small();
    assert_eq!(value(&plan, LENGTH, " ? "), Value::Unknown);
    assert_eq!(value(&plan, "runs.W2.legs.L1.gauge", ""), Value::Nothing);
    assert!(refusal(&plan, LENGTH, "").contains("is needed"));
    assert!(refusal(&plan, "arrays.A1.mount", "?").contains("cannot be unknown"));
    assert_eq!(value(&plan, "job.note", "?"), Value::Text("?".into()));
}

#[test]
fn nothing_infinite_or_misunderstood_is_accepted() {
    let plan = small();
    for text in [
        "nan", "inf", "-inf", "NaN", "1e999", "abc", "--5", "5-3", "1/0", "6.5.5", "6 7", "5m 3m", "5in 3ft",
        "1 1/2 3", "'", "\"", "5 kg", "-", "+", ",", "1,2,3", "99999'", "-3m", "1e308m",
    ] {
        let why = refusal(&plan, LENGTH, text);
        assert!(why.starts_with(LENGTH) && why.len() < 200, "{why}");
    }
    assert!(refusal(&plan, LENGTH, "200'").contains("0' to 196'10"), "{}", refusal(&plan, LENGTH, "200'"));
    assert!(refusal(&plan, "loads.L1.quantity", "1.5").contains("whole number"));
    let mut unlabelled = small();
    unlabelled.panels[0].voc_v = Known::Unknown;
    assert!(refusal(&unlabelled, "panels.P1.beta_pct_k", "-62mV/K").contains("Voc is ?"));
    assert!(refusal(&plan, "runs.W9.gauge", "8awg").contains("nothing of that name"));
    assert!(refusal(&plan, "runs.W2.colour", "red").contains("fields: from"));
}

#[test]
fn shown_lengths_keep_the_trade_form() {
    let plan = small();
    for text in ["22'6\"", "3'", "27\"", "0'", "6' 1 1/16\"", "1 3/16\"", "2'0.5\""] {
        let shown = show(Units::of(&plan), plan.meta(&path(LENGTH)).unwrap(), &value(&plan, LENGTH, text));
        let want = if text == "27\"" { "2'3\"" } else { text };
        assert_eq!(shown, want);
    }
    assert_eq!(show_at(&plan, &path(LENGTH)).unwrap(), "6'6.74\"");
    assert_eq!(show_at(&metric(), &path(LENGTH)).unwrap(), "2 m");
    assert_eq!(show_at(&plan, &path(GAUGE)).unwrap(), "6 AWG");
}

#[test]
fn steps_go_to_the_next_standard_size() {
    let plan = small();
    let after = |plan: &Plan, at: &str, up| step(plan, &path(at), up);
    assert_eq!(after(&plan, GAUGE, true), Some(Value::Gauge("4 AWG".parse().unwrap())));
    assert_eq!(after(&plan, GAUGE, false), Some(Value::Gauge("8 AWG".parse().unwrap())));
    // A leg without a size of its own starts from the run's.
    assert_eq!(after(&plan, "runs.W2.legs.L1.gauge", true), Some(Value::Gauge("4 AWG".parse().unwrap())));
    assert_eq!(after(&plan, "runs.W2.legs.L2.gauge", true), Some(Value::Gauge("6 AWG".parse().unwrap())));
    // ISO 8820-5 SF51 has 80 A after 60 A.
    assert_eq!(after(&plan, "runs.W2.protection.F1.amps_a", true), Some(Value::Number(80.0)));
    assert_eq!(after(&plan, "runs.W2.protection.F1.amps_a", false), None);
    assert_eq!(after(&plan, LENGTH, true), Some(Value::Number(2.3048)));
    assert_eq!(after(&metric(), LENGTH, true), Some(Value::Number(2.25)));
    assert_eq!(after(&plan, "arrays.A1.mount", false), Some(Value::Word("tilted")));
    assert_eq!(after(&plan, "loads.L1.quantity", true), Some(Value::Number(2.0)));
    assert_eq!(after(&plan, "runs.W2.legs.L1.per_pole", false), None);
    // Insulation as it is sold (heads of columns of NEC 310.16), of links too; terminals as NEC 110.14(C) lists them.
    let links = [("link_gauge", Value::Gauge("4/0 AWG".parse().unwrap())), ("link_insulation_c", Value::Number(90.0))];
    let mut with_links = small();
    links.into_iter().for_each(|(key, value)| with_links.bank.set(key, value).unwrap());
    assert_eq!(after(&with_links, "bank.link_insulation_c", true), Some(Value::Number(105.0)));
    assert_eq!(after(&with_links, "bank.link_insulation_c", false), Some(Value::Number(75.0)));
    with_links.bank.ratings.set("terminal_c", Value::Number(75.0)).unwrap();
    assert_eq!(after(&with_links, "bank.ratings.terminal_c", true), Some(Value::Number(90.0)));
    assert_eq!(after(&plan, "panels.P1.voc_v", true), Some(Value::Number(22.6)));
    assert_eq!(after(&plan, "panels.P1.vmp_v", true), None);
}

/// Every field whose quantity the plan's units change has the stored unit in its name: edits rely on it.
#[test]
fn field_names_say_their_stored_unit() {
    let plan = crate::plan::full::plan();
    for at in crate::plan::full::fields(&plan) {
        let meta = plan.meta(&at).unwrap();
        if let Kind::Number { quantity, .. } = meta.kind {
            let length = matches!(quantity, Quantity::Length | Quantity::Size);
            assert_eq!(meta.key.ends_with("_m"), length, "{at}");
            assert_eq!(meta.key.ends_with("_c"), quantity == Quantity::Temperature, "{at}");
            assert_eq!(meta.key.ends_with("_kg"), quantity == Quantity::Mass, "{at}");
            assert_eq!(meta.key.ends_with("_nm"), quantity == Quantity::NewtonMetres, "{at}");
            assert_eq!(meta.key.ends_with("_n"), quantity == Quantity::Newtons, "{at}");
        }
    }
}

/// What is shown is read back as the same value, in every field, in both systems of units.
#[test]
fn every_field_of_a_full_plan_reads_back_what_it_shows() {
    let mut plan = crate::plan::full::plan();
    for round in 0..2 {
        if round == 1 {
            plan.job.set("length_unit", Value::Word("metres")).unwrap();
            plan.job.set("temperature_unit", Value::Word("C")).unwrap();
        }
        for at in crate::plan::full::fields(&plan) {
            same_after_showing(&plan, &at, &plan.get_at(&at).unwrap());
        }
    }
}

fn same_after_showing(plan: &Plan, at: &FieldPath, value: &Value) {
    let meta = plan.meta(at).unwrap();
    let shown = show(Units::of(plan), meta, value);
    let back = parse(plan, at, &shown).unwrap_or_else(|e| panic!("{shown:?}: {e}")).value;
    match (value, &back) {
        (Value::Number(a), Value::Number(b)) => {
            let room = match meta.kind {
                Kind::Number { quantity: Quantity::Length | Quantity::Size | Quantity::Temperature, .. } => 0.000_101,
                _ => 1e-9 * a.abs().max(1.0),
            };
            assert!((a - b).abs() <= room, "{at}: {a} shown as {shown} read as {b}");
        }
        _ => assert_eq!(*value, back, "{at}: {shown}"),
    }
}

proptest! {
    #[test]
    fn lengths_and_temperatures_read_back(tenths in 0_u32..600_000, ten_thousandths in -600_000_i32..300_000, feet: bool) {
        let plan = if feet { small() } else { metric() };
        let metres = f64::from(tenths) / 1e4;
        let meta = plan.meta(&path(LENGTH)).unwrap();
        let shown = show(Units::of(&plan), meta, &Value::Number(metres));
        prop_assert_eq!(value(&plan, LENGTH, &shown), Value::Number((metres * 1e4).round() / 1e4), "{}", shown);
        let celsius = f64::from(ten_thousandths) / 1e4;
        let at = path("job.coldest_c");
        let shown = show(Units::of(&plan), plan.meta(&at).unwrap(), &Value::Number(celsius));
        let Value::Number(back) = value(&plan, "job.coldest_c", &shown) else { panic!() };
        prop_assert!((back - celsius).abs() <= 0.000_11, "{} {}", shown, back);
    }

    #[test]
    fn no_text_panics_or_gives_a_number_out_of_bounds(text in "\\PC{0,20}", pick in 0_usize..1000) {
        let plan = crate::plan::full::plan();
        let fields = crate::plan::full::fields(&plan);
        let at = &fields[pick % fields.len()];
        if let Ok(parsed) = entry::parse(&plan, at, &text) {
            let meta = plan.meta(at).unwrap();
            prop_assert!(coachwire::plan::edit::check(meta, &parsed.value).is_ok());
        }
    }

    #[test]
    fn numbers_like_those_typed_never_panic(text in "[-+]?[0-9., /]{1,8}[a-z'\"%/ ]{0,3}[0-9/ ]{0,4}[a-z'\"]{0,2}") {
        let plan = small();
        for at in [LENGTH, "roof.deck_m", "job.coldest_c", "loads.L1.hours_day", "money.labour_rate", GAUGE] {
            if let Ok(entry::Parsed { value: Value::Number(x), .. }) = parse(&plan, &path(at), &text) {
                prop_assert!(x.is_finite());
            }
        }
    }
}

/// One pound-force inch is 0.11298483 N m (NIST SP 811); what a sheet gives in round newton metres stays so.
#[test]
fn torques_are_inch_pounds_where_lengths_are_feet() {
    let (us, metric) = (small(), metric());
    let at = "controllers.C1.ratings.torque_nm";
    for (plan, text, nm) in [
        (&us, "12", 1.3558),
        (&us, "12 in-lb", 1.3558),
        (&us, "5Nm", 5.0),
        (&metric, "5", 5.0),
        (&metric, "9ft-lb", 12.2024),
    ] {
        assert_eq!(value(plan, at, text), Value::Number(nm), "{text}");
    }
    let shown = |plan: &Plan, nm: f64| show(Units::of(plan), plan.meta(&path(at)).unwrap(), &Value::Number(nm));
    assert_eq!((shown(&us, 1.3558), shown(&us, 5.0)), ("12 in-lb".into(), "5 N m".into()));
    assert_eq!(shown(&metric, 1.3558), "1.3558 N m");
}

#[test]
fn refusals_say_what_is_accepted() {
    let plan = small();
    let metres = refusal(&plan, LENGTH, "900m");
    assert!(metres.contains("accepted: 0' to 196'10\";"), "no odd thousandths of an inch: {metres}");
    assert!(refusal(&plan, "bank.series", "1.5").contains("1.5 is no whole number; accepted: 1 to 30"));
    let strings = refusal(&plan, "arrays.A1.strings", "3");
    assert!(strings.contains("3S is in series") && strings.contains("3P in parallel"), "{strings}");
    for nothing in ["", "  "] {
        let strings = refusal(&plan, "arrays.A1.strings", nothing);
        assert!(strings.contains("strings are needed; write 3S2P"), "{strings}");
    }
    let strings = refusal(&plan, "arrays.A1.strings", "0S");
    assert!(strings.contains("write 3S2P"), "{strings}");
    let link = refusal(&plan, "bank.link_length_m", "0.1in");
    // 10 mm are 0.394 in.
    assert!(link.contains("accepted: 0.4\" to"), "{link}");
    let none: Result<coachwire::plan::Strings, String> = "0S0P P1".parse();
    assert!(none.as_ref().is_err_and(|why| why.contains("\"0S0P\" is no layout: 1 to 200")), "{none:?}");
}

#[test]
fn chemistry_and_controllers_go_by_their_trade_names() {
    let plan = small();
    for (at, typed, word) in [
        ("bank.chemistry", "lifepo4", "LFP"),
        ("bank.chemistry", "lithium", "LFP"),
        ("bank.chemistry", "li", "LFP"),
        ("controllers.C1.kind", "mppt", "tracking"),
        ("controllers.C1.kind", "tracker", "tracking"),
        ("runs.W2.protection.F1.family", "class-t", "UL 248-15 T"),
    ] {
        assert_eq!(value(&plan, at, typed), Value::Word(word), "{typed}");
    }
}

/// The Gregorian calendar: 1900 and 2100 have no 29 February, 2000 and 2024 have (papal bull Inter gravissimas, 1582).
#[test]
fn a_survey_has_a_day_of_the_calendar() {
    let plan = Plan::default();
    let at = FieldPath::new("job.surveyed");
    for good in ["2026-11-26", "2024-02-29", "2000-02-29", "2026-12-31", ""] {
        assert!(parse(&plan, &at, good).is_ok(), "{good}");
    }
    for bad in
        ["2026-02-31", "2026-02-29", "1900-02-29", "2100-02-29", "2026-04-31", "2026-13-01", "2026-00-10", "soon"]
    {
        let refused = parse(&plan, &at, bad).unwrap_err().to_string();
        assert!(refused.contains("job.surveyed") && refused.contains("write it as"), "{refused}");
    }
}

/// A panel lies in a string that its array has.
#[test]
fn a_place_names_a_string_that_is_there() {
    let mut samples = coachwire::plan::samples::SAMPLES.iter().map(|sample| Plan::from_text(sample.text).unwrap());
    let plan = samples.find(|p| p.arrays.iter().any(|a| !a.places.is_empty())).unwrap();
    let array = plan.arrays.iter().find(|a| !a.places.is_empty()).unwrap();
    let at = FieldPath::new(format!("arrays.{}.places.{}.string", array.id, array.places[0].id));
    let count = array.strings.0.len();
    assert!(parse(&plan, &at, &count.to_string()).is_ok());
    let refused = parse(&plan, &at, "33").unwrap_err().to_string();
    assert!(refused.contains(at.as_str()) && refused.contains("accepted"), "{refused}");
    assert!(parse(&plan, &at, "").is_ok(), "where it is not said");
}

/// What a refusal names as the least and the most is taken, in feet and in metres, is in the plan's own units, and has no more
/// digits than a tape, a scale or a thermometer shows.
#[test]
fn bounds_that_are_named_are_accepted() {
    for (job, foreign) in [(small().job, METRIC), (metric().job, IMPERIAL)] {
        let plan = Plan { job, ..super::full::plan() };
        let mut seen = 0;
        for at in super::full::fields(&plan) {
            let (quantity, count) = match plan.meta(&at).map(|m| m.kind) {
                Some(Kind::Number { quantity, .. }) => (quantity, 1),
                Some(Kind::Monthly { quantity, .. }) => (quantity, 12),
                _ => continue,
            };
            let many = |text: &str| vec![text; count].join(" ");
            let Err(refused) = parse(&plan, &at, &many("-99999")) else { continue };
            let said = refused.to_string();
            let Some((_, said)) = said.split_once("outside what is accepted: ") else { continue };
            let (least, most) = said.split(';').next().expect("bounds").split_once(" to ").expect("both");
            let (least, most) = (least.trim(), most.trim());
            for text in [least, most] {
                // The whole of it with the unit behind, as one types twelve of them.
                let typed = many(&if count == 12 { text.replace(' ', "") } else { text.into() });
                if let Err(e) = parse(&plan, &at, &typed)
                    && e.to_string().contains("outside")
                {
                    panic!("{at} ({quantity:?}), {text:?}: {e}");
                }
                let is_celsius = text.ends_with(" C") && !at.as_str().ends_with("max_ambient_c");
                let stays =
                    is_celsius && (at.as_str().ends_with("insulation_c") || at.as_str().ends_with("terminal_c"));
                assert!(stays || !foreign.iter().any(|unit| text.ends_with(unit)), "{at}: {said}");
                let digits =
                    text.split_once('.').map_or(0, |(_, part)| part.chars().take_while(char::is_ascii_digit).count());
                assert!(digits <= 2, "{at}: {said}");
            }
            seen += 1;
        }
        assert!(seen > 50, "{seen} fields");
    }
}

/// Units of the other system.
const METRIC: &[&str] = &[" m", " mm", " kg", " N", " N m", " C"];
const IMPERIAL: &[&str] = &["\"", "'", " lb", " lbf", " in-lb", " F"];

/// 0.03 in of sheet are 0.8 mm and no 0 in; a panel of 1134 mm is read to the eighth of an inch, 44 5/8.
#[test]
fn thin_sheet_is_seen_as_it_was_typed() {
    let plan = small();
    let meta = plan.meta(&path("roof.deck_m")).unwrap();
    let seen = |metres: f64| entry::seen(Units::of(&plan), meta, &Value::Number(metres));
    let Value::Number(sheet) = value(&plan, "roof.deck_m", "0.03in") else { panic!("a number") };
    assert_eq!((seen(sheet), seen(1.134)), ("0.03\"".into(), "44 5/8\"".into()));
}

fn edited(plan: &Plan, edit: Edit) -> Plan {
    plan.with(&Step::one("edited", edit)).unwrap_or_else(|e| panic!("{e}"))
}

/// Twelve means are in the plan's unit, as every temperature is, or in the one behind each or behind all: 32 F is 0 C, 50 F is 10 C.
#[test]
fn monthly_temperatures_follow_the_plans_unit() {
    let mut plan = edited(&small(), Edit::Insert { list: "stays".into(), after: None, item: r#"(id: "ST1")"#.into() });
    let at = path("stays.ST1.mean_c");
    let stored = |plan: &Plan, text: &str| match parse(plan, &at, text).map(|p| p.value) {
        Ok(Value::Text(t)) => t,
        other => panic!("{text}: {other:?}"),
    };
    let (f, c) = ("32 50 32 50 32 50 32 50 32 50 32 14", "0 10 0 10 0 10 0 10 0 10 0 -10");
    for (unit, bare) in [("F", f), ("C", c)] {
        plan.job.set("temperature_unit", Value::Word(unit)).unwrap();
        assert_eq!(stored(&plan, bare), c);
        assert_eq!(stored(&plan, &format!("{f} F")), c);
        assert_eq!(stored(&plan, &format!("{c} c")), c);
        assert_eq!(stored(&plan, &f.replace(' ', "F ").replace("14", "14F")), c);
        let set = edited(&plan, Edit::Set { at: at.clone(), to: Value::Text(c.into()) });
        let shown = show_at(&set, &at).expect("shown");
        assert!(shown.starts_with(bare), "{shown}");
        assert_eq!(stored(&set, &shown), c);
    }
    assert!(parse(&plan, &at, "1 2 3").unwrap_err().to_string().contains("3 found"));
    assert!(parse(&plan, &at, &f.replace("14", "warm")).is_err());
    // 60 C are 140 F, -60 C -76 F.
    plan.job.set("temperature_unit", Value::Word("F")).unwrap();
    let refused = parse(&plan, &at, &f.replace("14", "160")).unwrap_err().to_string();
    assert!(refused.ends_with("160 F is outside what is accepted: -76 F to 140 F"), "{refused}");
    plan.job.set("temperature_unit", Value::Word("C")).unwrap();
    let refused = parse(&plan, &at, &c.replace("-10", "61")).unwrap_err().to_string();
    assert!(refused.ends_with("61 C is outside what is accepted: -60 C to 60 C"), "{refused}");
}

/// Each of several edits is read on the plan as those before it leave it, its units included: 32 F is 0 C.
#[test]
fn a_bare_number_is_in_the_unit_that_an_edit_before_it_chose() {
    let plan = edited(&small(), Edit::Insert { list: "stays".into(), after: None, item: r#"(id: "ST1")"#.into() });
    let means = ["32"; 12].join(" ");
    for (unit, read) in [("F", "0"), ("C", "32")] {
        let lines = [format!("job.temperature_unit = {unit}"), format!("stays.ST1.mean_c = {means}")];
        let after = plan.with(&Step::parse(&plan, "", &lines).unwrap()).unwrap();
        assert_eq!(after.get_at(&path("stays.ST1.mean_c")), Some(Value::Text([read; 12].join(" "))), "{unit}");
    }
}

/// A share of one or less without its sign may be meant as a part of one: what it is taken as is said where it is typed.
#[test]
fn a_duty_of_half_a_percent_says_so() {
    let plan = Plan::from_text(coachwire::plan::samples::sample("bramble").unwrap().text).unwrap();
    let read = |text: &str| parse(&plan, &path("loads.L1.duty_pct"), text).unwrap();
    let half = read("0.5");
    assert_eq!((half.value, half.understood.as_str()), (Value::Number(0.5), "0.5 %: type 50 for 0.5 of the time"));
    assert!(read("1").understood.contains("type 100 for 1 of the time"));
    for plain in ["0.5 %", "50", "0", "1.5", "100"] {
        assert!(!read(plain).understood.contains("type"), "{plain}: {}", read(plain).understood);
    }
}
