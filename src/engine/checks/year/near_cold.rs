//! Months whose mean lies just above what a lithium bank takes charge at: the year's air is as warm as the mean on every
//! day of a month, real days are not.

use crate::engine::Work;
use crate::engine::checks::digits;
use crate::engine::compile::{bank, heater};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::sites::{mean_c, stay_of_months};
use crate::engine::warmth::Heater;
use crate::physics::battery::Bank;
use crate::physics::warmth::{heated, inside_c, outside_c};
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Figure, YesNo};
use crate::standards::source::{Source, Standing};

use super::seen::Judged;

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
        if let &[.., bare_c, watts] = f.numbers.as_slice()
            && f.numbers.len() > 3
        {
            let (held, least) = digits::apart(mean_c, least_c, 1);
            return format!(
                "BK: {} at {bare_c:.1} C on the mean, where its heater of {watts:.0} W holds it at {held} C; under {least} C it \
                 takes no charge. On colder days, which are usual and which the year has none of, it does not hold that: the year \
                 lets all {wh:.0} Wh a day of the sun in; reckon with less then, or with a larger heater",
                f.name(0)
            );
        }
        format!(
            "BK: {} at {mean_c:.1} C on the mean, under {least_c:.1} C it takes no charge: colder days than the mean are usual, \
             the year has none and lets all {wh:.0} Wh a day of the sun in; reckon with less then",
            f.name(0)
        )
    },
};

/// How warm the bank stands in the air of its place.
pub(super) struct Kept {
    pub(super) bank: Bank,
    heater: Option<Heater>,
    /// The least of a heated space that the bank stands in.
    inside_least_c: Option<f64>,
    is_insulated: bool,
}

impl Kept {
    /// Of a plan; a bank of which nobody has said where it stands is taken as outside.
    ///
    /// # Errors
    /// The field that the bank waits for.
    pub(super) fn of(w: &Work<'_>) -> Figure<Self> {
        let (own, bank) = (&w.context.plan.bank, bank(w.context)?);
        let heater = heater(w.context, &bank);
        let is_inside = own.heated.known() == Some(&YesNo::Yes);
        let inside_least_c = is_inside.then_some(w.context.rules.interior_least_c);
        Ok(Self { bank, heater, inside_least_c, is_insulated: own.insulated == YesNo::Yes })
    }

    /// Without its heater.
    fn bare_c(&self, air_c: f64) -> f64 {
        self.inside_least_c.map_or_else(|| outside_c(air_c, self.is_insulated), |least_c| inside_c(air_c, least_c))
    }

    /// With it, as far as it holds.
    pub(super) fn own_c(&self, air_c: f64) -> f64 {
        let bare_c = self.bare_c(air_c);
        self.heater.as_ref().map_or(bare_c, |h| heated(bare_c, h.holds_c, h.body.full_rise_k(h.watts)).0)
    }
}

/// The month of these in which the sun brings most. With a heater: the warmth that it holds, where it would not hold as
/// much above the cut-off on a day so much colder.
///
/// # Errors
/// The field that the bank or the year waits for.
pub(super) fn near(w: &Work<'_>) -> Judged {
    let plan = w.context.plan;
    if !w.context.chemistry()?.chemistry.is_lithium() {
        return Ok((None, None));
    }
    let kept = Kept::of(w)?;
    let Some(least_c) = kept.bank.least_charge_c else { return Ok((None, None)) };
    let mut most: Option<(f64, usize, f64, f64)> = None;
    let mut waits = None;
    for (month, stay) in stay_of_months(plan).into_iter().enumerate() {
        let Some((stay, spot)) = stay.and_then(|i| plan.stays.get(i).zip(w.spots.get(i))) else { continue };
        let Some(figures) = w.report.year.months.get(month) else { continue };
        let known = mean_c(stay, spot).and_then(|all| Ok((all[month], figures.solar_wh_day.clone()?.0)));
        let (air_c, wh) = match known {
            Ok(known) => known,
            Err(missing) => {
                waits = waits.or(Some(missing));
                continue;
            }
        };
        let (mean_c, cold_c) = (kept.own_c(air_c), kept.own_c(air_c - SPREAD_K));
        // What cold air does not bring below it needs no word.
        let is_near = mean_c >= least_c && cold_c < least_c;
        if is_near && most.is_none_or(|(_, _, most_wh, _)| wh > most_wh) {
            most = Some((mean_c, month, wh, kept.bare_c(air_c)));
        }
    }
    let found = most.filter(|(_, _, wh, _)| *wh >= 1.0).map(|(mean_c, month, wh, bare_c)| {
        let mut numbers = vec![mean_c, least_c, wh];
        if let Some(heater) = &kept.heater {
            numbers.extend([bare_c, heater.watts]);
        }
        let name = MONTH_NAMES.get(month).copied().unwrap_or_default();
        Finding::new(&NEAR, Level::Note, "bank".into(), &numbers, &DAYS_ABOUT_MEAN).named([name])
    });
    Ok((found, waits))
}
