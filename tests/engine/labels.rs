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
