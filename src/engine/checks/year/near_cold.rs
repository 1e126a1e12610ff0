//! Months whose mean lies just above what a lithium bank takes charge at: the year's air is as warm as the mean on every
//! day of a month, real days are not.

use crate::engine::Work;
use crate::engine::compile::bank;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Outcome;
use crate::engine::sites::{site, stay_of_months};
use crate::physics::warmth::{inside_c, outside_c};
use crate::plan::YesNo;
use crate::plan::lists::MONTH_NAMES;
use crate::standards::source::{Source, Standing};

static DAYS_ABOUT_MEAN: Source = Source::new(
    "mean temperatures of days",
    "3 to 5 K about their month's in a mild or cold winter",
    Standing::FromMemory,
);

/// Days so much colder than their month are no rarity, K. Source: [`DAYS_ABOUT_MEAN`].
const SPREAD_K: f64 = 4.0;

pub(super) static NEAR: Check = Check {
    id: "cold-days-not-in-year",
    safety: false,
    say: |f| {
        let (mean_c, least_c, wh) = (f.n(0), f.n(1), f.n(2));
        format!(
            "BK: {} at {mean_c:.1} C on the mean, under {least_c:.1} C it takes no charge: colder days than the mean are usual, \
             the year has none and lets all {wh:.0} Wh a day of the sun in; reckon with less then",
            f.name(0)
        )
    },
};

/// The month of these in which the sun brings most.
///
/// # Errors
/// The field that the bank or the year waits for.
pub(super) fn near(w: &Work<'_>) -> Outcome {
    let plan = w.context.plan;
    // What has a heater asks for charge as it grows cold: that is in the year.
    if !w.context.chemistry()?.chemistry.is_lithium() || plan.bank.heater_w.is_some() {
        return Ok(None);
    }
    let Some(least_c) = bank(w.context)?.least_charge_c else { return Ok(None) };
    let is_inside = plan.bank.heated.known() == Some(&YesNo::Yes);
    let mut most: Option<(f64, usize, f64)> = None;
    for (month, stay) in stay_of_months(plan).into_iter().enumerate() {
        let Some((stay, spot)) = stay.and_then(|i| plan.stays.get(i).zip(w.spots.get(i))) else { continue };
        let Some(air_c) = site(stay, spot, 1 << month, true)?.mean_c.get(month).copied() else { continue };
        let mean_c = if is_inside {
            inside_c(air_c, w.context.rules.interior_least_c)
        } else {
            outside_c(air_c, plan.bank.insulated == YesNo::Yes)
        };
        let Some(figures) = w.report.year.months.get(month) else { continue };
        let wh = figures.solar_wh_day.clone()?.0;
        if (0.0..SPREAD_K).contains(&(mean_c - least_c)) && most.is_none_or(|(_, _, most_wh)| wh > most_wh) {
            most = Some((mean_c, month, wh));
        }
    }
    Ok(most.filter(|(_, _, wh)| *wh >= 1.0).map(|(mean_c, month, wh)| {
        let numbers = [mean_c, least_c, wh];
        let name = MONTH_NAMES.get(month).copied().unwrap_or_default();
        Finding::new(&NEAR, Level::Note, "bank".into(), &numbers, &DAYS_ABOUT_MEAN).named([name])
    }))
}
