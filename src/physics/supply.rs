//! A constant-power converter at the end of a resistive wire.

/// Where such a converter settles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// Volts at its input.
    pub input_v: f64,
    /// Current it draws.
    pub input_a: f64,
}

/// Input of a converter that draws `power_w` through `loop_ohm` from a source of `source_v`: the upper root of
/// V^2 - V E + P R = 0. `None` where the wire cannot carry that power at all: the converter will drop out.
/// Source: Kirchhoff's voltage law with P = V I.
#[must_use]
pub fn feed(source_v: f64, loop_ohm: f64, power_w: f64) -> Option<Feed> {
    let discriminant = source_v * source_v - 4.0 * power_w * loop_ohm;
    if source_v <= 0.0 || discriminant < 0.0 || !discriminant.is_finite() {
        return None;
    }
    let input_v = f64::midpoint(source_v, discriminant.sqrt());
    Some(Feed { input_v, input_a: power_w / input_v })
}
