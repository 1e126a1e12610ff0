//! What the loads ask: by season, all at once, and at a start.

use crate::plan::{Figure, Id};
use crate::units::{Amps, WattHours, Watts};

use super::none_yet;

/// All loads together.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadFigures {
    /// At the bank, mean day of each month, January first.
    pub wh_day: [Figure<WattHours>; 12],
    /// DC loads that can run together, at the bank.
    pub dc_simultaneous_w: Figure<Watts>,
    /// At the bank, mean day of a season.
    pub seasons: SeasonFigures,
    /// What of it the inverters lose in carrying the AC loads and draw unloaded.
    pub inverter: SeasonFigures,
    /// What of it converters to 12 V lose.
    pub converter: SeasonFigures,
    /// In all the year, kWh.
    pub year_kwh: Figure<f64>,
    /// The month whose usual day takes the most (0 = January), and that day.
    pub worst_day: Figure<(usize, WattHours)>,
    /// What all loads of a month draw at once.
    pub together: Figure<TogetherFigures>,
    /// What the largest start beside them draws.
    pub surge: Figure<SurgeFigures>,
    /// Share either way that every total may be off by.
    pub spread_share: f64,
    /// In the order of the plan.
    pub each: Vec<LoadRow>,
    /// What start batteries feed, and none of the figures above has; none where they feed nothing.
    pub apart: Option<ApartFigures>,
}

/// Loads that hang on start batteries and not on the bank.
#[derive(Clone, Debug, PartialEq)]
pub struct ApartFigures {
    pub loads: Vec<Id>,
    /// At their own terminals, mean day of a season.
    pub seasons: SeasonFigures,
}

/// Mean days of the seasons.
#[derive(Clone, Debug, PartialEq)]
pub struct SeasonFigures {
    /// The three warmest months.
    pub summer_wh_day: Figure<WattHours>,
    /// Its winter: December to February north of the equator, June to August south of it.
    pub winter_wh_day: Figure<WattHours>,
    /// Spring and autumn.
    pub between_wh_day: Figure<WattHours>,
}

/// All loads of a month at once, on the DC side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TogetherFigures {
    /// The month with most, 0 = January.
    pub month: usize,
    /// DC loads alone, at the bank.
    pub dc_w: f64,
    /// AC loads at the inverters' outlets.
    pub ac_w: f64,
    /// Both at the bank.
    pub watts: Watts,
    /// At low bank volts; none where these are not known.
    pub amps: Option<Amps>,
    /// Whether the AC loads are more than the inverters' ratings, which then count.
    pub is_capped: bool,
}

/// The largest running set with the largest start beside it, on the DC side.
#[derive(Clone, Debug, PartialEq)]
pub struct SurgeFigures {
    /// The load that starts; none where none states a surge.
    pub load: Option<Id>,
    pub month: usize,
    pub watts: Watts,
    pub amps: Option<Amps>,
    /// Whether the inverters' surge ratings are what counts.
    pub is_capped: bool,
}

/// One load, at its own terminals.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadRow {
    pub id: Id,
    pub seasons: SeasonFigures,
}

impl Default for SeasonFigures {
    fn default() -> Self {
        Self { summer_wh_day: none_yet(), winter_wh_day: none_yet(), between_wh_day: none_yet() }
    }
}

impl LoadFigures {
    /// What a total may really be: least and most.
    #[must_use]
    pub fn range(&self, total: f64) -> (f64, f64) {
        (total * (1.0 - self.spread_share), total * (1.0 + self.spread_share))
    }
}

impl Default for LoadFigures {
    fn default() -> Self {
        Self {
            wh_day: std::array::from_fn(|_| none_yet()),
            dc_simultaneous_w: none_yet(),
            seasons: SeasonFigures::default(),
            inverter: SeasonFigures::default(),
            converter: SeasonFigures::default(),
            year_kwh: none_yet(),
            worst_day: none_yet(),
            together: none_yet(),
            surge: none_yet(),
            spread_share: 0.0,
            each: Vec::new(),
            apart: None,
        }
    }
}
