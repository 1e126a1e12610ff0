//! What pulls at a panel, what holds a screw, where a shadow falls.

use coachwire::physics::hold::{screw_diameter_m, uplift_n, withdrawal_n};
use coachwire::physics::shadow::{Rect, shades};
use proptest::prelude::*;

use crate::support::{near_abs, near_rel};

const POUND_FORCE_N: f64 = 4.448_222;

/// Source: NDS 2018 Table 12.2B, reference withdrawal of wood screws, lbf for an inch of thread; from memory, whole pounds.
#[test]
fn wood_screws_pull_out_as_tabulated() {
    for (number, gravity, pounds) in
        [(10.0, 0.50, 135.0), (10.0, 0.42, 96.0), (8.0, 0.42, 82.0), (12.0, 0.50, 154.0), (14.0, 0.50, 172.0)]
    {
        let held = withdrawal_n(gravity, screw_diameter_m(number), 0.0254) / POUND_FORCE_N;
        near_abs(&format!("#{number} in {gravity}"), held, pounds, 1.0);
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

    /// Source: the definition of a shadow, point by point; a corner's touch may fall between the points.
    #[test]
    fn shadows_are_where_the_sun_is_hidden(
        x in -2.0..2.0_f64, y in -2.0..2.0_f64, bearing in 0.0..360.0_f64, tangent in 0.2..4.0_f64, above in 0.05..0.6_f64,
    ) {
        let panel = Rect { x_m: x, y_m: y, l_m: 1.0, w_m: 0.6 };
        let shaded = shades(&BOX, above, bearing, tangent, &panel);
        if by_points(&BOX, above, bearing, tangent, &panel) {
            prop_assert!(shaded);
        } else {
            let less = Rect { x_m: x + 0.05, y_m: y + 0.05, l_m: 0.9, w_m: 0.5 };
            let smaller = Rect { x_m: 0.02, y_m: 0.02, l_m: 0.46, w_m: 0.46 };
            prop_assert!(!shades(&smaller, above * 0.97, bearing, tangent, &less));
        }
    }
}
