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

/// Energy of a battery for its mass, Wh/kg. Source: lithium iron phosphate in its case, 90 to 130, from memory.
const WH_PER_KG: f64 = 100.0;
/// Heat that a kilogram of a battery holds for each kelvin, Wh/(kg K). Source: 1.0 kJ/(kg K), cells of lithium iron
/// phosphate are given 0.9 to 1.1, from memory.
const HEAT_WH_KG_K: f64 = 1000.0 / 3600.0;

/// Heat that batteries hold for each kelvin, Wh/K, from what each of them weighs; where nobody knows that, from its energy.
/// Source: heat capacity, Q = m c dT, with figures from memory.
#[must_use]
pub fn heat_wh_k(battery_wh: f64, weight_kg: Option<f64>, batteries: f64) -> f64 {
    weight_kg.unwrap_or(battery_wh.max(0.0) / WH_PER_KG).max(0.0) * batteries.max(0.0) * HEAT_WH_KG_K
}

/// What holds heat and loses it: how far it stands above where it would be without a heater, hour by hour.
///
/// In each hour `loss_w_k * rise` flows off, `heat_wh_k * change of rise` stays, and both together are what was fed:
/// the rise goes to `watts / loss_w_k` as the exponential of time over `heat_wh_k / loss_w_k`.
/// Source: heat balance of a body with one temperature (lumped capacitance), solved for an hour of constant power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    loss_w_k: f64,
    /// Share of the way to its end that a rise goes in an hour.
    goes: f64,
}

impl Body {
    /// With heat held and heat lost for each kelvin. Source: time constant, the one over the other.
    #[must_use]
    pub fn of(heat_wh_k: f64, loss_w_k: f64) -> Self {
        let loss_w_k = loss_w_k.max(1e-9);
        Self { loss_w_k, goes: -(-loss_w_k / heat_wh_k.max(1e-9)).exp_m1() }
    }

    /// The rise after an hour at a power, K. Source: as [`Body`].
    #[must_use]
    pub fn after_k(&self, rise_k: f64, watts: f64) -> f64 {
        rise_k + (watts / self.loss_w_k - rise_k) * self.goes
    }

    /// Power that brings it to a wanted rise in an hour, W; none where it stays above that by itself.
    /// Source: as [`Body`], solved for the power.
    #[must_use]
    pub fn asks_w(&self, rise_k: f64, wanted_k: f64) -> f64 {
        (self.loss_w_k * (rise_k + (wanted_k - rise_k) / self.goes)).max(0.0)
    }

    /// The rise at which a power ends, K. Source: steady state.
    #[must_use]
    pub fn full_rise_k(&self, watts: f64) -> f64 {
        watts / self.loss_w_k
    }
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
