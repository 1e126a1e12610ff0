//! Cell temperature, wire, converter input.

use coachwire::physics::cell::Mounting;
use coachwire::physics::{supply, wire};
use proptest::prelude::*;

use crate::support::{near_abs, near_rel, rows};

/// Source: King et al. 2004 (SAND2004-3535) as computed by pvlib 0.16.1.
#[test]
fn cells_are_as_warm_as_their_mounting_lets_them() {
    for row in rows("physics/cell_temperature.csv") {
        let mounting = match row.text("mount") {
            "close_roof" => Mounting::CLOSE_ROOF,
            "insulated_back" => Mounting::INSULATED_BACK,
            "open_rack" => Mounting::OPEN_RACK,
            other => panic!("unknown mounting {other}"),
        };
        assert_eq!([mounting.a, mounting.b, mounting.delta_k], [row.num("a"), row.num("b"), row.num("dT")]);
        let (poa, air, wind) = (row.num("poa"), row.num("t_air"), row.num("wind"));
        near_rel("module", mounting.module_c(poa, air, wind), row.num("t_module"), 1e-6);
        near_rel("cell", mounting.cell_c(poa, air, wind), row.num("t_cell"), 1e-6);
    }
}

/// Source: ASTM B258 areas and IEC 60028 copper, computed outside this project.
#[test]
fn pairs_of_copper_agree() {
    for row in rows("physics/wire.csv") {
        let area_mm2 = wire::gauge_area_mm2(row.num("awg") as i32);
        near_rel("area", area_mm2, row.num("area_mm2"), 1e-6);
        let (length_m, current_a, copper_c) = (row.num("L_m"), row.num("I"), row.num("T_C"));
        let ohm = wire::loop_ohm(area_mm2, length_m, copper_c);
        near_rel("resistance", ohm, row.num("R_ohm"), 1e-6);
        near_rel("drop", wire::drop_v(ohm, current_a), row.num("Vdrop"), 1e-6);
        near_rel("percent", 100.0 * wire::drop_v(ohm, current_a) / row.num("Vsys"), row.num("drop_pct"), 1e-6);
        near_rel("loss", wire::loss_w(ohm, current_a), row.num("P_loss"), 1e-6);
        let limit_v = row.num("limit_pct") / 100.0 * row.num("Vsys");
        let need_mm2 = wire::area_for_drop_mm2(length_m, current_a, copper_c, limit_v);
        near_rel("need", need_mm2, row.num("need_mm2"), 1e-6);
        let gauges = [18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3];
        let least = gauges.into_iter().find(|&g| wire::gauge_area_mm2(g) >= need_mm2).unwrap_or(99);
        assert_eq!(f64::from(least), row.num("awg_min"), "line {}", row.line);
    }
}

/// Source: hand calculation. 20 A at 14.4 V with 90 % efficiency take 320 W; 13.8 V through 0.0799 ohm.
#[test]
fn a_converter_on_a_thin_wire_draws_more() {
    let feed = supply::feed(13.8, 0.0799, 20.0 * 14.4 / 0.90).unwrap_or_else(|| panic!("has a root"));
    near_abs("current", feed.input_a, 27.6, 0.05);
    near_abs("volts", feed.input_v, 11.6, 0.05);
}

#[test]
fn a_converter_past_the_most_the_wire_carries_has_no_answer() {
    // Source: maximum power transfer, E^2 / 4 R.
    let most_w = 13.8 * 13.8 / (4.0 * 0.1);
    assert!(supply::feed(13.8, 0.1, most_w * 0.999_999).is_some());
    assert_eq!(supply::feed(13.8, 0.1, most_w * 1.000_001), None);
    assert_eq!(supply::feed(0.0, 0.1, 0.0), None);
    assert_eq!(supply::feed(f64::MAX, f64::MAX, f64::MAX), None);
}

/// By hand: two of 315.56 W that share 0.03 ohm and have 0.005 each stand at V^2 - 13.2 V + 315.56 x 0.065 = 0: 11.401 V
/// and 27.678 A. Twice the shared ohms carry no more than 13.2^2 / (4 x 0.125) of each. Source: Kirchhoff with P = V I.
#[test]
fn converters_on_one_wire_lower_each_others_volts() {
    let ask = supply::Ask { source_v: 13.2, power_w: 20.0 * 14.2 / 0.9, cutout_v: 11.0 };
    let ohm = |shared: f64| move |i: usize, j: usize| if i == j { shared + 0.005 } else { shared };
    for input in supply::feeds(&[ask, ask], ohm(0.03)).expect("have roots") {
        near_abs("volts", input.input_v, 11.401, 0.0005);
        near_abs("amps", input.input_a, 27.678, 0.0005);
    }
    assert_eq!(supply::falling(&[ask, ask], ohm(0.03)), None);
    let high = supply::Ask { cutout_v: 11.5, ..ask };
    assert_eq!(supply::falling(&[high, ask], ohm(0.03)), Some(0));
    let most = |power_w: f64| supply::feeds(&[supply::Ask { power_w, ..ask }; 2], ohm(0.06));
    assert!(most(13.2 * 13.2 / 0.5 * 0.999).is_ok() && most(13.2 * 13.2 / 0.5 * 1.001).is_err());
    // One on a wire of its own goes on beside two that ask too much of theirs.
    let apart = |i: usize, j: usize| if i == 0 || j == 0 { f64::from(u8::from(i == j)) * 0.01 } else { 0.3 };
    assert!(supply::falling(&[high, ask, ask], apart).is_some_and(|i| i > 0));
}

proptest! {
    #[test]
    fn converters_of_one_wire_add_up(
        power_w in prop::array::uniform3(0.0..400.0f64), own in prop::array::uniform3(0.0..0.05f64), shared in 0.0..0.05f64,
    ) {
        let asks = power_w.map(|power_w| supply::Ask { source_v: 13.2, power_w, cutout_v: 0.0 });
        let ohm = |i: usize, j: usize| if i == j { shared + own[i] } else { shared };
        if let Ok(found) = supply::feeds(&asks, ohm) {
            let all_a: f64 = found.iter().map(|f| f.input_a).sum();
            for ((f, own), power_w) in found.iter().zip(own).zip(power_w) {
                prop_assert!((13.2 - shared * all_a - own * f.input_a - f.input_v).abs() < 1e-8, "{found:?}");
                prop_assert!((f.input_v * f.input_a - power_w).abs() < 1e-9 * (1.0 + power_w), "{found:?}");
            }
            // The upper root: where the last watt is asked for the volts fall, they do not rise.
            let more = asks.map(|ask| supply::Ask { power_w: ask.power_w * 0.99, ..ask });
            let less = supply::feeds(&more, ohm).expect("less than what was carried");
            prop_assert!(less.iter().zip(&found).all(|(l, f)| l.input_v >= f.input_v), "{less:?} {found:?}");
        }
    }

    #[test]
    fn converter_volts_add_up(source_v in 1.0..60.0, ohm in 0.0..1.0, power_w in 0.0..2000.0) {
        if let Some(feed) = supply::feed(source_v, ohm, power_w) {
            prop_assert!((feed.input_v + feed.input_a * ohm - source_v).abs() < 1e-9 * source_v);
            prop_assert!((feed.input_v * feed.input_a - power_w).abs() < 1e-9 * (1.0 + power_w));
        } else {
            prop_assert!(source_v * source_v < 4.0 * power_w * ohm);
        }
    }

    #[test]
    fn more_copper_never_drops_more(area in 0.3..120.0, more in 1.0..3.0, length in 0.0..30.0, warm in -40.0..120.0) {
        prop_assert!(wire::loop_ohm(area * more, length, warm) <= wire::loop_ohm(area, length, warm));
    }
}
