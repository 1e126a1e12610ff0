//! A year's harvest by its months: no sum of a year stands alone.

use crate::arrange::Arrange;
use crate::climate::year::MONTH_DAYS;

use super::report::YearFigures;

/// What the months of a year bring, kWh a month.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MonthSpread {
    /// The dullest month, 0 = January, and what it brings.
    pub dull: (usize, f64),
    /// The middle of the twelve.
    pub typical: f64,
    pub bright: (usize, f64),
}

impl YearFigures {
    /// The dullest and the brightest of the months that have a stay, 0 = January, with what a mean day of it brings, Wh;
    /// none where a month is not known.
    #[must_use]
    pub fn month_ends(&self) -> Option<[(usize, f64); 2]> {
        let lived = self.months.iter().enumerate().filter(|(_, month)| month.stay.is_some());
        let days = lived.map(|(m, month)| Some((m, month.harvest_wh_day.as_ref().ok()?.0)));
        let days = days.collect::<Option<Vec<_>>>()?;
        let dull = days.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        Some([*dull, *days.iter().max_by(|a, b| a.1.total_cmp(&b.1))?])
    }

    /// The harvest of a dull, a typical and a bright month; none where a month is not known.
    #[must_use]
    pub fn month_spread(&self) -> Option<MonthSpread> {
        let mut months = Vec::with_capacity(MONTH_DAYS.len());
        for (month, (figures, days)) in self.months.iter().zip(MONTH_DAYS).enumerate() {
            let day = figures.harvest_wh_day.as_ref().ok()?.0;
            months.push((day, (month, day * days as f64 / 1000.0)));
        }
        // By their days: else a dull month of 31 days stood before a brighter one of 28.
        months.arrange_by(|a, b| a.0.total_cmp(&b.0));
        let of = |place: usize| months.get(place).map(|m| m.1);
        let typical = (of(5)?.1 + of(6)?.1) / 2.0;
        Some(MonthSpread { dull: of(0)?, typical, bright: of(11)? })
    }
}
