//! Unlike and shaded arrays. Source of the reference numbers: a slow nested root finder on pvlib 0.16.1 parameters.

use coachwire::physics::array::{Array, Group};
use coachwire::physics::controller::{Source, pwm_point};
use coachwire::physics::module::Cell;
use coachwire::physics::strings::Curves;
use proptest::prelude::*;

use super::diode::reference_module;
use crate::support::{near_abs, near_rel, rows};

/// `module@Tc:G1/G2+...|...`: strings apart by bars, modules by plus signs, bypass groups by slashes.
fn array(text: &str) -> Array {
    let mut array = Array::default();
    text.split('|').for_each(|string| array.add_string(1.0, &groups(string)));
    array
}

/// The bypass groups of one of the strings.
fn groups(string: &str) -> Vec<Group> {
    let mut groups = Vec::new();
    for panel in string.split('+') {
        let (name, rest) = panel.split_once('@').expect("a temperature");
        let (cell_c, lights) = rest.split_once(':').expect("light");
        let lights: Vec<f64> = lights.split('/').map(|light| light.parse().expect("a number")).collect();
        let module = reference_module(name);
        for light in &lights {
            let cell = module.at(*light, cell_c.parse().expect("a number"));
            groups.push(Group::of(&cell, 1.0 / lights.len() as f64, 1.0));
        }
    }
    groups
}

#[test]
fn shaded_arrays_agree() {
    for row in rows("physics/shade_arrays.csv") {
        let array = array(row.text("array"));
        let what = |quantity: &str| format!("{} {quantity}", row.text("id"));
        let top = array.max_power(0.0);
        near_rel(&what("power"), top.power_w(), row.num("Pmp"), 1e-6);
        near_rel(&what("volts"), top.v, row.num("Vmp"), 1e-3);
        near_rel(&what("current"), top.i, row.num("Imp"), 1e-3);
        near_rel(&what("open circuit"), array.open_circuit_v(), row.num("Voc"), 1e-5);
        near_rel(&what("short circuit"), array.current_at(0.0, 0.0), row.num("Isc"), 1e-5);
        for k in 1..=2 {
            let got_a = array.current_at(row.num(&format!("Vq{k}")), 0.0);
            near_abs(&what("current"), got_a, row.num(&format!("Iq{k}")), 2e-5);
        }
        assert!(top.power_w() <= row.num("P_ideal") * (1.0 + 1e-6), "more than the parts could give");
    }
}

/// The same arrays by the curves of their groups, as the shade of a roof is reckoned: power within half a percent, currents
/// within one of the array's own.
#[test]
fn shaded_arrays_agree_by_the_curves_of_their_groups() {
    let mut seen = 0;
    for row in rows("physics/shade_arrays.csv") {
        let what = |quantity: &str| format!("{} {quantity}", row.text("id"));
        let mut volts: Vec<f64> = (1..=400).map(|k| row.num("Voc") * 1.02 * f64::from(k) / 400.0).collect();
        let joined = [row.num("Vq1"), row.num("Vq2")];
        volts.extend(joined);
        volts.sort_by(f64::total_cmp);
        let mut amps = vec![0.0; volts.len()];
        for string in row.text("array").split('|') {
            let cells = groups(string).into_iter().map(|group| group.cell).collect::<Vec<_>>();
            let own = Curves::of(&cells, row.num("Isc")).currents(&vec![1.0; cells.len()], &volts);
            amps.iter_mut().zip(own).for_each(|(sum, own)| *sum += own);
        }
        let best_w = amps.iter().zip(&volts).map(|(i, v)| i * v).fold(0.0, f64::max);
        near_rel(&what("power"), best_w, row.num("Pmp"), 5e-3);
        for (k, v) in joined.iter().enumerate() {
            let at = volts.iter().position(|other| other == v).expect("one of them");
            near_abs(&what("current"), amps[at].max(0.0), row.num(&format!("Iq{}", k + 1)), 0.01 * row.num("Isc"));
        }
        seen += 1;
    }
    assert!(seen >= 10, "{seen}");
}

/// Source: Kirchhoff. Equal modules give as much in two strings of two as in four of one.
#[test]
fn equal_modules_give_the_same_however_joined() {
    let cell = reference_module("perc200").at(640.0, 41.0);
    let half = Group::of(&cell, 0.5, 2.0);
    let mut two_by_two = Array::default();
    two_by_two.add_string(1.0, &[half, half]);
    two_by_two.add_string(1.0, &[Group { count: 4.0, ..half }]);
    let mut four = Array::default();
    four.add_string(4.0, &[half]);
    near_rel("power", two_by_two.max_power(0.0).power_w(), four.max_power(0.0).power_w(), 1e-12);
    near_rel("of one", four.max_power(0.0).power_w(), 4.0 * cell.max_power(0.0).power_w(), 1e-12);
    assert!(two_by_two.even().is_some() && four.even().is_some());
    let direct = pwm_point(&four, 13.2, 0.0, 0.02);
    near_rel("direct", direct.current_a, 4.0 * cell.current_at(13.2, 0.08), 1e-12);
}

/// A mixed array whose parts differ by next to nothing must come out as an even one does.
#[test]
fn the_general_solution_meets_the_even_one() {
    let module = reference_module("res330");
    let (one, other) = (module.at(700.0, 40.0), module.at(700.000_001, 40.0));
    let third = |cell: &Cell, count| Group::of(cell, 1.0 / 3.0, count);
    let even = one.scaled(2.0, 2.0);
    let mut series = Array::default();
    series.add_string(2.0, &[third(&one, 3.0), third(&other, 3.0)]);
    let mut parallel = Array::default();
    parallel.add_string(1.0, &[third(&one, 6.0)]);
    parallel.add_string(1.0, &[third(&other, 6.0)]);
    let mut both = Array::default();
    both.add_string(1.0, &[third(&one, 6.0)]);
    both.add_string(1.0, &[third(&one, 3.0), third(&other, 3.0)]);
    for (array, what) in [(&series, "series"), (&parallel, "parallel"), (&both, "both")] {
        assert!(array.even().is_none());
        for ohm in [0.0, 0.05, 0.5] {
            near_rel(what, array.max_power(ohm).power_w(), even.max_power(ohm).power_w(), 1e-8);
            for v in [13.2, 40.0, 62.0, 75.0, 85.0] {
                near_abs(what, array.current_at(v, ohm), even.current_at(v, ohm), 1e-6);
            }
        }
        near_rel(what, array.open_circuit_v(), even.open_circuit_v(), 1e-8);
    }
}

#[test]
fn an_empty_or_dark_array_gives_nothing() {
    let mut array = Array::default();
    assert_eq!(array.max_power(0.0).power_w(), 0.0);
    assert_eq!(array.current_at(13.0, 0.1), 0.0);
    let module = reference_module("perc200");
    let night = Group::of(&module.at(0.0, 5.0), 0.5, 2.0);
    array.add_string(1.0, &[night]);
    array.add_string(1.0, &[night, Group::of(&module.at(0.0, 6.0), 0.5, 2.0)]);
    assert_eq!(array.max_power(0.0).power_w(), 0.0);
    assert!(array.current_at(13.0, 0.1) <= 0.0);
    assert_eq!(pwm_point(&array, 13.0, 0.0, 0.1).current_a, 0.0);
    array.clear();
    assert_eq!(array.open_circuit_v(), 0.0);
}

fn any_panel() -> impl Strategy<Value = (&'static str, f64, Vec<f64>)> {
    let light = prop_oneof![Just(0.0), Just(1000.0), 0.0..50.0_f64, 50.0..1200.0_f64];
    prop_oneof![Just(("perc200", 2)), Just(("rigid100", 2)), Just(("half400", 3))].prop_flat_map(move |(name, n)| {
        (
            Just(name),
            -20.0..80.0_f64,
            prop_oneof![proptest::collection::vec(light.clone(), n), light.clone().prop_map(move |one| vec![one; n]),],
        )
    })
}

fn any_array() -> impl Strategy<Value = Array> {
    proptest::collection::vec(proptest::collection::vec(any_panel(), 1..4), 1..4).prop_map(|strings| {
        let mut array = Array::default();
        for string in strings {
            let mut groups = Vec::new();
            for (name, cell_c, lights) in string {
                for light in &lights {
                    let cell = reference_module(name).at(*light, cell_c);
                    groups.push(Group::of(&cell, 1.0 / lights.len() as f64, 1.0));
                }
            }
            array.add_string(1.0, &groups);
        }
        array
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 150,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Source: definition of the global maximum, by scanning the curve.
    #[test]
    fn nothing_on_the_curve_beats_its_global_maximum(array in any_array(), ohm in prop_oneof![Just(0.0), 0.0..0.3_f64]) {
        let top = array.max_power(ohm);
        prop_assert!(top.v.is_finite() && top.i.is_finite() && top.v >= 0.0 && top.i >= 0.0);
        let at_top = array.current_at(top.v, ohm);
        prop_assert!((at_top - top.i).abs() <= 1e-6 * (1.0 + top.i), "{at_top} at {top:?}");
        let open_v = array.open_circuit_v();
        prop_assert!(array.current_at(open_v, 0.0).abs() < 1e-6);
        let mut last_a = f64::INFINITY;
        for k in 0..=400 {
            let v = open_v * f64::from(k) / 400.0;
            let i = array.current_at(v, ohm);
            prop_assert!(i.is_finite() && i <= last_a + 1e-7, "current rises with volts: {i} at {v} after {last_a}");
            last_a = i;
            prop_assert!(v * i <= top.power_w() * (1.0 + 1e-7) + 1e-7, "{} W at {v} V beats {}", v * i, top.power_w());
        }
    }

    #[test]
    fn nothing_overflows_in_arrays(
        array in any_array(),
        v in prop_oneof![-1e3..1e3_f64, Just(f64::MAX), Just(f64::MIN)],
        ohm in prop_oneof![Just(0.0), 0.0..1e6_f64],
    ) {
        prop_assert!(array.current_at(v, ohm).is_finite());
        prop_assert!(array.max_power(ohm).power_w().is_finite());
    }
}
