//! What the year says: clipping, arrays below the bank, unlike panels; each with its silent twin.

use super::mistakes::{insert, sound, with};
use super::samples::SOUND;
use super::{evaluate, found, plan, says};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Edit, FieldPath, Step, Value};

fn report(edits: &[(&str, Value)]) -> Report {
    let edits = edits.iter().map(|(at, to)| Edit::Set { at: FieldPath::new(*at), to: to.clone() }).collect();
    evaluate(&plan(SOUND).with(&Step { name: "test".into(), edits }).unwrap_or_else(|e| panic!("{e}")))
}

/// A controller that may pass 12 A of what would be more: the year's own sum of what was cut off is the number.
#[test]
fn clipping_is_a_note_with_its_energy() {
    let free = report(&[("controllers.C1.out_a", Value::Number(70.0))]);
    assert!(free.findings.iter().all(|f| f.check.id != "clipping"));
    let r = report(&[("controllers.C1.out_a", Value::Number(12.0))]);
    let found = r.findings.iter().find(|f| f.check.id == "clipping").expect("clipping");
    assert_eq!(found.level, Level::Note);
    let lost = free.year.harvest_kwh.clone().unwrap() - r.year.harvest_kwh.clone().unwrap();
    // What the posts miss is what was cut off at the controller, less the wire's loss on it.
    assert!(found.n(0) > lost && found.n(0) < lost * 1.1, "{} cut off, {lost} missing", found.n(0));
}

/// Source: the finding's own thresholds, one kWh a year, or panels that are rated a tenth over the output: 840 W at 97 %
/// and 12.8 V are 63.7 A. The same figures decide on both sides of them.
#[test]
fn clipping_below_one_kwh_a_year_is_said_of_large_panels_only() {
    let rated_a = 840.0 * 0.97 / 12.8;
    let (mut said, mut silent) = (0, 0);
    for half in 60..150 {
        let amps = f64::from(half) / 2.0;
        let r = report(&[("controllers.C1.out_a", Value::Number(amps))]);
        let kwh = r.controllers[0].clipped_kwh.clone().unwrap();
        let worth = kwh >= 1.0 || rated_a > 1.1 * amps;
        assert_eq!(says(&r, "clipping", "controllers.C1"), worth, "{kwh} kWh at {amps} A");
        if worth {
            said += 1
        } else {
            silent += 1
        }
        if let Some(f) = found(&r, "clipping").first().filter(|_| kwh < 1.0) {
            assert!(f.text().contains("63.7 A") && f.text().contains("less than 1 kWh"), "{}", f.text());
        }
    }
    assert!(said > 5 && silent > 2, "{said} {silent}");
}

/// A headroom the hot array cannot keep is lost energy. The array says so with its loss, the controller not again.
#[test]
fn hot_volts_cost_what_the_finding_says() {
    let free = report(&[]);
    assert!(free.findings.iter().all(|f| f.check.id != "hot-vmp-low" && f.check.id != "array-below-bank"));
    // A home run without resistance to speak of: its loss is another's.
    let short = [
        ("arrays.A1.strings", Value::Text("1S2P P1".into())),
        ("controllers.C1.run_headroom_v", Value::Number(4.5)),
        ("runs.W1.gauge", Value::Gauge("4/0 AWG".parse().expect("gauge"))),
        ("runs.W1.legs.L1.length_m", Value::Number(0.05)),
        ("runs.W1.protection.F1.state", Value::Word("removed")),
    ];
    let r = report(&short);
    let hot = found(&r, "hot-vmp-low")[0];
    assert_eq!(hot.level, Level::Caution);
    assert!(found(&r, "array-below-bank").is_empty(), "one word for one cause");
    let mut without = short;
    without[1].1 = Value::Number(0.0);
    let ideal = report(&without);
    let lost = ideal.year.harvest_kwh.clone().unwrap() - r.year.harvest_kwh.clone().unwrap();
    assert!(lost > 1.0, "the headroom costs {lost} kWh");
    // What the panels lose reaches the posts less the controller's 3 % and the wire's part.
    let at_panels = (hot.n(3) / 1000.0 - ideal.controllers[0].low_volts_kwh.clone().unwrap()) * 0.97;
    assert!(lost <= at_panels * 1.001 && lost > at_panels * 0.93, "{at_panels} kWh at the panels, {lost} at the posts");
    assert!(hot.text().contains("Wh a year are lost"), "{}", hot.text());
}

/// A weak loss that the hot volts at the hottest month's maximum do not show is the controller's own word. 20.8 V at
/// -0.28 %/K of 24.9 V: hottest cells go beyond the mean daily maximum plus 47 K.
#[test]
fn a_loss_without_low_hot_volts_is_the_controllers_own() {
    for tenths in 0..60 {
        let headroom = f64::from(tenths) / 10.0;
        let r = report(&[
            ("arrays.A1.strings", Value::Text("1S2P P1".into())),
            ("controllers.C1.run_headroom_v", Value::Number(headroom)),
        ]);
        let kwh = r.controllers[0].low_volts_kwh.clone().unwrap();
        let hot = says(&r, "hot-vmp-low", "arrays.A1");
        assert_eq!(says(&r, "array-below-bank", "controllers.C1"), kwh >= 1.0 && !hot, "{headroom} V: {kwh} kWh");
    }
}

/// Common practice: an unknown headroom is scanned from 0 to 5 V.
#[test]
fn an_unknown_headroom_matters_only_where_it_changes_the_answer() {
    let of = |strings: &str, absorb: f64| {
        report(&[
            ("arrays.A1.strings", Value::Text(strings.into())),
            ("controllers.C1.run_headroom_v", Value::Unknown),
            ("controllers.C1.absorb_v", Value::Number(absorb)),
        ])
    };
    let plenty = of("2S2P P1", 14.2);
    assert!(found(&plenty, "hot-vmp-low").is_empty());
    assert!(plenty.unknown.iter().any(|p| p.as_str() == "controllers.C1.run_headroom_v"));
    let arrives = {
        let r = report(&[
            ("arrays.A1.strings", Value::Text("1S2P P1".into())),
            ("controllers.C1.run_headroom_v", Value::Number(30.0)),
        ]);
        found(&r, "hot-vmp-low")[0].n(0)
    };
    let open = of("1S2P P1", arrives - 2.0);
    let f = found(&open, "hot-vmp-low")[0];
    assert!((f.n(1) - (arrives - 2.0)).abs() < 1e-9 && f.text().contains("from 2.0 V"), "{}", f.text());
    // Without any headroom it fails on its own number, not on five volts more.
    let short = of("1S2P P1", arrives + 0.5);
    let f = found(&short, "hot-vmp-low")[0];
    assert!((f.n(1) - (arrives + 0.5)).abs() < 1e-9 && f.n(2) == 0.0 && !f.text().contains("nobody"), "{}", f.text());
    assert!(found(&of("1S2P P1", arrives - 5.1), "hot-vmp-low").is_empty());
}

const OTHER: &str = r#"(id: "P2", pmax_w: 100.0, vmp_v: 18.0, imp_a: 5.56, voc_v: 22.0, isc_a: 6.0, cells: 36.0,
    alpha_pct_k: 0.05, beta_pct_k: -0.28, series_fuse_a: 15.0, weight_kg: 7.0)"#;

/// Source: definition: each panel on a controller of its own gives its best; in series the weaker one's current rules.
#[test]
fn unlike_panels_lose_what_two_controllers_would_give_more() {
    let both = insert(&sound(), "panels", OTHER);
    let mixed = evaluate(&with(&both, &[("arrays.A1.strings", Value::Text("P1+P2".into()))]));
    let loss = found(&mixed, "unlike-panels")[0];
    assert_eq!(loss.level, Level::Caution);
    assert!(found(&mixed, "unlike-panels-loss").is_empty(), "one word for one cause");
    let mut apart = 0.0;
    for panel in ["1S1P P1", "1S1P P2"] {
        let alone = evaluate(&with(&both, &[("arrays.A1.strings", Value::Text(panel.into()))]));
        assert!(found(&alone, "unlike-panels").is_empty() && found(&alone, "unlike-panels-loss").is_empty());
        apart += alone.controllers[0].offered_kwh.clone().unwrap();
    }
    let missing = (apart - mixed.controllers[0].offered_kwh.clone().unwrap()) * 1000.0 / 365.0;
    assert!(missing > 100.0 && (loss.n(1) - missing).abs() < 0.005 * missing, "{} said, {missing} missing", loss.n(1));
    // Panels less than 5 % apart are no mistake; what they lose is a note.
    let near = with(
        &both,
        &[
            ("panels.P2.vmp_v", Value::Number(20.8)),
            ("panels.P2.imp_a", Value::Number(9.7)),
            ("panels.P2.voc_v", Value::Number(24.9)),
            ("panels.P2.isc_a", Value::Number(10.3)),
            ("panels.P2.pmax_w", Value::Number(202.0)),
        ],
    );
    let r = evaluate(&with(&near, &[("arrays.A1.strings", Value::Text("P1+P2".into()))]));
    assert!(found(&r, "unlike-panels").is_empty());
    assert_eq!(found(&r, "unlike-panels-loss")[0].level, Level::Note);
}

/// By hand: 41.6 V beside 38.8 V is 6.7 % apart; two arrays in parallel on one controller are one set of strings.
#[test]
fn unlike_strings_of_two_arrays_on_one_controller_are_compared() {
    let of = |vmp: f64| {
        let other = OTHER.replace("vmp_v: 18.0", &format!("vmp_v: {vmp:.1}")).replace("voc_v: 22.0", "voc_v: 25.0");
        let p = insert(
            &insert(&sound(), "panels", &other),
            "arrays",
            r#"(id: "A2", strings: "2S1P P2", controller: "C1")"#,
        );
        evaluate(&p)
    };
    let r = of(19.4);
    let f = found(&r, "unlike-panels");
    assert!(f.len() == 1 && f[0].subject.as_str() == "controllers.C1", "{f:?}");
    assert!((f[0].n(0) - (20.8 - 19.4) / 20.8 * 100.0).abs() < 1e-9);
    assert!(found(&of(20.4), "unlike-panels").is_empty());
}
