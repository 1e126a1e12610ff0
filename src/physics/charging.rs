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
        let at_25_v = match (floating, self.float_v) {
            (false, _) => self.absorb_v,
            (true, Some(float_v)) => float_v,
            (true, None) => return 0.0,
        };
        (at_25_v + self.compensation_v_per_k * (battery_c.clamp(-40.0, 60.0) - 25.0)).max(0.0)
    }
}
