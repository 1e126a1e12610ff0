//! Strings of too few volts, and one charger set otherwise than the rest: what is said of them and offered for them.

use super::cures::cures;
use super::mistakes::{insert, sound, with};
use super::{evaluate, found, texts};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// So many of the sound plan's panels, and what its controller asks of them.
fn strung(strings: &str, more: &[(&str, Value)]) -> Plan {
    let p = with(&sound(), &[("arrays.A1.strings", Value::Text(strings.into()))]);
    with(&p, more)
}

/// A bank of more volts than the panels reach, on a controller set for 12 V: one and one of the two in series would be
/// fewer volts still, and only move the word from the controller to the array. Two in parallel that lose gain in series.
/// Source: panels in series add their volts.
#[test]
fn too_few_volts_are_not_cured_by_fewer() {
    let of = |strings: &str, series: f64| {
        strung(
            strings,
            &[("bank.series", n(series)), ("controllers.C1.run_headroom_v", n(if series > 4.0 { 12.0 } else { 1.0 }))],
        )
    };
    let subject = "controllers.C1";
    assert_eq!(cures(&of("2S1P P1", 8.0), "array-below-bank", subject), Vec::new());
    let p = of("1S2P P1", 2.0);
    let steps = cures(&p, "array-below-bank", subject);
    assert!(!steps.is_empty(), "{}", texts(&evaluate(&p)));
    for step in steps {
        let after = evaluate(&p.with(&step).expect("applies"));
        for low in ["array-below-bank", "hot-vmp-low"] {
            assert!(found(&after, low).is_empty(), "{step:?}\n{}", texts(&after));
        }
    }
}

/// More in series are said to do where the controller takes their open volts when cold; where not, how many it would be and
/// that it does not. Source: panels in series add their volts; the limit is the sheet's.
#[test]
fn more_in_series_only_where_the_controller_takes_them() {
    let of = |limit: Value| {
        strung("2S1P P1", &[("controllers.C1.run_headroom_v", n(30.0)), ("controllers.C1.max_pv_v", limit)])
    };
    let said = |p: &Plan| {
        let r = evaluate(p);
        let all = found(&r, "hot-vmp-low");
        assert_eq!(all.len(), 1, "{}", texts(&r));
        (
            all[0].text(),
            all[0].clone(),
            r.arrays[0].voc_cold_v.clone().expect("known").0,
            r.arrays[0].vmp_hot_v.clone().expect("known").0,
        )
    };
    let (text, f, cold, hot) = said(&of(n(500.0)));
    assert!(text.contains("more panels in series would do") && !text.contains("too much still"), "{text}");
    let lacks = f.n(1) - hot;
    assert!(
        lacks > 1.0 && text.contains(&format!("without any loss {lacks:.1} V would lack still")),
        "{lacks}: {text}"
    );
    // The shortest string that reaches: its volts a volt on either side of the limit.
    let series = (3..20).find(|s| hot / 2.0 * f64::from(*s) - f.n(4) >= f.n(1)).expect("some string");
    let open = cold / 2.0 * f64::from(series);
    assert!(said(&of(n(open + 1.0))).0.contains("more panels in series would do"));
    let (text, ..) = said(&of(n(open - 1.0)));
    assert!(text.contains(&format!("{series} panels in series would, but are {open:.1} V open when cold")), "{text}");
    assert!(text.contains("a controller that takes more volts") && !text.contains("more panels"), "{text}");
    assert!(said(&of(Value::Unknown)).0.contains("if C1 takes their volts when cold"));
}

/// Of three or more sources the odd one is named, wherever it stands, and takes the others' volts; of two that disagree each
/// may be wrong, and no volts are copied that are wrong for the battery.
#[test]
fn the_odd_charger_is_named_and_no_other() {
    let charger = |id: &str, absorb: f64| {
        format!(
            r#"(id: "{id}", kind: "shore", out_a: 20.0, efficiency_pct: 90.0, ac_source: "shore", absorb_v: {absorb:?})"#
        )
    };
    let of = |volts: &[f64]| {
        let p = with(&sound(), &[("controllers.C1.absorb_v", n(volts[0]))]);
        let add = |p: Plan, (i, v): (usize, &f64)| insert(&p, "chargers", &charger(&format!("K{i}"), *v));
        volts.iter().enumerate().skip(1).fold(p, add)
    };
    let check = "profiles-disagree";
    let path = |i: usize| if i == 0 { "controllers.C1".to_owned() } else { format!("chargers.K{i}") };
    for count in [3, 4] {
        for odd in 0..count {
            for off in [13.0, 14.0, 14.55] {
                let volts: Vec<f64> = (0..count).map(|i| if i == odd { off } else { 14.25 }).collect();
                let p = of(&volts);
                let r = evaluate(&p);
                let named: Vec<&str> = found(&r, check).iter().map(|f| f.subject.as_str()).collect();
                assert_eq!(named, [path(odd)], "{volts:?}\n{}", texts(&r));
                let steps = cures(&p, check, &path(odd));
                assert_eq!(steps.len(), 1, "{steps:?}");
                assert_eq!(p.with(&steps[0]).expect("applies"), of(&vec![14.25; count]), "{steps:?}");
            }
        }
    }
    // Two that disagree: the later is named beside the first, and either may take the other's.
    let two = of(&[14.2, 14.5]);
    let r = evaluate(&two);
    assert!(found(&r, check)[0].text().starts_with("C1 and K1"), "{}", texts(&r));
    let both: Vec<Plan> = cures(&two, check, &path(1)).iter().map(|s| two.with(s).expect("applies")).collect();
    assert_eq!(both, [of(&[14.2, 14.2]), of(&[14.5, 14.5])]);
    // 12.78 V never fills it: only the other way.
    let low = of(&[12.78, 14.2]);
    let steps = cures(&low, check, &path(1));
    assert_eq!(steps.len(), 1, "{steps:?}");
    assert_eq!(low.with(&steps[0]).expect("applies"), of(&[14.2, 14.2]));
}
