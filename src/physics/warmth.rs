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

/// Own temperature with its heater on: never below what the heater holds. Its power is a load while the bank would
/// be colder. Source: thermostat; that the heater is large enough is the maker's word.
#[must_use]
pub fn heated_c(battery_c: f64, heater_holds_c: f64) -> f64 {
    battery_c.max(heater_holds_c)
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
