//! Another battery from the shelf, where one is too heavy for its coach or too high for its space.

use super::cures::is_curable;
use super::mistakes::{sound, with, word};
use super::{evaluate, found, says, texts};
use coachwire::engine::{Engine, Level};
use coachwire::plan::{Plan, Step, Value};
use coachwire::stock::{Shelf, Stock};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn stock(batteries: &str) -> Stock {
    let text = format!("(version: 1, batteries: [{batteries}])");
    Stock { shelf: Shelf::from_text(&text).unwrap_or_else(|e| panic!("{e}")), ..Stock::default() }
}

/// What is offered with a shelf. Each step removes its finding, adds no stop and is neither too heavy nor too large.
fn offered(p: &Plan, stock: &Stock, check: &str) -> Vec<Step> {
    let before = Engine::default().evaluate(p, stock);
    let f = *found(&before, check).first().unwrap_or_else(|| panic!("{check}\n{}", texts(&before)));
    let steps = Engine::default().cures(p, stock, f);
    for step in &steps {
        let after = Engine::default().evaluate(&p.with(step).expect("applies"), stock);
        for check in ["weight-over-margin", "battery-does-not-fit"] {
            assert!(
                found(&after, check).is_empty() || !found(&before, check).is_empty(),
                "{step:?}\n{}",
                texts(&after)
            );
        }
        assert!(found(&after, check).is_empty(), "{step:?}\n{}", texts(&after));
        let stops = after.findings.iter().filter(|f| f.level == Level::Stop);
        for f in stops {
            assert!(before.findings.iter().any(|b| b.identity() == f.identity()), "{step:?} adds {}", f.text());
        }
    }
    steps
}

fn names(steps: &[Step]) -> Vec<&str> {
    steps.iter().map(|s| s.name.as_str()).collect()
}

const LIGHT: &str = r#"(id: "SB1", battery: (name: "light 60", chemistry: "LFP", unit_v: 12.8, unit_ah: 60,
    ohmic_mohm: 8, max_charge_a: 60, max_discharge_a: 120, peak_a: 300, max_charge_v: 14.6, charge_cutoff_c: 0,
    discharge_cutoff_v: 10.8, unit_l_m: 0.26, unit_w_m: 0.17, unit_h_m: 0.17, weight_kg: 7.0))"#;

/// Four panels of 12 kg; what a coach may take beside one of them is less than a battery of 13 kg, and a lighter one from
/// the shelf is within: 20 - 12 = 8 kg, over 7 kg.
#[test]
fn where_one_battery_is_too_heavy_a_lighter_one_comes_from_the_shelf() {
    let p = with(&sound(), &[("bank.weight_kg", n(13.0)), ("job.cargo_margin_kg", n(20.0))]);
    let steps = offered(&p, &stock(LIGHT), "weight-over-margin");
    let first = steps.first().unwrap_or_else(|| panic!("none is offered"));
    assert!(first.name.starts_with("light 60 from the shelf: 60 Ah in place of "), "{}", first.name);
    assert!(first.name.contains(", 15.4 lb, 6.7\" high"), "{}", first.name);
    assert!(first.name.contains("; A1 without 3: 1S1P P1; costs: "), "{}", first.name);
    let after = p.with(first).expect("applies");
    assert_eq!((after.bank.name.as_str(), after.bank.unit_ah.known().map(|a| a.0)), ("light 60", Some(60.0)));
    // The old battery's figures are gone with it.
    assert_eq!(after.bank.sag_mohm, None);
    // Nothing lighter on the shelf: how heavy one battery may be is said. 25 kg with one of each, 5 kg over.
    assert!(offered(&p, &Stock::default(), "weight-over-margin").is_empty());
    let text = found(&evaluate(&p), "weight-over-margin")[0].text();
    assert!(text.contains("still 25 kg: a lighter battery, of 8 kg at most, another vehicle"), "{text}");
    // A coach that takes three packs has nothing to mend.
    let right = with(&p, &[("job.cargo_margin_kg", n(90.0))]);
    assert!(found(&evaluate(&right), "weight-over-margin").is_empty());
}

fn in_space(p: &Plan, high: f64) -> Plan {
    let (space, unit) = (["space_l_m", "space_w_m", "space_h_m"], ["unit_l_m", "unit_w_m", "unit_h_m"]);
    let sizes = space.iter().zip([0.7, 0.3, high]).chain(unit.iter().zip([0.33, 0.17, 0.24]));
    sizes.fold(p.clone(), |p, (field, m)| with(&p, &[(&format!("bank.{field}"), n(m))]))
}

/// 0.2 m take a battery of 0.17 m with an inch over it, not one of 0.19 m; four of 0.26 x 0.17 m stand on 0.7 x 0.3 m
/// (two along, two across). Neither volts that do not make the bank's nor those that are as high are offered.
#[test]
fn where_a_battery_is_too_high_a_lower_one_comes_from_the_shelf() {
    let p = in_space(&sound(), 0.2);
    let tall = LIGHT.replace("SB1", "SB2").replace("light 60", "tall").replace("unit_h_m: 0.17", "unit_h_m: 0.19");
    let other = LIGHT.replace("SB1", "SB3").replace("light 60", "of 24 V").replace("unit_v: 12.8", "unit_v: 25.6");
    let steps = offered(&p, &stock(&[LIGHT, &tall, &other].join(",\n")), "battery-does-not-fit");
    let all = names(&steps);
    assert!(all.len() == 1 && all[0].starts_with("4 x light 60 from the shelf: 240 Ah in place of 300 Ah"), "{all:?}");
    let text = found(&evaluate(&p), "battery-does-not-fit")[0].text();
    assert!(text.contains("lower ones, of 174 mm at most over their terminals"), "{text}");
    // The typical shelf has low ones too, and says that their label is still to be read.
    let steps = offered(&in_space(&sound(), 0.22), &Stock::first(), "battery-does-not-fit");
    let all = names(&steps);
    assert!(all.iter().any(|s| s.contains("100 Ah, low from the shelf")), "{all:?}");
    assert!(all.iter().all(|s| s.contains("typical figures until its label is read")), "{all:?}");
}

/// Lithium in the place of lead: what charges it equalises no more, compensates no more and stays within lithium's volts.
#[test]
fn lithium_in_place_of_lead_brings_its_charge_settings() {
    let lead = [
        ("bank.chemistry", word("AGM")),
        ("bank.unit_v", n(12.0)),
        ("bank.charge_cutoff_c", Value::Nothing),
        ("controllers.C1.absorb_v", n(14.7)),
        ("controllers.C1.float_v", n(13.2)),
        ("controllers.C1.equalise_v", n(15.5)),
        ("controllers.C1.temp_comp_mv_k", n(-24.0)),
    ];
    let p = in_space(&with(&sound(), &lead), 0.2);
    let steps = offered(&p, &stock(LIGHT), "battery-does-not-fit");
    let name = names(&steps).join("\n");
    assert!(name.contains("; C1: absorb 14.6 V") && name.contains("no equalising, no compensation"), "{name}");
    let after = p.with(&steps[0]).expect("applies");
    let r = evaluate(&after);
    for check in ["equalise-not-allowed", "compensation-on-lithium", "charge-volts-high", "charge-volts-outside-window"]
    {
        assert!(!says(&r, check, "controllers.C1"), "{}", texts(&r));
    }
    is_curable(&with(&sound(), &[("controllers.C1.equalise_v", n(15.0))]), "equalise-not-allowed", "controllers.C1");
}
