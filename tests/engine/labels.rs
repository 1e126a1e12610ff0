//! Labels that contradict themselves, and hours that no day has: said with both numbers, and never to the good of a thinner wire.

use super::mistakes::{sound, with};
use super::{evaluate, found, near, texts};
use coachwire::engine::{Level, Report};
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// Design current of the controller's output.
fn output_a(r: &Report) -> f64 {
    r.runs.iter().find(|x| x.id.as_str() == "W2").expect("run").design_a.clone().expect("known").0
}

/// A label's power is its volts times amps at maximum power (IEC 61215, standard test conditions): one of them misread is said, and
/// wires go by the larger.
#[test]
fn a_label_whose_power_is_another_is_said() {
    let right = evaluate(&sound());
    assert!(found(&right, "label-power-apart").is_empty(), "{}", texts(&right));
    let point = sound().panels[0].vmp_v.known().unwrap().0 * sound().panels[0].imp_a.known().unwrap().0;
    for (pmax, said) in [(0.3, true), (0.95, true), (0.98, false), (1.02, false), (1.05, true), (2.0, true)] {
        let r = evaluate(&with(&sound(), &[("panels.P1.pmax_w", n(point * pmax))]));
        let f = found(&r, "label-power-apart");
        assert_eq!(f.len(), usize::from(said), "{pmax}: {}", texts(&r));
        assert!(f.iter().all(|f| f.level == Level::Caution && (f.numbers[1] - point).abs() < 1e-9));
        assert!(output_a(&r) >= output_a(&right) * 0.97, "{pmax}: {} A, right {} A", output_a(&r), output_a(&right));
        near("harvest", r.year.harvest_kwh.clone(), right.year.harvest_kwh.clone().unwrap(), 1e-12);
        let watts = r.arrays[0].watts.clone().expect("known").0;
        assert!(watts >= 0.97 * point * sound().arrays[0].strings.panels() as f64, "{pmax}: {watts} W");
    }
}

/// Open volts of a silicon cell at 25 C: 0.55 to 0.76 V, from memory; watts for each square metre of those that are sold under 250.
#[test]
fn cells_and_size_that_no_panel_has_are_said() {
    let voc = sound().panels[0].voc_v.known().unwrap().0;
    for (cells, said) in [(36.0, false), (72.0, true), (18.0, true), ((voc / 0.7).round(), false)] {
        let r = evaluate(&with(&sound(), &[("panels.P1.cells", n(cells))]));
        assert_eq!(found(&r, "label-cells-unlikely").len(), usize::from(said), "{cells}: {}", texts(&r));
    }
    let pmax = sound().panels[0].pmax_w.known().unwrap().0;
    for (w_m2, said) in [(210.0, false), (249.0, false), (400.0, true), (2000.0, true)] {
        let (length, width) = ((pmax / w_m2).sqrt(), (pmax / w_m2).sqrt());
        let p = with(&sound(), &[("panels.P1.length_m", n(length)), ("panels.P1.width_m", n(width))]);
        assert_eq!(found(&evaluate(&p), "label-power-over-area").len(), usize::from(said), "{w_m2}");
    }
}

/// No figure hangs on the number of cells: without it there is the same year.
#[test]
fn the_year_does_not_wait_for_cells() {
    let (r, right) = (evaluate(&with(&sound(), &[("panels.P1.cells", Value::Unknown)])), evaluate(&sound()));
    near("harvest", r.year.harvest_kwh.clone(), right.year.harvest_kwh.clone().unwrap(), 1e-12);
    assert!(r.unknown.is_empty(), "{:?}", r.unknown);
}

/// The sound plan's first load with so many hours, a duty and a factor for the summer.
fn load(hours: f64, duty: f64, summer: f64) -> Plan {
    let id = &sound().loads[0].id;
    let at = |field: &str| format!("loads.{id}.{field}");
    let edits = [(at("hours_day"), n(hours)), (at("duty_pct"), n(duty)), (at("summer_factor"), n(summer))];
    with(&sound(), &edits.each_ref().map(|(at, to)| (at.as_str(), to.clone())))
}

/// A day has 24 hours.
#[test]
fn hours_past_a_day_are_said() {
    for (hours, duty, summer, said) in [
        (24.0, 100.0, 1.0, None),
        (24.0, 70.0, 1.5, Some(25.2)),
        (24.0, 50.0, 1.5, None),
        (20.0, 100.0, 10.0, Some(200.0)),
    ] {
        let r = evaluate(&load(hours, duty, summer));
        let f = found(&r, "load-past-day");
        assert_eq!(f.len(), usize::from(said.is_some()), "{hours} {duty} {summer}: {}", texts(&r));
        if let Some(counted) = said {
            near("hours", Ok(f[0].numbers[0]), counted, 1e-12);
        }
    }
}

/// Only months in which the load is used and somebody is there count, each with its season at its own stay.
/// By hand: 14 h x 2.0 = 28 h in winter; December to February north of the equator, June to August south of it.
#[test]
fn a_season_in_which_a_load_is_not_used_makes_no_day_longer() {
    let sound = sound();
    let id = &sound.loads[0].id;
    let at = |field: &str| format!("loads.{id}.{field}");
    let of = |months: &str, latitude: Value, stays: &str| {
        let edits = [
            (at("hours_day"), n(14.0)),
            (at("duty_pct"), n(100.0)),
            (at("winter_factor"), n(2.0)),
            (at("months"), Value::Text(months.into())),
            ("stays.ST1.latitude_deg".into(), latitude),
            ("stays.ST1.months".into(), Value::Text(stays.into())),
        ];
        evaluate(&with(&sound, &edits.each_ref().map(|(at, to)| (at.as_str(), to.clone()))))
    };
    assert_eq!(sound.stays.len(), 1);
    let (north, south) = (45.0, -34.0);
    for (months, latitude, stays, is_said) in [
        ("all", north, "all", true),
        ("Feb", north, "all", true),
        ("May-Sep", north, "all", false),
        ("Mar-Nov", north, "all", false),
        ("May-Sep", south, "all", true),
        ("Sep-May", south, "all", false),
        ("all", north, "Apr-Oct", false),
        ("all", south, "Apr-Oct", true),
    ] {
        let r = evaluate_said(&of(months, n(latitude), stays));
        assert_eq!(r, is_said.then(|| (28.0, "winter".to_string())), "{months} at {latitude}, there {stays}");
        // What the audit counts on a day of a season that is used whole is no more than a day's hours where nothing is said.
        let r = of(months, n(latitude), stays);
        let watts = sound.loads[0].watts_w.known().unwrap().0 * sound.loads[0].quantity.known().unwrap().0;
        let row = &r.loads.each[0].seasons;
        let there = [&row.winter_wh_day, &row.summer_wh_day, &row.between_wh_day];
        if stays == "all" && months != "Feb" {
            let most = there.iter().filter_map(|wh| wh.as_ref().ok()).map(|wh| wh.0 / watts).fold(0.0, f64::max);
            assert_eq!(most > 24.0, is_said, "{months} at {latitude}: {most} h");
        }
    }
    // Where nobody knows the hemisphere it waits for that, and only where a season may matter.
    let r = of("May-Sep", Value::Unknown, "all");
    let waits = |r: &Report| r.waiting.iter().chain(&r.not_checked).any(|w| w.check == "load-past-day");
    assert!(waits(&r) && found(&r, "load-past-day").is_empty(), "{}", texts(&r));
    let short = with(&sound, &[("stays.ST1.latitude_deg", Value::Unknown), (&at("winter_factor"), n(1.0))]);
    assert!(!waits(&evaluate(&short)));
}

/// Hours and season of what is said of hours past a day; none where nothing is.
fn evaluate_said(r: &Report) -> Option<(f64, String)> {
    let f = found(r, "load-past-day");
    assert!(f.len() < 2);
    f.first().map(|f| (f.numbers[0], f.names[1].clone()))
}

/// An inverter that is on for fewer hours than a load runs through it: (24 - 4) h x its own draw.
#[test]
fn an_inverter_off_before_its_load_is_said() {
    let id = &sound().loads[0].id;
    let at = |field: &str| format!("loads.{id}.{field}");
    let through = with(
        &sound(),
        &[(&at("supply"), Value::Word("inverter")), (&at("hours_day"), n(24.0)), ("inverters.INV.idle_w", n(22.0))],
    );
    let (all_day, short) = (
        with(&through, &[("inverters.INV.idle_h_day", n(24.0))]),
        with(&through, &[("inverters.INV.idle_h_day", n(4.0))]),
    );
    assert!(found(&evaluate(&all_day), "load-outlasts-inverter").is_empty());
    let r = evaluate(&short);
    let f = found(&r, "load-outlasts-inverter");
    assert!(f.len() == 1 && f[0].numbers == [24.0, 4.0, 440.0], "{}", texts(&r));
}

/// The curve follows the label's beta, which is a condition of its making (De Soto, Klein & Beckman 2006), where one through the other
/// figures can; where none does, and where the label's gamma is another than the curve's, both are said.
#[test]
fn coefficients_that_the_curve_has_not_are_said() {
    let of = |key: &str, by_k: f64| evaluate(&with(&sound(), &[(&format!("panels.P1.{key}"), n(by_k))]));
    let right = evaluate(&sound());
    let (id, [beta, gamma]) = right.arrays[0].coefficients[0].clone();
    let own = sound().panels[0].beta_pct_k.known().unwrap().0;
    assert!(id.as_str() == "P1" && (beta - own).abs() < 0.01, "{beta} {own}");
    assert!((-0.6..-0.3).contains(&gamma), "silicon loses a third to a half of a percent for each K: {gamma}");
    for (off, said) in [(0.0, 0), (0.04, 0), (-0.04, 0), (0.08, 1), (-0.08, 1)] {
        let r = of("gamma_pct_k", gamma + off);
        let f = found(&r, "label-gamma-not-used");
        assert_eq!(f.len(), said, "{off}: {}", texts(&r));
        assert!(f.iter().all(|f| f.level == Level::Note && (f.n(1) - gamma).abs() < 1e-12));
        near("harvest", r.year.harvest_kwh.clone(), right.year.harvest_kwh.clone().unwrap(), 1e-12);
    }
    for (by_k, said) in [(own, 0), (-0.6, 1)] {
        let r = of("beta_pct_k", by_k);
        assert_eq!(found(&r, "label-beta-not-met").len(), said, "{by_k}: {:?} {}", r.arrays[0].coefficients, texts(&r));
    }
}
