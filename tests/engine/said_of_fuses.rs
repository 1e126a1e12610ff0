//! Sentences about what does not exist or is asked twice: string fuses that no panel takes, the factor of PV conductors,
//! packs whose rating nobody knows.

use super::mistakes::{Edits, sound, with, word};
use super::{evaluate, found, near, texts};
use coachwire::engine::Level;
use coachwire::plan::{FieldPath, Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// Strings in parallel of panels of 10.7 A: 1.5625 x 10.7 = 16.72 A at least (NEC 690.8, 690.9).
fn strings(count: usize, series_fuse_a: f64) -> Plan {
    let edits: Edits<'_> =
        &[("arrays.A1.strings", Value::Text(format!("1S{count}P P1"))), ("panels.P1.series_fuse_a", n(series_fuse_a))];
    with(&sound(), edits)
}

#[test]
fn where_no_string_fuse_fits_that_is_said() {
    let said = |series_fuse_a: f64| {
        let r = evaluate(&strings(4, series_fuse_a));
        let f = found(&r, "string-fuse-missing");
        assert_eq!(f.len(), 1, "{}", texts(&r));
        f[0].text()
    };
    let none = "every string needs a fuse, of";
    assert!(said(20.0).ends_with("every string needs a fuse of 16.8 A to 20 A"), "{}", said(20.0));
    let text = said(15.0);
    assert!(text.contains(&format!("{none} 16.8 A at least and 15 A at most: none fits;")), "{text}");
    // IEC 60269-6 fuses are made of 15 and 20 A, none between.
    let text = said(18.0);
    assert!(text.contains(&format!("{none} 16.8 A to 18 A: no PV fuse is made there;")), "{text}");
}

/// One string of 13.9 A on 14 AWG enclosed at 30 C: NEC 310.16 prints 25 A at 90 C; 2 strings may bring 1.25 x 27.8 =
/// 34.75 A, of which a PV conductor is asked 1.25 x before factors, NEC 690.8(B)(1): 43.4 A; 10 AWG is printed at 40 A.
#[test]
fn the_factor_of_pv_conductors_is_said() {
    let pv = |size: &str| {
        with(
            &sound(),
            &[
                ("arrays.A1.strings", Value::Text("1S2P P1".into())),
                ("panels.P1.isc_a", n(13.9)),
                ("panels.P1.imp_a", n(13.0)),
                ("panels.P1.series_fuse_a", n(30.0)),
                ("runs.W1.gauge", Value::Gauge(size.parse().expect("gauge"))),
                ("runs.W1.legs.L1.laid", word("enclosed")),
                ("runs.W1.legs.L1.ambient_c", n(30.0)),
            ],
        )
    };
    let r = evaluate(&pv("10 AWG"));
    let f = found(&r, "conductor-below-current");
    assert_eq!(f.len(), 1, "{}", texts(&r));
    near("asked", Ok(f[0].n(0)), 43.44, 0.001);
    assert_eq!(
        f[0].text(),
        "W1: 34.8 A may flow; before ambient and bundle factors a PV conductor is asked 1.25 x that, 43.4 A, and leg L1 \
         carries 40.0 A"
    );
    assert!(found(&evaluate(&pv("8 AWG")), "conductor-below-current").is_empty());
}

/// Three packs of 100 Ah at C/2 give 150 A; 2000 W take 189.4 A, 1500 W 142 A.
#[test]
fn packs_of_unknown_rating_are_held_to_half_their_capacity() {
    let draws = |watts: f64, rating: Value| {
        let p = with(&sound(), &[("inverters.INV.watts_w", n(watts)), ("bank.max_discharge_a", rating)]);
        let r = evaluate(&p);
        let said: Vec<String> =
            found(&r, "discharge-rate-unknown").iter().map(|f| format!("{} {}", f.level, f.text())).collect();
        (said, r.unknown.contains(&FieldPath::new("bank.max_discharge_a")))
    };
    let note = format!(
        "{} INV draws 189 A at rated watts; the packs' continuous discharge rating is not known, 0.5 x their Ah would be 150 A",
        Level::Note
    );
    for unread in [Value::Nothing, Value::Unknown] {
        assert_eq!(draws(2000.0, unread), (vec![note.clone()], true));
    }
    assert_eq!(draws(1500.0, Value::Nothing), (vec![], false));
    assert_eq!(draws(1500.0, Value::Unknown), (vec![], true));
    assert_eq!(draws(2000.0, n(100.0)), (vec![], false));
    let lead = with(&sound(), &[("bank.chemistry", word("AGM")), ("bank.max_discharge_a", Value::Nothing)]);
    assert!(found(&evaluate(&lead), "discharge-rate-unknown").is_empty());
}

/// Of a bank whose limit nobody entered: 0.5 x Ah is as much as is usual for lithium iron phosphate, 0.2 x for gel
/// (`battery_chemistry.csv`). 41.6 A of two strings through the controller and 40 A from shore are 2 x 20.8 V x 2 x 10.1 A held to
/// 52 A out, and 40 A.
#[test]
fn a_charge_limit_that_nobody_entered_is_said_where_the_sum_is_unusual() {
    let of = |parallel: f64, limit: Value, chemistry: &'static str| {
        let edits = [("bank.parallel", n(parallel)), ("bank.max_charge_a", limit), ("bank.chemistry", word(chemistry))];
        with(&sound(), &edits)
    };
    for unread in [Value::Nothing, Value::Unknown] {
        let p = of(1.0, unread.clone(), "LFP");
        let r = evaluate(&p);
        let f = found(&r, "charge-limit-unknown");
        assert_eq!(f.len(), 1, "{}", texts(&r));
        assert_eq!((f[0].level, f[0].subject.as_str(), f[0].n(1), f[0].n(2)), (Level::Note, "bank", 50.0, 0.5));
        assert!(f[0].n(0) > 50.0 && f[0].n(0) <= 52.0 + 1e-9, "{}", f[0].text());
        assert!(f[0].text().contains("so the sum was not checked"), "{}", f[0].text());
        assert!(r.unknown.contains(&FieldPath::new("bank.max_charge_a")), "{:?}", r.unknown);
        super::explained::all_worked(&p);
        // Two batteries take twice as much.
        assert!(found(&evaluate(&of(2.0, unread, "LFP")), "charge-limit-unknown").is_empty());
    }
    assert!(found(&evaluate(&of(1.0, n(100.0), "LFP")), "charge-limit-unknown").is_empty());
    assert!(found(&evaluate(&of(1.0, n(40.0), "LFP")), "charge-limit-unknown").is_empty());
    assert!(!found(&evaluate(&of(1.0, n(40.0), "LFP")), "charge-over-limit").is_empty(), "its own limit decides");
    let gel = evaluate(&of(2.0, Value::Nothing, "gel"));
    assert_eq!(found(&gel, "charge-limit-unknown").iter().map(|f| f.n(1)).collect::<Vec<_>>(), [40.0]);
    assert!(found(&evaluate(&of(2.0, Value::Nothing, "AGM")), "charge-limit-unknown").is_empty(), "0.5 x 200 Ah");
}
