//! Several inverters: a load goes by the one that its run comes from.

use super::mistakes::{insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Edit, FieldPath, Id, Plan, Step, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// A first inverter of 1000 W, 90 % and 12 W unloaded; a second of 500 W, 75 % and 30 W on a line of its own; loads of 200
/// and 100 W for 4 h, by runs from the second where `is_drawn`.
pub(super) fn two(is_drawn: bool) -> Plan {
    let fused = ("runs.W3.protection.F1.amps_a", n(300.0));
    let p = with(&sound(), &[("inverters.INV.efficiency_pct", n(90.0)), ("inverters.INV.idle_w", n(12.0)), fused]);
    let p = insert(&p, "inverters", r#"(id: "INV2", watts_w: 500.0, efficiency_pct: 75.0, idle_w: 30.0)"#);
    let line = r#"(id: "W15", from: "BUS", to: "INV2", gauge: "1/0 AWG", legs: [(id: "L1", length_m: 1.0, insulation_c: 105.0)],
        protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: 100.0, distance_m: 0.1)])"#;
    let mut p = insert(&p, "runs", line);
    for (load, watts, name) in [("L4", 200.0, "W16"), ("L5", 100.0, "W17")] {
        let item = format!(r#"(id: "{load}", watts_w: {watts:?}, hours_day: 4.0, supply: "inverter")"#);
        p = insert(&p, "loads", &item);
        if is_drawn {
            p = insert(&p, "runs", &format!(r#"(id: "{name}", from: "INV2", to: "{load}")"#));
        }
    }
    p
}

/// One load on each, both with a cut-off.
pub(super) fn one_each() -> Plan {
    let p = with(&two(true), &[("runs.W17.from", Value::Id("INV".parse::<Id>().expect("id")))]);
    with(&p, &[("inverters.INV.cutoff_v", n(11.0)), ("inverters.INV2.cutoff_v", n(10.0))])
}

/// The same with the two inverters the other way round in the list.
fn swapped(mut p: Plan) -> Plan {
    p.inverters.reverse();
    p
}

fn day_wh(r: &Report) -> f64 {
    r.loads.wh_day[0].clone().expect("known").0
}

/// 300 W for 4 h through 75 %, 60 W of DC for 8 h, and both inverters unloaded all day, whichever stands first.
/// Source: by hand.
#[test]
fn a_load_goes_by_the_inverter_its_run_comes_from() {
    let by_hand = 300.0 * 4.0 / 0.75 + 60.0 * 8.0 + 24.0 * (12.0 + 30.0);
    let (one, other) = (evaluate(&two(true)), evaluate(&swapped(two(true))));
    for r in [&one, &other] {
        near("a day", Ok(day_wh(r)), by_hand, 1e-12);
        let t = r.loads.together.clone().expect("known");
        // The other draws what it draws unloaded.
        near("at once", Ok(t.watts.0), 60.0 + 300.0 / 0.75 + 12.0, 1e-12);
        assert!(found(r, "inverter-of-load-unknown").is_empty(), "{}", texts(r));
    }
    let months = |r: &Report| r.year.months.clone().map(|m| m.load_wh_day.expect("a year").0);
    for (a, b) in months(&one).into_iter().zip(months(&other)) {
        near("the year", Ok(a), b, 1e-9);
        near("by hand, and the controller's own draw", Ok(a), by_hand, 0.005);
    }
    // No load hangs on the first: what it makes of what it takes is no matter to the audit.
    let open = evaluate(&with(&two(true), &[("inverters.INV.efficiency_pct", Value::Unknown)]));
    near("a day", Ok(day_wh(&open)), by_hand, 1e-12);
    let waits = evaluate(&with(&two(true), &[("inverters.INV2.efficiency_pct", Value::Unknown)]));
    assert_eq!(waits.loads.wh_day[0].clone().expect_err("known").0.as_str(), "inverters.INV2.efficiency_pct");
    // One each.
    let p = with(&two(true), &[("runs.W17.from", Value::Id("INV".parse::<Id>().expect("id")))]);
    let each = 200.0 * 4.0 / 0.75 + 100.0 * 4.0 / 0.9 + 60.0 * 8.0 + 24.0 * (12.0 + 30.0);
    near("one each", Ok(day_wh(&evaluate(&p))), each, 1e-12);
}

/// What an inverter loses that nothing hangs on stops no year, though it shares its runs with others and with the chargers;
/// what one loses that loads hang on does. Its own line and what it shares wait.
/// Source: nothing flows through it: within what 90 % would warm the shared wire, a thousandth of the harvest.
#[test]
fn an_idle_inverter_stops_no_year() {
    for p in [two(true), swapped(two(true))] {
        let known = evaluate(&p);
        let r = evaluate(&with(&p, &[("inverters.INV.efficiency_pct", Value::Unknown)]));
        assert!(r.runs.iter().any(|run| run.resistance_ohm.is_err()), "it shares a run");
        let kwh = |r: &Report| r.year.harvest_kwh.clone().expect("a year");
        let unmet = |r: &Report| r.year.unmet_pct.clone().expect("a year");
        assert!((kwh(&r) / kwh(&known) - 1.0).abs() < 1e-3, "{} {}", kwh(&r), kwh(&known));
        assert!((unmet(&r) - unmet(&known)).abs() < 0.05);
        assert!(r.unknown.iter().any(|at| at.as_str() == "inverters.INV.efficiency_pct"));
        let waits = evaluate(&with(&p, &[("inverters.INV2.efficiency_pct", Value::Unknown)]));
        assert_eq!(waits.year.unmet_pct.clone().expect_err("waits").0.as_str(), "inverters.INV2.efficiency_pct");
    }
    // The only one, with no load on it.
    let alone = with(&sound(), &[("inverters.INV.efficiency_pct", Value::Unknown)]);
    let r = evaluate(&alone);
    assert!(r.year.harvest_kwh.is_ok() && r.year.unmet_pct.is_ok(), "{:?}", r.year.unmet_pct);
}

/// Where no run tells, the one that loses most is taken, and that is said; a single inverter needs no run.
#[test]
fn without_a_run_from_several_inverters_it_is_asked() {
    for p in [two(false), swapped(two(false))] {
        let r = evaluate(&p);
        near("a day", Ok(day_wh(&r)), 300.0 * 4.0 / 0.75 + 60.0 * 8.0 + 24.0 * 42.0, 1e-12);
        let said = found(&r, "inverter-of-load-unknown");
        assert_eq!(
            (said.len(), said[0].level, said[0].subject.as_str()),
            (1, Level::Note, "loads.L4"),
            "{}",
            texts(&r)
        );
        assert!(said[0].text().contains("L4, L5") && said[0].text().contains("take INV2, which loses most"));
    }
    let single = with(&two(false), &[("inverters.INV2.state", word("removed"))]);
    let r = evaluate(&single);
    near("a day", Ok(day_wh(&r)), 300.0 * 4.0 / 0.9 + 60.0 * 8.0 + 24.0 * 12.0, 1e-12);
    assert!(found(&r, "inverter-of-load-unknown").is_empty());
}

/// A load above the inverter it hangs on, though another could carry it: 600 W on 500 W, 1000 W beside it. What is drawn at
/// once and at a start is no more than that one gives. Source: by hand.
#[test]
fn each_inverter_has_its_own_rating() {
    for p in [two(true), swapped(two(true))] {
        assert!(found(&evaluate(&p), "loads-over-inverter").is_empty());
        let p = with(&p, &[("loads.L4.watts_w", n(600.0))]);
        let r = evaluate(&p);
        let said = found(&r, "loads-over-inverter");
        assert_eq!(said.iter().map(|f| f.subject.as_str()).collect::<Vec<_>>(), ["inverters.INV2"], "{}", texts(&r));
        assert_eq!((said[0].level, said[0].n(2), said[0].n(1)), (Level::Caution, 600.0, 500.0));
        let t = r.loads.together.clone().expect("known");
        near("at once", Ok(t.watts.0), 60.0 + 500.0 / 0.75 + 12.0, 1e-12);
        assert!(t.is_capped);
        super::cures::is_curable(&p, "loads-over-inverter", "inverters.INV2");
        // 300 W run and 400 W more start: 700 W of 650.
        let surge = [("loads.L4.surge_w", n(600.0)), ("inverters.INV2.surge_w", n(650.0))];
        let surge = evaluate(&with(&with(&p, &[("loads.L4.watts_w", n(200.0))]), &surge)).loads.surge.clone();
        let surge = surge.expect("known");
        near("a start", Ok(surge.watts.0), 60.0 + 650.0 / 0.75 + 12.0, 1e-12);
        assert!(surge.is_capped && surge.load.is_some_and(|l| l.as_str() == "L4"));
    }
    // A start above what its own inverter gives for a moment, though the other would give it.
    let start = |first: f64, second: f64| {
        let surge = [("inverters.INV.surge_w", n(first)), ("inverters.INV2.surge_w", n(second))];
        let r = evaluate(&with(&with(&two(true), &surge), &[("loads.L4.surge_w", n(3000.0))]));
        found(&r, "start-over-inverter").iter().map(|f| (f.subject.to_string(), f.n(1))).collect::<Vec<_>>()
    };
    assert_eq!(start(4000.0, 1000.0), [("loads.L4".to_string(), 1000.0)]);
    assert_eq!(start(1000.0, 4000.0), []);
    // Turns: 300 W on 250 W, none of them alone too much.
    let turns = evaluate(&with(&two(true), &[("inverters.INV2.watts_w", n(250.0))]));
    let said = found(&turns, "loads-over-inverter");
    assert_eq!((said.len(), said[0].level, said[0].n(0), said[0].n(1)), (1, Level::Note, 300.0, 250.0));
}

/// Wh not served in the mean days of all months while each inverter is off, of those that the year has a cut-off of.
fn off_wh(p: &Plan, r: &Report) -> Vec<(String, f64)> {
    let sum = |own: &coachwire::engine::report::CutOffFigures| {
        own.wh_day.iter().map(|wh| wh.clone().expect("a year").0).sum()
    };
    r.year.cut_offs.iter().map(|own| (p.inverters[own.inverter].id.to_string(), sum(own))).collect()
}

fn cut(p: &Plan, first: f64, second: f64) -> Plan {
    with(p, &[("inverters.INV.cutoff_v", n(first)), ("inverters.INV2.cutoff_v", n(second))])
}

/// The year has the cut-off of each inverter that something hangs on, wherever it stands in the list: at 12.9 V that of an idle
/// one takes nothing away, that of the other does.
#[test]
fn each_inverter_is_cut_off_by_itself() {
    let of = |p: &Plan| off_wh(p, &evaluate(p));
    for p in [two(true), swapped(two(true))] {
        assert_eq!(of(&cut(&p, 12.9, 10.0)), [("INV2".to_string(), 0.0)], "nothing hangs on the other");
        let all = of(&cut(&p, 10.0, 13.2));
        assert!(all.len() == 1 && all[0].0 == "INV2" && all[0].1 > 100.0, "{all:?}");
    }
    for p in [one_each(), swapped(one_each())] {
        let by = |first: f64, second: f64| {
            let p = cut(&p, first, second);
            let r = evaluate(&p);
            let mut all = off_wh(&p, &r);
            all.sort_by(|a, b| a.0.cmp(&b.0));
            let whole: f64 = r.year.months.iter().map(|m| m.cut_off_wh_day.clone().unwrap().unwrap().0).sum();
            assert_eq!((all[0].0.as_str(), all[1].0.as_str()), ("INV", "INV2"));
            near("both", Ok(whole), all[0].1 + all[1].1, 1e-9);
            assert!(found(&r, "inverter-cut-off-left-out").is_empty(), "{}", texts(&r));
            let high = found(&r, "inverter-cut-off-high").iter().map(|f| f.subject.to_string()).collect::<Vec<_>>();
            (all[0].1, all[1].1, high)
        };
        assert_eq!(by(10.0, 9.0), (0.0, 0.0, vec![]));
        let (first, second, said) = by(13.2, 9.0);
        assert!(first > 50.0 && second == 0.0 && said == ["inverters.INV"], "{first} {second} {said:?}");
        let (first, second, said) = by(10.0, 13.2);
        assert!(first == 0.0 && second > 100.0 && said == ["inverters.INV2"], "{first} {second} {said:?}");
        let (first, second, said) = by(13.2, 13.2);
        assert!(first > 50.0 && second > 100.0 && said.len() == 2, "{first} {second} {said:?}");
    }
}

/// The same with the gauge to the second unknown.
pub(super) fn unknown_way() -> Plan {
    with(&one_each(), &[("runs.W15.gauge", Value::Unknown)])
}

/// Where the way to one is not all known, its cut-off is left out, and that is said; the other's stays in.
#[test]
fn a_cut_off_behind_an_unknown_way_is_left_out() {
    let p = unknown_way();
    let r = evaluate(&p);
    let said = found(&r, "inverter-cut-off-left-out");
    assert_eq!(said.iter().map(|f| f.subject.as_str()).collect::<Vec<_>>(), ["inverters.INV2"], "{}", texts(&r));
    assert!(said[0].text().contains("leaves out the 10.0 V"), "{}", said[0].text());
    assert_eq!(off_wh(&p, &r), [("INV".to_string(), 0.0)]);
}

/// Loads on an inverter that nothing feeds, while another is fed.
#[test]
fn an_inverter_without_a_feed_is_said_of_its_own_loads() {
    for p in [two(true), swapped(two(true))] {
        let p = p.with(&Step::one("out", Edit::Remove { at: FieldPath::new("runs.W15") })).expect("there");
        let r = evaluate(&p);
        assert!(says(&r, "inverter-without-run", "inverters.INV2"), "{}", texts(&r));
        assert!(!says(&r, "inverter-without-run", "inverters.INV"));
    }
}
