//! A year's harvest by its months: no sum of a year stands alone.

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
    /// The harvest of a dull, a typical and a bright month; none where a month is not known.
    #[must_use]
    pub fn month_spread(&self) -> Option<MonthSpread> {
        let mut months = Vec::with_capacity(MONTH_DAYS.len());
        for (month, (figures, days)) in self.months.iter().zip(MONTH_DAYS).enumerate() {
            months.push((month, figures.harvest_wh_day.as_ref().ok()?.0 * days as f64 / 1000.0));
        }
        months.sort_by(|a, b| a.1.total_cmp(&b.1));
        let (dull, bright) = (*months.first()?, *months.last()?);
        let typical = (months.get(5)?.1 + months.get(6)?.1) / 2.0;
        Some(MonthSpread { dull, typical, bright })
    }
}
