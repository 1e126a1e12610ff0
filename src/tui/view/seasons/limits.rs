//! The page of what limits the year: where energy is lost, and what would serve the load that goes short.

use crate::document::Shown;
use crate::document::look::{Answer, Question};
use crate::engine::Report;
use crate::engine::report::{Limit, MonthFigures, Reliefs, Remedy, one_string};
use crate::plan::{Figure, Missing};
use crate::tui::model::Model;
use crate::tui::seasons::SeasonsView;
use crate::tui::theme::Role;
use crate::tui::words::{self, UNKNOWN, fixed};

use super::{Lines, blank, mark, name, notes, row_role, say, wh_of, whole};

/// Less than this goes short, or is served, by rounding alone, Wh a mean day. Source: our own choice; it shows as 0.
const SHOWN_WH: f64 = 0.5;

pub(super) fn page(model: &Model, shown: &Shown, view: &SeasonsView, lines: &mut Lines) {
    let report = &shown.report;
    let answer = match model.late.answer(shown, &Question::Reliefs) {
        Some(Answer::Reliefs(answer)) => Some(answer),
        _ => None,
    };
    let from = lines.len();
    lines.push(("      array volts wire1  conv  clip wire2  full limit  cold  helps most".into(), Role::Heading));
    for (m, month) in report.year.months.iter().enumerate() {
        let cells: String = match &month.losses {
            Ok(losses) => losses.named().iter().map(|(_, w)| format!("{:>6}", super::wh(w))).collect(),
            Err(_) => String::new(),
        };
        let helps = helps(month, m, answer);
        let array = super::wh(&month.array_wh_day);
        lines.push((format!("{}{:<3}{array:>7}{cells}  {helps}", mark(report, view, m), name(m)), row_role(view, m)));
    }
    super::in_parts(lines, from, 4, super::width(model));
    blank(lines);
    say(lines, &of_month(report, view.month));
    remedies(shown, view.month, answer, lines);
    if let Some(shade) = shade(report) {
        say(lines, &shade);
    }
    say(lines, &of_year(report));
    notes::cold(report, lines);
    notes::assumed(shown, lines);
    notes::shade(shown, lines);
    say(
        lines,
        "Wh a day of what the array could give: volts: PWM, or a tracker held at the bank's volts; wire1 to the \
         controller, wire2 to the bank; conv: conversion and own use; clip: controller's amps; full: absorption and float; \
         limit: the bank's charge limit; cold: below its charge \
         cut-off, the sun's part alone. helps most: of what was tried, each alone in a \
         year of its own, what serves most of the load that goes short; +1: another one serves as much.",
    );
}

/// What serves most of a month's load that goes short; nothing where none does.
fn helps(figures: &MonthFigures, month: usize, answer: Option<&Figure<Reliefs>>) -> String {
    match (&figures.shortfall_wh_day, answer) {
        (Err(_), _) | (_, Some(Err(_))) => UNKNOWN.into(),
        (Ok(wh), _) if wh.0 < SHOWN_WH => "-".into(),
        (_, None) => "..".into(),
        (_, Some(Ok(reliefs))) => {
            let as_much = match reliefs.others(month, figures).len() {
                0 => String::new(),
                n => format!(" +{n}"),
            };
            reliefs.best(month, figures).map_or("none tried".into(), |(remedy, _)| remedy.short() + &as_much)
        }
    }
}

/// What goes short in a month, or what is lost where nothing does.
fn of_month(report: &Report, month: usize) -> String {
    let at = name(month);
    let Some(figures) = report.year.months.get(month) else { return String::new() };
    let limit = match &figures.limited_by {
        Ok(limit) => *limit,
        Err(_) => return format!("{at}: not known yet"),
    };
    let short = wh_of(&figures.shortfall_wh_day);
    if short >= SHOWN_WH {
        let off = figures.cut_off_wh_day.as_ref().and_then(|wh| wh.as_ref().ok()).filter(|wh| wh.0 >= SHOWN_WH);
        let off =
            off.map_or(String::new(), |wh| format!(", {} of them because the inverter cuts itself off", whole(wh.0)));
        let back = match wh_of(&figures.held_back_wh_day) {
            wh if wh >= SHOWN_WH => format!(", {} of them held back by the bank's discharge limit", whole(wh)),
            _ => String::new(),
        };
        return format!("{at}: {} Wh a day of load go short{off}{back}{}", whole(short), kept_out(figures));
    }
    let Some((limit, wh)) = limit else { return format!("{at}: no load goes short, and nothing is lost") };
    let wh = whole(wh.0);
    let lost = match limit {
        Limit::Full => return format!("{at}: no load goes short; {wh} Wh a day are spare beside a full bank"),
        Limit::Sun => "for want of sun",
        Limit::Volts => "to the array's volts",
        Limit::ArrayWire => "to the wire to the controller",
        Limit::Conversion => "to conversion",
        Limit::Controller => "to the controller's amps",
        Limit::BankWire => "to the wire to the bank",
        Limit::ChargeLimit => "to the bank's charge limit",
        Limit::Cold => "to a bank too cold to charge",
        Limit::CutOff => "to the inverter's cut-off",
        Limit::DischargeLimit => "to the bank's discharge limit",
        Limit::Shade => "to shade on the roof",
    };
    format!("{at}: no load goes short; {wh} Wh a day are lost {lost}")
}

/// What a cold bank keeps out of it: of the sun, and of what alternator and shore could bring.
fn kept_out(figures: &MonthFigures) -> String {
    let of_sun = figures.losses.as_ref().map_or(0.0, |losses| wh_of(&losses.cold));
    let of_others = wh_of(&figures.other_cold_wh_day);
    match (of_sun >= SHOWN_WH, of_others >= SHOWN_WH) {
        (false, false) => String::new(),
        (true, false) => format!("; {} are kept out of a cold bank", whole(of_sun)),
        (false, true) => format!("; {} of alternator or shore are kept out of a cold bank", whole(of_others)),
        (true, true) => {
            let (sun, others) = (whole(of_sun), whole(of_others));
            format!("; {sun} of the sun and {others} of alternator or shore are kept out of a cold bank")
        }
    }
}

/// What would serve the month's shortfall, and the year's: each remedy by a year of its own.
fn remedies(shown: &Shown, month: usize, answer: Option<&Figure<Reliefs>>, lines: &mut Lines) {
    let report = &*shown.report;
    let short = |m: usize| report.year.months.get(m).map_or(0.0, |figures| wh_of(&figures.shortfall_wh_day));
    if (0..12).all(|m| short(m) < SHOWN_WH) {
        return;
    }
    let reliefs = match answer {
        Some(Ok(reliefs)) => reliefs,
        Some(Err(Missing(field))) => {
            let field = words::awaited(&shown.plan, field);
            return say(lines, &format!("what would serve it waits for {field}"));
        }
        None => return say(lines, ".. what would serve it is being computed, a year for each remedy"),
    };
    if let Some(figures) = report.year.months.get(month).filter(|_| short(month) >= SHOWN_WH) {
        let each = listed(reliefs.of_month(month, figures).0, 0);
        say(lines, &format!("of these {} would be served by {each}", whole(short(month))));
    }
    let kwh = report.year.lived.short_kwh().unwrap_or_default();
    say(
        lines,
        &format!(
            "of the {} kWh {} that go short: {}; each alone, by the same year with it",
            fixed(kwh, 1),
            report.year.lived.when(),
            listed(reliefs.of_year(), 1)
        ),
    );
}

/// The remedies that are known, best first, each with what it serves; of several arrays the one whose string serves most.
fn listed(mut all: Vec<(&Remedy, f64)>, decimals: usize) -> String {
    one_string(&mut all);
    let each = all.iter().map(|(remedy, served)| {
        let number = fixed(*served, decimals);
        let number = if number == "-0" { "0".into() } else { number };
        if number.starts_with('-') {
            let why = match remedy {
                Remedy::Controllers => ": their wire counts as warm as it gets at so many amps",
                _ => "",
            };
            format!("{} {number} (more goes short{why})", remedy.words())
        } else {
            format!("{} {number}", remedy.words())
        }
    });
    let each: Vec<String> = each.collect();
    if each.is_empty() { "nothing that was tried".into() } else { each.join(", ") }
}

/// What shade on the roof takes before all that: of the year, and of each month's days; none where it takes nothing.
fn shade(report: &Report) -> Option<String> {
    let lost = report.year.lost.as_ref().ok().filter(|lost| lost.shade_kwh > 0.0)?;
    let taken = report.roof.shade_taken.iter().enumerate();
    let days: Vec<String> = taken.map(|(m, taken)| format!("{} {}", name(m), whole(taken.wh_day))).collect();
    let pct = 100.0 * lost.shade_kwh / (lost.array_kwh + lost.shade_kwh);
    Some(format!(
        "shade on the roof takes {} kWh of the array's year before that, {} %; Wh a day: {}",
        whole(lost.shade_kwh),
        fixed(pct, 1),
        days.join(", ")
    ))
}

/// Where the year's energy is lost: shares of what the arrays could give.
fn of_year(report: &Report) -> String {
    let Ok(lost) = &report.year.lost else { return "the year: not all months are known".into() };
    if lost.array_kwh <= 0.0 {
        return "the array gives nothing".into();
    }
    let pct = |share: f64| fixed(share, 1);
    format!(
        "of the year's {} kWh of the array are lost: {} % in wire, {} % to volts, {} % to controllers' amps, {} % to a bank \
         that is full by its chargers' volts or at its charge limit, {} % to cold",
        whole(lost.array_kwh),
        pct(lost.wire_pct),
        pct(lost.volts_pct),
        pct(lost.controller_pct),
        pct(lost.bank_pct),
        pct(lost.warmth_pct)
    )
}
