//! How warm the bank is itself.

/// Own temperature of a bank in an outside box: the 24 h mean of the air, 3 K more in an insulated box.
/// Source: heat capacity of a battery against its box, common practice; the 3 K from memory.
#[must_use]
pub fn outside_c(air_mean_24h_c: f64, insulated: bool) -> f64 {
    air_mean_24h_c + if insulated { 3.0 } else { 0.0 }
}

/// Own temperature of a bank inside a coach that is heated to some temperature at least while lived in.
/// Source: the larger of the two; 12 C as the least of a lived-in coach, common practice.
#[must_use]
pub fn inside_c(air_mean_24h_c: f64, least_c: f64) -> f64 {
    air_mean_24h_c.max(least_c)
}

/// Energy of a battery per volume of its case, Wh/m3. Source: lithium iron phosphate in a case, from memory.
const WH_PER_M3: f64 = 100_000.0;
/// Heat through a case and the still air about it, W/m2K. Source: still air at 4 to 8 behind a plastic wall, from memory.
const CASE_W_M2_K: f64 = 3.0;

/// Heat that batteries lose for each kelvin they stand above their surroundings, W/K: each a cube as large as its
/// energy asks for. The maker's sheet governs.
/// Source: heat transmission through a surface, Q = U A dT, with figures from memory; 1 W/K for one of 1.3 kWh.
#[must_use]
pub fn loss_w_k(battery_wh: f64, batteries: f64) -> f64 {
    let side_m = (battery_wh.max(0.0) / WH_PER_M3).cbrt();
    CASE_W_M2_K * 6.0 * side_m * side_m * batteries.max(0.0)
}

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
