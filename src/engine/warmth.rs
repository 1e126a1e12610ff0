//! The warmth stage: the bank's own temperature through a stay's year.

use crate::physics::warmth::{DayMean, heated, inside_c, outside_c};

use super::memo::Stage;
use super::sky::SkyYear;

/// A battery heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heater {
    pub watts: f64,
    /// What the bank loses for each kelvin above its surroundings, W/K.
    pub loss_w_k: f64,
    /// Temperature its thermostat holds.
    pub holds_c: f64,
}

/// What the warmth stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmthInput {
    pub sky: Stage<SkyYear>,
    /// In the heated living space: what that is held at while lived in.
    pub inside_least_c: Option<f64>,
    pub heater: Option<Heater>,
}

/// How warm the bank is in an hour, and what that takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warm {
    pub battery_c: f64,
    /// Mean power of its heater.
    pub heater_w: f64,
    /// The bank's temperature with no heater on.
    pub bare_c: f64,
}

impl Warm {
    /// At a temperature of its own accord.
    #[must_use]
    pub fn bare(bare_c: f64) -> Self {
        Self { battery_c: bare_c, heater_w: 0.0, bare_c }
    }
}

/// The warmth stage's result, one entry an hour.
#[derive(Clone, Debug, PartialEq)]
pub struct Warmth(Vec<Warm>);

impl Warmth {
    /// An hour of the year.
    #[must_use]
    pub fn at(&self, hour: usize) -> Warm {
        self.0.get(hour).copied().unwrap_or(Warm::bare(25.0))
    }
}

/// The bank's temperature, from the running mean of the last 24 hours' air; the year joins its own end.
#[must_use]
pub fn warmth(input: &WarmthInput) -> Warmth {
    let air = &input.sky.air_c;
    let mut mean = DayMean::steady(0.0);
    for c in air.iter().rev().take(24).rev() {
        mean.push(*c);
    }
    let of = |air_mean_c: f64| {
        let bare_c = input.inside_least_c.map_or(outside_c(air_mean_c, false), |least_c| inside_c(air_mean_c, least_c));
        match input.heater {
            None => Warm::bare(bare_c),
            Some(heater) => {
                let (battery_c, duty) = heated(bare_c, heater.holds_c, heater.watts / heater.loss_w_k.max(1e-9));
                Warm { battery_c, heater_w: duty * heater.watts, bare_c }
            }
        }
    };
    Warmth(air.iter().map(|c| of(mean.push(*c))).collect())
}
