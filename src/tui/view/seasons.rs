//! The year opened: a page each for its table, its picture, what limits it, two of its days and its longest dull spell.

use ratatui::layout::Rect;

use crate::engine::Report;
use crate::engine::report::{DullSpell, HourFigures, Losses, MonthFigures, Range};
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Figure, Plan};
use crate::tui::model::Model;
use crate::tui::seasons::{SeasonsView, YearPage};
use crate::tui::theme::Role;
use crate::tui::words::{UNKNOWN, figure, fixed};
use crate::units::WattHours;

use super::paint::{Paint, wrap};

type Lines = Vec<(String, Role)>;

/// Widest text of a page.
const WIDTH: usize = 74;
/// Longest bar.
const BAR: usize = 44;

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect, view: &SeasonsView) {
    let lines = lines(model, view);
    let title = format!("YEAR: {} (left, right: other pages; m: next month)", view.page.name());
    let inside = paint.boxed_in(area, &title, WIDTH.max(title.len() + 2), lines.len().max(1));
    let height = usize::from(inside.height);
    let first = view.scroll.min(lines.len().saturating_sub(height));
    for (y, (line, role)) in (inside.y..).zip(lines.iter().skip(first).take(height)) {
        paint.text(inside.x, y, inside.width, line, *role);
    }
    let top = Rect { y: inside.y.saturating_sub(1), height: 1, ..inside };
    paint.hidden(top, first, lines.len().saturating_sub(first + height));
}

/// All lines of a page.
pub(super) fn lines(model: &Model, view: &SeasonsView) -> Lines {
    let Some(document) = &model.document else { return Vec::new() };
    let shown = document.committed();
    let (plan, report) = (&shown.plan, &shown.report);
    let mut lines = Vec::new();
    match view.page {
        YearPage::Table => table(report, &mut lines),
        YearPage::Picture => picture(report, &mut lines),
        YearPage::Limits => limits(report, &mut lines),
        YearPage::TypicalDay => day(plan, report, view, "typical", &mut lines),
        YearPage::DarkDay => day(plan, report, view, "dark", &mut lines),
        YearPage::DullSpell => spell(report, view, &mut lines),
    }
    lines
}

/// Whole watt-hours without gaps: the columns are narrow.
fn whole(w: f64) -> String {
    format!("{w:.0}")
}

fn wh(f: &Figure<WattHours>) -> String {
    figure(f, |w| whole(w.0))
}

fn name(month: usize) -> &'static str {
    MONTH_NAMES.get(month).copied().unwrap_or("")
}

/// Text lines, wrapped.
fn say(lines: &mut Lines, text: &str) {
    lines.extend(wrap(text, WIDTH).into_iter().map(|l| (l, Role::Text)));
}

fn table(report: &Report, lines: &mut Lines) {
    lines.push(("     sun array  harv dull-bright  load  bank  left short days last  gen".into(), Role::Heading));
    for (m, month) in report.year.months.iter().enumerate() {
        let spread = figure(&month.spread_wh_day, |s| format!("{}-{}", whole(s.dull.0), whole(s.bright.0)));
        let row = format!(
            "{:<3}{:>5}{:>6}{:>6}{:>12}{:>6}{:>6}{:>6}{:>6}{:>5}{:>5}{:>5}",
            name(m),
            figure(&month.ghi_kwh_m2_day, |g| fixed(*g, 1)),
            wh(&month.array_wh_day),
            wh(&month.harvest_wh_day),
            spread,
            wh(&month.load_wh_day),
            wh(&month.charged_wh_day),
            wh(&month.unused_wh_day),
            wh(&month.shortfall_wh_day),
            figure(&month.short_days_share, |s| fixed(s * 100.0, 0) + "%"),
            figure(&month.days_without_sun, |d| fixed(*d, 1)),
            made_up(month),
        );
        lines.push((row, Role::Text));
    }
    lines.push((String::new(), Role::Text));
    let year = &report.year;
    let kwh = |f: &Figure<f64>| figure(f, |k| fixed(*k, 0));
    say(
        lines,
        &format!(
            "year: harvest {} kWh, into the bank {} kWh, load {} kWh; not served {} % on {} days",
            kwh(&year.harvest_kwh),
            kwh(&year.stored_kwh),
            kwh(&year.load_kwh),
            figure(&year.unmet_pct, |p| fixed(*p, 1)),
            kwh(&year.shortfall_days),
        ),
    );
    waits(&year.unmet_pct, lines);
    say(
        lines,
        "Wh a day; harv: harvest at the posts, a tenth of the days bring less than the first of dull-bright and a tenth more \
         than the second; bank: into it; left: on offer and not taken; days: share with some load not served; last: days without sun; gen: hours a day of generator (or d: of driving) that would \
         make up the shortfall. A typical year: the next may be duller.",
    );
}

/// Hours that make up the shortfall: of the generator, else of driving.
fn made_up(month: &MonthFigures) -> String {
    match (&month.generator_h_day, &month.drive_h_day) {
        (Some(hours), _) => figure(hours, |h| fixed(h.0, 1)),
        (None, Some(hours)) => format!("d{}", figure(hours, |h| fixed(h.0, 1))),
        (None, None) => "-".into(),
    }
}

/// What a figure waits for, if it does.
fn waits<T>(figure: &Figure<T>, lines: &mut Lines) {
    if let Err(missing) = figure {
        let what =
            if missing.0.as_str().is_empty() { "a stay, an array and runs".into() } else { missing.0.to_string() };
        say(lines, &format!("the bank is not simulated: waits for {what}"));
    }
}

fn picture(report: &Report, lines: &mut Lines) {
    let months = &report.year.months;
    let known = |f: &Figure<WattHours>| f.as_ref().map_or(0.0, |w| w.0);
    let bright = |m: &MonthFigures| m.spread_wh_day.as_ref().map_or(0.0, |s| s.bright.0);
    let most = months.iter().map(|m| bright(m).max(known(&m.load_wh_day))).fold(1.0, f64::max);
    let at = |w: f64| ((w / most * BAR as f64).round() as usize).min(BAR);
    for (m, month) in months.iter().enumerate() {
        let (harvest, load) = (known(&month.harvest_wh_day), known(&month.load_wh_day));
        let dull = month.spread_wh_day.as_ref().map_or(0.0, |s| s.dull.0);
        let bar: String = (0..=BAR)
            .map(|x| match x {
                _ if x == at(load) && load > 0.0 => '|',
                _ if x < at(dull) => '=',
                _ if x < at(harvest) => '#',
                _ if x < at(bright(month)) => '-',
                _ => ' ',
            })
            .collect();
        let row = format!("{:<3} {bar} {:>6} of {:>6}", name(m), wh(&month.harvest_wh_day), wh(&month.load_wh_day));
        lines.push((row, Role::Text));
    }
    lines.push((String::new(), Role::Text));
    say(lines, "= a dull day's harvest   # up to the mean   - up to a bright day's   | load, Wh a day");
}

/// The losses by name, the largest first.
fn named(losses: &Losses) -> Vec<(&'static str, f64)> {
    let mut all = vec![
        ("array not at its best volts", losses.mismatch.0),
        ("array wire", losses.array_wire.0),
        ("conversion", losses.conversion.0),
        ("controller limit", losses.clipped.0),
        ("bank wire", losses.bank_wire.0),
        ("bank full", losses.full.0),
        ("bank charge limit", losses.limited.0),
        ("bank too cold", losses.cold.0),
    ];
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    all
}

fn limits(report: &Report, lines: &mut Lines) {
    lines.push(("     array  volts wire1  conv  clip wire2   full limit  cold  largest".into(), Role::Heading));
    for (m, month) in report.year.months.iter().enumerate() {
        let row = match &month.losses {
            Ok(l) => {
                let cells = [l.mismatch, l.array_wire, l.conversion, l.clipped, l.bank_wire, l.full, l.limited, l.cold];
                let of = |i: usize, width: usize| format!("{:>width$}", whole(cells.get(i).map_or(0.0, |w| w.0)));
                let widths = [7, 6, 6, 6, 6, 7, 6, 6];
                let cells: String = widths.iter().enumerate().map(|(i, w)| of(i, *w)).collect();
                let largest = named(l).first().filter(|x| x.1 >= 0.5).map_or("-", |x| x.0);
                format!("{:<3}{:>7}{cells}  {largest}", name(m), wh(&month.array_wh_day))
            }
            Err(_) => format!("{:<3}{:>7}", name(m), UNKNOWN),
        };
        lines.push((row, Role::Text));
    }
    lines.push((String::new(), Role::Text));
    say(lines, &verdict(report));
    say(
        lines,
        "Wh a day of what the array could give: volts: PWM, or a tracker held at the bank's volts; wire1 to the \
         controller, wire2 to the bank; conv: conversion and own use; clip: controller's amps; full: absorption and float; \
         limit: the bank's charge limit; cold: below its charge cut-off.",
    );
}

/// What would help most over the year: shares of what the array could give.
fn verdict(report: &Report) -> String {
    let mut array = 0.0;
    let mut sums = [0.0; 8];
    for month in &report.year.months {
        let (Ok(l), Ok(a)) = (&month.losses, &month.array_wh_day) else { return "not all months are known".into() };
        array += a.0;
        let all = [l.mismatch, l.array_wire, l.conversion, l.clipped, l.bank_wire, l.full, l.limited, l.cold];
        sums.iter_mut().zip(all).for_each(|(sum, loss)| *sum += loss.0);
    }
    if array <= 0.0 {
        return "the array gives nothing".into();
    }
    let pct = |loss: f64| fixed(100.0 * loss / array, 1);
    let [mismatch, wire1, _, clipped, wire2, full, limited, cold] = sums;
    format!(
        "of the year: thicker wire could bring at most {} %, a tracker or more volts {} %, a larger controller {} %, a \
         larger bank or load at the right hour {} %, warmth {} %; the rest takes more panel",
        pct(wire1 + wire2),
        pct(mismatch),
        pct(clipped),
        pct(full + limited),
        pct(cold)
    )
}

fn day(plan: &Plan, report: &Report, view: &SeasonsView, kind: &str, lines: &mut Lines) {
    let stay = report.year.months.get(view.month).and_then(|m| m.stay).and_then(|s| plan.stays.get(s));
    let place = stay.map_or("", |s| s.place.as_str());
    let hours = match &view.hours {
        Ok(hours) => hours,
        Err(missing) => {
            say(lines, &format!("{} has no hours yet: waits for {}", name(view.month), missing.0));
            return;
        }
    };
    let sum = |of: fn(&HourFigures) -> f64| fixed(hours.iter().map(of).sum::<f64>(), 0);
    let date = hours.first().map_or(String::new(), |h| date(usize::from(h.hour) / 24));
    say(
        lines,
        &format!(
            "a {kind} day of {} at {place}, {date}: harvest {} Wh, load {} Wh, not served {} Wh",
            name(view.month),
            sum(|h| h.harvest_w),
            sum(|h| h.load_w),
            sum(|h| h.shortfall_w)
        ),
    );
    lines.push(("hour  array harvest other   load  bank A  volts  temp  charge".into(), Role::Heading));
    for h in hours {
        let bar = "#".repeat(((h.soc * 10.0).round() as usize).min(10));
        let row = format!(
            "{:>3} {:>7}{:>8}{:>6}{:>7}{:>8}{:>7}{:>5}C {:>4}% {bar}{}",
            h.hour % 24,
            fixed(h.array_w, 0),
            fixed(h.harvest_w, 0),
            fixed(h.other_w, 0),
            fixed(h.load_w, 0),
            fixed(h.bank_a, 1),
            fixed(h.posts_v, 2),
            fixed(h.battery_c, 0),
            fixed(h.soc * 100.0, 0),
            if h.shortfall_w > 0.5 { " short" } else { "" }
        );
        lines.push((row, Role::Text));
    }
}

/// A day of the year by its date.
fn date(day: usize) -> String {
    let mut left = day % 365;
    for (m, days) in crate::climate::year::MONTH_DAYS.iter().enumerate() {
        if left < *days {
            return format!("{} {}", left + 1, name(m));
        }
        left -= days;
    }
    String::new()
}

fn spell(report: &Report, view: &SeasonsView, lines: &mut Lines) {
    match &report.year.dull_spell {
        Ok(Some(spell)) => told(spell, lines),
        Ok(None) => say(lines, "no day of the typical year on which the sun brings less than the loads take"),
        Err(_) => waits(&report.year.dull_spell, lines),
    }
    lines.push((String::new(), Role::Text));
    match &view.repeats {
        None => say(lines, ".. ten more years are being computed"),
        Some(Err(missing)) => say(lines, &format!("ten more years wait for {}", missing.0)),
        Some(Ok(repeats)) => {
            let range = |r: &Range, scale: f64, digits: usize| {
                let of = |x: f64| fixed(x * scale, digits);
                format!("{} (least {}, most {})", of(r.mean), of(r.least), of(r.most))
            };
            say(lines, &format!("{} years with the same months but their days in another order:", repeats.years));
            say(lines, &format!("load not served, %:     {}", range(&repeats.unmet_pct, 1.0, 1)));
            say(lines, &format!("days with some of it:   {}", range(&repeats.short_days, 1.0, 0)));
            say(lines, &format!("least state of charge, %: {}", range(&repeats.least_soc, 100.0, 0)));
        }
    }
    lines.push((String::new(), Role::Text));
    say(
        lines,
        "Typical years understate bad ones: where it matters (medical loads), plan for a dull month or a way to charge \
         without sun.",
    );
}

fn told(spell: &DullSpell, lines: &mut Lines) {
    say(
        lines,
        &format!(
            "longest dull spell: {} days from {} to {}, harvest {} Wh a day of {} Wh load",
            spell.days,
            date(spell.first_day),
            date(spell.first_day + spell.days - 1),
            fixed(spell.harvest.0, 0),
            fixed(spell.load.0, 0)
        ),
    );
    say(
        lines,
        &format!(
            "the bank goes down to {} % of its charge; {} Wh of load not served in all of it",
            fixed(spell.least_soc * 100.0, 0),
            fixed(spell.shortfall.0, 0)
        ),
    );
}
