//! What the year's figures leave out or take for granted, beside them.

use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::Report;
use crate::engine::report::{MonthFigures, OneWay, Ways};
use crate::plan::Figure;
use crate::standards::kinds::Mount;
use crate::tui::model::Model;
use crate::tui::seasons::SeasonsView;
use crate::tui::view::results::{SHADE, is_shade_unknown, shade_taken};
use crate::units::WattHours;

use crate::wording::findings::sentence;

use super::{Lines, name, say, whole};

/// What the year takes for what nobody knows: hours and days of the stays, warmth of the bank. What goes short is at most what it says then.
pub(super) fn assumed(shown: &Shown, lines: &mut Lines) {
    let unknown =
        |stay: &str, key: &str| shown.report.unknown.iter().any(|at| at.as_str() == format!("stays.{stay}.{key}"));
    for (what, key) in [("hours of driving", "drive_h_day"), ("days on shore power", "shore_days_month")] {
        let ids = shown.plan.stays.iter().map(|s| s.id.as_str()).filter(|id| unknown(id, key));
        let stays: Vec<&str> = ids.collect();
        if !stays.is_empty() {
            say(
                lines,
                &format!(
                    "{what} at {} are not known: the year takes none; short is at most as shown, and other charging at least",
                    stays.join(", ")
                ),
            );
        }
    }
    if shown.report.unknown.iter().any(|at| at.as_str() == "bank.heated") {
        say(
            lines,
            "whether the batteries are in the heated space is not known: the year takes them outside; what cold keeps out and what goes \
             short for it is at most as shown",
        );
    }
}

/// That a charger without a float is off: a field left blank may only not have been entered.
pub(super) fn no_float(shown: &Shown, lines: &mut Lines) {
    let floatless = shown.plan.controllers.iter().filter(|c| c.state.stays() && c.float_v.is_none());
    let ids: Vec<&str> = floatless.map(|c| c.id.as_str()).collect();
    if !ids.is_empty() {
        say(
            lines,
            &format!(
                "{}: no float entered, which is off: once absorption is over it gives nothing, in full sun too, until the bank has carried \
                 the loads for an hour or is no longer nearly full",
                ids.join(", ")
            ),
        );
    }
}

/// That the load waits for the bank's hours, and so does what hangs on it.
pub(super) fn audit_alone(report: &Report, lines: &mut Lines) {
    if report.year.is_load_the_audit() {
        say(
            lines,
            "load is the audit alone while the bank's hours wait: what controllers draw themselves and a heater is not in it, so that \
             the load is at least that and lasts at most as shown",
        );
    }
}

/// That nothing is 0 for want of a value where there is no array.
pub(super) fn no_array(shown: &Shown, lines: &mut Lines) {
    if !shown.plan.arrays.iter().any(|a| a.state.stays()) {
        say(lines, "no array in the plan: array, harvest and unused are 0 because there is none");
    }
}

/// Why the first degree of tilt brings more than its light does.
pub(super) fn raised(shown: &Shown, lines: &mut Lines) {
    let plan = &shown.plan;
    let ids = plan.arrays.iter().filter(|a| a.state.stays() && a.mount == Mount::Tilted).map(|a| a.id.as_str());
    let arrays: Vec<&str> = ids.collect();
    if !arrays.is_empty() && plan.stays.iter().any(|s| s.tilt_deg.known().is_some_and(|tilt| tilt.0 > 0.0)) {
        say(
            lines,
            &format!(
                "{}: at any tilt above 0 cooled as on an open rack, let down as close to the roof (King et al. 2004): between tilt 0 \
                 and a little of it lie some 3 to 5 % of the array, which are no matter of light",
                arrays.join(", ")
            ),
        );
    }
}

/// How far a coach that stays as it was parked lies from the mean of all ways: the year and the month looked at.
pub(super) fn one_way(model: &Model, shown: &Shown, view: &SeasonsView, lines: &mut Lines) {
    let ids = shown.plan.toward_any().map(|s| s.id.as_str());
    let stays: Vec<&str> = ids.collect();
    if stays.is_empty() {
        return;
    }
    let (are, first) = (if stays.len() > 1 { "are" } else { "is" }, stays.join(", "));
    // A month spent elsewhere is the same whichever way these stays are parked.
    let month = Some(view.month).filter(|m| shown.plan.toward_any().any(|stay| stay.months.has(*m)));
    let told = match model.late.answer(shown, &Question::Ways) {
        Some(Answer::Ways(Ok(ways))) => ends(ways, month, &shown.report.year.lived.when()),
        Some(_) => " What one way brings is not known yet".into(),
        None => " .. eight years of one that stands one way are being computed".into(),
    };
    say(
        lines,
        &format!(
            "{first} {are} tilted toward any: the mean of a coach that faces another way every day.{told}; tilted toward sets it"
        ),
    );
}

/// The worst and the best way, bearings of what the panels face.
fn ends(ways: &Ways, month: Option<usize>, when: &str) -> String {
    let of = |what: &str, unit: &str, digits: usize, value: &dyn Fn(&OneWay) -> Option<f64>| {
        let ((least, at), (most, there)) = ways.ends(value)?;
        // Without gaps between thousands: a line must not break within a number.
        let number = |x: f64| format!("{x:.digits$}");
        Some(format!(
            "{what}{}{unit} (toward {}) to {}{unit} ({})",
            number(least),
            whole(at),
            number(most),
            whole(there)
        ))
    };
    let at = month.map_or("", name);
    let of_month = |way: &OneWay| way.months.get(month?).copied().flatten();
    let said = [
        of("load not served ", " %", 1, &|way| way.unmet_pct),
        of("harvest ", &format!(" kWh {when}"), 0, &|way| Some(way.harvest_kwh)),
        of(&format!("{at} harvest "), " Wh a day", 0, &|way| of_month(way).map(|m| m.0)),
        of(&format!("{at} short "), " Wh a day", 0, &|way| of_month(way).and_then(|m| m.1)),
    ];
    let all: Vec<String> = said.into_iter().flatten().collect();
    format!(" One that stays as it was parked, by eight ways: {}", all.join("; "))
}

/// What the mean of all ways does to what goes short.
/// Source: coaches that each stand one way all year, 48 ways: up to 9.9 % more goes short in a month, `tests/hours/roof_ways.rs`.
const SHORT_BY_MEAN: &str = "; coaches that each stay as they were parked go short of up to 13 % more in the mean, as the worst way lacks \
                             more than the best has to spare";

/// Whether some load goes short.
fn is_short(report: &Report) -> bool {
    report.year.months.iter().any(|m| m.shortfall_wh_day.as_ref().is_ok_and(|wh| wh.0 >= 0.5))
}

/// What shade on the roof takes off, and of which panels that is not known.
pub(super) fn shade(shown: &Shown, lines: &mut Lines) {
    let report = &shown.report;
    if is_shade_unknown(&shown.plan, report) {
        say(
            lines,
            "no shade of what stands on the roof is taken off where it is not known where panels lie, or how large and high all that \
             stands there is",
        );
    }
    if let Some((worst, least)) = shade_taken(report, SHADE) {
        say(
            lines,
            &format!(
                "the shade of what stands on the roof is taken off: {} % of the array in {}, {} % in {}, panels lying flat, the nose \
                 anywhere, what controllers clip and wire loses that of the mean of all ways{}",
                whole(worst.1 * 100.0),
                name(worst.0),
                whole(least.1 * 100.0),
                name(least.0),
                if is_short(report) { SHORT_BY_MEAN } else { "" }
            ),
        );
    }
}

/// What a cold bank keeps out of what alternator and shore could bring, beside the column of the sun's part.
pub(super) fn cold(report: &Report, lines: &mut Lines) {
    let months = report.year.months.iter().enumerate();
    let some = months.filter_map(|(m, month)| {
        let wh = month.other_cold_wh_day.as_ref().ok().filter(|wh| wh.0 >= 0.5)?;
        Some(format!("{} {}", name(m), whole(wh.0)))
    });
    let all: Vec<String> = some.collect();
    if !all.is_empty() {
        let kwh = report
            .year
            .other_cold_kwh()
            .map_or(String::new(), |kwh| format!(", {} kWh {}", whole(kwh), report.year.lived.when()));
        say(lines, &format!("kept out of a cold bank, of alternator and shore, Wh a day: {}{kwh}", all.join(", ")));
    }
}

/// What is in the bank where a stay follows a month without one.
pub(super) fn begins(shown: &Shown, lines: &mut Lines) {
    let found = shown.report.findings.iter().find(|f| f.check.id == "months-without-stay");
    if let Some(finding) = found {
        say(lines, finding.name(1));
    }
}

/// How much shorter a cold bank lasts by what the trade plans by.
pub(super) fn lasts_less(shown: &Shown, lines: &mut Lines) {
    let found = shown.report.findings.iter().find(|f| f.check.id == "cold-bank-gives-less");
    if let Some(finding) = found {
        say(lines, &format!("lasts: {}", sentence(&shown.plan, finding)));
    }
}

/// What of the load not served is the inverter's own cut-off, and what the bank's discharge limit.
pub(super) fn cut_off(report: &Report, lines: &mut Lines) {
    of_short(report, "because the inverter cuts itself off", |m| m.cut_off_wh_day.as_ref(), lines);
    of_short(report, "for the bank's discharge limit", |m| Some(&m.held_back_wh_day), lines);
}

fn of_short(report: &Report, why: &str, of: fn(&MonthFigures) -> Option<&Figure<WattHours>>, lines: &mut Lines) {
    let months = report.year.months.iter().enumerate();
    let some = months.filter_map(|(m, month)| {
        let wh = of(month)?.as_ref().ok().filter(|wh| wh.0 >= 0.5)?;
        Some(format!("{} {}", name(m), whole(wh.0)))
    });
    let all: Vec<String> = some.collect();
    if !all.is_empty() {
        say(lines, &format!("of short, not served {why}: {}", all.join(", ")));
    }
}
