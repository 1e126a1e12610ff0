//! Pages of the year that show days: the hours of one, and the longest dull spell.

use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::report::{DullSpell, HourFigures, Range, Repeats};
use crate::plan::entry::Units;
use crate::plan::{Figure, Missing};
use crate::tui::model::Model;
use crate::tui::seasons::{SeasonsView, YearPage};
use crate::tui::theme::Role;
use crate::tui::words::{self, fixed};

use super::{Lines, blank, date, name, place_of, say, waits, whole};

/// Longest bar of a state of charge.
const BAR: f64 = 8.0;

fn bar(soc: f64) -> String {
    "#".repeat(((soc * BAR).round().clamp(0.0, BAR)) as usize)
}

/// A typical or a dark day of the month, hour by hour.
pub(super) fn day(model: &Model, shown: &Shown, view: &SeasonsView, lines: &mut Lines) {
    let report = &shown.report;
    let spread = report.year.months.get(view.month).map(|m| &m.spread_wh_day);
    let spread = match spread {
        Some(Ok(spread)) => spread,
        Some(Err(Missing(field))) if !field.as_str().is_empty() => {
            return say(lines, &format!("{} has no hours yet: waits for {field}", name(view.month)));
        }
        _ => return say(lines, &format!("{} has no hours yet: no stay, array or run", name(view.month))),
    };
    let bank = report.year.months.get(view.month).map(|m| &m.shortfall_wh_day);
    if let Some(bank @ Err(_)) = bank {
        return waits(bank, lines);
    }
    let (kind, day) = match view.page {
        YearPage::DarkDay => ("dark", spread.dull_day),
        _ => ("typical", spread.typical_day),
    };
    let place = place_of(shown, view.month);
    let head = format!("{kind} day, {place}, {}", date(day));
    match model.late.answer(shown, &Question::Day(day)) {
        Some(Answer::Day(Ok(hours))) => {
            let sum = |of: fn(&HourFigures) -> f64| whole(hours.iter().map(of).sum::<f64>());
            let (harvest, load, short) = (sum(|h| h.harvest_w), sum(|h| h.load_w), sum(|h| h.shortfall_w));
            let first = hours.first();
            let way = first.and_then(|h| h.heading_deg).map_or(String::new(), |way| format!(", facing {}", whole(way)));
            let shore = if first.is_some_and(|h| h.on_shore) { ", on shore power" } else { "" };
            say(lines, &format!("{head}{way}{shore}: harvest {harvest} Wh, load {load}, short {short}"));
            hours_of(Units::of(&shown.plan), hours, lines);
            super::notes::assumed(shown, lines);
        }
        Some(Answer::Day(Err(missing))) => say(lines, &format!("{head}; its hours wait for {}", missing.0)),
        _ => {
            say(lines, &format!("{head}; .. hours being computed"));
            lines.push((HOURS.into(), Role::Heading));
            // As many rows as will come: the box keeps its size.
            lines.extend((0..24).map(|hour| (format!("{hour:>4}   .."), Role::Text)));
            say(lines, ABOUT_HOURS);
        }
    }
}

const HOURS: &str = "hour  sun array  harv other  load bank A volts  temp charge";
const ABOUT_HOURS: &str = "By the clock of the place, standard time. Sun: W/m2 that the panels use; array, harvest (what could reach the \
                           posts), other charging and load in W; bank A: into the bank, or out of it; temp and charge: of \
                           the bank; inv off: the inverter's own cut-off.";
/// Of a stay whose panels are tilted toward no heading of their own.
const ABOUT_WAYS: &str =
    "Tilted toward any: another way every day, degrees by the compass; months are the mean of all.";

fn hours_of(units: Units, hours: &[HourFigures], lines: &mut Lines) {
    lines.push((HOURS.into(), Role::Heading));
    for h in hours {
        let row = format!(
            "{:>4}{:>5}{:>6}{:>6}{:>6}{:>6}{:>7}{:>6}{:>6}{:>5}% {:<8}{}",
            h.hour % 24,
            whole(h.sun_w_m2),
            whole(h.array_w),
            whole(h.harvest_w),
            whole(h.other_w),
            whole(h.load_w),
            fixed(h.bank_a, 1),
            fixed(h.posts_v, 2),
            words::temperature(units, h.battery_c),
            fixed(h.soc * 100.0, 0),
            bar(h.soc),
            match h {
                _ if h.cut_off_w > 0.5 => " inv off",
                _ if h.shortfall_w > 0.5 => " short",
                _ => "",
            }
        );
        lines.push((row.trim_end().to_string(), Role::Text));
    }
    say(lines, ABOUT_HOURS);
    if hours.first().is_some_and(|h| h.heading_deg.is_some()) {
        say(lines, ABOUT_WAYS);
    }
}

/// The longest dull spell, and the plan under other skies.
pub(super) fn spell(model: &Model, shown: &Shown, _view: &SeasonsView, lines: &mut Lines) {
    let figure = &shown.report.year.dull_spell;
    match figure {
        Ok(Some(spell)) => told(spell, lines),
        Ok(None) => say(lines, "no day of the typical year on which the sun brings less than the loads take"),
        Err(_) => waits(figure, lines),
    }
    if let Ok((soc, day)) = &shown.report.year.least_soc {
        say(lines, &format!("least charge of the typical year: {} % on {}", fixed(soc * 100.0, 0), date(*day)));
    }
    super::notes::assumed(shown, lines);
    blank(lines);
    match model.late.answer(shown, &Question::Repeats) {
        Some(Answer::Repeats(repeats)) => skies(repeats, lines),
        _ => say(lines, ".. ten more years are being computed"),
    }
    if let Ok(Some(spell)) = figure {
        blank(lines);
        each_day(spell, lines);
    }
    blank(lines);
    say(
        lines,
        "Typical years understate bad ones: where it matters (medical loads), plan for a dull month or a way to charge \
         without sun.",
    );
}

fn skies(repeats: &Figure<Repeats>, lines: &mut Lines) {
    let repeats = match repeats {
        Ok(repeats) => repeats,
        Err(missing) => return say(lines, &format!("ten more years wait for {}", missing.0)),
    };
    let range = |r: &Range, scale: f64, digits: usize| {
        let of = |x: f64| fixed(x * scale, digits);
        format!("{} (least {}, most {})", of(r.mean), of(r.least), of(r.most))
    };
    say(lines, &format!("{} years with the same months but their days in another order:", repeats.years));
    say(lines, &format!("load not served, %:       {}", range(&repeats.unmet_pct, 1.0, 1)));
    say(lines, &format!("days with some of it:     {}", range(&repeats.short_days, 1.0, 0)));
    say(lines, &format!("least state of charge, %: {}", range(&repeats.least_soc, 100.0, 0)));
}

fn told(spell: &DullSpell, lines: &mut Lines) {
    say(
        lines,
        &format!(
            "longest dull spell: {} days from {} to {}, harvest {} Wh a day of {} Wh asked of the bank",
            spell.days,
            date(spell.first_day),
            date(spell.first_day + spell.days - 1),
            whole(spell.harvest.0),
            whole(spell.load.0)
        ),
    );
    say(
        lines,
        &format!(
            "the bank goes down to {} % of its charge; {} Wh of load not served in all of it",
            fixed(spell.least_soc * 100.0, 0),
            whole(spell.shortfall.0)
        ),
    );
}

fn each_day(spell: &DullSpell, lines: &mut Lines) {
    lines.push(("day     harvest   load  short  charge at least".into(), Role::Heading));
    for (i, d) in spell.each.iter().enumerate() {
        let row = format!(
            "{:<7}{:>8}{:>7}{:>7}{:>6}% {}",
            date(spell.first_day + i),
            whole(d.harvest.0),
            whole(d.load.0),
            whole(d.shortfall.0),
            fixed(d.least_soc * 100.0, 0),
            bar(d.least_soc)
        );
        lines.push((row, Role::Text));
    }
}
