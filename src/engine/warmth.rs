//! The warmth stage: the bank's own temperature through a stay's year.

use crate::physics::warmth::{DayMean, FULL_RISE_K, heated, inside_c, outside_c};

use super::memo::Stage;
use super::sky::SkyYear;

/// A battery heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heater {
    pub watts: f64,
    /// Temperature its thermostat holds.
    pub holds_c: f64,
}

/// What the warmth stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmthInput {
    pub sky: Stage<SkyYear>,
    /// In the heated living space.
    pub inside: bool,
    pub heater: Option<Heater>,
}

/// The warmth stage's result, one entry an hour.
#[derive(Clone, Debug, PartialEq)]
pub struct Warmth(Vec<(f64, f64)>);

impl Warmth {
    /// The bank's temperature and its heater's power in an hour of the year.
    #[must_use]
    pub fn at(&self, hour: usize) -> (f64, f64) {
        self.0.get(hour).copied().unwrap_or((25.0, 0.0))
    }

    /// The bank's temperature in an hour of the year.
    #[must_use]
    pub fn battery_c(&self, hour: usize) -> f64 {
        self.at(hour).0
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
        let bare_c = if input.inside { inside_c(air_mean_c, true) } else { outside_c(air_mean_c, false) };
        match input.heater {
            None => (bare_c, 0.0),
            Some(heater) => {
                let (battery_c, duty) = heated(bare_c, heater.holds_c, FULL_RISE_K);
                (battery_c, duty * heater.watts)
            }
        }
    };
    Warmth(air.iter().map(|c| of(mean.push(*c))).collect())
}
