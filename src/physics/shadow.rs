//! Shadows of upright boxes on a level plane.

/// A rectangle along the axes of the roof: X back from the front edge, Y from the driver's side to the right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Nearest the front.
    pub x_m: f64,
    /// Nearest the driver's side.
    pub y_m: f64,
    /// Along X.
    pub l_m: f64,
    /// Along Y.
    pub w_m: f64,
}

impl Rect {
    /// The lesser of the lengths that two of them share along the axes, m; negative where they are apart, by the wider of
    /// the gaps. Source: separating axes.
    #[must_use]
    pub fn depth_m(&self, other: &Self) -> f64 {
        let along = |a: f64, a_len: f64, b: f64, b_len: f64| (a + a_len).min(b + b_len) - a.max(b);
        let x = along(self.x_m, self.l_m, other.x_m, other.l_m);
        let y = along(self.y_m, self.w_m, other.y_m, other.w_m);
        x.min(y)
    }

    /// The same rectangle with a margin all round. Source: geometry.
    #[must_use]
    pub fn wider(&self, margin_m: f64) -> Self {
        Self {
            x_m: self.x_m - margin_m,
            y_m: self.y_m - margin_m,
            l_m: self.l_m + 2.0 * margin_m,
            w_m: self.w_m + 2.0 * margin_m,
        }
    }
}

/// Tangent of the sun's elevation below which the shadow of a box falls on some part of a rectangle; 0: at none. `above_m`: how
/// far the box stands above the rectangle; sine and cosine of the sun's bearing, clockwise from the front.
///
/// The box widened by the rectangle holds the way toward the sun from a corner of it as the box itself holds that from some
/// point of the rectangle: the shadow is as long as that way's nearest part is far.
/// Source: geometry, Minkowski sum of two rectangles and a slab test.
#[must_use]
pub fn hides_below(thing: &Rect, above_m: f64, (sine, cosine): (f64, f64), panel: &Rect) -> f64 {
    if above_m <= 0.0 {
        return 0.0;
    }
    let (mut near_m, mut far_m) = (0.0_f64, f64::INFINITY);
    // The front lies at small X, the right at large Y.
    for (low, high, along) in [
        (thing.x_m - panel.x_m - panel.l_m, thing.x_m + thing.l_m - panel.x_m, -cosine),
        (thing.y_m - panel.y_m - panel.w_m, thing.y_m + thing.w_m - panel.y_m, sine),
    ] {
        if along.abs() < 1e-12 {
            if low >= 0.0 || high <= 0.0 {
                return 0.0;
            }
            continue;
        }
        let (a, b) = (low / along, high / along);
        (near_m, far_m) = (near_m.max(a.min(b)), far_m.min(a.max(b)));
    }
    if near_m >= far_m {
        return 0.0;
    }
    above_m / near_m
}

/// Whether the shadow of a box lies on any part of a rectangle. `above_m`: how far the box stands above the rectangle;
/// `bearing_deg`: of the sun, clockwise from the front; `tangent`: of its elevation.
/// Source: geometry, as [`hides_below`].
#[must_use]
pub fn shades(thing: &Rect, above_m: f64, bearing_deg: f64, tangent: f64, panel: &Rect) -> bool {
    shades_from(thing, above_m, bearing_deg.to_radians().sin_cos(), tangent, panel)
}

/// The same with the sine and cosine of the bearing: many pairs are asked about at one moment.
/// Source: geometry, as [`hides_below`].
#[must_use]
pub fn shades_from(thing: &Rect, above_m: f64, bearing: (f64, f64), tangent: f64, panel: &Rect) -> bool {
    tangent > 0.0 && tangent < hides_below(thing, above_m, bearing, panel)
}

/// Bearings that the sky is looked at in. Source: our own choice.
const BEARINGS: usize = 24;

/// Share of an evenly bright sky that the point of a level rectangle with the least of it sees beside boxes, each given with how
/// far it stands above the rectangle. Of its points those nearest to each box are looked at.
/// Source: view factor of a level face, the mean of the squared cosine of the skyline's elevation.
#[must_use]
pub fn sky_share(things: &[(Rect, f64)], panel: &Rect) -> f64 {
    let nearest = |low: f64, length: f64, from: f64, by: f64| f64::midpoint(from, from + by).clamp(low, low + length);
    let standing = || things.iter().filter(|(_, above_m)| *above_m > 0.0);
    let seen = standing().map(|(thing, _)| {
        let x_m = nearest(panel.x_m, panel.l_m, thing.x_m, thing.l_m);
        let y_m = nearest(panel.y_m, panel.w_m, thing.y_m, thing.w_m);
        let point = Rect { x_m, y_m, l_m: 0.0, w_m: 0.0 };
        let toward = |k: usize| {
            let bearing = ((k as f64 + 0.5) / BEARINGS as f64 * std::f64::consts::TAU).sin_cos();
            let least = standing().map(|(thing, above_m)| hides_below(thing, *above_m, bearing, &point));
            1.0 / (1.0 + least.fold(0.0, f64::max).powi(2))
        };
        (0..BEARINGS).map(toward).sum::<f64>() / BEARINGS as f64
    });
    seen.fold(1.0, f64::min)
}
