//! A charger's settings.

/// What a charger is set to, whole bank, at 25 C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeSettings {
    /// Volts it holds until the bank is full.
    pub absorb_v: f64,
    /// Longest time at these in a day, h; none: until the current has tapered off.
    pub absorb_h: Option<f64>,
    /// Volts it holds afterwards; none: it stops.
    pub float_v: Option<f64>,
    /// Change of both with battery temperature, V per K, negative for lead, 0 for lithium.
    pub compensation_v_per_k: f64,
}

impl ChargeSettings {
    /// Volts held before or after the end of absorption, at a battery temperature; 0 where the charger is off.
    /// Source: linear compensation about 25 C, as makers' sheets give it.
    #[must_use]
    pub fn held_v(&self, floating: bool, battery_c: f64) -> f64 {
        self.held_over_v(floating, above_25_k(battery_c))
    }

    /// The same for a battery so many kelvin above 25 C. Source: as [`ChargeSettings::held_v`].
    #[inline]
    #[must_use]
    pub fn held_over_v(&self, floating: bool, over_k: f64) -> f64 {
        let at_25_v = match (floating, self.float_v) {
            (false, _) => self.absorb_v,
            (true, Some(float_v)) => float_v,
            (true, None) => return 0.0,
        };
        (at_25_v + self.compensation_v_per_k * over_k).max(0.0)
    }
}

/// How far a battery stands above 25 C, as far as settings follow it. Source: our own choice of the bounds, wider than any
/// battery's sheet.
#[inline]
#[must_use]
pub fn above_25_k(battery_c: f64) -> f64 {
    battery_c.clamp(-40.0, 60.0) - 25.0
}
