//! What pulls at a panel, what holds a screw, where a shadow falls.

use coachwire::physics::hold::{dynamic_pressure_pa, lag_withdrawal_n, screw_diameter_m, uplift_n, withdrawal_n};
use coachwire::physics::shadow::{Rect, hides_below, shades, sky_share};
use coachwire::standards::rules::rule;
use proptest::prelude::*;

use crate::support::{near_abs, near_rel, rows};

const POUND_FORCE_N: f64 = 4.448_222;

/// Source: NDS 2018 Table 12.2B whole, reference withdrawal of wood screws, lbf for an inch of thread, computed from its
/// formula (the table itself was not seen), in whole pounds.
#[test]
fn wood_screws_pull_out_as_tabulated() {
    let table = rows("standards/nds_table_12_2B_wood_screw_formula.csv");
    assert!(table.len() > 10);
    for row in &table {
        let gravity = row.num("specific_gravity");
        for number in [6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0] {
            let held = withdrawal_n(gravity, screw_diameter_m(number), 0.0254) / POUND_FORCE_N;
            near_abs(&format!("#{number} in {gravity}"), held, row.num(&format!("no{number}")), 0.51);
        }
    }
}

/// Source: NDS 2018 Table 12.2A whole, reference withdrawal of lag screws, lbf for an inch of thread, in whole pounds; three
/// of its cells could not be read.
#[test]
fn lag_screws_pull_out_as_tabulated() {
    let (mut read, mut blank) = (0, 0);
    for row in rows("standards/nds_table_12_2A_lag.csv") {
        let size = row.text("lag_diameter_in");
        let (above, below) = size.split_once('/').unwrap();
        let inches = above.parse::<f64>().unwrap() / below.parse::<f64>().unwrap();
        let held = lag_withdrawal_n(row.num("specific_gravity"), inches * 0.0254, 0.0254) / POUND_FORCE_N;
        near_abs(size, held, row.num("formula_1800_G1.5_D0.75"), 0.01);
        if row.text("printed_lb_per_in").is_empty() {
            blank += 1;
        } else {
            near_abs(size, held, row.num("printed_lb_per_in"), 0.75);
            read += 1;
        }
    }
    assert!(read >= 90 && blank == 3, "{read} read, {blank} blank");
}

/// Source: NDS specific gravities of wood panels: plywood other than structural grades and OSB; from memory.
#[test]
fn wood_panels_are_as_heavy_as_tabulated() {
    let table = rows("standards/wood_specific_gravity.csv");
    for (id, material) in [("plywood-gravity", "Plywood, other grades"), ("osb-gravity", "OSB")] {
        let row = table.iter().find(|r| r.text("material") == material).unwrap();
        near_abs(material, rule(id).unwrap().us_rv, row.num("G"), 1e-12);
    }
}

/// Source: dynamic pressure of the standard atmosphere at 15 C and sea level, table of 55 to 120 mph.
#[test]
fn moving_air_presses_as_tabulated() {
    for row in rows("standards/dynamic_pressure.csv") {
        let pa = dynamic_pressure_pa(rule("uplift-air").unwrap().us_rv, row.num("speed_mph") * 0.44704);
        near_abs(row.text("speed_mph"), pa, row.num("q_Pa"), 0.06);
        near_abs(row.text("speed_mph"), pa / 47.880_26, row.num("q_psf"), 0.006);
    }
}

/// Source: dynamic pressure of the standard atmosphere (ISO 2533, 1.225 kg/m3): 689 Pa at 75 mph; a handbook's 14.4 psf.
#[test]
fn a_panel_at_highway_speed() {
    near_rel("1 m2 at 75 mph, Cp 1.2", uplift_n(1.225, 75.0 * 0.44704, 1.0, 1.2), 826.0, 0.001);
    near_rel("psf", uplift_n(1.225, 75.0 * 0.44704, 1.0, 1.0) / 47.880_26, 14.4, 0.002);
}

const BOX: Rect = Rect { x_m: 0.0, y_m: 0.0, l_m: 0.5, w_m: 0.5 };

/// Source: a shadow is as long as the height over the tangent of the sun's elevation. At latitude 33 the sun of the
/// December solstice stands 33.56 degrees high at noon (90 - 33 - 23.44): 11 in throw 16.6 in.
#[test]
fn a_shadow_is_as_long_as_it_should_be() {
    let (tangent, above_m) = (33.56_f64.to_radians().tan(), 11.0 * 0.0254);
    let length_m = above_m / tangent;
    near_abs("inches", length_m / 0.0254, 16.6, 0.05);
    // Sun dead ahead: the shadow falls back. Sun on the right: to the left.
    for (bearing_deg, dx, dy) in [(0.0, 1.0, 0.0), (180.0, -1.0, 0.0), (90.0, 0.0, -1.0), (270.0, 0.0, 1.0)] {
        let panel = |gap_m: f64| Rect { x_m: dx * (0.5 + gap_m), y_m: dy * (0.5 + gap_m), ..BOX };
        assert!(shades(&BOX, above_m, bearing_deg, tangent, &panel(length_m - 1e-6)), "{bearing_deg} within reach");
        assert!(!shades(&BOX, above_m, bearing_deg, tangent, &panel(length_m + 1e-6)), "{bearing_deg} beyond it");
        assert!(!shades(&BOX, above_m, bearing_deg + 180.0, tangent, &panel(0.05)), "{bearing_deg}: behind its back");
    }
    assert!(!shades(&BOX, 0.0, 0.0, tangent, &Rect { x_m: 0.6, ..BOX }), "no higher than the panel");
}

/// The same by brute force: a point is in shadow where the way from it to the sun passes through the box.
fn by_points(thing: &Rect, above_m: f64, bearing_deg: f64, tangent: f64, panel: &Rect) -> bool {
    let (sine, cosine) = bearing_deg.to_radians().sin_cos();
    (0..=40).flat_map(|i| (0..=40).map(move |j| (i, j))).any(|(i, j)| {
        let x = panel.x_m + panel.l_m * f64::from(i) / 40.0;
        let y = panel.y_m + panel.w_m * f64::from(j) / 40.0;
        (0..=200).any(|k| {
            let reach_m = above_m / tangent * f64::from(k) / 200.0;
            let (px, py) = (x - reach_m * cosine, y + reach_m * sine);
            px > thing.x_m && px < thing.x_m + thing.l_m && py > thing.y_m && py < thing.y_m + thing.w_m
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Source: the definition of a shadow, point by point, for boxes of any size; a corner's touch may fall between the points.
    #[test]
    fn shadows_are_where_the_sun_is_hidden(
        (x, y) in (-2.0..2.0_f64, -2.0..2.0_f64), (l, w) in (0.2..1.5_f64, 0.2..1.5_f64), bearing in 0.0..360.0_f64,
        tangent in 0.2..4.0_f64, above in 0.05..0.6_f64,
    ) {
        let thing = Rect { l_m: l, w_m: w, ..BOX };
        let panel = Rect { x_m: x, y_m: y, l_m: 1.0, w_m: 0.6 };
        let shaded = shades(&thing, above, bearing, tangent, &panel);
        if by_points(&thing, above, bearing, tangent, &panel) {
            prop_assert!(shaded);
        } else {
            let less = Rect { x_m: x + 0.05, y_m: y + 0.05, l_m: 0.9, w_m: 0.5 };
            let smaller = Rect { x_m: 0.02, y_m: 0.02, l_m: l - 0.04, w_m: w - 0.04 };
            prop_assert!(!shades(&smaller, above * 0.97, bearing, tangent, &less));
        }
        // The shadow is there below one elevation, and nowhere above it.
        let least = hides_below(&thing, above, bearing.to_radians().sin_cos(), &panel);
        prop_assert_eq!(shaded, tangent < least);
    }
}

/// By hand: a wall without end that stands 45 degrees high beside the panel hides half of (1 - cos 45) of the sky; a lid no
/// higher than the panel none. Source: view factor of a level face to a long wall, (1 - cos a) / 2, any book on heat transfer.
#[test]
fn a_wall_hides_its_part_of_the_sky() {
    let panel = Rect { x_m: 0.0, y_m: 0.0, l_m: 1.0, w_m: 0.6 };
    let wall = Rect { x_m: -500.0, y_m: 1.6, l_m: 1000.0, w_m: 0.1 };
    near_abs("beside a wall", sky_share(&[(wall, 1.0)], &panel), 1.0 - 0.5 * (1.0 - 0.5_f64.sqrt()), 0.004);
    near_abs("a lid", sky_share(&[(wall, 0.0)], &panel), 1.0, 0.0);
    near_abs("an open roof", sky_share(&[], &panel), 1.0, 0.0);
    let two = sky_share(&[(wall, 1.0), (Rect { y_m: -1.1, ..wall }, 1.0)], &panel);
    assert!(two < sky_share(&[(wall, 1.0)], &panel) - 0.05, "{two}");
}
