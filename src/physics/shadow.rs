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

/// Whether the shadow of a box lies on any part of a rectangle. `above_m`: how far the box stands above the rectangle;
/// `bearing_deg`: of the sun, clockwise from the front; `tangent`: of its elevation.
///
/// The shadow is the box's own rectangle drawn along the ground away from the sun, by its height over the tangent; two
/// convex shapes are apart where some side of one of them has the other wholly beyond it.
/// Source: geometry, separating axes.
#[must_use]
pub fn shades(thing: &Rect, above_m: f64, bearing_deg: f64, tangent: f64, panel: &Rect) -> bool {
    shades_from(thing, above_m, bearing_deg.to_radians().sin_cos(), tangent, panel)
}

/// The same with the sine and cosine of the bearing: many pairs are asked about at one moment.
/// Source: geometry, separating axes.
#[must_use]
pub fn shades_from(thing: &Rect, above_m: f64, (sine, cosine): (f64, f64), tangent: f64, panel: &Rect) -> bool {
    if above_m <= 0.0 || tangent <= 0.0 {
        return false;
    }
    let reach_m = (above_m / tangent).min(1e3);
    // The front lies at small X, the right at large Y: away from the sun is back and left.
    let (dx, dy) = (reach_m * cosine, -reach_m * sine);
    let drawn = |low: f64, length: f64, by: f64| (low + by.min(0.0), low + length + by.max(0.0));
    let apart = |(a, b): (f64, f64), (c, d): (f64, f64)| b <= c || d <= a;
    if apart(drawn(thing.x_m, thing.l_m, dx), (panel.x_m, panel.x_m + panel.l_m))
        || apart(drawn(thing.y_m, thing.w_m, dy), (panel.y_m, panel.y_m + panel.w_m))
    {
        return false;
    }
    // Across the way it is drawn neither shape is longer for it.
    let across = |r: &Rect| {
        let middle = -(r.x_m + 0.5 * r.l_m) * dy + (r.y_m + 0.5 * r.w_m) * dx;
        let half = 0.5 * (r.l_m * dy.abs() + r.w_m * dx.abs());
        (middle - half, middle + half)
    };
    !apart(across(thing), across(panel))
}
