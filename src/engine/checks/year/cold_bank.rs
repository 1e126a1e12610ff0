//! How long a cold bank lasts by its label, by the year and by what the trade plans by: these are not alike.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::sites::{mean_c, stay_of_months};
use crate::plan::lists::MONTH_NAMES;
use crate::standards::cold_bank::{
    LEAD_ENDS_C, LITHIUM_ENDS_C, LITHIUM_IN_COLD, WORKSHEET, lead_freezes_c, lead_need, lithium_gives,
};

use super::near_cold::Kept;
use super::seen::Judged;

/// A lead bank warmer than this on a month's mean is not cold, C. Source: our own choice; the worksheet wants a fifth more then.
const COLD_LEAD_C: f64 = 10.0;
/// The same of lithium, C. Source: as [`LITHIUM_IN_COLD`], which begins there.
const COLD_LITHIUM_C: f64 = 0.0;
/// So much colder than the month's mean are its days at times, K. Source: our own choice; in a box, a day's mean.
const COLDER_K: f64 = 5.0;
/// Days that differ by less are said to be the same. Source: our own choice; they are shown to a tenth.
const SHOWN_DAYS: f64 = 0.05;

/// So little colder than where a table ends is as cold as that, K. Source: our own choice; it is shown to a tenth.
const NEAR_K: f64 = 0.05;

pub(super) static COLDER: Check = Check {
    id: "cold-bank-gives-less",
    safety: false,
    say: |f| {
        let (label, year, least) = (f.n(1), f.n(2), f.n(3));
        let head = format!(
            "BK: {} at {:.1} C on the mean: {label:.1} days without sun by its label, {year:.1} by the year, which takes 0.5 % off for \
             each K under room temperature",
            f.name(0),
            f.n(0)
        );
        let practice = match f.name(1) {
            "lead" if f.n(0) < LEAD_ENDS_C - NEAR_K => format!(
                " (Copetti 1993), less than {least:.1} by the battery sizing worksheet, which wants {:.2} times the capacity at \
                 {LEAD_ENDS_C:.1} C, where it ends",
                f.n(4)
            ),
            "lithium" if f.n(0) < LITHIUM_ENDS_C - NEAR_K => format!(
                ", less than {least:.1} at worst by common practice, which has {:.0} to {:.0} % of its Ah left at {LITHIUM_ENDS_C:.0} C and \
                 tells of no colder one",
                f.n(4),
                f.n(5)
            ),
            "lead" => format!(
                " (Copetti 1993), {least:.1} by the battery sizing worksheet, which wants {:.2} times the capacity then",
                f.n(4)
            ),
            _ => format!(
                ", {least:.1} at least by common practice, which has {:.0} to {:.0} % of its Ah left then",
                f.n(4),
                f.n(5)
            ),
        };
        let frost = match (f.name(1), f.numbers.get(5..7)) {
            ("lead", Some([charge, freezes_c])) => format!(
                "; at {charge:.0} % of its charge, as the year has it then, its acid freezes at about {freezes_c:.0} C (from memory) and \
                 bursts it: {}",
                if f.n(0) <= *freezes_c {
                    "the month's mean is as cold"
                } else {
                    "colder days of that month come near"
                }
            ),
            _ => String::new(),
        };
        format!("{head}{practice}; plan by the least where nothing else charges{frost}")
    },
};

/// The coldest month that is lived in, where the bank is cold in it.
///
/// # Errors
/// The field that the bank or the year waits for.
pub(super) fn colder(w: &Work<'_>) -> Judged {
    let plan = w.context.plan;
    let is_lithium = w.context.chemistry()?.chemistry.is_lithium();
    plan.bank.heated.at(|| "bank.heated".into())?;
    let kept = Kept::of(w)?;
    let mut coldest: Option<(f64, usize, f64)> = None;
    let mut waits = None;
    for (month, stay) in stay_of_months(plan).into_iter().enumerate() {
        let Some((stay, spot)) = stay.and_then(|i| plan.stays.get(i).zip(w.spots.get(i))) else { continue };
        let Some(figures) = w.report.year.months.get(month) else { continue };
        let known = figures.shortfall_wh_day.clone().and_then(|_| {
            let own_c = kept.own_c(mean_c(stay, spot)?[month]);
            Ok((own_c, figures.days_without_sun.clone()?))
        });
        match known {
            Ok((own_c, days)) if coldest.is_none_or(|(least_c, ..)| own_c < least_c) => {
                coldest = Some((own_c, month, days));
            }
            Ok(_) => {}
            // Without any load there are no days, and nothing to wait for.
            Err(missing) if missing.0.as_str().is_empty() => {}
            Err(missing) => waits = waits.or(Some(missing)),
        }
    }
    let under_c = if is_lithium { COLD_LITHIUM_C } else { COLD_LEAD_C };
    let cold = coldest.filter(|(own_c, ..)| *own_c < under_c);
    let found = cold.and_then(|(own_c, month, days)| {
        let (usable, given) = (1.0 - kept.bank.least_soc.clamp(0.0, 1.0), 1.0 - kept.bank.floor_soc(own_c, 0.0));
        if usable <= 0.0 || given <= 0.0 {
            return None;
        }
        let label = days * usable / given;
        let (least, more, kind, source) = if is_lithium {
            let (least, most) = lithium_gives(own_c);
            (label * (least / usable).min(1.0), vec![least * 100.0, most * 100.0], "lithium", &LITHIUM_IN_COLD)
        } else {
            let need = lead_need(own_c);
            let soc = w.report.year.months.get(month).and_then(|m| m.least_soc.clone().ok()).unwrap_or(1.0);
            let freezes_c = lead_freezes_c(soc);
            let frost = if own_c - COLDER_K < freezes_c { vec![need, soc * 100.0, freezes_c] } else { vec![need] };
            (label / need, frost, "lead", &WORKSHEET)
        };
        let mut numbers = vec![own_c, label, days, least];
        numbers.extend(more);
        let name = MONTH_NAMES.get(month).copied().unwrap_or_default();
        let level = if !is_lithium && numbers.len() > 5 { Level::Caution } else { Level::Note };
        let finding = Finding::new(&COLDER, level, "bank".into(), &numbers, source).named([name, kind]);
        (least < days - SHOWN_DAYS).then_some(finding)
    });
    Ok((found, waits))
}
