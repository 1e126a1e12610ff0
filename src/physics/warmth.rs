//! How warm the bank is itself.

/// Own temperature of a bank in an outside box: the 24 h mean of the air, 3 K more in an insulated box.
/// Source: heat capacity of a battery against its box, common practice; the 3 K from memory.
#[must_use]
pub fn outside_c(air_mean_24h_c: f64, insulated: bool) -> f64 {
    air_mean_24h_c + if insulated { 3.0 } else { 0.0 }
}

/// Own temperature of a bank inside a coach that is heated while lived in.
/// Source: 12 C as the least of a lived-in coach, common practice.
#[must_use]
pub fn inside_c(air_mean_24h_c: f64, lived_in: bool) -> f64 {
    if lived_in { air_mean_24h_c.max(12.0) } else { air_mean_24h_c }
}

/// Kelvin by which a bank's heater lifts it above its surroundings at full power.
/// Source: heaters sized to bring a pack from -20 C above freezing, from memory; the maker's sheet governs.
pub const FULL_RISE_K: f64 = 25.0;

/// Own temperature with its heater on, and the share of time it runs: it holds its thermostat's temperature as long as
/// it can, and loses heat in proportion to what it stands above its surroundings.
/// Source: steady state of a heated body with a constant loss per kelvin.
#[must_use]
pub fn heated(bare_c: f64, holds_c: f64, full_rise_k: f64) -> (f64, f64) {
    let rise_k = (holds_c - bare_c).clamp(0.0, full_rise_k.max(0.0));
    (bare_c + rise_k, if full_rise_k > 0.0 { rise_k / full_rise_k } else { 0.0 })
}

/// Mean of the last 24 hourly temperatures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayMean {
    air_c: [f64; 24],
    next: usize,
}

impl DayMean {
    /// A day at one temperature. Source: arithmetic mean.
    #[must_use]
    pub fn steady(air_c: f64) -> Self {
        Self { air_c: [air_c; 24], next: 0 }
    }

    /// Takes in an hour's air and returns the mean of the 24 hours up to it. Source: arithmetic mean.
    pub fn push(&mut self, air_c: f64) -> f64 {
        if let Some(oldest) = self.air_c.get_mut(self.next) {
            *oldest = air_c;
        }
        self.next = (self.next + 1) % self.air_c.len();
        self.air_c.iter().sum::<f64>() / 24.0
    }
}
