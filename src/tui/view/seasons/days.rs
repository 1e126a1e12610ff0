//! Pages of the year that show days: the hours of one, and the longest dull spell.

use crate::climate::clock::Clock;
use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::DULL_CLEARNESS;
use crate::engine::report::{DullSpell, HourFigures, MonthFigures, Range, Repeats};
use crate::plan::entry::Units;
use crate::plan::{Figure, Missing};
use crate::tui::model::Model;
use crate::tui::seasons::{SeasonsView, YearPage};
use crate::tui::theme::Role;
use crate::tui::words::{self, fixed};
use crate::words::counted;

use super::{Lines, blank, date, month_of, name, narrow, place_of, say, waits, whole};

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
            let field = words::awaited(&shown.plan, field);
            return say(lines, &format!("{} has no hours yet: waits for {field}", name(view.month)));
        }
        _ => return say(lines, &format!("{} has no hours yet: no stay, array or run", name(view.month))),
    };
    let bank = report.year.months.get(view.month).map(|m| &m.shortfall_wh_day);
    if let Some(bank @ Err(_)) = bank {
        return waits(shown, bank, lines);
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
            let (from, units) = (lines.len(), Units::of(&shown.plan));
            hours_of(units, hours, lines);
            super::in_parts(lines, from, 4, super::width(model));
            say(lines, &about_hours(shown, view.month));
            if first.is_some_and(|h| h.heading_deg.is_some()) {
                say(lines, ABOUT_WAYS);
            }
            super::notes::assumed(shown, lines);
            super::notes::no_float(shown, lines);
            super::notes::shade(shown, lines);
        }
        Some(Answer::Day(Err(missing))) => {
            say(lines, &format!("{head}; its hours wait for {}", words::awaited(&shown.plan, &missing.0)))
        }
        _ => {
            say(lines, &format!("{head}; .. hours being computed"));
            let from = lines.len();
            lines.push((HOURS.into(), Role::Heading));
            // As many rows as will come: the box keeps its size.
            lines.extend((0..24).map(|hour| (format!("{hour:>4}   .."), Role::Text)));
            super::in_parts(lines, from, 4, super::width(model));
            say(lines, &about_hours(shown, view.month));
        }
    }
}

const HOURS: &str = "hour  sun array  harv other  load bank A volts  temp charge";
const ABOUT_HOURS: &str = "Sun: W/m2 that the panels use; array, harvest (what could reach the posts), other charging and load \
                           in W; bank A: into the bank, or out of it; volts: at its posts as the hour begins, by the charge \
                           of the row before; temp: of the bank; charge: in it as the hour ends; inv off: the inverter's own \
                           cut-off.";

/// Whose clock the hours go by.
fn about_hours(shown: &Shown, month: usize) -> String {
    let stay = shown.report.year.months.get(month).and_then(|m| shown.plan.stays.get(m.stay?));
    let longitude = stay.and_then(|s| s.longitude_deg.known()).map_or(0.0, |l| l.0);
    let own = stay.and_then(|s| s.clock_h.as_ref()?.known()).map(|h| h.0);
    let zone_h = Clock::at(longitude, own).zone_h;
    let whose = match own {
        Some(_) => "By the clock of the place, standard time",
        None => "By standard time of the longitude, which the stay's clock may say otherwise",
    };
    // Without the sign of a zero that was rounded from the west.
    format!("{whose}: UTC{:+}. {ABOUT_HOURS}", zone_h + 0.0)
}
/// Of a stay whose panels are tilted toward no heading of their own.
const ABOUT_WAYS: &str =
    "Tilted toward any: another way every day, degrees by the compass; months are the mean of all.";

fn hours_of(units: Units, hours: &[HourFigures], lines: &mut Lines) {
    lines.push((HOURS.into(), Role::Heading));
    for h in hours {
        let row = format!(
            "{:>4} {:>4} {:>5} {:>5} {:>5} {:>5} {:>6} {:>5} {:>5} {:>4}% {:<8}{}",
            h.hour % 24,
            whole(h.sun_w_m2),
            narrow(h.array_w, 5),
            narrow(h.harvest_w, 5),
            narrow(h.other_w, 5),
            narrow(h.load_w, 5),
            if h.bank_a.abs() < 999.95 { fixed(h.bank_a, 1) } else { narrow(h.bank_a, 6) },
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
}

/// The longest dull spell, the days that are hardest on the bank, and the plan under other skies.
pub(super) fn spell(model: &Model, shown: &Shown, _view: &SeasonsView, lines: &mut Lines) {
    let year = &shown.report.year;
    match (&year.dull_spell, &year.hardest) {
        (Ok(dull), Ok(hardest)) => {
            of_sky(shown, dull.as_ref(), lines);
            of_bank(shown, dull.as_ref(), hardest.as_ref(), lines);
        }
        _ => waits(shown, &year.dull_spell, lines),
    }
    if let Ok((soc, day)) = &year.least_soc {
        // Where it comes down to that in the hardest days too, one day of many would mislead.
        let often =
            matches!(&year.hardest, Ok(Some(spell)) if spell.shortfall.0 >= 0.5 && spell.least_soc - soc < 0.005);
        let when = if often { "these days among others".into() } else { date(*day) };
        say(lines, &format!("least charge of the typical year: {} % on {when}", fixed(soc * 100.0, 0)));
    }
    super::notes::assumed(shown, lines);
    super::notes::shade(shown, lines);
    blank(lines);
    match model.late.answer(shown, &Question::Repeats) {
        Some(Answer::Repeats(repeats)) => skies(shown, repeats, lines),
        _ => say(lines, ".. ten more years are being computed"),
    }
    if let Ok(Some(spell)) = &year.dull_spell {
        blank(lines);
        each_day(model, "dull", spell, lines);
    }
    if let (Ok(dull), Ok(Some(hardest))) = (&year.dull_spell, &year.hardest)
        && Some(hardest) != dull.as_ref()
    {
        blank(lines);
        each_day(model, "hardest", hardest, lines);
    }
    blank(lines);
    say(
        lines,
        "Typical years understate bad ones: where it matters (medical loads), plan for a dull month or a way to charge \
         without sun.",
    );
}

fn skies(shown: &Shown, repeats: &Figure<Repeats>, lines: &mut Lines) {
    let repeats = match repeats {
        Ok(repeats) => repeats,
        Err(missing) => {
            return say(lines, &format!("ten more years wait for {}", words::awaited(&shown.plan, &missing.0)));
        }
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

/// `1 day, 3 Jan, Bend OR` or `2 days, 3 Jan to 4 Jan, Bend OR`: where the coach is then, which need not be the stay above.
fn span(shown: &Shown, spell: &DullSpell) -> String {
    let last_day = spell.first_day + spell.days.max(1) - 1;
    let (first, last) = (date(spell.first_day), date(last_day));
    let days =
        if spell.days == 1 { format!("1 day, {first}") } else { format!("{} days, {first} to {last}", spell.days) };
    let (place, then) = (place_of(shown, month_of(spell.first_day)), place_of(shown, month_of(last_day)));
    match (place, then) {
        ("", _) => days,
        (place, then) if place == then => format!("{days}, {place}"),
        (place, then) => format!("{days}, {place} and {then}"),
    }
}

/// What a spell brings, and how the bank fares.
fn fares(spell: &DullSpell) -> String {
    let other = match spell.other.0 {
        wh if wh >= 0.5 => format!(" and {} from alternator or shore", whole(wh)),
        _ => String::new(),
    };
    let short = match spell.shortfall.0 {
        wh if wh >= 0.5 => format!("{} Wh of load not served in all of it", whole(wh)),
        _ => "no load goes short".into(),
    };
    format!(
        "harvest {} Wh a day{other} of {} asked of the bank, which goes down to {} %; {short}",
        whole(spell.harvest.0),
        whole(spell.load.0),
        fixed(spell.least_soc * 100.0, 0),
    )
}

fn of_sky(shown: &Shown, dull: Option<&DullSpell>, lines: &mut Lines) {
    let share = fixed(DULL_CLEARNESS * 100.0, 0);
    say(
        lines,
        &match dull {
            Some(spell) => format!(
                "longest dull spell of the typical sky (days that let through less than {share} % of the light above the \
                 air): {}: {}",
                span(shown, spell),
                fares(spell)
            ),
            None => format!("no dull sky in the typical year: no day lets through less than {share} % of the light"),
        },
    );
}

fn of_bank(shown: &Shown, dull: Option<&DullSpell>, hardest: Option<&DullSpell>, lines: &mut Lines) {
    let Some(spell) = hardest else { return };
    if Some(spell) == dull {
        return say(lines, "these days are the hardest on the bank, too");
    }
    let why = if spell.shortfall.0 >= 0.5 { "load goes short on each" } else { "down to its least charge" };
    // What comes in then would do, but for what the days before have left in the bank; a cut-off or a limit is another matter.
    let kept_back =
        |f: &MonthFigures| f.cut_off_wh_day.as_ref().map_or(0.0, super::wh_of).max(super::wh_of(&f.held_back_wh_day));
    let is_low = shown.report.year.months.get(month_of(spell.first_day)).is_some_and(|f| kept_back(f) < 0.5)
        && spell.shortfall.0 >= 0.5
        && spell.harvest.0 + spell.other.0 >= spell.load.0;
    let after = if is_low { "; it begins low, from the days before" } else { "" };
    say(lines, &format!("hardest on the bank ({why}): {}: {}{after}", span(shown, spell), fares(spell)));
}

/// Most days of a spell that are listed. Source: our own choice.
const LISTED: usize = 14;

fn each_day(model: &Model, what: &str, spell: &DullSpell, lines: &mut Lines) {
    let from = lines.len();
    lines.push((
        format!("{what:<7}{:>8}{:>7}{:>7}{:>7}  charge at least", "harvest", "other", "load", "short"),
        Role::Heading,
    ));
    for (i, d) in spell.each.iter().enumerate().take(LISTED) {
        let row = format!(
            "{:<7} {:>7} {:>6} {:>6} {:>6} {:>5}% {}",
            date(spell.first_day + i),
            narrow(d.harvest.0, 7),
            narrow(d.other.0, 6),
            narrow(d.load.0, 6),
            narrow(d.shortfall.0, 6),
            fixed(d.least_soc * 100.0, 0),
            bar(d.least_soc)
        );
        lines.push((row, Role::Text));
    }
    super::in_parts(lines, from, 7, super::width(model));
    if spell.each.len() > LISTED {
        say(lines, &format!("and {}", counted(spell.each.len() - LISTED, "more day")));
    }
}
