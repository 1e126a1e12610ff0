//! Loads that pull an inverter down to its own cut-off while they run, though the hours' means do not: by hand.

use super::cures::is_curable;
use super::mistakes::{insert, with};
use super::{evaluate, found, near, plan, texts};
use coachwire::engine::Level;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The sound coach on 225 Ah of flooded lead, its inverter off at 11.6 V, with AC loads of so many watts for a few minutes a day.
fn lead(watts: &[f64]) -> Plan {
    let bank = "chemistry: \"flooded\", unit_v: 6.0, unit_ah: 225.0, series: 2.0, parallel: 1.0";
    let ron = super::samples::SOUND
        .replace("chemistry: \"LFP\", unit_v: 12.8, unit_ah: 100.0, series: 1.0, parallel: 3.0", bank)
        .replace("max_discharge_a: 100.0, max_charge_a: 50.0, charge_cutoff_c: 0.0, vented: \"no\"", "vented: \"yes\"");
    let plan = with(&plan(&ron), &[("inverters.INV.cutoff_v", n(11.6))]);
    watts.iter().enumerate().fold(plan, |plan, (i, watts)| {
        let load = format!(r#"(id: "M{i}", watts_w: {watts:.1}, hours_day: 0.1, supply: "inverter")"#);
        insert(&plan, "loads", &load)
    })
}

/// Volts of six lead cells of so many Ah (20 h) at 25 C, giving a current.
/// Source: Copetti, Lorenzo & Chenlo 1993: V = 2.085 - 0.12 (1 - SOC) - I / C10 (4 / (1 + I^1.3) + 0.27 / SOC^1.5 + 0.02), and its
/// capacity C / C10 = 1.67 / (1 + 0.67 (I / I10)^0.9), here solved for C10 at the 20 h current.
fn copetti_v(c20_ah: f64, soc: f64, amps: f64) -> f64 {
    let mut c10_ah = c20_ah;
    for _ in 0..50 {
        c10_ah = c20_ah * (1.0 + 0.67 * ((c20_ah / 20.0) / (c10_ah / 10.0)).powf(0.9)) / 1.67;
    }
    let ohms = 4.0 / (1.0 + amps.powf(1.3)) + 0.27 / soc.powf(1.5) + 0.02;
    6.0 * (2.085 - 0.12 * (1.0 - soc) - amps / c10_ah * ohms)
}

/// 600 W through 88 % at 11.6 V are 58.8 A of a battery of 225 Ah: at 60 % of its charge it stands at 11.2 V.
#[test]
fn a_load_that_turns_its_inverter_off_is_found() {
    let p = lead(&[600.0]);
    let r = evaluate(&p);
    let all = found(&r, "loads-below-cut-off");
    let f = all.first().unwrap_or_else(|| panic!("{}", texts(&r)));
    assert_eq!((f.level, f.subject.as_str(), f.name(1)), (Level::Caution, "inverters.INV", "M0"));
    let (stands_v, cut_v, amps, soc, holds, posts_v, own_a) = (f.n(0), f.n(1), f.n(3), f.n(4), f.n(5), f.n(6), f.n(7));
    near("what the inverter draws", Ok(own_a), 600.0 / 0.88 / 11.6, 1e-9);
    assert!((amps - own_a).abs() < 1e-9, "nothing runs beside it: {amps} and {own_a}");
    near("volts at the posts", Ok(posts_v), copetti_v(225.0, soc / 100.0, amps), 0.005);
    assert!(stands_v < cut_v - 0.1 && cut_v == 11.6 && stands_v < posts_v, "{}", f.text());
    // From there up it stays on: the law by hand, less what its wire loses.
    let at = copetti_v(225.0, holds / 100.0, amps) - (posts_v - stands_v);
    assert!(holds > soc && holds <= 100.0 && (at - 11.6).abs() < 0.06, "at {holds} %: {at} V");
    // The year counts it as served, and the finding says so.
    let cut: f64 = r.year.cut_offs.iter().flat_map(|c| c.wh_day.iter()).map(|wh| wh.clone().unwrap().0).sum();
    assert!(cut < 1.0 && f.text().contains("counts such loads as served"), "{cut} Wh\n{}", f.text());
    is_curable(&p, "loads-below-cut-off", "inverters.INV");
    // 900 W are too much for a full one.
    let full = evaluate(&lead(&[900.0]));
    let f = found(&full, "loads-below-cut-off")[0];
    assert!(f.text().contains("not even a full bank"), "{}", f.text());
    assert!(copetti_v(225.0, 0.995, f.n(3)) - (f.n(6) - f.n(0)) < 11.6, "{}", f.text());
}

#[test]
fn what_the_bank_holds_up_is_not() {
    // No load, a small one, three batteries in parallel of 900 Ah in all, and the lithium of the sound coach.
    let four = with(&lead(&[900.0]), &[("bank.parallel", n(4.0))]);
    let none = with(&lead(&[900.0]), &[("inverters.INV.cutoff_v", Value::Nothing)]);
    let lithium = insert(
        &with(&super::mistakes::sound(), &[("inverters.INV.cutoff_v", n(11.6))]),
        "loads",
        r#"(id: "M0", watts_w: 900.0, hours_day: 0.1, supply: "inverter")"#,
    );
    for (what, p) in
        [("none", lead(&[])), ("small", lead(&[100.0])), ("four", four), ("no cut-off", none), ("LFP", lithium)]
    {
        let r = evaluate(&p);
        assert!(found(&r, "loads-below-cut-off").is_empty(), "{what}:\n{}", texts(&r));
    }
}

/// Each of several alone is held up, all of them at once are not: a note, in which what runs beside them counts.
#[test]
fn all_that_may_run_at_once_is_a_note() {
    let p = lead(&[250.0, 250.0, 250.0, 250.0]);
    let r = evaluate(&p);
    let all = found(&r, "loads-below-cut-off");
    let f = all.first().unwrap_or_else(|| panic!("{}", texts(&r)));
    assert_eq!((f.level, f.name(1)), (Level::Note, ""));
    near("its watts", Ok(f.n(2)), 1000.0, 1e-12);
    // 60 W of DC load at the volts of the posts, by hand.
    let posts_v = 11.6 + (f.n(6) - f.n(0));
    near("in all", Ok(f.n(3)), 1000.0 / 0.88 / 11.6 + 60.0 / posts_v, 1e-6);
    // What no inverter is rated for runs through none.
    let over = evaluate(&lead(&[600.0, 600.0, 600.0, 600.0]));
    assert!(found(&over, "loads-below-cut-off").iter().all(|f| f.n(2) <= 1000.0), "{}", texts(&over));
}

/// What the year counts of an old battery is its label.
#[test]
fn batteries_that_are_no_longer_new_are_told_of() {
    let aged = |plan: &Plan, years: Value| evaluate(&with(plan, &[("bank.age_years", years)]));
    for (years, said) in [(1.5, "1.5 years old"), (6.0, "mostly replaced")] {
        let r = aged(&lead(&[]), n(years));
        let f = found(&r, "bank-age-not-counted");
        assert!(f.len() == 1 && f[0].level == Level::Note && f[0].text().contains(said), "{years}: {}", texts(&r));
        assert_eq!(r.bank.usable_wh, evaluate(&lead(&[])).bank.usable_wh, "nothing is taken off");
    }
    let r = aged(&super::mistakes::sound(), n(6.0));
    assert!(found(&r, "bank-age-not-counted").iter().all(|f| !f.text().contains("lead")), "{}", texts(&r));
    for years in [Value::Nothing, Value::Unknown, n(0.0), n(1.0)] {
        assert!(found(&aged(&lead(&[]), years.clone()), "bank-age-not-counted").is_empty(), "{years:?}");
    }
}

pub(super) fn raised() -> Vec<(&'static str, Plan)> {
    vec![
        ("loads-below-cut-off", lead(&[900.0])),
        ("bank-age-not-counted", with(&lead(&[]), &[("bank.age_years", n(6.0))])),
    ]
}
