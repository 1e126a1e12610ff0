//! The loads as a list: what each takes on a day of summer and of winter, and all of them together.

use ratatui::layout::Rect;

use crate::engine::Report;
use crate::engine::report::{LoadFigures, SeasonFigures, SurgeFigures, TogetherFigures};
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Figure, Load, Missing};
use crate::tui::model::Model;
use crate::tui::theme::Role;
use crate::tui::words::{self, figure, fixed, num};
use crate::units::{Amps, WattHours};

use super::paint::Paint;

/// Rows above the list: sums by season, worst day, what runs at once, the largest start, the basis, the heading.
const ROWS: u16 = 6;
/// Fewest columns the list has room in.
const LEAST_WIDTH: u16 = 76;

/// Whether the loads are shown as a list here.
pub(super) fn fits(area: Rect) -> bool {
    area.width >= LEAST_WIDTH && area.height > ROWS + 5
}

/// Draws the sums and the heading; returns the rows used.
pub(super) fn draw_above(model: &Model, paint: &mut Paint, area: Rect) -> u16 {
    let Some(document) = &model.document else { return 0 };
    let loads = &document.shown().report.loads;
    let base = document.baseline().map(|b| &*b.report.loads);
    let lines: [(String, Option<String>); 5] = [
        (seasons(loads), base.map(seasons)),
        (worst(loads), base.map(worst)),
        (together(&loads.together), base.map(|b| together(&b.together))),
        (surge(&loads.surge), base.map(|b| surge(&b.surge))),
        (basis(loads, area.width), None),
    ];
    for (y, (said, was)) in (area.y..).zip(&lines) {
        let was = was.as_ref();
        let in_words = words::waits(&document.shown().plan, said);
        let role = match was {
            Some(was) if was != said => Role::Changed,
            _ if y == area.y => Role::Figure,
            _ => Role::Text,
        };
        paint.text(area.x + 1, y, area.width.saturating_sub(1), &in_words, role);
    }
    let head =
        columns(area.width, "id", "name", ["watts", "qty", "hours", "duty", "fed by", "when", "summer", "winter"]);
    paint.text(area.x + 3, area.y + ROWS - 1, area.width.saturating_sub(3), &head, Role::Heading);
    ROWS
}

fn wh(figure: &Figure<WattHours>) -> String {
    words::figure(figure, |w| whole(w.0))
}

/// A total with what it may really be.
fn ranged(loads: &LoadFigures, figure: &Figure<WattHours>) -> String {
    words::figure(figure, |w| {
        let (least, most) = loads.range(w.0);
        format!("{} ({}-{})", whole(w.0), whole(least), whole(most))
    })
}

fn whole(w: f64) -> String {
    words::set_apart(w)
}

fn seasons(loads: &LoadFigures) -> String {
    let of = &loads.seasons;
    format!("Wh/d: summer {}, winter {}", ranged(loads, &of.summer_wh_day), ranged(loads, &of.winter_wh_day))
}

fn month(index: usize) -> &'static str {
    MONTH_NAMES.get(index).copied().unwrap_or("")
}

/// The month whose usual day takes the most, and the rest of the year.
fn worst(loads: &LoadFigures) -> String {
    match &loads.worst_day {
        Ok((at, day)) => {
            let between = ranged(loads, &loads.seasons.between_wh_day);
            format!("worst usual day {} {}, spring and autumn {between}", month(*at), ranged(loads, &Ok(*day)))
        }
        Err(waits) => format!("worst usual day ?{}", waiting(waits)),
    }
}

fn waiting(waits: &Missing) -> String {
    if waits.0.as_str().is_empty() { String::new() } else { format!(" (waits for {})", waits.0) }
}

fn amps(amps: Option<Amps>) -> String {
    amps.map(|a| format!(", {} A at low volts", words::amps(a.0))).unwrap_or_default()
}

fn together(together: &Figure<TogetherFigures>) -> String {
    match together {
        Ok(t) => {
            let by = if t.is_capped { "up to what the inverter carries" } else { "by inverter" };
            let parts = if t.ac_w > 0.0 {
                format!(" (DC {}, AC {} {by})", whole(t.dc_w), whole(t.ac_w))
            } else {
                String::new()
            };
            format!("all at once {}: {} W{}{parts}", month(t.month), num(t.watts.0), amps(t.amps))
        }
        Err(waits) => format!("all at once: ?{}", waiting(waits)),
    }
}

fn surge(surge: &Figure<SurgeFigures>) -> String {
    match surge {
        Ok(s) => {
            let starts = match &s.load {
                Some(load) => format!("{load} starts beside them"),
                None => "no load states a surge".into(),
            };
            let capped = if s.is_capped { ", at the inverter's limit" } else { "" };
            format!("largest start {}: {} W{}: {starts}{capped}", month(s.month), num(s.watts.0), amps(s.amps))
        }
        Err(waits) => format!("largest start: ?{}", waiting(waits)),
    }
}

/// What the year comes to, and what the ranges and the peaks rest on.
fn basis(loads: &LoadFigures, width: u16) -> String {
    let year = figure(&loads.year_kwh, |kwh| {
        let (least, most) = loads.range(*kwh);
        format!("{} kWh ({}-{})", whole(*kwh), whole(least), whole(most))
    });
    let share = fixed(loads.spread_share * 100.0, 0);
    let carried = if width < 100 { "" } else { ", AC up to the inverter's rating" };
    format!("year {year}; ranges +-{share} % as audits are; at once: whole month{carried}")
}

/// Columns of a name: all that the others leave, up to a long one's.
fn name_width(width: u16) -> usize {
    usize::from(width.saturating_sub(80)).min(26) + 14
}

fn columns(width: u16, id: &str, name: &str, rest: [&str; 8]) -> String {
    let [watts, quantity, hours, duty, supply, when, summer, winter] = rest;
    let room = name_width(width);
    let is_long = name.chars().count() > room;
    let mut name: String = name.chars().take(if is_long { room - 1 } else { room }).collect();
    if is_long {
        name.push('~');
    }
    format!(
        "{id:<4}{name:<room$} {watts:>5} {quantity:>3} {hours:>5} {duty:>4} {supply:<8} {when:<9} {summer:>6} {winter:>6}"
    )
}

/// Rows below the list that make up the sum, where there is room for them.
pub(super) fn foot(report: &Report, screen: u16) -> Vec<(String, Role)> {
    let loads = &report.loads;
    let row = |said: &str, of: &SeasonFigures| {
        let width = columns(screen, "", "", [""; 8]).len() - 14;
        format!("{said:<width$.width$} {:>6} {:>6}", wh(&of.summer_wh_day), wh(&of.winter_wh_day))
    };
    let mut rows = vec![(row("inverter: loss and idle", &loads.inverter), Role::Text)];
    let lost = &loads.converter;
    if [&lost.summer_wh_day, &lost.winter_wh_day].iter().any(|wh| wh.as_ref().is_ok_and(|wh| wh.0 > 0.0)) {
        rows.push((row("converter to 12 V: loss", lost), Role::Text));
    }
    if let Some(apart) = &loads.apart {
        let ids: Vec<&str> = apart.loads.iter().map(|id| id.as_str()).collect();
        rows.push((row(&format!("on a start battery, in no sum: {}", ids.join(", ")), &apart.seasons), Role::Text));
    }
    rows.push((row("all at the bank (the year adds controllers, heater)", &loads.seasons), Role::Figure));
    rows
}

/// One load as a row of the list.
pub(super) fn row(report: &Report, load: &Load, width: u16) -> String {
    let number = |x: Option<f64>| x.map_or_else(|| words::UNKNOWN.to_string(), num);
    let seasons = report.loads.each.iter().find(|row| row.id == load.id).map(|row| &row.seasons);
    let day = |of: Option<&Figure<WattHours>>| of.map_or_else(|| words::UNKNOWN.into(), wh);
    columns(
        width,
        load.id.as_str(),
        &load.name,
        [
            &number(load.watts_w.known().map(|w| w.0)),
            &number(load.quantity.known().map(|n| n.0)),
            &number(load.hours_day.known().map(|h| h.0)),
            &number(load.duty_pct.known().map(|n| n.0)),
            load.supply.word(),
            load.when.word(),
            &day(seasons.map(|s| &s.summer_wh_day)),
            &day(seasons.map(|s| &s.winter_wh_day)),
        ],
    )
}
