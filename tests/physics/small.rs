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

proptest! {
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
