//! Sums of the months that have a stay, as far as they are known: what is found in these is said of them, and what the
//! others wait for is said beside it.

use crate::climate::year::MONTH_DAYS;
use crate::engine::Work;
use crate::engine::context::missing;
use crate::engine::finding::{Check, Finding};
use crate::engine::gather::Gathered;
use crate::engine::report::MonthFigures;
use crate::plan::lists::Months;
use crate::plan::{FieldPath, Figure, Missing};
use crate::units::WattHours;

use super::MONTHS;

/// What was found on what is known, and what the rest waits for.
pub(in crate::engine::checks) type Judged = Figure<(Option<Finding>, Option<Missing>)>;

/// Takes both.
pub(in crate::engine::checks) fn take(
    out: &mut Gathered,
    check: &'static Check,
    subject: impl Fn() -> FieldPath,
    judged: Judged,
) {
    let (found, waits) = judged.unwrap_or_else(|waits| (None, Some(waits)));
    out.take(check, &subject, Ok(found));
    if let Some(waits) = waits {
        out.take(check, subject, Err(waits));
    }
}

/// A monthly figure over the months that have a stay and in which it is known.
pub(super) struct Seen {
    /// Of all their days.
    pub(super) wh: f64,
    /// The worst of them, and its mean day.
    pub(super) month: &'static str,
    pub(super) day_wh: f64,
    pub(super) months: Months,
    /// What the first of the others waits for.
    pub(super) waits: Option<Missing>,
}

impl Seen {
    /// What it comes to.
    ///
    /// # Errors
    /// What it waits for, where it is known in no month.
    pub(super) fn of(w: &Work<'_>, of: impl Fn(&MonthFigures) -> Figure<WattHours>) -> Figure<Self> {
        Self::by_month(w, |_, figures| of(figures))
    }

    /// The same of a figure that no month's own figures have.
    ///
    /// # Errors
    /// The same.
    pub(super) fn by_month(w: &Work<'_>, of: impl Fn(usize, &MonthFigures) -> Figure<WattHours>) -> Figure<Self> {
        let mut all = Self { wh: 0.0, month: "", day_wh: 0.0, months: Months(0), waits: None };
        for (m, (figures, days)) in w.report.year.months.iter().zip(MONTH_DAYS).enumerate() {
            if figures.stay.is_none() {
                continue;
            }
            match of(m, figures) {
                Ok(WattHours(wh)) => {
                    all.months.0 |= 1 << m;
                    all.wh += wh * days as f64;
                    if wh > all.day_wh {
                        (all.month, all.day_wh) = (MONTHS.get(m).copied().unwrap_or(""), wh);
                    }
                }
                Err(waits) => {
                    all.waits.get_or_insert(waits);
                }
            }
        }
        if all.months.0 != 0 {
            return Ok(all);
        }
        // Without any stay it is that which the year waits for; without a year there is nothing to wait for.
        Err(all.waits.unwrap_or_else(|| match &w.report.year.lived.unmet_pct {
            Err(waits) => waits.clone(),
            Ok(_) => missing("stays"),
        }))
    }

    /// The months it is of; empty where these are all.
    pub(super) fn when(&self) -> String {
        if self.months == Months::ALL { String::new() } else { self.months.to_string() }
    }
}

/// When something happens, by the months it was seen in; none: in all.
pub(super) fn in_year(months: &str) -> String {
    if months.is_empty() { "in the typical year".into() } else { format!("in {months} of the typical year") }
}

/// The same of days.
pub(super) fn of_year(months: &str) -> String {
    if months.is_empty() { "of the typical year".into() } else { format!("of {months}") }
}

/// The same of a sum.
pub(super) fn a_year(months: &str) -> String {
    if months.is_empty() { "a year".into() } else { format!("in {months}") }
}
