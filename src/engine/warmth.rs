//! The warmth stage: what the bank's own temperature would be through a stay's year without its heater, and what that
//! asks for. How warm it really is depends on what its heater gets: that is the year's.

use crate::climate::year::MONTH_DAYS;
use crate::physics::battery::Warm;
use crate::physics::warmth::{Body, DayMean, heated, inside_c, outside_c};

use super::memo::Stage;
use super::sky::SkyYear;

/// A battery heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heater {
    pub watts: f64,
    /// The batteries that it warms.
    pub body: Body,
    /// Temperature its thermostat holds.
    pub holds_c: f64,
}

impl Heater {
    /// Mean power in an hour with which it is as warm at its end as the thermostat holds, or all it has.
    /// Source: a thermostat, over an hour.
    #[must_use]
    pub fn asks_w(&self, bare_c: f64, rise_k: f64) -> f64 {
        self.body.asks_w(rise_k, (self.holds_c - bare_c).max(0.0)).min(self.watts)
    }
}

impl Heater {
    /// Power with which it stays as warm as the thermostat holds, or all it has: what is asked for and never fed goes
    /// without no more than this, or a larger heater on the same thermostat would go without more than it could ever use.
    /// Source: heat balance at rest.
    #[must_use]
    pub fn holds_w(&self, bare_c: f64) -> f64 {
        let rise_k = (self.holds_c - bare_c).max(0.0);
        self.body.asks_w(rise_k, rise_k).min(self.watts)
    }
}

/// What the warmth stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmthInput {
    pub sky: Stage<SkyYear>,
    /// In the heated living space: what that is held at while lived in.
    pub inside_least_c: Option<f64>,
    /// Elsewhere: whether its box is insulated.
    pub is_insulated: bool,
    pub heater: Option<Heater>,
}

/// The warmth stage's result.
#[derive(Clone, Debug, PartialEq)]
pub struct Warmth {
    /// With no heater on, one an hour, and what follows from it.
    bare: Vec<Warm>,
    pub heater: Option<Heater>,
    /// What the heater draws in each month of a bank that always has charge for it, Wh.
    pub held_wh: [f64; 12],
    /// Mean temperature of such a bank in each month.
    pub held_c: [f64; 12],
}

impl Warmth {
    /// A bank of such temperatures, one an hour, and what its heater asks for where it gets all of it.
    #[must_use]
    pub fn of(bare_c: Vec<f64>, heater: Option<Heater>) -> Self {
        let (mut held_wh, mut held_c) = ([0.0; 12], [0.0; 12]);
        let mut hours = bare_c.iter().copied();
        // It has always had its heat.
        let mut rise_k = heater.as_ref().zip(bare_c.first()).map_or(0.0, |(heater, first_c)| {
            heated(*first_c, heater.holds_c, heater.body.full_rise_k(heater.watts)).0 - first_c
        });
        for ((month_wh, month_c), days) in held_wh.iter_mut().zip(&mut held_c).zip(MONTH_DAYS) {
            for bare_c in hours.by_ref().take(days * 24) {
                *month_c += (bare_c + rise_k) / (days * 24) as f64;
                if let Some(heater) = &heater {
                    let watts = heater.asks_w(bare_c, rise_k);
                    rise_k = heater.body.after_k(rise_k, watts);
                    *month_wh += watts;
                }
            }
        }
        Self { bare: bare_c.into_iter().map(Warm::at).collect(), heater, held_wh, held_c }
    }

    /// Its temperature from an hour of the year on, hour by hour, where it has no heater; nothing where it has.
    #[must_use]
    pub fn from_hour(&self, hour: usize) -> &[Warm] {
        self.bare.get(hour..).filter(|_| self.heater.is_none()).unwrap_or_default()
    }

    /// Its temperature in an hour of the year with no heater on.
    #[must_use]
    pub fn bare_c(&self, hour: usize) -> f64 {
        self.bare.get(hour).map_or(25.0, Warm::battery_c)
    }
}

/// The bank's temperature without a heater, from the running mean of the last 24 hours' air; the year joins its own end.
#[must_use]
pub fn warmth(input: &WarmthInput) -> Warmth {
    let air = &input.sky.air_c;
    let mut mean = DayMean::steady(0.0);
    for c in air.iter().rev().take(24).rev() {
        mean.push(*c);
    }
    let of = |air_mean_c: f64| {
        let outside_c = outside_c(air_mean_c, input.is_insulated);
        input.inside_least_c.map_or(outside_c, |least_c| inside_c(air_mean_c, least_c))
    };
    Warmth::of(air.iter().map(|c| of(mean.push(*c))).collect(), input.heater)
}
